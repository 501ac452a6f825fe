"""The simulated rig: sensor physics, axis mechanics and a controller of its own.

Knows the wire protocol and nothing of the host. What it simulates is reached
like a real rig, through a port; what it knows of the truth is for tests and for
whoever asks for it by name, never for the measuring code.
"""
