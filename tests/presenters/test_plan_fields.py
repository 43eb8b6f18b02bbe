"""Every field of a plan goes through its form unharmed, and each tap changes what it says and nothing else."""

from __future__ import annotations

import json
from dataclasses import fields, replace
from datetime import date
from typing import Any

import numpy as np
import pytest

from tests.presenters import rugs
from tests.today import TODAY
from tracker.domain.cartoon import CartoonPicture
from tracker.domain.errors import BadEntry
from tracker.domain.layout import SizeWay
from tracker.domain.loom import Loom, WarpLay
from tracker.domain.rug import (
    Cartoon,
    KnotKind,
    Lot,
    Preparation,
    PreparationKind,
    Role,
    RugBook,
    RugPlan,
    RugStage,
    SizeMeasure,
    Weaver,
    Yarn,
)
from tracker.domain.units import LengthUnit, to_cm
from tracker.presenters.plan import looms as plan_looms
from tracker.presenters.plan.changes import (
    add_colour,
    add_weaver,
    add_weft,
    drop_cartoon,
    move_shade,
    remove_yarn,
    take_cartoon,
    toggle_weekday,
    with_all,
    with_yarn,
)
from tracker.presenters.plan.checks import count_trouble, size_troubles, troubles
from tracker.presenters.plan.draft import files_of, from_kept, to_kept
from tracker.presenters.plan.form import (
    CartoonForm,
    PlanForm,
    YarnForm,
    blank_form,
    cartoon_form,
    form_of,
    new_weft,
)
from tracker.presenters.plan.records import draft_book, records, to_plan, to_yarns
from tracker.presenters.plan.shares import even_shares, knots_of, level_shares, share_trouble
from tracker.presenters.plan.size import (
    DENSITIES_PER_10CM,
    SIZES_CM,
    SIZES_INCH,
    choose_size,
    set_density,
    set_finishing,
    set_size,
    size_check,
)

PLAN = RugPlan(
    id="rug", name="Little field", width_cm=45.0, length_cm=85.0, knots_per_10cm=24.0, rows_per_10cm=26.0, knots_across=100,
    rows=200, pile_height_mm=9.0, knot_kind=KnotKind.ASYMMETRIC, weekdays=(1, 3, 6), hours_per_week=17.0, weavers_planned=2,
    start_day=date(2026, 11, 3), wished_day=date(2027, 2, 1), knots_per_hour=550.0, selvedge_warps=6, end_cm=1.5,
    fringe_cm=7.0, loom_waste_cm=55.0, loom_width_cm=150.0, beam_roll_cm=300.0, loom_id="loom", warp_after="other",
    warp_lay=WarpLay.BESIDE, warp_gap_cm=12.0, raj_cm=6.5, unshorn_mm=11.0, jufti_share=0.125, warp_offset_degrees=45.0,
    size_measure=SizeMeasure.CLOTH, loom_shrinkage=0.015, wash_shrinkage_width=0.02, wash_shrinkage_length=0.03,
)  # fmt: skip
YARNS = (
    Yarn(id="red", rug_id="rug", role=Role.PILE, number=3, name="Madder", swatch="#9C2F25", share=0.625, count="Nm 5/2",
         tex=412.0, twist_contraction=0.03, fibre="silk", unit_mass_g=210.0, passes_per_row=2, take_up=0.05,
         cut_length_mm=50.5, pile_g_per_m2=2100.0, skein_g=500.0, least_purchase_g=250.0, margin=0.12, price_per_kg=40.0,
         dyer="Valley", lead_days=21, per_cm=2.5, pieces=4),
    Yarn(id="blue", rug_id="rug", role=Role.PILE, number=1, name="Indigo", swatch="#27406B", share=0.375, count="R 600 tex",
         tex=600.0),
    Yarn(id="weft", rug_id="rug", role=Role.WEFT, number=1, name="Ground", count="R 400 tex", tex=400.0),
)  # fmt: skip


def same(plan: RugPlan, other: RugPlan) -> dict[str, tuple[Any, Any]]:
    """What differs between two plans."""
    return {
        field.name: (getattr(plan, field.name), getattr(other, field.name))
        for field in fields(plan)
        if getattr(plan, field.name) != getattr(other, field.name)
    }


def book(**changes: Any) -> RugBook:
    return RugBook(**{"plan": PLAN, "yarns": YARNS, **changes})


def form(**changes: Any) -> PlanForm:
    return replace(form_of(RugBook(plan=rugs.plan(), yarns=rugs.yarns())), **changes)


def cartoon(*shades: tuple[str, int], knots: int = 10, rows: int = 10, **changes: Any) -> CartoonForm:
    return CartoonForm(name="vine", knots=knots, rows=rows, shades=shades, **changes)


def test_every_field_of_a_plan_comes_out_of_its_form_as_it_went_in() -> None:
    opened = form_of(book(), "inch")
    # What knots and rows the size makes is the form's own sum.
    assert set(same(to_plan(opened), PLAN)) <= {"knots_across", "rows", "stage"}
    assert (opened.new, opened.unit, opened.density_unit, opened.size_said) == (False, "inch", "raj", True)
    yarns = to_yarns(replace(opened, rug_id="rug"))
    for before, after in zip(YARNS, yarns, strict=True):
        assert replace(after, tex=before.tex, born=before.born) == before
        assert after.tex == pytest.approx(before.tex, rel=2e-3)


