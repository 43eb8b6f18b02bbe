"""The yarn shelf over all rugs: what is free, what lies in which rug, and giving it to a rug. Much yarn is folded."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Any

from kivy.properties import BooleanProperty, StringProperty

from tracker.domain.act import ActKind
from tracker.domain.errors import BadEntry
from tracker.domain.lot_moves import Place
from tracker.domain.rug import RugBook
from tracker.files.typed import read_as
from tracker.presenters import yarn_shelf as presenter
from tracker.presenters.yarn_shelf import Fold, Match, PartLine, ShadeGroup, YarnPart
from tracker.sheets.asking import ask_doubt_of_answer, ask_number
from tracker.shell.empty import without_rug
from tracker.shell.filled_page import FilledPage
from tracker.shell.page import there
from tracker.shell.undo import undoable
from tracker.widgets.basics import Missing, load_kv
from tracker.widgets.entry import Entry  # noqa: F401 - used by the kv file
from tracker.widgets.forms import CardKey, FormColumn, columns_of_page, lay_side_by_side
from tracker.words import _, mass

MOST_TAKERS = 4
"""Rugs to which yarn is offered at once; more is a list to read."""


class YarnShelfPage(FilledPage):
    """All yarn of all rugs."""

    headline = StringProperty("")
    sought = StringProperty("")
    """What is searched for; "" shows everything."""
    searches = BooleanProperty(False)
    """Whether there is more yarn than is seen at once."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._stock: presenter.ShelfStock | None = None
        self._turn = 0
        self._unfolded: tuple[str, ...] = ()
        """The keys of the folds that stand open, the one unfolded last at the end."""
        self._cards: dict[str, list[CardKey]] = {}
        """Those of what is unfolded, by the key of its fold."""

    def stands(self) -> dict[str, Any]:
        return {**super().stands(), "unfolded": self._unfolded}

    def stand(self, how: dict[str, Any]) -> None:
        self._unfolded = read_as(tuple[str, ...], how["unfolded"])
        self.show()
        super().stand(how)

    def shows(self) -> tuple[Any, ...]:
        return self._stock, self.sought

    def on_sought(self, *_args: Any) -> None:
        self.ids.scroll.scroll_y = 1
        self.show()

    def refresh(self) -> None:
        desk = self.desk
        if not desk.fresh or not desk.plans:
            self.missing = without_rug(self)
            return
        self._turn += 1
        turn = self._turn
        if self._stock is None:
            self.missing = Missing("shelf", _("Looking through the rugs …"))
        desk.aside(
            desk.yarn_shelf,
            lambda stock: self._taken(turn, stock),
            lambda sentence: self.shell.toast(sentence, warn=True),
        )

    def _taken(self, turn: int, stock: presenter.ShelfStock) -> None:
        if turn != self._turn:
            return
        self._stock = stock
        super().refresh()

    def fill(self) -> Iterator[None]:
        if self._stock is None:
            return
        self.searches = presenter.can_search(self._stock)
        sought = self.sought.strip() if self.searches else ""
        stock = presenter.searched(self._stock, sought) if sought else self._stock
        words = presenter.build_yarn_shelf_state(stock)
        self.headline = words.headline
        self.missing = (
            Missing("shelf", _("No yarn yet."), words.empty, _("Shopping list"), "buy", "shopping")
            if words.empty and not sought
            else None
        )
        columns = self.ids.columns
        boxes = columns_of_page()
        lay_side_by_side(columns, boxes)
        self._cards = {}
        if not stock.parts:
            boxes[0].note(_("Nothing found."), tone="ink", style="body")
        for told, heading, box in (
            (words.free, _("Free"), boxes[0]),
            (words.given, _("In the rugs"), boxes[-1]),
        ):
            if told:
                box.heading(heading)
            for one in told:
                groups: tuple[ShadeGroup, ...] = (one,) if isinstance(one, ShadeGroup) else ()
                if isinstance(one, Fold):
                    box.add_widget(self._fold_key(one))
                    yield
                    groups = one.groups if one.key in self._unfolded else ()
                for group in groups:
                    for line in group.lines:
                        card = self._card(group, line)
                        if isinstance(one, Fold):
                            self._cards.setdefault(one.key, []).append(card)
                        box.add_widget(card)
                        yield

    def _fold_key(self, fold: Fold) -> CardKey:
        unfolded = fold.key in self._unfolded
        key = CardKey(
            answer=fold.name,
            note=fold.note,
            amount=fold.amount,
            swatch=fold.swatch,
            icon="" if fold.swatch else "shelf",
            end_icon="up" if unfolded else "down",
            chosen=unfolded,
        )
        key.bind(on_release=lambda key: self.turn_fold(fold, key))
        return key

    def turn_fold(self, fold: Fold, key: CardKey | None = None) -> None:
        """Unfold what a key stands for, or fold it again; the key that was tapped stays under the finger."""
        state = presenter.build_yarn_shelf_state(presenter.searched(there(self._stock), self.sought))
        before, self._unfolded = (
            self._unfolded, presenter.unfolded_then(state, self._unfolded, fold.key),
        )  # fmt: skip
        gone = [card for one in before if one not in self._unfolded for card in self._cards.get(one, ())]
        above = [card for card in gone if key is not None and card.parent is key.parent and card.y > key.y]
        self.ids.scroll.keep_place(sum(card.height + card.parent.spacing for card in above))
        self.show()

    def _card(self, group: ShadeGroup, line: PartLine) -> CardKey:
        card = CardKey(
            title=line.head,
            answer=group.name,
            note=line.note,
            amount=line.amount,
            swatch=(group.swatch, group.number),
        )
        card.bind(on_release=lambda _card: self.open_part(line))
        return card

    # --- one part

    def open_part(self, line: PartLine) -> None:
        """Offer what can be done with yarn of one lot: give it to a rug, those that want some first, or put it on the shelf."""
        desk, part = self.desk, line.part
        box = FormColumn()
        box.note(f"{line.amount}, {line.head}, {line.note}", tone="ink", style="body")
        takers = presenter.takers(there(self._stock), part, desk.rug_id or "")
        for place, (rug, match) in enumerate(takers[:MOST_TAKERS]):
            words = _("Give to {name}").format(name=rug.plan.name)
            role = "act" if not place and match.wants_g > 0 else "plain"
            box.key(words, partial(self.ask_grams, part, rug, match), "right", role)
            box.note(presenter.match_words(match, rug.plan.name))
        if not takers and there(self._stock).rugs:
            box.note(presenter.no_taker_words(part))
        if not part.free:
            box.key(_("Put on the shelf"), lambda: self.ask_shelf(part), "shelf")
        self.shell.open_sheet(part.yarn.name, box)

    def ask_grams(self, part: YarnPart, rug: RugBook, match: Match) -> None:
        """Ask how many grams go to a yarn of a rug."""
        wanted = match.wants_g if 0 < match.wants_g < part.told_g else part.told_g
        self._ask(part, wanted, (rug.plan.id, match.yarn.id), rug.plan.name)

    def ask_shelf(self, part: YarnPart) -> None:
        """Ask how many grams go on the shelf."""
        self._ask(part, part.told_g, None, "")

    def _ask(self, part: YarnPart, grams: float, place: Place, name: str) -> None:
        ask_number(
            self.shell,
            _("How much of {mass}?").format(mass=mass(part.told_g)),
            int(grams) or 1,
            lambda said: self.ask_move(part, place, said, name),
            unit=_("g"),
            least=1,
            most=max(1, round(part.told_g)),
        )

    def ask_move(self, part: YarnPart, place: Place, grams: float, name: str) -> None:
        """Move yarn, after asking where its rug still needs it."""
        doubt = presenter.doubt_of_giving(there(self._stock), part, grams)
        ask_doubt_of_answer(
            self.shell,
            doubt,
            lambda: self.move(part, place, grams, name),
            lambda: self._ask(part, grams, place, name),
        )

    def move(self, part: YarnPart, place: Place, grams: float, name: str) -> None:
        """Move yarn, with undo."""
        desk, shell = self.desk, self.shell
        acts: list[str] = []
        try:
            moves = presenter.give(part, place, grams, desk.today())
        except BadEntry as trouble:
            shell.toast(trouble.sentence, warn=True)
            return
        if not moves or not shell.try_act(lambda: acts.append(desk.act(ActKind.YARN_MOVED, *moves))):
            return
        shell.close_sheet()
        undo = undoable(shell, desk, acts[0])
        said = presenter.given_words(moves, part, name)
        desk.once(lambda: shell.toast(said, undo=undo))


load_kv(__file__)
