"""The dye lots of a pile yarn: what is left of each, when the open one ends, and where a change shows least."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from tracker.domain.defaults import ENOUGH_FROM, ORDER_CHANCE
from tracker.domain.dye_lots import Band, DyeLot, bands_of, changes_of, dye_lots_of, planned_change
from tracker.domain.lot_change import ChangePlace
from tracker.domain.lot_line import places_to_change
from tracker.domain.rug import Role, RugBook, Spoilt, Weighing, Yarn, heights_after
from tracker.domain.shopping import most_missing_g, purchase
from tracker.forecast.answers import LotsAnswer, LotStock
from tracker.forecast.ledger import Ledger, Scale, sessions_before
from tracker.forecast.stats import middle_of, quantiles
from tracker.forecast.thresholds import LOT_LEFT_OVER, RANGE_HIGH, RANGE_LOW
from tracker.forecast.use import Use
from tracker.forecast.yarn import Stock, run_out_rows


def units_by_dye_lot(bands: tuple[Band, ...], ahead: np.ndarray, row_now: int) -> dict[str, float]:
    """Return the units knotted so far from each dye lot, by its lot's id.

    Parameters
    ----------
    bands
        Rows of each dye lot, from row 1 up.
    ahead
        (rows + 1,) units needed from the start of the rug up to each row.
    row_now
        Rows woven.

    Notes
    -----
    Where two lots take turns, each has half of the rows.
    """
    units: dict[str, float] = {}

    def add(dye_lot: DyeLot, first: int, last: int, part: float = 1.0) -> None:
        low, high = min(max(first - 1, 0), row_now), min(max(last, 0), row_now)
        gained = max(0.0, float(ahead[min(high, ahead.size - 1)] - ahead[min(low, ahead.size - 1)]))
        units[dye_lot.lot_id] = units.get(dye_lot.lot_id, 0.0) + part * gained

    for number, band in enumerate(bands):
        last = bands[number + 1].first_row - 1 if number + 1 < len(bands) else ahead.size - 1
        blended = min(band.blend_rows, max(0, last - band.first_row + 1)) if number else 0
        if blended:
            turn = band.first_row + blended - 1
            add(bands[number - 1].dye_lot, band.first_row, turn, 0.5)
            add(band.dye_lot, band.first_row, turn, 0.5)
        add(band.dye_lot, band.first_row + blended, last)
    return units


def charged_by_dye_lot(
    book: RugBook, ledger: Ledger, scale: Scale | None, bands: tuple[Band, ...], grams: float
) -> dict[str, float]:
    """Return what each dye lot is less by than the knots from it took, in g, by its lot's id; below zero: more is there.

    What was lost, and what a scale showed to be missing by then, is charged to the lot that was open at that time.

    Parameters
    ----------
    book, ledger, scale
        The rug, and the yarn's record and weighings.
    bands
        Rows of each dye lot, from row 1 up.
    grams
        What a unit takes, g.
    """
    keys = [(session.day, session.born) for session in book.sessions]
    heights = (0.0, *heights_after(book.rows_gained))
    charged: dict[str, float] = {}

    changed = {change.row: change.done_day for change in changes_of(book, ledger.yarn.id) if change.done_day}

    def charge(one: Spoilt | Weighing, mass_g: float) -> None:
        row = max(1, math.floor(heights[sessions_before(one.day, one.born, keys)]))
        if row + 1 in changed and changed[row + 1] < one.day:
            row += 1  # no knot of it was tied yet, but it hung at the loom since an earlier day
        lot_id = max(
            (band for band in bands if band.first_row <= row), key=lambda band: band.first_row
        ).dye_lot.lot_id
        charged[lot_id] = charged.get(lot_id, 0.0) + mass_g

    for loss in ledger.spoilt:
        charge(loss, loss.mass_g)
    if scale is not None:
        by_record = scale.book - grams * scale.tied - scale.mass
        for weighing, missing_g in zip(ledger.weighings, np.diff(by_record, prepend=0.0), strict=True):
            charge(weighing, float(missing_g))
    return charged


def left_of_others(
    dye_lots: tuple[DyeLot, ...], opened: DyeLot, gone_g: Mapping[str, float], on_hand_g: float
) -> dict[str, float]:
    """Return what is left of every dye lot but the open one, in g, never more together than is on hand.

    What is not theirs is the open one's: what was misjudged since the last weighing is charged to the lot that is being woven
    from.
    """
    left: dict[str, float] = {}
    rest = on_hand_g
    for dye_lot in dye_lots:
        if dye_lot is opened:
            continue
        mass_g = min(max(0.0, dye_lot.mass_g - gone_g.get(dye_lot.lot_id, 0.0)), rest)
        left[dye_lot.lot_id] = mass_g
        rest -= mass_g
    return left


def lots_answer(
    book: RugBook,
    ledger: Ledger,
    scale: Scale | None,
    drawn: Stock,
    use: Use,
    reached: float,
    *,
    knotting: bool = True,
) -> LotsAnswer | None:
    """Return how the dye lots of a yarn stand; None for what is no pile yarn or was never bought.

    Parameters
    ----------
    book, ledger, scale, drawn, use
        The rug, the yarn's record and weighings, and what the forecast drew of it.
    reached
        Rows woven, the tied share of the next one counted.
    knotting
        False once the rug needs no more of the yarn.
    """
    dye_lots = dye_lots_of(ledger.lots)
    if ledger.yarn.role is not Role.PILE or not dye_lots:
        return None
    row_now = math.floor(reached)
    bands = bands_of(dye_lots, changes_of(book, ledger.yarn.id))
    last_band = bands[-1]
    opened = last_band.dye_lot
    grams = ledger.planned_g * use.middle_ratio
    used = units_by_dye_lot(bands, ledger.ahead, row_now)
    on_hand_g = middle_of(drawn.on_hand)
    gone_g = charged_by_dye_lot(book, ledger, scale, bands, grams)
    for lot_id, units in used.items():
        gone_g[lot_id] = gone_g.get(lot_id, 0.0) + grams * units
    others = left_of_others(dye_lots, opened, gone_g, on_hand_g)
    elsewhere_g = sum(others.values())
    stocks = (
        LotStock(opened.lot_id, opened.bought, opened.mark, max(0.0, on_hand_g - elsewhere_g), True),
        *(
            LotStock(one.lot_id, one.bought, one.mark, others[one.lot_id], False)
            for one in dye_lots
            if one is not opened
        ),
    )
    answer = LotsAnswer(
        stocks=stocks,
        since_row=last_band.first_row,
        assumed=last_band.assumed,
        lasts=True,
        over_after_change_g=_over_after_change_g(
            book, ledger, middle_of(drawn.use_ahead), elsewhere_g, row_now
        )
        if knotting
        else None,
    )
    # Scales and bills are wrong by a share of the mass: the other lots' part of that is not the open one's.
    part = stocks[0].on_hand_g / on_hand_g if on_hand_g > 0 else 0.0
    reserve = np.maximum(drawn.reserve - elsewhere_g - (1.0 - part) * drawn.mass_noise, 0.0)
    over = reserve - drawn.needed
    if not knotting or float((over >= 0).mean()) >= ENOUGH_FROM:
        return answer
    last_row = ledger.ahead.size - 1
    ends = np.minimum(run_out_rows(ledger, replace(drawn, reserve=reserve), reached), last_row)
    low, middle = quantiles(ends, RANGE_LOW, 0.5)
    # A row that is begun has knots of the open lot in it.
    next_row = math.ceil(reached - 1e-9) + 1
    sure_row = max(int(low), min(next_row, last_row))
    need, need_high = quantiles(drawn.needed, 0.5, RANGE_HIGH)
    want_g = min(
        quantiles(-over, ORDER_CHANCE)[0],
        most_missing_g(ledger.yarn.margin, need, need_high, quantiles(reserve, RANGE_LOW)[0]),
    )
    _skeins, buy_g = purchase(want_g, ledger.yarn.skein_g, ledger.yarn.least_purchase_g)
    answer = replace(answer, lasts=False, ends_row=round(middle), sure_row=sure_row, buy_g=buy_g)
    there = [stock for stock in stocks[1:] if stock.on_hand_g > 0]
    if not there:
        return answer
    following = max(there, key=lambda stock: stock.on_hand_g)
    first = first_sensible_row(ledger, drawn, middle_of(reserve), elsewhere_g, next_row - 1, sure_row)
    start = ledger.units_to(reached)
    use_ahead = middle_of(drawn.use_ahead)
    places = tuple(
        replace(
            place,
            # While two lots take turns, half of the rows are the old one's.
            left_g=max(
                0.0,
                stocks[0].on_hand_g
                - (float(ledger.ahead[place.row - 1 + place.blend_rows // 2]) - start) * use_ahead,
            ),
        )
        for place in _places(book, ledger.yarn, first, sure_row)
    )
    return replace(answer, next_lot_id=following.lot_id, places=places)


def _over_after_change_g(
    book: RugBook, ledger: Ledger, use_ahead: float, elsewhere_g: float, row_now: int
) -> float | None:
    planned = planned_change(book, ledger.yarn.id)
    if planned is None or planned.row <= row_now + 1:
        return None
    # While two lots take turns, half of the rows are the old one's.
    before = min(planned.row - 1 + planned.blend_rows // 2, ledger.ahead.size - 1)
    return elsewhere_g - (float(ledger.ahead[-1]) - float(ledger.ahead[before])) * use_ahead


def places_above(
    book: RugBook, answer: LotsAnswer, yarn: Yarn, done: int, rows: int
) -> tuple[ChangePlace, ...]:
    """Return the places for a change that lie above rows tied meanwhile, from row 1 up; () where no row is to come.

    Parameters
    ----------
    book, answer, yarn
        The rug, and how the dye lots of one of its yarns stand by the rows that were saved.
    done
        Rows that are tied, those counted and not saved among them.
    rows
        Rows of the whole rug.
    """
    above = tuple(place for place in answer.places if place.row > done)
    if above or not answer.places or done >= rows:
        return above
    last = max(answer.sure_row or 0, done + 1)
    return tuple(replace(place, left_g=0.0) for place in _places(book, yarn, done + 1, last))


def first_sensible_row(
    ledger: Ledger, drawn: Stock, open_g: float, elsewhere_g: float, row_now: int, sure_row: int
) -> int:
    """Return the first row at which a change makes sense.

    The other lots have to last for all that comes after it; where they do not reach that far, no more than a share of
    the open lot (`thresholds.LOT_LEFT_OVER`) may be left over.
    """
    first = min(row_now + 1, sure_row)
    use = middle_of(drawn.use_ahead)
    rows = np.arange(first, sure_row + 1)
    rest_g = (float(ledger.ahead[-1]) - ledger.ahead[rows - 1]) * use
    enough = rows[rest_g <= elsewhere_g]
    if enough.size:
        return int(enough[0])
    start = float(ledger.ahead[min(row_now, ledger.ahead.size - 1)])
    left_g = open_g - (ledger.ahead[rows - 1] - start) * use
    nearly = rows[left_g <= LOT_LEFT_OVER * open_g]
    return int(nearly[0]) if nearly.size else sure_row


def _places(book: RugBook, yarn: Yarn, first: int, last: int) -> tuple[ChangePlace, ...]:
    cells = None if book.cartoon is None else book.cartoon.cells
    if cells is not None and last > cells.shape[0]:
        cells = None  # the rug goes on above its cartoon: nobody knows what lies there
    return places_to_change(cells, yarn.cartoon_values, first, last, book.plan.knots_per_10cm)
