"""Naming who sits at the loom: somebody new, or somebody by another name."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import Any

from tracker.domain.act import ActKind
from tracker.domain.rug import Weaver
from tracker.domain.weaver_name import check_weaver_name
from tracker.sheets.asking import ask_choice, ask_text
from tracker.shell.shell import Shell
from tracker.shell.undo import undoable
from tracker.words import _

LONGEST_NAME = 60
"""Characters."""


def ask_weaver_name(
    shell: Shell, others: Iterable[str], done: Callable[[str], None], title: str = "", name: str = ""
) -> None:
    """Ask for a name that none of the others has; `name` is the one so far."""

    def take(typed: str) -> None:
        check_weaver_name(typed, others)
        done(typed)

    ask_text(shell, title or _("Who?"), name, take, hint=_("A name"), most=LONGEST_NAME)


def ask_first_weaver(shell: Shell, desk: Any) -> None:
    """Ask for the name of somebody who weaves, and enter her."""

    def take(name: str) -> None:
        act_id = desk.act(ActKind.WEAVER_ADDED, desk.new_weaver(name))
        shell.toast(_("{name} is entered.").format(name=name), undo=undoable(shell, desk, act_id))

    ask_weaver_name(shell, (weaver.name for weaver in desk.names()[1]), take)


def ask_whom_to_rename(
    shell: Shell,
    desk: Any,
    new: Sequence[Weaver] = (),
    rename_new: Callable[[Weaver, str], None] | None = None,
) -> None:
    """Ask which weaver is called otherwise from now on, and how.

    Parameters
    ----------
    new
        Those of a form, who are not in the book yet.
    rename_new
        Gets one of them with her new name.
    """
    known = tuple(desk.names()[1])
    everybody = (*known, *new)

    def ask(weaver: Weaver) -> None:
        def take(name: str) -> None:
            if weaver in known or rename_new is None:
                _rename(shell, desk, weaver, name)
            else:
                rename_new(weaver, name)

        others = [other.name for other in everybody if other.id != weaver.id]
        ask_weaver_name(shell, others, take, _("New name"), weaver.name)

    if len(everybody) == 1:
        ask(everybody[0])
    else:
        ask_choice(shell, _("Whose name?"), [(weaver.name, weaver) for weaver in everybody], ask)


def _rename(shell: Shell, desk: Any, weaver: Weaver, name: str) -> None:
    """Enter the new name; the weaver stays the same, so all that was entered of her follows."""
    act_id = desk.act(ActKind.WEAVER_RENAMED, replace(weaver, name=name))
    if not act_id:
        shell.toast(_("Nothing was changed."))
        return
    said = _("{before} is now called {name}.").format(before=weaver.name, name=name)
    shell.toast(said, undo=undoable(shell, desk, act_id))
