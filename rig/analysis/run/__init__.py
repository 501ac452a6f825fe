"""The figures of one run and of many runs at once, with remarks."""
