"""Copies by touch: one made, gone back to, the going back taken back; and a damaged book rescued."""

from __future__ import annotations

from tests.today import TODAY
from tracker.previews.draw import settle


def open_copies(hand) -> None:
    hand.shell.go("copies")
    settle()


def test_before_the_first_copy_the_page_says_how_it_comes(open_app, demo) -> None:
    hand = open_app(demo)
    open_copies(hand)
    assert hand.sees("No copy yet.")


def test_a_week_entered_wrong_is_undone_by_going_back_to_a_copy_and_that_is_taken_back(
    open_app, demo
) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    rows, sessions = desk.rug.rows_woven, len(desk.rug.sessions)
    open_copies(hand)
    hand.tap("Copy the book now")
    hand.wait(lambda: hand.sees("1 copy on this phone"))
    assert hand.sees("you asked for it")
    assert hand.sees("nothing entered since")
    hand.key_back()
    hand.wait(lambda: hand.shell.page_name == "home")
    for _evening in range(2):
        hand.tap("Log the session")
        hand.tap(hand.shell.page.ids.suggestions.children[0])
        hand.tap("Save")
    wrong = desk.rug.rows_woven
    assert wrong > rows
    open_copies(hand)
    hand.tap(next(word for word in hand.words() if word.startswith("2 entries since")))
    hand.tap("Go back to this copy")
    hand.wait(lambda: hand.sees("2 entries are back as in the copy."))
    assert (desk.rug.rows_woven, len(desk.rug.sessions)) == (rows, sessions)
    # The book was copied before, too.
    assert hand.sees("before going back to a copy")
    hand.tap("Undo")
    assert desk.rug.rows_woven == wrong


def test_a_copy_of_the_day_is_made_once(open_app, demo) -> None:
    from storage.copies import list_copies

    hand = open_app(demo)
    for _time in range(3):
        hand.app.desk.copy_of_the_day()
    (copy,) = list_copies(demo)
    assert copy.reason == "daily"
    assert hand.app.desk.today() == TODAY


def test_an_older_book_says_so_and_is_opened_as_it_is_by_touch(open_app, demo) -> None:
    hand = open_app(demo)
    hand.app.desk.close()
    older = demo.read_bytes()
    hand = open_app(demo)
    rows = hand.app.desk.rug.rows_woven
    hand.tap("Log the session")
    hand.tap(hand.shell.page.ids.suggestions.children[0])
    hand.tap("Save")
    hand.app.desk.close()
    demo.write_bytes(older)
    hand = open_app(demo)
    assert hand.sees("The book looks older than on")
    hand.tap("See what can be saved")
    hand.tap("Open the book as it is")
    hand.wait(lambda: hand.sees("The book is open as it is."))
    assert hand.app.desk.rug.rows_woven == rows
    assert not hand.sees("Open the book as it is")
    hand.app.desk.close()
    hand = open_app(demo)
    assert hand.app.desk.rug.rows_woven == rows


def test_a_damaged_book_is_rescued_by_touch(open_app, demo) -> None:
    hand = open_app(demo)
    rows, name = hand.app.desk.rug.rows_woven, hand.app.desk.rug.plan.name
    hand.app.desk.close()
    # A page in the middle of the file is lost, as on a failing card.
    data = bytearray(demo.read_bytes())
    page = 4096
    middle = len(data) // page // 2 * page
    data[middle : middle + page] = bytes(page)
    demo.write_bytes(data)
    hand = open_app(demo)
    assert hand.app.desk.damaged
    open_copies(hand)
    hand.tap("Rescue what can be read")
    hand.wait(lambda: hand.shell.sheet is not None)
    assert hand.sees("rescued into a new book")
    assert hand.sees("The damaged file is kept beside the book, in the folder")
    desk = hand.app.desk
    assert not desk.damaged
    assert not desk.trouble
    assert name in {plan.name for plan in desk.plans}
    assert 0 < desk.rug.rows_woven <= rows
