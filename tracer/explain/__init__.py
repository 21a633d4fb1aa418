"""Why a source is ranked where it is: chains, weights of evidence, conflicts."""
