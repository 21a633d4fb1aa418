"""Published cases, and the score on them."""
