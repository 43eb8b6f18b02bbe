"""Reads the command line and does what it asks for; without options it opens the window."""

from __future__ import annotations

import argparse
import errno
import io
import os
import sys
from contextlib import suppress
from pathlib import Path

from tracker.app.window import has_display
from tracker.command_line import deeds
from tracker.command_line.books import book_path
from tracker.command_line.options import check_goes_together, parsed, speak_as_asked
from tracker.domain.errors import LoomsideError
from tracker.words import _

CLOSED_PIPE = 141
"""What a shell reports for a program whose reader went away: 128 + SIGPIPE."""
INTERRUPTED = 130
"""The same for one stopped from the keyboard: 128 + SIGINT."""


def run(options: argparse.Namespace) -> int:
    """Do what the options ask for; return the exit code."""
    check_goes_together(options)
    if options.read_cartoon:
        from tracker.reports.cartoon_form import read_to_file

        return read_to_file(
            options.read_cartoon,
            options.into,
            knots=options.knots,
            corners=options.corners,
            colours=options.colours,
            as_json=options.json,
        )
    if options.record or options.rows or options.csv or options.calendar:
        return deeds.write_files(options)
    if options.text or options.json or options.plan:
        return deeds.print_answers(options)
    if options.screens:
        return deeds.draw_pictures(options)
    if not has_display():
        print(
            _(
                "Loomside finds no screen here. Print the answers with --text or --json, "
                "or draw every screen to pictures with --screens FOLDER."
            ),
            file=sys.stderr,
        )
        return 3
    return deeds.run_window(options)


def main(arguments: list[str] | None = None) -> int:
    """Run Loomside with the given arguments; return the exit code."""
    options: argparse.Namespace | None = None
    try:
        for stream in (sys.stdout, sys.stderr):
            # A letter that the terminal cannot write is no reason to stop; in the locale C Python sets surrogateescape.
            if isinstance(stream, io.TextIOWrapper) and stream.errors in ("strict", "surrogateescape"):
                stream.reconfigure(errors="backslashreplace")
        speak_as_asked(sys.argv[1:] if arguments is None else arguments)
        options = parsed(arguments)
        code = run(options)
        if sys.stdout is not None:
            sys.stdout.flush()
        return code
    except LoomsideError as trouble:
        print(trouble.sentence, file=sys.stderr)
        return 2
    except BrokenPipeError:
        _forget_output()
        return CLOSED_PIPE
    except OSError as error:
        if error.errno not in (errno.ENOSPC, errno.EDQUOT, errno.EIO):
            return _unforeseen(error, options)
        _forget_output()
        print(_("The answers could not be written: there may be no room left."), file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        return INTERRUPTED
    except Exception as error:
        return _unforeseen(error, options)


def _forget_output() -> None:
    """Let go of what is still in the buffer: it has nowhere to go, and Python would complain at the end."""
    with suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)


def _unforeseen(error: Exception, options: argparse.Namespace | None) -> int:
    from tracker.app.unforeseen import EXIT_CODE, note_and_say

    beside: Path | None = None
    if options is not None:
        with suppress(Exception):  # whatever it was may be met again here
            beside = book_path(options)
    print(note_and_say(error, beside), file=sys.stderr)
    return EXIT_CODE
