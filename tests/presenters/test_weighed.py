"""A weighing that lies far off is asked about, and each answer counts where it belongs: this yarn, that lot, all colours."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.unit.forecast.books import BLUE, BOOK, RED, striped, woven
from tracker.domain.rug import Lot, RugBook, Sample, Spoilt, Weighing
from tracker.forecast.answers import YarnAnswer
from tracker.forecast.lessons import lessons_of
from tracker.forecast.outlook import outlook
from tracker.presenters.weighed import WeighedChoice, weighing_choices, weighing_question
from tracker.presenters.yarn import build_yarn_story_state

COLOURS = (replace(RED, cut_length_mm=None, tex=0.0), replace(BLUE, cut_length_mm=None, tex=0.0))
WOVEN = woven(replace(BOOK, yarns=COLOURS, cartoon=striped()), [5] * 16)
TODAY = WOVEN.sessions[-1].day


def answer(book: RugBook, yarn_id: str) -> YarnAnswer:
    return next(one for one in outlook(book, TODAY).yarns if one.yarn_id == yarn_id)


def bought() -> RugBook:
    """Both colours bought for the whole rug, 80 of 360 rows woven."""
    lots = tuple(
        Lot(
            id=f"l{yarn.id}", rug_id="r", yarn_id=yarn.id, day=WOVEN.sessions[0].day, dye_lot="K-7",
            mass_g=round(answer(WOVEN, yarn.id).needed_g * 1.5),
        )
        for yarn in COLOURS
    )  # fmt: skip
    return replace(WOVEN, lots=lots)


def weighed(mass_g: float) -> RugBook:
    scale = Weighing(id="w", rug_id="r", yarn_id="red", day=TODAY, mass_g=mass_g, resolution_g=1.0, born=9999)
    return replace(bought(), weighings=(scale,))


def chosen(book: RugBook, icon: str) -> tuple[WeighedChoice, RugBook]:
    """Give the answer with that icon, as a touch enters it."""
    choice = next(one for one in weighing_choices(book, COLOURS[0], answer(book, "red")) if one.icon == icon)
    (value,) = (replace(value, born=99_999) for value in choice.values)
    if isinstance(value, Spoilt):
        return choice, replace(book, spoilt=(value,))
    if isinstance(value, Sample):
        return choice, replace(book, samples=(value,))
    assert isinstance(value, Lot)
    return choice, replace(book, lots=tuple(value if lot.id == value.id else lot for lot in book.lots))


@pytest.mark.parametrize("share", [0.002, 0.55, 1.6])
def test_a_weighing_that_is_itself_in_doubt_moves_little_of_the_other_colours(share: float) -> None:
    """One weighing of red, 200 g for 306, took half of what was on hand of every other colour."""
    expected_g = answer(bought(), "red").on_hand_g
    before, after = answer(bought(), "blue"), answer(weighed(share * expected_g), "blue")
    assert after.on_hand_g == pytest.approx(before.on_hand_g, rel=0.05)
    assert after.needed_g == pytest.approx(before.needed_g, rel=0.25)
    red = answer(weighed(share * expected_g), "red")
    assert red.on_hand_g == pytest.approx(share * expected_g, abs=1.0)
    # What the rows took is never more than what is gone.
    assert red.woven_g <= max(0.0, red.bought_g - red.on_hand_g) + 0.01
    assert red.needed_g < 1.5 * answer(bought(), "red").needed_g


def test_a_weighing_as_expected_asks_nothing() -> None:
    book = weighed(round(answer(bought(), "red").on_hand_g))
    assert weighing_question(answer(book, "red")) == ""
    assert weighing_choices(book, COLOURS[0], answer(book, "red")) == ()


def test_a_weighing_little_off_is_told_and_not_asked_about() -> None:
    """One weighing in five lies off by more than is usual: whoever asked each time was not heard."""
    expected = answer(weighed(800.0), "red").told
    assert expected is not None
    near, far = (round(expected.expected_g - times * expected.usual_g) for times in (1.3, 1.7))
    assert weighing_question(answer(weighed(near), "red")) == ""
    assert weighing_question(answer(weighed(far), "red")).startswith("The scale showed ")


def test_yarn_that_was_lost_counts_for_this_yarn_alone() -> None:
    book = weighed(800.0)
    choice, after = chosen(book, "spoilt")
    assert choice.label.startswith("Lost: ")
    red = answer(after, "red")
    assert weighing_question(red) == ""
    assert red.on_hand_g == pytest.approx(800.0, abs=1.0)
    untouched = answer(bought(), "red")
    assert red.needed_g == pytest.approx(untouched.needed_g, rel=0.05)
    assert answer(after, "blue").needed_g == pytest.approx(answer(bought(), "blue").needed_g, rel=0.05)


def test_a_light_lot_is_that_lot_by_what_it_really_weighed() -> None:
    book = weighed(800.0)
    choice, after = chosen(book, "weigh")
    gap_g = answer(bought(), "red").on_hand_g - 800.0
    held = next(lot for lot in after.lots if lot.yarn_id == "red")
    assert "dye lot K-7" in choice.label
    assert held.mass_g == pytest.approx(bought().lots[0].mass_g - gap_g, abs=3.0)
    assert weighing_question(answer(after, "red")) == ""
    assert next(lot for lot in after.lots if lot.yarn_id == "blue") == bought().lots[1]


def test_thicker_knots_count_for_all_colours() -> None:
    book = weighed(800.0)
    choice, after = chosen(book, "knot")
    assert choice.label == "Thicker knots, in all colours"
    red, blue = answer(after, "red"), answer(after, "blue")
    # 80 of 360 rows took all that is gone, so the other 280 take three and a half times as much.
    gone_g = bought().lots[0].mass_g - 800.0
    assert red.needed_g == pytest.approx(3.5 * gone_g, rel=0.03)
    assert blue.needed_g == pytest.approx(red.needed_g / 3, rel=0.1)
    assert weighing_question(red) == ""
    # A colour whose own knots were measured keeps its measure.
    measured = replace(book, yarns=(COLOURS[0], replace(COLOURS[1], cut_length_mm=50)))
    labels = [one.label for one in weighing_choices(measured, COLOURS[0], answer(measured, "red"))]
    assert "Thicker knots of this colour" in labels


def test_more_on_the_scale_than_expected_asks_for_a_purchase_first() -> None:
    book = weighed(round(1.5 * answer(bought(), "red").on_hand_g))
    story = build_yarn_story_state(book, outlook(book, TODAY), "red")
    assert story is not None
    assert story.doubt.startswith("The scale showed ")
    assert [act.icon for act in story.answers_doubt] == ["buy", "weigh"]
    assert story.answers_doubt[0].choice is None


def test_the_lessons_tell_of_no_more_yarn_than_there_was() -> None:
    """After 2 g weighed for 300 the lessons said 499 g of a yarn of which 340 g were bought."""
    whole = woven(replace(BOOK, yarns=COLOURS, cartoon=striped()), [5] * 72)
    lots = (Lot(id="l", rug_id="r", yarn_id="red", day=whole.sessions[0].day, mass_g=1700.0),)
    slip = Weighing(
        id="w", rug_id="r", yarn_id="red", day=whole.sessions[30].day, mass_g=2.0, resolution_g=1.0, born=9999
    )
    lesson = next(one for one in lessons_of(replace(whole, lots=lots, weighings=(slip,))).yarns)
    assert lesson.g_each * 360 * 180 == pytest.approx(1700.0)
