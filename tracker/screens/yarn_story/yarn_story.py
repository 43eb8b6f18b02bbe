"""The story of one yarn: its answer in full, what can be done with it, and all that happened to it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from kivy.clock import Clock
from kivy.metrics import dp
from kivy.properties import NumericProperty, ObjectProperty, StringProperty

from tracker.domain.act import ActKind
from tracker.presenters.dye_lots import LotsState, PlaceLine, plan_change
from tracker.presenters.entries.form import FormKind
from tracker.presenters.fact import Fact
from tracker.presenters.session import waiting_form
from tracker.presenters.weighed import WeighedChoice
from tracker.presenters.yarn import StoryAct, StoryLine, YarnStoryState, build_yarn_story_state
from tracker.sheets.entry_detail import open_record
from tracker.sheets.entry_form import open_entry
from tracker.sheets.yarn_answers import ask_unit_mass
from tracker.shell.page import Page
from tracker.shell.undo import undoable
from tracker.widgets.basics import Card, Column, EvenKey, Key, RowKey, Rule, Text, load_kv, rest_at
from tracker.widgets.forms import CardKey, FormColumn, words_width  # noqa: F401 - used by the kv file
from tracker.widgets.laid_out import BoxLayout
from tracker.widgets.look import look
from tracker.words import _, n_, number

FIRST_LINES = 30
"""Lines of the story shown at once; more on request, so that a long story opens as fast as a short one."""
BY_THE_ANSWER = 2
"""Figures that stand by the answer itself: what is on hand, and what is still needed."""


class FactTile(Column):
    """One answer with its range."""

    fact = ObjectProperty(Fact("", ""), rebind=True)


class FactRow(Column):
    """The same where there are many: the figure at the end of its line."""

    fact = ObjectProperty(Fact("", ""), rebind=True)

    @staticmethod
    def width_of(words: str, _type_sizes: object) -> float:
        """Return the width of a figure on one line, px; told of the sizes of type so that kv asks anew when they change."""
        return words_width(words) + dp(2) if words else 0.0


class Caution(BoxLayout):
    """A sentence worth heeding; takes no room without one."""

    text = StringProperty("")


class StoryRow(RowKey):
    """One thing that happened."""

    line = ObjectProperty(StoryLine("", "", "", "", "", False), rebind=True)


class ActKey(EvenKey):
    """Something that can be done with the yarn."""

    act = ObjectProperty(StoryAct(FormKind.LOT, "", ""), rebind=True)


class YarnStoryPage(Page):
    """One yarn."""

    number = StringProperty("")
    swatch = StringProperty("#C8B89A")
    word = StringProperty("")
    tone = StringProperty("ink")
    share = NumericProperty(0.0)
    basis = StringProperty("")
    order = StringProperty("")
    mixed = StringProperty("")
    empty = StringProperty("")

    yarn_id: str | None = None
    shown = FIRST_LINES
    _asked = ""

    def enter(self, yarn_id: str | None = None, **_what: Any) -> None:
        self.yarn_id, self.shown, self._asked = yarn_id, FIRST_LINES, ""

    def _leave(self) -> None:
        self.shell.back()
        self.shell.toast(_("That yarn is no longer in the plan."), warn=True)

    def _counted(self) -> int:
        """Return the rows counted at the loom or entered, and not saved yet."""
        waiting = waiting_form(self.desk.drafts, self.desk.rug, self.desk.today())
        return 0 if waiting is None else max(waiting.rows, 0)

    def refresh(self) -> None:
        desk = self.desk
        if desk.rug is None or desk.answers is None:
            return
        story = build_yarn_story_state(desk.rug, desk.answers, self.yarn_id or "", self._counted())
        if story is None:
            Clock.schedule_once(lambda _dt: self._leave())
            return
        self.title, self.number, self.swatch = story.name, story.number, story.swatch
        self.word, self.tone, self.share = story.word, story.tone, story.share
        self.basis, self.order, self.mixed, self.empty = story.basis, story.order, story.mixed, story.empty
        self._ask(story)
        self._fill(self.ids.facts, FactTile, "fact", story.facts[:BY_THE_ANSWER])
        self._show_figures(story.facts[BY_THE_ANSWER:])
        self._show_lots(story.lots)
        self._fill(self.ids.acts, ActKey, "act", story.acts, self.do)
        self._fill(self.ids.lines, StoryRow, "line", story.lines[: self.shown], self.open_line)
        more = len(story.lines) - self.shown
        holder = self.ids.more
        holder.clear_widgets()
        if more > 0:
            key = Key(
                text=n_("Show {count} more", "Show {count} more", more).format(count=number(more)),
                icon="down",
            )
            key.bind(on_release=lambda _key: self.show_more())
            holder.add_widget(key)

    @staticmethod
    def _fill(box: BoxLayout, kind: type, name: str, values: Any, tapped: Any = None) -> None:
        """Give a box one widget for each value, reusing those it has."""
        while len(box.children) > len(values):
            box.remove_widget(box.children[0])
        while len(box.children) < len(values):
            widget = kind()
            if tapped:
                widget.bind(on_release=tapped)
            box.add_widget(widget)
        for widget, value in zip(reversed(box.children), values, strict=True):
            setattr(widget, name, value)

    def _show_figures(self, facts: Sequence[Fact]) -> None:
        """Show the other figures one below the other, a line between them."""
        box = self.ids.figures
        if len(box.children) != max(0, 2 * len(facts) - 1):
            box.clear_widgets()
            for at in range(len(facts)):
                if at:
                    box.add_widget(Rule())
                box.add_widget(FactRow())
        rows = [row for row in reversed(box.children) if isinstance(row, FactRow)]
        for row, fact in zip(rows, facts, strict=True):
            row.fact = fact

    def _ask(self, story: YarnStoryState) -> None:
        """Show what of the record is in doubt before all else, with the keys that answer it."""
        box = self.ids.doubt
        box.clear_widgets()
        if story.doubt:
            box.warn(story.doubt)
            if story.doubt != self._asked:
                # What is asked stands at the top: scrolled down, who weighed saw nothing of it.
                rest_at(self.ids.scroll, 1.0)
        self._asked = story.doubt
        for act in story.answers_doubt:
            box.key(act.label, lambda act=act: self.do_act(act), icon=act.icon)

    def _show_lots(self, lots: LotsState | None) -> None:
        """Show the dye lots, and where to change from the open one."""
        box = self.ids.lots
        box.clear_widgets()
        if lots is None:
            return
        box.heading(_("Dye lots"))
        if lots.warning:
            box.warn(lots.warning)
        box.note(lots.alone)
        for line in lots.lines:
            card = CardKey(
                answer=line.head,
                amount=line.amount,
                note=line.more,
                icon="check" if line.open else "skein",
            )
            card.bind(on_release=lambda _card, line=line: open_record(self.shell, self.desk, line.lot_id))
            box.add_widget(card)
        if lots.planned:
            box.note(lots.planned, tone="ink", strong=True, style="body")
            box.key(_("Change or delete the plan"), lambda: self._open_plan(lots.planned_id), "edit")
        box.note(lots.intro, tone="ink", style="body")
        for at, place in enumerate(lots.places):
            card = Card(spacing=look.gap / 2)
            card.add_widget(Text(text=place.head, strong=True))
            card.add_widget(Text(text=place.reason, style="small"))
            key = Key(text=place.key, icon="check" if not at else "", role="chosen" if not at else "plain")
            key.bind(on_release=lambda _key, place=place: self.plan_change(place))
            card.add_widget(key)
            box.add_widget(card)
        if lots.can_open:
            box.key(_("Open another lot"), self.open_lot, "skein")

    def _open_plan(self, record_id: str | None) -> None:
        if record_id is not None:
            open_record(self.shell, self.desk, record_id)

    def open_lot(self) -> None:
        """Ask which dye lot is knotted from which row on."""
        next_row = max(1, self.desk.rug.rows_woven + self._counted() + 1)
        open_entry(self.shell, self.desk, FormKind.LOT_CHANGE, self.yarn_id, first={"row": next_row})

    def plan_change(self, line: PlaceLine) -> None:
        """Plan the change of lot at a row."""
        desk, shell, yarn_id = self.desk, self.shell, self.yarn_id or ""
        answer = next((one for one in desk.answers.yarns if one.yarn_id == yarn_id), None)
        lot_id = None if answer is None or answer.lots is None else answer.lots.next_lot_id
        if lot_id is None:
            return
        change = plan_change(desk.rug, yarn_id, lot_id, line.place, desk.today())
        acts: list[str] = []
        if not shell.try_act(lambda: acts.append(desk.act(ActKind.LOT_CHANGE_PLANNED, change))):
            return
        undo = undoable(shell, desk, acts[0])
        said = _("Planned: {place}. The row page tells it in time.").format(place=line.head)
        desk.once(lambda: shell.toast(said, undo=undo))

    def show_more(self) -> None:
        """Show the whole story."""
        self.shown = 1_000_000
        self.refresh()

    def do(self, key: ActKey) -> None:
        """Open the form of an act."""
        self.do_act(key.act)

    def do_act(self, act: StoryAct) -> None:
        """Open the form of an act, ask how much goes on one ball, or enter what a weighing told."""
        if act.choice is not None:
            self._enter_choice(act.choice)
        elif act.kind is None:
            ask_unit_mass(self.shell, self.desk, self.yarn_id or "")
        else:
            open_entry(self.shell, self.desk, act.kind, self.yarn_id)

    def _enter_choice(self, choice: WeighedChoice) -> None:
        """Enter what was said of a weighing."""
        desk, shell = self.desk, self.shell
        if choice.corrects:
            open_record(shell, desk, choice.corrects)
            return
        if not desk.fresh:
            return  # the question was just answered, and its answers still stand there for a moment
        acts: list[str] = []
        if not shell.try_act(
            lambda: acts.append(desk.act(choice.deed, *choice.values, withdraw=choice.withdraw))
        ):
            return
        undo = undoable(shell, desk, acts[0])
        desk.once(lambda: shell.toast(choice.said, undo=undo))

    def open_line(self, row: StoryRow) -> None:
        """Show one entry with its history."""
        open_record(self.shell, self.desk, row.line.record_id)


load_kv(__file__)
