"""Screens of the technician: plans, runs, notes."""
