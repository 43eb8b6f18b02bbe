"""Rows taken out again: their yarn counted from the cartoon, what is lost of it, and everything that follows."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from tests.presenters.rugs import book, session
from tests.presenters.test_loom import with_cartoon
from tests.today import TODAY
from tracker.domain.errors import BadEntry
from tracker.domain.need import account_of
from tracker.domain.rows import rows_to_weave
from tracker.domain.rug import Lot, RugBook, Spoilt, UnpickedYarn, Weighing
from tracker.forecast.ledger import ledgers_of, units_ahead
from tracker.forecast.outlook import outlook
from tracker.presenters import unpick
from tracker.presenters.loom import build_loom_state
from tracker.presenters.zoom import stretches


def written(rug: RugBook, unpicked: unpick.Unpicked, born: int = 90) -> RugBook:
    """The rug after the act."""
    losses = tuple(replace(loss, born=born) for loss in unpicked.losses)
    others = tuple(loss for loss in rug.spoilt if loss.session_id != unpicked.session.id)
    sessions = tuple(one for one in rug.sessions if one.id != unpicked.session.id)
    return replace(rug, sessions=(*sessions, replace(unpicked.session, born=born)), spoilt=(*others, *losses))


def bought(rug: RugBook, grams: float = 3000.0) -> RugBook:
    lots = tuple(
        Lot(id=f"l{yarn.id}", rug_id="rug", yarn_id=yarn.id, day=rug.plan.start_day, mass_g=grams)
        for yarn in rug.yarns
    )
    return replace(rug, lots=lots)


def on_hand(rug: RugBook) -> dict[str, float]:
    return {answer.yarn_id: answer.on_hand_g for answer in outlook(rug, TODAY).yarns}


def needed(rug: RugBook) -> dict[str, float]:
    return {answer.yarn_id: answer.needed_g for answer in outlook(rug, TODAY).yarns}


def test_the_yarn_of_the_rows_is_counted_from_the_cartoon() -> None:
    # Row 2 is 10 knots of indigo; row 1 has 9 of madder and 1 of indigo.
    rug = with_cartoon(session(1, 2))
    (blue, grams), *_wefts = unpick.yarn_in_rows(rug, 2)
    assert blue.id == "blue"
    each = grams / 10
    both = {yarn.id: mass for yarn, mass in unpick.yarn_in_rows(rug, 1)}
    assert both["blue"] == pytest.approx(11 * each)
    assert both["red"] == pytest.approx(9 * each)


def test_who_is_noted_with_unpicked_rows_is_told_beside_the_key_that_saves() -> None:
    rug = with_cartoon(session(1, 2, weavers=("ann", "bo")))
    form = unpick.blank_form(rug, TODAY)
    assert unpick.build_unpick_state(form, rug, TODAY).noted == "At the loom: Ann and Bo"
    assert unpick.build_unpick_state(form, rug, TODAY).hours_label == "Hours each"
    assert unpick.build_unpick_state(form, with_cartoon(), TODAY).noted == ""


def test_every_yarn_of_a_single_row_is_listed_however_little_of_it_is_in_there() -> None:
    # Row 1 has one knot of indigo; a knot takes some hundredths of a gram, and so does a pass of a thin weft across ten knots.
    rug = with_cartoon(session(1, 1))
    account = account_of(rug, rows_to_weave(rug))
    knot_g = next(need.g_per_unit for need in account.pile if need.yarn.id == "blue")
    assert 0 < knot_g < 0.1
    form = unpick.blank_form(rug, TODAY)
    lines = {line.yarn_id: line for line in unpick.lines_of(form, rug)}
    assert set(lines) == {need.yarn.id for need in (*account.pile, *account.wefts)}
    blue = lines["blue"]
    assert (blue.there, blue.lost) == ("0.02 g in these rows", "too little to count")
    assert all(loss.yarn_id != "blue" for loss in unpick.to_values(form, rug, TODAY).losses)
    # It may have taken more than is reckoned: what somebody says of it counts.
    said = form.with_lost("blue", 0.4)
    assert {loss.yarn_id: loss.mass_g for loss in unpick.to_values(said, rug, TODAY).losses}["blue"] == 0.4
    kept = {line.yarn_id: line for line in unpick.lines_of(form.with_lost("blue", 0.0), rug)}
    assert kept["blue"].lost == "used again"


def test_no_more_of_a_yarn_is_lost_than_was_in_the_rows() -> None:
    # One knot of indigo in row 1 and two of the begun row 2: 0.07 g, which rounds up to a tenth.
    rug = with_cartoon(session(1, 1, begun_knots=2))
    form = replace(unpick.blank_form(rug, TODAY), first_row=1)
    there = {yarn.id: grams for yarn, grams in unpick.yarn_in_rows(rug, 1)}
    assert 0.05 < there["blue"] < 0.1
    blue = next(line for line in unpick.lines_of(form, rug) if line.yarn_id == "blue")
    assert (blue.there, blue.lost_g, blue.lost) == (
        "0.07 g in these rows",
        0.0,
        "too little to count",
    )


def test_what_is_begun_comes_out_with_the_rows_below_it_or_alone() -> None:
    rug = with_cartoon(session(1, 1, begun_knots=5))
    form = unpick.blank_form(rug, TODAY)
    assert (form.first_row, unpick.rows_of(form, rug)) == (2, 0)
    alone = unpick.to_values(form, rug, TODAY).session
    assert (alone.rows, alone.begun_knots) == (0, 0)
    both = unpick.to_values(replace(form, first_row=1), rug, TODAY).session
    assert (both.rows, both.begun_knots) == (-1, 0)
    assert written(rug, unpick.to_values(form, rug, TODAY)).knots_begun == 0


def test_knots_are_proposed_as_lost_and_wefts_as_used_again() -> None:
    rug = book(session(1, 20))
    form = unpick.blank_form(rug, TODAY, row=16)
    values = unpick.to_values(form, rug, TODAY)
    assert values.session.rows == -5
    assert {loss.yarn_id for loss in values.losses} == {"red", "blue"}
    assert {loss.session_id for loss in values.losses} == {values.session.id}
    there = {yarn.id: grams for yarn, grams in unpick.yarn_in_rows(rug, 16)}
    assert {loss.yarn_id: loss.mass_g for loss in values.losses} == pytest.approx(
        {"red": there["red"], "blue": there["blue"]}, abs=0.06
    )
    said = form.with_lost("weft", 7.0).with_lost("red", 0.0)
    assert {loss.yarn_id: loss.mass_g for loss in unpick.to_values(said, rug, TODAY).losses} == {
        "weft": 7.0, "blue": pytest.approx(there["blue"], abs=0.06)
    }  # fmt: skip
    assert said.with_lost("red", None).lost == (("weft", 7.0),)


def test_stock_and_need_follow_what_is_lost_and_what_is_yarn_again() -> None:
    rug = bought(book(session(1, 20)))
    stood = bought(book(session(1, 15)))
    form = unpick.blank_form(rug, TODAY, row=16)
    lost_all = written(rug, unpick.to_values(form.with_lost("weft", 6.0), rug, TODAY))
    none_lost = written(rug, unpick.to_values(form.with_lost("red", 0).with_lost("blue", 0), rug, TODAY))
    before, now, again, never = on_hand(rug), on_hand(lost_all), on_hand(none_lost), on_hand(stood)
    for yarn in ("red", "blue"):
        # Cut knots are gone: on hand stays as it was; where they can be used again they are back.
        assert now[yarn] == pytest.approx(before[yarn], abs=1.0)
        assert again[yarn] == pytest.approx(never[yarn], abs=1.0)
    assert now["weft"] == pytest.approx(never["weft"] - 6.0, abs=1.0)
    # The rows are to be woven once more.
    for yarn, grams in needed(lost_all).items():
        assert grams == pytest.approx(needed(stood)[yarn], rel=0.1)
        assert grams > needed(rug)[yarn]


def test_what_is_on_hand_stays_where_the_knots_take_more_than_planned_and_nothing_comes_back() -> None:
    plain = bought(book(session(1, 100)), 400.0)
    reds = {yarn.id: grams for yarn, grams in unpick.yarn_in_rows(plain, 1)}["red"]
    # By the scale the 100 rows took half as much again as the plan reckons.
    scale = Weighing(
        id="w",
        rug_id="rug",
        yarn_id="red",
        day=plain.sessions[-1].day,
        mass_g=round(400 - 1.5 * reds),
        born=50,
    )
    rug = replace(plain, weighings=(scale,))
    answers = outlook(rug, TODAY)
    form = unpick.blank_form(rug, TODAY, row=81)
    (planned,) = (grams for yarn, grams in unpick.yarn_in_rows(rug, 81) if yarn.id == "red")
    out = unpick.to_values(form, rug, TODAY, answers)
    (lost,) = (loss.mass_g for loss in out.losses if loss.yarn_id == "red")
    assert lost == pytest.approx(1.5 * planned, rel=0.08)
    assert on_hand(written(rug, out))["red"] == pytest.approx(on_hand(rug)["red"], abs=2.0)
    # At the plan's grams it rose, though nothing came back.
    assert (
        on_hand(written(rug, unpick.to_values(form, rug, TODAY)))["red"] > on_hand(rug)["red"] + 0.3 * planned
    )
    (line,) = (
        line
        for line in unpick.build_unpick_state(form, rug, TODAY, answers=answers).lines
        if line.yarn_id == "red"
    )
    assert line.lost_g == lost


def test_a_weft_that_is_used_again_is_needed_for_no_row_twice() -> None:
    rug, stood = bought(book(session(1, 60))), bought(book(session(1, 50)))
    out = written(rug, unpick.to_values(unpick.blank_form(rug, TODAY, row=51), rug, TODAY))
    assert unpick.losses_of(out.sessions[-1].id, out), "the knots are lost"
    # The rows are to be woven once more, and the weft of no other comes out of the shelf because of it.
    assert needed(out)["weft"] == pytest.approx(needed(stood)["weft"], rel=0.005)
    assert needed(out)["red"] > 1.01 * needed(stood)["red"], "who cut knots once may cut some again"


def test_one_large_mistake_is_no_habit_of_the_yarn_either() -> None:
    """Ten sessions of ten rows; what came out at once counts for two of them at most in the rows to come."""
    rug = bought(book(*(session(number, 10) for number in range(1, 11))))

    def more(first: int) -> float:
        out = written(rug, unpick.to_values(unpick.blank_form(rug, TODAY, row=first), rug, TODAY))
        return needed(out)["red"] / needed(bought(book(session(1, first - 1))))["red"] - 1

    # 5 rows of 160 (100 gained, and 60 that the plan is worth); 20 of them, and no more however many came out.
    assert more(96) == pytest.approx(5 / 160, abs=0.01)
    assert more(81) == pytest.approx(20 / 160, abs=0.02)
    assert more(11) == pytest.approx(20 / 160, abs=0.02)


def test_no_more_is_on_hand_than_was_bought_when_all_comes_out() -> None:
    rug = bought(book(session(1, 60)), 1000.0)
    used = {yarn.id: grams for yarn, grams in unpick.yarn_in_rows(rug, 1)}["weft"]
    scale = Weighing(
        id="w", rug_id="rug", yarn_id="weft", day=rug.sessions[-1].day, mass_g=round(1000 - used + 5), born=50
    )
    weighed = replace(rug, weighings=(scale,))
    out = written(weighed, unpick.to_values(unpick.blank_form(weighed, TODAY, row=1), weighed, TODAY))
    assert on_hand(out)["weft"] <= 1000.0


def test_rows_come_out_on_a_day_on_which_they_were_there() -> None:
    days = [TODAY - timedelta(days=ago) for ago in (20, 10, 0)]
    rug = book(*(replace(session(number, 20), day=day) for number, day in enumerate(days, 1)))
    form = unpick.blank_form(rug, TODAY, row=21)
    for day, fits in ((TODAY, True), (days[1], True), (days[0], False), (days[0] - timedelta(days=1), False)):
        then = replace(form, day=day, first_row=31)
        if fits:
            assert written(rug, unpick.to_values(then, rug, TODAY)).rows_woven == 30
            continue
        with pytest.raises(BadEntry, match=r"on the loom\. Choose the day") as trouble:
            unpick.to_values(then, rug, TODAY)
        assert f"only {20 if day == days[0] else 0} of" in trouble.value.sentence
    # All of the first evening's rows came out on the second: none of them can have come out in between.
    anew = book(
        *(
            replace(session(n, rows), day=day)
            for n, (rows, day) in enumerate(zip((20, -20, 20), days, strict=True), 1)
        )
    )
    with pytest.raises(BadEntry):
        unpick.to_values(unpick.UnpickForm("again", days[0], 16), anew, TODAY)
    assert unpick.to_values(unpick.UnpickForm("again", TODAY, 16), anew, TODAY).session.rows == -5


def test_who_says_nothing_of_the_yarn_has_lost_it_as_ever() -> None:
    rug = bought(book(session(1, 20), session(2, -5)))
    assert rug.sessions[1].unpicked_yarn is UnpickedYarn.GONE
    assert on_hand(rug)["red"] == pytest.approx(on_hand(bought(book(session(1, 20))))["red"], abs=1.0)


def test_a_scale_after_the_unpicking_is_believed_and_teaches_the_same_use_of_a_knot() -> None:
    rug = bought(book(session(1, 40)), 1000.0)
    knot_g = {y.id: g for y, g in unpick.yarn_in_rows(rug, 1)}["red"] / 40 / 50
    unpicked = written(rug, unpick.to_values(unpick.blank_form(rug, TODAY, row=31), rug, TODAY))
    left = 1000.0 - 40 * 50 * knot_g
    weighed = replace(
        unpicked,
        weighings=(
            Weighing(id="w", rug_id="rug", yarn_id="red", day=TODAY, mass_g=left, resolution_g=1.0, born=95),
        ),
    )
    red = next(answer for answer in outlook(weighed, TODAY).yarns if answer.yarn_id == "red")
    assert red.on_hand_g == pytest.approx(left, abs=1.0)
    # The scale agrees with what the plan takes for a knot, so what is still needed stays as it was.
    assert red.needed_g == pytest.approx(needed(unpicked)["red"], rel=0.02)


def test_row_days_and_picture_go_back_to_where_it_was_unpicked() -> None:
    rug = with_cartoon(session(1, 1), session(2, 2))
    after = written(rug, unpick.to_values(unpick.blank_form(rug, TODAY, row=3), rug, TODAY))
    assert build_loom_state(after, None, None, TODAY).row == 3
    assert [(s.first, s.last) for s in stretches(after)] == [(1, 1), (2, 2)]
    # More than what is left cannot come out.
    with pytest.raises(BadEntry, match="1 to 2"):
        unpick.to_values(replace(unpick.blank_form(after, TODAY), first_row=3), after, TODAY)


def test_a_correction_writes_the_same_records_anew_and_takes_out_what_no_longer_holds() -> None:
    rug = book(session(1, 20))
    first = unpick.to_values(unpick.blank_form(rug, TODAY, row=16), rug, TODAY)
    after = written(rug, first)
    form = unpick.form_of(after.sessions[-1], after)
    assert (form.first_row, unpick.to_values(form, after, TODAY).losses) == (16, after.spoilt)
    changed = unpick.to_values(replace(form.with_lost("red", 0.0), first_row=18), after, TODAY)
    assert (changed.session.id, changed.session.rows) == (first.session.id, -3)
    assert changed.withdrawn == (next(loss.id for loss in after.spoilt if loss.yarn_id == "red"),)
    assert [loss.id for loss in changed.losses] == [
        loss.id for loss in after.spoilt if loss.yarn_id == "blue"
    ]


def test_a_correction_begins_with_all_that_was_said() -> None:
    out = session(2, -5, 1.5, weavers=("bo",), note="the wrong blue")
    form = unpick.form_of(out, book(session(1, 20), out))
    assert (form.session_id, form.day, form.first_row, form.hours, form.weavers, form.note) == (
        "s2", out.day, 16, 1.5, ("bo",), "the wrong blue",
    )  # fmt: skip
    # Of those rows nothing was said to be lost.
    assert form.lost == (("red", 0.0), ("blue", 0.0), ("weft", 0.0))
    blank = unpick.blank_form(book(session(1, 20, weavers=("bo", "gone"))), TODAY)
    assert (blank.weavers, blank.first_row, blank.hours, blank.note) == (("bo",), 20, None, "")
    assert unpick.blank_form(book(), TODAY).weavers == ("ann",)
    assert unpick.blank_form(book(session(1, 20)), TODAY, row=99).first_row == 20
    assert unpick.blank_form(book(session(1, 20)), TODAY, row=0).first_row == 1


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"first_row": 21}, "Unpick from a row that is woven: 1 to 20."),
        ({"first_row": 0}, "Unpick from a row that is woven: 1 to 20."),
        ({"hours": 24.5}, "A day has 24 hours. Give the hours at the loom, such as 2.5, or leave them open."),
        ({"hours": -1.0}, "A day has 24 hours. Give the hours at the loom, such as 2.5, or leave them open."),
        ({"hours": float("nan")}, "A day has 24 hours. Give the hours at the loom, such as 2.5, or leave them open."),
        ({"day": TODAY + timedelta(days=2)},
         "27 November 2026 is still to come. Choose the day on which you sat at the loom."),
    ],
)  # fmt: skip
def test_what_cannot_be_unpicked_is_refused_with_a_sentence(changes: dict, sentence: str) -> None:
    rug = book(session(1, 20))
    form = replace(unpick.blank_form(rug, TODAY), **changes)
    with pytest.raises(BadEntry) as refused:
        unpick.to_values(form, rug, TODAY)
    assert refused.value.sentence == sentence


def test_a_day_of_24_hours_and_tomorrow_by_another_clock_are_taken() -> None:
    rug = book(session(1, 20))
    form = replace(unpick.blank_form(rug, TODAY), hours=24.0, day=TODAY + timedelta(days=1), note=" torn ")
    value = unpick.to_values(form, rug, TODAY).session
    assert (value.hours, value.day, value.note) == (24.0, TODAY + timedelta(days=1), "torn")
    assert unpick.to_values(replace(form, hours=0.0), rug, TODAY).session.hours is None


def test_rows_that_later_sessions_took_out_cannot_come_out_once_more() -> None:
    # Seven of ten rows came out on the second day; the third day's correction may not claim five of the ten.
    rug = book(session(1, 10), session(2, -2), session(3, -7))
    form = replace(unpick.form_of(rug.sessions[1], rug), first_row=6)
    with pytest.raises(BadEntry) as refused:
        unpick.to_values(form, rug, TODAY)
    assert refused.value.sentence == "There are only 3 rows on the loom to unpick. Unpick at most that many."
    rug = book(session(1, 10), session(2, -2), session(3, -9))
    with pytest.raises(BadEntry, match="There is only 1 row on the loom to unpick"):
        unpick.to_values(replace(form, first_row=6), rug, TODAY)


def test_the_page_in_full() -> None:
    rug = book(session(1, 20, begun_knots=40))
    form = replace(unpick.blank_form(rug, TODAY, row=16), hours=1.5, note="torn")
    state = unpick.build_unpick_state(form, rug, TODAY)
    assert (state.day, state.first_row, state.most_row, state.hours, state.note) == (
        "today",
        16,
        21,
        "1.5 h",
        "torn",
    )
    assert state.span == "to row 21, of which 40 knots are tied"
    assert (state.can_save, state.empty, state.next_key) == (True, "", "")
    assert [(line.yarn_id, line.number, line.name, line.swatch) for line in state.lines] == [
        ("red", "1", "Madder", "#9C2F25"), ("blue", "2", "Indigo", "#27406B"), ("weft", "", "Ground weft", "#C8B89A"),
    ]  # fmt: skip
    assert state.lines[2].lost == "used again"
    one_knot = unpick.build_unpick_state(form, book(session(1, 20, begun_knots=1)), TODAY)
    assert one_knot.span == "to row 21, of which 1 knot is tied"
    later = replace(form, day=TODAY - timedelta(days=1), hours=None)
    whole = unpick.build_unpick_state(later, book(session(1, 20)), TODAY)
    assert (whole.day, whole.hours, whole.span) == ("yesterday", "not given", "to row 20, the last one woven")
    old = unpick.build_unpick_state(replace(form, day=TODAY - timedelta(days=9)), rug, TODAY)
    assert old.day == "16 November"
    waiting = unpick.build_unpick_state(form, rug, TODAY, waiting=True)
    assert (waiting.can_save, waiting.next_key) == (False, "Save the session")
    assert waiting.empty.startswith("What you counted last is not saved yet.")


def test_a_form_that_nobody_touched_takes_no_row_out() -> None:
    rug = with_cartoon(session(1, 2, begun_knots=5))
    untouched = unpick.build_unpick_state(unpick.blank_form(rug, TODAY), rug, TODAY)
    assert (untouched.shown_row, untouched.lines, untouched.more) == ("–", (), "")
    assert (untouched.can_save, untouched.act) == (False, "Unpick rows")
    # One step down from there is the topmost row, which is begun.
    topmost = replace(unpick.blank_form(rug, TODAY), first_row=untouched.first_row - 1, row_said=True)
    said = unpick.build_unpick_state(topmost, rug, TODAY)
    assert (said.shown_row, said.can_save, said.act) == ("3", True, "Unpick the begun part of row 3")
    assert said.lines
    # Where a row was tapped to come here, or stands in the diary, it is said.
    assert unpick.build_unpick_state(unpick.blank_form(rug, TODAY, row=2), rug, TODAY).can_save


def test_what_was_taken_out_is_said_with_what_was_lost() -> None:
    rug = book(session(1, 20))
    form = unpick.blank_form(rug, TODAY, row=16).with_lost("blue", 0.0).with_lost("weft", 2.0)
    assert (
        unpick.saved_words(unpick.to_values(form.with_lost("red", 4.0), rug, TODAY))
        == "5 rows unpicked, 6 g lost"
    )
    none = form.with_lost("red", 0.0).with_lost("weft", 0.0)
    assert unpick.saved_words(unpick.to_values(none, rug, TODAY)) == "5 rows unpicked"
    assert unpick.saved_words(unpick.to_values(replace(none, first_row=20), rug, TODAY)) == "1 row unpicked"
    begun = book(session(1, 20, begun_knots=40))
    alone = unpick.blank_form(begun, TODAY).with_lost("red", 0.0).with_lost("blue", 0.0)
    assert unpick.saved_words(unpick.to_values(alone, begun, TODAY)) == "Begun row unpicked"
    alone = replace(alone, row_said=True)
    both = replace(alone, first_row=19)
    assert unpick.build_unpick_state(both, begun, TODAY).act == "Unpick rows 19 to 21"
    assert unpick.saved_words(unpick.to_values(both, begun, TODAY)) == "2 rows and the begun one unpicked"
    assert unpick.build_unpick_state(replace(alone, first_row=20), begun, TODAY).act == "Unpick rows 20 to 21"


def test_an_empty_loom_says_what_the_page_is_for() -> None:
    state = unpick.build_unpick_state(unpick.blank_form(book(), TODAY), book(), TODAY)
    assert not state.can_save
    assert state.empty.startswith("No row is on the loom yet.")
    with pytest.raises(BadEntry, match="No row"):
        unpick.to_values(unpick.blank_form(book(), TODAY), book(), TODAY)


def test_a_half_filled_form_is_kept() -> None:
    rug = book(session(1, 20))
    form = unpick.blank_form(rug, TODAY, row=16).with_lost("red", 3.5)
    assert unpick.from_kept(unpick.to_kept(form)) == form
    assert unpick.from_kept({"first_row": "x"}) is None


def test_a_loss_of_an_unpicked_row_names_its_session_and_another_does_not() -> None:
    rug = replace(
        book(session(1, 20)), spoilt=(Spoilt(id="x", rug_id="rug", yarn_id="red", day=TODAY, mass_g=5.0),)
    )
    after = written(rug, unpick.to_values(unpick.blank_form(rug, TODAY), rug, TODAY))
    assert [loss.id for loss in after.spoilt if loss.session_id is None] == ["x"]
    assert unpick.losses_of(after.sessions[-1].id, after) == after.spoilt[1:]
    assert np.isfinite(outlook(after, TODAY).yarns[0].on_hand_g)


@pytest.mark.parametrize(("share", "units"), [(1.0, 1000), (0.5, 875), (0.0, 750)])
def test_what_was_lost_left_the_ball_and_what_is_used_again_did_not(share: float, units: float) -> None:
    # 20 rows of 50 madder knots; 5 rows, 250 knots, come out again.
    rug = book(session(1, 20))
    lost_g = {yarn.id: grams for yarn, grams in unpick.yarn_in_rows(rug, 16)}["red"] * share
    form = unpick.blank_form(rug, TODAY, row=16).with_lost("red", lost_g).with_lost("blue", 0.0)
    after = written(rug, unpick.to_values(form.with_lost("weft", 1.0), rug, TODAY))
    need = account_of(after).pile[0]
    ahead = units_ahead(need, rows_to_weave(after).knots[:, 0], 200)
    (ledger,) = ledgers_of(after, [need], [ahead], 1.0)
    assert ledger.tied[-1] == pytest.approx(750)
    assert ledger.wound_off[-1] == pytest.approx(units, abs=0.5)
