"""Reads the command line and starts the app, the text form or the pictures of the screens."""

from __future__ import annotations

import argparse
import errno
import io
import json
import os
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from tracker.app.desk import Desk
from tracker.app.window import has_display, prepare_kivy
from tracker.device.memory import collect_at_rest
from tracker.domain.errors import BadEntry, BookTrouble, LoomsideError
from tracker.words import _, use_language

if TYPE_CHECKING:
    from tracker.domain.rug import RugBook, RugPlan
    from tracker.forecast.answers import Answers
    from tracker.presenters.looms import LoomsState

FIRST_DAY, LAST_DAY = date(1990, 1, 1), date(2150, 12, 31)
"""Days to answer for; beyond them a book would be answered for a century of weaving, and the demo has no calendar."""
LEAST_TEXT_SIZE, MOST_TEXT_SIZE = 100, 200
"""Percent of the usual size of the text."""
CLOSED_PIPE = 141
"""What a shell reports for a program whose reader went away: 128 + SIGPIPE."""
MOST_FOLDERS = 250
"""Folders within each other in a name; making many more at once ends Python's own patience."""
INTERRUPTED = 130
"""The same for one stopped from the keyboard: 128 + SIGINT."""


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
        "--colours", type=int, metavar="NUMBER", help=_("with --read-cartoon: how many colours it has")
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


def _speak_as_asked(arguments: list[str]) -> None:
    """Speak the language that is asked for before anything else is read, so that help and refusals are in it."""
    asked = argparse.ArgumentParser(add_help=False, exit_on_error=False)
    asked.add_argument("--language", nargs="?", type=_language)
    with suppress(argparse.ArgumentError):  # said again, with the sentence, when all is read
        said = asked.parse_known_args(arguments)[0].language
        if isinstance(said, str):
            use_language(said)


def data_folder() -> Path:
    """Return the folder in which this user's books lie, made when it is not there."""
    if os.environ.get("ANDROID_PRIVATE"):
        folder = Path(os.environ["ANDROID_PRIVATE"])
    elif sys.platform == "win32":
        folder = Path(os.environ.get("APPDATA", Path.home())) / "Loomside"
    elif sys.platform == "darwin":
        folder = Path.home() / "Library" / "Application Support" / "Loomside"
    else:
        folder = Path(os.environ.get("XDG_DATA_HOME", Path.home() / ".local" / "share")) / "loomside"
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise BookTrouble(
            _("{folder}, the folder for books, cannot be made. Say with --book where yours is to be.").format(
                folder=folder
            )
        ) from error
    return folder


def book_path(options: argparse.Namespace) -> Path:
    """Return the file of the weaver's book that the options name; for a demo a name in the folder where it lies.

    Raises
    ------
    BookTrouble
        When there can be no book.
    """
    if options.book is None or options.demo:
        return data_folder() / ("demo" if options.demo else "book.loomside")
    path = Path(os.path.abspath(options.book))
    if not path.name or os.path.isdir(path):
        raise BookTrouble(_("{path} is a folder. Name the book's file in it.").format(path=path))
    return path


def open_desk(options: argparse.Namespace, background: bool) -> Desk:
    """Return a desk on the book the options name; the demo book is built when it is not there.

    Raises
    ------
    BadEntry
        When a demo is asked for and a book named: the demo has a place of its own and touches no other file.
    BookTrouble
        When the demo cannot be built.
    """
    day = options.day
    if options.demo:
        from tracker.demo.place import demo_path, ensure_demo

        if options.book is not None:
            raise BadEntry(
                _(
                    "--demo opens a book of its own and leaves {book} alone. "
                    "Leave --demo out to open that book, or leave --book out to see the demo."
                ).format(book=options.book)
            )
        today = date.today()  # noqa: DTZ011 - the weaver's own day
        # A clock that was never set, or is centuries ahead, has no calendar to build a demo from.
        shown = day or min(max(today, FIRST_DAY), LAST_DAY)
        path = ensure_demo(demo_path(data_folder(), today, day), shown)
        if shown != today:
            day = shown
    else:
        path = book_path(options)
    return Desk(path, today=(lambda: day) if day else None, background=background)