def test_the_unit_of_density_follows_the_unit_of_length_unless_a_raj_was_told() -> None:
    plain = RugBook(plan=rugs.plan(), yarns=rugs.yarns())
    assert form_of(plain).density_unit == "per 10 cm"
    assert form_of(plain, "inch").density_unit == "per inch"
    assert blank_form(TODAY).density_unit == "per 10 cm"
    assert blank_form(TODAY, unit="inch").density_unit == "per inch"
    assert blank_form(TODAY, unit="inch").unit == "inch"


def test_a_yarn_without_a_count_shows_the_tex_that_is_known_of_it_and_equal_shares_are_nobodys_word() -> None:
    opened = form_of(
        RugBook(
            plan=rugs.plan(),
            yarns=(*rugs.yarns(), Yarn(id="w", rug_id="rug", role=Role.WARP, number=1, name="W", tex=0.0)),
        )
    )
    assert [yarn.count for yarn in opened.yarns] == ["R 600 tex", "R 600 tex", "R 400 tex", ""]
    assert [yarn.share for yarn in opened.yarns] == [None] * 4
    assert [yarn.share for yarn in form_of(book()).yarns] == [62.5, 37.5, None]


def test_a_blank_form_has_a_colour_two_wefts_and_a_warp() -> None:
    blank = blank_form(TODAY, rugs=4, lead_days=21)
    assert (blank.name, blank.start_day, blank.new, blank.size_said) == ("Rug 5", TODAY, True, False)
    assert [
        (y.role, y.name, y.swatch, y.fibre, y.unit_mass_g, y.lead_days, y.untouched) for y in blank.yarns
    ] == [
        ("pile", "Ivory", "#EFE6D2", "wool", 200.0, 21, True),
        ("weft", "Thick weft, straight", "#D8CBB0", "cotton", 100.0, 21, False),
        ("weft", "Thin weft, wavy", "#8A6B4A", "cotton", 100.0, 21, False),
        ("warp", "Warp", "#E4DAC4", "cotton", 500.0, 21, False),
    ]
    assert {yarn.lead_days for yarn in blank_form(TODAY).yarns} == {14}
    assert len({yarn.id for yarn in blank.yarns}) == 4
    third = new_weft(2)
    assert (third.name, third.swatch, third.lead_days) == ("Weft 3", "#D8CBB0", 14)
    # A blank rug of 80 x 120 cm, in a week of five days.
    assert (blank.width_cm, blank.length_cm, blank.weekdays, blank.knots, blank.rows) == (
        80.0, 120.0, (0, 1, 2, 3, 4), 320, 480,
    )  # fmt: skip


def test_half_a_field_over_four_warps_is_three_quarters_of_the_knots() -> None:
    assert form().tied == 20000
    assert form(jufti_percent=50.0).tied == 15000


def test_a_cartoon_is_counted_into_the_form() -> None:
    cells = np.zeros((3, 4), dtype=np.uint8)
    cells[0, :3] = 1
    cells[1, 0] = 2
    picture = CartoonPicture(cells=cells, palette=("#efe6d2", "#9b2f25", "#EFE6D2"), name="garden.png")
    assert cartoon_form(picture, file="a.png") == CartoonForm(
        name="garden.png", knots=4, rows=3, shades=(("#EFE6D2", 9), ("#9B2F25", 3)), file="a.png"
    )
    of_book = Cartoon(
        id="k", rug_id="rug", cells=cells, palette=("#efe6d2", "#9b2f25", "#111111"), source_name="old.png"
    )
    rug = book(cartoon=of_book, yarns=(replace(YARNS[0], share=None, cartoon_values=(1, 2, 7)), *YARNS[1:]))
    opened = form_of(rug)
    assert opened.cartoon is not None
    assert (opened.cartoon.name, opened.size_said) == ("old.png", False)
    assert opened.yarns[0].shades == ("#9B2F25", "#111111")
    # 4 knots at 24 and 3 rows at 26 in 10 cm, as they come off the loom and out of the wash.
    assert (opened.knots, opened.rows) == (4, 3)


# --- taps


def test_a_tap_on_one_yarn_leaves_the_others_alone() -> None:
    begun = blank_form(TODAY)
    first = begun.yarns[0].id
    dyed = with_yarn(begun, first, dyer="Valley")
    assert (dyed.yarns[0].dyer, dyed.yarns[0].untouched) == ("Valley", False)
    assert dyed.yarns[1:] == begun.yarns[1:]
    cheap = with_all(begun, Role.WEFT, price_per_kg=12.0)
    assert [yarn.price_per_kg for yarn in cheap.yarns] == [None, 12.0, 12.0, None]


def test_another_colour_is_bought_and_wound_like_the_last_one() -> None:
    like = with_yarn(
        form(), "blue", unit_mass_g=150.0, cut_length_mm=50.0, number=2, shades=("#111111",), dyer="Valley"
    )
    added = add_colour(like, "MADDER", "#222222").of(Role.PILE)[-1]
    assert (added.name, added.swatch, added.number, added.shades, added.share) == (
        "MADDER 2",
        "#222222",
        0,
        (),
        None,
    )
    assert (added.unit_mass_g, added.cut_length_mm, added.dyer, added.untouched) == (
        150.0,
        50.0,
        "Valley",
        False,
    )
    assert added.id not in {yarn.id for yarn in like.yarns}
    assert [yarn.id for yarn in add_colour(form(), "Weld", "#222222").yarns][:2] == ["red", "blue"]
    assert [yarn.untouched for yarn in add_colour(blank_form(TODAY), "Weld", "#222222").of(Role.PILE)] == [
        False,
        False,
    ]
    shared = with_yarn(with_yarn(form(), "red", share=50.0), "blue", share=45.5)
    assert add_colour(shared, "Weld", "#222222").of(Role.PILE)[-1].share == 4.5
    over = with_yarn(shared, "blue", share=60.0)
    assert add_colour(over, "Weld", "#222222").of(Role.PILE)[-1].share == 0.0
    alone = add_colour(form(yarns=()), "Weld", "#222222")
    assert [(yarn.name, yarn.role, yarn.share) for yarn in alone.yarns] == [("Weld", "pile", None)]
    full = form(yarns=tuple(replace(form().yarns[0], id=f"y{at}") for at in range(63)))
    full = add_colour(full, "Weld", "#222222")
    with pytest.raises(BadEntry) as refused:
        add_colour(full, "Sky", "#222222")
    assert refused.value.sentence == "A rug can have 64 colours. Remove one first."


