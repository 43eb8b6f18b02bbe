"""What nobody foresaw: one plain sentence for the weaver, and the trace in a file that the sentence names."""

from __future__ import annotations

import os
import sys
import tempfile
import traceback
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path

from tracker.files.regular import read_regular
from tracker.files.whole import write_whole
from tracker.words import _

EXIT_CODE = 70
"""EX_SOFTWARE, "an internal software error has been detected": sysexits(3)."""
MOST_BYTES = 200_000
"""The file's size; the oldest traces give way."""
MOST_TRACE = 20_000
"""Letters of one trace: its beginning and its end."""
HEADER = b"Loomside: what went wrong, newest last. It holds no entries of the book.\n"
"""First line of the file; another file that lies there is left alone."""


def log_path(book_path: Path) -> Path:
    """Return where the traces of the book at `book_path` are kept."""
    return book_path.with_name(book_path.name + ".trouble.txt")


def _entry(error: BaseException) -> bytes:
    trace = "".join(traceback.format_exception(error))
    if len(trace) > MOST_TRACE:
        trace = f"{trace[: MOST_TRACE // 2]}\n...\n{trace[-MOST_TRACE // 2 :]}"
    now = datetime.now(UTC).isoformat(timespec="seconds")
    told = f"\n{now} Python {sys.version.split()[0]} {sys.platform}\n{trace}"
    return told.encode("utf-8", "backslashreplace")


def note(error: BaseException, book_path: Path | None) -> Path | None:
    """Keep the trace of `error` beside the book, or among the system's passing files; return where.

    Returns
    -------
    Path or None
        None: it could be written nowhere, and stands on the standard error.
    """
    entry = _entry(error)
    with suppress(OSError, ValueError):
        if book_path is not None:
            path = log_path(book_path)
            before = read_regular(path, MOST_BYTES) if os.path.lexists(path) else HEADER
            if before.startswith(HEADER):
                earlier = before[len(HEADER) :][-(MOST_BYTES - len(HEADER) - len(entry)) :]
                write_whole(path, HEADER + earlier + entry)
                return path
    with suppress(OSError):
        handle, name = tempfile.mkstemp(prefix="loomside-", suffix=".trouble.txt")
        with open(handle, "wb") as file:
            file.write(HEADER + entry)
        return Path(name)
    if sys.stderr is not None:
        with suppress(OSError, ValueError):
            sys.stderr.write(entry.decode("utf-8", "replace"))
    return None


def sentence(where: Path | None) -> str:
    """Return what the weaver is told; `where` is what `note` returned."""
    if where is None:
        return _("Something went wrong. What is in the book is safe. Start again.")
    return _(
        "Something went wrong. What is in the book is safe. The details are in {path}: send that "
        "file to whoever gave you Loomside."
    ).format(path=where)


def note_and_say(error: BaseException, book_path: Path | None) -> str:
    """Keep the trace of `error` (see `note`) and return the sentence to be shown."""
    return sentence(note(error, book_path))
