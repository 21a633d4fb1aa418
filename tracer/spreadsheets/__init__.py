"""Table files in and out: CSV and workbooks, with one set of encodings, limits and errors for all who read them."""
