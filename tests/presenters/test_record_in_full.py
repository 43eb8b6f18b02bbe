"""The record of a small rug in full: everything it says while the rug is on the loom and once it is handed over."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from tests.presenters import answers as told
from tests.unit.forecast.books import BOOK, striped, woven
from tests.unit.reports.books import small_answers, small_book
from tracker.domain.finished_size import measured_density
from tracker.domain.lot_change import LotChange
from tracker.domain.material_plan import material_plan
from tracker.domain.order import Order
from tracker.domain.rug import (
    AfterStep,
    KnotKind,
    Lot,
    Photo,
    Role,
    RugBook,
    RugStage,
    Session,
    SizeMeasure,
    Yarn,
)
from tracker.forecast.answers import LengthWarning, YarnWord
from tracker.forecast.outlook import outlook
from tracker.presenters.fact import Fact
from tracker.presenters.picture import rug_picture
from tracker.presenters.record.care import care_advice
from tracker.presenters.record.facts import facts_of_today
from tracker.presenters.record.materials import yarn_entries
from tracker.presenters.record.rug_record import PHOTOS, rug_record
from tracker.presenters.record.values import Bar, PhotoEntry, WeaverEntry, YarnEntry
from tracker.presenters.record.yarn_use import YarnUse, yarn_use, yarns_in_order


def photos(many: int) -> tuple[Photo, ...]:
    return tuple(
        Photo(id=f"p{at}", rug_id="rug", day=date(2026, 11, at + 1), file_name=f"{at}.jpg", caption="" if at else "First")
        for at in range(many)
    )  # fmt: skip


def here(name: str) -> Path | None:
    """All pictures but one are on this phone."""
    return None if name == "3.jpg" else Path("/photos") / name


def rug(**changes: object) -> RugBook:
    """6 knots by 4 rows, a quarter of the field over four warps, three rows woven; 27 pictures."""
    book = small_book()
    plan = replace(book.plan, jufti_share=0.25, warp_offset_degrees=45.0, notes="For the hall", **changes)
    warp = Yarn(id="warp", rug_id="rug", role=Role.WARP, number=1, name="Warp", tex=300.0, fibre="linen")
    return replace(book, plan=plan, yarns=(*book.yarns, warp), photos=photos(27))


def handed_over() -> RugBook:
    book = rug(
        stage=RugStage.FINISHED, finished_day=date(2026, 11, 24), unwashed_g=2200.0, washed_g=2100.0, finished_width_cm=31.0,
        finished_length_cm=24.0, unwashed_length_cm=25.0,
    )  # fmt: skip
    return replace(book, after_steps=(replace(book.after_steps[0], done_day=date(2026, 11, 20)),))


def test_the_record_so_far_in_full() -> None:
    book = rug()
    record = rug_record(book, small_answers(), photo_at=here)
    cut_off = replace(book.after_steps[0], name="Cut off", done_day=date(2026, 11, 25))
    off = rug_record(replace(book, after_steps=(cut_off,)), small_answers(), photo_at=here)
    assert off.kicker == "A record so far: this rug is not finished"
    assert (record.kicker, record.name, record.subtitle, record.on_day, record.so_far) == (
        "A record so far: this rug is on the loom",
        "Little field",
        "Hand-knotted pile rug, to be 30 × 20 cm finished, woven from 9 November to 24 November 2026",
        "25 November 2026",
        True,
    )
    # 24 places, a quarter of them two to a knot: 21. A square metre has 20 × 20 places: 350 knots.
    assert record.facts == (
        Fact("Size", "to be 30 × 20 cm finished", ""),
        Fact("Knots", "21", "6 across, 4 rows"),
        Fact("Density", "2 × 2 per 10 cm", "as planned, 350 knots in a square metre"),
        Fact("Knot", "symmetric", "round both warps; over four warps in 25 % of the field"),
        Fact("Pile", "9 mm", "wool, 2 colours"),
        Fact("Foundation", "linen warp", "every second warp half behind, 1 weft of cotton"),
        Fact("Weight", "about 4 g", "when finished: from the plan, without fringes and flat ends"),
        Fact("At the loom", "3 days, 5.5 h"),
        Fact("Woven by", "Ann and Bo", ""),
    )
    assert record.density_note == "As planned."
    assert record.densities[:2] == (("per 10 cm", "2 × 2"), ("per inch", "0.508 × 0.508"))
    assert record.now == (
        Fact("Where it stands", "row 3 of 4", "75 % of the knots"),
        Fact("Last row about", "3 December", "likely 1 Dec to 9 Dec"),
        Fact("Ready about", "7 December", "with the steps after weaving"),
        Fact("The yarn", "1 yarn to watch", "Indigo: to buy 500 g"),
    )
    assert (record.warnings, record.notes) == ((), "For the hall")
    # 750 g of madder bought, 20 g spoilt, 610 g on the scale after the last session. Of the 18 places woven 14 are red,
    # 4 blue; a quarter is tied two to a knot: 12.25 and 3.5 knots so far.
    assert record.yarns == (
        YarnEntry(
            "1", "Madder", "#A5372A", Role.PILE,
            ("wool, Nm 5/2 x 3", "the hill dyer and the river dyer, dye lot M-1"), "12", 0.75, "120 g", "weighed",
        ),
        YarnEntry("2", "Indigo", "#223A63", Role.PILE, ("wool, Nm 5/2 x 3", "the river dyer"), "4", 0.25, "0 g", "from the plan"),
        YarnEntry("", "Ground weft", "#C8B89A", Role.WEFT, ("cotton",), "", 0.0, "9 g", "from the plan"),
        YarnEntry("", "Warp", "#C8B89A", Role.WARP, ("linen",), "", 0.0, "5 g", "from the plan"),
    )  # fmt: skip
    assert (record.knots_head, record.used_head) == ("Knots so far", "Yarn so far")
    assert record.yarn_note == "With loom waste, and what knife and shears take off."
    # 120 + 0 + 9 + 5 g.
    assert record.yarn_sums == (("In all", "134 g"),)
    # 18 places woven in 5.5 h at the loom, 3 of them by two weavers: 15.75 knots in 8.5 h.
    assert record.weaving == (
        Fact("Days at the loom", "3"),
        Fact("Hours at the loom", "5.5 h", ""),
        Fact("Rows woven", "3"),
        Fact("Knots an hour", "2", "by one weaver"),
    )
    assert record.weavers == (
        WeaverEntry("Ann", "2 days", "5 h", ""),
        WeaverEntry("Bo", "2 days", "3.5 h", ""),
    )
    assert record.chart_title == "Rows by week"
    assert record.bars == (
        Bar(date(2026, 11, 9), 2, "9 Nov"), Bar(date(2026, 11, 16), 2, "16 Nov"), Bar(date(2026, 11, 23), -1, "23 Nov"),
    )  # fmt: skip
    assert record.steps == (("Wash and dry", "to do, 4 days"),)
    assert record.care == care_advice()
    assert (record.width_cm, record.length_cm, record.width_words, record.length_words) == (
        30.0,
        20.0,
        "30 cm",
        "20 cm",
    )
    assert (record.woven_share, record.woven_words) == (0.75, "row 3")
    assert np.array_equal(record.picture, rug_picture(book, "#F7F0E3"))


def test_the_record_that_is_handed_over_in_full() -> None:
    record = rug_record(handed_over(), small_answers(finish=None, finished=True), photo_at=here, unit="inch")
    assert (record.kicker, record.subtitle, record.so_far, record.now) == (
        "The record of a hand-knotted rug",
        "Hand-knotted pile rug, 12.2 × 9.4 in finished, woven from 9 November to 24 November 2026",
        False,
        (),
    )
    facts = {fact.label: (fact.figure, fact.more) for fact in record.facts}
    # Nobody ordered it: 30 × 20 cm were planned; of 40 cm 3 are allowed, of 20 1.5. Of 25 cm washing took 1, of 2.2 kg 100 g.
    assert facts["Size"][1] == "planned: 11.8 × 7.9 in; 1.6 in too long, allowed 0.6 in"
    agreed = replace(handed_over(), orders=(Order(id="order", rug_id="rug", customer="A shop"),))
    (size, *_rest) = rug_record(agreed, small_answers(finish=None, finished=True), unit="inch").facts
    assert size.more == "ordered: 11.8 × 7.9 in; 1.6 in too long, allowed 0.6 in"
    assert facts["Weight"] == ("2.1 kg", "weighed, washed and dry")
    assert facts["Taken by washing"] == ("4 % of the length", "100 g of the weight (4.5 %)")
    assert record.steps == (("Wash and dry", "done 20 November 2026"),)
    assert (record.width_words, record.length_words) == ("12.2 in", "9.4 in")


def grams(words: str) -> int:
    """Return whole grams as they are written, "134 g"."""
    number, unit = words.removeprefix("about ").split()
    assert unit == "g"
    return int(number)


def test_the_yarns_of_a_finished_rug_add_up_to_what_lies_in_it_and_what_was_cut_off() -> None:
    woven = replace(rug(stage=RugStage.FINISHED, finished_day=date(2026, 11, 24)))
    fourth = Session(
        id="s4", rug_id="rug", day=date(2026, 11, 24), rows=1, hours=1.0, weavers=("bo",), born=13
    )
    woven = replace(woven, sessions=(*woven.sessions, fourth))
    record = rug_record(woven, small_answers(finish=None, finished=True))
    assert (record.knots_head, record.used_head) == ("Knots", "Yarn used")
    (_all, taken), (stays_words, stays), (rest_words, rest) = record.yarn_sums
    assert (stays_words, rest_words) == (
        "In the finished rug", "Left on the loom, cut off, shorn, in fringes and flat ends",
    )  # fmt: skip
    assert grams(taken) == sum(grams(yarn.used) for yarn in record.yarns)
    assert grams(stays) + grams(rest) == grams(taken)
    # One weight: the first page tells what the list comes to, not the plan's 4 g.
    (weight,) = (fact for fact in record.facts if fact.label == "Weight")
    assert (weight.figure, weight.more) == (
        f"about {stays}", "calculated from the yarn used, without fringes and flat ends",
    )  # fmt: skip
    # Of the 120 g of madder that were weighed the knot keeps what the knife leaves: most of it here.
    assert 60 < grams(stays) < 134


def test_a_finished_rug_that_was_weighed_says_that_weight_on_both_pages() -> None:
    weighed = replace(handed_over(), plan=replace(handed_over().plan, washed_g=100.0, unwashed_g=105.0))
    record = rug_record(weighed, small_answers(finish=None, finished=True))
    (weight,) = (fact for fact in record.facts if fact.label == "Weight")
    assert (weight.figure, record.yarn_sums[1]) == ("100 g", ("In the finished rug, weighed", "100 g"))
    assert grams(record.yarn_sums[2][1]) == grams(record.yarn_sums[0][1]) - 100
    # 2.1 kg cannot lie in a rug that took 134 g: something is not entered, and no sum is told.
    assert len(rug_record(handed_over(), small_answers(finish=None, finished=True)).yarn_sums) == 1


def test_pictures_beyond_what_is_printed_or_not_on_this_phone_are_told_of() -> None:
    record = rug_record(rug(), small_answers(), photo_at=here)
    # 27 pictures, one of them elsewhere, 24 printed.
    assert len(record.photos) == PHOTOS == 24
    assert record.photos[:2] == (
        PhotoEntry(Path("/photos/0.jpg"), "1 November 2026: First"),
        PhotoEntry(Path("/photos/1.jpg"), "2 November 2026"),
    )
    assert record.photos_left_out == "3 more pictures are kept in the book."
    four = replace(rug(), photos=photos(4))
    assert (
        rug_record(four, small_answers(), photo_at=here).photos_left_out
        == "1 more picture is kept in the book."
    )
    assert rug_record(replace(four, photos=photos(3)), small_answers(), photo_at=here).photos_left_out == ""
    assert rug_record(four, small_answers()).photos == ()
    full = replace(rug(), photos=photos(24))
    assert rug_record(full, small_answers(), photo_at=lambda name: Path(name)).photos_left_out == ""


def test_a_rug_of_which_little_is_said() -> None:
    planned = replace(
        small_book(sessions=(), lots=(), weighings=(), spoilt=(), yarns=(), cartoon=None),
        plan=replace(small_book().plan, knot_kind=KnotKind.ROD),
    )
    record = rug_record(planned, small_answers(yarns=()))
    facts = {fact.label: (fact.figure, fact.more) for fact in record.facts}
    assert facts["Knot"] == ("on a rod", "looped round both warps and a rod, then cut")
    assert (facts["Pile"], facts["At the loom"]) == (("9 mm", ""), ("not begun", ""))
    # A line that says nothing is none.
    assert not {"Foundation", "Woven by"} & set(facts)
    assert (record.weaving, record.weavers, record.bars, record.woven_share) == ((), (), (), 0.0)
    assert record.subtitle == "Hand-knotted pile rug, to be 30 × 20 cm finished"
    asymmetric = replace(small_book(), plan=replace(small_book().plan, knot_kind=KnotKind.ASYMMETRIC))
    (knot,) = (fact for fact in rug_record(asymmetric, small_answers()).facts if fact.label == "Knot")
    assert (knot.figure, knot.more) == ("asymmetric", "round one warp, behind the other")


def test_a_rug_woven_in_a_day_of_which_hours_are_missing() -> None:
    one_day = tuple(
        Session(
            id=f"s{at}", rug_id="rug", day=date(2026, 11, 9), rows=1, hours=hours, weavers=("ann",), born=at
        )
        for at, hours in enumerate((2.25, None, None))
    )
    record = rug_record(replace(small_book(), sessions=one_day), small_answers())
    assert record.subtitle.endswith(", woven on 9 November 2026")
    # 6 knots in 2.25 h, in the 1 session with hours given.
    assert record.weaving == (
        Fact("Days at the loom", "1"),
        Fact("Hours at the loom", "2.25 h and more"),
        Fact("Rows woven", "3"),
        Fact("Knots an hour", "3", "by one weaver"),
    )
    # The row whose hours are known came out again, or all three did: no knot was tied in an hour.
    for rows in (-1, -3):
        out = replace(one_day[0], id="out", rows=rows, born=9)
        record = rug_record(replace(small_book(), sessions=(*one_day, out)), small_answers())
        assert [fact.label for fact in record.weaving] == [
            "Days at the loom",
            "Hours at the loom",
            "Rows woven",
        ]
    untimed = replace(small_book(), sessions=one_day[1:])
    assert rug_record(untimed, small_answers()).weaving == (
        Fact("Days at the loom", "1"), Fact("Rows woven", "2"),
    )  # fmt: skip
    (time,) = (fact for fact in rug_record(untimed, small_answers()).facts if fact.label == "At the loom")
    assert (time.figure, time.more) == ("1 day", "")


def test_one_side_that_was_measured_is_told_while_the_other_is_not() -> None:
    def size_of(**sides: float) -> tuple[str, str]:
        book = replace(small_book(), plan=replace(small_book().plan, **sides))
        (fact,) = (
            fact
            for fact in rug_record(book, small_answers(final_length_cm=None)).facts
            if fact.label == "Size"
        )
        return fact.figure, fact.more

    assert size_of(finished_width_cm=29.2) == ("to be 30 × 20 cm finished", "width as measured: 29.2 cm")
    assert size_of(finished_length_cm=20.4) == ("to be 30 × 20 cm finished", "length as measured: 20.4 cm")
    assert size_of() == ("to be 30 × 20 cm finished", "")


def test_who_is_named_in_some_sessions_alone_is_not_called_the_weaver_of_all() -> None:
    book = small_book()
    first, second, out = book.sessions
    some = replace(book, sessions=(replace(first, weavers=()), second, out))
    (fact,) = (fact for fact in rug_record(some, small_answers()).facts if fact.label == "Woven by")
    assert (fact.figure, fact.more) == ("Ann and Bo", "as far as it was noted")


def test_where_the_grams_of_each_yarn_come_from() -> None:
    def used(book: RugBook, name: str = "Madder") -> tuple[str, str]:
        return next(
            (yarn.used, yarn.basis) for yarn in rug_record(book, small_answers()).yarns if yarn.name == name
        )

    book = rug()
    # Weighed before the last session: 750 g bought, 20 g spoilt, 612 g left by the balls.
    earlier = replace(book, weighings=(replace(book.weighings[0], day=date(2026, 11, 17), born=0),))
    assert used(earlier) == ("118 g", "weighed on the way, the rest calculated")
    assert used(replace(book, weighings=())) == ("118 g", "calculated")
    # As both are said, what is on hand and what was used make up what was bought less what was lost: 730 g.
    answers = small_answers()
    (madder,) = (answer for answer in answers.yarns if answer.yarn_id == "madder")
    hand = replace(answers, yarns=(replace(madder, on_hand_g=612.4),))
    lost = replace(earlier, spoilt=(replace(book.spoilt[0], mass_g=20.3),))
    (told,) = (yarn.used for yarn in rug_record(lost, hand).yarns if yarn.name == "Madder")
    assert told == "118 g"
    # What was spoilt after the scale is not in what it told; what was bought after it neither.
    late = replace(book, spoilt=(replace(book.spoilt[0], day=date(2026, 11, 25)),))
    assert used(late) == ("140 g", "weighed")
    assert used(replace(book, lots=(*book.lots, replace(book.lots[0], id="new", day=date(2026, 11, 25), born=99)))) == (
        "120 g", "weighed",
    )  # fmt: skip
    assert used(replace(book, sessions=()))[1] == "needed"
    assert used(replace(book, sessions=()), "Warp")[1] == "needed"
    answers = small_answers()
    plan = material_plan(book)
    gone = Yarn(id="gone", rug_id="rug", role=Role.PILE, number=9, name="Gone")
    assert yarn_use(book, answers, plan, gone) == YarnUse(None, "plan")
    # Nothing of indigo was bought: the plan's need of the three rows of four stands in.
    (indigo,) = (need for need in plan.needs if need.yarn_id == "indigo")
    assert yarn_use(book, answers, plan, book.yarns[1]) == YarnUse(
        pytest.approx(indigo.need_g * 3 / 4), "plan"
    )


@pytest.mark.parametrize(
    ("changes", "facts"),
    [
        ({"finish": None, "silent_days": 70},
         [("Nothing entered for 70 days", "no date"), ("The yarn", "1 yarn to watch")]),
        ({"finish": None, "finished": True, "yarns": (told.yarn("madder"),)}, [("Last row", "woven")]),
        ({"yarns": (told.yarn("madder"),)},
         [("Last row about", "3 December"), ("Ready about", "7 December"), ("The yarn", "every yarn lasts")]),
    ],
)  # fmt: skip
def test_today_in_other_cases(changes: dict[str, object], facts: list[tuple[str, str]]) -> None:
    now = facts_of_today(small_book(), small_answers(**changes))
    assert [(fact.label, fact.figure) for fact in now[1:]] == facts


def test_of_many_yarns_to_watch_four_are_named_and_the_rest_counted() -> None:
    madder = told.yarn("madder", YarnWord.SHORT, short_g=40.0)
    (_where, *_dates, yarn) = facts_of_today(small_book(), small_answers(yarns=(madder,) * 6))
    assert (yarn.figure, yarn.more) == (
        "6 yarns to watch",
        "; ".join(["Madder: short 40 g"] * 4) + "; 2 more",
    )
    four = facts_of_today(small_book(), small_answers(yarns=(madder,) * 4))[-1]
    assert four.more == "; ".join(["Madder: short 40 g"] * 4)


def test_a_row_that_is_begun_and_a_length_that_will_differ_are_told() -> None:
    where = replace(small_answers().where, knots_begun=2)
    (stands, *_more) = facts_of_today(small_book(), small_answers(where=where))
    assert stands.more.endswith(", 75 % of the knots")
    assert stands.more != "75 % of the knots"
    warned = small_answers(
        final_length_cm=21.0, length_warning=LengthWarning(off_cm=1.0, rows_per_10cm=2.5, beat_can_mend=True)
    )
    record = rug_record(small_book(), warned)
    assert len(record.warnings) == 1
    assert record.facts[0].more == "length by the measure on the loom: about 21 cm"
    assert rug_record(handed_over(), warned).warnings == ()


def test_a_dye_lot_that_was_never_opened_is_not_told_to_be_in_the_rug() -> None:
    def told_of(rug: RugBook, yarn_id: str) -> str:
        outlooked = outlook(rug, rug.sessions[-1].day)
        (entry,) = [
            entry
            for entry, yarn in zip(
                yarn_entries(rug, outlooked, material_plan(rug)), yarns_in_order(rug), strict=True
            )
            if yarn.id == yarn_id
        ]
        return " ".join(entry.lines)

    woven_rug = woven(replace(BOOK, cartoon=striped()), [10] * 10)  # 360 g of red by the plan
    day = woven_rug.sessions[0].day
    first = Lot(id="l1", rug_id="r", yarn_id="red", day=day, mass_g=900.0)
    spare = Lot(id="l2", rug_id="r", yarn_id="red", day=day, mass_g=100.0, dye_lot="A7")
    in_reserve = replace(woven_rug, lots=(first, spare))
    assert "A7" not in told_of(in_reserve, "red")
    opened = LotChange(id="c", rug_id="r", yarn_id="red", lot_id="l2", day=day, row=50, done_day=day)
    assert "A7" in told_of(replace(in_reserve, lot_changes=(opened,)), "red")
    # More was used than the first one held, so another was opened without a word.
    assert "A7" in told_of(
        replace(woven_rug, lots=(replace(first, mass_g=200.0), replace(spare, mass_g=500.0))), "red"
    )


def test_what_is_handed_over_tells_the_measured_density_beside_the_planned_one() -> None:
    rug = handed_over()
    plan = replace(
        rug.plan, knots_across=80, knots_per_10cm=20.0, rows_per_10cm=25.0, width_cm=40.0, length_cm=40.0, rows=100,
        finished_width_cm=42.0, finished_length_cm=39.0, selvedge_warps=0, end_cm=0.0, fringe_cm=0.0, jufti_share=0.0,
    )  # fmt: skip
    woven_rug = replace(
        rug, plan=plan, cartoon=None, sessions=(replace(rug.sessions[0], rows=100, begun_knots=None),)
    )
    density = measured_density(plan, 100)
    # 80 knots in 42 cm and 100 rows in 39 cm.
    assert (density.knots_per_10cm, density.rows_per_10cm) == pytest.approx((80 / 4.2, 100 / 3.9))
    record = rug_record(woven_rug, small_answers(finish=None, finished=True))
    fact = next(fact for fact in record.facts if fact.label == "Density")
    # 8,000 knots in 0.1638 square metres.
    assert (fact.figure, fact.more) == (
        "19 × 25.6 per 10 cm", "measured, 48,840 knots in a square metre; planned: 20 × 25",
    )  # fmt: skip
    assert (record.densities[0][1], record.density_note) == (
        "19 × 25.6",
        "By the size that was measured.",
    )
    # What the customer's measure counts beside the knots is no part of them: two selvedges of four warps, 1 cm each.
    counted = replace(plan, size_measure=SizeMeasure.CLOTH, selvedge_warps=8, wash_shrinkage_width=0.0)
    assert measured_density(counted, 100).knots_per_10cm == pytest.approx(80 / (42.0 - 2.0) * 10)
    assert measured_density(replace(plan, finished_width_cm=None), 100) is None


def test_hours_that_nobody_gave_are_told_on_the_first_page_and_beside_each_weaver() -> None:
    rug = handed_over()
    without = replace(
        rug, sessions=(replace(rug.sessions[0], hours=None, weavers=("ann",)), *rug.sessions[1:])
    )
    whole, some = (rug_record(one, small_answers(finish=None, finished=True)) for one in (rug, without))
    assert not next(fact for fact in whole.facts if fact.label == "At the loom").figure.endswith("and more")
    assert next(fact for fact in some.facts if fact.label == "At the loom").figure.endswith(" h and more")
    named = {entry.name: entry.hours for entry in some.weavers}
    assert named["Ann"].endswith(" h and more") or not named["Ann"]
    assert not named["Bo"].endswith("and more")


def test_nothing_of_a_finished_rug_is_to_do() -> None:
    rug = handed_over()
    steps = (
        AfterStep(id="a", rug_id="rug", number=1, name="Wash", days=4, done_day=date(2026, 11, 24)),
        AfterStep(id="b", rug_id="rug", number=2, name="Shear", days=1),
    )
    over = rug_record(replace(rug, after_steps=steps), small_answers(finish=None, finished=True))
    assert over.steps == (("Wash", "done 24 November 2026"),)
    on_loom = replace(rug, after_steps=steps, plan=replace(rug.plan, stage=RugStage.ON_LOOM))
    assert [words for _name, words in rug_record(on_loom, small_answers()).steps] == [
        "done 24 November 2026",
        "to do, 1 day",
    ]
