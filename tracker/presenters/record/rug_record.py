"""The record of one rug in words: what the weaver hands over with it, or so far while it is on the loom."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from tracker.domain.finished_size import finished_sides_cm, measured_density
from tracker.domain.material_plan import material_plan
from tracker.domain.rug import Photo, RugBook, RugStage
from tracker.forecast.answers import Answers
from tracker.forecast.reckon import rows_wanted
from tracker.presenters.costs import price_for_record
from tracker.presenters.fact import Fact
from tracker.presenters.finish import days_words
from tracker.presenters.guide import is_cut_off
from tracker.presenters.order import facts_told, tells_price
from tracker.presenters.picture import rug_picture
from tracker.presenters.record.by_time import chart_of_rows
from tracker.presenters.record.care import care_advice
from tracker.presenters.record.facts import facts_of, facts_of_today, weaving_facts
from tracker.presenters.record.materials import yarn_entries, yarn_heads, yarn_sum_lines
from tracker.presenters.record.values import PhotoEntry, RugRecord
from tracker.presenters.record.weavers import weaver_entries
from tracker.presenters.record.yarn_use import yarn_sum
from tracker.presenters.size_words import finished_size_words, length_warning_words
from tracker.words import _, day, first_and_last, length, n_, number

PHOTOS = 24
"""Pictures printed at the most; a phone that kept hundreds could not hold them all at once."""


def _title(book: RugBook, unit: str) -> tuple[str, str]:
    """Return the kicker and the subtitle."""
    plan, sessions = book.plan, book.woven_sessions
    measured = finished_size_words(plan, unit, book.rows_woven)
    if plan.stage is RugStage.FINISHED:
        kicker = _("The record of a hand-knotted rug")
    elif sessions:
        kicker = (
            _("A record so far: this rug is not finished")
            if is_cut_off(book)
            else _("A record so far: this rug is on the loom")
        )
    else:
        kicker = _("A rug that is planned: no row is woven yet")
    subtitle = _("Hand-knotted pile rug, {size}").format(size=measured)
    if sessions:
        span = first_and_last(sessions[0].day, sessions[-1].day, wide=True)
        woven = (
            _("woven on {last}").format(last=span[1])
            if sessions[0].day == sessions[-1].day
            else _("woven from {first} to {last}").format(first=span[0], last=span[1])
        )
        subtitle += ", " + woven
    return kicker, subtitle


def _steps(book: RugBook) -> tuple[tuple[str, str], ...]:
    """Return the steps after weaving; of a finished rug those that were ticked off, for nothing of it is to do."""
    finished = book.plan.stage is RugStage.FINISHED
    return tuple(
        (
            step.name,
            _("done {day}").format(day=day(step.done_day))
            if step.done_day
            else _("to do, {days}").format(days=days_words(step.days)),
        )
        for step in sorted(book.after_steps, key=lambda one: (one.number, one.born))
        if step.done_day or not finished
    )


def rug_record(
    book: RugBook,
    answers: Answers,
    *,
    unit: str = "cm",
    photo_at: Callable[[str], Path | None] = lambda _name: None,
    longest: int = 2400,
    ground: str = "#F7F0E3",
    currency: str = "",
) -> RugRecord:
    """Put the record of a rug into words.

    Parameters
    ----------
    book, answers
        The rug, and its answers of the day the record is made.
    unit
        "cm" or "inch", for lengths.
    photo_at
        Returns where a picture lies by its file name, or None when it is not on this phone.
    longest
        Pixels of the longer side of the rug's picture at the most.
    ground
        Colour towards which rows to come are paled.
    currency
        Code of the book's currency, for the price; it stands in the record only where the weaver chose so.
    """
    plan = material_plan(book, rows=rows_wanted(book), taught=answers.taught)
    rug = book.plan
    so_far = rug.stage is not RugStage.FINISHED
    being_woven = so_far and bool(book.sessions)
    total = yarn_sum(book, answers, plan, not so_far)
    knots_head, used_head, yarn_note = yarn_heads(book, so_far)
    kicker, subtitle = _title(book, unit)
    chart_title, bars = chart_of_rows(book)
    here: list[tuple[Photo, Path]] = [
        (photo, path) for photo in book.photos if (path := photo_at(photo.file_name)) is not None
    ]
    left_out = len(book.photos) - min(len(here), PHOTOS)
    rows = max(1, rug.rows)
    price = "" if tells_price(book) else price_for_record(book, answers, currency)
    of_order = facts_told(book, currency, answers.day)
    width_cm, length_cm = finished_sides_cm(rug)
    known = measured_density(rug, book.rows_woven)
    return RugRecord(
        kicker=kicker,
        name=rug.name,
        subtitle=subtitle,
        on_day=day(answers.day),
        so_far=so_far,
        facts=(
            *facts_of(book, answers, plan, total, unit),
            *((Fact(_("Price"), price),) if price else ()),
            *of_order,
        ),
        densities=(known or plan.density).all_ways(),
        density_note=_("By the size that was measured.") if known else _("As planned."),
        now=facts_of_today(book, answers) if so_far else (),
        warnings=(length_warning_words(answers.length_warning, unit),)
        if so_far and answers.length_warning
        else (),
        yarns=yarn_entries(book, answers, plan, so_far=being_woven),
        knots_head=knots_head,
        used_head=used_head,
        yarn_note=yarn_note,
        yarn_sums=yarn_sum_lines(total),
        weaving=weaving_facts(book),
        weavers=weaver_entries(book),
        chart_title=chart_title,
        bars=bars,
        steps=_steps(book),
        notes=rug.notes,
        photos=tuple(
            PhotoEntry(path, f"{day(photo.day)}: {photo.caption}" if photo.caption else day(photo.day))
            for photo, path in here[:PHOTOS]
        ),
        photos_left_out=n_(
            "{count} more picture is kept in the book.",
            "{count} more pictures are kept in the book.",
            left_out,
        ).format(count=number(left_out))
        if left_out
        else "",
        care=care_advice(),
        picture=rug_picture(book, ground, longest),
        width_cm=width_cm,
        length_cm=length_cm,
        width_words=length(width_cm, unit),
        length_words=length(length_cm, unit),
        woven_share=1.0 if rug.stage is RugStage.FINISHED else max(0.0, min(1.0, book.rows_reached / rows)),
        woven_words=_("row {row}").format(row=number(book.rows_woven)),
    )
