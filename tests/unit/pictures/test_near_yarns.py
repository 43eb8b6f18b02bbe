"""Two near yarns of a cartoon on paper: they are told apart where that can be done, and asked about where it is hardly so."""

from __future__ import annotations

import numpy as np
import pytest

from tests.reading.on_paper import cartoon
from tracker.pictures.paper.shades import find_shades
from tracker.pictures.paper.understood import CLEAR_COLOURS

PALETTE = np.array([[214, 140, 158], [200, 150, 144], [70, 86, 120], [196, 190, 90]])
"""The first two lie 22 steps of the channels apart."""


def seen(
    seed: int, noise: float, palette: np.ndarray, leak: float = 0.0, kind: str = "bordered"
) -> tuple[np.ndarray, np.ndarray]:
    """Return a cartoon and the colours its squares have in a picture with so much noise, and so much of each of the eight neighbours' colours."""
    rng = np.random.default_rng(seed)
    cells = cartoon(rng, 90, 70, len(palette), kind)
    own = palette[cells].astype(float)
    padded = np.pad(own, ((1, 1), (1, 1), (0, 0)), mode="edge")
    around = sum(
        padded[down : down + 90, right : right + 70] - own for down in range(3) for right in range(3)
    )
    colours = own + leak * around + noise * rng.standard_normal(own.shape)
    return cells, np.clip(np.rint(colours), 0, 255).astype(np.uint8)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_two_yarns_with_hardly_a_gap_between_are_asked_about_and_parted_when_their_number_is_said(
    seed: int,
) -> None:
    cells, colours = seen(seed, 6.5, PALETTE)
    alone = find_shades(colours, np.full(cells.shape, 5.0, np.float32))
    assert len(alone.palette) in (3, 4)
    assert alone.clear < CLEAR_COLOURS, "taken for one, and called sure"
    shades = find_shades(colours, np.full(cells.shape, 5.0, np.float32), many=4)
    assert len(shades.palette) == 4
    pairs = np.zeros((4, 4), dtype=int)
    np.add.at(pairs, (shades.cells, cells), 1)
    wrong = pairs.argmax(axis=1)[shades.cells] != cells
    assert wrong.mean() < 0.06  # one yarn taken for two would have a fifth to a quarter wrong
    # How many are wrong is known, though not which: that is what the sentences rest on.
    assert 0.5 < float((1 - shades.confidence).mean()) / wrong.mean() < 2


@pytest.mark.parametrize(
    ("kind", "noise", "leak", "palette"),
    [("bordered", 6.5, 0.0, PALETTE[1:]), ("lattice", 4.5, 0.055, PALETTE[2:])],
    ids=["noise", "what leaks in from neighbours"],
)
def test_one_yarn_is_not_taken_for_two(kind: str, noise: float, leak: float, palette: np.ndarray) -> None:
    cells, colours = seen(5, noise, palette, leak, kind)
    shades = find_shades(colours, np.full(cells.shape, 5.0, np.float32))
    assert len(shades.palette) == len(palette)
    assert shades.clear >= CLEAR_COLOURS


def test_the_number_of_yarns_the_weaver_says_is_kept() -> None:
    cells, colours = seen(1, 6.5, PALETTE)
    assert len(find_shades(colours, np.full(cells.shape, 5.0, np.float32), many=3).palette) == 3
