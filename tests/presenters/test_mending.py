"""The cartoon being mended, in words; doubted squares kept, mirrored and walked."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from tests.presenters import rugs
from tests.unit.domain.test_cartoon_checks import bordered
from tracker.domain.rug import Role, Yarn
from tracker.presenters.cartoon_reading import MOST_DOUBTS
from tracker.presenters.mending import (
    RemarkCard,
    Thread,
    aspect_of,
    changed_words,
    doubts_laid_out,
    doubts_of,
    mended_picture,
    remark_cards,
    square_words,
    threads,
    value_names,
    with_doubts,
    woven_words,
)
from tracker.presenters.plan.form import CartoonForm

PALETTE = ("#101010", "#F0F0F0")


def yarns() -> tuple[Yarn, ...]:
    return (
        Yarn(id="a", rug_id="r", role=Role.PILE, number=1, name="Walnut", swatch="#402010", cartoon_values=(0,)),
        Yarn(id="b", rug_id="r", role=Role.PILE, number=2, name="Ivory", swatch="#EEEEDD", cartoon_values=(1,)),
    )  # fmt: skip


def test_a_square_is_told_by_row_and_knot_from_one() -> None:
    assert square_words((11, 33), "Madder") == "Row 12, knot 34: Madder"


def test_squares_are_shown_in_the_colours_of_their_yarns_the_last_row_on_top() -> None:
    shown = mended_picture(np.array([[0, 1], [1, 1]], dtype=np.uint8), PALETTE, yarns())
    assert shown[1, 0].tolist() == [0x40, 0x20, 0x10]
    assert shown[0, 0].tolist() == [0xEE, 0xEE, 0xDD]


def test_a_colour_that_no_yarn_knots_is_shown_as_on_the_paper_and_named_as_none() -> None:
    (walnut, _ivory) = yarns()
    assert value_names(PALETTE, (walnut,)) == ("Walnut", "no yarn")
    shown = mended_picture(np.array([[0, 1]], dtype=np.uint8), ("#101010", "#F0F1F2"), (walnut,))
    assert shown.tolist() == [[[0x40, 0x20, 0x10], [0xF0, 0xF1, 0xF2]]]


def test_the_yarns_to_paint_with_are_the_pile_by_number() -> None:
    walnut, ivory = yarns()
    assert threads((replace(walnut, number=12), ivory, rugs.yarns()[2])) == (
        Thread("b", "Ivory", "2", "#EEEEDD"),
        Thread("a", "Walnut", "12", "#402010"),
    )


def test_a_change_under_the_woven_row_says_what_it_would_mean() -> None:
    assert woven_words(4, 1_200) == (
        "1,200 rows are woven, and this changes row 5. The rug on the loom stays as it is. The "
        "cartoon would then differ from it."
    )
    assert woven_words(0, 1).startswith("1 row is woven, and this changes row 1. ")
    assert (changed_words(1), changed_words(2_000)) == ("1 knot is changed.", "2,000 knots are changed.")


def test_a_knot_is_as_wide_as_the_rows_are_close() -> None:
    # 20 knots and 30 rows in 10 cm: a knot is 5 mm wide and 3.33 mm high.
    assert aspect_of(rugs.book(plan=rugs.plan(knots_per_10cm=20.0, rows_per_10cm=30.0))) == 1.5


def test_doubts_are_kept_by_rug_and_what_is_no_square_is_left_out() -> None:
    kept = with_doubts(None, "r", ((3, 4), (99, 1)))
    kept = with_doubts(kept, "other", ((1, 1),))
    assert doubts_of(kept, "r", 10, 10) == ((3, 4),)
    assert doubts_of(kept, "r", 4, 5) == ((3, 4),)
    assert doubts_of(kept, "r", 3, 5) == doubts_of(kept, "r", 4, 4) == doubts_of(kept, "third", 99, 99) == ()
    assert doubts_of({"r": [[0, 0], [-1, 0], [0, -1]]}, "r", 9, 9) == ((0, 0),)
    assert doubts_of({"r": "nonsense"}, "r", 10, 10) == doubts_of(None, "r", 10, 10) == ()
    assert with_doubts(with_doubts(kept, "r", ()), "other", ()) is None
    assert with_doubts(kept, "r", ((0, 1),)) == {"r": [[0, 1]], "other": [[1, 1]]}
    many = tuple((row, 0) for row in range(MOST_DOUBTS + 1))
    assert len((with_doubts(None, "r", many) or {})["r"]) == MOST_DOUBTS
    assert len(doubts_of({"r": [list(square) for square in many]}, "r", MOST_DOUBTS + 1, 1)) == MOST_DOUBTS


def laid_out(*doubted: tuple[int, int], knots: int, rows: int, **told: Any) -> tuple[tuple[int, int], ...]:
    cartoon = CartoonForm(name="", knots=knots, rows=rows, shades=(), file="x.png", doubted=doubted, **told)
    return doubts_laid_out(cartoon)


def test_doubts_of_a_whole_cartoon_stay_the_least_sure_first_and_what_lies_beside_it_is_left_out() -> None:
    beside = ((3, 0), (0, 4), (-1, 0), (0, -1))
    assert laid_out((2, 3), *beside, (0, 0), knots=4, rows=3) == ((2, 3), (0, 0))
    assert laid_out(*beside, knots=8, rows=3, times_across=2) == ()


@pytest.mark.parametrize(
    ("told", "knots", "rows", "expected"),
    [
        # Of a part of 4 knots by 3 rows, the second knot of the first row.
        ({"given": "left half"}, 8, 3, {(0, 1), (0, 6)}),
        ({"given": "left half", "shared_column": True}, 7, 3, {(0, 1), (0, 5)}),
        ({"given": "right half"}, 8, 3, {(0, 2), (0, 5)}),
        ({"given": "bottom half"}, 4, 6, {(0, 1), (5, 1)}),
        ({"given": "bottom half", "shared_row": True}, 4, 5, {(0, 1), (4, 1)}),
        ({"given": "top right quarter"}, 8, 6, {(2, 2), (2, 5), (3, 2), (3, 5)}),
        ({"times_across": 2}, 8, 3, {(0, 1), (0, 5)}),
        ({"times_along": 2}, 4, 6, {(0, 1), (3, 1)}),
        ({"given": "left half", "times_across": 2, "times_along": 2}, 16, 6,
         {(row, knot) for row in (0, 3) for knot in (1, 6, 9, 14)}),
        *(({what: "y.png"}, 4, 3, set()) for what in ("field_file", "strip_file", "corner_file")),
    ],
)  # fmt: skip
def test_doubts_are_mirrored_and_repeated_with_the_cartoon_but_not_told_apart_in_borders(
    told: dict[str, Any], knots: int, rows: int, expected: set[tuple[int, int]]
) -> None:
    assert set(laid_out((0, 1), knots=knots, rows=rows, **told)) == expected


def test_doubts_repeated_beyond_what_anybody_walks_are_cut_short() -> None:
    squares = tuple((row, 0) for row in range(MOST_DOUBTS - 1))
    assert len(laid_out(*squares, knots=2, rows=MOST_DOUBTS - 1, times_across=2)) == MOST_DOUBTS


def remarked(cells: np.ndarray, colours: int = 4) -> tuple[RemarkCard, ...]:
    """The remarks on a cartoon whose yarns are called by their numbers, in colours nobody confuses."""
    palette = ("#000000", "#FFFFFF", "#FF0000", "#0000FF", "#00FF00", "#FFFF00", "#00FFFF", "#FF00FF", "#800000",
               "#008000", "#000080", "#808080", "#FF8800")[:colours]  # fmt: skip
    return remark_cards(cells, palette, tuple(f"Yarn {at}" for at in range(colours)))


def test_what_a_master_would_remark_is_said_with_the_squares_to_walk() -> None:
    cells = np.zeros((12, 12), dtype=np.uint8)
    cells[5, 6] = cells[8, 2] = 1
    assert remarked(cells, 2) == (
        RemarkCard(
            "2 single stray knots", "One knot of its own colour in the middle of another. Tap to walk them.", ((5, 6), (8, 2))
        ),
        RemarkCard("Yarn 1 has very few knots", "2 knots in the whole rug. Tap to see.", ((5, 6), (8, 2))),
    )  # fmt: skip
    cells[8, 2] = 0
    assert [(card.title, card.note) for card in remarked(cells, 2)][::1] == [
        ("1 single stray knot", "One knot of its own colour in the middle of another. Tap to walk them."),
        ("Yarn 1 has very few knots", "1 knot in the whole rug. Tap to see."),
    ]


def test_a_mirror_that_is_broken_is_said_with_the_squares_that_break_it() -> None:
    half = np.random.default_rng(2).integers(0, 4, (60, 20), dtype=np.uint8)
    sides = np.concatenate([half, half[:, ::-1]], axis=1)
    sides[7, 3] = (sides[7, 3] + 1) % 4
    assert remarked(sides) == (
        RemarkCard(
            "Left and right nearly mirror each other",
            "1 square differs from its mirror image. Tap to walk it.",
            ((7, 3),),
        ),
    )
    sides[9, 4] = (sides[9, 4] + 1) % 4
    ends = np.ascontiguousarray(sides.T)
    assert remarked(ends) == (
        RemarkCard(
            "Bottom and top nearly mirror each other",
            "2 squares differ from their mirror image. Tap to walk them.",
            ((3, 7), (4, 9)),
        ),
    )


@pytest.mark.parametrize(
    ("side", "turned"),
    [
        ("bottom", lambda cells: cells),
        ("top", lambda cells: cells[::-1]),
        ("left", lambda cells: cells.T),
        ("right", lambda cells: cells[::-1].T),
    ],
)
def test_a_border_that_does_not_close_is_said_with_its_side(side: str, turned: Any) -> None:
    cards = remarked(np.ascontiguousarray(turned(bordered(52))))
    assert [(card.title, card.note) for card in cards if "border" in card.title] == [
        (f"The border does not close: {side}", "It repeats every 5 and leaves 2 over between the corners.")
    ]


def test_rows_of_more_colours_than_hands_find_are_said() -> None:
    cells = np.tile(np.arange(12, dtype=np.uint8), (13, 26))
    cells[4, :26] = np.arange(26) % 13
    cells[9, 1] = 12
    cells[12, 3] = 12
    (crowded,) = (card for card in remarked(cells, 13) if "row" in card.title)
    assert (crowded.title, crowded.note, crowded.squares) == (
        "3 rows of very many colours",
        "Such a row needs more balls than hands find easily. The first is row 5.",
        ((4, 0), (9, 0), (12, 0)),
    )


def test_a_stray_knot_is_remarked_and_can_be_walked() -> None:
    cells = np.zeros((12, 12), dtype=np.uint8)
    cells[5, 6] = 1
    cards = remark_cards(cells, PALETTE, value_names(PALETTE, yarns()))
    stray = next(card for card in cards if "stray" in card.title)
    assert stray.squares == ((5, 6),)
    rare = next(card for card in cards if "Ivory" in card.title)
    assert rare.squares == ((5, 6),)


def test_shades_hard_to_tell_apart_can_be_made_one() -> None:
    palette = ("#9B2F25", "#9C3026")
    cells = np.indices((12, 12)).sum(axis=0).astype(np.uint8) % 2
    twins = (yarns()[0], yarns()[1])
    cards = remark_cards(cells, palette, value_names(palette, twins))
    (alike,) = (card for card in cards if card.exchange is not None)
    assert alike.exchange == (1, 0)
    assert alike.title == "Walnut and Ivory are hard to tell apart"
    # CIEDE2000 of the two reds to a decimal.
    assert alike.note == "Colour distance 0.3. Tap to knot all in Walnut."
    assert not remark_cards(cells, palette, ("Walnut", "Walnut")), "two shades of the paper in one yarn"
