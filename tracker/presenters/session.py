"""The session form: what it starts with, what it checks, and the session it becomes."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import asdict, dataclass, field, replace
from datetime import date, datetime, timedelta
from itertools import takewhile
from statistics import median
from typing import Any

from tracker.domain import defaults, team
from tracker.domain.dye_lots import changes_to_come
from tracker.domain.errors import BadEntry
from tracker.domain.lot_change import LotChange
from tracker.domain.rug import HoursFrom, Role, RugBook, RugPlan, RugStage, Session, Yarn, new_id
from tracker.domain.seats import ever_said
from tracker.domain.step import hours_as_said
from tracker.domain.taught import NOTHING_TAUGHT, Taught
from tracker.domain.unlikely import unlikely_day, unlikely_rows
from tracker.domain.work import RECENT, Evening, usual_row_hours, usual_rows
from tracker.files.typed import read_as
from tracker.forecast.reckon import most_rows, rows_wanted
from tracker.presenters import doubts
from tracker.presenters import timer as timer_sums
from tracker.presenters.doubts import Doubt, rows_and_knots
from tracker.presenters.entry_forms import days_offered
from tracker.presenters.entry_text import begun_words, hours_name, used_in_brief
from tracker.presenters.of_rug import of_rug, put_of_rug
from tracker.presenters.places import (
    PlacePart,
    fits,
    gap_words,
    names_of_weavers,
    noted_words,
    place_parts,
    remembered,
)
from tracker.presenters.whose import WhoseLine, whose_lines
from tracker.words import _, day, day_short, hours, n_, number

FORMS = "session forms"
"""The draft that keeps the session half entered of each rug, by the rug's id: that of the evening at hand."""
APART = "session form"
"""Before a session's id, or a rug's and a day: the draft of a correction, or of a session of an earlier day."""
PLACE = "loom place"
"""The draft that keeps where the weaver is within the row at the loom, by the rug's id."""
TAKEN_BACK = "sessions taken back"
"""The draft that keeps of each rug the session that was undone: it waits for its page, and counts nowhere until it is changed or saved again."""
LAST_NUMBERS = 2
"""Different numbers of rows of the last evenings that have a key each."""
MOST_HOURS = 24.0
MOST_NOTE = 2000
USUAL_WITHIN = 2
"""Rows from half to so many times the usual are taken to have filled the usual hours (our own judgement)."""


@dataclass(frozen=True, slots=True)
class PlaceAtLoom:
    """How far the row is tied, as it was marked at the loom."""

    row: int
    knots: int
    """Knots of the row that are tied."""
    on: date | None
    """The day on which it was marked; None: nobody knows."""


@dataclass(frozen=True, slots=True)
class SessionForm:
    """A session being entered."""

    session_id: str
    day: date
    rows: int = 0
    hours: float | None = None
    weavers: tuple[str, ...] = ()
    used: tuple[tuple[str, float], ...] = ()
    note: str = ""
    places: team.Places = ()
    """Kept while other weavers are tapped; they count only for those who sit there, see `places_said`."""
    ahead: team.Ahead = ()
    hours_said: bool = False
    """The hours were given or timed; otherwise they are the usual ones, which come and go with the rows."""
    hours_own: bool = False
    """The hours were given beside the timer, whose time does not take their place."""
    begun_knots: int | None = None
    """Knots of the next row that are tied; None: nobody said."""
    whose: tuple[tuple[str, str], ...] = ()
    """(yarn, weaver) where it was said whose balls ended; see `whose.py`."""
    begun_said: bool = False
    """They were tapped or typed; otherwise the place marked at the loom says them, see `with_place_at_loom`."""
    day_said_on: date | None = None
    """The day on which the weaver said of which day the session is; None: nobody did, it is that on which the form was begun."""

    def used_of(self, yarn_id: str) -> float:
        """Balls or shuttles of a yarn that ended in this session."""
        return dict(self.used).get(yarn_id, 0.0)

    def with_used(self, yarn_id: str, count: float) -> SessionForm:
        """Return the form with another count for one yarn."""
        used = {**dict(self.used), yarn_id: count}
        return replace(self, used=tuple((key, value) for key, value in used.items() if value > 0))

    def with_whose(self, yarn_id: str, weaver_id: str) -> SessionForm:
        """Return the form that says whose balls of a yarn ended; the same once more takes it back."""
        whose = dict(self.whose)
        if whose.pop(yarn_id, None) != weaver_id:
            whose[yarn_id] = weaver_id
        return replace(self, whose=tuple(whose.items()))

    def with_hours(self, hours: float | None) -> SessionForm:
        """Return the form with the hours the weaver gave, or left open; no hours at all are hours that nobody gave."""
        return replace(self, hours=hours or None, hours_said=True)

    def with_begun(self, knots: int | None) -> SessionForm:
        """Return the form with so many knots of the next row tied; the same once more takes them out again."""
        return replace(self, begun_knots=None if knots == self.begun_knots else knots, begun_said=True)

    def with_place_at_loom(self, book: RugBook, place: PlaceAtLoom | None) -> SessionForm:
        """Return the form with the knots up to the place that is marked at the loom, unless they were said here.

        It counts where its row comes next after the form's own, and where it was marked on the form's day: a mark left over from
        another evening is offered, see `offered_knots`, and no row of knots is saved that nobody touched.
        """
        if self.begun_said:
            return self
        taken = place is not None and place.on == self.day and self.comes_next(book, place)
        return replace(self, begun_knots=place.knots if taken and place is not None else None)

    def comes_next(self, book: RugBook, place: PlaceAtLoom) -> bool:
        """Whether a place marked at the loom lies within the row that comes next after the form's own."""
        return place.row == _rows_before(self, book) + self.rows + 1 and 0 < place.knots < book.knots_across

    def with_day(self, on: date, today: date) -> SessionForm:
        """Return the form of a day that the weaver said today."""
        return replace(self, day=on, day_said_on=today)

    @property
    def holds_work(self) -> bool:
        """Whether it tells of work done: rows, hours given, yarn, knots that were said, a note. Who sat there does not."""
        hours = self.hours_said and self.hours
        return bool(self.rows or hours or self.used or self.begun_said or self.note.strip())

    def is_of_earlier(self, today: date) -> bool:
        """Whether it tells of work of an earlier day, and nobody said today that it is of that day."""
        return self.holds_work and self.day < today and self.day_said_on != today

    def taken_up(self, today: date) -> SessionForm:
        """Return a kept form as it is gone on with today: one that tells of no work is of today, unless its day was said today.

        Who was named yesterday evening and left would otherwise give the rows of this evening to yesterday.
        """
        return self if self.holds_work or self.day_said_on == today else replace(self, day=today)

    def with_rows(self, rows: int, book: RugBook) -> SessionForm:
        """Return the form with another number of rows; about as many as usual bring the hours they usually take, others none.

        A few rows did not take a whole evening: hours that nobody gave would teach a false pace.
        """
        if self.hours_said:
            return replace(self, rows=rows)
        return replace(
            self, rows=rows, hours=proposed_hours(rows, _book_before(self, book), len(self.weavers))
        )


