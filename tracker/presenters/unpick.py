"""Rows taken out again: from which row on, what yarn was in them, and how much of it cannot be used again."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass, replace
from datetime import date, timedelta
from typing import Any

from tracker.domain import defaults
from tracker.domain.dye_lots import changes_to_come
from tracker.domain.errors import BadEntry
from tracker.domain.lot_change import LotChange
from tracker.domain.mark import CartoonMark
from tracker.domain.need import account_of
from tracker.domain.rows import rows_to_weave
from tracker.domain.rug import HoursFrom, RugBook, Session, Spoilt, UnpickedYarn, Yarn, new_id
from tracker.files.typed import read_as
from tracker.forecast.answers import Answers
from tracker.presenters.answer_words import yarn_code
from tracker.presenters.doubts import Doubt, doubt_of_any, doubt_of_rows
from tracker.presenters.dye_lots import change_words
from tracker.presenters.entry_text import hours_name, mark_words
from tracker.presenters.places import noted_words
from tracker.words import _, day, hours, n_, number, shown_small_g, small_mass

LEAST_LOSS_G = 0.1
"""Less is no loss that a book keeps."""
LEAST_TOLD_G = 0.01
"""Less is told as less than this."""


@dataclass(frozen=True, slots=True)
class UnpickForm:
    """Rows being unpicked: the topmost ones, from `first_row` on."""

    session_id: str
    day: date
    first_row: int
    hours: float | None = None
    weavers: tuple[str, ...] = ()
    note: str = ""
    lost: tuple[tuple[str, float], ...] = ()
    """Grams that cannot be used again as somebody said them, by yarn; the others are as proposed."""
    row_said: bool = True
    """Whether somebody said from which row on: `first_row` is only a proposal where nobody did."""
    undone: bool = False
    """It was saved and undone: it is saved again only once that was asked for."""

    def with_weaver(self, weaver_id: str) -> UnpickForm:
        """Return the form with somebody at the loom who was not noted, or without her who was."""
        sat = self.weavers
        others = tuple(who for who in sat if who != weaver_id)
        return replace(self, weavers=others if weaver_id in sat else (*sat, weaver_id))

    def with_lost(self, yarn_id: str, grams: float | None) -> UnpickForm:
        """Return the form with what is lost of one yarn; None: as proposed."""
        said = {**dict(self.lost)}
        said.pop(yarn_id, None)
        if grams is not None:
            said[yarn_id] = grams
        return replace(self, lost=tuple(said.items()))


@dataclass(frozen=True, slots=True)
class UnpickLine:
    """One yarn of the unpicked rows."""

    yarn_id: str
    number: str
    name: str
    swatch: str
    there: str
    """What of it is in those rows."""
    lost_g: float
    lost: str
    """What of it cannot be used again."""
    said_g: float | None = None
    """The same where somebody said it; None: nobody, it is the usual part."""
    usual: str = ""
    """The usual part where nobody said; "" elsewhere."""


@dataclass(frozen=True, slots=True)
class UnpickState:
    """What the page shows."""

    day: str
    first_row: int
    """One above `most_row` where nobody said it: a step down takes the topmost row out."""
    shown_row: str
    """The same as it is shown."""
    most_row: int
    span: str
    more: str
    """What else comes out with the rows, a line each."""
    lines: tuple[UnpickLine, ...]
    hours: str
    hours_label: str
    """Whose hours they are, as on a session."""
    note: str
    weavers: tuple[tuple[str, str, bool], ...]
    """(id, name, was at the loom)"""
    noted: str
    """Who is noted, as it stands beside the main key."""
    act: str
    """What the main key says."""
    can_save: bool
    refused: str
    """Why what was entered cannot be saved, and what to do; "" where it can."""
    empty: str
    """Why no row can be unpicked; "" where some can."""
    empty_words: str
    """Why nothing can be unpicked; "" where something can."""
    next_key: str = ""
    """What has to be done before; "" for nothing."""


def _before(form: UnpickForm, book: RugBook) -> RugBook:
    """Return the rug as it stood when the rows were unpicked."""
    ids = [session.id for session in book.sessions]
    if form.session_id not in ids:
        return book
    return replace(book, sessions=book.sessions[: ids.index(form.session_id)])


def _top(before: RugBook) -> tuple[int, int]:
    """Return the topmost whole row, and the knots begun above it."""
    return max(0, before.rows_woven), before.begun_after[-1] if before.sessions else 0


def most_first_row(form: UnpickForm, book: RugBook) -> int:
    """Return the highest row from which can be unpicked: one that is begun may be taken out alone."""
    top, begun = _top(_before(form, book))
    return top + bool(begun)


def blank_form(book: RugBook, today: date, row: int | None = None) -> UnpickForm:
    """Return the form that takes out everything from `row` on; None: the topmost row."""
    form = UnpickForm(new_id(), today, 1)
    most = most_first_row(form, book)
    woven = book.woven_sessions
    known = {weaver.id for weaver in book.weavers}
    last = woven[-1].weavers if woven else tuple(weaver.id for weaver in book.weavers[:1])
    return replace(
        form,
        first_row=max(1, min(most, most if row is None else row)),
        row_said=row is not None,
        weavers=tuple(who for who in last if who in known),
    )


def taken_up(form: UnpickForm, book: RugBook, today: date) -> UnpickForm:
    """Return a kept form as it is gone on with today: one of another day that says only who sat there begins anew."""
    blank = blank_form(book, form.day)
    if form.day == today or replace(form, session_id=blank.session_id, weavers=blank.weavers) != blank:
        return form
    return replace(blank_form(book, today), weavers=form.weavers)


def form_of(session: Session, book: RugBook, answers: Answers | None = None) -> UnpickForm:
    """Return the form that corrects rows that were unpicked."""
    form = UnpickForm(
        session.id, session.day, 1, session.hours, session.weavers, session.note,
    )  # fmt: skip
    top, _begun = _top(_before(form, book))
    form = replace(form, first_row=max(1, top + session.rows + 1))
    told = {loss.yarn_id: loss.mass_g for loss in losses_of(session.id, book)}
    return replace(
        form,
        lost=tuple((line.yarn_id, told.get(line.yarn_id, 0.0)) for line in lines_of(form, book, answers)),
    )


def losses_of(session_id: str, book: RugBook) -> tuple[Spoilt, ...]:
    """Return what was lost of the rows that a session unpicked."""
    return tuple(loss for loss in book.spoilt if loss.session_id == session_id)


def yarn_in_rows(
    book: RugBook, first_row: int, answers: Answers | None = None
) -> tuple[tuple[Yarn, float], ...]:
    """Return the grams of each pile yarn and weft from `first_row` up to the knots tied last.

    Counted from the cartoon, or shared out as the plan says, at what a knot or a row took so far by the `answers`; without
    them at what the plan's one account takes. By any other measure, what is on hand would change though nothing came back.
    """
    taken = {} if answers is None else {one.yarn_id: one.use_ratio or 1.0 for one in answers.yarns}
    to_weave = rows_to_weave(book)
    account = account_of(book, to_weave)
    top, begun = _top(book)
    whole = slice(max(0, first_row - 1), max(0, min(top, to_weave.rows)))
    knots = to_weave.knots[whole].sum(axis=0)
    if begun and top < to_weave.rows:
        knots = knots + to_weave.knots[top] * (begun / max(1, to_weave.across))
    rows = max(0, whole.stop - whole.start)
    pile = [
        (need.yarn, float(many) * need.g_per_unit) for need, many in zip(account.pile, knots, strict=True)
    ]
    wefts = [(need.yarn, rows * need.g_per_unit) for need in account.wefts]
    reckoned = ((yarn, grams * taken.get(yarn.id, 1.0)) for yarn, grams in (*pile, *wefts))
    return tuple((yarn, grams) for yarn, grams in reckoned if grams > 0)


def _there_words(grams: float) -> str:
    """Say what is in the rows, of less than a gram its hundredths: two rows alike hold twice what one of them does."""
    if grams < LEAST_TOLD_G:
        least = _("{number} g").format(number=number(LEAST_TOLD_G, 2))
        return _("less than {mass} in these rows").format(mass=least)
    said = _("{number} g").format(number=number(grams, 2)) if grams < 1 else small_mass(grams)
    return _("{mass} in these rows").format(mass=said)


def lines_of(form: UnpickForm, book: RugBook, answers: Answers | None = None) -> tuple[UnpickLine, ...]:
    """Return what was in the rows of each yarn, and what of it is lost: as somebody said, else as is usual."""
    said = dict(form.lost)
    lines = []
    for yarn, grams in yarn_in_rows(_before(form, book), form.first_row, answers):
        # To the step in which it is shown: rounded twice, more could be lost than was there. Rounded up, too.
        usual_g = grams * defaults.UNPICKED_LOST[yarn.role.value]
        usual = round(usual_g, 1 if usual_g < 10 else 0)
        lost = said.get(yarn.id, usual if grams >= LEAST_LOSS_G else 0.0)
        lines.append(
            UnpickLine(
                yarn_id=yarn.id,
                number=yarn_code(yarn),
                name=yarn.name,
                swatch=yarn.swatch,
                there=_there_words(grams),
                lost_g=lost,
                said_g=said.get(yarn.id),
                usual="" if yarn.id in said else _("usual: {amount}").format(amount=small_mass(lost)),
                lost=_("{mass} lost").format(mass=small_mass(lost))
                if lost >= LEAST_LOSS_G
                else _("too little to count")
                if usual_g > 0 and yarn.id not in said
                else _("used again"),
            )
        )
    return tuple(lines)


def to_kept(form: UnpickForm) -> dict[str, Any]:
    """Return the form as JSON can keep it."""
    return {**asdict(form), "day": form.day.isoformat()}


def from_kept(draft: Any) -> UnpickForm | None:
    """Return a kept form; None when it cannot be read."""
    try:
        return read_as(UnpickForm, draft)
    except ValueError:
        return None


def rows_of(form: UnpickForm, book: RugBook) -> int:
    """Return the whole rows that are taken out."""
    top, _begun = _top(_before(form, book))
    return max(0, top - form.first_row + 1)


def _fewest_rows(form: UnpickForm, book: RugBook) -> int:
    """Return the fewest rows on the loom from the form's day on, with these taken out; below zero: so many were not there yet."""
    others = [session for session in book.sessions if session.id != form.session_id]
    height = sum(session.rows for session in others if session.day <= form.day) - rows_of(form, book)
    fewest = height
    for session in others:
        if session.day > form.day:
            height += session.rows
            fewest = min(fewest, height)
    return fewest


