"""Makes what a weaver takes along of a rug: the record, tables, the calendar, the cartoon's rows."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from tracker.domain.rug import RugBook
from tracker.forecast.answers import Answers
from tracker.presenters.export import Kind
from tracker.reports.files_out import safe_name, write_numbered, write_numbered_folder
from tracker.words import _, day


def record_bytes(
    book: RugBook,
    answers: Answers,
    photo_at: Callable[[str], Path | None],
    unit: str = "cm",
    currency: str = "",
) -> bytes:
    """Return the record as a PDF; `photo_at` tells where a picture lies, None when it is not on this phone."""
    from tracker.presenters.record.rug_record import rug_record
    from tracker.reports.record_pdf import record_pdf

    return record_pdf(rug_record(book, answers, unit=unit, photo_at=photo_at, currency=currency))


def files_of(
    kind: Kind,
    book: RugBook,
    answers: Answers,
    *,
    photo_at: Callable[[str], Path | None],
    now: datetime,
    unit: str = "cm",
    first_row: int = 1,
    mirrored: bool = False,
    currency: str = "",
) -> dict[str, bytes]:
    """Make one thing to take along; return its files, names and bytes.

    Raises
    ------
    BadEntry
        There is nothing to make of this rug; the sentence says why.
    """
    name = safe_name(book.plan.name)
    if kind is Kind.RECORD:
        return {
            _("{name} record").format(name=name) + ".pdf": record_bytes(
                book, answers, photo_at, unit, currency
            )
        }
    if kind is Kind.ROWS:
        from tracker.reports.rows_pdf import rows_list, rows_pdf

        rows = rows_list(book, first_row, None, mirrored)
        said = _("{name} rows {first} to {last}").format(name=name, first=rows.first, last=rows.last)
        return {said + ".pdf": rows_pdf(rows, day(answers.day))}
    if kind is Kind.TABLES:
        from tracker.reports.csv_tables import csv_files

        return csv_files(book, answers, currency)
    from tracker.reports.calendar_file import calendar_file

    return {name + ".ics": calendar_file(book, answers, now)}


def write(kind: Kind, files: dict[str, bytes], folder: Path, rug_name: str) -> Path:
    """Write one thing, made by `files_of`, into a folder under a free name.

    Returns
    -------
    Path
        The file written; for tables the folder that holds them.

    Raises
    ------
    BookTrouble
        It could not be written. The same call may be tried again.
    """
    if kind is Kind.TABLES:
        return write_numbered_folder(folder, _("{name} tables").format(name=safe_name(rug_name)), files)
    ((name, data),) = files.items()
    return write_numbered(folder, name, data)
