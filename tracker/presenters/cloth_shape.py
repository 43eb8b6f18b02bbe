"""How the cloth keeps its shape, in words and as a picture: its width along the rug, which side is ahead, how it leans."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from tracker.domain.rug import Measurement, RugBook, RugPlan
from tracker.domain.shape import ahead_cm, lean_cm
from tracker.domain.units import LengthUnit, from_cm
from tracker.forecast.answers import Answers, Course, ShapeAnswer
from tracker.forecast.shape import foot_width_cm
from tracker.forecast.thresholds import SHAPE_SURE_SDS
from tracker.presenters.progress import Chart, ChartPoint, even_ticks
from tracker.presenters.size_words import tolerance_source, width_on_loom_words
from tracker.words import _, length, n_, number

FACTORS = (50, 20, 10, 5, 2, 1)
"""How many times as large as it is, what is off may be drawn."""
MOST_DRAWN_ACROSS, MOST_DRAWN_ALONG = 0.1, 0.4
"""What is off is drawn at most so large: as a share of the width, and of the woven length."""
EVEN_OUT_FROM_ROWS = 20
"""With fewer rows left it is not said how much to even out in ten of them."""


@dataclass(frozen=True, slots=True)
class ShapeDrawing:
    """The woven part, in cm from its lower left corner as planned; what is off is drawn `factor` times as large."""

    outline: tuple[tuple[float, float], ...]
    """Corners of the cloth, up its left edge and down its right one."""
    planned: tuple[float, float]
    """Width and length as planned."""
    diagonals: bool
    """Whether both diagonals were measured."""
    top: str
    left: str
    right: str
    """What was read along the upper edge and both sides; "" where nothing was."""
    factor: int


@dataclass(frozen=True, slots=True)
class BriefAnswer:
    """What the latest reading of one side of the shape says, in a few words."""

    words: str
    row: int
    """The row of that reading."""
    reading: str
    """Which length of a measurement it is told by."""
    warns: bool


@dataclass(frozen=True, slots=True)
class ShapeState:
    """What the page says of the cloth's shape."""

    headline: str
    facts: tuple[str, ...]
    warnings: tuple[str, ...]
    """What is off by more than measuring can be, while it can be corrected."""
    advice: tuple[str, ...]
    """What weavers usually do about each warning."""
    rows_left: str
    drawing: ShapeDrawing | None
    drawn: str
    """How the picture is drawn."""
    chart: Chart | None
    """The width along the rug; None until one was measured."""
    allowed_from: str
    """Where it is from what the width may differ by; "" until one was measured."""
    brief: tuple[BriefAnswer, ...] = ()
    """The same in a few words each, what is off first."""


LEAST_INCHES = 0.01
"""The least that is said to be evened out in ten rows, in inches: what would read as nothing is a hair's breadth."""

NOTHING_MEASURED = ShapeState("", (), (), (), "", None, "", None, "")


def is_off(course: Course, from_cm: float = 0.0) -> bool:
    """Tell whether something measured differs from `from_cm` by more than measuring can be wrong by.

    After all readings; and by the last one alone, but where that one can hardly be right by the others.
    """
    if abs(course.now_cm - from_cm) <= SHAPE_SURE_SDS * course.now_sd_cm:
        return False
    return not _within_error(course, from_cm) or not _within_error(course, course.now_cm)


def _within_error(course: Course, of_cm: float) -> bool:
    """Tell whether the last reading lies no further from `of_cm` than it may err by."""
    return abs(course.last_cm - of_cm) <= SHAPE_SURE_SDS * course.last_sd_cm


@dataclass(frozen=True, slots=True)
class _Told:
    """What is said of one side of the shape."""

    words: str
    brief: str
    """The same in a few words, for the strip that answers a measurement."""
    is_off: bool = False
    advice: str = ""


def _spread(sd_cm: float, unit: str) -> str:
    return "±\u00a0" + length(SHAPE_SURE_SDS * sd_cm, unit)


def _read(course: Course, planned_cm: float, unit: str) -> tuple[float, float, str]:
    """Return what is told of a course and what it comes to at the last row, both in cm, and where it is from.

    That is what the tape said last; what is believed after all readings stands in for it only where it is off, and the last one
    alone lies within its error of `planned_cm` or on the other side of it.
    """
    contrary = (course.last_cm - planned_cm) * (course.now_cm - planned_cm) <= 0
    if is_off(course, planned_cm) and (contrary or _within_error(course, planned_cm)):
        return (
            course.now_cm,
            course.end_cm,
            _("calculated from all readings, {about}").format(about=_spread(course.now_sd_cm, unit)),
        )
    return (
        course.last_cm,
        course.last_end_cm,
        _("measured at row {row}, {about}").format(
            row=number(course.last_row), about=_spread(course.last_sd_cm, unit)
        ),
    )


