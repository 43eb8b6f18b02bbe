"""The phone ends the app while it is out of sight: the next start leads back to where the weaver was."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from tests.reading.on_paper import cartoon, enlarged, framed, yarns
from tests.ui.hand import Hand
from tests.ui.test_cartoon_reading import sheet as sheet
from tests.ui.test_cartoon_reading import wall as wall
from tracker.app import app as app_module
from tracker.presenters.guide import GuideStage
from tracker.previews.draw import settle
from tracker.screens import PAGES
from tracker.widgets.basics import Scroll, rest_at

NOW = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)


@pytest.fixture(autouse=True)
def clock(monkeypatch: pytest.MonkeyPatch) -> list[datetime]:
    """The phone's clock; put another time into it to let hours pass."""
    times = [NOW]
    monkeypatch.setattr(app_module, "now_utc", lambda: times[-1])
    return times


def ended_by_the_phone(hand: Hand) -> None:
    """Leave the app for another, and end it there: it is told of the first only."""
    hand.app.on_pause()
    # Whatever closing the window writes from now on never reaches the file.
    hand.app.desk.drafts.lasting = False


def drafts_of(book: Path) -> dict:
    """Return what the file beside the book holds."""
    return json.loads(book.with_name(book.name + ".drafts.json").read_text(encoding="utf-8"))


def test_she_comes_back_to_the_page_and_back_leads_on_from_there(open_app, demo: Path) -> None:
    hand = open_app(demo)
    yarn_id = hand.app.desk.rug.yarns[1].id
    hand.shell.open_tab("yarn")
    hand.shell.go("shopping")
    hand.shell.go("yarn_story", yarn_id=yarn_id)
    settle()
    ended_by_the_phone(hand)

    hand = open_app(demo)
    assert (hand.shell.page_name, hand.shell.page.yarn_id) == ("yarn_story", yarn_id)
    assert "page left" not in drafts_of(demo), "met once, not at every start"
    hand.shell.back()
    assert hand.shell.page_name == "shopping"
    hand.shell.back()
    assert hand.shell.page_name == "yarn"


def test_a_page_that_lies_twice_on_the_way_and_one_that_was_let_go_are_no_hindrance(
    open_app, demo: Path
) -> None:
    hand = open_app(demo)
    hand.shell.go("material")
    hand.shell.go("shopping")
    hand.shell.go("material")
    settle()
    hand.shell.drop_hidden_pages()
    ended_by_the_phone(hand)
    hand = open_app(demo)
    assert hand.shell.page_name == "material"
    hand.shell.back()
    assert hand.shell.page_name == "shopping"


def test_a_list_stands_where_it_was_scrolled_to(open_app, demo: Path) -> None:
    hand = open_app(demo)
    hand.shell.go("material")
    settle()
    hand.shell.page.ids.scroll.scroll_y = 0.25
    ended_by_the_phone(hand)
    hand = open_app(demo)
    settle(3)
    assert hand.shell.page.ids.scroll.scroll_y == pytest.approx(0.25)


def test_the_half_filled_plan_opens_at_the_part_that_was_open(open_app, demo: Path) -> None:
    hand = open_app(demo)
    hand.shell.go("plan")
    hand.shell.page.open("size")
    settle()
    page = hand.shell.page
    page.change(replace(page.form, name="Stair runner"))
    ended_by_the_phone(hand)
    hand = open_app(demo)
    assert hand.shell.page_name == "plan"
    assert hand.shell.page.part == "size"
    assert hand.shell.page.form.name == "Stair runner"


def test_a_stage_of_the_guide_that_was_tapped_is_open_again(open_app, demo: Path) -> None:
    hand = open_app(demo)
    hand.shell.go("guide")
    settle()
    hand.shell.page.open_stage(GuideStage.WARP)
    ended_by_the_phone(hand)
    hand = open_app(demo)
    assert hand.shell.page_name == "guide"
    assert hand.shell.page._stage == "warp"
    hand.shell.back()
    assert hand.shell.page_name == "guide", "back leads to the list of stages first, as before"


def test_a_small_form_lies_open_with_what_was_typed(open_app, demo: Path) -> None:
    from tracker.presenters.entries.form import FormKind
    from tracker.sheets.entry_form import open_entry

    hand = open_app(demo)
    hand.shell.go("costs")
    form = open_entry(hand.shell, hand.app.desk, FormKind.COST)
    settle()
    form.answer("amount", 12.5)
    ended_by_the_phone(hand)

    hand = open_app(demo)
    assert hand.shell.page_name == "costs"
    again = hand.shell.sheet.content
    assert again.form.answers["amount"] == 12.5
    hand.tap("Save")
    assert [str(cost.amount) for cost in hand.app.desk.rug.costs if float(cost.amount) == 12.5]


