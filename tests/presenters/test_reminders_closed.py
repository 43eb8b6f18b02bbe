"""What the phone reminds of while the app is closed."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

from tests.drafts_in_memory import drafts
from tests.presenters.rugs import book, plan, session
from tests.presenters.test_yarn_page import answer
from tracker.domain.rug import DaysOff, RugStage
from tracker.presenters import timer
from tracker.presenters.reminders import BREAK_USEFUL, build_reminders, usual_time

WEDNESDAY = date(2026, 11, 25)


def at(clock: str, day: date = WEDNESDAY) -> datetime:
    return datetime.combine(day, time.fromisoformat(clock))


def at_rug(running: timer.Timer, now: str = "12:00", rug_id: str = "rug"):
    """Return the timer of a rug as the app asks for the one that runs."""
    kept = drafts()
    timer.keep_timer(kept, rug_id, running)
    return timer.running(kept, at(now).replace(tzinfo=UTC))


def reminders(rug=None, *, now: str = "12:00", yarns=(), **more):
    class OnlyYarns:
        def __init__(self) -> None:
            self.yarns = yarns

    return build_reminders(
        rug, OnlyYarns() if yarns else None, more.pop("timer", None), now_utc=at(now).replace(tzinfo=UTC), now=at(now), **more
    )  # fmt: skip


def test_a_session_not_written_down_is_asked_about_after_the_usual_hour() -> None:
    evenings = [at("19:10"), at("18:50"), at("19:00"), at("21:30"), at("19:05")]
    first = reminders(book(), entered=evenings)[0]
    assert first.due == at("19:35")  # the middle of the five is 19:05; half an hour later
    assert (first.page, first.rug_id) == ("session", "rug")
    assert "Little field" in first.words
    assert first.until == at("23:59")


def test_before_her_own_hour_is_known_it_is_eight_in_the_evening() -> None:
    assert usual_time([at("10:00")] * 4) == time(20)
    assert usual_time([at("10:00")] * 5) == time(10)


def test_nobody_is_reminded_in_the_night() -> None:
    assert reminders(book(), entered=[at("23:50")] * 5)[0].due == at("22:30")
    # Who sits up past midnight was woken at one, and asked of a day that had just begun.
    late = [at("00:30"), at("00:10"), at("23:40"), at("01:05"), at("00:20")]
    assert reminders(book(), entered=late)[0].due == at("22:30")
    assert usual_time([at("05:30")] * 5) == time(5, 30)


def test_a_day_written_down_a_day_off_and_a_free_weekday_are_left_in_peace() -> None:
    woven = book(session(24, 5))  # 25 November
    assert session(24, 5).day == WEDNESDAY
    days = [one.due.date() for one in reminders(woven) if one.kind == "session"]
    assert days == [date(2026, 11, 26), date(2026, 11, 27)]
    off = DaysOff(
        id="o", rug_id=None, first_day=date(2026, 11, 25), last_day=date(2026, 11, 26), reason="wedding"
    )
    assert [one.due.date() for one in reminders(book(days_off=(off,)))] == [date(2026, 11, 27)]
    assert reminders(book(plan=plan(weekdays=(6,)))) == ()


def test_a_finished_or_planned_rug_asks_nothing() -> None:
    for stage in (RugStage.FINISHED, RugStage.PLANNED):
        assert reminders(book(plan=plan(stage=stage))) == ()


def test_the_evening_that_has_passed_is_not_asked_about() -> None:
    assert reminders(book(), now="21:00")[0].due.date() == date(2026, 11, 26)


def test_an_order_is_due_in_the_morning_of_its_day_and_says_what_to_order() -> None:
    rug = book(plan=plan(weekdays=()))
    (order,) = reminders(rug, yarns=(answer(order_by=date(2026, 12, 4)),))
    assert order.due == at("09:00", date(2026, 12, 4))
    assert order.page == "shopping"
    assert "Madder" in order.words
    assert "500 g" in order.words
    assert reminders(rug, yarns=(replace(answer(), order_g=0.0),)) == ()


def test_yarn_is_ordered_for_every_rug_that_is_promised_and_the_others_are_named() -> None:
    """The yarn of a rug that a customer waits for was reminded of only while it was in hand."""

    class Told:
        def __init__(self, *yarns) -> None:
            self.yarns = yarns

    rug = book(plan=plan(weekdays=()))
    other = book(plan=plan(id="o", name="Meadow", weekdays=()))
    due = Told(answer(order_by=date(2026, 12, 4)))
    own, others = sorted(
        reminders(rug, yarns=due.yarns, promised=((other, due),)), key=lambda one: one.rug_id != "rug"
    )
    assert (own.rug_id, others.rug_id, others.page) == ("rug", "o", "shopping")
    assert others.words == f"Meadow\n{own.words}"
    assert others.due == own.due


def test_each_reminder_in_full() -> None:
    rug = book(session(10, 5))
    noon = at("12:00")
    told = build_reminders(
        rug, None, at_rug(timer.start(at("11:50").replace(tzinfo=UTC))), now_utc=noon.replace(tzinfo=UTC), now=noon, break_minutes=45
    )  # fmt: skip
    by_kind = {one.kind: one for one in reversed(told)}
    assert {
        kind: (one.channel, one.title, one.words, one.page, one.rug_id, one.due, one.until)
        for kind, one in by_kind.items()
    } == {
        "break": ("Breaks while the timer runs", "Time for a break", "Stand up, look into the distance, let your hands rest.",
                  "loom", "rug", at("12:35"), at("12:35") + BREAK_USEFUL),
        "session": ("Sessions not logged", "Did you weave today?",
                    "Nothing is logged for Little field today yet.", "session", "rug", at("20:30"), at("23:59")),
        "copy": ("A copy away from this phone", "Keep a copy in a second place",
                 "Your latest entries are on this phone only. Give or save a file with the book.", "sync", "rug",
                 at("09:00", date(2026, 12, 2)), at("23:59", date(2026, 12, 2))),
    }  # fmt: skip


def test_yarn_is_ordered_until_its_day_at_nine_and_only_what_the_plan_still_has() -> None:
    rug = book(plan=plan(weekdays=()))
    today = answer(order_by=WEDNESDAY)
    (order,) = reminders(rug, now="08:59", yarns=(today,))
    assert (order.kind, order.channel, order.title, order.rug_id) == (
        "order",
        "Yarn to order",
        "Yarn to order today",
        "rug",
    )
    assert (order.due, order.until) == (at("09:00"), at("23:59"))
    assert order.words.startswith("Madder: ")
    assert reminders(rug, now="09:00", yarns=(today,)) == ()
    assert reminders(rug, yarns=(answer("gone", order_by=date(2026, 12, 4)),)) == ()
    assert reminders(rug, yarns=(replace(today, order_by=None),)) == ()
    # Of two days the earlier one is told first, of one day each yarn on a line.
    later = answer("blue", order_by=date(2026, 12, 5))
    two = reminders(rug, yarns=(later, answer(order_by=date(2026, 12, 4)), replace(later, yarn_id="weft")))
    assert [(one.due.day, [line.split(":")[0] for line in one.words.splitlines()]) for one in two] == [
        (4, ["Madder"]), (5, ["Indigo", "Ground weft"]),
    ]  # fmt: skip


def test_two_yarns_of_one_day_make_one_reminder() -> None:
    (order,) = reminders(book(plan=plan(weekdays=())), yarns=(answer(), answer("blue")))
    assert "Madder" in order.words
    assert "Indigo" in order.words


def test_a_break_comes_after_what_is_left_of_the_interval_and_once_more() -> None:
    running = timer.start(at("11:50").replace(tzinfo=UTC))
    breaks = reminders(timer=at_rug(running), break_minutes=45)
    assert [one.due for one in breaks] == [at("12:35"), at("13:20")]


def test_a_break_leads_to_the_loom_of_the_rug_that_is_timed_and_not_to_the_one_in_hand() -> None:
    running = at_rug(timer.start(at("11:50").replace(tzinfo=UTC)), rug_id="the other")
    breaks = reminders(book(plan=plan(weekdays=())), timer=running, break_minutes=45)
    assert {(one.page, one.rug_id) for one in breaks} == {("loom", "the other")}


def test_a_paused_a_forgotten_and_an_unwanted_break_stay_away() -> None:
    noon = at("12:00").replace(tzinfo=UTC)
    paused = timer.pause(timer.start(noon - timedelta(minutes=10)), noon)
    assert reminders(timer=at_rug(paused), break_minutes=45) == ()
    assert reminders(timer=at_rug(timer.start(noon - timedelta(hours=17))), break_minutes=45) == ()
    assert reminders(timer=at_rug(timer.start(noon)), break_minutes=0) == ()


def test_the_soonest_comes_first() -> None:
    found = reminders(book(), yarns=(answer(order_by=date(2026, 11, 26)),))
    assert [one.due for one in found] == sorted(one.due for one in found)
    assert {one.kind for one in found} == {"session", "order"}


def test_a_fortnight_on_one_phone_alone_asks_for_a_copy_and_then_weekly() -> None:
    rug = book(session(10, 5), session(20, 5))  # 11 and 21 November
    first = rug.woven_sessions[0].day

    def copies(now: datetime, given: date | None = None) -> list[datetime]:
        told = build_reminders(rug, None, None, now_utc=now.replace(tzinfo=UTC), now=now, given=given)
        return [one.due for one in told if one.kind == "copy"]

    before = datetime.combine(first + timedelta(days=3), time(12))
    assert copies(before) == [datetime.combine(first + timedelta(days=14), time(9))]
    late = datetime.combine(first + timedelta(days=15), time(12))
    assert copies(late) == [datetime.combine(first + timedelta(days=21), time(9))], (
        "a week after it was first due"
    )


def test_a_book_given_away_is_spoken_of_only_when_more_was_woven_since() -> None:
    rug = book(session(10, 5), session(20, 5))
    first, last = (one.day for one in rug.woven_sessions)
    now = datetime.combine(last, time(12))

    def copies(given: date | None) -> list[datetime]:
        told = build_reminders(rug, None, None, now_utc=now.replace(tzinfo=UTC), now=now, given=given)
        return [one.due for one in told if one.kind == "copy"]

    assert copies(last) == []
    # Given on a day to come, by a clock that ran ahead: it would silence this until then.
    assert copies(last + timedelta(days=400)) == copies(None) != []
    assert copies(first) == [datetime.combine(last + timedelta(days=14), time(9))]
    [reminder] = [one for one in build_reminders(rug, None, None, now_utc=now.replace(tzinfo=UTC), now=now) if one.kind == "copy"]  # fmt: skip
    assert reminder.page == "sync", "a tap leads to where a file is given"


def test_of_two_rugs_on_looms_each_is_asked_after_on_its_own_days() -> None:
    """Only the rug in hand was asked after: what was woven on the other one was forgotten without a word."""
    first = book(session(24, 5), plan=plan(weekdays=(2, 3)))
    other = book(plan=plan(id="other", name="Runner", weekdays=(2, 4)))
    unbegun = book(plan=plan(id="next", name="Next", weekdays=(2, 3, 4), stage=RugStage.PLANNED))
    # Wednesday, the 25th, is logged for the first one.
    found = [one for one in reminders(first, beside=(other, unbegun)) if one.kind == "session"]
    assert [(one.due.day, one.rug_id, one.words) for one in found] == [
        (25, "other", "Nothing is logged for Runner today yet."),
        (26, "rug", "Nothing is logged for Little field today yet."),
        (27, "other", "Nothing is logged for Runner today yet."),
    ]
    (both, *_rest) = reminders(replace(first, sessions=()), beside=(other,))
    assert (both.rug_id, both.words) == ("rug", "Nothing is logged for Little field and Runner today yet.")
    # What was woven on the other rug lies on this phone alone, too.
    woven = replace(other, sessions=(session(19, 5),))
    (copy,) = (one for one in reminders(first, beside=(woven,)) if one.kind == "copy")
    assert (copy.due.day, copy.page) == (4, "sync")
