"""The book as it stood on an evening: what was entered for a later day is not known yet."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from tests.presenters.rugs import plan, session
from tracker.domain.as_of import book_as_of
from tracker.domain.mark import CartoonMark
from tracker.domain.rug import (
    AfterStep,
    DaysOff,
    Lot,
    Measurement,
    Photo,
    Preparation,
    PreparationKind,
    RugBook,
    RugStage,
    Sample,
    Spoilt,
    Weighing,
)
from tracker.domain.trimming import Trim

EVENING = date(2026, 11, 10)
DAYS = (date(2026, 11, 9), EVENING, date(2026, 11, 11))
"""The day before, the day itself, the day after."""


def book() -> RugBook:
    """A rug with one entry of every dated kind on each of the three days."""

    def on_each(make):
        return tuple(make(f"{number}", day) for number, day in enumerate(DAYS))

    return RugBook(
        plan=replace(plan(), stage=RugStage.FINISHED, finished_day=DAYS[2]),
        sessions=on_each(lambda key, day: replace(session(1, 5), id=key, day=day, born=int(key) + 1)),
        lots=on_each(lambda key, day: Lot(id=key, rug_id="rug", yarn_id="red", day=day, mass_g=500.0)),
        weighings=on_each(
            lambda key, day: Weighing(id=key, rug_id="rug", yarn_id="red", day=day, mass_g=90.0)
        ),
        spoilt=on_each(lambda key, day: Spoilt(id=key, rug_id="rug", yarn_id="red", day=day, mass_g=9.0)),
        samples=on_each(
            lambda key, day: Sample(id=key, rug_id="rug", yarn_id="red", day=day, knots=500, mass_g=40.0)
        ),
        measurements=on_each(
            lambda key, day: Measurement(id=key, rug_id="rug", day=day, row=5, length_cm=2.0)
        ),
        preparations=on_each(
            lambda key, day: Preparation(id=key, rug_id="rug", day=day, kind=PreparationKind.WARP, count=1)
        ),
        photos=on_each(lambda key, day: Photo(id=key, rug_id="rug", day=day, file_name="a.jpg")),
        after_steps=on_each(
            lambda key, day: AfterStep(
                id=key, rug_id="rug", number=int(key), name="wash", days=1.0, done_day=day
            )
        ),
        days_off=tuple(
            DaysOff(id=f"{born}", rug_id="rug", first_day=DAYS[2], last_day=DAYS[2], born=born)
            for born in (1, 2, 3)
        ),
    )


def test_what_is_of_a_later_day_is_left_out_and_that_days_own_is_there() -> None:
    then = book_as_of(book(), EVENING)
    for part in (
        then.sessions, then.lots, then.weighings, then.spoilt, then.samples, then.measurements, then.preparations,
        then.photos,
    ):  # fmt: skip
        assert [(entry.id, entry.day) for entry in part] == [("0", DAYS[0]), ("1", DAYS[1])]


def test_a_step_done_later_is_still_to_be_done() -> None:
    assert [step.done_day for step in book_as_of(book(), EVENING).after_steps] == [DAYS[0], EVENING, None]


def test_days_off_are_known_once_they_were_entered_before_something_of_that_day() -> None:
    # The sessions of the first two days were entered first and second.
    assert [off.born for off in book_as_of(book(), EVENING).days_off] == [1, 2]


def test_the_rug_is_still_on_the_loom() -> None:
    then = book_as_of(book(), EVENING).plan
    assert (then.stage, then.finished_day) == (RugStage.ON_LOOM, None)


def test_before_anything_was_entered_no_days_off_are_known() -> None:
    then = book_as_of(book(), date(2026, 11, 1))
    assert (then.sessions, then.days_off) == ((), ())


def test_a_change_of_lot_planned_before_and_done_after_is_only_planned_and_a_later_one_unknown() -> None:
    from tests.unit.domain.test_dye_lots import book, change

    early = change(81, "b", done=9)
    later = replace(change(90, "a"), id="later", day=date(2026, 3, 8))
    then = book_as_of(book(early, later), date(2026, 3, 5))
    assert then.lot_changes == (replace(early, done_day=None),)


def test_a_knot_mended_later_is_still_marked_and_one_marked_later_unknown() -> None:
    mended = [None, *DAYS]
    marks = tuple(
        CartoonMark(
            id=f"{day}{late}", rug_id="rug", day=day, row=1, first_knot=1, last_knot=1, mended_day=late
        )
        for day in DAYS
        for late in mended
    )
    then = book_as_of(replace(book(), marks=marks), EVENING).marks
    assert [(mark.day, mark.mended_day) for mark in then] == [
        (day, late if late in (None, *DAYS[:2]) else None) for day in DAYS[:2] for late in mended
    ]


def test_trimming_of_a_later_day_is_not_done_yet() -> None:
    trims = tuple(Trim(id=f"{day}", rug_id="rug", day=day, row=3) for day in DAYS)
    assert [trim.day for trim in book_as_of(replace(book(), trims=trims), EVENING).trims] == list(DAYS[:2])


def test_a_change_of_lot_done_that_day_is_done() -> None:
    from tests.unit.domain.test_dye_lots import book, change

    done = change(81, "b", done=3)
    assert book_as_of(book(done), date(2026, 3, 5)).lot_changes == (done,)


KINDS = ("sessions", "lots", "weighings", "spoilt", "samples", "measurements", "photos")


@pytest.mark.parametrize("kind", KINDS)
def test_whatever_was_entered_that_day_says_how_much_was_known_by_then(kind: str) -> None:
    entries = dict.fromkeys(KINDS, ())
    entry = replace(getattr(book(), kind)[1], born=2)
    known = book_as_of(replace(book(), **{**entries, kind: (entry,)}), EVENING)
    assert [off.born for off in known.days_off] == [1, 2]
