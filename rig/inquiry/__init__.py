"""Questions that somebody asks of the records, each with its frozen result."""