def test_another_weft_stands_behind_the_wefts_and_before_the_warp() -> None:
    two = add_weft(add_weft(blank_form(TODAY)))
    assert [yarn.name for yarn in two.yarns] == [
        "Ivory", "Thick weft, straight", "Thin weft, wavy", "Weft 3", "Weft 4", "Warp",
    ]  # fmt: skip
    taken = add_weft(with_yarn(form(), "red", name="thin weft, WAVY"))
    assert [yarn.name for yarn in taken.of(Role.WEFT)] == ["Ground weft", "Thin weft, wavy 2"]


def test_what_the_rug_or_the_book_needs_cannot_be_removed() -> None:
    def refusal(of: PlanForm, yarn_id: str, rug: RugBook | None = None) -> str:
        with pytest.raises(BadEntry) as refused:
            remove_yarn(of, yarn_id, rug)
        return refused.value.sentence

    known = RugBook(plan=rugs.plan(), yarns=rugs.yarns())
    told = "Madder has been bought or used already, so it stays in the plan. Give it a share of 0 instead."
    lot = Lot(id="l", rug_id="rug", yarn_id="red", day=TODAY, mass_g=5.0)
    wound = Preparation(id="p", rug_id="rug", day=TODAY, kind=PreparationKind.BALLS, yarn_id="red", count=1)
    for rug in (
        replace(known, lots=(lot,)),
        replace(known, preparations=(wound,)),
        replace(known, sessions=(rugs.session(1, 2, used=(("red", 1.0),)),)),
    ):
        assert refusal(form(), "red", rug) == told
        assert len(remove_yarn(form(), "blue", rug).yarns) == 2
    knotted = with_yarn(form(cartoon=cartoon(("#111111", 100))), "red", shades=("#111111",))
    assert refusal(knotted, "red") == (
        "The cartoon is knotted in Madder. Give its cartoon colours to another yarn first."
    )
    assert refusal(remove_yarn(form(), "blue", None), "red") == "A rug needs at least one colour."
    assert refusal(form(), "weft") == "A rug needs at least one weft."
    assert remove_yarn(form(), "gone", known) == form()


def test_a_colour_of_the_cartoon_goes_from_one_yarn_to_the_other() -> None:
    knotted = with_yarn(with_yarn(form(), "red", shades=("#111111", "#222222")), "blue", shades=("#333333",))
    moved = move_shade(knotted, "#111111", "blue")
    assert [yarn.shades for yarn in moved.of(Role.PILE)] == [("#222222",), ("#333333", "#111111")]


def test_a_cartoon_names_its_new_yarns_and_leaves_those_that_were_matched() -> None:
    taken = take_cartoon(form(), cartoon(("#9C2F25", 10), ("#27406B", 20), ("#EFE6D2", 70), file="a.png"))
    assert [(yarn.id, yarn.shades) for yarn in taken.of(Role.PILE)][:2] == [
        ("red", ("#9C2F25",)),
        ("blue", ("#27406B",)),
    ]
    new = taken.of(Role.PILE)[2]
    assert (new.swatch, new.shades, new.number, new.share, new.untouched) == (
        "#EFE6D2",
        ("#EFE6D2",),
        0,
        None,
        False,
    )
    assert new.name[:1].isupper()
    assert taken.yarns[-1].id == "weft"
    assert taken.cartoon is not None
    assert (taken.cartoon.file, taken.width_cm, taken.length_cm) == (
        "a.png",
        form().width_cm,
        form().length_cm,
    )
    # Nobody wished another size: it is what 10 knots and rows make at 25 in 10 cm.
    free = take_cartoon(form(size_said=False), cartoon(("#9C2F25", 100)))
    assert (free.width_cm, free.length_cm) == (4.0, 4.0)
    # Two new colours of one name get numbers.
    twins = take_cartoon(form(yarns=form().of(Role.WEFT)), cartoon(("#EFE6D2", 60), ("#EFE6D1", 40)))
    names = [yarn.name for yarn in twins.of(Role.PILE)]
    assert len(names) == len(set(names)) == 2
    assert names[1] == f"{names[0]} 2"
    triplets = take_cartoon(
        form(yarns=form().of(Role.WEFT)), cartoon(("#EFE6D2", 60), ("#EFE6D1", 30), ("#EFE6D0", 10))
    )
    assert [yarn.name for yarn in triplets.of(Role.PILE)] == [names[0], names[1], f"{names[0]} 3"]


