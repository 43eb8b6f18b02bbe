"""The app's own room without a window: the desk, its threads, drafts, undoing."""
