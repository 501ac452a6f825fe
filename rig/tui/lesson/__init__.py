"""What the instructor's screens show: from the records, from theory, from typing."""
