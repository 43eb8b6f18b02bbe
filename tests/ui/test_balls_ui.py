"""The balls of each weaver by touch: reached where balls are wound, for some rows, with others in the seats."""

from __future__ import annotations

from dataclasses import replace

from tests.today import TODAY
from tests.ui.hand import everything
from tracker.domain.act import ActKind
from tracker.domain.hand_out import HandOutKind
from tracker.domain.rug import Session
from tracker.previews.draw import settle
from tracker.screens.balls.balls import HandedRow, SeatRow


def at_the_balls(open_app, path, **how):
    hand = open_app(path, **how)
    hand.shell.go("preparation")
    settle()
    hand.tap("Balls by weaver")
    assert hand.shell.page_name == "balls"
    return hand


def test_the_balls_are_reached_from_preparation_and_both_seats_are_there(open_app, demo) -> None:
    hand = at_the_balls(open_app, demo)
    for words in ("To the last row", "1 Left seat", "2 Right seat", "Madder red"):
        assert hand.sees(words)
    assert hand.key_back()
    settle()
    assert hand.shell.page_name == "preparation"


def test_the_balls_of_some_rows_are_fewer(open_app, demo) -> None:
    hand = at_the_balls(open_app, demo)
    whole = hand.shell.page.ids.columns.children[-1].children[-1].figure
    hand.tap("Other rows")
    for digit in "12":
        hand.tap(hand.find(digit, hand.shell.sheet))
    hand.tap(hand.find("Done", hand.shell.sheet))
    assert hand.sees("For the next 12 rows")
    some = hand.shell.page.ids.columns.children[-1].children[-1].figure
    assert int(some.split()[0]) < int(whole.split()[0])
    hand.tap("To the end")
    assert hand.sees("To the last row")


def test_seats_are_set_by_touch_and_stay(open_app, demo) -> None:
    hand = at_the_balls(open_app, demo)
    hand.tap("Who sits where, left to right")
    # The left one gets up and sits down again to the right of the other.
    hand.tap(hand.find("1 Left seat", hand.shell.sheet))
    hand.tap(hand.find("Left seat", hand.shell.sheet))
    hand.tap("Share out the width")
    hand.tap(hand.find("Done", hand.shell.sheet))
    assert hand.sees("1 Right seat")
    assert hand.sees("2 Left seat")
    again = at_the_balls(open_app, demo)
    assert again.sees("1 Right seat")


def test_who_is_left_alone_has_the_whole_width(open_app, demo) -> None:
    hand = at_the_balls(open_app, demo)
    hand.tap("Who sits where, left to right")
    hand.tap(hand.find("2 Right seat", hand.shell.sheet))
    hand.tap(hand.find("Done", hand.shell.sheet))
    assert hand.shell.sheet is None
    assert hand.sees("Left seat")
    assert not hand.sees("2 Right seat")


# --- handing out


def seat_rows(hand, name: str):
    return [
        widget
        for widget in everything(hand.shell.page)
        if isinstance(widget, SeatRow) and widget.line.name == name
    ]


def test_one_tap_gives_the_balls_of_a_colour_and_undo_takes_them_back(open_app, demo) -> None:
    hand = at_the_balls(open_app, demo)
    desk = hand.app.desk
    row = seat_rows(hand, "Madder red")[0]
    balls = row.line.balls
    hand.tap(row.ids.give)
    (given,) = desk.rug.hand_outs
    assert (given.balls, given.day) == (balls, TODAY)
    assert hand.sees(f"Saved: {balls} balls of Madder red to Left seat.")
    assert seat_rows(hand, "Madder red")[0].line.words == "Enough on hand"
    assert hand.sees("Handed out so far")
    hand.tap("Undo")
    assert not desk.rug.hand_outs
    assert seat_rows(hand, "Madder red")[0].line.balls == balls


def test_all_colours_of_a_seat_are_given_at_once_and_told_in_the_diary(open_app, demo) -> None:
    hand = at_the_balls(open_app, demo)
    desk = hand.app.desk
    colours = len([widget for widget in everything(hand.shell.page) if isinstance(widget, SeatRow)]) // 2
    hand.tap("Give all")
    assert len(desk.rug.hand_outs) == colours
    assert len({given.weaver_id for given in desk.rug.hand_outs}) == 1
    hand.shell.go("diary")
    settle()
    assert hand.sees("Balls handed out")


