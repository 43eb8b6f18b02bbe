"""What an entry of the book says where it is opened: each of its questions with the answer."""

from __future__ import annotations

from datetime import date
from typing import Any

from tracker.domain.hand_out import HandOut, HandOutKind
from tracker.domain.loom import Loom
from tracker.domain.lot_change import LotChange
from tracker.domain.lot_moves import LotMove
from tracker.domain.mark import CartoonMark
from tracker.domain.order import Order, Payment
from tracker.domain.rug import (
    AfterStep,
    Cartoon,
    Cost,
    DaysOff,
    Hold,
    Lot,
    Measurement,
    Photo,
    Preparation,
    PriceShown,
    Pricing,
    Role,
    RugPlan,
    Sample,
    Session,
    SetAside,
    Setting,
    Spoilt,
    Wage,
    Weaver,
    Weighing,
    Yarn,
)
from tracker.domain.shopping import LEAST_SETTING, SKEIN_SETTING
from tracker.domain.trimming import Trim
from tracker.domain.units import SQUARE_FOOT_M2, DensityUnit, from_per_10cm
from tracker.presenters.dye_lots import lot_words_of
from tracker.presenters.entry_text import (
    MONEY_DECIMALS_ENTERED,
    READINGS,
    Names,
    begun_words,
    cost_kind_words,
    delivery_words,
    headline,
    height_words,
    item_words,
    lay_words,
    loom_kind_words,
    margin_words,
    payment_kind_words,
    place_words,
    prepared_words,
    reading_name,
    role_words,
    session_hours_words,
    signed,
    stage_words,
    used_words,
    wage_words,
)
from tracker.presenters.places import ahead_words, span_words
from tracker.presenters.settings import country_name
from tracker.presenters.trade_words import fibre_words, knot_kind_name, measure_words, offset_words
from tracker.words import (
    CM_PER_INCH,
    _,
    day,
    hours,
    length,
    mass,
    mass_as_weighed,
    money,
    money_as_typed,
    n_,
    number,
    one_after_another,
    percent,
    small_length,
    small_mass,
    weekday_name,
)


def _amount(amount: float | None) -> str:
    return "" if amount is None else money_as_typed(amount, MONEY_DECIMALS_ENTERED)


def _setting_answer(setting: Setting, names: Names) -> str:
    said = setting.value
    if setting.id == "rug in hand":
        return names.rugs.get(str(said), "…")
    if setting.id == "length_unit":
        return _("inches") if said == "inch" else _("centimetres")
    if setting.id == "first_weekday" and isinstance(said, int) and 0 <= said <= 6:
        return weekday_name(said)
    if setting.id == "country":
        return country_name(str(said)) if said else _("none")
    if isinstance(said, int) and setting.id == "lead_days":
        return n_("{days} day", "{days} days", said).format(days=number(said))
    if isinstance(said, int) and setting.id in (SKEIN_SETTING, LEAST_SETTING):
        return mass(said) if said else _("none")
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
                (_("Hours"), session_hours_words(value)),
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
                (_("Weight"), mass(value.mass_g)),
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
                (_("Weight"), mass(value.mass_g)),
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
                (_("Pile before"), height_words(value.before_mm, names.unit)),
                (_("Pile after"), height_words(value.after_mm, names.unit)),
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
                (_("Weight"), mass(value.mass_g)),
                (_("Dye lot"), "" if lot is None else lot_words_of(lot)),
                (_("Note"), value.note),
            ]
        case LotChange():
            lot = names.lots.get(value.lot_id)
            pairs = [
                (_("Yarn"), names.yarn(value.yarn_id)),
                (_("Dye lot"), _("another dye lot") if lot is None else lot_words_of(lot)),
                (_("From row"), number(value.row)),
                (_("Rows by turns"), number(value.blend_rows) if value.blend_rows else ""),
                (_("Changed on"), _day(value.done_day) or _("planned")),
            ]
        case Weighing():
            pairs = [
                (_("Yarn"), names.yarn(value.yarn_id)),
                (_("Day"), _day(value.day)),
                (_("What is left"), mass_as_weighed(value.mass_g)),
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
                (_("Weight"), _("{number} g").format(number=number(value.mass_g, 2))),
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
                (_("Amount"), money_as_typed(value.amount, MONEY_DECIMALS_ENTERED)),
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
            pairs = _yarn_details(value, names.unit)
        case RugPlan():
            pairs = _plan_details(value, names)
        case Setting():
            pairs = [(headline(value, names), _setting_answer(value, names))]
        case SetAside():
            pairs = [(_("Cannot be used"), value.sentence)]
    return tuple((label, answer) for label, answer in pairs if answer)


def _yarn_details(yarn: Yarn, unit: str) -> list[tuple[str, str]]:
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
            "" if yarn.cut_length_mm is None else small_length(yarn.cut_length_mm, unit),
        ),
        (
            _("Pile yarn in a square foot") if unit == "inch" else _("Pile yarn in a square metre"),
            ""
            if yarn.pile_g_per_m2 is None
            else mass(yarn.pile_g_per_m2 * SQUARE_FOOT_M2)
            if unit == "inch"
            else _("{mass}/m²").format(mass=mass(yarn.pile_g_per_m2)),
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
        (_("Turns or tufts to the inch"), _decimal(yarn.per_cm and yarn.per_cm * CM_PER_INCH, 1))
        if unit == "inch"
        else (_("Turns or tufts in 1 cm"), _decimal(yarn.per_cm, 1)),
        (_("Cords a side, or strands a tuft"), "" if yarn.pieces is None else number(yarn.pieces)),
    ]


def _shrinkage(share: float) -> str:
    return _("{number} %").format(number=number(100 * share, 1)) if share else ""


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
        (_("Pile height"), small_length(plan.pile_height_mm, names.unit)),
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
        (_("One raj"), length(plan.raj_cm, names.unit, 2)),
        (
            _("Pile height before shearing"),
            "" if plan.unshorn_mm is None else small_length(plan.unshorn_mm, names.unit),
        ),
        (_("Field tied over four warps"), _("{number} %").format(number=number(100 * plan.jufti_share, 1))),
        (_("Every second warp"), offset_words(plan.warp_offset_degrees)),
        (_("Notes"), plan.notes),
    ]
