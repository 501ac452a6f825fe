"""Widgets, one a file; they show what they are given and ask by messages."""
