"""Pace, calendar, finish date and yarn: plain numpy; every random draw from a Generator handed in."""
