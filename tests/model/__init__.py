"""The extended network against worked nets, enumeration and general engines."""
