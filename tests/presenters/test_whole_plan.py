"""The whole plan of the rug in hand: reckoned once for each reading, and learning from all the weaver's rugs."""

from __future__ import annotations

from dataclasses import dataclass, field, fields, replace
from datetime import date
from typing import Any

import numpy as np
import pytest

from tests.presenters.rugs import book, plan, session, yarns
from tracker.domain import defaults
from tracker.domain.errors import BookTrouble
from tracker.domain.hand_out import HandOut
from tracker.domain.loom import Loom
from tracker.domain.material_plan import MaterialPlan
from tracker.domain.rug import (
    Cartoon,
    DaysOff,
    Lot,
    Measurement,
    Preparation,
    PreparationKind,
    RugBook,
    RugPlan,
    Sample,
    Spoilt,
    Weaver,
    Weighing,
)
from tracker.domain.shared_warp import part_of_book
from tracker.domain.taught import NOTHING_TAUGHT, Taught
from tracker.presenters import whole_plan as whole
from tracker.presenters.places import SEATS, with_seats
from tracker.presenters.whole_plan import WholePlan, preparations_elsewhere

OFTEN = round(float(defaults.OWN_TIMES_NEEDED))
"""So often must a weaver have noted her hours before they count."""


@dataclass
class FakeDesk:
    """A desk with a rug in hand and another on the shelf."""

    rug: RugBook | None
    other: RugBook
    broken: bool = False
    drafts: dict[str, Any] = field(default_factory=dict)

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


CHART = drawn(50)
"""The cartoon is unpacked once; every reading hands out the same."""
DAY = date(2026, 11, 4)


@pytest.fixture
def reckoned(monkeypatch: pytest.MonkeyPatch) -> list[RugBook]:
    """The books of which a plan was reckoned."""
    books: list[RugBook] = []
    real = whole.material_plan

    def noted(rug: RugBook, **more) -> MaterialPlan:
        books.append(rug)
        return real(rug, **more)

    monkeypatch.setattr(whole, "material_plan", noted)
    return books


def full() -> RugBook:
    """A rug with something of every kind, as a reading of the book hands it out: new lists, the same cartoon."""
    return replace(
        CHART,
        lots=(Lot(id="l", rug_id="rug", yarn_id="red", day=DAY, mass_g=400.0),),
        weighings=(Weighing(id="w", rug_id="rug", yarn_id="red", day=DAY, mass_g=300.0),),
        spoilt=(Spoilt(id="x", rug_id="rug", yarn_id="red", day=DAY, mass_g=20.0),),
        samples=(Sample(id="a", rug_id="rug", yarn_id="red", day=DAY, knots=500, mass_g=40.0),),
        sessions=(session(1, 8), session(2, 7)),
        measurements=(Measurement(id="m", rug_id="rug", day=DAY, row=15, length_cm=6.0),),
        preparations=(
            Preparation(
                id="q", rug_id="rug", day=DAY, kind=PreparationKind.BALLS, yarn_id="red", count=3, hours=1.0
            ),
        ),
    )


def test_it_is_not_reckoned_again_when_the_book_was_read_again_and_says_the_same(
    reckoned: list[RugBook],
) -> None:
    keeper, desk = WholePlan(), FakeDesk(full(), other(wound(2.0)))
    first = keeper.of(desk)
    assert keeper.of(desk) is first
    desk.rug = full()
    assert keeper.of(desk) is first
    # What a plan does not rest on.
    off = DaysOff(id="o", rug_id="rug", first_day=DAY, last_day=DAY)
    desk.rug = replace(full(), days_off=(off,), weavers=(Weaver(id="v", name="Left seat"),))
    assert keeper.of(desk) is first
    assert len(reckoned) == 1


CHANGES = {
    "plan": lambda rug: replace(rug.plan, pile_height_mm=11.0),
    "cartoon": lambda rug: drawn(25).cartoon,
    "yarns": lambda rug: (replace(rug.yarns[0], margin=0.25), *rug.yarns[1:]),
    "samples": lambda rug: (replace(rug.samples[0], mass_g=60.0),),
    "lots": lambda rug: (replace(rug.lots[0], mass_g=900.0),),
    "weighings": lambda rug: (replace(rug.weighings[0], mass_g=100.0),),
    "spoilt": lambda rug: (),
    "sessions": lambda rug: rug.sessions[:1],
    "preparations": lambda rug: (),
    "measurements": lambda rug: (replace(rug.measurements[0], length_cm=9.0),),
    "loom": lambda _rug: Loom(id="l", name="Low", longest_warp_cm=90.0),
    "warp_parts": lambda rug: (part_of_book(rug), replace(part_of_book(rug), rug_id="other")),
    "hand_outs": lambda _rug: (
        HandOut(id="h", rug_id="rug", yarn_id="red", day=date(2026, 11, 25), balls=1.0, mass_g=90.0),
    ),
}
"""A change of each part that the plan rests on."""


