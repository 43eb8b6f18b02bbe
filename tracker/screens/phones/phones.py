"""Two phones at one loom: write a file for the other phone, take one in, and see what came."""

from __future__ import annotations

from pathlib import Path

from kivy.properties import ObjectProperty, StringProperty

from tracker.device import files
from tracker.domain.errors import BadEntry
from tracker.domain.rug import Setting
from tracker.presenters import phones as told
from tracker.presenters.phones import ConflictLine
from tracker.presenters.record import Names
from tracker.reports.files_out import write_new
from tracker.screens import Scene
from tracker.screens.stage.stage import Page
from tracker.widgets.basics import RowKey, load_kv
from tracker.widgets.file_list import ask_file
from tracker.widgets.pad import ask_text
from tracker.widgets.record_sheet import open_record
from tracker.words import _


class ConflictRow(RowKey):
    """One entry that both phones had changed."""

    line = ObjectProperty(ConflictLine("", "", "", "", ()), rebind=True)


class PhonesPage(Page):
    """Join two phones' books."""

    device_name = StringProperty("")
    busy = StringProperty("")
    written = StringProperty("")
    """Where the last file lies."""
    headline = StringProperty("")
    from_whom = StringProperty("")
    rule = StringProperty("")

    def enter(self, **_what) -> None:
        self.busy = ""
        self.ids.scroll.scroll_y = 1

    def leave(self) -> None:
        self.written = ""

    def refresh(self) -> None:
        desk = self.desk

        def read() -> str:
            from storage import reading

            return reading.device(desk.book).name

        desk.aside(read, self._named, self._failed)

    def _named(self, name: str) -> None:
        self.device_name = name

    def _failed(self, sentence: str) -> None:
        self.busy = ""
        self.stage.say(sentence, warn=True)

    # --- this phone's name

    def ask_name(self) -> None:
        """Ask what this phone is called in the diary of both."""

        def take(name: str) -> None:
            from storage import reading

            if not name:
                raise BadEntry(_("Give a name by which both of you know this phone."))
            desk, stage = self.desk, self.stage
            key = reading.DEVICE_NAME_KEY + desk.book.device_id
            act_id = desk.act("setting changed", Setting(id=key, value=name))
            desk.once(
                lambda: stage.say(
                    _("This phone is now called {name}.").format(name=name),
                    undo=lambda: stage.try_act(lambda: desk.undo(act_id)),
                )
            )

        ask_text(self.stage, _("What is this phone called?"), self.device_name, take, most=told.MOST_NAME)

    # --- giving

    def write(self) -> None:
        """Write a file with the whole book for the other phone."""
        if self.busy:
            return
        desk = self.desk
        name = told.file_name(self.device_name, desk.today())
        self.busy, self.written = _("Writing the file …"), ""

        def work() -> Path:
            from storage.exchange import write_exchange

            return write_new(files.shared_folder(), name, lambda target: write_exchange(desk.book, target))

        def done(path: Path) -> None:
            self.busy = ""
            self.written = _(
                "The file {name} lies in {folder}. Send it to the other phone and take it in there."
            ).format(name=path.name, folder=path.parent)

        desk.aside(work, done, self._failed)

    # --- taking

    def choose(self) -> None:
        """Choose the file of the other phone."""
        ask_file(
            self.stage,
            _("The other phone's file"),
            self.take,
            endings=(told.SUFFIX,),
            nothing=_("No file of another phone here. Open the folder where it was saved."),
            kept="exchange folder",
        )

    def take(self, path: Path) -> None:
        """Take a file of the other phone in."""
        if self.busy:
            return
        desk = self.desk
        self.busy = _("Taking the file in …")

        def work():
            from storage import reading
            from storage.exchange import join

            joined = join(desk.book, path)
            book = desk.book
            names = Names(
                {yarn.id: yarn for yarn in reading.yarns(book)},
                {weaver.id: weaver.name for weaver in reading.weavers(book)},
                {plan.id: plan.name for plan in reading.rugs(book)},
            )
            return joined, names

        def done(found) -> None:
            self.busy = ""
            self._names = found[1]
            self._show_joined(told.joined_words(*found))
            desk.read()

        desk.aside(work, done, self._failed)

    def _show_joined(self, words: told.JoinedWords) -> None:
        self.headline, self.from_whom, self.rule = words.headline, words.from_whom, words.rule
        box = self.ids.conflicts
        box.clear_widgets()
        for line in words.conflicts:
            row = ConflictRow(line=line)
            row.bind(
                on_release=lambda row: open_record(
                    self.stage, self.desk, row.line.record_id, names=self._names
                )
            )
            box.add_widget(row)


def scenes(desk) -> list[Scene]:
    """The page, and what a file brought."""
    from datetime import date

    from storage.reading import Writer
    from storage.union import Conflict, Joined, Told
    from tracker.domain.rug import Session

    def session(rows: int) -> Session:
        return Session(id="s", rug_id="r", day=date(2026, 11, 21), rows=rows, hours=3.0)

    here, there = Writer("a", _("my phone"), True), Writer("b", _("the other phone"), False)
    joined = Joined(
        acts=14,
        records=12,
        versions=15,
        devices=(there.name,),
        conflicts=(
            Conflict(
                record_id="s", kind="session", rug_id="r", kept=Told(there, session(6)),
                set_aside=(Told(here, session(7)),),
            ),
        ),
    )  # fmt: skip
    return [
        Scene("phones", "phones", {}),
        Scene(
            "phones-joined", "phones", {}, lambda page: page._show_joined(told.joined_words(joined, Names()))
        ),
    ]


load_kv(__file__)
