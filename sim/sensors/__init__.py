"""Sensor physics: the signal of a sensing head against the gap to a target.

Knows no axis, no clock and no noise: a gap goes in, a signal comes out.
"""
