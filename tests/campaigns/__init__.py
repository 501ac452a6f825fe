"""Campaigns over many benches of the population: are the stated uncertainties true?

`python -m tests.benchmarks --only population` runs the long form and prints its tables;
`test_population.py` runs a short one that could fail.
"""
