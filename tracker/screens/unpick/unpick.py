"""Unpicking: from which row on, how much of the yarn cannot be used again, and everything written as one act."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

from kivy.clock import Clock
from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty, StringProperty

from tracker.domain.act import ActKind
from tracker.domain.errors import LoomsideError
from tracker.presenters import unpick as form_sums
from tracker.presenters.doubts import answer_doubted
from tracker.presenters.home import what_changed, why_moved
from tracker.presenters.unpick import UnpickForm, UnpickLine
from tracker.screens.session.session import WaitingLine, waiting_form
from tracker.sheets.asking import ask_day, ask_doubt, ask_number
from tracker.shell.empty import without_rug
from tracker.shell.page import Page, there
from tracker.shell.undo import undoable
from tracker.widgets.basics import Missing, RowKey, load_kv
from tracker.widgets.entry import Entry  # noqa: F401 - used by the kv file
from tracker.widgets.forms import chip
from tracker.widgets.key_row import KeyRow  # noqa: F401 - used by the kv file
from tracker.widgets.look import look
from tracker.words import _

DRAFT = "unpick form"
MOST_HOURS = 24.0


class LossRow(RowKey):
    """One yarn of the unpicked rows; a tap asks how much of it is lost."""

    line = ObjectProperty(UnpickLine("", "", "", "#C8B89A", "", 0.0, ""), rebind=True)


class UnpickPage(Page):
    """Take rows out of the rug in hand."""

    day = StringProperty("")
    first_row = NumericProperty(1)
    shown_row = StringProperty("")
    most_row = NumericProperty(1)
    span = StringProperty("")
    more = StringProperty("")
    hours = StringProperty("")
    hours_label = StringProperty("")
    noted = StringProperty("")
    note = StringProperty("")
    act = StringProperty("")
    can_save = BooleanProperty(False)
    refused = StringProperty("")

    form: UnpickForm | None = None
    correcting = False
    _asked: dict[str, Any]
    _form_of = ""
    """The rug of which the form is."""
    _shown_on: date | None = None

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        # Held here: it changes its column when the window is turned.
        self._people, self._note = self.ids.people.__self__, self.ids.note_box.__self__
        look.bind(shape=self._lay)
        self._lay()
        self.waiting_line = WaitingLine()
        self.waiting_line.words, self.waiting_line.undone = _("Undone, but not lost: it waits here."), True
        self.waiting_line.bind(
            on_again=lambda _line: self.change(), on_afresh=lambda _line: self.leave_undone()
        )

    def _lay(self, *_shape: object) -> None:
        """Balance the two columns of a wide window: who sat there and the note stand under the rows."""
        left, right = self.ids.left, self.ids.right
        # The note keeps the second filled until rows are chosen, of which yarn is lost.
        note = right if not self.ids.losses.children else left
        for part, beside in ((self._people, left), (self._note, note)):
            column = right if look.shape == "tall" else beside
            if part.parent is not column:
                part.parent.remove_widget(part)
                column.add_widget(part)

    def enter(self, row: int | None = None, session_id: str | None = None, **_what: Any) -> None:
        rug = self.desk.rug
        self.form = self._shown_on = None
        # Opened before the book was: it is filled when there is a rug, and anew when another one is taken in hand.
        self._asked, self._form_of = (
            {"row": row, "session_id": session_id},
            "" if rug is None else rug.plan.id,
        )
        if rug is None:
            return
        self.correcting = session_id is not None
        self._draft = f"{DRAFT} {session_id or rug.plan.id}"
        draft = form_sums.from_kept(self.desk.drafts.get(self._draft) or {})
        session = next((one for one in rug.sessions if one.id == session_id), None)
        if session is not None:
            self.form = draft or form_sums.form_of(session, rug, self.desk.answers)
        elif session_id is not None:
            Clock.schedule_once(lambda _dt: self._gone())
        else:
            self.form = None
            if draft is not None and any(one.id == draft.session_id for one in rug.sessions):
                # It was saved, and the app killed before it forgot the form.
                self.desk.drafts.put(self._draft, None)
                draft = None
            if draft is not None and row is None:
                self.form = form_sums.taken_up(draft, rug, self.desk.today())
            self.form = self.form or form_sums.blank_form(rug, self.desk.today(), row)

    def _show_undone(self, undone: bool) -> None:
        """Say that what stands here was undone, and offer to go on with it or to leave it."""
        column, line = self.ids.left, self.waiting_line
        if undone != (line.parent is not None):
            if undone:
                column.add_widget(line, index=len(column.children))
            else:
                column.remove_widget(line)

    def leave_undone(self) -> None:
        """Put away what was undone."""
        self.form = form_sums.blank_form(self.desk.rug, self.desk.today())
        self.desk.drafts.put(self._draft, None)
        self.refresh()

    def _gone(self) -> None:
        self.shell.back()
        self.shell.toast(_("That session is no longer in the book."), warn=True)

    def refresh(self) -> None:
        if self.desk.rug is not None and self.desk.rug.plan.id != self._form_of:
            # A row that was named is of the rug it was named on.
            self.enter(**self._asked if not self._form_of else {})
        self.title = _("Unpick rows")
        if self.form is None or self.desk.rug is None:
            self.missing, self.can_save = without_rug(self), False
            return
        today = self.desk.today()
        if self._shown_on not in (None, today) and not self.correcting:
            # The page stayed open over midnight.
            self.form = form_sums.taken_up(self.form, self.desk.rug, today)
        self._shown_on = today
        counted = None if self.correcting else waiting_form(self.desk)
        waiting = counted is not None and bool(counted.rows or counted.begun_knots is not None)
        state = form_sums.build_unpick_state(
            self.form, self.desk.rug, self.desk.today(), waiting, self.desk.answers
        )
        self.day, self.first_row, self.most_row = state.day, state.first_row, max(1, state.most_row)
        self.shown_row = state.shown_row
        self.span, self.more, self.hours, self.note = state.span, state.more, state.hours, state.note
        self.hours_label = state.hours_label
        self.act, self.can_save, self.noted = state.act, state.can_save, state.noted
        self.refused = state.refused
        self._show_undone(self.form.undone and not state.empty)
        self.missing = (
            Missing("row", state.empty, state.empty_words, state.next_key, "check", "session")
            if state.empty
            else None
        )
        if self.ids.note.text != state.note and not self.ids.note.focus:
            self.ids.note.text = state.note
        self._fill_weavers(state.weavers)
        box = self.ids.losses
        if len(box.children) != len(state.lines):
            box.clear_widgets()
            for _line in state.lines:
                row = LossRow()
                row.bind(on_release=lambda row: self.ask_lost(row.line))
                box.add_widget(row)
        for row, line in zip(reversed(box.children), state.lines, strict=True):
            row.line = line
        self._lay()

    def _fill_weavers(self, weavers: tuple[tuple[str, str, bool], ...]) -> None:
        box = self.ids.weavers
        box.clear_widgets()
        for weaver_id, name, sat in weavers:
            box.add_widget(chip(name, weaver_id, sat, self.toggle_weaver, several=True))

    # --- changing

    def toggle_weaver(self, weaver_id: str) -> None:
        """Somebody was at the loom, or was not."""
        self.form = there(self.form).with_weaver(weaver_id)
        self.change()

    def change(self, **fields: Any) -> None:
        """Change the form, keep it beside the book, and show it."""
        self.shell.form_changed()
        self.form = replace(there(self.form), **{"undone": False, **fields})
        self.desk.drafts.put(self._draft, form_sums.to_kept(self.form))
        self.refresh()

    def set_first_row(self, row: float) -> None:
        """Take out everything from this row on."""
        self.change(first_row=int(row), row_said=True)

    def ask_first_row(self) -> None:
        """Ask on the number pad from which row on."""
        ask_number(
            self.shell,
            _("Unpick from row"),
            there(self.form).first_row if there(self.form).row_said else None,
            lambda row: self.set_first_row(row),
            least=1,
            most=self.most_row,
        )

    def ask_lost(self, line: UnpickLine) -> None:
        """Ask how much of a yarn cannot be used again."""

        def take(grams: float | None) -> None:
            self.form = there(self.form).with_lost(line.yarn_id, grams)
            self.change()

        ask_number(
            self.shell,
            _("{name}: cannot be used again").format(name=line.name),
            line.said_g,
            take,
            unit=_("g"),
            decimals=1,
            most=1_000_000,
            optional=True,
            hint=line.usual,
        )

    def ask_hours(self) -> None:
        """Ask for the hours it took."""
        ask_number(
            self.shell,
            self.hours_label,
            there(self.form).hours,
            lambda hours: self.change(hours=hours or None),
            unit=_("hours"),
            decimals=2,
            most=MOST_HOURS,
            optional=True,
        )

    def ask_day(self) -> None:
        """Ask on which day it was."""
        ask_day(
            self.shell,
            _("Which day?"),
            there(self.form).day,
            lambda picked: self.change(day=picked),
            happened=True,
        )

    def note_changed(self, text: str) -> None:
        """The note was typed."""
        if self.form is not None and text != self.form.note:
            self.form = replace(self.form, note=text, undone=False)
            self.desk.drafts.put(self._draft, form_sums.to_kept(self.form))

    # --- saving

    def save(self) -> None:
        """Write session and losses; ask first whether what can hardly be meant is right."""
        desk = self.desk
        try:
            unpicked = form_sums.to_values(there(self.form), desk.rug, desk.today(), desk.answers)
        except LoomsideError as trouble:
            self.shell.refuse(trouble.sentence)
            return
        doubt = form_sums.doubt_of(unpicked, desk.rug, desk.today(), self.correcting)
        change = self.ask_day if answer_doubted(doubt, {"day": None}) else None
        ask_doubt(self.shell, doubt, self._write, change)

    def _write(self) -> None:
        """Write session and losses as one act; on any trouble say it and keep the form as it is."""
        desk, shell = self.desk, self.shell
        try:
            unpicked = form_sums.to_values(there(self.form), desk.rug, desk.today(), desk.answers)
            before = desk.answers
            act_id = desk.act(
                ActKind.SESSION_CORRECTED if self.correcting else ActKind.ROWS_UNPICKED,
                *unpicked.values,
                withdraw=unpicked.withdrawn,
                rug_id=self._form_of,
            )
        except LoomsideError as trouble:
            shell.refuse(trouble.sentence)
            return
        draft, draft_form = self._draft, form_sums.to_kept(there(self.form))
        desk.drafts.put(draft, None)
        undo = undoable(
            shell,
            desk,
            act_id,
            lambda: _("Undone.") + " " + what_changed(before, desk.answers, desk.rug, briefly=True),
            then=lambda: desk.drafts.put(draft, {**draft_form, "undone": True}),
        )

        def answer() -> None:
            if desk.answers is not None and desk.rug is not None:
                said = form_sums.saved_words(unpicked) if act_id else _("Nothing was changed.")
                why = why_moved(before, desk.answers)
                brief, full = (
                    f"{said} · {what_changed(before, desk.answers, desk.rug, why=said_why)}"
                    for said_why in ("", why)
                )
                shell.toast(brief, undo=undo, fuller=full if why else "")

        if self.correcting:
            shell.back()
        else:
            shell.open_tab("home")
        desk.once(answer)


load_kv(__file__)
