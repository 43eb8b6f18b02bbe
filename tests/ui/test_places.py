"""Two sit side by side: they say by touch who has which knots and who stands ahead, and each reads her own part."""

from __future__ import annotations

from kivy.core.window import Window

from tests.today import TODAY
from tracker.previews.draw import settle

LEFT, RIGHT = "Left seat", "Right seat"
KNOTS = 241
"""Knots in a row of the demo's rug."""


def sit_together(hand) -> tuple[str, str]:
    """Open the session form with both weavers at the loom; return their ids, first tapped first."""
    hand.tap("Log the session")
    ids = {weaver.name: weaver.id for weaver in hand.app.desk.rug.weavers}
    form = hand.shell.page.form
    for name in (LEFT, RIGHT):
        if ids[name] in form.weavers:
            hand.tap(name)
    for name in (LEFT, RIGHT):
        hand.tap(name)
    assert hand.shell.page.form.weavers == (ids[LEFT], ids[RIGHT])
    return ids[LEFT], ids[RIGHT]


def test_on_its_side_who_sat_there_stands_under_the_rows_and_comes_back_when_the_phone_is_turned(
    open_app, demo
) -> None:
    hand = open_app(demo)
    sit_together(hand)
    page = hand.shell.page
    ids = page.ids

    def lies_in(column) -> bool:
        return all(
            any(one is widget for one in column.walk()) for widget in (page.places_line, ids.weavers.__self__)
        )

    assert lies_in(ids.right)
    assert ids.note.to_window(0, ids.note.top)[1] < ids.weavers.to_window(0, ids.weavers.y)[1]
    Window.size = (892, 412)
    settle()
    assert lies_in(ids.left)
    # No half is empty where the other one still has something to say.
    longer, shorter = sorted((ids.left.height, ids.right.height), reverse=True)
    assert longer - shorter < 412 / 2
    Window.size = (360, 640)
    settle()
    assert lies_in(ids.right)


def open_places(hand):
    hand.tap(hand.shell.page.places_line.ids.key)
    return hand.shell.sheet.content


def test_a_team_says_its_places_and_next_time_they_stand_there(open_app, demo) -> None:
    hand = open_app(demo)
    left, right = sit_together(hand)
    assert hand.sees("until you say who sits where")
    sheet = open_places(hand)
    # 241 knots: 121 and 120.
    assert hand.sees("121 knots (knots 1 to 121)")
    assert hand.sees("120 knots (knots 122 to 241)")
    hand.tap("after knot 121")
    for digit in "100":
        hand.tap(digit)
    hand.tap("Done")
    assert hand.shell.sheet.content is sheet
    assert hand.sees("141 knots (knots 101 to 241)")
    # One knot more for who sits on the left, then three rows ahead on the right.
    border = sheet.borders[0]
    hand.tap(border.children[1])
    assert hand.sees("after knot 101")
    for _row in range(3):
        hand.tap(sheet.cards[1]._rows.children[0])
    assert hand.sees("3 rows ahead")
    hand.tap("Done")
    assert hand.shell.sheet is None
    assert hand.sees("2 Right seat: 140 knots, 3 rows ahead")
    hand.tap(hand.shell.page.ids.suggestions.children[2])
    hand.tap("Save")
    latest = hand.app.desk.rug.sessions[-1]
    assert latest.day == TODAY
    assert latest.places == ((left, 1, 101), (right, 102, KNOTS))
    assert latest.ahead == ((right, 3),)

    # The next evening asks nothing again: rows, save.
    hand.tap("Log the session")
    assert hand.sees("1 Left seat: 101 knots")
    hand.tap(hand.shell.page.ids.suggestions.children[2])
    hand.tap("Save")
    assert hand.app.desk.rug.sessions[-1].places == latest.places


def test_two_change_seats_share_evenly_and_leave_it_unsaid(open_app, demo) -> None:
    hand = open_app(demo)
    left, right = sit_together(hand)
    sheet = open_places(hand)
    hand.tap(sheet.borders[0].swap)
    # Each keeps her knots: who had 120 has knots 1 to 120 now.
    assert hand.shell.page.form.places == ((right, 1, 120), (left, 121, KNOTS))
    hand.tap(sheet.borders[0].children[3])
    assert hand.shell.page.form.places == ((right, 1, 119), (left, 120, KNOTS))
    hand.tap("Share evenly")
    assert hand.shell.page.form.places == ((right, 1, 121), (left, 122, KNOTS))
    hand.tap("Skip")
    assert hand.shell.page.form.places == ()
    assert hand.sees("until you say who sits where")


def test_a_glance_at_the_places_says_nothing_for_the_weavers(open_app, demo) -> None:
    hand = open_app(demo)
    sit_together(hand)
    open_places(hand)
    assert hand.key_back()
    assert hand.shell.page.form.places == ()


def test_the_places_are_still_there_after_the_app_was_closed(open_app, demo) -> None:
    hand = open_app(demo)
    left, right = sit_together(hand)
    sheet = open_places(hand)
    hand.tap(sheet.borders[0].children[1])
    hand = open_app(demo)
    hand.tap("Log the session")
    assert hand.shell.page.form.places == ((left, 1, 122), (right, 123, KNOTS))
    assert hand.sees("1 Left seat: 122 knots")


def test_the_form_of_one_weaver_has_no_line_of_places(open_app, demo) -> None:
    hand = open_app(demo)
    sit_together(hand)
    assert hand.sees("Places across the width")
    hand.tap(RIGHT)
    assert not hand.sees("Places across the width")


def test_at_the_loom_each_weaver_reads_her_own_part(open_app, demo) -> None:
    hand = open_app(demo)
    hand.tap("Row")
    assert not hand.sees("The whole row")
    hand.tap("Rug")
    sit_together(hand)
    sheet = open_places(hand)
    hand.tap(sheet.cards[1]._rows.children[0])
    hand.tap("Done")
    hand.tap(hand.shell.page.ids.suggestions.children[2])
    hand.tap("Save")
    hand.tap("Row")
    page = hand.shell.page
    whole, current = page.row.runs, page.row.current
    assert sum(run.knots for run in whole) == KNOTS
    hand.tap("The whole row")
    hand.tap("Left seat: knots 1 to 121")
    runs = page.row.runs
    assert (runs[0].first, runs[-1].last, sum(run.knots for run in runs)) == (1, 121, 121)
    assert page.row.row == current
    # Who stands a row ahead is led to the row after it, and back again.
    hand.tap("Left seat: knots 1 to 121")
    hand.tap("Right seat: knots 122 to 241, 1 row ahead")
    assert page.row.row == current + 1
    assert (page.row.runs[0].first, page.row.runs[-1].last) == (122, KNOTS)
    hand.tap(f"Back to row {current}")
    assert page.row.row == current
    assert page.row.runs[0].first == 122
    # The part looked at is still so after the app was closed.
    hand = open_app(demo)
    hand.tap("Row")
    assert hand.shell.page.row.runs[0].first == 122
    hand.tap("Right seat: knots 122 to 241, 1 row ahead")
    hand.tap("The whole row")
    assert sum(run.knots for run in hand.shell.page.row.runs) == KNOTS