def test_balls_of_yarn_never_bought_are_asked_about_and_its_purchase_can_be_noted_first(
    open_app, demo
) -> None:
    hand = at_the_balls(open_app, demo)
    desk = hand.app.desk
    red = next(yarn for yarn in desk.rug.yarns if yarn.name == "Madder red")
    of_red = (desk.rug.lots, desk.rug.weighings, desk.rug.preparations)
    desk.act(
        ActKind.ENTRY_WITHDRAWN,
        withdraw=[entry.id for entries in of_red for entry in entries if entry.yarn_id == red.id],
    )
    # Nor has a session told of its balls, where it would have been asked.
    told = [session for session in desk.rug.sessions if red.id in dict(session.used)]
    desk.act(
        ActKind.SESSION_CORRECTED,
        *(replace(one, used=tuple(use for use in one.used if use[0] != red.id)) for one in told),
    )
    hand.wait(lambda: not any(lot.yarn_id == red.id for lot in desk.rug.lots))
    hand.tap(seat_rows(hand, "Madder red")[0].ids.give)
    assert hand.sees("No purchase is noted of Madder red.")
    assert not desk.rug.hand_outs
    hand.tap("Note the purchase first")
    assert hand.sees("Bought: Madder red")
    assert hand.key_back()
    settle()
    hand.tap(seat_rows(hand, "Madder red")[0].ids.give)
    hand.tap("Hand out all the same")
    (given,) = desk.rug.hand_outs
    assert given.yarn_id == red.id
    # Answered once, it is not asked again.
    hand.shell.dismiss_toast()
    hand.tap(seat_rows(hand, "Madder red")[1].ids.give)
    assert len(desk.rug.hand_outs) == 2


def test_balls_come_back_and_the_entry_is_deleted(open_app, demo) -> None:
    hand = at_the_balls(open_app, demo)
    desk = hand.app.desk
    hand.tap(seat_rows(hand, "Madder red")[0].ids.give)
    hand.shell.dismiss_toast()
    hand.tap(seat_rows(hand, "Madder red")[0])
    assert hand.sees("Given or returned")
    hand.tap("Save")
    given, back = desk.rug.hand_outs
    assert (back.kind, back.balls, back.weaver_id) == (HandOutKind.RETURNED, 1, given.weaver_id)
    assert hand.sees("1 ball of Madder red back from Left seat")
    hand.shell.dismiss_toast()
    hand.tap(next(w for w in everything(hand.shell.page) if isinstance(w, HandedRow)))
    hand.tap("Delete")
    assert desk.rug.hand_outs == (given,)


def test_who_is_not_known_is_asked_for_before_anything_is_given(open_app, demo) -> None:
    hand = at_the_balls(open_app, demo)
    page = hand.shell.page
    # Of three sections two are nobody's.
    page.set_seats(((hand.app.desk.rug.weavers[0].id, 50, 90),))
    row = seat_rows(hand, "Madder red")[0]
    hand.tap(row.ids.give)
    assert not hand.app.desk.rug.hand_outs
    assert hand.shell.sheet is not None
    assert hand.sees("Say first who sits where.")


def test_the_seats_set_here_stand_in_the_next_session_of_both(open_app, demo) -> None:
    hand = at_the_balls(open_app, demo)
    left, right = (weaver.id for weaver in hand.app.desk.rug.weavers)
    across = hand.app.desk.rug.knots_across
    seats = ((right, 1, 100), (left, 101, across))
    hand.shell.page.set_seats(seats)
    hand.shell.go("session")
    settle()
    form = hand.shell.page.form
    for name, who in (("Left seat", left), ("Right seat", right)):
        if who not in form.weavers:
            hand.tap(name)
    assert hand.shell.page.form.places == seats


def test_whose_a_ball_was_is_said_by_two_taps(open_app, demo) -> None:
    hand = at_the_balls(open_app, demo)
    desk = hand.app.desk
    for seat in (0, 1):
        hand.tap(seat_rows(hand, "Madder red")[seat].ids.give)
        hand.shell.dismiss_toast()
    red = next(yarn.id for yarn in desk.rug.yarns if yarn.name == "Madder red")
    left, right = (weaver.id for weaver in desk.rug.weavers)
    together = Session(
        id="t" * 32, rug_id=desk.rug.plan.id, day=TODAY, rows=2, weavers=(left, right), used=((red, 1.0),)
    )
    desk.act(ActKind.SESSION_LOGGED, together)
    hand.wait(lambda: hand.sees("1 ball of Madder red used up, nobody said whose"))
    held = [row.line.note for row in seat_rows(hand, "Madder red")]
    hand.tap("1 ball of Madder red used up, nobody said whose")
    hand.tap(hand.find("Right seat", hand.shell.sheet))
    assert hand.sees("Saved: it was Right seat's.")
    assert not hand.sees("nobody said whose")
    assert [session.weavers for session in desk.rug.sessions if dict(session.used).get(red)][-1] == (right,)
    assert seat_rows(hand, "Madder red")[1].line.note != held[1]
    hand.tap("Undo")
    hand.wait(lambda: hand.sees("nobody said whose"))
    assert dict(desk.rug.sessions[-1].used) == {red: 1.0}
