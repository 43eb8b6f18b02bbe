"""The dye lots of a yarn in words: which is open, what is left of each, where to change, and what the loom says of it."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from tracker.domain import defaults
from tracker.domain.dye_lots import (
    Band,
    DyeLot,
    bands_of,
    changes_of,
    dye_lot_with,
    dye_lots_of,
    open_dye_lots,
    planned_change,
)
from tracker.domain.lot_change import ChangePlace, LotChange
from tracker.domain.rug import Lot, Role, RugBook, RugStage, Yarn, new_id
from tracker.forecast.answers import LotsAnswer, LotStock, YarnAnswer
from tracker.forecast.dye_lots import places_above
from tracker.forecast.thresholds import JUST_ENOUGH_SHARE
from tracker.presenters.picture import shown_rows
from tracker.words import _, day_short, mass, n_, number, shown_g, shown_parts_g

LEAST_LEFT_G = 1.0
"""With less of it left a dye lot counts as used up."""


def told_g(stocks: Sequence[LotStock]) -> dict[str, float]:
    """Return what is said of each dye lot of a yarn, by its lot's id: together they make what is said to be on hand."""
    shown = shown_parts_g([stock.on_hand_g for stock in stocks])
    return {stock.lot_id: mass_g for stock, mass_g in zip(stocks, shown, strict=True)}


def marked_words(mark: str) -> str:
    """Return what a dye lot is called by its mark: "dye lot 17"."""
    return _("dye lot {lot}").format(lot=mark)


def lot_words(lot: DyeLot | LotStock) -> str:
    """Return what a dye lot is called: by its mark, and without one by the day on which it was bought."""
    return _lot_words(lot.mark, lot.bought)


def lot_words_of(lot: Lot) -> str:
    """Return what the dye lot of a purchase is called."""
    return _lot_words(lot.dye_lot.strip(), lot.day)


def _lot_words(mark: str, bought: date) -> str:
    return marked_words(mark) if mark else _("the lot of {day}").format(day=day_short(bought, bought))


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def rows_of_change(row: int, blend_rows: int) -> str:
    """Say where a change is made: "from row 81" or "by turns over rows 81 to 88"."""
    if blend_rows < 2:
        return _("from row {row}").format(row=number(row))
    return _("by turns over rows {first} to {last}").format(
        first=number(row), last=number(row + blend_rows - 1)
    )


def change_words(change: LotChange, lots: Mapping[str, Lot]) -> str:
    """Say what a change is: "dye lot 18 from row 81", with "planned" where it is not done."""
    lot = lots.get(change.lot_id)
    called = _("another dye lot") if lot is None else lot_words_of(lot)
    said = _("{lot} {rows}").format(lot=called, rows=rows_of_change(change.row, change.blend_rows))
    return said if change.done_day else _("{change}, planned").format(change=said)


# --- the story of a yarn -------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class LotLine:
    """One dye lot on hand."""

    lot_id: str
    head: str
    amount: str
    more: str
    open: bool


@dataclass(frozen=True, slots=True)
class PlaceLine:
    """A row at which lots may be changed, and why there."""

    place: ChangePlace
    head: str
    reason: str
    key: str


@dataclass(frozen=True, slots=True)
class LotsState:
    """The dye lots on a yarn's page."""

    lines: tuple[LotLine, ...]
    warning: str
    """That the open lot ends, and what is to buy of it; "" when there is enough of the open one."""
    alone: str
    """What would keep the rows in one shade where nothing need be bought, the other lots being enough; "" elsewhere."""
    intro: str
    """What the places below are for."""
    places: tuple[PlaceLine, ...]
    planned: str
    """The change that is planned; "" without one."""
    planned_id: str | None
    can_open: bool
    """Whether there is another lot to open."""


def reason_words(place: ChangePlace) -> str:
    """Say why a change at this row shows little, or how much it shows."""
    if place.meeting is None:
        if place.blend_rows > 1:
            return _(
                "Without a cartoon nobody knows where the colour lies. Let the lots take turns, row by row."
            )
        return _("Without a cartoon nobody knows where the colour lies.")
    if place.blend_rows > 1:
        return _(
            "Every row here is in a wide field of this colour, where a line would show. Let the lots "
            "take turns: one row of one, one row of the other."
        )
    if place.in_row == 0:
        return _("The colour is not knotted here.")
    if place.before == 0:
        return _("The colour starts again in this row, so the lots do not touch.")
    if place.meeting == 0:
        return _("No knot of it touches one of the row before, so the lots do not touch.")
    if place.pieces == 1:
        said = n_(
            "{count} knot lies on the row before.",
            "{count} knots side by side lie on the row before.",
            place.meeting,
        ).format(count=number(place.meeting))
    else:
        said = n_(
            "{count} knot lies on the row before.",
            "{count} knots lie on the row before, in {pieces} places, at most {longest} side by side.",
            place.meeting,
        ).format(count=number(place.meeting), pieces=number(place.pieces), longest=number(place.longest))
    if place.plain:
        return said + " " + _("Such a long line shows.")
    return said + " " + _("Broken up like this, the change hardly shows.")


