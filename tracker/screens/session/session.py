"""The session form: rows, hours, yarn used up, who wove; saved in at most four taps from the open app."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import partial
from typing import Any

from kivy.clock import Clock
from kivy.metrics import dp
from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty, StringProperty

from tracker.device.clock import now_utc
from tracker.domain.act import ActKind
from tracker.domain.errors import LoomsideError
from tracker.domain.rug import RugPlan
from tracker.domain.step import hours_as_said
from tracker.domain.taught import NOTHING_TAUGHT
from tracker.domain.team import Places
from tracker.domain.work import Evening
from tracker.presenters import session as form_sums
from tracker.presenters import timer as timer_sums
from tracker.presenters.doubts import Doubt
from tracker.presenters.home import what_changed, why_moved
from tracker.presenters.of_rug import of_rug, put_of_rug
from tracker.presenters.places import SEATS, names_of_weavers, seats_for_session
from tracker.presenters.session import SessionForm, UseLine
from tracker.presenters.trimming import due_words
from tracker.presenters.whose import WhoseLine, shared_out
from tracker.sheets.asking import ask_choice, ask_day, ask_doubt, ask_number
from tracker.sheets.places import PlacesStrip  # noqa: F401 - used by the kv file
from tracker.sheets.weavers import ask_weaver_name
from tracker.shell.page import Page, there
from tracker.shell.undo import undoable
from tracker.widgets.basics import Choice, Column, Key, RowKey, load_kv
from tracker.widgets.entry import Entry  # noqa: F401 - used by the kv file
from tracker.widgets.forms import chip, lay_under_shorter
from tracker.widgets.key_row import KeyRow  # noqa: F401 - used by the kv file
from tracker.widgets.laid_out import BoxLayout
from tracker.widgets.look import look
from tracker.widgets.plain_label import lines_taken
from tracker.words import _, day, number


def waiting_form(desk: Any) -> SessionForm | None:
    """Return the form of the rug in hand that waits beside the book: its rows are counted and not saved."""
    return form_sums.waiting_form(desk.drafts, desk.rug, desk.today())


BALL_DP = 40
"""Width of a ball with its count, beside which its name stands."""
LINES_BESIDE_ANOTHER = 3
"""Lines of a name, at most, of yarns that stand side by side; longer ones have the whole width, on which two lines are enough."""


class UseTile(RowKey):
    """One yarn: each tap says one more ball or shuttle ended."""

    line = ObjectProperty(UseLine("", "", "", "#C8B89A", 0.0), rebind=True)
    unit = StringProperty("")

    __events__ = ("on_fewer",)

    def on_fewer(self) -> None:
        """The minus key was tapped."""


class PlacesLine(Column):
    """Who of a team sits where across the width; tapping it asks."""

    parts = ObjectProperty((), force_dispatch=True)
    told = StringProperty("")

    __events__ = ("on_ask",)

    def on_ask(self) -> None:
        """The line was tapped."""


class WhoseAsk(Column):
    """Whose balls of one colour ended; nobody need say."""

    words = StringProperty("")


class WaitingLine(Column):
    """Says that the form waits since an earlier day, or was undone, and offers to begin anew."""

    words = StringProperty("")
    undone = BooleanProperty(False)
    """What waits was undone: it is saved again only once that was asked for."""

    __events__ = ("on_afresh", "on_again")

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._again = Key(text=_("Take it up again"), icon="redo")
        self._again.bind(on_release=lambda _key: self.dispatch("on_again"))
        self._afresh = Key(icon="plus")
        self._afresh.bind(on_release=lambda _key: self.dispatch("on_afresh"))
        self.ids.ways.add_widget(self._afresh)
        self.on_undone()

    def on_undone(self, *_args: Any) -> None:
        """Offer both ways where it was undone."""
        keys = self.ids.ways
        if self.undone and self._again.parent is None:
            keys.add_widget(self._again, index=len(keys.children))
        elif not self.undone and self._again.parent is not None:
            keys.remove_widget(self._again)
        self._afresh.text = _("Leave it") if self.undone else _("Begin a new one")
        self._afresh.icon = "" if self.undone else "plus"

    def on_afresh(self) -> None:
        """Begin anew was tapped."""

    def on_again(self) -> None:
        """What was undone is taken up again."""


class SessionPage(Page):
    """Enter or correct one session."""

    correcting = BooleanProperty(False)
    rows = NumericProperty(0)
    rows_after = StringProperty("")
    rows_refused = StringProperty("")
    refused = StringProperty("")
    """Why something else in the form cannot be saved."""
    hours = StringProperty("")
    hours_label = StringProperty("")
    hours_usual = StringProperty("")
    hours_saved_words = StringProperty("")
    ball_names = ObjectProperty(())
    shuttle_names = ObjectProperty(())
    hours_saved = NumericProperty(None, allownone=True)
    """The hours that were saved, where the form proposes others for its rows."""
    day = StringProperty("")
    noted = StringProperty("")
    note = StringProperty("")
    timer_shown = StringProperty("")
    timer_state = StringProperty("none")
    can_save = BooleanProperty(False)
    save_words = StringProperty("")
    begun_label = StringProperty("")
    begun_shown = StringProperty("")
    half = NumericProperty(0)
    begun = NumericProperty(-1)
    """Knots of the next row that are tied; -1: nobody said."""
    begun_told = StringProperty("")

    rug_named = StringProperty("")
    """Which rug is meant, where there are several on the looms."""

    form: SessionForm | None = None
    _waited = _undone = False
    _apart = False
    """Not the evening at hand: a correction, or a session of an earlier day. Timer and place at the loom are no part of it."""
    _timer_key: Any = None
    """Held here, for it stands beside the hours of the evening at hand alone."""
    _form_of = ""
    """The rug of which the form is."""
    _session_id: str | None = None
    _on_day = ""
    _shown_on: date | None = None
    _offered: int | None = None
    """Knots of the next row that were marked at the loom on another day."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.places_line = PlacesLine()
        self.places_line.bind(on_ask=lambda _line: self.ask_places())
        # Held here: it changes its column when the window is turned.
        self._people = self.ids.people.__self__
        self._timer_key = self.ids.timer.__self__
        look.bind(shape=self._lay)
        self._lay()
        self.waiting_line = WaitingLine()
        self.waiting_line.bind(
            on_afresh=lambda _line: self.begin_anew(), on_again=lambda _line: self.take_up_again()
        )

    def _lay(self, *_shape: object) -> None:
        """Balance the two columns of a wide window: who sat there stands under the rows."""
        lay_under_shorter(self._people, self.ids.left, self.ids.right, self.ids.note_head.__self__)

    def enter(self, session_id: str | None = None, on_day: str = "", **_what: Any) -> None:
        self._session_id, self._on_day = session_id, on_day
        self.form, self._form_of = None, ""
        self._take_up()
        self.shell.bind(timer_words=self._tick)

    def _take_up(self) -> None:
        """Take up the form of the rug in hand: what waits of it, else an empty one."""
        desk, session_id, on_day = self.desk, self._session_id, self._on_day
        if desk.rug is None:
            return
        self._form_of = desk.rug.plan.id
        self.correcting = session_id is not None
        on = date.fromisoformat(on_day) if on_day else desk.today()
        past = "" if on == desk.today() else f"{desk.rug.plan.id} {on.isoformat()}"
        self._apart = session_id is not None or bool(past)
        # A session of another day is a form of its own: what waits of this evening stays as it is.
        self._draft = f"{form_sums.APART} {session_id or past}" if self._apart else ""
        self._offer_timer()
        draft = self._form_kept()
        if draft is not None and not self.correcting:
            if self._apart and form_sums.as_it_was(draft, desk.rug):
                # It was saved, and the app killed before it forgot the form.
                desk.drafts.put(self._draft, None)
                draft = None
            else:
                draft = form_sums.of_its_own(draft, desk.rug)
        self._waited = self._undone = False
        self._shown_on = None
        if draft is not None:
            self.form = draft if self._apart else draft.taken_up(desk.today())
            self._waited = True
        elif session_id is not None:
            session = next((s for s in desk.rug.sessions if s.id == session_id), None)
            if session is None:
                Clock.schedule_once(lambda _dt: self._leave_with(_("That session is no longer in the book.")))
                self.form = form_sums.blank_form(desk.rug, desk.today())
            else:
                self.form = form_sums.form_of(session, desk.rug)
        elif past:
            blank = form_sums.blank_form(desk.rug, on)
            self.form = form_sums.with_seats(blank, desk.rug, self._seats())
        else:
            self.form = self._blank()
        if not self._apart:
            self.form = there(self.form).with_place_at_loom(desk.rug, self._place_at_loom())

    def _form_kept(self) -> SessionForm | None:
        """Return this form as it was kept beside the book; None where it was not."""
        if not self._apart:
            return form_sums.form_kept(self.desk.drafts, self._form_of)
        return form_sums.from_kept(self.desk.drafts.get(self._draft) or {})

    def _keep_form(self, form: SessionForm | None) -> None:
        """Keep this form beside the book; None forgets it."""
        if not self._apart:
            form_sums.keep_form(self.desk.drafts, self._form_of, form)
        else:
            self.desk.drafts.put(self._draft, None if form is None else form_sums.to_kept(form))

    def _leave_with(self, sentence: str) -> None:
        self.shell.back()
        self.shell.toast(sentence, warn=True)

    def _blank(self) -> SessionForm:
        """Return what an evening starts with: a session undone today, else an empty form."""
        desk = self.desk
        undone = form_sums.taken_back(desk.drafts, desk.rug, desk.today())
        if undone is not None:
            undone = form_sums.without_slip(undone, desk.rug, desk.today(), self._lately())
        self._undone = undone is not None
        if undone is not None:
            return undone
        blank = form_sums.blank_form(desk.rug, desk.today(), self._timer_hours())
        return form_sums.with_seats(blank, desk.rug, self._seats())

    def _lately(self) -> Evening | None:
        """Return what an evening ties at the rug beside this one, for who has no evening at this one yet."""
        return None if self.desk.rug.woven_sessions else self.desk.evening_lately()

    def _seats(self) -> Places:
        """Return who sits where as set for the balls; () where nobody set it, or a session said others since."""
        return seats_for_session(self.desk.drafts.get(SEATS), self.desk.rug)

    def _place_at_loom(self) -> form_sums.PlaceAtLoom | None:
        """Return how far the row is tied as marked at the loom; None without a mark."""
        rug, places = self.desk.rug, self.desk.drafts.get(form_sums.PLACE)
        if rug.cartoon is None or not isinstance(places, dict) or rug.plan.id not in places:
            return None
        # numpy comes with it, which a form without a mark does not wait for
        from tracker.presenters.loom import knots_at
        from tracker.presenters.settings import mirrored_of

        return knots_at(places, rug, mirrored_of(self.desk.drafts, rug.plan.id))

    def leave(self) -> None:
        self.shell.unbind(timer_words=self._tick)

    # --- showing

    def refresh(self) -> None:
        if self.desk.rug is not None and self.desk.rug.plan.id != self._form_of:
            # Another rug was taken in hand while this page was open: what was entered waits with the other.
            self._take_up()
        if self.form is None or self.desk.rug is None:
            return
        self._follow_timer()
        today = self.desk.today()
        if self._shown_on not in (None, today) and not self._apart:
            # The page stayed open over midnight.
            self.form = self.form.taken_up(today).with_place_at_loom(self.desk.rug, self._place_at_loom())
        self._shown_on = today
        answers = self.desk.answers
        state = form_sums.build_session_state(
            self.form,
            self.desk.rug,
            self.desk.today(),
            self.correcting,
            (self._waited and not self._apart) or self._ended_on() is not None,
            NOTHING_TAUGHT if answers is None else answers.taught,
            self._lately(),
            None if self._apart else self._place_at_loom(),
        )
        meant = self.desk.rug.plan
        self.title = form_sums.title_of(self.correcting)
        self.rug_named = form_sums.rug_named(meant, self.desk.plans)
        self.day, self.rows, self.rows_after = state.day, state.rows, state.rows_after
        self.rows_refused, self.refused = state.rows_refused, state.refused
        self.hours, self.hours_label = state.hours, state.hours_label
        # What was undone is not saved again by a tap on a lit key that nobody asked for.
        self.can_save = state.can_save and not self._undone
        self.note, self.save_words = state.note, state.save_words
        self.hours_usual, self.noted = state.hours_usual, state.noted
        self.hours_saved, self.hours_saved_words = state.hours_saved, state.hours_saved_words
        if self.form.hours is None and self._timer() is not None and not self._apart:
            self.hours = number(0)
        self.begun_label, self.begun_shown, self.half = state.begun_label, state.begun_shown, state.half
        self.begun = -1 if state.begun is None else state.begun
        self.begun_told, self._offered = state.begun_told, state.begun_offered
        if self.ids.note.text != state.note and not self.ids.note.focus:
            self.ids.note.text = state.note
        self._fill_suggestions(state.suggestions)
        self.ball_names = tuple(line.name for line in state.balls)
        self.shuttle_names = tuple(line.name for line in state.shuttles)
        self._fill_tiles(self.ids.balls, state.balls)
        self._fill_tiles(self.ids.shuttles, state.shuttles)
        self._fill_whose(state.whose)
        self._fill_weavers(state.weavers)
        self._fill_places(state)
        self._show_waiting(_("Undone, but not lost: it waits here.") if self._undone else state.waiting)
        self._show_timer()

    def _fill_suggestions(self, values: tuple[int, ...]) -> None:
        box = self.ids.suggestions
        if [key.value for key in reversed(box.children)] != list(values):
            box.clear_widgets()
            for value in values:
                key = Choice(text=number(value), value=value, style="lead", size_hint_y=1, marked=False)
                key.bind(on_release=lambda key: self.set_rows(key.value))
                box.add_widget(key)
        for key in box.children:
            key.role = "chosen" if key.value == self.rows else "plain"

    def names_fit(self, names: tuple[str, ...], width: float, _type_sizes: object) -> bool:
        """True where each name has few lines beside its ball in half of `width` px; told of the sizes of type so that kv asks anew."""
        room, size = (width - look.gap) / 2 - 2 * look.gap - dp(BALL_DP), look.type_sizes["small"]
        return room <= 1 or all(
            lines_taken(name, room, "Roboto", size) <= LINES_BESIDE_ANOTHER for name in names
        )

    def _fill_tiles(self, box: BoxLayout, lines: tuple[UseLine, ...]) -> None:
        if len(box.children) != len(lines):
            box.clear_widgets()
            for _line in lines:
                tile = UseTile()
                tile.bind(
                    on_release=lambda tile: self.use(tile.line, 1),
                    on_fewer=lambda tile: self.use(tile.line, -1),
                )
                box.add_widget(tile)
        for tile, line in zip(reversed(box.children), lines, strict=True):
            tile.line = line

    def _fill_weavers(self, weavers: tuple[tuple[str, str, bool], ...]) -> None:
        box = self.ids.weavers
        box.clear_widgets()
        for weaver_id, name, sat in weavers:
            box.add_widget(chip(name, weaver_id, sat, self.toggle_weaver, several=True))
        add = Key(text=_("Add a weaver"), icon="plus")
        add.bind(on_release=lambda _key: self.add_weaver())
        box.add_widget(add)

    def _fill_whose(self, lines: tuple[WhoseLine, ...]) -> None:
        box = self.ids.whose
        box.clear_widgets()
        for line in lines:
            ask = WhoseAsk(words=line.words)
            for name, weaver_id, chosen in line.choices:
                ask.ids.names.add_widget(chip(name, weaver_id, chosen, partial(self.say_whose, line.yarn_id)))
            box.add_widget(ask)

    def _fill_places(self, state: form_sums.SessionState) -> None:
        """Show the line of places for a team only, so that who weaves alone has the shorter form."""
        column, line = self._people, self.places_line
        if not state.team:
            if line.parent is not None:
                column.remove_widget(line)
            return
        line.parts, line.told = state.places, state.places_words
        if line.parent is None:
            column.add_widget(line, index=column.children.index(self.ids.weavers))

    def _show_waiting(self, words: str) -> None:
        column, line = self.ids.left, self.waiting_line
        line.words, line.undone = words, self._undone
        if bool(words) != (line.parent is not None):
            if words:
                column.add_widget(line, index=len(column.children))
            else:
                column.remove_widget(line)

    def take_up_again(self) -> None:
        """Go on with the session that was undone: from now on it can be saved."""
        self._keep()
        self.refresh()

    def begin_anew(self) -> None:
        """Put the form that waited away and show that of today, with a way back."""
        desk, waited, rug_id = self.desk, there(self.form), self._form_of
        drafts, was_undone = desk.drafts, self._undone
        taken_back = of_rug(drafts, form_sums.TAKEN_BACK, rug_id)
        # The time of another day goes with the session of that day.
        ended = self._timer() if self._ended_on() is not None else None

        def show(form: SessionForm, kept: SessionForm | None) -> None:
            form_sums.keep_form(drafts, rug_id, kept)
            self.form, self._waited = form, kept is not None
            self.refresh()

        def bring_back() -> None:
            if ended is not None:
                timer_sums.keep_timer(drafts, rug_id, ended)
            if was_undone:
                put_of_rug(drafts, form_sums.TAKEN_BACK, rug_id, taken_back)
                self._undone = True
            show(waited, None if was_undone and taken_back else waited)

        put_of_rug(drafts, form_sums.TAKEN_BACK, rug_id, None)
        if ended is not None:
            timer_sums.keep_timer(drafts, rug_id, None)
        show(self._blank(), None)
        self.shell.toast(
            _("Put away: the session of {day}.").format(day=day(waited.day, desk.today())), undo=bring_back
        )

    # --- changing

    def change(self, **fields: Any) -> None:
        """Change the form, keep it beside the book, and show it."""
        self.shell.form_changed()
        self.form = replace(there(self.form), **fields)
        self._keep()
        self.refresh()

    def _keep(self) -> None:
        """Keep the form beside the book; what was undone is part of it now."""
        self._keep_form(there(self.form))
        if not self._apart:
            self._undone = False
            put_of_rug(self.desk.drafts, form_sums.TAKEN_BACK, self._form_of, None)

    def set_rows(self, rows: int) -> None:
        """Take a number of rows."""
        self.form = there(self.form).with_rows(int(rows), self.desk.rug)
        if not self._apart:
            self.form = self.form.with_place_at_loom(self.desk.rug, self._place_at_loom())
        self.change()

    def set_begun(self, knots: int) -> None:
        """Take so many knots of the next row; the same once more takes them out again."""
        self.form = there(self.form).with_begun(int(knots))
        self.change()

    def ask_begun(self) -> None:
        """Take the knots that were marked at the loom on another day, or ask on the number pad how many are tied."""
        if self._offered is not None:
            self.set_begun(self._offered)
            return
        most = self.desk.rug.knots_across - 1
        form = there(self.form)

        def take(knots: float | None) -> None:
            self.form = replace(form, begun_knots=None).with_begun(None if knots is None else int(knots))
            self.change()

        ask_number(
            self.shell,
            self.begun_label,
            form.begun_knots,
            take,
            unit=_("knots"),
            most=most,
            optional=True,
            hint=form_sums.begun_hint(form, self.desk.rug),
            refuses=lambda knots: form_sums.begun_refused(form, self.desk.rug, int(knots)),
        )

    def _say_hours(self, hours: float | None) -> None:
        self.form = replace(there(self.form).with_hours(hours), hours_own=not self._apart)
        self.change()

    def ask_rows(self) -> None:
        """Ask for the rows on the number pad; rows taken out have a page of their own, which counts their yarn."""
        unpicked = self.correcting or there(self.form).rows < 0
        ask_number(
            self.shell,
            _("Rows finished (below zero: unpicked)") if unpicked else _("Rows finished"),
            there(self.form).rows or None,
            lambda rows: self.set_rows(rows),
            unit=_("rows"),
            signed=unpicked,
            least=-9999 if unpicked else 0,
            most=9999,
            refuses=lambda rows: form_sums.rows_refused(
                replace(there(self.form), rows=int(rows)), self.desk.rug
            ),
        )

    def ask_unpicking(self, by: float) -> None:
        """Offer the page of unpicked rows to who taps for fewer than none."""
        if by > 0 or self.correcting:
            return
        ask_choice(
            self.shell,
            _("Rows unpicked?"),
            [(_("Unpick rows"), True), (_("Leave it at 0"), False)],
            lambda wanted: self.shell.go("unpick") if wanted else None,
        )

    def keep_saved_hours(self) -> None:
        """Bring back the hours that the session was saved with."""
        self._say_hours(self.hours_saved)

    def step_hours(self, by: float) -> None:
        """Half an hour more or less, on the quarter; below nothing the hours are left open."""
        hours = hours_as_said((there(self.form).hours or 0.0) + by)
        self._say_hours(None if hours <= 0 else min(form_sums.MOST_HOURS, hours))

    def ask_hours(self) -> None:
        """Ask for the hours on the number pad."""
        ask_number(
            self.shell,
            self.hours_label,
            form_sums.hours_given(there(self.form)),
            lambda hours: self._say_hours(hours or None),
            unit=_("hours"),
            decimals=2,
            most=form_sums.MOST_HOURS,
            optional=True,
            hint=form_sums.hours_hint(there(self.form)),
        )

    def ask_day(self) -> None:
        """Ask on which day it was."""

        def take(on: date) -> None:
            form = there(self.form).with_day(on, self.desk.today())
            if not self._apart:
                # What was marked on that day is its own.
                form = form.with_place_at_loom(self.desk.rug, self._place_at_loom())
            self.form = form
            self.change()

        ask_day(self.shell, _("Which day?"), there(self.form).day, take, happened=True)

    def _say_day(self, on: date) -> None:
        self.form = there(self.form).with_day(on, self.desk.today())
        self.change()

    def use(self, line: UseLine, by: int) -> None:
        """One more, or one fewer, of a yarn ended."""
        self.form = there(self.form).with_used(
            line.yarn_id, max(0.0, there(self.form).used_of(line.yarn_id) + by)
        )
        self.change()

    def say_whose(self, yarn_id: str, weaver_id: str) -> None:
        """Say whose balls of a colour ended; the same once more takes it back."""
        self.form = there(self.form).with_whose(yarn_id, weaver_id)
        self.change()

    def toggle_weaver(self, weaver_id: str) -> None:
        """Somebody sat at the loom, or did not."""
        sat = there(self.form).weavers
        sit = tuple(w for w in sat if w != weaver_id) if weaver_id in sat else (*sat, weaver_id)
        seats = () if self.correcting else self._seats()
        self.form = form_sums.with_weavers(there(self.form), self.desk.rug, sit, seats)
        self.change()

    def ask_places(self) -> None:
        """Ask who of the team sits where across the width."""
        from tracker.sheets.places import ask_places

        def ask() -> None:
            places, ahead = form_sums.places_to_change(there(self.form), rug)
            ask_places(
                self.shell,
                names_of_weavers(rug),
                rug.plan.knots_across,
                places,
                ahead,
                lambda places, ahead: self.change(places=places, ahead=ahead),
            )

        rug = self.desk.rug
        self.shell.try_act(ask)

    def add_weaver(self) -> None:
        """Ask for the name of somebody new."""

        def take(name: str) -> None:
            weaver = self.desk.new_weaver(name)
            self.desk.act(ActKind.WEAVER_ADDED, weaver)
            self.form = form_sums.with_weavers(
                there(self.form), self.desk.rug, (*there(self.form).weavers, weaver.id)
            )
            self.change()

        ask_weaver_name(self.shell, [weaver.name for weaver in self.desk.rug.weavers], take)

    def note_changed(self, text: str) -> None:
        """The note was typed."""
        if self.form is not None and text != self.form.note:
            self.form = replace(self.form, note=text)
            self._keep()

    # --- the timer

    def _timer(self) -> timer_sums.Timer | None:
        return timer_sums.timer_of(self.desk.drafts, self._form_of)

    def _tick(self, *_args: Any) -> None:
        self.refresh()

    def _follow_timer(self) -> None:
        """Show the timer's hours and no usual ones while it runs, unless others were given: what is shown is what is saved."""
        timer = self._timer()
        form = there(self.form)
        if timer is None or self._apart or form.hours_own:
            return
        self.form = form_sums.with_timed(form, timer, now_utc(), self.desk.today())

    def _ended_on(self) -> date | None:
        """Return the earlier day on which the sitting of this rug's timer ended; None while it may still go on."""
        return None if self._apart else timer_sums.ended_on(self._timer(), now_utc(), self.desk.today())

    def _timer_hours(self) -> float | None:
        timer = self._timer()
        return timer_sums.hours_worked(timer, now_utc()) if timer else None

    def _show_timer(self, *_args: Any) -> None:
        timer = self._timer()
        if timer is None:
            self.timer_state, self.timer_shown = "none", _("Start the timer")
        else:
            self.timer_state = "paused" if timer.paused else "running"
            self.timer_shown = timer_sums.shown(timer, now_utc())

    def _offer_timer(self) -> None:
        """Stand the timer's key beside the hours of the evening at hand, and of no other: its time would go to that one."""
        row, key = self.ids.hours, self._timer_key
        if self._apart:
            row.remove_widget(key)
        elif key.parent is None:
            row.add_widget(key)

    def tap_timer(self) -> None:
        """Start the timer, pause it, or go on; one that runs at another rug is paused there, with a way back."""
        if self._ended_on() is not None:
            self.shell.refuse(_("This time is of another day. Save its session first, or begin a new one."))
            return
        drafts, rug_id, before = self.desk.drafts, self._form_of, self._timer()
        elsewhere = timer_sums.tap(drafts, rug_id, now_utc())

        def let_run_again() -> None:
            timer_sums.keep_timer(drafts, rug_id, before)
            for other, timer in elsewhere.items():
                timer_sums.keep_timer(drafts, other, timer)
            look()

        def look() -> None:
            self.refresh()
            self.shell.look_at_timer()

        look()
        names = {plan.id: plan.name for plan in self.desk.plans}
        for other, timer in elsewhere.items():
            said = _("The timer of {rug} is paused at {time}; its time stays there.")
            time = timer_sums.shown(timer, now_utc())
            self.shell.toast(said.format(rug=names.get(other, ""), time=time), undo=let_run_again)

    # --- saving

    def save(self) -> None:
        """Write the session; ask first of which day it is, and whether rows, hours or a day that can hardly be meant are right."""
        days = () if self._apart else form_sums.days_meant(there(self.form), self.desk.today())
        if days:
            ask_choice(self.shell, _("Which day is meant?"), days, self._save_of)
            return
        self._save()

    def _save_of(self, on: date) -> None:
        self._say_day(on)
        self._save()

    def _save(self) -> None:
        try:
            form_sums.to_session(there(self.form), self.desk.rug, self.desk.today())
        except LoomsideError as trouble:
            self.shell.refuse(trouble.sentence)
            return
        doubt = form_sums.doubt_of(there(self.form), self.desk.rug, self.desk.today(), self._lately())
        ask_doubt(self.shell, doubt, self._ask_loom, lambda: self._change_doubted(doubt))

    def _change_doubted(self, doubt: Doubt | None) -> None:
        """Open what was asked about, so that it is changed by the next tap."""
        asks = {"rows": self.ask_rows, "hours": self.ask_hours, "day": self.ask_day}
        asked = form_sums.field_doubted(doubt)
        if asked in asks:
            asks[asked]()

    def _ask_loom(self) -> None:
        """With its first rows a planned rug is on a loom: ask on which, and what is meant where another lies there."""
        begun = form_sums.begun(self.desk.rug.plan, there(self.form))
        if not begun:
            self._write()
            return
        from tracker.sheets.on_loom import ask_which_loom

        ask_which_loom(self.shell, self.desk, begun[0], lambda plan, others: self._write((plan, *others)))

    def _write(self, plans: tuple[RugPlan, ...] = ()) -> None:
        """Write the session, and the plans that change with it; on any trouble say it and keep the form as it is."""
        desk, shell = self.desk, self.shell
        self._follow_timer()
        if not self.correcting:
            self.form = form_sums.of_its_own(there(self.form), desk.rug)
        try:
            session = form_sums.to_session(there(self.form), desk.rug, desk.today())
            before = desk.answers
            act_id = desk.act(
                ActKind.SESSION_CORRECTED if self.correcting else ActKind.SESSION_LOGGED,
                *((session,) if self.correcting else shared_out(session, desk.rug, there(self.form).whose)),
                *plans,
                *form_sums.lots_again(desk.rug, session),
                rug_id=session.rug_id,
            )
        except LoomsideError as trouble:
            shell.refuse(trouble.sentence)
            return
        form, drafts = there(self.form), desk.drafts
        correcting, apart, draft = self.correcting, self._apart, self._draft
        if apart:
            drafts.put(draft, None)

        def keep_apart() -> None:
            drafts.put(draft, form_sums.to_kept(form))

        keep_again = keep_apart if apart else form_sums.let_go(drafts, form, session, desk.today())
        undo = undoable(
            shell,
            desk,
            act_id,
            lambda: _("Undone.") + " " + what_changed(before, desk.answers, desk.rug, briefly=True),
            then=keep_again,
        )

        def answer() -> None:
            if desk.answers is not None and desk.rug is not None:
                said = (
                    form_sums.saved_words(session, desk.rug, correcting)
                    if act_id
                    else _("Nothing was changed.")
                )
                why, due = why_moved(before, desk.answers), due_words(desk.rug)
                told = bool(session.begun_knots) and not correcting
                brief = (said, what_changed(before, desk.answers, desk.rug, where_said=told), due)
                full = (
                    (said, due, what_changed(before, desk.answers, desk.rug, why=why, where_said=told))
                    if why
                    else ()
                )
                shell.toast(" · ".join(filter(None, brief)), undo=undo, fuller=" · ".join(filter(None, full)))

        # First the page, then what is said on it: the strip goes with the page it was said on.
        if apart:
            shell.back()
        else:
            shell.open_tab("home")
        desk.once(answer)


load_kv(__file__)
