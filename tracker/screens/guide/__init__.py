"""The page that guides through each stage of the work."""
