"""Answers in rows, words and rounded numbers, which text, HTML and screens render."""
