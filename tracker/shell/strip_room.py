"""Where the strip that answers stands: in room that the page makes for it, so that it never lies over what can be tapped."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from kivy.clock import Clock
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.scrollview import ScrollView
from kivy.uix.textinput import TextInput
from kivy.uix.widget import Widget

from tracker.shell.page import Page
from tracker.widgets.basics import EmptyState, Scroll, rest_at

LAID_OUT_S = 0.1
"""By then a page has taken its room back."""

Box = tuple[float, float, float, float]
"""Left, bottom, right and top, px in the window."""


def _walk(widget: Widget) -> Iterator[Widget]:
    if widget.opacity == 0 or widget.width <= 0 or widget.height <= 0:
        return
    yield widget
    for child in widget.children:
        yield from _walk(child)


def _box(widget: Widget) -> Box:
    left, bottom = widget.to_window(*widget.pos)
    return left, bottom, left + widget.width, bottom + widget.height


def hides_keys(part: Widget, band: Box) -> bool:
    """Tell whether something that can be tapped in a part of the page shows in a band of the window."""
    left, bottom, right, top = band
    for widget in _walk(part):
        if isinstance(widget, ButtonBehavior | TextInput) and not widget.disabled:
            of_left, of_bottom, of_right, of_top = _box(widget)
            if of_left < right and of_right > left and of_bottom < top and of_top > bottom:
                return True
    return False


def stretching(box: BoxLayout) -> tuple[BoxLayout, Widget] | None:
    """Return the part of a page that takes what room is left, above the keys at its foot, with the box it lies in.

    None where the page lays its parts over each other.
    """
    if box.orientation == "horizontal":
        last = next((pane for pane in box.children if pane.width > 0 and pane.opacity), None)
        return stretching(last) if isinstance(last, BoxLayout) and last.size_hint_y else None
    for child in box.children:  # the lowest first
        if not child.size_hint_y:  # the keys at the foot, also while they are away
            continue
        # What was missing may be there at once: the strip would go with what said so.
        if isinstance(child, BoxLayout) and not isinstance(child, EmptyState):
            deeper = stretching(child)
            if deeper is not None:
                return deeper
        return box, child
    return None


def _top(scroll: ScrollView) -> float:
    """Return where the top of what scrolls stands, px above the foot of the window."""
    if isinstance(scroll, Scroll):
        return scroll.top + scroll.beyond_px
    content = scroll.children[0]
    hidden = content.height - scroll.height
    return scroll.top + (1.0 - scroll.scroll_y) * hidden if hidden > 0 else scroll.top


class StripRoom(Widget):
    """Room for the strip below, or above, the part of a page that scrolls; what scrolls stays where it is on the screen.

    Where the page gives the room above it, what rests at its top stays at its top.
    """

    def __init__(self, moved: Callable[[], None]) -> None:
        super().__init__(size_hint_y=None, height=0)
        self._moved = moved
        self._part: Widget | None = None
        self._page: Page | None = None
        self._touched: tuple[float, float] | None = None
        self._given = False
        """Whether the page gives the room out of what stands above the part that scrolls."""
        self._tops: dict[ScrollView, float] = {}
        self._at_top: set[ScrollView] = set()
        self._end = Clock.create_trigger(lambda _dt: self._let_go(), LAID_OUT_S)

    def take(self, page: Page, height: float, touched: tuple[float, float] | None) -> None:
        """Take room of a page.

        Parameters
        ----------
        height
            Height of the strip with the air around it, px.
        touched
            Where the page was touched last: the strip does not come to stand there. None when it was not touched.
        """
        self._page, self._touched = page, touched
        self._part = self._place(page)[1]
        self.resize(height)

    def _stand(self, height: float) -> None:
        """Stand above the part that scrolls where the page gives room for it there, else below it or above."""
        page, touched = self._page, self._touched
        assert page is not None, "resized before it took room"
        if self.parent is not None:
            self.parent.remove_widget(self)
        box, part = self._place(page)
        left, bottom, right, top = _box(part)
        below, above = (left, bottom, right, bottom + height), (left, top - height, right, top)

        def under_the_finger(band: Box) -> bool:
            return touched is not None and (
                band[0] <= touched[0] <= band[2] and band[1] <= touched[1] <= band[3]
            )

        # Where keys show at both ends the next tap is meant for one beside that of the last.
        nearer_below = touched is not None and touched[1] - bottom < top - touched[1]
        is_above = (
            self._given
            or under_the_finger(below)
            or (
                not page.answers_at_top
                and hides_keys(part, below)
                and (nearer_below or not hides_keys(part, above))
                and not under_the_finger(above)
            )
        )
        at = box.children.index(part)
        box.add_widget(self, at + 1 if is_above else at)

    @staticmethod
    def _place(page: Page) -> tuple[BoxLayout, Widget]:
        place = stretching(page)
        assert place is not None, "a page that lays its parts over each other says where the strip stands"
        return place

    def resize(self, height: float) -> None:
        """Take as much room as the strip has now."""
        self._hold_still()
        if self._page is not None:
            given = self._page.give_strip(height)
            if not given:
                self._page.give_strip(0.0)
            if given != self._given or self.parent is None:
                self._given = given
                self._stand(height)
        self.height = height

    def give_back(self, at_once: bool = False) -> None:
        """Give the room back to the page; what scrolls is held still while the page takes it, unless `at_once`."""
        if at_once:
            self._let_go()
        else:
            self._hold_still()
        if self._page is not None:
            self._page.give_strip(0.0)
            self._page = None
        if self.parent is not None:
            self.parent.remove_widget(self)

    def _hold_still(self) -> None:
        """Hold what scrolls still on the screen until the page is laid out anew."""
        for widget in self._part.walk(restrict=True) if self._part is not None else ():
            if isinstance(widget, ScrollView) and widget.children and widget not in self._tops:
                self._tops[widget] = _top(widget)
                if isinstance(widget, Scroll):
                    widget.let_go()
                    widget.children[0].bind(height=self._filled)
                if self._tops[widget] <= widget.top + 1:
                    self._at_top.add(widget)
                widget.bind(height=self._follow, y=self._follow)
        self._end.cancel()
        self._end()

    def _follow(self, scroll: ScrollView, *_args: Any) -> None:
        if isinstance(scroll, Scroll):
            # A page filled after the strip came keeps its own place, which knows nothing of the room taken: two would pull.
            scroll.let_go()
        hidden = scroll.children[0].height - scroll.height if scroll.children else 0.0
        if hidden > 0 and scroll.height > 0:
            still = min(1.0, max(0.0, 1.0 - (self._tops[scroll] - scroll.top) / hidden))
            rest_at(scroll, 1.0 if self._given and scroll in self._at_top else still)

    def _filled(self, content: Widget, *_args: Any) -> None:
        if content.parent in self._tops:
            self._follow(content.parent)

    def _let_go(self) -> None:
        moved = False
        for scroll, top in self._tops.items():
            scroll.unbind(height=self._follow, y=self._follow)
            for content in scroll.children:
                content.unbind(height=self._filled)
            moved = moved or (bool(scroll.children) and abs(_top(scroll) - top) > 1)
        self._tops.clear()
        self._at_top.clear()
        self._end.cancel()
        if moved:
            self._moved()
