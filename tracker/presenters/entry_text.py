"""What an entry of the book says in words: its headline and its details."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from tracker.domain.hand_out import HandOut, HandOutKind
from tracker.domain.loom import Loom, LoomKind, WarpLay
from tracker.domain.lot_change import LotChange
from tracker.domain.lot_moves import LotMove, MovedLot, Place
from tracker.domain.mark import CartoonMark
from tracker.domain.order import DeliveryWay, Order, OrderItem, Payment, PaymentKind
from tracker.domain.rug import (
    AfterStep,
    Cartoon,
    Cost,
    CostKind,
    DaysOff,
    Hold,
    Lot,
    Measurement,
    Photo,
    Preparation,
    PreparationKind,
    PriceShown,
    Pricing,
    Role,
    RugBook,
    RugPlan,
    RugStage,
    Sample,
    Session,
    SetAside,
    Setting,
    Spoilt,
    Wage,
    WageBasis,
    Weaver,
    Weighing,
    Yarn,
)
from tracker.domain.trimming import Trim
from tracker.domain.units import DensityUnit, from_per_10cm
from tracker.presenters.dye_lots import change_words, lot_words
from tracker.presenters.places import ahead_words, span_words
from tracker.presenters.trade_words import fibre_words, knot_kind_name, measure_words, offset_words
from tracker.words import (
    _,
    day,
    day_short,
    hours,
    length,
    mass,
    money,
    n_,
    number,
    one_after_another,
    percent,
    weekday_name,
)

ICONS: dict[type, str] = {
    RugPlan: "rug",
    Cartoon: "rug",
    Yarn: "skein",
    Weaver: "person",
    Session: "row",
    Lot: "buy",
    LotChange: "skein",
    LotMove: "skein",
    CartoonMark: "flag",
    Trim: "scissors",
    HandOut: "wind",
    Weighing: "weigh",
    Spoilt: "spoilt",
    Sample: "knot",
    Measurement: "measure",
    DaysOff: "calendar",
    Preparation: "wind",
    AfterStep: "scissors",
    Photo: "photo",
    Wage: "money",
    Cost: "money",
    Pricing: "money",
    Order: "person",
    Payment: "money",
    Loom: "warp",
    Setting: "settings",
    SetAside: "info",
}


def kind_words(kind: str) -> str:
    """Return what a kind of entry is called; `kind` is its name in the book."""
    return {
        "session": _("Session"),
        "lot": _("Yarn bought"),
        "lot_change": _("Change of dye lot"),
        "lot_move": _("Yarn moved"),
        "cartoon_mark": _("Mistake"),
        "trim": _("Pile trimmed"),
        "hand_out": _("Balls handed out"),
        "weighing": _("Weighing"),
        "spoilt": _("Yarn lost"),
        "sample": _("Sample"),
        "measurement": _("Measured cloth"),
        "days_off": _("Days off"),
        "preparation": _("Preparation"),
        "after_step": _("Step after weaving"),
        "photo": _("Picture"),
        "wage": _("Wage"),
        "cost": _("Money spent"),
        "pricing": _("Price"),
        "rug_order": _("Order"),
        "payment": _("Payment"),
        "loom": _("Loom"),
        "weaver": _("Weaver"),
        "cartoon": _("Cartoon"),
        "yarn": _("Yarn in the plan"),
        "rug_plan": _("Plan"),
        "setting": _("Setting"),
    }.get(kind, _("Entry"))


def set_aside_words(book: RugBook) -> str:
    """Say which entries of a rug cannot be used; "" when all can."""
    aside = book.set_aside
    if not aside:
        return ""
    plan = next((entry for entry in aside if entry.kind == "rug_plan"), None)
    if plan is not None:
        said = _("The plan holds what cannot be, and is shown as near to it as can be. Change the plan.")
        return f"{said} {plan.sentence}"
    said = n_(
        "{count} entry cannot be used and counts for nothing. It is in the diary.",
        "{count} entries cannot be used and count for nothing. They are in the diary.",
        len(aside),
    ).format(count=number(len(aside)))
    return f"{said} {kind_words(aside[0].kind)}: {aside[0].sentence}"


@dataclass(frozen=True, slots=True)
class Names:
    """What the ids in an entry are called."""

    yarns: Mapping[str, Yarn] = field(default_factory=dict)
    weavers: Mapping[str, str] = field(default_factory=dict)
    rugs: Mapping[str, str] = field(default_factory=dict)
    lots: Mapping[str, Lot] = field(default_factory=dict)
    looms: Mapping[str, str] = field(default_factory=dict)
    unit: str = "cm"
    """In which lengths are said, "cm" or "inch"."""

    def lengths_in(self, unit: str) -> Names:
        """Return the same with lengths said in another unit."""
        return replace(self, unit=unit)

    def yarn(self, yarn_id: str | None) -> str:
        """Return a yarn's name."""
        found = self.yarns.get(yarn_id or "")
        return found.name if found else _("a yarn no longer in the plan")

    def weaver(self, weaver_id: str) -> str:
        """Return a weaver's name."""
        return self.weavers.get(weaver_id, _("somebody"))

    def rug(self, rug_id: str) -> str:
        """Return a rug's name."""
        return self.rugs.get(rug_id, _("another rug"))

    def loom(self, loom_id: str) -> str:
        """Return a loom's name."""
        return self.looms.get(loom_id, _("a loom no longer in the book"))


