"""A page that was turned and set in other type looks as it does when it is opened so."""

from __future__ import annotations

import gc
from collections import Counter

import pytest

from tests.ui.hand import everything, shown
from tracker.previews.draw import settle
from tracker.screens import PAGES
from tracker.widgets.look import look

IN_EVERY_RUN = ("home", "loom", "finish", "order", "plan", "knotting")
"""One page of each way to be laid out: in kv alone, with lists of tiles, filled from a state, as a form; the others with -m slow."""
UPRIGHT, LYING = (360, 640), (892, 412)


Seen = tuple[str, str, tuple[int, ...]]


def as_it_stands(hand) -> list[Seen]:
    """Return what is seen of a page: each thing that says something or has a ground, where it is, and in which colour."""
    seen = []
    for widget in everything(hand.shell):
        if not shown(widget):
            continue
        box = (*widget.to_window(*widget.pos), *widget.size)
        colours = [
            str([round(part, 2) for part in group.rgba])
            for canvas in (widget.canvas.before, widget.canvas)
            for group in canvas.children
            if type(group).__name__ == "Color"
        ]
        seen.append(
            (
                type(widget).__name__,
                f"{getattr(widget, 'text', '')} {colours}",
                tuple(round(side) for side in box),
            )
        )
    return seen


def apart(walked: list[Seen], fresh: list[Seen]) -> dict[str, list[Seen]]:
    """Return what stands on one of two pages only."""
    one, other = Counter(walked), Counter(fresh)
    return {
        name: list(more) for name, more in (("walked", one - other), ("opened fresh", other - one)) if more
    }


@pytest.mark.parametrize(
    "page", [page if page in IN_EVERY_RUN else pytest.param(page, marks=pytest.mark.slow) for page in PAGES]
)
def test_a_page_walked_through_type_and_turns_stands_as_one_opened_fresh(open_app, demo, page: str) -> None:
    from kivy.core.window import Window

    from tracker.previews.scenes import scenes

    hand = open_app(demo)
    begun = hand.app.desk.drafts.as_they_are()
    scene = next(iter(scenes(hand.app.desk, [page])), None)
    if scene is None:
        pytest.skip("the demo book has no state of it")

    def opened_fresh() -> list[Seen]:
        hand.shell.rebuild_pages()
        scene.show(hand.shell, begun)
        if page == "plan":
            # On its side all parts stand beside the one that is open: the same one upright.
            hand.shell.page.open("rug")
        settle()
        return as_it_stands(hand)

    def set_to(size: tuple[int, int] | None = None, scale: float | None = None) -> None:
        if size is not None:
            Window.size = size
        if scale is not None:
            look.scale_text(phone=scale)
        settle()

    try:
        upright = opened_fresh()
        set_to(size=LYING)
        set_to(scale=2.0)
        walked = as_it_stands(hand)
        lying = opened_fresh()
        assert not apart(walked, lying), "upright, lying, large type"
        set_to(size=UPRIGHT)
        set_to(scale=1.0)
        assert not apart(as_it_stands(hand), upright), "lying in large type, upright, usual type"
        set_to(scale=2.0)
        set_to(size=LYING)
        assert not apart(as_it_stands(hand), lying), "upright, large type, lying"
        set_to(scale=1.0)
        set_to(size=UPRIGHT)
        assert not apart(as_it_stands(hand), upright), "lying in large type, usual type, upright"
    finally:
        open_app.close()
        look.scale_text(phone=1.0)
        gc.collect()
