"""How it has gone: how the date moved, rows by week, hours by weekday, pace; as charts of plain numbers and words."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import median

from tracker.domain.as_of import book_as_of
from tracker.domain.rug import RugBook, RugStage
from tracker.forecast.answers import Answers, FinishAnswer
from tracker.forecast.thresholds import MOVED_SINCE_DAYS
from tracker.presenters.entry_text import session_hours_words
from tracker.presenters.rates import (
    PACE_WINDOW,
    beside_plan_words,
    counted_row_time,
    counted_rows_decimals,
    counted_words,
    lately_words,
    other_week_words,
    paced_sessions,
    rates_of,
    row_ahead_words,
    row_time,
    rows_a_week,
    so_far_words,
    week_ahead_words,
)
from tracker.presenters.weeks import rows_by_week
from tracker.words import (
    _,
    day,
    day_short,
    days_from_to,
    hours,
    hours_and_minutes,
    hours_decimals,
    month_and_year,
    n_,
    number,
    weekday_name,
)

DATE_POINTS = 12
"""Days of the record for which the forecast is worked out anew."""
PACE_SHARE = 20
"""A long record's line follows the middle of a twentieth of it."""
MINUTES_BELOW_H = 0.5
"""Paces below so many hours a row stand on a scale of round minutes."""
MOST_TICKS = 5
WEEKS_USUAL = 2
"""Whole weeks before what a usual one holds is told."""