def _check(form: UnpickForm, book: RugBook, today: date) -> None:
    most = most_first_row(form, book)
    if most < 1:
        raise BadEntry(_("No row is on the loom yet."))
    if not 1 <= form.first_row <= most:
        raise BadEntry(_("Unpick from a row that is woven: 1 to {most}.").format(most=number(most)))
    left = sum(session.rows for session in book.sessions if session.id != form.session_id)
    if left < rows_of(form, book):
        raise BadEntry(
            n_(
                "There is only {rows} row on the loom to unpick. Unpick at most that.",
                "There are only {rows} rows on the loom to unpick. Unpick at most that many.",
                left,
            ).format(rows=number(left))
        )
    fewest = _fewest_rows(form, book)
    if fewest < 0:
        there = rows_of(form, book) + fewest
        raise BadEntry(
            n_(
                "On {day} only {rows} of these rows was on the loom. Choose the day on which they came out.",
                "On {day} only {rows} of these rows were on the loom. Choose the day on which they came out.",
                there,
            ).format(day=day(form.day, today), rows=number(there))
        )
    if form.hours is not None and not (math.isfinite(form.hours) and 0 <= form.hours <= 24):
        raise BadEntry(_("A day has 24 hours. Give the hours at the loom, such as 2.5, or leave them open."))
    if form.day > today + timedelta(days=1):
        raise BadEntry(
            _("{day} is still to come. Choose the day on which you sat at the loom.").format(
                day=day(form.day)
            )
        )


