"""The looms: what lies on each, how far it is woven, who sits where, and when it becomes free."""

from __future__ import annotations

from typing import Any

from kivy.properties import NumericProperty, ObjectProperty, StringProperty
from kivy.uix.widget import Widget

from tracker.domain.act import ActKind
from tracker.domain.rug import RugPlan
from tracker.presenters import looms as presenter
from tracker.presenters.entries.form import FormKind
from tracker.presenters.looms import LoomCard, LoomsState, RugOnLoom, SeatLine
from tracker.sheets.asking import ask_choice
from tracker.sheets.entry_form import open_entry
from tracker.sheets.on_loom import place_on
from tracker.shell.filled_page import FilledPage
from tracker.shell.undo import undoable
from tracker.widgets.basics import Card, Column, Missing, RowKey, load_kv
from tracker.widgets.forms import FormColumn, columns_of_page, lay_side_by_side
from tracker.widgets.look import look
from tracker.words import _, day


class LoomHead(RowKey):
    """A loom with when it is free; a tap opens what can be done with it."""

    card = ObjectProperty(LoomCard("", "", "", False, "", "", (), "", (), ""), rebind=True)


class LoomRugKey(RowKey):
    """A rug on a loom; a tap opens it."""

    line = ObjectProperty(RugOnLoom("", "", "", "", "", 0.0, False), rebind=True)


class SeatBox(Column):
    """One place on the bench."""

    line = ObjectProperty(SeatLine("", ""), rebind=True)


class SeatsCard(Card):
    """Who sits where."""

    sat = StringProperty("")
    across = NumericProperty(1)


