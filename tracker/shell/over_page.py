"""What lies over a page until it is put away, as the shell knows it before the first sheet is wanted."""

from __future__ import annotations

from typing import Any

from tracker.widgets.laid_out import FloatLayout


class OverPage(FloatLayout):
    """Something over the page; back puts it away."""

    def left(self) -> None:
        """The app goes out of sight while it lies there."""

    def half_filled(self) -> tuple[dict[str, Any], str] | None:
        """Return the small form that lies open in it: as it began, and the draft that keeps its answers."""
        return None

    def put_away(self) -> None:
        """Take it away."""
        if self.parent:
            self.parent.remove_widget(self)
