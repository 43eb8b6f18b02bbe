"""Draw the demo rug's cartoon, `cartoon.png`: one pixel a knot, eight colours, our own invention.

"Walled garden": a wall of battlements and trees (the border), a pool in the middle (the medallion), two
beds (the pendants) and whatever grew in between. Run it again and the same picture comes out.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
from PIL import Image

PALETTE: dict[str, tuple[str, str]] = {
    "I": ("undyed ivory", "#EFE4CC"),
    "W": ("walnut brown", "#432A1D"),
    "M": ("madder red", "#A5372A"),
    "R": ("pale madder", "#D58F75"),
    "N": ("indigo", "#223A63"),
    "S": ("pale indigo", "#86A5BC"),
    "Y": ("weld yellow", "#DFB048"),
    "G": ("green, indigo over weld", "#55713F"),
}
"""Letter used in the drawings below -> name and colour. The order is that of the picture's palette."""

KNOTS_ACROSS = 241
ROWS = 341
CENTRE_X = KNOTS_ACROSS // 2
CENTRE_Y = ROWS // 2

# Where each frame begins, counted in knots from the edge. Half the difference of rows and knots is 50, so any
# repeat that divides 50 and is mirrored at the middle of each side meets its neighbour in step at the corner.
WALL = 3
MAIN = 13
INNER = 36
FIELD = 43

LETTERS = list(PALETTE)
CODE = {letter: value for value, letter in enumerate(LETTERS)}


def mirrored(rows: list[str]) -> list[str]:
    """Complete the left half of a drawing; its last column is the axis."""
    return [row + row[-2::-1] for row in rows]


def both_ways(rows: list[str]) -> list[str]:
    """Complete the upper left quarter of a drawing; its last row and column are the axes."""
    half = mirrored(rows)
    return half + half[-2::-1]


def turned(rows: list[str]) -> list[str]:
    """Turn a drawing a quarter clockwise."""
    return ["".join(column) for column in zip(*rows[::-1], strict=True)]


def recoloured(rows: list[str], **letters: str) -> list[str]:
    """Put colours in the place of a drawing's small letters."""
    table = str.maketrans(letters)
    return [row.translate(table) for row in rows]


def stamp(grid: np.ndarray, x: int, y: int, rows: list[str]) -> None:
    """Lay a drawing with its middle on (x, y); "." leaves what is there."""
    top, left = y - len(rows) // 2, x - len(rows[0]) // 2
    for down, row in enumerate(rows):
        for right, letter in enumerate(row):
            if letter != ".":
                grid[top + down, left + right] = CODE[letter]


# --- small drawings ---------------------------------------------------------------------------------------------

# Border: a stepped rosette (a gate seen from above): a outline, b petals, c ring, d heart, e seed.
ROSETTE = both_ways(
    [
        "....aaa",
        "....abb",
        "..aaabb",
        "..abbba",
        "aaabbac",
        "abbaacc",
        "abbaccd",
        "aabaccd",
        ".aacadd",
        "aabacdd",
        "abbacde",
    ]
)

# Border: a slim tree with its foot on the garden side: a leaf, b trunk, c fruit.
TREE = mirrored(
    [
        "..c",
        ".cc",
        "..c",
        "..a",
        "..a",
        ".aa",
        ".ab",
        "aaa",
        "aab",
        "aaa",
        "aab",
        "aaa",
        "aab",
        "aaa",
        ".ab",
        ".aa",
        "..b",
        ".bb",
        "bbb",
    ]
)

HEART = both_ways(
    [
        ".......a",
        "..a...aa",
        ".aa..aab",
        "..aa.aab",
        "...aaaab",
        ".aaaaacb",
        "aaabbccc",
        ".abbbccd",
    ]
)
LILY = both_ways(["......a", "..a..aa", ".aa.aab", "..aaabb", "....aab", ".aaaabc", "aabbbcc"])
BLOOM = both_ways(
    [
        ".....aa",
        ".aa.aab",
        ".abaabb",
        "..aabac",
        ".aabcca",
        "aabacdd",
        "abbcadd",
    ]
)
STAR = both_ways(["a...a", ".a.aa", "..aab", ".aabb", "aabbc"])
FLOWER = both_ways(["..a", ".ab", "abc"])
BUD = both_ways([".a", "ab"])
CROSSLET = both_ways(["..aa", "..ab", "aaab", "abbc"])
DIAMOND = both_ways(["...a", "..ab", ".abb", "abbc"])
SHRUB = mirrored(
    [
        ".....a",
        "....aa",
        "....ab",
        ".a..ab",
        "aba..c",
        ".a.c.c",
        "..c.cc",
        "a..c.c",
        "ba..cc",
        "a.c..c",
        ".c.c.c",
        "..c.cc",
        "...ccc",
        ".....c",
        ".....c",
        "...ddd",
        "..dddd",
    ]
)
TULIP = mirrored(
    [
        "a...b",
        "aa.bb",
        "aaabb",
        ".aabb",
        ".aaab",
        "..aaa",
        "....c",
        "cc..c",
        ".cc.c",
        "..ccc",
        "....c",
        "....c",
        "...cc",
    ]
)
BIRD = [
    "......aaa...",
    "a.....aeay..",
    "aa....aaa...",
    "aaa..aaaa...",
    ".abaaaabba..",
    ".aabbbbbba..",
    "..aabbbba...",
    "...aaaaa....",
    "....y.y.....",
    "...yy.yy....",
]
GOAT = [
    ".......y..y..",
    "......y..y...",
    "......y.y....",
    "......aaaa...",
    "a.....aaeaa..",
    "a.....aaa....",
    "aaaaaaaaa....",
    ".abbaabba....",
    ".aabbbbaa....",
    ".aaaaaaaa....",
    ".aa.a.aa.a...",
    ".a..a.a..a...",
    ".y..y.y..y...",
]


