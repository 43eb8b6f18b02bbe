"""Builds all that the app can show or write of a book: every page's state, every form, every file, without a window."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import fields, is_dataclass, replace
from datetime import UTC, date, datetime
from enum import Enum
from functools import partial
from pathlib import Path
from typing import Any

from tracker.app import first_view
from tracker.app.desk import Desk
from tracker.device.photos import photo_path
from tracker.domain import rules
from tracker.domain.errors import BadEntry
from tracker.domain.material_plan import material_plan
from tracker.domain.order import OrderItem
from tracker.domain.rug import Hold, Role, RugBook
from tracker.forecast.answers import Answers
from tracker.forecast.reckon import rows_wanted
from tracker.presenters import (
    balls,
    cartoon_reading,
    cloth,
    copies,
    costs,
    diary,
    entry_forms,
    entry_text,
    entry_versions,
    export,
    finish,
    home,
    loom,
    looms,
    material,
    mending,
    order,
    picture,
    places,
    preparation,
    progress,
    reminders,
    session,
    settings,
    shelf,
    shopping,
    sync,
    timer,
    yarn,
    yarn_shelf,
    zoom,
)
from tracker.presenters.aloud import build_aloud_state
from tracker.presenters.currency import currency_of
from tracker.presenters.entries.form import EntryForm, FormKind
from tracker.presenters.entry_text import READINGS
from tracker.presenters.plan import changes, checks, draft, form, records, size, view
from tracker.presenters.plan import looms as plan_looms
from tracker.presenters.record.rug_record import rug_record
from tracker.presenters.whole_plan import preparations_elsewhere
from tracker.reports import print_sheet, text_form
from tracker.reports.export import files_of
from tracker.reports.record_pdf import texts_of
from tracker.reports.rows_pdf import rows_list

NOW = datetime(2026, 11, 25, 18, 30, tzinfo=UTC)


def printable(value: Any) -> None:
    """Assert that no text shown says what no weaver should read: a number that is none, or a bare error."""
    if isinstance(value, str):
        words = value.replace("(", " ").replace(")", " ").split()
        assert not {"nan", "inf", "-inf", "None"} & set(words) or value in ("None", "nan", "inf"), value
    elif is_dataclass(value) and not isinstance(value, type):
        for field in fields(value):
            printable(getattr(value, field.name))
    elif isinstance(value, (tuple, list)) and not isinstance(value, Enum):
        for part in value:
            printable(part)


def asked(work: Callable[[], Any]) -> Any:
    """Return what a form makes, or None where it refuses with a sentence."""
    try:
        return work()
    except BadEntry as trouble:
        said = trouble.sentence.strip()
    assert said.endswith((".", "!", "?")), said
    return None


def everything_of(desk: Desk, folder: Path, joined: Any = None, papers: bool = True) -> None:
    """Build everything of every rug of an open book, as its pages would ask for it.

    Parameters
    ----------
    desk
        A desk without a background; reads the book anew.
    folder
        Where files may be written.
    joined
        What a file that was just taken in brought.
    papers
        False leaves out setting the PDF files, which takes ten times what all else does; what stands in them is made.
    """
    desk.read()
    assert not desk.trouble, desk.trouble
    today = desk.today()
    printable(settings.build_settings_state(desk.drafts, desk.settings))
    printable(copies.build_copies_state(desk.copies(), today))
    names = entry_text.names_in_book(*desk.names())
    plans = desk.names()[2]
    entries = desk.diary(limit=200, offset=0)
    assert desk.diary_count() >= len(entries)
    diary.diary_lines(entries, names, today)
    for entry in entries[:40]:
        diary.entry_detail(entry, names, today)
        for change in entry.changes[:20]:
            entry_versions.history_lines(desk.history(change.record_id), names, today)
    desk.diary(limit=20, offset=0, text="a", rug_id=desk.rug_id)
    if joined is not None:
        sync.build_merge_state(joined, names)
    text_form.shelf_text(plans)
    books = []
    for plan in plans:
        rug, answers = desk.answers_for(plan.id)
        books.append((rug, answers))
        everything_of_a_rug(rug, answers, today, desk.settings, desk, folder, papers)
        _, lessons = desk.lessons_of(plan.id)
        shelf.build_lesson_state(rug, lessons, today)
        for learner in shelf.learners(plans, plan.id):
            taken = desk.with_lessons(lessons, rug, learner.id)
            lawful(taken.plan, *taken.yarns)
    cards = tuple(
        shelf.rug_card(rug.plan, today, rug.plan.id == desk.rug_id, answers, "inch") for rug, answers in books
    )
    printable(shelf.shelf_groups(cards))
    said = desk.on_looms()
    for unit in ("cm", "inch"):
        on_looms = looms.build_looms_state(*said, today, unit)
        printable(on_looms)
        printable(looms.looms_text(on_looms))
    for one in said[0]:
        again = entry_forms.form_of(one)
        printable(entry_forms.build_entry_form_state(again, None, today))
        asked(lambda again=again: entry_forms.to_value(again, None, today))
        printable(looms.deletion_trouble(one.id, desk.plans))
    stock = desk.yarn_shelf()
    printable(yarn_shelf.build_yarn_shelf_state(stock))
    for rug, answers in books:
        offers = yarn_shelf.offers_for(stock, rug, answers)
        plan_of_rug = material_plan(rug, rows=rows_wanted(rug))
        printable(shopping.build_shopping_state(rug, plan_of_rug, answers, "", offers))
        for part in stock.parts[:10]:
            for match in yarn_shelf.matches(part, rug, answers)[:3]:
                printable(yarn_shelf.match_words(match, rug.plan.name))
                lawful(*yarn_shelf.give(part, (rug.plan.id, match.yarn.id), part.mass_g, today))
    preparations_elsewhere(desk, "")


def lawful(*values: Any) -> None:
    """Assert that the book would take what a page is about to write."""
    from storage.convert import kind_of, to_columns

    for value in values:
        to_columns(kind_of(value), value)


def everything_of_a_rug(
    rug: RugBook,
    answers: Answers,
    today: date,
    chosen: dict[str, Any],
    desk: Desk,
    folder: Path,
    papers: bool,
) -> None:
    """Build every page's state, every form and every file of one rug."""
    currency = currency_of(chosen)
    plan = material_plan(rug, earlier=preparations_elsewhere(desk, rug.plan.id), rows=rows_wanted(rug))
    _pages(rug, answers, plan, today, currency, desk)
    _forms(rug, answers, plan, today)
    for unit in ("cm", "inch"):
        _plan_form(rug, unit)
    # JSON as the command line writes it, and as strict readers take it: no NaN.
    value = text_form.as_values(rug, answers, currency=currency)
    value["material"] = text_form.plan_values(rug, plan, answers)
    json.dumps(value, allow_nan=False)
    printable(text_form.as_text(rug, answers, currency=currency))
    printable(text_form.plan_text(rug, plan, answers, currency))
    offered = {card.kind for card in export.build_export_state(rug, answers, "folder").cards if card.can}
    for unit in ("cm", "inch"):
        for kind in export.Kind:
            if unit == "inch" and kind in (export.Kind.TABLES, export.Kind.CALENDAR):
                continue  # which say the same in every unit
            if kind is export.Kind.RECORD:
                record = rug_record(rug, answers, unit=unit, currency=currency, longest=300)
                printable(record)
                for text in texts_of(record):
                    print_sheet.printable(text)
            if kind is export.Kind.ROWS and kind in offered:
                rows_list(rug, export.usual_first_row(rug), None, unit == "inch")
            if not papers and kind in (export.Kind.RECORD, export.Kind.ROWS):
                continue
            made = asked(
                lambda kind=kind, unit=unit: files_of(
                    kind, rug, answers, photo_at=partial(photo_path, desk.path), now=NOW, unit=unit, currency=currency,
                    first_row=export.usual_first_row(rug), mirrored=unit == "inch",
                )
            )  # fmt: skip
            assert (made is not None) == (kind in offered), "what the page offers is made, and nothing else"
            for name, data in (made or {}).items():
                assert data
                assert Path(name).name == name
                assert len(name.encode()) <= 255
    view_ = first_view.FirstView(
        home.build_home_state(rug, answers), {"#FFFFFF": first_view.picture_of(picture.rug_picture(rug))},
        rug.plan.width_cm / rug.plan.length_cm, "mark", rug.plan.id, today.isoformat(), "en",
    )  # fmt: skip
    first_view.keep(view_, folder / "every.view")
    assert first_view.kept(folder / "every.view") == view_


