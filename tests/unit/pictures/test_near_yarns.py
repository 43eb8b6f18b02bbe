"""Two near yarns of a cartoon on paper: they are told apart where that can be done, and asked about where it is hardly so."""

from __future__ import annotations

import numpy as np
import pytest

from tests.reading.on_paper import cartoon
from tracker.pictures.paper.shades import find_shades
from tracker.pictures.paper.understood import CLEAR_COLOURS

PALETTE = np.array([[214, 140, 158], [200, 150, 144], [70, 86, 120], [196, 190, 90]])
"""The first two lie 22 steps of the channels apart."""


def seen(seed: int, noise: float, palette: np.ndarray, leak: float = 0.0) -> tuple[np.ndarray, np.ndarray]:
    """Return a cartoon and the colours its squares have in a picture with so much noise, and so much of each neighbour's colour."""
    rng = np.random.default_rng(seed)
    cells = cartoon(rng, 90, 70, len(palette), "bordered")
    colours = palette[cells].astype(float)
    for _round in range(2):
        padded = np.pad(colours, ((1, 1), (1, 1), (0, 0)), mode="edge")
        around = padded[1:-1, :-2] + padded[1:-1, 2:] + padded[:-2, 1:-1] + padded[2:, 1:-1]
        colours = colours + leak / 2 * (around - 4 * colours)
    colours = colours + noise * rng.standard_normal(colours.shape)
    return cells, np.clip(np.rint(colours), 0, 255).astype(np.uint8)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_two_yarns_with_hardly_a_gap_between_are_found_and_asked_about(seed: int) -> None:
    cells, colours = seen(seed, 6.5, PALETTE)
    shades = find_shades(colours, np.full(cells.shape, 5.0, np.float32))
    assert len(shades.palette) == 4
    assert shades.clear < CLEAR_COLOURS
    pairs = np.zeros((4, 4), dtype=int)
    np.add.at(pairs, (shades.cells, cells), 1)
    wrong = pairs.argmax(axis=1)[shades.cells] != cells
    assert wrong.mean() < 0.06  # one yarn taken for two would have a fifth to a quarter wrong
    # How many are wrong is known, though not which: that is what the sentences rest on.
    assert 0.5 < float((1 - shades.confidence).mean()) / wrong.mean() < 2


@pytest.mark.parametrize("leak", [0.0, 0.08])
def test_one_yarn_in_as_much_noise_is_not_taken_for_two(leak: float) -> None:
    cells, colours = seen(4, 6.5, PALETTE[1:], leak)
    shades = find_shades(colours, np.full(cells.shape, 5.0, np.float32))
    assert len(shades.palette) == 3
    assert shades.clear >= CLEAR_COLOURS


def test_the_number_of_yarns_the_weaver_says_is_kept() -> None:
    cells, colours = seen(1, 6.5, PALETTE)
    assert len(find_shades(colours, np.full(cells.shape, 5.0, np.float32), many=3).palette) == 3
