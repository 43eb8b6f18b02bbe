"""On which loom a rug is put, and what is meant where another rug lies there; asked before it is saved."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from tracker.domain.loom import Loom
from tracker.domain.rug import RugPlan
from tracker.presenters import one_loom
from tracker.presenters.looms import fit_doubt, placed_on
from tracker.presenters.one_loom import Meant
from tracker.presenters.plan.looms import looms_to_choose
from tracker.sheets.asking import ask_choice, ask_doubt
from tracker.words import _

Done = Callable[[RugPlan, tuple[RugPlan, ...]], None]
"""What takes the plan of the rug as it was answered, and those of other rugs that changed with it."""


def ask_which_loom(shell: Any, desk: Any, plan: RugPlan, done: Done) -> None:
    """Ask on which loom a rug is, where it names none and there are several; then what is meant where another rug lies there."""
    looms = desk.looms()
    if len(looms) < 2 or any(loom.id == plan.loom_id for loom in looms):
        ask_together(shell, desk, plan, done)
        return
    _ask_loom(shell, desk, plan, looms, done)


def _ask_loom(shell: Any, desk: Any, plan: RugPlan, looms: tuple[Loom, ...], done: Done) -> None:
    def place(loom: Loom | None) -> None:
        if loom is None:
            ask_together(shell, desk, one_loom.off_its_loom(plan), done)
        else:
            place_on(shell, desk, plan, loom, done, again=lambda: _ask_loom(shell, desk, plan, looms, done))

    choices = looms_to_choose(plan.id, looms, desk.plans, desk.length_unit)
    ask_choice(shell, _("Which loom?"), choices, place)


def place_on(shell: Any, desk: Any, plan: RugPlan, loom: Loom, done: Done, again: Callable[[], None]) -> None:
    """Put a rug on a loom that was chosen, after asking where it is too narrow or too short for it; `again` chooses another."""
    placed = placed_on(plan, loom)
    doubt = fit_doubt(desk.rug_book(plan.id), placed, loom, desk.length_unit)
    ask_doubt(shell, doubt, lambda: ask_together(shell, desk, placed, done), again)


def ask_together(shell: Any, desk: Any, plan: RugPlan, done: Done) -> None:
    """Ask what is meant where another rug lies on the loom that a rug names; at once done where none does."""
    others = one_loom.others_there(plan, desk.plans)
    if not others:
        done(plan, ())
        return
    other, looms = others[0], desk.looms()
    here = next((loom.name for loom in looms if loom.id == plan.loom_id), _("the loom"))

    def take(meant: Meant) -> None:
        if meant is Meant.ELSEWHERE:
            left = tuple(loom for loom in looms if loom.id != plan.loom_id)
            if left:
                _ask_loom(shell, desk, plan, left, done)
            else:
                done(one_loom.off_its_loom(plan), ())
        elif meant is Meant.MOVED:
            done(plan, tuple(one_loom.off_its_loom(moved) for moved in others))
        elif meant is Meant.BOTH:
            done(plan, ())
        else:
            placed = one_loom.on_warp_of(plan, other, meant)
            book, other_book = desk.answers_for(plan.id)[0], desk.answers_for(other.id)[0]
            ask_doubt(
                shell,
                one_loom.warp_doubt(replace(book, plan=placed), other_book, desk.length_unit),
                lambda: done(placed, ()),
                lambda: ask_together(shell, desk, plan, done),
            )

    ask_choice(
        shell,
        _("Two rugs on one loom?"),
        one_loom.answers(plan, other),
        take,
        told=one_loom.question(other, here),
    )
