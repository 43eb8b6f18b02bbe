"""The plan form without a window: what it assumes, how taps change it, what it refuses, the records it becomes."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.presenters import rugs
from tests.today import TODAY
from tracker.domain.cartoon import CartoonPicture
from tracker.domain.errors import BadEntry
from tracker.domain.layout import SizeWay
from tracker.domain.material_plan import material_plan
from tracker.domain.rug import Cartoon, Lot, Role, RugBook, RugPlan, Yarn
from tracker.domain.taught import TaughtUse
from tracker.domain.washing import TaughtShrinkage
from tracker.presenters.plan import view
from tracker.presenters.plan.changes import (
    add_colour,
    add_weaver,
    drop_cartoon,
    move_shade,
    remove_yarn,
    set_share,
    take_cartoon,
    with_yarn,
)
from tracker.presenters.plan.checks import troubles
from tracker.presenters.plan.draft import from_kept, to_kept
from tracker.presenters.plan.form import PlanForm, blank_form, cartoon_form, form_of
from tracker.presenters.plan.records import draft_book, records, to_yarns
from tracker.presenters.plan.shares import even_shares, knots_of, level_shares, share_trouble
from tracker.presenters.plan.size import choose_size, set_density, set_raj, set_size, size_check
from tracker.presenters.plan.taught_use import use_offered, use_words, with_use
from tracker.presenters.shades import free_shade, parts_of, shades


def blank() -> PlanForm:
    return blank_form(TODAY)


def picture(knots: int = 40, rows: int = 60) -> CartoonPicture:
    """Ivory with 200 knots of madder and one row of night blue at the bottom."""
    cells = np.zeros((rows, knots), dtype=np.uint8)
    cells[10:20, 5:25] = 1
    cells[0] = 2
    return CartoonPicture(cells=cells, palette=("#EFE6D2", "#9B2F25", "#18263F"), name="garden.png")


def with_cartoon(form: PlanForm | None = None) -> PlanForm:
    return take_cartoon(form or blank(), cartoon_form(picture(), file="a.png"))


def pile_names(form: PlanForm) -> list[str]:
    return [yarn.name for yarn in form.of(Role.PILE)]


# --- starting and keeping


def test_a_blank_form_can_be_saved_as_it_stands() -> None:
    form = blank()
    assert troubles(form) == {}
    plan = next(value for value in records(form).values if isinstance(value, RugPlan))
    # 80 x 120 cm at 40 per 10 cm.
    assert (plan.knots_across, plan.rows) == (320, 480)


def test_a_kept_form_comes_back_as_it_was() -> None:
    form = replace(with_cartoon(), wished_day=date(2027, 5, 1), weavers=(("w", "Ilsa"),))
    kept = json.loads(json.dumps(to_kept(form)))
    assert from_kept(kept) == form


@pytest.mark.parametrize(
    "spoilt",
    [
        None,
        "text",
        [],
        {},
        {"start_day": "yesterday"},
        {**to_kept(blank_form(TODAY)), "width_cm": "wide"},
        {**to_kept(blank_form(TODAY)), "yarns": [{"id": 3}]},
        {**to_kept(blank_form(TODAY)), "unknown": 1},
    ],
)
def test_a_draft_that_cannot_be_read_is_no_draft(spoilt) -> None:
    assert from_kept(spoilt) is None


# --- colours and shares


def test_colours_share_evenly_until_a_share_is_given() -> None:
    form = add_colour(blank(), "Madder", "#9B2F25")
    form = add_colour(form, "Madder", "#9B2F25")
    assert pile_names(form) == ["Ivory", "Madder", "Madder 2"]
    assert even_shares(form.of(Role.PILE)) == pytest.approx([100 / 3] * 3)
    form = set_share(form, form.of(Role.PILE)[0].id, 50.0)
    assert even_shares(form.of(Role.PILE)) == pytest.approx([50, 25, 25])
    assert share_trouble(form) == ""


def test_another_colour_gets_what_is_missing_to_the_whole() -> None:
    form = set_share(blank(), blank().of(Role.PILE)[0].id, None)
    first = form.of(Role.PILE)[0].id
    form = add_colour(set_share(form, first, 70.0), "Madder", "#9B2F25")
    assert even_shares(form.of(Role.PILE)) == pytest.approx([70, 30])


@given(st.lists(st.floats(0, 100), min_size=1, max_size=12))
def test_levelled_shares_make_the_whole_and_keep_their_order(shares: list[float]) -> None:
    form = blank()
    for at in range(len(shares) - 1):
        form = add_colour(form, f"Colour {at}", "#808080")
    for yarn, share in zip(form.of(Role.PILE), shares, strict=True):
        form = set_share(form, yarn.id, share)
    level = [yarn.share for yarn in level_shares(form).of(Role.PILE)]
    assert sum(round(10 * share) for share in level) == 1000
    total = sum(shares)
    if total > 0:
        for share, before in zip(level, shares, strict=True):
            assert abs(share - 100 * before / total) < 0.1 + 1e-6


def test_what_the_book_tells_of_stays_in_the_plan() -> None:
    lot = Lot(id="l", rug_id="rug", yarn_id="red", day=TODAY, mass_g=500)
    book = RugBook(plan=rugs.plan(), yarns=rugs.yarns(), lots=(lot,))
    form = form_of(book)
    with pytest.raises(BadEntry, match="Madder has been bought"):
        remove_yarn(form, "red", book)
    assert pile_names(remove_yarn(form, "blue", book)) == ["Madder"]
    with pytest.raises(BadEntry, match="at least one weft"):
        remove_yarn(form, "weft", book)


# --- the cartoon


def test_a_cartoon_brings_its_own_colours_and_size() -> None:
    form = with_cartoon()
    assert (form.knots, form.rows) == (40, 60)
    assert (form.true_width_cm, form.true_length_cm) == (10, 15)
    assert [yarn.shades for yarn in form.of(Role.PILE)] == [("#EFE6D2",), ("#9B2F25",), ("#18263F",)]
    assert [knots_of(form, yarn) for yarn in form.of(Role.PILE)] == [2400 - 240, 200, 40]
    assert size_check(form) is None


def test_yarns_that_were_named_are_matched_to_the_cartoon_by_eye() -> None:
    form = add_colour(blank(), "My red", "#A03028")
    form = with_yarn(form, form.of(Role.PILE)[0].id, name="Lambswool")
    form = with_cartoon(form)
    by_name = {yarn.name: yarn.shades for yarn in form.of(Role.PILE)}
    assert by_name["My red"] == ("#9B2F25",)
    assert by_name["Lambswool"] == ("#EFE6D2",)
    assert len(by_name) == 3


def test_a_renamed_yarn_keeps_its_cartoon_colour_when_the_picture_is_laid_out_anew() -> None:
    form = with_cartoon()
    red = form.of(Role.PILE)[1]
    form = with_yarn(form, red.id, name="Madder from the valley", swatch="#7A1F18")
    again = take_cartoon(form, cartoon_form(picture(80, 120), file="a.png", given="full"))
    assert next(yarn for yarn in again.of(Role.PILE) if yarn.id == red.id).shades == ("#9B2F25",)
    assert len(again.of(Role.PILE)) == 3


def test_two_cartoon_colours_can_be_knotted_in_one_yarn() -> None:
    form = with_cartoon()
    ivory, red, blue = form.of(Role.PILE)
    form = move_shade(form, "#18263F", red.id)
    assert knots_of(form, form.yarn(red.id)) == 240
    assert knots_of(form, form.yarn(blue.id)) == 0
    form = remove_yarn(form, blue.id, None)
    with pytest.raises(BadEntry, match="cartoon is knotted in"):
        remove_yarn(form, ivory.id, None)
    yarns = to_yarns(form, picture().palette)
    assert [yarn.cartoon_values for yarn in yarns if yarn.role is Role.PILE] == [(0,), (1, 2)]


def test_going_without_the_cartoon_keeps_its_shares_and_size() -> None:
    bare = drop_cartoon(with_cartoon())
    assert (bare.width_cm, bare.length_cm) == (10, 15)
    # 2,160, 200 and 40 of 2,400 knots.
    assert [yarn.share for yarn in bare.of(Role.PILE)] == pytest.approx([90.0, 8.3, 1.7])
    assert troubles(bare) == {}


def test_a_cartoon_that_disagrees_with_a_wished_size_offers_its_ways_out() -> None:
    form = with_cartoon(set_size(blank(), width_cm=20.0, length_cm=30.0))
    check = size_check(form)
    ways = {choice.way: choice for choice in check.choices}
    assert {SizeWay.KEEP_DENSITY, SizeWay.KEEP_SIZE, SizeWay.MIRROR, SizeWay.REPEAT} <= set(ways)
    kept = choose_size(form, ways[SizeWay.KEEP_SIZE])
    # 40 knots on 20 cm.
    assert (kept.knots_per_10cm, kept.rows_per_10cm) == (20, 20)
    assert size_check(kept) is None
    follows = choose_size(form, ways[SizeWay.KEEP_DENSITY])
    assert (follows.width_cm, follows.length_cm) == (10, 15)


def test_the_size_follows_a_cartoon_when_the_density_changes() -> None:
    form = set_density(with_cartoon(), knots_per_10cm=20.0, rows_per_10cm=20.0)
    assert (form.width_cm, form.length_cm) == (20, 30)
    assert size_check(form) is None


# --- checking


def first_yarn(form: PlanForm, **changes) -> PlanForm:
    return with_yarn(form, form.of(Role.PILE)[0].id, **changes)


@pytest.mark.parametrize(
    ("change", "field", "says"),
    [
        (lambda form: replace(form, name="  "), "name", "Give the rug a name"),
        (lambda form: replace(form, width_cm=2.0), "width", "measures between 5 and 2,000 cm"),
        (lambda form: replace(form, knots_per_10cm=400.0), "across", "Look at the unit"),
        (lambda form: replace(form, width_cm=2000.0, knots_per_10cm=250.0), "width", "50,000 knots across"),
        (lambda form: replace(form, pile_height_mm=0.0), "pile", "between 1 and 100 mm"),
        (lambda form: replace(form, weekdays=()), "weekdays", "at least one day"),
        (lambda form: replace(form, hours_per_week=0.0), "hours", "hours you sit"),
        (
            lambda form: replace(form, wished_day=form.start_day - timedelta(days=1)),
            "wish",
            "before the start",
        ),
        (lambda form: first_yarn(form, share=80.0), "colours", "80 %: 20 % are missing"),
        (lambda form: first_yarn(form, share=120.0), "colours", "120 %: 20 % too many"),
    ],
)
def test_every_bad_field_is_named_where_it_stands(change, field, says) -> None:
    wrong = troubles(change(blank()))
    assert says in wrong[field]
    assert view.part_of(blank(), field) in view.PARTS
    with pytest.raises(BadEntry):
        records(change(blank()))


def test_two_yarns_of_one_name_and_a_wrong_count_are_named_at_the_yarn() -> None:
    form = add_colour(blank(), "Madder", "#9B2F25")
    one, other = form.of(Role.PILE)
    wrong = troubles(with_yarn(form, other.id, name="ivory"))
    assert "called ivory already" in wrong[f"yarn {other.id}"]
    wrong = troubles(with_yarn(form, one.id, count="Nm five"))
    assert "is not a fineness of yarn (yarn count)" in wrong[f"yarn {one.id}"]
    assert view.part_of(form, f"yarn {one.id}") == "colours"


def test_a_plan_cannot_be_shorter_than_what_is_woven() -> None:
    book = RugBook(
        plan=rugs.plan(),
        yarns=rugs.yarns(),
        sessions=(rugs.Session(id="s", rug_id="rug", day=TODAY, rows=60),),
    )
    form = set_size(form_of(book), length_cm=20.0)
    # 20 cm at 25 per 10 cm are 50 rows.
    assert "60 rows are woven already" in troubles(form, book)["length"]


# --- records


def test_an_untouched_plan_of_an_existing_rug_writes_nothing() -> None:
    cartoon = Cartoon(id="c", rug_id="rug", cells=np.zeros((200, 100), dtype=np.uint8), palette=("#9C2F25",))
    red, *others = rugs.yarns()
    yarns = (replace(red, share=None, cartoon_values=(0,)), *(replace(y, share=None) for y in others))
    book = RugBook(
        plan=rugs.plan(born=3),
        yarns=tuple(replace(y, born=4, count="R 600 tex", tex=600) for y in yarns),
        cartoon=cartoon,
    )
    found = records(form_of(book), book)
    assert found.values == ()
    assert found.withdraw == ()


def test_changing_one_yarn_writes_that_yarn_alone() -> None:
    book = RugBook(plan=rugs.plan(), yarns=tuple(replace(y, count=f"R {y.tex:g} tex") for y in rugs.yarns()))
    form = with_yarn(form_of(book), "red", dyer="Valley")
    (yarn,) = records(form, book).values
    assert (yarn.id, yarn.dyer, yarn.number) == ("red", "Valley", 1)


def test_numbers_on_the_balls_stay_true_when_a_colour_is_removed() -> None:
    book = RugBook(plan=rugs.plan(), yarns=rugs.yarns())
    form = remove_yarn(form_of(book), "red", book)
    form = add_colour(form, "Weld", "#D9B23A")
    found = records(form, book)
    numbers = {value.name: value.number for value in found.values if isinstance(value, Yarn)}
    assert numbers["Weld"] == 3
    assert numbers.get("Indigo", 2) == 2
    assert found.withdraw == ("red",)


def test_a_colour_can_be_added_though_one_has_the_largest_number_there_is() -> None:
    """Another phone's file may number a yarn so; the plan must still be one that can be saved."""
    form = blank_form(date(2026, 11, 2))
    first = form.of(Role.PILE)[0]
    form = with_yarn(form, first.id, number=100_000, untouched=False)
    form = add_colour(form, "Weld", "#E3C04A")
    numbers = [yarn.number for yarn in to_yarns(form) if yarn.role is Role.PILE]
    assert numbers == [100_000, 1]


