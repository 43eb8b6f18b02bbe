"""The row at the loom."""
