"""The row at the loom: its runs in the order they are knotted, the place within it, and the rows counted so far."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import Any

import numpy as np

from tracker import theme
from tracker.domain.cartoon import runs_of_row, yarn_of_value
from tracker.domain.errors import BadEntry
from tracker.domain.rug import RugBook, RugStage
from tracker.forecast.reckon import most_rows
from tracker.forecast.reckon import rows_wanted as rows_wanted
from tracker.presenters.answer_words import yarn_code
from tracker.presenters.picture import cell_colours
from tracker.presenters.places import PlacePart, names_of_weavers, place_parts, places_at_loom
from tracker.presenters.session import (
    PlaceAtLoom,
    SessionForm,
    begun_from,
    blank_form,
    keep_form,
    places_said,
)
from tracker.words import _, day_short, n_, number

AHEAD_PALE = 0.55
"""How far the rows above the current one are drawn towards the ground in the strip."""


@dataclass(frozen=True, slots=True)
class RunTile:
    """Knots of one yarn side by side, as they are knotted."""

    knots: int
    count: str
    name: str
    code: str
    """The yarn's number; "?" when no yarn is given to the colour."""
    swatch: str
    first: int
    """First and last knot of the run, from 1 on the side where the weaver starts."""
    last: int
    span: str
    begun: int = 0
    """Knots of the run that are tied where the last session ended within it."""


@dataclass(frozen=True, slots=True)
class LoomState:
    """What the page shows. `state` is "row", "no cartoon", "woven", "planned" or "past the cartoon"."""

    state: str
    row: int
    current: int
    figure: str
    of: str
    summary: str
    runs: tuple[RunTile, ...]
    counted: int
    counted_words: str
    hint: str
    begun: int = 0
    """Knots of the row that were tied when the last session ended; 0 for another row and for one weaver's part."""

    @property
    def begun_runs(self) -> int:
        """Runs of the row that were whole when the last session ended."""
        return sum(run.last <= self.begun for run in self.runs)

    @property
    def browsing(self) -> bool:
        """True while another row than the next one is looked at."""
        return self.row != self.current


def runs_of(
    book: RugBook, row: int, mirrored: bool = False, part: tuple[int, int] | None = None
) -> tuple[RunTile, ...]:
    """Return the runs of a row (from 1), in working order.

    Cartoon colours that are knotted in one yarn make one run. `mirrored`: for who works from the back, the
    cartoon's right end comes first. `part`: only these knots (first and last, from 1 as read from the front);
    the runs are cut there, their knots still counted over the whole row.
    """
    cartoon = book.cartoon
    if cartoon is None or not 1 <= row <= cartoon.rows:
        return ()
    owner = yarn_of_value(book.yarns, len(cartoon.palette))
    cells = cartoon.cells[row - 1]
    # A value without a yarn stands for itself: -1 - value is below every yarn's position.
    keys = np.where(owner >= 0, owner, -1 - np.arange(owner.size))[cells]
    woven_before = 0
    if part is not None:
        keys = keys[part[0] - 1 : part[1]]
        woven_before = cells.size - part[1] if mirrored else part[0] - 1
    if mirrored:
        keys = keys[::-1]
    tiles = []
    for run in runs_of_row(keys):
        if run.colour >= 0:
            yarn = book.yarns[run.colour]
            name, code, swatch = yarn.name, yarn_code(yarn), yarn.swatch
        else:
            name, code, swatch = _("no yarn yet"), "?", cartoon.palette[-1 - run.colour]
        first, last = woven_before + 1, woven_before + run.knots
        span = (
            _("knot {first}").format(first=number(first))
            if first == last
            else _("knots {first} to {last}").format(first=number(first), last=number(last))
        )
        tiles.append(RunTile(run.knots, number(run.knots), name, code, swatch, first, last, span))
        woven_before = last
    return tuple(tiles)


