"""What the phone reminds of while the app is closed: worked out anew whenever the app is left."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, time, timedelta
from statistics import median

from tracker.domain.reminder import Reminder
from tracker.domain.rug import RugBook, RugStage
from tracker.forecast.answers import Answers
from tracker.presenters import timer as timer_sums
from tracker.presenters.yarn import order_words
from tracker.words import _, one_after_another

USUAL_TIME = time(20)
"""When a session is asked about before this weaver's own hour is known: our own choice."""
EVENINGS_NEEDED = 5
"""From so many sessions entered on their own day on, the weaver's own hour is known."""
GRACE = timedelta(minutes=30)
"""How long after the usual hour a session is missed."""
DAYS_AHEAD = 3
"""Beyond this an app that nobody opens falls silent."""
ORDER_TIME = time(9)
"""When shops open, more or less: our own choice."""
BREAK_USEFUL = timedelta(minutes=30)
"""A break that was due this long ago is no longer worth a notice."""
COPY_AFTER_DAYS, COPY_EVERY_DAYS = 14, 7
"""When a book that lies on one phone alone is spoken of, and how soon again: our own choice."""
GIVEN = "book given"
"""The draft that keeps the day on which a file with the whole book last left this phone."""
LAST_TIME = time(22, 30)
"""Nobody is reminded later in the day than this."""
NIGHT_ENDS = time(5)
"""Who enters a session earlier in the day has sat up late, and is reminded in the evening: our own choice."""


