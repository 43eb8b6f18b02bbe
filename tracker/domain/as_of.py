"""The book of a rug as it stood on an earlier evening."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from tracker.domain.rug import (
    Lot,
    Measurement,
    Photo,
    RugBook,
    RugStage,
    Sample,
    Session,
    Spoilt,
    Weighing,
)


def dated_entries(
    book: RugBook,
) -> tuple[Session | Lot | Weighing | Spoilt | Sample | Measurement | Photo, ...]:
    """Return everything dated that somebody entered while the rug was on the loom."""
    return (
        *book.sessions, *book.lots, *book.weighings, *book.spoilt, *book.samples, *book.measurements, *book.photos
    )  # fmt: skip


STRAY_SESSIONS = 2
"""So many sessions that lie ahead are taken for days written wrongly; of more the phone's clock is behind (our own judgement)."""


def sessions_to_come(book: RugBook, today: date) -> tuple[Session, ...]:
    """Return the sessions of weaving dated after tomorrow: their day, or the phone's, is wrong.

    Tomorrow it may be already where the other phone of a loom stands.
    """
    return tuple(session for session in book.woven_sessions if session.day > today + timedelta(days=1))


def with_stray_days_as_today(book: RugBook, today: date) -> RugBook:
    """Return the book with the sessions dated wrongly ahead as of today, so that their day moves no date; their rows and hours count.

    Where many lie ahead, and nothing of an earlier day was entered after them, the phone's clock is behind the book, and they stay.
    """
    ahead = sessions_to_come(book, today)
    entered = max((s.born for s in book.woven_sessions if s not in ahead), default=None)
    few = len(ahead) <= STRAY_SESSIONS
    # Of a rug's first sessions its planned first day tells which of the two is wrong.
    begun = book.plan.start_day <= today + timedelta(days=1)
    if not ahead or (entered is None and not (few and begun)):
        return book
    stray = {session.id for session in ahead if few or (entered is not None and session.born < entered)}
    sessions = (replace(s, day=today) if s.id in stray else s for s in book.sessions)
    return replace(book, sessions=tuple(sorted(sessions, key=lambda session: session.day)))


def book_as_of(book: RugBook, day: date) -> RugBook:
    """Return the book as it stood on the evening of `day`: later entries left out, the rug still on the loom.

    Notes
    -----
    Days off carry no day of entry; they were known when they were entered before something dated on or before that
    day. The plan is taken as it is now: the book does not say since when it is so.
    """
    known = max((entry.born for entry in dated_entries(book) if entry.day <= day), default=0)
    return replace(
        book,
        plan=replace(book.plan, stage=RugStage.ON_LOOM, finished_day=None),
        sessions=tuple(s for s in book.sessions if s.day <= day),
        lots=tuple(lot for lot in book.lots if lot.day <= day),
        weighings=tuple(w for w in book.weighings if w.day <= day),
        spoilt=tuple(s for s in book.spoilt if s.day <= day),
        samples=tuple(s for s in book.samples if s.day <= day),
        measurements=tuple(m for m in book.measurements if m.day <= day),
        hand_outs=tuple(entry for entry in book.hand_outs if entry.day <= day),
        trims=tuple(trim for trim in book.trims if trim.day <= day),
        days_off=tuple(off for off in book.days_off if off.born <= known),
        preparations=tuple(p for p in book.preparations if p.day <= day),
        after_steps=tuple(
            replace(s, done_day=None) if s.done_day and s.done_day > day else s for s in book.after_steps
        ),
        photos=tuple(p for p in book.photos if p.day <= day),
        lot_changes=tuple(
            replace(c, done_day=None) if c.done_day and c.done_day > day else c
            for c in book.lot_changes
            if c.day <= day
        ),
        marks=tuple(
            replace(mark, mended_day=None) if mark.mended_day and mark.mended_day > day else mark
            for mark in book.marks
            if mark.day <= day
        ),
    )
