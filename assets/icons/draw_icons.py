"""Draw Loomside's icons: white on clear, 128 pixels square and smaller, tinted by the app; and the app's own icon in colour.

Every drawing is made on a square of 24 by 24 with strokes of 2, so that it stays legible at 24 dp.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from math import cos, pi, sin
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw

SIDE = 128
SMALLER = (32, 64)
"""Sides of the smaller copies, each in a folder of its number: the app takes the smallest that it need not enlarge."""
FINE = 1536
"""Pixels on which a drawing is made before it is made smaller."""
STROKE = 2.1
Point = tuple[float, float]

DRAWINGS: dict[str, Callable[[Pen], None]] = {}


class Pen:
    """Draws on a square of `span` units with round ends and joints; `clear` rubs out instead."""

    def __init__(self, span: float = 24, mode: str = "L") -> None:
        self.scale = FINE / span
        self.image = Image.new(mode, (FINE, FINE), 0)
        self.draw = ImageDraw.Draw(self.image)
        self.ink: int | str = 255

    def at(self, *points: Point) -> list[Point]:
        """Turn units into pixels."""
        return [(x * self.scale, y * self.scale) for x, y in points]

    def dot(self, x: float, y: float, radius: float) -> None:
        """Fill a disc."""
        self.draw.ellipse(self.at((x - radius, y - radius), (x + radius, y + radius)), fill=self.ink)

    def line(self, *points: Point, width: float = STROKE, closed: bool = False) -> None:
        """Draw a line through points."""
        path = [*points, points[0]] if closed else list(points)
        for start, end in pairwise(path):
            (ax, ay), (bx, by) = start, end
            length = max(((bx - ax) ** 2 + (by - ay) ** 2) ** 0.5, 1e-6)
            nx, ny = (ay - by) / length * width / 2, (bx - ax) / length * width / 2
            corners = ((ax + nx, ay + ny), (bx + nx, by + ny), (bx - nx, by - ny), (ax - nx, ay - ny))
            self.draw.polygon(self.at(*corners), fill=self.ink)
        for x, y in path:
            self.dot(x, y, width / 2)

    def shape(self, *points: Point, width: float = 0) -> None:
        """Fill a shape; `width` rounds its corners."""
        self.draw.polygon(self.at(*points), fill=self.ink)
        if width:
            self.line(*points, width=width, closed=True)

    def arc(
        self,
        x: float,
        y: float,
        radius: float,
        start: float,
        end: float,
        width: float = STROKE,
        tall: float = 1,
    ) -> None:
        """Draw an arc clockwise from `start` to `end` degrees (0 = right, 90 = down); `tall` stretches it."""
        count = max(2, int(abs(end - start) / 4))
        turns = [(start + (end - start) * i / count) * pi / 180 for i in range(count + 1)]
        self.line(*[(x + radius * cos(t), y + radius * tall * sin(t)) for t in turns], width=width)

    def ring(self, x: float, y: float, radius: float, width: float = STROKE) -> None:
        """Draw a circle."""
        self.arc(x, y, radius, 0, 360, width)

    def box(self, left: float, top: float, right: float, bottom: float, radius: float = 1.5) -> None:
        """Fill a box with round corners."""
        self.draw.rounded_rectangle(self.at((left, top), (right, bottom)), radius * self.scale, fill=self.ink)

    def frame(
        self, left: float, top: float, right: float, bottom: float, radius: float = 2, width: float = STROKE
    ) -> None:
        """Draw a box's outline, its middle on the given lines."""
        half = width / 2
        self.draw.rounded_rectangle(
            self.at((left - half, top - half), (right + half, bottom + half)),
            (radius + half) * self.scale,
            outline=self.ink,
            width=round(width * self.scale),
        )

    def clear(self) -> None:
        """Rub out from now on."""
        self.ink = 0

    def fill(self) -> None:
        """Draw again."""
        self.ink = 255


def icon(draw: Callable[[Pen], None]) -> Callable[[Pen], None]:
    """Register a drawing under its function's name."""
    DRAWINGS[draw.__name__.strip("_")] = draw
    return draw


# --- the trade's things -----------------------------------------------------------------------------------------


