"""The thread that owns the rig: jobs asked of it, and events that it posts."""