def _place_lines(places: tuple[ChangePlace, ...]) -> tuple[PlaceLine, ...]:
    lines = []
    for place in places:
        head = _capital(rows_of_change(place.row, place.blend_rows))
        reason = reason_words(place)
        if place.left_g >= 1:
            reason += " " + _("About {mass} of the open lot would be left over.").format(
                mass=mass(place.left_g)
            )
        key = (
            _("Plan it for rows {first} to {last}").format(
                first=number(place.row), last=number(place.row + place.blend_rows - 1)
            )
            if place.blend_rows > 1
            else _("Plan it for row {row}").format(row=number(place.row))
        )
        lines.append(PlaceLine(place, head, reason, key))
    return tuple(lines)


def _used_up(answer: LotsAnswer) -> bool:
    """Tell whether the lot that is taken to be open has nothing left while there is another."""
    return answer.assumed and answer.next_lot_id is not None and answer.opened.on_hand_g < LEAST_LEFT_G


def _is_covered(answer: LotsAnswer, planned: LotChange | None, done: int) -> bool:
    """Tell whether the open lot lasts until the change that is planned, or that change is due: she has said all there is to say."""
    if planned is None:
        return False
    return planned.row <= done + 1 or (not _used_up(answer) and (answer.ends_row or 0) >= planned.row)


def _scant_after(answer: LotsAnswer, planned: LotChange) -> str:
    """Warn that what comes after a planned change is short or only just enough, while all lots together may well last."""
    over_g = answer.over_after_change_g
    if over_g is None:
        return ""
    there_g = sum(stock.on_hand_g for stock in answer.stocks if not stock.open)
    if over_g > JUST_ENOUGH_SHARE * (there_g - over_g):
        return ""
    if shown_g(over_g) < 0:
        words = _(
            "From row {row} on, as planned, about {mass} would be missing beside the open lot. Plan the change for a later row."
        )
    else:
        words = _(
            "From row {row} on, as planned, the other lots are only just enough, {mass} spare. A later row is safer."
        )
    return words.format(row=number(planned.row), mass=mass(abs(over_g)))


def _warning(answer: LotsAnswer, rows: int, order_g: float, planned: LotChange | None, done: int) -> str:
    """Warn that the open dye lot ends; "" when it lasts, or lasts until the change that is planned.

    `order_g` is what is to buy of the yarn in all where its other lots are used up, too; `done` rows are tied.
    """
    if planned is not None and (scant := _scant_after(answer, planned)):
        return scant
    if answer.lasts or answer.ends_row is None or _is_covered(answer, planned, done):
        return ""
    if planned is not None:
        if _used_up(answer):
            return _("{lot} should be used up by now, before the change that is planned.").format(
                lot=_capital(lot_words(answer.opened))
            )
        return _("{lot} ends about row {row}, before the change that is planned.").format(
            lot=_capital(lot_words(answer.opened)), row=number(answer.ends_row)
        )
    opened = answer.opened
    if _used_up(answer):
        # Nobody said so, but another lot must hang at the loom: no more of this one can keep the rows in one shade.
        return _("{lot} should be used up by now. Say from which row on another lot is open.").format(
            lot=_capital(lot_words(opened))
        )
    only = len(answer.stocks) == 1
    if answer.ends_row >= rows:
        if only:
            return ""  # the yarn itself may just last: its own verdict stands above
        ends = _("{lot} may just last.").format(lot=_capital(lot_words(opened)))
    else:
        called = _("This yarn") if only and not opened.mark else _capital(lot_words(opened))
        ends = _("{lot} ends about row {row} of {rows}.").format(
            lot=called, row=number(answer.ends_row), rows=number(rows)
        )
    if answer.buy_g <= 0:
        return ends
    if only:
        # How much, and by when, is said above.
        return _("{ends} Buy the rest from the same dye bath while the dyer still has it.").format(ends=ends)
    if any(not (stock.mark or stock.open) and stock.on_hand_g >= LEAST_LEFT_G for stock in answer.stocks):
        # It may be of the open lot's bath: nobody need buy what lies there.
        return _("{ends} Some bought yarn has no dye lot. Tap it below and note the lot.").format(ends=ends)
    if order_g:
        if order_g >= answer.buy_g:
            return ends  # what is named above keeps the rows in one shade, too
        return _(
            "{ends} To go on with it alone, buy {mass} of it now. The {order} named above are enough where the "
            "other lots are used up, too."
        ).format(ends=ends, mass=mass(answer.buy_g), order=mass(order_g))
    return ends  # with the other lots there is enough: nothing need be bought


