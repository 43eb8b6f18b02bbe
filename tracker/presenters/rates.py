"""Hours a row and hours a week, as every page tells them: so far, lately, and from here on."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import timedelta
from statistics import median

from tracker.domain.rug import HoursFrom, RugBook, Session
from tracker.domain.work import Tempo, timed_sessions
from tracker.forecast.answers import Answers
from tracker.forecast.thresholds import LATELY_SESSIONS
from tracker.presenters.answer_words import day_near, first_day_ahead, is_beyond
from tracker.words import (
    _,
    as_said,
    day,
    half_work_h,
    hours,
    hours_and_minutes,
    n_,
    number,
    rate_that_makes,
    shown_work_h,
    work_words,
)

PACE_WINDOW = LATELY_SESSIONS
"""Sessions of which "lately" and "at the beginning" are the middle."""
TENTHS_BELOW_MIN = 10
"""A row of fewer minutes is told to their tenth, so that the rows times the minutes come to the hours that are told."""

WEEK_AS_PLANNED = 0.95
"""Share of the planned hours a week from which on what is reckoned with is called as planned; our choice."""
OTHER_WEEK = 0.2
"""Logarithm of the rows of a week over those of the usual one from which on it is said why they differ; our choice."""
FEW_ROWS = 10
"""Of fewer rows a begun one is told to the hundredth."""
ROUGH_WEEKS = 0.01
"""Share of the weeks to come by which their tenths may miss them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rates:
    """Hours a row and hours a week; None where nothing says them yet, or no more."""

    row_so_far_h: float | None
    """The hours of all sessions that gained rows and have hours, over those rows; None before the second of them."""
    rows_so_far: float
    """Those rows."""
    row_lately_h: float | None
    """The middle of the last few sessions that gained rows and have hours."""
    row_at_first_h: float | None
    """That of the first few; None while they are the last few too."""
    row_first_h: float | None
    """That of the only one that gained rows and has hours; None where there are none or more: the plan counts beside it."""
    row_ahead_h: float | None
    """The mean of the rows to come: the hours left over those rows, a begun one by its part."""
    rows_left: float
    hours_so_far: float
    """Hours that were given."""
    timed: int
    """Sessions with hours."""
    untimed: int
    """Sessions of weaving without."""
    days_so_far: int
    """Days from the first session with hours to the last one."""
    week_ahead_h: float | None
    """The hours left over the weeks until the told day; None where that is less than a week away."""

    @property
    def week_so_far_h(self) -> float | None:
        """Hours in a week so far; None before the first week is whole."""
        return self.hours_so_far * 7 / self.days_so_far if self.days_so_far >= 7 else None


def paced_sessions(book: RugBook) -> tuple[tuple[Session, float, float], ...]:
    """Return (session, rows gained, hours a row) of every session that has hours and gained rows."""
    return tuple(
        (session, gained, (session.hours or 0.0) / gained)
        for session, gained in timed_sessions(book)
        if gained > 0
    )


def rates_of(book: RugBook, answers: Answers) -> Rates:
    """Reckon every pace that is told of a rug, once for all pages.

    Parameters
    ----------
    book, answers
        The rug and its answers of the day.
    """
    paced = paced_sessions(book)
    each = [row_h for _session, _gained, row_h in paced]
    rows_so_far = sum(gained for _session, gained, _row_h in paced)
    days = [session.day for session in book.sessions if session.hours]
    finish, where = answers.finish, answers.where
    row_ahead = week_ahead = None
    rows_left = where.rows - where.rows_woven - where.knots_begun / book.knots_across
    if finish is not None and finish.hours_left > 0 and rows_left > 0:
        row_ahead = finish.hours_left / rows_left
        weeks = (finish.middle - first_day_ahead(book, answers)).days / 7
        week_ahead = finish.hours_left / weeks if weeks >= 1 else None
    return Rates(
        row_so_far_h=sum(session.hours or 0.0 for session, _gained, _row_h in paced) / rows_so_far
        if len(each) > 1
        else None,
        rows_so_far=rows_so_far,
        row_lately_h=median(each[-PACE_WINDOW:]) if len(each) > 1 else None,
        row_at_first_h=median(each[:PACE_WINDOW]) if len(each) > PACE_WINDOW else None,
        row_first_h=each[0] if len(each) == 1 else None,
        row_ahead_h=row_ahead,
        rows_left=max(rows_left, 0.0),
        hours_so_far=sum(session.hours or 0.0 for session in book.sessions),
        timed=len(days),
        untimed=book.sessions_without_hours,
        days_so_far=(max(days) - min(days)).days + 1 if days else 0,
        week_ahead_h=week_ahead,
    )


