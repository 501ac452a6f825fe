"""Screens of the inspector: a lot, its parts, the decision."""
