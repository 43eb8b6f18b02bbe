"""The rug's picture on the whole screen: pinch and drag to look closer, the days along its side."""

from __future__ import annotations

from typing import Any

from kivy.clock import Clock
from kivy.core.window import Window
from kivy.properties import BooleanProperty

from tracker.presenters.picture import rug_picture
from tracker.presenters.settings import mirrored_of
from tracker.presenters.zoom import LONGEST_SIDE, build_zoom_state
from tracker.shell.empty import without_rug
from tracker.shell.page import Page
from tracker.theme import DARK, LIGHT
from tracker.widgets.basics import EvenKey, load_kv
from tracker.widgets.look import look
from tracker.widgets.rug_zoom import KEY_STEP, RugZoom  # noqa: F401 - used by the kv file
from tracker.words import _

PLUS_KEYS = (43, 61, 270)
MINUS_KEYS = (45, 269)


class CloseUpKey(EvenKey):
    """A key below the picture, or beside it."""

    SIDE_DP = 8


class ZoomPage(Page):
    """The rug, as close as one likes."""

    has_cartoon = BooleanProperty(False)

    _drawn: tuple[Any, ...] = ()

    def enter(self, marks: bool = False, **_what: Any) -> None:
        Window.bind(on_key_down=self._key)
        if marks:
            self.shell.done_once("marks")
            # Once the page is on top: coming there puts every sheet away.
            Clock.schedule_once(lambda _dt: self.open_marks() if self.desk.rug is not None else None)

    def leave(self) -> None:
        self.ids.closer.picking = False
        Window.unbind(on_key_down=self._key)

    def back(self) -> bool:
        """From close up, back first shows the whole rug; while a place is to be touched it ends that."""
        if self.ids.closer.picking:
            self.ids.closer.picking = False
            return True
        if self.ids.closer.zoom > 1.01:
            self.ids.closer.fit()
            return True
        return False

    def refresh(self) -> None:
        desk = self.desk
        closer = self.ids.closer
        if desk.rug is None or desk.answers is None:
            self.title = _("Loomside")
            self.missing = without_rug(self)
            closer.picture, self._drawn = None, ()
            return
        self.missing = None
        rug = desk.rug
        self.has_cartoon = rug.cartoon is not None
        state = build_zoom_state(rug, desk.answers)
        self.title = state.title
        closer.aspect, closer.rows, closer.row = state.aspect, state.rows, state.row
        closer.row_words, closer.woven, closer.ahead = state.row_words, list(state.woven), list(state.ahead)
        closer.lots, closer.mistakes = list(state.lots), list(state.marks)
        mirrored = mirrored_of(desk.drafts, rug.plan.id)
        drawn = (
            mirrored,
            rug.plan.id,
            rug.cartoon,
            rug.sessions,
            rug.yarns,
            rug.plan.rows,
            look.dark,
        )
        if drawn != self._drawn:
            ground = (DARK if look.dark else LIGHT).card
            closer.picture = rug_picture(rug, ground, LONGEST_SIDE, mirrored)
            self._drawn = drawn

    def open_marks(self) -> None:
        """Show the mistakes that were marked."""
        from tracker.sheets.marks import open_marks

        open_marks(self.shell, self.desk, self.pick)

    def pick(self) -> None:
        """Let the next touch say where a mistake sits."""
        self.ids.closer.picking = True
        self.shell.toast(_("Touch the place of the mistake."))

    def mark(self, row: int, across: float) -> None:
        """A place was touched: ask what is wrong there."""
        from tracker.sheets.marks import open_mark_form

        self.ids.closer.picking = False
        open_mark_form(self.shell, self.desk, row, int(across * self.desk.rug.knots_across) + 1)

    def nearer(self) -> None:
        """One step closer."""
        self.ids.closer.zoom_by(KEY_STEP)

    def farther(self) -> None:
        """One step back."""
        self.ids.closer.zoom_by(1 / KEY_STEP)

    def _key(self, _window: object, key: int, *_args: Any) -> bool:
        if key in PLUS_KEYS:
            self.nearer()
        elif key in MINUS_KEYS:
            self.farther()
        else:
            return False
        return True


load_kv(__file__)
