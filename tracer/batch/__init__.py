"""Many lots: one after the other, at once, together, on a cluster."""
