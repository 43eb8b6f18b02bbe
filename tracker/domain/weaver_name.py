"""What somebody at the loom may be called: no two alike, so that wages, seats and the diary are read of the right one."""

from __future__ import annotations

from collections.abc import Iterable

from tracker.domain.errors import BadEntry
from tracker.words import _


def check_weaver_name(name: str, others: Iterable[str]) -> None:
    """Refuse what nobody can be called by.

    Parameters
    ----------
    name
        As it was typed.
    others
        Names of all the others.

    Raises
    ------
    BadEntry
        When there is no name, or somebody else is called so already, whatever the case of the letters.
    """
    if not name:
        raise BadEntry(_("Give a name, or a sign by which you know each other."))
    if name.casefold() in {other.casefold() for other in others}:
        raise BadEntry(_("{name} is in the book already.").format(name=name))
