"""The one account of what a rug needs, and how sure it is."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.unit.domain.rugs import DAY, book_of, cartoon_of, pile, plan_of, warp, weft
from tracker.domain import edges, foundation, material
from tracker.domain.need import account_of, edge_need, is_in_rug, warp_need, weft_need
from tracker.domain.rows import planned_rows, rows_to_weave, shares_of
from tracker.domain.rug import Preparation, PreparationKind, Role, RugStage, Sample, Session, Yarn
from tracker.domain.shared_warp import part_of_book


def edge(role: Role, **changes) -> Yarn:
    return Yarn(**{"id": role.name, "rug_id": "rug", "role": role, "number": 1, "name": role.value, "tex": 600.0, **changes})  # fmt: skip


def test_the_account_names_every_yarn_once_in_the_order_of_the_cloth() -> None:
    book = book_of(yarns=(edge(Role.FRINGE), warp(), weft(1), edge(Role.OVERCAST), pile(1), pile(2)))
    account = account_of(book)
    assert [need.yarn.role for need in account.needs] == [
        Role.PILE, Role.PILE, Role.WEFT, Role.WARP, Role.OVERCAST, Role.FRINGE,
    ]  # fmt: skip
    assert account.of("warp").yarn == account.warp == warp()
    assert account.of("gone") is None
    assert account_of(book_of(yarns=(pile(),))).warps == ()


def test_a_need_is_its_units_and_both_ends() -> None:
    account = account_of(book_of())
    ground, fine = account.wefts
    # Each of the two flat ends is half of what both take; the fine weft weaves none.
    both_g = foundation.ends_mass_g(account.plan, ground.yarn, warp())
    assert (ground.first_end_g, ground.last_end_g, fine.ends_g) == (both_g / 2, both_g / 2, 0.0)
    assert ground.need_g == pytest.approx(600 * ground.g_per_unit + both_g)
    assert fine.units == 600.0
    # A shade of 3, 4 and 12 %: 13 % together.
    told = replace(fine, common_sd=0.03, own_sd=0.04, share_sd=0.12)
    assert (told.use_sd, told.relative_sd) == (pytest.approx(0.05), pytest.approx(0.13))


@pytest.mark.parametrize("tex", [0.0, 443.0])
def test_an_assumed_fineness_and_what_was_measured_say_how_sure_a_need_is(tex: float) -> None:
    # 25 % more where the fineness is assumed; wefts 10 and 6 % by their wave, 8 and 5 measured; warp 3 %, edges 12 (no source).
    more = 0.25 if tex == 0 else 0.0
    plan = plan_of()
    wave = weft_need(plan, weft(tex=tex), warp(), ground=True)
    assert (wave.common_sd, wave.own_sd) == (pytest.approx(np.hypot(0.10, more)), 0.06)
    assert wave.rests_on == material.GEOMETRY
    measured = weft_need(plan, weft(tex=tex, take_up=0.1), warp(), ground=False)
    assert (measured.common_sd, measured.own_sd) == (pytest.approx(np.hypot(0.08, more)), 0.05)
    assert measured.rests_on == material.MEASURED
    mounted = warp_need(plan, warp(tex=tex))
    assert (mounted.common_sd, mounted.own_sd) == (0.0, pytest.approx(np.hypot(0.03, more)))
    assert (mounted.units, mounted.rests_on) == (1.0, material.GEOMETRY)
    assert warp_need(plan, warp(tex=tex, take_up=0.05)).rests_on == material.MEASURED
    cord = edge(Role.CORD, tex=tex)
    sewn = edge_need(plan, cord, book_of(yarns=(warp(), cord)))
    assert (sewn.common_sd, sewn.own_sd) == (0.0, pytest.approx(np.hypot(0.12, more)))
    assert (sewn.units, sewn.rests_on) == (1.0, material.GEOMETRY)


def test_shares_by_eye_are_less_sure_than_a_count_and_one_colour_needs_no_share() -> None:
    two = (pile(1, cartoon_values=(0,)), pile(2, cartoon_values=(1,)))
    counted = book_of(yarns=two, cartoon=cartoon_of([[0, 1, 1, 1]]))
    assert {need.share_sd for need in account_of(counted).pile} == {0.0}
    assert {need.share_sd for need in account_of(book_of(yarns=two)).pile} == {0.1}
    assert account_of(book_of()).pile[0].share_sd == 0.0
    assert [need.units for need in account_of(counted).pile] == [1.0, 3.0]
    assert account_of(counted).plan.rows == 1
    assert account_of(counted).plan.knots_across == 4


@pytest.mark.parametrize(
    ("role", "sessions", "mounted", "finished", "is_in"),
    [
        (Role.WARP, False, False, False, False), (Role.WARP, True, False, False, True),
        (Role.WARP, False, True, False, True), (Role.CORD, False, True, False, True),
        (Role.CORD, False, False, True, False), (Role.FRINGE, True, True, False, False),
        (Role.OVERCAST, False, False, True, True),
    ],
)  # fmt: skip
def test_when_what_is_needed_once_is_in_the_rug(role, sessions, mounted, finished, is_in) -> None:
    book = book_of(
        plan_of(stage=RugStage.FINISHED if finished else RugStage.ON_LOOM),
        sessions=(Session(id="s", rug_id="rug", day=DAY, rows=1),) if sessions else (),
        preparations=(Preparation(id="p", rug_id="rug", day=DAY, kind=PreparationKind.WARP),)
        if mounted
        else (),
    )
    assert is_in_rug(book, edge(role)) is is_in


def test_balls_wound_mount_no_warp_and_another_rug_on_the_warp_may() -> None:
    wound = Preparation(id="p", rug_id="rug", day=DAY, kind=PreparationKind.BALLS)
    book = book_of(preparations=(wound,))
    assert not is_in_rug(book, warp())
    part = part_of_book(book)
    assert not is_in_rug(replace(book, warp_parts=(part,)), warp())
    assert is_in_rug(replace(book, warp_parts=(part, replace(part, mounted=True))), warp())


def test_side_cords_weigh_in_the_rug_what_lies_beside_the_cloth() -> None:
    cord = edge(Role.CORD, pieces=3)
    book = book_of(yarns=(warp(), cord))
    # Three cords each side of 154 cm, 3 % longer for their waves, 600 tex.
    assert edges.edge_in_rug_g(plan_of(), cord, book) == pytest.approx(6 * 1.54 * 1.03 * 0.6)
    tight = replace(cord, take_up=0.1)
    assert edges.edge_in_rug_g(plan_of(), tight, book) == pytest.approx(6 * 1.54 * 1.1 * 0.6)
    # They are mounted as long as a warp: fringes of 10 cm and 40 cm that the loom keeps come to it.
    assert edges.cord_cm(plan_of(), cord, book) == pytest.approx(6 * (154 * 1.03 + 60))
    assert edges.edge_in_rug_g(plan_of(), edge(Role.FRINGE), book) == 0.0
    overcast = edge(Role.OVERCAST)
    assert edges.edge_in_rug_g(plan_of(), overcast, book) == edges.edge_mass_g(plan_of(), overcast, book) > 0


def test_a_fringe_is_cut_for_every_begun_tuft() -> None:
    # 101 cm at two tufts a centimetre, two strands each, twice 10 cm and 3 cm for the knot.
    fringe = edge(Role.FRINGE)
    assert edges.fringe_tufts(plan_of(), fringe) == 202
    assert edges.fringe_cm(plan_of(), fringe) == pytest.approx(2 * 202 * 2 * 23.0)
    other = edge(Role.FRINGE, per_cm=1.5, pieces=3)
    assert edges.fringe_tufts(plan_of(), other) == 152
    assert edges.fringe_cm(plan_of(), other) == pytest.approx(2 * 152 * 3 * 23.0)


def test_a_cord_thicker_than_the_selvedge_makes_the_section_thicker() -> None:
    bare = edges.selvedge_section_mm(plan_of(), warp(), None, None)
    # Four warps at 1.25 mm; without selvedge warps the outermost two.
    assert bare == (5.0, pytest.approx(material.warp_diameter_mm(plan_of(), warp())))
    assert edges.selvedge_section_mm(plan_of(selvedge_warps=0), warp(), None, None)[0] == 2.5
    cord = edge(Role.CORD, tex=4000.0)
    cord_mm = material.diameter_of_mm(plan_of(), cord)
    assert edges.selvedge_section_mm(plan_of(), warp(), None, cord) == (
        pytest.approx(5.0 + 2 * cord_mm), pytest.approx(cord_mm),
    )  # fmt: skip
    # A thread of 1 cm round a plate as wide as thick goes round a circle.
    yarn = edge(Role.OVERCAST, per_cm=10.0)
    thread_mm = material.diameter_of_mm(plan_of(), yarn)
    assert edges.turn_cm(plan_of(), yarn, (4.0, 4.0)) == pytest.approx(
        np.hypot(np.pi * (4.0 + thread_mm), 1.0) / 10.0
    )
    assert edges.turn_cm(plan_of(), yarn, (3.0, 5.0)) == edges.turn_cm(plan_of(), yarn, (5.0, 3.0))
    assert edges.turns_per_cm(plan_of(), yarn) == 10.0


# --- rows


def test_where_more_rows_are_woven_what_is_woven_stays_as_it_was_drawn() -> None:
    yarns = (pile(1, cartoon_values=(0,)), pile(2, cartoon_values=(1,)))
    drawn = cartoon_of([[0, 0]] * 2 + [[0, 1]] * 4)
    book = book_of(yarns=yarns, cartoon=drawn, sessions=(Session(id="s", rug_id="rug", day=DAY, rows=2),))
    longer = rows_to_weave(book, 10)
    assert longer.of_cartoon.tolist() == [0, 1, 2, 2, 3, 3, 4, 4, 5, 5]
    assert longer.knots.tolist() == [[2.0, 0.0]] * 2 + [[1.0, 1.0]] * 8
    assert (longer.rows, longer.across, longer.tied, longer.counted) == (10, 2, 2.0, True)
    assert rows_to_weave(book, 4).of_cartoon.tolist() == [0, 1, 3, 5]
    assert rows_to_weave(book).of_cartoon.tolist() == [0, 1, 2, 3, 4, 5]
    assert planned_rows(book) == 6
    assert rows_to_weave(book, 0).rows == 1
    # Finished with fewer rows than are drawn, each of its rows is the one that was drawn.
    assert rows_to_weave(book, 2).of_cartoon.tolist() == [0, 1]
    assert rows_to_weave(book, 2).knots.tolist() == [[2.0, 0.0]] * 2


def test_shares_that_are_no_whole_are_scaled_and_said() -> None:
    def shares(*given: float | None) -> tuple[tuple[float, ...], str]:
        return shares_of(tuple(pile(number, share=share) for number, share in enumerate(given, 1)))

    assert shares() == ((), "")
    assert shares(0.25, 0.75) == ((0.25, 0.75), "")
    assert shares(0.5, None, None) == ((0.5, 0.25, 0.25), "")
    assert shares(0.5, 0.75)[0] == (pytest.approx(0.4), pytest.approx(0.6))
    assert "add up to 125 %" in shares(0.5, 0.75)[1]
    assert shares(0.5, 0.504)[1] == ""
    assert "add up to" in shares(0.5, 0.51)[1]
    assert shares(1.0, None)[0] == (1.0, 0.0)
    assert shares(0.0, 0.0) == ((0.5, 0.5), shares(0.0, 0.0)[1])
    assert "equal parts are taken" in shares(0.0, 0.0)[1]


def test_without_a_cartoon_each_colour_beyond_the_first_is_changed_to_four_times_a_row() -> None:
    # Common practice, no source.
    assert set(rows_to_weave(book_of()).changes) == {0.0}
    three = book_of(yarns=(pile(1), pile(2), pile(3)))
    assert set(rows_to_weave(three).changes) == {8.0}
    assert rows_to_weave(three).knots[0].tolist() == pytest.approx([400 / 3] * 3)
    wide = book_of(plan_of(jufti_share=0.5))
    assert (rows_to_weave(wide).tied, rows_to_weave(wide).knots[0, 0]) == (300.0, 300.0)


# --- samples


def knotted(knots: int, mass_g: float, yarn_id: str = "pile1", step_g: float = 1.0) -> Sample:
    return Sample(id=f"{knots}{yarn_id}", rug_id="rug", yarn_id=yarn_id, day=DAY, knots=knots, mass_g=mass_g, resolution_g=step_g)  # fmt: skip


def test_two_samples_together_say_more_than_each_and_the_scale_less() -> None:
    # 10 g and 30 g for 500 and 1,500 knots; steps of 3 and 4 g are an even error of 5 / sqrt(12) g.
    each_g, sd = material.sample_mass_per_knot_g(
        (knotted(500, 10.0, step_g=3.0), knotted(1500, 30.0, step_g=4.0))
    )
    assert each_g == pytest.approx(0.02)
    assert sd == pytest.approx(5.0 / np.sqrt(12) / 40.0)
    assert material.sample_mass_per_knot_g((knotted(1, 0.5),))[0] == 0.5
    for nothing in (knotted(0, 1.0), knotted(5, 0.0)):
        with pytest.raises(ValueError, match="knots and a mass"):
            material.sample_mass_per_knot_g((nothing,))


def test_what_is_best_known_of_a_colour_says_what_its_knot_takes() -> None:
    plan = plan_of()
    yarns = (
        pile(1),
        pile(2, cut_length_mm=50.0, pile_g_per_m2=4000.0),
        pile(3, pile_g_per_m2=4000.0),
        pile(4),
    )
    by_hand = material.geometric_mass_per_knot_g(plan, yarns[3])
    hand = 1.2
    sampled = material.pile_use(plan, yarns, (knotted(1000, 1000 * hand * by_hand),))
    assert [use.rests_on for use in sampled] == [
        material.SAMPLE, material.CUT_LENGTH, material.PER_AREA, material.BORROWED,
    ]  # fmt: skip
    # 600 tex, 50 mm: 30 mg; 4,000 g on 160,000 knots: 25 mg; the others as the sample's hand does it.
    assert [use.mass_per_knot_g for use in sampled] == pytest.approx(
        [hand * by_hand, 0.030, 0.025, hand * by_hand]
    )
    plain = material.pile_use(plan, yarns, ())
    assert [use.rests_on for use in plain][::3] == [material.GEOMETRY] * 2
    assert plain[3].mass_per_knot_g == pytest.approx(by_hand)
    # A sample of nothing, or of a yarn that is no pile, says nothing.
    assert (
        material.pile_use(plan, yarns, (knotted(0, 5.0), knotted(5, 0.0), knotted(9, 9.0, "weft1"))) == plain
    )


def test_an_assumed_fineness_is_wrong_for_a_reckoned_knot_and_not_for_a_weighed_one() -> None:
    unknown = pile(1, tex=0.0)
    reckoned, weighed, told = (
        material.pile_use(plan_of(), (yarn,), samples)[0]
        for yarn, samples in (
            (unknown, ()), (unknown, (knotted(1000, 30.0),)), (replace(unknown, pile_g_per_m2=4000.0), ()),
        )
    )  # fmt: skip
    # 18 and 7 % by geometry and by what is told of a square metre, 2 and 2.2 by a sample (no source).
    assert reckoned.common_sd == pytest.approx(np.hypot(0.18, 0.25))
    assert (told.common_sd, told.own_sd) == (pytest.approx(0.18), pytest.approx(0.07))
    assert weighed.common_sd == pytest.approx(0.02)
    assert weighed.own_sd == pytest.approx(np.hypot(0.022, 1 / np.sqrt(12) / 30.0))