def names_in_book(
    yarns: Iterable[Yarn],
    weavers: Iterable[Weaver],
    rugs: Iterable[RugPlan],
    lots: Iterable[Lot],
    looms: Iterable[Loom],
) -> Names:
    """Return the names of everything in the book (`Desk.names`)."""
    return Names(
        {yarn.id: yarn for yarn in yarns},
        {weaver.id: weaver.name for weaver in weavers},
        {plan.id: plan.name for plan in rugs},
        {lot.id: lot for lot in lots},
        {loom.id: loom.name for loom in looms},
    )


def names_of(books: Iterable[RugBook], unit: str = "cm") -> Names:
    """Return the names used in some rugs' books, lengths in `unit`."""
    yarns: dict[str, Yarn] = {}
    weavers: dict[str, str] = {}
    rugs: dict[str, str] = {}
    lots: dict[str, Lot] = {}
    looms: dict[str, str] = {}
    for book in books:
        rugs |= {part.rug_id: part.name for part in book.warp_parts}
        looms |= {} if book.loom is None else {book.loom.id: book.loom.name}
        lots |= {lot.id: lot for lot in book.lots}
        rugs[book.plan.id] = book.plan.name
        yarns |= {yarn.id: yarn for yarn in book.yarns}
        weavers |= {weaver.id: weaver.name for weaver in book.weavers}
    return Names(yarns, weavers, rugs, lots, looms, unit)


def signed(rows: int) -> str:
    """Return rows with their sign, "+5" or "−2"."""
    return ("+" if rows > 0 else "−" if rows < 0 else "") + number(abs(rows))


def rows_words(rows: int) -> str:
    """Say rows gained: "+5 rows", "2 rows unpicked"."""
    if rows < 0:
        return n_("{rows} row unpicked", "{rows} rows unpicked", -rows).format(rows=number(-rows))
    return n_("{rows} row", "{rows} rows", rows).format(rows=signed(rows))


READINGS = ("length_cm", "width_cm", "left_cm", "right_cm", "rising_cm", "falling_cm")
"""What of a `Measurement` is read off a tape."""


def reading_name(name: str) -> str:
    """Return what a reading of a measurement is called, by its field."""
    return {
        "length_cm": _("Length"),
        "width_cm": _("Width"),
        "left_cm": _("Left side"),
        "right_cm": _("Right side"),
        "rising_cm": _("Diagonal from lower left"),
        "falling_cm": _("Diagonal from lower right"),
    }[name]


def measured_words(value: Measurement, unit: str = "cm") -> str:
    """Say what was measured: "48.2 cm, 120 cm wide, sides 48 and 48.4 cm"."""
    said = [length(value.length_cm, unit)] if value.length_cm else []
    if value.width_cm is not None:
        said.append(_("{width} wide").format(width=length(value.width_cm, unit)))
    if value.left_cm is not None and value.right_cm is not None:
        said.append(
            _("sides {left} and {right}").format(
                left=length(value.left_cm, unit), right=length(value.right_cm, unit)
            )
        )
    if value.rising_cm is not None and value.falling_cm is not None:
        said.append(
            _("diagonals {rising} and {falling}").format(
                rising=length(value.rising_cm, unit), falling=length(value.falling_cm, unit)
            )
        )
    return ", ".join(said)


def begun_words(knots: int) -> str:
    """Say how many knots of the next row are tied."""
    if not knots:
        return _("nothing of the next row")
    return n_("{knots} knot of the next row", "{knots} knots of the next row", knots).format(
        knots=number(knots)
    )


def mark_words(mark: CartoonMark) -> str:
    """Say where a mark sits: "Row 250, knots 12 to 20"."""
    return _("Row {row}, {knots}").format(
        row=number(mark.row), knots=span_words(mark.first_knot, mark.last_knot)
    )


def small_mass(grams: float) -> str:
    """Return a mass, to the tenth where it is less than ten grams."""
    return _("{number} g").format(number=number(grams, 1)) if grams < 10 else mass(grams)


