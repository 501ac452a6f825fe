"""The terminal UI in a browser: server, access, and the picture for onlookers."""
