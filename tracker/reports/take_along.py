"""Makes what a weaver takes along of a rug: the record, tables, the calendar, the cartoon's rows."""

from __future__ import annotations

from datetime import datetime
from enum import StrEnum
from pathlib import Path

from tracker.device.photos import photo_path
from tracker.domain.rug import RugBook
from tracker.forecast.answers import Answers
from tracker.reports.files_out import safe_name, write_numbered, write_numbered_folder
from tracker.words import _, day


class Kind(StrEnum):
    """What can be taken along."""

    RECORD = "record"
    ROWS = "rows"
    TABLES = "tables"
    CALENDAR = "calendar"


def record_bytes(book: RugBook, answers: Answers, book_path: Path, unit: str = "cm") -> bytes:
    """Return the record as a PDF; `book_path` tells where the photos lie."""
    from tracker.presenters.rug_record import rug_record
    from tracker.reports.record_pdf import record_pdf

    return record_pdf(rug_record(book, answers, unit=unit, photo_at=lambda name: photo_path(book_path, name)))


def rows_bytes(book: RugBook, answers: Answers, first: int = 1, mirrored: bool = False) -> tuple[bytes, int, int]:
    """Return the cartoon's rows as a PDF, with the first and the last row it holds.

    Raises
    ------
    BadEntry
        There is no cartoon, or no such row.
    """
    from tracker.reports.rows_pdf import rows_list, rows_pdf

    rows = rows_list(book, first, None, mirrored)
    return rows_pdf(rows, day(answers.day)), rows.first, rows.last


def take(
    kind: Kind,
    book: RugBook,
    answers: Answers,
    folder: Path,
    *,
    book_path: Path,
    now: datetime,
    unit: str = "cm",
    first_row: int = 1,
    mirrored: bool = False,
) -> Path:
    """Make one thing and write it into a folder under a free name; return the file or folder written.

    Raises
    ------
    BadEntry
        There is nothing to make of this rug; the sentence says why.
    BookTrouble
        It could not be written. The same call may be tried again.
    """
    name = safe_name(book.plan.name)
    if kind is Kind.RECORD:
        return write_numbered(folder, _("{name} record").format(name=name) + ".pdf", record_bytes(book, answers, book_path, unit))
    if kind is Kind.ROWS:
        data, first, last = rows_bytes(book, answers, first_row, mirrored)
        return write_numbered(folder, _("{name} rows {first} to {last}").format(name=name, first=first, last=last) + ".pdf", data)
    if kind is Kind.TABLES:
        from tracker.reports.csv_tables import csv_files

        return write_numbered_folder(folder, _("{name} tables").format(name=name), csv_files(book, answers))
    from tracker.reports.calendar_file import calendar_file

    return write_numbered(folder, name + ".ics", calendar_file(book, answers, now))