@dataclass(frozen=True, slots=True)
class UseLine:
    """One yarn that can be tapped as used up."""

    yarn_id: str
    number: str
    name: str
    swatch: str
    count: float


@dataclass(frozen=True, slots=True)
class SessionState:
    """What the session page shows."""

    day: str
    rows: int
    rows_after: str
    rows_refused: str
    """Why so many rows cannot be saved, and what to do; "" where they can."""
    refused: str
    """The same of anything else that was entered."""
    suggestions: tuple[int, ...]
    hours: str
    hours_label: str
    """Whose hours they are: of a team each weaver's own."""
    hours_value: float
    hours_usual: str
    """That the hours are the usual ones, while nobody gave any; "" where they were given or left open."""
    hours_saved: float | None
    """The hours that the session being corrected was saved with, where others stand here that nobody gave."""
    hours_saved_words: str
    """What the key says that brings them back; "" where there is none."""
    balls: tuple[UseLine, ...]
    shuttles: tuple[UseLine, ...]
    whose: tuple[WhoseLine, ...]
    """Colours of which may be said whose balls ended; to be left alone by who does not care."""
    weavers: tuple[tuple[str, str, bool], ...]
    """(id, name, sat at the loom)"""
    noted: str
    """Who is noted, as it stands beside the key that saves."""
    note: str
    correcting: bool = field(default=False)
    waiting: str = ""
    """What is said of a form that waits since an earlier day; "" for one of today."""
    can_save: bool = False
    """Rows or yarn are entered; a correction may leave hours or a note alone."""
    save_words: str = ""
    """What the key says that saves: the rows it saves, where there are any."""
    team: bool = False
    """Two or more weave side by side, so that their places can be told."""
    places: tuple[PlacePart, ...] = ()
    places_words: str = ""
    begun: int | None = None
    """Knots of the next row that the form says are tied."""
    half: int = 0
    """Knots of half a row; 0 where a row has no half."""
    begun_label: str = ""
    begun_shown: str = ""
    """What the key says that asks for the knots."""
    begun_offered: int | None = None
    """Knots that the key takes at one tap: marked at the loom on another day; None: it asks for them."""
    begun_told: str = ""
    """That the knots come from the mark at the loom; "" where they do not."""


def _of_team(book: RugBook, weavers: int) -> tuple[RugBook, float]:
    """Return the book with the sessions of so many at the loom, and how many times as long as those they take for the same rows.

    A session without names counts among any. Where none was of so many, all sessions stand in for them, at what a team is believed to do.
    """
    alike = tuple(session for session in book.sessions if len(session.weavers) in (0, weavers))
    if not weavers or usual_row_hours(replace(book, sessions=alike)) is not None:
        return replace(book, sessions=alike) if weavers else book, 1.0
    sizes = [len(session.weavers) for session in book.sessions[-RECENT:] if session.hours and session.weavers]
    return book, (median(sizes) / weavers) ** float(defaults.TEAM_POWER) if sizes else 1.0


def proposed_hours(rows: int, book: RugBook, weavers: int = 0) -> float | None:
    """Return the hours that so many rows usually take so many weavers, as one would say them: more rows take longer.

    None before any hours were given, and for rows that fill no usual evening or more than two. Without `weavers` nobody says how many sit there.
    """
    alike, times = _of_team(book, weavers)
    usual, row_hours = usual_rows(alike), usual_row_hours(alike)
    if row_hours is None or not usual / USUAL_WITHIN <= rows <= usual * USUAL_WITHIN:
        return None
    return hours_as_said(times * row_hours * rows) or None


