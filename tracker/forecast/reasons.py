"""Why the answers are what they are: sentences on what they rest on and on what moved them since last week."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np

from tracker.domain.work import timed_sessions
from tracker.forecast.answers import EarlierDate, MovedToday
from tracker.forecast.calendar import off_ordinals
from tracker.forecast.chart import landmarks_of
from tracker.forecast.reckon import Reckoning
from tracker.forecast.stats import middle_of
from tracker.forecast.thresholds import (
    AHEAD_APART,
    FASTEST_KNOTS_PER_HOUR,
    LATELY_SESSIONS,
    LEAST_TO_DOUBT,
    MOVED_FROM_DAYS,
    SAY_SILENT_FROM_DAYS,
    SLOW_FROM,
    SLOWEST_KNOTS_PER_HOUR,
    TEAM_APART,
)
from tracker.words import _, day_short, n_, number


def rests_on(now: Reckoning) -> tuple[str, ...]:
    """Sentences on the evidence: number of sessions, what the last ones were like, earlier rugs, odd hours."""
    count = now.book.sessions_told
    sentences = []
    if not count:
        sentences.append(
            _("From the plan and your earlier rugs. Your first session changes that.")
            if now.by_earlier
            else _("From the plan alone. Your first session changes that.")
        )
    else:
        text = n_("From {count} session", "From {count} sessions", count).format(count=count)
        lately = _lately(now)
        sentences.append(f"{text}; {lately}." if lately else f"{text}.")
    if now.taught.rugs:
        sentences.append(
            n_(
                "Your pace is also based on {count} earlier rug.",
                "Your pace is also based on {count} earlier rugs.",
                now.taught.rugs,
            ).format(count=now.taught.rugs)
        )
    missing = now.book.sessions_without_hours
    if missing and now.sessions.given.any():
        sentences.append(
            n_(
                "{count} session has no hours. The usual hours are used instead.",
                "{count} sessions have no hours. The usual hours are used instead.",
                missing,
            ).format(count=missing)
        )
    elif missing:
        sentences.append(_("No session has hours: each counts as one usual session."))
    sentences += _weavers(now)
    sentences += _doubts(now)
    if now.silent_days >= SAY_SILENT_FROM_DAYS and not now.finished:
        sentences.append(
            n_(
                "Nothing was entered for {count} day.",
                "Nothing was entered for {count} days.",
                now.silent_days,
            ).format(count=now.silent_days)
        )
    return tuple(sentences)


def _weavers(now: Reckoning) -> list[str]:
    """Say on how many at the loom the date counts, where the last session or the plan has others."""
    sessions, planned = now.sessions, now.book.plan.weavers_planned
    if now.futures is None or not sessions.size or not sessions.team_told:
        return []
    ahead, last = round(now.futures.weavers, 1), len(now.book.woven_sessions[-1].weavers)
    if last and abs(ahead - last) >= TEAM_APART:
        return [
            n_(
                "In the last session {last} weaver sat at the loom. The date counts on {ahead}, as on the average of all "
                "sessions; it follows when they keep coming.",
                "In the last session {last} weavers sat at the loom. The date counts on {ahead}, as on the average of all "
                "sessions; it follows when they keep coming.",
                last,
            ).format(last=number(last), ahead=number(ahead, 1))
        ]
    if abs(ahead - planned) >= TEAM_APART:
        return [
            n_(
                "The plan has {planned} weaver. The date counts on {ahead}, as the sessions name them.",
                "The plan has {planned} weavers. The date counts on {ahead}, as the sessions name them.",
                planned,
            ).format(planned=number(planned), ahead=number(ahead, 1))
        ]
    return []


def last_rug_words(held: EarlierDate) -> str:
    """Say how the date of the last finished rug held over its last month."""
    moved = held.moved_days
    if moved == 0:
        return _("On your last rug the date did not move in the last month.")
    late = n_(
        "On your last rug the date moved {count} day later in the last month.",
        "On your last rug the date moved {count} days later in the last month.",
        abs(moved),
    )
    soon = n_(
        "On your last rug the date moved {count} day sooner in the last month.",
        "On your last rug the date moved {count} days sooner in the last month.",
        abs(moved),
    )
    return (late if moved > 0 else soon).format(count=abs(moved))


def _doubts(now: Reckoning) -> list[str]:
    """Ask about figures that cannot be meant."""
    sentences = []
    long = int(now.observed.too_long.sum())
    if long:
        sentences.append(
            n_(
                "{count} session has far too many hours for its rows and counts for little. Was the timer left on?",
                "{count} sessions have far too many hours for their rows and count for little. Was the timer left on?",
                long,
            ).format(count=long)
        )
    short = int(now.observed.too_short.sum())
    if short:
        sentences.append(
            n_(
                "{count} session has far too few hours for its rows. The usual hours are used instead.",
                "{count} sessions have far too few hours for their rows. The usual hours are used instead.",
                short,
            ).format(count=short)
        )
    for place in np.flatnonzero(now.observed.too_many_rows)[-2:].tolist():
        sentences.append(
            _("{day}: {rows} rows are far more than usual. Is the number right?").format(
                day=day_short(date.fromordinal(int(now.sessions.day[place])), now.today),
                rows=int(now.sessions.rows[place]),
            )
        )
    given = now.sessions.given & (now.sessions.rows > 0)
    if int(given.sum()) >= LEAST_TO_DOUBT:
        hours = now.sessions.hours[given] * now.sessions.team[given]
        pace = middle_of(now.sessions.rows[given] * now.to_weave.tied / hours)
        if pace < SLOWEST_KNOTS_PER_HOUR:
            sentences.append(
                _("These hours mean {knots} knots an hour. Are the hours really minutes?").format(
                    knots=max(round(pace), 1)
                )
            )
        elif pace > FASTEST_KNOTS_PER_HOUR:
            sentences.append(
                _("These hours mean {knots} knots an hour. Are hours missing, or rows counted twice?").format(
                    knots=round(pace)
                )
            )
    return sentences


def _lately(now: Reckoning) -> str:
    """Say whether the last three sessions were slower or faster than the pace learnt before."""
    if now.observed.day.size < 6:
        return ""
    fit, observed = now.fit, now.observed
    state = fit.weight @ fit.mean
    cost = float(fit.weight @ fit.change_knots)
    fall = float(fit.weight @ fit.learn_hours)
    usual = (
        state[0]
        + np.log1p(cost * observed.changes_per_knot)
        + state[1] * np.exp(-observed.hours_before / fall)
        - state[2] * observed.log_team
    )
    gap = observed.log_row_hours - usual
    last = middle_of(gap[-3:])
    if last > SLOW_FROM:
        return _("the last 3 were slow")
    if last < -SLOW_FROM:
        return _("the last 3 were fast")
    return ""


def row_ahead(now: Reckoning) -> str:
    """Say why a row ahead takes more or less time than the last ones did: the strongest cause that goes that way; "" where it takes about as much."""
    each = [(session.hours or 0.0) / gained for session, gained in timed_sessions(now.book) if gained > 0]
    rows_left = now.to_weave.rows - now.row_now - now.knots_begun / max(now.to_weave.across, 1)
    observed, fit = now.observed, now.fit
    if now.futures is None or len(each) < 2 or observed.day.size < 2 or rows_left <= 0:
        return ""
    lately = middle_of(np.array(each[-LATELY_SESSIONS:]))
    apart = float(np.log(now.futures.hours_left / rows_left / lately))
    if abs(apart) < AHEAD_APART:
        return ""
    state, last = fit.weight @ fit.mean, slice(-LATELY_SESSIONS, None)
    cost, fall = float(fit.weight @ fit.change_knots), float(fit.weight @ fit.learn_hours)
    ahead_changes = now.to_weave.changes[now.row_now :] / max(now.to_weave.tied, 1.0)
    changes = float(
        np.log1p(cost * ahead_changes.mean()) - np.log1p(cost * observed.changes_per_knot[last]).mean()
    )
    halfway = observed.hours_before[-1] + now.futures.hours_left * now.futures.weavers / 2
    learning = float(
        state[1] * (np.exp(-halfway / fall) - np.exp(-observed.hours_before[last] / fall).mean())
    )
    unpicking = float(np.log((fit.lost[0] + fit.lost[1]) / fit.lost[1]))
    team = float(state[2] * (observed.log_team[last].mean() - np.log(max(now.futures.weavers, 1.0))))
    slower = apart > 0
    causes = [
        (
            changes,
            _("The rows ahead have more colour changes than the last ones.")
            if slower
            else _("The rows ahead have fewer colour changes than the last ones."),
        ),
        (learning, _("A design goes quicker the longer it is woven.")),
        (unpicking, _("Some rows may have to be unpicked.")),
        (
            team,
            _("The date counts on fewer weavers than sat there lately.")
            if slower
            else _("The date counts on more weavers than sat there lately."),
        ),
    ]
    causes.append(
        (
            apart - sum(size for size, _words in causes),
            _("The last rows went quicker than your others; the date does not count on that alone.")
            if slower
            else _("The last rows went slower than your others; the date does not count on that alone."),
        )
    )
    return max((size if slower else -size, words) for size, words in causes)[1]


def moved_today(now: Reckoning, without: Reckoning, session_id: str) -> MovedToday | None:
    """Say what a session of today did to the middle date, beside a reckoning of the evening before without it."""
    moved = _causes(now, without)
    return MovedToday(session_id, moved[0], moved[1][0]) if moved is not None and moved[1] else None


def moved_by(now: Reckoning, then: Reckoning) -> tuple[str, ...]:
    """Say how the middle date moved between two reckonings, and which causes moved it by a day or more."""
    moved = _causes(now, then)
    if moved is None:
        return ()
    shift, ours = moved
    span = _days_since(now, then)
    ago = _("last week") if span == 7 else n_("{count} day ago", "{count} days ago", span).format(count=span)
    if not then.sessions.size:
        ago = _("by the plan")
    if shift == 0:
        return (_("The same date as {ago}.").format(ago=ago),)
    late = n_("{count} day later than {ago}", "{count} days later than {ago}", abs(shift))
    soon = n_("{count} day sooner than {ago}", "{count} days sooner than {ago}", abs(shift))
    head = (late if shift > 0 else soon).format(count=abs(shift), ago=ago)
    return (f"{head}: {', '.join(ours)}." if ours else f"{head}.",)


def _first_counted(now: Reckoning, then: Reckoning) -> date:
    """Return the first day that lies between two reckonings."""
    if not then.sessions.size and begun_early(now):
        # The plan's own evenings begin with its first day: before the first session none was expected.
        return _first_woven(now)
    return then.today + timedelta(days=1)


def _days_since(now: Reckoning, then: Reckoning) -> int:
    return (now.today - _first_counted(now, then)).days + 1


def _causes(now: Reckoning, then: Reckoning) -> tuple[int, list[str]] | None:
    """Return by how many days the middle date moved between two reckonings, and what pushed it that way, the strongest cause first.

    None where one of them has no date.

    The shift is taken apart in order: begun before the planned day, time at the loom other than expected (from that day on), days off
    added, rows unpicked (the hours of unpicking, and of weaving those rows again), rows more to the length, pace other than expected (on the
    rows woven since and on those to come), habit other than before. What no session was counted into is the plan's own date.
    """
    told, told_then = now.last_row_told(0.5), then.last_row_told(0.5)
    if (
        now.futures is None
        or then.futures is None
        or told is None
        or told_then is None
        or not now.sessions.size
    ):
        return None
    shift = (told - told_then).days
    tomorrow, early = _first_counted(now, then), 0 if then.sessions.size else begun_early(now)
    span = _days_since(now, then)
    d_now = max(now.habit.hours_a_day * now.sessions.hour_scale, 0.02)
    d_then = max(then.habit.hours_a_day * then.sessions.hour_scale, 0.02)
    since = now.sessions.day > then.today.toordinal()
    spent = float(now.observed.usual_hours[since].sum()) * now.sessions.hour_scale
    planned_share = span - _weaving_days_off(then, tomorrow, now.today)
    by_time = (d_then * planned_share - spent) / d_then
    unpicked, by_unpicking = _unpicked(now, since, d_now)
    by_length = (now.to_weave.rows - then.to_weave.rows) * _hours_of_a_row(now) / d_now
    by_pace = (now.futures.hours_left + spent - then.futures.hours_left) / d_now - by_unpicking - by_length
    by_habit = now.futures.hours_left * (1.0 / d_now - 1.0 / d_then)
    end = date.fromordinal(int(now.futures.quantile(-1, 0.5)))
    by_off = _weaving_days_off(now, tomorrow, end) - _weaving_days_off(then, tomorrow, end)
    evenings = _planned_evenings(now, tomorrow, now.today)
    woven = len({int(d) for d in now.sessions.day[since]})
    floor = max(MOVED_FROM_DAYS, 0.2 * abs(shift))
    causes: list[tuple[float, str]] = []
    if early >= MOVED_FROM_DAYS:
        # Known, not reckoned: named however little of the shift it is.
        text = n_("begun {count} day earlier than planned", "begun {count} days earlier than planned", early)
        causes.append((-float(early), text.format(count=number(early))))
    if abs(by_time) >= floor:
        missed = evenings - woven
        if by_time > 0 and missed > 0:
            text = n_("{count} evening missed", "{count} evenings missed", missed).format(count=missed)
        elif by_time > 0:
            text = _("shorter evenings than usual")
        elif missed < 0:
            text = n_(
                "{count} evening more than planned", "{count} evenings more than planned", -missed
            ).format(count=-missed)
        else:
            text = _("longer evenings than usual")
        causes.append((by_time, text))
    if by_unpicking >= floor:
        text = n_("{rows} row unpicked", "{rows} rows unpicked", 1 if unpicked == 1 else 2)
        causes.append((by_unpicking, text.format(rows=number(unpicked, 1))))
    if abs(by_pace) >= floor:
        part = _part_of(now)
        slow = by_pace > 0
        if part == "border":
            text = _("border slower than expected") if slow else _("border faster than expected")
        elif part == "medallion":
            text = _("medallion slower than expected") if slow else _("medallion faster than expected")
        else:
            text = _("rows slower than expected") if slow else _("rows faster than expected")
        causes.append((by_pace, text))
    if abs(by_habit) >= floor:
        text = _("fewer hours a week than before") if by_habit > 0 else _("more hours a week than before")
        causes.append((by_habit, text))
    if abs(by_off) >= floor:
        text = _("days off added") if by_off > 0 else _("days off removed")
        causes.append((by_off, text))
    if abs(by_length) >= floor:
        text = _("more rows to reach the length") if by_length > 0 else _("fewer rows to reach the length")
        causes.append((by_length, text))
    # First what pushed the date the way it went, the strongest cause first.
    return shift, [text for size, text in sorted(causes, key=lambda c: -abs(c[0])) if size * shift > 0]


def begun_early(now: Reckoning) -> int:
    """Return by how many days the first row was begun before the plan's first day; 0 where it was not, or nothing is woven."""
    return max((now.book.plan.start_day - _first_woven(now)).days, 0) if now.sessions.size else 0


