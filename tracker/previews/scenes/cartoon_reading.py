"""Scenes of the page that reads a cartoon."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np

from tracker.domain.errors import BadPicture
from tracker.presenters.cartoon_reading import View
from tracker.presenters.plan.form import blank_form
from tracker.previews.scene import Scene

_SIDE = 11
"""Points to a knot of the drawn sheet."""
_KNOTS, _ROWS = 44, 60
STAINS = ((9, 7), (25, 20), (41, 33), (30, 12), (52, 15))
"""(row from the top, knot) of squares that a scene stains."""


def paper(
    desk: Any, first: int = 0, last: int = _ROWS, stains: tuple[tuple[int, int], ...] = ()
) -> np.ndarray:
    """Return a part of the rug's own cartoon as it hangs on the wall: squared paper, looked at a little from aside.

    The squares in `stains`, (row from the top, knot), are half in the colour of the knot four to their right.
    """
    from PIL import Image, ImageDraw

    cartoon = desk.rug.cartoon
    cells = cartoon.cells[first:last, :_KNOTS][::-1]
    palette = np.array([_rgb(colour) for colour in cartoon.palette], dtype=np.uint8)
    squares = np.kron(palette[cells], np.ones((_SIDE, _SIDE, 1), dtype=np.uint8))
    for row, knot in stains:
        square = squares[row * _SIDE : (row + 1) * _SIDE, knot * _SIDE : (knot + 1) * _SIDE]
        square[:] = (square.astype(np.uint16) + palette[cells[row, knot + 4]]) // 2
    edge = 5 * _SIDE
    width, height = squares.shape[1] + 2 * edge, squares.shape[0] + 2 * edge
    sheet = Image.new("RGB", (width, height), (247, 243, 232))
    sheet.paste(Image.fromarray(squares), (edge, edge))
    pen = ImageDraw.Draw(sheet)
    for knot in range(cells.shape[1] + 1):
        x = edge + knot * _SIDE
        pen.line([x, edge, x, height - edge], (70, 66, 60), 2 if knot % 10 == 0 else 1)
    for row in range(cells.shape[0] + 1):
        y = height - edge - row * _SIDE
        pen.line([edge, y, width - edge, y], (70, 66, 60), 2 if row % 10 == 0 else 1)
    seen = sheet.transform(
        (width + 60, height + 40),
        Image.Transform.PERSPECTIVE,
        (1.09, 0.035, -50.0, -0.022, 1.06, -8.0, 0.00008, 0.00005),
        Image.Resampling.BICUBIC,
        fillcolor=(112, 92, 74),
    )
    shade = np.linspace(1.0, 0.8, seen.width)[None, :, None]
    return (np.asarray(seen) * shade).astype(np.uint8)


def scenes(desk: Any) -> list[Scene]:
    """Every state of reading a picture: being read, sure, asking, doubting, set right by hand, joined; and pictures that are no cartoons."""
    if desk.rug is None or desk.rug.cartoon is None:
        return [Scene("cartoon-none", "cartoon_reading", _what(desk), _begin(desk, None, None))]
    views = [
        Scene(f"cartoon-{view.value}", "cartoon_reading", _what(desk), _begin(desk, paper(desk), view))
        for view in View
    ]
    views.append(Scene("cartoon-none", "cartoon_reading", _what(desk), _begin(desk, None, None)))

    def reading(page: Any) -> None:
        with _nothing_done(desk):
            page.start(desk.cartoons.sheet_of(paper(desk), "wall.jpg"))
        page.share = 0.45

    def counting(page: Any) -> None:
        _begin(desk, paper(desk), View.CORNERS)(page)

        def again() -> None:
            with _nothing_done(desk):
                page.read_between()
            page.share = 0.6

        # After what the reading has to say.
        desk.post(again)

    def doubting(page: Any) -> None:
        page.start(desk.cartoons.sheet_of(paper(desk, stains=STAINS), "wall.jpg"))

    def asking(page: Any) -> None:
        page.start(desk.cartoons.sheet_of(in_white(desk), "border.png"))

    def unreadable(page: Any) -> None:
        page.enter(Path(__file__), page.form, take_nothing)

    def held(page: Any) -> None:
        _begin(desk, paper(desk), View.CORNERS)(page)
        desk.post(lambda: page.hold(0))

    def mended(page: Any) -> None:
        page.start(desk.cartoons.sheet_of(paper(desk, stains=STAINS), "wall.jpg"))
        # After what the reading has to say.
        desk.post(lambda: page.mend() if page.reading is not None else None)

    def joined(page: Any) -> None:
        cartoons = desk.cartoons
        try:
            parts = [
                cartoons.part_of(cartoons.read(cartoons.sheet_of(paper(desk, *rows), "wall.jpg")))
                for rows in ((26, _ROWS), (0, 34))
            ]
        except BadPicture:
            _begin(desk, None, None)(page)  # a rug of very few rows has no two parts
            return
        page.join_parts(*parts)

    for name, then in (
        ("reading", reading), ("counting", counting), ("doubts", doubting), ("asks", asking), ("unreadable", unreadable)
    ):  # fmt: skip
        views.append(Scene(f"cartoon-{name}", "cartoon_reading", _what(desk), then))

    def in_several_ways(page: Any) -> None:
        # Every row is like the twelfth before it: nothing tells which of them the parts share.
        cartoons = desk.cartoons
        sheet = cartoons.sheet_of(repeated(desk), "border.png")
        part = cartoons.part_of(cartoons.read(sheet))
        page.join_parts(part, part)

    views.append(Scene("cartoon-ways", "cartoon_reading", _what(desk), in_several_ways))
    views.append(Scene("cartoon-mended", "cartoon_reading", _what(desk), mended))
    views.append(Scene("cartoon-joined", "cartoon_reading", _what(desk), joined))
    views.append(Scene("cartoon-magnifier", "cartoon_reading", _what(desk), held))
    return views


@contextmanager
def _nothing_done(desk: Any) -> Iterator[None]:
    """Let what is begun off the touch thread never be done, so that a page stands as it does meanwhile."""
    desk.aside = lambda *_what: None
    try:
        yield
    finally:
        del desk.aside


def repeated(desk: Any) -> np.ndarray:
    """Return a border of one repeat over and over, drawn large."""
    quarter = np.random.default_rng(4).integers(0, 3, (6, 12))
    half = np.concatenate([quarter, quarter[:, ::-1]], axis=1)
    cells = np.tile(np.concatenate([half, half[::-1]]), (4, 1))
    palette = np.array([_rgb(colour) for colour in desk.rug.cartoon.palette[:3]], dtype=np.uint8)
    return np.kron(palette[cells], np.ones((6, 6, 1), dtype=np.uint8))


def _rgb(colour: str) -> list[int]:
    return [int(colour[i : i + 2], 16) for i in (1, 3, 5)]


def in_white(desk: Any) -> np.ndarray:
    """Return a part of the rug's cartoon drawn large, with a white border on white: nothing tells where it ends."""
    cartoon = desk.rug.cartoon
    palette = np.array([_rgb(colour) for colour in cartoon.palette], dtype=np.uint8)
    squares = np.kron(palette[cartoon.cells[:_ROWS, :_KNOTS][::-1]], np.ones((6, 6, 1), dtype=np.uint8))
    return np.pad(squares, ((31, 31), (31, 31), (0, 0)), constant_values=255)