def usual_time(entered: Sequence[datetime]) -> time:
    """Return the time of day at which this weaver enters sessions.

    Parameters
    ----------
    entered
        Local times at which sessions were entered on the day they were woven, the newest first.
    """
    if len(entered) < EVENINGS_NEEDED:
        return USUAL_TIME
    of_day = [LAST_TIME if moment.time() < NIGHT_ENDS else moment.time() for moment in entered]
    middle = int(median(moment.hour * 60 + moment.minute for moment in of_day))
    return time(middle // 60, middle % 60)


def _is_missed(rug: RugBook, day: date) -> bool:
    """Tell whether a rug on a loom was to be woven on a day, by its own plan, and nothing is logged for it."""
    if rug.plan.stage is not RugStage.ON_LOOM or day.weekday() not in rug.plan.weekdays:
        return False
    off = any(days.first_day <= day <= days.last_day for days in rug.days_off)
    return not off and all(session.day != day for session in rug.woven_sessions)


def _session_reminders(rugs: Sequence[RugBook], now: datetime, hour: time) -> list[Reminder]:
    """Remind once an evening, of every rug that was to be woven then."""
    reminders = []
    for day in (now.date() + timedelta(days=ahead) for ahead in range(DAYS_AHEAD)):
        due = min(datetime.combine(day, hour) + GRACE, datetime.combine(day, LAST_TIME))
        missed = [rug.plan for rug in rugs if _is_missed(rug, day)]
        if not missed or due <= now:
            continue
        reminders.append(
            Reminder(
                kind="session",
                channel=_("Sessions not logged"),
                due=due,
                until=datetime.combine(day, time(23, 59)),
                title=_("Did you weave today?"),
                words=_("Nothing is logged for {rug} today yet.").format(
                    rug=one_after_another([plan.name for plan in missed])
                ),
                page="session",
                rug_id=missed[0].id,
            )
        )
    return reminders


def _order_reminders(rug: RugBook, answers: Answers, now: datetime, in_hand: bool = True) -> list[Reminder]:
    """Remind on the day by which yarn must be ordered; of a rug that is not in hand its name is said."""
    yarns = {yarn.id: yarn for yarn in rug.yarns}
    due: dict[date, list[str]] = {}
    for answer in answers.yarns:
        if (
            answer.order_by is not None
            and answer.order_g > 0
            and answer.order_by >= now.date()
            and answer.yarn_id in yarns
        ):
            words = order_words(yarns[answer.yarn_id], answer, answer.order_by)
            due.setdefault(answer.order_by, []).append(f"{yarns[answer.yarn_id].name}: {words}")
    return [
        Reminder(
            kind="order",
            channel=_("Yarn to order"),
            due=max(datetime.combine(day, ORDER_TIME), now + timedelta(minutes=1)),
            until=datetime.combine(day, time(23, 59)),
            title=_("Yarn to order today"),
            words="\n".join(lines if in_hand else [rug.plan.name, *lines]),
            page="shopping",
            rug_id=rug.plan.id,
        )
        for day, lines in sorted(due.items())
        if datetime.combine(day, ORDER_TIME) > now
    ]


def _break_reminders(
    runs: tuple[str, timer_sums.Timer] | None, now_utc: datetime, now: datetime, minutes: float
) -> list[Reminder]:
    if runs is None or minutes <= 0:
        return []
    rug_id, timer = runs
    since = timer_sums.worked(timer, now_utc).total_seconds() - timer.last_break_s
    first = now + timedelta(seconds=max(0.0, minutes * 60 - since))
    # The app is closed and nobody says that the break was taken: reminded once and once more, then no longer.
    return [
        Reminder(
            kind="break",
            channel=_("Breaks while the timer runs"),
            due=at,
            until=at + BREAK_USEFUL,
            title=_("Time for a break"),
            words=_("Stand up, look into the distance, let your hands rest."),
            page="loom",
            rug_id=rug_id,
        )
        for at in (first, first + timedelta(minutes=minutes))
    ]


def _copy_reminders(rugs: Sequence[RugBook], now: datetime, given: date | None) -> list[Reminder]:
    """Remind of a copy away from the phone once a fortnight's sessions lie on it alone, then weekly."""
    if given is not None and given > now.date():
        # The phone's clock ran ahead on that day: until it comes nothing could be told of what was woven since.
        given = None
    alone = [
        session.day for rug in rugs for session in rug.woven_sessions if given is None or session.day > given
    ]
    if not alone:
        return []
    due = datetime.combine(min(alone) + timedelta(days=COPY_AFTER_DAYS), ORDER_TIME)
    while due <= now:
        due += timedelta(days=COPY_EVERY_DAYS)
    return [
        Reminder(
            kind="copy",
            channel=_("A copy away from this phone"),
            due=due,
            until=datetime.combine(due.date(), time(23, 59)),
            title=_("Keep a copy in a second place"),
            words=_("Your latest entries are on this phone only. Give or save a file with the book."),
            page="sync",
            rug_id=rugs[0].plan.id,
        )
    ]


def build_reminders(
    rug: RugBook | None,
    answers: Answers | None,
    runs: tuple[str, timer_sums.Timer] | None,
    *,
    now_utc: datetime,
    now: datetime,
    entered: Sequence[datetime] = (),
    break_minutes: float = 0,
    given: date | None = None,
    beside: Sequence[RugBook] = (),
    promised: Sequence[tuple[RugBook, Answers]] = (),
) -> tuple[Reminder, ...]:
    """Return what to remind of from `now` on, the soonest first.

    Parameters
    ----------
    rug, answers
        The rug in hand and its answers; None: there is none.
    runs
        The rug whose timer runs, with the timer (`timer.running`); None: none does.
    now_utc, now
        The instant, and the same by the phone's own clock without a zone.
    entered
        Local times at which sessions were entered on their own day, the newest first.
    break_minutes
        The weaver's interval between breaks; 0 for never.
    given
        The day on which a file with the whole book last left the phone; None: never.
    beside
        The other rugs that are not finished: of each it is asked after its own days.
    promised
        Of those the ones that a customer was promised by a day, with their answers: of their yarn is reminded, too.
    """
    reminders = _break_reminders(runs, now_utc, now, break_minutes)
    if rug is not None:
        reminders += _session_reminders((rug, *beside), now, usual_time(entered))
        reminders += _copy_reminders((rug, *beside), now, given)
        if answers is not None:
            reminders += _order_reminders(rug, answers, now)
        for other, told in promised:
            reminders += _order_reminders(other, told, now, in_hand=False)
    return tuple(sorted(reminders, key=lambda one: one.due))
