"""Whether the cloth keeps its measure: what was measured on the loom, the length it will end at, what mends it."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass, replace
from datetime import date
from typing import Any

from tracker.domain.errors import BadEntry
from tracker.domain.finished_size import finished_length_cm, length_to_weave_cm, selvedges_cm
from tracker.domain.material import cloth_width_cm
from tracker.domain.rug import Hold, Measurement, RugBook, RugPlan, new_id
from tracker.domain.shape import fits_together
from tracker.domain.step import step_of
from tracker.domain.units import DensityUnit, LengthUnit, from_cm, from_per_10cm, to_cm
from tracker.files.typed import read_as
from tracker.forecast.answers import Answers
from tracker.forecast.cloth import Cloth, density_to_mend, read_cloth, rows_for_length
from tracker.forecast.shape import foot_width_cm
from tracker.presenters.cloth_shape import ShapeState, build_shape_state
from tracker.presenters.entry_forms import days_offered
from tracker.presenters.entry_text import READINGS, measured_words, reading_name
from tracker.presenters.of_rug import of_rug, put_of_rug
from tracker.presenters.progress import Chart, ChartPoint, even_ticks
from tracker.presenters.size_words import (
    LEAST_SELVEDGE_CM,
    beat_of,
    length_warning_brief,
    length_warning_words,
)
from tracker.words import CM_PER_INCH, _, day_short, length, n_, number, shown_length

FORMS = "measurements"
"""The draft that keeps of each rug what was measured and is not saved, by the rug's id."""
LEAST_STRETCH, MOST_STRETCH = 0.4, 2.5
"""A length outside these shares of the planned one is a slip of the finger, not a beat."""
USUAL_STEP = {LengthUnit.CM: 0.5, LengthUnit.INCH: 0.25}
"""In what steps a tape is read, in its own unit, until a reading shows finer ones."""
LEAST_TOLD_CM = 0.5
"""A finished length that differs by less from the one on the loom is not told beside it."""


@dataclass(frozen=True, slots=True)
class MeasureForm:
    """What is being measured: whatever of it the weaver reads off the tape."""

    row: int
    length_cm: float | None = None
    width_cm: float | None = None
    left_cm: float | None = None
    right_cm: float | None = None
    rising_cm: float | None = None
    falling_cm: float | None = None
    day: date | None = None
    """On which the first of it was entered; None: nothing is yet."""

    def days_meant(self, today: date) -> tuple[tuple[str, date], ...]:
        """Return (words, day) of the days that a form begun on an earlier day can be of; () where it is plain."""
        return days_offered(self.day, today) if self.day is not None and self.day < today else ()


@dataclass(frozen=True, slots=True)
class MeasureLine:
    """What was measured before."""

    measurement_id: str
    words: str
    note: str


@dataclass(frozen=True, slots=True)
class ToldNow:
    """What is said when a measurement was saved; "" where there is nothing to say."""

    sentence: str
    warns: bool


@dataclass(frozen=True, slots=True)
class ClothState:
    """What the page says."""

    row: str
    readings: dict[str, str]
    """What was entered, by its name in the form; "" where nothing was."""
    expected: str
    """What the plan would have at that row, to check the tape by."""
    headline: str
    figure: str
    span: str
    reckoned: tuple[tuple[str, str], ...]
    """From the tape to the figure, line by line: what each number is, and the number."""
    beat: str
    """What there is to say of the rows to a length in a sentence; "" where the lines say it."""
    warning: str
    mend: str
    chart: Chart
    lines: tuple[MeasureLine, ...]
    hold: Hold
    hold_rows: str
    hold_length: str
    shape: ShapeState


