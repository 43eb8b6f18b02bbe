"""Writes tables for spreadsheets in which no text a weaver (or another phone) entered can act as a formula."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from datetime import date
from pathlib import Path

_STARTS = "=+-@|%\t\r\n" + "＝＋－＠"
"""First signs at which some spreadsheet takes a cell for a formula or a command; full-width ones too.

Source: OWASP, "CSV Injection" (owasp.org/www-community/attacks/CSV_Injection): = + - @, tab, carriage return, line
feed and the full-width forms. | and % start DDE calls and are added from common practice, no source.
"""

Cell = str | int | float | date | None


def safe_cell(value: Cell) -> str:
    """Return what stands in a cell: numbers and days as they are, text so that it stays text.

    A text that could be taken for a formula gets an apostrophe in front, which spreadsheets show or hide but never
    evaluate. Blanks before it do not help it, since some programs drop them.
    """
    if value is None:
        return ""
    if isinstance(value, (bool, int, float)):
        return repr(value) if isinstance(value, float) else str(value)
    if isinstance(value, date):
        return value.isoformat()
    text = value.replace("\x00", "")
    # What a program might skip before it looks: any white space, and marks that cannot be seen.
    seen = (
        text.lstrip()
        .lstrip("\ufeff\u200b\u200c\u200d\u200e\u200f\u2060\u202a\u202b\u202c\u202d\u202e")
        .lstrip()
    )
    if (text[:1] in _STARTS and text) or (seen[:1] in _STARTS and seen):
        return "'" + text
    return text


def csv_text(header: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    """Return a table as RFC 4180 text: every cell quoted, lines ending in CR LF."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, quoting=csv.QUOTE_ALL, lineterminator="\r\n")
    writer.writerow([safe_cell(name) for name in header])
    writer.writerows([safe_cell(cell) for cell in row] for row in rows)
    return out.getvalue()


def write_csv(path: Path, header: Sequence[str], rows: Iterable[Sequence[Cell]]) -> None:
    """Write a table as a file; it begins with a byte-order mark, by which spreadsheets know UTF-8."""
    path.write_bytes(csv_text(header, rows).encode("utf-8-sig"))