def _height(height_mm: float | None) -> str:
    return "" if height_mm is None else _("{number} mm").format(number=number(height_mm, 1))


def trimmed_words(value: Trim) -> str:
    """Say what was trimmed: "up to row 120, from 12 to 9 mm"."""
    said = _("up to row {row}").format(row=number(value.row))
    if value.before_mm is not None and value.after_mm is not None:
        heights = _("from {before} to {after}").format(
            before=_height(value.before_mm), after=_height(value.after_mm)
        )
        return f"{said}, {heights}"
    if value.after_mm is not None:
        return f"{said}, " + _("left at {after}").format(after=_height(value.after_mm))
    return said


def ball_count_words(balls: float) -> str:
    """Say so many balls, whole or in part: "3 balls", "1.5 balls"."""
    return n_(
        "{count} ball", "{count} balls", 1 if balls == 1 else 2 if balls != int(balls) else int(balls)
    ).format(count=number(balls, 2))


def handed_words(value: HandOut, names: Names) -> str:
    """Say what was handed out: "3 balls of Madder red to Left seat"."""
    what = _("{balls} of {name}").format(balls=ball_count_words(value.balls), name=names.yarn(value.yarn_id))
    if value.weaver_id is None:
        said = _("{what} to the loom") if value.kind is HandOutKind.GIVEN else _("{what} back from the loom")
        return said.format(what=what)
    said = _("{what} to {who}") if value.kind is HandOutKind.GIVEN else _("{what} back from {who}")
    return said.format(what=what, who=names.weaver(value.weaver_id))


def used_words(role: Role, name: str, count: float) -> str:
    """Say what was used up of a yarn: "2 balls of Madder red"."""
    if role is Role.WEFT:
        form = n_("{count} shuttle of {name}", "{count} shuttles of {name}", round(count))
    else:
        form = n_("{count} ball of {name}", "{count} balls of {name}", round(count))
    return form.format(count=number(count, 2), name=name)


def prepared_words(kind: PreparationKind, count: int, name: str = "") -> str:
    """Say what was prepared: "3 balls of Indigo wound"."""
    if kind is PreparationKind.WARP:
        return _("Warp mounted")
    if kind is PreparationKind.SHUTTLES:
        form = n_("{count} shuttle of {name} made", "{count} shuttles of {name} made", count)
    else:
        form = n_("{count} ball of {name} wound", "{count} balls of {name} wound", count)
    return form.format(count=number(count), name=name)


def headline(value: Any, names: Names) -> str:
    """Say in one line what an entry is."""
    match value:
        case Session():
            parts = []
            if value.rows or not (value.used or value.begun_knots):
                parts.append(rows_words(value.rows))
            if value.begun_knots:
                parts.append(begun_words(value.begun_knots))
            if value.hours:
                parts.append(hours(value.hours))
            for yarn_id, count in value.used:
                yarn = names.yarns.get(yarn_id)
                parts.append(used_words(yarn.role if yarn else Role.PILE, names.yarn(yarn_id), count))
            return ", ".join(parts)
        case Lot():
            lot = _("{mass} of {name}").format(mass=mass(value.mass_g), name=names.yarn(value.yarn_id))
            return lot + (", " + _("dye lot {lot}").format(lot=value.dye_lot) if value.dye_lot else "")
        case LotMove():
            return _("{mass} of {name} from {source} to {target}").format(
                mass=mass(value.mass_g),
                name=names.yarn(value.from_yarn_id or value.to_yarn_id),
                source=place_words(value.source, names),
                target=place_words(value.target, names),
            )
        case CartoonMark():
            said = mark_words(value)
            return f"{said}: {value.note}" if value.note else said
        case Trim():
            return trimmed_words(value)
        case HandOut():
            return handed_words(value, names)
        case LotChange():
            return f"{names.yarn(value.yarn_id)}: {change_words(value, names.lots)}"
        case Weighing():
            return _("{mass} of {name} left").format(mass=mass(value.mass_g), name=names.yarn(value.yarn_id))
        case Spoilt():
            return _("{mass} of {name} lost").format(
                mass=small_mass(value.mass_g), name=names.yarn(value.yarn_id)
            )
        case Sample():
            return _("{knots} knots of {name}: {mass}").format(
                knots=number(value.knots), name=names.yarn(value.yarn_id), mass=mass(value.mass_g)
            )
        case Measurement():
            return _("row {row}: {measured}").format(
                row=number(value.row), measured=measured_words(value, names.unit)
            )
        case DaysOff():
            # Its year is told in the details; here it would only push the reason off the line.
            when = day_short(value.first_day, value.first_day)
            if value.last_day != value.first_day:
                when = _("{first} to {last}").format(
                    first=when, last=day_short(value.last_day, value.last_day)
                )
            return when + (": " + value.reason if value.reason else "")
        case Preparation():
            return prepared_words(value.kind, value.count, names.yarn(value.yarn_id) if value.yarn_id else "")
        case AfterStep():
            return value.name + (": " + _("done") if value.done_day else "")
        case Photo():
            return value.caption or _("A picture of the rug")
        case Wage():
            who = names.weaver(value.weaver_id) if value.weaver_id else _("everybody")
            return f"{who}: {wage_words(value)}"
        case Cost():
            return f"{cost_kind_words(value.kind)}: {number(value.amount, MONEY_DECIMALS_ENTERED)}"
        case Pricing():
            if value.margin is None:
                return _("No margin")
            return _("Margin {share} of the price").format(share=margin_words(value.margin))
        case Order():
            # Whose rug it is and what it costs is told only where somebody looks into the entry.
            return _("The order behind the rug")
        case Payment():
            return _("A payment of the customer")
        case Cartoon():
            return _("Cartoon of {knots} knots by {rows} rows").format(
                knots=number(value.knots_across), rows=number(value.rows)
            )
        case RugPlan() | Yarn() | Weaver() | Loom():
            return str(value.name)
        case Setting():
            return _setting_label(value)
        case SetAside():
            return _("{kind}: cannot be used").format(kind=kind_words(value.kind))
    return ""