def test_a_small_form_with_nothing_typed_is_open_again_too(open_app, demo: Path) -> None:
    from tracker.presenters.entries.form import FormKind
    from tracker.sheets.entry_form import open_entry

    hand = open_app(demo)
    open_entry(hand.shell, hand.app.desk, FormKind.TRIM)
    settle()
    ended_by_the_phone(hand)
    hand = open_app(demo)
    assert hand.shell.page_name == "home"
    assert hand.shell.sheet.content.form.kind is FormKind.TRIM


def test_a_photograph_that_was_being_corrected_is_read_again_with_the_corrections(
    open_app, demo: Path, wall: Path
) -> None:
    hand = open_app(demo)
    hand.shell.go("plan")
    hand.shell.page.cartoon.look_at(wall)
    settle()
    reading = hand.shell.page
    assert hand.shell.page_name == "cartoon_reading"
    reading._set_count("colours", 3)
    settle()
    assert len(reading.reading.palette) == 3
    ended_by_the_phone(hand)

    hand = open_app(demo)
    assert hand.shell.page_name == "cartoon_reading"
    again = hand.shell.page
    assert len(again.reading.palette) == 3, "the number of colours set by hand was forgotten"
    assert again.wishes["colours"] == 3
    hand.shell.back()
    assert hand.shell.page_name == "plan"


def test_squares_mended_before_the_cartoon_was_taken_are_mended_again(
    open_app, demo: Path, wall: Path
) -> None:
    hand = open_app(demo)
    hand.shell.go("plan")
    hand.shell.page.cartoon.look_at(wall)
    settle()
    as_read = hand.shell.page.reading.cells
    hand.tap("Mend single squares")
    hand.tap("Paint")
    page = hand.shell.page
    yarn = next(
        yarn for yarn in page.drawing.yarns if int(page.drawing.cells[0, 3]) not in yarn.cartoon_values
    )
    page.choose_yarn(yarn.id)
    page._view.show_square(0, 3, 40)
    settle(2)
    wide, high = page._view.cell()
    hand.tap_at(
        *page._view.to_window(page._view._left + 3.5 * wide, page._view._top - (page._view.rows - 0.5) * high)
    )
    hand.tap("Back to the reading")
    mended = hand.shell.page.reading.cells
    assert np.argwhere(mended != as_read).tolist() == [[len(as_read) - 1, 3]]
    ended_by_the_phone(hand)

    hand = open_app(demo)
    assert hand.shell.page_name == "cartoon_reading"
    assert np.array_equal(hand.shell.page.reading.cells, mended), "the square that was mended was forgotten"


def test_the_parts_of_a_long_cartoon_are_there_again_read_and_joined(
    open_app, demo: Path, tmp_path: Path
) -> None:
    rng = np.random.default_rng(12)
    truth = framed(cartoon(rng, 72, 36, 4, "medallion"))
    palette = yarns(rng, 4)
    for name, cut in (("upper.png", truth[:42]), ("lower.png", truth[36:])):
        (tmp_path / name).write_bytes(enlarged(cut, palette, 6).data)
    hand = open_app(demo)
    hand.shell.go("plan")
    hand.shell.page.cartoon.look_at(tmp_path / "upper.png")
    settle()
    page = hand.shell.page
    # As the weaver chooses the next part's picture.
    before = hand.app.desk.cartoons.part_of(page.reading)
    page._before, page.path = before, tmp_path / "lower.png"
    page._open(page.path)
    settle()
    ended_by_the_phone(hand)

    hand = open_app(demo)
    page = hand.shell.page
    assert hand.sees("36 knots across, 36 rows"), "the part that was being looked at"
    hand.tap("Join it to the part before")
    assert hand.sees("36 knots across, 72 rows, 4 colours"), "the part before was forgotten"
    assert hand.sees("The parts share 6 rows")
    joined = page.reading
    value = (int(joined.cells[40, 3]) + 1) % 4
    cells = joined.cells.copy()
    cells[40, 3] = value
    picture = replace(joined.picture, cells=np.ascontiguousarray(cells[::-1]))
    page.reading = hand.app.desk.cartoons.mended(joined, picture, joined.doubted)
    (tmp_path / "lower.png").unlink()
    ended_by_the_phone(hand)

    hand = open_app(demo)
    assert hand.sees("36 knots across, 72 rows, 4 colours"), "the joined cartoon was forgotten"
    assert np.array_equal(hand.shell.page.reading.cells, cells), "what was mended of it was forgotten"
    hand.tap("Take this cartoon")
    assert hand.shell.page_name == "plan"
    assert hand.shell.page.form.cartoon.rows == 72


