"""Physics of lot history, logger files, and the findings from them."""
