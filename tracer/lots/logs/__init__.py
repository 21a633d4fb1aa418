"""Logger files: what a data logger exported, read as it is, with every defect told by its rows."""
