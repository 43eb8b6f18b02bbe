"""What more than one place says, each says by the same words."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.presenters.rugs import book, plan, session
from tests.properties import examples
from tracker import words
from tracker.domain.rug import RugBook, RugStage
from tracker.forecast.answers import Answers
from tracker.forecast.outlook import outlook
from tracker.presenters.answer_words import (
    day_range,
    mass_range,
    mass_range_in_full,
    mass_with_range,
)
from tracker.presenters.finish import build_finish_state
from tracker.presenters.home import build_home_state
from tracker.presenters.record.rug_record import rug_record
from tracker.presenters.shelf import rug_card
from tracker.presenters.weeks import rows_by_week
from tracker.reports.text_form import as_text
from tracker.words import days_from_to

TODAY = date(2026, 11, 25)


@pytest.fixture(scope="module")
def rug() -> RugBook:
    return book(*(session(number, 6) for number in range(1, 13)))


@pytest.fixture(scope="module")
def answers(rug: RugBook) -> Answers:
    return outlook(rug, TODAY)


def test_every_page_and_paper_calls_the_day_of_the_last_row_by_the_same_name(
    rug: RugBook, answers: Answers
) -> None:
    home, finish = build_home_state(rug, answers), build_finish_state(rug, answers)
    assert home.finish_label == finish.label == "Last row, from 12 sessions"
    assert home.finish_figure == finish.figure
    assert home.finish_range == finish.span
    card = rug_card(rug.plan, TODAY, in_hand=True, answers=answers)
    assert card.when == f"last row about {home.finish_figure}"
    line = f"{home.finish_label}: {home.finish_figure} ({home.finish_range})"
    assert line in as_text(rug, answers).splitlines()
    (fact,) = [fact for fact in rug_record(rug, answers).now if fact.label == "Last row about"]
    assert (fact.figure, fact.more) == (home.finish_figure, home.finish_range)


def test_a_range_of_one_day_is_that_day_and_no_range() -> None:
    assert day_range(date(2026, 12, 3), date(2026, 12, 3), TODAY) == "3 December"
    assert day_range(date(2026, 12, 3), date(2026, 12, 9), TODAY).startswith("likely ")


@pytest.mark.parametrize(
    ("early", "late", "said"),
    [
        (date(2026, 12, 3), date(2026, 12, 9), "3 Dec to 9 Dec"),
        (date(2026, 12, 3), date(2027, 1, 9), "3 Dec to 9 Jan 2027"),
        (date(2027, 2, 4), date(2027, 6, 3), "4 Feb to 3 Jun 2027"),
        (date(2026, 12, 3), date(2027, 12, 9), "3 Dec 2026 to 9 Dec 2027"),
        (date(2025, 11, 28), date(2026, 1, 4), "28 Nov 2025 to 4 Jan 2026"),
        (date(2027, 6, 7), date(2027, 11, 22), "7 Jun to 22 Nov 2027"),
        (date(2026, 12, 24), date(2028, 1, 24), "24 Dec 2026 to 24 Jan 2028"),
        (date(2027, 12, 24), date(2028, 1, 24), "24 Dec 2027 to 24 Jan 2028"),
        (date(2027, 4, 26), date(2028, 2, 5), "26 Apr 2027 to 5 Feb 2028"),
    ],
)
def test_a_year_is_said_where_another_could_be_meant(early: date, late: date, said: str) -> None:
    assert days_from_to(early, late, date(2026, 11, 27)) == said
    assert " to " not in days_from_to(late, late, date(2026, 11, 27))


@examples(150)
@given(
    first=st.dates(date(2024, 1, 1), date(2029, 12, 31)),
    days=st.integers(1, 900),
    today=st.dates(date(2026, 1, 1), date(2027, 12, 31)),
    wide=st.booleans(),
)
def test_whoever_reads_a_range_of_days_comes_to_its_years(
    first: date, days: int, today: date, wide: bool
) -> None:
    last = first + timedelta(days=days)
    early, late = days_from_to(first, last, today, wide=wide).split(" to ")
    pattern = "%d %B %Y" if wide else "%d %b %Y"
    babels = {"Sept": "Sep"}

    def on(words: str, year: int) -> date:
        for short, usual in babels.items():
            words = re.sub(rf"\b{short}\b", usual, words)
        told = words if re.search(r"\d{4}$", words) else f"{words} {year}"
        return datetime.strptime(told, pattern).replace(tzinfo=UTC).date()

    # A last day without a year is of this one; a first one is of the last one's year, or of the one before where it must be.
    read_last = on(late, today.year)
    same = on(early, read_last.year)
    read_first = same if same <= read_last else on(early, read_last.year - 1)
    assert (read_first, read_last) == (first, last)


def test_a_range_of_masses_is_said_only_where_its_ends_differ() -> None:
    assert mass_range(340.0, 420.0) == "340 g to 420 g"
    assert mass_range_in_full(340.0, 420.0) == "likely 340 g to 420 g"
    assert mass_range(340.1, 340.3) == mass_range_in_full(340.1, 340.3) == ""


@pytest.mark.parametrize(("unit", "said"), [("cm", "50.8 × 101.6 cm"), ("inch", "20 × 40 in")])
def test_a_size_is_said_alike_on_the_shelf_and_in_the_record(unit: str, said: str, answers: Answers) -> None:
    # 20 and 40 inches of 2.54 cm.
    rug = plan(width_cm=50.8, length_cm=101.6)
    assert words.size(rug.width_cm, rug.length_cm, unit) == said
    planned = f"to be {said} finished"
    assert rug_card(rug, TODAY, in_hand=False, unit=unit).size == planned
    record = rug_record(book(plan=rug), outlook(book(plan=rug), TODAY), unit=unit)
    assert planned in record.subtitle
    assert record.facts[0].figure == planned
    # A finished rug that nobody measured is to be nothing any more.
    done = plan(width_cm=50.8, length_cm=101.6, stage=RugStage.FINISHED, finished_day=TODAY)
    assert rug_card(done, TODAY, in_hand=False, unit=unit).size == f"planned {said} finished"
    # Once it is measured, that is its size.
    rug = plan(width_cm=40.0, length_cm=90.0, finished_width_cm=50.8, finished_length_cm=101.6)
    assert rug_card(rug, TODAY, in_hand=False, unit=unit).size == f"{said} finished"


def test_idle_weeks_count_and_a_week_begins_where_the_weaver_begins_it() -> None:
    # The 2nd of November 2026 is a Monday; sessions on the 2nd, 4th and 18th.
    rug = book(session(1, 5), session(3, 2), session(17, -3))
    assert rows_by_week(rug) == ((date(2026, 11, 2), 7), (date(2026, 11, 9), 0), (date(2026, 11, 16), -3))
    assert rows_by_week(rug, first_weekday=6)[0] == (date(2026, 11, 1), 7)
    assert rows_by_week(rug, until=TODAY)[-1] == (date(2026, 11, 23), 0)
    assert rows_by_week(rug, until=date(2026, 11, 2)) == rows_by_week(rug)
    assert rows_by_week(book()) == ()


def test_a_finished_rug_is_no_longer_promised(answers: Answers) -> None:
    rug = plan(stage=RugStage.FINISHED, finished_day=date(2026, 11, 20))
    assert rug_card(rug, TODAY, in_hand=False, answers=answers).when == "finished 20 November"


def test_a_mass_whose_range_is_nothing_stands_without_brackets() -> None:
    assert mass_with_range(0.2, 0.0, 0.4) == "0 g"
    assert mass_with_range(0.0, 0.0, 0.0) == "0 g"
    assert mass_with_range(100.0, 90.0, 120.0) == "100 g (likely 90 g to 120 g)"