def place_words(place: Place, names: Names) -> str:
    """Say where yarn lies: "the shelf", or a rug with the yarn's name there."""
    if place is None:
        return _("the shelf")
    rug = names.rugs.get(place[0])
    return _("another rug") if rug is None else rug


def moved_words(lot: MovedLot) -> str:
    """Say what a move brought to a yarn or took from it."""
    if lot.mass_g < 0:
        gone = mass(-lot.mass_g)
        if lot.other is None:
            return _("{mass} put on the shelf").format(mass=gone)
        return _("{mass} given to another rug").format(mass=gone)
    if lot.other is None:
        return _("{mass} taken from the shelf").format(mass=mass(lot.mass_g))
    return _("{mass} got from another rug").format(mass=mass(lot.mass_g))


MONEY_DECIMALS_ENTERED = 4
"""Decimals with which an amount may be entered; no currency in use has more than three (ISO 4217)."""


def wage_words(wage: Wage) -> str:
    """Say what a wage pays for what: "9 for each 1,000 knots"."""
    each = {
        WageBasis.KNOTS: n_("{amount} for each knot", "{amount} for each {each} knots", wage.each),
        WageBasis.ROWS: n_("{amount} for each row", "{amount} for each {each} rows", wage.each),
        WageBasis.AREA: n_(
            "{amount} for each square metre", "{amount} for each {each} square metres", wage.each
        ),
        WageBasis.DAYS: n_("{amount} for each day", "{amount} for each {each} days", wage.each),
    }[wage.basis]
    return each.format(amount=number(wage.amount, MONEY_DECIMALS_ENTERED), each=number(wage.each))


def margin_words(margin: float) -> str:
    """Return a margin in percent, to the tenth to which it is asked."""
    return _("{number} %").format(number=number(100 * margin, 1))


def delivery_words(way: DeliveryWay) -> str:
    """Say how a rug gets to its customer."""
    return {
        DeliveryWay.UNSAID: "",
        DeliveryWay.FETCHED: _("fetched here"),
        DeliveryWay.BROUGHT: _("brought there"),
        DeliveryWay.SENT: _("sent"),
    }[way]


def item_words(item: OrderItem) -> str:
    """Return what an item of the order is called in the record."""
    return {
        OrderItem.CUSTOMER: _("For"),
        OrderItem.PROMISED: _("Promised day"),
        OrderItem.PRICE: _("Price"),
        OrderItem.PAID: _("Paid"),
        OrderItem.OWED: _("Still owed"),
        OrderItem.DELIVERY: _("Delivery"),
    }[item]


def loom_kind_words(kind: LoomKind) -> str:
    """Say how a loom is built."""
    return {
        LoomKind.UPRIGHT: _("upright, fixed beams"),
        LoomKind.ROLLER: _("upright, roller beams"),
        LoomKind.GROUND: _("horizontal, on the ground"),
        LoomKind.OTHER: _("another kind"),
    }[kind]


def lay_words(lay: WarpLay) -> str:
    """Say where a rug lies on the warp of another."""
    return _("one behind the other") if lay is WarpLay.BEHIND else _("side by side")