def _alone(answer: LotsAnswer, warning: str, order_g: float) -> str:
    """Say what would keep the rows in one shade though there is enough with the other lots; "" where nothing would, or it is said above."""
    unmarked = any(not (one.mark or one.open) and one.on_hand_g >= LEAST_LEFT_G for one in answer.stocks)
    if not warning or order_g or answer.buy_g <= 0 or len(answer.stocks) < 2 or unmarked or _used_up(answer):
        return ""
    return _(
        "With the other lots there is enough. To keep to this one alone, buy {mass} more of it while the "
        "dyer still has it."
    ).format(mass=mass(answer.buy_g))


def build_lots_state(
    book: RugBook, answer: YarnAnswer | None, rows: int, today: date, counted: int = 0
) -> LotsState | None:
    """Return the dye lots of one yarn; None where there is nothing to say of them.

    Parameters
    ----------
    book, answer
        The rug, and what the forecast says of the yarn.
    rows
        Rows of the whole rug.
    today
        The local day.
    counted
        Rows counted at the loom or entered, and not saved: they are tied, so that no change is proposed in them.
    """
    if answer is None or answer.lots is None:
        return None
    stand = answer.lots
    several = len(stand.stocks) > 1
    planned = planned_change(book, answer.yarn_id)
    done = book.rows_woven + max(counted, 0)
    warning = _warning(stand, rows, answer.order_g, planned, done)
    if not several and not warning and planned is None:
        return None
    lots = {lot.id: lot for lot in book.lots}
    lines, told = [], told_g(stand.stocks)
    for stock in stand.stocks:
        more = ""
        if stock.open:
            more = _("open since row {row}").format(row=number(stand.since_row))
            if stand.assumed and several:
                more = _("assumed open: bought first")
        lines.append(
            LotLine(
                stock.lot_id,
                _capital(lot_words(stock)),
                _("{mass} left").format(mass=mass(told[stock.lot_id])),
                more,
                stock.open,
            )
        )
    yarn = next(yarn for yarn in book.yarns if yarn.id == answer.yarn_id)
    places = () if planned is not None else places_above(book, stand, yarn, done, rows)
    intro = ""
    if places:
        following = next(stock for stock in stand.stocks if stock.lot_id == stand.next_lot_id)
        intro = _("Change to {lot} where it shows least:").format(lot=lot_words(following))
    return LotsState(
        lines=tuple(lines) if several else (),
        warning=warning,
        alone="" if planned is not None else _alone(stand, warning, answer.order_g),
        intro=intro,
        places=_place_lines(places),
        planned="" if planned is None else _capital(change_words(planned, lots)),
        planned_id=None if planned is None else planned.id,
        can_open=several,
    )


def lots_line(answer: YarnAnswer, planned: LotChange | None = None, done: int = 0) -> str:
    """Say in one short line that the open lot ends before the rug; "" when it does not, there is no other, or a change is planned in time."""
    if answer.lots is None or answer.lots.lasts or not answer.lots.places:
        return ""
    if _is_covered(answer.lots, planned, done):
        return ""
    if _used_up(answer.lots):
        return _("{lot} should be used up by now").format(lot=lot_words(answer.lots.opened))
    return _("{lot} ends about row {row}").format(
        lot=lot_words(answer.lots.opened), row=number(answer.lots.ends_row or 0)
    )


# --- the records ---------------------------------------------------------------------------------------------------


def plan_change(book: RugBook, yarn_id: str, lot_id: str, place: ChangePlace, today: date) -> LotChange:
    """Return the record of a planned change; one that is planned already is moved."""
    planned = planned_change(book, yarn_id)
    return LotChange(
        id=new_id() if planned is None else planned.id,
        rug_id=book.plan.id,
        yarn_id=yarn_id,
        lot_id=lot_id,
        day=today,
        row=place.row,
        blend_rows=place.blend_rows if place.blend_rows > 1 else 0,
    )


def done_change(change: LotChange, row: int, today: date) -> LotChange:
    """Return a planned change as done from `row` on."""
    return replace(change, row=row, done_day=max(today, change.day))


# --- at the loom ---------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class LoomLot:
    """What the row page says of a lot: a change that comes near, or the lot of this row while two take turns."""

    words: str
    sheet_title: str
    sentence: str
    change: LotChange
    row: int
    """The row from which it would be recorded."""
    due: bool
    """Whether the row is reached."""
    done: bool


def _turns(yarn: Yarn, band: Band, before: DyeLot, row: int) -> str:
    """Say which of two lots that take turns this row is knotted from; the new one begins."""
    mine = band.dye_lot if (row - band.first_row) % 2 == 0 else before
    return _("{name}: this row from {lot}").format(name=yarn.name, lot=lot_words(mine))


