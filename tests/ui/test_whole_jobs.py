"""Whole jobs by touch: a rug from its plan through three weeks of evenings, and a wrong week put right."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

from tests.today import TODAY
from tracker.previews.draw import settle

EVENINGS = 12


def plan_a_rug(hand) -> None:
    """60 x 90 cm at 25 x 25: 150 knots by 225 rows, two colours."""
    for key in (
        "Plan a rug",
        "Next: Size",
        "60 × 90 cm",
        "Next: Density, knot and pile",
        "25 × 25",
        "Next: Colours",
    ):
        hand.tap(key)
    for key in ("Add a colour", "Madder", "Add a colour", "Indigo"):
        hand.tap(key)
    hand.tap("Save")


def test_a_rug_is_planned_and_three_weeks_of_evenings_logged(open_app, tmp_path: Path) -> None:
    path = tmp_path / "book.loomside"
    hand = open_app(path)
    plan_a_rug(hand)
    desk = hand.app.desk
    assert (desk.rug.plan.knots_across, desk.rug.plan.rows) == (150, 225)
    assert hand.sees("from the plan")
    first = desk.answers.finish
    widths, rows = [(first.late - first.early).days], 0
    # Four evenings a week for three weeks, six rows each, opened anew every evening as a phone would be.
    days = [TODAY + timedelta(days=7 * (n // 4) + n % 4) for n in range(EVENINGS)]
    for number, day in enumerate(days):
        hand = open_app(path, today=day)
        hand.tap("Log the session")
        if number == 0:
            hand.tap("0")
            hand.tap("6")
            hand.tap("Done")
        else:
            hand.tap(next(key for key in hand.shell.page.ids.suggestions.children if key.value == 6))
        if number % 4 == 3:
            hand.tap("Madder")
        hand.tap("Save")
        if number == 3:
            # Nothing was bought yet, and the first ball of it is used up.
            hand.tap("Yes, save it")
        rows += 6
        desk = hand.app.desk
        assert hand.shell.page.ids.row_figure.text == str(rows)
        # On the strip the row gives its room to the reason where the evening moved the date.
        assert hand.sees("6 rows, 1 ball saved · " if number % 4 == 3 else "6 rows saved · ")
        assert hand.sees(f"Row {rows} of 225") or desk.answers.basis.moved_today is not None
        finish = desk.answers.finish
        assert finish.early <= finish.middle <= finish.late
        widths.append((finish.late - finish.early).days)
    assert desk.rug.rows_woven == 6 * EVENINGS
    # By hand: 153 rows at 24 a week are 6.4 weeks.
    by_hand = days[-1] + timedelta(days=round((225 - rows) / 24 * 7))
    assert abs((desk.answers.finish.middle - by_hand).days) <= 7
    assert widths[-1] < widths[0], "weeks of steady evenings make the forecast surer"
    assert hand.sees(f"from {EVENINGS} sessions")
    madder = next(yarn for yarn in desk.rug.yarns if yarn.name == "Madder")
    assert sum(dict(s.used).get(madder.id, 0) for s in desk.rug.sessions) == EVENINGS / 4


def one_more(hand):
    """The plus key of the rows."""
    from tests.ui.hand import everything
    from tracker.widgets.basics import Stepper

    stepper = next(widget for widget in everything(hand.shell) if isinstance(widget, Stepper))
    return stepper.children[0]


def test_a_wrong_week_is_put_right(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    week = [s for s in desk.rug.sessions if date(2026, 11, 9) <= s.day <= date(2026, 11, 15)]
    assert len(week) >= 3
    before, middle = desk.rug.rows_woven, desk.answers.finish.middle
    for session in week:
        hand.shell.go("session", session_id=session.id)
        settle()
        hand.tap(one_more(hand))
        hand.tap("Save")
        assert hand.shell.page_name == "home"
    assert desk.rug.rows_woven == before + len(week)
    assert {s.id for s in week} <= {s.id for s in desk.rug.sessions}
    assert desk.answers.finish.middle <= middle + timedelta(days=1), "more rows done are not a later date"
    # What was there before is still in the book.

    for session in week:
        versions = desk.history(session.id)
        assert len(versions) >= 2