# --- frames -----------------------------------------------------------------------------------------------------


def frame(grid: np.ndarray, first: int, last: int, pattern: Callable[[int, int], str]) -> None:
    """Fill the frame from `first` to `last` knots from the edge by pattern(depth, knots from the side's middle)."""
    for y in range(ROWS):
        for x in range(KNOTS_ACROSS):
            side, end = min(x, KNOTS_ACROSS - 1 - x), min(y, ROWS - 1 - y)
            depth = min(side, end)
            if first <= depth <= last:
                along = abs(x - CENTRE_X) if end <= side else abs(y - CENTRE_Y)
                # The two middles are 50 knots out of step; every repeat divides 50.
                grid[y, x] = CODE[pattern(depth - first, along)]


def battlements(depth: int, along: int) -> str:
    """The wall: stepped merlons of ivory into madder, each with a loophole."""
    if depth in (0, 9):
        return "W"
    across = abs((along + 5) % 10 - 5)
    height = (7, 7, 5, 5, 2, 2)[across]
    if 9 - depth <= height:
        return "W" if across == 0 and 9 - depth in (3, 4) else "I"
    return "M"


def beads(depth: int, along: int) -> str:
    """The inner guard: a string of beads on walnut, in four colours by turns."""
    if depth in (0, 6):
        return "W"
    across = abs((along + 5) % 10 - 5)
    if abs(depth - 3) + across <= 2:
        return "M" if depth == 3 and across == 0 else "Y"
    if across == 5 and abs(depth - 3) <= 1:
        return "I"
    if across == 4 and depth == 3:
        return "I"
    return "N"


