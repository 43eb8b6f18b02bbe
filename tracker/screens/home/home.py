"""The first view of a rug: the three answers and the rug growing."""

from __future__ import annotations

from typing import Any

from kivy.properties import BooleanProperty, ObjectProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior

from tracker.domain.rug import Role
from tracker.presenters.home import NEXT_ICONS, HomeState, YarnLine, build_home_state
from tracker.shell.page import Page
from tracker.widgets.basics import RowKey, load_kv
from tracker.widgets.rug_picture import RugPicture
from tracker.words import _


class YarnTile(RowKey):
    """How one colour or weft stands."""

    line = ObjectProperty(YarnLine("", "", "", "#C8B89A", "", "ink", False, 0.0, Role.PILE), rebind=True)


class PictureKey(ButtonBehavior, RugPicture):
    """The rug's picture; a tap leads closer."""


class HomePage(Page):
    """Where am I, will the yarn last, when is it done."""

    empty = StringProperty("")
    empty_hint = StringProperty("")
    basis = StringProperty("")
    """Why the date changed, or that all of it comes from the plan."""
    act = StringProperty("")
    act_icon = StringProperty("row")
    """What comes next, on the main key."""
    trouble = BooleanProperty(False)
    """Whether the book could not be opened or read."""

    _next_page = "session"

    def refresh(self) -> None:
        desk = self.desk
        self.trouble = bool(desk.trouble)
        if desk.trouble:
            self.title = _("Loomside")
            self.empty, self.empty_hint = desk.trouble, ""
            return
        if desk.rug is None or desk.answers is None:
            self.title = _("Loomside")
            view = None if desk.fresh else desk.last_view()
            if view is not None:
                self.empty = self.empty_hint = ""
                self._show(view.state, view.picture, view.aspect)
            elif desk.fresh:
                self.empty = _("No rug yet.")
                self.empty_hint = _(
                    "Plan the first one: its size, its density, its colours. It takes about two minutes."
                )
            else:
                self.empty, self.empty_hint = _("Opening the book …"), ""
            return
        self.empty = self.empty_hint = ""
        plan = desk.rug.plan
        self._show(build_home_state(desk.rug, desk.answers), desk.picture, plan.width_cm / plan.length_cm)

    def _show(self, state: HomeState, drawn: Any, aspect: float) -> None:
        self.title = state.rug_name
        ids = self.ids
        picture = ids.picture
        picture.aspect = max(0.2, min(3.0, aspect))
        picture.rows, picture.row = max(1, state.rows), state.rows_woven
        if drawn is not picture.picture:
            picture.picture = drawn
        ids.row_figure.text, ids.row_of.text = state.row_figure, state.row_of
        ids.knots.text, ids.knots_gauge.share = state.knots, state.share
        ids.finish_label.text, ids.finish_figure.text = state.finish_label, state.finish_figure
        ids.finish_range.text = state.finish_range
        ids.wish.text = state.wish
        self.basis = state.basis
        self.act, self.act_icon = state.act, NEXT_ICONS[state.next_page]
        self._next_page = state.next_page
        tiles = ids.yarns
        if len(tiles.children) != len(state.yarns):
            tiles.clear_widgets()
            for _line in state.yarns:
                tile = YarnTile()
                tile.bind(on_release=lambda tile: self.open_yarn(tile.line.yarn_id))
                tiles.add_widget(tile)
        for tile, line in zip(reversed(tiles.children), state.yarns, strict=True):
            tile.line = line

    def open_yarn(self, yarn_id: str) -> None:
        """Show the story of one yarn."""
        self.shell.go("yarn_story", yarn_id=yarn_id)

    def log(self) -> None:
        """Open the evening form; without a rug, plan one; a book in trouble is tried again, or led to its copies."""
        if self.trouble and self.desk.damaged:
            self.shell.go("copies")
        elif self.trouble:
            self.desk.trouble = ""
            self.desk.open_soon()
        elif self.desk.rug is None:
            self.shell.go("plan")
        else:
            self.shell.go(self._next_page)


load_kv(__file__)
