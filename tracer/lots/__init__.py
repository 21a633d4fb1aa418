"""The lot sheet: tasters' words, cups, history, green and laboratory findings."""