def doubt_of(form: SessionForm, book: RugBook, today: date, lately: Evening | None = None) -> Doubt | None:
    """Return what is asked before a session is saved that can hardly be meant: its rows, hours, yarn or day; None where nothing is.

    Raises
    ------
    BadEntry
        With a sentence, when something in it cannot be.
    """
    session = to_session(form, book, today)
    held = next((other for other in book.sessions if other.id == form.session_id), None)
    of_rows = _rows_doubted(session, held, book, today, lately)
    # Hours that do not go with such rows are the rows' doing.
    of_values = replace(session, hours=None) if of_rows else session
    others = doubts.doubt_of(of_values, book, today, held)
    again = [change.id for change in lots_again(book, session)]
    later = doubts.doubt_of_rows(book, today, (session,), settled=again)
    if not of_rows and (others is None or later is None):
        return others or later
    return doubts.Doubt(
        " ".join(filter(None, (of_rows, *(one.question for one in (others, later) if one is not None)))),
        _("Yes, save {rows} rows").format(rows=number(form.rows)),
        _("Change the rows") if others is None else others.change,
        () if of_rows or others is None else others.about,
    )


def _rows_doubted(
    session: Session, held: Session | None, book: RugBook, today: date, lately: Evening | None
) -> str:
    """Return what is asked about a session's rows, else about its day's; "" where both can be meant, or stand so in the book already."""
    if held is not None and (held.rows, held.day) == (session.rows, session.day):
        return ""
    usual = unlikely_rows(session.rows, book, session.id, lately)
    if usual is not None:
        return n_("{rows} rows? {usual} row is usual.", "{rows} rows? {usual} rows are usual.", usual).format(
            rows=number(session.rows), usual=number(usual)
        )
    of_day = unlikely_day(session, book, lately)
    if of_day is None:
        return ""
    return n_(
        "That makes {rows} rows on {day}? {usual} row a day is usual.",
        "That makes {rows} rows on {day}? {usual} rows a day are usual.",
        of_day.usual,
    ).format(rows=number(of_day.rows), day=day_short(session.day, today), usual=number(of_day.usual))


def field_doubted(doubt: Doubt | None) -> str:
    """Return which answer of the form a doubt is about first: "rows", "hours" or "day"; "" for another, which lies open on the page."""
    if doubt is None:
        return ""
    if not doubt.about:
        return "rows"  # which are asked about here, before all else
    return doubts.answer_doubted(doubt, {"hours": None, "day": None})


def saved_words(session: Session, book: RugBook, correcting: bool) -> str:
    """Say all that was saved of rows, knots and yarn, so that it is plain what an undo would take back."""
    if correcting:
        return _("Session corrected")
    used = used_in_brief(session, {yarn.id: yarn.role for yarn in book.yarns})
    begun = session.begun_knots or 0
    if session.rows < 0:
        out = n_("{rows} row unpicked", "{rows} rows unpicked", -session.rows).format(
            rows=number(-session.rows)
        )
        return ", ".join((out, *([begun_words(begun)] if begun else []), *used))
    if not begun and not used:
        if session.rows:
            return n_("{rows} row saved", "{rows} rows saved", session.rows).format(rows=number(session.rows))
        # That the row stands nowhere any more is said nowhere else.
        return _("Saved") if session.begun_knots is None else begun_words(begun)
    woven = rows_and_knots(session.rows, begun)
    return _("{what} saved").format(what=", ".join(([woven] if woven else []) + used))


def suggestions(
    book: RugBook,
    taught: Taught = NOTHING_TAUGHT,
    left: int | None = None,
    lately: Evening | None = None,
) -> tuple[int, ...]:
    """Return up to five likely numbers of rows, smallest first: the usual one in the middle, the last evenings' own among them.

    None is more than the rows to go (`left`; None: those of the book as it stands); where the likely ones reach beyond them, they are
    the largest themselves. No row to go: none. Before the first evening the usual one is that of the rug that is woven beside it (`lately`).
    """
    if left is None:
        left = most_rows(book) - book.rows_woven
    if left <= 0:
        return ()
    usual = min(usual_rows(book, taught, lately), left)
    step = max(1, round(usual / 6))
    first = max(1, usual - 2 * step)
    likely = [first + step * index for index in range(5)]
    woven = {usual}
    for rows in _last_numbers(book):
        if rows not in likely and rows <= left:
            # It takes the place of the number next to it that nobody wove.
            likely[likely.index(min(set(likely) - woven, key=lambda other: (abs(other - rows), other)))] = (
                rows
            )
        woven.add(rows)
    fitting = {rows for rows in likely if rows <= left}
    return tuple(sorted(fitting | {left} if max(likely) > left else fitting))


def _last_numbers(book: RugBook) -> list[int]:
    """The last different numbers of rows that sessions gained, newest first."""
    gained = (session.rows for session in reversed(book.sessions[-RECENT:]) if session.rows > 0)
    return list(dict.fromkeys(gained))[:LAST_NUMBERS]