def _pages(rug: RugBook, answers: Answers, plan: Any, today: date, currency: str, desk: Desk) -> None:
    printable(home.build_home_state(rug, answers))
    printable(zoom.build_zoom_state(rug, answers))
    printable(costs.build_costs_state(rug, answers, currency))
    printable(order.build_order_state(rug, answers, currency))
    printable(order.facts_told(rug, currency, today))
    for item in OrderItem:
        lawful(order.with_shown(order.order_or_blank(rug), item))
    asked(lambda: order.with_target(rug, today))
    printable(yarn.build_yarn_state(rug, answers))
    for one in rug.yarns:
        printable(yarn.build_yarn_story_state(rug, answers, one.id))
        yarn.yarn_changed(None, answers, one.id)
        yarn.yarn_changed(answers, answers, one.id)
    printable(material.build_material_state(rug, plan, answers))
    printable(material.build_material_state(rug, plan, None))
    printable(shopping.build_shopping_state(rug, plan, answers, currency))
    printable(preparation.build_preparation_state(rug, plan, today))
    printable(finish.build_finish_state(rug, answers))
    first = answers.finish.middle if answers.finish else today
    for shown in (today, first, rug.plan.start_day, date(1900, 1, 1), date(2300, 12, 31)):
        printable(finish.build_month_state(rug, answers, shown, today, 6))
        finish.other_month(shown, 1)
        printable(finish.build_day_offers(rug, desk.holidays, answers, shown, today))
        change = asked(lambda shown=shown: finish.toggle_day_off(rug, shown, today))
        if change is not None and shown <= rules.LAST_DAY:
            lawful(*(part for part in _values(change)))
        finish.with_reason(rug, shown, "a feast")
        wish = asked(lambda shown=shown: finish.with_wish(rug.plan, shown, today))
        if wish is not None and shown <= rules.LAST_DAY:
            lawful(wish)
    lawful(finish.finished_plan(rug, today))
    lawful(asked(lambda: finish.new_step(rug)) or rug.plan, *finish.usual_steps(rug.plan.id))
    export.build_export_state(rug, answers, "folder")
    for unit in ("cm", "inch"):
        printable(cloth.build_cloth_state(cloth.blank_form(rug), rug, answers, unit))
    for hold in Hold:
        lawful(cloth.with_hold(rug.plan, hold))
    printable(progress.weeks_chart(rug, today, 6))
    printable(progress.hours_by_weekday(rug, answers))
    printable(progress.pace(rug, answers))
    days = progress.past_days(rug, today)
    past = progress.past_dates(rug, days[:2] + days[-1:], desk.looking_back())
    printable(progress.date_chart(past, rug.plan.wished_day, progress.last_row_day(rug)))
    reminders.build_reminders(
        rug, answers, (rug.plan.id, timer.start(NOW)), now_utc=NOW, now=NOW.replace(tzinfo=None), entered=[NOW.replace(tzinfo=None)],
        break_minutes=45.0,
    )  # fmt: skip
    woven = rug.rows_woven
    for mirrored in (False, True):
        for row in (None, 1, woven, woven + 1, rug.plan.rows, rug.plan.rows + 5, 0, -3):
            state = loom.build_loom_state(rug, row, None, today, mirrored)
            printable(state)
            for place in (None, *range(len(state.runs) + 1)):
                printable(build_aloud_state(state, place))
        loom.row_strip(rug, max(1, woven), 3, 3, mirrored=mirrored)
    counted = asked(lambda: loom.count_rows(None, rug, today, 1)) or session.blank_form(rug, today)
    for part in loom.team_parts(rug, counted):
        loom.build_loom_state(rug, None, counted, today, False, (part.first, part.last))
        loom.row_of_part(part, max(1, woven), rug.plan.rows)
        loom.part_words(part, loom.team_parts(rug, counted))
    places.remembered(rug, tuple(weaver.id for weaver in rug.weavers))
    places.names_of_weavers(rug)
    entry_text.set_aside_words(rug)
    for deed_stage in (True, False):
        shelf.deeds_of(rug.plan, deed_stage, woven)
    shelf.unfinished_words(rug.plan.rows, woven)
    mending.aspect_of(rug)
    if rug.cartoon is not None:
        cartoon = rug.cartoon
        names = mending.value_names(cartoon.palette, rug.yarns)
        mending.mended_picture(cartoon.cells, cartoon.palette, rug.yarns)
        mending.remark_cards(cartoon.cells, cartoon.palette, names)


