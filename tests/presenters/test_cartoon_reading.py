"""What was understood of a picture of a cartoon, said in words a weaver can check."""

from __future__ import annotations

import json
import zlib
from base64 import b64encode
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from tests.today import TODAY
from tracker.domain.cartoon import CartoonPicture
from tracker.files.typed import read_as
from tracker.presenters.cartoon_reading import (
    MOST_KEPT,
    KeptPart,
    KnotWish,
    Mends,
    Wishes,
    build_knot_state,
    build_reading_state,
    doubted_again,
    doubted_squares,
    first_knot_wish,
    kept_part,
    mended_as,
    mends_of,
    part_kept,
    plan_yarns,
    used_colours,
)
from tracker.presenters.plan.changes import add_colour
from tracker.presenters.plan.form import blank_form


def reading(sure: bool = True, doubts: tuple[tuple[int, int], ...] = ()) -> SimpleNamespace:
    """80 knots across and 120 rows, two thirds of the second colour; doubts as (row from the top, knot)."""
    cells = np.zeros((120, 80), dtype=np.uint8)
    cells[:80] = 1
    doubted = np.zeros(cells.shape, dtype=bool)
    confidence = np.ones(cells.shape, dtype=np.float32)
    for at, (row, knot) in enumerate(doubts):
        doubted[row, knot] = True
        confidence[row, knot] = 0.9 - 0.1 * at
    return SimpleNamespace(
        cells=cells, palette=("#EFE6D2", "#9B2F25"), doubted=doubted, confidence=confidence, asks=(),
        sure=1.0 if sure else 0.4, is_sure=sure, knots_across=80, rows=120,
    )  # fmt: skip


def test_it_says_how_many_knots_and_how_large_they_weave() -> None:
    state = build_reading_state(reading(), (), frozenset(), blank_form(TODAY))
    assert state.found == "80 knots across, 120 rows, 2 colours"
    # 80 knots and 120 rows at 40 to 10 cm.
    assert "20 × 30 cm" in state.size
    assert state.is_sure
    assert not state.has_doubts
    assert state.swatches == (("#9B2F25", "6,400"), ("#EFE6D2", "3,200"))


def test_a_number_that_was_set_is_said_to_be_the_weavers_own() -> None:
    state = build_reading_state(reading(sure=False), ("Count.",), frozenset({"rows"}), blank_form(TODAY))
    assert (state.knots.hint, state.rows.hint) == ("as found", "as you said")
    assert not state.is_sure
    assert state.asks == ("Count.",)


def test_what_is_not_quite_sure_and_asks_nothing_says_what_to_compare() -> None:
    state = build_reading_state(reading(sure=False), (), frozenset(), blank_form(TODAY))
    assert state.verdict.startswith("Not quite sure. Compare the corners and a few squares")
    assert build_reading_state(
        reading(sure=False), ("Count.",), frozenset(), blank_form(TODAY)
    ).verdict.endswith("before you take it:")


def test_doubted_squares_count_from_the_row_woven_first_the_least_sure_first() -> None:
    found = doubted_squares(reading(doubts=((0, 5), (119, 7))))
    # The top row of the picture is row 119; the second square is the less sure one.
    assert found == ((0, 7), (119, 5))
    again = doubted_again(reading(), found)
    assert np.argwhere(again).tolist() == [[0, 5], [119, 7]]


def mended(read: SimpleNamespace, changes: tuple[tuple[int, int, int], ...]) -> SimpleNamespace:
    """The reading with other colours, (row from the top, knot, colour) each, and its top row doubted no more."""
    cells, doubted = read.cells.copy(), read.doubted.copy()
    for row, knot, value in changes:
        cells[row, knot] = value
    doubted[0] = False
    return SimpleNamespace(**{**vars(read), "cells": cells, "doubted": doubted})