def test_going_without_the_cartoon_keeps_what_each_yarn_had_of_it() -> None:
    knotted = with_yarn(
        with_yarn(form(cartoon=cartoon(("#111111", 25), ("#222222", 75))), "red", shades=("#111111", "#999999")),
        "blue", shades=("#222222",),
    )  # fmt: skip
    bare = drop_cartoon(knotted)
    assert [(yarn.share, yarn.shades) for yarn in bare.yarns] == [(25.0, ()), (75.0, ()), (None, ())]
    # 10 knots and 10 rows at 25 in 10 cm.
    assert (bare.cartoon, bare.width_cm, bare.length_cm) == (None, 4.0, 4.0)
    assert drop_cartoon(form()) == form()
    assert drop_cartoon(form(cartoon=cartoon(), yarns=())).yarns == ()


def test_the_first_day_at_the_loom_is_a_working_day_until_somebody_says_another() -> None:
    saturday, monday = date(2026, 11, 28), date(2026, 11, 30)
    plan = blank_form(saturday)
    assert plan.start_day == monday
    # Ticked, the Saturday is one; without the Monday it is the Tuesday.
    assert toggle_weekday(plan, 5, saturday).start_day == saturday
    assert toggle_weekday(plan, 0, saturday).start_day == date(2026, 12, 1)
    # A day that she picked stays, and so does that of a rug in the book; with no day ticked nothing is known.
    picked = replace(plan, start_day=date(2026, 12, 5))
    assert toggle_weekday(picked, 0, saturday).start_day == picked.start_day
    assert toggle_weekday(replace(plan, new=False), 0, saturday).start_day == monday
    none = plan
    for weekday in range(5):
        none = toggle_weekday(none, weekday, saturday)
    assert (none.weekdays, none.start_day) == ((), saturday)


def test_a_weaving_day_more_or_less_and_somebody_new() -> None:
    assert toggle_weekday(form(weekdays=(0, 4)), 2, TODAY).weekdays == (0, 2, 4)
    assert toggle_weekday(form(weekdays=(0, 4)), 4, TODAY).weekdays == (0,)
    ((_id, name),) = add_weaver(form(), rugs.someone("Ilsa"), ["Ann"]).weavers
    # Two who are named for the rug sit side by side; one more who helps out changes nothing.
    two = add_weaver(add_weaver(form(), rugs.someone("Ilsa"), []), rugs.someone("Maren"), [])
    assert (form().weavers_planned, two.weavers_planned) == (1, 2)
    assert add_weaver(replace(form(), weavers_planned=3), rugs.someone("Ilsa"), []).weavers_planned == 3
    assert name == "Ilsa"
    for taken, sentence in (
        ("", "Give a name, or a sign by which you know each other."),
        ("ann", "ann is in the book already."),
    ):
        with pytest.raises(BadEntry) as refused:
            add_weaver(form(), rugs.someone(taken), ["Ann"])
        assert refused.value.sentence == sentence
    with pytest.raises(BadEntry):
        add_weaver(add_weaver(form(), rugs.someone("Ilsa"), []), rugs.someone("ILSA"), [])


# --- shares


def pile(*shares: float | None) -> tuple[YarnForm, ...]:
    return tuple(
        YarnForm(id=f"y{at}", role="pile", name=f"Y{at}", share=share) for at, share in enumerate(shares)
    )


def test_shares_that_miss_the_whole_are_told_by_how_much() -> None:
    def said(*shares: float | None) -> str:
        return share_trouble(form(yarns=pile(*shares)))

    assert said(60.0, 40.0) == said(60.0, None) == said(60.0, 40.05) == said(60.0, 39.95) == ""
    assert said(60.25, 30.0) == "The shares make 90.2 %: 9.8 % are missing."
    assert said(60.25, 50.5) == "The shares make 110.8 %: 10.8 % too many."
    assert share_trouble(form(yarns=())) == share_trouble(form(yarns=pile(10.0), cartoon=cartoon())) == ""
    assert even_shares(pile(120.0, None)) == (120.0, 0.0)


def test_levelled_shares_keep_their_proportions_to_the_tenth() -> None:
    def level(*shares: float | None) -> list[float | None]:
        return [yarn.share for yarn in level_shares(form(yarns=pile(*shares))).yarns]

    assert level(30.0, 20.0) == [60.0, 40.0]
    assert level(0.0, 0.0) == [50.0, 50.0]
    # A third each: the tenth that is left over goes to the first of equal remainders.
    assert level(1.0, 1.0, 1.0) == [33.4, 33.3, 33.3]
    # 14.285..., 28.571... and 57.142...: rounded down 99.9, and the largest remainder is the first's.
    assert level(1.0, 2.0, 4.0) == [14.3, 28.6, 57.1]
    weft = YarnForm(id="w", role="weft", name="W", share=None)
    assert level_shares(form(yarns=(*pile(30.0, 20.0), weft))).yarns[-1].share is None


def test_the_knots_of_a_colour_are_counted_or_shared() -> None:
    shared = form(yarns=pile(25.0, 75.0))
    assert [knots_of(shared, yarn) for yarn in shared.yarns] == [5000.0, 15000.0]
    counted = form(cartoon=cartoon(("#111111", 30), ("#222222", 70)))
    assert knots_of(counted, replace(pile(None)[0], shades=("#222222", "#111111", "#999999"))) == 100.0
    assert knots_of(form(), form().yarns[-1]) == 0.0, "a weft ties none"


