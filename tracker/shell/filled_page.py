"""A page that is filled from a presenter's state, and anew only when something of it changed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, TypeVar

from kivy.clock import Clock

from tracker.files.typed import read_as
from tracker.shell.page import Page
from tracker.widgets.forms import FormColumn
from tracker.widgets.look import look
from tracker.words import n_, number

Line = TypeVar("Line")


class FilledPage(Page):
    """Subclasses fill the page in `fill`; their kv has a `scroll` and, in it, the page's `columns`."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._shown: tuple[Any, ...] | None = None
        self._explained = ""
        self._in_full: set[str] = set()
        """Lists of which every line was asked for, while the page is on top."""
        look.bind(shape=self._relaid, text_scale=self._relaid)

    def _relaid(self, *_args: Any) -> None:
        """The window or the text has another size: a page that is not on top is filled when it next is."""
        self._shown = None
        if self.parent is not None:
            self.show()

    def stands(self) -> dict[str, Any]:
        return {"scrolled": self.ids.scroll.scroll_y}

    def stand(self, how: dict[str, Any]) -> None:
        scrolled = min(1.0, max(0.0, read_as(float, how["scrolled"])))

        def rest(_dt: float) -> None:
            self.rest((scrolled,))

        Clock.schedule_once(rest)  # what scrolls has its height after the next frame

    def refresh(self) -> None:
        # What stood in place of the columns says nothing of what they hold.
        if self._shown is None or self.missing is not None or self.shows() != self._shown:
            self.show()

    def shows(self) -> tuple[Any, ...]:
        """Return all that the page is made of."""
        desk = self.desk
        # Without a rug it is told whether the book still opens.
        opening = desk.rug is None and (desk.fresh, desk.trouble)
        return desk.rug, desk.answers, desk.settings, desk.today(), opening

    def show(self) -> None:
        """Fill the page with what the book now says."""
        if self.desk is None:
            return
        self._shown = self.shows()
        scroll, columns = self.ids.scroll, self.ids.columns
        scroll.keep_place()
        columns.clear_widgets()
        scroll.fill(columns, iter(self.fill() or ()))

    def on_parent(self, _page: Any, parent: Any) -> None:
        """Forget what was explained, and which lists were opened, while the page was on top."""
        if parent is None and (self._explained or self._in_full):
            self._explained, self._shown = "", None
            self._in_full.clear()

    def explained(self, words: str) -> str:
        """Return what explains a page of which nothing is entered yet; it stays as long as the page is on top.

        Gone with the first answer, it would let all that lies below come up under the finger.
        """
        self._explained = words or self._explained
        return self._explained

    def first_of(self, name: str, lines: Sequence[Line], first: int) -> Sequence[Line]:
        """Return the first lines of a list, all once that was asked for; `key_for_rest` then ends the list."""
        return lines if name in self._in_full else lines[:first]

    def key_for_rest(self, box: FormColumn, name: str, lines: Sequence[Any], first: int) -> None:
        """Add the key that shows the rest of a list; none where all of it is there."""
        more = len(lines) - len(self.first_of(name, lines, first))
        if more <= 0:
            return

        def open_list() -> None:
            self._in_full.add(name)
            self.show()

        box.key(
            n_("Show {count} more", "Show {count} more", more).format(count=number(more)),
            open_list,
            icon="down",
        )

    def fill(self) -> Iterator[None] | None:
        """Fill the page, whose columns are empty.

        A long page yields after each of its parts: what lies below the window is made in the frames after the first. By then
        its columns lie in the page, and nothing is asked of what comes later.
        """
        raise NotImplementedError