@icon
def rug(pen: Pen) -> None:
    """A rug growing between its warps."""
    for x in (4.2, 9.4, 14.6, 19.8):
        pen.line((x, 2.6), (x, 14), width=1.7)
    pen.shape(
        (3.2, 12.5),
        (8.5, 12.5),
        (8.5, 9.5),
        (15.5, 9.5),
        (15.5, 12.5),
        (20.8, 12.5),
        (20.8, 21),
        (3.2, 21),
        width=1,
    )
    pen.clear()
    pen.shape((12, 12.2), (15, 16), (12, 19.4), (9, 16))


@icon
def row(pen: Pen) -> None:
    """Rows of knots, the last one being knotted."""
    for y, count in ((18.6, 4), (12, 4), (5.4, 2)):
        for i in range(count):
            pen.box(2.2 + 5.1 * i, y - 2.3, 6.5 + 5.1 * i, y + 2.3, 1.6)
    pen.line((14, 5.4), (21, 5.4), width=1.8)


@icon
def ball(pen: Pen) -> None:
    """A ball of yarn with its end hanging."""
    pen.dot(11, 10.5, 8.6)
    pen.line((11, 18.6), (18, 20.6), (21.6, 20.6), width=2)
    pen.clear()
    pen.arc(3.4, 3, 9.5, 0, 80, width=1.3)
    pen.arc(1.5, 1, 15.5, 10, 75, width=1.3)
    pen.arc(19, 18.5, 9, 195, 268, width=1.3)


@icon
def skein(pen: Pen) -> None:
    """A twisted skein."""
    pen.ring(12, 4.8, 2.9, 1.9)
    for y in (10.4, 15, 19.6):
        pen.line((7.6, y + 0.9), (16.4, y - 1.7), width=3.5)


@icon
def shuttle(pen: Pen) -> None:
    """A stick shuttle, wound with weft."""
    for y in (9.3, 14.7):
        pen.line((1.6, y), (22.4, y), width=2)
    pen.box(5.2, 6.2, 18.8, 17.8, 2)
    pen.clear()
    for x in (6.9, 9.9, 12.9, 15.9):
        pen.line((x, 16.6), (x + 1.3, 7.4), width=1.1)


@icon
def wind(pen: Pen) -> None:
    """A spool being wound."""
    pen.box(2.2, 2.2, 17.8, 5.2, 1.4)
    pen.box(2.2, 18.8, 17.8, 21.8, 1.4)
    for y in (8.1, 12, 15.9):
        pen.line((6, y), (14, y), width=2.5)
    pen.line((14, 15.9), (18.6, 14.6), (21.4, 11.6), (21.4, 3.4), width=1.7)


@icon
def warp(pen: Pen) -> None:
    """A loom with its warp."""
    pen.line((3.6, 2.2), (3.6, 21.8), width=2.4)
    pen.line((20.4, 2.2), (20.4, 21.8), width=2.4)
    pen.line((3.6, 5), (20.4, 5), width=2.6)
    pen.line((3.6, 19), (20.4, 19), width=2.6)
    for x in (7.8, 12, 16.2):
        pen.line((x, 5), (x, 19), width=1.6)


@icon
def knot(pen: Pen) -> None:
    """A knot: yarn round two warps, its pile standing out between them."""
    for x in (7.4, 16.6):
        pen.line((x, 1.8), (x, 22.2), width=1.8)
    pen.clear()
    pen.line((7.4, 9), (16.6, 9), width=7.6)
    pen.fill()
    pen.line((7, 7), (17, 7), width=3.8)
    pen.line((5.4, 7.6), (5, 10.4), (11, 13.4), width=2.4)
    pen.line((18.6, 7.6), (19, 10.4), (13, 13.4), width=2.4)
    pen.shape((11, 12.6), (13, 12.6), (14, 19), (10, 19), width=1)


@icon
def scissors(pen: Pen) -> None:
    """Scissors."""
    pen.ring(6.2, 17.6, 3.1)
    pen.ring(17.8, 17.6, 3.1)
    pen.line((8, 15), (17.4, 2.8), width=2.3)
    pen.line((16, 15), (6.6, 2.8), width=2.3)


@icon
def comb(pen: Pen) -> None:
    """The comb that beats the weft down."""
    pen.box(9.6, 1.8, 14.4, 10, 1.6)
    pen.box(3, 8, 21, 13, 1.6)
    for x in (4.4, 8.2, 12, 15.8, 19.6):
        pen.line((x, 11), (x, 20.8), width=1.9)


