"""The same tool in a browser: at the cupping table, on the buyer's desk and in the training room. It renders only the Report."""
