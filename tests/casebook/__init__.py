"""The casebook file under abuse, with real processes."""
