"""Statistics of the parts of a batch."""