def payment_kind_words(kind: PaymentKind, capital: bool = False) -> str:
    """Say what a payment is."""
    if capital:
        return _("Deposit") if kind is PaymentKind.DEPOSIT else _("Rest")
    return _("deposit") if kind is PaymentKind.DEPOSIT else _("rest")


def _amount(amount: float | None) -> str:
    return "" if amount is None else number(amount, MONEY_DECIMALS_ENTERED)


def cost_kind_words(kind: CostKind) -> str:
    """Say what money was spent on."""
    return {
        CostKind.PREPARATION: _("Preparation"),
        CostKind.FINISHING: _("Finishing"),
        CostKind.OTHER: _("Other costs"),
    }[kind]


def _setting_label(setting: Setting) -> str:
    known = {
        "length_unit": _("Lengths in"),
        "country": _("Public holidays of"),
        "currency": _("Currency"),
        "lead_days": _("Days from order to delivery, for new yarns"),
        "first_weekday": _("The week begins on"),
        "rug in hand": _("Open rug"),
    }
    # A device's name is kept under a key that ends in the device's id; nobody can read that.
    return known.get(setting.id) or (
        _("Name of a phone") if setting.id.startswith("device_name.") else setting.id
    )


def _setting_answer(setting: Setting, names: Names) -> str:
    said = setting.value
    if setting.id == "rug in hand":
        return names.rugs.get(str(said), "…")
    if setting.id == "length_unit":
        return _("inches") if said == "inch" else _("centimetres")
    if setting.id == "first_weekday" and isinstance(said, int) and 0 <= said <= 6:
        return weekday_name(said)
    if setting.id == "country" and not said:
        return _("none")
    if isinstance(said, int | float) and not isinstance(said, bool):
        return number(said, 2)
    return "…" if isinstance(said, dict | list) else str(said)


def _day(value: date | None) -> str:
    return "" if value is None else day(value)


def _optional_length(length_cm: float | None, unit: str) -> str:
    return "" if length_cm is None else length(length_cm, unit)


def _on_scale(value: Lot | Weighing) -> tuple[tuple[str, str], ...]:
    """Return what the scale said of yarn that was damper or drier than it is traded."""
    if value.weighed_g is None or value.regain is None:
        return ()
    return (
        (_("On the scale"), mass(value.weighed_g)),
        (_("Water in it, of the dry yarn"), _("{number} %").format(number=number(100 * value.regain, 1))),
    )


def _decimal(value: float | None, decimals: int = 2) -> str:
    return "" if value is None else number(value, decimals)


