"""The copies of the book: those made by themselves, one made now, and going back to one."""

from __future__ import annotations

from typing import Any

from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty, StringProperty

from tracker.presenters.copies import CopiesState, CopyLine, build_copies_state, restored_words
from tracker.shell.page import Page
from tracker.shell.undo import undoable
from tracker.widgets.basics import Column, Key, Missing, RowKey, Text, load_kv
from tracker.widgets.look import look
from tracker.words import _


class CopyRow(RowKey):
    """One copy."""

    line = ObjectProperty(CopyLine("", "", "", "", ""), rebind=True)


class CopiesPage(Page):
    """All copies on this phone."""

    headline = StringProperty("")
    room = StringProperty("")
    busy = StringProperty("")
    damaged = BooleanProperty(False)
    trouble = StringProperty("")
    columns = NumericProperty(1)

    def __init__(self, **kwargs: Any) -> None:
        self._turn = 0
        super().__init__(**kwargs)
        self.bind(width=self._fit_columns)
        look.bind(text_scale=self._fit_columns)

    def _fit_columns(self, *_args: Any) -> None:
        from kivy.metrics import dp

        room = self.width - 2 * look.pad
        self.columns = max(1, min(3, int(room / (dp(330) * max(1.0, look.text_scale * 0.8)))))

    def enter(self, **_what: Any) -> None:
        self.busy = ""

    # --- showing

    def refresh(self) -> None:
        desk = self.desk
        self.damaged = desk.damaged
        self.ids.older.clear_widgets()
        if desk.older:
            key = Key(text=_("Open the book as it is"), icon="right")
            key.bind(on_release=lambda _key: self.open_as_it_is())
            self.ids.older.add_widget(key)
        self.trouble = desk.trouble
        self._turn += 1
        turn, today = self._turn, desk.today()

        def read() -> CopiesState:
            return build_copies_state(desk.copies(), today)

        desk.aside(read, lambda words: self._show(turn, words), self._failed)

    def _show(self, turn: int, words: CopiesState) -> None:
        if turn != self._turn:
            return
        self.headline, self.room = words.headline, words.room
        plain = not (words.lines or self.desk.damaged or self.desk.older or self.desk.trouble)
        self.missing = (
            Missing("copy", words.headline, words.none_yet, _("Copy the book now"), "copy") if plain else None
        )
        box = self.ids.copies
        if len(box.children) != len(words.lines):
            box.clear_widgets()
            for _line in words.lines:
                row = CopyRow()
                row.bind(on_release=lambda row: self.open_copy(row.line))
                box.add_widget(row)
        for row, line in zip(reversed(box.children), words.lines, strict=True):
            row.line = line

    def _failed(self, sentence: str) -> None:
        self.busy = ""
        self.shell.toast(sentence, warn=True)

    # --- doing

    def copy_now(self) -> None:
        """Make a copy now."""
        if self.busy:
            return
        desk = self.desk
        self.busy = _("Copying the book …")

        def done(_none: object) -> None:
            self.busy = ""
            self.shell.toast(_("The book is copied and the copy checked."))
            self.refresh()

        desk.aside(desk.copy_now, done, self._failed)

    def open_copy(self, line: CopyLine) -> None:
        """Say what going back to a copy means, and offer it."""
        column = Column()
        column.add_widget(Text(text=f"{line.when} · {line.why}", strong=True))
        column.add_widget(
            Text(
                text=_(
                    "Everything will be as it was then ({since}). The book is copied first, nothing is erased, and "
                    "Undo takes it back."
                ).format(since=line.since or line.size)
            )
        )
        if self.damaged:
            column.add_widget(Text(text=_("Rescue the damaged book first."), tone="madder", strong=True))
        else:
            key = Key(text=_("Go back to this copy"), icon="restore", role="act", loom=True)
            key.bind(on_release=lambda _key: self.restore(line))
            column.add_widget(key)
        self.shell.open_sheet(_("Copy of the book"), column)

    def restore(self, line: CopyLine) -> None:
        """Go back to a copy, as one act that can be taken back."""
        if self.busy:
            return
        desk, shell = self.desk, self.shell
        shell.close_sheet()
        self.busy = _("Going back to the copy …")

        def work() -> Any:
            return desk.restore(line.path)

        def done(restored: Any) -> None:
            self.busy = ""
            desk.read()
            act_id = restored.act_id

            undo = undoable(shell, desk, act_id, _("Undone: the book is as before."))
            said = restored_words(restored.records)
            desk.once(lambda: shell.toast(said, undo=undo if act_id else None))

        desk.aside(work, done, self._failed)

    def open_as_it_is(self) -> None:
        """Open a book that lacks acts it once held, without them."""
        if self.busy:
            return
        self.busy = _("Opening the book …")

        def done(_none: object) -> None:
            self.busy = ""
            self.shell.toast(_("The book is open as it is. Its copies are kept."))
            self.refresh()

        self.desk.aside(lambda: self.desk.open(as_it_is=True), done, self._failed)

    def rescue(self) -> None:
        """Make a new book of what can be read of the damaged one."""
        if self.busy:
            return
        self.busy = _("Reading what can be read …")

        def done(sentences: tuple[str, ...]) -> None:
            self.busy = ""
            column = Column()
            for sentence in sentences:
                column.add_widget(Text(text=sentence))
            self.shell.open_sheet(_("The book was rescued"), column)
            self.refresh()

        self.desk.aside(self.desk.rescue, done, self._failed)


load_kv(__file__)
