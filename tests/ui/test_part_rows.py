"""A session that ends within a row, by touch: half a row, knots typed, the place at the loom, and the row that goes on."""

from __future__ import annotations

from datetime import timedelta

from tests.ui.test_loom import at_the_loom, tiles
from tracker.presenters import session as form_sums


def test_half_a_row_is_one_tap_more_and_the_loom_goes_on_there(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    rows, half = desk.rug.rows_woven, desk.rug.knots_across // 2
    hand.tap("Log the session")
    usual = hand.shell.page.ids.suggestions.children[2]
    gained = usual.value
    hand.tap(usual)
    hand.tap("Half")
    assert hand.sees(f"row {rows + gained} done and {half} knots")
    hand.tap("Save")
    assert (desk.rug.rows_woven, desk.rug.knots_begun) == (rows + gained, half)
    row = rows + gained + 1
    assert hand.sees(f"row {row}: {half} of {desk.rug.knots_across} knots")
    hand.tap("Row")
    page = hand.shell.page
    here = next(tile for tile in tiles(hand) if tile.here)
    run = page.row.runs[here.index]
    assert page.figure == str(row)
    assert run.first <= half + 1 <= run.last
    assert int(here.count) == run.last - half
    assert page.ids.strip.place == half
    assert hand.sees(f"{half} of {desk.rug.knots_across} knots tied")
    # The head follows the taps: two figures for one thing stood on the page.
    hand.tap(here)
    assert hand.sees(f"{run.last} of {desk.rug.knots_across} knots tied")
    assert not hand.sees(f"{half} of {desk.rug.knots_across} knots tied")


def test_no_key_moves_under_the_finger_when_half_a_row_is_said(open_app, demo) -> None:
    hand = open_app(demo)
    hand.tap("Log the session")
    half = hand.shell.page.ids.half
    before = half.to_window(*half.center)
    hand.tap_at(*before)
    assert hand.sees("and 120 knots")
    assert half.to_window(*half.center) == before


def test_an_undo_takes_the_half_row_back_and_the_form_has_it_again(open_app, demo) -> None:
    hand = open_app(demo)
    hand.tap("Log the session")
    hand.tap("Half")
    hand.tap("Save")
    assert hand.app.desk.rug.knots_begun
    hand.tap("Undo")
    assert hand.app.desk.rug.knots_begun == 0
    hand.tap("Log the session")
    assert hand.shell.page.form.begun_knots == hand.app.desk.rug.knots_across // 2
    hand.tap("Half")
    assert hand.shell.page.form.begun_knots is None


def test_knots_are_typed_and_a_whole_row_is_none(open_app, demo) -> None:
    hand = open_app(demo)
    hand.tap("Log the session")
    hand.tap("Knots")
    for digit in "37":
        hand.tap(digit)
    hand.tap("Done")
    assert hand.shell.page.form.begun_knots == 37
    assert hand.sees("37 knots")
    hand.tap("Save")
    assert hand.app.desk.rug.knots_begun == 37


def test_the_place_marked_at_the_loom_waits_in_the_session(open_app, demo) -> None:
    hand = at_the_loom(open_app, demo)
    drafts = hand.app.desk.drafts
    hand.tap(tiles(hand)[2])
    knots = hand.shell.page.row.runs[1].last
    # What the mark does is said beside the key that takes it off.
    told = f"{knots} knots of row {hand.shell.page.row.row} tied. Today's session counts them."
    assert hand.sees(told)
    hand.tap(hand.shell.page.ids.back)
    assert not hand.sees(told)
    assert tiles(hand)[0].here
    hand.tap(tiles(hand)[2])
    hand.tap("Rug")
    # Left over from another evening it is offered, and nothing is saved of it that nobody touched.
    marked = drafts.get("loom place")
    rug_id, today = hand.app.desk.rug.plan.id, hand.app.desk.today()
    of_yesterday = {**marked[rug_id], "on": (today - timedelta(days=1)).isoformat()}
    drafts.put("loom place", {rug_id: of_yesterday})
    hand.tap("Log the session")
    assert hand.shell.page.form.begun_knots is None
    assert hand.shell.page.ids.save.disabled
    hand.tap(f"{knots} knots")
    assert hand.shell.page.form.begun_knots == knots
    assert not hand.shell.page.ids.save.disabled
    hand.key_back()
    form_sums.keep_form(drafts, rug_id, None)
    drafts.put("loom place", marked)
    hand.tap("Log the session")
    assert hand.shell.page.form.begun_knots == knots
    assert hand.sees(f"{knots} knots")
    assert hand.sees("Marked at the loom. Tap it to change it.")
    # With rows finished the mark was another row's.
    usual = hand.shell.page.ids.suggestions.children[2]
    hand.tap(usual)
    assert hand.shell.page.form.begun_knots is None
    hand.tap(f"+{usual.value}")
    hand.tap("0")
    hand.tap("Done")
    assert hand.shell.page.form.begun_knots == knots
    hand.tap("Save")
    assert hand.app.desk.rug.knots_begun == knots
    hand = at_the_loom(open_app, demo)
    assert next(tile for tile in tiles(hand) if tile.here).index == 2
    # A run that was left behind by mistake can be marked again, the first one too.
    hand.shell.page.ids.runs.scroll_y = 1
    hand.wait(lambda: tiles(hand)[0].index == 0)
    hand.tap(tiles(hand)[0])
    assert next(tile for tile in tiles(hand) if tile.here).index == 0


def test_what_is_said_in_the_session_counts_before_an_older_mark_at_the_loom(open_app, demo) -> None:
    hand = at_the_loom(open_app, demo)
    hand.tap(tiles(hand)[2])
    hand.tap("Rug")
    hand.tap("Log the session")
    hand.tap("Half")
    hand.tap("Save")
    hand.tap("Row")
    here = next(tile for tile in tiles(hand) if tile.here)
    half = hand.app.desk.rug.knots_across // 2
    assert hand.shell.page.row.runs[here.index].first <= half + 1
    assert here.index > 2


def test_an_undone_half_row_is_told_and_can_be_put_away(open_app, demo) -> None:
    hand = open_app(demo)
    hand.tap("Log the session")
    hand.tap("Half")
    hand.tap("Save")
    hand.tap("Undo")
    hand.tap("Log the session")
    page = hand.shell.page
    assert hand.sees("Undone, but not lost: it waits here.")
    assert page.form.begun_knots
    hand.tap("Leave it")
    assert page.form.begun_knots is None
    assert not hand.sees("it waits here")
    hand.tap("Undo")
    assert page.form.begun_knots
    hand.tap("Leave it")
    hand.key_back()
    hand.tap("Log the session")
    assert hand.shell.page.form.begun_knots is None
