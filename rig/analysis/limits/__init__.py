"""Limits and the verdict of a figure against them."""
