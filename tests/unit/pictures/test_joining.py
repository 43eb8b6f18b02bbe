"""A long cartoon from several photographs: the parts are cut from a known cartoon, and the whole is held against it."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from tests.reading.on_paper import cartoon
from tracker.domain.cartoon import CartoonPicture
from tracker.domain.errors import BadPicture
from tracker.pictures.joining import join

PALETTE = ("#9B2F25", "#24406B", "#E9DDC4", "#3F5E3A", "#D9A441")
DIMMER = ("#7A2520", "#1D3355", "#BDB29C", "#324A2E", "#AE8434")
"""The same yarns in worse light."""


def part(
    cells: np.ndarray, palette: tuple[str, ...] = PALETTE, wrong: int = 0, seed: int = 0
) -> SimpleNamespace:
    """A reading of a part, some of its squares wrong."""
    rng = np.random.default_rng(seed)
    cells = cells.copy()
    confidence = np.ones(cells.shape, dtype=np.float32)
    for _one in range(wrong):
        row, knot = rng.integers(cells.shape[0]), rng.integers(cells.shape[1])
        cells[row, knot] = (cells[row, knot] + 1) % len(palette)
        confidence[row, knot] = 0.6
    doubted = confidence < 0.9
    picture = CartoonPicture(cells=cells[::-1], palette=palette, name="wall.jpg")
    return SimpleNamespace(
        cells=cells, palette=palette, confidence=confidence, doubted=doubted, picture=picture
    )


def whole(seed: int, rows: int = 120, knots: int = 60, kind: str = "patches") -> np.ndarray:
    return cartoon(np.random.default_rng(seed), rows, knots, 5, kind)


@pytest.mark.parametrize("seed", range(6))
def test_two_strips_in_different_light_become_the_whole(seed: int) -> None:
    truth = whole(seed, kind=("patches", "medallion", "speckled")[seed % 3])
    overlap = int(np.random.default_rng(seed).integers(4, 12))
    upper, lower = truth[: 60 + overlap], truth[60:]
    joined = join(part(upper), part(lower, DIMMER))
    assert joined.shift.down == 60
    assert joined.overlap == overlap
    assert np.array_equal(np.array(joined.palette)[joined.cells], np.array(PALETTE)[truth])
    assert joined.is_sure


def test_it_does_not_matter_which_is_photographed_first() -> None:
    truth = whole(3)
    joined = join(part(truth[55:]), part(truth[:63]))
    assert joined.cells.shape == truth.shape
    assert np.array_equal(np.array(joined.palette)[joined.cells], np.array(PALETTE)[truth])


def test_parts_side_by_side_are_joined_too() -> None:
    truth = whole(4, rows=60, knots=120)
    joined = join(part(truth[:, :66]), part(truth[:, 60:]))
    assert joined.beside
    assert joined.overlap == 6
    assert np.array_equal(np.array(joined.palette)[joined.cells], np.array(PALETTE)[truth])


def test_a_column_that_one_strip_lacks_is_left_out() -> None:
    truth = whole(5)
    joined = join(part(truth[:70]), part(truth[60:, 1:]))
    assert joined.cells.shape == (120, 59)
    assert np.array_equal(np.array(joined.palette)[joined.cells], np.array(PALETTE)[truth[:, 1:]])


def test_three_strips_are_joined_one_after_the_other() -> None:
    truth = whole(6)
    joined = join(join(part(truth[:50]), part(truth[44:90])), part(truth[84:], DIMMER))
    assert np.array_equal(np.array(joined.palette)[joined.cells], np.array(PALETTE)[truth])


def test_where_the_pictures_disagree_the_surer_counts_and_the_square_is_doubted() -> None:
    truth = whole(7)
    joined = join(part(truth[:75]), part(truth[60:], wrong=60, seed=2))
    shared = joined.cells[60:75]
    assert np.array_equal(np.array(joined.palette)[shared], np.array(PALETTE)[truth[60:75]])
    wrong_in_shared = part(truth[60:], wrong=60, seed=2).cells[:15] != truth[60:75]
    assert wrong_in_shared.any()
    assert joined.doubted[60:75][wrong_in_shared].all()


def test_a_design_that_repeats_asks_where_it_goes_on() -> None:
    motif = whole(8, rows=10)
    truth = np.tile(motif, (8, 1))
    joined = join(part(truth[:50]), part(truth[30:]))
    assert joined.rivals, "after any whole number of repeats it fits as well"
    assert not joined.is_sure
    other = (
        next(rival for rival in joined.rivals if rival.down == 30)
        if joined.shift.down != 30
        else joined.shift
    )
    again = join(part(truth[:50]), part(truth[30:]), other)
    assert again.cells.shape == truth.shape


def test_strips_of_different_cartoons_are_not_joined() -> None:
    with pytest.raises(BadPicture, match="two pictures share nothing"):
        join(part(whole(9)), part(whole(10)))


def test_the_same_picture_twice_shows_nothing_new() -> None:
    with pytest.raises(BadPicture, match="nothing new"):
        join(part(whole(11)), part(whole(11)))
