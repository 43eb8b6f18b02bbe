"""The whole plan of the rug in hand: reckoned once for each reading, and learning from all the weaver's rugs."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import pytest

from tests.presenters.rugs import book, plan, yarns
from tracker.domain import defaults
from tracker.domain.errors import BookTrouble
from tracker.domain.material_plan import MaterialPlan
from tracker.domain.rug import Cartoon, Preparation, PreparationKind, RugBook, RugPlan
from tracker.domain.taught import NOTHING_TAUGHT, Taught
from tracker.presenters import whole_plan as whole
from tracker.presenters.whole_plan import WholePlan, preparations_elsewhere

OFTEN = round(float(defaults.OWN_TIMES_NEEDED))
"""So often must a weaver have noted her hours before they count."""


@dataclass
class FakeDesk:
    """A desk with a rug in hand and another on the shelf."""

    rug: RugBook | None
    other: RugBook
    broken: bool = False

    @property
    def plans(self) -> tuple[RugPlan, ...]:
        here = () if self.rug is None else (self.rug.plan,)
        return (*here, self.other.plan)

    def taught_pace(self, rug_id: str) -> Taught:
        return NOTHING_TAUGHT

    def rug_book(self, rug_id: str, with_cartoon: bool = True) -> RugBook:
        if self.broken:
            raise BookTrouble("The book cannot be read.")
        assert rug_id == self.other.plan.id, "the rug in hand is read already"
        return self.other


def wound(hours: float) -> Preparation:
    """Ten balls wound in so many hours."""
    return Preparation(
        id="p", rug_id="other", day=date(2026, 10, 1), kind=PreparationKind.BALLS, yarn_id="red", count=10, hours=hours
    )  # fmt: skip


def other(*preparations: Preparation) -> RugBook:
    return RugBook(plan=plan(id="other", name="Other"), yarns=yarns(), preparations=preparations)


def test_without_a_rug_in_hand_there_is_no_plan() -> None:
    assert WholePlan().of(FakeDesk(None, other())) is None


def test_it_is_reckoned_once_for_each_reading_of_the_book(monkeypatch: pytest.MonkeyPatch) -> None:
    reckoned: list[RugBook] = []
    real = whole.material_plan

    def counting(rug: RugBook, **more) -> MaterialPlan:
        reckoned.append(rug)
        return real(rug, **more)

    monkeypatch.setattr(whole, "material_plan", counting)
    keeper, desk = WholePlan(), FakeDesk(book(), other())
    first = keeper.of(desk)
    assert keeper.of(desk) is first
    assert len(reckoned) == 1
    desk.rug = book()
    keeper.of(desk)
    assert len(reckoned) == 2


def test_a_rug_that_was_changed_is_reckoned_anew() -> None:
    keeper, desk = WholePlan(), FakeDesk(book(), other())
    before = keeper.of(desk)
    desk.rug = replace(book(), plan=plan(rows=400))
    after = keeper.of(desk)
    assert before is not None
    assert after is not None
    assert after.knots == 2 * before.knots


def drawn(red_knots: int) -> RugBook:
    """The rug with a cartoon of which so many knots of each row are red, the rest blue."""
    cells = np.ones((200, 100), dtype=np.uint8)
    cells[:, :red_knots] = 0
    red, blue, weft = yarns()
    return replace(
        book(),
        yarns=(replace(red, cartoon_values=(0,)), replace(blue, cartoon_values=(1,)), weft),
        cartoon=Cartoon(
            id="c", rug_id="rug", cells=cells, palette=("#9C2F25", "#27406B"), source_name="field.png"
        ),
    )


def test_a_cartoon_that_was_mended_is_counted_anew() -> None:
    keeper, desk = WholePlan(), FakeDesk(drawn(50), other())
    before = keeper.of(desk)
    desk.rug = drawn(25)
    after = keeper.of(desk)
    assert before is not None
    assert after is not None
    # 50 and then 25 red knots in each of 200 rows.
    assert [need.knots for need in before.needs if need.yarn_id == "red"] == [10_000]
    assert [need.knots for need in after.needs if need.yarn_id == "red"] == [5_000]


def test_slow_winding_for_another_rug_makes_this_one_take_longer() -> None:
    quick = WholePlan().of(FakeDesk(book(), other(*[wound(1.0)] * OFTEN)))
    slow = WholePlan().of(FakeDesk(book(), other(*[wound(10.0)] * OFTEN)))
    assert quick is not None
    assert slow is not None
    assert slow.preparation.hours_all > quick.preparation.hours_all


def test_the_rug_in_hand_is_not_read_twice_and_a_book_that_cannot_be_read_costs_only_the_learning() -> None:
    desk = FakeDesk(book(), other(wound(2.0)))
    assert preparations_elsewhere(desk) == (wound(2.0),)
    desk.broken = True
    assert preparations_elsewhere(desk) == ()
    assert WholePlan().of(desk) is not None
