"""The guide: each stage of the work as a list to tick off, its cautions first."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from kivy.properties import BooleanProperty, ObjectProperty, StringProperty

from tracker.domain.act import ActKind
from tracker.files.typed import read_as
from tracker.presenters.finish import ticked
from tracker.presenters.guide import (
    GuideCard,
    GuideStage,
    GuideStep,
    build_guide_state,
    stage_after,
    stages_ticked,
    stages_ticked_of,
    step_ticked_with,
    ticks_kept,
    what_follows,
)
from tracker.presenters.of_rug import TICKS
from tracker.presenters.record.yarn_use import plan_as_weighed
from tracker.presenters.whole_plan import whole_plan
from tracker.shell.empty import no_rug
from tracker.shell.filled_page import FilledPage
from tracker.shell.undo import undoable
from tracker.widgets.basics import Card, RowKey, TickRow, bring_into_sight, load_kv, rest_at
from tracker.widgets.forms import FormColumn, lay_side_by_side
from tracker.widgets.look import look
from tracker.words import _


class StageKey(RowKey):
    """The head of one stage; a tap opens or closes it."""

    card = ObjectProperty(GuideCard(GuideStage.YARN, "", "", "", 0.0, (), (), (), ""), rebind=True)
    is_open = BooleanProperty(False)


class CautionNote(Card):
    """One caution, before the work it belongs to."""

    words = StringProperty("")


class GuideStepRow(TickRow):
    """One thing to do; a tap ticks it off, or opens it again."""

    def __init__(self, step: GuideStep, **kwargs: Any) -> None:
        super().__init__(text=step.words, ticked=step.ticked, **kwargs)
        self.step = step


def guide_cards(desk: Any) -> tuple[GuideCard, ...]:
    """Return every stage of the rug in hand, with what this phone ticked off; () without a rug."""
    plan = whole_plan.of(desk)
    if plan is None:
        return ()
    ticks = ticks_kept(desk.drafts.get(TICKS, {}).get(desk.rug.plan.id, []))
    return build_guide_state(desk.rug, plan_as_weighed(desk.rug, desk.answers, plan), ticks, desk.length_unit)


class GuidePage(FilledPage):
    """Every stage from the yarn to the hand-over: a list, and one stage on top of it; on a wide window side by side."""

    following = StringProperty("")
    """What the key says that leads to what comes next, once this stage is ticked off; "" before."""
    beside = BooleanProperty(False)
    """Whether the list stands beside the stage that is open."""

    def __init__(self, **kwargs: Any) -> None:
        self._following: Callable[[], None] | None = None
        super().__init__(**kwargs)
        self._stage: str | None = None
        self._from_list = False

    def enter(self, stage: str | None = None, **_what: Any) -> None:
        self._stage, self._from_list = stage, False

    def back(self) -> bool:
        if self._stage is None or not self._from_list or look.shape != "tall":
            return False
        self._stage = None
        self.rest()
        self.show()
        return True

    def stands(self) -> dict[str, Any]:
        return {**super().stands(), "stage": self._stage, "from list": self._from_list}

    def stand(self, how: dict[str, Any]) -> None:
        stage = read_as(GuideStage | None, how["stage"])
        self._stage, self._from_list = stage and stage.value, read_as(bool, how["from list"])
        self.refresh()
        super().stand(how)

    def shows(self) -> tuple[Any, ...]:
        desk = self.desk
        opening = desk.rug is None and not desk.fresh
        return desk.rug, desk.settings, self._stage, tuple(self._ticked()), opening, desk.answers

    def _ticked(self) -> list[str]:
        rug = self.desk.rug
        return [] if rug is None else ticks_kept(self.desk.drafts.get(TICKS, {}).get(rug.plan.id, []))

    def _cards(self) -> tuple[GuideCard, ...]:
        return guide_cards(self.desk)

    def fill(self) -> None:
        desk = self.desk
        self.title = _("Guide")
        columns, stages = self.ids.columns, self.ids.list
        stages.clear_widgets()
        self.beside = False
        plan = whole_plan.of(desk)
        self._show_following((), None)
        if plan is None:
            lay_side_by_side(columns, (no_rug(self),))
            return
        cards = self._cards()
        wide = look.shape != "tall"
        opened = next((card for card in cards if card.stage == self._stage), None)
        if opened is None and wide:
            opened = next((card for card in cards if card.stands_here), cards[0])
        self.beside = wide
        bring_into_sight(self.ids.list_scroll, self._open_key)
        page = FormColumn(pos_hint={"top": 1})
        for card in cards if opened is None or wide else ():
            key = StageKey(card=card, is_open=card is opened)
            key.bind(on_release=lambda key: self.open_stage(key.card.stage))
            (stages if wide else page).add_widget(key)
        if opened is not None:
            self.title = opened.title
            self._fill(page, opened)
        # Below what scrolls: whoever ticks the last step sees it wherever that stands.
        self._show_following(cards, None if opened is None or opened.share < 1 else opened.stage)
        lay_side_by_side(columns, (page,))

    def _open_key(self) -> StageKey | None:
        """Return the head of the stage that is open, in the list beside it."""
        return next((key for key in self.ids.list.children if key.is_open), None)

    def _fill(self, box: FormColumn, card: GuideCard) -> None:
        for words in card.cautions:
            box.add_widget(CautionNote(words=words))
        for step in card.steps:
            row = GuideStepRow(step=step)
            row.bind(on_release=lambda row: self.tick(row.step))
            box.add_widget(row)
        if card.lines:
            box.heading(_("Counting marks, from the left edge"))
            box.table(card.lines)
        box.note(card.source)

    def _show_following(self, cards: tuple[GuideCard, ...], done: GuideStage | None) -> None:
        """Lead on from a stage that is done: while rows are left to the next one, then to what follows on every page."""
        desk = self.desk
        self.following, self._following = "", None
        if done is None:
            return
        if desk.answers is None or not desk.answers.finished:
            card = stage_after(cards, done)
            if card is not None:
                self.following = _("Next: {part}").format(part=card.title)
                self._following = lambda: self.open_stage(card.stage)
            return
        follows = what_follows(desk.rug, stages_ticked_of(desk.drafts, desk.rug))
        self.following = follows.words
        if follows.page == "export":
            self._following = lambda: self.shell.go("export")
        elif follows.stages and follows.stages[0] is not done:
            self._following = lambda: self.open_stage(follows.stages[0])
        else:
            # A step of a name of her own, or one opened again: it is ticked off there.
            self._following = lambda: self.shell.open_tab("finish")

    def go_on(self) -> None:
        """Go to what comes next."""
        if self._following is not None:
            self._following()

    def open_stage(self, stage: GuideStage) -> None:
        """Show one stage."""
        self._stage, self._from_list = stage.value, True
        rest_at(self.ids.scroll, 1.0)
        self.show()

    def tick(self, step: GuideStep) -> None:
        """Tick a step off, or open it again; this phone remembers it."""
        desk = self.desk
        keys = [key for key in self._ticked() if key != step.key]
        if not step.ticked:
            keys.append(step.key)
        ticks = dict(desk.drafts.get(TICKS, {}))
        ticks[desk.rug.plan.id] = keys
        desk.drafts.put(TICKS, ticks)
        scrolled = self.ids.scroll.scroll_y
        self.show()
        self.ids.scroll.scroll_y = scrolled
        if not step.ticked:
            self._tick_after_weaving(replace(step, ticked=True))

    def _tick_after_weaving(self, last: GuideStep) -> None:
        """With the last step of its stages a step after weaving is done, on Finish too, with undo of that tap as a whole."""
        desk, shell = self.desk, self.shell
        stage = GuideStage(last.key.split(".")[0])
        after = step_ticked_with(desk.rug, stage, stages_ticked(self._ticked()))
        if after is None or desk.answers is None or not desk.answers.finished:
            return
        acts: list[str] = []
        done = ticked(after, desk.today())
        if shell.try_act(lambda: acts.append(desk.act(ActKind.STEP_TICKED, done))):
            rug_id = desk.rug.plan.id
            undo = undoable(shell, desk, acts[0], then=lambda: self._open_again(rug_id, last))
            desk.once(lambda: shell.toast(_("{step}: done.").format(step=after.name), undo=undo))

    def _open_again(self, rug_id: str, step: GuideStep) -> None:
        """Take off the tick whose act was undone: else all would be ticked off here of what Finish has open."""
        desk = self.desk
        ticks = dict(desk.drafts.get(TICKS, {}))
        ticks[rug_id] = [key for key in ticks_kept(ticks.get(rug_id, [])) if key != step.key]
        desk.drafts.put(TICKS, ticks)


load_kv(__file__)