def check_book_is_there(options: argparse.Namespace) -> None:
    """Refuse to read a book that was named and is not there: only the window begins a new one.

    Raises
    ------
    BookTrouble
        When there is nothing at the place.
    """
    if options.book is None or options.demo:
        return
    path = book_path(options)
    if not os.path.lexists(path):
        raise BookTrouble(
            _(
                "There is no book at {path}. Check the name. Opened in a window, a new book is started there."
            ).format(path=path)
        )


@contextmanager
def opened(options: argparse.Namespace) -> Iterator[Desk]:
    """Open the book the options name for the length of a `with` block.

    Raises
    ------
    LoomsideError
        As `open_desk`; and when the book cannot be opened, or not even its rugs be listed.
    """
    check_book_is_there(options)
    desk = open_desk(options, background=False)
    try:
        desk.open(as_it_is=options.as_it_is)
        if desk.book.notice:
            print(desk.book.notice, file=sys.stderr)
        if desk.trouble and not desk.plans:
            raise BookTrouble(desk.trouble)
        yield desk
    finally:
        desk.close()


def rugs_wanted(desk: Desk, options: argparse.Namespace) -> list[RugPlan] | None:
    """Return the plans of the rugs the options name; None, once it is said, when there is none of that name."""
    from tracker.reports.text_form import shelf_text

    if not options.rug:
        return [plan for plan in desk.plans if plan.id == desk.rug_id]
    if options.rug == "all":
        return list(desk.plans)
    wanted = [plan for plan in desk.plans if plan.name.casefold() == options.rug.casefold()]
    if not wanted:
        print(
            _("There is no rug named {name} in this book. It has:").format(name=options.rug), file=sys.stderr
        )
        print(shelf_text(desk.plans), end="", file=sys.stderr)
        return None
    return wanted


def print_answers(options: argparse.Namespace) -> int:
    """Print the answers of one rug, or of all, as text or JSON; return the exit code."""
    from tracker.domain.material_plan import material_plan
    from tracker.forecast.reckon import rows_wanted
    from tracker.presenters.costs import currency_of
    from tracker.presenters.looms import looms_text
    from tracker.presenters.whole_plan import preparations_elsewhere
    from tracker.reports.text_form import as_text, as_values, looms_values, plan_text, plan_values, shelf_text

    with opened(options) as desk:
        wanted = rugs_wanted(desk, options)
        if wanted is None:
            return 1
        pairs = [desk.answers_for(plan.id) for plan in wanted]
        all_rugs = len(wanted) == len(desk.plans)
        plans = (
            [
                material_plan(
                    book,
                    earlier=preparations_elsewhere(desk, book.plan.id),
                    rows=rows_wanted(book),
                    taught=answers.taught,
                )
                for book, answers in pairs
            ]
            if options.plan
            else []
        )
        if options.json:
            values = [as_values(*pair, currency=currency_of(desk.settings)) for pair in pairs]
            for value, (book, answers), plan in zip(values, pairs, plans, strict=False):
                value["material"] = plan_values(book, plan, answers)
            plain = not (sys.stdout.encoding or "").lower().startswith("utf")
            told: dict[str, object] = {"rugs": values}
            if all_rugs and desk.looms():
                told["looms"] = looms_values(looms_state(desk, pairs))
            print(json.dumps(told, ensure_ascii=plain, indent=2))
            return 0
        currency = currency_of(desk.settings)
        texts = (
            [as_text(*pair, currency=currency, unit=desk.length_unit) for pair in pairs]
            if options.text or not options.plan
            else []
        )
        texts += [
            plan_text(book, plan, answers, currency, desk.length_unit)
            for (book, answers), plan in zip(pairs, plans, strict=False)
        ]
        if options.text and all_rugs and (on_looms := looms_text(looms_state(desk, pairs))):
            texts.append(on_looms)
        print("\n".join(texts) if texts else shelf_text(()), end="")
    return 0