@dataclass(frozen=True, slots=True)
class Unpicked:
    """What one act writes: the session, what was lost of each yarn, and earlier losses that no longer hold."""

    session: Session
    losses: tuple[Spoilt, ...]
    withdrawn: tuple[str, ...]
    changes: tuple[LotChange, ...] = ()
    """Changes of dye lot in rows that came out: planned again."""
    mended: tuple[CartoonMark, ...] = ()
    """Mistakes that came out with their rows."""

    @property
    def values(self) -> tuple[object, ...]:
        """All that is written."""
        return (self.session, *self.losses, *self.changes, *self.mended)


def doubt_of(unpicked: Unpicked, book: RugBook, today: date, correcting: bool) -> Doubt | None:
    """Return what is asked before rows are unpicked; what comes out with them is told on the page already."""
    come_out = (*(one.id for one in unpicked.changes), *(one.id for one in unpicked.mended))
    doubt = None if correcting else doubt_of_any(unpicked.values, book, today)
    return doubt or doubt_of_rows(book, today, (unpicked.session,), settled=come_out)


def to_values(form: UnpickForm, book: RugBook, today: date, answers: Answers | None = None) -> Unpicked:
    """Return what the form stands for; `answers` as `yarn_in_rows` takes them.

    Raises
    ------
    BadEntry
        With a sentence, when something in it cannot be.
    """
    _check(form, book, today)
    stored = next((session for session in book.sessions if session.id == form.session_id), None)
    _top_row, begun = _top(_before(form, book))
    fields: dict[str, Any] = {
        "day": form.day,
        "rows": -rows_of(form, book),
        "hours": form.hours or None,
        "hours_from": HoursFrom.GIVEN if form.hours else None,
        "weavers": form.weavers,
        "note": form.note.strip(),
        "begun_knots": 0 if begun else None,
        "unpicked_yarn": UnpickedYarn.SAID,
    }
    session = (
        Session(id=form.session_id, rug_id=book.plan.id, **fields)
        if stored is None
        else replace(stored, **fields)
    )
    earlier = {loss.yarn_id: loss for loss in losses_of(form.session_id, book)}
    losses = []
    for line in lines_of(form, book, answers):
        if line.lost_g < LEAST_LOSS_G:
            continue
        loss = earlier.pop(line.yarn_id, None)
        if loss is None:
            loss = Spoilt(
                id=new_id(),
                rug_id=book.plan.id,
                yarn_id=line.yarn_id,
                day=form.day,
                mass_g=0.0,
                session_id=session.id,
            )
        losses.append(replace(loss, day=form.day, mass_g=line.lost_g))
    changes, mistakes = _coming_out(form, book)
    return Unpicked(
        session,
        tuple(losses),
        tuple(loss.id for loss in earlier.values()),
        changes,
        tuple(replace(mark, mended_day=max(form.day, mark.day)) for mark in mistakes),
    )


