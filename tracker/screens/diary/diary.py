"""The diary: all that was entered, newest first; searched, narrowed, corrected, withdrawn, restored; with pictures."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from kivy.clock import Clock
from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.recycleboxlayout import RecycleBoxLayout
from kivy.uix.recycleview.views import RecycleDataViewBehavior

from tracker.device import camera, photos
from tracker.domain.act import ActKind
from tracker.domain.errors import LoomsideError
from tracker.domain.rug import Photo, new_id
from tracker.presenters import diary as presenter
from tracker.presenters.acts import filter_of, filters
from tracker.presenters.diary import NO_LINE, ChangeLine, DiaryLine
from tracker.presenters.doubts import doubt_of_rows
from tracker.presenters.entry_text import Names, names_in_book
from tracker.sheets.asking import ask_choice, ask_doubt
from tracker.sheets.entry_detail import RecordDetail, open_record
from tracker.sheets.files import ask_picture
from tracker.shell.empty import without_rug
from tracker.shell.page import Page
from tracker.shell.undo import left_words, undoable
from tracker.widgets.basics import Column, Key, Missing, RowKey, Tappable, load_kv
from tracker.widgets.entry import Entry  # noqa: F401 - used by the kv file
from tracker.widgets.laid_out import BoxLayout, LaidOutInOrder
from tracker.widgets.line_breaks import holding_together
from tracker.widgets.look import look
from tracker.widgets.plain_label import PlainLabel, cut_to_lines, extent, lines_taken
from tracker.words import _, n_, number

PAGE = 60
"""Entries read at a time."""
AHEAD = 2
"""Pages read beyond the one in sight, so that a quick finger rarely meets an empty line."""
SEARCH_PAUSE_S = 0.3
"""Quiet after the last letter before the search runs."""


Entries = tuple[Any, ...]
Lines = tuple[DiaryLine, ...]


DOT = " · "
"""Between the parts of what is told, the most telling first."""
LINE_HEIGHT = 1.25
"""Of its type's size."""
LINES, LINES_LARGE = 3, 4
"""Lines of a row, its headline's and those of what is told below it together; and in large type, where a headline alone may take three."""
LARGE_FROM = 1.5
"""Scale of type."""


class BriefText(PlainLabel):
    """Some lines of a row; where it has but one for more words than that they end in dots: the whole is a tap away."""

    brief = True

    def words(self) -> str:
        """Return what is typeset, numbers with their units on one line."""
        return holding_together(
            self.text, self.width, lambda part: extent(part, self.font_name, self.font_size, self.bold)
        )


class DiaryRow(RecycleDataViewBehavior, Tappable, BoxLayout):
    """One act on the list. Its height is fixed, so that thousands scroll without being measured."""

    line_height = LINE_HEIGHT
    line: DiaryLine = ObjectProperty(NO_LINE, rebind=True)
    place = NumericProperty(0)
    chosen = BooleanProperty(False)
    with_icon = BooleanProperty(True)
    """False for large text: no icon takes room from the words."""
    told = StringProperty("")
    """What stands below the headline."""
    head_lines = NumericProperty(1)
    more_lines = NumericProperty(1)
    thumbnail = StringProperty("")
    page = ObjectProperty(None, allownone=True)

    @staticmethod
    def cut(words: str, width: float, font_size: float, bold: bool, lines: float) -> str:
        """Return what of the words has room in so many lines; of one line as many of its parts as stand there whole."""
        if width < 2:
            return words
        if lines < 2:
            parts = words.split(DOT)
            while len(parts) > 1 and DiaryRow.lines_of(DOT.join(parts), width, font_size, bold, 2) > 1:
                parts.pop()
            return DOT.join(parts)
        return cut_to_lines(words, int(lines), width, BriefText.font_name.usual, font_size, bold)

    @staticmethod
    def lines_of(words: str, width: float, font_size: float, bold: bool, room: float) -> int:
        """Return how many of `room` lines words take; none where there is no room or nothing is said."""
        if not words:
            return 0
        return min(int(room), lines_taken(words, width, BriefText.font_name.usual, font_size, bold))

    def refresh_view_attrs(self, view: Any, index: int, data: dict[str, Any]) -> None:
        """Show another place of the list."""
        self.page = data["page"]
        self.place = index
        self.show()

    def show(self) -> None:
        """Show what is known of this place."""
        line = self.page.line_at(self.place)
        if line is not self.line:
            self.line = line
            self.thumbnail = self.page.thumbnail_of(line)
        self.chosen = bool(line.act_id) and line.act_id == self.page.open_act


