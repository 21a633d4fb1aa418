"""A buyer's season: many lots by who handled them, what more than chance says, and whom to ask."""