@icon
def wash(pen: Pen) -> None:
    """A tub of water with a drop above it."""
    pen.shape((12, 1.8), (14.6, 6.2), (12, 8.6), (9.4, 6.2), width=1)
    pen.line((2.6, 11), (21.4, 11))
    pen.shape((4.2, 13.4), (19.8, 13.4), (18, 21), (6, 21), width=1.2)


@icon
def shear(pen: Pen) -> None:
    """Pile below a blade that levels it."""
    pen.shape((2.6, 5), (17, 5), (21.4, 8.4), (2.6, 8.4), width=1.2)
    for x in (4.4, 8.2, 12, 15.8, 19.6):
        pen.line((x, 12), (x, 18.4), width=1.9)
    pen.line((2.4, 20.8), (21.6, 20.8))


@icon
def fringe(pen: Pen) -> None:
    """The end of a rug with its fringe knotted."""
    pen.box(3, 2.6, 21, 9.4, 1.2)
    for x in (5.6, 12, 18.4):
        pen.line((x, 9), (x, 13), width=1.9)
        pen.dot(x, 13.4, 2)
        for lean in (-1.7, 1.7):
            pen.line((x, 14), (x + lean, 21), width=1.6)


@icon
def weigh(pen: Pen) -> None:
    """A pair of scales."""
    pen.line((12, 3.4), (12, 20.6))
    pen.line((7.4, 20.8), (16.6, 20.8))
    pen.line((4.4, 6.2), (19.6, 6.2))
    for x in (5, 19):
        pen.line((x, 6.6), (x - 3, 13), width=1.4)
        pen.line((x, 6.6), (x + 3, 13), width=1.4)
        pen.shape((x - 4, 12.8), (x + 4, 12.8), (x + 2.4, 16), (x - 2.4, 16), width=0.8)


@icon
def money(pen: Pen) -> None:
    """Coins in a pile."""
    pen.arc(12, 6.6, 8, 0, 360, tall=0.42)
    for y in (11.6, 16.6):
        pen.arc(12, y, 8, 0, 180, tall=0.42)
    for x in (4, 20):
        pen.line((x, 6.6), (x, 16.6))


@icon
def buy(pen: Pen) -> None:
    """A market basket."""
    pen.arc(12, 10.4, 6.6, 180, 360, tall=1.1)
    pen.shape((2.6, 10.4), (21.4, 10.4), (19, 20.8), (5, 20.8), width=1.4)
    pen.clear()
    for x, lean in ((8.2, 0.4), (12, 0), (15.8, -0.4)):
        pen.line((x, 13.6), (x + lean, 18), width=1.5)


@icon
def spoilt(pen: Pen) -> None:
    """A ball that is lost for the rug."""
    pen.ring(12, 12, 8.6)
    pen.arc(4, 4, 9, 18, 72, width=1.5)
    pen.arc(20, 20, 9, 198, 252, width=1.5)
    pen.clear()
    pen.line((3, 21), (21, 3), width=5.4)
    pen.fill()
    pen.line((3.4, 20.6), (20.6, 3.4), width=2.4)


@icon
def shelf(pen: Pen) -> None:
    """Rolled rugs on a shelf."""
    pen.line((2.4, 20.8), (21.6, 20.8), width=2.2)
    for x, y in ((7.1, 14.8), (16.9, 14.8), (12, 6.4)):
        pen.ring(x, y, 3.9, 2)
        pen.dot(x, y, 1.3)


@icon
def measure(pen: Pen) -> None:
    """A ruler."""
    pen.frame(2.6, 7.4, 21.4, 16.6, 1.4)
    for x, low in ((6.6, 11.4), (10.2, 13), (13.8, 11.4), (17.4, 13)):
        pen.line((x, 8), (x, low), width=1.7)


@icon
def mirror(pen: Pen) -> None:
    """The cartoon seen from the back."""
    for y in (3.4, 8.2, 13, 17.8):
        pen.line((12, y), (12, y + 2.2), width=1.8)
    pen.shape((9, 5.4), (9, 18.6), (2.6, 18.6), width=1.2)
    pen.line((15.4, 6.6), (15.4, 18.2), (21, 18.2), width=1.8, closed=True)


# --- the book ---------------------------------------------------------------------------------------------------


@icon
def calendar(pen: Pen) -> None:
    """A calendar's leaf."""
    pen.frame(3.2, 5, 20.8, 20.8, 2)
    pen.box(3.2, 5, 20.8, 9.6, 0.6)
    pen.line((7.6, 2.6), (7.6, 6))
    pen.line((16.4, 2.6), (16.4, 6))
    for x, y in ((8, 13), (12, 13), (16, 13), (8, 17), (12, 17)):
        pen.dot(x, y, 1.35)