def details(value: Any, names: Names) -> tuple[tuple[str, str], ...]:
    """Return an entry's fields as (label, answer) pairs, the empty ones left out."""
    pairs: list[tuple[str, str]] = []
    match value:
        case Session():
            pairs = [
                (_("Day"), _day(value.day)),
                (_("Rows"), signed(value.rows)),
                (_("Begun"), "" if value.begun_knots is None else begun_words(value.begun_knots)),
                (_("Hours"), _("not given") if value.hours is None else hours(value.hours)),
                (_("Who wove"), one_after_another([names.weaver(weaver) for weaver in value.weavers])),
                (
                    _("Places across the width"),
                    one_after_another(
                        [
                            f"{names.weaver(who)}: {span_words(first, last)}"
                            for who, first, last in value.places
                        ]
                    ),
                ),
                (
                    _("Ahead"),
                    one_after_another(
                        [f"{names.weaver(who)}: {ahead_words(rows)}" for who, rows in value.ahead]
                    ),
                ),
                (
                    _("Used up"),
                    one_after_another(
                        [
                            used_words(
                                names.yarns[yarn].role if yarn in names.yarns else Role.PILE,
                                names.yarn(yarn),
                                count,
                            )
                            for yarn, count in value.used
                        ]
                    ),
                ),
                (_("Note"), value.note),
            ]
        case Lot():
            pairs = [
                (_("Yarn"), names.yarn(value.yarn_id)),
                (_("Day"), _day(value.day)),
                (_("Mass"), mass(value.mass_g)),
                *_on_scale(value),
                (_("Dye lot"), value.dye_lot),
                (_("Dyer"), value.dyer),
                (_("Price in all"), "" if value.price is None else money(value.price)),
            ]
        case LotMove():
            moved = names.lots.get(value.lot_id)
            pairs = [
                (_("Yarn"), names.yarn(value.from_yarn_id or value.to_yarn_id)),
                (_("Day"), _day(value.day)),
                (_("Mass"), mass(value.mass_g)),
                (_("Dye lot"), "" if moved is None else moved.dye_lot),
                (_("From"), place_words(value.source, names)),
                (_("To"), place_words(value.target, names)),
            ]
        case CartoonMark():
            pairs = [
                (_("Day"), _day(value.day)),
                (_("Row"), number(value.row)),
                (_("Knots"), span_words(value.first_knot, value.last_knot)),
                (_("Mended on"), _day(value.mended_day) or _("not mended yet")),
                (_("Note"), value.note),
            ]
        case Trim():
            pairs = [
                (_("Day"), _day(value.day)),
                (_("Up to row"), number(value.row)),
                (_("Pile before"), _height(value.before_mm)),
                (_("Pile after"), _height(value.after_mm)),
                (_("Note"), value.note),
            ]
        case HandOut():
            lot = names.lots.get(value.lot_id or "")
            pairs = [
                (_("Day"), _day(value.day)),
                (_("Given or returned"), _("given") if value.kind is HandOutKind.GIVEN else _("returned")),
                (_("Who"), _("whoever weaves") if value.weaver_id is None else names.weaver(value.weaver_id)),
                (_("Yarn"), names.yarn(value.yarn_id)),
                (_("Balls"), number(value.balls, 2)),
                (_("Mass"), mass(value.mass_g)),
                (_("Dye lot"), "" if lot is None else lot_words(lot.dye_lot.strip())),
                (_("Note"), value.note),
            ]
        case LotChange():
            lot = names.lots.get(value.lot_id)
            pairs = [
                (_("Yarn"), names.yarn(value.yarn_id)),
                (_("Dye lot"), _("another dye lot") if lot is None else lot_words(lot.dye_lot.strip())),
                (_("From row"), number(value.row)),
                (_("Rows by turns"), number(value.blend_rows) if value.blend_rows else ""),
                (_("Changed on"), _day(value.done_day) or _("planned")),
            ]
        case Weighing():
            pairs = [
                (_("Yarn"), names.yarn(value.yarn_id)),
                (_("Day"), _day(value.day)),
                (_("Left"), mass(value.mass_g)),
                *_on_scale(value),
                (_("The scale shows steps of"), _("{number} g").format(number=number(value.resolution_g, 2))),
                (_("Note"), value.note),
            ]
        case Spoilt():
            pairs = [
                (_("Yarn"), names.yarn(value.yarn_id)),
                (_("Day"), _day(value.day)),
                (_("Lost"), small_mass(value.mass_g)),
                (_("Note"), value.note),
            ]
        case Sample():
            pairs = [
                (_("Yarn"), names.yarn(value.yarn_id)),
                (_("Day"), _day(value.day)),
                (_("Knots"), number(value.knots)),
                (_("Mass"), _("{number} g").format(number=number(value.mass_g, 2))),
                (_("The scale shows steps of"), _("{number} g").format(number=number(value.resolution_g, 2))),
            ]
        case Measurement():
            pairs = [
                (_("Day"), _day(value.day)),
                (_("Row"), number(value.row)),
                *(
                    (reading_name(name), _optional_length(getattr(value, name) or None, names.unit))
                    for name in READINGS
                ),
                (_("Read to"), length(value.resolution_cm, names.unit)),
            ]
        case DaysOff():
            pairs = [
                (_("First day"), _day(value.first_day)),
                (_("Last day"), _day(value.last_day)),
                (_("Reason"), value.reason),
                (_("Counts for"), names.rugs.get(value.rug_id, "") if value.rug_id else _("every rug")),
            ]
        case Preparation():
            pairs = [
                (_("Day"), _day(value.day)),
                (
                    _("Done"),
                    prepared_words(
                        value.kind, value.count, names.yarn(value.yarn_id) if value.yarn_id else ""
                    ),
                ),
                (_("Hours"), "" if value.hours is None else hours(value.hours)),
            ]
        case AfterStep():
            pairs = [
                (_("Step"), value.name),
                (
                    _("Takes"),
                    n_("{days} day", "{days} days", round(value.days)).format(days=number(value.days, 1)),
                ),
                (_("Done on"), _day(value.done_day)),
            ]
        case Photo():
            pairs = [(_("Day"), _day(value.day)), (_("Caption"), value.caption)]
        case Wage():
            pairs = [
                (_("Who"), names.weaver(value.weaver_id) if value.weaver_id else _("everybody")),
                (_("Wage"), wage_words(value)),
                (_("From"), _day(value.first_day) or _("the first row")),
            ]
        case Cost():
            pairs = [
                (_("Day"), _day(value.day)),
                (_("For"), cost_kind_words(value.kind)),
                (_("Amount"), number(value.amount, MONEY_DECIMALS_ENTERED)),
                (_("Note"), value.note),
            ]
        case Pricing():
            pairs = [
                (_("Margin"), _("none") if value.margin is None else margin_words(value.margin)),
                (
                    _("The price stands"),
                    _("in the book only") if value.shown is PriceShown.HERE else _("in the record too"),
                ),
            ]
        case Order():
            pairs = [
                (_("For whom"), value.customer),
                (_("Promised day"), _day(value.promised_day)),
                (_("Agreed price"), _amount(value.price)),
                (_("How it gets there"), delivery_words(value.way)),
                (_("Address, or how to reach them"), value.address),
                (_("Delivered"), _day(value.delivered_day)),
                (_("Note"), value.note),
                (_("Told in the record"), one_after_another([item_words(item) for item in value.shown])),
            ]
        case Payment():
            pairs = [
                (_("Day"), _day(value.day)),
                (_("For"), payment_kind_words(value.kind, capital=True)),
                (_("Amount"), _amount(value.amount)),
                (_("Note"), value.note),
            ]
        case Loom():
            pairs = [
                (_("Name"), value.name),
                (_("Kind of loom"), loom_kind_words(value.kind)),
                (_("Clear width"), _optional_length(value.width_cm, names.unit)),
                (_("Longest warp"), _optional_length(value.longest_warp_cm, names.unit)),
                (_("Loom waste"), _optional_length(value.waste_cm, names.unit)),
                (_("Seats on the bench"), number(value.seats)),
                (_("Note"), value.note),
            ]
        case Weaver():
            pairs = [(_("Name"), value.name)]
        case Cartoon():
            pairs = [
                (_("Knots across"), number(value.knots_across)),
                (_("Rows"), number(value.rows)),
                (_("Colours"), number(len(value.palette))),
                (_("Taken from"), value.source_name),
            ]
        case Yarn():
            pairs = _yarn_details(value)
        case RugPlan():
            pairs = _plan_details(value, names)
        case Setting():
            pairs = [(headline(value, names), _setting_answer(value, names))]
        case SetAside():
            pairs = [(_("Cannot be used"), value.sentence)]
    return tuple((label, answer) for label, answer in pairs if answer)