def test_what_the_form_does_not_ask_keeps_its_value() -> None:
    book = RugBook(plan=rugs.plan(notes="the loom by the window"), yarns=rugs.yarns())
    form = replace(form_of(book), hours_per_week=9.0)
    plan = next(value for value in records(form, book).values if isinstance(value, RugPlan))
    assert (plan.hours_per_week, plan.notes, plan.stage) == (9.0, "the loom by the window", book.plan.stage)


def test_going_without_the_cartoon_withdraws_it() -> None:
    cartoon = Cartoon(id="c", rug_id="rug", cells=np.zeros((200, 100), dtype=np.uint8), palette=("#9C2F25",))
    book = RugBook(plan=rugs.plan(), yarns=rugs.yarns(), cartoon=cartoon)
    form = level_shares(drop_cartoon(form_of(book)))
    assert "c" in records(form, book).withdraw


def test_a_lost_picture_is_said_instead_of_saving_a_rug_without_it() -> None:
    with pytest.raises(BadEntry, match="picture is gone"):
        records(with_cartoon())


def test_a_known_weaver_is_not_entered_twice() -> None:
    form = add_weaver(blank(), rugs.someone("Ilsa"), ("Perrin",))
    assert [name for _id, name in form.weavers] == ["Ilsa"]
    for name in ("perrin", "ILSA"):
        with pytest.raises(BadEntry, match="in the book already"):
            add_weaver(form, rugs.someone(name), ("Perrin",))


