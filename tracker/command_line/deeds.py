"""What the command line can ask for: answers in words, files, pictures of the screens, the window."""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING

from tracker.app.window import prepare_kivy
from tracker.command_line.books import open_desk, opened, rugs_wanted
from tracker.command_line.terminal import printable, printable_json
from tracker.device.memory import collect_at_rest
from tracker.domain.errors import BadEntry

if TYPE_CHECKING:
    from tracker.app.desk import Desk
    from tracker.domain.rug import RugBook
    from tracker.forecast.answers import Answers
    from tracker.presenters.looms import LoomsState


def print_answers(options: argparse.Namespace) -> int:
    """Print the answers of one rug, or of all, as text or JSON; return the exit code."""
    from tracker.domain.material_plan import material_plan
    from tracker.forecast.reckon import rows_wanted
    from tracker.presenters.currency import currency_of
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
            print(printable_json(json.dumps(told, ensure_ascii=plain, indent=2)))
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
        print(printable("\n".join(texts) if texts else shelf_text(())), end="")
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
    from tracker.presenters.currency import currency_of
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
                    print(printable(f"{plan.name}: {trouble.sentence}"), file=sys.stderr)
                    failed = True
                    continue
                for name, data in files.items():
                    target = path / name if kind is Kind.TABLES or os.path.isdir(path) else path
                    # A file is called what it is: a record named as the book is would look like a book.
                    ending = os.path.splitext(name)[1]
                    if target.suffix.lower() != ending:
                        target = target.with_name(target.name + ending)
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
