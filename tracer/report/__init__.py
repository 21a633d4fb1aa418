"""The report as data, and its renderings."""
