"""The yarns of squares whose colours are as they come off paper: noise, light, and what blur and JPEG let leak between neighbours."""

from __future__ import annotations

import numpy as np
import pytest

from tests.reading.on_paper import Trouble, cartoon, put_on_paper, sheet_of, yarns
from tests.reading.test_paper_reading import wrong_squares
from tracker.pictures import limits
from tracker.pictures.paper.reading import read_sheet
from tracker.pictures.paper.shades import doubted, find_shades
from tracker.pictures.paper.understood import CLEAR_COLOURS, Ask

LIGHTNESS_AND_COLOUR = np.array([[0.299, 0.587, 0.114], [-0.1687, -0.3313, 0.5], [0.5, -0.4187, -0.0813]])
"""sRGB to lightness and two colour differences, ITU-T T.871."""


def seen_squares(
    seed: int,
    colours: int,
    kind: str,
    noise: float,
    beside: float = 0.0,
    aslant: float = 0.0,
    lost: float = 0.0,
) -> tuple[np.ndarray, np.ndarray]:
    """Squares of 140 rows and 100 knots as seen, and as they are: the colour of each leaks into its neighbours, light is lost to the right."""
    rng = np.random.default_rng(seed)
    cells = cartoon(rng, 140, 100, colours, kind)
    own = yarns(rng, colours).astype(float)[cells] @ LIGHTNESS_AND_COLOUR.T
    if beside or aslant:
        around = np.pad(own, ((1, 1), (1, 1), (0, 0)), mode="edge")
        near = sum(
            around[1 + y : 141 + y, 1 + x : 101 + x] - own for y, x in ((0, 1), (0, -1), (1, 0), (-1, 0))
        )
        far = sum(around[1 + y : 141 + y, 1 + x : 101 + x] - own for y in (-1, 1) for x in (-1, 1))
        own[..., 1:] += (beside * near + aslant * far)[..., 1:]
    rgb = own @ np.linalg.inv(LIGHTNESS_AND_COLOUR).T
    rgb *= 1 - lost * np.linspace(0, 1, 100)[None, :, None]
    return np.clip(rgb + rng.normal(0, noise, rgb.shape) + 0.5, 0, 255).astype(np.uint8), cells


def wrong_and_doubted(seen: np.ndarray, cells: np.ndarray) -> tuple[int, np.ndarray, np.ndarray]:
    shades = find_shades(seen, np.full(cells.shape, 2.0, dtype=np.float32))
    pairs = np.zeros((len(shades.palette), int(cells.max()) + 1), dtype=int)
    np.add.at(pairs, (shades.cells, cells), 1)
    return len(shades.palette), pairs.argmax(axis=1)[shades.cells] != cells, doubted(shades.confidence)


@pytest.mark.parametrize(
    ("colours", "kind", "noise", "lost"), [(30, "lattice", 6.0, 0.0), (20, "speckled", 8.0, 0.3)]
)
def test_chance_likenesses_of_many_yarns_make_up_no_light(
    colours: int, kind: str, noise: float, lost: float
) -> None:
    many, wrong, _doubted = wrong_and_doubted(*seen_squares(1, colours, kind, noise, lost=lost))
    assert many == colours
    assert wrong.mean() < 0.025


@pytest.mark.parametrize("seed", [1, 2])
def test_colours_that_leak_between_scattered_squares_are_taken_back_and_what_stays_wrong_is_doubted(
    seed: int,
) -> None:
    many, wrong, seen = wrong_and_doubted(*seen_squares(seed, 10, "speckled", 7.0, beside=0.1, aslant=-0.04))
    assert many == 10
    assert wrong.mean() < 0.01
    assert (wrong & seen).sum() >= 0.65 * wrong.sum()
    assert seen.mean() <= 0.02


@pytest.mark.parametrize("seed", [2, 6, 12])
def test_yarns_of_a_dozen_squares_are_told_from_each_other_and_from_the_field(seed: int) -> None:
    seen, cells = seen_squares(seed, 16, "plain", 4.0, beside=0.05)
    many, wrong, _doubted = wrong_and_doubted(seen, cells)
    assert many == 16
    assert wrong.sum() < 5


