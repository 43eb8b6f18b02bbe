"""A weighing that lies far off is asked about, and each answer counts where it belongs: this yarn, that lot, all colours."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from tests.unit.forecast.books import BLUE, BOOK, RED, striped, woven
from tracker.domain.gathered import gathered_of
from tracker.domain.rug import Lot, RugBook, Sample, Spoilt, Weighing
from tracker.domain.rules import check
from tracker.domain.weighing_answer import LOST, answer_id, lost_before
from tracker.forecast.answers import YarnAnswer
from tracker.forecast.lessons import lessons_of, take_over
from tracker.forecast.outlook import outlook
from tracker.presenters.home import build_home_state
from tracker.presenters.shelf import build_lesson_state
from tracker.presenters.weighed import WeighedChoice, weighing_choices, weighing_question
from tracker.presenters.yarn import build_yarn_state, build_yarn_story_state, told_words
from tracker.words import day_short, mass

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


def entered(book: RugBook, choice: WeighedChoice) -> RugBook:
    """Return the book with an answer, as a touch enters it."""
    (value,) = (replace(value, born=99_999) for value in choice.values)
    if isinstance(value, Spoilt):
        return replace(book, spoilt=(value,))
    if isinstance(value, Sample):
        return replace(book, samples=(value,))
    assert isinstance(value, Lot)
    return replace(book, lots=tuple(value if lot.id == value.id else lot for lot in book.lots))


def chosen(book: RugBook, icon: str) -> tuple[WeighedChoice, RugBook]:
    """Give the answer with that icon, as a touch enters it."""
    choice = next(one for one in weighing_choices(book, COLOURS[0], answer(book, "red")) if one.icon == icon)
    return choice, entered(book, choice)


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


def test_knots_counted_by_the_cartoon_are_believed_before_a_weighing_that_is_in_doubt() -> None:
    """Only where the shares of the colours were taken by eye may they be off by as much as the scale says."""
    red = answer(weighed(round(0.8 * answer(bought(), "red").on_hand_g)), "red")
    assert red.needed_g < 1.65 * answer(bought(), "red").needed_g


def test_a_weighing_as_expected_asks_nothing() -> None:
    book = weighed(round(answer(bought(), "red").on_hand_g))
    assert weighing_question(answer(book, "red")) == ""
    assert weighing_choices(book, COLOURS[0], answer(book, "red")) == ()


@pytest.mark.parametrize("weighed_before", [False, True])
def test_a_weighing_within_what_the_page_called_likely_is_as_expected(weighed_before: bool) -> None:
    """The page said "likely 220 to 277 g", the scale 240, and a question in red asked what had happened."""
    before = ()
    if weighed_before:
        there_g = round(answer(replace(bought(), sessions=WOVEN.sessions[:8]), "red").on_hand_g)
        before = (replace(weighed(there_g).weighings[0], id="before", day=WOVEN.sessions[8].day, born=0),)
    shown = answer(replace(bought(), weighings=before), "red")

    def scaled(mass_g: float) -> YarnAnswer:
        return answer(replace(bought(), weighings=(*before, *weighed(round(mass_g)).weighings)), "red")

    for inside in (shown.on_hand_low_g + 1, shown.on_hand_high_g - 1):
        red = scaled(inside)
        assert weighing_question(red) == ""
        assert red.told is not None
        assert (red.told.low_g, red.told.high_g) == (
            pytest.approx(shown.on_hand_low_g, abs=4.0), pytest.approx(shown.on_hand_high_g, abs=4.0)
        )  # fmt: skip
        assert "as expected (" in told_words(red)
        assert mass(shown.on_hand_g) in told_words(red)
    far = shown.on_hand_low_g - max(40.0, 0.7 * (shown.on_hand_g - shown.on_hand_low_g))
    assert weighing_question(scaled(far)).startswith("The scale showed ")


def test_yarn_that_was_lost_counts_for_this_yarn_alone() -> None:
    book = weighed(800.0)
    choice, after = chosen(book, "spoilt")
    assert choice.label.startswith("Lost: ")
    red = answer(after, "red")
    assert weighing_question(red) == ""
    assert red.on_hand_g == pytest.approx(800.0, abs=1.0)
    # It was missing on the scale today, and is dated today, however late the answer is entered.
    (loss,) = after.spoilt
    assert loss.day == after.weighings[0].day
    story = build_yarn_story_state(after, outlook(after, TODAY), "red")
    assert story is not None
    assert [line.day for line in story.lines if line.head.endswith(" lost")] == [day_short(TODAY, TODAY)]
    untouched = answer(bought(), "red")
    assert red.needed_g == pytest.approx(untouched.needed_g, rel=0.05)
    assert answer(after, "blue").needed_g == pytest.approx(answer(bought(), "blue").needed_g, rel=0.05)


def test_a_weighing_answered_on_two_phones_tells_of_one_loss_and_one_sample() -> None:
    """Both weavers of a loom said "lost": joined, twice as much was gone, and the scale showed more than there was."""
    book = weighed(800.0)
    here, there = (
        {
            one.icon: one.values[0].id
            for one in weighing_choices(book, COLOURS[0], answer(book, "red"))
            if one.values
        }
        for _phone in range(2)
    )
    assert here == there
    assert len(set(here.values())) == len(here)
    # Corrected after it was answered: what else is missing comes on top.
    _choice, after = chosen(book, "spoilt")
    less = replace(after, weighings=(replace(after.weighings[0], mass_g=500.0),))
    _choice, corrected = chosen(less, "spoilt")
    (loss,) = corrected.spoilt
    assert loss.id == after.spoilt[0].id
    assert loss.mass_g == pytest.approx(after.spoilt[0].mass_g + 300.0, abs=5.0)
    assert weighing_question(answer(corrected, "red")) == ""


def test_a_light_lot_is_that_lot_by_what_it_really_weighed() -> None:
    book = weighed(800.0)
    choice, after = chosen(book, "weigh")
    gap_g = answer(bought(), "red").on_hand_g - 800.0
    held = next(lot for lot in after.lots if lot.yarn_id == "red")
    assert "dye lot K-7" in choice.label
    assert held.mass_g == pytest.approx(bought().lots[0].mass_g - gap_g, abs=3.0)
    assert weighing_question(answer(after, "red")) == ""
    assert next(lot for lot in after.lots if lot.yarn_id == "blue") == bought().lots[1]


def test_a_heavy_lot_is_offered_as_such_and_explains_all_that_is_there() -> None:
    expected_g = answer(bought(), "red").on_hand_g
    book = weighed(round(1.5 * expected_g))
    choice, after = chosen(book, "weigh")
    held = next(lot for lot in after.lots if lot.yarn_id == "red")
    assert choice.label == f"A heavy lot: dye lot K-7 weighed {mass(held.mass_g)}, that lot alone"
    assert held.mass_g == pytest.approx(bought().lots[0].mass_g + 0.5 * expected_g, abs=3.0)
    assert weighing_question(answer(after, "red")) == ""


def test_the_two_lots_bought_last_are_asked_about_where_they_can_have_weighed_so_much_less() -> None:
    day = WOVEN.sessions[0].day
    of_red = tuple(
        Lot(
            id=name,
            rug_id="r",
            yarn_id="red",
            day=day,
            dye_lot=name,
            mass_g=grams,
            weighed_g=grams,
            regain=0.1,
        )
        for name, grams in (("first", 700.0), ("second", 600.0), ("third", 500.0), ("last", 30.0))
    )

    def offered(scale_g: float, *lots: Lot) -> list[Lot]:
        scale = replace(weighed(0).weighings[0], mass_g=scale_g)
        book = replace(WOVEN, lots=lots, weighings=(scale,))
        choices = weighing_choices(book, COLOURS[0], answer(book, "red"))
        return [lot for one in choices for lot in one.values if isinstance(lot, Lot)]

    lots = offered(1_200.0, *of_red[:3])
    assert [lot.dye_lot for lot in lots] == ["third", "second"]
    # What it weighed in moist air says nothing any more.
    assert {(lot.weighed_g, lot.regain) for lot in lots} == {(None, None)}
    # 30 g cannot have been hundreds too light.
    assert [lot.dye_lot for lot in offered(1_230.0, of_red[0], *of_red[2:], of_red[1])] == ["second", "third"]


def test_of_two_weighings_of_one_day_the_loss_lies_between_them() -> None:
    book = weighed(800.0)
    before_g = round(answer(bought(), "red").on_hand_g)
    earlier = replace(book.weighings[0], id="before", mass_g=before_g, born=9998)
    twice = replace(book, weighings=(earlier, *book.weighings))
    _choice, after = chosen(twice, "spoilt")
    (loss,) = after.spoilt
    assert loss.mass_g == pytest.approx(before_g - 800.0, abs=3.0)
    red = answer(after, "red")
    assert weighing_question(red) == ""
    assert red.on_hand_g == pytest.approx(800.0, abs=1.0)
    # Nothing was missing on the first scale: by it as much was used as without the second.
    assert red.needed_g == pytest.approx(
        answer(replace(twice, weighings=(earlier,)), "red").needed_g, rel=0.02
    )
    # The lessons of the rug count it as lost before that scale as well, and so does what was gathered before the first row.
    used_g = sum(lot.mass_g for lot in after.lots if lot.yarn_id == "red") - loss.mass_g - 800.0
    lesson = next(one for one in lessons_of(after).yarns if one.yarn_id == "red")
    assert lesson.used_g == pytest.approx(used_g)
    assert gathered_of("red", after.lots, (loss,), after.weighings, ()) == 800.0
    # Of a weighing dated earlier since, it was not missing there.
    moved = replace(after.weighings[1], day=TODAY - timedelta(days=9))
    assert not lost_before(loss, moved)


@pytest.mark.parametrize("scale_share", [0.3, 0.85, 0.93, 1.07])
@pytest.mark.parametrize("later_lot_g", [0.0, 1_500.0])
def test_after_an_earlier_weighing_only_what_explains_the_gap_is_offered(
    scale_share: float, later_lot_g: float
) -> None:
    """A lot that lay on the earlier scale was offered as light: taken, nothing was answered and it was asked again."""
    between = WOVEN.sessions[8].day
    there_g = round(answer(replace(bought(), sessions=WOVEN.sessions[:8]), "red").on_hand_g)
    earlier = replace(weighed(there_g).weighings[0], id="before", day=between, born=0)
    later = Lot(id="later", rug_id="r", yarn_id="red", day=TODAY, dye_lot="K-9", mass_g=later_lot_g)
    lots = (*bought().lots, *((later,) if later_lot_g else ()))
    once = replace(bought(), lots=lots, weighings=(earlier,))
    scale = replace(weighed(round(answer(once, "red").on_hand_g * scale_share)).weighings[0])
    twice = replace(once, weighings=(earlier, scale))
    choices = weighing_choices(twice, COLOURS[0], answer(twice, "red"))
    assert choices
    # A lot bought since can have been too light by no more than it weighs.
    assert any(one.icon == "weigh" for one in choices) == (later_lot_g > 0 and scale_share > 0.5)
    # What was on the earlier scale was there by the bills too: it was not that one which was misread.
    assert not any(choice.withdraw for choice in choices)
    for choice in choices:
        if choice.values:
            after = entered(twice, choice)
            assert weighing_question(answer(after, "red")) == "", choice.label
    # There is never one answer alone: the scale may have been misread.
    assert (len(choices) > 1, choices[-1].corrects) == (True, "w")
    told = answer(twice, "red").told
    assert told is not None
    right = replace(scale, mass_g=round(told.expected_g))
    assert weighing_question(answer(replace(twice, weighings=(earlier, right)), "red")) == ""


@pytest.mark.parametrize("answered", [False, True])
def test_an_earlier_weighing_that_was_misread_is_left_out_with_what_it_was_answered_by(
    answered: bool,
) -> None:
    """400 g read for 600, and called lost: the next scale showed "200 g more", and a purchase was the only answer."""
    between = WOVEN.sessions[8].day
    there_g = answer(replace(bought(), sessions=WOVEN.sessions[:8]), "red").on_hand_g
    earlier = replace(weighed(round(0.7 * there_g)).weighings[0], id="before", day=between, born=0)
    once = replace(bought(), weighings=(earlier,))
    if answered:
        loss = Spoilt(
            id=answer_id("before", LOST), rug_id="r", yarn_id="red", day=between, mass_g=round(0.3 * there_g)
        )
        once = replace(once, spoilt=(loss,))
    scale = weighed(round(answer(bought(), "red").on_hand_g)).weighings[0]
    twice = replace(once, weighings=(earlier, scale))
    choices = weighing_choices(twice, COLOURS[0], answer(twice, "red"))
    (choice,) = (one for one in choices if one.withdraw)
    assert (
        choice.label
        == f"The weighing of {day_short(between, TODAY)} was wrong: leave its {mass(earlier.mass_g)} out"
    )
    assert choice.withdraw == ("before", *((answer_id("before", LOST),) if answered else ()))
    left = replace(
        twice,
        weighings=tuple(one for one in twice.weighings if one.id not in choice.withdraw),
        spoilt=tuple(one for one in twice.spoilt if one.id not in choice.withdraw),
    )
    assert weighing_question(answer(left, "red")) == ""


def test_a_sample_of_many_rows_is_one_that_the_book_takes() -> None:
    """Of 144,000 knots tied none was offered, or one that was refused when it was tapped."""
    wide = replace(BOOK.plan, knots_across=2_400, width_cm=600.0)
    rug = woven(replace(BOOK, plan=wide, yarns=COLOURS, cartoon=striped(360, 2_400)), [5] * 16)
    needed_g = answer(rug, "red").needed_g
    lot = Lot(id="l", rug_id="r", yarn_id="red", day=rug.sessions[0].day, mass_g=round(1.5 * needed_g))
    scale = replace(weighed(0).weighings[0], mass_g=round(0.9 * needed_g))
    rug = replace(rug, lots=(lot,), weighings=(scale,))
    (sample,) = next(
        one.values for one in weighing_choices(rug, COLOURS[0], answer(rug, "red")) if one.icon == "knot"
    )
    check(sample)
    gone_g = lot.mass_g - scale.mass_g
    assert sample.mass_g / sample.knots == pytest.approx(gone_g / (80 * 1_800), rel=1e-4)


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
    green = replace(COLOURS[1], id="green", number=3, name="Green", cartoon_values=(2,))
    third = replace(measured, yarns=(*measured.yarns, green))
    labels = [one.label for one in weighing_choices(third, COLOURS[0], answer(third, "red"))]
    assert "Thicker knots, in all colours not measured yet" in labels


def test_thinner_knots_are_called_so() -> None:
    less = 1.15
    while not weighing_question(answer(weighed(round(less * answer(bought(), "red").on_hand_g)), "red")):
        less += 0.02
    book = weighed(round(less * answer(bought(), "red").on_hand_g))
    choice, after = chosen(book, "knot")
    assert choice.label == "Thinner knots, in all colours"
    assert answer(after, "blue").needed_g < answer(bought(), "blue").needed_g


def test_more_on_the_scale_than_expected_asks_for_a_purchase_first() -> None:
    book = weighed(round(1.5 * answer(bought(), "red").on_hand_g))
    story = build_yarn_story_state(book, outlook(book, TODAY), "red")
    assert story is not None
    assert story.doubt.startswith("The scale showed ")
    assert [act.icon for act in story.answers_doubt] == ["buy", "weigh", "edit"]
    assert story.answers_doubt[0].choice is None


def test_the_lessons_tell_of_no_more_yarn_than_there_was() -> None:
    """After 2 g weighed for 300 the lessons said 499 g of a yarn of which 340 g were bought."""
    whole = woven(replace(BOOK, yarns=COLOURS, cartoon=striped()), [5] * 72)
    lots = (Lot(id="l", rug_id="r", yarn_id="red", day=whole.sessions[0].day, mass_g=1700.0),)
    # A little more by the scale than there was: what there was. 155 of 360 rows; 2 % of the whole.
    left_g = round(1700.0 - 1.02 * 1700.0 * 155 / 360)
    scale = Weighing(
        id="w", rug_id="r", yarn_id="red", day=whole.sessions[30].day, mass_g=left_g, resolution_g=1.0, born=9999
    )  # fmt: skip
    (lesson,) = lessons_of(replace(whole, lots=lots, weighings=(scale,))).yarns
    assert lesson.g_each * 360 * 180 == pytest.approx(1700.0)
    assert not lesson.weighed, "it was on no scale after so many rows"
    assert lesson.is_sound
    # Far more: the scale slipped, or a purchase is missing. It is asked, and nobody counts with it.
    slip = replace(whole, lots=lots, weighings=(replace(scale, mass_g=2.0),))
    (lesson,) = lessons_of(slip).yarns
    assert not lesson.is_sound
    assert (lesson.weighed, lesson.rows) == (True, 155)


def test_yarn_that_cannot_have_lasted_is_asked_about_after_the_last_row_too_and_teaches_nothing() -> None:
    """Weighed once, 8 g short, nothing bought, woven out: it showed "done" with 0 g on hand, and 29 % less than planned."""
    plan, day = answer(WOVEN, "red"), TODAY + timedelta(days=30)
    rest = replace(WOVEN.sessions[-1], id="rest", day=day, rows=280, born=99_000)
    scale = replace(weighed(0).weighings[0], mass_g=round(0.55 * plan.needed_g))
    lot = replace(bought().lots[0], mass_g=round(scale.mass_g + plan.woven_g))
    out = replace(WOVEN, sessions=(*WOVEN.sessions, rest), lots=(lot,), weighings=(scale,))
    answers = outlook(out, day)
    story = build_yarn_story_state(out, answers, "red")
    assert story is not None
    assert "you wove on. Is a purchase missing?" in story.doubt
    assert [act.icon for act in story.answers_doubt] == ["buy", "weigh"]
    state = build_yarn_state(out, answers)
    assert "1 yarn" in state.hint
    assert "more woven than there was" in [card.ends for card in state.cards]
    home = build_home_state(out, answers)
    assert any(ask.page == "yarn_story" for ask in home.asks)
    lessons = lessons_of(out)
    said = build_lesson_state(out, lessons, day).yarns[0].difference
    assert "weighed after 80 rows: is something not entered?" in said
    assert take_over(lessons, out, WOVEN).yarns == ()
    # What came is entered: it is asked no more, and the weighing teaches.
    entered = replace(out, lots=(lot, replace(lot, id="more", day=TODAY + timedelta(days=1), born=98_000)))
    assert build_yarn_story_state(entered, outlook(entered, day), "red").doubt == ""
    assert "more is woven" not in build_yarn_state(entered, outlook(entered, day)).hint
    assert (
        build_lesson_state(entered, lessons_of(entered), day)
        .yarns[0]
        .difference.endswith("weighed after 80 rows")
    )
