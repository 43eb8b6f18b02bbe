"""What each screen shows, as plain values worked out from the book and its answers. No window needed."""
