"""One screen of the app."""

from __future__ import annotations

from typing import Any, TypeVar

from kivy.properties import BooleanProperty, ListProperty, ObjectProperty, StringProperty
from kivy.uix.widget import Widget

from tracker.widgets.basics import Scroll, TopBar, load_kv, rest_at
from tracker.widgets.laid_out import BoxLayout

_Value = TypeVar("_Value")


def there(value: _Value | None) -> _Value:
    """Return what a page has once it was entered with a rug: its keys are on the screen only then."""
    assert value is not None, "asked before the page was entered"
    return value


def _title_bar(widget: Widget) -> TopBar | None:
    """Return the bar with the title in what is shown of a widget, or None where it has none."""
    if not widget.opacity or isinstance(widget, TopBar):
        return widget if widget.opacity else None
    return next((bar for child in widget.children if (bar := _title_bar(child)) is not None), None)


class Page(BoxLayout):
    """One screen. Subclasses ask a presenter in `refresh` and lay out in their kv."""

    title = StringProperty("")
    can_go_back = BooleanProperty(True)
    actions = ListProperty([])
    name = StringProperty("")
    unkept = BooleanProperty(False)
    """Whether it holds what a weaver did and no file has: it is not let go of while another page hides it."""
    shell = ObjectProperty(None)
    desk = ObjectProperty(None)
    behind = BooleanProperty(False)
    """Whether what the page foretells is of another day, and being worked out anew."""
    missing = ObjectProperty(None, allownone=True)
    """What the page has nothing to show of (`widgets.basics.Missing`); None: it has something."""

    def lead_on(self) -> None:
        """Do what the key of an empty page says."""
        if self.missing is not None and self.missing.leads_to:
            self.shell.go(self.missing.leads_to)

    def enter(self, **what: Any) -> None:
        """Come on top, told what to show. Called each time, before `refresh`."""

    def refresh(self) -> None:
        """Show what the book now says."""

    def rests(self) -> tuple[float, ...]:
        """Return where what scrolls on the page rests."""
        scrolls = self._scrolls()
        for scroll in scrolls:
            if scroll.beyond_px:  # a share of a height that is to come
                scroll.fill_up()
        return tuple(scroll.scroll_y for scroll in scrolls)

    def rest(self, at: tuple[float, ...] = ()) -> None:
        """Let what scrolls rest where it did (see `rests`), and at its top where nobody knows."""
        for index, scroll in enumerate(self._scrolls()):
            scroll_y = at[index] if index < len(at) else 1.0
            if scroll_y < 1:
                scroll.fill_up()
            rest_at(scroll, scroll_y)

    def _scrolls(self) -> list[Scroll]:
        """Return what scrolls, from top to bottom."""
        scrolls: list[Scroll] = []
        widgets: list[Widget] = [self]
        while widgets:
            widget = widgets.pop()
            if isinstance(widget, Scroll):
                scrolls.append(widget)
            widgets += widget.children
        return scrolls

    def strip_band(self) -> tuple[float, float, float]:
        """Return left, top and width, px, of where the strip that answers stands: over the title, between the keys of the bar.

        There it hides nothing that is read or tapped on the page, and nothing of it has to move.
        """
        bar = _title_bar(self)
        if bar is None:
            return self.x, self.top, self.width
        left, width = bar.title_band
        return left, bar.top, width

    def strip_room(self) -> float:
        """Return the width, px, that the strip takes from the same left end on where its words do not stand over the title."""
        return self.right - self.strip_band()[0]

    def leave(self) -> None:
        """Another page comes on top."""

    def stands(self) -> dict[str, Any]:
        """Return how the page stands beyond what it was opened with, as JSON can say it."""
        return {}

    def stand(self, how: dict[str, Any]) -> None:
        """Stand again as `stands` once told.

        Raises
        ------
        ValueError, LookupError
            When it told no such thing.
        """

    def back(self) -> bool:
        """Handle the back gesture; True when there was something of the page's own to go back from."""
        return False


load_kv(__file__)
