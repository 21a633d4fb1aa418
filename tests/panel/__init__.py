"""The panel: statistics against published values, blind sets, cards, the casebook under abuse."""
