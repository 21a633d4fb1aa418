"""The knowledge base: what the trade knows, kept as reviewed YAML and read here."""
