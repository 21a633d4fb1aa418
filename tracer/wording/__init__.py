"""Every sentence the program says, and the same in the language of the reader."""
