"""Every screen in an empty, an ordinary and an overfull book, at every size: nothing clipped, faint or out of reach.

The pictures land in the folder named by LOOMSIDE_PICTURES; without it those with something wrong land in pytest's own temporary folder.
LOOMSIDE_PAGES names the pages to walk, when only some are of interest.
"""

from __future__ import annotations

import itertools
import os
import shutil
from pathlib import Path

import pytest

from tests.today import TODAY
from tracker.previews.scene import Scene
from tracker.screens import PAGES

SIZES = ((360, 640), (412, 892), (892, 412), (640, 360), (1280, 800), (800, 1280))
BOOKS = ("empty", "ordinary", "overfull")
IN_EVERY_RUN = {
    ("empty", (640, 360), 200, "dark"),
    ("ordinary", (360, 640), 100, "light"),
    ("overfull", (360, 640), 200, "dark"),
}
"""Every book, text size and light at least once, the fullest where it is narrowest; all their combinations are walked with -m slow."""
EVERY_SECOND = ("empty", "overfull")
"""Books of which every run walks each page in every second of its states: what they are for, hardly anything or very much, is in all."""
PARTS = 6
"""A walk is done in so many parts, of about as many scenes each, that none keeps a processor long."""
WALKS = [
    pytest.param(
        *walk,
        part,
        step,
        id=f"{walk[0]}-{walk[1][0]}x{walk[1][1]}-{walk[2]}-{walk[3]}-{part + 1}{'' if step == 1 else '-every-second'}",
        marks=() if walk in IN_EVERY_RUN and step == (walk[0] in EVERY_SECOND) + 1 else pytest.mark.slow,
    )
    for walk in itertools.product(BOOKS, SIZES, (100, 200), ("light", "dark"))
    for part in range(PARTS)
    for step in (1, 2)
    if step == 1 or (walk in IN_EVERY_RUN and walk[0] in EVERY_SECOND)
]


def part_of(every: list[Scene], part: int, step: int = 1) -> list[Scene]:
    """Return the scenes of one part: whole pages, since showing one for the first time costs most; of each every `step`-th state."""
    of_page: dict[str, list[Scene]] = {}
    for scene in every:
        of_page.setdefault(scene.page, []).append(scene)
    parts: list[list[Scene]] = [[] for _part in range(PARTS)]
    for scenes_of_page in sorted(of_page.values(), key=len, reverse=True):
        min(parts, key=len).extend(scenes_of_page[::step])
    return parts[part]


@pytest.fixture(scope="session")
def walked_books(tmp_path_factory, demo_book) -> dict[str, Path]:
    from tests.ui.books import overfull_book

    folder = tmp_path_factory.mktemp("books")
    return {
        "empty": folder / "empty" / "book.loomside",
        "ordinary": Path(shutil.copy(demo_book, folder / "ordinary.loomside")),
        "overfull": overfull_book(folder / "overfull.loomside", TODAY),
    }


@pytest.fixture(scope="session")
def pictures(tmp_path_factory) -> Path:
    named = os.environ.get("LOOMSIDE_PICTURES")
    folder = Path(named) if named else tmp_path_factory.mktemp("pictures")
    folder.mkdir(parents=True, exist_ok=True)
    return folder


@pytest.mark.parametrize(("book", "size", "percent", "light", "part", "step"), WALKS)
def test_every_screen_reads(
    open_app,
    walked_books,
    pictures,
    book: str,
    size: tuple[int, int],
    percent: int,
    light: str,
    part: int,
    step: int,
) -> None:
    from tests.ui.letting_go import references_to, still_there
    from tests.ui.walk import findings, many_sizes, odd_gaps
    from tracker.previews.draw import picture_of, settle
    from tracker.previews.scenes import scenes
    from tracker.widgets.look import look

    named = os.environ.get("LOOMSIDE_PAGES", "").replace(",", " ").split()
    assert set(named) <= set(PAGES), f"no such page: {set(named) - set(PAGES)}"
    hand = open_app(walked_books[book], size=size)
    begun = hand.app.desk.drafts.as_they_are()
    in_part = part_of(scenes(hand.app.desk, named), part, step)
    if not in_part:
        pytest.skip("fewer pages are named than there are parts")
    troubles: list[str] = []
    root = scene = None
    try:
        look.dark, look.text_scale = light == "dark", percent / 100
        for scene in in_part:
            scene.show(hand.shell, begun)
            settle()
            picture = picture_of(hand.shell)
            root = hand.shell.sheet or hand.shell
            found = findings(root, picture)
            if percent == 100 and book != "overfull":
                # Long names and large type shrink to their room rather than break a word.
                found += many_sizes(root) + odd_gaps(root)
            wrong = [f"{scene.name}: {finding}" for finding in found]
            if wrong or "LOOMSIDE_PICTURES" in os.environ:
                name = f"{scene.name}-{book}-{size[0]}x{size[1]}-{percent}-{light}.png"
                picture.save(pictures / name, compress_level=1)
            troubles += wrong
        references = references_to([hand.shell, *hand.shell.every_page()])
        del hand, root, scene, in_part
    finally:
        # Before the look changes: every page would be laid out anew for nobody.
        open_app.close()
        look.dark, look.text_scale = False, 1.0
    kept = still_there(references)
    assert not kept, f"{len(kept)} widgets of a closed app are still there, such as {kept[:5]}"
    assert not troubles, f"{len(troubles)} findings\n" + "\n".join(troubles[:60])


def test_no_scene_begins_with_what_another_one_left_half_filled(open_app, demo_book):
    from tracker.previews.draw import settle
    from tracker.previews.scenes import scenes

    hand = open_app(demo_book)
    every = {scene.name: scene for scene in scenes(hand.app.desk, ("session", "unpick"))}
    for name in ("session", "unpick"):
        every[name].show(hand.shell, {})
        settle()
    assert hand.sees("Unpick from row")
    assert not hand.sees("not saved yet")
