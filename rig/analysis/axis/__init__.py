"""The axis: its correction table, how it is applied, and the test of positioning."""
