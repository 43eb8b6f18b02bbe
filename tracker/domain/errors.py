"""Errors a weaver can meet. Their text is a sentence the screen can show: what is wrong, what to do."""


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