# --- showing


def test_the_cards_say_the_plan_in_the_weavers_own_units() -> None:
    form = replace(blank(), unit="inch", density_unit="per inch", width_cm=91.44, length_cm=152.4)
    cards = {part.key: part for part in view.overview(form)}
    assert cards["size"].answer == "36 × 60 in"
    # 40 per 10 cm are 10.16 an inch.
    assert cards["cloth"].answer == "10.2 × 10.2 per inch"
    form = replace(blank(), density_unit="bis", knots_per_10cm=100 / 2.54, rows_per_10cm=400 / 3 / 2.54)
    # 9/60: 10 across and 13.3 along per inch (little-persia.com, "How Are Knot Counts Measured?").
    assert view.density_words(form) == "9 / 60 bis"


def test_a_fineness_left_open_says_what_is_assumed() -> None:
    form = blank()
    line = view.count_line(form, form.of(Role.PILE)[0])
    assert line.answer == "not given"
    assert line.hint.startswith("assumed: R ")


@given(st.floats(0, 1), st.floats(0.05, 0.95), st.floats(0.05, 1))
def test_a_mixed_shade_can_be_mixed_again(hue: float, lightness: float, strength: float) -> None:
    colour = free_shade(hue, lightness, strength)
    assert free_shade(*parts_of(colour)) == colour


