"""Facts of a lot, the rules that fire on them, and the findings they give."""