def _coming_out(form: UnpickForm, book: RugBook) -> tuple[tuple[LotChange, ...], tuple[CartoonMark, ...]]:
    """Return the changes of dye lot and the mistakes that come out with the rows."""
    rows = max(0, book.rows_woven - rows_of(form, book))
    if any(session.id == form.session_id for session in book.sessions):
        others = tuple(
            replace(session, rows=-rows_of(form, book)) if session.id == form.session_id else session
            for session in book.sessions
        )
        rows = replace(book, sessions=others).rows_woven
    mistakes = tuple(
        mark
        for mark in book.marks
        if mark.mended_day is None and max(rows, form.first_row - 1) < mark.row <= most_first_row(form, book)
    )
    return changes_to_come(book, rows), mistakes


def more_words(form: UnpickForm, book: RugBook) -> tuple[str, ...]:
    """Say what else comes out with the rows: changes of dye lot, and mistakes."""
    changes, mistakes = _coming_out(form, book)
    lots, names = {lot.id: lot for lot in book.lots}, {yarn.id: yarn.name for yarn in book.yarns}
    said = [
        _("{name}: {change} again.").format(
            name=names.get(change.yarn_id, ""), change=change_words(change, lots)
        )
        for change in changes
    ]
    return (*said, *(_("Mistake taken out: {where}.").format(where=mark_words(mark)) for mark in mistakes))


