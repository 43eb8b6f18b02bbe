"""At which spaces a line may be broken: a number stays with its unit, its month and the name that it counts."""

from __future__ import annotations

import re
from collections.abc import Callable

NO_BREAK = "\u00a0"

_LETTERS = r"[^\W\d_]"
_NUMBER_ENDS = re.compile(r"\d$")
_NUMBER = re.compile(r"\d")
_WORD = re.compile(rf"\(?{_LETTERS}")
_UNIT = re.compile(rf"{_LETTERS}{{1,4}}\b|[%°]")
_LONG_NUMBER = re.compile(r"\d{4}\b")
_DAY = re.compile(r"[(\"']?[1-3]?\d$")
_BEFORE_NUMBERS = re.compile(r"\(?(?:±|/|R|N[me]|tex|den|[A-Z]{3})$")
"""Signs of measure and currencies that stand before their number."""
_NAME = re.compile(rf"\(?{_LETTERS}{{2,5}}$")
_LITTLE_WORD = re.compile(rf"{_LETTERS}{{1,3}}\b")
_NUMBER_OF_A_NAME = re.compile(r"\d+[^\w\s]*$")

LOOSE, SIDES, COUNTED, OF_YEAR, TIGHT = range(5)
"""How a word holds on to the next: not at all, as the sides of a size, as a number and what it counts or a name and its number, as a
month and its year, as a number and its unit or a day and its month."""


def _hold(before: str, word: str, after: str) -> int:
    """Return how `before` holds on to the next `word`, behind which stands `after`."""
    ends_in_number = _NUMBER_ENDS.search(before) is not None
    if word.startswith("·") or (_BEFORE_NUMBERS.match(before) and _NUMBER.match(word)):
        return TIGHT  # a dot between parts ends a line, it does not begin one
    if (ends_in_number and word == "x") or (before == "x" and _NUMBER.match(word)):
        return TIGHT  # Nm 5/2 x 3
    if (ends_in_number and word.startswith("×")) or (before.endswith("×") and _NUMBER.match(word)):
        return SIDES
    if ends_in_number:
        if _UNIT.match(word) or (_DAY.match(before) and (word[:1].isupper() or _LONG_NUMBER.match(after))):
            return TIGHT
        return COUNTED if _WORD.match(word) else LOOSE
    if not re.search(rf"{_LETTERS}$", before) or not _NUMBER.match(word):
        return LOOSE
    if _LONG_NUMBER.match(word):
        return OF_YEAR
    named = _NAME.match(before) and _NUMBER_OF_A_NAME.match(word)
    # Of "row 12 of 90" and "row 12 on" the number is the row's, in "after 12 evenings" it is not.
    counts = _WORD.match(after) and not _LITTLE_WORD.match(after) and not before[:1].isupper()
    return COUNTED if named and not (counts and word[-1].isdecimal()) else LOOSE


def holding_together(text: str, room: float, measure: Callable[[str], float]) -> str:
    """Return a text whose numbers stay on the line of their units, as far as a line is long enough for them together.

    Parameters
    ----------
    room
        Width of a line, px; 0 or less when not known.
    measure
        Returns the width of words on one line, px.
    """
    if " " not in text or (_NUMBER.search(text) is None and "·" not in text):
        return text
    return "\n".join(_held_line(line.split(" "), room, measure) for line in text.split("\n"))


def _held_line(words: list[str], room: float, measure: Callable[[str], float]) -> str:
    ends = [*words[1:], ""]
    holds = [
        _hold(before, word, after) for before, word, after in zip(words, words[1:], ends[1:], strict=False)
    ]
    parts: list[str] = []
    first = 0
    for at in range(len(words)):
        if at == len(words) - 1 or holds[at] == LOOSE:
            parts.append(_held(words[first : at + 1], holds[first:at], room, measure))
            first = at + 1
    return " ".join(parts)


def _held(words: list[str], holds: list[int], room: float, measure: Callable[[str], float]) -> str:
    """Return words that hold on to each other; where no line is long enough for them they part where they hold least."""
    together = NO_BREAK.join(words)
    if not holds or room <= 1 or measure(together) <= room:
        return together
    # The last of those that hold least: "14 January" is read more easily above "2027" than "14" above it.
    at = max(range(len(holds)), key=lambda place: (-holds[place], place))
    return " ".join(
        (
            _held(words[: at + 1], holds[:at], room, measure),
            _held(words[at + 1 :], holds[at + 1 :], room, measure),
        )
    )
