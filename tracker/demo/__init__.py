"""The demo book: an invented workshop, and where its file lies."""
