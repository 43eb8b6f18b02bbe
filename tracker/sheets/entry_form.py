"""A small form in a sheet: a few questions asked on our own pads, a draft at every change, one act, one undo."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date
from typing import Any

from kivy.properties import BooleanProperty, StringProperty

from tracker.domain.errors import LoomsideError
from tracker.domain.rug import RugBook
from tracker.domain.units import LengthUnit
from tracker.presenters import entry_forms, entry_text
from tracker.presenters.doubts import Doubt, answer_doubted
from tracker.presenters.entries.form import EntryForm, FormKind, Sort
from tracker.presenters.entry_forms import FormLine
from tracker.presenters.yarn import yarn_changed
from tracker.sheets.asking import ask_choice, ask_day, ask_doubt, ask_number, ask_text
from tracker.shell.shell import Shell
from tracker.shell.undo import undoable
from tracker.widgets.basics import Column, Field, load_kv
from tracker.widgets.laid_out import BoxLayout
from tracker.words import _


class QuestionField(Field):
    """One question of a small form."""


class KeptNote(BoxLayout):
    """Says that a half-filled form was found again, and offers to begin anew; of one that was undone, to take it up again."""

    undone = BooleanProperty(False)
    stacked = BooleanProperty(False)

    __events__ = ("on_afresh",)

    def on_afresh(self) -> None:
        """The key was tapped."""


class EntrySheet(Column):
    """The questions of one form and the key that saves them."""

    caution = StringProperty("")
    trouble = StringProperty("")
    save_words = StringProperty("")
    can_save = BooleanProperty(False)
    refused = StringProperty("")
    """What is still missing, or cannot be, once something was answered."""

    def __init__(
        self,
        shell: Shell,
        desk: Any,
        form: EntryForm,
        book: RugBook | None,
        draft: str,
        saved: Callable[[str], None] | None = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(**kwargs)
        self.shell, self.desk, self.book, self.draft = shell, desk, book, draft
        self.blank = form
        self.saved = saved
        draft_form = waiting_entry(desk, draft)
        same = draft_form is not None and (draft_form.kind, draft_form.yarn_id, draft_form.rug_id) == (
            form.kind,
            form.yarn_id,
            form.rug_id,
        )
        self.form: EntryForm = draft_form if draft_form is not None and same else form
        self.form, self.blank = entry_forms.taken_up(self.form, self.blank, desk.today())
        self._kept_note: KeptNote | None = None
        if same:
            self._kept_note = KeptNote()
            self._kept_note.bind(
                on_afresh=lambda _note: self.take_up_again() if self.form.undone else self.start_afresh()
            )
            self.add_widget(self._kept_note, index=len(self.children))
        self.show()

    def on_parent(self, _sheet: Any, parent: Any) -> None:
        """Follow the day while the sheet is open: it may stay so over midnight."""
        self.desk.unlisten(self.follow_day)
        if parent is not None:
            self.desk.listen(self.follow_day)

    def follow_day(self) -> None:
        """Be of today as long as nobody answered anything."""
        self.form, self.blank = entry_forms.taken_up(self.form, self.blank, self.desk.today())
        self.show()

    def show(self) -> None:
        """Show the form as it stands."""
        if self._kept_note is not None:
            self._kept_note.undone = self.form.undone
        self.can_save = entry_forms.can_be_saved(self.form, self.blank, self.book, self.desk.today())
        answered = self.form.answers != self.blank.answers
        self.refused = entry_forms.refused(self.form, self.book, self.desk.today()) if answered else ""
        words = entry_forms.build_entry_form_state(
            self.form, self.book, self.desk.today(), self.desk.length_unit
        )
        self.caution, self.save_words = words.caution, words.save
        box = self.ids.questions
        if len(box.children) != len(words.lines):
            box.clear_widgets()
            for _line in words.lines:
                box.add_widget(QuestionField())
        for field, line in zip(reversed(box.children), words.lines, strict=True):
            # Answered, a question needs no hint; its line is the answer's then, so that the next question stays in its place.
            field.label, field.answer = line.question.label, line.answer
            field.hint = "" if line.answer else line.hint
            field.unbind(on_release=field.asks) if hasattr(field, "asks") else None
            field.asks = lambda _field, line=line: self.ask(line)
            field.bind(on_release=field.asks)

    def answer(self, key: str, value: Any) -> None:
        """Take an answer, keep the form beside the book, and show it."""
        self.trouble = ""
        today = self.desk.today()
        self.form, self.blank = entry_forms.taken_up(self.form, self.blank, today)
        self.form = entry_forms.answered(self.form, self.book, key, value)
        if key == "day" and value:
            self.form = self.form.with_day(date.fromisoformat(value), today)
        self.desk.drafts.put(self.draft, entry_forms.to_kept(self.form))
        self.show()

    def ask(self, line: FormLine) -> None:
        """Ask one question on its pad."""
        question, key = line.question, line.question.key
        if (question.of_length or question.of_height) and self.desk.length_unit == LengthUnit.INCH:
            per_inch = question.per_inch
            ask_number(
                self.shell,
                question.label,
                None if line.value is None else round(line.value / per_inch, 2),
                lambda value: self.answer(key, None if value is None else value * per_inch),
                unit=_("in"),
                decimals=2,
                least=question.least / per_inch,
                most=question.most / per_inch,
                optional=question.optional,
            )
        elif question.sort is Sort.NUMBER:
            ask_number(
                self.shell,
                question.label,
                line.value,
                lambda value: self.answer(key, value),
                unit=question.unit,
                decimals=question.decimals,
                least=question.least,
                most=question.most,
                optional=question.optional,
            )
        elif question.sort is Sort.CHOICE:
            offered: list[tuple[str, object]] = [(words, answer) for answer, words in question.choices]
            ask_choice(
                self.shell,
                question.label,
                offered,
                lambda choice: self.answer(key, choice),
                chosen=line.value,
            )
        elif question.sort is Sort.DAY and question.optional and line.value:
            ask_choice(
                self.shell,
                question.label,
                [(_("Another day …"), "another"), (_("Leave it open"), None)],
                lambda choice: self._ask_day(line) if choice else self.answer(key, None),
            )
        elif question.sort is Sort.DAY:
            self._ask_day(line)
        elif question.offers:
            choices: list[tuple[str, object]] = [(offer, offer) for offer in question.offers[:6]]
            choices += [(_("Another …"), ""), (_("None"), None)]

            def pick(choice: Any) -> None:
                if choice == "":
                    self._ask_text(line)
                else:
                    self.answer(key, choice or "")

            ask_choice(self.shell, question.label, choices, pick, chosen=line.value or None)
        else:
            self._ask_text(line)

    def _ask_day(self, line: FormLine) -> None:
        key = line.question.key
        picked = date.fromisoformat(line.value) if line.value else self.desk.today()
        ask_day(
            self.shell,
            line.question.label,
            picked,
            lambda picked: self.answer(key, picked.isoformat()),
            happened=line.question.happened,
        )

    def _ask_text(self, line: FormLine) -> None:
        question = line.question
        ask_text(
            self.shell,
            question.label,
            str(line.value or ""),
            lambda text: self.answer(question.key, text),
            hint=question.hint,
            lines=question.lines,
            most=int(question.most),
        )

    def half_filled(self) -> tuple[dict[str, Any], str]:
        """Return the form as it began, and the draft that keeps its answers."""
        return entry_forms.to_kept(self.blank), self.draft

    def take_up_again(self) -> None:
        """Go on with what was undone: from now on it can be saved."""
        self.form = replace(self.form, undone=False)
        self.desk.drafts.put(self.draft, entry_forms.to_kept(self.form))
        self.show()

    def start_afresh(self) -> None:
        """Forget what was kept and begin again."""
        self.desk.drafts.put(self.draft, None)
        self.form, self.trouble = self.blank, ""
        if self._kept_note is not None:
            self.remove_widget(self._kept_note)
        self.show()

    def save(self) -> None:
        """Write the form; ask first of which day it is, and whether what can hardly be meant is right."""
        today = self.desk.today()
        self.form, self.blank = entry_forms.taken_up(self.form, self.blank, today)
        days = entry_forms.days_meant(self.form, today)
        if days:
            ask_choice(self.shell, _("Which day is meant?"), days, self._save_of)
            return
        self._save()

    def _save_of(self, on: date) -> None:
        self.form = self.form.with_day(on, self.desk.today())
        self.desk.drafts.put(self.draft, entry_forms.to_kept(self.form))
        self.show()
        self._save()

    def _save(self) -> None:
        desk, form = self.desk, self.form
        try:
            value = entry_forms.to_value(form, self.book, desk.today())
        except LoomsideError as trouble:
            self.trouble = trouble.sentence
            return
        doubt = entry_forms.doubt_of(form, value, self.blank, self.book, desk.today(), desk.length_unit)
        ask_doubt(self.shell, doubt, self._write, lambda: self._change_doubted(doubt))

    def _change_doubted(self, doubt: Doubt | None) -> None:
        """Open the question whose answer is in doubt, so that it is changed by the next tap."""
        lines = entry_forms.build_entry_form_state(
            self.form, self.book, self.desk.today(), self.desk.length_unit
        ).lines
        key = answer_doubted(doubt, {line.question.key: line.value for line in lines})
        for line in lines:
            if line.question.key == key:
                self.ask(line)

    def _write(self) -> None:
        """Write the form as one act; on any trouble say it and keep the form."""
        desk, shell, form, draft = self.desk, self.shell, self.form, self.draft
        before = desk.answers
        try:
            value = entry_forms.to_value(form, self.book, desk.today())
            beside = entry_forms.along(form, value, self.blank, desk.plans)
            act_id = desk.act(entry_forms.deed_of(form), value, *beside, rug_id=form.rug_id)
        except LoomsideError as trouble:
            self.trouble = trouble.sentence
            return
        undone = entry_forms.to_kept(replace(form, undone=True))
        desk.drafts.put(draft, None)
        shell.close_sheet()

        def effect() -> str:
            if (
                form.yarn_id
                and desk.rug is not None
                and desk.answers is not None
                and desk.rug.plan.id == form.rug_id
            ):
                return yarn_changed(before, desk.answers, form.yarn_id)
            return ""

        undo = undoable(
            shell,
            desk,
            act_id,
            lambda: (_("Undone.") + " " + effect()).strip(),
            then=lambda: desk.drafts.put(draft, undone),
        )
        names = entry_text.names_of((self.book,) if self.book is not None else (), desk.length_unit)
        said = _("Saved: {entry}.").format(entry=entry_text.headline(value, names))
        if not act_id:
            shell.toast(_("Nothing was changed."))
            return
        desk.once(lambda: shell.toast(f"{said} {effect()}".strip(), undo=undo))
        if self.saved:
            self.saved(act_id)


def waiting_entry(desk: Any, draft: str) -> EntryForm | None:
    """Return the half-filled form that is kept under a name; None where none is, or what it enters is in the book already."""
    form = entry_forms.from_kept(desk.drafts.get(draft) or {})
    if form is not None and not form.correcting and desk.is_entered(form.record_id):
        # Gone on with, it would take the place of what it entered.
        desk.drafts.put(draft, None)
        return None
    return form


def open_entry(
    shell: Shell,
    desk: Any,
    kind: FormKind | None = None,
    yarn_id: str | None = None,
    *,
    value: Any = None,
    book: RugBook | None = None,
    saved: Callable[[str], None] | None = None,
    first: Mapping[str, Any] | None = None,
) -> EntrySheet:
    """Open a small form in a sheet: a new entry of `kind`, or the correction of `value`.

    Parameters
    ----------
    book
        The rug the entry belongs to; None: the one in hand.
    saved
        Called with the act's id when it was written.
    first
        Answers that a new entry starts with, where the page knows them better than the book.
    """
    book = book or desk.rug
    if value is not None:
        form = entry_forms.form_of(value)
        draft = f"correction {form.record_id}"
    elif kind is None:
        raise ValueError("neither a kind nor a value was named")
    else:
        form = entry_forms.blank(kind, book, desk.today(), yarn_id)
        for key, answer in (first or {}).items():
            form = form.with_answer(key, answer)
        draft = f"entry {kind} {yarn_id or form.rug_id or ''}"
    sheet = EntrySheet(shell, desk, form, book, draft, saved)
    shell.open_sheet(entry_forms.title_of(form, book), sheet)
    return sheet


def reopen_entry(shell: Shell, desk: Any, blank: dict[str, Any], draft: str) -> None:
    """Open a small form again as it stood (see `EntrySheet.half_filled`); one that cannot be read stays closed."""
    form = entry_forms.from_kept(blank)
    book = desk.rug
    if form is None or book is None or form.rug_id not in (None, book.plan.id):
        return
    shell.open_sheet(entry_forms.title_of(form, book), EntrySheet(shell, desk, form, book, draft))


load_kv(__file__)
