"""A seeded campaign of faults: `python -m tests.campaign` prints its tables."""
