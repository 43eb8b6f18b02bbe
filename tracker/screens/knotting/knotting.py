"""A picture that is no cartoon turned into knots: how many, in which colours, and what the cloth will show."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from kivy.properties import BooleanProperty, NumericProperty, StringProperty

from tracker.presenters.cartoon_reading import (
    MOST_KNOT_COLOURS,
    KnotWish,
    Take,
    build_knot_state,
    first_knot_wish,
    plan_yarns,
)
from tracker.presenters.plan.form import PlanForm
from tracker.sheets.asking import ask_number
from tracker.shell.page import Page, there
from tracker.widgets.basics import Chips, Swatch, load_kv
from tracker.widgets.forms import FormColumn
from tracker.widgets.picture_view import PictureView
from tracker.words import _

MOST_KNOTS = 4000
"""Knots across at most: more would be no picture but a wall."""


class KnottingPage(Page):
    """The picture as the cloth will show it, before it is taken."""

    busy = StringProperty("")
    share = NumericProperty(0.0)
    ready = BooleanProperty(False)

    form: PlanForm | None = None
    wish: KnotWish | None = None

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._view = PictureView(smooth=False, margin=6)
        self.ids.stage.add_widget(self._view)
        self._sheet: Any = None
        self._take: Take | None = None
        self._picture: Any = None
        self._turn = 0

    def enter(
        self, sheet: Any = None, form: PlanForm | None = None, take: Take | None = None, **_what: Any
    ) -> None:
        self._sheet, self.form, self._take = sheet, form, take
        self._picture, self._view.picture = None, None
        if sheet is None or form is None:
            return
        self._knot(first_knot_wish(form))

    def leave(self) -> None:
        self._turn += 1
        self.busy, self._sheet, self._picture, self._view.picture = "", None, None, None

    def refresh(self) -> None:
        self.show()

    def _rows(self, wish: KnotWish) -> int:
        form = there(self.form)
        return int(
            self.desk.cartoons.rows_for(self._sheet, wish.knots, form.knots_per_10cm, form.rows_per_10cm)
        )

    def _knot(self, wish: KnotWish) -> None:
        """Knot the picture off the touch thread; what cannot be is said, and the picture before stays."""
        self._turn += 1
        turn, before, form, sheet, cartoons = (
            self._turn,
            self.wish,
            there(self.form),
            self._sheet,
            self.desk.cartoons,
        )
        self.wish = wish
        rows = self._rows(wish)
        self.busy, self.share = _("Knotting the picture …"), 0.0

        def moved(share: float) -> None:
            def move() -> None:
                if turn == self._turn:
                    self.share = share

            self.desk.post(move)

        def work() -> Any:
            return cartoons.knot(
                sheet,
                (form.knots_per_10cm, form.rows_per_10cm),
                knots=wish.knots,
                rows=rows,
                colours=wish.colours,
                yarns=plan_yarns(form) if wish.own_yarns else (),
                diffuse=wish.diffuse,
                progress=moved,
            )

        def done(knotted: Any) -> None:
            if turn != self._turn:
                return
            self.busy = ""
            self._picture, self._view.picture = knotted
            self.show()

        def failed(sentence: str) -> None:
            if turn != self._turn:
                return
            self.busy, self.wish = "", before if before is not None and self._picture is not None else wish
            self.shell.toast(sentence, warn=True)
            self.show()

        self.show()
        self.desk.aside(work, done, failed)

    def stop(self) -> None:
        """Let the knotting under way end for nothing."""
        self._turn += 1
        self.busy = ""
        self.show()

    def ask_knots(self) -> None:
        """Ask for the knots across; the rows follow the picture's shape."""
        wish = there(self.wish)
        ask_number(
            self.shell, _("Knots across"), wish.knots,
            lambda knots: self._knot(replace(wish, knots=int(knots))), least=2, most=MOST_KNOTS,
        )  # fmt: skip

    def ask_colours(self) -> None:
        """Ask for the number of colours."""
        wish = there(self.wish)
        ask_number(
            self.shell, _("Colours"), wish.colours,
            lambda colours: self._knot(replace(wish, colours=int(colours), own_yarns=False)),
            least=1, most=MOST_KNOT_COLOURS,
        )  # fmt: skip

    def take(self) -> None:
        """Take the knotted picture into the plan, past the page of the reading."""
        picture, take = self._picture, self._take
        if picture is None or take is None or self.busy:
            return
        # Back first: a strip that offers to undo goes with the page it was said on.
        self.shell.back_to("plan")
        self.shell.try_act(lambda: take(picture, ()))

    def show(self) -> None:
        """Show what there is."""
        detail = self.ids.detail
        detail.clear_widgets()
        if self.form is None or self.wish is None:
            return
        self.title = _("Knot a picture")
        self.ready = self._picture is not None and not self.busy
        self._fill(detail)

    def _fill(self, box: FormColumn) -> None:
        wish, form, picture = there(self.wish), there(self.form), self._picture
        state = build_knot_state(
            wish,
            None if picture is None else picture.cells,
            () if picture is None else picture.palette,
            0 if self._sheet is None else self._rows(wish),
            form,
        )
        box.note(_("This is how the whole cloth will look."), tone="soft")
        box.note(state.found, tone="ink", strong=True, style="lead")
        box.note(state.size, tone="ink", style="body")
        box.pair((state.knots, self.ask_knots), (state.colours, self.ask_colours))
        if state.can_use_yarns:
            box.chips(
                ((_("its own colours"), False), (_("the plan's yarns"), True)),
                lambda own: wish.own_yarns == own,
                lambda own: self._knot(replace(wish, own_yarns=bool(own))),
            )
        box.chips(
            ((_("clear areas"), False), (_("soft shades, many colour changes"), True)),
            lambda soft: wish.diffuse == soft,
            lambda soft: self._knot(replace(wish, diffuse=bool(soft))),
        )
        row = Chips()
        for at, (colour, _knots) in enumerate(state.swatches):
            row.add_widget(Swatch(colour=colour, number=str(at + 1), side=30))
        box.add_widget(row)


load_kv(__file__)