def blank_form(book: RugBook, today: date, timer_hours: float | None = None) -> SessionForm:
    """Return the form an evening starts with: today, the timer's hours if it ran, the same weavers as last time.

    A rug's first evening starts with who sat last at its loom, in the order of their seats; where nobody did, with all who are named
    if no more than the plan's weavers are.
    """
    woven = book.woven_sessions
    named = tuple(weaver.id for weaver in book.weavers)
    first = named if len(named) <= book.plan.weavers_planned else named[:1]
    last = _sits_as_a_rule([session.weavers for session in woven]) if woven else book.sat_before or first
    known = {weaver.id for weaver in book.weavers}
    weavers = tuple(weaver for weaver in last if weaver in known)
    places, ahead = remembered(book, weavers)
    if not woven and 1 < len(weavers) <= book.plan.knots_across:
        places = team.share_evenly(weavers, book.plan.knots_across)
    return SessionForm(
        session_id=new_id(),
        day=today,
        hours=timer_hours,
        hours_said=timer_hours is not None,
        weavers=weavers,
        places=places,
        ahead=ahead,
    )


def _sits_as_a_rule(sat: Sequence[tuple[str, ...]]) -> tuple[str, ...]:
    """Return who sits at the loom as a rule by who sat there, oldest first: who was missing once is not left out of the next evening."""
    if len(sat) >= 3 and sat[-1] and set(sat[-1]) < set(sat[-2]) == set(sat[-3]):
        return sat[-2]
    return sat[-1]


def with_seats(form: SessionForm, book: RugBook, seats: team.Places) -> SessionForm:
    """Return the form with the places that were set for the balls, where they are those of who sits at the loom."""
    if seats == form.places or not fits(seats, form.weavers, book.plan.knots_across):
        return form
    return replace(form, places=seats, ahead=())


def with_weavers(
    form: SessionForm, book: RugBook, weavers: tuple[str, ...], seats: team.Places = ()
) -> SessionForm:
    """Return the form with others at the loom: in the places told here, else in the seats set for the balls, else where they last sat together."""
    form = replace(form, weavers=weavers).with_rows(form.rows, book)
    if fits(form.places, weavers, book.plan.knots_across):
        return form
    places, ahead = remembered(book, weavers)
    if fits(seats, weavers, book.plan.knots_across):
        places, ahead = seats, ()
    # Places told in this form stay in it, so that a slip of the finger costs one tap back.
    return replace(form, places=places or form.places, ahead=ahead if places else form.ahead)


def places_said(form: SessionForm, book: RugBook) -> tuple[team.Places, team.Ahead]:
    """Return the places and what stands ahead as they count for those who sit at the loom; empty: nobody said."""
    if len(form.weavers) < 2 or not fits(form.places, form.weavers, book.plan.knots_across):
        return (), ()
    left = max(0, most_rows(book) - _rows_before(form, book) - form.rows)
    # Nothing stands higher than the rug's last row; near the end what was remembered shrinks by itself.
    ahead = (
        (weaver, min(rows, left, team.MOST_AHEAD)) for weaver, rows in form.ahead if weaver in form.weavers
    )
    return form.places, tuple((weaver, rows) for weaver, rows in ahead if rows > 0)


def _book_before(form: SessionForm, book: RugBook) -> RugBook:
    """The book with the sessions before the form's own; all of them where it is a new one."""
    sessions = tuple(takewhile(lambda session: session.id != form.session_id, book.sessions))
    return replace(book, sessions=sessions)


def _rows_before(form: SessionForm, book: RugBook) -> int:
    """Rows on the loom when this session began."""
    return sum(session.rows for session in _book_before(form, book).sessions)


def _begun_before(form: SessionForm, book: RugBook) -> int:
    """Knots of the next row that were tied when this session began."""
    sessions = [session.id for session in book.sessions]
    index = sessions.index(form.session_id) if form.session_id in sessions else len(sessions)
    return book.begun_after[index - 1] if index else 0


def _places_to_store(form: SessionForm, book: RugBook) -> tuple[team.Places, team.Ahead]:
    """Return what the session says; a correction of something else leaves places as told, fit or not."""
    stored = next((session for session in book.sessions if session.id == form.session_id), None)
    if stored is not None and (form.places, form.ahead, set(form.weavers)) == (
        stored.places,
        stored.ahead,
        set(stored.weavers),
    ):
        return stored.places, stored.ahead
    return places_said(form, book)


def places_to_change(form: SessionForm, book: RugBook) -> tuple[team.Places, team.Ahead]:
    """Return the places a sheet starts with: those told, else an even share in the order they were tapped.

    Raises
    ------
    BadEntry
        There are more weavers than knots in a row.
    """
    places, ahead = places_said(form, book)
    return (places, ahead) if places else (team.share_evenly(form.weavers, book.plan.knots_across), ())


def form_of(session: Session, book: RugBook) -> SessionForm:
    """Return the form that corrects an earlier session of a book.

    Hours that nobody gave follow the rows; others are the weaver's own. Where the book does not say who filled them in, those that the
    app would have proposed for these rows are taken for its own.
    """
    form = SessionForm(session_id=session.id, day=session.day)
    proposed = proposed_hours(session.rows, _book_before(form, book), len(session.weavers))
    own = session.hours != proposed if session.hours_from is None else session.hours_from is HoursFrom.GIVEN
    return replace(
        form,
        rows=session.rows,
        hours=session.hours,
        hours_said=session.hours is None or own,
        weavers=session.weavers,
        used=session.used,
        note=session.note,
        places=session.places,
        ahead=session.ahead,
        begun_knots=session.begun_knots,
        begun_said=True,
    )


