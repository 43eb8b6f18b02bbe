"""The page on trimming the pile."""