def landscape() -> np.ndarray:
    """Return a picture that is no cartoon: hills under an evening sky, of our own drawing."""
    y, x = np.mgrid[0:300, 0:420].astype(np.float64)
    sky = np.stack([230 - 0.25 * y, 170 - 0.1 * y, 120 + 0.2 * y], axis=-1)
    sky[np.hypot(x - 300, y - 90) < 34] = (243, 222, 160)
    for base, high, wave, colour in (
        (150, 34, 61.0, (120, 96, 110)),
        (195, 28, 43.0, (86, 92, 70)),
        (245, 18, 30.0, (52, 60, 44)),
    ):
        sky[y > base - high * np.sin(x / wave + base)] = colour
    grain = np.random.default_rng(1).normal(0, 4, sky.shape)
    return np.clip(sky + grain, 0, 255).astype(np.uint8)


def plan_form(desk: Any) -> Any:
    return blank_form(desk.today(), 1, desk.length_unit)


def take_nothing(_picture: Any, _doubts: Any) -> None:
    """Take nothing: a scene is only looked at."""


def _what(desk: Any) -> dict[str, Any]:
    return {"path": None, "form": plan_form(desk), "take": take_nothing}


def _begin(desk: Any, rgb: np.ndarray | None, view: View | None) -> Any:
    def then(page: Any) -> None:
        page.start(desk.cartoons.sheet_of(landscape() if rgb is None else rgb, Path("wall.jpg").name))
        if view is not None:
            page.look_at(view.value)

    return then