def test_a_count_said_otherwise_takes_its_fineness_and_twist_along() -> None:
    # The book's madder was weighed at 412 tex and loses 3 %; now it is said to be 400 tex in all.
    (changed,) = records(with_yarn(form_of(book()), "red", count="R 400 tex"), book()).values
    assert (changed.count, changed.tex, changed.twist_contraction) == ("R 400 tex", 400.0, 0.0)
    # By words alone that mean the same: what was weighed gives way too.
    plain = book(yarns=(replace(YARNS[0], twist_contraction=0.0), *YARNS[1:]))
    (changed,) = records(with_yarn(form_of(plain), "red", count="R 400 tex"), plain).values
    assert (changed.count, changed.tex) == ("R 400 tex", 400.0)
    (changed,) = records(with_yarn(form_of(book()), "red", twist_percent=4.0), book()).values
    assert (changed.twist_contraction, changed.tex) == (0.04, pytest.approx(400 / 0.96))


# --- size


def test_a_size_that_is_said_counts_and_the_cartoon_s_follows_while_none_is() -> None:
    wide = set_size(form(size_said=False), width_cm=50.0)
    assert (wide.width_cm, wide.length_cm, wide.size_said) == (50.0, 80.0, True)
    long = set_size(form(), length_cm=90.0)
    assert (long.width_cm, long.length_cm) == (40.0, 90.0)
    drawn = form(cartoon=cartoon(knots=100, rows=200), size_said=False)
    # 100 knots at 50 in 10 cm are 20 cm; 200 rows at 25 stay 80.
    denser = set_density(drawn, knots_per_10cm=50.0)
    assert (denser.width_cm, denser.length_cm, denser.rows_per_10cm) == (20.0, 80.0, 25.0)
    taller = set_density(drawn, rows_per_10cm=20.0)
    assert (taller.width_cm, taller.length_cm, taller.knots_per_10cm) == (40.0, 100.0, 25.0)
    # Said, but the cartoon agrees with it: it follows too.
    assert set_density(replace(drawn, size_said=True), rows_per_10cm=20.0).length_cm == 100.0
    wished = replace(drawn, size_said=True, length_cm=160.0)
    assert set_density(wished, rows_per_10cm=20.0).length_cm == 160.0
    assert set_density(form(), rows_per_10cm=20.0).length_cm == 80.0, "without a cartoon the rows follow"
    washed = set_finishing(drawn, wash_shrinkage_length=0.1)
    assert (washed.wash_shrinkage_length, washed.length_cm) == (0.1, pytest.approx(72.0))
    assert set_finishing(wished, wash_shrinkage_length=0.1).length_cm == 160.0
    assert set_finishing(
        replace(drawn, size_said=True), wash_shrinkage_length=0.1
    ).length_cm == pytest.approx(72.0)


def test_the_sizes_and_densities_that_can_be_tapped() -> None:
    assert SIZES_CM == ((60, 90), (80, 120), (120, 180), (170, 240), (200, 300))
    # In feet, as such rugs are called: 2 × 3, 3 × 5, 4 × 6, 6 × 9, 8 × 10 (common practice, no source).
    assert [(width / 12, length / 12) for width, length in SIZES_INCH] == [
        (2, 3),
        (3, 5),
        (4, 6),
        (6, 9),
        (8, 10),
    ]
    assert DENSITIES_PER_10CM == (25, 30, 40, 50, 60)
    for unit, sides in (("cm", SIZES_CM), ("inch", SIZES_INCH)):
        for width, length in sides:
            sized = set_size(
                form(unit=unit),
                width_cm=to_cm(width, LengthUnit(unit)),
                length_cm=to_cm(length, LengthUnit(unit)),
            )
            assert size_troubles(sized) == {}


def test_a_disagreement_is_resolved_by_what_was_tapped() -> None:
    drawn = form(cartoon=cartoon(knots=100, rows=200), size_said=True, length_cm=160.0)
    check = size_check(drawn)
    assert check is not None
    assert size_check(replace(drawn, length_cm=80.0)) is None
    assert size_check(form()) is None
    ways = {choice.way: choice for choice in check.choices}
    kept = choose_size(drawn, ways[SizeWay.KEEP_SIZE])
    # 200 rows over 160 cm.
    assert (kept.rows_per_10cm, kept.length_cm) == (pytest.approx(12.5), 160.0)
    assert choose_size(drawn, ways[SizeWay.KEEP_DENSITY]).length_cm == 80.0
    others = [choice for way, choice in ways.items() if way not in (SizeWay.KEEP_SIZE, SizeWay.KEEP_DENSITY)]
    assert all(choose_size(drawn, choice) == drawn for choice in others)


# --- what is wrong