def _values(change: Any) -> list[Any]:
    from tracker.domain.rug import DaysOff

    found = []
    for field in fields(change):
        value = getattr(change, field.name)
        found += [
            one for one in (value if isinstance(value, tuple) else (value,)) if isinstance(one, DaysOff)
        ]
    return found


def _forms(rug: RugBook, answers: Answers, plan: Any, today: date) -> None:
    filled = session.blank_form(rug, today, 1.25)
    printable(session.build_session_state(filled, rug, today))
    for one in rug.sessions[:20]:
        again = session.form_of(one, rug)
        printable(session.build_session_state(again, rug, today, correcting=True))
        assert session.from_kept(json.loads(json.dumps(session.to_kept(again)))) == again
        made = asked(lambda again=again: session.to_session(again, rug, today))
        if made is not None:
            lawful(made, *session.begun(rug.plan, made))
    for kind in FormKind:
        for yarn_id in (*(one.id for one in rug.yarns[:4]), None):
            if yarn_id is None and kind.value in (
                "lot",
                "weighing",
                "spoilt",
                "sample",
                "ball",
                "hand out",
                "preparation",
            ):
                continue
            if kind is FormKind.PREPARATION:
                continue  # made by its page, below
            blank = entry_forms.blank(kind, rug, today, yarn_id)
            if kind is FormKind.PHOTO:
                blank = replace(blank, fixed={"file_name": "a.jpg"})  # which its page takes before it asks
            printable(entry_forms.build_entry_form_state(blank, rug, today))
            _entered(blank, rug, today)
    for value in (
        *rug.lots, *rug.weighings, *rug.spoilt, *rug.samples, *rug.measurements, *rug.preparations, *rug.days_off,
        *rug.photos, *rug.wages, *rug.costs, *rug.pricings, *rug.lot_changes, *rug.marks, *rug.trims, *rug.hand_outs,
        *rug.payments,
    )[:60]:  # fmt: skip
        again = entry_forms.form_of(value)
        printable(entry_forms.build_entry_form_state(again, rug, today))
        assert entry_forms.from_kept(json.loads(json.dumps(entry_forms.to_kept(again)))) is not None
        _entered(again, rug, today)
    prepared = preparation.build_preparation_state(rug, plan, today)
    for group in prepared.groups:
        for line in group.lines:
            lawful(preparation.one_more(rug, line, today))
            _entered(preparation.preparation_form(rug, plan, line, today), rug, today)
    for seats in ((), tuple((who.id, place + 1, place + 1) for place, who in enumerate(rug.weavers))):
        for rows in (None, 1, 20_000):
            shown = balls.build_balls_state(rug, answers, seats, rows)
            printable(shown)
            for card in shown.seats:
                for given in balls.given_now(rug, answers, card, card.lines, today):
                    lawful(given)
                for line in card.lines[:1]:
                    _entered(balls.hand_out_form(rug, answers, card, line, today), rug, today)
    for line in plan.shopping.lines:
        bought = shopping.lot_form(rug, plan, answers, line.yarn_id, today)
        printable(entry_forms.build_entry_form_state(bought, rug, today))
        _entered(bought, rug, today)
    for measured in rug.measurements[:10]:
        measure = cloth.MeasureForm(
            row=measured.row, **{name: getattr(measured, name) or None for name in READINGS}
        )
        for unit in ("cm", "inch"):
            printable(cloth.build_cloth_state(measure, rug, answers, unit))
            made = asked(lambda measure=measure, unit=unit: cloth.to_measurement(measure, rug, today, unit))
            if made is not None:
                lawful(made)
        cloth.from_kept(json.loads(json.dumps(cloth.to_kept(measure))))


