"""Writes tables for spreadsheets in which no text a weaver (or another phone) entered can act as a formula."""

from __future__ import annotations

import csv
import io
import math
import unicodedata
from collections.abc import Iterable, Sequence
from datetime import date
from decimal import Decimal

import numpy as np

FORMULA_STARTS = "=+-@|%\t\r\n＝＋－＠"
"""A text that begins with one of these is run as a formula by some spreadsheet (OWASP, "CSV Injection",
https://owasp.org/www-community/attacks/CSV_Injection); the fullwidth forms are taken for the plain ones. | and % start commands in some (common practice, no source)."""
GUARD = "'"
"""What is put before such a text; a spreadsheet shows the rest as text."""

Cell = str | int | float | Decimal | date | None


def safe_cell(value: Cell) -> str | int | float | Decimal:
    """Return a cell as it may be written: numbers stay numbers, texts cannot be taken for formulas."""
    if value is None:
        return ""
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Decimal):
        return value
    if isinstance(value, int | np.integer):
        return int(value)
    if isinstance(value, float | np.floating):
        return round(float(value), 4) if math.isfinite(value) else ""
    text = "".join(
        letter for letter in value if letter in "\t\r\n" or unicodedata.category(letter) not in ("Cc", "Cs")
    )
    # Blanks and unseen characters before it do not keep every spreadsheet from running a formula.
    first = next((letter for letter in text if unicodedata.category(letter) not in ("Zs", "Cf")), "")
    plain = text.replace("\r\n", "\n").replace("\r", "\n")
    return GUARD + plain if first and first in FORMULA_STARTS else plain


def table(head: Sequence[str], rows: Iterable[Sequence[Cell]]) -> bytes:
    """Return a table as the bytes of a CSV file; texts are quoted, numbers are not."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, quoting=csv.QUOTE_NONNUMERIC, lineterminator="\r\n")
    writer.writerow([safe_cell(word) for word in head])
    for row in rows:
        writer.writerow([safe_cell(cell) for cell in row])
    return out.getvalue().encode("utf-8-sig")
