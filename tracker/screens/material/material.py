"""The whole material plan for reading; tapping a number tells where it comes from."""

from __future__ import annotations

from collections.abc import Iterator

from kivy.properties import BooleanProperty, ObjectProperty

from tracker.domain.rug import RugStage
from tracker.presenters.material import Group, PlanFact, Story, YarnFacts, build_material_state
from tracker.presenters.whole_plan import whole_plan
from tracker.shell.empty import no_rug
from tracker.shell.filled_page import FilledPage
from tracker.widgets.basics import Across, Icon, Key, RowKey, Text, Tiles, load_kv
from tracker.widgets.forms import FormColumn, columns_of_page, lay_side_by_side
from tracker.widgets.look import look
from tracker.words import _

BLANK = YarnFacts("", "#C8B89A", "", "", "", "", (), Story("", ""))


class YarnNeedCard(RowKey):
    """What the rug needs of one yarn."""

    facts = ObjectProperty(BLANK, rebind=True)
    unfolded = BooleanProperty(False)
    tell = ObjectProperty(None, allownone=True)
    """Called with the story of the need."""

    def on_release(self) -> None:
        """Unfold the facts of the yarn, or fold them."""
        self.unfolded = not self.unfolded
        grid = self.ids.grid
        grid.clear_widgets()
        if not self.unfolded:
            return
        for line in self.facts.lines:
            grid.add_widget(FactLine(text=line[:1].upper() + line[1:]))
        key = Key(text=_("Where it comes from"), icon="info", style="small")
        key.bind(on_release=lambda _key: self.tell(self.facts.story))
        grid.add_widget(key)


class FactLine(Text):
    """One fact in the grid of a yarn."""


class FactCard(RowKey):
    """One number of the plan."""

    fact = ObjectProperty(PlanFact("", ""), rebind=True)


class MaterialPage(FilledPage):
    """The material plan of the rug in hand."""

    has_rug = BooleanProperty(False)
    finished = BooleanProperty(False)
    """Of a finished rug nothing is bought any more: what is left of it lies on the yarn shelf."""

    def fill(self) -> Iterator[None]:
        desk = self.desk
        columns = self.ids.columns
        plan = whole_plan.of(desk)
        self.has_rug = plan is not None
        if plan is None:
            column = no_rug(self)
            lay_side_by_side(columns, (column,))
            return
        self.finished = desk.rug.plan.stage is RugStage.FINISHED
        words = build_material_state(desk.rug, plan, desk.answers, desk.length_unit)
        boxes = columns_of_page()
        lay_side_by_side(columns, boxes)
        for sentence in words.warnings:
            boxes[0].warn(sentence)
        # Two columns: the cloth, the loom and the work stand left, the colours right; wefts and warp where there is room.
        left, right = sum(len(group.facts) / 2 + 0.5 for group in words.groups if group.facts), 0.0
        for at, group in enumerate(words.groups):
            of_right = bool(group.yarns) and right <= left
            if of_right:
                right += len(group.yarns) + 0.5
            elif group.yarns:
                left += len(group.yarns) + 0.5
            yield from self._add_group(boxes[-1] if of_right else boxes[0], group, at)

    def _add_group(self, box: FormColumn, group: Group, at: int) -> Iterator[None]:
        head = Across(padding=(0, look.gap if box.children else 0, 0, 0))
        head.add_widget(Icon(name=group.icon, side=24, tone="soft", pos_hint={"center_y": 0.5}))
        head.add_widget(Text(text=group.title, style="lead", strong=True, pos_hint={"center_y": 0.5}))
        if group.of:
            # Once for all yarns below it.
            head.add_widget(Text(text=group.of, tone="soft", halign="right", pos_hint={"center_y": 0.5}))
        box.add_widget(head)
        if group.facts:
            tiles = Tiles(cols=2 if look.text_scale < 1.5 else 1)
            for fact in group.facts:
                card = FactCard(fact=fact)
                card.bind(on_release=lambda card: self.tell(card.fact.story))
                tiles.add_widget(card)
            box.add_widget(tiles)
            yield
        for facts in group.yarns:
            card = YarnNeedCard(facts=facts, tell=self.tell)
            box.add_widget(card)
            yield

    def tell(self, story: Story | None) -> None:
        """Show where a number comes from."""
        if story is None:
            return
        box = FormColumn()
        box.note(story.sentence, tone="ink", style="body")
        if story.lines:
            box.table(story.lines)
        if story.source:
            box.note(_("Source: {source}").format(source=story.source))
        self.shell.open_sheet(story.title, box)

    def change_plan(self) -> None:
        """Open the plan form."""
        if self.desk.rug is not None:
            self.shell.go("plan", rug_id=self.desk.rug.plan.id)


load_kv(__file__)
