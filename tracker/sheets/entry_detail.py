"""One entry of the book in a sheet: what it says, its history of corrections, and the keys to mend it."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from kivy.properties import BooleanProperty, ObjectProperty, StringProperty
from kivy.uix.widget import Widget

from tracker.device.photos import photo_path
from tracker.domain.act import ActKind
from tracker.domain.errors import LoomsideError
from tracker.domain.loom import Loom
from tracker.domain.lot_change import LotChange
from tracker.domain.order import Order
from tracker.domain.rug import Cartoon, Photo, RugBook, RugPlan, Session, SetAside, Spoilt, UnpickedYarn, Yarn
from tracker.presenters import entry_details, entry_text, entry_versions
from tracker.presenters.doubts import doubt_of_rows
from tracker.presenters.entry_forms import VALUES
from tracker.presenters.looms import deletion_trouble
from tracker.presenters.session import lots_again
from tracker.sheets.asking import ask_doubt
from tracker.sheets.entry_form import open_entry
from tracker.shell.shell import Shell
from tracker.shell.undo import undoable
from tracker.widgets.basics import Column, Key, load_kv
from tracker.widgets.detail_line import DetailLine
from tracker.words import _

DETAIL_KINDS = (RugPlan, Cartoon, Yarn)


class PastEntry(Column):
    """One version in the history."""

    line = ObjectProperty(entry_versions.PastLine("", "", "", (), False, False, False), rebind=True)


class RecordDetail(Column):
    """The details, the history and the keys of one entry."""

    gone = BooleanProperty(False)
    trouble = StringProperty("")
    picture = StringProperty("")
    """File of the entry's picture."""

    def __init__(
        self,
        shell: Shell,
        desk: Any,
        record_id: str,
        names: entry_text.Names,
        book: RugBook | None = None,
        changed: Callable[[], None] | None = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(**kwargs)
        self.shell, self.desk, self.record_id = shell, desk, record_id
        self.names, self.book, self.changed = names, book, changed
        self.value: Any = None
        self.show()

    def show(self) -> None:
        """Read the entry anew and show it."""
        try:
            versions = self.desk.history(self.record_id)
        except LoomsideError as trouble:
            self.trouble = trouble.sentence
            return
        self.value = next((version.value for version in versions if version.value is not None), None)
        self.gone = versions[0].value is None
        if isinstance(self.value, Photo):
            path = photo_path(self.desk.path, self.value.file_name)
            self.picture = str(path or "")
            if path is None:
                self.trouble = _("The picture itself lies on the phone that took it.")
        lines = self.ids.lines
        lines.clear_widgets()
        for label, answer in entry_details.details(self.value, self.names):
            lines.add_widget(DetailLine(label=label, answer=answer))
        past = self.ids.past
        past.clear_widgets()
        for line in entry_versions.history_lines(versions, self.names, self.desk.today()):
            past.add_widget(PastEntry(line=line))
        self._show_keys()

    def _show_keys(self) -> None:
        above, below = self.ids.restore, self.ids.foot
        above.clear_widgets()
        below.clear_widgets()

        def add(
            text: str, icon: str, call: Callable[[], None], role: str = "plain", box: Widget = below
        ) -> None:
            key = Key(text=text, icon=icon, role=role)
            key.bind(on_release=lambda _key: call())
            box.add_widget(key)

        if self.value is None:
            return
        if self.gone and not isinstance(self.value, SetAside):
            add(_("Restore"), "restore", self.restore, "act", above)
        elif not self.gone:
            if self._can_correct():
                add(_("Correct"), "edit", self.correct, "act")
            if not isinstance(self.value, DETAIL_KINDS):
                add(_("Delete"), "withdraw", self.withdraw)

    def _can_correct(self) -> bool:
        return type(self.value) in VALUES or isinstance(
            self.value, Session | RugPlan | Cartoon | Yarn | Order
        )

    @property
    def rug_id(self) -> str | None:
        """The rug the entry belongs to."""
        value = self.value
        return value.id if isinstance(value, RugPlan) else getattr(value, "rug_id", None)

    def correct(self) -> None:
        """Open the form that corrects this entry."""
        value, shell, desk = self.value, self.shell, self.desk
        shell.close_sheet()
        if isinstance(value, Session):
            page = "unpick" if value.unpicked_yarn is UnpickedYarn.SAID and value.rows <= 0 else "session"
            shell.go_with_rug(self.rug_id, page, session_id=value.id)
        elif isinstance(value, Order):
            shell.go_with_rug(self.rug_id, "order")
        elif isinstance(value, DETAIL_KINDS):
            shell.go("plan", rug_id=self.rug_id)
        else:
            open_entry(shell, desk, value=value, book=self.book, saved=lambda _act_id: self._tell())

    def _tell(self) -> None:
        if self.changed:
            self.changed()

    def _act(self, kind: ActKind, said: str, *values: Any, withdraw: tuple[str, ...] = ()) -> None:
        desk, shell = self.desk, self.shell
        try:
            act_id = desk.act(kind, *values, withdraw=withdraw, rug_id=self.rug_id)
        except LoomsideError as trouble:
            self.trouble = trouble.sentence
            return
        shell.close_sheet()

        undo = undoable(shell, desk, act_id, then=self._tell)
        desk.once(lambda: shell.toast(said, undo=undo))
        self._tell()

    def withdraw(self) -> None:
        """Take the entry out of the book; it stays in the diary and can be restored."""
        if isinstance(self.value, Loom) and (trouble := deletion_trouble(self.record_id, self.desk.plans)):
            self.trouble = trouble
            return
        kind = ActKind.SESSION_WITHDRAWN if isinstance(self.value, Session) else ActKind.ENTRY_WITHDRAWN
        said = _("Deleted: {entry}").format(entry=entry_text.headline(self.value, self.names))
        withdraw, again = (self.record_id, *self._losses()), self._lots_again()
        self._ask(
            lambda: self._act(kind, said, *again, withdraw=withdraw),
            withdrawn=withdraw,
            settled=tuple(change.id for change in again),
            words=(_("Delete it all the same"), _("Leave it")),
        )

    def _ask(
        self,
        act: Callable[[], None],
        *sessions: Session,
        withdrawn: tuple[str, ...] = (),
        settled: tuple[str, ...] = (),
        words: tuple[str, str],
    ) -> None:
        """Do something with a session, after asking where later entries then tell of rows that were never woven."""
        doubt = None
        if isinstance(self.value, Session):
            doubt = doubt_of_rows(self._rug_book(), self.desk.today(), sessions, withdrawn, settled, *words)
        ask_doubt(self.shell, doubt, act)

    def _rug_book(self) -> RugBook:
        """Return the rug of the entry."""
        rug = self.desk.rug
        same = rug is not None and rug.plan.id == self.rug_id
        return rug if same else self.desk.rug_book(self.rug_id, with_cartoon=False)

    def _losses(self) -> tuple[str, ...]:
        """Return what goes with the session of unpicked rows: the losses of their yarn."""
        if not isinstance(self.value, Session) or self.value.unpicked_yarn is UnpickedYarn.GONE:
            return ()
        return tuple(loss.id for loss in self._rug_book().spoilt if loss.session_id == self.record_id)

    def _lots_again(self) -> tuple[LotChange, ...]:
        """Return the changes of dye lot whose rows go with a session: they are to be done again."""
        if not isinstance(self.value, Session):
            return ()
        return lots_again(self._rug_book(), replace(self.value, rows=0))

    def restore(self) -> None:
        """Bring a withdrawn entry back as it last was."""
        said = _("Restored: {entry}").format(entry=entry_text.headline(self.value, self.names))
        values = (self.value, *self._losses_gone_with_it())
        self._ask(
            lambda: self._act(ActKind.ENTRY_RESTORED, said, *values),
            *(value for value in values if isinstance(value, Session)),
            words=(_("Restore it all the same"), _("Leave it")),
        )

    def _losses_gone_with_it(self) -> tuple[Spoilt, ...]:
        """Return the losses of unpicked rows that were deleted together with their session and have not come back since."""
        if not isinstance(self.value, Session) or self.value.unpicked_yarn is UnpickedYarn.GONE:
            return ()
        entry = self.desk.entry_of(self.desk.history(self.record_id)[0].act_id)
        changes = () if entry is None else entry.changes
        return tuple(
            change.before
            for change in changes
            if change.current
            and isinstance(change.before, Spoilt)
            and change.before.session_id == self.record_id
        )


def kind_words(value: Any) -> str:
    """Return what a kind of entry is called."""
    if isinstance(value, SetAside):
        return entry_text.kind_words(value.kind)
    return entry_text.kind_words(re.sub(r"(?<!^)(?=[A-Z])", "_", type(value).__name__).lower())


def open_record(
    shell: Shell,
    desk: Any,
    record_id: str,
    *,
    names: entry_text.Names | None = None,
    book: RugBook | None = None,
    changed: Callable[[], None] | None = None,
) -> RecordDetail:
    """Show one entry in a sheet.

    Parameters
    ----------
    names
        What ids are called; None: those of the rug in hand.
    book
        The rug the entry belongs to; None: the one in hand.
    changed
        Called when the entry was corrected, withdrawn or restored.
    """
    book = book or desk.rug
    names = names or entry_text.names_of((book,) if book else (), desk.length_unit)
    detail = RecordDetail(shell, desk, record_id, names, book, changed)
    shell.open_sheet(kind_words(detail.value), detail)
    return detail


load_kv(__file__)