class LoomsPage(FilledPage):
    """All looms."""

    headline = StringProperty("")

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._read: Any = None
        """The looms and what lies on them, as last read."""
        self._turn = 0

    def shows(self) -> tuple[Any, ...]:
        return self._read, self.desk.today(), self.desk.length_unit

    def refresh(self) -> None:
        desk = self.desk
        if not desk.fresh:
            if desk.trouble or not self._read:
                self.missing = Missing("warp", desk.trouble or _("Opening the book …"))
            return
        self._turn += 1
        turn = self._turn
        if self._read is None:
            self.missing = Missing("warp", _("Looking through the looms …"))
        desk.aside(
            desk.on_looms,
            lambda told: self._taken(turn, told),
            lambda sentence: self.shell.toast(sentence, warn=True),
        )

    def _taken(self, turn: int, told: Any) -> None:
        if turn != self._turn:
            return
        self._read = told
        super().refresh()

    @property
    def state(self) -> LoomsState:
        """What the page shows."""
        looms, rugs, finished = self._read
        return presenter.build_looms_state(looms, rugs, finished, self.desk.today(), self.desk.length_unit)

    def fill(self) -> None:
        if self._read is None:
            return
        state = self.state
        self.headline = state.headline
        self.missing = (
            Missing("warp", _("No loom yet."), state.empty, _("Add a loom"), "plus") if state.empty else None
        )
        boxes = columns_of_page()
        for place, card in enumerate(state.cards):
            box = boxes[place % len(boxes)]
            if place >= len(boxes):
                box.add_widget(Widget(size_hint_y=None, height=look.gap))
            self._fill(box, card)
        if state.unplaced:
            box = boxes[-1]
            box.heading(_("On no loom of these"))
            box.note(_("Tap a rug to say which loom it is on."))
            for line in state.unplaced:
                key = LoomRugKey(line=line)
                key.bind(on_release=lambda key: self.ask_loom(key.line))
                box.add_widget(key)
        lay_side_by_side(self.ids.columns, boxes)

    def _fill(self, box: FormColumn, card: LoomCard) -> None:
        head = LoomHead(card=card)
        head.bind(on_release=lambda head: self.open_loom(head.card))
        box.add_widget(head)
        for line in card.rugs:
            self._add_rug(box, line)
        box.note(card.warp)
        if card.begin_after is not None:
            rug_id, first_day = card.begin_after
            box.key(card.begin_words, lambda: self.begin(rug_id, first_day), icon="calendar")
        if card.sat or len(card.seats) > 1:
            narrow = 1 if look.text_scale >= 1.5 else 3
            seats = SeatsCard(sat=card.sat, across=min(len(card.seats), narrow))
            for seat in card.seats:
                seats.ids.seats.add_widget(SeatBox(line=seat))
            box.add_widget(seats)

    def _add_rug(self, box: FormColumn, line: RugOnLoom) -> None:
        key = LoomRugKey(line=line)
        key.bind(on_release=lambda key: self.open_rug(key.line.rug_id))
        box.add_widget(key)
        if line.trouble:
            box.warn(line.trouble)

    def open_rug(self, rug_id: str) -> None:
        """Take a rug in hand and open it; back leads to the looms."""
        self.desk.choose(rug_id)
        self.shell.go("home")

    def ask_loom(self, line: RugOnLoom) -> None:
        """Ask on which loom a rug lies; it can be opened from here, too."""
        choices: list[tuple[str, Any]] = [(loom.name, loom) for loom in self._read[0]]

        def place(loom: Any) -> None:
            if loom is None:
                self.open_rug(line.rug_id)
            else:
                plan = next(plan for plan in self.desk.plans if plan.id == line.rug_id)
                place_on(self.shell, self.desk, plan, loom, self._place, again=lambda: self.ask_loom(line))

        ask_choice(
            self.shell,
            _("On which loom is {rug}?").format(rug=line.name),
            [*choices, (_("Open the rug"), None)],
            place,
        )

    def _place(self, plan: RugPlan, others: tuple[RugPlan, ...]) -> None:
        """Put a rug on the loom that its plan names now, with undo."""
        desk, shell = self.desk, self.shell
        acts: list[str] = []
        if shell.try_act(lambda: acts.append(desk.act(ActKind.PLAN_CHANGED, plan, *others, rug_id=plan.id))):
            undo = undoable(shell, desk, acts[0])
            loom = next((loom.name for loom in self._read[0] if loom.id == plan.loom_id), "")
            words = _("{rug} is on {loom}.").format(rug=plan.name, loom=loom) if loom else _("Saved.")
            desk.once(lambda: shell.toast(words, undo=undo))

    # --- one loom

    def add_loom(self) -> None:
        """Ask for a new loom."""
        open_entry(self.shell, self.desk, FormKind.LOOM)

    def open_loom(self, card: LoomCard) -> None:
        """Offer what can be done with a loom."""
        loom = next(loom for loom in self._read[0] if loom.id == card.loom_id)
        box = FormColumn()
        box.note(card.measures, tone="ink", style="body")
        box.note(loom.note)
        box.key(_("Correct"), lambda: self._correct(loom), "edit", "act")
        box.key(_("Plan a rug for it"), lambda: self._plan(loom.id), "plus")
        trouble = presenter.deletion_trouble(loom.id, self.desk.plans)
        if trouble:
            box.note(trouble)
        else:
            box.key(_("Delete the loom"), lambda: self.delete(loom), "withdraw")
        self.shell.open_sheet(loom.name, box)

    def _correct(self, loom: Any) -> None:
        self.shell.close_sheet()
        open_entry(self.shell, self.desk, value=loom)

    def _plan(self, loom_id: str) -> None:
        self.shell.close_sheet()
        self.shell.go("plan", loom_id=loom_id)

    def delete(self, loom: Any) -> None:
        """Delete a loom on which nothing lies, with undo."""
        desk, shell = self.desk, self.shell
        acts: list[str] = []
        if not shell.try_act(lambda: acts.append(desk.act(ActKind.ENTRY_WITHDRAWN, withdraw=(loom.id,)))):
            return
        shell.close_sheet()
        undo = undoable(shell, desk, acts[0])
        desk.once(lambda: shell.toast(_("Deleted: {entry}").format(entry=loom.name), undo=undo))

    def begin(self, rug_id: str, first_day: Any) -> None:
        """Let a rug that waits on a warp begin when the one before it is done, with undo."""
        desk, shell = self.desk, self.shell
        plan = next(plan for plan in desk.plans if plan.id == rug_id)
        acts: list[str] = []
        later = presenter.begin_on(plan, first_day)
        if shell.try_act(lambda: acts.append(desk.act(ActKind.PLAN_CHANGED, later, rug_id=rug_id))):
            undo = undoable(shell, desk, acts[0])
            words = _("{rug} begins on {day}.").format(rug=plan.name, day=day(first_day, desk.today()))
            desk.once(lambda: shell.toast(words, undo=undo))


load_kv(__file__)