@pytest.mark.parametrize(
    ("changes", "field", "sentence"),
    [
        ({"width_cm": 4.9}, "width", "A rug measures between 5 and 2,000 cm."),
        ({"width_cm": 5.0, "selvedge_warps": 0}, "width", None),
        ({"length_cm": 2000.1}, "length", "A rug measures between 5 and 2,000 cm."),
        ({"wash_shrinkage_width": 0.31}, "wash_shrinkage_width", "A rug shrinks by 0 to 30 %."),
        ({"loom_shrinkage": 0.3}, "loom_shrinkage", None),
        ({"width_cm": 10.0, "selvedge_warps": 100, "size_measure": "CLOTH"}, "width",
         "The selvedges take up this whole width. Nothing is left to knot."),
        # 15 selvedge warps of 2 mm leave 2 cm of 5 to knot, 16 of them less.
        ({"width_cm": 5.0, "selvedge_warps": 15, "size_measure": "CLOTH"}, "width", None),
        ({"width_cm": 5.0, "selvedge_warps": 16, "size_measure": "CLOTH"}, "width",
         "The selvedges take up this whole width. Nothing is left to knot."),
        ({"length_cm": 5.0, "end_cm": 1.5, "size_measure": "CLOTH"}, "length", None),
        ({"length_cm": 5.0, "end_cm": 1.6, "size_measure": "CLOTH"}, "length",
         "The ends and fringes take up this whole length. Nothing is left to knot."),
        ({"length_cm": 10.0, "end_cm": 5.0, "size_measure": "CLOTH"}, "length",
         "The ends and fringes take up this whole length. Nothing is left to knot."),
        ({"name": "  "}, "name", "Give the rug a name."),
        ({"name": "x" * 81}, "name", "Keep the name under 80 letters."),
        ({"name": "x" * 80}, "name", None),
        ({"width_cm": 2000.0, "knots_per_10cm": 101.0}, "width", "That makes 20,200 knots across, more than 20,000."),
        ({"width_cm": 2000.0, "knots_per_10cm": 100.0}, "width", None),
        ({"length_cm": 2000.0, "rows_per_10cm": 101.0}, "length", "That makes 20,200 rows, more than 20,000."),
        ({"length_cm": 2000.0, "rows_per_10cm": 100.0}, "length", None),
        ({"pile_height_mm": 0.0}, "pile", "A pile stands between 1 and 100 mm high."),
        ({"pile_height_mm": 100.5}, "pile", "A pile stands between 1 and 100 mm high."),
        ({"pile_height_mm": 100.0}, "pile", None),
        ({"unshorn_mm": 7.5}, "unshorn", "The pile cannot be lower before shearing than after it."),
        ({"unshorn_mm": 8.0}, "unshorn", None),
        ({"yarns": ()}, "colours", "Add at least one colour."),
        ({"yarns": ()}, "wefts", "Add at least one weft."),
        ({"weekdays": ()}, "weekdays", "Choose at least one day."),
        ({"hours_per_week": 0.0}, "hours", "Give the hours you sit at the loom in a week, such as 20."),
        ({"hours_per_week": 150.0, "weekdays": (0, 1, 2, 3, 4)}, "hours",
         "150 h a week on 5 days is 30 h a day. Give fewer hours, or tick more days."),
        ({"hours_per_week": 168.5}, "hours", "Give the hours you sit at the loom in a week, such as 20."),
        ({"hours_per_week": 120.0}, "hours", None),
        ({"unit": "inch", "width_cm": 4.9}, "width", "A rug measures between 2 and 787 in."),
        ({"raj_cm": 0.5}, "raj", "A number here must lie between 6 and 8 cm. Check it."),
        ({"unshorn_mm": 500.0}, "unshorn", "A number here must lie between 0.1 and 200 mm. Check it."),
        ({"jufti_percent": 100.0}, "jufti", None),
        ({"jufti_percent": 100.5}, "jufti", "A share of the field lies between 0 and 100 %."),
        ({"warp_offset_degrees": 90.0}, "offset", None),
        ({"warp_offset_degrees": 91.0}, "offset", "A number here must lie between 0 and 90. Check it."),
        ({"wished_day": date(2026, 11, 2)}, "wish", "The target date lies before the start on 2 November 2026."),
        ({"wished_day": date(2026, 11, 3)}, "wish", None),
    ],
)  # fmt: skip
def test_each_bound_of_the_plan_and_the_sentence_beyond_it(
    changes: dict[str, Any], field: str, sentence: str | None
) -> None:
    if changes.get("size_measure"):
        changes = {**changes, "size_measure": SizeMeasure[changes["size_measure"]].value}
    assert troubles(form(**changes)).get(field) == sentence


def test_a_density_that_no_hand_ties_is_questioned_by_its_unit() -> None:
    for key, changes in (("across", {"knots_per_10cm": 0.5}), ("along", {"rows_per_10cm": 100_000.0})):
        sentence = troubles(form(**changes))[key]
        assert "hand-knotted rugs have between " in sentence
        assert " per 10 cm cannot be right" in sentence
    assert troubles(form()) == {}


def test_a_plan_is_at_least_as_long_as_what_is_woven_and_names_no_yarn_twice() -> None:
    woven = RugBook(plan=rugs.plan(), yarns=rugs.yarns(), sessions=(rugs.session(1, 150),))
    assert troubles(form(), woven) == {}
    assert troubles(form(length_cm=60.0), woven) == {}, "150 rows at 25 in 10 cm"
    assert (
        troubles(form(length_cm=40.0), woven)["length"]
        == "150 rows are woven already, but the plan has only 100."
    )
    named = with_yarn(with_yarn(form(), "blue", name=" madder "), "weft", name=" ")
    wrong = troubles(named)
    assert (wrong["yarn blue"], wrong["yarn weft"]) == (
        "Another yarn is called  madder  already.",
        "Give it a name.",
    )
    assert "yarn red" not in wrong
    assert count_trouble(" ") == count_trouble("Nm 5/2") == ""
    assert troubles(with_yarn(form(), "red", count="five"))["yarn red"] == count_trouble("five") != ""


# --- drafts


