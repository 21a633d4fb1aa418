"""A taster's own words -> what they say of each off-note."""
