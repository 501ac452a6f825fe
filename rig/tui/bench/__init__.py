"""Screens at the bench: rig, what is mounted, sweeps."""