def _per_ten_rows(off_cm: float, rows_left: int, unit: str) -> str:
    """Say how much to even out in ten rows; "" with too few rows left."""
    if rows_left < EVEN_OUT_FROM_ROWS:
        return ""
    if unit == "inch":
        return " " + _(
            "Correct {each} inches in every 10 rows, and it will be right at the last one."
        ).format(each=number(max(LEAST_INCHES, from_cm(abs(off_cm), LengthUnit.INCH) * 10.0 / rows_left), 2))
    return " " + _("Correct {each} mm in every 10 rows, and it will be right at the last one.").format(
        each=number(abs(off_cm) * 100.0 / rows_left, 1)
    )


def _foreseen(length_cm: float, unit: str) -> str:
    """Say what it comes to at the last row."""
    return " " + _("Going on like this, it is about {length} at the last row.").format(
        length=length(length_cm, unit)
    )


@dataclass(frozen=True, slots=True)
class _Side:
    """What is said when something is off to one side, with what weavers usually do about it."""

    words: str
    brief: str
    advice: str
    read: str = ""
    """What the tape read, where it is too little to be sure of."""


def _not_sure(course: Course, read: str, unit: str) -> _Told:
    """Tell why what the tape read last is not called off: it may err by as much, or the readings before it speak against it."""
    told = read.format(off=length(abs(course.last_cm), unit), row=number(course.last_row))
    if _within_error(course, 0.0):
        words = _("{read} A tape may err by as much ({about}): only what is more is told as off.").format(
            read=told, about=_spread(course.last_sd_cm, unit)
        )
    else:
        words = _("{read} With the readings before it that is not sure yet. Measure once more.").format(
            read=told
        )
    return _Told(words, told)


def _sideways(course: Course, rows_left: int, unit: str, level: _Side, right: _Side, left: _Side) -> _Told:
    """Tell what is off to the right (positive) or the left."""
    if not is_off(course):
        read = (right if course.last_cm > 0 else left).read
        if length(abs(course.last_cm), unit) != length(0.0, unit):
            return _not_sure(course, read, unit)
        return _Told(level.words.format(about=_spread(course.now_sd_cm, unit)), level.brief)
    side = right if course.now_cm > 0 else left
    off_cm, end_cm, source = _read(course, 0.0, unit)
    off = length(abs(off_cm), unit)
    words = side.words.format(off=off, source=source)
    if rows_left and abs(end_cm) > abs(off_cm):
        words += _foreseen(abs(end_cm), unit)
    return _Told(
        words, side.brief.format(off=off), True, side.advice + _per_ten_rows(off_cm, rows_left, unit)
    )


def _ahead(shape: ShapeAnswer, course: Course, unit: str) -> _Told:
    """Tell which side is ahead."""
    return _sideways(
        course,
        shape.rows_left,
        unit,
        _Side(
            _("Both sides are level, as far as a tape tells ({about})."),
            _("Both sides are level."),
            advice="",
        ),
        _Side(
            _("The right side is {off} ahead of the left ({source})."),
            _("The right side is {off} ahead."),
            _(
                "The right is ahead: beat harder there, and a little less on the left. A short extra "
                "weft on the left fills the gap. Check that the warp is equally tight on both sides."
            ),
            _("At row {row} the right side read {off} longer."),
        ),
        _Side(
            _("The left side is {off} ahead of the right ({source})."),
            _("The left side is {off} ahead."),
            _(
                "The left is ahead: beat harder there, and a little less on the right. A short extra "
                "weft on the right fills the gap. Check that the warp is equally tight on both sides."
            ),
            _("At row {row} the left side read {off} longer."),
        ),
    )


def _lean(shape: ShapeAnswer, course: Course, unit: str) -> _Told:
    """Tell how the cloth leans."""
    return _sideways(
        course,
        shape.rows_left,
        unit,
        _Side(
            _("The rug stands straight, as far as a tape tells ({about})."),
            _("It stands straight."),
            advice="",
        ),
        _Side(
            _("The rug leans to the right: its upper edge is {off} too far right ({source})."),
            _("It leans {off} to the right."),
            _(
                "Check that the beams are level and the warps run straight up. Draw the cloth back "
                "with a stretcher, or lace its left selvedge to the loom's side."
            ),
            _("At row {row} the upper edge stood {off} too far right by the diagonals."),
        ),
        _Side(
            _("The rug leans to the left: its upper edge is {off} too far left ({source})."),
            _("It leans {off} to the left."),
            _(
                "Check that the beams are level and the warps run straight up. Draw the cloth back "
                "with a stretcher, or lace its right selvedge to the loom's side."
            ),
            _("At row {row} the upper edge stood {off} too far left by the diagonals."),
        ),
    )


