"""A picture that is no cartoon turned into knots."""
