"""The measure of the cloth."""
