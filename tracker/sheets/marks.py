"""The mistakes marked on the cartoon, in a sheet: each is ticked off as mended, opened, or a new one is begun."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from kivy.properties import ObjectProperty

from tracker.domain.act import ActKind
from tracker.presenters import entry_forms, marks
from tracker.presenters.entry_text import mark_words
from tracker.presenters.marks import MarkLine
from tracker.sheets.entry_detail import open_record
from tracker.sheets.entry_form import EntrySheet
from tracker.shell.undo import undoable
from tracker.widgets.basics import Across, load_kv
from tracker.widgets.forms import FormColumn
from tracker.words import _


class MistakeRow(Across):
    """One mark: a key that ticks it off, and the words that open it."""

    line = ObjectProperty(MarkLine("", "", "", False), rebind=True)

    __events__ = ("on_tick", "on_open")

    def on_tick(self) -> None:
        """It is mended, or open again."""

    def on_open(self) -> None:
        """The words were tapped."""


def open_marks(shell: Any, desk: Any, mark_one: Callable[[], None]) -> None:
    """Open the list; `mark_one` lets the weaver touch the place of a new one."""
    box = FormColumn()

    def begin() -> None:
        shell.close_sheet()
        mark_one()

    def fill() -> None:
        box.clear_widgets()
        rug = desk.rug
        lines = marks.mark_lines(rug, desk.today())
        if not lines:
            box.note(
                marks.how_to_words(),
                tone="ink",
                style="body",
            )
        else:
            box.note(marks.summary_words(rug))
        for line in lines:
            row = MistakeRow(line=line)
            row.bind(
                on_tick=lambda row: tick(row.line.mark_id), on_open=lambda row: look_at(row.line.mark_id)
            )
            box.add_widget(row)
        box.key(_("Mark a mistake"), begin, "plus", "act")

    def tick(mark_id: str) -> None:
        shell.close_sheet()
        tick_off(shell, desk, mark_id)

    def look_at(mark_id: str) -> None:
        shell.close_sheet()
        open_record(shell, desk, mark_id)

    fill()
    shell.open_sheet(_("Mistakes"), box)


def tick_off(shell: Any, desk: Any, mark_id: str) -> None:
    """Tick a mark off as mended, or open it again; one undo takes it back."""
    mark = next((mark for mark in desk.rug.marks if mark.id == mark_id), None)
    if mark is None:
        return
    changed = marks.with_mended(mark, desk.today())
    mended = changed.mended_day is not None
    acts: list[str] = []
    kind = ActKind.MISTAKE_MENDED if mended else ActKind.ENTRY_CORRECTED
    if not shell.try_act(lambda: acts.append(desk.act(kind, changed))):
        return
    undo = undoable(shell, desk, acts[0])
    said = _("Mended: {where}") if mended else _("Still there: {where}")
    where = mark_words(mark)
    desk.once(lambda: shell.toast(said.format(where=where), undo=undo))


def open_mark_form(shell: Any, desk: Any, row: int, knot: int) -> None:
    """Ask what is wrong at a place that was touched."""
    rug = desk.rug
    form = marks.form_at(rug, desk.today(), row, knot)
    draft = f"entry {form.kind} {rug.plan.id} {row} {knot}"
    shell.open_sheet(entry_forms.title_of(form, rug), EntrySheet(shell, desk, form, rug, draft))


load_kv(__file__)
