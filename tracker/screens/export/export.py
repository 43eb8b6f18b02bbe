"""What can be taken along of a rug, written to files: the record, the cartoon's rows, the calendar, tables."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from kivy.metrics import dp
from kivy.properties import ObjectProperty, StringProperty

from tracker import theme
from tracker.device import files
from tracker.domain.errors import BadEntry
from tracker.domain.rug import RugBook
from tracker.presenters.currency import currency_of
from tracker.presenters.export import ExportCard, ExportState, Kind, build_export_state, written_words
from tracker.presenters.picture import rug_picture, shown_aspect, shown_rows
from tracker.presenters.settings import mirrored_of
from tracker.sheets.asking import ask_number
from tracker.sheets.giving import offer
from tracker.shell.empty import no_rug
from tracker.shell.filled_page import FilledPage
from tracker.shell.page import there
from tracker.widgets.basics import RowKey, load_kv
from tracker.widgets.forms import FormColumn, columns_of_page, lay_side_by_side
from tracker.widgets.look import look
from tracker.widgets.rug_picture import RugPicture
from tracker.words import _, number

LEAST_COLUMN = dp(300)
"""Narrower a card's words stand two to a line."""
PLATE_SHARE = 0.62
"""Of the page's height, at most so much is the rug's picture."""
BLANK = ExportCard(Kind.RECORD, "", "", "", True)


class ExportKey(RowKey):
    """One thing to take along; tapping it writes the file."""

    card = ObjectProperty(BLANK, rebind=True)
    result = StringProperty("")
    tone = StringProperty("green")


