"""From raw edges to figures with uncertainty: pure functions on arrays and tables.

Knows no port, no file and no screen. Lengths are gaps in mm unless a name says steps.
"""
