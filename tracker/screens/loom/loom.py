"""At the loom: the row to knot, its runs one after another, read from a metre away and tapped with dusty thumbs."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from kivy.core.text import Label as CoreLabel
from kivy.metrics import dp
from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.recycleview import RecycleView
from kivy.uix.widget import Widget

from tracker.device.clock import now_utc
from tracker.device.speak import can_speak, voice
from tracker.domain.act import ActKind
from tracker.domain.errors import LoomsideError
from tracker.domain.mark import CartoonMark
from tracker.presenters import loom as row_sums
from tracker.presenters import session as form_sums
from tracker.presenters import timer as timer_sums
from tracker.presenters.dye_lots import LoomLot, done_change, loom_lot
from tracker.presenters.entry_text import headline, names_of
from tracker.presenters.marks import NearMark, near_mark
from tracker.presenters.places import PlacePart
from tracker.presenters.session import PLACE, rug_named
from tracker.presenters.settings import keep_mirrored, mirrored_of
from tracker.screens.loom.aloud import AloudSheet
from tracker.screens.session.session import waiting_form
from tracker.sheets.asking import ask_choice
from tracker.sheets.entry_detail import open_record
from tracker.sheets.marks import open_mark_form, tick_off
from tracker.shell.empty import without_rug
from tracker.shell.page import Page, there
from tracker.shell.undo import undoable
from tracker.theme import DARK, LIGHT
from tracker.widgets.basics import FadingOut, Key, Missing, Tappable, load_kv, rest_at
from tracker.widgets.forms import FormColumn
from tracker.widgets.laid_out import BoxLayout
from tracker.widgets.line_breaks import holding_together
from tracker.widgets.look import look
from tracker.widgets.plain_label import PlainLabel
from tracker.widgets.row_strip import RowBar, RowStrip  # noqa: F401 - used by the kv file
from tracker.words import _, number

PART = "loom part"
LONG_NAME = 22
"""Letters from which a name may take more than a line."""
STRIP_BELOW, STRIP_ABOVE = 30, 30


def page_of(widget: Widget) -> LoomPage:
    """Return the page a tile lies on."""
    while not isinstance(widget, LoomPage):
        widget = widget.parent
    return widget


def lines_of(words: str, width: float, font_px: float) -> float:
    """Return how many lines words take at a size [px]; more than can be when a word is wider than the place."""
    label = CoreLabel(font_size=font_px, bold=True)
    lines, taken = 1, 0.0
    space = label.get_extents(" ")[0]
    for word in words.split():
        long = label.get_extents(word)[0]
        if long > width:
            return math.inf
        if taken and taken + space + long > width:
            lines, taken = lines + 1, long
        else:
            taken += (space if taken else 0.0) + long
    return lines


USUAL_DIGITS, DIGIT_SHARE = 2, 0.6
"""Digits that the column of knots has room for at least, so that it stays where it is from row to row; width of one, in sizes of its type."""
LARGE_FROM = 1.5
"""Text size from which on room is saved for more runs."""
LEAST_CUT = 0.25
"""Share of a run that is worth its room at the top of the list; with less the tied one is shown whole."""


def count_style(scale: float) -> str:
    """Return the style of a run's knots, which are read from as far as the row's number is."""
    return "great" if scale < LARGE_FROM else "figure"


class RunName(PlainLabel):
    """A yarn's name, as large as every name of the row is."""


class NoteKey(Key):
    """A line that says what is near, and answers it when it is tapped: lower than what is tapped at each row, whose room it takes."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(style="small", strong=False, halign="left", icon_side=22, **kwargs)


class RunTile(Tappable, BoxLayout):
    """One run: swatch, number of knots, name. Dimmed when it is tied."""

    index = NumericProperty(0)
    count = StringProperty("")
    name = StringProperty("")
    code = StringProperty("")
    swatch = StringProperty("#C8B89A")
    span = StringProperty("")
    name_px = NumericProperty(16)
    count_share = NumericProperty(1.3)
    """Width of the knots' column, in sizes of its type."""
    count_style = StringProperty("great")
    long_name = BooleanProperty(False)
    """The name wants the room of the knots' numbers, too."""
    tied = BooleanProperty(False)
    here = BooleanProperty(False)

    @staticmethod
    def held(name: str) -> str:
        """Return a name whose number stays on the line of its word: alone below "shade" it read as another number of knots."""
        return holding_together(name, 0, len)

    def on_release(self) -> None:
        page_of(self).tap_run(self.index)


