"""Rows taken out again, by touch: from which row on, how much of the yarn is lost, one act that one tap takes back."""

from __future__ import annotations

from tests.ui.hand import everything
from tracker.domain.act import ActKind
from tracker.domain.rug import UnpickedYarn


def at_unpicking(open_app, path):
    return unpick_key_tapped(open_app(path))


def unpick_key_tapped(hand):
    hand.tap("Log the session")
    key = next(w for w in everything(hand.shell.page) if getattr(w, "text", "") == "Unpick rows")
    hand.reach(key)
    hand.tap(key)
    assert hand.shell.page_name == "unpick"
    return hand


def losses(hand):
    return {row.line.name: row.line for row in hand.shell.page.ids.losses.children}


def test_rows_come_out_with_the_yarn_that_is_lost_and_one_undo_brings_all_back(open_app, demo) -> None:
    hand = at_unpicking(open_app, demo)
    desk = hand.app.desk
    rows, spoilt, sessions = desk.rug.rows_woven, desk.rug.spoilt, desk.rug.sessions
    hand.tap(hand.shell.page.ids.left.children[2].children[-1])  # one row lower: two come out
    assert hand.sees(f"Unpick rows {rows - 1} to {rows}")
    red = losses(hand)["Madder red"]
    assert red.lost_g > 0
    hand.tap(next(row for row in hand.shell.page.ids.losses.children if row.line.name == "Madder red"))
    hand.tap("2")
    hand.tap("Done")
    assert losses(hand)["Madder red"].lost_g == 2
    hand.tap(f"Unpick rows {rows - 1} to {rows}")
    assert desk.rug.rows_woven == rows - 2
    latest = desk.rug.sessions[-1]
    assert (latest.rows, latest.unpicked_yarn) == (-2, UnpickedYarn.SAID)
    lost = {loss.yarn_id: loss.mass_g for loss in desk.rug.spoilt if loss.session_id == latest.id}
    names = {yarn.id: yarn.name for yarn in desk.rug.yarns}
    assert {names[yarn]: grams for yarn, grams in lost.items()}["Madder red"] == 2
    assert len(lost) > 1
    assert desk.book.diary(limit=1)[0].kind == ActKind.ROWS_UNPICKED
    assert hand.sees("2 rows unpicked")
    hand.tap("Undo")
    assert (desk.rug.rows_woven, desk.rug.spoilt, desk.rug.sessions) == (rows, spoilt, sessions)


def test_the_row_at_the_loom_and_the_diary_follow_and_deleting_takes_the_losses_along(open_app, demo) -> None:
    hand = at_unpicking(open_app, demo)
    desk = hand.app.desk
    rows, spoilt = desk.rug.rows_woven, desk.rug.spoilt
    hand.tap(f"Unpick row {rows}")
    hand.tap("Row")
    assert hand.shell.page.figure == str(rows)
    hand.tap("Diary")
    said = next(word for word in hand.words() if word.startswith("1 row unpicked, and "))
    hand.tap(said)
    hand.tap("1 row unpicked")
    hand.tap("Correct")
    assert hand.shell.page_name == "unpick"
    assert hand.shell.page.first_row == rows
    assert hand.key_back()
    hand.tap(said)
    hand.tap("1 row unpicked")
    hand.tap("Delete")
    assert desk.rug.rows_woven == rows
    assert desk.rug.spoilt == spoilt


def test_rows_that_are_counted_and_not_saved_come_first_for_the_loom_would_go_on_from_them(
    open_app, demo
) -> None:
    hand = open_app(demo)
    rows = hand.app.desk.rug.rows_woven
    hand.tap("Row")
    hand.tap("Row done")
    hand.tap("Rug")
    unpick_key_tapped(hand)
    assert hand.sees("What you counted last is not saved yet.")
    assert not hand.sees("Unpick row ")
    hand.tap("Save the session")
    assert hand.shell.page_name == "session"
    hand.tap("Save")
    assert hand.app.desk.rug.rows_woven == rows + 1
    unpick_key_tapped(hand)
    hand.tap(f"Unpick row {rows + 1}")
    hand.tap("Row")
    assert hand.shell.page.figure == str(rows + 1)
