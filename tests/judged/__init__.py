"""Lots that an expert judged before the tool saw them."""