def test_a_fineness_of_nothing_but_spaces_is_left_open() -> None:
    form = blank_form(date(2026, 11, 2))
    form = with_yarn(form, form.of(Role.PILE)[0].id, count=" \n")
    line = view.count_line(form, form.of(Role.PILE)[0])
    assert line.trouble == ""
    assert "assumed" in line.hint


def test_the_sheet_of_shades_has_no_name_or_colour_twice() -> None:
    sheet = shades()
    assert len({shade.name for shade in sheet}) == len({shade.colour for shade in sheet}) == len(sheet)


# --- how the knots are tied


def test_forty_raj_stay_forty_raj_when_the_raj_is_shorter():
    form = set_density(
        replace(blank(), density_unit="raj"), knots_per_10cm=400 / 7, rows_per_10cm=400 / 7
    )  # fmt: skip
    short = set_raj(form, 6.5)
    assert view.density_words(short) == "40 × 40 per 6.5 cm"
    # 80 cm are 12.3 raj of 6.5 cm: 492 knots instead of 457.
    assert (form.knots, short.knots) == (457, 492)
    plan = records(short).values[0]
    assert plan.raj_cm == 6.5
    again = form_of(RugBook(plan=plan, yarns=to_yarns(short)))
    assert view.density_words(again) == "40 × 40 per 6.5 cm"
    assert ("per 6.5 cm (raj)", "40 × 40") in view.density_table(again)


