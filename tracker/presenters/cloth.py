"""Whether the cloth keeps its measure: lengths measured on the loom, the length it will end at, what mends it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from tracker.domain.errors import BadEntry
from tracker.domain.finished_size import finished_length_cm, length_to_weave_cm
from tracker.domain.rug import Hold, Measurement, RugBook, RugPlan, new_id
from tracker.domain.units import LengthUnit, from_cm, to_cm
from tracker.files.typed import read_as
from tracker.forecast.answers import Answers
from tracker.forecast.cloth import density_to_mend, read_cloth, rows_for_length
from tracker.presenters.progress import Chart, ChartPoint, even_ticks
from tracker.words import _, day_short, length, n_, number

LEAST_STRETCH, MOST_STRETCH = 0.4, 2.5
"""A length outside these shares of the planned one is a slip of the finger, not a beat."""
LEAST_TOLD_CM = 0.5
"""A finished length that differs by less from the one on the loom is not told beside it."""


@dataclass(frozen=True, slots=True)
class MeasureForm:
    """A length being entered."""

    row: int
    length_cm: float | None = None


@dataclass(frozen=True, slots=True)
class MeasureLine:
    """A length measured before."""

    measurement_id: str
    words: str
    note: str


@dataclass(frozen=True, slots=True)
class ClothState:
    """What the page says."""

    row: str
    length: str
    expected: str
    """What the plan would have at that row, to check the tape by."""
    headline: str
    figure: str
    span: str
    beat: str
    warning: str
    mend: str
    chart: Chart
    lines: tuple[MeasureLine, ...]
    hold: Hold
    hold_rows: str
    hold_length: str


def blank_form(book: RugBook) -> MeasureForm:
    """Return the form as it starts: at the row on the loom."""
    return MeasureForm(row=max(0, book.rows_woven))


def to_kept(form: MeasureForm, book: RugBook) -> dict[str, Any]:
    """Return the form as JSON can keep it."""
    return {"rug": book.plan.id, "row": form.row, "length_cm": form.length_cm}


def from_kept(kept: Any, book: RugBook) -> MeasureForm | None:
    """Return a kept form; None when it is another rug's or cannot be read."""
    try:
        if kept["rug"] != book.plan.id:
            return None
        given = kept["length_cm"]
        return MeasureForm(read_as(int, kept["row"]), read_as(float | None, given))
    except (KeyError, TypeError, ValueError):
        return None


def in_unit(length_cm: float, unit: str) -> float:
    """Return a length in the weaver's unit."""
    return from_cm(length_cm, LengthUnit(unit))


def in_cm(value: float, unit: str) -> float:
    """Return a length given in the weaver's unit in cm."""
    return to_cm(value, LengthUnit(unit))


def planned_cm(plan: RugPlan, row: int) -> float:
    """Return the length the plan has at a row."""
    return row * 10.0 / max(plan.rows_per_10cm, 1e-6)


def to_measurement(form: MeasureForm, book: RugBook, today: date, unit: str = "cm") -> Measurement:
    """Return the measurement the form stands for.

    Raises
    ------
    BadEntry
        With a sentence, when something in it cannot be.
    """
    if book.rows_woven < 1:
        raise BadEntry(_("Nothing is woven yet. Measure after the first rows."))
    if form.row < 1:
        raise BadEntry(_("Give the row up to which you measured; row 1 is the first."))
    if form.row > book.rows_woven:
        raise BadEntry(
            n_(
                "There is only {rows} row on the loom. Measure up to a woven row.",
                "There are only {rows} rows on the loom. Measure up to a woven row.",
                book.rows_woven,
            ).format(rows=number(book.rows_woven))
        )
    if form.length_cm is None or not math.isfinite(form.length_cm) or form.length_cm <= 0:
        raise BadEntry(_("Give the length from the first row of knots to that row."))
    share = form.length_cm / planned_cm(book.plan, form.row)
    if not LEAST_STRETCH <= share <= MOST_STRETCH:
        raise BadEntry(
            _(
                "{length} cannot be: the plan has {planned} at row {row}. Look at the tape and the row once more."
            ).format(
                length=length(form.length_cm, unit),
                planned=length(planned_cm(book.plan, form.row), unit),
                row=number(form.row),
            )
        )
    return Measurement(
        id=new_id(),
        rug_id=book.plan.id,
        day=today,
        row=form.row,
        length_cm=form.length_cm,
        resolution_cm=0.5 if unit == "cm" else to_cm(0.25, LengthUnit.INCH),
    )


def with_hold(plan: RugPlan, hold: Hold) -> RugPlan:
    """Return the plan holding its rows or its length."""
    return replace(plan, hold=hold)