def test_a_photograph_that_is_gone_leaves_her_at_the_plan(open_app, demo: Path, wall: Path) -> None:
    hand = open_app(demo)
    hand.shell.go("plan")
    hand.shell.page.cartoon.look_at(wall)
    settle()
    ended_by_the_phone(hand)
    wall.unlink()
    assert open_app(demo).shell.page_name == "plan"


def test_whoever_left_by_herself_begins_at_the_first_page(open_app, demo: Path) -> None:
    hand = open_app(demo)
    hand.shell.go("material")
    hand.app.on_pause()  # and then the window is closed as the back gesture closes it
    assert open_app(demo).shell.page_name == "home"


def test_an_app_that_ends_in_sight_begins_at_the_first_page(open_app, demo: Path) -> None:
    hand = open_app(demo)
    hand.shell.go("material")
    hand.app.on_pause()
    assert "page left" in drafts_of(demo)
    hand.app.on_resume()
    assert "page left" not in drafts_of(demo)


@pytest.mark.parametrize("hours", [-0.1, 12.1])
def test_the_next_morning_begins_anew_and_so_does_a_clock_that_was_set_back(
    open_app, demo: Path, clock: list[datetime], hours: float
) -> None:
    hand = open_app(demo)
    hand.shell.go("material")
    ended_by_the_phone(hand)
    clock.append(NOW + timedelta(hours=hours))
    assert open_app(demo).shell.page_name == "home"


@pytest.mark.parametrize(
    "way",
    [
        [{"page": "home", "told": {}, "stands": {}}, {"page": "no such page", "told": {}, "stands": {}}],
        [{"page": "home", "told": {}, "stands": {}}, {"page": "plan", "told": {}, "stands": {"part": 3}}],
        [{"page": "home", "told": {}, "stands": {}}, {"page": "plan", "told": {"rug_id": "gone"}, "stands": {}}],
        [{"page": "home", "told": {}, "stands": {}}, {"page": "yarn_story", "told": {"yarn_id": "gone"}, "stands": {}}],
        [{"page": "home", "told": {}, "stands": {}}, {"page": "material", "told": {}, "stands": {"scrolled": "up"}}],
        [{"page": "home"}],
        "nowhere",
    ],
)  # fmt: skip
def test_a_place_that_makes_no_sense_is_met_once_and_the_app_begins_as_ever(
    open_app, demo: Path, way: object
) -> None:
    hand = open_app(demo)
    place = {"left": NOW.isoformat(), "rug": hand.app.desk.rug_id, "way": way, "form": None}
    hand.app.desk.close()
    demo.with_name(demo.name + ".drafts.json").write_text(json.dumps({"page left": place}), encoding="utf-8")
    hand.app.desk.drafts.lasting = False
    hand = open_app(demo)
    settle()
    assert hand.shell.page_name == "home"
    assert hand.app.desk.drafts.get("page left") is None


def test_a_tapped_reminder_goes_before(open_app, demo: Path) -> None:
    from tracker.app.coming_back import come_back
    from tracker.device.arrivals import Arrival

    hand = open_app(demo)
    hand.shell.go("material")
    ended_by_the_phone(hand)
    hand = open_app(demo)
    hand.app.on_pause()
    hand.app.phone.arrived(Arrival(page="shopping", rug_id=hand.app.desk.rug_id))
    come_back(hand.app.desk, hand.shell, NOW)
    assert hand.shell.page_name == "shopping"


def test_back_leads_to_where_every_page_rested_and_a_page_opened_anew_to_its_top(
    open_app, demo: Path
) -> None:
    hand = open_app(demo)
    wrong, moved = [], 0
    for name in PAGES:
        hand.shell.open_tab("home")
        hand.shell.go(name)
        settle(6)
        if hand.shell.page_name != name:
            continue  # it is opened with a yarn only
        page = hand.shell.page
        far = [
            view
            for view in page.walk(restrict=True)
            if isinstance(view, Scroll) and view.children and view.children[0].height > view.height * 1.2 > 0
        ]
        for view in far:
            rest_at(view, 0.4)
        settle(2)
        before = [view.scroll_y for view in far]
        hand.shell.go("cautions")
        settle(3)
        hand.shell.back()
        settle(6)
        moved += len(far)
        wrong += [
            (name, "back", view.scroll_y)
            for view, at in zip(far, before, strict=True)
            if abs(view.scroll_y - at) > 0.02
        ]
        hand.shell.open_tab("home")
        settle(2)
        hand.shell.go(name)
        settle(6)
        wrong += [(name, "anew", view.scroll_y) for view in far if view.scroll_y < 0.99]
    assert moved > 15
    assert not wrong
