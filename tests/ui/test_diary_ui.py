"""The diary by touch: found, corrected, withdrawn, restored; pictures kept; thousands of entries to the last."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from kivy.core.window import Window

from tests.presenters.rugs import plan, session, yarns
from tests.today import TODAY
from tests.ui.hand import everything, shown
from tests.ui.handed_time import pass_time
from tests.ui.test_yarn_ui import tap_number
from tracker.device import photos
from tracker.device.photos import photo_path, thumbnail_path
from tracker.domain.act import ActKind
from tracker.domain.errors import BookTrouble
from tracker.domain.lot_change import LotChange
from tracker.domain.rug import Measurement, new_id
from tracker.previews.draw import settle
from tracker.screens.diary.diary import BriefText
from tracker.sheets.entry_detail import RecordDetail
from tracker.widgets.look import look
from tracker.widgets.plain_label import cut_to_lines, lines_taken


def rows_in_sight(hand) -> list:
    """Return the visible lines, top first."""
    found = [row for row in hand.shell.page.ids.rows.children[0].children if row.line.act_id]
    return sorted(found, key=lambda row: -row.y)


def search(hand, text: str) -> None:
    hand.tap(hand.shell.page.children[-1].ids.actions.children[-1])
    hand.shell.page.search_line.ids.letters.text = text
    hand.wait(lambda: text in hand.shell.page.found)


def test_the_newest_entry_stands_on_top_with_its_day(open_app, demo) -> None:
    hand = open_app(demo)
    hand.tap("Diary")
    page = hand.shell.page
    assert page.found == f"{hand.app.desk.diary_count(folded=True, mended_in_place=True)} entries"
    top = rows_in_sight(hand)[0].line
    assert (top.day, top.month) == ("24", "Nov")
    assert "Wedding in the village" in top.head


def test_a_wrong_session_is_found_corrected_and_its_history_shows_both(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    wrong = next(s for s in desk.rug.sessions if s.note.startswith("Half of the pool"))
    before = desk.rug.rows_woven
    hand.tap("Diary")
    search(hand, "half of the pool")
    assert hand.shell.page.found == "1 entry · “half of the pool”"
    hand.tap(rows_in_sight(hand)[0])
    hand.tap("Correct")
    assert hand.shell.page_name == "session"
    hand.tap(f"+{wrong.rows}")
    tap_number(hand, str(wrong.rows + 2))
    hand.tap("Save")
    assert hand.shell.page_name == "diary"
    assert desk.rug.rows_woven == before + 2
    assert next(s for s in desk.rug.sessions if s.id == wrong.id).note == wrong.note
    # The correction and what it corrected are both in the diary; the search is still on.
    assert len(rows_in_sight(hand)) == 2
    hand.tap(rows_in_sight(hand)[0])
    assert hand.sees(f"Rows: +{wrong.rows} → +{wrong.rows + 2}")
    assert hand.sees("Corrected")
    assert hand.sees("Entered")


def test_the_strip_after_a_correction_leaves_the_corrected_entry_in_sight(open_app, demo) -> None:
    hand = open_app(demo)
    last = hand.app.desk.rug.sessions[-1]
    hand.tap("Diary")
    hand.tap(next(row for row in rows_in_sight(hand) if row.line.head.startswith(f"+{last.rows} rows")))
    hand.tap("Correct")
    hand.tap(f"+{last.rows}")
    tap_number(hand, str(last.rows + 1))
    hand.tap("Save")
    settle()
    (strip,) = hand.shell.ids.toast_place.children
    newest = next(row for row in rows_in_sight(hand) if row.line.head.startswith(f"+{last.rows + 1} rows"))
    assert strip.to_window(*strip.pos)[1] >= newest.to_window(0, newest.top)[1]


def test_the_diary_is_read_anew_only_when_something_was_entered(open_app, demo, monkeypatch) -> None:
    hand = open_app(demo)
    hand.tap("Diary")
    desk, page = hand.app.desk, hand.shell.page
    reads = []
    count = desk.diary_count

    def counted(**query) -> int:
        reads.append(query)
        return count(**query)

    monkeypatch.setattr(desk, "diary_count", counted)
    for name in ("home", "diary"):
        hand.shell.open_tab(name)
        settle()
    assert reads == []
    assert hand.shell.page is page
    assert len(rows_in_sight(hand)) > 3
    acts = count(folded=True, mended_in_place=True)
    hand.shell.open_tab("home")
    session = desk.rug.sessions[-1]
    desk.act("session corrected", replace(session, note="Rain all day"))
    hand.shell.open_tab("diary")
    settle()
    assert len(reads) == 1
    # A correction is no line of its own: the session stands there as it counts.
    assert page.found == f"{acts} entries"
    search(hand, "rain all day")
    assert page.found == "1 entry · “rain all day”"


def test_an_entry_is_withdrawn_and_restored_much_later(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    session_id, rows = desk.rug.sessions[-1].id, desk.rug.rows_woven
    gained = desk.rug.sessions[-1].rows
    # The cloth was measured at the session's last row: without the session that row was never woven.
    measured = Measurement(
        id=new_id(), rug_id=desk.rug_id, day=desk.rug.sessions[-1].day, row=rows, length_cm=30.0
    )
    desk.act("cloth measured", measured, rug_id=desk.rug_id)
    hand.tap("Diary")
    hand.tap(rows_in_sight(hand)[2])
    for answer in ("Leave it", "Delete it all the same"):
        hand.tap("Delete")
        assert hand.sees(f"cloth measured at row {rows}")
        assert desk.rug.rows_woven == rows
        hand.tap(answer)
    assert desk.rug.rows_woven == rows - gained
    assert hand.sees("Deleted: ")
    # The app is closed; days go by.
    hand = open_app(demo, today=TODAY + timedelta(days=3))
    desk = hand.app.desk
    hand.tap("Diary")
    top = rows_in_sight(hand)[0]
    assert (top.line.head, top.line.struck) == ("Session deleted", False)
    # One line is enough: what was deleted is named in it and opens by it, and stands nowhere else.
    assert f"{gained:+d} rows" in top.line.more
    assert not any(row.line.struck for row in rows_in_sight(hand))
    hand.tap(top)
    assert hand.sees("Deleted: it no longer counts.")
    detail = next(w for w in everything(hand.shell.sheet) if isinstance(w, RecordDetail))
    (restore,) = detail.ids.restore.children
    assert restore.to_window(0, restore.y)[1] >= detail.ids.lines.to_window(0, detail.ids.lines.top)[1], (
        "what brings it back stands before all that it said"
    )
    hand.tap("Restore")
    assert desk.rug.rows_woven == rows
    assert desk.rug.sessions[-1].id == session_id
    assert hand.sees("Restored: ")


def test_taking_an_act_back_can_itself_be_taken_back(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    slip = next(e for e in _entries(desk) if e.kind == "session corrected")
    right, rows = slip.changes[0].after.rows, desk.rug.rows_woven
    wrong = slip.changes[0].before.rows
    hand.tap("Diary")
    hand.tap(hand.shell.page.children[-1].ids.actions.children[1])
    hand.tap("Corrections and what was undone")
    row = next(row for row in rows_in_sight(hand) if row.line.act_id == slip.act_id)
    hand.tap(row)
    hand.tap("Undo this correction")
    assert desk.rug.rows_woven == rows - right + wrong
    hand.tap("Undo")
    assert desk.rug.rows_woven == rows
    # Five rows more, at the last of which the cloth was measured: taken back, that row was never woven.
    last = desk.rug.sessions[-1]
    raised = desk.act("session corrected", replace(last, rows=last.rows + 5), rug_id=desk.rug_id)
    measured = Measurement(id=new_id(), rug_id=desk.rug_id, day=last.day, row=rows + 5, length_cm=30.0)
    desk.act("cloth measured", measured, rug_id=desk.rug_id)
    settle()
    hand.tap(next(row for row in rows_in_sight(hand) if row.line.act_id == raised))
    hand.tap("Undo this correction")
    assert hand.sees(f"cloth measured at row {rows + 5}")
    assert desk.rug.rows_woven == rows + 5
    hand.tap("Yes, all the same")
    assert desk.rug.rows_woven == rows
    # Among all that was entered it is one line, struck, and done again from there.
    hand.tap("Show everything")
    settle()
    named = [(row.line.act_id, row.line.struck, row.line.tag) for row in rows_in_sight(hand)]
    assert (raised, True, "undone") in named
    assert not any(row.line.head == "Undone" for row in rows_in_sight(hand))
    hand.tap(next(row for row in rows_in_sight(hand) if row.line.act_id == raised))
    hand.tap("Do it again")
    assert desk.rug.rows_woven == rows + 5


def _entries(desk):
    return desk.book.diary(limit=500)


def test_narrowed_to_yarn_only_yarn_is_there_and_everything_comes_back(open_app, demo) -> None:
    hand = open_app(demo)
    hand.tap("Diary")
    everything = hand.shell.page.found
    hand.tap(hand.shell.page.children[-1].ids.actions.children[1])
    hand.tap(next(w for w in _sheet_keys(hand) if w.text == "Yarn"))
    assert "Yarn" in hand.shell.page.found
    assert {row.line.icon for row in rows_in_sight(hand)} <= {"buy", "weigh", "spoilt", "knot", "row"}
    hand.tap("Show everything")
    assert hand.shell.page.found == everything


def _sheet_keys(hand):
    from tracker.widgets.basics import Key

    return [widget for widget in everything(hand.shell.sheet) if isinstance(widget, Key)]


def test_a_search_without_luck_says_what_to_do(open_app, demo) -> None:
    hand = open_app(demo)
    hand.tap("Diary")
    search(hand, "no such word")
    assert hand.sees("Nothing found.")
    hand.key_back()
    hand.wait(lambda: "“" not in hand.shell.page.found)
    assert not hand.sees("Nothing found.")


def test_beside_the_list_a_wide_window_shows_the_entry(open_app, demo) -> None:
    hand = open_app(demo, size=(892, 412))
    hand.tap("Diary")
    settle()
    # Until one is open the lines have the whole width.
    assert rows_in_sight(hand)[1].width > 0.95 * hand.shell.page.width
    hand.tap(rows_in_sight(hand)[1])
    settle()
    assert hand.shell.sheet is None
    assert rows_in_sight(hand)[1].width < 0.6 * hand.shell.page.width
    assert hand.sees("Who wove")
    for size in ((360, 640), (892, 412)):
        # Turned upright the entry is put away, also while another page is shown; the lines have the whole width again.
        hand.tap("Rug")
        Window.size = size
        settle()
        hand.tap("Diary")
        assert rows_in_sight(hand)[1].width > 0.95 * hand.shell.page.width, size
    hand.tap(rows_in_sight(hand)[1])
    hand.tap("Delete")
    assert hand.app.desk.rug is not None
    assert hand.sees("Deleted: ")


def test_an_empty_book_says_what_to_do_first(open_app) -> None:
    hand = open_app()
    hand.tap("Diary")
    assert hand.sees("No rug yet.")
    assert hand.sees("Plan a rug")
    assert not hand.sees("0 entries")
    # Nothing can be photographed, sought or chosen yet: a key that only refused is not there.
    icons = {getattr(w, "icon", "") for w in everything(hand.shell.page) if shown(w)}
    assert not icons & {"camera", "search", "filter"}


@pytest.fixture
def picture(tmp_path: Path) -> Path:
    from PIL import Image

    folder = tmp_path / "camera"
    folder.mkdir()
    path = folder / "corner.jpg"
    Image.new("RGB", (800, 600), "#9C2F25").save(path)
    return path


def test_a_picture_is_kept_with_the_rug_and_shown(open_app, demo, picture: Path) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    desk.drafts.put("picture folder", str(picture.parent))
    hand.tap("Diary")
    hand.tap(hand.shell.page.children[-1].ids.actions.children[0])
    hand.tap("corner.jpg")
    (photo,) = desk.rug.photos
    assert hand.sees("The picture is kept with the rug.")
    assert photo_path(demo, photo.file_name).is_file()
    assert rows_in_sight(hand)[0].thumbnail == str(thumbnail_path(demo, photo.file_name))
    # The weaver's own file may go; the book's does not.
    picture.unlink()
    hand.tap(rows_in_sight(hand)[0])
    hand.tap("Correct")
    hand.tap("Caption")
    hand.shell.sheet.content.ids.entry.text = "The corner flower"
    hand.tap("Done")
    hand.tap("Save")
    assert desk.rug.photos[0].caption == "The corner flower"
    assert rows_in_sight(hand)[0].line.head == "The corner flower"


def test_a_file_that_is_no_picture_changes_nothing(open_app, demo, tmp_path: Path) -> None:
    bad = tmp_path / "bad"
    bad.mkdir()
    (bad / "letter.jpg").write_text("not a picture at all")
    hand = open_app(demo)
    desk, acts = hand.app.desk, hand.app.desk.book.acts()
    desk.drafts.put("picture folder", str(bad))
    hand.tap("Diary")
    hand.tap(hand.shell.page.children[-1].ids.actions.children[0])
    hand.tap("letter.jpg")
    assert hand.sees("This file is not a photo that can be read here.")
    assert desk.book.acts() == acts
    assert not list(Path(str(demo) + ".photos").glob("*"))


def test_a_picture_taken_goes_from_the_cameras_folder_only_once_the_book_has_it(
    open_app, demo, picture: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    taken = picture.with_name(f"loomside-{new_id()}.jpg")
    taken.write_bytes(picture.read_bytes())
    hand = open_app(demo)
    hand.tap("Diary")

    def full(*_arguments: object) -> str:
        raise BookTrouble("There is no room left.")

    with monkeypatch.context() as patch:
        patch.setattr(photos, "keep_photo", full)
        hand.shell.page.keep_photo(taken, remove=True)
        hand.wait(lambda: hand.sees("There is no room left."))
    assert taken.is_file()
    hand.shell.page.keep_photo(picture, remove=True)
    hand.wait(lambda: len(hand.app.desk.rug.photos) == 1)
    hand.shell.page.keep_photo(taken, remove=True)
    hand.wait(lambda: len(hand.app.desk.rug.photos) == 2)
    assert not taken.exists()
    assert picture.is_file(), "not taken by the app"


def test_a_picture_name_from_elsewhere_never_leaves_its_folder(tmp_path: Path) -> None:
    (tmp_path / "secret.jpg").write_bytes(b"x")
    (tmp_path / "b.photos").mkdir()
    for name in ("../secret.jpg", "/etc/hostname", "..", ".", "", "a/../../secret.jpg"):
        assert photo_path(tmp_path / "b", name) is None
        assert thumbnail_path(tmp_path / "b", name) is None


def test_thousands_of_entries_scroll_to_the_very_first(open_app, tmp_path: Path) -> None:
    from storage.book import Book

    path = tmp_path / "long.loomside"
    count = 400
    with Book.open(path) as book:
        with book.act("rug planned", rug_id="rug") as act:
            act.write(plan(rows=20_000))
            for yarn in yarns():
                act.write(yarn)
        first = date(2025, 1, 1)
        for at in range(count):
            with book.act("session logged") as act:
                act.write(session(1, 1 + at % 7, id=f"s{at}", day=first + timedelta(days=at), weavers=()))
    hand = open_app(path)
    hand.tap("Diary")
    page = hand.shell.page
    assert page.found == f"{count + 1} entries"
    # Only what is near was read so far.
    assert len(page._lines) < count
    page.ids.rows.scroll_y = 0
    hand.wait(lambda: any(row.line.head == "Little field" for row in rows_in_sight(hand)))
    middle = 0.5
    page.ids.rows.scroll_y = middle
    hand.wait(lambda: rows_in_sight(hand) and all(row.line.head for row in rows_in_sight(hand)))
    # Places and lines agree: place p tells session number count - 1 - p.
    for row in rows_in_sight(hand):
        rows = 1 + (count - 1 - row.place) % 7
        assert row.line.head.startswith(f"+{rows} row")


def test_a_change_of_dye_lot_is_told_by_the_lots_own_mark(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    lot = next(lot for lot in desk.rug.lots if lot.dye_lot)
    change = LotChange(
        id=new_id(), rug_id=lot.rug_id, yarn_id=lot.yarn_id, lot_id=lot.id, row=210, day=desk.today()
    )
    desk.act(ActKind.LOT_CHANGE_PLANNED, change)
    hand.tap("Diary")
    settle()
    told = " ".join(hand.words())
    assert lot.dye_lot in told
    assert "another dye lot" not in told


@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_a_headline_wraps_instead_of_ending_in_dots(open_app, demo, scale: float) -> None:
    hand = open_app(demo)
    look.text_scale = scale
    try:
        hand.tap("Diary")
        settle()
        rows = rows_in_sight(hand)
        assert {row.height for row in rows} == {rows[0].height}
        shown = [row for row in rows if row.line.head]
        shown[0].line = replace(
            shown[0].line, head="+10 rows, 30 knots of the next row, 1 h (usual)", more="Session"
        )
        shown[1].line = replace(shown[1].line, head="+10 rows", more="Session · from 10 to 12 rows · 16:05")
        settle()
        for row in shown:
            head, more = row.ids.head, row.ids.more
            assert not head.is_shortened, row.line.head
            # Of one line for what is told whole parts stand there: "Session · Walle..." says less than "Session".
            assert not more.is_shortened, row.told
            # All its lines have room in the row, and what is told below them in what is left of it.
            assert head.texture_size[1] <= head.height + 1
            assert head.height + (more.texture_size[1] if row.more_lines else 0) <= row.height
            assert row.head_lines + row.more_lines <= row.page.lines
        assert shown[0].head_lines > 1
        if scale == 2.0:
            assert all(row.more_lines for row in shown), "what it is, and of when, stands below"
        # What is told below a short headline has the rest of the three lines.
        assert (shown[1].head_lines, shown[1].ids.more.is_shortened) == (1, False)
        assert not hand.sees("Some letters cannot be shown here.")
        shown[0].line = replace(shown[0].line, head="Bahar قالی")
        settle()
        pass_time(1)
        assert hand.sees("Some letters cannot be shown here.")
    finally:
        look.text_scale = 1.0


def test_read_down_the_diary_a_corrected_session_counts_once(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    session = desk.rug.sessions[-1]
    desk.act("session corrected", replace(session, rows=session.rows + 1))
    hand.tap("Diary")
    (row,) = (row for row in rows_in_sight(hand) if row.line.tag == "corrected")
    assert row.line.head.startswith(f"+{session.rows + 1} rows")
    assert row.told.startswith("corrected · Session")
    # What it was before stands in its sheet.
    hand.tap(row)
    assert hand.sees(f"Rows: +{session.rows} → +{session.rows + 1}")
    hand.shell.close_sheet()
    # Among the corrections it has a line of its own, the new value first, from which it can be undone.
    hand.shell.page.filter_key = "mended"
    hand.shell.page.refresh()
    hand.wait(lambda: "Corrected" in rows_in_sight(hand)[0].told)
    assert f"Rows: +{session.rows + 1}, was +{session.rows}" in rows_in_sight(hand)[0].told
    hand.tap(rows_in_sight(hand)[0])
    hand.tap("Undo this correction")
    hand.shell.page.show_everything()
    hand.wait(lambda: not any(row.line.tag == "corrected" for row in rows_in_sight(hand)))


def test_a_session_corrected_to_what_it_was_stays_and_is_not_undone(open_app, demo) -> None:
    """Undo deleted the session itself: the act that held it already was its own."""
    hand = open_app(demo)
    session = hand.app.desk.rug.sessions[-1]
    hand.tap("Diary")
    hand.tap(next(row for row in rows_in_sight(hand) if f"+{session.rows} rows" in row.line.head))
    hand.tap("Correct")
    assert hand.find("Save").disabled, "nothing was changed yet"
    hand.shell.page.save()
    settle()
    assert hand.sees("Nothing was changed.")
    assert not hand.sees("Undo")
    assert session in hand.app.desk.rug.sessions


@pytest.mark.parametrize("lines", [1, 2, 3])
def test_what_has_no_room_on_a_line_of_the_diary_ends_in_dots(lines: int) -> None:
    words = "for 28 Nov · Corrected · Rows: +9 to +7; Hours: 4.5 h (usual hours, not given) to 3.5 h · 22:36"
    font = BriefText.font_name.usual
    cut = cut_to_lines(words, lines, 240, font, 14)
    assert lines_taken(cut, 240, font, 14) <= lines
    assert cut == words or cut.endswith(" …")
    assert (cut == words) == (lines_taken(words, 240, font, 14) <= lines)
    assert words.startswith(cut.removesuffix(" …"))
