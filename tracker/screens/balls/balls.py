"""The balls of each weaver: what her section of the width needs, and who sits where."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from kivy.metrics import dp
from kivy.properties import NumericProperty, ObjectProperty, StringProperty

from tracker.domain import team
from tracker.domain.act import ActKind
from tracker.domain.rug import Role, Weaver
from tracker.domain.seats import seating
from tracker.presenters import entry_forms
from tracker.presenters.balls import (
    BallsState,
    HandedLine,
    SeatCard,
    SeatLine,
    UnsaidLine,
    build_balls_state,
    given_now,
    given_words,
    hand_out_form,
    rows_to_go,
    team_to_seat,
)
from tracker.presenters.places import SEATS, seats_kept, with_seats
from tracker.presenters.whose import said_whose
from tracker.sheets.asking import ask_choice, ask_number
from tracker.sheets.entry_detail import open_record
from tracker.sheets.entry_form import EntrySheet
from tracker.sheets.seats import ask_seats
from tracker.sheets.yarn_answers import ask_of_balls
from tracker.shell.empty import change_plan, no_rug, nothing_here
from tracker.shell.filled_page import FilledPage
from tracker.shell.undo import undoable
from tracker.widgets.basics import Card, Key, Missing, RowKey, load_kv
from tracker.widgets.forms import CardKey, FormColumn, chip, columns_of_page, lay_side_by_side, words_width
from tracker.widgets.width_bars import WidthBars
from tracker.words import _

FIRST_HANDED = 8
"""Entries shown of what was handed out; a key shows the rest."""


class BallsHead(Card):
    """The answer: how many balls in all."""

    headline = StringProperty("")
    figure = StringProperty("")


class SeatHead(Card):
    """Who sits at a section, and what it needs in all."""

    card = ObjectProperty(SeatCard("", "", "", "", ()), rebind=True)


class SeatRow(RowKey):
    """What a section needs of one colour; its key hands it out, the row itself asks how many, when and of which lot."""

    line = ObjectProperty(
        SeatLine("", "", "", "#C8B89A", "", "", 0.0, 0, 0.0, 0.0, 0.0, 0.0, ""),
        rebind=True,
    )
    key_width = NumericProperty(0)

    __events__ = ("on_give",)

    def on_give(self) -> None:
        """The key was tapped."""


class HandedRow(RowKey):
    """Balls that were handed out or taken back; a tap opens the entry."""

    line = ObjectProperty(HandedLine("", "", ""), rebind=True)


class BallsPage(FilledPage):
    """The balls of each weaver of the rug in hand."""

    def __init__(self, **kwargs: Any) -> None:
        self._alone = False
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

    def fill(self) -> Iterator[None]:
        desk = self.desk
        columns = self.ids.columns
        if desk.rug is None or desk.answers is None:
            lay_side_by_side(columns, (no_rug(self),))
            return
        if self.rows is not None and self.rows > rows_to_go(desk.rug):
            self.rows = None
        state = build_balls_state(desk.rug, desk.answers, self._set_here(), self.rows)
        self._alone = state.alone
        if not desk.rug.yarns_of(Role.PILE):
            missing = Missing("ball", state.headline, "", _("Change the plan"), "edit")
            lay_side_by_side(columns, (nothing_here(self, missing, lambda: change_plan(self)),))
            return
        boxes = columns_of_page()
        lay_side_by_side(columns, boxes)
        self._width(boxes[0], state)
        yield
        self._unsaid(boxes[-1], state)
        yield from self._seats(boxes[-1], state)
        yield from self._handed(boxes[0] if len(boxes) > 1 else boxes[-1], state)

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
        for sentence in state.short:
            box.warn(sentence)
        who = CardKey(
            title=_("Who sits where, left to right"), answer=state.who, icon="person", end_icon="edit"
        )
        who.bind(on_release=lambda _card: self.ask_who())
        box.add_widget(who)
        # What the division rests on stands by what changes it, and not before there is something to do.
        box.note(" ".join(state.notes))

    def _unsaid(self, box: FormColumn, state: BallsState) -> None:
        for line in state.unsaid:
            card = CardKey(answer=line.words, note=line.note, swatch=(line.swatch, line.code))
            card.bind(on_release=lambda _card, line=line: self.ask_whose(line))
            box.add_widget(card)

    def _seats(self, box: FormColumn, state: BallsState) -> Iterator[None]:
        box.note(state.how, tone="ink")
        for card in state.seats:
            head = SeatHead(card=card)
            if card.key:
                key = Key(text=card.key, icon="check")
                key.bind(on_release=lambda _key, card=card: self.give(card, card.lines))
                head.add_widget(key)
            box.add_widget(head)
            for line in card.lines:
                row = SeatRow(line=line, key_width=words_width(line.key) + dp(28) if line.key else 0)
                row.bind(
                    on_give=lambda row, card=card: self.give(card, (row.line,)),
                    on_release=lambda row, card=card: self.note(card, row.line),
                )
                box.add_widget(row)
                yield

    def _handed(self, box: FormColumn, state: BallsState) -> Iterator[None]:
        if not state.handed:
            return
        box.heading(_("Handed out so far"))
        for line in self.first_of("handed", state.handed, FIRST_HANDED):
            row = HandedRow(line=line)
            row.bind(on_release=lambda row: open_record(self.shell, self.desk, row.line.record_id))
            box.add_widget(row)
            yield
        self.key_for_rest(box, "handed", state.handed, FIRST_HANDED)

    # --- handing out

    def give(self, card: SeatCard, lines: Sequence[SeatLine]) -> None:
        """Enter the balls of these lines as handed out, with a way back; ask who sits there where nobody said."""
        desk, shell = self.desk, self.shell
        if not card.known and not self._alone:
            shell.toast(_("Say first who sits where."))
            self.ask_who()
            return
        given = given_now(desk.rug, desk.answers, card, lines, desk.today())

        def work() -> None:
            undo = undoable(shell, desk, desk.act(ActKind.BALLS_HANDED_OUT, *given))
            said = _("Saved: {entry}.").format(entry=given_words(desk.rug, given))
            desk.once(lambda: shell.toast(said, undo=undo))

        ask_of_balls(shell, desk, given, _("Hand out all the same"), work)

    def ask_whose(self, line: UnsaidLine) -> None:
        """Ask whose the balls were that ended."""
        ask_choice(
            self.shell, _("Whose was it?"), line.choices, lambda weaver_id: self.say_whose(line, weaver_id)
        )

    def say_whose(self, line: UnsaidLine, weaver_id: str) -> None:
        """Enter whose the balls were, with a way back."""
        desk, shell = self.desk, self.shell
        name = next(name for name, who in line.choices if who == weaver_id)

        def work() -> None:
            sessions = said_whose(desk.rug, line.session_id, line.yarn_id, weaver_id)
            undo = undoable(shell, desk, desk.act(ActKind.SESSION_CORRECTED, *sessions))
            said = _("Saved: it was {name}'s.").format(name=name)
            desk.once(lambda: shell.toast(said, undo=undo))

        shell.try_act(work)

    def note(self, card: SeatCard, line: SeatLine) -> None:
        """Ask how many were given or returned, when, and of which dye lot."""
        desk = self.desk
        form = hand_out_form(desk.rug, desk.answers, card, line, desk.today())
        kept = f"entry {form.kind} {line.yarn_id} {card.weaver_id}"
        sheet = EntrySheet(self.shell, desk, form, desk.rug, kept)
        self.shell.open_sheet(entry_forms.title_of(form, desk.rug), sheet)

    # --- asking

    def set_rows(self, rows: int | None) -> None:
        """Reckon for so many rows."""
        self.rows = rows
        self.refresh()

    def ask_rows(self) -> None:
        """Ask for how many rows."""
        ask_number(
            self.shell, _("Balls for how many rows?"), self.rows, lambda rows: self.set_rows(int(rows)),
            unit=_("rows"), least=1, most=rows_to_go(self.desk.rug),
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
        weaver = self.desk.new_weaver(name)
        self.desk.act(ActKind.WEAVER_ADDED, weaver)
        return weaver

    def set_seats(self, places: team.Places) -> None:
        """Keep who sits where."""
        drafts = self.desk.drafts
        drafts.put(SEATS, with_seats(drafts.get(SEATS), self.desk.rug, places))
        self.refresh()


load_kv(__file__)
