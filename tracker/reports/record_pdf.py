"""The record of one rug as a PDF: its plate, what it is made of, how it was woven, its photos, and care for the buyer."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from io import BytesIO
from typing import Any

from tracker.domain.rug import Role
from tracker.presenters.fact import Fact
from tracker.presenters.record.values import RugRecord, YarnEntry
from tracker.reports.print_sheet import (
    BOTTOM,
    GREEN,
    INDIGO,
    INK,
    LINE,
    MADDER,
    MARGIN,
    MM_PER_POINT,
    PAGE_HEIGHT,
    PAGE_WIDTH,
    SOFT,
    TOP,
    WOOL,
    Sheets,
)
from tracker.words import _, number

WIDTH = PAGE_WIDTH - 2 * MARGIN
PLATE_HEIGHT = 176.0
"""Height of the wool ground under the rug's picture."""
LEAST_PLATE = 110.0
"""The same where what is known of the rug needs more room."""
FRINGE = 4.0
FACT_LINES = (0, 4, 3)
"""Lines of a fact's text tried one after the other where room is scarce; 0: all of them; after that two."""
FACT_GAP = 6.0
FACT_COLUMNS = 3
"""Facts side by side under the plate."""
SHORT_LINES = 3
"""Of a fact's text, as many lines do not call for wider columns."""
MOST_TOGETHER = 12
"""So many steps after weaving are not parted by the end of a page."""
HEADING = 20.0
"""Height of a heading with the space above it."""
PHOTO_PIXELS = 1400
"""Longer side of a printed photo."""


def texts_of(value: Any) -> Iterator[str]:
    """Yield every text in a value made of dataclasses and tuples."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, tuple):
        for part in value:
            yield from texts_of(part)
    elif is_dataclass(value) and not isinstance(value, type):
        for field in fields(value):
            yield from texts_of(getattr(value, field.name))


def record_pdf(record: RugRecord) -> bytes:
    """Set the record of a rug on A4 pages and return the file's bytes."""
    sheets = Sheets(
        f"{record.name}: {record.kicker}",
        _("{name}, {day}").format(name=record.name, day=record.on_day),
        texts_of(record),
    )
    pile = [yarn for yarn in record.yarns if yarn.role is Role.PILE]
    sheets.band = tuple((yarn.swatch, yarn.share) for yarn in pile)
    _plate(sheets, record)
    _now(sheets, record)
    _materials(sheets, record)
    _weaving(sheets, record)
    _photos(sheets, record)
    _care(sheets, record)
    return sheets.finished()


# --- the first page


def _plate(sheets: Sheets, record: RugRecord) -> None:
    sheets.pdf.add_page()
    size = 30.0
    while size > 17 and len(sheets.lines_of(record.name, size, "black", WIDTH)) > (1 if size > 22 else 2):
        size -= 1
    plate = _plate_height(sheets, record, size)
    sheets.box(0, 0, PAGE_WIDTH, plate, WOOL)
    sheets.draw_band(0, 5)
    sheets.words(MARGIN, 12, record.kicker, 9.5, MADDER, "B", width=WIDTH - 45)
    sheets.words(PAGE_WIDTH - MARGIN - 45, 12, record.on_day, 9.5, SOFT, align="R", width=45)
    _rug(sheets, record, 22.0 + FRINGE, plate - 22.0 - 2 * FRINGE - 14.0)

    y = plate + 8
    y += sheets.paragraph(MARGIN, y, WIDTH, record.name, size, INK, "black", most=2, leading=1.12)
    y += sheets.paragraph(MARGIN, y + 1.0, WIDTH, record.subtitle, 11, SOFT, most=2) + 4.0
    sheets.rule(MARGIN, y, 24, MADDER, 0.9)
    _fact_grid(sheets, record.facts, MARGIN, y + 5.0, WIDTH, FACT_COLUMNS, PAGE_HEIGHT - BOTTOM)


def _plate_height(sheets: Sheets, record: RugRecord, size: float) -> float:
    """Return the height of the plate above a name of `size`: less than usual where all that is known would not stand below it."""
    name = min(2, len(sheets.lines_of(record.name, size, "black", WIDTH))) * size * MM_PER_POINT * 1.12
    subtitle = min(2, len(sheets.lines_of(record.subtitle, 11, "", WIDTH))) * 11 * MM_PER_POINT * 1.32
    room = PAGE_HEIGHT - BOTTOM - (8 + name + 1.0 + subtitle + 4.0 + 5.0)
    each = _column_of(WIDTH, FACT_COLUMNS)
    for lines in (*FACT_LINES, 2):
        left = room - _grid_height(sheets, record.facts, each, FACT_COLUMNS, lines)
        if left >= LEAST_PLATE:
            return min(PLATE_HEIGHT, left)
    return LEAST_PLATE