def answer_to(measured: Measurement, book: RugBook, answers: Answers, unit: str = "cm") -> ToldNow:
    """Say in a few words the worst that a measurement just saved shows; else what it was about.

    Parameters
    ----------
    measured
        What was just saved; `answers` know of it.
    unit
        "cm" or "inch".
    """
    shape = build_shape_state(book, answers, unit)
    told = [
        item
        for item in shape.brief
        if item.row == measured.row and getattr(measured, item.reading) is not None
    ]
    if told and told[0].warns:
        return ToldNow(told[0].words, warns=True)
    if measured.length_cm and answers.length_warning is not None:
        return ToldNow(length_warning_brief(answers.length_warning, unit), warns=True)
    if told:
        return ToldNow(told[0].words, warns=False)
    if not measured.length_cm:
        return ToldNow("", warns=False)
    said = (
        _("{rows} rows to the inch, planned {planned}.")
        if unit == "inch"
        else _("{rows} rows in 10 cm, planned {planned}.")
    )
    return ToldNow(
        said.format(
            rows=beat_of(measured.row * 10.0 / measured.length_cm, unit),
            planned=beat_of(book.plan.rows_per_10cm, unit),
        ),
        warns=False,
    )


def tension_caution() -> str:
    """Return what to mind before the warp's tension is changed."""
    return _(
        "A warped loom is under great tension. Change it slowly and evenly, with face and hands out "
        "of line with the warps. This advice is common practice, no source."
    )


def blank_form(book: RugBook) -> MeasureForm:
    """Return the form as it starts: at the row on the loom."""
    return MeasureForm(row=max(0, book.rows_woven))


def form_kept(drafts: Any, rug_id: str) -> MeasureForm | None:
    """Return what was measured of a rug and is not saved; None when there is none, or it cannot be read."""
    return from_kept(of_rug(drafts, FORMS, rug_id))


def keep_form(drafts: Any, rug_id: str, form: MeasureForm | None) -> None:
    """Keep what was measured of a rug and is not saved; None forgets it."""
    put_of_rug(drafts, FORMS, rug_id, None if form is None else to_kept(form))


def to_kept(form: MeasureForm) -> dict[str, Any]:
    """Return the form as JSON can keep it."""
    begun = None if form.day is None else form.day.isoformat()
    return {**asdict(form), "day": begun}


def from_kept(draft: Any) -> MeasureForm | None:
    """Return a kept form; None when it cannot be read."""
    try:
        readings = {name: read_as(float | None, draft.get(name)) for name in READINGS}
        begun = read_as(date | None, draft.get("day"))
        return MeasureForm(read_as(int, draft["row"]), **readings, day=begun)
    except (AttributeError, KeyError, TypeError, ValueError):
        return None


def is_measured(form: MeasureForm, book: RugBook) -> bool:
    """Tell whether the book holds just this: the form was saved, and the app killed before it forgot it."""
    read = {name: getattr(form, name) for name in READINGS if getattr(form, name) is not None}
    return bool(read) and any(
        (one.row, one.day) == (form.row, form.day)
        and all(getattr(one, name) == value for name, value in read.items())
        for one in book.measurements
    )


