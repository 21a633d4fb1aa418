"""Exact probability over segments of the chain: noisy-MAX compounds, notes and words, any-of signs."""
