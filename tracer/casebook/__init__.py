"""What is kept: one SQLite file, only ever added to."""
