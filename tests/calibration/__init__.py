"""Is a source that is given 0.7 the true one seven times in ten? Lots simulated from the knowledge answer it."""
