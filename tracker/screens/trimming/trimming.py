"""Trimming the pile on the loom: when it is due, the log of it, and the cautions that belong to blades and dust."""

from __future__ import annotations

from kivy.properties import ObjectProperty, StringProperty

from tracker.domain.act import ActKind
from tracker.domain.rules import TRIM_ROWS
from tracker.presenters.entries.form import FormKind
from tracker.presenters.trimming import TrimLine, TrimmingState, build_trimming_state, with_interval
from tracker.screens.guide.guide import CautionNote
from tracker.sheets.asking import ask_number
from tracker.sheets.entry_detail import open_record
from tracker.sheets.entry_form import open_entry
from tracker.shell.empty import no_rug
from tracker.shell.filled_page import FilledPage
from tracker.shell.undo import undoable
from tracker.widgets.basics import Card, RowKey, load_kv
from tracker.widgets.forms import CardKey, FormColumn, columns_of_page, lay_side_by_side
from tracker.words import _

FIRST_LINES = 12
"""Trimmings shown; a key shows the rest."""


class TrimHead(Card):
    """The answer: whether the pile is to be trimmed now."""

    headline = StringProperty("")
    more = StringProperty("")
    tone = StringProperty("ink")


class TrimRow(RowKey):
    """A trimming that was entered; a tap opens it."""

    line = ObjectProperty(TrimLine("", "", ""), rebind=True)


class TrimmingPage(FilledPage):
    """The trimming of the rug in hand."""

    def fill(self) -> None:
        desk = self.desk
        columns = self.ids.columns
        if desk.rug is None:
            lay_side_by_side(columns, (no_rug(self),))
            return
        state = build_trimming_state(desk.rug, desk.length_unit)
        boxes = columns_of_page()
        self._log(boxes[0], state)
        self._cautions(boxes[-1], state)
        lay_side_by_side(columns, boxes)

    def _log(self, box: FormColumn, state: TrimmingState) -> None:
        box.add_widget(
            TrimHead(headline=state.headline, more=state.more, tone="madder" if state.due else "ink")
        )
        box.key(
            _("Log a trimming"),
            lambda: open_entry(self.shell, self.desk, FormKind.TRIM),
            icon="scissors",
            role="act",
        )
        every = CardKey(
            title=_("How often"), answer=state.every or _("not said"), note=_("After this many rows "
                                                                              "you are told to trim."),
            icon="row", end_icon="edit",
        )  # fmt: skip
        every.bind(on_release=lambda _card: self.ask_interval())
        box.add_widget(every)
        if state.warning:
            box.warn(state.warning)
        if state.lines:
            box.heading(_("Trimmed so far"))
        for line in self.first_of("trimmed", state.lines, FIRST_LINES):
            row = TrimRow(line=line)
            row.bind(on_release=lambda row: open_record(self.shell, self.desk, row.line.record_id))
            box.add_widget(row)
        self.key_for_rest(box, "trimmed", state.lines, FIRST_LINES)

    def _cautions(self, box: FormColumn, state: TrimmingState) -> None:
        box.heading(_("Blades and dust"))
        for words in state.cautions:
            box.add_widget(CautionNote(words=words))
        box.note(state.advice)

    def ask_interval(self) -> None:
        """Ask after how many rows the pile is trimmed."""
        ask_number(
            self.shell, _("Trim after how many rows?"), self.desk.rug.plan.trim_every_rows, self.take_interval,
            unit=_("rows"), least=TRIM_ROWS.least, most=TRIM_ROWS.most, optional=True,
        )  # fmt: skip

    def take_interval(self, rows: float | None) -> None:
        """Keep how often, with undo."""
        desk, shell = self.desk, self.shell

        def work() -> None:
            plan = with_interval(desk.rug.plan, None if rows is None else int(rows))
            undo = undoable(shell, desk, desk.act(ActKind.TRIM_INTERVAL_SET, plan))
            desk.once(lambda: shell.toast(_("Changed."), undo=undo))

        shell.try_act(work)


load_kv(__file__)
