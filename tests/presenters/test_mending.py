"""The cartoon being mended, in words; doubted squares kept, mirrored and walked."""

from __future__ import annotations

import numpy as np
import pytest

from tracker.domain.rug import Role, Yarn
from tracker.presenters.mending import (
    doubts_laid_out,
    doubts_of,
    mended_picture,
    remark_cards,
    square_words,
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


def test_a_change_under_the_woven_row_says_what_it_would_mean() -> None:
    words = woven_words(4, 20)
    assert "20 rows are woven" in words
    assert "row 5" in words


def test_doubts_are_kept_by_rug_and_what_is_no_square_is_left_out() -> None:
    kept = with_doubts(None, "r", ((3, 4), (99, 1)))
    kept = with_doubts(kept, "other", ((1, 1),))
    assert doubts_of(kept, "r", 10, 10) == ((3, 4),)
    assert doubts_of({"r": "nonsense"}, "r", 10, 10) == ()
    assert with_doubts(with_doubts(kept, "r", ()), "other", ()) is None


@pytest.mark.parametrize(
    ("given", "shared", "knots", "expected"),
    [
        ("full", False, 4, {(1, 0)}),
        # A left half of 4 knots: its first knot stands again as the last of 8, and of 7 when the middle is shared.
        ("left half", False, 8, {(1, 0), (1, 7)}),
        ("left half", True, 7, {(1, 0), (1, 6)}),
    ],
)
def test_doubts_are_mirrored_with_the_cartoon(
    given: str, shared: bool, knots: int, expected: set[tuple[int, int]]
) -> None:
    cartoon = CartoonForm(
        name="", knots=knots, rows=3, shades=(), file="x.png", given=given, shared_column=shared, doubted=((1, 0),)
    )  # fmt: skip
    assert set(doubts_laid_out(cartoon)) == expected


def test_doubts_are_repeated_with_the_cartoon() -> None:
    cartoon = CartoonForm(
        name="", knots=8, rows=3, shades=(), file="x.png", times_across=2, doubted=((1, 0),)
    )
    assert set(doubts_laid_out(cartoon)) == {(1, 0), (1, 4)}


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
    alike = next(card for card in cards if card.exchange is not None)
    assert alike.exchange == (1, 0)
    assert "Walnut and Ivory" in alike.title