def role_words(role: Role) -> str:
    """Return what a yarn does in the cloth."""
    return {
        Role.PILE: _("pile"),
        Role.WEFT: _("weft"),
        Role.WARP: _("warp"),
        Role.OVERCAST: _("overcasting"),
        Role.CORD: _("side cord"),
        Role.FRINGE: _("added fringe"),
    }[role]


def _yarn_details(yarn: Yarn) -> list[tuple[str, str]]:
    return [
        (_("Name"), yarn.name),
        (_("Kind"), role_words(yarn.role)),
        (_("Number"), number(yarn.number)),
        (_("Swatch"), yarn.swatch if yarn.role is Role.PILE else ""),
        (_("Share of the knots"), "" if yarn.share is None else percent(yarn.share)),
        (_("Fineness (yarn count)"), yarn.count),
        (_("Fibre"), fibre_words(yarn.fibre)),
        (_("On one ball") if yarn.role is not Role.WEFT else _("On one shuttle"), mass(yarn.unit_mass_g)),
        (_("Passes a row"), number(yarn.passes_per_row) if yarn.role is Role.WEFT else ""),
        (_("Shortened by twisting"), percent(yarn.twist_contraction) if yarn.twist_contraction else ""),
        (_("Take-up"), "" if yarn.take_up is None else percent(yarn.take_up)),
        (
            _("Cut length"),
            ""
            if yarn.cut_length_mm is None
            else _("{number} mm").format(number=number(yarn.cut_length_mm, 1)),
        ),
        (
            _("Pile yarn in a square metre"),
            "" if yarn.pile_g_per_m2 is None else _("{mass}/m²").format(mass=mass(yarn.pile_g_per_m2)),
        ),
        (_("Skein"), mass(yarn.skein_g)),
        (_("Least purchase"), mass(yarn.least_purchase_g)),
        (_("Bought on top of the need"), percent(yarn.margin)),
        (_("Price a kilogram"), "" if yarn.price_per_kg is None else money(yarn.price_per_kg)),
        (_("Dyer"), yarn.dyer),
        (
            _("From order to delivery"),
            n_("{days} day", "{days} days", yarn.lead_days).format(days=number(yarn.lead_days)),
        ),
        (_("Turns or tufts in 1 cm"), _decimal(yarn.per_cm, 1)),
        (_("Cords a side, or strands a tuft"), "" if yarn.pieces is None else number(yarn.pieces)),
    ]


def _shrinkage(share: float) -> str:
    return _("{number} %").format(number=number(100 * share, 1)) if share else ""