@icon
def chart(pen: Pen) -> None:
    """A line that climbs between two axes."""
    pen.line((3.4, 3.2), (3.4, 20.6), (20.8, 20.6))
    pen.line((7, 16), (11, 11.4), (14.6, 13.6), (20, 6))
    for x, y in ((7, 16), (11, 11.4), (14.6, 13.6), (20, 6)):
        pen.dot(x, y, 1.9)


@icon
def diary(pen: Pen) -> None:
    """An open book."""
    pen.line(
        (12, 6),
        (8.4, 4.2),
        (2.6, 4.2),
        (2.6, 18),
        (8.4, 18),
        (12, 20),
        (15.6, 18),
        (21.4, 18),
        (21.4, 4.2),
        (15.6, 4.2),
        closed=True,
    )
    pen.line((12, 6), (12, 20), width=1.8)
    for y in (8.6, 12.4):
        pen.line((5.8, y), (8.8, y), width=1.6)
        pen.line((15.2, y), (18.2, y), width=1.6)


@icon
def settings(pen: Pen) -> None:
    """Three pegs on three cords."""
    for y, x in ((5, 15.6), (12, 8), (19, 14)):
        pen.line((2.8, y), (21.2, y), width=2)
        pen.dot(x, y, 3)


@icon
def flag(pen: Pen) -> None:
    """The finish."""
    pen.line((5, 2.6), (5, 21.4), width=2.2)
    pen.shape((5, 3.6), (20, 3.6), (16.4, 8.6), (20, 13.6), (5, 13.6), width=1)


@icon
def place(pen: Pen) -> None:
    """A mark where to go on."""
    pen.shape((6, 3), (18, 3), (18, 21), (12, 16), (6, 21), width=1.4)


@icon
def timer(pen: Pen) -> None:
    """A stop-watch."""
    pen.ring(12, 13.4, 7.8)
    pen.line((9.4, 2.2), (14.6, 2.2), width=2.2)
    pen.line((12, 2.4), (12, 5))
    pen.line((12, 13.4), (12, 9))
    pen.line((12, 13.4), (15, 15.2))


@icon
def pause(pen: Pen) -> None:
    """Pause."""
    pen.box(5, 3.6, 10, 20.4, 1.2)
    pen.box(14, 3.6, 19, 20.4, 1.2)


@icon
def play(pen: Pen) -> None:
    """Go on."""
    pen.shape((6.6, 4.4), (19.4, 12), (6.6, 19.6), width=2)


@icon
def person(pen: Pen) -> None:
    """One weaver."""
    pen.dot(12, 7.2, 4.4)
    pen.shape(
        *[(12 + 8 * cos(t * pi / 180), 20 + 6.4 * sin(t * pi / 180)) for t in range(180, 361, 6)], width=1.2
    )


@icon
def team(pen: Pen) -> None:
    """Weavers side by side."""
    for x in (4.9, 19.1):
        pen.dot(x, 9, 2.9)
        pen.shape(
            *[(x + 4 * cos(t * pi / 180), 19.6 + 5.6 * sin(t * pi / 180)) for t in range(180, 361, 6)],
            width=0.8,
        )
    pen.clear()
    pen.shape(
        *[(12 + 7.2 * cos(t * pi / 180), 20 + 8.2 * sin(t * pi / 180)) for t in range(180, 361, 6)], width=0.4
    )
    pen.dot(12, 7, 4.9)
    pen.fill()
    pen.dot(12, 7, 3.7)
    pen.shape(
        *[(12 + 5.4 * cos(t * pi / 180), 20 + 6.6 * sin(t * pi / 180)) for t in range(180, 361, 6)], width=1
    )


@icon
def camera(pen: Pen) -> None:
    """A camera."""
    pen.shape((3, 7), (7.4, 7), (9, 4.4), (15, 4.4), (16.6, 7), (21, 7), (21, 19.6), (3, 19.6), width=1.8)
    pen.clear()
    pen.dot(12, 13, 4.6)
    pen.fill()
    pen.dot(12, 13, 2.5)


