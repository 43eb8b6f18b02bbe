"""Trimming the pile on the loom: when it is due, what was done, and what to mind."""

from __future__ import annotations

from dataclasses import dataclass, replace

from tracker.domain.rug import RugBook, RugPlan
from tracker.domain.trimming import heights_apart_mm, trim_due
from tracker.presenters.cautions import wool_dust
from tracker.presenters.entry_text import trimmed_words
from tracker.presenters.guide import shear_cautions
from tracker.words import _, day_short, n_, number, small_length

UNEVEN_MM = 1.0
"""Heights left that differ by more than this are worth a word (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class TrimLine:
    """A trimming that was entered."""

    record_id: str
    words: str
    note: str


@dataclass(frozen=True, slots=True)
class TrimmingState:
    """What the page says."""

    headline: str
    more: str
    due: bool
    every: str
    warning: str
    """Heights that differ; "" while they do not."""
    advice: str
    cautions: tuple[str, ...]
    lines: tuple[TrimLine, ...]
    """Highest row first."""


def due_words(book: RugBook) -> str:
    """Say that the pile is to be trimmed; "" while it is not due."""
    due = trim_due(book.rows_woven, book.trims, book.plan.trim_every_rows)
    if due.rows_to_go is None or due.rows_to_go > 0 or not due.rows_since:
        return ""
    return n_(
        "Trim the pile now: {rows} row since the last time.",
        "Trim the pile now: {rows} rows since the last time.",
        due.rows_since,
    ).format(rows=number(due.rows_since))


def with_interval(plan: RugPlan, rows: int | None) -> RugPlan:
    """Return the plan trimmed after so many rows; None: nobody says."""
    return replace(plan, trim_every_rows=rows)


def build_trimming_state(book: RugBook, unit: str = "cm") -> TrimmingState:
    """Turn the book into what the page says, heights in `unit`."""
    every = book.plan.trim_every_rows
    due = trim_due(book.rows_woven, book.trims, every)
    now = due_words(book)
    if now:
        headline = now
    elif due.rows_to_go is not None and book.rows_woven > 0:
        headline = n_("Trim in {rows} row", "Trim in {rows} rows", due.rows_to_go).format(
            rows=number(due.rows_to_go)
        )
    elif book.trims:
        headline = n_(
            "{rows} row since the last trimming", "{rows} rows since the last trimming", due.rows_since
        ).format(rows=number(due.rows_since))
    else:
        headline = _("Not trimmed yet")
    more = _("Trimmed up to row {row}.").format(row=number(due.trimmed_to)) if due.trimmed_to else ""
    if not book.trims:
        more = _("Log each trimming: up to which row, and how high the pile was before and after.")
    apart = heights_apart_mm(book.trims)
    warning = ""
    if apart is not None and apart > UNEVEN_MM:
        warning = _(
            "The trimmed heights differ by {height}. Check the pile at both edges and in the middle."
        ).format(height=small_length(apart, unit))
    return TrimmingState(
        headline=headline,
        more=more,
        due=bool(now),
        every=""
        if every is None
        else n_("every {rows} row", "every {rows} rows", every).format(rows=number(every)),
        warning=warning,
        advice=_(
            "Brush the pile up, hold the shears flat, and take several light passes: yarn cut too low cannot be put back. Common practice, no source."
        ),
        cautions=(*shear_cautions(), wool_dust().text),
        lines=tuple(
            TrimLine(trim.id, trimmed_words(trim, unit), day_short(trim.day, trim.day))
            for trim in sorted(book.trims, key=lambda trim: (trim.row, trim.born), reverse=True)
        ),
    )
