"""Screens of the instructor: the lesson, step by step."""
