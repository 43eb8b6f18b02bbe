"""The page of what a rug costs and who earned what."""
