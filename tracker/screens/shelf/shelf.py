"""The shelf: rugs planned, on the loom and finished; choose one, move it on, and offer what it taught to the next."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from kivy.clock import Clock
from kivy.metrics import dp
from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty, StringProperty

from tracker import theme
from tracker.device.clock import now_utc
from tracker.domain.act import ActKind
from tracker.domain.rug import AfterStep, RugBook, RugPlan, RugStage
from tracker.presenters import shelf as presenter
from tracker.presenters.guide import before_last_row
from tracker.presenters.of_rug import TICKS, of_rug, put_of_rug
from tracker.presenters.picture import cartoon_picture, rug_picture, shown_aspect
from tracker.presenters.plan.form import CartoonForm, PlanForm
from tracker.presenters.session import waiting_words
from tracker.presenters.shelf import LessonLine, RugCard
from tracker.screens.plan.drafts import PlanDrafts
from tracker.sheets.asking import ask_deed
from tracker.sheets.finishing import ask_finished
from tracker.sheets.on_loom import ask_which_loom
from tracker.shell.empty import without_rug
from tracker.shell.page import Page
from tracker.shell.shell import TOAST_SECONDS
from tracker.shell.toast import Toast
from tracker.shell.undo import undoable
from tracker.widgets.basics import Card, Column, Key, RowKey, load_kv
from tracker.widgets.look import look
from tracker.widgets.rug_picture import RugPicture  # noqa: F401 - used by the kv file
from tracker.words import _

SMALL_PICTURE, LARGE_PICTURE = 200, 480
"""Pixels of the longer side of a rug's picture on the shelf; and on a tablet, which shows the chosen one larger."""


class RugCardKey(RowKey):
    """One rug on the shelf."""

    over = BooleanProperty(False)
    """Whether its picture stands over its words."""
    card = ObjectProperty(RugCard("", "", RugStage.PLANNED, "", "", "", 0.0, False), rebind=True)
    picture = ObjectProperty(None, allownone=True, force_dispatch=True)
    aspect = NumericProperty(0.7)


class RugPane(Card):
    """The chosen rug beside the list, with what can be done with it: on a tablet in place of a sheet."""

    card = ObjectProperty(RugCard("", "", RugStage.PLANNED, "", "", "", 0.0, False), rebind=True)
    picture = ObjectProperty(None, allownone=True, force_dispatch=True)
    aspect = NumericProperty(0.7)
    shown = ""
    """The rug whose deeds it has."""


class GroupColumn(Column):
    """Rugs at the same point of their lives."""

    label = StringProperty("")


class BegunColumn(GroupColumn):
    """Plans that were begun and left."""


class LessonFact(Column):
    """One figure a rug ended with."""

    label = StringProperty("")
    figure = StringProperty("")
    more = StringProperty("")


class LessonRow(Column):
    """What one yarn took."""

    line = ObjectProperty(LessonLine("", "", "#C8B89A", "", "", "", "ink"), rebind=True)


class LessonSheet(Column):
    """What a rug taught."""

    missing = StringProperty("")


