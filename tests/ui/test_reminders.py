"""A break is reminded of on the screen, whatever page is open."""

from __future__ import annotations

from datetime import timedelta

from tracker.device.clock import now_utc
from tracker.presenters import timer
from tracker.previews.draw import settle


def test_a_long_sitting_is_reminded_of_a_break_on_any_page(open_app) -> None:
    hand = open_app(None)
    desk = hand.app.desk
    hand.tap("Diary")
    timer.keep_timer(desk.drafts, "rug", timer.start(now_utc() - timedelta(minutes=46)))
    hand.app._look_at_timer(0)
    settle()
    assert hand.sees("0:46 at the loom.")
    hand.shell.dismiss_toast()
    hand.app._look_at_timer(0)
    settle()
    assert not hand.sees("at the loom.")


def test_a_clock_set_back_takes_no_hours_from_the_timer_that_runs(open_app, demo) -> None:
    hand = open_app(demo)
    app, drafts, rug_id = hand.app, hand.app.desk.drafts, hand.app.desk.rug_id
    began = now_utc() - timedelta(minutes=30)
    timer.keep_timer(drafts, rug_id, timer.start(began))
    app._clock_watch._now = lambda: now_utc() - timedelta(days=10)
    hand.tap("Diary")
    shown = timer.worked(timer.timer_of(drafts, rug_id), now_utc() - timedelta(days=10))
    assert abs(shown - timedelta(minutes=30)) < timedelta(minutes=1)