def rows_a_week(book: RugBook, answers: Answers) -> int | None:
    """Return the rows of a week by the hours a week and a row that the date goes by; None within the last week, or where no date is told."""
    rates = rates_of(book, answers)
    if not rates.week_ahead_h or not rates.row_ahead_h:
        return None
    return max(1, round(rates.week_ahead_h / rates.row_ahead_h))


def other_week_words(book: RugBook, answers: Answers, usual_rows: float, mean_rows: float) -> str:
    """Say why the weeks to come have other rows than the usual one so far; "" where they have about as many, or nothing tells.

    Rows a week are hours a week over hours a row: what differs most of the two is named, or that the weeks so far differ much.

    Parameters
    ----------
    usual_rows, mean_rows
        Of a whole week so far: the middle one, and the mean of all.
    """
    rates, ahead = rates_of(book, answers), rows_a_week(book, answers)
    if ahead is None or usual_rows <= 0 or mean_rows <= 0 or abs(math.log(ahead / usual_rows)) < OTHER_WEEK:
        return ""
    causes: list[tuple[float, str]] = [
        (
            math.log(mean_rows / usual_rows),
            _("Your weeks differ: on the average they had {rows} rows.").format(rows=number(mean_rows, 1)),
        )
    ]
    if rates.week_ahead_h and rates.week_so_far_h:
        causes.append(
            (
                math.log(rates.week_ahead_h / rates.week_so_far_h),
                _("It counts on {ahead} at the loom a week; so far it was {been}.").format(
                    ahead=_each_week(rates, book, answers), been=_week_hours(rates.week_so_far_h)
                ),
            )
        )
    been_h = rates.row_so_far_h or rates.row_first_h
    if rates.row_ahead_h and been_h and answers.finish is not None:
        causes.append(
            (
                math.log(been_h / rates.row_ahead_h),
                _("It counts on {ahead} a row; so far it was {been}.").format(
                    ahead=_each_ahead(rates, answers.finish.hours_left),
                    been=_each_so_far(rates) or row_time(been_h),
                ),
            )
        )
    way = 1.0 if ahead > usual_rows else -1.0
    size, words = max((way * size, words) for size, words in causes)
    return words if size > 0 else ""


HOURS_WHOLE_FROM = 100.0
"""Hours at the loom from which on their hundredths are not said."""


def hours_words(value: float) -> str:
    """Return hours at the loom as exactly as the sessions tell theirs, those below one in minutes: "20.25 h", "120.5 h", "5 min"."""
    if round(value * 60) < 60:
        return hours(value)
    return _("{number} h").format(number=number(value, _told_decimals(value)))


def _told_decimals(value: float) -> int:
    """Return the decimals of hours at the loom that the sessions tell."""
    return 2 if value < HOURS_WHOLE_FROM else 1


def shown_hours(value: float) -> float:
    """Return the hours that `hours_words` says."""
    if round(value * 60) < 60:
        return round(value * 60) / 60
    return as_said(value, _told_decimals(value))


@dataclass(frozen=True, slots=True)
class HoursTold:
    """The hours at the loom of a rug, as every page tells them."""

    total: str
    """"" where most sessions have none: a sum would be of something else than the rug."""
    of_sessions: str
    """Of which sessions they are: given, the usual ones, none; "" where all were given."""
    whose: str = ""
    """That they are each weaver's own; "" where one wove alone."""

    @property
    def figure(self) -> str:
        """Return what stands as the figure."""
        if self.total:
            return self.total
        return _("mostly not given") if self.of_sessions else _("not given")

    @property
    def more(self) -> str:
        """Return what stands beside the figure."""
        return "; ".join(part for part in (self.of_sessions, self.whose) if part)