def test_half_a_field_over_four_warps_has_three_quarters_of_the_knots_everywhere():
    plain, wide = blank(), replace(blank(), jufti_percent=50.0)
    assert plain.knots * plain.rows == 320 * 480
    assert "115,200 knots" in view.summary(wide)
    assert "115,200 knots" in view.saved_words(wide)
    assert view.yarn_cards(wide, Role.PILE, {})[0].note == "115,200 knots"
    plan = records(wide).values[0]
    assert plan.jufti_share == 0.5
    assert form_of(RugBook(plan=plan, yarns=to_yarns(wide))).jufti_percent == 50.0


def test_a_pile_that_grew_by_shearing_is_refused_where_it_was_said():
    wrong = troubles(replace(blank(), pile_height_mm=9.0, unshorn_mm=8.0))
    assert list(wrong) == ["unshorn"]
    assert view.part_of(blank(), "unshorn") == "cloth"
    assert not troubles(replace(blank(), pile_height_mm=9.0, unshorn_mm=9.0))


def test_plies_that_twisting_shortened_weigh_more_and_the_label_s_count_stays():
    form = blank()
    yarn = form.of(Role.PILE)[0]
    twisted = with_yarn(form, yarn.id, count="Nm 5/2 x 3", twist_percent=4.0)
    # 3 strands of two singles of 200 tex; 96 cm of yarn hold what 100 cm of singles weighed: 1,200 / 0.96.
    (told, *_wefts) = to_yarns(twisted)
    assert told.tex == pytest.approx(1250.0)
    assert "1,250 tex once twisted" in view.count_line(twisted, twisted.of(Role.PILE)[0]).hint
    again = form_of(RugBook(plan=records(twisted).values[0], yarns=to_yarns(twisted)))
    assert (again.of(Role.PILE)[0].count, again.of(Role.PILE)[0].twist_percent) == ("Nm 5/2 x 3", 4.0)
    # What is said whole, or is a single, was not shortened once more.
    for count in ("R 1200 tex", "Nm 5"):
        whole = with_yarn(twisted, yarn.id, count=count)
        assert not view.asks_twist(whole.of(Role.PILE)[0])
        assert to_yarns(whole)[0].tex in (1200.0, 200.0)


