"""When it is done: the date, its range on a month, days off by a tap, the wished-for day, and what comes after."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import asdict, replace
from datetime import date
from functools import partial
from typing import Any

from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty, StringProperty

from tracker.domain.act import ActKind
from tracker.domain.errors import LoomsideError
from tracker.domain.rug import AfterStep, RugBook, RugPlan, RugStage
from tracker.domain.units import LengthUnit
from tracker.presenters import finish as finish_sums
from tracker.presenters.doubts import doubt_of
from tracker.presenters.guide import (
    GuideStage,
    stages_of_step,
    stages_ticked_of,
    what_follows,
)
from tracker.presenters.of_rug import of_rug, put_of_rug
from tracker.presenters.settings import first_weekday
from tracker.presenters.whole_plan import whole_plan
from tracker.sheets.asking import ask_day, ask_doubt_of_answer, ask_number, ask_text
from tracker.sheets.entry_detail import open_record
from tracker.sheets.finishing import ask_finished, ask_reading
from tracker.shell.empty import without_rug
from tracker.shell.page import Page
from tracker.shell.undo import undoable
from tracker.widgets.basics import Across, Column, Field, Heading, Key, Text, Tiles, load_kv
from tracker.widgets.laid_out import BoxLayout
from tracker.widgets.look import look
from tracker.widgets.month_calendar import LegendEntry, MonthCalendar  # noqa: F401 - the kv file uses the month
from tracker.words import _, number

STEP_DRAFTS = "after steps"
"""The draft that keeps each step that is being entered or changed, by its id or "new" and the rug's."""
COLUMNS_FROM = 25
"""Two columns need so many times the height of the type in width: fourteen days and a legend beside them."""


class MarkRow(Column):
    """A place on the way, with its day."""

    name = StringProperty("")
    day = StringProperty("")
    span = StringProperty("")


class StepRow(Across):
    """A step after weaving: ticked on the left, opened on the right."""

    line = ObjectProperty(finish_sums.StepLine("", "", "", False, ""), rebind=True)

    __events__ = ("on_tick", "on_open")

    def on_tick(self) -> None:
        """The tick was tapped."""

    def on_open(self) -> None:
        """The step itself was tapped."""


class StepSheet(Column):
    """A step being entered or changed."""

    name = StringProperty("")
    days = NumericProperty(1)
    days_shown = StringProperty("")
    days_unit = StringProperty("")
    trouble = StringProperty("")
    is_new = BooleanProperty(True)
    can_save = BooleanProperty(True)
    page = ObjectProperty(None)


class WashingTiles(Tiles):
    """What is measured before washing beside what is measured after it; below each other when the type is large."""