def loom_hours(book: RugBook) -> HoursTold:
    """Say the hours at the loom, and of which sessions they are."""
    spent = sum(session.hours or 0.0 for session in book.sessions)
    if not spent:
        return HoursTold("", "")
    timed = [session for session in book.sessions if session.hours]
    usual = [session for session in timed if session.hours_from is HoursFrom.USUAL]
    untimed = book.sessions_without_hours
    usual_h = shown_hours(sum(session.hours or 0.0 for session in usual))
    given, given_h = len(timed) - len(usual), shown_hours(spent) - usual_h
    parts = []
    if given and (usual or untimed):
        parts.append(
            n_("{hours} given in {count} session", "{hours} given in {count} sessions", given).format(
                hours=hours_words(given_h), count=number(given)
            )
        )
    if usual:
        parts.append(
            n_(
                "{hours} in {count} session as usual, not given",
                "{hours} in {count} sessions as usual, not given",
                len(usual),
            ).format(hours=hours_words(usual_h), count=number(len(usual)))
        )
    if untimed:
        parts.append(
            n_("{count} session without hours", "{count} sessions without hours", untimed).format(
                count=number(untimed)
            )
        )
    several = sum(len(session.weavers) > 1 for session in timed)
    whose = "" if not several else _("each") if several == len(timed) else _("each, where several wove")
    return HoursTold("" if untimed > len(timed) else hours_words(spent), "; ".join(parts), whose)


def sessions_words(book: RugBook) -> str:
    """Say how many sessions a rug has, as every page and file tells them: "7 sessions and 1 of unpicking"."""
    said = n_("{count} session", "{count} sessions", book.sessions_told).format(
        count=number(book.sessions_told)
    )
    taken_out = len(book.woven_sessions) - book.sessions_told
    return (
        _("{sessions} and {count} of unpicking").format(sessions=said, count=number(taken_out))
        if taken_out
        else said
    )


def not_given_words(value: float) -> str:
    """Say how many of the hours nobody gave; "" where none."""
    return _("{hours} of it usual hours, not given").format(hours=hours_words(value)) if value else ""


def unpicked_words(rows: int) -> str:
    """Say how many rows were taken out on the way; "" where none were."""
    if not rows:
        return ""
    return n_("{rows} row unpicked on the way", "{rows} rows unpicked on the way", rows).format(
        rows=number(rows)
    )


def knots_an_hour(tempo: Tempo) -> int:
    """Return the knots an hour of one weaver as they are told: of the knots and the hours as they are told beside them."""
    told_h = shown_hours(tempo.weaver_hours)
    return round(round(tempo.knots) / told_h) if told_h > 0 else 0


def tempo_words(tempo: Tempo) -> str:
    """Say which knots and hours the knots an hour of one weaver are divided from, so that any reader can divide them."""
    knots = round(tempo.knots)
    said = n_(
        "by one weaver: {knots} knot in {hours}",
        "by one weaver: {knots} knots in {hours}",
        knots,
    ).format(knots=number(knots), hours=hours_words(tempo.weaver_hours))
    if hours_words(tempo.weaver_hours) != hours_words(tempo.loom_hours):
        said = _("{counted}, each weaver's hours added up").format(counted=said)
    if not tempo.whole:
        said = n_(
            "{counted}, in the {sessions} session with hours given",
            "{counted}, in the {sessions} sessions with hours given",
            tempo.sessions,
        ).format(counted=said, sessions=number(tempo.sessions))
    unpicked = round(tempo.unpicked)
    if unpicked:
        said = n_(
            "{counted}; {knots} knot that was unpicked again is not taken off",
            "{counted}; {knots} knots that were unpicked again are not taken off",
            unpicked,
        ).format(counted=said, knots=number(unpicked))
    return said


def row_time(row_h: float) -> str:
    """Return the time that a row takes: "1 h 5 min", "34 min", "4.6 min"."""
    if row_h * 60 < TENTHS_BELOW_MIN - 0.05:
        return _("{number} min").format(number=number(row_h * 60, 1))
    return hours_and_minutes(row_h)


