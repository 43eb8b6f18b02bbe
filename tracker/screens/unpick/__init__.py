"""Rows taken out again."""