@icon
def photo(pen: Pen) -> None:
    """A picture."""
    pen.frame(3, 4.4, 21, 19.6, 1.8)
    pen.dot(8.2, 9.2, 1.8)
    pen.shape((5, 17.6), (10, 12.6), (12.4, 14.6), (16, 10.2), (19, 14), (19, 17.6), width=0.4)


@icon
def search(pen: Pen) -> None:
    """A reading glass."""
    pen.ring(10, 10, 6.8, 2.3)
    pen.line((15.2, 15.2), (20.8, 20.8), width=2.9)


@icon
def filter_(pen: Pen) -> None:
    """A funnel."""
    pen.shape((3.2, 4), (20.8, 4), (14, 12), (14, 20), (10, 17.6), (10, 12), width=1.4)


@icon
def edit(pen: Pen) -> None:
    """A pencil."""
    pen.shape((3.6, 20.4), (4.8, 15.4), (14, 6.2), (17.8, 10), (8.6, 19.2), width=1)
    pen.shape((16, 4.2), (17.2, 3), (21, 6.8), (19.8, 8), width=1)


@icon
def withdraw(pen: Pen) -> None:
    """A bin."""
    pen.line((3.8, 6), (20.2, 6), width=2.2)
    pen.line((9.4, 3), (14.6, 3), width=2)
    pen.shape((5.8, 8.6), (18.2, 8.6), (17.2, 21), (6.8, 21), width=1)
    pen.clear()
    for x in (9.8, 14.2):
        pen.line((x, 11.4), (x, 18), width=1.6)


@icon
def restore(pen: Pen) -> None:
    """Out of the box again."""
    pen.line((3, 13), (3, 20.6), (21, 20.6), (21, 13))
    pen.line((12, 16), (12, 4), width=2.4)
    pen.line((6.8, 9), (12, 3.6), (17.2, 9), width=2.4)


@icon
def anew(pen: Pen) -> None:
    """From the beginning: once round."""
    pen.arc(12, 12.8, 7.8, -25, 250, width=2.3)
    pen.shape((8.4, 1.6), (15.2, 5.3), (8.8, 9.4), width=1.2)


@icon
def share(pen: Pen) -> None:
    """Hand something out: from one to two."""
    pen.line((6, 12), (18, 5.4))
    pen.line((6, 12), (18, 18.6))
    for x, y in ((5.8, 12), (18, 5.2), (18, 18.8)):
        pen.dot(x, y, 3.3)


@icon
def copy(pen: Pen) -> None:
    """Two leaves alike."""
    pen.line((15.6, 2.9), (3.4, 2.9), (3.4, 17))
    pen.box(6.8, 6.2, 20.8, 21.8, 2)
    pen.clear()
    for y in (11, 14.4, 17.8):
        pen.line((10.2, y), (17.4, y) if y < 17 else (14.4, y), width=1.5)


@icon
def join(pen: Pen) -> None:
    """Two phones put their books together."""
    pen.frame(2.4, 3, 8, 21, 1.6, 1.9)
    pen.frame(16, 3, 21.6, 21, 1.6, 1.9)
    pen.line((9.8, 12), (14.2, 12), width=1.8)
    pen.shape((10.9, 9.2), (8.9, 12), (10.9, 14.8), width=0.8)
    pen.shape((13.1, 9.2), (15.1, 12), (13.1, 14.8), width=0.8)


# --- signs ------------------------------------------------------------------------------------------------------


@icon
def plus(pen: Pen) -> None:
    """More by one."""
    pen.line((12, 4), (12, 20), width=3)
    pen.line((4, 12), (20, 12), width=3)


@icon
def minus(pen: Pen) -> None:
    """Less by one."""
    pen.line((4, 12), (20, 12), width=3)


@icon
def box(pen: Pen) -> None:
    """Not chosen, where several may be."""
    pen.line((5.6, 5.6), (18.4, 5.6), (18.4, 18.4), (5.6, 18.4), width=1.8, closed=True)


@icon
def ring(pen: Pen) -> None:
    """Not chosen, where one is."""
    pen.ring(12, 12, 7.2, 1.8)


@icon
def check(pen: Pen) -> None:
    """Done."""
    pen.line((3.6, 12.6), (9.4, 18.4), (20.4, 6), width=3)


@icon
def close(pen: Pen) -> None:
    """Close."""
    pen.line((5, 5), (19, 19), width=2.8)
    pen.line((19, 5), (5, 19), width=2.8)


