"""The cartoon as a list for the loom: every row's runs in the order they are knotted, large enough to read from the bench."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tracker import theme
from tracker.domain.cartoon import Run, runs_of_row, yarn_of_value
from tracker.domain.errors import BadEntry
from tracker.domain.rug import RugBook
from tracker.presenters.answer_words import yarn_code
from tracker.reports.print_sheet import (
    BOTTOM,
    INK,
    LINE,
    MARGIN,
    PAGE_HEIGHT,
    PAGE_WIDTH,
    SOFT,
    Sheets,
    hex_of,
    rgb,
)
from tracker.words import _, n_, number

MOST_RUNS = 30_000
"""Runs in one file: nearly a hundred pages. More would keep a small phone busy for minutes."""
WIDTH = PAGE_WIDTH - 2 * MARGIN
LABEL = 30.0
"""Width of the column with the row's number."""
CHIP, COUNT_SIZE, CODE_SIZE = 5.2, 13.0, 8.5
STEP = 7.4


@dataclass(frozen=True, slots=True)
class RowGroup:
    """Rows one above the other that are knotted alike. `runs` hold positions in `RowsList.yarns`."""

    first: int
    last: int
    runs: tuple[Run, ...]


@dataclass(frozen=True, slots=True)
class RowsList:
    """Rows of a cartoon, ready to be set."""

    name: str
    first: int
    last: int
    mirrored: bool
    groups: tuple[RowGroup, ...]
    yarns: tuple[tuple[str, str, str], ...]
    """(number, name, colour) of what is knotted; "?" for a colour without a yarn."""


def rows_list(book: RugBook, first: int = 1, last: int | None = None, mirrored: bool = False) -> RowsList:
    """Return the runs of rows `first` to `last`, or as far as one file holds.

    Parameters
    ----------
    book
        A rug with a cartoon.
    first, last
        Row numbers from 1; None: to the end.
    mirrored
        True for who works from the back: the cartoon's right end comes first.

    Raises
    ------
    BadEntry
        The rug has no cartoon, or not these rows.
    """
    cartoon = book.cartoon
    if cartoon is None:
        raise BadEntry(_("This rug has no cartoon, so there are no runs to print. Add one in its plan."))
    last = cartoon.rows if last is None else min(last, cartoon.rows)
    if not 1 <= first <= last:
        raise BadEntry(
            _("The cartoon has rows {least} to {most}. Choose the first row among them.").format(
                least=number(1), most=number(cartoon.rows)
            )
        )
    owner = yarn_of_value(book.yarns, len(cartoon.palette))
    yarns: list[tuple[str, str, str]] = []
    place = np.zeros(len(cartoon.palette), dtype=np.int64)
    placed: dict[int, int] = {}
    for value, position in enumerate(owner):
        key = int(position) if position >= 0 else -1 - value
        if key not in placed:
            placed[key] = len(yarns)
            if position >= 0:
                yarn = book.yarns[int(position)]
                yarns.append((yarn_code(yarn), yarn.name, yarn.swatch))
            else:
                yarns.append(("?", _("no yarn yet"), cartoon.palette[value]))
        place[value] = placed[key]
    groups: list[RowGroup] = []
    before: np.ndarray | None = None
    runs_set = 0
    for row in range(first, last + 1):
        keys = place[cartoon.cells[row - 1]]
        if mirrored:
            keys = keys[::-1]
        if before is not None and np.array_equal(before, keys):
            groups[-1] = RowGroup(groups[-1].first, row, groups[-1].runs)
            continue
        runs = runs_of_row(keys)
        if groups and runs_set + len(runs) > MOST_RUNS:
            last = row - 1
            break
        runs_set += len(runs)
        groups.append(RowGroup(row, row, runs))
        before = keys
    used = {run.colour for group in groups for run in group.runs}
    order = sorted(used, key=lambda yarn: (yarns[yarn][0] == "?", len(yarns[yarn][0]), yarns[yarn][0]))
    renamed = {old: new for new, old in enumerate(order)}
    return RowsList(
        name=book.plan.name,
        first=first,
        last=last,
        mirrored=mirrored,
        groups=tuple(
            RowGroup(
                group.first, group.last, tuple(Run(renamed[run.colour], run.knots) for run in group.runs)
            )
            for group in groups
        ),
        yarns=tuple(yarns[yarn] for yarn in order),
    )