class FinishPage(Page):
    """The third answer, and all that bears on it."""

    state = StringProperty("empty")
    label = StringProperty("")
    figure = StringProperty("")
    span = StringProperty("")
    ready = StringProperty("")
    mistakes = StringProperty("")
    left_words = StringProperty("")
    wish = StringProperty("")
    wish_words = StringProperty("")
    steps_told = StringProperty("")
    month_words = StringProperty("")

    picked: date | None = None
    woven = False
    """Every row is woven; the parts are then laid out in another order."""
    shown: date = date.min
    """First day of the month on top."""
    _shown: tuple[Any, ...] | None = None
    """What the page is filled with; None when another month or day was tapped since."""
    off_loom = BooleanProperty(False)
    """The rug is finished: nothing is measured on the loom any more."""
    one_column = BooleanProperty(True)
    """Everything stands below each other."""
    _arranged: tuple[str, bool, bool] | None = None

    def on_kv_post(self, _base_widget: Any) -> None:
        # Held here: what is taken off the page would be let go of.
        self._wish_line = self.ids.wish_line.__self__

    def enter(self, **_what: Any) -> None:
        self.shown = self._first_month()
        self.picked = None
        look.bind(shape=self._arrange, type_sizes=self._arrange)
        self.bind(width=self._arrange)
        self._arrange()

    def _first_month(self) -> date:
        """The present month; a finished rug's last one."""
        rug = self.desk.rug
        finished = rug.plan.finished_day if rug is not None else None
        return (finished or self.desk.today()).replace(day=1)

    def leave(self) -> None:
        look.unbind(shape=self._arrange, type_sizes=self._arrange)
        self.unbind(width=self._arrange)

    def _arrange(self, *_args: Any) -> None:
        """Put the parts into one column on a phone upright, into two where there is width for the type."""
        # Seven days side by side are each to be as wide as a thumb, in the half of the page that they take.
        self.one_column = look.shape == "tall" or self.width < max(
            COLUMNS_FROM * look.type_sizes["body"], 2 * (7 * look.touch + look.pad)
        )
        if self._arranged == (look.shape, self.one_column, self.woven):
            return
        self._arranged = (look.shape, self.one_column, self.woven)
        ids = self.ids
        for part in (ids.answer, ids.months, ids.rest, ids.why):
            if part.parent:
                part.parent.remove_widget(part)
        if self.one_column and self.woven:
            places = tuple((part, ids.left) for part in (ids.answer, ids.rest, ids.why, ids.months))
        elif self.one_column:
            places = tuple((part, ids.left) for part in (ids.answer, ids.months, ids.rest, ids.why))
        else:
            places = (
                (ids.months, ids.left),
                (ids.why, ids.left),
                (ids.answer, ids.right),
                (ids.rest, ids.right),
            )
        for part, column in places:
            column.add_widget(part)
        if self.desk.rug is not None:
            self._show_months()

    # --- showing

    def refresh(self) -> None:
        desk = self.desk
        if desk.rug is None or desk.answers is None:
            self.state = "empty"
            self.missing = without_rug(self)
            self._shown = None
            return
        ticked = self._ticked()
        shows = (
            desk.rug, desk.answers, desk.settings, desk.holidays, desk.today(), self.shown, self.picked, look.shape,
            ticked,
        )  # fmt: skip
        if shows == self._shown:
            return
        self.state, self.missing = "rug", None
        state = finish_sums.build_finish_state(desk.rug, desk.answers, self._unit().value, ticked, desk.plans)
        self.label, self.figure, self.span = state.label, state.figure, state.span
        self.ready, self.left_words = state.ready, state.left
        self.mistakes, self.steps_told = state.mistakes, state.steps_told
        self.wish, self.wish_words = state.wish, state.wish_words
        self._offer_what_follows(state)
        self.off_loom = desk.rug.plan.stage is RugStage.FINISHED
        if state.woven != self.woven:
            self.woven = state.woven
            self._arrange()
        self._ask_for_wish(not state.woven or bool(state.wish))
        self._show_size(state)
        self._offer(
            self.ids.usual_place,
            bool(state.usual_offered),
            state.usual_offered,
            "copy",
            self.add_usual,
        )
        self._show_months()
        self._show_marks(state.marks)
        self._show_steps(state.steps)
        self._show_cautions(self.ids.cautions, () if state.follows is None else state.follows.stages)
        self._show_sentences(self.ids.moved, state.moved_by)
        self._show_sentences(self.ids.basis, state.rests_on)
        self._shown = shows

    def _offer_what_follows(self, state: finish_sums.FinishState) -> None:
        """After the last row lead to what comes next; that the rug is finished comes after the steps."""
        ids, follows = self.ids, state.follows
        works = {
            "guide": ("right", self.open_guide),
            "finish": ("flag", self.call_finished),
            "export": ("share", lambda: self.shell.go("export")),
        }
        if follows is None:
            ids.end_place.clear_widgets()
        else:
            icon, work = works[follows.page]
            self._offer(ids.end_place, True, follows.words, icon, work, "act")
        before_that = state.can_finish and follows is not None and follows.page == "guide"
        self._offer(ids.last_place, before_that, _("Finish the rug"), "flag", self.call_finished)

    def open_guide(self) -> None:
        """Open the guide at the stage of what comes next."""
        follows = what_follows(self.desk.rug, self._ticked())
        self.shell.go("guide", stage=follows.stages[0].value if follows.stages else None)

    def _ticked(self) -> frozenset[GuideStage]:
        """Return the stages that are ticked off in the guide, once there is something to finish."""
        return stages_ticked_of(self.desk.drafts, self.desk.rug)

    def _offer(self, place: Any, wanted: bool, words: str, icon: str, work: Any, role: str = "plain") -> None:
        """Put a key into its place while it has something to do."""
        if [words] * wanted == [key.text for key in place.children]:
            return
        place.clear_widgets()
        if wanted:
            key = Key(
                text=words,
                icon=icon,
                role=role,
                loom=role == "act",
                style="lead" if role == "act" else "body",
            )
            key.bind(on_release=lambda _key: work())
            place.add_widget(key)

    def _ask_for_wish(self, asked: bool) -> None:
        """Ask for a target date as long as there is something to aim at."""
        rest, line = self.ids.rest, self._wish_line
        if asked != (line.parent is not None):
            if asked:
                rest.add_widget(line, index=len(rest.children))
            else:
                rest.remove_widget(line)

    def _unit(self) -> LengthUnit:
        return LengthUnit.INCH if self.desk.setting("length_unit") == "inch" else LengthUnit.CM

    def _show_size(self, state: finish_sums.FinishState) -> None:
        """Show sides and weight before washing and after it, once every row is woven, and what they say."""
        place = self.ids.size_place
        if bool(state.size) != bool(place.children):
            place.clear_widgets()
            if state.size:
                place.add_widget(Heading(text=_("Size and weight")))
                readings = WashingTiles()
                for reading in state.readings:
                    field = Field()
                    field.bind(on_release=lambda _field, name=reading.field: self.ask_reading(name))
                    readings.add_widget(field)
                place.add_widget(readings)
                place.add_widget(Text(style="small"))
                place.add_widget(Text(strong=True))
        if not state.size:
            return
        washing, words, readings, _heading = place.children
        words.text, words.tone = state.size_words, "madder" if state.size_off else "ink"
        washing.text = state.washing
        for field, reading in zip(reversed(readings.children), state.readings, strict=True):
            field.label, field.answer = reading.name, reading.answer

    def ask_reading(self, name: str) -> None:
        """Ask for a side or the weight of the rug, before washing or after it."""
        ask_reading(
            self.shell, self.desk, self.desk.rug.plan, name, lambda given: self._measured(name, given)
        )

    def _measured(self, name: str, value: float) -> None:
        desk, shell = self.desk, self.shell
        finished = name.startswith("finished")
        kind = ActKind.FINISHED_SIZE_MEASURED if finished else ActKind.WASHING_MEASURED

        measured = replace(desk.rug.plan, **{name: value})

        def work() -> None:
            act_id = desk.act(kind, measured)
            undo = undoable(shell, desk, act_id)

            def answer() -> None:
                shell.toast(finish_sums.measured_words(desk.rug, name, self._unit().value), undo=undo)

            desk.once(answer)

        doubt = doubt_of(measured, desk.rug, desk.today(), held=desk.rug.plan, unit=self._unit().value)
        ask_doubt_of_answer(shell, doubt, lambda: shell.try_act(work), lambda: self.ask_reading(name))

    def _calendar_rug(self) -> RugBook:
        """Return the rug with the public holidays among its days off, as the forecast takes them."""
        rug = self.desk.rug
        return replace(rug, days_off=rug.days_off + self.desk.holidays) if self.desk.holidays else rug

    def _first_weekday(self) -> int:
        return first_weekday(self.desk.settings)

    def _show_months(self) -> None:
        self._shown = None
        desk, ids = self.desk, self.ids
        if desk.rug is None or desk.answers is None:
            return
        today, rug = desk.today(), self._calendar_rug()
        ids.month.month = finish_sums.build_month_state(
            rug, desk.answers, self.shown, today, self._first_weekday()
        )
        self.month_words = ids.month.month.title
        ids.month.picked = self.picked
        two = look.shape == "tablet"
        if two != bool(ids.second_place.children):
            ids.second_place.clear_widgets()
            if two:
                from kivy.factory import Factory

                second = Factory.SecondMonth()
                second.ids.month.bind(on_day=lambda _month, on: self.tap_day(on))
                ids.second_place.add_widget(second)
        if two:
            second = ids.second_place.children[0]
            after = finish_sums.other_month(self.shown, 1)
            second.ids.month.month = finish_sums.build_month_state(
                rug, desk.answers, after, today, self._first_weekday()
            )
            second.ids.month.picked = self.picked
            second.title = second.ids.month.month.title
        shown = [ids.month.month, *([second.ids.month.month] if two else [])]
        entries = finish_sums.legend(shown)
        if [(entry.face, entry.words) for entry in reversed(ids.legend.children)] != [
            ([face], words) for face, words in entries
        ]:
            ids.legend.clear_widgets()
            for face, words in entries:
                ids.legend.add_widget(LegendEntry(face=[face], words=words))

    def _show_marks(self, marks: Any) -> None:
        box = self.ids.marks
        box.clear_widgets()
        for mark in marks:
            box.add_widget(MarkRow(name=mark.name, day=mark.day, span=mark.span))

    def _show_steps(self, steps: Any) -> None:
        box = self.ids.steps
        if len(box.children) != len(steps):
            box.clear_widgets()
            for _step in steps:
                row = StepRow()
                row.bind(
                    on_tick=lambda row: self.tick(row.line.step_id),
                    on_open=lambda row: self.open_step(row.line.step_id),
                )
                box.add_widget(row)
        for row, line in zip(reversed(box.children), steps, strict=True):
            row.line = line

    def _show_sentences(self, box: BoxLayout, sentences: Any) -> None:
        box.clear_widgets()
        for sentence in sentences:
            box.add_widget(Text(text=sentence))

    # --- the month

    def turn(self, months: int) -> None:
        """Show another month."""
        self.shown = finish_sums.other_month(self.shown, months)
        self._show_months()

    def show_finish(self) -> None:
        """Show the month of the middle date; when it is shown already, the present month."""
        answers = self.desk.answers
        today = self.desk.today().replace(day=1)
        wished = answers.finish.middle.replace(day=1) if answers is not None and answers.finish else today
        self.shown = today if self.shown == wished else wished
        self._show_months()

    def tap_day(self, on: date) -> None:
        """Open a day: what it tells, and what can be done with it."""
        desk, shell = self.desk, self.shell
        self.picked = on
        self._show_months()
        offers = finish_sums.build_day_offers(desk.rug, desk.holidays, desk.answers, on, desk.today())
        sheet = Column(spacing=look.gap)
        sheet.add_widget(Text(text=offers.sentence))
        if offers.change:
            change = Key(text=offers.change, icon="calendar", role="act", loom=True)
            change.bind(on_release=lambda _key: self.change_day(on))
            sheet.add_widget(change)
        if offers.off:
            why = Key(text=_("Say why"))
            why.bind(on_release=lambda _key: self.ask_reason(on))
            sheet.add_widget(why)

        def offer(words: str, icon: str, work: Callable[[], object]) -> None:
            def go_on(_key: Key) -> None:
                shell.close_sheet()
                work()

            key = Key(text=words, icon=icon)
            key.bind(on_release=go_on)
            sheet.add_widget(key)

        for session_id, words in offers.sessions:
            offer(words, "edit", partial(open_record, shell, desk, session_id))
        if offers.log:
            offer(_("Log a session for this day"), "plus", lambda: shell.go("session", on_day=on.isoformat()))
        shell.open_sheet(_("The day"), sheet, on_close=self._let_day_go)

    def _let_day_go(self) -> None:
        self.picked = None
        self._show_months()

    def change_day(self, on: date) -> None:
        """Take a day off, or on again."""
        desk, shell = self.desk, self.shell
        shell.close_sheet()
        change = finish_sums.toggle_day_off(desk.rug, on, desk.today())
        before = desk.answers

        def work() -> None:
            act_id = desk.act(change.kind, *change.values, withdraw=change.withdraw)
            desk.once(lambda: self._answer(change.sentence, act_id, before))

        shell.try_act(work)

    def _answer(self, sentence: str, act_id: str, before: Any) -> None:
        """Say what was done and how it moved the date, with an undo."""
        desk, shell = self.desk, self.shell

        undo = undoable(shell, desk, act_id)
        after = desk.answers
        shell.toast(f"{sentence} {finish_sums.moved_words(before, after)}".rstrip(), undo=undo)

    def ask_reason(self, on: date) -> None:
        """Ask why a day is off."""
        desk = self.desk
        self.shell.close_sheet()
        off = finish_sums.with_reason(desk.rug, on, "")
        if off is None:
            return
        kept = next(o.reason for o in desk.rug.days_off if o.id == off.id)

        def take(reason: str) -> None:
            value = finish_sums.with_reason(desk.rug, on, reason)
            if value is not None:
                desk.act(ActKind.DAYS_OFF_ENTERED, value)

        ask_text(
            self.shell,
            _("Why is it a day off?"),
            kept,
            take,
            hint=_("A wedding, a market, harvest …"),
            most=80,
        )

    # --- the wish

    def ask_wish(self) -> None:
        """Ask for the wished-for day."""
        desk = self.desk
        start = desk.rug.plan.wished_day or (
            desk.answers.finish.middle if desk.answers.finish else desk.today()
        )
        ask_day(self.shell, _("Target date: woven by which day?"), start, self._wish)

    def _wish(self, on: date | None) -> None:
        desk, shell = self.desk, self.shell

        def work() -> None:
            plan = finish_sums.with_wish(desk.rug.plan, on, desk.today())
            act_id = desk.act(ActKind.WISH_CHANGED, plan)

            undo = undoable(shell, desk, act_id)

            def answer() -> None:
                state = finish_sums.build_finish_state(desk.rug, desk.answers)
                if on:
                    words = _("Target date: {day}.").format(day=state.wish) + " " + state.wish_words
                else:
                    words = _("No target date.")
                shell.toast(words, undo=undo)

            desk.once(answer)

        shell.try_act(work)

    def drop_wish(self) -> None:
        """Wish for no day."""
        self._wish(None)

    # --- the steps after weaving

    def _write(self, kind: ActKind, sentence: str, *values: Any, withdraw: tuple[Any, ...] = ()) -> None:
        desk, shell = self.desk, self.shell

        def work() -> None:
            act_id = desk.act(kind, *values, withdraw=withdraw)

            undo = undoable(shell, desk, act_id)
            desk.once(lambda: shell.toast(sentence, undo=undo))

        shell.try_act(work)

    def _step(self, step_id: str) -> AfterStep | None:
        return next((step for step in self.desk.rug.after_steps if step.id == step_id), None)

    def tick(self, step_id: str) -> None:
        """Tick a step off, or open it again."""
        step = self._step(step_id)
        if step is None:
            return
        desk = self.desk
        step = finish_sums.ticked(step, desk.today())
        where = desk.answers.where
        left = 0 if desk.answers.finished else where.rows - where.rows_woven
        self._write(ActKind.STEP_TICKED, finish_sums.ticked_words(step, left), step)

    def add_usual(self) -> None:
        """Take the usual steps that are missing."""
        desk = self.desk
        steps = finish_sums.usual_steps_missing(desk.rug, self._ticked(), desk.today())
        self._write(ActKind.STEPS_ENTERED, finish_sums.usual_added_words(len(steps)), *steps)

    def open_step(self, step_id: str | None = None) -> None:
        """Enter a new step, or change one."""
        step = self._step(step_id) if step_id else finish_sums.new_step(self.desk.rug)
        if step is None:
            return
        key = step_id or f"new {step.rug_id}"
        draft = of_rug(self.desk.drafts, STEP_DRAFTS, key)
        if draft is not None:
            step = replace(step, name=draft["name"], days=draft["days"])
        self._editing = step
        self._editing_key = key
        self._sheet = StepSheet(page=self, is_new=step_id is None)
        self._sheet_cautions = Column(spacing=look.gap)
        self._sheet.add_widget(self._sheet_cautions, index=len(self._sheet.children))
        self._show_sheet()
        self.shell.open_sheet(_("A step after weaving"), self._sheet)

    def _show_sheet(self) -> None:
        step = self._editing
        self._sheet.name, self._sheet.days = step.name, step.days
        self._sheet.days_shown = number(step.days, 1)
        self._sheet.days_unit = finish_sums.days_unit(step.days)
        self._show_cautions(self._sheet_cautions, set(stages_of_step(step.name)) - self._ticked())
        self._sheet.trouble = ""
        self._sheet.can_save = finish_sums.can_keep(step)

    def _show_cautions(self, box: Column, stages: Collection[GuideStage]) -> None:
        """Show what to mind in some stages after weaving."""
        # Not before there is a step to read of: the guide is a page of its own.
        from tracker.presenters.guide import stage_cautions
        from tracker.presenters.record.yarn_use import plan_as_weighed
        from tracker.screens.guide.guide import CautionNote

        desk, plan = self.desk, whole_plan.of(self.desk) if stages else None
        box.clear_widgets()
        for words in (
            ()
            if plan is None
            else stage_cautions(stages, desk.rug, plan_as_weighed(desk.rug, desk.answers, plan))
        ):
            box.add_widget(CautionNote(words=words))

    def change_step(self, **fields: Any) -> None:
        """Change the step in the sheet and keep it beside the book."""
        self._editing = replace(self._editing, **fields)
        step = asdict(self._editing)
        self._keep_step({"name": step["name"], "days": step["days"]})
        self._show_sheet()

    def _keep_step(self, draft: dict[str, Any] | None) -> None:
        """Keep the step in the sheet beside the book; None forgets it."""
        put_of_rug(self.desk.drafts, STEP_DRAFTS, self._editing_key, draft)

    def ask_step_name(self) -> None:
        """Ask for the step's name."""

        def take(name: str) -> None:
            self.change_step(name=name)

        ask_text(self.shell, _("What is done?"), self._editing.name, take, most=60)

    def ask_step_days(self) -> None:
        """Ask for the days the step takes."""
        ask_number(
            self.shell,
            _("How many days does it take?"),
            self._editing.days,
            lambda days: self.change_step(days=float(days)),
            unit=_("days"),
            decimals=1,
            most=finish_sums.LONGEST_STEP_DAYS,
        )

    def save_step(self) -> None:
        """Write the step of the sheet."""
        try:
            step = finish_sums.checked_step(self._editing)
        except LoomsideError as trouble:
            self._sheet.trouble = trouble.sentence
            return
        kind = ActKind.STEP_ENTERED if self._sheet.is_new else ActKind.STEP_CHANGED
        self._write_step(kind, _("{step}: kept.").format(step=step.name), step)

    def withdraw_step(self) -> None:
        """Take the step of the sheet out."""
        step = self._editing
        sentence = _("{step}: deleted.").format(step=step.name)
        self._write_step(ActKind.STEP_WITHDRAWN, sentence, withdraw=(step.id,))

    def _write_step(self, kind: ActKind, sentence: str, *values: Any, withdraw: tuple[Any, ...] = ()) -> None:
        """Write what the sheet says, and only then let go of it: on any trouble it stays as it is."""
        desk, shell = self.desk, self.shell
        try:
            act_id = desk.act(kind, *values, withdraw=withdraw)
        except LoomsideError as trouble:
            self._sheet.trouble = trouble.sentence
            return
        self._keep_step(None)
        shell.close_sheet()
        undo = undoable(shell, desk, act_id)
        desk.once(lambda: shell.toast(sentence, undo=undo))

    # --- the end

    def call_finished(self) -> None:
        """Ask for what belongs to a finished rug, then say that it is."""
        # The rug's lessons come up among the rugs, as after finishing one there.
        ask_finished(
            self.shell, self.desk, self.desk.rug,
            lambda plan, steps: self.shell.try_act(lambda: self._finish(plan, steps)),
        )  # fmt: skip

    def _finish(self, plan: RugPlan, steps: tuple[AfterStep, ...]) -> None:
        desk, shell = self.desk, self.shell
        # Not to another rug by itself: this one has its record and its lessons to show.
        desk.stay()
        act_id = desk.act(ActKind.RUG_FINISHED, plan, *steps)
        # The lessons say that it is finished, and have the way back.
        shell.go("shelf", lessons_of=plan.id, finished_by=act_id)


load_kv(__file__)