def _rug(sheets: Sheets, record: RugRecord, top: float, room: float) -> None:
    """Draw the rug in the middle of the plate, as large as it fits, with its fringes and its measures."""
    aspect = record.width_cm / record.length_cm if record.length_cm > 0 and record.width_cm > 0 else 1.0
    height = min(room, 148.0 / aspect)
    width = height * aspect
    x, y = (PAGE_WIDTH - width) / 2, top + (room - height) / 2
    sheets.picture(record.picture, x, y, width, height)
    sheets.pdf.set_draw_color(0x43, 0x2A, 0x1D)
    sheets.pdf.set_line_width(0.25)
    sheets.pdf.rect(x, y, width, height)
    # The fringe: warp ends, one every 1.3 mm.
    ends = max(2, round(width / 1.3))
    for end in range(ends + 1):
        x_fringe = x + width * end / ends
        sheets.stroke(x_fringe, y + height, x_fringe, y + height + FRINGE, "#B9A583", 0.22)
        if record.woven_share >= 1.0:
            sheets.stroke(x_fringe, y - FRINGE, x_fringe, y, "#B9A583", 0.22)
    if 0 < record.woven_share < 1:
        y_woven = y + height * (1 - record.woven_share)
        sheets.stroke(x - 3, y_woven, x + width + 3, y_woven, MADDER, 0.5)
        sheets.words(0, y_woven - 2.2, record.woven_words, 9, MADDER, "B", "R", x - 4.5)
    foot = y + height + FRINGE + 3.5
    sheets.stroke(x, foot, x + width, foot, SOFT)
    for edge in (x, x + width):
        sheets.stroke(edge, foot - 1, edge, foot + 1, SOFT)
    sheets.words(PAGE_WIDTH / 2 - 30, foot + 1.4, record.width_words, 9, SOFT, align="C", width=60)
    side = x + width + 5.5
    sheets.stroke(side, y, side, y + height, SOFT)
    for edge in (y, y + height):
        sheets.stroke(side - 1, edge, side + 1, edge, SOFT)
    middle = y + height / 2
    with sheets.pdf.rotation(90, side + 4.0, middle):
        sheets.words(side + 4.0 - 30, middle - 1.9, record.length_words, 9, SOFT, align="C", width=60)


def _grid_height(sheets: Sheets, facts: tuple[Fact, ...], each: float, columns: int, most: int) -> float:
    """Return the height that facts side by side take, each text of at most so many lines (0: all)."""

    def lines(text: str, size: float, style: str, limit: int) -> int:
        count = len(sheets.lines_of(text, size, style, each)) if text.strip() else 0
        return min(count, limit) if limit else count

    height = 0.0
    for begin in range(0, len(facts), columns):
        height += 8.6 + max(
            lines(fact.figure, 12.5, "B", 2) * 12.5 * MM_PER_POINT * 1.18
            + lines(fact.more, 8.5, "", most) * 8.5 * MM_PER_POINT * 1.32
            for fact in facts[begin : begin + columns]
        )
    return height - 4.0


def _column_of(width: float, columns: int) -> float:
    """Return the width of one of several columns of facts."""
    return (width - FACT_GAP * (columns - 1)) / columns


def _fact_grid(
    sheets: Sheets, facts: tuple[Fact, ...], x: float, y: float, width: float, columns: int, foot: float = 0.0
) -> float:
    """Print facts side by side; return the height they took. Where they would reach below a `foot` long texts are cut."""
    each = _column_of(width, columns)
    most = next((lines for lines in FACT_LINES if y + _grid_height(sheets, facts, each, columns, lines) <= foot), 2) if foot else 0  # fmt: skip
    start = y
    for begin in range(0, len(facts), columns):
        tallest = 0.0
        for place, fact in enumerate(facts[begin : begin + columns]):
            left = x + place * (each + FACT_GAP)
            sheets.words(left, y, fact.label, 8.5, SOFT, width=each)
            took = 4.2
            took += sheets.paragraph(left, y + took, each, fact.figure, 12.5, INK, "B", most=2, leading=1.18)
            took += sheets.paragraph(left, y + took + 0.4, each, fact.more, 8.5, SOFT, most=most) + 0.4
            tallest = max(tallest, took)
        y += tallest + 4.0
    return y - start


# --- the pages after it


def _head(record: RugRecord) -> str:
    return record.name