def test_squares_mended_by_hand_are_mended_again_after_the_app_was_closed() -> None:
    read = reading(doubts=((0, 5), (119, 7)))
    after = mended(read, ((3, 4, 0), (119, 0, 1)))
    kept = read_as(Mends, json.loads(json.dumps(mends_of(read, after))))
    picture, doubted = mended_as(read, kept)
    assert np.array_equal(picture.cells[::-1], after.cells)
    assert np.argwhere(doubted).tolist() == [[119, 7]]


def test_what_was_mended_of_another_reading_is_not_laid_over_this_one() -> None:
    read = reading()
    kept = mends_of(read, mended(read, ((3, 4, 0),)))
    other = SimpleNamespace(**{**vars(read), "palette": ("#EFE6D2", "#204060")})
    assert mended_as(other, kept) is None, "its colours are others"
    smaller = SimpleNamespace(
        **{**vars(read), "rows": 119, "cells": read.cells[1:], "doubted": read.doubted[1:]}
    )
    assert mended_as(smaller, kept) is None, "its squares are others"
    assert mends_of(read, read) is None


@pytest.mark.parametrize("exchanged", [True, False])
def test_a_whole_cartoon_of_half_a_million_squares_mended_is_kept(exchanged: bool) -> None:
    rng = np.random.default_rng(4)
    areas = rng.integers(0, 4, (70, 80), dtype=np.uint8)
    read = reading()
    read.cells = np.kron(areas, np.ones((10, 10), dtype=np.uint8))
    read.doubted = np.zeros(read.cells.shape, dtype=bool)
    read.palette, (read.rows, read.knots_across) = (
        ("#EFE6D2", "#9B2F25", "#203060", "#204020"),
        read.cells.shape,
    )
    after = mended(read, ())
    after.cells = np.where(read.cells == 2, 3, read.cells) if exchanged else (read.cells + 1) % 4
    after.cells = after.cells.astype(np.uint8)
    kept = read_as(Mends, json.loads(json.dumps(mends_of(read, after))))
    picture, _doubted = mended_as(read, kept)
    assert np.array_equal(picture.cells[::-1], after.cells)
    assert sum(map(len, kept["squares"])) < MOST_KEPT / 10


def test_more_than_a_draft_may_hold_is_not_kept() -> None:
    rng = np.random.default_rng(4)
    read = reading()
    read.cells = rng.integers(0, 60, (1000, 1000), dtype=np.uint8)
    read.doubted = np.zeros(read.cells.shape, dtype=bool)
    read.palette, read.rows, read.knots_across = tuple(f"#0000{value:02X}" for value in range(60)), 1000, 1000
    after = mended(read, ())
    after.cells = rng.integers(0, 60, (1000, 1000), dtype=np.uint8)
    assert mends_of(read, after) is None


def test_a_part_of_a_long_cartoon_is_kept_with_its_doubts_and_a_torn_one_is_none() -> None:
    rng = np.random.default_rng(4)
    cells = rng.integers(0, 3, (40, 30), dtype=np.uint8)
    chances = (rng.integers(0, 256, cells.shape) / np.float32(255)).astype(np.float32)
    palette = ("#EFE6D2", "#9B2F25", "#203060")
    part = SimpleNamespace(
        cells=cells,
        palette=palette,
        confidence=chances,
        doubted=chances < 0.3,
        picture=CartoonPicture(cells=cells[::-1], palette=palette, name="upper.jpg"),
    )
    kept = read_as(KeptPart, json.loads(json.dumps(kept_part(part))))
    picture, confidence, doubted = part_kept(kept)
    assert np.array_equal(picture.cells, part.picture.cells)
    assert picture.name == "upper.jpg"
    assert np.array_equal(confidence, chances)
    assert np.array_equal(doubted, part.doubted)
    assert part_kept({**kept, "squares": (kept["squares"][0][:40],)}) is None, "the file is torn"
    assert part_kept({**kept, "size": (40, 31)}) is None, "it is of another size"
    assert part_kept({**kept, "palette": palette[:2]}) is None, "a colour is missing"