def where_measured(name: str) -> str:
    """Say where on the cloth a reading is taken; "" where its name says it."""
    return {"length_cm": _("along the middle"), "width_cm": _("across, at that row")}.get(name, "")


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
    """Return the measurement the form stands for, of the day on which it was begun.

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
    readings = {name: getattr(form, name) for name in READINGS}
    read = [in_unit(reading, unit) for reading in readings.values() if reading is not None]
    if all(reading is None for reading in readings.values()):
        raise BadEntry(_("Give at least one length that you measured."))
    if any(
        reading is not None and (not math.isfinite(reading) or reading <= 0) for reading in readings.values()
    ):
        raise BadEntry(_("A length must be more than 0. Check the tape."))
    long, wide = planned_cm(book.plan, form.row), cloth_width_cm(book.plan)
    across = math.hypot(long, wide)
    for name, planned in (
        ("length_cm", long), ("left_cm", long), ("right_cm", long), ("width_cm", wide), ("rising_cm", across),
        ("falling_cm", across),
    ):  # fmt: skip
        _check_reading(name, readings[name], planned, form.row, unit)
    _check_pairs(form)
    if form.left_cm and form.right_cm and form.rising_cm and form.falling_cm:
        foot = foot_width_cm(book.plan, book.measurements)
        sides = (form.left_cm, form.right_cm, form.rising_cm, form.falling_cm)
        if not fits_together(foot, form.width_cm or foot, *sides):
            raise BadEntry(
                _("These sides and diagonals do not fit a cloth this wide. Measure both diagonals again.")
            )
    if form.length_cm is None and form.left_cm and form.right_cm:
        readings["length_cm"] = (form.left_cm + form.right_cm) / 2.0
    return Measurement(
        id=new_id(),
        rug_id=book.plan.id,
        day=form.day or today,
        row=form.row,
        resolution_cm=in_cm(step_of(USUAL_STEP[LengthUnit(unit)], *read), unit),
        **{**readings, "length_cm": readings["length_cm"] or 0.0},
    )


def _check_reading(name: str, reading_cm: float | None, planned: float, row: int, unit: str) -> None:
    """Refuse what is so far off the plan that it is a slip of the finger."""
    if reading_cm is None or LEAST_STRETCH <= reading_cm / planned <= MOST_STRETCH:
        return
    raise BadEntry(
        _(
            "{name}: {length} is not possible. The plan has {planned} at row {row}. Check the tape "
            "and the row."
        ).format(
            name=reading_name(name),
            length=length(reading_cm, unit),
            planned=length(planned, unit),
            row=number(row),
        )
    )


def _check_pairs(form: MeasureForm) -> None:
    """Refuse one side without the other, one diagonal without the other, and diagonals without sides."""
    if (form.left_cm is None) != (form.right_cm is None):
        raise BadEntry(_("Give both sides. One alone does not show which is ahead."))
    if (form.rising_cm is None) != (form.falling_cm is None):
        raise BadEntry(_("Give both diagonals. One alone does not show how the rug leans."))
    if form.rising_cm is not None and form.left_cm is None:
        raise BadEntry(_("Give both sides too. Diagonals alone do not show how the rug leans."))


def refused(form: MeasureForm, book: RugBook, today: date, unit: str = "cm") -> str:
    """Return why what was measured cannot be saved as it stands, and what to do; "" where it can."""
    try:
        to_measurement(form, book, today, unit)
    except BadEntry as trouble:
        return trouble.sentence
    return ""


def with_hold(plan: RugPlan, hold: Hold) -> RugPlan:
    """Return the plan holding its rows or its length."""
    return replace(plan, hold=hold)


def _chart(book: RugBook, unit: str) -> Chart:
    """Show how far each measured length was from the plan's at its row."""
    title = _("Off the plan, in inches") if unit == "inch" else _("Off the plan, in cm")
    measured = sorted((item for item in book.measurements if item.length_cm), key=lambda item: item.row)
    if not measured:
        return Chart(title, "dots", "", hint=_("Here you see each measured length beside the plan."))
    points = []
    for item in measured:
        off = in_unit(item.length_cm - planned_cm(book.plan, item.row), unit)
        points.append(
            ChartPoint(
                float(item.row),
                off,
                _("Row {row}: {length}, {off}").format(
                    row=number(item.row),
                    length=length(item.length_cm, unit),
                    off=_off_plan(item.length_cm, planned_cm(book.plan, item.row), unit),
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


def _off_plan(measured_cm: float, planned_cm: float, unit: str) -> str:
    """Say by how much a length is off the plan's: what is said of the one less what is said of the other."""
    off = shown_length(measured_cm, unit) - shown_length(planned_cm, unit)
    if round(off, 1) == 0:
        return _("just as planned")
    words = length(abs(off) * (CM_PER_INCH if unit == "inch" else 1.0), unit)
    return (_("{length} longer than planned") if off > 0 else _("{length} shorter than planned")).format(
        length=words
    )


def _sum_lines(cloth: Cloth, rows: int, final_cm: float, unit: str) -> tuple[tuple[str, str], ...]:
    """Return how what is woven and the rows to come add up to the length at the end, each with what it is.

    The density is told so finely, and an inch parted so, that rows and density make the length they are said to make.
    What is woven is known by the tape to a millimetre or two at best: it is the rest of the whole that the headline tells.
    """
    inches = unit == "inch"
    fine = 2 if inches else 1
    beat = round(
        from_per_10cm(cloth.rows_per_10cm, DensityUnit.PER_INCH if inches else DensityUnit.PER_10CM), 2
    )
    ahead = round(rows * (1.0 if inches else 10.0) / beat, fine)
    whole = round(in_unit(final_cm, unit), fine)
    to_come = (
        n_("{rows} row to come, {beat} to the inch", "{rows} rows to come, {beat} to the inch", rows)
        if inches
        else n_("{rows} row to come, {beat} in 10 cm", "{rows} rows to come, {beat} in 10 cm", rows)
    )
    return (
        (
            _("Woven up to row {row}, by tape and plan").format(row=number(cloth.row)),
            length(in_cm(whole - ahead, unit), unit, fine),
        ),
        (
            to_come.format(rows=number(rows), beat=number(beat, 2)),
            length(in_cm(ahead, unit), unit, fine),
        ),
        (_("Together"), length(in_cm(whole, unit), unit, fine)),
    )


def build_cloth_state(form: MeasureForm, book: RugBook, answers: Answers, unit: str = "cm") -> ClothState:
    """Turn book, answers and the half-filled form into what the page says."""
    plan, today = book.plan, answers.day
    cloth = read_cloth(plan, book.measurements, book.rows_woven)
    headline = figure = span = mend = ""
    warning = length_warning_words(answers.length_warning, unit)
    inches = unit == "inch"
    beat = (
        _("No length measured yet. Planned: {planned} rows to the inch.")
        if inches
        else _("No length measured yet. Planned: {planned} rows in 10 cm.")
    ).format(planned=beat_of(plan.rows_per_10cm, unit))
    reckoned: list[tuple[str, str]] = []
    wanted_cm = length_to_weave_cm(plan)
    final, between = answers.final_length_cm, answers.final_length_range_cm
    if cloth.measured:
        last = max(
            (
                item
                for item in book.measurements
                if item.length_cm and 0 < item.row <= max(book.rows_woven, 1)
            ),
            key=lambda item: (item.row, item.born),
        )
        beaten, later = beat_of(last.row * 10.0 / last.length_cm, unit), beat_of(cloth.rows_per_10cm, unit)
        density = (
            _("Rows to the inch, planned {planned}") if inches else _("Rows in 10 cm, planned {planned}")
        )
        reckoned = [
            (_("Measured at row {row}").format(row=number(last.row)), length(last.length_cm, unit)),
            (density.format(planned=beat_of(plan.rows_per_10cm, unit)), beaten),
        ]
        beat = ""
        if final is not None and cloth.row < answers.where.rows:
            sums = _sum_lines(cloth, answers.where.rows - cloth.row, final, unit)
            reckoned += sums
            other_length = last.row == cloth.row and sums[0][1] != length(last.length_cm, unit)
            if later != beaten or other_length:
                beat = _(
                    "A tape is never exact, so your measurements are combined with the plan. The "
                    "more you measure, the more they count."
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
        harder = density_to_mend(cloth, plan.rows, wanted_cm)
        if harder is not None and not answers.finished and plan.hold is Hold.ROWS and not warning:
            mend = (
                _("To end at the planned length, beat the rest to {rows} rows to the inch.")
                if inches
                else _("To end at the planned length, beat the rest to {rows} rows in 10 cm.")
            ).format(rows=beat_of(harder, unit))
    rows_then = rows_for_length(cloth, wanted_cm) if cloth.measured else plan.rows
    ends_at = final if final is not None and plan.hold is Hold.ROWS else None
    return ClothState(
        row=number(form.row),
        readings={
            name: "" if getattr(form, name) is None else length(getattr(form, name), unit)
            for name in READINGS
        },
        expected=(
            _("The plan has {length} at row {row}, and {width} across with selvedges.")
            if selvedges_cm(plan) >= LEAST_SELVEDGE_CM
            else _("The plan has {length} at row {row}, and {width} across.")
        ).format(
            length=length(planned_cm(plan, form.row), unit),
            row=number(form.row),
            width=length(cloth_width_cm(plan), unit),
        )
        if form.row
        else "",
        headline=headline,
        figure=figure,
        span=span,
        reckoned=tuple(reckoned),
        beat=beat,
        warning=warning,
        mend=mend,
        chart=_chart(book, unit),
        lines=tuple(
            MeasureLine(
                item.id,
                _("Row {row}: {measured}").format(row=number(item.row), measured=measured_words(item, unit)),
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
        shape=build_shape_state(book, answers, unit),
    )