def _heading(sheets: Sheets, record: RugRecord, words: str, room: float = 40.0) -> None:
    if not sheets.room(HEADING + room, _head(record)) and sheets.y > 30:
        sheets.y += 5.0
    sheets.words(MARGIN, sheets.y, words, 19, INK, "black", width=WIDTH)
    sheets.y += 9.5
    sheets.rule(MARGIN, sheets.y, 24, MADDER, 0.9)
    sheets.y += 5.5


def _now(sheets: Sheets, record: RugRecord) -> None:
    sheets.add_page(_head(record))
    if not record.now:
        return
    _heading(sheets, record, _("Where it stands on {day}").format(day=record.on_day))
    sheets.y += _fact_grid(sheets, record.now, MARGIN, sheets.y, WIDTH, 2)
    for warning in record.warnings:
        sheets.y += sheets.paragraph(MARGIN, sheets.y, WIDTH, warning, 10, MADDER, "B") + 3.0


def _yarn_height(sheets: Sheets, yarn: YarnEntry, knots_x: float) -> float:
    """Return the height of one yarn in the list of materials."""
    lines = [sheets.lines_of(line, 9, "", knots_x - MARGIN - 18) for line in yarn.lines if line]
    named = len(sheets.lines_of(yarn.name, 11.5, "B", knots_x - MARGIN - 14))
    return max(11.5, 4.9 * min(2, named) + 4.2 * sum(min(2, len(broken)) for broken in lines))


def _materials(sheets: Sheets, record: RugRecord) -> None:
    _heading(sheets, record, _("What it is made of"))
    if not record.yarns:
        sheets.y += sheets.paragraph(MARGIN, sheets.y, WIDTH, _("No yarn is in the plan."), 10.5, SOFT)
    knots_x, used_x = PAGE_WIDTH - MARGIN - 62, PAGE_WIDTH - MARGIN - 34

    def columns() -> None:
        sheets.words(knots_x, sheets.y, record.knots_head, 8.5, SOFT, align="R", width=24)
        sheets.words(used_x, sheets.y, record.used_head, 8.5, SOFT, align="R", width=34)
        sheets.y += 5.0

    if record.yarns:
        if record.yarn_note:
            sheets.y += sheets.paragraph(MARGIN, sheets.y, WIDTH, record.yarn_note, 9.5, SOFT) + 1.5
        columns()
    role: Role | None = None
    sums = 6.0 * len(record.yarn_sums) + 2.0 if record.yarn_sums else 0.0
    heights = [_yarn_height(sheets, yarn, knots_x) + 1.9 for yarn in record.yarns]
    if heights:
        # The sum stays with the last yarns.
        heights[-1] += sums
    for at, yarn in enumerate(record.yarns):
        if sheets.room(sheets.together(heights, at), _head(record)):
            columns()
            role = None
        if role is not None:
            sheets.rule(MARGIN, sheets.y - 1.3, WIDTH, SOFT if role is not yarn.role else LINE)
        role = yarn.role
        y = sheets.y
        sheets.swatch(MARGIN, y, 9.0, yarn.swatch, yarn.number)
        name = sheets.paragraph(
            MARGIN + 14, y - 0.4, knots_x - MARGIN - 14, yarn.name, 11.5, INK, "B", most=2, leading=1.18
        )
        below = y + 0.1 + name
        for line in yarn.lines:
            below += sheets.paragraph(MARGIN + 14, below, knots_x - MARGIN - 18, line, 9, SOFT, most=2)
        sheets.words(knots_x, y - 0.2, yarn.knots, 11, INK, align="R", width=24)
        sheets.words(used_x, y - 0.2, yarn.used, 11, INK, "B", "R", 34)
        sheets.words(used_x, y + 4.9, yarn.basis, 8.5, SOFT, align="R", width=34)
        sheets.y = max(y + 10.5, below) + 1.9
    if record.yarn_sums:
        sheets.rule(MARGIN, sheets.y - 1.3, WIDTH, SOFT)
        for place, (words, figure) in enumerate(record.yarn_sums):
            weight = "" if place else "B"
            sheets.words(MARGIN + 14, sheets.y, words, 10.5, INK, weight, width=used_x - MARGIN - 14)
            sheets.words(used_x, sheets.y, figure, 10.5, INK, weight, "R", 34)
            sheets.y += 6.0
        sheets.y += 2.0

    half = (len(record.densities) + 1) // 2
    _heading(sheets, record, _("Its density, as the trade says it"), 6.5 * half + 6.0)
    sheets.y += sheets.paragraph(MARGIN, sheets.y, WIDTH, record.density_note, 9.5, SOFT) + 1.5
    for column in range(2):
        x = MARGIN + column * (WIDTH / 2 + 4)
        for place, (unit, figure) in enumerate(record.densities[column * half : (column + 1) * half]):
            y = sheets.y + place * 6.6
            sheets.words(x, y, unit, 10, SOFT, width=48)
            sheets.words(x + 40, y, figure, 10.5, INK, "B", "R", WIDTH / 2 - 46)
            sheets.rule(x, y + 5.4, WIDTH / 2 - 6)
    sheets.y += 6.6 * half + 2.0


