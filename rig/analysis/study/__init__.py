"""Measurement-system studies: layout, analysis, results."""
