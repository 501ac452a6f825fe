"""What a report is made from, collected from the records; writes no page."""
