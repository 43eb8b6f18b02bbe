"""The preparation checklist: a tap for each ball, shuttle and the warp; times noted count for the next rug."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from kivy.metrics import dp
from kivy.properties import NumericProperty, ObjectProperty, StringProperty

from tracker.domain.act import ActKind
from tracker.domain.rug import Preparation, PreparationKind
from tracker.presenters import entry_forms
from tracker.presenters.entry_text import prepared_words
from tracker.presenters.guide import GuideStage, open_warp_steps_words
from tracker.presenters.of_rug import TICKS
from tracker.presenters.preparation import (
    CheckLine,
    Done,
    build_preparation_state,
    one_more,
    preparation_form,
)
from tracker.presenters.whole_plan import whole_plan
from tracker.sheets.entry_detail import open_record
from tracker.sheets.entry_form import EntrySheet
from tracker.sheets.yarn_answers import ask_of_balls
from tracker.shell.empty import no_rug
from tracker.shell.filled_page import FilledPage
from tracker.shell.page import there
from tracker.shell.undo import undoable
from tracker.widgets.basics import RowKey, load_kv
from tracker.widgets.forms import columns_of_page, lay_side_by_side, words_width
from tracker.words import _

FIRST_DONE = 6
"""Entries shown of what was prepared; a key shows the rest."""


class CheckCard(RowKey):
    """One line of the checklist; its key ticks off one, the card itself notes several with their time."""

    line = ObjectProperty(
        CheckLine(PreparationKind.BALLS, "", "#C8B89A", "", "", "", "", 0.0, False, ""), rebind=True
    )
    key_width = NumericProperty(0)
    least_height = NumericProperty(0)
    """px: as tall as it was, though it says less once all is done."""

    __events__ = ("on_one_more",)

    def on_one_more(self) -> None:
        """The key was tapped."""


class DoneRow(RowKey):
    """One entry of what was prepared."""

    done = ObjectProperty(Done("", "", ""), rebind=True)


class PreparationPage(FilledPage):
    """What is to be done before the first knot."""

    headline = StringProperty("")
    rests_on = StringProperty("")
    share = NumericProperty(0.0)

    def __init__(self, **kwargs: Any) -> None:
        self._cards: dict[tuple[PreparationKind, str | None], CheckCard] = {}
        super().__init__(**kwargs)

    def _relaid(self, *_args: Any) -> None:
        self._cards = {}
        super()._relaid()

    def on_parent(self, page: Any, parent: Any) -> None:
        """Let cards be as tall as their words again while the page is not seen."""
        super().on_parent(page, parent)
        if parent is None:
            for card in self._cards.values():
                card.least_height = 0

    def fill(self) -> Iterator[None]:
        desk = self.desk
        columns = self.ids.columns
        plan = whole_plan.of(desk)
        if plan is None:
            self.headline = self.rests_on = ""
            lay_side_by_side(columns, (no_rug(self),))
            return
        words = build_preparation_state(desk.rug, plan, desk.today(), desk.length_unit)
        self.headline, self.rests_on, self.share = words.headline, words.rests_on, words.share
        boxes = columns_of_page()
        lay_side_by_side(columns, boxes)
        boxes[0].note(words.warp, tone="ink")
        before, self._cards = self._cards, {}
        for group in words.groups:
            # Two columns: the balls stand right, they are most.
            box = boxes[-1] if group.icon == "wind" else boxes[0]
            box.heading(group.title)
            for line in group.lines:
                was = before.get((line.kind, line.yarn_id))
                # Who taps down the list finds the next key where it was.
                card = CheckCard(
                    line=line,
                    key_width=words_width(line.one_more) + dp(28) if line.one_more else 0,
                    least_height=was.height if was is not None else 0,
                )
                self._cards[line.kind, line.yarn_id] = card
                card.bind(
                    on_release=lambda card: self.note(card.line),
                    on_one_more=lambda card: self.tick(card.line),
                )
                card.disabled = words.over
                box.add_widget(card)
                yield
            if group.icon == "warp":
                box.key(_("How to set up the warp"), self.guide, icon="info")
            if group.icon == "wind":
                box.key(_("Balls by weaver"), lambda: self.shell.go("balls"), icon="person")
        if words.done:
            box = boxes[0]
            box.heading(_("Done so far"))
            for done in self.first_of("done", words.done, FIRST_DONE):
                row = DoneRow(done=done)
                row.bind(on_release=lambda row: open_record(self.shell, self.desk, row.done.record_id))
                box.add_widget(row)
                yield
            self.key_for_rest(box, "done", words.done, FIRST_DONE)

    def guide(self) -> None:
        """Open the guide at the warp."""
        self.shell.go("guide", stage=GuideStage.WARP.value)

    def tick(self, line: CheckLine) -> None:
        """Tick off one, with a way back."""
        desk, shell = self.desk, self.shell
        if desk.rug is None or line.ticked:
            return
        done = one_more(desk.rug, line, desk.today())
        ask_of_balls(shell, desk, (done,), _("Note it all the same"), lambda: self._write(line, done))

    def _write(self, line: CheckLine, done: Preparation) -> None:
        desk, shell = self.desk, self.shell
        act_id = desk.act(ActKind.PREPARATION_DONE, done)
        shell.counted()
        said = _("Saved: {entry}.").format(entry=prepared_words(line.kind, 1, line.name))
        if line.kind is PreparationKind.WARP:
            ticked = desk.drafts.get(TICKS, {}).get(desk.rug.plan.id, [])
            plan = there(whole_plan.of(desk))
            said = f"{said} {open_warp_steps_words(desk.rug, plan, ticked, desk.length_unit)}".rstrip()
        shell.toast(said, undo=undoable(shell, desk, act_id))

    def note(self, line: CheckLine) -> None:
        """Note how many were done, and how long it took."""
        desk = self.desk
        form = preparation_form(desk.rug, there(whole_plan.of(desk)), line, desk.today())
        sheet = EntrySheet(
            self.shell,
            desk,
            form,
            desk.rug,
            f"entry {form.kind} {line.kind} {line.yarn_id or desk.rug.plan.id}",
        )
        title = entry_forms.title_of(form, desk.rug) + f": {line.name}"
        self.shell.open_sheet(title, sheet)


load_kv(__file__)
