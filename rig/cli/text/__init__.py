"""Sheets as plain text for a terminal."""
