"""Two phones at one loom: write a file for the other phone, take one in, and see what came."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

from kivy.properties import BooleanProperty, ObjectProperty, StringProperty

from tracker.device import files
from tracker.domain.act import ActKind
from tracker.domain.errors import BadEntry
from tracker.domain.loom import Loom
from tracker.domain.rug import Session, Setting
from tracker.presenters import sync as presenter
from tracker.presenters.entry_text import ICONS, Names, names_in_book
from tracker.presenters.reminders import GIVEN
from tracker.presenters.sync import ConflictLine
from tracker.presenters.twice import (
    Twice,
    TwiceLine,
    entered_twice,
    looms_twice,
    made_one,
    one_loom,
    twice_line,
)
from tracker.sheets.asking import ask_choice, ask_text
from tracker.sheets.entry_detail import open_record
from tracker.sheets.files import ask_file
from tracker.sheets.giving import offer
from tracker.shell.page import Page
from tracker.shell.undo import undoable
from tracker.widgets.basics import Column, Key, RowKey, Text, load_kv
from tracker.widgets.forms import FormColumn
from tracker.words import _

LAST_JOIN = "last join"
"""The draft that remembers what the last file brought, so that it can be taken back after a restart too."""
BOTH_RIGHT = "both sessions right"
"""The draft that remembers of which sessions alike on two phones it was said that both are right."""
MOST_ANSWERS = 500
MOST_KEPT = 5000
"""Acts of a file that are remembered; a larger one is taken back by going back to the copy made before it."""


class ConflictRow(RowKey):
    """One entry that both phones had changed."""

    line = ObjectProperty(ConflictLine("", "", "", "", ()), rebind=True)


class SyncPage(Page):
    """Join two phones' books."""

    device_name = StringProperty("")
    intro = StringProperty("")
    """What the page is for."""
    busy = StringProperty("")
    written = StringProperty("")
    """Where the last file lies, or what became of it."""
    written_tone = StringProperty("green")
    headline = StringProperty("")
    from_whom = StringProperty("")
    rule = StringProperty("")
    twice_rule = StringProperty("")
    withdrawn_rule = StringProperty("")
    with_orders = BooleanProperty(False)
    """Whether the customers' orders go along in the next file; asked anew each time the page is opened."""
    has_orders = False

    def enter(self, **_what: Any) -> None:
        self.busy = ""
        self.with_orders = False
        self._offer_taking_back()

    def leave(self) -> None:
        self.written = ""

    def refresh(self) -> None:
        desk = self.desk
        self.intro = _(
            "Each weaver logs on their own phone. Give each other a file now and then, by cable, card or message. Then both "
            "books hold everything. The order does not matter, and nothing is counted twice."
        )

        def read() -> tuple[str, bool, tuple[TwiceLine, ...]]:
            of_orders = (ActKind.ORDER_CHANGED, ActKind.PAYMENT_ENTERED)
            return desk.phone_name(), desk.diary_count(kinds=of_orders) > 0, self._entered_twice()

        desk.aside(read, self._told, self._failed)

    def _told(self, told: tuple[str, bool, tuple[TwiceLine, ...]]) -> None:
        self.device_name, self.has_orders, pairs = told
        self._show_orders()
        self._show_twice(pairs)

    def _failed(self, sentence: str) -> None:
        self.busy = ""
        self.shell.toast(sentence, warn=True)

    # --- this phone's name

    def ask_name(self) -> None:
        """Ask what this phone is called in the diary of both."""

        def take(name: str) -> None:
            from tracker.domain.rules import DEVICE_NAME_KEY

            if not name:
                raise BadEntry(_("Give a name by which both of you know this phone."))
            desk, shell = self.desk, self.shell
            key = DEVICE_NAME_KEY + desk.book.device_id
            act_id = desk.act(ActKind.SETTING_CHANGED, Setting(id=key, value=name))
            desk.once(
                lambda: shell.toast(
                    _("This phone is now called {name}.").format(name=name),
                    undo=undoable(shell, desk, act_id),
                )
            )

        ask_text(
            self.shell, _("What is this phone called?"), self.device_name, take, most=presenter.MOST_NAME
        )

    # --- giving

    def _show_orders(self) -> None:
        """Ask whether the customers' orders go along, where there are any."""
        box = self.ids.orders
        box.clear_widgets()
        if not self.has_orders:
            return
        column = FormColumn()
        column.note(_("The customers' orders stay on this phone unless you choose to send them."))
        column.chips(
            [(_("The orders go along"), True)],
            lambda _value: self.with_orders,
            self.switch_orders,
            several=True,
        )
        box.add_widget(column)

    def switch_orders(self, _value: bool) -> None:
        """Let the customers' orders go along, or stay here."""
        self.with_orders = not self.with_orders
        self._show_orders()

    def write(self) -> None:
        """Write a file with the whole book for the other phone."""
        if self.busy:
            return
        desk = self.desk
        name = presenter.file_name(self.device_name, desk.today())
        self.busy, self.written = _("Writing the file …"), ""

        by_phone = files.has_chooser()

        orders = self.with_orders

        def work() -> Path:
            folder = files.made_folder() if by_phone else files.shared_folder()
            return desk.write_exchange(folder, name, orders)

        def told(tone: str, sentence: str) -> None:
            self.written, self.written_tone = sentence, tone

        def given() -> None:
            desk.drafts.put(GIVEN, desk.today().isoformat())

        def done(path: Path) -> None:
            self.busy = ""
            if by_phone:
                offer(self.shell, [path], path.name, told, given)
                return
            given()
            self.written_tone = "green"
            self.written = _(
                "The file {name} lies in {folder}. Send it to the other phone and take it in there."
            ).format(name=path.name, folder=path.parent)

        desk.aside(work, done, self._failed)

    # --- taking

    def choose(self) -> None:
        """Choose the file of the other phone."""
        ask_file(
            self.shell,
            _("The other phone's file"),
            self.take,
            endings=(presenter.SUFFIX,),
            nothing=_("No file of another phone here. Open the folder where it was saved."),
            draft="exchange folder",
        )

    def take(self, path: Path, put_back: bool = False) -> None:
        """Take a file of the other phone in; `put_back`: the weaver said that this book was put back from a copy."""
        if self.busy:
            return
        desk = self.desk
        self.busy = _("Taking the file in …")

        def work() -> Any:
            joined, doubt = desk.join(path, put_back)
            if joined is None:
                return None, doubt
            return joined, self._all_names()

        def done(result: Any) -> None:
            self.busy = ""
            if result[0] is None:
                self._ask_put_back(path, result[1])
                return
            self._names = result[1]
            words = presenter.build_merge_state(*result)
            if words.act_ids:
                desk.drafts.put(LAST_JOIN, {"acts": list(words.act_ids[:MOST_KEPT])})
            self._show_joined(words)
            desk.read()

        desk.aside(work, done, self._failed)

    def _all_names(self) -> Names:
        """Return what every yarn, weaver, rug, lot and loom of the book is called."""
        return names_in_book(*self.desk.names()).lengths_in(self.desk.length_unit)

    def _ask_put_back(self, path: Path, sentence: str) -> None:
        """Ask whether entries in this phone's name may be its own."""
        column = Column()
        column.add_widget(Text(text=sentence))
        key = Key(text=_("This book was put back: take the file"), icon="join", role="act", loom=True)

        def take(_key: object) -> None:
            self.shell.close_sheet()
            self.take(path, put_back=True)

        key.bind(on_release=take)
        column.add_widget(key)
        self.shell.open_sheet(_("Entries in this phone's name"), column)

    def _show_joined(self, words: presenter.MergeState) -> None:
        self.headline, self.from_whom, self.rule = words.headline, words.from_whom, words.rule
        self.withdrawn_rule = words.withdrawn_rule
        self._show_lines(self.ids.withdrawn, words.withdrawn)
        self._show_lines(self.ids.conflicts, words.conflicts)
        self._offer_taking_back()

    def _show_lines(self, box: Column, lines: tuple[ConflictLine, ...]) -> None:
        box.clear_widgets()
        for line in lines:
            row = ConflictRow(line=line)
            row.bind(
                on_release=lambda row: open_record(
                    self.shell, self.desk, row.line.record_id, names=self._names
                )
            )
            box.add_widget(row)

    # --- what two phones may each have entered

    def _both_right(self) -> list[str]:
        """Return the pairs of which somebody said on this phone that both are right."""
        answered = self.desk.drafts.get(BOTH_RIGHT)
        return [key for key in answered if isinstance(key, str)] if isinstance(answered, list) else []

    def _entered_twice(self) -> tuple[TwiceLine, ...]:
        """Return what two phones may each have entered of every rug."""
        desk = self.desk
        answered = frozenset(self._both_right())

        @cache
        def phone_of(entry_id: str) -> str:
            return presenter.who(desk.history(entry_id)[-1].device)

        pairs = [
            pair for entries in desk.all_that_adds_up() for pair in entered_twice(entries, phone_of, answered)
        ]
        pairs += looms_twice(desk.looms(), phone_of, answered)
        if not pairs:
            return ()
        names = self._all_names()
        return tuple(twice_line(pair, names, phone_of) for pair in pairs)

    def _show_twice(self, lines: tuple[TwiceLine, ...]) -> None:
        box = self.ids.twice
        box.clear_widgets()
        self.twice_rule = ""
        if not lines:
            return
        self.twice_rule = _("Perhaps entered on both phones. Tap to say whether it was one.")
        for line in lines:
            icon = ICONS.get(type(line.pair.goes), "row")
            shown = ConflictLine(line.pair.goes.id, icon, line.headline, line.stays, (line.goes,))
            row = ConflictRow(line=shown)
            row.bind(on_release=lambda _row, line=line: self.ask_twice(line))
            box.add_widget(row)

    def ask_twice(self, line: TwiceLine) -> None:
        """Ask whether two entries were one."""
        once, both = _("It was one: count it once"), _("Both are right")
        ask_choice(
            self.shell,
            line.headline,
            [(once, True), (both, False)],
            lambda one: self.make_one(line.pair) if one else self.leave_both(line.pair),
        )

    def leave_both(self, pair: Twice) -> None:
        """Remember that both entries are right."""
        self.desk.drafts.put(BOTH_RIGHT, [*self._both_right(), pair.key][-MOST_ANSWERS:])
        self.refresh()

    def make_one(self, pair: Twice) -> None:
        """Count two entries once; one undo brings both back."""
        desk, shell = self.desk, self.shell
        acts: list[str] = []

        def write() -> None:
            if isinstance(pair.stays, Loom):
                made = one_loom(pair, desk.plans)
                acts.append(desk.act(ActKind.ENTRY_WITHDRAWN, *made.values, withdraw=made.withdrawn))
                return
            rug = desk.rug_book(pair.stays.rug_id, with_cartoon=False)
            made = made_one(pair, rug, desk.book.lot_moves())
            of_session = isinstance(pair.stays, Session)
            acts.append(
                desk.act(
                    ActKind.SESSION_WITHDRAWN if of_session else ActKind.ENTRY_WITHDRAWN,
                    *made.values,
                    withdraw=made.withdrawn,
                    rug_id=pair.stays.rug_id,
                )
            )

        if not shell.try_act(write):
            return
        undo = undoable(shell, desk, acts[0])
        desk.once(lambda: shell.toast(_("It counts once now."), undo=undo))

    # --- taking a join back

    def _last_join(self) -> tuple[str, ...]:
        """Return the acts that the last file brought, as far as this phone still remembers."""
        last_join = self.desk.drafts.get(LAST_JOIN)
        acts = last_join.get("acts") if isinstance(last_join, dict) else None
        if not isinstance(acts, list) or not all(isinstance(act, str) for act in acts):
            return ()
        return tuple(acts) if len(acts) < MOST_KEPT else ()

    def _offer_taking_back(self) -> None:
        box = self.ids.back
        box.clear_widgets()
        if not self._last_join():
            return
        key = Key(text=_("Undo what the last file brought"), icon="undo")
        key.bind(on_release=lambda _key: self.undo_now())
        box.add_widget(key)
        box.add_widget(
            Text(
                text=_(
                    "What the file brought is removed here, and on the other phone when it takes "
                    "your next file. Nothing is erased. Undo brings it back."
                ),
                style="small",
                tone="soft",
            )
        )

    def undo_now(self) -> None:
        """Take back all that the last file brought, as one act that can itself be taken back."""
        desk, shell, acts = self.desk, self.shell, self._last_join()
        if self.busy or not acts:
            return
        self.busy = _("Undoing it …")

        def work() -> Any:
            return desk.undo_join(acts)

        def done(undone: Any) -> None:
            self.busy = ""
            desk.drafts.put(LAST_JOIN, None)
            self._show_joined(presenter.MergeState("", "", (), ""))
            desk.read()

            def offer_again() -> None:
                desk.drafts.put(LAST_JOIN, {"acts": list(acts)})
                self._offer_taking_back()

            again = undoable(shell, desk, undone.act_id, _("It is in the book again."), then=offer_again)
            said = presenter.taken_back_words(len(undone.restored), len(undone.left))
            desk.once(lambda: shell.toast(said, undo=again if undone.act_id else None))

        desk.aside(work, done, self._failed)


load_kv(__file__)