def test_a_colour_that_mending_left_without_a_square_is_counted_no_more() -> None:
    read = reading()
    read.cells[:80] = 0
    read.cells[0, 0] = 1
    whole = mended(read, ((0, 0, 0),))
    assert build_reading_state(whole, (), frozenset(), blank_form(TODAY)).found.endswith("1 colour")
    left = used_colours(CartoonPicture(cells=whole.cells, palette=read.palette))
    assert left.palette == ("#EFE6D2",)
    assert not left.cells.any()
    both = CartoonPicture(cells=read.cells, palette=read.palette)
    assert used_colours(both) is both


def test_a_picture_is_first_knotted_at_the_planned_width_in_its_own_colours() -> None:
    form = blank_form(TODAY)
    wish = first_knot_wish(form)
    # 80 cm at 40 knots to 10 cm.
    assert wish.knots == 320
    assert not wish.own_yarns
    state = build_knot_state(wish, None, (), 200, form)
    assert "80 × 50 cm" in state.size
    assert not state.can_use_yarns, "the one yarn of a blank form is nobody's choice"


def test_the_plans_own_yarns_can_be_used_when_there_are_some() -> None:
    form = add_colour(blank_form(TODAY), "Madder", "#9B2F25")
    assert plan_yarns(form)[-1] == "#9B2F25"
    cells = np.array([[0, 0], [0, 1]], dtype=np.uint8)
    state = build_knot_state(KnotWish(knots=2), cells, plan_yarns(form), 2, form)
    assert state.can_use_yarns
    assert state.swatches[0][1] == "3"


def test_what_was_set_by_hand_of_a_picture_is_read_again_from_a_draft() -> None:
    corners = [[0.0, 0.1], [1.0, 0.1], [1.0, 0.9], [0.0, 0.9]]
    read = read_as(Wishes, {"knots": 80, "rows": None, "corners": corners, "crop": [0.1, 0.2, 0.8, 0.9]})
    assert read == {
        "knots": 80, "rows": None, "corners": tuple(map(tuple, corners)), "crop": (0.1, 0.2, 0.8, 0.9),
    }  # fmt: skip


def packed(squares: tuple[tuple[int, int, int], ...], shape: tuple[int, int] = (120, 80)) -> tuple[str, ...]:
    """Squares, (row from the top, knot, code) each, as a draft holds them."""
    codes = np.full(shape, 255, dtype=np.uint8)
    for row, knot, code in squares:
        codes[row, knot] = code
    return (b64encode(zlib.compress(codes.tobytes())).decode(),)


@pytest.mark.parametrize(
    ("change", "taken"),
    [
        ({}, True),
        ({"squares": packed(((119, 79, 1),))}, True),
        ({"squares": packed(((0, 0, 2),))}, False),
        ({"squares": packed((), (120, 81))}, False),
        ({"squares": packed((), (119, 80))}, False),
        ({"squares": packed((), (12_000, 8_000))}, False),
        ({"squares": ("torn",)}, False),
        ({"squares": ("é" * 4,)}, False),
        ({"squares": ()}, False),
        ({"size": (119, 80)}, False),
        ({"size": (120, 81)}, False),
        ({"palette": ("#9B2F25", "#EFE6D2")}, False),
        # A colour more was put in by hand.
        ({"palette": ("#EFE6D2", "#9B2F25", "#222222"), "squares": packed(((0, 0, 2),))}, True),
        ({"squares": packed(((119, 79, 254),))}, True),
    ],
)
def test_mends_are_done_again_only_where_the_picture_was_read_alike_and_each_square_is_there(
    change: dict[str, Any], taken: bool
) -> None:
    read = reading(doubts=((119, 79),))
    kept = {"size": (120, 80), "palette": read.palette, "squares": packed(()), **change}
    again = mended_as(read, kept)
    assert (again is not None) == taken
    if again is not None:
        picture, doubted = again
        assert picture.palette == kept["palette"]
        changes = kept["squares"] != packed(())
        # Its colour was told, or it was looked at.
        assert doubted.any() != (kept["squares"] in (packed(((119, 79, 1),)), packed(((119, 79, 254),))))
        if changes and "palette" in change:
            assert picture.cells[::-1][0, 0] == 2