class EvenRows(LaidOutInOrder, RecycleBoxLayout):
    """Lays out rows of one height. Kivy's own walks along all rows at every move to find those in sight."""

    row_height = NumericProperty(64)

    def get_view_index_at(self, pos: Any) -> int:
        """Return the place at a height, by one division."""
        count = len(self.view_opts or ())
        place = int((self.y + self.height - pos[1]) // self.row_height)
        return max(0, min(count - 1, place))


class ChangeRow(RowKey):
    """What an act did to one entry."""

    change = ObjectProperty(ChangeLine("", "", "", (), False), rebind=True)


class SearchLine(BoxLayout):
    """The line to search with."""

    __events__ = ("on_letters", "on_close")

    def on_letters(self, text: str) -> None:
        """Letters were typed."""

    def on_close(self) -> None:
        """The key was tapped."""


class EntryDetail(Column):
    """One act in full: what it wrote, and the key that takes it back."""

    who_when = StringProperty("")
    undone = BooleanProperty(False)


class DiaryPage(Page):
    """All that was entered."""

    found = StringProperty("")
    """How many entries, and what they were narrowed to."""
    narrowed = BooleanProperty(False)
    searching = BooleanProperty(False)
    has_rug = BooleanProperty(False)
    nothing_open = BooleanProperty(True)
    row_height = NumericProperty(64)
    lines = NumericProperty(LINES)

    def __init__(self, **kwargs: Any) -> None:
        self._lines: dict[int, DiaryLine] = {}
        self._entries: dict[str, Any] = {}
        self._asked: set[int] = set()
        self._names = Names()
        self._turn = 0
        self._read_of: tuple[Any, ...] | None = None
        """What the list was read of, so that it is not read again while that stands."""
        self._total = 0
        self._search_event = None
        self.search_line = SearchLine()
        self.search_line.bind(
            on_letters=lambda _line, text: self.search_typed(text),
            on_close=lambda _line: self.toggle_search(),
        )
        self.open_act = ""
        self.text = ""
        self.filter_key = "all"
        self.this_rug = False
        super().__init__(**kwargs)
        look.bind(type_sizes=self._resize, shape=self._reopen)
        self._resize()

    def _resize(self, *_args: Any) -> None:
        from kivy.metrics import dp

        sizes = look.type_sizes
        self.lines = LINES_LARGE if look.text_scale >= LARGE_FROM else LINES
        words = sizes["body"] * (self.lines - 1) + sizes["small"]
        self.row_height = max(dp(56), words * LINE_HEIGHT + dp(8))

    # --- reading

    def enter(self, **_what: Any) -> None:
        query = self.desk.drafts.get("diary") or {}
        self.filter_key = filter_of(str(query.get("filter", "all"))).key
        self.this_rug = bool(query.get("this rug"))
        self.text = str(query.get("text") or "")
        self._show_search(bool(self.text))

    def leave(self) -> None:
        if self._search_event:
            self._search_event.cancel()

    def refresh(self) -> None:
        """Read the diary anew, keeping the place where the list stands."""
        desk = self.desk
        self.has_rug = desk.rug is not None
        before, self._read_of = self._read_of, None
        if desk.trouble or (desk.rug is None and not self._lines):
            self.missing = without_rug(self)
            if desk.trouble or not desk.fresh:
                return
        query = self._query()
        read_of = (desk.turn, query, desk.today(), desk.length_unit)
        self._read_of = read_of
        if read_of == before:
            return
        self._turn += 1
        turn = self._turn

        def read() -> tuple[int, Names, tuple[int, Entries, Lines]]:
            names = names_in_book(*desk.names()).lengths_in(desk.length_unit)
            count = desk.diary_count(**query)
            first = self._first_in_sight() // PAGE
            return count, names, (first, *self._read_page(query, names, first))

        if not self._lines and desk.rug is not None:
            self.found = "…"  # a page without a word looked as if nothing had ever been entered
        desk.aside(read, lambda found: self._counted(turn, *found), self._failed)

    def _query(self) -> dict[str, Any]:
        return {
            "rug_id": self.desk.rug_id if self.this_rug else None,
            "text": self.text,
            "kinds": filter_of(self.filter_key).kinds,
            # What is deleted stands under the line of its deletion; who looks for something finds it where it was entered, too.
            "folded": not self.text and filter_of(self.filter_key).kinds is None,
            # One entry is one line; who looks for corrections finds each of them.
            "mended_in_place": not self.text and self.filter_key != "mended",
        }

    def _read_page(self, query: dict[str, Any], names: Names, number_of_page: int) -> tuple[Entries, Lines]:
        """Read one page of acts, off the touch thread."""
        start = number_of_page * PAGE
        before = 1 if start else 0
        entries = self.desk.diary(**query, limit=PAGE + before, offset=start - before)
        above = entries[0] if before and entries else None
        return entries[before:], presenter.diary_lines(entries[before:], names, self.desk.today(), above)

    def _counted(self, turn: int, total: int, names: Names, page: tuple[int, Entries, Lines]) -> None:
        if turn != self._turn:
            return
        self._names = names
        self._lines, self._entries, self._asked = {}, {}, {page[0]}
        self._keep(*page)
        view = self.ids.rows
        if total != self._total or len(view.data) != total:
            self._total = total
            view.data = [{"page": self} for _place in range(total)]
        self._show_rows()
        self._say_found()
        if self.open_act in self._entries:
            self._reopen()
        elif look.shape == "tablet" and self._lines:
            self._open_newest()
        elif self.open_act and look.shape != "tall":
            self._close_pane()

    def _failed(self, sentence: str) -> None:
        self._read_of = None
        self.shell.toast(sentence, warn=True)

    def _say_found(self) -> None:
        chosen = filter_of(self.filter_key)
        self.narrowed = bool(self.text or self.this_rug or chosen.kinds is not None)
        parts = [n_("{count} entry", "{count} entries", self._total).format(count=number(self._total))]
        if chosen.kinds is not None:
            parts.append(chosen.label)
        if self.this_rug and self.desk.rug is not None:
            parts.append(self.desk.rug.plan.name)
        if self.text:
            parts.append(_("“{text}”").format(text=self.text))
        self.found = " · ".join(parts)
        self.missing = None
        if self._total == 0 and self.narrowed:
            self.missing = Missing(
                "search", _("Nothing found."), _("Try fewer letters, or show everything again.")
            )
        elif self._total == 0 and self.desk.rug is None:
            self.missing, self.found = without_rug(self), ""
        elif self._total == 0:
            self.found = ""
            self.missing = Missing(
                "diary",
                _("Nothing entered yet."),
                _("All you enter is kept here, newest first, and can be corrected."),
                _("Log the session"),
                "row",
                "session",
            )

    # --- the list

    def _first_in_sight(self) -> int:
        if not self._total:
            return 0
        view = self.ids.rows
        room = self._total * self.row_height - view.height
        return max(0, int(max(0.0, room) * (1 - min(1.0, max(0.0, view.scroll_y))) / self.row_height))

    def line_at(self, place: int) -> DiaryLine:
        """Return the line of a place; an empty one while it is still being read."""
        asked = place // PAGE
        for page in range(asked, min(asked + AHEAD, max(0, self._total - 1) // PAGE) + 1):
            if page not in self._asked:
                self._ask_page(page)
        return self._lines.get(place, NO_LINE)

    def _ask_page(self, page: int) -> None:
        self._asked.add(page)
        turn, query, names = self._turn, self._query(), self._names

        def done(found: tuple[Entries, Lines]) -> None:
            if turn == self._turn:
                self._keep(page, *found)
                self._show_rows()

        self.desk.aside(lambda: self._read_page(query, names, page), done, self._failed)

    def _keep(self, page: int, entries: Entries, lines: Lines) -> None:
        for place, (entry, line) in enumerate(zip(entries, lines, strict=True), page * PAGE):
            self._lines[place] = line
            self._entries[entry.act_id] = entry

    def _show_rows(self) -> None:
        """Show again what is in sight."""
        for row in self.ids.rows.children[0].children:
            if isinstance(row, DiaryRow) and row.page is not None:
                row.show()

    def thumbnail_of(self, line: DiaryLine) -> str:
        """Return the file of a line's thumbnail; "" when there is none."""
        path = photos.thumbnail_path(self.desk.path, line.photo) if line.photo else None
        return str(path) if path else ""

    # --- narrowing

    def _keep_narrowing(self) -> None:
        self.desk.drafts.put(
            "diary", {"filter": self.filter_key, "this rug": self.this_rug, "text": self.text}
        )
        self.ids.rows.scroll_y = 1
        self.refresh()

    def ask_filter(self) -> None:
        """Ask what to show."""
        choices: list[tuple[str, object]] = [(one.label, one.key) for one in filters()]
        if len(self.desk.plans) > 1 and self.desk.rug is not None:
            name = self.desk.rug.plan.name
            words = _("Every rug") if self.this_rug else _("Only {name}").format(name=name)
            choices.append((words, "rug"))

        def pick(choice: object) -> None:
            if choice == "rug":
                self.this_rug = not self.this_rug
            else:
                self.filter_key = str(choice)
            self._keep_narrowing()

        ask_choice(self.shell, _("What to show"), choices, pick, chosen=self.filter_key)

    def toggle_search(self) -> None:
        """Show the line to search with, or put it away."""
        self._show_search(not self.searching)
        if self.searching:
            self.search_line.ids.letters.focus = True
        else:
            self.search_typed("")

    def _show_search(self, searching: bool) -> None:
        """Put the search line there, or take it away: a hidden one would still catch touches."""
        self.searching = searching
        place, line = self.ids.search_place, self.search_line
        place.clear_widgets()
        if searching:
            line.ids.letters.text = self.text
            place.add_widget(line)
        else:
            line.ids.letters.focus = False

    def search_typed(self, text: str) -> None:
        """Letters were typed; search once the fingers rest."""
        if text == self.text:
            return
        if self._search_event:
            self._search_event.cancel()

        def search(_dt: float) -> None:
            self.text = text
            self._keep_narrowing()

        self._search_event = Clock.schedule_once(search, SEARCH_PAUSE_S if text else 0)

    def show_everything(self) -> None:
        """Drop every narrowing."""
        self.filter_key, self.this_rug, self.text = "all", False, ""
        self._show_search(False)
        self._keep_narrowing()

    def back(self) -> bool:
        if self.searching:
            self.toggle_search()
            return True
        return False

    # --- one entry

    def open_row(self, row: DiaryRow) -> None:
        """Show an act in full: beside the list where there is room, else in a sheet."""
        entry = self._entries.get(row.line.act_id)
        if entry is None:
            return
        self.open_act = entry.act_id
        if look.shape == "tall":
            self.shell.open_sheet(
                presenter.entry_detail(entry, self._names, self.desk.today()).title, self._detail(entry)
            )
        else:
            self._reopen()
            self._show_rows()

    def _open_newest(self) -> None:
        """Show the newest entry beside the list: on a tablet half of the page would lie empty."""
        acts = [self._lines[place].act_id for place in sorted(self._lines)]
        self.open_act = next((act for act in acts if act in self._entries), "")
        self._reopen()
        self._show_rows()

    def _reopen(self, *_args: Any) -> None:
        """Show the open act in the pane beside the list."""
        entry = self._entries.get(self.open_act)
        if look.shape == "tall" or entry is None:
            self._close_pane()
            return
        pane = self.ids.pane
        pane.clear_widgets()
        self.ids.pane_title.text = presenter.entry_detail(entry, self._names, self.desk.today()).title
        pane.add_widget(self._detail(entry))
        self.nothing_open = False

    def _close_pane(self) -> None:
        self.open_act = ""
        if "pane" in self.ids:
            self.ids.pane.clear_widgets()
            self.ids.pane_title.text = ""
        self.nothing_open = True

    def _detail(self, entry: Any) -> EntryDetail:
        detail = presenter.entry_detail(entry, self._names, self.desk.today())
        # One entry's history tells who and when by itself.
        who_when = detail.who_when if len(detail.changes) != 1 else ""
        box = EntryDetail(who_when=who_when, undone=detail.undone)
        body = box.ids.body
        book = self.desk.rug if self.desk.rug is not None and entry.rug_id == self.desk.rug.plan.id else None
        if detail.main:
            record = RecordDetail(self.shell, self.desk, detail.main, self._names, book)
            body.add_widget(record)
            keys = record.ids.foot.__self__
            record.remove_widget(keys)
            box.ids.foot.add_widget(keys)
        for change in detail.changes:
            if change.record_id != detail.main:
                row = ChangeRow(change=change)
                row.bind(on_release=lambda row: self._open_change(row.change.record_id, book))
                body.add_widget(row)
        if detail.undo_now:
            key = Key(text=detail.undo_now, icon="redo" if entry.undoes_id or entry.undone else "undo")
            key.bind(on_release=lambda _key: self.ask_undo(entry, detail))
            box.ids.undo.add_widget(key)
        return box

    def _open_change(self, record_id: str, book: Any) -> None:
        self.shell.close_sheet()
        open_record(self.shell, self.desk, record_id, names=self._names, book=book)

    def ask_undo(self, entry: Any, detail: presenter.EntryDetail) -> None:
        """Take an act back, after asking where later entries then tell of rows that were never woven."""
        desk = self.desk
        changes = presenter.sessions_taken_back(entry)
        doubt = None
        if changes.restored or changes.withdrawn:
            shown = desk.rug is not None and desk.rug.plan.id == entry.rug_id
            book = desk.rug if shown else desk.rug_book(entry.rug_id, with_cartoon=False)
            words = (_("Yes, all the same"), _("Leave it"))
            doubt = doubt_of_rows(book, desk.today(), changes.restored, changes.withdrawn, (), *words)
        ask_doubt(self.shell, doubt, lambda: self.undo_now(detail))

    def undo_now(self, detail: presenter.EntryDetail) -> None:
        """Take an act back; the strip offers to do it again."""
        shell, desk = self.shell, self.desk
        undone: list[Any] = []
        if not shell.try_act(lambda: undone.append(desk.undo(detail.undoes))):
            return
        shell.close_sheet()

        again = None
        if undone[0].act_id:
            again = undoable(shell, desk, undone[0].act_id, _("Restored."))
        said = _("Undone: {entry}").format(entry=detail.changes[0].head if detail.changes else detail.title)
        left = left_words(len(undone[0].left))
        if left:
            said = f"{said} {left}" if undone[0].restored else left
        desk.once(lambda: shell.toast(said, undo=again))

    # --- pictures

    def add_photo(self) -> None:
        """Take a picture, or choose one from the files."""
        if self.desk.rug is None:
            self.shell.toast(_("Plan a rug first; its pictures are then kept with it."), warn=True)
            return
        if not camera.has_camera():
            self._choose_photo()
            return
        ask_choice(
            self.shell,
            _("A picture of the rug"),
            [(_("Take one now"), "camera"), (_("Choose one from the files"), "files")],
            lambda choice: self._take_photo() if choice == "camera" else self._choose_photo(),
        )

    def _take_photo(self) -> None:
        def taken(path: Path | None) -> None:
            if path is not None:
                self.desk.post(lambda: self.keep_photo(path, remove=True))

        if not camera.take_picture(taken):
            self.shell.toast(
                _("The camera did not open. Choose a picture from the files instead."), warn=True
            )
            self._choose_photo()

    def _choose_photo(self) -> None:
        ask_picture(self.shell, _("A picture of the rug"), self.keep_photo)

    def keep_photo(self, source: Path, remove: bool = False) -> None:
        """Keep a picture with the rug in hand; `remove`: the camera's own file goes once the book has it."""
        shell, desk = self.shell, self.desk
        if desk.rug is None:
            return
        rug_id, day = desk.rug.plan.id, desk.today()

        def keep() -> str:
            return photos.keep_photo(desk.path, source)

        def kept(file_name: str) -> None:
            photo = Photo(id=new_id(), rug_id=rug_id, day=day, file_name=file_name)
            try:
                act_id = desk.act(ActKind.PHOTO_ADDED, photo, rug_id=rug_id)
            except LoomsideError as trouble:
                photos.forget_photo(desk.path, file_name)
                shell.toast(trouble.sentence, warn=True)
                return
            # Only now: a picture that could not be kept is still there to be chosen again.
            if remove:
                camera.forget_picture(source)

            undo = undoable(shell, desk, act_id)
            desk.once(lambda: shell.toast(_("The picture is kept with the rug."), undo=undo))

        desk.aside(keep, kept, self._failed)


load_kv(__file__)
