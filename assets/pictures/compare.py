"""Puts ten pages as they were before the look was made anew beside the same pages now, on one sheet.

Run: python assets/pictures/compare.py SHEET.png

The pages of before lie in before.png, as they were drawn from the demo book at 360 x 640.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from draw import GAP, HERE, PAPER, draw
from PIL import Image

PAGES = (
    "home", "loom", "session", "yarn", "yarn_story", "finish", "progress", "diary", "material", "shelf",
)  # fmt: skip
PAGE_SIZE = (360, 640)
BEFORE = HERE / "before.png"


def pages_of(strip: Image.Image) -> list[Image.Image]:
    """Return the pages of a strip that holds them side by side without a gap."""
    width, height = PAGE_SIZE
    return [strip.crop((at * width, 0, (at + 1) * width, height)) for at in range(len(PAGES))]


def pairs(before: list[Image.Image], now: list[Image.Image], columns: int = 5) -> Image.Image:
    """Return a sheet of lines of pages: those of before, the same below them now, and so on."""
    width, height = PAGE_SIZE
    lines = -(-len(before) // columns)
    sheet = Image.new("RGB", (columns * (width + GAP) + GAP, lines * 2 * (height + GAP) + lines * GAP), PAPER)
    for at, two in enumerate(zip(before, now, strict=True)):
        column, line = at % columns, at // columns
        for below, page in enumerate(two):
            y = GAP + line * (2 * (height + GAP) + GAP) + below * (height + GAP)
            sheet.paste(page, (GAP + column * (width + GAP), y))
    return sheet


def main(path: Path) -> None:
    """Draw the pages now and write the sheet to a new file."""
    if path.exists():
        raise SystemExit(f"{path} is there already")
    before = pages_of(Image.open(BEFORE).convert("RGB"))
    with tempfile.TemporaryDirectory() as folder:
        now = draw(Path(folder), "{}x{}".format(*PAGE_SIZE), PAGES)
    pairs(before, now).save(path, optimize=True)


if __name__ == "__main__":
    if len(sys.argv) != 2:
        raise SystemExit(__doc__)
    main(Path(sys.argv[1]))