def to_kept(form: SessionForm) -> dict[str, Any]:
    """Return the form as JSON can keep it."""
    said_on = None if form.day_said_on is None else form.day_said_on.isoformat()
    return {**asdict(form), "day": form.day.isoformat(), "day_said_on": said_on}


def from_kept(draft: Any) -> SessionForm | None:
    """Return a kept form; None when it cannot be read."""
    try:
        return read_as(SessionForm, draft)
    except ValueError:
        return None


def form_kept(drafts: Any, rug_id: str) -> SessionForm | None:
    """Return the session of a rug that is half entered, as it was kept; None when there is none, or it cannot be read."""
    return from_kept(of_rug(drafts, FORMS, rug_id))


def keep_form(drafts: Any, rug_id: str, form: SessionForm | None) -> None:
    """Keep the session of a rug that is half entered; None forgets it."""
    put_of_rug(drafts, FORMS, rug_id, None if form is None else to_kept(form))


def waiting_form(drafts: Any, book: RugBook | None, today: date) -> SessionForm | None:
    """Return the form of a rug that waits beside the book: its rows are counted and not saved."""
    form = None if book is None else form_kept(drafts, book.plan.id)
    return None if form is None or book is None else of_its_own(form.taken_up(today), book)


def of_its_own(form: SessionForm, book: RugBook) -> SessionForm:
    """Return the form of a new session as one that takes no other's place.

    One that was undone waits with the id it had; where the book holds that session again, by the diary or by a join, what is
    saved next is another.
    """
    held = any(session.id == form.session_id for session in book.sessions)
    return replace(form, session_id=new_id()) if held else form


def as_it_was(form: SessionForm, book: RugBook) -> bool:
    """Tell whether a session opened for correction stands as the book has it."""
    held = next((session for session in book.sessions if session.id == form.session_id), None)
    return held is not None and form == form_of(held, book)


def days_meant(form: SessionForm, today: date) -> tuple[tuple[str, date], ...]:
    """Return (words, day) of the days that a form begun on an earlier day can be of; () where it is plain."""
    if not form.is_of_earlier(today):
        return ()
    return days_offered(form.day, today)


def unsaved_words(form: SessionForm | None) -> str:
    """Say how many rows wait in a form to be saved, counted at the loom or entered; "" where none do."""
    if form is None or form.rows <= 0:
        return ""
    return n_("+{rows} row not saved yet", "+{rows} rows not saved yet", form.rows).format(
        rows=number(form.rows)
    )


def taken_back(drafts: Any, book: RugBook, today: date) -> SessionForm | None:
    """Return the session of a rug that was undone today and neither changed nor saved since; None when there is none.

    What was taken back on an earlier day is gone: its rows and its day would slip into another evening. So is what the book
    holds again.
    """
    undone = of_rug(drafts, TAKEN_BACK, book.plan.id)
    if not isinstance(undone, dict) or undone.get("on") != today.isoformat():
        return None
    form = from_kept(undone.get("form") or {})
    held = form is not None and any(session.id == form.session_id for session in book.sessions)
    return None if held else form


def without_slip(
    undone: SessionForm, book: RugBook, today: date, lately: Evening | None = None
) -> SessionForm | None:
    """Return an undone session as it is brought back: without rows that can hardly be meant, for those are why it was undone.

    None where nothing else was in it: the next session then begins as any other.
    """
    rows = Session(
        id=undone.session_id, rug_id=book.plan.id, day=undone.day, rows=undone.rows, weavers=undone.weavers
    )
    if not _rows_doubted(rows, None, book, today, lately):
        return undone
    form = undone.with_rows(0, book)
    if not undone.hours_said:
        form = replace(form, hours=None)
    return form if form.holds_work else None


def begun_from(undone: SessionForm, book: RugBook) -> SessionForm:
    """Return an undone session as the rows of the same evening are counted anew into it: all of it but its rows."""
    form = undone.with_rows(0, book)
    hours = form.hours if form.hours_said else None
    return replace(form, hours=hours, begun_knots=None, begun_said=False)


def keep_taken_back(drafts: Any, rug_id: str, form: SessionForm | None, today: date) -> None:
    """Keep the session of a rug that was undone today; None forgets it."""
    put_of_rug(
        drafts, TAKEN_BACK, rug_id, None if form is None else {"on": today.isoformat(), "form": to_kept(form)}
    )


def forget_saved(drafts: Any, held: Callable[[str], Any]) -> None:
    """Forget each session that waits where the book holds just this: it was saved, and the app killed before it was let go of.

    `held` returns what the book holds under an id; None: nothing.
    """
    for rug_id in tuple(drafts.get(FORMS) or ()):
        form = form_kept(drafts, rug_id)
        saved = None if form is None else held(form.session_id)
        if form is not None and saved is not None and (saved.rows, saved.day) == (form.rows, form.day):
            let_go(drafts, form, saved, form.day)


