"""A ball used up alone is no session: no page and no file counts its day as woven."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time

from tests.presenters.rugs import book, session
from tests.presenters.test_finish import answers
from tests.today import TODAY
from tests.unit.reports.books import small_answers, small_book
from tracker.domain.rug import RugBook, Session
from tracker.presenters import finish
from tracker.presenters.export import build_export_state
from tracker.presenters.record.rug_record import rug_record
from tracker.presenters.reminders import _session_reminders

WOVEN, BALL_ONLY = date(2026, 11, 3), date(2026, 11, 12)
BALL = session(11, 0, None, used=(("red", 1.0),), weavers=())


def test_the_month_does_not_mark_its_day_as_woven() -> None:
    rug = book(session(2, 5), BALL)
    state = finish.build_month_state(rug, answers(), date(2026, 11, 1), TODAY)
    assert [one.day for one in state.days if one.woven] == [WOVEN]


def test_a_tap_on_its_day_says_no_session() -> None:
    rug = book(session(2, 5), BALL)
    assert finish.day_words(rug, answers(), BALL_ONLY, TODAY).endswith(": no session")
    assert finish.day_words(rug, answers(), WOVEN, TODAY).endswith(": +5 rows in 3 h")


def facts_of(rug: RugBook) -> dict[str, tuple[str, str]]:
    record = rug_record(rug, small_answers())
    return {one.label: (one.figure, one.more) for one in (*record.facts, *record.weaving)}


def test_the_record_counts_neither_its_day_nor_it_as_a_session() -> None:
    rug = small_book()
    last = rug.sessions[-1].day
    ball = Session(
        id="ball", rug_id=rug.plan.id, day=last.replace(year=last.year + 1), rows=0, used=(("red", 1.0),)
    )
    more = replace(rug, sessions=(*rug.sessions, ball))
    assert facts_of(more) == facts_of(rug)
    assert rug_record(more, small_answers()).subtitle == rug_record(rug, small_answers()).subtitle
    alone = rug_record(replace(rug, sessions=(ball,)), small_answers())
    assert alone.kicker == "A rug that is planned: no row is woven yet"


def test_what_is_given_on_counts_sessions_without_it() -> None:
    rug = small_book()
    ball = Session(id="ball", rug_id=rug.plan.id, day=rug.sessions[-1].day, rows=0, used=(("red", 1.0),))
    with_ball = build_export_state(replace(rug, sessions=(*rug.sessions, ball)), small_answers(), "")
    assert with_ball == build_export_state(rug, small_answers(), "")


def test_the_evening_is_still_asked_for() -> None:
    rug = book(replace(BALL, day=TODAY))
    noon = datetime.combine(TODAY, time(12))

    def asked(rug: RugBook) -> list[date]:
        return [one.due.date() for one in _session_reminders((rug,), noon, time(19))]

    assert TODAY in asked(rug)
    assert TODAY not in asked(book(session(24, 5)))
