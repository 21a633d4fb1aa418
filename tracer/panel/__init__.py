"""The panel: references, blind sets, what tasters score, and how far their words can be trusted."""