def loom_lot(book: RugBook, row: int) -> LoomLot | None:
    """Return what the row page says at `row`; None when no change is near. Of several the one that comes first."""
    if book.plan.stage is RugStage.FINISHED:
        return None
    near: list[LoomLot] = []
    for yarn in book.yarns_of(Role.PILE):
        dye_lots = dye_lots_of([lot for lot in book.lots if lot.yarn_id == yarn.id])
        planned = planned_change(book, yarn.id)
        if planned is not None and planned.row - row <= int(defaults.LOT_NEAR_ROWS):
            opened = dye_lot_with(dye_lots, planned.lot_id)
            if opened is not None:
                near.append(_coming(book, yarn, planned, opened, row))
        bands = bands_of(dye_lots, changes_of(book, yarn.id))
        for before, band in itertools.pairwise(bands):
            if band.blend_rows > 1 and band.first_row <= row < band.first_row + band.blend_rows:
                words = _turns(yarn, band, before.dye_lot, row)
                change = next(
                    change
                    for change in changes_of(book, yarn.id)
                    if change.done_day is not None
                    and change.row == band.first_row
                    and dye_lot_with(dye_lots, change.lot_id) is band.dye_lot
                )
                sentence = _("{new} and {old} take turns up to row {last}.").format(
                    new=_capital(lot_words(band.dye_lot)),
                    old=lot_words(before.dye_lot),
                    last=number(band.first_row + band.blend_rows - 1),
                )
                near.append(LoomLot(words, yarn.name, sentence, change, row, due=True, done=True))
    return min(near, key=lambda one: (one.change.row, one.done), default=None)


def _coming(book: RugBook, yarn: Yarn, change: LotChange, opened: DyeLot, row: int) -> LoomLot:
    lot = lot_words(opened)
    away = change.row - row
    if away > 0:
        words = n_("In {rows} row: {name} from {lot}", "In {rows} rows: {name} from {lot}", away).format(
            rows=number(away), name=yarn.name, lot=lot
        )
    elif away == 0:
        words = _("From this row: {name} from {lot}").format(name=yarn.name, lot=lot)
    else:
        words = _("Changed? {name} from {lot}").format(name=yarn.name, lot=lot)
    rows = rows_of_change(change.row, change.blend_rows)
    old = open_dye_lots(book, yarn.id)[0]
    if change.blend_rows > 1:
        sentence = _("Planned: {name} from {lot} and {old} {rows}, after that from {lot} alone.").format(
            name=yarn.name, rows=rows, lot=lot, old=lot_words(old)
        )
        sentence += " " + _(
            "One row of one, one row of the other. Every weaver uses the same lot in the same row."
        )
    else:
        sentence = _("Planned: {name} {rows} from {lot}, until then from {old}.").format(
            name=yarn.name, rows=rows, lot=lot, old=lot_words(old)
        )
        sentence += " " + _("Every weaver changes in the same row.")
    return LoomLot(words, yarn.name, sentence, change, max(row, 1), due=away <= 0, done=False)


# --- on the cartoon and in the record ------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class ChangeMark:
    """A change of lot on the zoomed cartoon."""

    row: int
    """It lies under this row."""
    words: str
    swatch: str
    planned: bool


def change_marks(book: RugBook) -> tuple[ChangeMark, ...]:
    """Return every change of lot that holds, and those planned, from the first row up."""
    marks = []
    for yarn in book.yarns_of(Role.PILE):
        dye_lots = dye_lots_of([lot for lot in book.lots if lot.yarn_id == yarn.id])
        for band in bands_of(dye_lots, changes_of(book, yarn.id))[1:]:
            marks.append(ChangeMark(band.first_row, lot_words(band.dye_lot), yarn.swatch, False))
        planned = planned_change(book, yarn.id)
        opened = None if planned is None else dye_lot_with(dye_lots, planned.lot_id)
        if planned is not None and opened is not None:
            words = _("{lot}, planned").format(lot=lot_words(opened))
            marks.append(ChangeMark(planned.row, words, yarn.swatch, True))
    rows = shown_rows(book)
    return tuple(sorted((mark for mark in marks if mark.row <= rows), key=lambda mark: mark.row))


def record_words(book: RugBook, yarn: Yarn) -> str:
    """Say in the record from which row on which lot was knotted; "" with one lot."""
    if yarn.role is not Role.PILE:
        return ""
    dye_lots = dye_lots_of([lot for lot in book.lots if lot.yarn_id == yarn.id])
    bands = bands_of(dye_lots, changes_of(book, yarn.id))
    return ", ".join(
        _("{lot} {rows}").format(
            lot=lot_words(band.dye_lot), rows=rows_of_change(band.first_row, band.blend_rows)
        )
        for band in bands[1:]
    )