def test_a_draft_with_a_choice_that_there_is_not_is_left_out() -> None:
    kept = json.loads(json.dumps(to_kept(form(wished_day=date(2027, 2, 1)))))
    assert (kept["start_day"], kept["wished_day"]) == ("2026-11-02", "2027-02-01")
    assert from_kept(kept) == form(wished_day=date(2027, 2, 1))
    drawn = json.loads(json.dumps(to_kept(form(cartoon=cartoon(("#111111", 100))))))
    assert from_kept(drawn) is not None
    for bad in (
        {"density_unit": "per ell"}, {"unit": "ell"}, {"knot_kind": "granny"}, {"size_measure": "by eye"},
        {"warp_lay": "above"}, {"warp_gap_cm": -1.0}, {"loom_shrinkage": 0.5}, {"wash_shrinkage_width": -0.1},
        {"raj_cm": 0}, {"knots_per_10cm": 0}, {"rows_per_10cm": 0}, {"knots_per_hour": -5}, {"hours_per_week": 0},
        {"yarns": [{**kept["yarns"][0], "role": "thread"}]}, {"yarns": [{**kept["yarns"][0], "swatch": "red"}]},
        {"yarns": [{**kept["yarns"][0], "shades": ["red"]}]}, {"cartoon": {**drawn["cartoon"], "given": "half"}},
        {"cartoon": {**drawn["cartoon"], "shades": [["red", 100]]}},
    ):  # fmt: skip
        assert from_kept({**kept, **bad}) is None, bad
    assert from_kept({**kept, "warp_gap_cm": 5.0}) is not None


def test_a_draft_needs_the_pictures_it_was_laid_out_from() -> None:
    assert files_of(form()) == set()
    laid = cartoon(file="a.png", field_file="b.png", strip_file="c.png", corner_file="")
    assert files_of(form(cartoon=laid)) == {"a.png", "b.png", "c.png"}


# --- records


def test_a_new_rug_is_written_whole_and_a_changed_one_only_where_it_changed() -> None:
    new = records(replace(form(new=True), weavers=(("w", "Ilsa"),)))
    assert [type(value).__name__ for value in new.values] == ["RugPlan", "Yarn", "Yarn", "Yarn", "Weaver"]
    assert new.values[-1] == Weaver(id="w", name="Ilsa")
    assert new.withdraw == ()
    known = book()
    renamed = records(replace(form_of(known), name=" Garden "), known)
    assert renamed.values == (replace(PLAN, name="Garden"),)
    fewer = remove_yarn(form_of(known), "blue", known)
    assert records(with_yarn(fewer, "red", share=100.0), known).withdraw == ("blue",)
    with pytest.raises(BadEntry) as refused:
        records(form(name=""))
    assert refused.value.sentence == "Give the rug a name."


def test_a_corrected_twist_goes_with_the_count_and_the_tex_that_follow_from_it() -> None:
    known = book(yarns=(replace(YARNS[0], tex=500.0), *YARNS[1:]))
    (yarn,) = records(with_yarn(form_of(known), "red", dyer="Hill"), known).values
    assert (yarn.dyer, yarn.tex) == ("Hill", 500.0), "what nobody touched stays as the book has it"
    (yarn,) = records(with_yarn(form_of(known), "red", twist_percent=5.0), known).values
    # Two threads of 200 tex, a twentieth of their length gone: 400 / 0.95.
    assert (yarn.tex, yarn.twist_contraction) == (pytest.approx(421.05, abs=0.01), 0.05)


def test_a_cartoon_is_written_under_its_own_id_and_a_lost_one_is_said() -> None:
    cells = np.zeros((60, 40), dtype=np.uint8)
    picture = CartoonPicture(cells=cells, palette=("#9C2F25",), name="vine.png")
    drawn = take_cartoon(form(size_said=False), cartoon_form(picture, file="a.png"))
    new = next(value for value in records(drawn, picture=picture).values if isinstance(value, Cartoon))
    assert (new.rug_id, new.source_name, new.palette) == ("rug", "vine.png", ("#9C2F25",))
    before = RugBook(plan=rugs.plan(), yarns=rugs.yarns(), cartoon=replace(new, id="k"))
    again = records(drawn, before, picture)
    assert [value.id for value in again.values if isinstance(value, Cartoon)] == ["k"]
    (red,) = (value for value in again.values if isinstance(value, Yarn) and value.id == "red")
    assert red.cartoon_values == (0,)
    assert records(drop_cartoon(form_of(before)), before).withdraw == ("k",)
    with pytest.raises(BadEntry) as refused:
        records(drawn)
    assert refused.value.sentence == "The cartoon's picture is gone. Choose it again."
    drafted = draft_book(drawn, picture=picture)
    assert drafted.cartoon is not None
    assert (drafted.cartoon.rug_id, drafted.yarns[0].cartoon_values) == ("rug", (0,))
    shared = draft_book(drawn)
    assert (shared.cartoon, [yarn.share for yarn in shared.yarns]) == (None, [1.0, 0.0, None])


def test_a_plan_being_changed_is_reckoned_with_what_the_book_knows() -> None:
    known = book(sessions=(rugs.session(1, 5),))
    drafted = draft_book(with_yarn(replace(form_of(known), name="Garden"), "weft", count="four"), known)
    assert (drafted.plan.name, drafted.sessions) == ("Garden", known.sessions)
    assert drafted.yarns_of(Role.WEFT)[0].tex == 0.0, "a count that cannot be read is left open"
    numbered = to_yarns(
        form(yarns=(replace(form().yarns[0], number=0), replace(form().yarns[1], number=2), form().yarns[2]))
    )
    assert [yarn.number for yarn in numbered] == [3, 2, 1]


# --- looms