def _minutes_words(minutes: float, decimals: int) -> str:
    """Return minutes as a clock's, their parts too: "24.4 min", "1 h 5 min", "1 h 5.3 min"."""
    if minutes < 60:
        return _("{number} min").format(number=number(minutes, decimals))
    if not decimals:
        return hours_and_minutes(minutes / 60)
    whole, rest = divmod(minutes, 60)
    return _("{hours} h {minutes} min").format(hours=number(whole), minutes=number(rest, decimals))


def row_time_over(row_h: float, rows: float, total_h: float, half_h: float) -> str:
    """Return the time that each of some rows takes, so fine that the rows times it come to the hours that are told.

    Parameters
    ----------
    row_h
        As it is reckoned.
    rows, total_h
        As both are told.
    half_h
        Half of the last digit of the hours that are told.
    """
    if rows <= 0 or total_h <= 0:
        return row_time(row_h)
    tenths = row_h * 60 < TENTHS_BELOW_MIN - 0.05
    minutes, decimals = rate_that_makes(row_h * 60, rows, total_h * 60, half_h * 60, fewest=int(tenths))
    return _minutes_words(minutes, decimals)


def counted_rows_decimals(rows: float) -> int:
    """Return the decimals of rows that were gained: of less than one a tenth is much."""
    return 1 if rows >= 1 else 2


def _rows_decimals(rows: float) -> int:
    """Return the decimals of rows that are counted, the begun one by its part: of few rows a tenth of one is much."""
    return 1 if rows >= FEW_ROWS else 2


def _each_ahead(rates: Rates, hours_left: float) -> str:
    """Return the time of a row to come, beside the rows and the hours that are left."""
    rows = as_said(rates.rows_left, _rows_decimals(rates.rows_left))
    return row_time_over(rates.row_ahead_h or 0.0, rows, shown_work_h(hours_left), half_work_h(hours_left))


def _weeks_ahead(book: RugBook, answers: Answers) -> tuple[float, int]:
    """Return the weeks until the told day as they are said, and their decimals: of few weeks a tenth is much."""
    if answers.finish is None:
        return 0.0, 1
    exact = (answers.finish.middle - first_day_ahead(book, answers)).days / 7
    decimals = 1 if abs(as_said(exact, 1) - exact) <= ROUGH_WEEKS * exact else 2
    return as_said(exact, decimals), decimals


def _each_week(rates: Rates, book: RugBook, answers: Answers) -> str:
    """Return the hours of a week to come, so fine that the weeks times them come to the hours that are left; below one minutes."""
    hours_left = 0.0 if answers.finish is None else answers.finish.hours_left
    week_h, total_h, half_h = rates.week_ahead_h or 0.0, shown_work_h(hours_left), half_work_h(hours_left)
    weeks, _decimals = _weeks_ahead(book, answers)
    if total_h <= 0 or weeks <= 0:
        return hours(week_h)
    if week_h < 0.95:
        return row_time_over(week_h, weeks, total_h, half_h)
    said, decimals = rate_that_makes(week_h, weeks, total_h, half_h, fewest=1)
    return _("{number} h").format(number=number(said, decimals))


def _week_hours(value: float) -> str:
    """Return hours of a week to a tenth; below one minutes."""
    return hours(value) if value < 0.95 else _("{number} h").format(number=number(value, 1))


def _counted_decimals(value: float) -> int:
    """Return the decimals of hours that somebody divides."""
    return 2 if value < 10 else 1


def _counted_hours(value: float) -> str:
    """Return hours as finely as whoever divides them needs; below one in minutes."""
    return (
        hours(value)
        if round(value * 60) < 60
        else _("{number} h").format(number=number(value, _counted_decimals(value)))
    )


def counted_row_time(row_h: float, rows: float, spent_h: float, decimals: int) -> str:
    """Return the time of each of some rows beside them, and the hours they took, in `decimals` or below one in minutes."""
    minutes = round(spent_h * 60)
    told_h, half_h = (
        (minutes / 60, 0.5 / 60) if minutes < 60 else (as_said(spent_h, decimals), 0.5 * 10.0**-decimals)
    )
    return row_time_over(row_h, as_said(rows, counted_rows_decimals(rows)), told_h, half_h)


def _each_so_far(rates: Rates) -> str:
    """Return the time of a row so far, beside the rows and the hours they took; "" before the second session with hours."""
    if rates.row_so_far_h is None:
        return ""
    spent_h = rates.row_so_far_h * rates.rows_so_far
    return counted_row_time(rates.row_so_far_h, rates.rows_so_far, spent_h, _counted_decimals(spent_h))


