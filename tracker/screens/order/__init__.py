"""The page of the order behind a rug."""