def test_a_yarn_hardly_told_from_the_field_is_asked_about() -> None:
    # Twelve squares lie 6 CIEDE2000 from a field of ten thousand; in the second design all sixteen yarns stand clear.
    seen, cells = seen_squares(5, 16, "plain", 4.0, beside=0.05)
    assert find_shades(seen, np.full(cells.shape, 2.0, dtype=np.float32)).clear < CLEAR_COLOURS
    seen, cells = seen_squares(7, 16, "plain", 4.0, beside=0.05)
    assert find_shades(seen, np.full(cells.shape, 2.0, dtype=np.float32)).clear >= CLEAR_COLOURS


@pytest.mark.parametrize("seed", [2, 3])
def test_squares_that_are_one_yarn_in_the_light_and_another_in_the_shadow_are_doubted_at_its_edge(
    seed: int,
) -> None:
    rng = np.random.default_rng(seed)
    palette = yarns(rng, 8).astype(float)
    # Two yarns look in the shadow as two others do in the light.
    palette = np.concatenate([palette, palette[2:4] * np.exp(-0.3)])
    cells = cartoon(rng, 140, 100, 10, "medallion")
    y, x = np.mgrid[0:140, 0:100]
    in_shadow = np.clip(0.5 - (x - 50) * np.cos(0.4) - (y - 70) * np.sin(0.4), 0, 1)
    seen = palette[cells] * np.exp(-0.3 * in_shadow)[..., None] + rng.normal(0, 3, (140, 100, 3))
    many, wrong, doubt = wrong_and_doubted(np.clip(seen + 0.5, 0, 255).astype(np.uint8), cells)
    assert many == 10
    # Of the squares at the edge 60 and more were wrong while such yarns were not asked for their own colour.
    assert 0 < wrong.sum() < 20
    assert (wrong & doubt).sum() >= 0.85 * wrong.sum()


def test_at_a_shadows_edge_a_yarn_that_looks_like_another_one_in_the_shadow_is_no_further_yarn() -> None:
    rng = np.random.default_rng(4)
    # Each looks in the shadow as the next does in the light.
    palette = np.array([200.0, 150.0, 120.0]) * np.exp(-0.25 * np.arange(4))[:, None]
    palette = np.concatenate([palette, yarns(rng, 4).astype(float)])
    cells = cartoon(rng, 90, 70, 8, "speckled")
    y, x = np.mgrid[0:90, 0:70]
    in_shadow = np.clip(0.5 - (x - 35) * np.cos(0.4) - (y - 45) * np.sin(0.4), 0, 1)
    seen = palette[cells] * np.exp(-0.25 * in_shadow)[..., None] + rng.normal(0, 3, (90, 70, 3))
    many, wrong, _doubt = wrong_and_doubted(np.clip(seen + 0.5, 0, 255).astype(np.uint8), cells)
    assert many == 8
    assert wrong.sum() < 20


def test_dots_of_many_yarns_are_looked_at_as_far_as_they_reach() -> None:
    rng = np.random.default_rng(2)
    cells = cartoon(rng, 110, 80, 16, "bordered")
    trouble = Trouble(
        points=9.0, inside="dots", noise=2, blur=0.1, jpeg=60, tilt_deg=12, turn_deg=3, falloff=0.1
    )
    reading = read_sheet(put_on_paper(rng, cells, yarns(rng, 16), trouble).data)
    assert wrong_squares(reading, cells).sum() < 20


def test_of_small_squares_the_number_is_asked_where_a_yarn_has_few() -> None:
    # One of five yarns, of a dozen squares strewn over the field, is lost at 5.1 points.
    reading = read_sheet(sheet_of(20006, "photo, grid").data)
    assert len(reading.palette) == 4
    assert Ask.COLOURS in reading.asks


def test_squares_of_four_points_between_lines_are_looked_at_in_their_middles() -> None:
    rng = np.random.default_rng(3)
    cells = cartoon(rng, 110, 80, 12, "speckled")
    trouble = Trouble(points=4.02, noise=1.5, blur=0.12, jpeg=90, tilt_deg=15, turn_deg=3)
    reading = read_sheet(put_on_paper(rng, cells, yarns(rng, 12), trouble).data)
    assert wrong_squares(reading, cells).mean() < 0.003


def test_a_yarn_beside_the_same_neighbours_again_and_again_is_not_taken_for_two() -> None:
    sheet = sheet_of(20014, "few points")
    reading = read_sheet(sheet.data)
    assert len(reading.palette) == len(sheet.palette)
    # What was parted and made one again is asked about all the same.
    assert Ask.COLOURS in reading.asks