def test_a_twist_that_cannot_be_is_refused():
    form = blank()
    bad = with_yarn(form, form.of(Role.PILE)[0].id, count="Nm 5/2", twist_percent=60.0)
    assert any(key.startswith("yarn ") for key in troubles(bad))


def test_a_side_that_cannot_be_is_refused_in_the_unit_it_was_given_in() -> None:
    form = replace(blank_form(TODAY, unit="inch"), width_cm=2.0)
    assert troubles(form)["width"] == "A rug measures between 2 and 787 in."


def test_of_one_colour_no_shares_are_told_of_two_they_are() -> None:
    def note(form: PlanForm) -> str:
        return next(part.note for part in view.overview(form) if part.key == "colours")

    assert note(blank()) == ""
    assert note(add_colour(blank(), "Blue", "#223366")) == "shares make 100 %"


def test_with_a_cartoon_the_size_is_passed_over_only_where_nothing_of_it_is_to_be_decided() -> None:
    form = blank()
    assert view.following(form, "rug") == "size"
    assert view.following(with_cartoon(), "rug") == "cloth"
    assert view.following(with_cartoon(), "cloth") == "colours"
    # 40 x 60 knots at 40 per 10 cm are 10 x 15 cm: not what was wished for.
    assert view.following(with_cartoon(set_size(form, width_cm=80, length_cm=120)), "rug") == "size"
    # The last rug shrank in the wash: the part on the size offers to plan with it.
    taught = TaughtShrinkage(rug_name="Doorstep", width_share=0.016, length_share=0.02)
    assert view.following(with_cartoon(), "rug", taught) == "size"
    followed = replace(with_cartoon(), wash_shrinkage_width=0.016, wash_shrinkage_length=0.02)
    assert view.following(followed, "rug", taught) == "cloth"
    assert view.following(form, "week") == ""


def test_a_plan_can_be_saved_before_its_last_part_once_its_size_or_cartoon_is_said() -> None:
    form = blank()
    assert not view.can_save_early(form), "nobody wants a rug of which nothing was said"
    assert view.can_save_early(set_size(form, width_cm=90))
    assert view.can_save_early(with_cartoon())


def test_what_the_pile_of_a_rug_took_is_offered_to_the_next_of_its_kind_and_counted_when_it_is_tapped() -> (
    None
):
    """A rug took a fifth more than its plan, and the plan of the next one of the same yarn did not know it."""
    form = blank()
    for yarn in form.of(Role.PILE):
        form = with_yarn(form, yarn.id, count="R 600 tex")
    use = TaughtUse(
        rug_name="Rug 1",
        ratio=1.2,
        knots_per_10cm=form.knots_per_10cm,
        rows_per_10cm=form.rows_per_10cm,
        tex=600.0,
    )
    assert use_offered(form, (use,)) == use
    assert use_words(use) == (
        "On Rug 1, as dense and of a like yarn, the pile took 20 % more than this plan counts."
    )
    assert "10 % less than" in use_words(replace(use, ratio=0.9))

    def pile_g(of: PlanForm) -> float:
        return sum(need.need_g for need in material_plan(draft_book(of)).pile)

    taken = with_use(form, use)
    assert pile_g(taken) == pytest.approx(1.2 * pile_g(form), rel=1e-3)
    assert use_offered(taken, (use,)) is None, "it is counted with already"
    # What was measured for this rug, another density or fineness, and what is hardly more is left as it is.
    cut = form
    for yarn in form.of(Role.PILE):
        cut = with_yarn(cut, yarn.id, cut_length_mm=50.0)
    assert use_offered(cut, (use,)) is None
    assert use_offered(set_density(form, knots_per_10cm=2 * form.knots_per_10cm), (use,)) is None
    assert use_offered(form, (replace(use, tex=300.0),)) is None
    assert use_offered(form, (replace(use, ratio=1.03),)) is None
    # Of two that are alike the last one speaks: they stand in that order.
    assert use_offered(form, (replace(use, tex=300.0), replace(use, ratio=0.9), use)) == replace(
        use, ratio=0.9
    )
    woven = rugs.book(rugs.session(1, 5))
    assert use_offered(replace(form, new=False), (use,), woven) is None