def _entered(filled: EntryForm, rug: RugBook, today: date) -> None:
    entry_forms.caution_of(filled, rug)
    made = asked(lambda: entry_forms.to_value(filled, rug, today))
    if made is not None:
        lawful(made)


def _plan_form(rug: RugBook, unit: str) -> None:
    planned = form.form_of(rug, unit)
    loom = [rug.loom] if rug.loom is not None else []
    printable(plan_looms.loom_lines(planned, loom, [rug.plan]))
    printable(plan_looms.fit_sentences(planned, loom, [], rug))
    for one in loom:
        printable(plan_looms.fit_sentences(plan_looms.with_loom(planned, one), loom, [rug], rug))
    assert draft.from_kept(json.loads(json.dumps(draft.to_kept(planned)))) == planned
    wrong = checks.troubles(planned, rug)
    printable(view.overview(planned, rug, wrong))
    printable(view.summary(planned, rug, None))
    printable(view.size_lines(planned, wrong))
    printable(view.density_table(planned))
    view.cloth_lines(planned, wrong)
    view.foundation_lines(planned)
    view.week_lines(planned, rug.plan.start_day, wrong)
    view.weekday_chips(planned, 6)
    view.saved_words(planned)
    for role in Role:
        view.yarn_cards(planned, role, wrong)
    for one in planned.yarns[:6]:
        view.yarn_lines(planned, one, wrong)
        view.count_line(planned, one)
        asked(lambda one=one: changes.remove_yarn(planned, one.id, rug))
        asked(lambda one=one: changes.set_share(planned, one.id, 30.0))
    size.size_check(planned)
    size.follow_size(planned)
    asked(lambda: changes.add_colour(planned, "x", "#102030"))
    asked(lambda: changes.add_weft(planned))
    cartoon_reading.first_knot_wish(planned)
    cartoon_reading.plan_yarns(planned)
    if not wrong:
        made = asked(lambda: records.records(planned, rug))
        assert made is not None, "a plan without a trouble can be saved"
        lawful(*(part for part in _records(made)))


def _records(made: Any) -> list[Any]:
    from storage.convert import kind_of

    found = []
    for field in fields(made):
        value = getattr(made, field.name)
        for one in value if isinstance(value, tuple) else (value,):
            try:
                kind_of(one)
            except TypeError:
                continue
            found.append(one)
    return found
