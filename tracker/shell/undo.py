"""The way back from an act, the same on every page: it says only what was in fact taken back."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tracker.words import _, n_, number


def left_words(left: int) -> str:
    """Say how many records an undo left alone, because a later act changed them; "" for none."""
    if not left:
        return ""
    return n_(
        "{count} entry was changed since and stays.", "{count} entries were changed since and stay.", left
    ).format(count=number(left))


def undoable(
    shell: Any,
    desk: Any,
    act_id: str,
    said: str | Callable[[], str] = "",
    then: Callable[[], None] | None = None,
) -> Callable[[], None] | None:
    """Return what takes the act back when its undo key is tapped; None where nothing was changed.

    Parameters
    ----------
    shell, desk
        Who says it, and who does it.
    act_id
        The act to take back; "" where nothing was changed.
    said
        What is said once it is taken back and the answers are fresh; "" for "Undone.".
    then
        Done after the act is taken back, before anything is said: a form brought back, a page told.
    """

    if not act_id:
        return None

    def undo() -> None:
        undone: list[Any] = []
        if not shell.try_act(lambda: undone.append(desk.undo(act_id))):
            return  # the trouble is said by `try_act`, and nothing was taken back
        if then is not None:
            then()
        restored, left = undone[0].restored, left_words(len(undone[0].left))

        def tell() -> None:
            words = (said() if callable(said) else said) or _("Undone.")
            shell.toast(f"{words} {left}".rstrip() if restored or not left else left)

        desk.once(tell)

    return undo