def _weaving(sheets: Sheets, record: RugRecord) -> None:
    if record.bars:
        _heading(sheets, record, _("How it was woven"), 100)
        columns = max(1, len(record.weaving))
        each = _column_of(WIDTH, columns)
        if any(len(sheets.lines_of(fact.more, 8.5, "", each)) > SHORT_LINES for fact in record.weaving):
            columns = min(2, columns)
        sheets.y += _fact_grid(sheets, record.weaving, MARGIN, sheets.y, WIDTH, columns)
        _chart(sheets, record)
    if record.weavers:
        heights = [6.6] * len(record.weavers)
        sheets.room(7.0 + sheets.together(heights, 0), _head(record))
        sheets.words(MARGIN, sheets.y, _("At the loom"), 11.5, INK, "B")
        sheets.y += 7.0
        widths = [
            max(sheets.width_of(words, 10.5) for words in told) + 6.0
            for told in zip(*((one.knots, one.days, one.hours) for one in record.weavers), strict=True)
        ]
        for at, weaver in enumerate(record.weavers):
            sheets.room(sheets.together(heights, at), _head(record))
            right = PAGE_WIDTH - MARGIN
            for words, wide in zip((weaver.hours, weaver.days, weaver.knots), reversed(widths), strict=True):
                sheets.words(right - wide, sheets.y, words, 10.5, INK, align="R", width=wide)
                right -= wide
            sheets.words(MARGIN, sheets.y, weaver.name, 10.5, INK, width=max(20.0, right - MARGIN))
            sheets.rule(MARGIN, sheets.y + 5.4, WIDTH)
            sheets.y += 6.6
        sheets.y += 3.0
    if record.steps:
        # As a rule they are few and stand together.
        heights = [6.6] * len(record.steps)
        _heading(sheets, record, _("After weaving"), 6.6 * min(MOST_TOGETHER, len(record.steps)))
        for at, (name, words) in enumerate(record.steps):
            sheets.room(sheets.together(heights, at), _head(record))
            sheets.words(MARGIN, sheets.y, name, 10.5, INK, width=WIDTH - 66)
            sheets.words(PAGE_WIDTH - MARGIN - 62, sheets.y, words, 10.5, SOFT, align="R", width=62)
            sheets.rule(MARGIN, sheets.y + 5.4, WIDTH)
            sheets.y += 6.6


def _chart(sheets: Sheets, record: RugRecord) -> None:
    """Draw the rows gained as bars on a line; what was unpicked hangs below it."""
    bars = record.bars
    height = 46.0
    sheets.room(height + 22, _head(record))
    sheets.words(MARGIN, sheets.y, record.chart_title, 11.5, INK, "B")
    sheets.y += 8.5
    most = max(1, *(bar.rows for bar in bars))
    least = min(0, *(bar.rows for bar in bars))
    scale = height / (most - least)
    zero = sheets.y + most * scale
    step = WIDTH / len(bars)
    wide = min(step * 0.72, 16.0)
    label_size = 8.0 if len(bars) <= 14 else 7.0
    for index, bar in enumerate(bars):
        middle = MARGIN + step * (index + 0.5)
        tall = abs(bar.rows) * scale
        if bar.rows:
            top = zero - tall if bar.rows > 0 else zero
            sheets.box(middle - wide / 2, top, wide, tall, INDIGO if bar.rows > 0 else MADDER)
            if step > 6.5:
                over = top - 4.0 if bar.rows > 0 else zero + tall
                shown = number(bar.rows) if bar.rows > 0 else "−" + number(-bar.rows)
                sheets.words(middle - step / 2, over, shown, 8.5, INK, "B", "C", step)
        elif step > 6.5:
            sheets.words(middle - step / 2, zero - 4.2, number(0), 8.5, SOFT, align="C", width=step)
        if bar.label:
            reach = max(step, 15.0)
            left = min(max(middle - reach / 2, MARGIN - 4), PAGE_WIDTH - MARGIN + 4 - reach)
            sheets.words(
                left,
                zero - least * scale + 1.6 + (3.4 if least < 0 else 0),
                bar.label,
                label_size,
                SOFT,
                align="C",
                width=reach,
            )
    sheets.rule(MARGIN, zero, WIDTH, SOFT, 0.3)
    sheets.y += height + 9.0 + (3.4 if least < 0 else 0)