@icon
def back(pen: Pen) -> None:
    """Back."""
    pen.line((4, 12), (20.4, 12), width=2.6)
    pen.line((11, 4.8), (3.8, 12), (11, 19.2), width=2.6)


def turn_back(pen: Pen, way: int) -> None:
    """Draw an arrow that turns back to the left (-1) or forward to the right (1)."""

    def x(value: float) -> float:
        return value if way < 0 else 24 - value

    pen.line((x(4), 8.6), (x(14.4), 8.6), width=2.6)
    pen.line(
        *[(x(14.4 + 5.6 * cos(t * pi / 180)), 14.2 + 5.6 * sin(t * pi / 180)) for t in range(-90, 91, 6)],
        width=2.6,
    )
    pen.line((x(14.4), 19.8), (x(8), 19.8), width=2.6)
    pen.line((x(8.8), 3.4), (x(3.6), 8.6), (x(8.8), 13.8), width=2.6)


@icon
def undo(pen: Pen) -> None:
    """Take it back."""
    turn_back(pen, -1)


@icon
def redo(pen: Pen) -> None:
    """Do it again."""
    turn_back(pen, 1)


@icon
def left(pen: Pen) -> None:
    """To the left."""
    pen.line((15.4, 4.4), (7.8, 12), (15.4, 19.6), width=3)


@icon
def right(pen: Pen) -> None:
    """To the right."""
    pen.line((8.6, 4.4), (16.2, 12), (8.6, 19.6), width=3)


@icon
def up(pen: Pen) -> None:
    """Up."""
    pen.line((4.4, 15.4), (12, 7.8), (19.6, 15.4), width=3)


@icon
def down(pen: Pen) -> None:
    """Down."""
    pen.line((4.4, 8.6), (12, 16.2), (19.6, 8.6), width=3)


@icon
def drag(pen: Pen) -> None:
    """Hold here to move."""
    for x in (8, 16):
        for y in (5, 12, 19):
            pen.dot(x, y, 2)


@icon
def more(pen: Pen) -> None:
    """More to choose from."""
    for x in (4.6, 12, 19.4):
        pen.dot(x, 12, 2.4)


@icon
def sun(pen: Pen) -> None:
    """Light."""
    pen.dot(12, 12, 4.8)
    for turn in range(0, 360, 45):
        c, s = cos(turn * pi / 180), sin(turn * pi / 180)
        pen.line((12 + 7.8 * c, 12 + 7.8 * s), (12 + 10 * c, 12 + 10 * s), width=2)


@icon
def moon(pen: Pen) -> None:
    """Dark."""
    pen.dot(11.4, 12.4, 9)
    pen.clear()
    pen.dot(16.4, 8.6, 7.8)


@icon
def speaker(pen: Pen) -> None:
    """Read aloud."""
    pen.shape((3, 9), (6.8, 9), (12, 4.6), (12, 19.4), (6.8, 15), (3, 15), width=1.4)
    pen.arc(12, 12, 4.6, -48, 48, 2)
    pen.arc(12, 12, 9, -48, 48, 2)


@icon
def bell(pen: Pen) -> None:
    """A reminder."""
    dome = [(12 + 6.2 * cos(t * pi / 180), 9.6 + 6.2 * sin(t * pi / 180)) for t in range(180, 361, 6)]
    pen.shape(*dome, (18.6, 14.6), (20.6, 17.4), (3.4, 17.4), (5.4, 14.6), width=1)
    pen.line((12, 2.6), (12, 4), width=2.2)
    pen.shape(
        *[(12 + 2.8 * cos(t * pi / 180), 19.6 + 2.4 * sin(t * pi / 180)) for t in range(0, 181, 6)], width=0.4
    )


@icon
def warning(pen: Pen) -> None:
    """Take care."""
    pen.shape((12, 3.4), (21.4, 19.8), (2.6, 19.8), width=2.2)
    pen.clear()
    pen.line((12, 8.8), (12, 13.8), width=2.3)
    pen.dot(12, 17.3, 1.4)


@icon
def info(pen: Pen) -> None:
    """Why, and from where."""
    pen.dot(12, 12, 9.8)
    pen.clear()
    pen.dot(12, 7, 1.6)
    pen.line((12, 11.2), (12, 17), width=2.6)


# --- the app's own icon -----------------------------------------------------------------------------------------

