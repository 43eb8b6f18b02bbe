"""The book's schema, step by step. Each released step keeps a sample book in tests/storage/schemas/."""

KNOWN = (
    "0001",
    "0002",
    "0003",
    "0004",
    "0005",
    "0006",
    "0007",
    "0008",
    "0009",
    "0010",
    "0011",
    "0012",
    "0013",
    "0014",
    "0015",
    "0016",
    "0017",
)
"""Every schema there ever was, oldest first. A book with any other is from a newer app."""

NEWEST = KNOWN[-1]
