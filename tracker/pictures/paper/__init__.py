"""Reads cartoons from paper: photographs, scans and enlarged pictures with grid, margin and key."""
