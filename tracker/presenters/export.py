"""The page of what can be taken along of a rug: what each thing holds, where it goes, why one cannot be made."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from tracker.domain.rug import RugBook, RugStage
from tracker.forecast.answers import Answers
from tracker.presenters.rates import sessions_words
from tracker.words import _, number


class Kind(StrEnum):
    """What can be taken along."""

    RECORD = "record"
    ROWS = "rows"
    TABLES = "tables"
    CALENDAR = "calendar"


@dataclass(frozen=True, slots=True)
class ExportCard:
    """One thing that can be taken along."""

    kind: Kind
    title: str
    note: str
    icon: str
    can: bool
    """False: `note` says why not."""


@dataclass(frozen=True, slots=True)
class ExportState:
    """What the page shows."""

    rug_name: str
    headline: str
    goes_where: str
    cards: tuple[ExportCard, ...]
    first_row: int
    """Row from which the cartoon's rows are printed."""
    rows: int
    """Rows of the cartoon; 0 without one."""


def usual_first_row(book: RugBook) -> int:
    """Return the row a print of the cartoon begins with: the next one to weave, or the first of a rug that is done."""
    if book.cartoon is None or book.plan.stage is RugStage.FINISHED:
        return 1
    next_row = max(0, book.rows_woven) + 1
    return next_row if next_row <= book.cartoon.rows else 1


def has_days_ahead(book: RugBook, answers: Answers) -> bool:
    """Tell whether a calendar would hold anything of this rug: of one whose last row is woven the days off are no longer."""
    if answers.finished:
        return False
    return answers.finish is not None or any(off.last_day >= answers.day for off in book.days_off)


def build_export_state(
    book: RugBook, answers: Answers, folder: str, first_row: int | None = None
) -> ExportState:
    """Turn a rug into what the page shows.

    Parameters
    ----------
    book, answers
        The rug and its answers.
    folder
        Where files will be written, as it is named; "": each is given away or saved where the weaver says.
    first_row
        The row chosen for the cartoon's print; None: the usual one.
    """
    finished = book.plan.stage is RugStage.FINISHED
    rows = book.cartoon.rows if book.cartoon is not None else 0
    first = usual_first_row(book) if first_row is None else max(1, min(rows or 1, first_row))
    ahead = has_days_ahead(book, answers)
    if finished:
        headline = _("This rug is finished: hand its record over with it.")
        note = _(
            "For whoever gets the rug: its picture, size, knots, yarns and how it was woven, with advice on its care."
        )
    elif book.woven_sessions:
        headline = _("This rug is on the loom: all of this is so far, as of today.")
        note = _("Its picture as woven, size, knots, yarns, how it is being woven, and today's answers.")
    else:
        headline = _("No row is woven yet: all of this comes from the plan.")
        note = _("The plan on paper: size, knots, yarns and when it may be done.")
    return ExportState(
        rug_name=book.plan.name,
        headline=headline,
        goes_where=_("Written to the folder {folder}; what lies there is never overwritten.").format(
            folder=folder
        )
        if folder
        else _("Each can be given to a phone or an app, or saved where you say."),
        cards=(
            ExportCard(
                Kind.RECORD,
                _("The record") if finished else _("A record so far"),
                _("PDF to print or send. {what}").format(what=note),
                "rug",
                True,
            ),
            ExportCard(
                Kind.ROWS,
                _("The rows of the cartoon"),
                _("PDF to print: the runs of every row from row {first} on, to tick off at the loom.").format(
                    first=number(first)
                )
                if rows
                else _("This rug has no cartoon, so there are no rows to print."),
                "row",
                rows > 0,
            ),
            ExportCard(
                Kind.CALENDAR,
                _("The days to come"),
                _(
                    "Calendar file: the last row, marks on the way, yarn to order, days off. Open it "
                    "in your calendar again and they move."
                )
                if ahead
                else _("The last row is woven: there is nothing for a calendar."),
                "calendar",
                ahead,
            ),
            ExportCard(
                Kind.TABLES,
                _("Tables"),
                _("CSV files for a spreadsheet: {sessions}, yarns, what happened to them, rows.").format(
                    sessions=sessions_words(book)
                ),
                "chart",
                True,
            ),
        ),
        first_row=first,
        rows=rows,
    )


def written_words(path: Path) -> str:
    """Say that something was written."""
    return _("Written: {name}").format(name=path.name)
