"""What may be said on the command line, each option checked by itself and beside the others."""

from __future__ import annotations

import argparse
import os
from contextlib import suppress
from datetime import date
from pathlib import Path

from tracker.domain.errors import BadEntry
from tracker.words import _, use_language

FIRST_DAY, LAST_DAY = date(1990, 1, 1), date(2150, 12, 31)
"""Days to answer for; beyond them a book would be answered for a century of weaving, and the demo has no calendar."""
LEAST_TEXT_SIZE, MOST_TEXT_SIZE = 100, 200
"""Percent of the usual size of the text."""
MOST_FOLDERS = 250
"""Folders within each other in a name; making many more at once ends Python's own patience."""


def _path(text: str) -> Path:
    if not text.strip() or "\0" in text:
        raise argparse.ArgumentTypeError(_("say a file or a folder, not an empty name"))
    if text.count(os.sep) > MOST_FOLDERS:
        raise argparse.ArgumentTypeError(_("say a name with fewer folders in it"))
    # "made-up/.." has no name of its own that anything could be written under.
    return Path(os.path.normpath(text)) if Path(text).name == ".." else Path(text)


def _file(text: str) -> Path:
    path = _path(text)
    if text.endswith(("/", os.sep)) and not os.path.isdir(path):
        raise argparse.ArgumentTypeError(
            _("there is no folder {folder}. Make it first, or name a file").format(folder=text)
        )
    return path


def _day(text: str) -> date:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(
            _("there is no day {day}. Say it as year-month-day, such as 2027-01-31").format(day=text)
        ) from None
    if not FIRST_DAY <= day <= LAST_DAY:
        raise argparse.ArgumentTypeError(
            _("say a day from {first} to {last}").format(
                first=FIRST_DAY.isoformat(), last=LAST_DAY.isoformat()
            )
        )
    return day


def _rug(text: str) -> str:
    if not text.strip():
        raise argparse.ArgumentTypeError(_("say the rug's name, or 'all'"))
    return text


def _text_size(text: str) -> int:
    if not text.isdecimal() or not LEAST_TEXT_SIZE <= int(text[:9]) <= MOST_TEXT_SIZE:
        raise argparse.ArgumentTypeError(
            _("say the percent from {least} to {most}").format(least=LEAST_TEXT_SIZE, most=MOST_TEXT_SIZE)
        )
    return int(text)


def _count(text: str) -> int:
    if not text.removeprefix("-").isdecimal() or len(text) > 9:
        raise argparse.ArgumentTypeError(_("say a whole number, such as 8"))
    return int(text)


def _page(text: str) -> str:
    from tracker.screens import PAGES

    if text not in PAGES:
        raise argparse.ArgumentTypeError(
            _("there is no page {page}. The pages are {pages}").format(page=text, pages=", ".join(PAGES))
        )
    return text


def _language(text: str) -> str:
    from tracker.presenters.settings import LANGUAGES

    if text not in LANGUAGES:
        offered = ", ".join(f"{code} ({name})" for code, name in LANGUAGES.items())
        raise argparse.ArgumentTypeError(
            _("Loomside does not speak {language}. It speaks {offered}").format(
                language=text, offered=offered
            )
        )
    return text


