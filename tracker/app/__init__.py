"""The running app: the desk, its port to the book, drafts, clock, reminders, the command line."""
