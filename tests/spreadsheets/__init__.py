"""Table files in and out, with one set of encodings, limits and errors."""
