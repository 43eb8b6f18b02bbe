"""What a rug taught, worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from tests.presenters.rugs import book, plan, session, yarns
from tracker.domain import material
from tracker.domain.need import account_of
from tracker.domain.rug import Cartoon, Lot, Role, RugStage, Sample, Spoilt, Weighing, Yarn
from tracker.domain.weighing_answer import KNOTS, answer_id
from tracker.forecast.lessons import YarnLesson, lessons_of, take_over, use_taught

EARLY, LATE = date(2026, 10, 1), date(2026, 11, 20)


def lot(yarn_id: str, mass_g: float, day: date = EARLY, **changes) -> Lot:
    return Lot(id=f"l{yarn_id}{day}", rug_id="rug", yarn_id=yarn_id, day=day, mass_g=mass_g, **changes)


def weighing(yarn_id: str, mass_g: float, day: date = LATE, born: int = 99) -> Weighing:
    return Weighing(id=f"w{yarn_id}{day}", rug_id="rug", yarn_id=yarn_id, day=day, mass_g=mass_g, born=born)


def test_the_rate_is_one_weavers_and_leaves_out_sessions_without_hours() -> None:
    # 100 knots a row. 10 rows in 2 h alone, 10 rows in 2 h by two, 5 rows without hours:
    # 2,000 knots in 2 + 2 x 2 = 6 weaver hours.
    rug = book(session(1, 10, 2.0), session(2, 10, 2.0, weavers=("ann", "bo")), session(3, 5, None))
    found = lessons_of(rug)
    assert found.knots_per_hour == pytest.approx(2000 / 6)
    assert (found.rows, found.knots, found.hours, found.sessions) == (25, 2500, 4.0, 3)


def test_a_ball_counted_alone_is_no_session() -> None:
    ball = session(2, 0, None, used=(("red", 1.0),))
    rug = book(session(1, 10, 2.0), ball)
    assert lessons_of(rug).sessions == len(rug.woven_sessions) == 1


def test_without_hours_there_is_no_rate() -> None:
    assert lessons_of(book(session(1, 10, None))).knots_per_hour is None
    assert lessons_of(book()).knots_per_hour is None


def test_a_weighing_tells_what_a_knot_took() -> None:
    # Half of 100 knots a row are red. 80 rows: 4,000 red knots. 1,000 g bought, 20 g spoilt, 700 g left: 280 g used.
    rug = book(
        session(1, 80),
        lots=(lot("red", 1000.0), lot("red", 500.0, date(2026, 11, 22))),
        spoilt=(Spoilt(id="x", rug_id="rug", yarn_id="red", day=EARLY, mass_g=20.0),),
        weighings=(weighing("red", 700.0),),
    )
    (red,) = lessons_of(rug).yarns
    assert red.weighed
    assert (red.rows, red.units, red.used_g) == (80, 4000.0, 280.0)
    assert red.g_each == pytest.approx(0.07)
    planned = material.pile_mass_per_knot_g(rug.plan, rug.yarns[0], None)
    assert red.ratio == pytest.approx(0.07 / planned)


def test_what_the_scale_told_of_the_knots_is_the_lesson_and_not_the_plan_beside_it() -> None:
    """Who answered a weighing with "thicker knots" was told at the end "65 g, as planned", where 54 g had been."""
    rug = book(session(1, 80), lots=(lot("red", 1000.0),), weighings=(weighing("red", 700.0),))
    (before,) = lessons_of(rug).yarns
    told = Sample(
        id=answer_id(rug.weighings[0].id, KNOTS),
        rug_id="rug",
        yarn_id="red",
        day=EARLY,
        knots=4000,
        mass_g=300.0,
    )
    (after,) = lessons_of(replace(rug, samples=(told,))).yarns
    assert after.ratio == pytest.approx(before.ratio)
    assert after.ratio > 1.05
    # A piece knotted to try it out is part of the plan.
    (tried,) = lessons_of(replace(rug, samples=(replace(told, id="tried"),))).yarns
    assert tried.ratio == pytest.approx(1.0, abs=0.02)


def test_only_what_was_woven_before_the_weighing_counts() -> None:
    later = session(24, 40, day=date(2026, 11, 24))
    rug = book(session(1, 80), later, lots=(lot("red", 1000.0),), weighings=(weighing("red", 700.0),))
    assert lessons_of(rug).yarns[0].rows == 80


def test_a_cartoon_tells_how_many_knots_a_colour_has() -> None:
    cells = np.zeros((200, 100), dtype=np.uint8)
    cells[:50, :30] = 1
    red, blue, weft = yarns()
    rug = book(
        session(1, 60),
        yarns=(
            replace(red, cartoon_values=(1,), share=None),
            replace(blue, cartoon_values=(0,), share=None),
            weft,
        ),
        cartoon=Cartoon(id="c", rug_id="rug", cells=cells, palette=("#27406B", "#9C2F25")),
        lots=(lot("red", 500.0),),
        weighings=(weighing("red", 350.0),),
    )
    (lesson,) = lessons_of(rug).yarns
    assert (lesson.rows, lesson.units, lesson.g_each) == (60, 1500.0, pytest.approx(0.1))


def test_a_weft_is_counted_by_rows_and_ended_shuttles_serve_without_a_weighing() -> None:
    # 3 shuttles of 100 g ended in 120 rows: about 3.5 shuttles, 350 g.
    rug = book(
        session(1, 60, used=(("weft", 1.0),)),
        session(2, 60, used=(("weft", 2.0),)),
        lots=(lot("weft", 1000.0),),
    )
    (weft,) = lessons_of(rug).yarns
    assert not weft.weighed
    # The first flat end took some of it, as much as so many rows.
    need = account_of(rug).of("weft")
    assert need is not None
    rows = 120 + need.ends_g / 2 / need.g_per_unit
    assert weft.used_g == 350.0
    assert (weft.rows, weft.units) == (120, pytest.approx(rows))
    assert weft.g_each == pytest.approx(350 / rows)


def test_too_little_teaches_nothing() -> None:
    # 30 of 200 rows are less than a fifth, and one ball is no measure.
    rug = book(
        session(1, 30, used=(("red", 1.0),)), lots=(lot("red", 1000.0),), weighings=(weighing("red", 900.0),)
    )
    assert lessons_of(rug).yarns == ()


def taught():
    return book(
        session(1, 200, 40.0),
        plan=plan(stage=RugStage.FINISHED),
        lots=(lot("red", 2000.0), lot("weft", 2000.0)),
        weighings=(weighing("red", 1750.0), weighing("weft", 1960.0)),
    )


def next_rug(**changes):
    grey = Yarn(id="grey", rug_id="next", role=Role.PILE, number=2, name="Grey", tex=900, share=0.5)
    same = Yarn(id="madder", rug_id="next", role=Role.PILE, number=1, name="madder", tex=450, share=0.5)
    weft = Yarn(id="ground", rug_id="next", role=Role.WEFT, number=1, name="Ground weft", tex=700)
    return book(plan=plan(id="next", pile_height_mm=14.0, **changes), yarns=(same, grey, weft), sessions=())


def test_the_next_rug_takes_over_rate_and_use_for_its_own_yarn_and_pile() -> None:
    rug, after = taught(), next_rug()
    found = lessons_of(rug)
    taken = take_over(found, rug, after)
    # 200 rows x 100 knots in 40 h.
    assert taken.plan.knots_per_hour == 500.0
    assert taken.plan.pile_height_mm == 14.0
    changed = {yarn.id: yarn for yarn in taken.yarns}
    red = next(one for one in found.yarns if one.yarn_id == "red")
    for yarn_id in ("madder", "grey"):
        before = next(yarn for yarn in after.yarns if yarn.id == yarn_id)
        planned = material.pile_mass_per_knot_g(after.plan, before, None)
        now = material.pile_mass_per_knot_g(taken.plan, changed[yarn_id], None)
        assert now / planned == pytest.approx(red.ratio, rel=1e-3)


def test_the_next_rugs_weft_takes_what_the_last_ones_took() -> None:
    rug, after = taught(), next_rug()
    rug = replace(rug, plan=replace(rug.plan, end_cm=0.0))  # all weft went into the rows
    found = lessons_of(rug)
    weft = next(one for one in found.yarns if one.yarn_id == "weft")
    changed = {yarn.id: yarn for yarn in take_over(found, rug, after).yarns}
    ground = next(yarn for yarn in after.yarns if yarn.id == "ground")
    straight = 1.0 + material.weft_take_up(after.plan, ground, None)
    assert weft.ratio > 1.0
    assert 1.0 + changed["ground"].take_up == pytest.approx(straight * weft.ratio, abs=1e-4)


def test_a_use_far_from_the_plan_is_not_passed_on() -> None:
    # 1,990 g for 10,000 red knots: about 0.2 g a knot, several times the plan: a purchase was not entered, or a slip.
    rug = replace(taught(), weighings=(weighing("red", 10.0),))
    found = lessons_of(rug)
    red = next(one for one in found.yarns if one.yarn_id == "red")
    assert red.ratio > 2.0
    assert {yarn.id for yarn in take_over(found, rug, next_rug()).yarns}.isdisjoint({"madder", "grey"})


@pytest.mark.parametrize("knots_per_hour", [4.0, 30_000.0])
def test_a_rate_that_no_plan_can_hold_is_not_taken_over(knots_per_hour: float) -> None:
    """The book would refuse the whole act, with a sentence about a number that nobody typed."""
    rug = book()
    lessons = replace(lessons_of(rug), knots_per_hour=knots_per_hour)
    assert take_over(lessons, rug, rug).plan == rug.plan


def test_a_rug_tells_its_days_and_what_its_plan_had_said() -> None:
    told = lessons_of(book(session(1, 10, 2.0), session(4, 10, None)))
    assert told.planned_knots_per_hour == 500.0
    assert (told.first_day, told.last_day) == (date(2026, 11, 2), date(2026, 11, 5))
    assert lessons_of(replace(book(), plan=plan(finished_day=LATE))).last_day == LATE
    assert (lessons_of(book()).first_day, lessons_of(book()).last_day) == (None, None)
    # Unpicked below the first row and woven beyond the last one: neither is a lesson in rows.
    assert lessons_of(book(session(1, -5))).rows == 0
    assert lessons_of(book(session(1, 500))).rows == 200


def test_a_ratio_of_nothing_planned_says_nothing() -> None:
    lesson = YarnLesson(
        yarn_id="red", rows=10, units=10.0, used_g=5.0, g_each=0.5, planned_g_each=0.0, weighed=True
    )
    assert lesson.ratio == 1.0
    assert replace(lesson, planned_g_each=0.25).ratio == 2.0


@pytest.mark.parametrize(("used_g", "taken"), [(0.49, False), (0.51, True), (1.99, True), (2.01, False)])
def test_only_a_use_between_half_and_twice_the_plan_is_passed_on(used_g: float, taken: bool) -> None:
    rug = book(session(1, 80))
    planned = material.pile_mass_per_knot_g(rug.plan, rug.yarns[0], None)
    knots_g = used_g * planned * 4000
    weighed = replace(rug, lots=(lot("red", knots_g + 100.0),), weighings=(weighing("red", 100.0),))
    changed = take_over(lessons_of(weighed), weighed, book()).yarns
    assert bool(changed) is taken
    if taken:
        # Blue without a lesson of its own takes the same hand's.
        assert [yarn.id for yarn in changed] == ["red", "blue"]


def test_two_ended_balls_teach_and_one_does_not() -> None:
    ball_g = yarns()[0].unit_mass_g

    def uses(balls: float) -> list[float]:
        rug = book(session(1, 80, used=(("red", balls),)))
        return [lesson.used_g for lesson in lessons_of(rug).yarns]

    assert uses(1.0) == []
    assert uses(2.0) == [2.5 * ball_g]


def test_a_weighing_teaches_once_a_fifth_is_woven() -> None:
    def teaches(rows: int) -> bool:
        rug = book(session(1, rows), lots=(lot("red", 1000.0),), weighings=(weighing("red", 700.0),))
        return bool(lessons_of(rug).yarns)

    assert not teaches(39)
    assert teaches(40)


def test_the_yarn_a_rug_took_is_told_beside_the_length_of_its_knots_whatever_its_plan_went_by() -> None:
    # 80 rows of 50 red knots took 110 g, of 50 blue ones 100 g.
    lots = (lot("red", 1000.0), lot("blue", 1000.0))
    rug = book(session(1, 80), lots=lots, weighings=(weighing("red", 890.0), weighing("blue", 900.0)))
    knot_g = material.pile_mass_per_knot_g(rug.plan, rug.yarns[0], None)
    use = use_taught(rug)
    assert use is not None
    assert use.ratio == pytest.approx((110 + 100) / (8000 * knot_g))
    assert (use.rug_name, use.knots_per_10cm, use.rows_per_10cm, use.tex) == ("Little field", 25.0, 25.0, 600)
    # Planned as an earlier rug took it, it is as planned, and teaches the next one the same.
    heavy = tuple(
        replace(one, pile_g_per_m2=62_500 * 0.026) if one.role is Role.PILE else one for one in rug.yarns
    )
    assert use_taught(replace(rug, yarns=heavy)) == use
    assert use_taught(book(session(1, 80))) is None