def build_loom_state(
    book: RugBook,
    shown: int | None,
    counted: SessionForm | None,
    today: date,
    mirrored: bool = False,
    part: tuple[int, int] | None = None,
) -> LoomState:
    """Turn the book into what the page shows.

    Parameters
    ----------
    book
        The rug.
    shown
        The row looked at, from 1; None: the next one to weave.
    counted
        The session form with the rows counted so far; None: nothing counted.
    today
        The local day.
    mirrored
        The weaver works from the back.
    part
        First and last knot of the one weaver's place that is looked at; None: the whole row.
    """
    rows = rows_wanted(book)
    more = counted.rows if counted else 0
    done = max(0, min(rows, book.rows_woven + more))
    current = min(done + 1, rows)
    row = current if shown is None else max(1, min(rows, shown))
    words = ""
    if more:
        words = n_("{count} row counted", "{count} rows counted", abs(more)).format(
            count=f"{more:+d}".replace("-", "−")
        )
        if counted is not None and counted.day != today:
            words = _("{counted} on {day}").format(counted=words, day=day_short(counted.day, today))
    runs: tuple[RunTile, ...] = ()
    summary = hint = ""
    begun = 0
    if book.plan.stage is RugStage.FINISHED or (done >= rows and shown is None):
        state = "woven"
        hint = _("Every row of this rug is woven.")
    elif book.cartoon is None:
        state = "no cartoon"
        hint = _(
            "This rug has no cartoon. With one, this page shows the runs of every row in order, the colours beside "
            "them, and keeps your place in the row. Add a picture of the cartoon in the rug's plan."
        )
    elif row > book.cartoon.rows:
        state = "past the cartoon"
        hint = n_(
            "The cartoon ends at row {row}; the plan has more rows.",
            "The cartoon ends at row {row}; the plan has more rows.",
            book.cartoon.rows,
        ).format(row=number(book.cartoon.rows))
    else:
        state = "row"
        begun = book.knots_begun if part is None and not more and row == book.rows_woven + 1 else 0
        runs = with_begun(runs_of(book, row, mirrored, part), begun)
        colours = len({(run.code, run.swatch) for run in runs})
        summary = "{}, {}".format(
            n_("{count} run", "{count} runs", len(runs)).format(count=number(len(runs))),
            n_("{count} colour", "{count} colours", colours).format(count=number(colours)),
        )
        if mirrored:
            summary = _("{runs}, from the back").format(runs=summary)
        if begun:
            summary = _tied_words(begun, book)
    return LoomState(
        state=state,
        row=row,
        current=current,
        figure=number(row),
        of=_("of {rows} rows").format(rows=number(rows)),
        summary=summary,
        runs=runs,
        counted=more,
        counted_words=words,
        hint=hint,
        begun=begun,
    )


def _tied_words(tied: int, book: RugBook) -> str:
    return _("{tied} of {knots} knots tied").format(tied=number(tied), knots=number(book.knots_across))


def summary_with_mark(state: LoomState, place: PlaceAtLoom | None, book: RugBook) -> str:
    """Return what is said of the row in its head: of one that was begun the knots up to the mark, else up to where the session ended."""
    if not state.begun or place is None or place.row != state.row:
        return state.summary
    return _tied_words(place.knots, book)


def with_begun(runs: tuple[RunTile, ...], begun: int) -> tuple[RunTile, ...]:
    """Return the runs, the one in which the last session ended saying what of it is tied and what is left."""
    return tuple(
        replace(
            run,
            begun=begun - run.first + 1,
            count=number(run.last - begun),
            span=_("{tied} of {knots} tied").format(
                tied=number(begun - run.first + 1), knots=number(run.knots)
            ),
        )
        if run.first <= begun < run.last
        else run
        for run in runs
    )


# --- the place within the row


def place_of(
    places: object, rug_id: str, row: int, runs: int, part: tuple[int, int] | None = None
) -> int | None:
    """Return the run (from 0) at which the weaver is in `row`, `runs` when past the last; None: not marked.

    `places` is what the drafts hold: rug id -> {"row", "run", "part"}; a place marked in another part of the row does
    not count.
    """
    place = places.get(rug_id) if isinstance(places, dict) else None
    if not isinstance(place, dict) or place.get("row") != row:
        return None
    if place.get("part") != (None if part is None else list(part)):
        return None
    run = place.get("run")
    return run if type(run) is int and 0 <= run <= runs else None


def with_place(
    kept: object,
    rug_id: str,
    row: int,
    run: int | None,
    part: tuple[int, int] | None = None,
    on: date | None = None,
) -> dict[str, Any]:
    """Return what the drafts should hold with the place at `run`, marked `on` that day; None takes the mark away."""
    places = dict(kept) if isinstance(kept, dict) else {}
    places.pop(rug_id, None)
    if run is not None:
        place: dict[str, Any] = {"row": row, "run": run}
        if part is not None:
            place["part"] = list(part)
        if on is not None:
            place["on"] = on.isoformat()
        places[rug_id] = place
    return places


def marked_in(kept: object, rug_id: str) -> tuple[str, dict[str, Any]] | None:
    """Return the rug and its mark as the drafts hold it, to put it back once a row that was counted is not done after all."""
    place = kept.get(rug_id) if isinstance(kept, dict) else None
    return (rug_id, place) if isinstance(place, dict) else None


