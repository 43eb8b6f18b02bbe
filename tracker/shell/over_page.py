"""What lies over a page until it is put away, as the shell knows it before the first sheet is wanted."""

from __future__ import annotations

from kivy.uix.floatlayout import FloatLayout


class OverPage(FloatLayout):
    """Something over the page; back puts it away."""

    def left(self) -> None:
        """The app goes out of sight while it lies there."""

    def put_away(self) -> None:
        """Take it away."""
        if self.parent:
            self.parent.remove_widget(self)
