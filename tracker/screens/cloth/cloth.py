"""Measure the cloth: its length and shape at a row, what they say of the end, and how to mend it while it can be mended."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

from kivy.metrics import dp
from kivy.properties import BooleanProperty, ObjectProperty, StringProperty

from tracker.domain.act import ActKind
from tracker.domain.errors import LoomsideError
from tracker.domain.rug import Hold, Measurement
from tracker.presenters import cloth as presenter
from tracker.presenters.cloth_shape import ShapeState
from tracker.presenters.doubts import answer_doubted, doubt_of
from tracker.presenters.entry_text import READINGS, reading_name
from tracker.presenters.trimming import due_words
from tracker.screens.progress.progress import ChartCard
from tracker.sheets.asking import ask_choice, ask_doubt, ask_number
from tracker.shell.empty import without_rug
from tracker.shell.page import Page, there
from tracker.shell.undo import undoable
from tracker.widgets.basics import Card, Field, Text, load_kv, rest_at
from tracker.widgets.detail_line import DetailLine
from tracker.widgets.look import look
from tracker.widgets.shape_view import ShapeView  # noqa: F401 - used by the kv file
from tracker.words import _


class MeasureRow(Card):
    """A length measured before, with a key that withdraws it."""

    words = StringProperty("")
    note = StringProperty("")
    measurement_id = StringProperty("")

    __events__ = ("on_withdraw",)

    def on_withdraw(self) -> None:
        """The withdraw key was tapped."""


class ShapeCard(Card):
    """The picture of the woven part, with what it says."""

    headline = StringProperty("")
    drawn = StringProperty("")
    drawing = ObjectProperty(None, allownone=True)

    def show(self, state: ShapeState) -> None:
        """Show the picture and its sentences: what is off first, then what to do about it, then the rest."""
        self.headline, self.drawn, self.drawing = state.headline, state.drawn, state.drawing
        box = self.ids.sentences
        box.clear_widgets()
        for words, advice in zip(state.warnings, state.advice, strict=True):
            box.add_widget(Text(text=words, tone="madder", strong=True))
            box.add_widget(Text(text=advice))
        if state.warnings:
            box.add_widget(Text(text=state.rows_left, strong=True))
            box.add_widget(Text(text=presenter.tension_caution(), style="small"))
        for words in filter(None, (*state.facts, state.allowed_from)):
            box.add_widget(Text(text=words, style="small"))


class ClothPage(Page):
    """The measure of the cloth."""

    can_save = BooleanProperty(False)
    refused = StringProperty("")
    """What is still missing of what was measured, or cannot be."""
    row = StringProperty("")
    expected = StringProperty("")
    headline = StringProperty("")
    figure = StringProperty("")
    span = StringProperty("")
    beat = StringProperty("")
    warning = StringProperty("")
    mend = StringProperty("")
    trimming = StringProperty("")
    hold_rows = StringProperty("")
    hold_length = StringProperty("")
    holds_rows = BooleanProperty(True)

    form: presenter.MeasureForm | None = None
    _form_of = ""

    def on_kv_post(self, _base_widget: Any) -> None:
        # Held here: what is taken off the page would be let go of.
        self._form_box, self._measured_box = self.ids.form.__self__, self.ids.measured.__self__

    def enter(self, **_what: Any) -> None:
        self.form = None
        look.bind(shape=self._arrange)
        self._arrange()

    def refresh(self) -> None:
        desk = self.desk
        self.title = _("The cloth")
        if desk.rug is None or desk.answers is None:
            self.missing = without_rug(self)
            return
        self.missing = None
        if self.form is None or self._form_of != desk.rug.plan.id:
            waiting = presenter.form_kept(desk.drafts, desk.rug.plan.id)
            if waiting is not None and presenter.is_measured(waiting, desk.rug):
                waiting = None
            self.form = waiting or presenter.blank_form(desk.rug)
            self._form_of = desk.rug.plan.id
        state = presenter.build_cloth_state(self.form, desk.rug, desk.answers, self.desk.length_unit)
        self.row, self.expected = state.row, state.expected
        self.can_save = any(getattr(self.form, name) is not None for name in READINGS)
        self.refused = (
            presenter.refused(self.form, desk.rug, desk.today(), desk.length_unit) if self.can_save else ""
        )
        self._show_readings(state.readings)
        self._show_shape(state.shape)
        self.headline, self.figure, self.span = state.headline, state.figure, state.span
        self.beat, self.warning, self.mend = state.beat, state.warning, state.mend
        self._show_reckoned(state.reckoned)
        self.hold_rows, self.hold_length = state.hold_rows, state.hold_length
        self.trimming = due_words(desk.rug) or _("Trim the pile")
        self.holds_rows = state.hold is Hold.ROWS
        self.ids.chart.chart = state.chart
        box = self.ids.lines
        if len(box.children) != len(state.lines):
            box.clear_widgets()
            for _line in state.lines:
                row = MeasureRow()
                row.bind(on_withdraw=lambda line: self.withdraw(line.measurement_id))
                box.add_widget(row)
        for widget, line in zip(reversed(box.children), state.lines, strict=True):
            widget.words, widget.note, widget.measurement_id = line.words, line.note, line.measurement_id

    def leave(self) -> None:
        look.unbind(shape=self._arrange)

    def _arrange(self, *_args: Any) -> None:
        """Put the fields to measure below what the cloth tells; in two columns on top of the second, where they are seen at once.

        What was measured so far ends the page, or in two columns the first one, which would else be much the shorter.
        """
        form, measured, first, second = self._form_box, self._measured_box, self.ids.first, self.ids.second
        tall = look.shape == "tall"
        if form.parent is (first if tall else second):
            return
        for part in (form, measured):
            part.parent.remove_widget(part)
        (first if tall else second).add_widget(form, index=0 if tall else len(second.children))
        (second if tall else first).add_widget(measured)

    def _show_reckoned(self, lines: tuple[tuple[str, str], ...]) -> None:
        box = self.ids.reckoned
        if len(box.children) != len(lines):
            box.clear_widgets()
            for _line in lines:
                box.add_widget(DetailLine(share=0.28, sum=True))
        for widget, (label, answer) in zip(reversed(box.children), lines, strict=True):
            widget.label, widget.answer = label, answer

    def _show_readings(self, readings: dict[str, str]) -> None:
        tiles = self.ids.readings
        if not tiles.children:
            for name in READINGS:
                field = Field(label=reading_name(name))
                field.bind(on_release=lambda _field, name=name: self.ask_reading(name))
                tiles.add_widget(field)
        for field, name in zip(reversed(tiles.children), READINGS, strict=True):
            field.label, field.answer = reading_name(name), readings[name]
            field.hint = presenter.where_measured(name)

    def _show_shape(self, state: ShapeState) -> None:
        """Show the picture of the shape once there is one, and the width along the rug."""
        place, beside = self.ids.shape_place, self.ids.width_place
        if state.drawing is None:
            place.clear_widgets()
        else:
            if not place.children:
                place.add_widget(ShapeCard())
            place.children[0].show(state)
        if state.chart is None:
            beside.clear_widgets()
        else:
            if not beside.children:
                beside.add_widget(ChartCard())
            beside.children[0].chart = state.chart

    # --- entering

    def show_measuring(self) -> None:
        """Bring what is asked of a measurement to the head of the page; where it stands there already, ask for the first length."""
        scroll, heading = self.ids.scroll, self.ids.measure
        hidden = max(0.0, scroll.children[0].height - scroll.height)
        below = scroll.to_window(0, scroll.top)[1] - heading.to_window(0, heading.top - heading.air)[1]
        beyond = min(hidden, max(0.0, scroll.beyond_px + below))
        if abs(beyond - scroll.beyond_px) > dp(1):
            rest_at(scroll, 1.0 - beyond / hidden)
        else:
            self.ask_reading(READINGS[0])

    def change(self, **fields: Any) -> None:
        """Change the form, keep it beside the book, and show it."""
        self.shell.form_changed()
        form = there(self.form)
        self.form = replace(form, **{"day": form.day or self.desk.today(), **fields})
        presenter.keep_form(self.desk.drafts, self._form_of, self.form)
        self.refresh()

    def ask_row(self) -> None:
        """Ask for the row up to which was measured."""
        ask_number(
            self.shell,
            _("Measured up to which row?"),
            there(self.form).row or None,
            lambda row: self.change(row=int(row)),
            unit=_("row"),
            least=1,
            most=max(1, self.desk.rug.rows_woven),
        )

    def ask_reading(self, name: str) -> None:
        """Ask for one of the lengths that were measured."""
        unit = self.desk.length_unit
        given = getattr(there(self.form), name)
        ask_number(
            self.shell,
            reading_name(name),
            None if given is None else round(presenter.in_unit(given, unit), 2),
            lambda value: self.change(**{name: presenter.in_cm(float(value), unit)}),
            unit=_("in") if unit == "inch" else _("cm"),
            decimals=2 if unit == "inch" else 1,
            most=9_999,
        )

    def save(self) -> None:
        """Write the measurement; of one begun on an earlier day ask first which day is meant."""
        days = there(self.form).days_meant(self.desk.today())
        if days:
            ask_choice(self.shell, _("Which day is meant?"), days, self._save_of)
        else:
            self._save()

    def _save_of(self, on: date) -> None:
        self.form = replace(there(self.form), day=on)
        self._save()

    def _save(self) -> None:
        """Write the measurement; ask first whether what can hardly be meant is right."""
        desk = self.desk
        try:
            value = presenter.to_measurement(there(self.form), desk.rug, desk.today(), desk.length_unit)
        except LoomsideError as trouble:
            self.shell.refuse(trouble.sentence)
            return
        doubt = doubt_of(value, desk.rug, desk.today(), unit=desk.length_unit)
        name = answer_doubted(doubt, {name: getattr(value, name) for name in READINGS})
        change = (lambda: self.ask_reading(name)) if name else None
        ask_doubt(self.shell, doubt, lambda: self._write_measured(value), change)

    def _write_measured(self, value: Measurement) -> None:
        """Write the measurement; on any trouble say it and keep the form."""
        desk, shell = self.desk, self.shell
        try:
            act_id = desk.act(ActKind.LENGTH_MEASURED, value, rug_id=value.rug_id)
        except LoomsideError as trouble:
            shell.refuse(trouble.sentence)
            return
        measured, rug_id = there(self.form), value.rug_id
        presenter.keep_form(desk.drafts, rug_id, None)
        self.form = None

        def back_to_the_form() -> None:
            presenter.keep_form(desk.drafts, rug_id, measured)
            self.form, self._form_of = measured, rug_id
            self.refresh()

        undo = undoable(shell, desk, act_id, then=back_to_the_form)

        def answer() -> None:
            self.refresh()
            told = presenter.answer_to(value, desk.rug, desk.answers, desk.length_unit)
            shell.toast(_("Saved. {told}").format(told=told.sentence).rstrip(), undo=undo, warn=told.warns)

        desk.once(answer)

    def withdraw(self, measurement_id: str) -> None:
        """Take a measurement out."""
        self._write(ActKind.MEASUREMENT_WITHDRAWN, _("Measurement deleted."), withdraw=(measurement_id,))

    def hold(self, hold: Hold | str) -> None:
        """Hold the rows or the length."""
        hold = Hold(hold)
        if hold is self.desk.rug.plan.hold:
            return
        sentence = (
            _("The number of rows is fixed. The length follows your beat.")
            if hold is Hold.ROWS
            else _("The length is fixed. The number of rows follows your beat.")
        )
        self._write(ActKind.HOLD_CHANGED, sentence, presenter.with_hold(self.desk.rug.plan, hold))

    def _write(self, kind: ActKind, sentence: str, *values: Any, withdraw: tuple[Any, ...] = ()) -> None:
        desk, shell = self.desk, self.shell

        def work() -> None:
            act_id = desk.act(kind, *values, withdraw=withdraw)

            undo = undoable(shell, desk, act_id)
            desk.once(lambda: shell.toast(sentence, undo=undo))

        shell.try_act(work)


load_kv(__file__)
