"""Reads the command line and starts the app, the text form or the pictures of the screens."""

from __future__ import annotations

import argparse
import json
import os
import sys
from datetime import date
from pathlib import Path

from tracker.desk import Desk, now_utc
from tracker.domain.errors import BadEntry, LoomsideError
from tracker.domain.rug import RugPlan
from tracker.window import has_display, prepare_kivy
from tracker.words import _, use_language


def parser() -> argparse.ArgumentParser:
    """Return the command line's parser."""
    found = argparse.ArgumentParser(
        prog="main.py",
        description=_(
            "Loomside, a progress book for hand-knotted rugs. Without options it opens the weaver's own book."
        ),
    )
    found.add_argument("--book", type=Path, help=_("the book's file; made when it is not there"))
    found.add_argument("--demo", action="store_true", help=_("open a demo book, kept apart from your own"))
    found.add_argument(
        "--text", action="store_true", help=_("print the answers as text instead of opening a window")
    )
    found.add_argument(
        "--json", action="store_true", help=_("print the answers as JSON instead of opening a window")
    )
    found.add_argument(
        "--plan", action="store_true", help=_("print the material plan, alone or with --text or --json")
    )
    found.add_argument(
        "--record", type=Path, metavar="FILE.pdf", help=_("write the record of the rug as a PDF")
    )
    found.add_argument(
        "--rows",
        type=Path,
        metavar="FILE.pdf",
        help=_("write the rows of its cartoon as a PDF to print for the loom"),
    )
    found.add_argument(
        "--csv",
        type=Path,
        metavar="FOLDER",
        help=_("write sessions, yarns and rows as tables for a spreadsheet"),
    )
    found.add_argument(
        "--calendar", type=Path, metavar="FILE.ics", help=_("write the days to come as a calendar file")
    )
    found.add_argument(
        "--rug",
        help=_(
            "with what is printed or written: the rug's name (default: the one in hand; 'all': every rug)"
        ),
    )
    found.add_argument(
        "--day", type=date.fromisoformat, help=_("the day to answer for, as 2027-01-31 (default: today)")
    )
    found.add_argument(
        "--screens", type=Path, metavar="FOLDER", help=_("draw every screen to PNG files in a folder")
    )
    found.add_argument(
        "--size", default="360x640", help=_("with --screens: width x height of the window (default 360x640)")
    )
    found.add_argument("--only", nargs="+", metavar="PAGE", help=_("with --screens: these pages alone"))
    found.add_argument("--dark", action="store_true", help=_("with --screens: in the dark colours"))
    found.add_argument(
        "--text-size",
        type=int,
        default=100,
        metavar="PERCENT",
        help=_("with --screens: text size, 100 to 200"),
    )
    found.add_argument("--language", help=_("the language of the words, such as en or tr"))
    return found


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
    folder.mkdir(parents=True, exist_ok=True)
    return folder


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
        from tracker.demo import demo_path, ensure_demo

        if options.book is not None:
            raise BadEntry(
                _(
                    "--demo opens a book of its own and leaves {book} alone. "
                    "Leave --demo out to open that book, or leave --book out to see the demo."
                ).format(book=options.book)
            )
        today = date.today()  # noqa: DTZ011 - the weaver's own day
        path = ensure_demo(demo_path(data_folder(), today, day), day or today)
    else:
        path = options.book or data_folder() / "book.loomside"
    return Desk(path, today=(lambda: day) if day else None, background=background)


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
    """Print the answers of one rug, or of all, as text or JSON."""
    from tracker.domain.material_plan import material_plan
    from tracker.reports.text_form import as_text, as_values, plan_text, plan_values, shelf_text

    desk = open_desk(options, background=False)
    desk.open()
    try:
        wanted = rugs_wanted(desk, options)
        if wanted is None:
            return 1
        pairs = [desk.answers_for(plan.id) for plan in wanted]
        plans = [material_plan(book) for book, _answers in pairs] if options.plan else []
        if options.json:
            values = [as_values(*pair) for pair in pairs]
            for value, (book, answers), plan in zip(values, pairs, plans, strict=False):
                value["material"] = plan_values(book, plan, answers)
            print(json.dumps({"rugs": values}, ensure_ascii=False, indent=2))
            return 0
        texts = [as_text(*pair) for pair in pairs] if options.text or not options.plan else []
        texts += [plan_text(book, plan, answers) for (book, answers), plan in zip(pairs, plans, strict=False)]
        print("\n".join(texts) if pairs else shelf_text(()), end="")
    finally:
        desk.close()
    return 0


def write_files(options: argparse.Namespace) -> int:
    """Write the record, the rows, tables and the calendar that were asked for, and print the names they got.

    A file that is there already is never overwritten: the new one gets a number.
    """
    from tracker.presenters.record_out import Kind
    from tracker.reports.files_out import safe_name, write_numbered
    from tracker.reports.take_along import files_of
    from tracker.reports.text_form import shelf_text

    asked = (
        (Kind.RECORD, options.record),
        (Kind.ROWS, options.rows),
        (Kind.TABLES, options.csv),
        (Kind.CALENDAR, options.calendar),
    )
    desk = open_desk(options, background=False)
    desk.open()
    try:
        wanted = rugs_wanted(desk, options)
        if not wanted:
            if wanted is not None:
                print(shelf_text(()), end="", file=sys.stderr)
            return 1
        unit = "inch" if desk.setting("length_unit") == "inch" else "cm"
        failed = False
        for plan in wanted:
            rug, answers = desk.answers_for(plan.id)
            for kind, path in asked:
                if path is None:
                    continue
                try:
                    files = files_of(kind, rug, answers, book_path=desk.path, now=now_utc(), unit=unit)
                except BadEntry as trouble:
                    print(f"{plan.name}: {trouble.sentence}", file=sys.stderr)
                    failed = True
                    continue
                for name, data in files.items():
                    target = path / name if kind is Kind.TABLES else path
                    if len(wanted) > 1:
                        target = target.with_name(f"{safe_name(plan.name)} {target.name}")
                    print(write_numbered(target.parent, target.name, data))
    finally:
        desk.close()
    return 1 if failed else 0


def on_window() -> None:
    """Called once the window exists and before the app runs; a benchmark listens here."""


def run_window(options: argparse.Namespace) -> int:
    """Open the window."""
    prepare_kivy()
    from tracker.app import LoomsideApp

    desk = open_desk(options, background=True)
    on_window()
    LoomsideApp(desk, language=options.language).run()
    return 0


def draw_pictures(options: argparse.Namespace) -> int:
    """Draw the screens to a folder and print the files."""
    from tracker.reports.screens import draw_screens, size_of

    size = size_of(options.size)
    folder = Path(options.screens)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        print(
            _("{folder} cannot be made. Name a folder that can be written to.").format(folder=folder),
            file=sys.stderr,
        )
        return 2
    prepare_kivy(offscreen=True, size=size)
    text_scale = min(2.0, max(1.0, options.text_size / 100))
    desk = open_desk(options, background=False)
    for path in draw_screens(desk, folder, options.only or (), options.dark, text_scale, options.language):
        print(path)
    return 0


def main(arguments: list[str] | None = None) -> int:
    """Run Loomside with the given arguments; return the exit code."""
    options = parser().parse_args(arguments)
    if options.language:
        use_language(options.language)
    try:
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
    except LoomsideError as trouble:
        print(trouble.sentence, file=sys.stderr)
        return 2