def lately_words(rates: Rates) -> str:
    """Say what a row has taken: lately and at the beginning, or so far; "" before the second session with hours."""
    if rates.row_lately_h is None or rates.row_so_far_h is None:
        return ""
    if rates.row_at_first_h is None:
        spent_h = rates.row_so_far_h * rates.rows_so_far
        return n_(
            "{each} a row so far: {rows} row in {hours}.",
            "{each} a row so far: {rows} rows in {hours}.",
            1 if round(rates.rows_so_far, 1) == 1 else 2,
        ).format(
            each=_each_so_far(rates),
            rows=number(rates.rows_so_far, counted_rows_decimals(rates.rows_so_far)),
            hours=_counted_hours(spent_h),
        )
    return _("{now} a row lately; {then} at the beginning.").format(
        now=row_time(rates.row_lately_h), then=row_time(rates.row_at_first_h)
    )


def so_far_words(rates: Rates) -> str:
    """Say how many hours were given a week; of the first days how many in all; "" where none were."""
    if not rates.hours_so_far:
        return ""
    if rates.untimed > rates.timed:
        # A sum of a few would read as all that was woven.
        return n_(
            "{hours} in {timed} of {count} session, the others without hours",
            "{hours} in {timed} of {count} sessions, the others without hours",
            rates.timed + rates.untimed,
        ).format(
            hours=_counted_hours(rates.hours_so_far),
            timed=number(rates.timed),
            count=number(rates.timed + rates.untimed),
        )
    if rates.week_so_far_h is not None:
        return _("{hours} a week").format(hours=_week_hours(rates.week_so_far_h))
    return n_("{hours} in {days} day", "{hours} in {days} days", rates.days_so_far).format(
        hours=_counted_hours(rates.hours_so_far), days=number(rates.days_so_far)
    )


def counted_words(rates: Rates, answers: Answers) -> str:
    """Say why the rows to come take other time than the last ones, at least that the date counts on it; "" where both are said alike."""
    been = rates.row_so_far_h if rates.row_at_first_h is None else rates.row_lately_h
    if rates.row_ahead_h is None or been is None or answers.finish is None:
        return ""
    if answers.basis.row_ahead:
        return answers.basis.row_ahead
    if round(60 * rates.row_ahead_h) == round(60 * been):
        return ""
    return _("The date counts on these {each}.").format(each=_each_ahead(rates, answers.finish.hours_left))


def row_ahead_words(rates: Rates, answers: Answers) -> str:
    """Say how the rows to come make the hours that are left; "" where there is no date."""
    if rates.row_ahead_h is None or answers.finish is None:
        return ""
    whole = as_said(rates.rows_left, _rows_decimals(rates.rows_left)).is_integer()
    return n_(
        "{rows} row to come at {each} a row: {left}.",
        "{rows} rows to come at {each} a row: {left}.",
        round(rates.rows_left) if whole else 2,
    ).format(
        rows=number(rates.rows_left, _rows_decimals(rates.rows_left)),
        each=_each_ahead(rates, answers.finish.hours_left),
        left=work_words(answers.finish.hours_left),
    )


def week_ahead_words(rates: Rates, book: RugBook, answers: Answers) -> str:
    """Say how the hours that are left and those of a week come to the date; "" where it is nearer than a week, or no day is told."""
    if rates.week_ahead_h is None or answers.finish is None or is_beyond(answers.finish.middle, answers.day):
        return ""
    begin = first_day_ahead(book, answers)
    weeks, decimals = _weeks_ahead(book, answers)
    each = _each_week(rates, book, answers)
    if begin > answers.day:
        return n_(
            "From {begin} on {left} at {week} a week, days off included: {weeks} week, until {day}.",
            "From {begin} on {left} at {week} a week, days off included: {weeks} weeks, until {day}.",
            1 if weeks == 1 else 2,
        ).format(
            begin=day_near(begin, answers.day),
            left=work_words(answers.finish.hours_left),
            week=each,
            weeks=number(weeks, decimals),
            day=day(answers.finish.middle, answers.day),
        )
    return n_(
        "{left} at {week} a week, days off included: {weeks} week, until {day}.",
        "{left} at {week} a week, days off included: {weeks} weeks, until {day}.",
        1 if weeks == 1 else 2,
    ).format(
        left=work_words(answers.finish.hours_left),
        week=each,
        weeks=number(weeks, decimals),
        day=day(answers.finish.middle, answers.day),
    )


