"""How the date of an earlier rug held over its last month is told, from that rug's own record."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

import pytest

from tracker.domain.as_of import book_as_of
from tracker.domain.rug import RugBook, RugStage
from tracker.forecast import held, priors
from tracker.forecast.answers import Answers
from tracker.forecast.held import how_it_held
from tracker.forecast.outlook import outlook
from tracker.forecast.thresholds import HELD_OVER_DAYS

from .books import BOOK, START, weekdays, woven


def finished(days: Sequence[date]) -> RugBook:
    """Return a rug of 360 rows that came off the loom, woven in 72 evenings on the given days."""
    book = woven(BOOK, [5] * 72, 4.0, days)
    return replace(book, plan=replace(book.plan, id="e", stage=RugStage.FINISHED, finished_day=days[-1]))


def with_earlier(earlier: RugBook) -> Answers:
    """Return the answers of a rug of this year, after an earlier one."""
    book = woven(BOOK, [5] * 10)
    return outlook(book, book.sessions[-1].day, earlier=(earlier,))


YEAR = timedelta(weeks=52)
STEADY = weekdays(72, START - YEAR)
LATE = [day if place < 62 else day + timedelta(days=14) for place, day in enumerate(STEADY)]
"""The same evenings, but for a fortnight away towards the end."""


@pytest.mark.parametrize("days", [STEADY, LATE])
def test_what_is_told_of_the_last_rug_is_what_was_said_a_month_before_its_end(days: list[date]):
    earlier = finished(days)
    asked = days[-1] - timedelta(days=30)
    said = outlook(book_as_of(earlier, asked), asked).finish
    told = with_earlier(earlier).basis.last_rug
    assert said is not None
    assert told is not None
    assert (told.asked, told.came) == (asked, days[-1])
    assert (told.early, told.middle, told.late) == (said.early, said.middle, said.late)


def test_a_rug_held_up_towards_its_end_is_told_in_words():
    steady, late = (with_earlier(finished(days)).basis for days in (STEADY, LATE))
    assert late.last_rug is not None
    assert steady.last_rug is not None
    assert late.last_rug.moved_days > steady.last_rug.moved_days + 5
    words = f"On your last rug the date moved {late.last_rug.moved_days} days later in the last month."
    assert late.rests_on[-1] == words


def test_a_correction_of_the_earlier_rug_is_told_at_once():
    earlier = finished(STEADY)
    first = with_earlier(earlier).basis.last_rug
    last = earlier.sessions[-1]
    moved = replace(
        earlier, sessions=(*earlier.sessions[:-1], replace(last, day=last.day + timedelta(days=9)))
    )
    second = with_earlier(moved).basis.last_rug
    assert first is not None
    assert second is not None
    assert (second.came - first.came).days == 9


def test_an_evening_on_the_very_day_asked_about_is_among_those_there_is_to_go_by():
    asked = START - YEAR
    last = asked + timedelta(days=HELD_OVER_DAYS)

    def held_with(first_evenings: int) -> bool:
        """Weave so many evenings up to the day asked about, that day included, and the rest of the month after it."""
        before = [asked - timedelta(days=back) for back in range(first_evenings)][::-1]
        after = [asked + timedelta(days=on) for on in range(1, HELD_OVER_DAYS + 1)]
        book = woven(BOOK, [5] * (len(before) + len(after)), 4.0, [*before, *after])
        book = replace(
            book,
            plan=replace(
                book.plan,
                id=f"of {first_evenings}",
                stage=RugStage.FINISHED,
                finished_day=last,
                rows=book.rows_woven,
            ),
        )
        return how_it_held(book, 1) is not None

    assert held_with(priors.EARLIER_LEAST_SESSIONS)
    assert not held_with(priors.EARLIER_LEAST_SESSIONS - 1)


def test_of_many_earlier_rugs_the_replays_of_two_are_kept_in_memory():
    # Each keeps its whole cartoon: a phone has not the room for those of a life's work.
    taken_off = replace(finished(STEADY), sessions=finished(STEADY).sessions[:2])
    for number in range(4):
        how_it_held(replace(taken_off, plan=replace(taken_off.plan, id=f"e{number}")), 1)
    assert held._replay.cache_info().currsize == 2


def test_nothing_is_told_where_there_is_nothing_to_tell():
    taken_off = replace(finished(STEADY), sessions=finished(STEADY).sessions[:60])
    quick = replace(
        taken_off, sessions=tuple(replace(s, rows=15) for s in taken_off.sessions[:24])
    )  # in five weeks
    for earlier in (taken_off, quick):
        basis = with_earlier(earlier).basis
        assert basis.last_rug is None
        assert "last rug" not in " ".join(basis.rests_on)
    assert with_earlier(finished(STEADY)).basis.last_rug is not None