@dataclass(frozen=True, slots=True)
class ChartPoint:
    """One point or bar: where it stands, and the sentence that is read when it is touched."""

    x: float
    y: float
    words: str
    low: float | None = None
    high: float | None = None
    figure: str = ""
    """What stands on a bar."""


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart ready to be drawn. `kind` is "line", "bars" or "dots"; `hint` says what is missing when it is empty."""

    title: str
    kind: str
    summary: str
    points: tuple[ChartPoint, ...] = ()
    x_range: tuple[float, float] = (0.0, 1.0)
    y_range: tuple[float, float] = (0.0, 1.0)
    x_ticks: tuple[tuple[float, str], ...] = ()
    y_ticks: tuple[tuple[float, str], ...] = ()
    trend: tuple[tuple[float, float], ...] = ()
    guide: tuple[float, str] | None = None
    """A level to compare with, such as the wished-for day."""
    hint: str = ""
    band: tuple[float, float] | None = None
    """Lowest and highest level that is as it should be."""
    more: str = ""
    """What follows from the answer for what is still to come."""

    @property
    def told(self) -> str:
        """The answer, and what follows from it."""
        return f"{self.summary} {self.more}".strip()


# --- scales


def even_ticks(low: float, high: float, most: int = MOST_TICKS) -> tuple[float, ...]:
    """Return round numbers from `low` to `high`, at most `most` of them, a step of 1, 2 or 5 times a power of ten apart."""
    span = max(high - low, 1e-9)
    step = 10.0 ** math.floor(math.log10(span / max(1, most - 1)))
    for factor in (1, 2, 5, 10, 20):
        first = math.ceil(low / (step * factor) - 1e-9)
        last = math.floor(high / (step * factor) + 1e-9)
        if last - first + 1 <= most:
            return tuple(at * step * factor for at in range(first, last + 1))
    return (low, high)


def day_ticks(first: date, last: date, most: int = MOST_TICKS) -> tuple[date, ...]:
    """Return days to write along an axis: firsts of months, or Mondays when the span is short."""
    if (last - first).days <= 60:
        monday = first + timedelta(days=-first.weekday() % 7)
        for weeks in (1, 2, 4, 8):
            days = tuple(
                monday + timedelta(weeks=weeks * n) for n in range((last - monday).days // (7 * weeks) + 1)
            )
            if len(days) <= most:
                return days
    index = first.year * 12 + first.month - 1 + (first.day > 1)
    end = last.year * 12 + last.month - 1
    for months in (1, 2, 3, 6, 12, 24, 60):
        start = -(-index // months) * months
        first_days = tuple(date(at // 12, at % 12 + 1, 1) for at in range(start, end + 1, months))
        if len(first_days) <= most:
            return first_days
    return (first, last)


def _day_labels(first: date, last: date, most: int = MOST_TICKS) -> tuple[tuple[float, str], ...]:
    ticks = day_ticks(first, last, most)
    if ticks and ticks[0].year != ticks[-1].year:
        return tuple((float(tick.toordinal()), month_and_year(tick)) for tick in ticks)
    return tuple((float(tick.toordinal()), day_short(tick, tick)) for tick in ticks)


def _week_labels(weeks: Sequence[date], most: int = MOST_TICKS) -> tuple[tuple[float, str], ...]:
    """Return the first days of weeks to write under their bars: evenly, the last week among them."""
    every = max(1, -(-len(weeks) // most))
    return tuple((float(week.toordinal()), day_short(week, week)) for week in weeks[::-1][::every][::-1])


def _from_zero(values: Sequence[float]) -> tuple[tuple[float, float], tuple[tuple[float, str], ...]]:
    """Return a scale from zero (or below it) that holds the values, with its ticks."""
    low, high = min(0.0, *values), max(1e-6, *values)
    ticks = even_ticks(low, high * 1.05 if high > 0 else 1.0)
    top = max(high * 1.08, ticks[-1])
    return (min(low, ticks[0]), top), tuple((tick, number(tick, 2)) for tick in ticks)


# --- how the date moved


def past_days(book: RugBook, today: date, count: int = DATE_POINTS) -> tuple[date, ...]:
    """Return the days of sessions for which to look back, evenly through the record, the last one among them."""
    days = sorted({session.day for session in book.sessions if session.day <= today})
    if len(days) <= count:
        return tuple(days)
    return tuple(days[round(at * (len(days) - 1) / (count - 1))] for at in range(count))


@dataclass(frozen=True, slots=True)
class PastDate:
    """What was foretold on the evening of a day."""

    day: date
    early: date
    middle: date
    late: date


def past_dates(
    book: RugBook,
    days: Sequence[date],
    look: Callable[[RugBook, date], FinishAnswer | None],
    now: Answers | None = None,
) -> tuple[PastDate, ...]:
    """Work out what the forecast would have said on each of the days; `look` says what a book
    foretells on a day.

    With `now`, today's answers, the way ends in today's date, and the day from which the pages say that the date has moved
    is among the others, so that the chart shows what they say.
    """
    wanted = set(days)
    if now is not None and now.finish is not None and len(wanted) > 1:
        wanted.add(now.day)
        if now.basis.moved_by:
            wanted.add(now.day - timedelta(days=MOVED_SINCE_DAYS))
    past_dates = []
    for on in sorted(wanted):
        finish = now.finish if now and on == now.day else look(book_as_of(book, on), on)
        if finish is not None:
            past_dates.append(PastDate(on, finish.early, finish.middle, finish.late))
    return tuple(past_dates)


def last_row_day(book: RugBook) -> date | None:
    """Return the day of the last session of a rug called finished, which the forecasts were about; None before."""
    if book.plan.stage is not RugStage.FINISHED:
        return None
    return max((session.day for session in book.sessions), default=book.plan.finished_day)


def date_chart(past: Sequence[PastDate], wished: date | None, finished: date | None = None) -> Chart:
    """Show how the foretold last row moved through the record."""
    title = _("How the date has moved")
    if len(past) < 2:
        return Chart(title, "line", "", hint=_("After two sessions you see here how the date moves."))
    points = tuple(
        ChartPoint(
            float(p.day.toordinal()),
            float(p.middle.toordinal()),
            _("On {day}: {middle}, {range}").format(
                day=day_short(p.day, p.day),
                middle=day(p.middle, p.day),
                range=days_from_to(p.early, p.late, p.day),
            ),
            float(p.early.toordinal()),
            float(p.late.toordinal()),
        )
        for p in past
    )
    level = finished or wished
    words = ""
    if level:
        said = _("woven {day}") if finished else _("target: {day}")
        words = said.format(day=day_short(level, past[-1].day))
    lows = [p.early.toordinal() for p in past] + ([level.toordinal()] if level else [])
    highs = [p.late.toordinal() for p in past] + ([level.toordinal()] if level else [])
    low, high = min(lows), max(highs)
    air = max(2, round((high - low) * 0.06))
    moved = ((finished or past[-1].middle) - past[0].middle).days
    if finished and moved:
        # What happened counts, not what was foretold of it last.
        summary = (
            n_(
                "The last row came {days} day later than the first session foretold.",
                "The last row came {days} days later than the first session foretold.",
                moved,
            )
            if moved > 0
            else n_(
                "The last row came {days} day sooner than the first session foretold.",
                "The last row came {days} days sooner than the first session foretold.",
                -moved,
            )
        ).format(days=number(abs(moved)))
    elif finished:
        summary = _("The last row came on the day that the first session foretold.")
    elif moved:
        summary = (
            n_(
                "{days} day later than after the first session.",
                "{days} days later than after the first session.",
                moved,
            )
            if moved > 0
            else n_(
                "{days} day sooner than after the first session.",
                "{days} days sooner than after the first session.",
                -moved,
            )
        ).format(days=number(abs(moved)))
    else:
        summary = _("The same day as after the first session.")
    return Chart(
        title,
        "line",
        summary,
        points,
        (points[0].x, points[-1].x),
        (float(low - air), float(high + air)),
        _day_labels(past[0].day, past[-1].day, 4),
        _day_labels(date.fromordinal(low - air), date.fromordinal(high + air)),
        guide=(float(level.toordinal()), words) if level else None,
    )


# --- rows by week


def weeks_chart(book: RugBook, today: date, first_weekday: int = 0, answers: Answers | None = None) -> Chart:
    """Show the rows gained in each week from the first session on; weeks without one count as nothing.

    With `answers` it is said beside them how many a week the date counts on.
    """
    title = _("Rows by week")
    if not book.sessions:
        return Chart(title, "bars", "", hint=_("Log the first session. Then you see your weeks here."))

    # A finished rug's weeks end with its last row.
    weeks = rows_by_week(book, first_weekday, min(today, last_row_day(book) or today))
    points = tuple(
        ChartPoint(
            float(week.toordinal()),
            float(rows),
            _("Week of {day}: {rows}").format(
                day=day_short(week, today),
                rows=n_("{count} row", "{count} rows", abs(rows)).format(count=number(rows)),
            ),
            figure=number(rows),
        )
        for week, rows in weeks
    )
    scale, ticks = _from_zero([p.y for p in points])
    whole = [p.y for p, (week, _rows) in zip(points, weeks, strict=True) if week + timedelta(days=7) <= today]
    if len(whole) < WEEKS_USUAL:
        so_far = sum(p.y for p in points)
        summary = n_("{rows} row so far.", "{rows} rows so far.", 1 if so_far == 1 else 2).format(
            rows=number(so_far, 1)
        )
    else:
        middle = median(whole)
        summary = n_(
            "{rows} row in a usual week.", "{rows} rows in a usual week.", 1 if middle == 1 else 2
        ).format(rows=number(middle, 1))
    ahead = None if answers is None else rows_a_week(book, answers)
    more = ""
    if ahead is not None:
        more = n_(
            "To come, as the date counts: about {rows} row a week.",
            "To come, as the date counts: about {rows} rows a week.",
            ahead,
        ).format(rows=number(ahead))
        if len(whole) >= WEEKS_USUAL and answers is not None:
            why = other_week_words(book, answers, median(whole), sum(whole) / len(whole))
            more = f"{more} {why}".rstrip()
    return Chart(
        title,
        "bars",
        summary,
        points,
        (points[0].x - 3.5, points[-1].x + 3.5),
        scale,
        _week_labels([week for week, _rows in weeks]),
        ticks,
        more=more,
    )


# --- hours by weekday


def _bar_hours(value: float) -> str:
    """Return the hours that stand on a bar: "2.6 h", "12 min"."""
    return hours(value) if value < 0.95 else _("{number} h").format(number=number(value, 1))


def hours_by_weekday(book: RugBook, answers: Answers, first_weekday: int = 0) -> Chart:
    """Show the mean hours at the loom on each weekday, weeks without that day counted as nothing."""
    title = _("Hours by weekday")
    timed = [session for session in book.sessions if session.hours]
    if not timed:
        return Chart(title, "bars", "", hint=_("Give hours with your sessions. Then you see your week here."))
    first, last = timed[0].day, max(session.day for session in timed)
    total: dict[int, float] = defaultdict(float)
    days: dict[int, set[date]] = defaultdict(set)
    for session in timed:
        total[session.day.weekday()] += session.hours or 0.0
        days[session.day.weekday()].add(session.day)
    order = [(first_weekday + place) % 7 for place in range(7)]
    span = (last - first).days + 1
    # How often each weekday came within the record, so that a short record is not divided by too many weeks.
    came = {w: sum((first + timedelta(days=d)).weekday() == w for d in range(min(span, 7))) for w in order}
    came = {
        w: span // 7
        + sum((first + timedelta(days=span - span % 7 + d)).weekday() == w for d in range(span % 7))
        for w in came
    }
    points = []
    for place, weekday in enumerate(order):
        mean = total[weekday] / came[weekday] if came[weekday] else 0.0
        count = len(days[weekday])
        words = _("{weekday}: {hours} on average").format(
            weekday=weekday_name(weekday), hours=_bar_hours(mean)
        )
        if count:
            words = "{} ({})".format(
                words, n_("{count} day woven", "{count} days woven", count).format(count=number(count))
            )
        points.append(ChartPoint(float(place), mean, words, figure=_bar_hours(mean) if mean else ""))
    scale, ticks = _from_zero([p.y for p in points])
    best = max(points, key=lambda p: p.y)
    rates = rates_of(book, answers)
    most = weekday_name(order[int(best.x)])
    said = (
        _("{hours}, most on {weekday}.")
        if answers.finish is None
        else _("So far {hours}, most on {weekday}.")
    ).format(hours=beside_plan_words(book, so_far_words(rates)), weekday=most)
    return Chart(
        title,
        "bars",
        said,
        tuple(points),
        (-0.5, 6.5),
        scale,
        tuple((float(place), weekday_name(w, "abbreviated")) for place, w in enumerate(order)),
        ticks,
        more=week_ahead_words(rates, book, answers),
    )


# --- pace


def pace(book: RugBook, answers: Answers) -> Chart:
    """Show the hours a row took, session by session, and the middle of each few sessions as a line."""
    title = _("Time for a row")
    timed, today = paced_sessions(book), answers.day
    if len(timed) < 2:
        return Chart(
            title, "dots", "", hint=_("After two sessions with rows and hours you see your pace here.")
        )
    points = tuple(
        ChartPoint(
            float(session.day.toordinal()),
            row_h,
            _("{day}: {each} a row ({rows} in {hours})").format(
                day=day_short(session.day, today),
                each=counted_row_time(
                    row_h, gained, session.hours or 0.0, hours_decimals(session.hours or 0.0)
                ),
                rows=n_("{count} row", "{count} rows", math.ceil(gained)).format(
                    count=number(gained, counted_rows_decimals(gained))
                ),
                hours=session_hours_words(session),
            ),
        )
        for session, gained, row_h in timed
    )
    values = [p.y for p in points]
    half = max(PACE_WINDOW, len(values) // PACE_SHARE) // 2
    trend = tuple(
        (points[index].x, median(values[max(0, index - half) : index + half + 1]))
        for index in range(len(points))
    )
    if max(values) < MINUTES_BELOW_H:
        (low, high), minutes = _from_zero([60 * value for value in values])
        scale, ticks = (low / 60, high / 60), tuple((at / 60, row_time(at / 60)) for at, _words in minutes)
    else:
        scale, ticks = _from_zero(values)
        ticks = tuple((at, hours_and_minutes(at)) for at, _words in ticks)
    rates = rates_of(book, answers)
    summary, ahead = lately_words(rates), row_ahead_words(rates, answers)
    why = counted_words(rates, answers) if summary and ahead else ""
    # Before there is anything to tell of the rows so far, the rows ahead are the answer.
    summary, more = (summary, f"{ahead} {why}".strip()) if summary else (ahead, "")
    return Chart(
        title,
        "dots",
        summary,
        points,
        (points[0].x, max(points[-1].x, points[0].x + 1)),
        scale,
        _day_labels(timed[0][0].day, timed[-1][0].day, 4),
        ticks,
        trend,
        more=more,
    )