@pytest.mark.parametrize("part", whole.PLAN_RESTS_ON)
def test_it_is_reckoned_anew_when_something_it_rests_on_changed(part: str, reckoned: list[RugBook]) -> None:
    keeper, desk = WholePlan(), FakeDesk(full(), other(wound(2.0)))
    keeper.of(desk)
    desk.rug = replace(full(), **{part: CHANGES[part](full())})
    keeper.of(desk)
    assert len(reckoned) == 2


def test_it_is_reckoned_anew_when_another_rug_taught_more_or_the_language_changed(
    reckoned: list[RugBook], monkeypatch: pytest.MonkeyPatch
) -> None:
    keeper, desk = WholePlan(), FakeDesk(full(), other(wound(2.0)))
    keeper.of(desk)
    desk.rug, desk.other = full(), other(wound(3.0))
    keeper.of(desk)
    assert len(reckoned) == 2
    desk.rug = full()
    monkeypatch.setattr(desk, "taught_pace", lambda _rug_id: Taught(rate=0.1, rate_weight=1.0, rugs=1))
    keeper.of(desk)
    assert len(reckoned) == 3
    desk.rug = full()
    monkeypatch.setattr(whole, "language", lambda: "tr")
    keeper.of(desk)
    assert len(reckoned) == 4


def test_every_part_of_the_book_that_the_plan_reads_is_among_what_it_rests_on() -> None:
    read: set[str] = set()

    class Watched(RugBook):
        def __getattribute__(self, name: str) -> object:
            read.add(name)
            return super().__getattribute__(name)

    rug = full()
    watched = Watched(**{part.name: getattr(rug, part.name) for part in fields(rug)})
    read.clear()
    whole.material_plan(watched, rows=whole.rows_wanted(watched), taught=NOTHING_TAUGHT)
    assert read & {part.name for part in fields(RugBook)} == set(whole.PLAN_RESTS_ON)


def test_a_rug_that_was_changed_is_reckoned_anew() -> None:
    keeper, desk = WholePlan(), FakeDesk(book(), other())
    before = keeper.of(desk)
    desk.rug = replace(book(), plan=plan(rows=400))
    after = keeper.of(desk)
    assert before is not None
    assert after is not None
    assert after.knots == 2 * before.knots


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


def test_what_the_other_rugs_taught_of_the_pace_is_asked_for_the_rug_in_hand_and_counts() -> None:
    asked: list[str] = []

    class Taught2(FakeDesk):
        def taught_pace(self, rug_id: str) -> Taught:
            asked.append(rug_id)
            # Slower by e: a knot takes longer than the plan says.
            return Taught(rate=-4.0, rate_weight=1.0, rugs=2)

    taught, untaught = WholePlan().of(Taught2(book(), other())), WholePlan().of(FakeDesk(book(), other()))
    assert asked == ["rug"]
    assert taught is not None
    assert untaught is not None
    assert taught.taught.rugs == 2
    assert taught.knots_per_hour != untaught.knots_per_hour


def test_the_rug_in_hand_is_not_read_twice_and_a_book_that_cannot_be_read_costs_only_the_learning() -> None:
    desk = FakeDesk(book(), other(wound(2.0)))
    assert preparations_elsewhere(desk, desk.rug.plan.id) == (wound(2.0),)
    desk.broken = True
    assert preparations_elsewhere(desk, desk.rug.plan.id) == ()
    assert WholePlan().of(desk) is not None


def test_places_set_on_the_page_of_the_balls_count_for_the_balls_to_wind_at_once() -> None:
    # The left half is red, the right one blue.
    rug = drawn(50)
    keeper, desk = WholePlan(), FakeDesk(replace(rug, sessions=()), other())
    before = keeper.of(desk)
    desk.drafts = {SEATS: with_seats(None, desk.rug, (("ann", 1, 50), ("bo", 51, 100)))}
    after = keeper.of(desk)
    assert before is not None
    assert after is not None
    assert [len(line.by_section) for line in before.balls] == [1, 1]
    red, blue = (line.by_section for line in after.balls)
    assert (red[1], blue[0]) == (0, 0)
    assert min(red[0], blue[1]) > 0
