"""The book of a rug as it stood on an earlier evening."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

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
