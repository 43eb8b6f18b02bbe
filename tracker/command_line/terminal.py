"""What is printed of a book's own words: letters, never what would command the terminal that shows them."""

from __future__ import annotations

import re

_COMMANDS = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")
"""Control letters but tab and line feed (ISO/IEC 6429), and those that turn the direction of reading (Unicode UAX 9)."""


def printable(text: str) -> str:
    """Return text as it may be shown: a name that came with another phone's file may hold a terminal's commands."""
    return _COMMANDS.sub("", text)


def printable_json(text: str) -> str:
    """Return JSON that says the same, with such letters told by their numbers; JSON itself asks that of the lower ones alone."""
    return _COMMANDS.sub(lambda letter: f"\\u{ord(letter[0]):04x}", text)