class ExportPage(FilledPage):
    """Writes the files of one rug and says where they lie; on a phone it hands them on."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.rug_id: str | None = None
        self._answered: tuple[RugBook, Any] | None = None
        self._busy: Kind | None = None
        self._results: dict[Kind, tuple[str, str]] = {}
        self._first_row: int | None = None
        self._trouble = ""

    def enter(self, rug_id: str | None = None, **_what: Any) -> None:
        super().enter()
        if rug_id != self.rug_id or self._answered is None:
            self._results, self._first_row = {}, None
        self.rug_id = rug_id
        self._answered = None
        self._trouble = ""

    def refresh(self) -> None:
        desk = self.desk
        wanted = self.rug_id or desk.rug_id
        if desk.rug is not None and desk.rug.plan.id == wanted and desk.answers is not None:
            self._answered = (desk.rug, desk.answers)
        elif wanted is not None and any(plan.id == wanted for plan in desk.plans):

            def take(answered: tuple[RugBook, Any]) -> None:
                if answered[0].plan.id == (self.rug_id or desk.rug_id):
                    self._answered = answered
                    self.show()

            desk.aside(lambda: desk.answers_for(wanted), take, self._failed_to_read)
        else:
            self._answered = None
        super().refresh()

    def shows(self) -> tuple[Any, ...]:
        return (
            *super().shows(),
            self._answered,
            self._busy,
            tuple(self._results.items()),
            self._first_row,
            self._trouble,
        )

    def _failed_to_read(self, sentence: str) -> None:
        self._trouble = sentence
        self.show()

    @property
    def folder(self) -> Path:
        """Where the files go."""
        return self.desk.exports.folder(self.desk.path)

    def state(self) -> ExportState | None:
        """Return what the page shows; None until the rug is read."""
        if self._answered is None:
            return None
        folder = "" if files.has_chooser() else self.desk.exports.folder_words(self.folder)
        return build_export_state(*self._answered, folder, self._first_row)

    def fill(self) -> None:
        self.title = _("Share and print")
        columns, head = self.ids.columns, self.ids.head
        head.clear_widgets()
        words = self.state()
        if words is None:
            if self.desk.plans and not self._trouble:
                return
            box = no_rug(self) if not self._trouble else FormColumn(pos_hint={"top": 1})
            if self._trouble:
                box.warn(self._trouble)
            lay_side_by_side(columns, (box,))
            return
        top = FormColumn()
        top.below_bar = True
        top.heading(words.rug_name)
        top.note(words.headline, tone="ink", style="body")
        top.note(words.goes_where)
        head.add_widget(top)
        shown = [self._plate()] if look.shape == "tablet" else []
        boxes = columns_of_page()
        # Before it is laid out the page has no width of its own: what it will have is known.
        if self.shell.ids.holder.width < (len(shown) + len(boxes)) * LEAST_COLUMN:
            boxes = boxes[:1]
        for at, card in enumerate(words.cards):
            box = boxes[at * len(boxes) // len(words.cards)]
            tone, result = self._results.get(card.kind, ("green", ""))
            if self._busy is card.kind:
                tone, result = "soft", _("Writing…")
            key = ExportKey(card=card, result=result, tone=tone)
            key.bind(on_release=lambda key: self.take(key.card))
            box.add_widget(key)
            if card.kind is Kind.ROWS and card.can:
                box.key(
                    _("Begin with another row than {row}").format(row=number(words.first_row)),
                    self.ask_first_row,
                    icon="edit",
                )
        lay_side_by_side(columns, [*shown, *boxes])

    def _plate(self) -> RugPicture:
        """Return the rug's picture, for where there is room for it."""
        book, _answers = there(self._answered)
        plate = RugPicture(
            aspect=shown_aspect(book),
            rows=shown_rows(book),
            row=max(0, book.rows_woven),
            size_hint_y=None,
            pos_hint={"top": 1},
        )

        def fit(*_args: Any) -> None:
            plate.height = min(plate.width / plate.aspect, self.height * PLATE_SHARE)

        plate.bind(width=fit)
        plate.picture = rug_picture(book, (theme.DARK if look.dark else theme.LIGHT).ground, longest=600)
        return plate

    def ask_first_row(self) -> None:
        """Ask with which row the print of the cartoon begins."""
        words = self.state()
        if words is None:
            return

        def chosen(row: float | None) -> None:
            if row is None or row != int(row):
                raise BadEntry(_("Give the number of a row."))
            self._first_row = int(row)
            self._results.pop(Kind.ROWS, None)
            self.show()

        ask_number(self.shell, _("First row to print"), words.first_row, chosen, least=1, most=words.rows)

    def take(self, card: ExportCard) -> None:
        """Write one thing; trouble is a sentence on its card, and the next tap tries again."""
        if self._busy is not None or self._answered is None:
            return
        if not card.can:
            self.shell.toast(card.note)
            return
        book, answers = self._answered
        desk, words = self.desk, self.state()
        by_phone = files.has_chooser()
        first_row = words.first_row if words else 1
        unit = desk.length_unit
        mirrored = mirrored_of(desk.drafts, book.plan.id)
        self._busy = card.kind
        self.show()

        def work() -> Path:
            return desk.exports.take(
                card.kind,
                book,
                answers,
                desk.path,
                into=files.made_folder() if by_phone else None,
                unit=unit,
                first_row=first_row,
                mirrored=mirrored,
                currency=currency_of(desk.settings),
            )

        def ended(tone: str, sentence: str) -> None:
            self._busy = None
            # Another rug's page may be open by now; then the sentence is told on the strip.
            if self._answered is not None and self._answered[0].plan.id == book.plan.id:
                self._results[card.kind] = (tone, sentence)
            else:
                self.shell.toast(sentence, warn=tone == "madder")
            self.show()

        def written(path: Path) -> None:
            if not by_phone:
                ended("green", written_words(path))
                return
            ended("soft", "")
            paths = sorted(path.iterdir()) if path.is_dir() else [path]
            offer(self.shell, paths, path.name if path.is_dir() else path.stem, ended)

        desk.aside(work, written, lambda sentence: ended("madder", sentence))


load_kv(__file__)
