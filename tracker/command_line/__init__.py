"""The command line: what may be said on it, which book it names, and what is done then."""
