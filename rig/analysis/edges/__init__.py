"""Latched edges as arrays: quality, delay, drift, touches and their budget."""
