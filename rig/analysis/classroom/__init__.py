"""What a class compares: readings by hand and predictions."""
