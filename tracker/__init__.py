"""Loomside: a progress book for people who knot pile rugs by hand."""