def _width(plan: RugPlan, shape: ShapeAnswer, course: Course, unit: str) -> _Told:
    """Tell of the width: off is what leaves the tolerance, now or at the last row."""
    planned, allowed = shape.planned_width_cm, shape.allowed_width_cm
    wide_cm, end_cm, source = _read(course, planned, unit)
    wide = length(wide_cm, unit)
    brief = _("{wide} wide, planned {planned}.").format(wide=wide, planned=length(planned, unit))
    beside = _("planned on the loom {planned}, allowed ± {allowed}").format(
        planned=width_on_loom_words(plan, planned, unit), allowed=length(allowed, unit)
    )
    if not is_off(course, planned):
        return _Told(
            _("The width keeps its measure: {wide} ({source}); {beside}.").format(
                wide=wide, source=source, beside=beside
            ),
            brief,
        )
    narrower = course.now_cm < planned
    words = (
        _("The cloth draws in: {wide} ({source}); {beside}.")
        if narrower
        else _("The cloth grows wider: {wide} ({source}); {beside}.")
    ).format(wide=wide, source=source, beside=beside)
    if shape.rows_left and abs(end_cm - planned) > abs(wide_cm - planned):
        words += _foreseen(end_cm, unit)
    worst = max(abs(wide_cm - planned), abs(end_cm - planned) if shape.rows_left else 0.0)
    if worst <= allowed:
        return _Told(words, brief)
    advice = (
        _(
            "Lay the wefts looser, in larger waves, and do not pull them at the turns. Hold the "
            "width with a stretcher, or lace both selvedges to the loom's sides."
        )
        if narrower
        else _("Lay the wefts a little tighter and draw them up at the turns. Check that the warp is "
               "tight enough.")
    )  # fmt: skip
    return _Told(words, brief, True, advice)


def _last_read(book: RugBook) -> Measurement | None:
    """Return the highest measurement on the loom that tells of the shape."""
    told = [
        item
        for item in book.measurements
        if item.row <= book.rows_woven
        and (item.width_cm is not None or (item.left_cm is not None and item.right_cm is not None))
    ]
    return max(told, key=lambda item: (item.row, item.born), default=None)


def _length_cm(book: RugBook, item: Measurement) -> float:
    return item.length_cm or item.row * 10.0 / book.plan.rows_per_10cm


def _drawing(book: RugBook, shape: ShapeAnswer, last: Measurement, unit: str) -> ShapeDrawing:
    """Lay the woven part out: widths where they were measured, the upper edge by sides and diagonals."""
    plan, planned = book.plan, shape.planned_width_cm
    foot = foot_width_cm(plan, book.measurements)
    top_cm = max(_length_cm(book, last), 0.1)
    ahead = lean = 0.0
    diagonals = False
    # What may be the tape's error alone is not drawn as a fault.
    if last.left_cm is not None and last.right_cm is not None:
        if shape.ahead is not None and is_off(shape.ahead):
            ahead = ahead_cm(last.left_cm, last.right_cm)
        if last.rising_cm is not None and last.falling_cm is not None:
            diagonals = True
            if shape.lean is not None and is_off(shape.lean):
                lean = lean_cm(foot, last.left_cm, last.right_cm, last.rising_cm, last.falling_cm)
    across = {0.0: foot}
    across |= {
        min(_length_cm(book, item), top_cm): item.width_cm
        for item in sorted(book.measurements, key=lambda item: (item.row, item.born))
        if item.width_cm is not None and item.row <= last.row
    }
    across.setdefault(top_cm, across[max(across)])
    largest = max(abs(lean), *(abs(width - planned) / 2.0 for width in across.values()))
    factor = next(
        (
            times
            for times in FACTORS
            if largest * times <= MOST_DRAWN_ACROSS * planned
            and abs(ahead) / 2.0 * times <= MOST_DRAWN_ALONG * top_cm
        ),
        1,
    )
    if not largest and not ahead:
        factor = 1
    left, right = [], []
    for up, width in sorted(across.items()):
        share = up / top_cm
        half = planned / 2.0 + (width - planned) / 2.0 * factor
        middle = planned / 2.0 + lean * share * factor
        slant = ahead / 2.0 * share * factor
        left.append((middle - half, up - slant))
        right.append((middle + half, up + slant))

    def read(reading_cm: float | None) -> str:
        return "" if reading_cm is None else length(reading_cm, unit)

    return ShapeDrawing(
        outline=(*left, *reversed(right)),
        planned=(planned, top_cm),
        diagonals=diagonals,
        top=read(last.width_cm),
        left=read(last.left_cm),
        right=read(last.right_cm),
        factor=factor,
    )


