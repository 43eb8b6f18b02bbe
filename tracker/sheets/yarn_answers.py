"""Asks what is missed of a yarn: its count, its full ball, its purchase before its balls; each answer is written with undo."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from typing import Any

from tracker.domain.act import ActKind
from tracker.domain.yarn import EXAMPLES
from tracker.presenters.doubts import doubt_of_balls, never_bought
from tracker.presenters.entries.form import FormKind
from tracker.presenters.yarn_answers import unit_question, with_count, with_unit_mass
from tracker.sheets.asking import ask_doubt, ask_number, ask_text
from tracker.sheets.entry_form import open_entry
from tracker.shell.undo import undoable
from tracker.words import _, mass, one_after_another


def _write(shell: Any, desk: Any, values: tuple[Any, ...], said: str) -> None:
    if not values:
        return
    act_id = desk.act(ActKind.PLAN_CHANGED, *values)
    undo = undoable(shell, desk, act_id)
    desk.once(lambda: shell.toast(said, undo=undo))


def ask_count(shell: Any, desk: Any, yarn_ids: Collection[str]) -> None:
    """Ask for the yarn count of some yarns, as the label says it."""

    def take(text: str) -> None:
        named = one_after_another([yarn.name for yarn in desk.rug.yarns if yarn.id in yarn_ids])
        said = _("{names}: yarn count {count}.").format(names=named, count=text.strip())
        _write(shell, desk, with_count(desk.rug, yarn_ids, text), said)

    ask_text(shell, _("Yarn count, as the label says it"), "", take, hint=EXAMPLES, most=60)


def ask_unit_mass(shell: Any, desk: Any, yarn_id: str) -> None:
    """Ask how much goes on one full ball or shuttle."""
    yarn = next(yarn for yarn in desk.rug.yarns if yarn.id == yarn_id)

    def take(grams: float) -> None:
        question = unit_question(yarn)
        said = _("{what}: {mass} of {name}.").format(what=question, mass=mass(grams), name=yarn.name)
        _write(shell, desk, with_unit_mass(desk.rug, yarn_id, grams), said)

    ask_number(shell, unit_question(yarn), yarn.unit_mass_g, take, unit=_("g"), least=1, most=20_000)


def ask_of_balls(
    shell: Any, desk: Any, values: Sequence[Any], all_the_same: str, work: Callable[[], None]
) -> None:
    """Write balls or shuttles that were tapped, after asking where that can hardly be meant.

    Of yarn that was never bought its purchase can be noted first; `all_the_same` are the words of the key that goes on.
    """
    unbought = never_bought(values, desk.rug, desk.today())

    def note_purchase() -> None:
        # Several are entered at once on the list.
        if len(unbought) == 1:
            open_entry(shell, desk, FormKind.LOT, unbought[0])
        else:
            shell.go("shopping")

    ask_doubt(
        shell,
        doubt_of_balls(values, desk.rug, desk.today(), all_the_same),
        lambda: shell.try_act(work),
        note_purchase if unbought else None,
    )
