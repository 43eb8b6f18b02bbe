"""How it has gone so far."""
