"""Benchmarks: one command that runs them, prints tables and can write them as JSON.

``python -m tests.benchmarks`` runs all. A module of this package that decorates a
function with `benchmark` adds one; nothing else has to know of it.
"""