def rows_pdf(rows: RowsList, made_on: str) -> bytes:
    """Set the list on A4 pages and return the file's bytes."""
    span = _("rows {first} to {last}").format(first=number(rows.first), last=number(rows.last))
    title = _("{name}: {rows}").format(name=rows.name, rows=span)
    sheets = Sheets(title, f"{title}, {made_on}", [title, *(text for yarn in rows.yarns for text in yarn)])
    sheets.band = tuple((colour, 1.0) for _code, _name, colour in rows.yarns)
    sheets.add_page(rows.name)
    sheets.words(MARGIN, sheets.y, span[:1].upper() + span[1:], 22, INK, "black", width=WIDTH)
    sheets.y += 11.5
    way = (
        _("From the back of the loom: each row begins at the cartoon's right edge.")
        if rows.mirrored
        else _("Each row begins at the cartoon's left edge.")
    )
    how = _(
        "The square names the yarn, the figure after it says how many knots. Row 1 is woven first. Tick a row when it is done."
    )
    sheets.y += sheets.paragraph(MARGIN, sheets.y, WIDTH, f"{way} {how}", 10, SOFT) + 4.0
    for index, (code, name, colour) in enumerate(rows.yarns):
        column = index % 3
        if column == 0:
            sheets.room(STEP, rows.name)
        x = MARGIN + column * WIDTH / 3
        sheets.swatch(x, sheets.y, 6.0, colour, code)
        sheets.words(x + 8.0, sheets.y + 0.7, name, 10, INK, width=WIDTH / 3 - 12)
        if column == 2 or index == len(rows.yarns) - 1:
            sheets.y += STEP
    sheets.y += 4.0
    _set_rows(sheets, rows)
    return sheets.finished()


def _set_rows(sheets: Sheets, rows: RowsList) -> None:
    """Set the rows: swatch chips and counts. Drawn with the fewest calls, as a long list has tens of thousands."""
    pdf = sheets.pdf
    digits = [sheets.width_of(str(figure), COUNT_SIZE, "B") for figure in range(10)]
    code_width = [sheets.width_of(code, CODE_SIZE, "B") for code, _name, _colour in rows.yarns]
    inks = [theme.ink_on(hex_of(colour)) for _code, _name, colour in rows.yarns]
    left, right = MARGIN + LABEL, PAGE_WIDTH - MARGIN
    for group in rows.groups:
        # First the places, then the chips, then the words: changing colour and type for each run takes long.
        lines: list[list[tuple[float, Run]]] = [[]]
        x = left
        for run in group.runs:
            wide = CHIP + 1.2 + sum(digits[int(figure)] for figure in str(run.knots)) + 3.4
            if x + wide > right + 2.0 and lines[-1]:
                lines.append([])
                x = left
            lines[-1].append((x, run))
            x += wide
        tall = STEP * len(lines)
        sheets.room(min(tall, 3 * STEP) + 2.0, rows.name)
        label = (
            number(group.first)
            if group.first == group.last
            else f"{number(group.first)}–{number(group.last)}"
        )
        remark = (
            ""
            if group.first == group.last
            else n_("{count} row alike", "{count} rows alike", group.last - group.first + 1).format(
                count=number(group.last - group.first + 1)
            )
        )
        sheets.rule(MARGIN, sheets.y - 1.0, WIDTH)
        sheets.box(MARGIN, sheets.y + 0.6, 4.0, 4.0, "#FFFFFF", edge=theme.LIGHT.edge)
        size = 13.0 if len(label) < 8 else 10.5
        sheets.words(MARGIN + 6.0, sheets.y, label, size, INK, "black", width=LABEL - 7.0)
        if remark:
            sheets.words(MARGIN + 6.0, sheets.y + 5.0, remark, 7.5, SOFT, width=LABEL - 7.0)
        for index, line in enumerate(lines):
            if sheets.y + STEP > PAGE_HEIGHT - BOTTOM:
                sheets.add_page(rows.name)
                sheets.words(MARGIN + 6.0, sheets.y, label, size, SOFT, "black", width=LABEL - 7.0)
            y = sheets.y
            pdf.set_draw_color(*rgb(theme.LIGHT.edge))
            pdf.set_line_width(0.15)
            for x, run in line:
                pdf.set_fill_color(*rgb(rows.yarns[run.colour][2]))
                pdf.rect(x, y, CHIP, CHIP, style="DF")
            sheets.font(CODE_SIZE, "B")
            for x, run in line:
                sheets.ink(inks[run.colour])
                pdf.text(x + (CHIP - code_width[run.colour]) / 2, y + 3.75, rows.yarns[run.colour][0])
            sheets.font(COUNT_SIZE, "B")
            sheets.ink(INK)
            for x, run in line:
                pdf.text(x + CHIP + 1.2, y + 4.35, str(run.knots))
            sheets.y += STEP
            if index == 0 and remark and len(lines) == 1:
                sheets.y += 2.0
        sheets.y += 1.6
    sheets.rule(MARGIN, sheets.y - 1.0, WIDTH, LINE)
