"""The balls of each weaver: what her section of the width needs, and who sits where."""

from __future__ import annotations

from typing import Any

from kivy.properties import ObjectProperty, StringProperty

from tracker.domain import team
from tracker.domain.act import ActKind
from tracker.domain.rug import Weaver, new_id
from tracker.presenters.balls import (
    SEATS,
    BallsState,
    SeatCard,
    SeatLine,
    build_balls_state,
    seats_kept,
    team_to_seat,
    with_seats,
)
from tracker.presenters.places import seating
from tracker.sheets.asking import ask_number
from tracker.sheets.seats import ask_seats
from tracker.shell.empty import no_rug
from tracker.shell.filled_page import FilledPage
from tracker.widgets.basics import Card, load_kv
from tracker.widgets.forms import CardKey, FormColumn, chip, columns_of_page, lay_side_by_side
from tracker.widgets.width_bars import WidthBars
from tracker.words import _

MOST_ROWS = 20_000


class BallsHead(Card):
    """The answer: how many balls in all."""

    headline = StringProperty("")
    figure = StringProperty("")


class SeatHead(Card):
    """Who sits at a section, and what it needs in all."""

    card = ObjectProperty(SeatCard("", "", "", "", ()), rebind=True)


class SeatRow(Card):
    """What a section needs of one colour."""

    line = ObjectProperty(SeatLine("", "", "", "#C8B89A", "", 0.0, 0, 0.0), rebind=True)


class BallsPage(FilledPage):
    """The balls of each weaver of the rug in hand."""

    def __init__(self, **kwargs: Any) -> None:
        self.rows: int | None = None
        """For so many rows the balls are reckoned; None: to the end."""
        super().__init__(**kwargs)

    def enter(self, **what: Any) -> None:
        super().enter(**what)
        self.rows = None

    def shows(self) -> tuple[Any, ...]:
        """Return all that the page is made of."""
        return *super().shows(), self.rows, self._set_here()

    def _set_here(self) -> team.Places:
        desk = self.desk
        return () if desk.rug is None else seats_kept(desk.drafts.get(SEATS), desk.rug)

    def fill(self) -> None:
        desk = self.desk
        columns = self.ids.columns
        if desk.rug is None or desk.answers is None:
            lay_side_by_side(columns, (no_rug(self),))
            return
        state = build_balls_state(desk.rug, desk.answers, self._set_here(), self.rows)
        boxes = columns_of_page()
        self._width(boxes[0], state)
        self._seats(boxes[-1], state)
        lay_side_by_side(columns, boxes)

    def _width(self, box: FormColumn, state: BallsState) -> None:
        box.add_widget(BallsHead(headline=state.headline, figure=state.figure))
        if state.spans:
            spans = box.chips(
                [(choice.words, choice.rows) for choice in state.spans],
                lambda rows: rows == self.rows,
                self.set_rows,
            )
            spans.add_widget(chip(_("Other rows"), None, False, lambda _none: self.ask_rows(), "edit"))
        if state.picture:
            box.add_widget(WidthBars(parts=state.picture))
            box.note(state.picture_words)
        for note in state.notes:
            box.note(note, tone="ink")
        who = CardKey(
            title=_("Who sits where, left to right"), answer=state.who, icon="person", end_icon="edit"
        )
        who.bind(on_release=lambda _card: self.ask_who())
        box.add_widget(who)

    def _seats(self, box: FormColumn, state: BallsState) -> None:
        for card in state.seats:
            box.add_widget(SeatHead(card=card))
            for line in card.lines:
                box.add_widget(SeatRow(line=line))

    # --- asking

    def set_rows(self, rows: int | None) -> None:
        """Reckon for so many rows."""
        self.rows = rows
        self.refresh()

    def ask_rows(self) -> None:
        """Ask for how many rows."""
        ask_number(
            self.shell, _("Balls for how many rows?"), self.rows, lambda rows: self.set_rows(int(rows)),
            unit=_("rows"), least=1, most=MOST_ROWS,
        )  # fmt: skip

    def ask_who(self) -> None:
        """Ask who sits where."""
        rug = self.desk.rug
        ask_seats(
            self.shell,
            team_to_seat(rug, self._set_here()),
            seating(rug, self._set_here()).places,
            rug.knots_across,
            self.set_seats,
            self.add_weaver,
        )

    def add_weaver(self, name: str) -> Weaver:
        """Enter somebody new."""
        weaver = Weaver(id=new_id(), name=name)
        self.desk.act(ActKind.WEAVER_ADDED, weaver)
        return weaver

    def set_seats(self, places: team.Places) -> None:
        """Keep who sits where."""
        drafts = self.desk.drafts
        drafts.put(SEATS, with_seats(drafts.get(SEATS), self.desk.rug, places))
        self.refresh()


load_kv(__file__)
