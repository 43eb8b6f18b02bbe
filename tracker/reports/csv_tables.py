"""The record as tables for a spreadsheet: RFC 4180, UTF-8 with a byte order mark, no cell a spreadsheet would run.

Numbers stand as plain numbers with a point and their unit in the head; days as 2027-01-31.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from tracker.domain.cartoon import count_of, counts_by_yarn
from tracker.domain.costs import Spread, rounded
from tracker.domain.dye_lots import marks_of
from tracker.domain.hand_out import HandOutKind
from tracker.domain.lot_moves import MovedLot, came_by
from tracker.domain.material_plan import material_plan
from tracker.domain.rows import rows_to_weave
from tracker.domain.rug import HoursFrom, Role, RugBook, RugStage, Yarn, heights_after
from tracker.forecast.answers import Answers
from tracker.forecast.reckon import rows_wanted
from tracker.presenters.answer_words import yarn_code, yarn_words
from tracker.presenters.costs import cost_of
from tracker.presenters.entry_text import (
    cost_kind_words,
    moved_words,
    names_of,
    role_words,
    used_words,
)
from tracker.presenters.order import facts_told
from tracker.presenters.record.yarn_use import stays_g, yarn_use, yarns_in_order
from tracker.presenters.trade_words import fibre_words
from tracker.presenters.yarn import YarnEvent
from tracker.reports.csv_safe import Cell, table
from tracker.words import _, currency_decimals


def sessions_table(book: RugBook) -> bytes:
    """Return every session, oldest first."""
    names = names_of((book,))
    whose = {HoursFrom.GIVEN: _("given"), HoursFrom.USUAL: _("usual, not given")}
    heights = map(int, heights_after(session.rows for session in book.sessions))
    rows: list[Sequence[Cell]] = []
    for session, begun, on_loom in zip(book.sessions, book.begun_after, heights, strict=True):
        used = [
            used_words(names.yarns[yarn_id].role, names.yarns[yarn_id].name, count)
            for yarn_id, count in session.used
            if yarn_id in names.yarns
        ]
        rows.append(
            (
                session.day,
                session.rows,
                on_loom,
                session.hours,
                len(session.weavers),
                "; ".join(names.weaver(who) for who in session.weavers),
                "; ".join(used),
                session.note,
                "; ".join(f"{names.weaver(who)}: {first}-{last}" for who, first, last in session.places),
                "; ".join(f"{names.weaver(who)}: {rows}" for who, rows in session.ahead),
                begun,
                "" if session.hours_from is None else whose[session.hours_from],
            )
        )
    return table(
        (
            _("day"), _("rows"), _("rows on the loom"), _("hours"), _("weavers at the loom"), _("weavers"), _("used up"),
            _("note"), _("places (knots from the left)"), _("rows ahead"),
            _("knots of the next row"), _("hours given or usual"),
        ),
        rows,
    )  # fmt: skip


def yarn_table(book: RugBook, answers: Answers) -> bytes:
    """Return a line a yarn: what it is, what was bought of it, used, is left, and is needed."""
    plan = material_plan(book, rows=rows_wanted(book), taught=answers.taught)
    finished = book.plan.stage is RugStage.FINISHED
    by_yarn = {answer.yarn_id: answer for answer in answers.yarns}
    needs = {need.yarn_id: need for need in plan.needs}
    basis = {
        "weighed": _("weighed"), "weighed before": _("weighed on the way, the rest calculated"), "reckoned": _("calculated"),
        "plan": _("from the plan"), "needed": "",
    }  # fmt: skip
    rows: list[Sequence[Cell]] = []
    for yarn in yarns_in_order(book):
        lots = [lot for lot in book.lots if lot.yarn_id == yarn.id]
        answer, need, use = by_yarn.get(yarn.id), needs.get(yarn.id), yarn_use(book, answers, plan, yarn)
        stays = stays_g(book, plan, yarn, use)
        came = came_by(lots)
        rows.append(
            (
                yarn_code(yarn),
                role_words(yarn.role),
                yarn.name,
                yarn.swatch,
                yarn.count,
                yarn.tex or None,
                fibre_words(yarn.fibre),
                "; ".join(dict.fromkeys(who for who in [*(lot.dyer for lot in lots), yarn.dyer] if who)),
                "; ".join(marks_of(lots)),
                round(getattr(need, "knots", 0.0)) if yarn.role is Role.PILE and need is not None else None,
                None if need is None else round(need.need_g, 1),
                came.bought_g,
                came.paid,
                came.moved_here_g - came.moved_on_g,
                came.moved_worth,
                float(sum(loss.mass_g for loss in book.spoilt if loss.yarn_id == yarn.id)),
                None if use.basis == "needed" or use.mass_g is None else round(use.mass_g, 1),
                basis[use.basis],
                None if stays is None or not finished else round(stays, 1),
                None if answer is None else round(answer.on_hand_g, 1),
                None if answer is None else round(answer.needed_g, 1),
                None if answer is None else round(answer.needed_low_g, 1),
                None if answer is None else round(answer.needed_high_g, 1),
                "" if answer is None else yarn_words(answer),
                None if answer is None else answer.order_g,
                None if answer is None else answer.order_by,
            )
        )
    return table(
        (
            _("number"), _("use"), _("name"), _("colour"), _("fineness"), _("tex"), _("fibre"), _("dyer"), _("dye lots"),
            _("knots in the rug"), _("planned need (g)"), _("bought (g)"), _("paid"), _("moved here, less moved on (g)"), _("paid for that"), _("lost (g)"), _("used so far, waste included (g)"),
            _("used so far is"), _("of it in the finished rug (g)"), _("on hand (g)"), _("still needed (g)"), _("still needed, low (g)"), _("still needed, high (g)"),
            _("does it last"), _("to buy (g)"), _("buy by"),
        ),
        rows,
    )  # fmt: skip


def yarn_events_table(book: RugBook) -> bytes:
    """Return all that happened to the yarns, oldest first: bought, weighed, lost, sampled, balls and shuttles ended."""
    yarns = {yarn.id: yarn for yarn in book.yarns}
    dated_rows: list[tuple[date, int, tuple[Cell, ...]]] = []

    def add(
        value: YarnEvent, yarn_id: str, what: str, mass_g: float | None, count: float | None, lot: str = "",
        dyer: str = "",
        price: float | None = None, note: str = "",
    ) -> None:  # fmt: skip
        yarn: Yarn | None = yarns.get(yarn_id)
        code, name = (yarn_code(yarn), yarn.name) if yarn else ("", _("a yarn no longer in the plan"))
        dated_rows.append(
            (value.day, value.born, (value.day, code, name, what, mass_g, count, lot, dyer, price, note))
        )

    for lot in book.lots:
        what = moved_words(lot) if isinstance(lot, MovedLot) else _("bought")
        add(lot, lot.yarn_id, what, lot.mass_g, None, lot.dye_lot, lot.dyer, lot.price)
    marks = {lot.id: lot.dye_lot for lot in book.lots}
    for change in book.lot_changes:
        if change.done_day is not None:
            said = _("dye lot opened: from row")
            add(change, change.yarn_id, said, None, change.row, marks.get(change.lot_id, ""))
    for weighing in book.weighings:
        add(weighing, weighing.yarn_id, _("weighed: left"), weighing.mass_g, None, note=weighing.note)
    for spoilt in book.spoilt:
        add(spoilt, spoilt.yarn_id, _("lost"), spoilt.mass_g, None, note=spoilt.note)
    for sample in book.samples:
        add(sample, sample.yarn_id, _("sample: knots"), sample.mass_g, sample.knots)
    for session in book.sessions:
        for yarn_id, count in session.used:
            ended = (
                _("shuttles emptied")
                if yarn_id in yarns and yarns[yarn_id].role is Role.WEFT
                else _("balls used up")
            )
            add(session, yarn_id, ended, None, count)
    dated_rows.sort(key=lambda dated_row: (dated_row[0], dated_row[1]))
    return table(
        (
            _("day"), _("number"), _("name"), _("what"), _("mass (g)"), _("count"), _("dye lot"), _("dyer"), _("price"),
            _("note"),
        ),
        [row for _day, _born, row in dated_rows],
    )  # fmt: skip


def days_of_rows(book: RugBook) -> list[date]:
    """Return the day on which each row that is on the loom was woven, row 1 first; unpicked rows are gone."""
    days: list[date] = []
    for session in book.sessions:
        if session.rows >= 0:
            days += [session.day] * session.rows
        else:
            del days[max(0, len(days) + session.rows) :]
    return days


def rows_table(book: RugBook) -> bytes:
    """Return a line a row that the rug has or is to have: when it was woven, its colour changes, its knots of each colour."""
    days = days_of_rows(book)
    to_weave = rows_to_weave(book, max(len(days), rows_wanted(book)))
    head = [_("row"), _("woven on")]
    pile = [yarn for yarn in book.yarns if yarn.role is Role.PILE]
    extra: list[list[Cell]] = []
    if book.cartoon is not None:
        count = count_of(book.cartoon)
        knots = counts_by_yarn(count, book.yarns)
        columns = [column for column, yarn in enumerate(book.yarns) if yarn.role is Role.PILE]
        head += [
            _("colour changes"),
            *(_("{number} {name} (knots)").format(number=yarn.number, name=yarn.name) for yarn in pile),
        ]
        extra = [
            [int(count.changes[row]), *map(int, knots[row, columns])] for row in to_weave.of_cartoon.tolist()
        ]
    rows = [
        (row + 1, days[row] if row < len(days) else None, *(extra[row] if row < len(extra) else ()))
        for row in range(to_weave.rows)
    ]
    return table(head, [(*row, *([None] * (len(head) - len(row)))) for row in rows])


def cloth_table(book: RugBook) -> bytes:
    """Return everything measured of the cloth on the loom, by row."""
    return table(
        (
            _("day"), _("row"), _("length (cm)"), _("width (cm)"), _("left side (cm)"), _("right side (cm)"),
            _("diagonal from lower left (cm)"), _("diagonal from lower right (cm)"),
        ),
        [
            (item.day, item.row, item.length_cm or None, item.width_cm, item.left_cm, item.right_cm, item.rising_cm, item.falling_cm)
            for item in sorted(book.measurements, key=lambda item: (item.row, item.born))
        ],
    )  # fmt: skip


def trimming_table(book: RugBook) -> bytes:
    """Return every trimming of the pile on the loom, by row."""
    return table(
        (_("day"), _("row"), _("pile before (mm)"), _("pile after (mm)"), _("note")),
        [
            (trim.day, trim.row, trim.before_mm, trim.after_mm, trim.note)
            for trim in sorted(book.trims, key=lambda trim: (trim.row, trim.born))
        ],
    )


def mistakes_table(book: RugBook) -> bytes:
    """Return every mistake that was marked on the cartoon, by row."""
    return table(
        (_("day"), _("row"), _("from knot"), _("to knot"), _("what is wrong"), _("mended on")),
        [
            (mark.day, mark.row, mark.first_knot, mark.last_knot, mark.note, mark.mended_day)
            for mark in sorted(book.marks, key=lambda mark: (mark.row, mark.first_knot, mark.born))
        ],
    )


def balls_table(book: RugBook) -> bytes:
    """Return every ball handed out and taken back, by day."""
    names = names_of((book,))
    return table(
        (
            _("day"), _("given or returned"), _("weaver"), _("name"), _("balls"), _("mass (g)"), _("dye lot"), _("note"),
        ),
        [
            (
                entry.day,
                _("given") if entry.kind is HandOutKind.GIVEN else _("returned"),
                "" if entry.weaver_id is None else names.weaver(entry.weaver_id),
                names.yarn(entry.yarn_id),
                entry.balls,
                entry.mass_g,
                "" if (lot := names.lots.get(entry.lot_id or "")) is None else lot.dye_lot,
                entry.note,
            )
            for entry in book.hand_outs
        ],
    )  # fmt: skip


def wages_table(book: RugBook, answers: Answers, currency: str) -> bytes:
    """Return who wove what and earned what; who is not known stands last."""
    names = names_of((book,))
    return table(
        (_("weaver"), _("days"), _("knots"), _("knots without a wage"), _("earned"), _("currency")),
        [
            (
                names.weaver(earned.work.weaver_id) if earned.work.weaver_id else _("not shared out"),
                earned.work.days,
                earned.work.knots,
                earned.unpaid_knots,
                earned.amount if book.wages else None,
                currency,
            )
            for earned in cost_of(book, answers, currency).earned
        ],
    )


def costs_table(book: RugBook, answers: Answers, currency: str) -> bytes:
    """Return what the rug costs so far and at the end, a line for each yarn, the wages and each spending."""
    cost = cost_of(book, answers, currency)
    yarns = {yarn.id: yarn for yarn in book.yarns}
    rows: list[tuple[Cell, ...]] = []

    def add(what: str, name: str, so_far: Decimal | None, end: Spread | None, on: date | None = None) -> None:
        ends = (end.low, end.middle, end.high) if end else (None, None, None)
        rows.append((on, what, name, so_far, *ends, currency))

    for one in cost.yarns:
        add(_("yarn"), yarns[one.yarn_id].name, one.so_far, one.at_end)
    if book.wages:
        add(_("wages"), "", cost.wages_so_far, cost.wages_at_end)
    for spent in book.costs:
        amount = rounded(spent.amount, currency_decimals(currency))
        add(cost_kind_words(spent.kind), spent.note, amount, Spread(amount, amount, amount), spent.day)
    add(_("in all"), "", cost.so_far, cost.at_end)
    if cost.price is not None:
        add(_("price"), "", None, Spread(cost.price, cost.price, cost.price))
    return table(
        (
            _("day"), _("what"), _("name"), _("so far"), _("at the end, low"), _("at the end"), _("at the end, high"),
            _("currency"),
        ),
        rows,
    )  # fmt: skip


def order_table(book: RugBook, answers: Answers, currency: str) -> bytes:
    """Return what the weaver chose to tell of the order, a line for each item; empty: nothing is told."""
    told = facts_told(book, currency, answers.day)
    return table((_("what"), _("order")), [(fact.label, fact.figure) for fact in told]) if told else b""


def csv_files(book: RugBook, answers: Answers, currency: str = "") -> dict[str, bytes]:
    """Return all tables of one rug by their file names."""
    order = order_table(book, answers, currency)
    of_order = {_("order") + ".csv": order} if order else {}
    return {
        **of_order,
        _("sessions") + ".csv": sessions_table(book),
        _("yarn") + ".csv": yarn_table(book, answers),
        _("yarn events") + ".csv": yarn_events_table(book),
        _("rows") + ".csv": rows_table(book),
        _("cloth") + ".csv": cloth_table(book),
        _("trimming") + ".csv": trimming_table(book),
        _("mistakes") + ".csv": mistakes_table(book),
        _("balls") + ".csv": balls_table(book),
        _("costs") + ".csv": costs_table(book, answers, currency),
        _("wages") + ".csv": wages_table(book, answers, currency),
    }
