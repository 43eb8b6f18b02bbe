"""Asks for a yarn's count or its full ball where it is missed, and writes the answer into the plan, with undo."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from tracker.domain.act import ActKind
from tracker.domain.yarn import EXAMPLES
from tracker.presenters.yarn_answers import unit_question, with_count, with_unit_mass
from tracker.sheets.asking import ask_number, ask_text
from tracker.shell.undo import undoable
from tracker.words import _


def _write(shell: Any, desk: Any, values: tuple[Any, ...]) -> None:
    if not values:
        return
    act_id = desk.act(ActKind.PLAN_CHANGED, *values)
    undo = undoable(shell, desk, act_id)
    desk.once(lambda: shell.toast(_("The plan is changed."), undo=undo))


def ask_count(shell: Any, desk: Any, yarn_ids: Collection[str]) -> None:
    """Ask for the yarn count of some yarns, as the label says it."""

    def take(text: str) -> None:
        _write(shell, desk, with_count(desk.rug, yarn_ids, text))

    ask_text(shell, _("Yarn count, as the label says it"), "", take, hint=EXAMPLES, most=60)


def ask_unit_mass(shell: Any, desk: Any, yarn_id: str) -> None:
    """Ask how much goes on one full ball or shuttle."""
    yarn = next(yarn for yarn in desk.rug.yarns if yarn.id == yarn_id)

    def take(grams: float) -> None:
        _write(shell, desk, with_unit_mass(desk.rug, yarn_id, grams))

    ask_number(shell, unit_question(yarn), yarn.unit_mass_g, take, unit=_("g"), least=1, most=20_000)
