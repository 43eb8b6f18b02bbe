"""The balls of each weaver."""