class RunList(FadingOut, RecycleView):
    """The runs of the row; only the tiles on the screen exist."""


class LoomPage(Page):
    """The current row, or the one looked at."""

    state = StringProperty("no rug")
    figure = StringProperty("")
    of = StringProperty("")
    rug_named = StringProperty("")
    """The rug's name where another one is on a loom, too: rows are easily counted at the wrong one."""
    summary = StringProperty("")
    hint = StringProperty("")
    woven = ObjectProperty(None, allownone=True)
    """What stands in place of a row once every row is woven; None before."""
    counted = StringProperty("")
    marked = StringProperty("")
    """What the mark in the row does; "" without one."""
    browsing = BooleanProperty(False)
    current = NumericProperty(1)
    mirrored = BooleanProperty(False)
    speaks = BooleanProperty(False)
    all_tied = BooleanProperty(False)
    long_names = BooleanProperty(False)
    stacked = BooleanProperty(True)
    """Whether the keys lie below the row; beside it on a phone on its side."""
    part_shown = StringProperty("")
    """What the key says that chooses one weaver's part of the row; "" without a team."""
    part_room = NumericProperty(0)
    """Height that the keys over the runs take, in px, with the gaps below them."""
    crowded = BooleanProperty(False)
    """Several keys stand over the runs: the drawing gives them its room, so that enough runs are seen."""

    parts: tuple[PlacePart, ...] = ()
    part: PlacePart | None = None
    lot: LoomLot | None = None
    """The change of dye lot that is near."""
    mistake: NearMark | None = None
    """The mistake that is near."""
    shown: int | None = None
    _shown_of: str | None = None
    row: row_sums.LoomState | None = None

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        # The mark in the row that was counted last, for who takes the row back at once.
        self._place_left: tuple[str, dict[str, Any]] | None = None
        self.part_key = Key(icon="team", loom=True)
        self.part_key.bind(on_release=lambda _key: self.ask_part(), height=self._measure_part)
        self.lot_key = NoteKey(icon="skein")
        self.lot_key.bind(on_release=lambda _key: self.ask_lot(), height=self._measure_part)
        self.mark_key = NoteKey(icon="flag")
        self.mark_key.bind(on_release=lambda _key: self.ask_mark(), height=self._measure_part)
        self.wrong_key = Key(text=_("Something wrong in this row?"), icon="flag", role="quiet")
        self.wrong_key.bind(on_release=lambda _key: self.ask_wrong(), height=self._measure_part)
        self.ids.runs.bind(size=self._fit_runs, height=self._keep_in_sight)
        look.bind(text_scale=self._said_anew, type_sizes=self._fit_runs)

    # --- coming and going

    def enter(self, row: int | None = None, **_what: Any) -> None:
        self.shown, self._shown_of = row, None
        self.speaks = can_speak()

    def leave(self) -> None:
        self.shell.followed = False

    def back(self) -> bool:
        if self.browsing and self.shown is not None:
            self.look_at(None)
            return True
        return False

    # --- showing

    def strip_band(self) -> tuple[float, float, float]:
        if self.missing is not None:
            return super().strip_band()
        head = self.ids.head
        keys = [key.x for key in (self.ids.timer, self.ids.speaker, self.ids.mirror) if key.width]
        return self.x, head.top, min(keys or [head.right]) - self.x

    def refresh(self) -> None:
        desk = self.desk
        if desk.rug is None:
            self.row = None
            self.state = "no rug"
            self.parts, self.part, self.part_shown, self.lot, self.mistake = (), None, "", None, None
            self._show_part()
            self.figure = self.of = self.summary = self.counted = self.hint = self.marked = ""
            self.browsing = False
            self.missing = without_rug(self)
            return
        if self._shown_of != desk.rug.plan.id:
            # another rug was taken in hand: the row looked at was the other's
            self.shown = self.shown if self._shown_of is None else None
            self._shown_of = desk.rug.plan.id
        self.rug_named = rug_named(desk.rug.plan, desk.plans)
        self.mirrored = mirrored_of(desk.drafts, desk.rug.plan.id)
        form = self._form()
        self.parts = row_sums.team_parts(desk.rug, form)
        self.part = row_sums.part_of(desk.drafts.get(PART), desk.rug.plan.id, self.parts)
        row = row_sums.build_loom_state(
            desk.rug, self.shown, form, desk.today(), self.mirrored, self._knots()
        )
        self.row = row
        short = look.text_scale >= 1.5
        self.part_shown = row_sums.part_words(self.part, self.parts, short) if row.state == "row" else ""
        self.lot = loom_lot(desk.rug, row.row) if row.state in ("row", "no cartoon") else None
        self.mistake = near_mark(desk.rug, row.row) if row.state in ("row", "no cartoon") else None
        self._show_part()
        self.state, self.figure, self.of = row.state, row.figure, row.of
        self.missing = None
        self.woven = Missing("row", row.hint) if row.state == "woven" else None
        self.hint, self.counted, self.browsing, self.current = (
            row.hint,
            row.counted_words,
            row.browsing,
            row.current,
        )
        palette = DARK if look.dark else LIGHT
        self.ids.strip.strip = row_sums.row_strip(
            desk.rug, row.row, STRIP_BELOW, STRIP_ABOVE, palette.card, self.mirrored
        )
        self.shell.followed = row.state == "row"
        self._show_runs()

    def _knots(self) -> tuple[int, int] | None:
        """Return first and last knot of the part looked at; None: the whole row."""
        return None if self.part is None else (self.part.first, self.part.last)

    def _show_part(self) -> None:
        """Show the key of the parts for a team only."""
        left, key = self.ids.left, self.part_key
        key.text, key.role = self.part_shown, "plain" if self.part is None else "chosen"
        if self.part_shown and key.parent is None:
            left.add_widget(key, index=left.children.index(self.ids.strip) + 1)
        elif not self.part_shown and key.parent is not None:
            left.remove_widget(key)
        lot, key = self.lot, self.lot_key
        key.text = "" if lot is None else lot.words
        # Not as the main key: it is a note that can be answered.
        key.role = "here" if lot is not None and lot.due and not lot.done else "plain"
        if lot is not None and key.parent is None:
            left.add_widget(key, index=left.children.index(self.ids.strip) + 1)
        elif lot is None and key.parent is not None:
            left.remove_widget(key)
        key = self.mark_key
        key.text = "" if self.mistake is None else self.mistake.words
        if self.mistake is not None and key.parent is None:
            left.add_widget(key, index=left.children.index(self.ids.strip) + 1)
        elif self.mistake is None and key.parent is not None:
            left.remove_widget(key)
        key, row = self.wrong_key, self.row
        # A row that was knotted is looked at again where something may be wrong with it.
        asks = row is not None and row.browsing and row.row < row.current and self.mistake is None
        if asks and key.parent is None:
            left.add_widget(key, index=left.children.index(self.ids.strip) + 1)
        elif not asks and key.parent is not None:
            left.remove_widget(key)
        self._measure_part()

    def _measure_part(self, *_args: Any) -> None:
        keys = (self.part_key, self.lot_key, self.mark_key, self.wrong_key)
        shown = [key for key in keys if key.parent is not None]
        self.part_room = sum(key.height + look.gap for key in shown)
        self.crowded = len(shown) > 1

    def place(self) -> int | None:
        """Return how many runs of the row are tied; None while none is marked and none was begun."""
        if self.row is None or self.desk.rug is None:
            return None
        kept, runs = self.desk.drafts.get(PLACE), len(self.row.runs)
        marked = row_sums.place_of(kept, self.desk.rug.plan.id, self.row.row, runs, self._knots())
        return self.row.begun_runs or None if marked is None else marked

    def _show_runs(self) -> None:
        row, place = there(self.row), self.place()
        self._show_marked(row)
        here = place or 0
        self.all_tied = bool(row.runs) and here >= len(row.runs)
        self.long_names = any(len(run.name) > LONG_NAME for run in row.runs)
        fit = self._fit()
        self.ids.runs.data = [
            {
                **fit,
                "index": index,
                "count": run.count,
                "name": run.name,
                "code": run.code,
                "swatch": run.swatch,
                "span": run.span,
                "long_name": len(run.name) > LONG_NAME,
                "tied": index < here,
                "here": index == here,
            }
            for index, run in enumerate(row.runs)
        ]
        strip = self.ids.strip
        if here < len(row.runs):
            run = row.runs[here]
            strip.place, strip.run = run.first - 1 + run.begun, run.knots - run.begun
        else:
            strip.run = 0
            strip.place = row.runs[-1].last if self.all_tied else 0
        self._scroll_to(here)

    def _show_marked(self, row: row_sums.LoomState) -> None:
        """Say what the mark in the row does: the session counts it."""
        desk = self.desk
        places = desk.drafts.get(PLACE)
        place = None if desk.rug.cartoon is None else row_sums.knots_at(places, desk.rug, self.mirrored)
        short = look.text_scale >= LARGE_FROM
        marked = row_sums.marked_words(place, desk.rug, row, self._form(), desk.today(), short)
        if bool(marked) != bool(self.marked) and not self.counted:
            # Its line comes up where the lowest run was: a second tap was meant for that.
            self.shell.part_changed()
        self.marked = marked
        self.summary = row_sums.summary_with_mark(row, place, desk.rug)

    def _count_share(self) -> float:
        """Return how wide the column of knots is, in sizes of its type: with large type as wide as this row's numbers want."""
        digits = 1 if self.row is None else max((len(run.count) for run in self.row.runs), default=1)
        least = USUAL_DIGITS if look.text_scale < LARGE_FROM else 1
        return DIGIT_SHARE * max(least, digits) + 0.1

    def _name_px(self) -> float:
        """Return the size [px] at which every name of the row fits its tile: one size, so that none looks more than another."""
        runs = self.ids.runs
        wished, least = look.type_sizes["lead"], look.type_sizes["small"] * 0.8
        if self.row is None or runs.width < 10:
            return wished
        swatch = dp(44) if look.text_scale < LARGE_FROM else dp(28) * look.text_scale * 0.8
        room = (
            runs.width
            - look.type_sizes[count_style(look.text_scale)] * self._count_share()
            - swatch
            - 2 * dp(12)
            - look.pad
        )
        high = self.tile_height(look.text_scale) - dp(4)
        names = {run.name for run in self.row.runs}
        while wished > least and any(
            lines_of(name, room, wished) * wished * 1.25 > max(high, wished * 1.3) for name in names
        ):
            wished *= 0.93
        return wished

    def _fit(self) -> dict[str, Any]:
        """Return what of every run hangs on the size of the type and of the window."""
        return {
            "name_px": self._name_px(),
            "count_share": self._count_share(),
            "count_style": count_style(look.text_scale),
        }

    def _fit_runs(self, *_args: Any) -> None:
        runs = self.ids.runs
        if self.row is not None and runs.data:
            fit = self._fit()
            if any(runs.data[0][name] != value for name, value in fit.items()):
                runs.data = [{**run, **fit} for run in runs.data]

    def _said_anew(self, *_args: Any) -> None:
        """In large type there is less room: some things are said in fewer words."""
        if self.row is not None and self.parent is not None:
            self.refresh()

    def _keep_in_sight(self, *_args: Any) -> None:
        """Lay the runs anew where a line below took room of theirs or gave it back."""
        if self.state == "row" and self.row is not None and self.desk.rug is not None:
            self._scroll_to(self.place() or 0)

    def _scroll_to(self, index: int) -> None:
        """Bring a run to the top of the list, the last tied one still to be seen above it; what is cut is that one alone."""
        runs = self.ids.runs
        line = self.ids.run_grid.default_size[1] + self.ids.run_grid.spacing[1]
        beyond = len(there(self.row).runs) * line - runs.height
        if beyond <= 0:
            rest_at(runs, 1.0)
            return
        in_sight = (runs.height + self.ids.run_grid.spacing[1]) / line
        lead = in_sight % 1 if in_sight >= 2 else 0.0
        if in_sight >= 4 or (in_sight >= 3 and lead < LEAST_CUT):
            lead += 1
        wished = max(0.0, (index - lead) * line)
        rest_at(runs, 1 - min(1.0, wished / beyond))

    # --- the place

    def tap_run(self, index: int) -> None:
        """Mark the run in hand; a second tap moves on to the next."""
        self.keep_place(row_sums.next_place(index, self.place()))

    def tap_knot(self, knot: int) -> None:
        """A knot of the strip was tapped: its run is in hand."""
        for index, run in enumerate(there(self.row).runs):
            if run.first <= knot + 1 <= run.last:
                self.keep_place(index)
                return

    def keep_place(self, run: int) -> None:
        """Keep that so many runs of the row are tied."""
        drafts = self.desk.drafts
        places, rug_id, row = drafts.get(PLACE), self.desk.rug.plan.id, there(self.row)
        # Without a mark a begun row is at the place where it was left: its first run must be said.
        place = run if run or row.begun else None
        kept = row_sums.with_place(places, rug_id, row.row, place, self._knots(), self.desk.today())
        drafts.put(PLACE, kept)
        self._show_runs()

    # --- one weaver's part

    def ask_part(self) -> None:
        """Ask whose part of the row to look at."""
        choices: list[tuple[str, str | None]] = [(row_sums.part_words(None, self.parts), None)]
        choices += [(row_sums.part_words(part, self.parts), part.weaver_id) for part in self.parts]
        chosen = None if self.part is None else self.part.weaver_id
        ask_choice(self.shell, _("Whose part of the row?"), choices, self.choose_part, chosen)

    def choose_part(self, weaver_id: str | None) -> None:
        """Look at one weaver's part, at the row that comes next there; None: at the whole row."""
        drafts, rug = self.desk.drafts, self.desk.rug
        drafts.put(PART, row_sums.with_part(drafts.get(PART), rug.plan.id, weaver_id))
        part = next((part for part in self.parts if part.weaver_id == weaver_id), None)
        self.look_at(
            None
            if part is None
            else row_sums.row_of_part(part, there(self.row).current, row_sums.rows_wanted(rug))
        )

    # --- a mistake that is near

    def ask_mark(self) -> None:
        """Tell of the mistake that is near, and tick it off when it is mended."""
        if self.mistake is None:
            return
        mark, box, then = self.mistake.mark, FormColumn(), self._then
        if mark.note:
            box.note(mark.note, tone="ink", style="body")
        box.key(_("It is mended"), then(lambda: tick_off(self.shell, self.desk, mark.id)), "check", "act")
        box.key(_("Look at the row"), then(lambda: self.look_at_mistake(mark)), "row")
        if mark.row <= self.desk.rug.rows_woven:
            self._offer_unpicking(box, mark.row)
        box.key(_("Correct"), then(lambda: open_record(self.shell, self.desk, mark.id)), "edit")
        self.shell.open_sheet(self.mistake.words, box)

    def _then(self, deed: Callable[[], object]) -> Callable[[], None]:
        """Return what closes the sheet and goes on."""

        def go_on() -> None:
            self.shell.close_sheet()
            deed()

        return go_on

    def _offer_unpicking(self, box: FormColumn, row: int) -> None:
        words = _("Unpick from row {row}").format(row=number(row))
        box.key(words, self._then(lambda: self.shell.go("unpick", row=row)), "undo")

    def ask_wrong(self) -> None:
        """Offer what can be done where something is wrong in the knotted row that is looked at."""
        row, place = there(self.row), self.place() or 0
        box = FormColumn()
        box.note(_("Mark it to mend it later, or unpick the rows from here on."), style="body")
        knot = row.runs[min(place, len(row.runs) - 1)].first if row.runs else 1
        box.key(
            _("Mark a mistake"),
            self._then(lambda: open_mark_form(self.shell, self.desk, row.row, knot)),
            "flag",
            "act",
        )
        self._offer_unpicking(box, row.row)
        self.shell.open_sheet(_("Row {row}").format(row=number(row.row)), box)

    # --- a change of dye lot

    def ask_lot(self) -> None:
        """Tell of the change of dye lot that is near, and record it when it is done."""
        lot = self.lot
        if lot is None:
            return
        box = FormColumn()
        box.note(lot.sentence, tone="ink", style="body")

        def open_it() -> None:
            self.shell.close_sheet()
            open_record(self.shell, self.desk, lot.change.id)

        if not lot.done:
            planned = lot.change.row
            if planned < lot.row:
                # Rows are logged by the evening: the change is told of only after it.
                words = _("As planned, from row {row} on").format(row=number(planned))
                box.key(words, lambda: self.change_lot(lot, planned), "check", "act")
            words = _("Changed from row {row} on").format(row=number(lot.row))
            role = "plain" if planned < lot.row else "act"
            box.key(words, lambda: self.change_lot(lot, lot.row), "check", role)
        box.key(_("Another row, or not at all") if not lot.done else _("Correct"), open_it, "edit")
        self.shell.open_sheet(lot.sheet_title, box)

    def change_lot(self, lot: LoomLot, row: int) -> None:
        """Record that the other dye lot is open from a row on."""
        desk, shell = self.desk, self.shell
        change = done_change(lot.change, row, desk.today())
        acts: list[str] = []
        if not shell.try_act(lambda: acts.append(desk.act(ActKind.LOT_OPENED, change))):
            return
        shell.close_sheet()
        undo = undoable(shell, desk, acts[0])
        said = _("Saved: {entry}.").format(entry=headline(change, names_of((desk.rug,), desk.length_unit)))
        desk.once(lambda: shell.toast(said, undo=undo))

    # --- other rows

    def look_at(self, row: int | None) -> None:
        """Show another row; None: the next to weave."""
        self.shown = row
        self.refresh()

    def look_at_mistake(self, mark: CartoonMark) -> None:
        """Show the row of a mistake, opened at its first knot."""
        self.look_at(mark.row)
        rug = replace(there(self.desk.rug), marks=(mark,))
        for before, _count in row_sums.mistakes_in_row(rug, mark.row, self.mirrored):
            self.ids.strip.bring(before)
            for index, run in enumerate(there(self.row).runs):
                if run.first <= before + 1 <= run.last:
                    self._scroll_to(index)

    def step(self, by: int) -> None:
        """Look at the row after or before."""
        if self.row is None:
            return
        row = max(1, min(row_sums.rows_wanted(self.desk.rug), self.row.row + by))
        self.look_at(None if row == self.row.current else row)

    # --- counting

    def _form(self) -> form_sums.SessionForm | None:
        """Return the session form that waits in the drafts for this rug."""
        return waiting_form(self.desk)

    def _keep_form(self, form: form_sums.SessionForm) -> None:
        row_sums.keep_counted(self.desk.drafts, form, self.desk.rug, self._undone())

    def _undone(self) -> form_sums.SessionForm | None:
        """Return the session of this evening that was undone: what it held but its rows goes on."""
        return form_sums.taken_back(self.desk.drafts, self.desk.rug, self.desk.today())

    def row_done(self) -> None:
        """Count a row and go on to the next."""
        desk, shell = self.desk, self.shell
        form = self._form()
        timer = timer_sums.timer_of(desk.drafts, desk.rug.plan.id)
        ended = timer_sums.ended_on(timer, now_utc(), desk.today()) is not None
        believed = timer is not None and timer_sums.worked(timer, now_utc()) <= timer_sums.LONGEST
        if form is None and ended:
            shell.go("session")
            shell.toast(
                _("The time on the timer is of another day. Save its session first, or begin a new one."),
                warn=True,
            )
            return
        if row_sums.must_save_first(form, desk.today(), believed and not ended):
            shell.go("session")
            shell.toast(_("These rows were counted on another day. Save them first."), warn=True)
            return
        try:
            form = row_sums.count_rows(form, desk.rug, desk.today(), 1, self._undone())
        except LoomsideError as trouble:
            shell.toast(trouble.sentence, warn=True)
            return
        self._keep_form(form)
        shell.counted()
        left = row_sums.marked_in(desk.drafts.get(PLACE), desk.rug.plan.id)
        self._forget_place()
        self._place_left = left
        self.look_at(None)
        self.ids.strip.rise()

    def row_back(self) -> None:
        """Take back what was said last: the mark in the row, else the last counted row."""
        self.shell.counted()
        if self.marked:
            self._forget_place()
            self._show_runs()
            return
        form = self._form()
        if form is None:
            self.refresh()
            return

        def undo_now() -> None:
            self._keep_form(row_sums.count_rows(form, self.desk.rug, self.desk.today(), -1))
            rug_id, drafts = self.desk.rug.plan.id, self.desk.drafts
            drafts.put(PLACE, row_sums.marked_again(drafts.get(PLACE), rug_id, self._place_left))
            self._place_left = None
            self.look_at(None)

        self.shell.try_act(undo_now)

    def _forget_place(self) -> None:
        drafts = self.desk.drafts
        drafts.put(PLACE, row_sums.with_place(drafts.get(PLACE), self.desk.rug.plan.id, 0, None))

    def add_cartoon(self) -> None:
        """Open the plan of this rug, where a cartoon is chosen."""
        self.shell.go("plan", rug_id=there(self.desk.rug).plan.id)

    def save_session(self) -> None:
        """Go to the session form; the counted rows stand in it."""
        self.shell.go("session")

    def act(self) -> None:
        """The large key: a row done, or whatever comes first."""
        if self.state == "no rug":
            return
        if self.browsing:
            self.look_at(None)
        elif self.state == "woven":
            self.shell.go("session" if self.counted else "finish")
        else:
            self.row_done()

    # --- how it is shown

    def act_words(self, state: str, browsing: bool, current: int, counted: str) -> str:
        """Return what the large key says."""
        if state == "no rug":
            return ""  # what stands there instead has its own key
        if browsing:
            return _("Back to row {row}").format(row=number(current))
        if state == "woven":
            return _("Save the session") if counted else _("The finish")
        return _("Row done")

    def neighbour(self, figure: str, by: int) -> str:
        """Return the number of the row before or after; "" when there is none."""
        if self.row is None or self.desk.rug is None:
            return ""
        row = self.row.row + by
        return number(row) if 1 <= row <= row_sums.rows_wanted(self.desk.rug) else ""

    def mirror(self) -> None:
        """Show the row for a weaver at the back, or at the front again."""
        keep_mirrored(self.desk.drafts, self.desk.rug.plan.id, not self.mirrored)
        self.refresh()

    def read_aloud(self) -> None:
        """Read the row aloud from the place on, run by run."""
        spoken_by = voice()
        if self.row is None or spoken_by is None:
            self.shell.toast(_("This device cannot read aloud."))
            return
        self.shell.add_widget(AloudSheet(self, spoken_by))

    def tile_height(self, scale: float) -> float:
        """Height of a run's tile in px: as many runs in sight as large type lets."""
        return max(
            look.loom_touch, look.type_sizes[count_style(scale)] * (1.2 if scale < LARGE_FROM else 1.1)
        )


load_kv(__file__)