def parser() -> argparse.ArgumentParser:
    """Return the command line's parser."""
    arguments = argparse.ArgumentParser(
        prog="main.py",
        description=_(
            "Loomside, a progress book for hand-knotted rugs. Without options it opens the weaver's own book."
        ),
    )
    arguments.add_argument(
        "--book", type=_path, help=_("the book's file; made when it is not there and a window is opened")
    )
    arguments.add_argument(
        "--demo", action="store_true", help=_("open a demo book, kept apart from your own")
    )
    arguments.add_argument(
        "--text", action="store_true", help=_("print the answers as text instead of opening a window")
    )
    arguments.add_argument(
        "--json", action="store_true", help=_("print the answers as JSON instead of opening a window")
    )
    arguments.add_argument(
        "--plan", action="store_true", help=_("print the material plan, alone or with --text or --json")
    )
    arguments.add_argument(
        "--record", type=_file, metavar="FILE.pdf", help=_("write the record of the rug as a PDF")
    )
    arguments.add_argument(
        "--rows",
        type=_file,
        metavar="FILE.pdf",
        help=_("write the rows of its cartoon as a PDF to print for the loom"),
    )
    arguments.add_argument(
        "--csv",
        type=_path,
        metavar="FOLDER",
        help=_("write sessions, yarns and rows as tables for a spreadsheet"),
    )
    arguments.add_argument(
        "--calendar", type=_file, metavar="FILE.ics", help=_("write the days to come as a calendar file")
    )
    arguments.add_argument(
        "--rug",
        type=_rug,
        help=_("when printing or writing: the rug's name (default: the open one; 'all': every rug)"),
    )
    arguments.add_argument(
        "--day", type=_day, help=_("the day to answer for, as 2027-01-31 (default: today)")
    )
    arguments.add_argument(
        "--screens", type=_path, metavar="FOLDER", help=_("draw every screen to PNG files in a folder")
    )
    arguments.add_argument(
        "--size", default="360x640", help=_("with --screens: width x height of the window (default 360x640)")
    )
    arguments.add_argument(
        "--only", nargs="+", type=_page, metavar="PAGE", help=_("with --screens: these pages alone")
    )
    arguments.add_argument("--dark", action="store_true", help=_("with --screens: in the dark colours"))
    arguments.add_argument(
        "--text-size",
        type=_text_size,
        default=LEAST_TEXT_SIZE,
        metavar="PERCENT",
        help=_("with --screens: text size, 100 to 200"),
    )
    arguments.add_argument(
        "--as-it-is",
        action="store_true",
        help=_("when printing or writing: open the book even if entries are missing that it once held"),
    )
    arguments.add_argument(
        "--read-cartoon",
        type=_path,
        metavar="PICTURE",
        help=_("read a cartoon from a photograph, a scan or an enlarged picture, and say how sure that is"),
    )
    arguments.add_argument(
        "--into",
        type=_file,
        metavar="FILE.png",
        help=_("with --read-cartoon: where to write it, one pixel a knot"),
    )
    arguments.add_argument(
        "--knots", metavar="80x120", help=_("with --read-cartoon: its knots and rows, where you know them")
    )
    arguments.add_argument(
        "--corners",
        metavar="CORNERS",
        help=_('with --read-cartoon: its corners as "x,y x,y x,y x,y" in pixels, from the top left round'),
    )
    arguments.add_argument(
        "--colours", type=_count, metavar="NUMBER", help=_("with --read-cartoon: how many colours it has")
    )
    arguments.add_argument(
        "--language", type=_language, help=_("the language of the words, such as en or tr")
    )
    return arguments


def parsed(arguments: list[str] | None = None) -> argparse.Namespace:
    """Return what the command line says; what cannot be understood ends the program with a sentence."""
    reading = parser()
    options = reading.parse_args(arguments)
    for action in reading._actions:
        # "--book=--" leaves an empty list where a value should be, past every check.
        if action.nargs is None and getattr(options, action.dest, None) == []:
            reading.error(_("say something after {option}").format(option=action.option_strings[0]))
    return options


def speak_as_asked(arguments: list[str]) -> None:
    """Speak the language that is asked for before anything else is read, so that help and refusals are in it."""
    asked = argparse.ArgumentParser(add_help=False, exit_on_error=False)
    asked.add_argument("--language", nargs="?", type=_language)
    with suppress(argparse.ArgumentError):  # said again, with the sentence, when all is read
        said = asked.parse_known_args(arguments)[0].language
        if isinstance(said, str):
            use_language(said)


_WITH: dict[str, tuple[str, ...]] = {
    **dict.fromkeys(("into", "knots", "corners", "colours"), ("read_cartoon",)),
    **dict.fromkeys(("only", "dark", "size", "text_size"), ("screens",)),
    **dict.fromkeys(("rug", "as_it_is"), ("text", "json", "plan", "record", "rows", "csv", "calendar")),
}
"""Options that say something only beside one of others."""
_DEEDS = (
    ("read_cartoon",),
    ("record", "rows", "csv", "calendar"),
    ("text", "json", "plan"),
    ("screens",),
)
"""What can be asked for: of these one at a time."""
_BESIDE_ALL = ("book", "demo", "day", "language")
"""Which book, which day, which language: said beside whatever is asked for."""


def check_goes_together(options: argparse.Namespace) -> None:
    """Refuse options of which one would be left out without a word.

    Raises
    ------
    BadEntry
        With a sentence that names them.
    """
    usual = vars(parser().parse_args([]))
    grouped = {*_WITH, *_BESIDE_ALL, *(name for deed in _DEEDS for name in deed)}
    assert grouped == set(usual), "an option in no group would be obeyed or dropped in silence"

    def is_said(name: str) -> bool:
        return bool(getattr(options, name) != usual[name])

    def shown(name: str) -> str:
        return "--" + name.replace("_", "-")

    for name, others in _WITH.items():
        if is_said(name) and not any(map(is_said, others)):
            raise BadEntry(
                _(
                    "{option} says something only together with {others}. Add it, or leave {option} out."
                ).format(option=shown(name), others=", ".join(map(shown, others)))
            )
    deeds = [[name for name in deed if is_said(name)] for deed in _DEEDS]
    if is_said("read_cartoon") and is_said("json"):
        # The reading itself can be said as JSON.
        deeds = [[name for name in deed if name != "json"] for deed in deeds]
    both = [deed[0] for deed in deeds if deed]
    if is_said("text") and is_said("json"):
        both = ["text", "json"]
    if len(both) > 1:
        raise BadEntry(
            _("{one} and {other} cannot be done at once. Ask for one after the other.").format(
                one=shown(both[0]), other=shown(both[1])
            )
        )
