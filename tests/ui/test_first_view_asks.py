"""What the first view asks or makes the date rest on leads by one tap to where it is answered; the strip hides none of it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.today import TODAY
from tests.ui.hand import everything, shown
from tests.ui.walk import box_of, cut, visible_part
from tracker.domain.act import ActKind
from tracker.domain.mark import CartoonMark
from tracker.domain.rug import Session, new_id
from tracker.previews.draw import settle
from tracker.screens.home.home import AskRow


def ask(hand, part: str) -> AskRow:
    """The line of the first view that says so."""
    return next(
        row
        for row in everything(hand.shell)
        if isinstance(row, AskRow) and shown(row) and part in row.ask.words
    )


def test_a_yarn_that_must_come_leads_to_its_order(open_app, demo) -> None:
    hand = open_app(demo)
    assert hand.sees("Last row, if Madder red is bought by")
    hand.tap("Madder red runs short")
    assert hand.shell.page_name == "yarn_story"
    assert hand.shell.page.title == "Madder red"
    assert hand.sees("of dye lot M-14 by")


def test_a_record_in_doubt_is_asked_on_the_yarns_page_and_answered_there(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    green = next(yarn for yarn in desk.rug.yarns if yarn.name == "Green")
    # A dozen balls of 100 g more than the one before, of a colour of which the rows took about 160 g.
    evening = Session(
        id=new_id(), rug_id=desk.rug.plan.id, day=TODAY, rows=2, hours=2.0, used=((green.id, 12.0),)
    )
    desk.act(ActKind.SESSION_LOGGED, evening)
    settle()
    hand.tap(ask(hand, "Green: 13 balls of"))
    assert hand.shell.page.title == "Green"
    question = next(w for w in everything(hand.shell.page) if "were they smaller?" in getattr(w, "text", ""))
    assert visible_part(question, box_of(question)) == pytest.approx(box_of(question)), (
        "nothing is to be scrolled"
    )
    hand.tap("Correct how much goes on one")
    for key in ("1", "2"):
        hand.tap(key)
    hand.tap("Done")
    assert next(yarn for yarn in desk.rug.yarns if yarn.id == green.id).unit_mass_g == 12
    assert not hand.sees("were they smaller?")
    hand.tap("Undo")
    assert hand.sees("were they smaller?")


def test_mistakes_still_marked_lead_to_their_list(open_app, demo) -> None:
    hand = open_app(demo)
    desk = hand.app.desk
    mark = CartoonMark(id=new_id(), rug_id=desk.rug.plan.id, day=TODAY, row=150, first_knot=7, last_knot=9)
    desk.act(ActKind.MISTAKE_MARKED, mark)
    settle()
    hand.tap(ask(hand, "still marked"))
    settle()
    assert hand.shell.page_name == "zoom"
    assert hand.shell.sheet is not None
    assert hand.sees("still there.")
    desk.act(ActKind.MISTAKE_MENDED, *(replace(each, mended_day=TODAY) for each in desk.rug.marks))
    settle()
    hand.shell.open_tab("home")
    settle()
    assert not any(
        "still marked" in row.ask.words for row in everything(hand.shell) if isinstance(row, AskRow)
    )


@pytest.mark.parametrize("scale", [1.0, 1.3, 2.0])
def test_the_strip_leaves_the_row_it_tells_of_in_sight(open_app, demo, scale) -> None:
    from tracker.widgets.look import look

    hand = open_app(demo)
    look.text_scale = scale
    settle()
    try:
        hand.tap("Log the session")
        hand.tap(hand.shell.page.ids.suggestions.children[0])
        hand.tap("Save")
        strip = next(iter(hand.shell.ids.toast_place.children))
        settle()
        figure = hand.shell.page.ids.row_figure
        box = box_of(figure)
        assert visible_part(figure, box) == pytest.approx(box)
        assert cut(box, box_of(strip)) is None
    finally:
        look.text_scale = 1.0


def test_what_is_said_beside_the_balls_has_the_width_of_its_words_in_larger_type(open_app, demo) -> None:
    from tracker.widgets.forms import words_width
    from tracker.widgets.look import look

    hand = open_app(demo)
    row = hand.shell.page.ids.yarns
    assert row.words
    look.text_scale = 2.0
    settle()
    try:
        label = next(w for w in everything(row) if getattr(w, "text", "") == row.words)
        assert label.width >= min(words_width(row.words, strong=False), row.width - 1)
    finally:
        look.text_scale = 1.0
