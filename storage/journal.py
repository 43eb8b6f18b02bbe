"""Tells whether the journal beside a book is the book's own, before SQLite brings what it holds into the book.

SQLite checks a journal against itself only: one of another book, whole in itself, would be replayed over this one.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from enum import Enum
from pathlib import Path

from storage import carve
from storage.checks import proven_act
from tracker.files.regular import open_regular

_SALTS = slice(16, 24)
"""Where a journal's head has the numbers that its frames repeat: www.sqlite.org/fileformat2.html, 4.1."""
_HEAD_BYTES = 32


class Journal(Enum):
    """Whose a journal is, as far as the acts in it tell."""

    NONE = "none"
    OWN = "own"
    UNKNOWN = "unknown"
    """It holds no acts, or the book holds none."""
    OLD = "old"
    """Of this book, but of an earlier time: the file holds acts that came later."""
    FOREIGN = "foreign"


def journal_path(path: Path) -> Path:
    """Return where SQLite keeps the journal of the book at `path`."""
    return path.with_name(path.name + "-wal")


def salts(path: Path) -> bytes:
    """Return the eight bytes that mark the journal of the book at `path`; empty: there is none."""
    try:
        with open_regular(journal_path(path)) as file:
            return file.read(_HEAD_BYTES)[_SALTS]
    except OSError:
        return b""


Acts = dict[int, tuple[str, str]]
"""(act id, device id) by the number of the act in its book."""


def whose(path: Path, noted_salts: bytes, also_known: Acts | None = None) -> Journal:
    """Look whose the journal beside the book at `path` is, by what SQLite would replay of it.

    Acts are numbered without gaps in the order in which they reached a book, and a number is never given twice: a
    journal that gives one of the book's numbers to another act is of another book.

    Parameters
    ----------
    noted_salts
        The mark of the journal into which this app wrote last, where that is known.
    also_known
        Acts by their numbers from a copy of the same book.
    """
    journal_salts = salts(path)
    if len(journal_salts) < 8:
        return Journal.NONE
    if journal_salts == noted_salts:
        return Journal.OWN
    told = _acts_in_pages(path, in_journal=True)
    if not told:
        return Journal.UNKNOWN
    known = {**(also_known or {}), **_acts_in_file(path)}
    if not known:
        return Journal.UNKNOWN
    if any(known.get(number, act)[0] != act[0] for number, act in told.items()):
        return Journal.FOREIGN
    goes_on = not known.keys().isdisjoint(told) or min(told) == max(known) + 1
    devices = {device for _act, device in known.values()}
    if not goes_on and devices.isdisjoint(device for _act, device in told.values()):
        return Journal.FOREIGN
    return Journal.OLD if max(told) < max(known) else Journal.OWN


def _acts_in_pages(path: Path, in_journal: bool) -> Acts:
    """Return the acts with true seals on the pages of the journal, or of the file."""
    acts: Acts = {}
    for number, row in carve.rows(path, in_file=not in_journal, in_journal=in_journal, as_sqlite=True):
        act = proven_act(row)
        if act is not None:
            acts[number] = (str(act[0]), str(act[1]))
    return acts


def _acts_in_file(path: Path) -> Acts:
    """Return the acts in the file without its journal."""
    try:
        # Immutable: no lock, no journal, nothing written beside it.
        with closing(sqlite3.connect(f"{path.as_uri()}?mode=ro&immutable=1", uri=True)) as connection:
            rows = connection.execute("SELECT number, act_id, device_id FROM act")
            return {number: (str(act_id), str(device_id)) for number, act_id, device_id in rows}
    except (sqlite3.Error, UnicodeDecodeError):
        return _acts_in_pages(path, in_journal=False)
