"""Draws README's pictures from the demo book. Run: python assets/pictures/draw.py"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

from PIL import Image

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
DAY = "2026-11-25"
GAP = 16
PAPER = "#C9BBA3"
PHONE = ("home", "session", "loom", "yarn", "finish", "zoom")
TABLET = ("home", "progress")


def draw(folder: Path, size: str, pages: tuple[str, ...]) -> list[Image.Image]:
    """Return the pages of a fresh demo book at a size."""
    shots = folder / size
    subprocess.run(
        [
            sys.executable,
            "main.py",
            "--demo",
            "--day",
            DAY,
            "--screens",
            str(shots),
            "--size",
            size,
            "--only",
            *pages,
        ],
        cwd=ROOT,
        env={**os.environ, "XDG_DATA_HOME": str(folder)},
        check=True,
    )
    return [Image.open(shots / f"{page.replace('_', '-')}.png").convert("RGB") for page in pages]


def side_by_side(pictures: list[Image.Image], columns: int) -> Image.Image:
    """Return equal pictures laid out in columns."""
    width, height = pictures[0].size
    lines = -(-len(pictures) // columns)
    sheet = Image.new("RGB", (columns * (width + GAP) + GAP, lines * (height + GAP) + GAP), PAPER)
    for index, picture in enumerate(pictures):
        sheet.paste(picture, (GAP + index % columns * (width + GAP), GAP + index // columns * (height + GAP)))
    return sheet


def main() -> None:
    """Draw both sheets."""
    with tempfile.TemporaryDirectory() as folder:
        side_by_side(draw(Path(folder), "360x640", PHONE), 3).save(HERE / "phone.png", optimize=True)
        side_by_side(draw(Path(folder), "1280x800", TABLET), 1).save(HERE / "tablet.png", optimize=True)


if __name__ == "__main__":
    main()