def _photos(sheets: Sheets, record: RugRecord) -> None:
    title = _("Pictures kept with it")
    if not record.photos:
        if not record.photos_left_out:
            return
        _heading(sheets, record, title, 10)
    gap = 8.0
    each = (WIDTH - gap) / 2
    for begin in range(0, len(record.photos), 2):
        pair = [(photo, *_photo(photo.path)) for photo in record.photos[begin : begin + 2]]
        heights = [min(each * 1.25, each / aspect) for _photo_, _data, aspect in pair]
        if begin == 0:
            # The heading stays with the first pictures.
            _heading(sheets, record, title, max(heights) + 12)
        sheets.room(max(heights) + 12, _head(record))
        for place, ((photo, data, aspect), height) in enumerate(zip(pair, heights, strict=True)):
            x = MARGIN + place * (each + gap)
            if data is None:
                sheets.box(x, sheets.y, each, height, WOOL)
                sheets.paragraph(
                    x + 6, sheets.y + height / 2 - 4, each - 12, _("This picture cannot be read."), 9, SOFT
                )
            else:
                width = min(each, height * aspect)
                sheets.pdf.image(data, x=x, y=sheets.y, w=width, h=height)
            sheets.paragraph(x, sheets.y + height + 1.5, each, photo.words, 9, SOFT, most=2)
        sheets.y += max(heights) + 13
    if record.photos_left_out:
        sheets.room(6, _head(record))
        sheets.y += sheets.paragraph(MARGIN, sheets.y, WIDTH, record.photos_left_out, 9.5, SOFT)


def _photo(path: Any) -> tuple[BytesIO | None, float]:
    """Return a photo as a JPEG small enough to print, and its width over its height; None when it cannot be read."""
    from PIL import Image

    try:
        with Image.open(path) as image:
            image.draft("RGB", (PHOTO_PIXELS, PHOTO_PIXELS))
            small = image.convert("RGB")
        small.thumbnail((PHOTO_PIXELS, PHOTO_PIXELS))
        data = BytesIO()
        small.save(data, "JPEG", quality=85)
    except (OSError, ValueError, Image.DecompressionBombError):
        return None, 1.4
    data.seek(0)
    return data, small.width / small.height


def _care(sheets: Sheets, record: RugRecord) -> None:
    notes = sheets.lines_of(record.notes, 10.5, "", WIDTH) if record.notes.strip() else []
    heights = [
        max(
            sheets.lines_height(how, 11, WIDTH - 52),
            5.2 * len(sheets.lines_of(what, 11, "B", 44)),
        )
        + 4.5
        for what, how in record.care
    ]
    whom = _("For an old, fine or silk piece ask somebody who restores hand-knotted rugs.")
    # The last line stays with the last of the advice.
    heights[-1] += 2.0 + sheets.lines_height(whom, 9.5, WIDTH)
    advice = HEADING + sum(heights)
    if sheets.y + (HEADING + 5.0 * len(notes) if notes else 0.0) + advice > PAGE_HEIGHT - BOTTOM:
        sheets.add_page(_head(record))
    if notes:
        each = [5.0] * len(notes)
        _heading(sheets, record, _("Notes"), sheets.together(each, 0))
        for at, line in enumerate(notes):
            sheets.room(sheets.together(each, at), _head(record))
            sheets.words(MARGIN, sheets.y, line, 10.5, INK)
            sheets.y += 5.0
    whole_page = PAGE_HEIGHT - BOTTOM - TOP - HEADING
    _heading(sheets, record, _("How to care for it"), min(sum(heights), whole_page))
    for (what, how), height in zip(record.care, heights, strict=True):
        sheets.room(height, _head(record))
        sheets.paragraph(MARGIN, sheets.y, 44, what, 11, GREEN, "B")
        took = sheets.paragraph(MARGIN + 52, sheets.y, WIDTH - 52, how, 11, INK)
        sheets.y += max(took, 5.2 * len(sheets.lines_of(what, 11, "B", 44))) + 4.5
        sheets.rule(MARGIN, sheets.y - 2.4, WIDTH)
    sheets.y += 2.0
    sheets.y += sheets.paragraph(MARGIN, sheets.y, WIDTH, whom, 9.5, SOFT)
