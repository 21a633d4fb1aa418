"""What logs, readings and bed days of a lot show: numbers computed here, limits and weights in the knowledge."""