def rows_words(first_row: int, rows: int, begun: bool = False) -> str:
    """Say which rows are taken out, from the topmost down; what is begun of the next one comes out with them."""
    if rows < 1:
        return _("the begun part of row {row}").format(row=number(first_row))
    rows += begun
    if rows == 1:
        return _("row {row}").format(row=number(first_row))
    return _("rows {first} to {last}").format(first=number(first_row), last=number(first_row + rows - 1))


def saved_words(unpicked: Unpicked) -> str:
    """Say what was taken out, and what of the yarn was lost."""
    rows, begun = -unpicked.session.rows, unpicked.session.begun_knots is not None
    if rows and begun:
        said = n_(
            "{rows} row and the begun one unpicked", "{rows} rows and the begun one unpicked", rows
        ).format(rows=number(rows))
    elif rows:
        said = n_("{rows} row unpicked", "{rows} rows unpicked", rows).format(rows=number(rows))
    else:
        said = _("Begun row unpicked")
    lost = sum(shown_small_g(loss.mass_g) for loss in unpicked.losses)
    return f"{said}, " + _("{mass} lost").format(mass=small_mass(lost)) if lost else said


def build_unpick_state(
    form: UnpickForm, book: RugBook, today: date, waiting: bool = False, answers: Answers | None = None
) -> UnpickState:
    """Turn the form into what the page shows; `waiting` says that rows are counted above those in the book."""
    if form.day == today:
        when = _("today")
    elif form.day == today - timedelta(days=1):
        when = _("yesterday")
    else:
        when = day(form.day, today)
    most, rows, said = most_first_row(form, book), rows_of(form, book), form.row_said
    top, begun = _top(_before(form, book))
    span = _("to row {row}, the last one woven").format(row=number(top))
    if begun:
        span = n_(
            "to row {row}, of which {knots} knot is tied",
            "to row {row}, of which {knots} knots are tied",
            begun,
        ).format(row=number(top + 1), knots=number(begun))
    empty = empty_words = ""
    if waiting:
        # They lie above what would be taken out, and the row at the loom goes on from them.
        empty = _("What you counted last is not saved yet.")
        empty_words = _("Save that session first; then its rows can be unpicked, too.")
    elif most < 1:
        empty = _("No row is on the loom yet.")
        empty_words = _("When one has to come out again, its yarn is counted here.")
    refused = ""
    if said and not empty:
        try:
            to_values(form, book, today, answers)
        except BadEntry as trouble:
            refused = trouble.sentence
    return UnpickState(
        day=when,
        first_row=form.first_row if said else most + 1,
        shown_row=str(form.first_row) if said else "–",
        most_row=most,
        span=span,
        more="\n".join(more_words(form, book)) if said and most >= 1 else "",
        lines=lines_of(form, book, answers) if said else (),
        hours=_("not given") if form.hours is None else hours(form.hours),
        hours_label=hours_name(len(form.weavers)),
        note=form.note,
        weavers=tuple((weaver.id, weaver.name, weaver.id in form.weavers) for weaver in book.weavers),
        noted=noted_words(form.weavers, book) if not empty else "",
        act=_("Unpick {rows}").format(rows=rows_words(form.first_row, rows, bool(begun)))
        if said
        else _("Unpick rows"),
        can_save=said and not empty and not refused and not form.undone,
        refused=refused,
        empty=empty,
        empty_words=empty_words,
        next_key=_("Save the session") if waiting else "",
    )