def _chart(book: RugBook, unit: str) -> Chart:
    """Show how far each measured length was from the plan's at its row."""
    title = _("Off the plan, in inches") if unit == "inch" else _("Off the plan, in cm")
    if not book.measurements:
        return Chart(title, "dots", "", hint=_("Each length measured is drawn here beside the plan."))
    points = []
    for item in sorted(book.measurements, key=lambda m: m.row):
        off = in_unit(item.length_cm - planned_cm(book.plan, item.row), unit)
        points.append(
            ChartPoint(
                float(item.row),
                off,
                _("Row {row}: {length}, {off}").format(
                    row=number(item.row),
                    length=length(item.length_cm, unit),
                    off=_signed_length(item.length_cm - planned_cm(book.plan, item.row), unit),
                ),
            )
        )
    rows = max(1, book.plan.rows)
    reach = max(1.0, *(abs(p.y) for p in points)) * 1.3
    ticks = even_ticks(-reach, reach, 5)
    return Chart(
        title,
        "dots",
        points[-1].words,
        tuple(points),
        (0.0, float(rows)),
        (-reach, reach),
        tuple((float(at), _("row {row}").format(row=number(at))) for at in even_ticks(0, rows, 4)),
        tuple((at, number(at, 1)) for at in ticks),
        trend=((0.0, 0.0), *((p.x, p.y) for p in points)),
        guide=(0.0, _("plan")),
    )


def _signed_length(length_cm: float, unit: str) -> str:
    words = length(abs(length_cm), unit)
    if round(in_unit(abs(length_cm), unit), 1) == 0:
        return _("just as planned")
    return (
        _("{length} longer than planned") if length_cm > 0 else _("{length} shorter than planned")
    ).format(length=words)


def build_cloth_state(form: MeasureForm, book: RugBook, answers: Answers, unit: str = "cm") -> ClothState:
    """Turn book, answers and the half-filled form into what the page says."""
    plan, today = book.plan, answers.day
    cloth = read_cloth(plan, book.measurements, book.rows_woven)
    headline = figure = span = mend = ""
    warning = answers.length_warning
    beat = _("Nothing measured yet. Planned are {planned} rows in 10 cm.").format(
        planned=number(plan.rows_per_10cm, 1)
    )
    wanted_cm = length_to_weave_cm(plan)
    final, between = answers.final_length_cm, answers.final_length_range_cm
    if cloth.measured:
        beat = _("You beat {rows} rows into 10 cm; planned are {planned}.").format(
            rows=number(cloth.rows_per_10cm, 1), planned=number(plan.rows_per_10cm, 1)
        )
    if final is not None and cloth.measured:
        headline = _("On the loom it will end at about")
        figure = length(final, unit)
        words = _("planned: {length}").format(length=length(wanted_cm, unit))
        if between is not None:
            words = _("likely {low} to {high}; {planned}").format(
                low=length(between[0], unit), high=length(between[1], unit), planned=words
            )
        span = words
        finished_cm = finished_length_cm(plan, final)
        if abs(finished_cm - final) >= LEAST_TOLD_CM:
            span += ". " + _("Finished, as the customer measures it: about {length}, of {planned}.").format(
                length=length(finished_cm, unit), planned=length(plan.length_cm, unit)
            )
        density = density_to_mend(cloth, plan.rows, wanted_cm)
        if density is not None and not answers.finished and plan.hold is Hold.ROWS and not warning:
            mend = _("To end at the planned length, beat the rest to {rows} rows in 10 cm.").format(
                rows=number(density, 1)
            )
    rows_then = rows_for_length(cloth, wanted_cm) if cloth.measured else plan.rows
    ends_at = final if final is not None and plan.hold is Hold.ROWS else None
    return ClothState(
        row=number(form.row),
        length="" if form.length_cm is None else length(form.length_cm, unit),
        expected=_("The plan has {length} at row {row}.").format(
            length=length(planned_cm(plan, form.row), unit), row=number(form.row)
        )
        if form.row
        else "",
        headline=headline,
        figure=figure,
        span=span,
        beat=beat,
        warning=warning,
        mend=mend,
        chart=_chart(book, unit),
        lines=tuple(
            MeasureLine(
                item.id,
                _("Row {row}: {length}").format(row=number(item.row), length=length(item.length_cm, unit)),
                day_short(item.day, today),
            )
            for item in sorted(book.measurements, key=lambda m: (m.day, m.born), reverse=True)
        ),
        hold=plan.hold,
        hold_rows=_("{rows} rows, whatever length they give").format(rows=number(plan.rows))
        + (_(" (about {length})").format(length=length(ends_at, unit)) if ends_at is not None else ""),
        hold_length=_("{length}, whatever rows it takes").format(length=length(wanted_cm, unit))
        + (
            n_(" (about {rows} row)", " (about {rows} rows)", rows_then).format(rows=number(rows_then))
            if cloth.measured
            else ""
        ),
    )
