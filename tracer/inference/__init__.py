"""Exact probability over the cause graph: three-state noisy-MAX networks."""
