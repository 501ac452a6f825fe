"""IEC 60947-5-2: its limits, and a run held against them."""