def marked_again(kept: object, rug_id: str, left: tuple[str, dict[str, Any]] | None) -> dict[str, Any]:
    """Return what the drafts should hold with the mark that `marked_in` gave; it counts in the row in which it was made alone."""
    places = dict(kept) if isinstance(kept, dict) else {}
    if left is not None and left[0] == rug_id:
        places.setdefault(rug_id, left[1])
    return places


def next_place(tapped: int, place: int | None) -> int:
    """Return the place after a tap on run `tapped`: there, or one further when it was there already.

    A row without a mark is at its first run.
    """
    return tapped + 1 if tapped == (place or 0) else tapped


def knots_at(places: object, book: RugBook, mirrored: bool) -> PlaceAtLoom | None:
    """Return where the whole row's place is marked; None without a mark.

    `places` is what the drafts hold, as for `place_of`.
    """
    place = places.get(book.plan.id) if isinstance(places, dict) else None
    row = place.get("row") if isinstance(place, dict) else None
    if type(row) is not int:
        return None
    runs = runs_of(book, row, mirrored)
    run = place_of(places, book.plan.id, row, len(runs))
    if not run or not isinstance(place, dict):
        return None
    try:
        on = date.fromisoformat(place.get("on", ""))
    except (TypeError, ValueError):
        on = None  # marked by an earlier form of the app, which did not note the day
    return PlaceAtLoom(row, runs[run - 1].last, on)


def marked_words(
    place: PlaceAtLoom | None,
    book: RugBook,
    state: LoomState,
    form: SessionForm | None,
    today: date,
    short: bool = False,
) -> str:
    """Say what the mark in the row that comes next does; "" where it does nothing.

    Beside rows that are counted it is said in the same breath. `short`: for large type.
    """
    if place is None or state.state != "row" or place.row != state.current or state.browsing:
        return ""
    if not 0 < place.knots < book.knots_across:
        return ""
    count, row = number(place.knots), number(place.row)
    counts = place.on == (today if form is None else form.taken_up(today).day)
    if state.counted and not counts:
        return ""  # how many rows are counted is to be seen
    if state.counted:
        return (
            n_("+{count} knot", "+{count} knots", place.knots)
            if short
            else n_("and {count} knot tied", "and {count} knots tied", place.knots)
        ).format(count=count)
    if short:
        return (
            n_("{count} knot for the session", "{count} knots for the session", place.knots)
            if counts
            else n_("{count} knot marked earlier", "{count} knots marked earlier", place.knots)
        ).format(count=count)
    if counts:
        return n_(
            "{count} knot of row {row} tied. Today's session counts it.",
            "{count} knots of row {row} tied. Today's session counts them.",
            place.knots,
        ).format(count=count, row=row)
    return n_(
        "{count} knot of row {row} was marked earlier. The next session offers it.",
        "{count} knots of row {row} were marked earlier. The next session offers them.",
        place.knots,
    ).format(count=count, row=row)


# --- one weaver's part of the row


def team_parts(book: RugBook, form: SessionForm | None) -> tuple[PlacePart, ...]:
    """Return the parts of the row as the team sits now, left to right; empty when nobody said or one sits alone."""
    waiting = None
    if form is not None:
        said = places_said(form, book)
        waiting = said if said[0] else None
        latest = book.woven_sessions[-1:]
        if waiting is None and latest and set(form.weavers) != set(latest[0].weavers):
            return ()  # others than last time sit here, and nobody said where
    places, ahead = places_at_loom(book, waiting)
    if len(places) < 2:
        return ()
    return place_parts(places, ahead, names_of_weavers(book), book.plan.knots_across)


def part_of(kept: object, rug_id: str, parts: tuple[PlacePart, ...]) -> PlacePart | None:
    """Return the part looked at; None: the whole row. `places` is what the drafts hold: rug id -> weaver id."""
    wanted = kept.get(rug_id) if isinstance(kept, dict) else None
    return next((part for part in parts if part.weaver_id == wanted), None)


def with_part(kept: object, rug_id: str, weaver_id: str | None) -> dict[str, Any]:
    """Return what the drafts should hold when a weaver's part is looked at; None: the whole row."""
    parts = dict(kept) if isinstance(kept, dict) else {}
    parts.pop(rug_id, None)
    if weaver_id:
        parts[rug_id] = weaver_id
    return parts


