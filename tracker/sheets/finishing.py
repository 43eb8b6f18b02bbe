"""Calling a rug finished, in a sheet: what is still open, the day, and its size and weight where they are known already."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from functools import partial
from typing import Any

from tracker.device.clock import now_utc
from tracker.domain.rug import AfterStep, RugBook, RugPlan
from tracker.domain.rules import RUG_G, SIDE_CM
from tracker.domain.units import LengthUnit, from_cm, to_cm
from tracker.presenters import finish as presenter
from tracker.presenters.doubts import doubt_of
from tracker.presenters.guide import open_steps
from tracker.presenters.session import waiting_words
from tracker.presenters.shelf import unsaved_at_finish_words
from tracker.sheets.asking import ask_day, ask_doubt_of_answer, ask_number
from tracker.widgets.basics import Field, TickRow
from tracker.widgets.forms import FormColumn
from tracker.words import _

Finish = Callable[[RugPlan, tuple[AfterStep, ...]], None]
"""What takes the plan of a rug that is called finished, and the steps that were ticked off with it."""


def ask_reading(shell: Any, desk: Any, plan: RugPlan, name: str, done: Callable[[float], None]) -> None:
    """Ask for a side or the weight of a rug off the loom; `done` gets cm or g, by the field of the plan."""
    unit = LengthUnit.INCH if desk.length_unit == "inch" else LengthUnit.CM
    held = getattr(plan, name)
    if name.endswith("_g"):
        ask_number(
            shell, presenter.reading_name(name), held, lambda given: done(float(given)),
            unit=_("g"), least=RUG_G.least, most=RUG_G.most,
        )  # fmt: skip
        return
    ask_number(
        shell, presenter.reading_name(name), None if held is None else round(from_cm(held, unit), 1),
        lambda given: done(to_cm(float(given), unit)),
        unit=_("in") if unit is LengthUnit.INCH else _("cm"), decimals=1,
        least=round(from_cm(SIDE_CM.least, unit), 1), most=round(from_cm(SIDE_CM.most, unit)),
        hint=presenter.planned_words(plan, name, unit.value),
    )  # fmt: skip


class FinishingSheet(FormColumn):
    """A rug that is about to be called finished."""

    def __init__(self, shell: Any, desk: Any, book: RugBook, finish: Finish, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.shell, self.desk, self.book = shell, desk, book
        self.plan = presenter.finished_plan(book, desk.today())
        self._ticks: dict[str, TickRow] = {}
        waiting = unsaved_at_finish_words(waiting_words(desk.drafts, book.plan.id, now_utc()))
        for sentence in filter(None, (waiting, *presenter.left_open(book))):
            self.warn(sentence)
        self.done: set[str] = set()
        steps = open_steps(book)
        if steps:
            self.note(_("Not ticked off yet. Tap what is done; the rest can stay open."))
        for step in steps:
            row = TickRow(text=step.name)
            row.bind(on_release=partial(self.tick, step.id))
            self.add_widget(row)
            self._ticks[step.id] = row
        self._day = Field(label=_("The day it was finished"))
        self._day.bind(on_release=lambda _field: self.ask_day())
        self.add_widget(self._day)
        self.note(
            _("Its size and weight, washed and dry, for the record. Leave open what is not measured yet.")
        )
        self._fields: dict[str, Field] = {}
        for name in presenter.FINISHED_READINGS:
            field = Field(label=presenter.reading_name(name))
            field.bind(on_release=lambda _field, name=name: self.ask(name))
            self._fields[name] = field
            self.add_widget(field)

        def save() -> None:
            shell.close_sheet()
            on = self.plan.finished_day or desk.today()
            finish(self.plan, presenter.steps_done(book, self.done, on))

        self.key(_("Save"), save, "check", "act").loom = True
        self._show()

    def _show(self) -> None:
        self._day.answer = presenter.finished_day_words(self.plan, self.desk.today())
        for name, field in self._fields.items():
            field.answer = presenter.reading_words(self.plan, name, self.desk.length_unit)

    def tick(self, step_id: str, *_row: Any) -> None:
        """Call a step done, or open again."""
        self.done ^= {step_id}
        self._ticks[step_id].ticked = step_id in self.done

    def ask_day(self) -> None:
        """Ask for another day."""
        held = self.plan.finished_day or self.desk.today()
        ask_day(self.shell, _("The day it was finished"), held, self._on_day, happened=True)

    def _on_day(self, on: date) -> None:
        self.plan = replace(self.plan, finished_day=on)
        self._show()

    def ask(self, name: str) -> None:
        """Ask for a side or the weight."""

        def take(value: float) -> None:
            reading: dict[str, Any] = {name: value}
            measured = replace(self.plan, **reading)

            def keep() -> None:
                self.plan = measured
                self._show()

            doubt = doubt_of(measured, self.book, self.desk.today(), self.plan, self.desk.length_unit)
            ask_doubt_of_answer(self.shell, doubt, keep, lambda: self.ask(name))

        ask_reading(self.shell, self.desk, self.plan, name, take)


def ask_finished(shell: Any, desk: Any, book: RugBook, finish: Finish) -> FinishingSheet:
    """Ask for what belongs to a finished rug; `finish` gets its plan, called finished, and the steps ticked off with it."""
    sheet = FinishingSheet(shell, desk, book, finish)
    shell.open_sheet(_("The rug is finished"), sheet)
    return sheet