def looms_state(desk: Desk, pairs: Sequence[tuple[RugBook, Answers]]) -> LoomsState:
    """Return what the looms page says, from the answers of all rugs."""
    from tracker.domain.rug import RugStage
    from tracker.presenters.looms import build_looms_state

    return build_looms_state(
        desk.looms(),
        [(book, answers) for book, answers in pairs if book.plan.stage is not RugStage.FINISHED],
        [book for book, _answers in pairs if book.plan.stage is RugStage.FINISHED],
        desk.today(),
        desk.length_unit,
    )


def write_files(options: argparse.Namespace) -> int:
    """Write the record, the rows, tables and the calendar that were asked for, and print the names they got.

    A file that is there already is never overwritten: the new one gets a number. What one of several rugs has none of is told,
    and is no failure while others have it.
    """
    from tracker.app.exports import files_of
    from tracker.presenters.costs import currency_of
    from tracker.presenters.export import Kind
    from tracker.reports.files_out import safe_name, write_numbered
    from tracker.reports.text_form import shelf_text

    asked = (
        (Kind.RECORD, options.record),
        (Kind.ROWS, options.rows),
        (Kind.TABLES, options.csv),
        (Kind.CALENDAR, options.calendar),
    )
    with opened(options) as desk:
        wanted = rugs_wanted(desk, options)
        if not wanted:
            if wanted is not None:
                print(shelf_text(()), end="", file=sys.stderr)
            return 1
        unit = desk.length_unit
        currency = currency_of(desk.settings)
        failed = written = False
        for plan in wanted:
            rug, answers = desk.answers_for(plan.id)
            for kind, path in asked:
                if path is None:
                    continue
                try:
                    files = files_of(kind, rug, answers, desk.path, unit=unit, currency=currency)
                except BadEntry as trouble:
                    print(f"{plan.name}: {trouble.sentence}", file=sys.stderr)
                    failed = True
                    continue
                for name, data in files.items():
                    target = path / name if kind is Kind.TABLES or os.path.isdir(path) else path
                    if len(wanted) > 1:
                        target = target.with_name(f"{safe_name(plan.name)} {target.name}")
                    print(write_numbered(target.parent, target.name, data))
                    written = True
    return 1 if failed and not (written and len(wanted) > 1) else 0


def on_window() -> None:
    """Called once the window exists and before the app runs; a benchmark listens here."""


def run_window(options: argparse.Namespace) -> int:
    """Open the window."""
    collect_at_rest()
    prepare_kivy()
    from tracker.app.app import LoomsideApp

    desk = open_desk(options, background=True)
    on_window()
    app = LoomsideApp(desk, language=options.language)
    app.survive()
    app.move()
    try:
        app.run()
    finally:
        desk.close()
    return 0 if desk.was_opened or not desk.trouble else 2


def draw_pictures(options: argparse.Namespace) -> int:
    """Draw the screens to a folder and print the files."""
    from tracker.previews.draw import draw_screens, size_of

    size = size_of(options.size)
    with opened(options) as desk:
        prepare_kivy(offscreen=True, size=size)
        text_scale = options.text_size / 100
        for path in draw_screens(
            desk, options.screens, options.only or (), options.dark, text_scale, options.language
        ):
            print(path)
    return 0


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
        return write_files(options)
    if options.text or options.json or options.plan:
        return print_answers(options)
    if options.screens:
        return draw_pictures(options)
    if not has_display():
        print(
            _(
                "Loomside finds no screen here. Print the answers with --text or --json, "
                "or draw every screen to pictures with --screens FOLDER."
            ),
            file=sys.stderr,
        )
        return 3
    return run_window(options)


def main(arguments: list[str] | None = None) -> int:
    """Run Loomside with the given arguments; return the exit code."""
    options: argparse.Namespace | None = None
    try:
        for stream in (sys.stdout, sys.stderr):
            # A letter that the terminal cannot write is no reason to stop; in the locale C Python sets surrogateescape.
            if isinstance(stream, io.TextIOWrapper) and stream.errors in ("strict", "surrogateescape"):
                stream.reconfigure(errors="backslashreplace")
        _speak_as_asked(sys.argv[1:] if arguments is None else arguments)
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