IVORY, WALNUT, MADDER, INDIGO, WELD = "#EFE4CC", "#432A1D", "#A5372A", "#223A63", "#DFB048"
NIGHT = "#1C1510"
"""The ground of the dark colours; the presplash of a phone set to dark stands on it."""
SPAN = 32.0
"""Units across the app's own icon."""
ADAPTIVE, ADAPTIVE_SIDE = 108, 432
"""Android's adaptive icons are 108 dp square, drawn at four pixels a dp; launchers show the middle 72 dp or less."""
SAFE = 66
"""The circle of this many dp is cut off by no launcher."""
PRESPLASH = (720, 1280)
FLECK = 96
"""Pixels of the small picture in the status bar: 24 dp at four pixels a dp."""


def knot_rows(pen: Pen, colours: dict[str, str], warps: str, between: str) -> None:
    """Draw a few rows of knots growing between their warps."""
    across, knot = 9, 2.75
    first = (SPAN - across * knot) / 2
    rows = [
        "WWWWWWWWW",
        "NININININ",
        "MMMMYMMMM",
        "MMMYNYMMM",
        "MMYNINYMM",
        "MMMYNY...",
    ]
    foot = 26.6
    pen.ink = warps
    for i in range(across):
        for part in (0.28, 0.72):
            x = first + (i + part) * knot
            pen.box(x - 0.27, 3.6, x + 0.27, foot + 2.4, 0.27)
    for up, letters in enumerate(rows):
        top = foot - (up + 1) * knot
        for i, letter in enumerate(letters):
            if letter == ".":
                continue
            left = first + i * knot
            pen.ink = between
            pen.box(left - 0.05, top - 0.05, left + knot + 0.05, top + knot + 0.05, 0)
            pen.ink = colours[letter]
            pen.box(left + 0.07, top + 0.07, left + knot - 0.07, top + knot - 0.07, 0.55)


COLOURS = {"N": INDIGO, "M": MADDER, "Y": WELD, "I": IVORY, "W": WALNUT}


def app_icon(side: int = 512) -> Image.Image:
    """Draw a rug of a few rows of knots growing between its warps, on undyed wool."""
    pen = Pen(SPAN, mode="RGBA")
    pen.ink = IVORY
    pen.box(0, 0, SPAN, SPAN, 6.5)
    knot_rows(pen, COLOURS, WALNUT, WALNUT)
    return pen.image.resize((side, side), Image.Resampling.LANCZOS)


def bare_rug(side: int, warps: str = WALNUT) -> Image.Image:
    """Draw the same rug on nothing."""
    pen = Pen(SPAN, mode="RGBA")
    knot_rows(pen, COLOURS, warps, WALNUT)
    return pen.image.resize((side, side), Image.Resampling.LANCZOS)


def in_safe_circle(picture: Image.Image) -> Image.Image:
    """Lay a square picture into the part of an adaptive icon that no launcher cuts off."""
    # The rug is 24.75 of 32 units wide and 25.4 high: at this side its corners touch the safe circle.
    side = round(SAFE / ADAPTIVE * ADAPTIVE_SIDE / (24.75**2 + 25.4**2) ** 0.5 * SPAN)
    ground = Image.new("RGBA", (ADAPTIVE_SIDE, ADAPTIVE_SIDE), (0, 0, 0, 0))
    edge = (ADAPTIVE_SIDE - side) // 2
    ground.paste(picture.resize((side, side), Image.Resampling.LANCZOS), (edge, edge))
    return ground


def one_ink(picture: Image.Image) -> Image.Image:
    """Return a picture's shape in white, its light colours left open, for a launcher that tints its icons."""
    grey = picture.convert("RGB").convert("L").point(lambda value: 0 if value > 150 else 255)
    alpha = Image.composite(picture.getchannel("A"), Image.new("L", picture.size, 0), grey)
    white = Image.new("RGBA", picture.size, (255, 255, 255, 0))
    white.putalpha(alpha)
    return white


