"""Every screen in an empty, an ordinary and an overfull book, at every size: nothing clipped, faint or out of reach.

The pictures land in the folder named by LOOMSIDE_PICTURES, or in pytest's own temporary folder.
LOOMSIDE_PAGES names the pages to walk, when only some are of interest.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests.ui.conftest import TODAY

SIZES = ((360, 640), (412, 892), (892, 412), (1280, 800))


@pytest.fixture(scope="session")
def walked_books(tmp_path_factory) -> dict[str, Path]:
    from tests.ui.books import overfull_book
    from tracker.demo import ensure_demo

    folder = tmp_path_factory.mktemp("books")
    return {
        "empty": folder / "empty" / "book.loomside",
        "ordinary": ensure_demo(folder / "ordinary.loomside", TODAY),
        "overfull": overfull_book(folder / "overfull.loomside", TODAY),
    }


@pytest.fixture(scope="session")
def pictures(tmp_path_factory) -> Path:
    named = os.environ.get("LOOMSIDE_PICTURES")
    folder = Path(named) if named else tmp_path_factory.mktemp("pictures")
    folder.mkdir(parents=True, exist_ok=True)
    return folder


@pytest.mark.parametrize("percent", [100, 200])
@pytest.mark.parametrize("size", SIZES, ids=lambda size: "x".join(map(str, size)))
@pytest.mark.parametrize("book", ["empty", "ordinary", "overfull"])
def test_every_screen_reads(open_app, walked_books, pictures, book: str, size, percent: int) -> None:
    from tests.ui.walk import findings
    from tracker.reports.screens import settle
    from tracker.screens import scenes
    from tracker.widgets.look import look

    # Both lights, without doubling the walk: dark at the second size.
    dark = size == SIZES[1]
    hand = open_app(walked_books[book], size=size)
    troubles: list[str] = []
    try:
        look.dark, look.text_scale = dark, percent / 100
        for scene in scenes(hand.app.desk, os.environ.get("LOOMSIDE_PAGES", "").split()):
            scene.show(hand.stage)
            settle()
            name = f"{scene.name}-{book}-{size[0]}x{size[1]}-{percent}{'-dark' if dark else ''}.png"
            picture = pictures / name
            hand.stage.export_to_png(str(picture))
            root = hand.stage.sheet or hand.stage
            troubles += [f"{scene.name}: {finding}" for finding in findings(root, picture)]
    finally:
        look.dark, look.text_scale = False, 1.0
    assert not troubles, f"{len(troubles)} findings\n" + "\n".join(troubles[:60])
