"""The cartoon mended square by square."""