def let_go(drafts: Any, form: SessionForm, session: Session, today: date) -> Callable[[], None]:
    """Let go of what waited of a rug for the session of the evening at hand, which is saved; nothing of another rug.

    Returns
    -------
    Callable
        What keeps it again once the session is undone: it then waits for its page.
    """
    rug_id = session.rug_id
    place = of_rug(drafts, PLACE, rug_id)
    keep_form(drafts, rug_id, None)
    timer_sums.keep_timer(drafts, rug_id, None)
    keep_taken_back(drafts, rug_id, None, today)
    if session.wove:
        # The book says from now on where the row stands.
        put_of_rug(drafts, PLACE, rug_id, None)

    def keep_again() -> None:
        keep_taken_back(drafts, rug_id, form, today)
        if place is not None:
            put_of_rug(drafts, PLACE, rug_id, place)

    return keep_again


def with_timed(form: SessionForm, timer: timer_sums.Timer, now: datetime, today: date) -> SessionForm:
    """Return the form with the timer's hours; None of a timer that was forgotten.

    Of a sitting that ended on an earlier day the form is of that day, unless it tells of other work or its day was said.
    """
    hours = timer_sums.hours_worked(timer, now)
    if hours is None:
        return form
    ended = timer_sums.ended_on(timer, now, today)
    work = form.rows or form.used or form.begun_said or form.note.strip()
    if ended is not None and form.day_said_on is None and not work:
        form = replace(form, day=min(form.day, ended))
    return form.with_hours(hours or None)


def waiting_words(drafts: Any, rug_id: str, now: datetime) -> str:
    """Say what waits of a rug to be saved: rows or another beginning, and the time on its timer; "" where nothing does."""
    form, timer = form_kept(drafts, rug_id), timer_sums.timer_of(drafts, rug_id)
    words = [unsaved_words(form)]
    if form is not None and form.holds_work and not words[0]:
        words.append(_("a session not saved yet"))
    if timer is not None:
        said = _("timer paused at {time}") if timer.paused else _("timer runs: {time}")
        # What a timer shows that was forgotten, nobody sat.
        forgotten = timer_sums.worked(timer, now) > timer_sums.LONGEST
        words.append(_("timer not stopped") if forgotten else said.format(time=timer_sums.shown(timer, now)))
    return " · ".join(filter(None, words))


def rows_elsewhere(form: SessionForm, book: RugBook) -> int:
    """Rows on the loom without this session."""
    return sum(session.rows for session in book.sessions if session.id != form.session_id)


def rows_refused(form: SessionForm, book: RugBook) -> str:
    """Return why the form's rows cannot be saved, and what to do; "" where they can."""
    before = rows_elsewhere(form, book)
    after = before + form.rows
    most = most_rows(book)
    if after > most:
        return n_(
            "The rug has only {left} row to go. Take fewer rows, or change the rug's length in its plan.",
            "The rug has only {left} rows to go. Take fewer rows, or change the rug's length in its plan.",
            most - before,
        ).format(left=number(most - before))
    if after < 0:
        return n_(
            "There is only {rows} row on the loom to unpick. Unpick at most that.",
            "There are only {rows} rows on the loom to unpick. Unpick at most that many.",
            before,
        ).format(rows=number(before))
    return ""


def begun_hint(form: SessionForm, book: RugBook) -> str:
    """Say how many knots of the row are tied already, so that all of them are counted; "" where it is a new one."""
    before = 0 if form.rows else _begun_before(form, book)
    return (
        n_(
            "{knots} knot of it is tied already. Count all that are tied now.",
            "{knots} knots of it are tied already. Count all that are tied now.",
            before,
        ).format(knots=number(before))
        if before
        else ""
    )


def begun_refused(form: SessionForm, book: RugBook, knots: int) -> str:
    """Return why so many knots of the row cannot be meant, and what to do; "" where they can.

    A row at 120 knots does not stand at 60 after an evening's weaving: 60 more were meant. All of them may come out.
    """
    before = 0 if form.rows else _begun_before(form, book)
    if not 0 < knots < before:
        return ""
    if before + knots >= book.knots_across:
        return _(
            "{before} knots of the row are tied already. Count all that are tied now; 0 if all came out."
        ).format(before=number(before))
    return _(
        "{before} knots of the row are tied already. With {knots} more it stands at {all}; 0 if all came out."
    ).format(before=number(before), knots=number(knots), all=number(before + knots))


def _hours_from(form: SessionForm, book: RugBook) -> HoursFrom | None:
    """Who says the form's hours; a correction of something else leaves open what an older session left open."""
    if not form.hours:
        return None
    stored = next((session for session in book.sessions if session.id == form.session_id), None)
    if stored is not None and stored.hours_from is None and stored.hours == form.hours:
        untouched = form_of(stored, book).hours_said == form.hours_said
        return None if untouched else HoursFrom.GIVEN
    return HoursFrom.GIVEN if form.hours_said else HoursFrom.USUAL


