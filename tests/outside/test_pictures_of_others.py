"""Pictures that others made and ship: a checkerboard's grid and corners are found; walls, faces and print are no cartoon.

The pictures come with scikit-image (BSD-3-Clause, https://scikit-image.org, folder `skimage/data`); the source and licence of each
is what its docstring there says: checkerboard (scikit-image's own), brick (CC0 Textures, CC0), coins (Brooklyn Museum, no known
restrictions), astronaut (NASA, public domain), text (Wikipedia, public domain), camera (Lav Varshney, CC0), grass (DeviantArt,
CC0), retina (Wikimedia, CC0), rocket (SpaceX, public domain); logo, page, moon, chelsea, coffee, horse and gravel name none there
beyond the package's licence.
"""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tracker.domain.errors import BadPicture
from tracker.pictures.paper.reading import read_sheet
from tracker.pictures.paper.understood import Ask

skimage_data = pytest.importorskip("skimage.data")
FOLDER = Path(skimage_data.__file__).parent


def checkerboard() -> Image.Image:
    """Eight by eight squares of 25 points, black and white."""
    return Image.open(FOLDER / "chessboard_RGB.png").convert("RGB")


def jpeg(image: Image.Image) -> bytes:
    out = io.BytesIO()
    image.save(out, "JPEG", quality=88)
    return out.getvalue()


@pytest.mark.parametrize("points", [25, 50, 75, 87.5, 100])
def test_a_checkerboard_has_its_squares_whether_small_or_large(points: float) -> None:
    side = round(8 * points)
    reading = read_sheet(jpeg(checkerboard().resize((side, side), Image.Resampling.BICUBIC)))
    assert (reading.knots_across, reading.rows) == (8, 8)
    assert len(reading.palette) == 2
    board = np.indices((8, 8)).sum(axis=0) % 2
    assert np.array_equal(reading.cells == reading.cells[0, 0], board == 0)


def test_its_squares_are_found_when_it_is_seen_from_aside() -> None:
    board = checkerboard().resize((600, 600), Image.Resampling.BICUBIC)
    wall = Image.new("RGB", (900, 900), (246, 244, 238))
    wall.paste(board, (150, 150))
    # Pillow maps a point of the new picture to (ax + by + c, dx + ey + f) / (gx + hy + 1) of the old one.
    a, b, c, d, e, f, g, h = (1.05, 0.08, -40.0, -0.06, 1.1, -5.0, 0.00012, 0.00008)
    seen = wall.transform(
        (900, 900), Image.Transform.PERSPECTIVE, (a, b, c, d, e, f, g, h), Image.Resampling.BICUBIC,
        fillcolor=(246, 244, 238),
    )  # fmt: skip
    back = np.array([[a, b, c], [d, e, f], [g, h, 1]])
    true = []
    for x, y in ((150, 150), (750, 150), (750, 750), (150, 750)):
        u, v, w = np.linalg.solve(back, [x, y, 1])
        true.append((u / w, v / w))
    reading = read_sheet(jpeg(seen))
    assert reading.lattice is not None
    places = reading.lattice.squares_of(np.array(true) / reading.sheet.scale)
    # The board's corners lie on crossings of the found lattice, eight squares from each other. (Where the board ends cannot
    # be told: its white squares are the wall's colour.)
    assert np.abs(places - np.rint(places)).max() < 0.1
    assert np.allclose(np.rint(places) - np.rint(places[0]), [[0, 0], [8, 0], [8, 8], [0, 8]])


def test_a_checkerboard_point_by_point_is_asked_about() -> None:
    """Its 200 x 200 points are 8 x 8 squares: taken in silence they would be a carpet of forty thousand knots."""
    reading = read_sheet(FOLDER / "chessboard_GRAY.png")
    assert Ask.SIZE in reading.asks or (reading.knots_across, reading.rows) == (8, 8)


IN_EVERY_RUN = ("brick.png", "coins.png", "astronaut.png", "text.png", "page.png", "logo.png")
MORE = (
    "camera.png", "grass.png", "gravel.png", "chelsea.png", "coffee.png", "rocket.jpg", "moon.png", "horse.png",
    "microaneurysms.png",
)  # fmt: skip


@pytest.mark.parametrize(
    "name", [*IN_EVERY_RUN, *(pytest.param(name, marks=pytest.mark.slow) for name in MORE)]
)
def test_what_is_no_cartoon_is_refused_or_asked_about(name: str) -> None:
    try:
        reading = read_sheet(FOLDER / name)
    except BadPicture:
        return
    assert not reading.is_sure
    assert reading.asks
