"""Sensors, targets and plans as people write them down; files in, checked data out."""