def to_session(form: SessionForm, book: RugBook, today: date) -> Session:
    """Return the session the form stands for.

    Raises
    ------
    BadEntry
        With a sentence, when something in it cannot be.
    """
    refused = rows_refused(form, book)
    if refused:
        raise BadEntry(refused)
    if form.hours is not None and not (math.isfinite(form.hours) and 0 <= form.hours <= MOST_HOURS):
        raise BadEntry(_("A day has 24 hours. Give the hours at the loom, such as 2.5, or leave them open."))
    if form.day > today + timedelta(days=1):
        raise BadEntry(
            _("{day} is still to come. Choose the day on which you sat at the loom.").format(
                day=day(form.day)
            )
        )
    if form.begun_knots is not None:
        _check_begun(form.begun_knots, book, most_rows(book) - rows_elsewhere(form, book) - form.rows)
    empty = not form.rows and not form.hours and not form.used and form.begun_knots is None
    if empty and not form.note.strip():
        raise BadEntry(_("Nothing is entered yet. Tap the rows you finished, or the yarn you used up."))
    if len(form.note) > MOST_NOTE:
        raise BadEntry(
            _("The note is longer than {most} characters. Shorten it a little.").format(
                most=number(MOST_NOTE)
            )
        )
    places, ahead = _places_to_store(form, book)
    return Session(
        id=form.session_id,
        rug_id=book.plan.id,
        day=form.day,
        rows=form.rows,
        hours=form.hours or None,
        weavers=form.weavers,
        used=form.used,
        note=form.note.strip(),
        places=places,
        ahead=ahead,
        begun_knots=form.begun_knots,
        hours_from=_hours_from(form, book),
    )


def _refused(form: SessionForm, book: RugBook, today: date) -> str:
    """Return why the form cannot be saved as it stands; "" where it can."""
    try:
        to_session(form, book, today)
    except BadEntry as trouble:
        return trouble.sentence
    return ""


def _check_begun(knots: int, book: RugBook, rows_left: int) -> None:
    """Check the knots begun of the next row.

    Raises
    ------
    BadEntry
        They are a whole row or more, or there is no row left to begin.
    """
    across = book.knots_across
    if not 0 <= knots < across:
        raise BadEntry(
            n_(
                "A row of this rug has {knots} knot. Count a whole row as a row.",
                "A row of this rug has {knots} knots. Count a whole row as a row.",
                across,
            ).format(knots=number(across))
        )
    if knots and rows_left <= 0:
        raise BadEntry(_("With these rows every row is woven. Remove the part of a row."))


def begun(plan: RugPlan, session: Session | SessionForm) -> tuple[RugPlan, ...]:
    """Return the plan a session changes with it: a planned rug with knots is on the loom."""
    if plan.stage is not RugStage.PLANNED or (session.rows <= 0 and not session.begun_knots):
        return ()
    return (replace(plan, stage=RugStage.ON_LOOM),)


def lots_again(book: RugBook, session: Session) -> tuple[LotChange, ...]:
    """Return the changes of dye lot that a session with fewer rows leaves to be done: their rows are not there."""
    others = tuple(other for other in book.sessions if other.id != session.id)
    rows = replace(book, sessions=(*others, session)).rows_woven
    return changes_to_come(book, rows) if rows < book.rows_woven else ()


def title_of(correcting: bool) -> str:
    """Return the page's title."""
    return _("Correct the session") if correcting else _("Session")


def rug_named(plan: RugPlan, plans: Iterable[RugPlan]) -> str:
    """Return the name of the rug that is meant, for a line of its own; "" where no other one is on a loom.

    On its first evening a rug is still planned: beside another one on the loom it is named then, too.
    """
    others = any(other.stage is RugStage.ON_LOOM and other.id != plan.id for other in plans)
    return plan.name if others else ""


def _use_lines(yarns: tuple[Yarn, ...], form: SessionForm) -> tuple[UseLine, ...]:
    from tracker.presenters.answer_words import yarn_code

    return tuple(
        UseLine(yarn.id, yarn_code(yarn), yarn.name, yarn.swatch, form.used_of(yarn.id)) for yarn in yarns
    )


def _hours_usual_words(form: SessionForm, stored: Session | None) -> str:
    """Say that nobody gave the form's hours; "" where somebody did, or there are none."""
    if form.hours is None or form.hours_said:
        return ""
    if stored is not None and stored.hours == form.hours and stored.hours_from is HoursFrom.USUAL:
        return _("The usual hours, not given. Tap to enter yours.")
    if len(form.weavers) > 1:
        return _("The usual hours for so many rows and weavers. Tap to enter yours.")
    return _("The usual hours for so many rows. Tap to enter yours.")


def offered_knots(form: SessionForm, book: RugBook, place: PlaceAtLoom | None) -> int | None:
    """Return the knots of the next row that are marked at the loom and not taken, since they were marked on another day; None: none."""
    if form.begun_said or form.begun_knots is not None or place is None or not form.comes_next(book, place):
        return None
    return place.knots


def _begun_told(form: SessionForm, offered: int | None, place: PlaceAtLoom | None, today: date) -> str:
    """Say that the knots of the next row come from the mark at the loom; "" where they were said here, or there are none."""
    if offered is not None and place is not None:
        if place.on is None:
            return _("Marked at the loom earlier. Tap it to count it.")
        return _("Marked at the loom on {day}. Tap it to count it.").format(day=day_short(place.on, today))
    if form.begun_knots and not form.begun_said and place is not None:
        return _("Marked at the loom. Tap it to change it.")
    return ""


def _save_words(form: SessionForm) -> str:
    """Say on the key that saves how much of the rug it saves."""
    what = rows_and_knots(form.rows, form.begun_knots or 0) if form.rows >= 0 else ""
    return _("Save {what}").format(what=what) if what else _("Save")


def hours_given(form: SessionForm) -> float | None:
    """Return the hours that somebody gave; the usual ones, which came with the rows, are none."""
    return form.hours if form.hours_said else None


