"""The book on the phone: one SQLite file in which nothing a weaver entered is ever overwritten or erased."""
