"""Rugs on one warp: every rug is told the same order, and their parts are the whole warp, no more and no less."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.domain import defaults, material
from tracker.domain.loom import WarpLay
from tracker.domain.rug import (
    Cartoon,
    Preparation,
    PreparationKind,
    Role,
    RugBook,
    RugPlan,
    RugStage,
    Session,
    Yarn,
)
from tracker.domain.shared_warp import (
    SharedWarp,
    part_of_book,
    rugs_on_warp,
    shared_warp,
    warp_length_cm,
    warp_of,
    warp_part,
)

START = date(2026, 3, 2)


def plan(rug_id: str, after: str | None = None, born: int = 1, **changes) -> RugPlan:
    """A rug of 100 x 100 cm at 40 knots and rows in 10 cm, without selvedges: 800 warps."""
    told = {
        "id": rug_id, "name": rug_id, "width_cm": 100.0, "length_cm": 100.0, "knots_per_10cm": 40.0,
        "rows_per_10cm": 40.0, "knots_across": 400, "rows": 400, "pile_height_mm": 10.0, "start_day": START,
        "selvedge_warps": 0, "end_cm": 0.0, "fringe_cm": 10.0, "loom_waste_cm": 40.0, "loom_id": "loom",
        "warp_after": after, "born": born,
    }  # fmt: skip
    return RugPlan(**{**told, **changes})


def warp(rug_id: str, **changes) -> Yarn:
    """A warp of 1 g in 10 m, of which nothing is taken up: so sums come out even."""
    told = {
        "id": f"w{rug_id}",
        "rug_id": rug_id,
        "role": Role.WARP,
        "number": 1,
        "name": "Warp",
        "tex": 100.0,
    }
    return Yarn(**{**told, "take_up": 0.0, **changes})


def on_one_warp(*plans: RugPlan, **yarn) -> SharedWarp:
    parts = tuple(
        warp_part(one, None, (warp(one.id, **yarn),), (), ()) for one in rugs_on_warp(plans[0].id, plans)
    )
    shared = shared_warp(parts)
    assert shared is not None
    return shared


def test_two_rugs_behind_each_other_need_one_loom_waste_less_and_the_gap_more() -> None:
    shared = on_one_warp(plan("a"), plan("b", "a", 2))
    # Each alone: 100 cm of cloth, 2 x 10 cm of fringe, 40 cm of waste. Together the waste once, and 10 cm between them.
    assert shared.length_cm == pytest.approx(160.0 + 160.0 - 40.0 + 10.0)
    assert [part.length_cm for part in shared.parts] == pytest.approx([160.0, 130.0])
    # 800 threads of 1 g in 10 m: 8 g for each 10 cm.
    assert [part.mass_g for part in shared.parts] == pytest.approx([128.0, 104.0])
    assert shared.mass_g == pytest.approx(2 * 128.0 - 800 * 0.40 * 0.1 + 800 * 0.10 * 0.1)


def test_a_gap_that_was_said_takes_the_place_of_the_usual_one() -> None:
    assert on_one_warp(plan("a"), plan("b", "a", 2, warp_gap_cm=25.0)).length_cm == pytest.approx(305.0)
    assert on_one_warp(plan("a"), plan("b", "a", 2)).gaps_cm == defaults.WARP_GAP_CM == 10.0


def test_threads_that_a_narrower_rug_leaves_unused_are_its_own_need() -> None:
    shared = on_one_warp(plan("wide"), plan("narrow", "wide", 2, knots_across=200))
    assert shared.threads == 800
    assert [part.threads for part in shared.parts] == [800, 800]


def test_rugs_side_by_side_share_the_loom_but_no_thread() -> None:
    shared = on_one_warp(
        plan("left"),
        plan("right", "left", 2, warp_lay=WarpLay.BESIDE, knots_across=200, rows=300, warp_gap_cm=5.0),
    )
    assert (shared.threads, shared.gaps_cm) == (1200, 0.0)
    assert shared.length_cm == pytest.approx(160.0)
    # The shorter one's threads are as long as its neighbour's: they hang on the same beams.
    assert [part.length_cm for part in shared.parts] == pytest.approx([160.0, 160.0])
    assert [part.threads for part in shared.parts] == pytest.approx([800.0, 400.0])
    assert shared.width_cm == pytest.approx(100.0 + 5.0 + 50.0)
    assert shared.wait_for("right") == ()


def test_the_second_waits_until_the_first_is_woven() -> None:
    plans = (plan("a"), plan("b", "a", 2))

    def waits(rows: int, stage: RugStage = RugStage.ON_LOOM) -> str | None:
        woven = Session(id="s", rug_id="a", day=START, rows=rows)
        first = replace(plans[0], stage=stage)
        parts = (warp_part(first, None, (), (), (woven,)), warp_part(plans[1], None, (), (), ()))
        shared = shared_warp(parts)
        assert shared is not None
        assert shared.wait_for("a") == ()
        return next((before.name for before in shared.wait_for("b")), None)

    assert waits(399) == "a"
    assert waits(400) is None
    assert waits(300, RugStage.FINISHED) is None


def test_the_warp_is_mounted_for_all_once_one_record_says_so() -> None:
    mounted = Preparation(id="p", rug_id="b", day=START, kind=PreparationKind.WARP)
    plans = (plan("a"), plan("b", "a", 2))

    def shared(*preparations: Preparation) -> bool:
        parts = (warp_part(plans[0], None, (), (), ()), warp_part(plans[1], None, (), preparations, ()))
        warp_of_both = shared_warp(parts)
        assert warp_of_both is not None
        return warp_of_both.mounted

    assert not shared()
    assert shared(mounted)


@pytest.mark.parametrize(
    "plans",
    [
        (plan("a"), plan("b", "a", 2, loom_id="another loom")),
        (plan("a", loom_id=None), plan("b", "a", 2, loom_id=None)),
        (plan("a"), plan("b", "nobody", 2)),
        (plan("a"), plan("b", "b", 2)),
    ],
)
def test_only_rugs_of_one_loom_share_a_warp(plans) -> None:
    assert [len(rugs_on_warp(one.id, plans)) for one in plans] == [1, 1]


def test_two_that_follow_the_same_rug_and_two_that_follow_each_other_are_told_one_order() -> None:
    both = (plan("c", "a", 3), plan("b", "a", 2), plan("a"))
    ring = (plan("b", "a", 2), plan("a", "b"))
    for plans, order in ((both, ["a", "b", "c"]), (ring, ["a", "b"])):
        for one in plans:
            assert [other.id for other in rugs_on_warp(one.id, plans)] == order


def test_what_lies_beside_a_rug_comes_before_what_lies_behind_it() -> None:
    plans = (plan("a"), plan("behind", "a", 2), plan("beside", "a", 3, warp_lay=WarpLay.BESIDE))
    assert [one.id for one in rugs_on_warp("behind", plans)] == ["a", "beside", "behind"]
    assert [part.band for part in on_one_warp(*plans).parts] == [0, 0, 1]


ids = ("a", "b", "c", "d")
sides = st.sampled_from([1.0, 40.0, 2000.0]) | st.floats(1.0, 300.0)
lawful_plans = st.lists(
    st.builds(
        plan,
        st.sampled_from(ids),
        after=st.sampled_from((*ids, None, "nobody")),
        born=st.integers(1, 4),
        loom_id=st.sampled_from(["l", "l", "l", "m", None]),
        warp_lay=st.sampled_from(WarpLay),
        warp_gap_cm=st.none() | st.floats(0.0, 12_700.0),
        rows=st.integers(1, 20_000),
        knots_across=st.integers(1, 20_000),
        rows_per_10cm=st.floats(1.0, 200.0),
        selvedge_warps=st.integers(0, 1000),
        end_cm=sides,
        fringe_cm=sides,
        loom_waste_cm=sides,
    ),
    min_size=2,
    max_size=4,
    unique_by=lambda one: one.id,
)


@given(plans=lawful_plans)
def test_whatever_was_planned_each_rug_lies_on_one_warp_and_the_parts_are_the_whole(plans) -> None:
    for one in plans:
        order = rugs_on_warp(one.id, plans)
        assert one in order
        assert len({other.id for other in order}) == len(order)
        for other in order:
            assert rugs_on_warp(other.id, plans) == order
        shared = shared_warp(tuple(warp_part(other, None, (warp(other.id),), (), ()) for other in order))
        if shared is None:
            assert len(order) == 1
            continue
        whole_g = shared.threads * shared.length_cm * 100.0 * material.TEX_TO_G_PER_CM
        assert shared.mass_g == pytest.approx(whole_g)
        assert {part.part.rug_id for part in shared.parts} == {other.id for other in order}


@given(plans=lawful_plans)
def test_rugs_of_one_width_behind_each_other_need_together_what_each_needs_less_the_wastes_but_one(
    plans,
) -> None:
    first = plans[0]
    chain = [
        replace(
            one, loom_id="l", warp_after=before.id if before else None, warp_lay=WarpLay.BEHIND,
            knots_across=first.knots_across, selvedge_warps=first.selvedge_warps,
        )
        for before, one in zip([None, *plans], plans, strict=False)
    ]  # fmt: skip
    shared = on_one_warp(*chain)
    alone_g = [material.warp_mass_g(one, warp(one.id)) for one in chain]
    g_per_cm = material.warps(first) * 100.0 * material.TEX_TO_G_PER_CM
    less_cm = sum(one.loom_waste_cm for one in chain[1:])
    gaps_cm = sum(10.0 if one.warp_gap_cm is None else one.warp_gap_cm for one in chain[1:])
    assert shared.mass_g == pytest.approx(sum(alone_g) + g_per_cm * (gaps_cm - less_cm))


def test_a_rug_that_is_not_in_the_book_lies_on_no_warp() -> None:
    assert rugs_on_warp("gone", (plan("a"),)) == ()
    assert shared_warp(()) is None
    assert on_one_warp(plan("a"), plan("b", "a", 2)).of("gone") is None
    assert on_one_warp(plan("a"), plan("b", "a", 2)).wait_for("gone") == ()


def test_what_others_must_know_of_a_rug() -> None:
    cells = np.zeros((200, 300), dtype=np.uint8)
    drawn = Cartoon(id="c", rug_id="a", cells=cells, palette=("#9C2F25",))
    rug = plan("a", end_cm=2.0, selvedge_warps=8, warp_gap_cm=0.0)
    part = warp_part(rug, drawn, (warp("a", take_up=0.1),), (), ())
    # The cartoon's 200 rows at 40 are 50 cm; two ends of 2 cm; a tenth is taken up; two fringes of 10 cm.
    assert part.cloth_cm == pytest.approx(54.0 * 1.1 + 20.0)
    # 300 knots at 40 and eight warps at 80 in 10 cm.
    assert (part.threads, part.width_cm) == (608, 76.0)
    assert (part.waste_cm, part.gap_cm, part.tex, part.per_10cm) == (40.0, 0.0, 100.0, 40.0)
    assert (part.rug_id, part.name, part.lay, part.mounted, part.done) == (
        "a",
        "a",
        WarpLay.BEHIND,
        False,
        False,
    )
    # Without a warp yarn usual take-up (3 %; common practice, no source) and no fineness.
    bare = warp_part(rug, drawn, (), (), ())
    assert (bare.cloth_cm, bare.tex) == (pytest.approx(54.0 * 1.03 + 20.0), 0.0)
    # Of a warp whose fineness nobody said a suiting one is assumed: thicker where the knots are wider.
    fine, coarse = (
        warp_part(plan("a", knots_per_10cm=knots), None, (warp("a", tex=0.0),), (), ()).tex
        for knots in (60.0, 30.0)
    )
    assert 0.0 < fine < coarse
    # Room between rugs side by side is less than the warp between two behind each other (common practice, no source).
    beside = warp_part(plan("b", warp_lay=WarpLay.BESIDE), None, (), (), ())
    assert (beside.gap_cm, warp_part(plan("b"), None, (), (), ()).gap_cm) == (5.0, 10.0)


@pytest.mark.parametrize(
    ("mounted", "preparations", "sessions"),
    [
        (True, (), (Session(id="s", rug_id="a", day=START, rows=1),)),
        (True, (Preparation(id="p", rug_id="a", day=START, kind=PreparationKind.WARP),), ()),
        (False, (Preparation(id="p", rug_id="a", day=START, kind=PreparationKind.BALLS),), ()),
    ],
)
def test_a_warp_is_mounted_once_it_is_said_or_woven_on(mounted, preparations, sessions) -> None:
    assert warp_part(plan("a"), None, (), preparations, sessions).mounted is mounted


def test_one_warp_has_one_spacing_behind_each_other_and_one_yarn() -> None:
    wider = {"knots_per_10cm": 36.0}
    assert on_one_warp(plan("a"), plan("b", "a", 2)).one_spacing
    assert not on_one_warp(plan("a"), plan("b", "a", 2, **wider)).one_spacing
    # Side by side each has its own threads at its own spacing.
    assert on_one_warp(plan("a"), plan("b", "a", 2, warp_lay=WarpLay.BESIDE, **wider)).one_spacing
    plans = (plan("a"), plan("b", "a", 2))

    def of_yarns(*tex: float) -> SharedWarp:
        parts = [
            warp_part(one, None, (warp(one.id, tex=fine),) if fine else (), (), ())
            for one, fine in zip(plans, tex, strict=True)
        ]
        return shared_warp(tuple(parts))

    assert of_yarns(100.0, 100.0).one_yarn
    assert not of_yarns(100.0, 120.0).one_yarn
    # Where one has no warp yarn yet there is nothing that differs.
    assert of_yarns(100.0, 0.0).one_yarn


def test_what_is_known_better_than_by_rows_decides_who_waits() -> None:
    three = on_one_warp(plan("a"), plan("b", "a", 2), plan("c", "b", 3))

    def before(rug_id: str, done: dict[str, bool]) -> list[str]:
        return [part.rug_id for part in three.wait_for(rug_id, done)]

    # The third follows the second, whether or not the first is off the warp yet.
    assert before("c", {}) == before("c", {"a": True}) == ["b"]
    assert before("c", {"b": True}) == ["a"]
    assert before("c", {"a": True, "b": True}) == []
    assert before("b", {"a": False}) == ["a"]
    assert three.first.part.rug_id == "a"
    assert (three.waste_cm, three.gaps_cm) == (40.0, 20.0)


def test_what_lies_behind_two_rugs_side_by_side_waits_for_both() -> None:
    three = on_one_warp(plan("a"), plan("b", "a", 2, warp_lay=WarpLay.BESIDE), plan("c", "b", 3))
    assert [part.rug_id for part in three.wait_for("c")] == ["a", "b"]
    assert [part.rug_id for part in three.wait_for("c", {"a": True})] == ["b"]


def test_a_rug_is_told_its_part_as_it_is_handed_in() -> None:
    plans = (plan("a"), plan("b", "a", 2))
    parts = tuple(warp_part(one, None, (warp(one.id),), (), ()) for one in plans)
    own = RugBook(plan=plans[1], yarns=(warp("b"),), warp_parts=parts)
    assert warp_of(own) == on_one_warp(*plans)
    # A draft that is twice as long: 200 cm, two fringes, 10 cm between.
    draft = replace(own, plan=replace(plans[1], rows=800))
    assert part_of_book(draft).cloth_cm == pytest.approx(220.0)
    assert warp_of(draft).of("b").length_cm == pytest.approx(230.0)
    assert warp_length_cm(draft, draft.plan, 0.0) == pytest.approx(230.0)
    assert warp_of(draft).of("b").beyond_cm == pytest.approx(10.0)
    assert warp_of(replace(own, warp_parts=())) is None
    assert warp_of(replace(own, warp_parts=parts[:1])) is None
    # Alone it keeps the loom's waste itself: 100 cm, 20 of fringe, 40 of waste.
    assert warp_length_cm(replace(own, warp_parts=()), own.plan, 0.0) == pytest.approx(160.0)
