"""The looms: what lies on each, who sits where, when it is free."""
