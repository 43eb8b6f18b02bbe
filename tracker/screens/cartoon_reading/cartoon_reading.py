"""A picture of a cartoon read off the touch thread, shown as it was understood, corrected by hand, and taken."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from kivy.metrics import dp
from kivy.properties import BooleanProperty, NumericProperty, StringProperty

from tracker.device.camera import forget_picture
from tracker.presenters.cartoon_reading import (
    KeptParts,
    Mends,
    ReadingState,
    Squares,
    Take,
    View,
    Wishes,
    build_missing_lines,
    build_reading_state,
    doubted_again,
    doubted_squares,
    kept_part,
    mended_as,
    mends_of,
    part_kept,
    used_colours,
    view_words,
    way_words,
)
from tracker.presenters.mending import yarns_to_be
from tracker.presenters.plan.form import PlanForm
from tracker.screens.mending.ground import OnPaper
from tracker.sheets.asking import ask_choice, ask_number
from tracker.sheets.files import CARTOON_ENDINGS
from tracker.sheets.photograph import ask_photograph
from tracker.shell.page import Page, there
from tracker.widgets.basics import Chips, Choice, Swatch, load_kv
from tracker.widgets.forms import FormColumn
from tracker.widgets.key_row import KeyRow  # noqa: F401 - used by the kv file
from tracker.widgets.look import look
from tracker.widgets.picture_view import CornerView, GridView
from tracker.words import _, number

MOST_SIDE = 12_000
MOST_COLOURS = 64
MOST_BORDER = 400
_FIRST_INSET = 0.08
"""Where corners stand before any were found: this share of the picture's sides from its edges."""
_STEP = 0.02
"""Share of the reading after which the bar moves."""


class ViewKey(Choice):
    """A way to look at the picture."""


class Job:
    """One reading under way; it ends itself when `stopped` is set."""

    def __init__(self) -> None:
        self.stopped = False
        self.share = 0.0


