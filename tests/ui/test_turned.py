"""A page that was turned and set in other type looks as it does when it is opened so."""

from __future__ import annotations

import pytest

from tests.ui.hand import everything, shown
from tracker.previews.draw import settle
from tracker.widgets.look import look

PAGES = ("yarn", "finish", "session", "shopping")
UPRIGHT, LYING = (360, 640), (892, 412)


def as_it_stands(hand) -> list[tuple[str, str, tuple[int, ...]]]:
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


@pytest.mark.parametrize("page", PAGES)
def test_a_page_walked_through_type_and_turns_stands_as_one_opened_fresh(open_app, demo, page: str) -> None:
    from kivy.core.window import Window

    def set_to(scale: float | None = None, size: tuple[int, int] | None = None, anew: bool = False) -> None:
        if scale is not None:
            look.scale_text(phone=scale)
            if anew:
                hand.shell.rebuild_pages()
        if size is not None:
            Window.size = size
        settle()

    def open_it() -> None:
        if page in ("yarn", "finish"):
            hand.shell.open_tab(page)
        else:
            hand.shell.go(page)
        settle()

    hand = open_app(demo)
    try:
        open_it()
        fresh = as_it_stands(hand)
        for anew in (False, True):
            set_to(2.0, anew=anew)
            set_to(size=LYING)
            set_to(1.0)
            set_to(size=UPRIGHT)
            assert as_it_stands(hand) == fresh, (
                f"large type, lying, usual type, upright{', built large' * anew}"
            )
        set_to(size=LYING)
        set_to(2.0)
        set_to(size=UPRIGHT)
        set_to(1.0)
        assert as_it_stands(hand) == fresh, "lying, large type, upright, usual type"
    finally:
        open_app.close()
        look.scale_text(phone=1.0)