def _first_woven(now: Reckoning) -> date:
    return date.fromordinal(int(now.sessions.first_day.min()))


def _unpicked(now: Reckoning, since: np.ndarray, hours_a_day: float) -> tuple[float, float]:
    """Return the rows unpicked in the sessions of `since` (bool), and the mean days that they cost: out, and in again."""
    out = since & (now.sessions.rows < 0)
    rows = float(-now.sessions.rows[out].sum())
    spent_h = float(now.observed.usual_hours[out].sum()) * now.sessions.hour_scale
    return rows, (rows * _hours_of_a_row(now) + spent_h) / hours_a_day if rows else 0.0


def _hours_of_a_row(now: Reckoning) -> float:
    """Return the mean hours of a row still to be woven; 0 when there is none."""
    left = now.to_weave.rows - now.row_now
    return now.futures.hours_left / left if now.futures is not None and left > 0 else 0.0


def _part_of(now: Reckoning) -> str:
    cartoon = now.book.cartoon
    if cartoon is None:
        return ""
    marks = landmarks_of(cartoon, now.book.yarns)
    row = now.row_now
    if marks.border_end is not None and row <= marks.border_end:
        return "border"
    if marks.border_start is not None and row > marks.border_start:
        return "border"
    return "medallion" if marks.medallion and marks.medallion[0] < row <= marks.medallion[1] else ""


def _weaving_days_off(reckoning: Reckoning, first: date, last: date) -> float:
    """Days known to be off between two days (both counted), each by how likely it would have been woven on, in mean days."""
    if last < first:
        return 0.0
    off = off_ordinals(reckoning.book.days_off, first.toordinal(), last.toordinal())
    weekday = (np.arange(first.toordinal(), last.toordinal() + 1) - 1) % 7
    chance = reckoning.habit.weekdays.mean
    return float(chance[weekday][off].sum() / max(float(chance.mean()), 1e-6))


def _planned_evenings(reckoning: Reckoning, first: date, last: date) -> int:
    if last < first:
        return 0
    off = off_ordinals(reckoning.book.days_off, first.toordinal(), last.toordinal())
    weekday = (np.arange(first.toordinal(), last.toordinal() + 1) - 1) % 7
    return int((reckoning.habit.planned[weekday] & ~off).sum())
