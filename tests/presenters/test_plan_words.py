"""What the plan page says: each part as a card, each question with its answer, the words beside it."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from datetime import date, timedelta

import pytest

from tests.presenters import rugs
from tests.today import TODAY
from tracker.domain.material_plan import material_plan
from tracker.domain.rug import Role, RugBook, SizeMeasure
from tracker.domain.taught import Taught
from tracker.domain.washing import TaughtShrinkage
from tracker.domain.work import OwnRate, own_rate
from tracker.presenters.plan import view
from tracker.presenters.plan.changes import add_edge, with_yarn
from tracker.presenters.plan.form import CartoonForm, PlanForm, YarnForm, form_of
from tracker.words import percent, work_words

WISH = date(2027, 1, 3)


def form(**changes: object) -> PlanForm:
    """The little field of 100 knots by 200 rows in two colours, as its plan is opened: 20,000 knots."""
    opened = form_of(RugBook(plan=rugs.plan(), yarns=rugs.yarns()))
    return replace(opened, **changes)  # type: ignore[arg-type]


def all_over(line: view.Line) -> tuple[str, str, str, str]:
    return line.label, line.answer, line.hint, line.trouble


def test_each_part_of_the_plan_is_a_card() -> None:
    parts = view.overview(
        form(wished_day=WISH), wrong={"name": "bad name", "yarn red": "bad red", "yarn weft": "bad weft"}
    )
    assert [(part.key, part.icon, part.title, part.answer, part.note, part.trouble) for part in parts] == [
        ("rug", "rug", "Name and cartoon", "Little field", "without a cartoon", "bad name"),
        ("size", "measure", "Size", "40 × 80 cm", "finished; 100 knots across, 200 rows", ""),
        ("cloth", "knot", "Density, knot and pile", "25 × 25 per 10 cm", "symmetric knot, pile 8 mm", ""),
        ("colours", "skein", "Colours", "2 colours", "shares make 100 %", "bad red"),
        ("foundation", "shuttle", "Wefts, warp and loom", "1 weft a row", "Ground weft", "bad weft"),
        ("week", "calendar", "Working week", "15 h a week planned", "from 2 November 2026, target 3 January 2027", ""),
    ]  # fmt: skip
    assert [part.swatches for part in parts if part.swatches] == [(("#9C2F25", "1"), ("#27406B", "2"))]


def test_the_cards_of_a_rug_with_a_cartoon_and_of_one_with_everything_open() -> None:
    cartoon = CartoonForm(name="vine", knots=1040, rows=60, shades=(("#9C2F25", 62400),))
    said = {part.key: (part.answer, part.note) for part in view.overview(form(name="", cartoon=cartoon))}
    assert said["rug"] == ("no name yet", "cartoon of 1,040 × 60 knots")
    # 1,040 knots and 60 rows at 25 per 10 cm.
    assert said["size"] == ("416 × 24 cm", "finished; 1,040 knots across, 60 rows")
    assert said["colours"] == ("2 colours", "shares from the cartoon")
    assert said["week"][1] == "from 2 November 2026"
    uneven = with_yarn(with_yarn(form(), "red", share=50.0), "blue", share=40.0)
    assert {part.key: part.note for part in view.overview(uneven)}["colours"] == ""
    many = form(yarns=tuple(replace(form().yarns[0], id=f"y{at}") for at in range(13)))
    assert [len(part.swatches) for part in view.overview(many)] == [0, 0, 0, 12, 0, 0]


@pytest.mark.parametrize(
    ("field", "part"),
    [
        ("name", "rug"), ("cartoon", "rug"), ("width", "size"), ("length", "size"), ("across", "cloth"), ("along", "cloth"),
        ("loom_shrinkage", "size"), ("wash_shrinkage_width", "size"), ("wash_shrinkage_length", "size"),
        ("pile", "cloth"), ("raj", "cloth"), ("unshorn", "cloth"), ("jufti", "cloth"), ("offset", "cloth"),
        ("colours", "colours"), ("wefts", "foundation"), ("weekdays", "week"), ("hours", "week"), ("wish", "week"),
        ("yarn red", "colours"), ("yarn weft", "foundation"), ("yarn gone", "foundation"),
    ],
)  # fmt: skip
def test_a_trouble_is_shown_on_the_card_of_its_part(field: str, part: str) -> None:
    assert view.part_of(form(), field) == part


# --- size and cloth


def test_the_size_its_shrinking_and_what_is_allowed() -> None:
    lines = view.size_lines(form(unit="inch"), {"width": "too wide", "length": "too long"})
    # 40 and 80 cm; an inch is 2.54 cm.
    assert [(key, all_over(line)) for key, line in lines.items()] == [
        ("width", ("Width", "15.7 in", "", "too wide")),
        ("length", ("Length", "31.5 in", "", "too long")),
    ]
    assert [line.trouble for line in view.size_lines(form(), {}).values()] == ["", ""]
    shrinks = form(loom_shrinkage=0.015, wash_shrinkage_length=0.02)
    told = view.shrinkage_lines(shrinks, {"loom_shrinkage": "much"})
    assert [(key, all_over(line)) for key, line in told.items()] == [
        ("loom_shrinkage", ("Shorter once off the loom", "1.5 %",
                            ("The loom stretches the warps. Once cut off, the cloth gets a little "
                            "shorter."), "much")),
        ("wash_shrinkage_width", ("Narrower after washing", "not said: none", "", "")),
        ("wash_shrinkage_length", ("Shorter after washing", "2 %",
                                   ("Published: about 2 %, up to 5 or 10 %. None is assumed until you "
                                   "enter it."), "")),
    ]  # fmt: skip
    assert view.tolerance_words(form()) == (
        "The finished rug may differ by ± 3 cm in width and ± 3 cm in length from the order. That is "
        "the usual allowance for hand-knotted rugs (Turkish standard TS 43)."
    )
    # Of 15 cm as large a share as 3 cm are of 40.
    assert view.tolerance_words(form(width_cm=15.0, length_cm=30.0)) == (
        "The finished rug may differ by ± 1.1 cm in width and ± 2.2 cm in length from the order. Turkish "
        "standard TS 43 allows 3 cm or more. On sides shorter than 40 cm that is much, so we allow less: "
        "1.1 cm on 15 cm, 2.2 cm on 30 cm."
    )
    assert view.tolerance_words(form(width_cm=15.0, length_cm=50.0)).endswith(
        "(Turkish standard TS 43). The standard allows 3 cm or more. On sides shorter than 40 cm "
        "that is much, so we allow less: 1.1 cm on 15 cm."
    )
    # 2.5 % of 200 and of 300 cm.
    large = form(width_cm=200.0, length_cm=300.0)
    assert view.tolerance_words(large) == (
        "The finished rug may differ by ± 5 cm in width and ± 7.5 cm in length from the order. That "
        "is the usual allowance for hand-knotted rugs (Turkish standard TS 43)."
    )
    assert view.on_loom_words(form()) == ""
    # 80 cm less a tenth lost: 88.9 cm are 222 rows of 4 mm, 88.8 cm.
    assert (
        view.on_loom_words(form(wash_shrinkage_length=0.1))
        == "Planned on the loom: 41.6 × 88.8 cm with selvedges"
    )
    assert view.on_loom_words(form(size_measure=SizeMeasure.FRINGES.value)).startswith(
        "Planned on the loom: "
    )


def test_what_a_customer_measures() -> None:
    assert view.measures() == (
        ("the knotted part", SizeMeasure.KNOTTED.value),
        ("with selvedges and flat ends", SizeMeasure.CLOTH.value),
        ("with fringes too", SizeMeasure.FRINGES.value),
    )
    notes = [view.measure_note(form(size_measure=measure.value)) for measure in SizeMeasure]
    assert notes == [
        "Of the finished rug, without selvedges, ends and fringes.",
        "Of the finished rug, with selvedges and flat ends, without fringes.",
        "Of the finished rug, with selvedges, ends and fringes.",
    ]


def test_what_the_last_washing_taught_is_followed_or_not() -> None:
    taught = TaughtShrinkage(rug_name="Meadow", width_share=None, length_share=0.02)
    assert view.taught_fields(taught) == {"wash_shrinkage_length": 0.02}
    assert view.taught_fields(replace(taught, width_share=0.0)) == {
        "wash_shrinkage_width": 0.0, "wash_shrinkage_length": 0.02,
    }  # fmt: skip
    assert not view.follows_taught(form(), taught)
    assert view.follows_taught(form(wash_shrinkage_length=0.02), taught)


@pytest.mark.parametrize(
    ("unit", "density", "across", "along"),
    [
        # 25 per 10 cm: 6.35 an inch, 76.2 a foot, 17.5 on 7 cm.
        ("per 10 cm", "25 × 25 per 10 cm", "25 per 10 cm", "25 per 10 cm"),
        ("per inch", "6.35 × 6.35 per inch", "6.35 per inch", "6.35 per inch"),
        ("line", "76.2 × 76.2 per foot", "76.2 per foot", "76.2 per foot"),
        ("raj", "17.5 × 17.5 per 7 cm", "17.5 per 7 cm", "17.5 per 7 cm"),
    ],
)
def test_the_density_is_said_in_the_unit_chosen(unit: str, density: str, across: str, along: str) -> None:
    chosen = dict(view.density_units())
    value = next(
        value for words, value in chosen.items() if words.startswith({"line": "per foot"}.get(unit, unit))
    )
    said = form(density_unit=value)
    assert view.density_words(said) == density
    lines = view.cloth_lines(said, {})
    assert (lines["across"].answer, lines["along"].answer) == (across, along)


def test_the_ways_to_say_a_density_and_a_raj() -> None:
    assert [words for words, _unit in view.density_units()] == [
        "per 10 cm", "per inch", "per foot (line)", "raj", "bis / bhutan",
    ]  # fmt: skip
    assert all(words == f"{length:g} cm" for words, length in view.raj_lengths())
    bis = form(density_unit=dict(view.density_units())["bis / bhutan"])
    across, along = (view.cloth_lines(bis, {})[key].answer for key in ("across", "along"))
    assert across.endswith(" bis")
    assert along.endswith(" bhutan")
    assert view.density_words(bis) == f"{across.removesuffix(' bis')} / {along.removesuffix(' bhutan')} bis"
    assert dict(view.density_table(bis))["per 10 cm"] == "25 × 25"
    raj = form(density_unit=dict(view.density_units())["raj"], raj_cm=6.5)
    # 25 in 10 cm are 16.25 on 6.5 cm.
    assert view.cloth_lines(raj, {})["across"].answer == "16.2 per 6.5 cm"


def test_knot_and_pile() -> None:
    said = form(pile_height_mm=8.25, unshorn_mm=11.125, jufti_percent=12.25)
    wrong = {key: f"bad {key}" for key in ("across", "along", "pile", "unshorn", "jufti")}
    assert [(key, all_over(line)) for key, line in view.cloth_lines(said, wrong).items()] == [
        ("across", ("Knots across", "25 per 10 cm", "", "bad across")),
        ("along", ("Rows along", "25 per 10 cm", "", "bad along")),
        ("pile", ("Pile height", "8.2 mm", "After shearing, above the knots.", "bad pile")),
        ("unshorn", ("Pile height before shearing", "11.12 mm",
                     "What the shears take follows from it. Until then 1.5 mm of each leg is assumed.", "bad unshorn")),
        ("jufti", ("Field tied over four warps", "12.2 %",
                   ("Such a knot (jufti) fills two places. If 70 of 100 knots are like this, they "
                   "fill 82 % of the field."),
                   "bad jufti")),
    ]  # fmt: skip
    assert view.cloth_lines(form(), {})["unshorn"].answer == "not said"
    assert all(not line.trouble for line in view.cloth_lines(form(), {}).values())
    assert [view.knot_kind_words(kind) for kind in ("symmetric", "asymmetric", "on a rod")] == [
        "Symmetric: round both warps",
        "Asymmetric: round one warp, behind the other",
        "On a rod: looped round both warps and a rod, then cut",
    ]


# --- yarns


def test_each_yarn_is_a_card_with_its_share_or_its_passes() -> None:
    said = with_yarn(
        with_yarn(form(jufti_percent=50.0), "red", count="Nm 5/2", number=7, share=62.25), "blue", share=37.75
    )
    cards = view.yarn_cards(said, Role.PILE, {"yarn blue": "bad blue"})
    # 20,000 places; half of them over four warps are three quarters of the knots: 15,000.
    assert [(card.number, card.name, card.amount, card.note, card.trouble) for card in cards] == [
        ("7", "Madder", "62.2 %", "9,338 knots · Nm 5/2", ""),
        ("2", "Indigo", "37.8 %", "5,662 knots · R 600 tex", "bad blue"),
    ]
    assert [(card.yarn_id, card.swatch) for card in cards] == [("red", "#9C2F25"), ("blue", "#27406B")]
    (weft,) = view.yarn_cards(with_yarn(form(), "weft", passes=2), Role.WEFT, {})
    assert (weft.number, weft.name, weft.amount, weft.note) == (
        "",
        "Ground weft",
        "2 passes a row",
        "R 400 tex",
    )
    (nameless,) = view.yarn_cards(
        with_yarn(form(), "weft", name="", count=""), Role.WEFT, {"yarn weft": "bad"}
    )
    assert (nameless.name, nameless.amount, nameless.trouble) == ("no name yet", "1 pass a row", "bad")
    assert nameless.note.startswith("assumed: R ")
    assert nameless.note.endswith(" tex, which suits the density")
    (warp,) = view.yarn_cards(
        form(yarns=(*form().yarns, YarnForm(id="w", role="warp", name="Warp"))), Role.WARP, {}
    )
    assert (warp.amount, warp.note[:11]) == ("", "assumed: R ")


def test_with_a_cartoon_a_yarn_has_the_share_that_was_counted() -> None:
    cartoon = CartoonForm(name="vine", knots=10, rows=10, shades=(("#111111", 98), ("#222222", 2)))
    counted = with_yarn(form(cartoon=cartoon), "red", shades=("#111111", "#222222"))
    red, blue = view.yarn_cards(counted, Role.PILE, {})
    assert (red.amount, red.note) == ("100 %", "100 knots · R 600 tex")
    assert (blue.amount, blue.note) == ("not in the cartoon", "0 knots · R 600 tex")
    single = form(cartoon=replace(cartoon, shades=(("#111111", 99), ("#222222", 1))))
    single = with_yarn(with_yarn(single, "red", shades=("#111111",)), "blue", shades=("#222222",), count="")
    red, blue = view.yarn_cards(single, Role.PILE, {})
    assert (red.amount, blue.amount, blue.note) == ("99 %", "1 %", "1 knot")


def yarn(**changes: object) -> YarnForm:
    filled = YarnForm(
        id="red", role="pile", name="Madder", swatch="#9C2F25", number=1, share=62.25, count="Nm 5/2", twist_percent=3.25,
        fibre="silk", unit_mass_g=210.0, passes=2, take_up_percent=5.126, cut_length_mm=50.126, pile_g_per_m2=2100.126,
        skein_g=500.0, least_g=250.0, margin_percent=12.25, price_per_kg=40.126, dyer="Valley", lead_days=21, per_cm=2.126,
        pieces=4,
    )  # fmt: skip
    return replace(filled, **changes)  # type: ignore[arg-type]


def test_every_question_on_a_colour_with_its_answer() -> None:
    filled = form(yarns=(yarn(), *form().yarns[1:]))
    lines = view.yarn_lines(filled, yarn(), {"yarn red": "bad red"})
    # Two threads of Nm 5: 400 tex as they are spun, 3.25 % heavier once twisted together: 413.4.
    assert {key: all_over(line) for key, line in lines.items()} == {
        "name": ("Name", "Madder", "", "bad red"),
        "share": ("Share of the knots", "62.2 %", "", ""),
        "count": ("Fineness (yarn count)", "Nm 5/2", lines["count"].hint, ""),
        "twist_percent": ("Shortened by twisting", "3.2 %",
                          ("Twisting shortens the singles, so the yarn is heavier than they are. "
                          "Often by 2 to 5 %."), ""),
        "fibre": ("Fibre", "silk", "", ""),
        "unit_mass_g": ("On one ball", "210 g", "", ""),
        "passes": ("Passes after each row", "2", "How often it goes through the shed.", ""),
        "take_up_percent": ("Take-up, measured", "5.13 %",
                            "How much longer the yarn is than the cloth; calculated from the threads until you measure it.", ""),
        "per_cm": ("Turns in 1 cm", "2.13", "Count them on an edge you like; side by side, no warp shows.", ""),
        "pieces": ("Cords along each side", "4", "Mounted with the warp, and as long.", ""),
        "dyer": ("Dyer", "Valley", "The shopping list is sorted by it.", ""),
        "price_per_kg": ("Price of a kilogram", "40.13", "", ""),
        "lead_days": ("From order to delivery", "21 days", "Then you are told in time when to order.", ""),
        "margin_percent": ("Bought on top of the need", "12.2 %", "A later bath never has quite the same shade.", ""),
        "skein_g": ("One skein", "500 g", "", ""),
        "least_g": ("Least that is sold", "250 g", "", ""),
        "cut_length_mm": ("Yarn cut for one knot", "50.13 mm",
                          "Calculated from warp, pile height and yarn until you measure it.", ""),
        "pile_g_per_m2": ("Pile yarn in a square metre", "2,100.13 g",
                          "If you know it from an earlier rug of this quality.", ""),
    }  # fmt: skip
    assert lines["count"].hint.endswith(", 413 tex once twisted")


def test_what_is_left_open_of_a_yarn_says_so() -> None:
    bare = YarnForm(id="red", role="pile", name="")
    said = {key: line.answer for key, line in view.yarn_lines(form(yarns=(bare,)), bare, {}).items()}
    assert said == {
        "name": "no name yet", "share": "100 %", "count": "not given", "twist_percent": "0 %", "fibre": "wool",
        "unit_mass_g": "200 g", "passes": "1", "take_up_percent": "not measured", "per_cm": "side by side", "pieces": "2",
        "dyer": "not given", "price_per_kg": "not given", "lead_days": "14 days", "margin_percent": "10 %",
        "skein_g": "not said: by the gram", "least_g": "0 g", "cut_length_mm": "not measured", "pile_g_per_m2": "not known",
    }  # fmt: skip
    even = view.yarn_lines(form(yarns=(bare,)), bare, {})["share"]
    assert even.hint == "An even part; give your own when you know it."
    short = replace(bare, share=90.0)
    told = view.yarn_lines(form(yarns=(short,)), short, {})["share"]
    assert told.hint == "The shares make 90 %: 10 % are missing."


def test_the_yarns_of_the_edges_are_asked_in_their_own_words() -> None:
    edged = add_edge(add_edge(form(), Role.FRINGE), Role.OVERCAST)
    fringe, overcast = edged.yarns[-2:]
    of_fringe = view.yarn_lines(edged, fringe, {})
    assert (of_fringe["per_cm"].label, of_fringe["per_cm"].answer, of_fringe["per_cm"].hint) == (
        "Tufts in 1 cm", "2", "Each strand is cut about twice as long as the fringe and doubled in half.",
    )  # fmt: skip
    assert all_over(of_fringe["pieces"]) == ("Strands in a tuft", "2", "", "")
    assert all_over(of_fringe["dyer"])[:2] == ("Shop", "not given")
    assert (fringe.name, fringe.fibre, fringe.swatch) == ("Added fringe", "cotton", "#E4DAC4")
    # Overcasting is of the pile's own yarn.
    assert (overcast.name, overcast.fibre, overcast.swatch) == ("Overcasting of the sides", "wool", "#9C2F25")
    (weft,) = form().of(Role.WEFT)
    assert view.yarn_lines(form(), weft, {})["unit_mass_g"].label == "On one shuttle"
    assert view.edges_to_add(edged) == (("Add side cords", Role.CORD),)
    assert [words for words, _role in view.edges_to_add(form())] == [
        "Add overcasting of the sides", "Add side cords", "Add a fringe of its own",
    ]  # fmt: skip
    assert add_edge(form(yarns=()), Role.OVERCAST).yarns[0].fibre == "cotton"


def test_a_yarn_count_is_understood_or_said_to_be_wrong() -> None:
    typed = yarn(count="five", twist_percent=0.0)
    line = view.count_line(form(), typed)
    assert (line.answer, line.hint) == ("five", "")
    assert line.trouble
    assert not view.asks_twist(typed)
    assert view.asks_twist(yarn(count="Nm 5/2"))
    assert not view.asks_twist(yarn(count="R 400 tex"))
    assert not view.asks_twist(yarn(count="  "))
    # The trouble of the count stands at the count, not at the name too.
    lines = view.yarn_lines(form(), typed, {"yarn red": line.trouble})
    assert (lines["name"].trouble, lines["count"].trouble) == ("", line.trouble)
    untwisted = view.count_line(form(), yarn(twist_percent=0.0))
    assert "once twisted" not in untwisted.hint
    assert set(view.fibres()) >= {("wool", "wool"), ("silk", "silk"), ("cotton", "cotton")}


# --- foundation and week


def test_the_loom_and_what_it_keeps() -> None:
    given = form(
        loom_width_cm=150.0,
        beam_roll_cm=300.0,
        selvedge_warps=6,
        end_cm=1.5,
        fringe_cm=7.0,
        loom_waste_cm=55.0,
    )
    assert {key: all_over(line)[:3] for key, line in view.foundation_lines(given).items()} == {
        "loom_width_cm": (
            "Loom, clear between its sides",
            "150 cm",
            "Then you are told whether the rug fits.",
        ),
        "beam_roll_cm": ("Cloth the beam can roll up", "300 cm", ""),
        "selvedge_warps": ("Extra warps in the selvedges", "6", "Both sides together."),
        "end_cm": ("Flat-woven end, each", "1.5 cm", ""),
        "fringe_cm": ("Fringe, each end", "7 cm", ""),
        "loom_waste_cm": ("Loom waste", "55 cm", "Tied round the beams and left unwoven."),
    }
    inches = view.foundation_lines(replace(given, unit="inch", loom_width_cm=None, beam_roll_cm=None))
    assert [line.answer for line in inches.values()] == [
        "not given", "not given", "6", "0.6 in", "2.8 in", "21.7 in",
    ]  # fmt: skip


def test_the_rate_that_the_hours_are_told_from_is_the_one_shown() -> None:
    half_the_time = Taught(rate=math.log(1 / 2000) * 400.0, rate_weight=400.0, rugs=2)
    hint = view.week_lines(form(knots_per_hour=None), TODAY, {}, half_the_time)["rate"].hint
    said = re.search(r"say, ([\d,]+) an hour", hint)
    assert said is not None
    rate = float(said[1].replace(",", ""))
    planned = material_plan(
        RugBook(plan=rugs.plan(knots_per_hour=None), yarns=rugs.yarns()), taught=half_the_time
    )
    assert 1500 < rate < 2000
    assert rate == round(planned.knots_per_hour)
    assert planned.knotting_hours == pytest.approx(planned.knots / rate, rel=1e-3)


def test_the_week_and_the_days() -> None:
    wrong = {"hours": "bad hours", "wish": "bad wish"}
    told = view.week_lines(form(wished_day=WISH), TODAY, wrong)
    assert {key: all_over(line) for key, line in told.items()} == {
        "hours": (
            "Hours at the loom in a week",
            "15 h",
            "A guess will do. Your record soon replaces it.",
            "bad hours",
        ),
        "rate": ("Knots an hour, each weaver", "500", "Your own expectation.", ""),
        "start": ("First day at the loom", "2 November", "", ""),
        "wish": ("Target date", "3 January 2027", "", "bad wish"),
    }
    open_week = view.week_lines(form(knots_per_hour=None), TODAY, {})
    assert (open_week["rate"].answer, open_week["rate"].hint) == (
        "750", "A common rate; your first evenings replace it.",
    )  # fmt: skip
    assert (open_week["wish"].answer, open_week["wish"].hint, open_week["wish"].trouble) == (
        "none", "For a market or a wedding. You see how likely it is.", "",
    )  # fmt: skip
    assert open_week["hours"].trouble == ""
    assert view.weekday_chips(form(weekdays=(0, 6)), 0) == (
        ("Mon", 0, True), ("Tue", 1, False), ("Wed", 2, False), ("Thu", 3, False), ("Fri", 4, False), ("Sat", 5, False),
        ("Sun", 6, True),
    )  # fmt: skip
    assert view.weekday_chips(form(weekdays=(0, 6)), 6)[:2] == (("Sun", 6, True), ("Mon", 0, True))


def test_a_plan_offers_the_rate_of_the_rug_that_was_woven_last() -> None:
    """A second plan reckoned with 750 knots an hour and 228 h although five evenings at 120 were logged."""
    # 24 knots in a row: 5 evenings of 10 rows in 10 h are 24 knots an hour.
    other = rugs.book(*(rugs.session(k, 10, 10.0) for k in range(5)))
    slower = replace(other, plan=replace(other.plan, id="older", name="Older"), sessions=other.sessions[:1])
    own = own_rate([slower, other, rugs.book()])
    across = other.plan.knots_across * other.plan.tied_share
    assert own == OwnRate(other.plan.name, round(50 * across / 50))
    planned = form(knots_per_hour=None, new=True)
    hint = view.week_lines(planned, TODAY, {}, own=own)["rate"].hint
    assert hint.endswith(f"On {other.plan.name} it was {own.knots_per_hour} an hour.")
    assert view.offers_rate(planned, own) == f"Plan with {own.knots_per_hour} knots an hour"
    assert view.offers_rate(replace(planned, knots_per_hour=float(own.knots_per_hour)), own) == ""
    assert own_rate([rugs.book()]) is None
    assert view.offers_rate(planned, None) == ""
    assert view.offers_rate(planned, OwnRate("Other", 750)) == "", "the plan reckons with as much already"
    untimed = replace(
        other,
        plan=replace(other.plan, id="untimed"),
        sessions=tuple(replace(one, hours=None, day=one.day + timedelta(days=90)) for one in other.sessions),
    )
    assert own_rate([other, untimed]) == own, "of the rug woven last nobody knows the hours"


def test_of_a_rug_that_is_woven_the_hours_are_said_to_be_the_plans() -> None:
    """The plan said 263 h where the finish reckoned 182 h by the evenings, and neither said by what."""
    book = rugs.book(rugs.session(0, 10))
    assert " h by the plan, finished" in view.summary(form_of(book), book)
    assert " h, finished" in view.summary(form_of(rugs.book()), rugs.book())
    # Of the rug planned after it nothing is woven.
    again = replace(form_of(book), new=True)
    assert "by the plan" not in view.summary(again, book)


def test_the_shares_that_a_cartoon_shows_make_the_whole() -> None:
    """39, 27, 14, 13 and 8 % made 101 %."""
    shades = tuple(
        (f"#{k}{k}{k}{k}{k}{k}", knots) for k, knots in enumerate((386, 266, 138, 134, 76), start=1)
    )
    yarns = tuple(
        YarnForm(id=f"p{k}", role=Role.PILE, name=shade, shades=(shade,))
        for k, (shade, _many) in enumerate(shades)
    )
    counted = form(cartoon=CartoonForm(name="vine", knots=50, rows=20, shades=shades), yarns=yarns)
    amounts = [card.amount for card in view.yarn_cards(counted, Role.PILE, {})]
    assert sum(int(amount.split()[0]) for amount in amounts) == 100
    assert amounts == ["39 %", "27 %", "14 %", "13 %", "7 %"]
    few = (("#111111", 997), ("#222222", 3))
    scarce = replace(counted, cartoon=CartoonForm(name="dot", knots=50, rows=20, shades=few), yarns=yarns[:2])
    amounts = [card.amount for card in view.yarn_cards(scarce, Role.PILE, {})]
    assert amounts == ["100 %", percent(0.003)], "three knots are not none"


def test_saving_says_what_the_plan_comes_to() -> None:
    assert view.saved_words(form()) == "The plan of Little field is changed."
    assert view.saved_words(form(new=True)) == "Little field is planned: 20,000 knots in 200 rows."
    assert view.plan_line(20000, 1234.0, 40.4) == "20,000 knots, about 40 h, finished 1.23 kg"
    # The material page says tenths of an hour as well.
    assert view.plan_line(2400, 50.0, 4.56) == f"2,400 knots, about {work_words(4.56)}, finished 50 g"
    assert "about 4.6 h" in view.plan_line(2400, 50.0, 4.56)
    line = view.summary(form())
    # The material page reckons the same rug.
    planned = material_plan(RugBook(plan=rugs.plan(), yarns=rugs.yarns()))
    assert line == view.plan_line(20000, planned.finished.total_g, planned.weaving_hours)
    # Before anything is said of a new rug its figures are called a proposal; with its size they are its own.
    untold = form(new=True, size_said=False)
    assert (
        view.summary(untold) == f"As proposed, 40 × 80 cm:\n{view.summary(replace(untold, size_said=True))}"
    )
    assert not view.summary(form()).startswith("As proposed")
    # 20,000 knots at 500 an hour are 40 h.
    assert view.hours_words(form()).startswith(
        f"Of the {work_words(planned.weaving_hours)} at the loom, 40 h go into tying"
    )
    assert view.summary(form(pile_height_mm=0.0)) == view.hours_words(form(pile_height_mm=0.0)) == ""
    assert view.summary(form(wash_shrinkage_width=0.5)) == ""
    assert view.summary(form(name="")) == line, "a rug without a name can be reckoned"


def test_pile_yarn_and_edges_are_asked_in_inches_where_the_book_is() -> None:
    inches = form(unit="inch", pile_height_mm=12.7, unshorn_mm=25.4)
    cloth = view.cloth_lines(inches, {})
    assert (cloth["pile"].answer, cloth["unshorn"].answer) == ("0.5 in", "1 in")
    assert "Until then 0.06 in of each leg" in cloth["unshorn"].hint
    (red, *_others) = inches.of(Role.PILE)
    # A square foot is 0.0929 square metres.
    lines = view.yarn_lines(inches, replace(red, cut_length_mm=50.8, pile_g_per_m2=1000.0), {})
    assert lines["cut_length_mm"].answer == "2 in"
    assert (lines["pile_g_per_m2"].label, lines["pile_g_per_m2"].answer) == (
        "Pile yarn in a square foot",
        "92.9 g",
    )
    fringe = view.yarn_lines(inches, replace(red, role=Role.FRINGE.value, per_cm=2.0), {})
    assert (fringe["per_cm"].label, fringe["per_cm"].answer) == ("Tufts to the inch", "5.08")
