"""The cause graph: fault -> compound -> off-note, by stage."""
