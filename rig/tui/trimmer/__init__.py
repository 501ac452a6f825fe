"""The screen that helps to set a trimmer."""