def stage_words(stage: RugStage) -> str:
    """Say where a rug is in its life."""
    return {
        RugStage.PLANNED: _("planned"),
        RugStage.ON_LOOM: _("on the loom"),
        RugStage.FINISHED: _("finished"),
    }[stage]


def _densities(plan: RugPlan, unit: str) -> tuple[tuple[str, str], ...]:
    """Return how close knots and rows stand, in 10 cm or in an inch for who measures in inches."""
    if unit == "inch":
        knots, rows = (
            number(from_per_10cm(per_10cm, DensityUnit.PER_INCH), 2)
            for per_10cm in (plan.knots_per_10cm, plan.rows_per_10cm)
        )
        return (_("Knots to the inch"), knots), (_("Rows to the inch"), rows)
    return (
        (_("Knots in 10 cm"), number(plan.knots_per_10cm, 2)),
        (_("Rows in 10 cm"), number(plan.rows_per_10cm, 2)),
    )


def _plan_details(plan: RugPlan, names: Names) -> list[tuple[str, str]]:
    holds = {Hold.ROWS: _("the number of rows"), Hold.LENGTH: _("the length")}
    return [
        (_("Name"), plan.name),
        (_("State"), stage_words(plan.stage)),
        (_("Finished width"), length(plan.width_cm, names.unit)),
        (_("Finished length"), length(plan.length_cm, names.unit)),
        (_("Measured by the customer"), measure_words(plan.size_measure)),
        (_("Shorter once off the loom"), _shrinkage(plan.loom_shrinkage)),
        (_("Shrinks in width at washing"), _shrinkage(plan.wash_shrinkage_width)),
        (_("Shrinks in length at washing"), _shrinkage(plan.wash_shrinkage_length)),
        (_("Unwashed width"), _optional_length(plan.unwashed_width_cm, names.unit)),
        (_("Unwashed length"), _optional_length(plan.unwashed_length_cm, names.unit)),
        (_("Unwashed weight"), "" if plan.unwashed_g is None else mass(plan.unwashed_g)),
        (_("Trim every so many rows"), "" if plan.trim_every_rows is None else number(plan.trim_every_rows)),
        (_("Washed weight"), "" if plan.washed_g is None else mass(plan.washed_g)),
        (_("Width measured when finished"), _optional_length(plan.finished_width_cm, names.unit)),
        (_("Length measured when finished"), _optional_length(plan.finished_length_cm, names.unit)),
        *_densities(plan, names.unit),
        (_("Knots across"), number(plan.knots_across)),
        (_("Rows"), number(plan.rows)),
        (_("Pile height"), _("{number} mm").format(number=number(plan.pile_height_mm, 1))),
        (_("Knot"), knot_kind_name(plan.knot_kind.value)),
        (
            _("Weaving days"),
            one_after_another([weekday_name(index, "abbreviated") for index in plan.weekdays]),
        ),
        (_("Hours a week"), hours(plan.hours_per_week)),
        (_("Weavers"), number(plan.weavers_planned)),
        (_("Start"), _day(plan.start_day)),
        (_("Target date"), _day(plan.wished_day)),
        (_("Finished on"), _day(plan.finished_day)),
        (_("Kept when the density differs"), holds[plan.hold]),
        (_("Knots an hour"), _decimal(plan.knots_per_hour, 0)),
        (_("Selvedge warps"), number(plan.selvedge_warps)),
        (_("Flat-woven end"), length(plan.end_cm, names.unit)),
        (_("Fringe"), length(plan.fringe_cm, names.unit)),
        (_("Loom"), "" if plan.loom_id is None else names.loom(plan.loom_id)),
        (_("On one warp with"), "" if plan.warp_after is None else names.rug(plan.warp_after)),
        (_("Lies on that warp"), "" if plan.warp_after is None else lay_words(plan.warp_lay)),
        (_("Gap between the rugs"), _optional_length(plan.warp_gap_cm, names.unit)),
        (_("Loom waste"), length(plan.loom_waste_cm, names.unit)),
        (_("Width between the loom's sides"), _optional_length(plan.loom_width_cm, names.unit)),
        (_("Cloth the beam takes"), _optional_length(plan.beam_roll_cm, names.unit)),
        (_("One raj"), _("{number} cm").format(number=number(plan.raj_cm, 2))),
        (
            _("Pile height before shearing"),
            "" if plan.unshorn_mm is None else _("{number} mm").format(number=number(plan.unshorn_mm, 1)),
        ),
        (_("Field tied over four warps"), _("{number} %").format(number=number(100 * plan.jufti_share, 1))),
        (_("Every second warp"), offset_words(plan.warp_offset_degrees)),
        (_("Notes"), plan.notes),
    ]
