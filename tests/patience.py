"""How long tests wait for what should come at once: a guard against hanging."""

PATIENCE_S = 600.0
"""Long enough for a machine that is busy with other things, or asleep; no measure."""