def test_the_colour_that_a_poor_jpeg_gave_to_the_neighbours_is_taken_back() -> None:
    sheet = sheet_of(20005, "few points")
    wrong = wrong_squares(read_sheet(sheet.data), sheet.cells)
    assert wrong.mean() < 0.0047


def test_thirty_yarns_that_always_lie_beside_the_same_others_are_parted_and_told_by_their_neighbours() -> (
    None
):
    # At JPEG quality 40 ten of them ran into others, and of those parted one square in fifty is nearer to a wrong yarn.
    sheet = sheet_of(23001, "scan, grid")
    reading = read_sheet(sheet.data)
    assert len(reading.palette) == 30
    wrong = wrong_squares(reading, sheet.cells)
    assert wrong.sum() < 20
    assert (wrong & reading.doubted).sum() >= 0.8 * wrong.sum()


def test_small_squares_of_a_very_large_photograph_are_looked_at_with_all_its_points(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # At half its size the two edges of a line were taken for lines, and four squares of bare paper for the cartoon's.
    monkeypatch.setattr(limits, "READ_SHEET_PIXELS", 100_000)
    rng = np.random.default_rng(13)
    cells = cartoon(rng, 110, 80, 5, "speckled")
    trouble = Trouble(
        points=4.8, aspect=0.92, grid="tenth", margin=4.0, table=True, tilt_deg=18, turn_deg=-12, noise=3, blur=0.12,
        jpeg=40, falloff=0.15,
    )  # fmt: skip
    reading = read_sheet(put_on_paper(rng, cells, yarns(rng, 5), trouble).data)
    assert reading.cells.shape == cells.shape
    assert wrong_squares(reading, cells).sum() <= 8
    assert not {Ask.SIZE, Ask.EDGES} & set(reading.asks)
    # Of large squares half the points are enough, and take a quarter of the memory.
    trouble = Trouble(points=12.0, table=True, jpeg=85)
    reading = read_sheet(put_on_paper(rng, cells[:40, :30], yarns(rng, 5), trouble).data)
    assert reading.cells.shape == (40, 30)
    assert reading.sheet.scale > 1.9


def test_a_shadow_whose_edge_is_not_straight_is_asked_about() -> None:
    rng = np.random.default_rng(12)
    palette, cells = yarns(rng, 12), cartoon(rng, 90, 70, 12, "bordered")
    y, x = np.mgrid[0:90, 0:70]
    light = np.exp(-0.3 * np.clip(x - 34.5 + 12 * np.sin(y / 20), 0, 1))[..., None]
    seen = palette[cells] * light + rng.normal(0, 2, (90, 70, 3))
    shades = find_shades(np.clip(seen + 0.5, 0, 255).astype(np.uint8), np.full(cells.shape, 2.0, np.float32))
    assert len(shades.palette) == 24
    assert shades.clear < CLEAR_COLOURS


def test_light_and_dark_tones_of_a_design_are_no_shadow() -> None:
    rng = np.random.default_rng(12)
    light = yarns(rng, 6)
    tones = np.concatenate([light, light * 0.74])
    seen = tones[cartoon(rng, 110, 80, 12, "speckled")] + rng.normal(0, 3, (110, 80, 3))
    shades = find_shades(
        np.clip(seen + 0.5, 0, 255).astype(np.uint8), np.full(seen.shape[:2], 2.0, np.float32)
    )
    assert len(shades.palette) == 12
    assert shades.clear >= CLEAR_COLOURS


def test_further_yarns_all_of_whose_squares_lie_at_a_shadows_edge_are_asked_about() -> None:
    rng = np.random.default_rng(12)
    palette, cells = yarns(rng, 12), cartoon(rng, 110, 80, 12, "speckled")
    y, x = np.mgrid[0:110, 0:80]
    # The edge is bent by three squares.
    inside = (x - 40) * 0.9 + (y - 55) * 0.43 + 3 * np.sin(y / 25)
    seen = palette[cells] * np.exp(-0.3 * np.clip(inside + 0.5, 0, 1))[..., None] + rng.normal(
        0, 3, (110, 80, 3)
    )
    shades = find_shades(np.clip(seen + 0.5, 0, 255).astype(np.uint8), np.full(cells.shape, 2.0, np.float32))
    assert len(shades.palette) == 12 or shades.clear < CLEAR_COLOURS
