"""The trade's rules and sums: plain Python and numpy; no screens, no database, no clock, no files."""
