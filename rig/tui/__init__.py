"""The terminal UI: screens over one thread that owns the rig."""
