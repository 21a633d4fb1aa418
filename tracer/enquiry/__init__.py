"""What to ask or test next, by expected information gain."""