class CartoonReadingPage(Page):
    """What was understood of a picture, and the corrections."""

    view = StringProperty(View.SQUARES.value)
    busy = StringProperty("")
    """What is being done; "" when nothing is."""
    share = NumericProperty(0.0)
    ready = BooleanProperty(False)
    """Whether there is a reading that can be taken."""
    forward = StringProperty("")
    """What the main key does."""

    sheet: Any = None
    reading: Any = None
    form: PlanForm | None = None

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._grid = GridView(margin=4)
        self._photo = CornerView(margin=18)
        self._photo.bind(on_moved=lambda _view, corners: self._dragged(corners))
        # Held here: kv keeps only weak references to a pane that is off the page.
        self._stage = self.ids.stage.__self__
        self._job: Job | None = None
        self.path: Path | None = None
        """The picture that is being read; None once it was taken or left."""
        self._take: Take | None = None
        self.wishes: dict[str, Any] = {}
        """What was set by hand of the reading that is shown; where nothing was found yet, of the one to come."""
        self._asked: dict[str, Any] | None = None
        """The same of the reading under way: what is set while it goes on is set beside that."""
        self._wished_before: dict[str, Any] = {}
        """What had been set by hand before the app was ended: asked for again when the picture was read."""
        self._as_read: Any = None
        """The reading before squares of it were mended by hand; the same as `reading` while none were."""
        self._mends_before: Mends | None = None
        """What had been mended by hand before the app was ended."""
        self._entered: tuple[Path | None, PlanForm | None] = (None, None)
        self._ground: OnPaper | None = None
        """The cartoon as it was handed to be mended, and the reading it stands for: what was done there can be undone as long as that is shown."""
        self._ground_of: Any = None
        self._mending = False
        """Whether the page on top mends this reading."""
        self._trouble = ""
        self._before: Any = None
        """The parts of the cartoon read so far, joined, while another part is read."""
        self._ways: tuple[tuple[int, int, Any], ...] = ()
        """(rows, knots, shift) of each way in which the parts just joined fit; empty when nothing was joined."""
        self._joined_from: tuple[Any, Any] | None = None
        self._parts_before: KeptParts | None = None
        """What had been read of the cartoon's parts before the app was ended, until they are joined again."""
        self._visit = 0
        self._turn = object()
        """Another one when what is opened or joined is not waited for any longer."""
        self._photo_scale = 1.0
        self._state: ReadingState | None = None
        look.bind(shape=self._relaid)

    def _relaid(self, *_args: Any) -> None:
        if self.form is not None:
            self.show()

    # --- coming and going

    def enter(
        self,
        path: Path | None = None,
        form: PlanForm | None = None,
        take: Take | None = None,
        wishes: Wishes | None = None,
        mends: Mends | None = None,
        parts: KeptParts | None = None,
        **_what: Any,
    ) -> None:
        mending, self._mending = self._mending, False
        if self._ground is not None:
            self._ground.photograph = None
        if path == self.path and self.sheet is not None and form == self.form:
            return  # back from a page this one led to
        if mending and self.reading is not None and (path, form) == self._entered:
            return  # the reading may be of several pictures by now, none of them held any longer
        self._let_go()
        self._entered = path, form
        self.path, self.form, self._take = path, form, take
        self._wished_before, self._mends_before = dict(wishes or {}), mends
        if path is not None and not self._join_again(parts):
            self._open(path)

    def leave(self) -> None:
        self.stop()

    def refresh(self) -> None:
        self.show()

    def back(self) -> bool:
        if self.view != View.SQUARES.value and self.reading is not None and not self._ways:
            self.view = View.SQUARES.value
            self.show()
            return True
        if self.unkept:
            self._ask_to_leave()
            return True
        self._let_go()
        return False

    def _ask_to_leave(self) -> None:
        """Ask what becomes of squares mended by hand: a picture the camera took here is gone once it is left."""

        def answered(taking: object) -> None:
            if taking:
                self.take()
            else:
                self.unkept = False
                self.shell.back()

        ask_choice(
            self.shell,
            _("The squares you mended are not taken yet"),
            ((self.forward, True), (_("Leave without them"), False)),
            answered,
        )

    def _let_go(self) -> None:
        """Forget the picture: a photograph in full takes tens of megabytes. One the camera wrote here is removed."""
        self.stop()
        self._visit += 1
        self.busy = ""
        if self.path is not None:
            forget_picture(self.path)
        self.sheet = self.reading = self._as_read = self.path = self._state = None
        self._ground = self._ground_of = None
        self.unkept = False
        self.wishes, self._asked, self._trouble, self.ready = {}, None, "", False
        self._before, self._ways, self._joined_from, self._parts_before = None, (), None, None
        self.view = View.SQUARES.value
        self._photo.picture = self._photo.detail = self._grid.picture = None

    # --- reading

    def _open(self, path: Path) -> None:
        cartoons = self.desk.cartoons

        turn = self._turn = object()

        def opened(sheet: Any) -> None:
            if path == self.path and turn is self._turn:
                self.start(sheet)

        def failed(sentence: str) -> None:
            if path == self.path and turn is self._turn:
                self.busy, self._trouble = "", sentence
                self.show()

        self.busy, self.share = _("Opening the picture …"), 0.0
        self.show()
        self.desk.aside(lambda: cartoons.open_file(path), opened, failed)

    def start(self, sheet: Any) -> None:
        """Show an opened picture and read it."""
        self.sheet = sheet
        self._photo.picture, self._photo_scale = self.desk.cartoons.photograph(sheet)
        self._photo.detail = sheet.rgb
        self.find_anew()

    def hold(self, corner: int) -> None:
        """Show the magnifier at a corner, as under a finger."""
        self._photo.hold(corner)

    def _told(self, job: Job) -> Any:
        """Return what moves the bar, called in the thread that reads."""

        def progress(share: float) -> None:
            if share - job.share >= _STEP or share >= 1.0:
                job.share = share
                self.desk.post(lambda: self._moved(job))

        return progress

    def _moved(self, job: Job) -> None:
        if job is self._job:
            self.share = job.share

    def _run(self, words: str, work: Any, wishes: dict[str, Any]) -> None:
        """Read off the touch thread; what a correction cannot do is said, and the reading before it stays."""
        self.stop()
        job = self._job = Job()
        self._asked = wishes
        self.busy, self.share = words, 0.0
        self.show()

        def done(reading: Any) -> None:
            if job is not self._job:
                return
            self._job, self._asked, self.busy = None, None, ""
            if reading is None:
                self._trouble = "" if self.reading is not None else _("The reading was stopped.")
            else:
                self._set_reading(reading, wishes)
            if reading is None or not self._ask_again():
                self._mend_again()
                self.show(anew=True)

        def failed(sentence: str) -> None:
            if job is not self._job:
                return
            self._job, self._asked, self.busy = None, None, ""
            if self._ask_again():
                return
            if self.reading is None:
                # What was set by hand is not to be set once more because it is not right yet.
                self._trouble, self.wishes = sentence, wishes
            else:
                self.shell.toast(sentence, warn=True)
            self.show(anew=True)

        self.desk.aside(lambda: work(job), done, failed)

    def _set_reading(self, reading: Any, wishes: dict[str, Any]) -> None:
        """Take a new reading; what was mended of the one before went with it, and can be had back."""
        before = self.reading, self._as_read, self.wishes
        mended, self.unkept = self.unkept, False
        self.reading = self._as_read = reading
        self.wishes, self._trouble = wishes, ""
        if not mended:
            return

        def undo() -> None:
            self.stop()
            self.reading, self._as_read, self.wishes = before
            self.unkept = True
            self.show(anew=True)

        self.shell.toast(_("The squares were read again. What you mended by hand is gone."), undo=undo)

    @property
    def mends(self) -> Mends | None:
        """What was mended by hand, though the picture may not have been read since the app was ended."""
        if self.reading is None:
            return self._mends_before
        return mends_of(self._as_read, self.reading)

    def _mend_again(self) -> None:
        """Mend again what had been mended before the app was ended, where the picture is read as it was then."""
        mends, self._mends_before = self._mends_before, None
        again = None if mends is None or self.reading is None else mended_as(self.reading, mends)
        if again is not None:
            self.reading = self.desk.cartoons.mended(self.reading, *again)
            self.unkept = True

    def mend(self) -> None:
        """Look at the doubted squares one by one, and mend any, before the cartoon is taken."""
        reading, form, cartoons = self.reading, there(self.form), self.desk.cartoons

        def keep(picture: Any, left: Squares) -> None:
            self.reading = self._ground_of = cartoons.mended(
                self.reading, picture, doubted_again(self.reading, left)
            )
            self.unkept = True

        if self._ground is None or self._ground_of is not reading:
            aspect = form.rows_per_10cm / form.knots_per_10cm
            yarns = yarns_to_be(form, reading.picture)
            back = _("Back to the reading")
            self._ground = OnPaper(reading.picture, yarns, doubted_squares(reading), aspect, keep, back)
            self._ground_of = reading
        self._ground.photograph = cartoons.straightened(reading) if self.sheet is not None else None
        self._mending = True
        self.shell.go("mending", read=self._ground, walk=bool(self._ground.doubts()))

    @property
    def wished(self) -> dict[str, Any]:
        """What was set by hand, though the picture may not have been read since the app was ended."""
        return self._asked or self.wishes or self._wished_before

    @property
    def _set_by_hand(self) -> dict[str, Any]:
        """What is set by hand by now, though it may not be read so yet."""
        return self.wishes if self._asked is None else self._asked

    def _ask_again(self) -> bool:
        """Set by hand again what had been before the app was ended; False when nothing was."""
        wished, self._wished_before = self._wished_before, {}
        if not wished:
            return False
        self._correct(**wished)
        return True

    def stop(self) -> None:
        """End the reading under way; what was read before stays."""
        job, self._job = self._job, None
        if job is None:
            return
        job.stopped = True
        self._asked, self.busy = None, ""
        if self.reading is None:
            self._trouble = _("The reading was stopped.")

    def stop_now(self) -> None:
        """The weaver stops it; opening and joining go on for nothing, for they are not done in steps."""
        if self._job is None and self.busy:
            self._turn, self.busy = object(), ""
            if self.reading is None:
                self._trouble = _("The reading was stopped.")
        self.stop()
        self.show(anew=True)

    def _correct(self, **wishes: Any) -> None:
        """Reckon anew with what was set by hand; what can be shown at once is shown at once."""
        cartoons, sheet, reading = self.desk.cartoons, self.sheet, self.reading
        wanted = {**self._set_by_hand, **wishes}
        self._run(
            _("Calculating again …"),
            lambda job: cartoons.correct(sheet, reading, wanted, self._told(job), lambda: job.stopped),
            wanted,
        )
        if self._job is not None:
            self._glance(wanted)

    def _glance(self, wanted: dict[str, Any]) -> None:
        """Show the straightened picture with the new lines over it before the squares are read."""
        corners = wanted.get("corners") or (self.reading.corners if self.reading is not None else None)
        knots = wanted.get("knots") or (self.reading.knots_across if self.reading is not None else 0)
        rows = wanted.get("rows") or (self.reading.rows if self.reading is not None else 0)
        if corners and knots and rows and max(knots, rows) <= MOST_SIDE:
            self._grid.picture = self.desk.cartoons.between_corners(self.sheet, corners, knots, rows)
            self._grid.knots, self._grid.rows, self._grid.marked = knots, rows, []

    # --- corrections

    def _dragged(self, corners: tuple[tuple[float, float], ...]) -> None:
        scale = self._photo_scale
        placed = tuple((x * scale, y * scale) for x, y in corners)
        if self.reading is None and self._job is None:
            # Nothing was found yet: they are read between once all four, and both numbers, are set.
            self.wishes = {**self.wishes, "corners": placed}
        elif self.view == View.CROP.value:
            (left, top), (right, bottom) = placed[0], placed[2]
            self._correct(crop=(left, top, right, bottom), corners=None)
        else:
            self._correct(corners=placed)

    def _placed(self) -> list[tuple[float, float]]:
        """Return the corners to show, in points of the shown photograph."""
        set_by_hand = self._set_by_hand
        width, height = self._photo.points
        if self.view == View.CROP.value:
            left, top, right, bottom = set_by_hand.get("crop") or (
                0, 0, width * self._photo_scale, height * self._photo_scale
            )  # fmt: skip
            corners = ((left, top), (right, top), (right, bottom), (left, bottom))
        elif set_by_hand.get("corners"):
            corners = set_by_hand["corners"]
        elif self.reading is not None:
            corners = self.reading.corners
        else:
            x, y = width * _FIRST_INSET, height * _FIRST_INSET
            return [(x, y), (width - x, y), (width - x, height - y), (x, height - y)]
        return [(x / self._photo_scale, y / self._photo_scale) for x, y in corners]

    def ask_count(self, wish: str) -> None:
        """Ask for the knots across, the rows or the number of colours; left empty, it is found again."""
        titles = {"knots": _("Knots across"), "rows": _("Rows"), "colours": _("Colours")}
        reading = self.reading
        values = (
            {"knots": reading.knots_across, "rows": reading.rows, "colours": len(reading.palette)}
            if reading is not None
            else {}
        )
        ask_number(
            self.shell, titles[wish], self._set_by_hand.get(wish) or values.get(wish),
            lambda count: self._set_count(wish, count),
            least=1 if wish == "colours" else 2, most=MOST_COLOURS if wish == "colours" else MOST_SIDE, optional=True,
        )  # fmt: skip

    def ask_border(self) -> None:
        """Ask how many knots wide the white border is that nothing tells from the paper, and take it in."""
        ask_number(
            self.shell, _("How many knots wide is the white border?"), 1, self._take_border, least=1, most=MOST_BORDER
        )  # fmt: skip

    def _take_border(self, wide: float) -> None:
        if self.reading is not None:
            self._correct(**self.desk.cartoons.border_wishes(self.reading, int(wide)))

    def _set_count(self, wish: str, count: int | None) -> None:
        if self.reading is None:
            # Nothing was found yet: the corners and both numbers together are the reading.
            self.wishes = {**self.wishes, wish: count}
            self.show()
        else:
            self._correct(**{wish: count})

    def read_between(self) -> None:
        """Read a picture in which nothing was found, between the corners as they stand."""
        scale = self._photo_scale
        corners = tuple((x * scale, y * scale) for x, y in self._photo.corners)
        self._correct(corners=corners)

    def look_at(self, view: str) -> None:
        """Look at it in another way."""
        self.view = view
        self.show(anew=True)

    def choose_other(self) -> None:
        """Read another picture instead."""
        form, take = self.form, self._take
        # Of the parts read before, none is lost because a picture of the next one is not a good one.
        parts = self.parts if self._before is not None else None

        def chosen(path: Path) -> None:
            self._let_go()
            self.shell.replace(self.name, path=path, form=form, take=take, parts=parts)

        ask_photograph(self.shell, _("Which picture?"), chosen, CARTOON_ENDINGS)

    def knot_it(self) -> None:
        """The picture is no cartoon: turn it into knots."""
        take = self._take

        def taken(picture: Any, doubted: tuple[tuple[int, int], ...]) -> None:
            there(take)(picture, doubted)
            self._let_go()

        self.shell.go("knotting", sheet=self.sheet, form=self.form, take=taken)

    # --- several photographs of one cartoon

    @property
    def parts(self) -> KeptParts | None:
        """What was read of the cartoon's other parts, without their photographs; None of one in a single photograph."""
        if self._parts_before is not None:
            return self._parts_before
        first, second, shift = self._before, None, None
        if first is None and self._joined_from is not None:
            first, second = self._joined_from
            at = self.reading.shift
            shift = (at.down, at.right, at.likeness)
        if first is None:
            return None
        kept, other = kept_part(first), None if second is None else kept_part(second)
        if kept is None or (second is not None and other is None):
            return None
        return KeptParts(first=kept, second=other, shift=shift)

    def _join_again(self, parts: KeptParts | None) -> bool:
        """Take up the parts that were read before the app was ended; True when they are all there was to read."""
        if parts is None:
            return False
        cartoons = self.desk.cartoons
        first, second = (
            None if kept is None or (part := part_kept(kept)) is None else cartoons.part_again(*part)
            for kept in (parts["first"], parts["second"])
        )
        self._before = first
        if first is None or second is None:
            return False
        self._parts_before = parts
        self.join_parts(
            first, second, None if parts["shift"] is None else cartoons.shift_again(*parts["shift"])
        )
        return True

    def add_part(self) -> None:
        """Read another photograph of the same cartoon, to be joined to this one."""

        def chosen(path: Path) -> None:
            before = self.desk.cartoons.part_of(self.reading)
            form, take = self.form, self._take
            self._let_go()
            self._before, self.form, self._take, self.path = before, form, take, path
            self._open(path)

        ask_photograph(self.shell, _("Which picture?"), chosen, CARTOON_ENDINGS)

    def join_parts(self, first: Any, second: Any, shift: Any = None) -> None:
        """Join two parts off the touch thread, at a shift the weaver chose or where they fit best."""
        cartoons = self.desk.cartoons
        visit, turn = self._visit, object()
        self._turn = turn

        def done(joined: Any) -> None:
            if visit != self._visit or turn is not self._turn:
                return  # left by now
            self.busy = ""
            self.reading, self._ways = joined
            self._as_read, self.unkept = self.reading, False
            self._joined_from, self._before, self.sheet = (first, second), None, None
            self._parts_before = None
            self._photo.picture = self._photo.detail = None
            self.view = View.KNOTS.value
            self._mend_again()
            self.show(anew=True)

        def failed(sentence: str) -> None:
            if visit != self._visit or turn is not self._turn:
                return
            self.busy = ""
            if self.reading is None:
                self._trouble = sentence
            else:
                self.shell.toast(sentence, warn=True)
            self.show(anew=True)

        self.busy, self.share = _("Joining the parts …"), 0.0
        self.show()
        self.desk.aside(lambda: cartoons.join_parts(first, second, shift), done, failed)

    def _fill_joined(self, box: FormColumn) -> None:
        state = build_reading_state(self.reading, (), frozenset(), there(self.form))
        box.note(state.found, tone="ink", strong=True, style="lead")
        box.note(self.reading.sentence, tone="ink", style="body")
        if len(self._ways) > 1:
            box.warn(
                _(
                    "The design repeats, so the parts fit in several ways. Count the rows, and choose where the "
                    "next part lies."
                )
            )
            taken = self._ways[0][2]
            first, second = there(self._joined_from)
            box.chips(
                tuple(
                    (way_words(rows, knots, shift.down, shift.right), shift)
                    for rows, knots, shift in self._ways
                ),
                lambda shift: shift == taken,
                lambda shift: self.join_parts(first, second, shift),
            )
        self._offer_mending(box, state, first=True)
        box.note(state.size, tone="ink", style="body")
        self._fill_swatches(box, state.swatches)
        self._offer_mending(box, state, first=False)
        box.key(_("Add a photograph of the next part"), self.add_part, icon="join")
        box.key(_("Start with another picture"), self.choose_other, icon="photo", role="quiet")

    def take(self) -> None:
        """Take what was read into the plan, or join it to the parts before."""
        reading, take = self.reading, self._take
        if reading is None or take is None or self.busy:
            return
        if self._before is not None:
            self.join_parts(self._before, self.desk.cartoons.part_of(reading))
            return
        picture, doubted = used_colours(reading.picture), doubted_squares(reading)
        self._let_go()
        # Back first: a strip that offers to undo goes with the page it was said on.
        self.shell.back()
        self.shell.try_act(lambda: take(picture, doubted))

    # --- showing

    def show(self, anew: bool = False) -> None:
        """Show what there is; with `anew` the pictures, too."""
        if self.form is None:
            return
        self.title = _("Read the cartoon")
        self.ready = self.reading is not None and not self.busy
        self.forward = _("Take this cartoon") if self._before is None else _("Join it to the part before")
        self._show_views()
        self._show_picture(anew)
        detail = self.ids.detail
        detail.clear_widgets()
        self._fill(detail)

    def _show_views(self) -> None:
        box = self.ids.views
        box.clear_widgets()
        # While it is read for the first time they stand there already: the picture is not to move when it is.
        are_there = self.sheet is not None and (self.reading is not None or not self._trouble)
        for words, view in view_words() if are_there else ():
            key = ViewKey(text=words, value=view.value, disabled=self.reading is None)
            key.role = "chosen" if view.value == self.view else "plain"
            key.bind(on_release=lambda key: self.look_at(key.value))
            box.add_widget(key)

    def _show_picture(self, anew: bool) -> None:
        on_photo = self.reading is None or self.view in (View.CORNERS.value, View.CROP.value)
        wanted = self._photo if on_photo else self._grid
        if self._stage.children != [wanted]:
            self._stage.clear_widgets()
            self._stage.add_widget(wanted)
        if on_photo:
            if self.sheet is not None and (self.reading is not None or self._trouble):
                self._photo.boxed = self.view == View.CROP.value
                self._photo.place(self._placed())
            else:
                self._photo.place([])
            return
        reading, cartoons = self.reading, self.desk.cartoons
        if not anew and self._grid.picture is not None:
            return
        if self.view == View.KNOTS.value:
            self._grid.smooth = False
            form = there(self.form)
            self._grid.cell_aspect = form.rows_per_10cm / form.knots_per_10cm
            self._grid.picture = cartoons.as_knots(reading.picture)
        else:
            self._grid.smooth = True
            self._grid.cell_aspect = min(3.0, max(1 / 3, reading.points_across / reading.points_along))
            self._grid.picture = cartoons.straightened(reading)
        self._grid.knots, self._grid.rows = reading.knots_across, reading.rows
        self._grid.most_zoom = max(4.0, dp(44) / max(1e-6, self._grid.cell()[1] / self._grid.zoom))
        self._grid.marked = list(doubted_squares(reading))

    def _fill(self, box: FormColumn) -> None:
        if self.reading is None:
            if self._trouble and not self.busy:
                self._fill_trouble(box)
            return
        if self._ways:
            self._fill_joined(box)
            return
        state = self._state = build_reading_state(
            self.reading,
            self.desk.cartoons.say_asks(self.reading),
            frozenset(name for name, value in self.wishes.items() if value is not None),
            there(self.form),
            self.desk.cartoons.asks_pixel_size(self.reading),
        )
        hints = {
            View.CORNERS.value: _(
                "Drag each corner onto the cartoon's corner. Beside the finger it is enlarged."
            ),
            View.CROP.value: _("Drag the box round what you want. Everything outside it is ignored."),
        }
        if self.view in hints:
            box.note(hints[self.view], tone="ink", style="body")
        box.note(state.found, tone="ink", strong=True, style="lead")
        # What was said of the reading before does not hold of the one under way.
        if not self.busy:
            self._fill_verdict(box, state)
        if self.desk.cartoons.may_have_border(self.reading) and not self.busy:
            box.key(_("It has a white border"), self.ask_border, icon="plus")
        points = self.desk.cartoons.as_points(self.reading)
        if points is not None and not self.busy:
            knots, rows = points
            words = _("One pixel a knot: {knots} × {rows} knots").format(
                knots=number(knots), rows=number(rows)
            )
            box.key(words, lambda: self._correct(knots=knots, rows=rows), icon="knot")
        self._offer_mending(box, state, first=True)
        box.note(state.size, tone="ink", style="body")
        box.pair((state.knots, lambda: self.ask_count("knots")), (state.rows, lambda: self.ask_count("rows")))
        box.field(state.colours, lambda: self.ask_count("colours"))
        self._fill_swatches(box, state.swatches)
        self._offer_mending(box, state, first=False)
        if any(value is not None for value in self.wishes.values()):
            box.key(_("Find everything again"), self.find_anew, icon="anew", role="quiet")
        box.key(_("Add a photograph of the next part"), self.add_part, icon="join")
        box.key(_("Choose another picture"), self.choose_other, icon="photo")
        if self._before is None:
            box.key(_("It is no cartoon: knot the picture"), self.knot_it, icon="knot", role="quiet")

    @staticmethod
    def _fill_verdict(box: FormColumn, state: ReadingState) -> None:
        box.note(state.verdict, tone="green" if state.is_sure else "madder", strong=True, style="body")
        for sentence in state.asks:
            if state.verdict:
                box.warn(sentence)
            else:
                box.note(sentence, tone="ink", style="body")

    def _offer_mending(self, box: FormColumn, state: ReadingState, first: bool) -> None:
        """Lead to the doubted squares near the top; where none are doubted, to all squares further down."""
        if state.has_doubts == first and not self.busy:
            box.key(
                state.mend, self.mend, icon="search" if first else "edit", role="plain" if first else "quiet"
            )

    def find_anew(self) -> None:
        """Forget the corrections and let everything be found again."""
        cartoons, sheet = self.desk.cartoons, self.sheet
        self._run(
            _("Looking for the squares …"),
            lambda job: cartoons.read(sheet, self._told(job), lambda: job.stopped),
            {},
        )

    @staticmethod
    def _fill_swatches(box: FormColumn, swatches: tuple[tuple[str, str], ...]) -> None:
        row = Chips(spacing=dp(4))
        for index, (colour, _knots) in enumerate(swatches):
            row.add_widget(Swatch(colour=colour, number=str(index + 1), side=30))
        box.add_widget(row)

    def _fill_trouble(self, box: FormColumn) -> None:
        box.warn(self._trouble)
        if self.sheet is None:
            box.key(_("Choose another picture"), self.choose_other, icon="photo", role="act")
            return
        box.note(
            _("Is it a cartoon? Then drag the four corners onto it, and enter what you count."),
            tone="ink",
            style="body",
        )
        lines = build_missing_lines(self.wishes)
        box.pair((lines[0], lambda: self.ask_count("knots")), (lines[1], lambda: self.ask_count("rows")))
        box.key(_("Read between the corners"), self.read_between, icon="check")
        box.key(_("Knot this picture"), self.knot_it, icon="knot")
        box.key(_("Choose another picture"), self.choose_other, icon="photo", role="quiet")


load_kv(__file__)