def part_words(part: PlacePart | None, parts: tuple[PlacePart, ...], short: bool = False) -> str:
    """Return what the key says that chooses a part; "" when there is no team. `short`: without the knots, which the runs
    below it show."""
    if not parts:
        return ""
    if part is None:
        return _("The whole row")
    if short:
        return ", ".join(filter(None, (part.name, part.ahead_words)))
    return _("{name}: {knots}").format(
        name=part.name, knots=", ".join(filter(None, (part.span, part.ahead_words)))
    )


def row_of_part(part: PlacePart, current: int, rows: int) -> int | None:
    """Return the row that comes next in a part that stands ahead; None when it is the one that comes next for all."""
    row = min(rows, current + part.ahead)
    return None if row == current else row


# --- counting rows


def count_rows(
    form: SessionForm | None, book: RugBook, today: date, by: int, undone: SessionForm | None = None
) -> SessionForm:
    """Return the session form with `by` rows more, begun as an evening begins when there is none.

    Parameters
    ----------
    undone : the session of this evening that was undone: its hours, yarn and words wait in the form that is begun, its rows do not

    Raises
    ------
    BadEntry
        When the rug has no more rows, or fewer than none.
    """
    if form is None:
        form = blank_form(book, today) if undone is None else begun_from(undone, book)
    after = book.rows_woven + form.rows + by
    if after > most_rows(book):
        raise BadEntry(_("Every row of this rug is counted. Save the session."))
    if after < 0:
        raise BadEntry(_("There is no row left to undo."))
    return form.with_rows(form.rows + by, book)


def is_bare(form: SessionForm, book: RugBook) -> bool:
    """True when the form holds nothing but what it starts with, so that it need not be kept."""
    return replace(blank_form(book, form.day), session_id=form.session_id) == form


def keep_counted(drafts: Any, form: SessionForm, book: RugBook, undone: SessionForm | None = None) -> None:
    """Keep the rows counted of a rug for its session; a form that holds nothing, or nothing beyond an undone one, is forgotten."""
    nothing_new = is_bare(form, book) or (undone is not None and form == begun_from(undone, book))
    keep_form(drafts, book.plan.id, None if nothing_new else form)


def must_save_first(form: SessionForm | None, today: date, timer_runs: bool) -> bool:
    """True when work of an earlier day still waits to be saved and would be mixed with today's.

    While the timer runs it is one sitting, midnight or not.
    """
    return form is not None and form.is_of_earlier(today) and not timer_runs


# --- the strip of the cartoon around the row


@dataclass(frozen=True, slots=True, eq=False)
class RowStrip:
    """A piece of the cartoon around a row: `picture` uint8 (rows, knots, 3), lowest row first."""

    picture: np.ndarray
    row_index: int
    """Place of the row in the picture, from 0."""
    mistakes: tuple[tuple[int, int], ...] = ()
    """Of the mistakes still there in the row: knots that lie before, as the picture shows them, and how many it has."""


def row_strip(
    book: RugBook, row: int, below: int, above: int, ground: str = theme.LIGHT.card, mirrored: bool = False
) -> RowStrip | None:
    """Cut the rows around `row` out of the cartoon; beyond its ends there is bare `ground`."""
    cartoon = book.cartoon
    if cartoon is None or not 1 <= row <= cartoon.rows:
        return None
    bare = np.array([round(c * 255) for c in theme.channels(ground)], dtype=np.uint8)
    picture = np.empty((below + 1 + above, cartoon.knots_across, 3), dtype=np.uint8)
    picture[:] = bare
    first, last = max(0, row - 1 - below), min(cartoon.rows, row + above)
    to = first - (row - 1 - below)
    picture[to : to + last - first] = cell_colours(book)[cartoon.cells[first:last]]
    ahead = picture[below + 1 :].astype(float)
    picture[below + 1 :] = (ahead + (bare - ahead) * AHEAD_PALE).round().astype(np.uint8)
    if mirrored:
        picture = np.ascontiguousarray(picture[:, ::-1])
    return RowStrip(picture, below, mistakes_in_row(book, row, mirrored))


def mistakes_in_row(book: RugBook, row: int, mirrored: bool = False) -> tuple[tuple[int, int], ...]:
    """Return of each mistake still there in a row how many knots lie before it and how many it has."""
    across = book.knots_across
    return tuple(
        (across - last if mirrored else mark.first_knot - 1, last - mark.first_knot + 1)
        for mark in sorted(book.marks, key=lambda mark: mark.first_knot)
        if mark.row == row
        and mark.mended_day is None
        and (last := min(mark.last_knot, across)) >= mark.first_knot
    )