class ShelfPage(Page):
    """All rugs."""

    columns = NumericProperty(1)
    with_pane = BooleanProperty(False)
    """Whether the chosen rug stands beside the list."""
    plan_words = StringProperty("")
    """What the key says that begins a plan."""

    def __init__(self, **kwargs: Any) -> None:
        self._known: dict[str, tuple[RugBook, Any, Any]] = {}
        """Rug, answers and picture by the rug's id, as last read."""
        self._read_in: dict[str, int] = {}
        """In which turn of the desk a rug was read: in a later one anything of it may be another."""
        self._turn = 0
        self._chosen = ""
        """The rug beside the list; "" for the one in hand."""
        self._drafts = PlanDrafts(kwargs["desk"])
        self._begun: dict[str, PlanForm] = {}
        self._begun_pictures: dict[str, tuple[CartoonForm, Any]] = {}
        """The picture of a begun plan's cartoon, and of what it was laid out."""
        super().__init__(**kwargs)
        self.bind(width=self._fit_columns, with_pane=self._fit_columns)
        look.bind(text_scale=self._fit_columns)

    def _fit_columns(self, *_args: Any) -> None:
        room = self.width - 2 * look.pad
        fitting = int(room / (dp(270) * max(1.0, look.text_scale * 0.8)))
        self.columns = 1 if self.with_pane else max(1, min(3, fitting))
        if self._known:
            self._show()

    def enter(self, lessons_of: str | None = None, finished_by: str = "", **_what: Any) -> None:
        self._chosen = ""
        self.shell.bind(timer_words=self._tick)
        if lessons_of is not None:
            self.shell.done_once("lessons_of", "finished_by")
            self.show_lessons(lessons_of, finished_by)

    def leave(self) -> None:
        self.shell.unbind(timer_words=self._tick)

    def _tick(self, *_args: Any) -> None:
        if self.desk.plans:
            self._show()

    # --- showing

    def refresh(self) -> None:
        desk = self.desk
        if not desk.plans:
            self.missing = without_rug(self)
            self.ids.groups.clear_widgets()
            return
        self.missing = None
        self._turn += 1
        self._begun = self._drafts.begun()
        self.plan_words = _("Start a new one") if self._begun else _("Plan another rug")
        self._known = {plan.id: self._known[plan.id] for plan in desk.plans if plan.id in self._known}
        if desk.rug is not None and desk.answers is not None:
            known = self._known.get(desk.rug.plan.id)
            if known is None or known[0] is not desk.rug:
                self._known[desk.rug.plan.id] = (desk.rug, desk.answers, self._draw(desk.rug))
        self._show()
        self._read_next(self._turn, [plan for plan in desk.plans if plan.id != desk.rug_id])

    @staticmethod
    def _draw(rug: RugBook) -> Any:
        ground = (theme.DARK if look.dark else theme.LIGHT).card
        return rug_picture(rug, ground, longest=LARGE_PICTURE if look.shape == "tablet" else SMALL_PICTURE)

    def _read_next(self, turn: int, waiting: list[RugPlan]) -> None:
        """Read the other rugs one by one, off the touch thread, each shown as it comes."""
        if not waiting or turn != self._turn:
            return
        plan, *rest = waiting
        known, read_in = self._known.get(plan.id), self.desk.turn

        def read() -> Any:
            rug, answers = self.desk.answers_for(plan.id)
            return rug, answers, known[2] if known is not None and known[0] == rug else self._draw(rug)

        def done(words: Any) -> None:
            if turn != self._turn:
                return
            self._known[plan.id] = words
            self._read_in[plan.id] = read_in
            self._show()
            self._read_next(turn, rest)

        if known is not None and self._read_in.get(plan.id) == read_in and known[1].day == self.desk.today():
            self._read_next(turn, rest)
        else:
            self.desk.aside(read, done, lambda sentence: self.shell.toast(sentence, warn=True))

    def _cards(self) -> tuple[RugCard, ...]:
        desk = self.desk
        today, in_hand = desk.today(), desk.rug_id
        unit = desk.length_unit
        cards = []
        for plan in desk.plans:
            known = self._known.get(plan.id)
            cards.append(
                presenter.rug_card(
                    plan, today, plan.id == in_hand, known[1] if known else None, unit, self._waiting(plan)
                )
            )
        return tuple(cards)

    def _waiting(self, plan: RugPlan) -> str:
        return waiting_words(self.desk.drafts, plan.id, now_utc())

    def _show(self) -> None:
        groups = presenter.shelf_groups(self._cards())
        box = self.ids.groups
        wanted: list[tuple[Any, Any]] = [
            (group.stage, [card.rug_id for card in group.cards]) for group in groups
        ]
        wanted.append(("begun", list(self._begun.items())))
        if getattr(self, "_shown", None) != wanted or not box.children:
            self._shown = wanted
            box.clear_widgets()
            self._show_begun(box)
            for group in groups:
                column = GroupColumn(label=group.label)
                for card in group.cards:
                    key = RugCardKey(card=card)
                    key.bind(on_release=lambda key: self.open_rug(key.card.rug_id))
                    column.ids.rugs.add_widget(key)
                box.add_widget(column)
        cards = {card.rug_id: card for group in groups for card in group.cards}
        columns = [column for column in box.children if not isinstance(column, BegunColumn)]
        for column in columns:
            for key in column.ids.rugs.children:
                key.card = cards[key.card.rug_id]
                known = self._known.get(key.card.rug_id)
                if known is not None and known[2] is not key.picture:
                    key.aspect = shown_aspect(known[0])
                    key.picture = known[2]
        if self.with_pane:
            chosen = self._chosen if self._chosen in cards else self.desk.rug_id or next(iter(cards))
            for column in columns:
                for key in column.ids.rugs.children:
                    key.ground = "chosen" if key.card.rug_id == chosen else "card"
            self._show_beside(cards[chosen])

    # --- plans that were begun

    def _show_begun(self, box: Any) -> None:
        """Show the plans that wait half filled, each with the picture of its cartoon."""
        if not self._begun:
            return
        column = BegunColumn(label=_("Begun"))
        for draft, form in self._begun.items():
            key = RugCardKey(card=presenter.begun_card(draft, form, self.desk.length_unit))
            key.aspect = form.width_cm / form.length_cm
            key.bind(on_release=lambda key: self.shell.go("plan", draft=key.card.rug_id))
            column.ids.rugs.add_widget(key)
            self._draw_begun(key, form.cartoon)
        box.add_widget(column)

    def _draw_begun(self, key: RugCardKey, cartoon: CartoonForm | None) -> None:
        """Draw a begun plan's cartoon, off the touch thread; what cannot be laid out any more is said on the plan's page."""
        if cartoon is None or not cartoon.file:
            return
        draft, desk = key.card.rug_id, self.desk
        drawn, picture = self._begun_pictures.get(draft, (None, None))
        if drawn == cartoon:
            key.picture = picture
            return

        def draw() -> Any:
            from tracker.screens.plan.cartoon import parts_of

            return cartoon_picture(
                desk.cartoons.assemble(parts_of(desk, self._drafts, cartoon)), SMALL_PICTURE
            )

        def done(picture: Any) -> None:
            self._begun_pictures[draft] = (cartoon, picture)
            key.picture = picture

        desk.aside(draw, done, lambda _sentence: None)

    def plan_another(self) -> None:
        """Begin a new plan; one that was begun is kept beside it."""
        self._drafts.set_aside()
        self.shell.go("plan", afresh=True)

    # --- one rug

    def _show_beside(self, card: RugCard) -> None:
        """Show a rug beside the list, and what can be done with it."""
        pane, known = self.ids.pane, self._known.get(card.rug_id)
        pane.card = card
        if known is None:
            pane.picture = None
        elif known[2] is not pane.picture:
            pane.aspect, pane.picture = shown_aspect(known[0]), known[2]
        keys = self._deeds(card.rug_id)
        before = [(key.value, key.role) for key in reversed(pane.ids.deeds.children)]
        # What lies under the finger stays there while the other rugs are read.
        if pane.shown != card.rug_id or before != [(key.value, key.role) for key in keys]:
            pane.shown = card.rug_id
            pane.ids.deeds.clear_widgets()
            for key in keys:
                pane.ids.deeds.add_widget(key)

    def _deeds(self, rug_id: str) -> list[Key]:
        """Return a key for each thing that can be done with a rug."""
        plan, known = self._plan_of(rug_id), self._known.get(rug_id)
        woven = known[0].rows_woven if known else 0
        waits = presenter.waits_for_loom(plan, self.desk.plans)
        rows = known[1].where.rows if known and known[1] else None
        keys = []
        for deed in presenter.deeds_of(plan, rug_id == self.desk.rug_id, woven, waits, rows):
            key = Key(text=deed.label, icon=deed.icon, role=deed.role, halign="left", value=deed.key)
            key.bind(on_release=lambda key: self.do(key.value, self._plan_of(rug_id)))
            keys.append(key)
        return keys

    def _plan_of(self, rug_id: str) -> RugPlan:
        return next(plan for plan in self.desk.plans if plan.id == rug_id)

    def open_rug(self, rug_id: str) -> None:
        """Offer what can be done with a rug: beside the list where there is room, else in a sheet."""
        self._chosen = rug_id
        if self.with_pane:
            self._show()
            return
        column = Column()
        for key in self._deeds(rug_id):
            column.add_widget(key)
        self.shell.open_sheet(self._plan_of(rug_id).name, column)

    def do(self, deed: str, plan: RugPlan) -> None:
        """Do one of the things offered."""
        shell, desk = self.shell, self.desk
        shell.close_sheet()
        if deed == "hand":
            desk.choose(plan.id)
            shell.open_tab("home")
        elif deed == "plan":
            shell.go("plan", rug_id=plan.id)
        elif deed == "record":
            shell.go("export", rug_id=plan.id)
        elif deed == "order":
            # The page is about the open rug, as that of its costs is.
            shell.go_with_rug(plan.id, "order")
        elif deed == "loom":
            self._put_on_loom(
                _("{name} is on the loom."),
                replace(plan, stage=RugStage.ON_LOOM),
                lambda: desk.choose(plan.id),
            )
        elif deed == "back":
            self._back_on_loom(replace(plan, stage=RugStage.ON_LOOM, finished_day=None))
        elif deed == "finish":
            self._ask_finished(plan)
        elif deed == "lessons":
            self.show_lessons(plan.id)
        elif deed == "withdraw":
            self._ask_to_delete(plan)

    def _back_on_loom(self, plan: RugPlan) -> None:
        """Put a finished rug back: while rows are left nothing that follows the last one is done, else it is asked about."""
        desk = self.desk
        known = self._known.get(plan.id)
        book = known[0] if known else desk.rug_book(plan.id, with_cartoon=False)
        ticks = of_rug(desk.drafts, TICKS, plan.id) or ()
        again = _("{name} is on the loom again.")
        found = presenter.ticked_off(book, ticks)
        if found is None:
            self._put_on_loom(again, plan)
            return
        off = found

        def open_again() -> None:
            def put_ticks(keys: Any) -> None:
                put_of_rug(desk.drafts, TICKS, plan.id, list(keys) or None)

            self._put_on_loom(
                " ".join(filter(None, (again, presenter.open_again_words(off.names)))),
                plan,
                lambda: put_ticks(before_last_row(ticks)),
                steps=off.steps,
                undone=lambda: put_ticks(ticks),
            )

        if off.weaving_goes_on or not off.names:
            open_again()
            return

        def keep() -> None:
            self._put_on_loom(again, plan)

        choices = [(_("They are done: keep them ticked"), keep), (_("Not done: open them again"), open_again)]
        title = _("What is done of {name}?").format(name=plan.name)
        ask_deed(self.shell, title, presenter.were_done_words(off.names), choices)

    def _put_on_loom(
        self,
        said: str,
        plan: RugPlan,
        after: Callable[[], None] | None = None,
        steps: tuple[AfterStep, ...] = (),
        undone: Callable[[], None] | None = None,
    ) -> None:
        """Put a rug on its loom, after asking which, and what is meant where another lies there; `undone` follows an undo."""

        def put(placed: RugPlan, others: tuple[RugPlan, ...]) -> None:
            self._act(ActKind.RUG_PUT_ON_LOOM, said, placed, *others, *steps, after=after, undone=undone)

        self.shell.try_act(lambda: ask_which_loom(self.shell, self.desk, plan, put))

    def _ask_to_delete(self, plan: RugPlan) -> None:
        """Delete a rug, after asking where rows of it are woven."""

        def delete() -> None:
            self._act(
                ActKind.RUG_WITHDRAWN, _("{name} is deleted; the diary can restore it."), plan, withdraw=True
            )

        known = self._known.get(plan.id)
        words = presenter.deletion_words(plan, known[0].rows_woven if known else None, self._waiting(plan))
        if not words:
            delete()
            return

        def keep() -> None:
            """Nothing is done."""

        choices = [(_("No, keep it"), keep), (_("Delete the rug"), delete)]
        title = _("Delete {name}?").format(name=plan.name)
        ask_deed(self.shell, title, words, choices)

    def _act(
        self,
        kind: ActKind,
        said: str,
        plan: RugPlan,
        *more: Any,
        withdraw: bool = False,
        after: Callable[[], None] | None = None,
        undone: Callable[[], None] | None = None,
    ) -> str:
        """Do it, and say so with a way back, which `undone` follows; return the act's id, "" where nothing was done."""
        desk, shell = self.desk, self.shell
        done: list[str] = []

        def act() -> None:
            if withdraw:
                done.append(desk.act(kind, withdraw=(plan.id,), rug_id=plan.id))
            else:
                done.append(desk.act(kind, plan, *more, rug_id=plan.id))

        if not shell.try_act(act):
            return ""
        if after:
            after()

        undo = undoable(shell, desk, done[0], then=undone)
        desk.once(lambda: shell.toast(said.format(name=plan.name), undo=undo))
        return done[0]

    def _ask_finished(self, plan: RugPlan) -> None:
        known = self._known.get(plan.id)
        book = known[0] if known else self.desk.rug_book(plan.id, with_cartoon=False)

        def finish(finished: RugPlan, steps: tuple[AfterStep, ...]) -> None:
            if plan.id == self.desk.rug_id:
                # Not to another rug by itself: this one has its record and its lessons to show.
                self.desk.stay()
            # The lessons come up once the sheet is gone.
            act_id = self._act(ActKind.RUG_FINISHED, presenter.finished_words(), finished, *steps)
            if act_id:
                self.desk.once(lambda: self.show_lessons(plan.id, act_id))

        ask_finished(self.shell, self.desk, book, finish)

    # --- lessons

    def show_lessons(self, rug_id: str, finished_by: str = "") -> None:
        """Show what a rug taught, and offer it to those still planned.

        `finished_by`: the act that has just called it finished. The lessons lie over the strip that says so, and say it themselves.
        """

        def read() -> Any:
            return (*self.desk.lessons_of(rug_id), self.desk.answers_for(rug_id)[1])

        self.desk.aside(
            read,
            lambda found: self._show_lessons(found[0], found[1], found[2], finished_by),
            lambda sentence: self.shell.toast(sentence, warn=True),
        )

    def _show_lessons(self, rug: RugBook, lessons: Any, answers: Any, finished_by: str = "") -> None:
        words = presenter.build_lesson_state(rug, lessons, self.desk.today(), answers)
        sheet = LessonSheet(missing=words.missing)
        finished = rug.plan.stage is RugStage.FINISHED
        undo = undoable(self.shell, self.desk, finished_by) if finished else None
        if undo is not None:
            strip = Toast(
                sentence=presenter.finished_words().format(name=rug.plan.name),
                undo_label=_("Undo"),
                undo=self._then_closed(undo),
            )
            sheet.add_widget(strip, index=len(sheet.children))
            # As long as any strip; after that "Back on the loom" takes it back.
            Clock.schedule_once(strip.time_out, TOAST_SECONDS)
        for label, figure, more in words.facts:
            sheet.ids.facts.add_widget(LessonFact(label=label, figure=figure, more=more))
        for line in words.yarns:
            sheet.ids.yarns.add_widget(LessonRow(line=line))
        for plan in presenter.learners(self.desk.plans, rug.plan.id):
            key = Key(text=_("Count with it in {name}").format(name=plan.name), icon="check", value=plan.id)
            key.bind(on_release=lambda key: self.offer(rug, lessons, key.value))
            sheet.ids.offers.add_widget(key)
        if finished:
            record = Key(text=_("Share and print the record"), icon="share", value=rug.plan.id)
            record.bind(on_release=lambda key: self.shell.go("export", rug_id=key.value))
            sheet.ids.offers.add_widget(record)
        self.shell.close_sheet()
        if undo is None:
            self.shell.open_sheet(words.title, sheet)
            return
        # One strip at a time says it: dimmed behind the sheet a second one could not be tapped. It has its time afterwards.
        self.shell.dismiss_toast()

        def still_offered() -> None:
            if strip.undo is not None:
                self.shell.toast(strip.sentence, undo=undo)

        self.shell.open_sheet(words.title, sheet, on_close=still_offered)

    def _then_closed(self, deed: Callable[[], None]) -> Callable[[], None]:
        """Return what closes the sheet and does it."""

        def close() -> None:
            self.shell.close_sheet()
            deed()

        return close

    def offer(self, taught: RugBook, lessons: Any, rug_id: str) -> None:
        """Write what a rug taught into the plan of another."""
        shell, desk = self.shell, self.desk
        offered: list[RugBook] = []
        if not shell.try_act(lambda: offered.append(desk.with_lessons(lessons, taught, rug_id))):
            return
        taken = offered[0]
        shell.close_sheet()
        self._act(
            ActKind.LESSONS_TAKEN_OVER,
            _("{name} now counts with your own rate and use of yarn."),
            taken.plan,
            *taken.yarns,
        )


load_kv(__file__)