LOOM = Loom(id="loom", name="By the window", width_cm=150.0, waste_cm=55.0)
OTHER = rugs.plan(id="other", name="Meadow", loom_id="loom")


def said(line: Any) -> tuple[str, str, str]:
    return line.label, line.answer, line.hint


def test_the_loom_is_asked_where_the_book_has_one() -> None:
    assert plan_looms.loom_lines(form(), (), ()) == {}
    open_line = plan_looms.loom_lines(form(), (LOOM,), ())
    assert {key: said(line) for key, line in open_line.items()} == {
        "loom": ("Loom", "none named", "The plan takes its width and its waste."),
    }
    named = form(loom_id="loom")
    assert {key: said(line) for key, line in plan_looms.loom_lines(named, (LOOM,), ()).items()} == {
        "loom": ("Loom", "By the window", "The plan takes its width and its waste."),
    }


def test_the_warp_and_the_gap_are_asked_where_another_rug_lies_on_the_loom() -> None:
    named = form(loom_id="loom")
    lines = plan_looms.loom_lines(named, (LOOM,), (OTHER,))
    assert said(lines["warp"]) == (
        "Warp",
        "a warp of its own",
        "Rugs on one warp share the loom waste.",
    )
    assert "gap" not in lines
    behind = plan_looms.with_warp(named, ("other", WarpLay.BEHIND))
    lines = plan_looms.loom_lines(behind, (LOOM,), (OTHER,))
    assert said(lines["warp"]) == ("Warp", "behind Meadow, on its warp", "")
    assert (lines["gap"].label, lines["gap"].hint) == (
        "Gap between the rugs", "Between their fringes, to cut them apart. Common practice, no source.",
    )  # fmt: skip
    beside = plan_looms.with_warp(replace(behind, warp_gap_cm=25.4), ("other", WarpLay.BESIDE))
    lines = plan_looms.loom_lines(replace(beside, unit="inch"), (LOOM,), (OTHER,))
    assert said(lines["warp"])[1] == "beside Meadow, on one warp"
    assert said(lines["gap"]) == ("Gap between the rugs", "10 in", "")
    usual = plan_looms.loom_lines(replace(beside, warp_gap_cm=None), (LOOM,), (OTHER,))["gap"]
    assert usual.hint == "Between their selvedges. Common practice, no source."
    alone = plan_looms.with_warp(beside, plan_looms.OWN_WARP)
    assert (alone.warp_after, alone.warp_gap_cm) == (None, None)
    assert beside.warp_gap_cm == 25.4
    assert plan_looms.chosen_warp(behind, (OTHER,)) == ("other", WarpLay.BEHIND)
    assert plan_looms.chosen_warp(behind, ()) == plan_looms.OWN_WARP
    assert (
        plan_looms.chosen_warp(form(warp_after="other"), (replace(OTHER, loom_id=None),))
        == plan_looms.OWN_WARP
    )


def test_a_loom_brings_what_is_known_of_it_and_another_one_leaves_the_warp() -> None:
    on = plan_looms.with_loom(form(loom_id="loom", warp_after="other"), LOOM)
    assert (on.loom_id, on.loom_width_cm, on.loom_waste_cm, on.warp_after) == ("loom", 150.0, 55.0, "other")
    moved = plan_looms.with_loom(on, Loom(id="second", name="Second"))
    assert (moved.loom_id, moved.loom_width_cm, moved.loom_waste_cm, moved.warp_after) == (
        "second",
        150.0,
        55.0,
        None,
    )
    off = plan_looms.with_loom(on, None)
    assert (off.loom_id, off.warp_after, off.loom_width_cm) == (None, None, 150.0)
    assert plan_looms.loom_of(on, (Loom(id="second", name="Second"), LOOM)) == LOOM
    assert plan_looms.loom_of(form(), (LOOM,)) is None


def test_the_warps_offered_are_of_rugs_that_still_lie_on_the_loom_and_not_behind_this_one() -> None:
    def offered(*plans: RugPlan) -> list[str]:
        return [choice[0] for _words, choice in plan_looms.warp_choices(form(loom_id="loom"), plans)][1::2]

    assert offered(OTHER) == ["other"]
    begun = plan_looms.warp_choices(form(loom_id="loom"), (OTHER,), begun=True)
    assert [lay for _words, (_rug_id, lay) in begun[1:]] == [WarpLay.BESIDE], (
        "rows that are woven wait for no other rug"
    )
    assert offered(replace(OTHER, stage=RugStage.FINISHED)) == []
    assert offered(replace(OTHER, loom_id="second")) == []
    assert offered(replace(OTHER, id="rug")) == []
    mine = rugs.plan(loom_id="loom")
    assert offered(replace(OTHER, warp_after="rug"), mine) == []
    third = replace(OTHER, id="third", warp_after="other")
    assert offered(replace(OTHER, warp_after="rug"), third, mine) == []
    assert offered(replace(OTHER, warp_after="third"), third) == ["other", "third"]


def test_the_rugs_near_on_a_warp_are_those_on_the_same_loom() -> None:
    alone = form(loom_id="loom")
    assert plan_looms.near_on_warp(alone, (OTHER,)) == ()
    behind = replace(alone, warp_after="other")
    mine = rugs.plan(loom_id="loom")
    elsewhere = replace(OTHER, id="far", loom_id="second")
    assert plan_looms.near_on_warp(behind, (OTHER, mine, elsewhere)) == (OTHER,)
    follower = replace(OTHER, warp_after="rug")
    assert plan_looms.near_on_warp(alone, (follower,)) == (follower,)
