"""Acceptance sampling of lots: plans, operating curves, switching rules."""