def _width_chart(book: RugBook, shape: ShapeAnswer, rows: int, unit: str) -> Chart | None:
    """Show every measured width beside the planned one and what is allowed."""
    course, item_unit = shape.width, LengthUnit(unit)
    measured = sorted(
        (item for item in book.measurements if item.width_cm is not None), key=lambda item: item.row
    )
    if course is None or not measured:
        return None
    points = tuple(
        ChartPoint(
            float(item.row),
            from_cm(item.width_cm or 0.0, item_unit),
            _("Row {row}: {width} wide").format(row=number(item.row), width=length(item.width_cm or 0.0, unit)),
        )
        for item in measured
    )  # fmt: skip
    planned, allowed = (
        from_cm(shape.planned_width_cm, item_unit),
        from_cm(shape.allowed_width_cm, item_unit),
    )
    now, end = from_cm(course.now_cm, item_unit), from_cm(course.end_cm, item_unit)
    levels = [planned - allowed, planned + allowed, now, end, *(point.y for point in points)]
    spread = (max(levels) - min(levels)) * 0.08 or 1.0
    low, high = min(levels) - spread, max(levels) + spread
    rows = max(1, rows, measured[-1].row)
    trend: tuple[tuple[float, float], ...] = ()
    if shape.rows_left:
        trend = ((float(rows - shape.rows_left), now), (float(rows), end))
    return Chart(
        _("Width along the rug, in inches; the band is allowed")
        if unit == "inch"
        else _("Width along the rug, in cm; the band is allowed"),
        "dots",
        points[-1].words,
        points,
        (0.0, float(rows)),
        (low, high),
        tuple((float(row), number(row)) for row in even_ticks(0, rows, 5)),
        tuple((level, number(level, 1)) for level in even_ticks(low, high, 5)),
        trend=trend,
        guide=(planned, _("planned {width}").format(width=length(shape.planned_width_cm, unit))),
        band=(planned - allowed, planned + allowed),
    )


def off_measure_words(book: RugBook, answers: Answers) -> str:
    """Say for the first view that the cloth is off its measure while that can still be corrected; "" where it is not."""
    shape = build_shape_state(book, answers)
    if shape.warnings:
        return shape.headline
    return _("It would not end at its length") if answers.length_warning is not None else ""


def build_shape_state(book: RugBook, answers: Answers, unit: str = "cm") -> ShapeState:
    """Turn what was measured of the cloth's shape into words, a picture and a chart."""
    shape, last = answers.shape, _last_read(book)
    if shape is None or last is None:
        return NOTHING_MEASURED
    told, brief = [], []
    for reading, course, tell in (
        ("left_cm", shape.ahead, _ahead), ("rising_cm", shape.lean, _lean), ("width_cm", shape.width, partial(_width, book.plan)),
    ):  # fmt: skip
        if course is not None:
            item = tell(shape, course, unit)
            told.append(item)
            warns = item.is_off and shape.rows_left > 0 and not answers.finished
            brief.append(BriefAnswer(item.brief, course.last_row, reading, warns))
    off = [item for item in told if item.is_off]
    correctable = bool(off) and shape.rows_left > 0 and not answers.finished
    drawing = _drawing(book, shape, last, unit)
    if off:
        headline = _("Out of shape at row {row}").format(row=number(last.row))
    else:
        headline = _("In shape at row {row}").format(row=number(last.row))
    drawn = _("Drawn to scale, dashed as planned.")
    if drawing.factor > 1:
        drawn = _("Dashed as planned. What is off is drawn {factor} times as large.").format(
            factor=number(drawing.factor)
        )
    return ShapeState(
        headline=headline,
        facts=tuple(item.words for item in told if not (item.is_off and correctable)),
        warnings=tuple(item.words for item in off) if correctable else (),
        advice=tuple(item.advice for item in off) if correctable else (),
        rows_left=n_(
            "{rows} row is left to correct it in.", "{rows} rows are left to correct it in.", shape.rows_left
        ).format(rows=number(shape.rows_left))
        if correctable
        else "",
        drawing=drawing,
        drawn=drawn,
        chart=_width_chart(book, shape, answers.where.rows, unit),
        allowed_from=""
        if shape.width is None
        else tolerance_source(book.plan.width_cm, book.plan.length_cm, unit),
        brief=tuple(sorted(brief, key=lambda item: not item.warns)),
    )
