"""Other ways to the same results, which tests and benchmarks hold the product to."""
