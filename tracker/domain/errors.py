"""Errors a weaver can meet. Their text is a sentence the screen can show: what is wrong, what to do."""

from __future__ import annotations

from datetime import date

from tracker.words import day as day_words
from tracker.words import n_


class LoomsideError(Exception):
    """Base of every error whose text is meant for the weaver."""

    @property
    def sentence(self) -> str:
        """The sentence to show."""
        return str(self)


class BadEntry(LoomsideError):
    """Something typed or tapped cannot be taken as it is."""


class BadPicture(LoomsideError):
    """A file chosen as a cartoon or photo cannot serve as one."""


class BookTrouble(LoomsideError):
    """The book could not be opened, read or written."""


class BookInUse(BookTrouble):
    """Another running app holds the book."""


class BookDamaged(BookTrouble):
    """What is written in the file cannot be what was once entered."""


class BookOlder(BookDamaged):
    """The book is sound but lacks acts that it held before."""

    def __init__(self, day: date, acts: int) -> None:
        super().__init__(
            n_(
                "The book looks older than on {day}: {count} step of entries is missing. Nothing was "
                "changed. Rescue what can be found, or open the book as it is.",
                "The book looks older than on {day}: {count} steps of entries are missing. Nothing "
                "was changed. Rescue what can be found, or open the book as it is.",
                acts,
            ).format(day=day_words(day), count=acts)
        )
        self.day = day
        self.acts = acts


class NotOurs(BookTrouble):
    """A file holds acts in this phone's name that its book does not hold, and should if the phone had made them."""
