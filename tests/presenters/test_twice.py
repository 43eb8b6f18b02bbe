"""Sessions that two phones may each have entered: which pairs are asked about, and what making them one writes."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from tests.presenters.rugs import book, plan, session
from tests.today import TODAY
from tracker.domain.hand_out import HandOut
from tracker.domain.loom import Loom
from tracker.domain.lot_change import LotChange
from tracker.domain.lot_moves import LotMove
from tracker.domain.rug import (
    Cost,
    CostKind,
    HoursFrom,
    Lot,
    Preparation,
    PreparationKind,
    Session,
    Spoilt,
)
from tracker.presenters.entry_text import names_of
from tracker.presenters.twice import (
    alike,
    entered_twice,
    looms_twice,
    made_one,
    one_loom,
    twice_line,
)

PHONES = {"a": "this phone", "b": "Bo's phone", "c": "this phone"}
MINE = session(1, 5, id="a", note="warm")
HERS = session(1, 5, id="b", hours=2.0, weavers=("bo", "ann"), note="by the window", used=(("red", 1.0),))


@pytest.mark.parametrize(
    ("rows", "others", "may_be_one"),
    [
        (5, 5, True),
        (1, 1, True),
        (5, 4, False),
        (0, 0, False),
        (-1, -3, True),
        (-1, 3, False),
        (0, -1, False),
    ],
)
def test_as_many_rows_or_rows_unpicked_by_both_may_be_one(rows: int, others: int, may_be_one: bool) -> None:
    assert alike(session(1, rows), session(1, others)) is may_be_one


def test_of_two_that_were_one_the_hours_that_somebody_gave_stay() -> None:
    usual = replace(MINE, hours=3.0, hours_from=HoursFrom.USUAL)
    timed = replace(HERS, hours_from=HoursFrom.GIVEN)
    (pair,) = entered_twice((usual, timed), PHONES.__getitem__)
    (one,) = made_one(pair, book(usual, timed)).values
    assert isinstance(one, Session)
    assert (one.hours, one.hours_from) == (2.0, HoursFrom.GIVEN)


def pairs(*sessions: Any, answered: tuple[str, ...] = ()) -> list[tuple[str, str]]:
    return [
        (pair.stays.id, pair.goes.id)
        for pair in entered_twice(sessions, PHONES.__getitem__, answered)
    ]  # fmt: skip


def test_two_phones_on_one_day_are_asked_about_and_the_same_one_stays_whoever_asks() -> None:
    assert pairs(MINE, HERS) == pairs(HERS, MINE) == [("a", "b")]
    assert pairs(MINE, replace(HERS, day=date(2026, 11, 3))) == []
    assert pairs(MINE, replace(HERS, id="c")) == [], "one phone knows what it entered"
    assert pairs(MINE, replace(HERS, rows=6)) == []
    (pair,) = entered_twice((MINE, HERS), PHONES.__getitem__)
    assert pairs(MINE, HERS, answered=(pair.key,)) == []
    assert pairs(MINE, HERS, replace(MINE, id="c"), answered=()) == [("a", "b"), ("b", "c")]


BOUGHT = Lot(id="a", rug_id="rug", yarn_id="red", day=TODAY, mass_g=500.0, dye_lot="K-7")
LOST = Spoilt(id="a", rug_id="rug", yarn_id="red", day=TODAY, mass_g=40.0, note="moths")
PAID = Cost(id="a", rug_id="rug", day=TODAY, kind=CostKind.OTHER, amount=12.5, note="knife")
GIVEN = HandOut(
    id="a", rug_id="rug", yarn_id="red", weaver_id="ann", day=TODAY, balls=2.0, mass_g=400.0, lot_id="K"
)


@pytest.mark.parametrize("mine", [BOUGHT, LOST, PAID, GIVEN])
def test_a_purchase_a_loss_a_cost_and_balls_that_both_entered_are_asked_about(mine: Any) -> None:
    """Both weavers of a loom noted the kilogram that one of them had bought: joined, two were on hand."""
    hers = replace(mine, id="b")
    assert pairs(mine, hers) == pairs(hers, mine) == [("a", "b")]
    amount = "amount" if mine is PAID else "mass_g"
    for other in ({"id": "c"}, {"day": date(2026, 11, 3)}, {amount: 13.0}):
        assert pairs(mine, replace(hers, **other)) == [], other
    assert pairs(mine, replace(MINE, id="b", day=mine.day)) == []
    assert pairs(mine, replace(mine, id="x", rug_id="other")) == []
    if mine is LOST:
        assert pairs(replace(mine, session_id="s"), replace(hers, session_id="t")) == [], "they go with it"


def test_of_a_purchase_entered_twice_one_stays_with_all_that_is_known_and_named_of_it() -> None:
    hers = replace(BOUGHT, id="b", dye_lot="", price=9.0)
    (pair,) = entered_twice((BOUGHT, hers), PHONES.__getitem__)
    opened = LotChange(id="o", rug_id="rug", yarn_id="red", lot_id="b", day=TODAY, row=3)
    balls = replace(GIVEN, id="h", lot_id="b")
    moved = LotMove(id="m", lot_id="b", day=TODAY, mass_g=90.0, from_rug_id="rug", from_yarn_id="red")
    rug = book(lots=(BOUGHT, hers), lot_changes=(opened,), hand_outs=(balls, GIVEN))
    one = made_one(pair, rug, (moved, replace(moved, id="n", lot_id="K")))
    assert one.withdrawn == ("b",)
    assert one.values == (
        replace(BOUGHT, price=9.0),
        replace(opened, lot_id="a"),
        replace(balls, lot_id="a"),
        replace(moved, lot_id="a"),
    )
    assert twice_line(pair, names_of((rug,)), PHONES.__getitem__).headline.endswith(
        ": entered once, or twice?"
    )
    (lost,) = entered_twice((LOST, replace(LOST, id="b", note="a mouse")), PHONES.__getitem__)
    assert made_one(lost, book()).values == (replace(LOST, note="moths\na mouse"),)


def test_a_pair_tells_what_both_phones_have() -> None:
    (pair,) = entered_twice((MINE, HERS), PHONES.__getitem__)
    line = twice_line(pair, names_of((book(),)), PHONES.__getitem__)
    assert line.headline == "2 November 2026: one evening, or two?"
    assert line.stays == "+5 rows, 3 h (this phone)"
    assert line.goes == "+5 rows, 2 h each, 1 ball of Madder (Bo's phone)"
    assert line.pair == pair


def test_made_one_keeps_what_either_knew() -> None:
    (pair,) = entered_twice((MINE, HERS), PHONES.__getitem__)
    lost = Spoilt(id="x", rug_id="rug", yarn_id="red", day=TODAY, mass_g=3.0, session_id="b")
    kept = replace(lost, id="y", session_id="a")
    one = made_one(pair, book(MINE, HERS, spoilt=(lost, kept)))
    assert one.withdrawn == ("b", "x")
    assert one.values == (
        replace(MINE, weavers=("ann", "bo"), used=(("red", 1.0),), note="warm\nby the window"),
    )


def test_the_one_that_stays_has_the_word_where_both_say_something() -> None:
    mine = replace(MINE, hours=None, begun_knots=None, used=(("red", 2.0),), note="")
    hers = replace(HERS, begun_knots=12, note="")
    (pair,) = entered_twice((mine, hers), PHONES.__getitem__)
    (one,) = made_one(pair, book(mine, hers)).values
    assert isinstance(one, Session)
    assert (one.hours, one.begun_knots, dict(one.used), one.note) == (2.0, 12, {"red": 2.0}, "")
    (pair,) = entered_twice((replace(mine, hours=0.5, begun_knots=0), hers), PHONES.__getitem__)
    (one,) = made_one(pair, book(mine, hers)).values
    assert isinstance(one, Session)
    assert (one.hours, one.begun_knots) == (0.5, 0)


def test_where_nothing_new_is_known_the_one_that_stays_is_not_written_again() -> None:
    plain = replace(MINE, id="b")
    (pair,) = entered_twice((MINE, plain), PHONES.__getitem__)
    assert made_one(pair, book(MINE, plain)).values == ()


def test_a_change_of_lot_in_rows_that_were_counted_twice_is_planned_again() -> None:
    lots = tuple(
        Lot(id=mark, rug_id="rug", yarn_id="red", day=date(2026, 11, 1), mass_g=500.0, dye_lot=mark) for mark in "KL"
    )  # fmt: skip

    def changed_at(row: int) -> tuple[object, ...]:
        change = LotChange(
            id="c", rug_id="rug", yarn_id="red", day=TODAY, lot_id="L", row=row, done_day=TODAY
        )
        plain = replace(MINE, id="b")
        (pair,) = entered_twice((MINE, plain), PHONES.__getitem__)
        return made_one(pair, book(MINE, plain, lots=lots, lot_changes=(change,))).values

    assert changed_at(3) == ()
    (again,) = changed_at(8)
    assert isinstance(again, LotChange)
    assert again.done_day is None


def wound(name: str, count: int = 1, **changes: Any) -> Preparation:
    fields = {
        "id": name, "rug_id": "rug", "day": TODAY, "kind": PreparationKind.BALLS, "yarn_id": "red", "count": count
    }  # fmt: skip
    return Preparation(**{**fields, **changes})


def test_balls_ticked_off_one_by_one_on_both_phones_are_asked_about_as_one() -> None:
    """Three "+1" and "3 balls" of the other phone made six wound, and nobody asked."""
    phones = {"a1": "here", "a2": "here", "a3": "here", "b": "there"}
    ours = (wound("a1"), wound("a2"), wound("a3"))
    theirs = wound("b", 3, hours=1.5)
    (pair,) = entered_twice((*ours, theirs), phones.__getitem__)
    line = twice_line(pair, names_of((book(),)), phones.__getitem__)
    assert (line.stays, line.goes) == ("3 balls of Madder wound (here)", "3 balls of Madder wound (there)")
    made = made_one(pair, book())
    assert (made.values, made.withdrawn) == ((replace(ours[0], hours=1.5),), ("b",))
    # Where the other phone's come first by their ids all of these go, and those stay.
    (pair,) = entered_twice((*ours, replace(theirs, id="0")), (phones | {"0": "there"}).__getitem__)
    assert made_one(pair, book()).withdrawn == ("a1", "a2", "a3")
    assert made_one(pair, book()).values == ()
    for other in (
        replace(theirs, count=2),
        replace(theirs, yarn_id="blue"),
        replace(theirs, day=date(2026, 11, 3)),
        replace(theirs, kind=PreparationKind.SHUTTLES),
    ):
        assert entered_twice((*ours, other), phones.__getitem__) == ()
    assert entered_twice((*ours, theirs), phones.__getitem__, (f"{ours[0].id} b",)) == ()


def test_a_warp_is_mounted_once_on_whatever_day_it_was_ticked_off() -> None:
    warp = wound("a", kind=PreparationKind.WARP, yarn_id=None, hours=6.0)
    other = replace(warp, id="b", day=date(2026, 11, 3), hours=5.0)
    (pair,) = entered_twice((warp, other), PHONES.__getitem__)
    assert (made_one(pair, book()).values, made_one(pair, book()).withdrawn) == ((), ("b",))


def test_looms_of_one_name_are_asked_about_and_the_rugs_of_both_lie_on_the_one_that_stays() -> None:
    mine = Loom(id="a", name="Wide loom", width_cm=150.0)
    hers = Loom(id="b", name=" wide LOOM", longest_warp_cm=600.0, note="by the door")
    (pair,) = looms_twice((hers, mine), PHONES.__getitem__)
    line = twice_line(pair, names_of((book(),)), PHONES.__getitem__)
    assert line.headline == "Wide loom: one loom, or two?"
    rugs = (plan(loom_id="a"), plan(id="other", loom_id="b"), plan(id="third"))
    made = one_loom(pair, rugs)
    assert made.withdrawn == ("b",)
    assert made.values == (
        replace(mine, longest_warp_cm=600.0, note="by the door"),
        replace(rugs[1], loom_id="a"),
    )
    assert looms_twice((mine, replace(hers, name="Small loom")), PHONES.__getitem__) == ()
    assert looms_twice((mine, replace(hers, id="c")), PHONES.__getitem__) == (), "one phone knows its looms"
    assert looms_twice((mine, hers), PHONES.__getitem__, (pair.key,)) == ()
