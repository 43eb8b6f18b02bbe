"""What an entry of the book says in a line: its kind, its headline, and the words of its parts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
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
    HoursFrom,
    Lot,
    Measurement,
    Photo,
    Preparation,
    PreparationKind,
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
from tracker.domain.rules import DEVICE_NAME_KEY
from tracker.domain.shopping import LEAST_SETTING, SKEIN_SETTING
from tracker.domain.trimming import Trim
from tracker.presenters.dye_lots import change_words
from tracker.presenters.places import span_words
from tracker.words import (
    _,
    days_from_to,
    hours,
    length,
    mass,
    mass_as_weighed,
    money_as_typed,
    n_,
    number,
    small_length,
    small_mass,
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
        said = _(
            "The plan has a value that is not possible. The nearest possible one is shown. Change the plan."
        )
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


def hours_name(weavers: int) -> str:
    """Return what the hours of a session are called, wherever they are asked for and told: of several they are each one's own."""
    return _("Hours each") if weavers > 1 else _("Hours")


def _own_hours(session: Session) -> str:
    """Say the hours of a session; of several weavers they are each one's own."""
    said = hours(session.hours or 0.0)
    return _("{hours} each").format(hours=said) if len(session.weavers) > 1 else said


def session_hours_words(session: Session) -> str:
    """Say the hours of a session, and that they are the usual ones where nobody gave them."""
    if session.hours is None:
        return _("not given")
    return (
        _("{hours} (usual hours, not given)").format(hours=_own_hours(session))
        if session.hours_from is HoursFrom.USUAL
        else _own_hours(session)
    )


def _brief_hours(session: Session) -> str:
    """Say the hours of a session in a headline; what "usual" means its entry says in full."""
    said = _own_hours(session)
    return _("{hours} (usual)").format(hours=said) if session.hours_from is HoursFrom.USUAL else said


def mark_words(mark: CartoonMark) -> str:
    """Say where a mark sits: "Row 250, knots 12 to 20"."""
    return _("Row {row}, {knots}").format(
        row=number(mark.row), knots=span_words(mark.first_knot, mark.last_knot)
    )


def height_words(height_mm: float | None, unit: str) -> str:
    return "" if height_mm is None else small_length(height_mm, unit)


def trimmed_words(value: Trim, unit: str) -> str:
    """Say what was trimmed: "up to row 120, from 12 to 9 mm"."""
    said = _("up to row {row}").format(row=number(value.row))
    if value.before_mm is not None and value.after_mm is not None:
        heights = _("from {before} to {after}").format(
            before=height_words(value.before_mm, unit), after=height_words(value.after_mm, unit)
        )
        return f"{said}, {heights}"
    if value.after_mm is not None:
        return f"{said}, " + _("left at {after}").format(after=height_words(value.after_mm, unit))
    return said


def _plural_of(count: float) -> int:
    """Return the whole number whose form of the word a number takes: a part of one has that of several."""
    return int(count) if count == int(count) else 2


def ball_count_words(balls: float) -> str:
    """Say so many balls, whole or in part: "3 balls", "1.5 balls"."""
    return n_("{count} ball", "{count} balls", _plural_of(balls)).format(count=number(balls, 2))


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
        form = n_("{count} shuttle of {name}", "{count} shuttles of {name}", _plural_of(count))
    else:
        form = n_("{count} ball of {name}", "{count} balls of {name}", _plural_of(count))
    return form.format(count=number(count, 2), name=name)


def _brief_used(session: Session, names: Names) -> list[str]:
    """Return what a session used up in a few words: a single yarn by its name, of several how many balls and shuttles."""
    used = []
    for yarn_id, count in session.used:
        yarn = names.yarns.get(yarn_id)
        used.append((yarn.role if yarn else Role.PILE, names.yarn(yarn_id), count))
    if len(used) == 1:
        return [used_words(*used[0])]
    return used_in_brief(session, {yarn_id: yarn.role for yarn_id, yarn in names.yarns.items()})


def used_in_brief(session: Session, roles: Mapping[str, Role]) -> list[str]:
    """Return how many balls and how many shuttles a session used up, whatever their yarn."""
    used = [(roles.get(yarn_id, Role.PILE), count) for yarn_id, count in session.used]
    balls = sum(count for role, count in used if role is not Role.WEFT)
    shuttles = sum(count for role, count in used if role is Role.WEFT)
    said = [ball_count_words(balls)] if balls else []
    if shuttles:
        form = n_(
            "{count} shuttle",
            "{count} shuttles",
            _plural_of(shuttles),
        )
        said.append(form.format(count=number(shuttles, 2)))
    return said


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
                parts.append(_brief_hours(value))
            return ", ".join((*parts, *_brief_used(value, names)))
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
            said = _("Mistake in row {row}, {knots}").format(
                row=number(value.row), knots=span_words(value.first_knot, value.last_knot)
            )
            return f"{said}: {value.note}" if value.note else said
        case Trim():
            return trimmed_words(value, names.unit)
        case HandOut():
            return handed_words(value, names)
        case LotChange():
            return f"{names.yarn(value.yarn_id)}: {change_words(value, names.lots)}"
        case Weighing():
            return _("{mass} of {name} left").format(
                mass=mass_as_weighed(value.mass_g), name=names.yarn(value.yarn_id)
            )
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
            when = days_from_to(value.first_day, value.last_day, value.first_day)
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
            return f"{cost_kind_words(value.kind)}: {money_as_typed(value.amount, MONEY_DECIMALS_ENTERED)}"
        case Pricing():
            if value.margin is None:
                return _("No margin")
            return _("Margin {share} of the price").format(share=margin_words(value.margin))
        case Order():
            # Whose rug it is and what it costs is told only where somebody looks into the entry.
            return _("Customer's order")
        case Payment():
            return _("Payment from the customer")
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
    """Say what a wage pays for what: "EUR 9 for each 1,000 knots"."""
    each = {
        WageBasis.KNOTS: n_("{amount} for each knot", "{amount} for each {each} knots", wage.each),
        WageBasis.ROWS: n_("{amount} for each row", "{amount} for each {each} rows", wage.each),
        WageBasis.AREA: n_(
            "{amount} for each square metre", "{amount} for each {each} square metres", wage.each
        ),
        WageBasis.DAYS: n_(
            "{amount} for each day of weaving", "{amount} for each {each} days of weaving", wage.each
        ),
    }[wage.basis]
    return each.format(amount=money_as_typed(wage.amount, MONEY_DECIMALS_ENTERED), each=number(wage.each))


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
        "rug in hand": _("Rug shown"),
        SKEIN_SETTING: _("One skein"),
        LEAST_SETTING: _("Least of a colour"),
    }
    # A device's name is kept under a key that ends in the device's id; nobody can read that.
    if setting.id.startswith(DEVICE_NAME_KEY):
        return _("Name of a phone")
    return known.get(setting.id, _("A choice that this Loomside does not know"))


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


def stage_words(stage: RugStage) -> str:
    """Say where a rug is in its life."""
    return {
        RugStage.PLANNED: _("planned"),
        RugStage.ON_LOOM: _("on the loom"),
        RugStage.FINISHED: _("finished"),
    }[stage]
