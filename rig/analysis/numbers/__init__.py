"""Numbers as people give them, uncertainty, intervals, ratios; knows no sensor."""
