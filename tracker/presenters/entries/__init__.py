"""The small forms, each kind in a class of its own: what it asks, and the value it stands for."""