def presplash(ground: str, warps: str) -> Image.Image:
    """Draw what stands on the screen while the app loads."""
    wide, high = PRESPLASH
    picture = Image.new("RGB", PRESPLASH, ground)
    rug = bare_rug(wide // 2, warps)
    picture.paste(rug, ((wide - rug.width) // 2, (high - rug.height) // 2), rug)
    return picture


def draw_package(folder: Path) -> None:
    """Write what the phone's package alone needs: its icons, the small picture of a notice, the presplash."""
    rug = bare_rug(1024)
    resources = folder / "res"
    for name in ("mipmap", "drawable", "drawable-night"):
        (resources / name).mkdir(parents=True, exist_ok=True)
    in_safe_circle(rug).save(folder / "icon_foreground.png", optimize=True)
    Image.new("RGB", (ADAPTIVE_SIDE, ADAPTIVE_SIDE), IVORY).save(
        folder / "icon_background.png", optimize=True
    )
    in_safe_circle(one_ink(rug)).save(resources / "mipmap" / "icon_monochrome.png", optimize=True)
    pen = Pen()
    DRAWINGS["row"](pen)
    alpha = pen.image.resize((FLECK, FLECK), Image.Resampling.LANCZOS)
    notice = Image.new("LA", (FLECK, FLECK), 255)
    notice.putalpha(alpha)
    notice.convert("RGBA").save(resources / "drawable" / "notice.png", optimize=True)
    presplash("#F3EBDC", WALNUT).save(folder / "presplash.jpg", quality=90)
    presplash(NIGHT, "#DCCDB6").save(resources / "drawable-night" / "presplash.jpg", quality=90)


TURNS = 22
"""Turns of thread seen at the rim of a ball."""
DEEP, LIT = (26, 16, 10), (255, 250, 240)


def wound(round_: bool) -> Image.Image:
    """Return the turns of thread and the light on a ball, or on a shuttle's winding, to be laid over a yarn's colour.

    The middle stays calm: there stands the yarn's number.
    """
    side = SIDE * 4
    half = side / 2
    y, x = np.mgrid[0:side, 0:side] / half - 1.0
    far = np.hypot(x, y)
    if round_:
        # Each turn bends as it runs in from the rim; it fades before it reaches the middle.
        phase = np.arctan2(y, x) * TURNS + 5.0 * far
        edge = np.clip((far - 0.52) / 0.3, 0, 1)
        inside = far <= 0.985
        dim = np.clip((far - 0.45) / 0.55, 0, 1) ** 2 * 0.16 + np.clip(x + y, 0, 2) * 0.07
    else:
        far = np.maximum(np.abs(x), np.abs(y))
        # Laid side by side across the shuttle, a little aslant.
        phase = (y * 0.97 + x * 0.22) * 9.0 * pi
        edge = np.clip((far - 0.45) / 0.3, 0, 1)
        inside = np.ones_like(far, dtype=bool)
        dim = np.clip(np.abs(y) - 0.5, 0, 1) * 0.3
    ridge = np.sin(phase)
    dark = np.clip(np.clip(-ridge - 0.2, 0, 1) * 0.34 * edge + dim, 0, 1)
    light = np.clip(ridge - 0.35, 0, 1) * 0.26 * edge
    light += np.clip(1.0 - np.hypot(x + 0.42, y + 0.42) / 0.5, 0, 1) * 0.18
    over = np.where((light > dark)[..., None], np.array(LIT), np.array(DEEP))
    calm = np.clip((far - 0.46) / 0.16, 0, 1)
    alpha = np.maximum(light, dark) * calm * inside * 255
    picture = Image.fromarray(np.dstack([over, alpha]).astype(np.uint8), "RGBA")
    return picture.resize((SIDE, SIDE), Image.Resampling.LANCZOS)


def save(picture: Image.Image, name: str) -> None:
    """Write an icon beside this file, and its smaller copies into folders of their own."""
    here = Path(__file__).parent
    for side in (*SMALLER, SIDE):
        folder = here if side == SIDE else here / str(side)
        folder.mkdir(exist_ok=True)
        copy = picture if side == SIDE else picture.resize((side, side), Image.Resampling.LANCZOS)
        copy.save(folder / f"{name}.png", optimize=True)


def main() -> None:
    """Write every icon beside this file, and those of the phone's package into its own folder."""
    here = Path(__file__).parent
    for name, draw in DRAWINGS.items():
        pen = Pen()
        draw(pen)
        alpha = pen.image.resize((SIDE, SIDE), Image.Resampling.LANCZOS)
        picture = Image.new("LA", (SIDE, SIDE), 255)
        picture.putalpha(alpha)
        save(picture.convert("RGBA"), name)
    app_icon().save(here / "loomside.png", optimize=True)
    save(wound(True), "wound_ball")
    save(wound(False), "wound_shuttle")
    draw_package(here.parents[1] / "android")


if __name__ == "__main__":
    main()