def days_ahead_words(rates: Rates, book: RugBook, answers: Answers) -> str:
    """Say how the hours that are left come to a date nearer than a week, beside what an evening took lately; "" where it is further."""
    finish = answers.finish
    begin = first_day_ahead(book, answers)
    if rates.row_ahead_h is None or finish is None or (finish.middle - begin).days >= 7:
        return ""
    sat = [session for session in book.sessions if session.hours]
    first = max([begin, *(session.day + timedelta(days=1) for session in book.woven_sessions[-1:])])
    days = max((finish.middle - first).days + 1, 1)
    said = n_(
        "{left} in {days} day, days off included, until {day}: {each} a day.",
        "{left} in {days} days, days off included, until {day}: {each} a day.",
        days,
    ).format(
        left=work_words(finish.hours_left),
        days=number(days),
        day=day(finish.middle, answers.day),
        each=_each_day(finish.hours_left, days),
    )
    if not sat:
        return said
    lately = median(session.hours or 0.0 for session in sat[-PACE_WINDOW:])
    return f"{said} " + _("Lately it was {hours} an evening.").format(hours=_counted_hours(lately))


def _each_day(hours_left: float, days: int) -> str:
    """Return the hours of each of some days, so fine that the days times them come to the hours that are left."""
    total_h, half_h, each_h = shown_work_h(hours_left), half_work_h(hours_left), hours_left / days
    if each_h < 1.0:
        return row_time_over(each_h, days, total_h, half_h)
    said, decimals = rate_that_makes(each_h, days, total_h, half_h, fewest=1)
    return _("{number} h").format(number=number(said, decimals))


def beside_plan_words(book: RugBook, so_far: str) -> str:
    """Return the hours woven so far with those of the plan behind them, so that nobody takes one for the other."""
    return _("{so_far} (planned: {planned} a week)").format(
        so_far=so_far, planned=hours(book.plan.hours_per_week)
    )


def _less_words(rates: Rates, book: RugBook, answers: Answers) -> str:
    """Say why fewer hours a week are reckoned with than are planned; "" where about as many are."""
    if rates.week_ahead_h is None or rates.week_ahead_h >= WEEK_AS_PLANNED * book.plan.hours_per_week:
        return ""
    if answers.basis.by_earlier:
        return _("Less than planned, as on your earlier rugs: evenings are missed or shorter.")
    return _("Less than planned: now and then an evening is missed or shorter.")


def rate_words(book: RugBook, answers: Answers) -> tuple[str, ...]:
    """Say by what pace and week the hours left come to the date, beside what they have been."""
    rates = rates_of(book, answers)
    if rates.row_ahead_h is None:
        return ()
    rows = row_ahead_words(rates, answers)
    if rates.row_lately_h is not None and rates.row_so_far_h is not None:
        been = (
            _("So far it was {each} a row.").format(each=_each_so_far(rates))
            if rates.row_at_first_h is None
            else _("Lately it was {each} a row.").format(each=row_time(rates.row_lately_h))
        )
        rows = " ".join(filter(None, (rows, been, answers.basis.row_ahead)))
    elif rates.row_first_h is not None:
        rows = f"{rows} " + _("From the plan and your one session with hours ({each} a row).").format(
            each=row_time(rates.row_first_h)
        )
    said = [rows]
    if near := days_ahead_words(rates, book, answers):
        said.append(near)
    if week := week_ahead_words(rates, book, answers):
        been = so_far_words(rates)
        beside = (
            _("So far it was {hours}.").format(hours=beside_plan_words(book, been))
            if been
            else " ".join(
                words
                for words in (
                    _("Planned: {hours} a week.").format(hours=hours(book.plan.hours_per_week)),
                    _less_words(rates, book, answers),
                )
                if words
            )
        )
        said.append(f"{week} {beside}")
    return tuple(said)
