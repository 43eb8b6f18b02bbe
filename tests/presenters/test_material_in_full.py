"""The whole material page of a small rug with something of every kind, read as a weaver reads it, its figures by hand."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np

from tests.presenters.rugs import plan, yarns
from tracker.domain.material_plan import material_plan
from tracker.domain.rug import Cartoon, Lot, Role, RugBook, RugStage, Yarn
from tracker.domain.taught import Taught
from tracker.presenters.material import Group, MaterialState, Story, build_material_state
from tracker.presenters.shelf import rug_card
from tracker.words import work_words

TODAY = date(2026, 11, 25)


def edge(role: Role, **changes: object) -> Yarn:
    return Yarn(id=role.value, rug_id="rug", role=role, number=1, name=role.value, **changes)  # type: ignore[arg-type]


def everything(**changes: object) -> RugBook:
    """The little field, an eighth of it over four warps, with warp, edges and a thin weft of which nothing is said."""
    red, blue, weft = yarns()
    told = {
        "stage": RugStage.PLANNED, "loom_width_cm": 60.0, "beam_roll_cm": 80.0, "wash_shrinkage_length": 0.02,
        "jufti_share": 0.125, "warp_offset_degrees": 45.0, "weavers_planned": 2, **changes,
    }  # fmt: skip
    return RugBook(
        plan=plan(**told),
        yarns=(
            replace(red, cut_length_mm=50.0, price_per_kg=40.0, share=0.625),
            replace(blue, share=0.375),
            replace(weft, take_up=0.1, passes_per_row=2),
            Yarn(id="thin", rug_id="rug", role=Role.WEFT, number=2, name="Thin weft"),
            edge(Role.WARP, tex=300.0, unit_mass_g=500.0),
            edge(Role.OVERCAST, tex=600.0, per_cm=2.0),
            edge(Role.CORD, tex=2000.0, pieces=2),
            edge(Role.FRINGE, tex=400.0, per_cm=1.0, pieces=4),
        ),
    )


def page(book: RugBook, **more: Any) -> MaterialState:
    return build_material_state(book, material_plan(book, **more), None)


def story_lines(story: Story) -> list[str]:
    return [story.sentence, *(f"  {what}: {figure}" for what, figure in story.lines), f"({story.source})"]


def read(group: Group) -> list[str]:
    """A group as it stands on the page, each story unfolded below its number."""
    lines = [", ".join(part for part in (f"{group.title} [{group.icon}]", group.of) if part)]
    for fact in group.facts:
        assert fact.story is not None
        assert fact.story.title == fact.label
        lines += [f"{fact.label}: {fact.figure}", *story_lines(fact.story)]
    for yarn in group.yarns:
        assert yarn.story.title == yarn.name
        lines += [
            f"{yarn.number or '-'} {yarn.name} {yarn.need}, {yarn.range}",
            *yarn.lines,
            *story_lines(yarn.story),
        ]
    return lines


def test_the_whole_page() -> None:
    book = everything()
    state = page(book)
    assert state.rug_name == "Little field"
    assert state.warnings == (
        "No fineness (yarn count) is entered for Thin weft: one that suits the density is assumed.",
        # 80 cm and two ends of 2 cm.
        (
            "The cloth is 84 cm long with its ends. The beam can roll up 80 cm. Make the rug shorter by "
            "4 cm or use a loom that rolls more."
        ),
    )
    cloth, colours, wefts, warp, edges, loom, work = state.groups
    assert read(cloth) == CLOTH
    assert read(colours) == COLOURS
    assert [(yarn.yarn_id, yarn.swatch) for yarn in colours.yarns] == [
        ("red", "#9C2F25"),
        ("blue", "#27406B"),
    ]
    assert read(wefts) == WEFTS
    assert read(warp) == WARP
    assert read(edges) == EDGES
    assert read(loom) == LOOM
    hours = material_plan(book)
    assert read(work) == [
        line.format(
            knotting=work_words(hours.weaving_hours),
            alone=work_words(hours.knotting_hours),
            # 30 h less 24 h, as both are said.
            rest="6 h",
        )
        for line in WORK
    ]


def test_in_inches_every_length_of_cloth_warp_edges_and_loom_is_said_in_inches() -> None:
    book = everything()
    state = build_material_state(book, material_plan(book), None, "inch")
    lines = [line for group in state.groups for line in read(group)]
    in_cm = [line for line in lines if " cm" in line and not line.startswith("(")]
    # The ways to say a density are all shown.
    assert in_cm == ["  per 10 cm: 25 × 25", "  per 7 cm (raj): 17.5 × 17.5"]
    # 60 cm, 41.6 cm, 146.5 cm and 23 cm.
    assert {"  Loom: 23.6 in", "  Cloth with selvedges: 16.4 in", "208 warps of 57.7 in"} <= set(lines)
    assert "84 tufts of strands cut to 9.1 in" in lines


def fact(state: MaterialState, label: str) -> list[str]:
    """A number of the page with its story."""
    lines = [
        read(replace(group, facts=(one,), yarns=()))
        for group in state.groups
        for one in group.facts
        if one.label == label
    ]
    (told,) = lines
    return told[1:]


def test_a_plan_with_little_said_and_a_weaver_with_earlier_rugs() -> None:
    book = RugBook(plan=plan(knots_per_hour=None, knots_per_10cm=32.0, rows_per_10cm=25.0), yarns=yarns())
    state = page(book, taught=Taught(rate=0.0, rate_weight=4.0, learn=0.0, learn_weight=0.0, rugs=2))
    assert [group.title for group in state.groups] == [
        "The cloth",
        "Colours",
        "Wefts",
        "Does it fit the loom?",
        "The work",
    ]
    assert fact(state, "Between the sides")[0] == "Between the sides: loom's size not given"
    assert "  Loom: 60 cm" not in fact(state, "Between the sides")
    assert fact(state, "On the beam")[0] == "On the beam: what it rolls up is not given"
    # 31 × 80 cm: no side may be off by more than 3 cm; nothing is said of shrinking, knots or warps.
    assert fact(state, "Finished size")[2:4] == [
        "  Allowed in width, either way: 3 cm",
        "  Allowed in length, either way: 3 cm",
    ]
    assert fact(state, "Knots") == ["Knots: 20,000", "100 knots across in 200 rows.", "()"]
    finished = fact(state, "Finished rug")
    assert finished[-2] == "  Published for this density: 3.5 kg to 4.25 kg", "80,000 knots in a square metre"
    assert finished[-1] == "(nepalcarpet.org, “Quality of Carpets”; pile heights are not given there)"
    assert not any("Overcasting" in line for line in finished)
    assert fact(state, "Knotting")[-1] == "(from your plan and 2 earlier rugs)"
    assert fact(page(book), "Knotting")[-1].startswith("(6,000 knots in a day of 8 hours")
    assert fact(page(replace(book, plan=plan())), "Knotting")[-1] == "()"


def test_a_rug_that_was_measured_and_weighed_is_told_as_it_is() -> None:
    done = plan(stage=RugStage.FINISHED, washed_g=640.0, finished_width_cm=40.5, finished_length_cm=79.0)
    state = page(RugBook(plan=done, yarns=yarns()))
    assert fact(state, "Finished size")[0] == "Finished size: 40.5 × 79 cm"
    assert any(line.startswith("  Planned: 40 × 80 cm") for line in fact(state, "Finished size"))
    finished = fact(state, "Finished rug")
    # On its own area, not the planned one: 960 g on 50 by 60 cm.
    other = replace(done, washed_g=960.0, finished_width_cm=50.0, finished_length_cm=60.0)
    assert any(
        "3.2 kg on each m²" in line for line in fact(page(RugBook(plan=other, yarns=yarns())), "Finished rug")
    )
    one = page(RugBook(plan=replace(done, finished_length_cm=None), yarns=yarns()))
    assert fact(one, "Finished size")[0] == "Finished size: 40 × 80 cm; width as measured: 40.5 cm"
    assert rug_card(replace(done, finished_length_cm=None), TODAY, False).size == (
        "planned 40 × 80 cm finished; width as measured: 40.5 cm"
    )
    # 0.405 m by 0.79 m are 0.32 m².
    assert finished[0] == "Finished rug: 640 g, 2 kg on each m²"
    assert "  In all: 640 g" in finished
    assert "As it was weighed; its parts as they share it by the plan." in finished


def test_colours_say_their_rows_and_what_is_there_already() -> None:
    red, blue, weft = yarns()
    cells = np.zeros((200, 100), dtype=np.uint8)
    cells[49, 0] = 1
    book = RugBook(
        plan=plan(),
        yarns=(
            replace(red, cartoon_values=(0,), cut_length_mm=50.0),
            replace(blue, cartoon_values=(1,)),
            replace(blue, id="green", number=3, name="Green", cartoon_values=(2,)),
            weft,
        ),
        cartoon=Cartoon(id="c", rug_id="rug", cells=cells, palette=("#9C2F25", "#27406B", "#3F7A3A")),
        lots=(Lot(id="l", rug_id="rug", yarn_id="red", day=TODAY, mass_g=100.0),
              Lot(id="m", rug_id="rug", yarn_id="weft", day=TODAY, mass_g=5000.0)),
    )  # fmt: skip
    state = page(book)
    madder, indigo, green = state.groups[1].yarns
    # 19,999 knots of 30 mg; a tenth more is bought.
    assert madder.need == "600 g"
    assert madder.lines[:4] == (
        "19,999 knots, 99 %",
        "in 200 rows, from row 1 to row 200",
        "still needed 600 g (likely 468 g to 768 g), on hand 100 g",
        "to buy: 560 g",
    )
    assert indigo.lines[:2] == ("1 knot, under 1 %", "in 1 row, from row 50 to row 50")
    assert green.lines[:2] == ("0 knots, 0 %", "not in the cartoon")
    assert green.lines[-1] == "no ball to wind"
    (ground,) = state.groups[2].yarns
    assert ground.lines[1].endswith(", on hand 5 kg")


CLOTH = [
    "The cloth [rug]",
    # 80 cm less 2 %.
    "Finished size: 40 × 78.4 cm",
    "Off the loom, washed and dry, the knotted part.",
    "  Shorter after washing: 2 %",
    "  Allowed in width, either way: 3 cm",
    "  Allowed in length, either way: 3 cm",
    (
        "(Allowed: how much a finished side may differ from the order. The Turkish standard TS 43 says 3 "
        "cm to 8 cm by size (from eracarpets.com). In between we take 2.5 % of the side. Shrinking: "
        "about 2 % at washing, up to 5 or 10 % (haddadsrug.com; allaces.com.au); none is assumed until "
        "you say it, for 2 % stays within the tolerance of the sides.)"
    ),
    "Planned on the loom: 41.6 × 80 cm with selvedges",
    (
        "The knots across and the rows at the planned density. The width takes in the selvedges, "
        "the length no flat ends and fringes."
    ),
    "  Knots across: 100",
    "  Rows: 200",
    "  Width of the knots alone: 40 cm",
    "  Length with the flat ends: 84 cm",
    "()",
    # 20,000 places, an eighth of them two to a knot.
    "Knots: 18,750",
    "100 knots across in 200 rows.",
    "  Field tied over four warps: 12 %",
    "  Every second warp: half behind",
    "()",
    "Density: 25 × 25 per 10 cm",
    "The same density in every way the trade says it.",
    "  per 10 cm: 25 × 25",
    "  per inch: 6.35 × 6.35",
    "  per foot (line): 76.2 × 76.2",
    "  per 7 cm (raj): 17.5 × 17.5",
    "  bis/bhutan: 5.72 × 28.6",
    "  knots/dm²: 625",
    "  knots/m²: 62,500",
    "  knots per square inch: 40.3",
    "()",
    "Finished rug: 549 g, 1.71 kg on each m²",
    "What stays in the rug after shearing and cutting off the loom waste, without fringes.",
    # 338.4 g, by rounding 338: with the others it would make 548.
    "  Pile: 339 g",
    "  Wefts: 146 g",
    "  Warp in the cloth: 51 g",
    "  Overcasting and side cords: 13 g",
    "  In all: 549 g",
    "  A square metre: 1.71 kg on each m²",
    "()",
]
COLOURS = [
    "Colours [ball], for the whole rug",
    # 62.5 % of 18,750 knots, 50 mm each at 600 g a kilometre: 30 mg, 352 g, 586 m; a tenth more to buy.
    "1 Madder 352 g, likely 266 g to 465 g",
    "11,719 knots, 63 %",
    "still needed 352 g (likely 266 g to 465 g)",
    "to buy: 390 g",
    "2 balls of about 176 g, 1 for each weaver, about 78 mm across",
    "From the length of yarn you cut for one knot.",
    "  Knots: 11,719",
    "  Yarn in one knot, by weight: 30 mg",
    "  Fineness (yarn count): R 600 tex (Nm 1.67)",
    "  Thickness of the yarn: 1.08 mm",
    "  Yarn in one knot, by length: 50 mm",
    "  Length in all: 586 m",
    "  Wrapped round the warps (calculated): 14.1 mm",
    "  Two legs of pile: 16 mm",
    "  The knife takes: 16.9 mm",
    "  The shears take: 3 mm",
    "(Packing: soft-spun pile yarn is bulkier than warp; common practice, no source.)",
    "2 Indigo 152 g, likely 115 g to 201 g",
    "7,031 knots, 37 %",
    "still needed 152 g (likely 115 g to 201 g)",
    "to buy: 170 g",
    "2 balls of about 76 g, 1 for each weaver, about 59 mm across",
    (
        "Calculated from the yarn round two warps, the pile, and what knife and shears take off. A "
        "knotted and weighed sample is more exact."
    ),
    "  Knots: 7,031",
    "  Yarn in one knot, by weight: 21.6 mg",
    "  Fineness (yarn count): R 600 tex (Nm 1.67)",
    "  Thickness of the yarn: 1.08 mm",
    "  Yarn in one knot, by length: 36.1 mm",
    "  Length in all: 254 m",
    "  Wrapped round the warps (calculated): 14.1 mm",
    "  Two legs of pile: 16 mm",
    "  The knife takes: 3 mm",
    "  The shears take: 3 mm",
    "(Knife: the knife leaves the two ends that much longer together than the shears will; common practice, no source. Packing: soft-spun pile yarn is bulkier than warp; common practice, no source.)",
]
WEFTS = [
    "Wefts [shuttle], for the whole rug",
    # 41.6 cm and a tenth, and the turn: 46.2 cm; twice, at 400 g a kilometre, 0.37 g a row.
    "- Ground weft 82 g, likely 73 g to 93 g",
    "2 passes after each row",
    "still needed 82 g (likely 73 g to 93 g)",
    "to buy: 100 g",
    "1 shuttle, for 200 rows",
    "From the take-up you measured.",
    "  Take-up: 10 %",
    "  Length of one pass: 46.2 cm",
    "  of that, the turn at the selvedge: 0.4 cm",
    "  Weight after each row: 0.37 g",
    "  Passes in each flat end: 22",
    "  In both flat ends: 8 g",
    "  Fineness (yarn count): R 400 tex (Nm 2.5)",
    "  Thickness: 0.8 mm",
    "  Length in all: 206 m",
    "(F. T. Peirce, The Geometry of Cloth Structure, 1937. Thick weft: the thick weft is laid in with 120 cm for each pass across a rug 104 cm wide (iran-carpet.com no. 1819))",
    "- Thin weft 72 g, likely 51 g to 103 g",
    "1 pass after each row",
    "still needed 72 g (likely 51 g to 103 g)",
    "to buy: 80 g",
    "1 shuttle, for 200 rows",
    "Calculated from how it waves between the warps. Measure the take-up to be more exact.",
    "  Take-up: 39.6 %",
    "  Length of one pass: 58.7 cm",
    "  of that, the turn at the selvedge: 0.7 cm",
    "  Weight after each row: 0.36 g",
    "  Passes in each flat end: 0",
    "  In both flat ends: 0 g",
    "  Fineness (yarn count): R 617 tex (Nm 1.62), assumed",
    "  Thickness: 1 mm",
    "  Length in all: 117 m",
    "(F. T. Peirce, The Geometry of Cloth Structure, 1937. Thick weft: the thick weft is laid in with 120 cm for each pass across a rug 104 cm wide (iran-carpet.com no. 1819))",
]
WARP = [
    "Warp [warp], for the whole rug",
    # Twice 100 and 8; 84 cm and 3 %, two fringes of 10 cm, 40 cm kept: 146.5 cm; at 300 g a kilometre 91 g.
    "- warp 91 g, likely 88 g to 95 g",
    "208 warps of 146.5 cm",
    "still needed 91 g (likely 88 g to 95 g)",
    "to buy: 110 g",
    "1 ball of at most 500 g",
    "Counted from the knots: two warps each, and the selvedges.",
    "  Knots across: 100",
    "  Extra warps in the selvedges: 8",
    "  Warps: 208",
    "  Woven length with both ends: 84 cm",
    "  Fringes, both: 20 cm",
    "  Loom waste: 40 cm",
    "  Length of one warp, with take-up: 146.5 cm",
    "  Fineness (yarn count): R 300 tex (Nm 3.33)",
    "  Thickness: 0.7 mm",
    "(Take-up of the warp: taut warps wave little; woven-in length over cloth length less one; common practice, no source)",
]
EDGES = [
    "Edges [ball], for the whole rug",
    # 84 cm twice, two turns in each.
    "- overcasting 6 g, likely 5 g to 7 g",
    "336 turns of 3 cm",
    "still needed 6 g (likely 5 g to 7 g)",
    "to buy: 10 g",
    "Wound round both selvedges along the whole cloth as it is on the loom, turn beside turn.",
    "  Fineness (yarn count): R 600 tex (Nm 1.67)",
    "  Thickness: 1.08 mm",
    "  Length in all: 10 m",
    "(the turns lie side by side, so that no warp shows; common practice, no source)",
    "- side cord 12 g, likely 10 g to 14 g",
    "4 cords of 146.5 cm",
    "still needed 12 g (likely 10 g to 14 g)",
    "to buy: 20 g",
    "Mounted with the warp and just as long. Loom waste is included.",
    "  Cords along each side: 2",
    "  Fineness (yarn count): R 2,000 tex (Nm 0.5)",
    "  Thickness: 1.8 mm",
    "  Length in all: 5.9 m",
    "()",
    "- added fringe 31 g, likely 27 g to 36 g",
    "84 tufts of strands cut to 23 cm",
    "still needed 31 g (likely 27 g to 36 g)",
    "to buy: 40 g",
    "Knotted into both ends. The warp keeps its own length: its ends hold the cloth until the fringe does.",
    "  Strands in a tuft: 4",
    "  Fineness (yarn count): R 400 tex (Nm 2.5)",
    "  Thickness: 0.8 mm",
    "  Length in all: 77.3 m",
    "(the threads of an added fringe are cut about twice as long as the fringe and doubled in half (G. Christie, Embroidery and Tapestry Weaving, 1906). the knot of a doubled strand takes that much of it; common practice, no source)",
]
LOOM = [
    "Does it fit the loom? [measure]",
    # 60 cm less 41.6 and 10.
    "Between the sides: fits, 8.4 cm to spare",
    "The cloth with its selvedges, and room for hands at both sides.",
    "  Cloth with selvedges: 41.6 cm",
    "  Room for hands: 10 cm",
    "  Loom: 60 cm",
    "(room for hands between the cloth and the loom's sides, both together; common practice, no source)",
    # 84 cm on 80.
    "On the beam: too large by 4 cm",
    "The whole cloth with both flat ends, against what the beam can roll up.",
    "  Cloth with its ends: 84 cm",
    "()",
]
WORK = [
    "The work [timer]",
    "Preparation: 6.9 h",
    "Times are common ones until you have noted two or three of your own.",
    "  One ball of 200 g: 20 min",
    "  One shuttle of 100 g: 30 min",
    "  The warp: 5.1 h",
    "  Left to do: 6.9 h",
    "(One ball, one shuttle, the warp: common practice, no source)",
    "Knotting: {knotting}",
    "All knots at the expected rate, the planned weavers together. The first evenings replace it.",
    "  Knots: 18,750",
    "  Knots an hour, each weaver: 500",
    "  Likely range: 372 to 671",
    "  Weavers side by side: 2",
    # 18,750 knots divided by it are the 24 h below.
    "  Knots an hour, all together: they wait for one another: 789",
    "  The knots alone, at that rate: {alone}",
    "  Changing colours, a slower start, unpicking: {rest}",
    "()",
]


def test_every_line_of_a_book_in_inches_is_in_inches() -> None:
    book = everything()
    state = build_material_state(book, material_plan(book), None, "inch")
    lines = [line for group in state.groups for line in read(group)]
    assert len(lines) > 60
    # The measures of density stand side by side, and a source is told as it was published.
    left_out = re.compile(r"\(|  (?:per 10 cm|per 7 cm \(raj\)|knots/m²): ")
    metric = re.compile(r"[0-9] ?(?:mm|cm|m|m²)\b|square metre|/m²")
    assert [line for line in lines if metric.search(line) and not left_out.match(line)] == []
