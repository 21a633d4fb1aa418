"""How well words and sentences are read, on lists of which a third is kept out while the tool is worked on."""
