"""A picture that is no cartoon, knotted: its shape on the cloth, its yarns, its edges, no stray knots."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image, ImageDraw

from tests.reading.on_paper import saved
from tracker.domain.errors import BadEntry
from tracker.pictures.knotting import cloth_preview, knot_picture, rows_for, without_strays


def disc() -> bytes:
    picture = Image.new("RGB", (400, 400), (240, 235, 220))
    ImageDraw.Draw(picture).ellipse([80, 80, 320, 320], fill=(150, 40, 30))
    return saved(picture)


def test_a_circle_stays_round_on_cloth_whose_rows_are_lower_than_its_knots_are_wide() -> None:
    rows = rows_for(400, 400, 60, knots_per_10_cm=40, rows_per_10_cm=60)
    assert rows == 90
    cartoon = knot_picture(disc(), knots=60, rows=rows, colours=2)
    red = min(range(2), key=lambda value: int(cartoon.palette[value][3:5], 16))
    down, across = np.nonzero(cartoon.cells == red)
    width_cm, height_cm = np.ptp(across) / 4.0, np.ptp(down) / 6.0
    assert height_cm == pytest.approx(width_cm, rel=0.05)


def test_every_knot_is_in_a_yarn_the_weaver_owns() -> None:
    ramp = np.repeat(np.linspace(0, 255, 300).astype(np.uint8)[None, :, None], 200, axis=0).repeat(3, axis=2)
    yarns = ("#000000", "#FFFFFF", "#A23B2A")
    cartoon = knot_picture(saved(Image.fromarray(ramp)), knots=30, rows=20, yarns=yarns)
    assert set(cartoon.palette) <= set(yarns)
    assert cartoon.palette[cartoon.cells[0, 0]] == "#000000"
    assert cartoon.palette[cartoon.cells[0, -1]] == "#FFFFFF"


def test_passing_errors_on_keeps_the_mean_shade_that_nearest_yarns_lose() -> None:
    # sRGB 128 is 21.6 % of white's light (IEC 61966-2-1), and knots mix by their light: so many must be white.
    grey = saved(Image.new("RGB", (100, 100), (128, 128, 128)))
    yarns = ("#000000", "#FFFFFF")
    plain = knot_picture(grey, knots=40, rows=40, yarns=yarns)
    assert len(plain.palette) == 1
    soft = knot_picture(grey, knots=40, rows=40, yarns=yarns, diffuse=True)
    white = (soft.cells == soft.palette.index("#FFFFFF")).mean()
    assert white == pytest.approx(0.216, abs=0.02)


def test_an_edge_between_two_fields_stays_crisp() -> None:
    halves = Image.new("RGB", (400, 400), (20, 40, 90))
    ImageDraw.Draw(halves).rectangle([200, 0, 400, 400], fill=(220, 180, 70))
    cartoon = knot_picture(saved(halves), knots=40, rows=40, colours=4)
    assert len(cartoon.palette) == 2
    assert (np.diff(cartoon.cells.astype(int), axis=1) != 0).sum(axis=1).tolist() == [1] * 40


def test_stray_knots_take_their_neighbours_yarn_and_pairs_stay() -> None:
    cells = np.zeros((7, 7), dtype=np.uint8)
    cells[2, 2] = 1
    cells[5, 4:6] = 1
    cells[0, 6] = 1
    tidy = without_strays(cells)
    assert tidy[2, 2] == 0
    assert tidy[0, 6] == 0
    assert tidy[5, 4:6].tolist() == [1, 1]


def test_the_bottom_of_the_picture_is_woven_first() -> None:
    picture = Image.new("RGB", (50, 50), (250, 250, 250))
    ImageDraw.Draw(picture).rectangle([0, 40, 50, 50], fill=(10, 10, 10))
    cartoon = knot_picture(saved(picture), knots=10, rows=10, colours=2)
    assert cartoon.palette[cartoon.cells[0, 0]] == "#0A0A0A"


def test_the_preview_has_the_shape_of_the_cloth() -> None:
    cartoon = knot_picture(disc(), knots=60, rows=90, colours=2)
    preview = cloth_preview(cartoon, cell_width=2.5, cell_height=1.667, side=600)
    assert preview.shape[0] == pytest.approx(600, abs=1)
    assert preview.shape[1] == pytest.approx(600, abs=1)
    assert preview[300, 300].tolist() == [150, 40, 30]


@pytest.mark.parametrize("wish", [{"knots": 0, "rows": 10, "colours": 3}, {"knots": 10, "rows": 10}])
def test_numbers_that_cannot_be_get_a_sentence(wish: dict) -> None:
    with pytest.raises(BadEntry):
        knot_picture(disc(), **wish)