def hours_hint(form: SessionForm) -> str:
    """Say the usual hours that stand in the form where nobody gave any; "" elsewhere."""
    if form.hours is None or form.hours_said:
        return ""
    return _("usual: {amount}").format(amount=hours(form.hours))


def _begun_label(form: SessionForm, book: RugBook, after: int, ended: int) -> str:
    """Name the row of which a part can be tied; after the last row none can, and what was said of one is to be taken out.

    The evening `ended` with so many rows, and there are `after` now.
    """
    if after < rows_wanted(book) or (form.begun_knots is not None and after < most_rows(book)):
        return _("Part of row {row}").format(row=number(ended + 1))
    return "" if form.begun_knots is None else _("No row is left to begin")


def build_session_state(
    form: SessionForm,
    book: RugBook,
    today: date,
    correcting: bool = False,
    waited: bool = False,
    taught: Taught = NOTHING_TAUGHT,
    lately: Evening | None = None,
    place: PlaceAtLoom | None = None,
) -> SessionState:
    """Turn the form into what the page shows.

    `waited` says that it was begun earlier and not saved, `taught` what earlier rugs say of the pace, `lately` what an evening at
    the rug ties that is woven beside it, `place` how far the row is marked as tied at the loom.
    """
    if form.day == today:
        when = _("today")
    elif form.day == today - timedelta(days=1):
        when = _("yesterday")
    else:
        when = day_short(form.day, today)
    after = rows_elsewhere(form, book) + form.rows
    # Of an evening that is corrected later ones are no part.
    ended = _rows_before(form, book) + form.rows
    across = book.plan.knots_across
    before = _begun_before(form, book)
    # Of a row that stands at its half the next half is the whole row.
    half = 0 if not form.rows and (before or 0) >= across // 2 else across // 2
    begun_anew = form.begun_knots is not None and (form.rows != 0 or form.begun_knots != (before or 0))
    # A row that was begun is told until something is said of the row that comes next.
    stands = form.begun_knots if form.begun_knots is not None or form.rows else before
    if after >= most_rows(book):
        stands = None
    # Before the first row there is no row to stand at.
    then = (
        _("then row {row} of {rows} done").format(row=number(ended), rows=number(rows_wanted(book)))
        if ended
        else ""
    )
    if stands:
        then = n_("row {row} done and {knots} knot", "row {row} done and {knots} knots", stands).format(
            row=number(ended), knots=number(stands)
        )
    offered = offered_knots(form, book, place)
    of_rows, refused = rows_refused(form, book), _refused(form, book, today)
    entered = bool(form.rows or form.used or begun_anew or (correcting and (form.hours or form.note.strip())))
    stored = next((session for session in book.sessions if session.id == form.session_id), None)
    saved = None if stored is None or form.hours_said or stored.hours == form.hours else stored.hours
    places, ahead = places_said(form, book)
    parts = place_parts(places, ahead, names_of_weavers(book), across)
    if parts:
        places_line = " · ".join(
            [part.words for part in parts] + [gap for gap in (gap_words(places, across),) if gap]
        )
    else:
        # What wages and balls count until then.
        places_line = (
            _("Shared as on another evening until you say who sits where. Tap to say.")
            if ever_said(book.sessions, form.weavers, across)
            else _("Shared evenly until you say who sits where. Tap to say.")
        )
    return SessionState(
        day=when,
        rows=form.rows,
        rows_after=then,
        rows_refused=of_rows,
        refused=refused if entered and not of_rows else "",
        suggestions=suggestions(book, taught, most_rows(book) - rows_elsewhere(form, book), lately),
        hours=_("not given") if form.hours is None else hours(form.hours),
        hours_label=hours_name(len(form.weavers)),
        hours_value=form.hours or 0.0,
        hours_usual=_hours_usual_words(form, stored),
        hours_saved=saved,
        hours_saved_words="" if saved is None else _("Keep {hours} as it was").format(hours=hours(saved)),
        balls=_use_lines(book.yarns_of(Role.PILE), form),
        whose=()
        if correcting
        else whose_lines(
            Session(
                id=form.session_id,
                rug_id=book.plan.id,
                day=form.day,
                rows=form.rows,
                weavers=form.weavers,
                used=form.used,
            ),
            book,
            form.whose,
        ),
        shuttles=_use_lines(book.yarns_of(Role.WEFT), form),
        weavers=tuple((weaver.id, weaver.name, weaver.id in form.weavers) for weaver in book.weavers),
        noted=noted_words(form.weavers, book),
        note=form.note,
        correcting=correcting,
        waiting=_("Not saved yet: the session of {day}.").format(day=day(form.day, today))
        if waited and form.is_of_earlier(today) and not correcting
        else "",
        can_save=entered and not refused and not (correcting and as_it_was(form, book)),
        save_words=_save_words(form),
        team=len(form.weavers) > 1,
        places=parts,
        places_words=places_line,
        begun=form.begun_knots,
        half=half,
        begun_label=_begun_label(form, book, after, ended),
        begun_shown=_("Knots")
        if form.begun_knots in (None, half) and offered is None
        else n_("{count} knot", "{count} knots", offered or form.begun_knots or 0).format(
            count=number(offered or form.begun_knots or 0)
        ),
        begun_offered=offered,
        begun_told=_begun_told(form, offered, place, today),
    )