def border(grid: np.ndarray) -> None:
    """Lay the main border: trees and rosettes by turns, a lone star flower in every corner."""
    frame(grid, MAIN, INNER - 1, lambda depth, along: "I")
    middle = (MAIN + INNER - 1) // 2
    ways = [
        {"a": "W", "b": "M", "c": "I", "d": "N", "e": "Y"},
        {"a": "W", "b": "N", "c": "I", "d": "M", "e": "Y"},
        {"a": "W", "b": "Y", "c": "I", "d": "G", "e": "M"},
        {"a": "W", "b": "G", "c": "I", "d": "M", "e": "Y"},
    ]
    trees = [{"a": "G", "b": "W", "c": "M"}, {"a": "S", "b": "W", "c": "M"}]
    for count, turns in ((17, 0), (27, 1)):
        for place in range(count):
            along = (place - count // 2) * 10
            for far in (False, True):
                # Slip the colours by one on each side, as a weaver does who keeps them in the head.
                order = place // 2 + 2 * far + turns
                if place % 2:
                    art = recoloured(ROSETTE, **ways[order % 4])
                else:
                    art = recoloured(TREE, **trees[order % 2])
                    if far:
                        art = art[::-1]
                if turns:
                    art = [row[::-1] for row in turned(art)]
                    x = KNOTS_ACROSS - 1 - middle if far else middle
                    stamp(grid, x, CENTRE_Y + along, art)
                else:
                    y = ROWS - 1 - middle if far else middle
                    stamp(grid, CENTRE_X + along, y, art)
    corner = both_ways(
        [
            "WWWWWWWWWWWW",
            "WNNNNNNNNNNN",
            "WNNNNNNNNNNN",
            "WNNYNNNNNNNI",
            "WNNNNNNNNNII",
            "WNNNNNINNIII",
            "WNNNNNIINIRR",
            "WNNNNIIIIRRR",
            "WNNNNNNIIIRR",
            "WNNNNIIRIIIM",
            "WNNNIIRRRIMM",
            "WNNIIIRRRMMY",
        ]
    )
    for x in (middle, KNOTS_ACROSS - 1 - middle):
        for y in (middle, ROWS - 1 - middle):
            stamp(grid, x, y, corner)


# --- field ------------------------------------------------------------------------------------------------------


def stepped(x: int, y: int, half_width: int, flat: int, step: tuple[int, int]) -> np.ndarray:
    """Mask of a stepped diamond round (x, y): `flat` rows either way at full width, then step by step in."""
    down, right = np.mgrid[0:ROWS, 0:KNOTS_ACROSS]
    steps = np.maximum(0, -((flat - np.abs(down - y)) // step[1]))
    return np.abs(right - x) <= half_width - steps * step[0]


def shrunk(mask: np.ndarray, knots: int) -> np.ndarray:
    """Take `knots` off a mask all round."""
    for _ in range(knots):
        padded = np.pad(mask, 1)
        mask = np.logical_and.reduce(
            [
                padded[1 + j : 1 + j + ROWS, 1 + i : 1 + i + KNOTS_ACROSS]
                for j in (-1, 0, 1)
                for i in (-1, 0, 1)
            ]
        )
    return mask


def banded(grid: np.ndarray, mask: np.ndarray, bands: str) -> None:
    """Fill a mask from outside in: one letter a knot of depth; the last one fills the rest."""
    for letter in bands:
        grid[mask] = CODE[letter]
        mask = shrunk(mask, 1)


def four(grid: np.ndarray, dx: int, dy: int, rows: list[str]) -> None:
    """Stamp a drawing in all four quarters, mirrored."""
    for sx in (-1, 1):
        for sy in (-1, 1):
            art = rows if sx > 0 else [row[::-1] for row in rows]
            stamp(grid, CENTRE_X + sx * dx, CENTRE_Y + sy * dy, art[::-1] if sy > 0 else art)


HOOK = ["aaaa.", "aaaaa", "...aa", "a..aa", "aaaaa", ".aaa."]


def bed(
    grid: np.ndarray, x: int, y: int, half_width: int, flat: int, step: tuple[int, int], bands: str
) -> None:
    """Lay a stepped diamond with bands of even breadth, one letter a knot from outside in."""
    banded(grid, stepped(x, y, half_width, flat, step), bands)


def hooks(grid: np.ndarray, half_width: int, flat: int, step: tuple[int, int], letter: str) -> None:
    """Set a curled hook on the outer side of every step of the middle's stepped diamond."""
    for n in range(1, half_width // step[0] + 1):
        left = CENTRE_X + half_width - n * step[0] + 1
        foot = CENTRE_Y - flat - (n - 1) * step[1] - 1
        for up, row in enumerate(HOOK[::-1]):
            for right, mark in enumerate(row):
                if mark == ".":
                    continue
                x, y = left + right, foot - len(HOOK) + 1 + (len(HOOK) - 1 - up)
                for xx in (x, 2 * CENTRE_X - x):
                    for yy in (y, 2 * CENTRE_Y - y):
                        grid[yy, xx] = CODE[letter]


def field(grid: np.ndarray) -> None:
    """Lay the ground, the four corner beds, the pool with its island, the two pendants and what grows there."""
    grid[FIELD : ROWS - FIELD, FIELD : KNOTS_ACROSS - FIELD] = CODE["M"]
    inner = np.zeros(grid.shape, bool)
    inner[FIELD : ROWS - FIELD, FIELD : KNOTS_ACROSS - FIELD] = True

    # Corner beds: quarters of a stepped diamond.
    for x in (FIELD - 1, KNOTS_ACROSS - FIELD):
        for y in (FIELD - 1, ROWS - FIELD):
            for depth, letter in enumerate("WIIWGG"):
                grid[stepped(x, y, 46 - depth, 8 - depth, (6, 7)) & inner] = CODE[letter]
    four(grid, 65, 114, recoloured(TULIP, a="R", b="I", c="W"))
    four(grid, 46, 120, recoloured(CROSSLET, a="Y", b="W", c="M"))
    four(grid, 70, 94, recoloured(CROSSLET, a="Y", b="W", c="M"))

    # The pool.
    bed(grid, CENTRE_X, CENTRE_Y, 63, 10, (6, 7), "WIIWNNN")
    hooks(grid, 63, 10, (6, 7), "I")
    for way in (-1, 1):
        stamp(grid, CENTRE_X + way * 49, CENTRE_Y, recoloured(STAR, a="S", b="I", c="M"))
        stamp(grid, CENTRE_X, CENTRE_Y + way * 59, recoloured(STAR, a="S", b="I", c="M"))
    four(grid, 36, 23, recoloured(CROSSLET, a="I", b="S", c="Y"))
    four(grid, 18, 45, recoloured(CROSSLET, a="I", b="S", c="Y"))
    four(grid, 51, 12, recoloured(BUD, a="S", b="Y"))
    four(grid, 8, 66, recoloured(BUD, a="S", b="Y"))
    # The island and its heart.
    bed(grid, CENTRE_X, CENTRE_Y, 37, 8, (5, 6), "IWYYYWRRR")
    bed(grid, CENTRE_X, CENTRE_Y, 18, 4, (4, 4), "WIWMMM")
    stamp(grid, CENTRE_X, CENTRE_Y, recoloured(HEART, a="I", b="N", c="Y", d="M"))
    for way in (-1, 1):
        stamp(grid, CENTRE_X + way * 23, CENTRE_Y, recoloured(DIAMOND, a="W", b="G", c="Y"))
        stamp(grid, CENTRE_X, CENTRE_Y + way * 27, recoloured(DIAMOND, a="W", b="G", c="Y"))
    four(grid, 13, 14, recoloured(FLOWER, a="M", b="I", c="M"))

    # Pendants, hung from the pool by a stem.
    for way in (-1, 1):
        y = CENTRE_Y + way * 103
        grid[min(y, CENTRE_Y + way * 79) : max(y, CENTRE_Y + way * 79) + 1, CENTRE_X - 1 : CENTRE_X + 2] = (
            CODE["I"]
        )
        bed(grid, CENTRE_X, y, 22, 3, (4, 4), "WIWSSS")
        stamp(grid, CENTRE_X, y, recoloured(LILY, a="N", b="I", c="M"))
        for side in (-1, 1):
            stamp(grid, CENTRE_X + side * 13, y, recoloured(BUD, a="N", b="I"))


def pair(grid: np.ndarray, dx: int, dy: int, rows: list[str]) -> None:
    """Stamp an upright drawing left and right, each looking inward."""
    stamp(grid, CENTRE_X - dx, CENTRE_Y + dy, rows)
    stamp(grid, CENTRE_X + dx, CENTRE_Y + dy, [row[::-1] for row in rows])


def fillers(grid: np.ndarray) -> None:
    """Scatter what grew by itself: mostly in pairs, never quite."""
    four(grid, 56, 63, recoloured(BLOOM, a="W", b="Y", c="N", d="I"))
    four(grid, 63, 38, recoloured(SHRUB, a="R", b="Y", c="I", d="R"))
    four(grid, 71, 56, recoloured(DIAMOND, a="I", b="W", c="Y"))
    four(grid, 70, 19, recoloured(DIAMOND, a="W", b="R", c="I"))
    four(grid, 22, 85, recoloured(FLOWER, a="I", b="W", c="Y"))
    # Birds at the upper end look at each other; below, one of them has turned round.
    pair(grid, 37, -95, recoloured(BIRD, a="I", b="N", e="W", y="Y"))
    stamp(grid, CENTRE_X - 37, CENTRE_Y + 96, recoloured(BIRD, a="I", b="N", e="W", y="Y"))
    stamp(grid, CENTRE_X + 35, CENTRE_Y + 96, recoloured(BIRD, a="S", b="W", e="W", y="Y"))
    # Goats graze on the side that is woven first; crosslets answer them above.
    pair(grid, 41, 77, recoloured(GOAT, a="W", b="R", e="I", y="I"))
    pair(grid, 40, -76, recoloured(CROSSLET, a="R", b="W", c="I"))
    pair(grid, 57, -83, recoloured(FLOWER, a="I", b="W", c="Y"))
    stamp(grid, CENTRE_X - 58, CENTRE_Y + 84, recoloured(FLOWER, a="Y", b="W", c="I"))
    stamp(grid, CENTRE_X + 57, CENTRE_Y + 83, recoloured(FLOWER, a="I", b="W", c="Y"))
    # The weaver's mark, once, where nobody looks.
    stamp(grid, CENTRE_X + 70, CENTRE_Y + 4, recoloured(BUD, a="I", b="G"))


def cartoon() -> np.ndarray:
    """Draw the whole rug: uint8 palette values of shape (rows, knots), top row of the picture first."""
    grid = np.zeros((ROWS, KNOTS_ACROSS), dtype=np.uint8)
    frame(grid, 0, WALL - 1, lambda depth, along: "W")
    frame(grid, WALL, MAIN - 1, battlements)
    border(grid)
    field(grid)
    fillers(grid)
    frame(grid, INNER, FIELD - 1, beads)
    return grid


def main() -> None:
    """Write cartoon.png beside this file."""
    picture = Image.fromarray(cartoon(), mode="P")
    picture.putpalette([int(colour[i : i + 2], 16) for _, colour in PALETTE.values() for i in (1, 3, 5)])
    picture.save(Path(__file__).with_name("cartoon.png"), optimize=True)


if __name__ == "__main__":
    main()
