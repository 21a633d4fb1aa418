"""Published and closed cases beside the mechanism: which of them a lot reads like, and what they say of its stages."""
