"""The rug looked at closely."""
