"""What every value of a book may be: range, length and its relation to its neighbours, in one place.

The same rules hold for what is typed, taken in from another phone, joined and rescued, and the forms take their bounds
from here. They are generous fences, not rules of the trade: they keep out slips of the finger and what no sum could
bear (a density of 0, a session of a milliard rows). Where nothing else is said, a bound is our own choice, no source.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from itertools import count
from typing import Any

from tracker.domain import order, rug
from tracker.domain.errors import BadEntry
from tracker.domain.hand_out import HandOut
from tracker.domain.loom import Loom
from tracker.domain.lot_change import LotChange
from tracker.domain.lot_moves import LotMove
from tracker.domain.mark import CartoonMark
from tracker.domain.team import MOST_AHEAD
from tracker.domain.trimming import Trim
from tracker.domain.units import LEAST_PER_10CM, MOST_PER_10CM
from tracker.domain.yarn import LEAST_TEX, MOST_TEX
from tracker.words import _, number

FIRST_DAY = date(1900, 1, 1)
LAST_DAY = date(2300, 12, 31)
"""A day outside these is a slip of the finger."""
MOST_DAYS_OFF = 3660
"""Days off in one entry: ten years."""
MOST_KNOTS_EACH_WAY = 20_000
"""Knots across, and rows: a carpet of 10 m at 200 knots per 10 cm."""
MOST_COLOURS = 64
"""Colours of a cartoon, and of a pile."""


@dataclass(frozen=True, slots=True)
class Range:
    """A number from `least` to `most`, both included; `unit` as it is written behind a number."""

    least: float
    most: float
    unit: str = ""
    or_zero: bool = False
    """Whether 0, which then says "not known" or "none", is allowed beside."""

    def holds(self, value: Any) -> bool:
        """Tell whether a number lies in the range; what is no number does not."""
        if not isinstance(value, (int, float)):
            return False
        return self.least <= value <= self.most or (self.or_zero and value == 0)

    def check(self, value: Any) -> None:
        """Raise BadEntry unless the number lies in the range."""
        if not self.holds(value):
            raise BadEntry(
                _("A number here must lie between {least} and {most}. Check it.").format(
                    least=_said(self.least), most=f"{_said(self.most)} {self.unit}".rstrip()
                )
            )


@dataclass(frozen=True, slots=True)
class Letters:
    """A text of at most so many characters."""

    most: int

    def check(self, value: Any) -> None:
        """Raise BadEntry unless the text is short enough."""
        if not isinstance(value, str):
            raise BadEntry(_("Text was expected here."))
        if len(value) > self.most:
            raise BadEntry(
                _("This text is too long: at most {most} characters can be kept.").format(
                    most=number(self.most)
                )
            )


@dataclass(frozen=True, slots=True)
class Days:
    """A day of the calendar the app knows."""

    def check(self, value: Any) -> None:
        """Raise BadEntry unless the day lies in the calendar."""
        if type(value) is not date or not FIRST_DAY <= value <= LAST_DAY:
            raise BadEntry(
                _("The day must lie between {first} and {last}. Check the year.").format(
                    first=FIRST_DAY.isoformat(), last=LAST_DAY.isoformat()
                )
            )


@dataclass(frozen=True, slots=True)
class Items:
    """A list of at most so many items, each under the rule `each`, part by part under the rules `parts`, or of a closed set."""

    most: int
    each: Rule | None = None
    parts: tuple[Rule, ...] = ()

    def check(self, value: Any) -> None:
        """Raise BadEntry unless the list is short enough and every item as it must be."""
        if not isinstance(value, (tuple, list)) or len(value) > self.most:
            raise BadEntry(_("This list is too long to be kept."))
        for item in value:
            if self.each is not None:
                self.each.check(item)
            elif self.parts and len(item) != len(self.parts):
                raise BadEntry(_("This list cannot be kept."))
            for rule, part in zip(self.parts, item if self.parts else (), strict=True):
                rule.check(part)


@dataclass(frozen=True, slots=True)
class Colour:
    """A colour as "#RRGGBB"."""

    def check(self, value: Any) -> None:
        """Raise BadEntry unless the text is a colour."""
        if not isinstance(value, str) or not _COLOUR.fullmatch(value):
            raise BadEntry(_("A colour is written as # and six digits, such as #C8B89A. Choose it again."))


_COLOUR = re.compile(r"#[0-9A-Fa-f]{6}")
Rule = Range | Letters | Days | Items | Colour


def _said(bound: float) -> str:
    return number(bound, 0 if bound == int(bound) else 2)


_TURNS_READING = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def check_typed(text: str) -> None:
    """Refuse letters that nobody can see: control letters, half letters, and those that turn the direction of reading.

    What is in a book already stays as it is; this is asked where a text is typed.

    Raises
    ------
    BadEntry
        With a sentence that says what to do.
    """
    unseen = (
        letter
        for letter in text
        if letter in _TURNS_READING
        or (letter not in "\t\r\n" and unicodedata.category(letter) in ("Cc", "Cs"))
    )
    if any(unseen):
        raise BadEntry(_("This text holds letters that cannot be seen or kept. Type it again without them."))


ID = Letters(80)
NAME = Letters(80)
SHORT_NAME = Letters(60)
NOTE = Letters(2000)
DAY = Days()
SIDE_CM = Range(1.0, 2000.0, "cm")
PER_10CM = Range(LEAST_PER_10CM, MOST_PER_10CM)
KNOTS = Range(1, MOST_KNOTS_EACH_WAY)
LOOM_CM = Range(0.0, 12_700.0, "cm")
"""Lengths of the loom and of what stays on it; 5,000 inches."""
LOOM_SIZE_CM = Range(1.0, LOOM_CM.most, "cm")
MOST_SEATS = 50
"""Places on a bench, as many as weavers can be planned."""
MASS_G = Range(0.0, 1_000_000.0, "g")
BALLS = Range(0.01, 999.0)
"""Balls of one colour that go to a seat at once."""
PILE_MM = Range(0.1, 200.0, "mm")
"""Height of a pile on the loom."""
TRIM_ROWS = Range(1, 10_000)
RUG_G = Range(1.0, 1_000_000.0, "g")
"""Weight of a rug."""
PRICE = Range(0.0, 1e9)
MOST_MARGIN = 0.95
"""Share of a price that is not cost; at 1 no price would ever be enough."""
TAPE_CM = Range(0.1, 10_000.0, "cm")
"""What a tape can read along or across a cloth."""
SHRINKAGE = Range(0.0, 0.3)
REGAIN = Range(0.0, 1.0)
"""Water over dry mass of yarn that can still be called weighed: beyond it the yarn drips."""
SCALE_STEP_G = Range(0.01, 1000.0, "g")
DEVICE_NAME = Letters(80)

NUMBER = Range(0, 100_000)
"""The number by which yarns and steps are told apart and ordered."""


def next_number(taken: Iterable[int]) -> int:
    """Return the number that comes after all that are taken; where the rule allows none, the least that is free."""
    numbers = set(taken)
    after = max(numbers, default=0) + 1
    return after if NUMBER.holds(after) else next(free for free in count(1) if free not in numbers)


RULES: dict[type, dict[str, Rule]] = {
    rug.RugPlan: {
        "name": NAME,
        "width_cm": SIDE_CM,
        "length_cm": SIDE_CM,
        "knots_per_10cm": PER_10CM,
        "rows_per_10cm": PER_10CM,
        "knots_across": KNOTS,
        "rows": KNOTS,
        "pile_height_mm": Range(0.1, 100.0, "mm"),
        "weekdays": Items(7, Range(0, 6)),
        "hours_per_week": Range(0.1, 168.0, "h"),
        "weavers_planned": Range(1, 50),
        "start_day": DAY,
        "wished_day": DAY,
        "finished_day": DAY,
        "knots_per_hour": Range(10.0, 10_000.0),
        "selvedge_warps": Range(0, 1000),
        "end_cm": LOOM_CM,
        "fringe_cm": LOOM_CM,
        "loom_waste_cm": LOOM_CM,
        "loom_width_cm": LOOM_CM,
        "beam_roll_cm": LOOM_CM,
        "notes": Letters(10_000),
        "raj_cm": Range(6.0, 8.0, "cm"),
        "unshorn_mm": Range(0.1, 200.0, "mm"),
        "jufti_share": Range(0.0, 1.0),
        "warp_offset_degrees": Range(0.0, 90.0),
        "loom_shrinkage": SHRINKAGE,
        "wash_shrinkage_width": SHRINKAGE,
        "wash_shrinkage_length": SHRINKAGE,
        "finished_width_cm": SIDE_CM,
        "finished_length_cm": SIDE_CM,
        "unwashed_width_cm": SIDE_CM,
        "unwashed_length_cm": SIDE_CM,
        "unwashed_g": RUG_G,
        "washed_g": RUG_G,
        "trim_every_rows": TRIM_ROWS,
        "loom_id": ID,
        "warp_after": ID,
        "warp_gap_cm": LOOM_CM,
    },
    rug.Yarn: {
        "number": NUMBER,
        "name": NAME,
        "swatch": Colour(),
        "share": Range(0.0, 1.0),
        "cartoon_values": Items(256, Range(0, 255)),
        "count": Letters(60),
        "tex": Range(LEAST_TEX, MOST_TEX, "tex", or_zero=True),
        "twist_contraction": Range(0.0, 0.3),
        "fibre": SHORT_NAME,
        "unit_mass_g": Range(1.0, 20_000.0, "g"),
        "passes_per_row": Range(1, 20),
        "take_up": Range(0.0, 3.0),
        "cut_length_mm": Range(5.0, 500.0, "mm"),
        "pile_g_per_m2": Range(50.0, 20_000.0, "g"),
        "skein_g": Range(1.0, 50_000.0, "g", or_zero=True),
        "least_purchase_g": Range(0.0, 500_000.0, "g"),
        "margin": Range(0.0, 2.0),
        "price_per_kg": Range(0.0, 10_000_000.0),
        "dyer": NAME,
        "lead_days": Range(0, 999),
        "per_cm": Range(0.1, 50.0),
        "pieces": Range(1, 50),
    },
    rug.Weaver: {"name": NAME},
    rug.Session: {
        "day": DAY,
        "rows": Range(-9999, 9999),
        "hours": Range(0.01, 24.0, "h", or_zero=True),
        "weavers": Items(100, ID),
        "used": Items(200, parts=(ID, Range(0.01, 999.0, or_zero=True))),
        "note": NOTE,
        "places": Items(100, parts=(ID, KNOTS, KNOTS)),
        "ahead": Items(100, parts=(ID, Range(0, MOST_AHEAD))),
        "begun_knots": Range(0, MOST_KNOTS_EACH_WAY - 1),
    },
    rug.Lot: {
        "yarn_id": ID,
        "day": DAY,
        "mass_g": Range(1.0, 1_000_000.0, "g"),
        "dye_lot": SHORT_NAME,
        "dyer": NAME,
        "price": PRICE,
        "weighed_g": MASS_G,
        "regain": REGAIN,
    },
    rug.Weighing: {
        "yarn_id": ID,
        "day": DAY,
        "mass_g": MASS_G,
        "resolution_g": SCALE_STEP_G,
        "note": NOTE,
        "weighed_g": MASS_G,
        "regain": REGAIN,
    },
    Trim: {
        "day": DAY,
        "row": Range(1, 2 * MOST_KNOTS_EACH_WAY),
        "before_mm": PILE_MM,
        "after_mm": PILE_MM,
        "note": NOTE,
    },
    HandOut: {
        "yarn_id": ID,
        "weaver_id": ID,
        "day": DAY,
        "balls": BALLS,
        "mass_g": Range(0.1, 1_000_000.0, "g"),
        "lot_id": ID,
        "note": NOTE,
    },
    LotChange: {
        "yarn_id": ID,
        "lot_id": ID,
        "day": DAY,
        "row": Range(1, 2 * MOST_KNOTS_EACH_WAY),
        "blend_rows": Range(0, 100),
        "done_day": DAY,
    },
    LotMove: {
        "lot_id": ID,
        "day": DAY,
        "mass_g": Range(0.1, 1_000_000.0, "g"),
        "from_rug_id": ID,
        "from_yarn_id": ID,
        "to_rug_id": ID,
        "to_yarn_id": ID,
    },
    CartoonMark: {
        "day": DAY,
        "row": Range(1, 2 * MOST_KNOTS_EACH_WAY),
        "first_knot": KNOTS,
        "last_knot": KNOTS,
        "note": NOTE,
        "mended_day": DAY,
    },
    rug.Spoilt: {
        "yarn_id": ID,
        "day": DAY,
        "mass_g": Range(0.1, 1_000_000.0, "g"),
        "note": NOTE,
        "session_id": ID,
    },
    rug.Sample: {
        "yarn_id": ID,
        "day": DAY,
        "knots": Range(1, 100_000),
        "mass_g": Range(0.01, 10_000.0, "g"),
        "resolution_g": SCALE_STEP_G,
    },
    rug.Measurement: {
        "day": DAY,
        "row": Range(1, 2 * MOST_KNOTS_EACH_WAY),
        "length_cm": Range(0.1, 10_000.0, "cm", or_zero=True),
        "resolution_cm": Range(0.01, 10.0, "cm"),
        "width_cm": TAPE_CM,
        "left_cm": TAPE_CM,
        "right_cm": TAPE_CM,
        "rising_cm": TAPE_CM,
        "falling_cm": TAPE_CM,
    },
    rug.DaysOff: {"first_day": DAY, "last_day": DAY, "reason": Letters(200)},
    rug.Preparation: {
        "day": DAY,
        "yarn_id": ID,
        "count": Range(1, 10_000),
        "hours": Range(0.0, 1000.0, "h"),
    },
    rug.AfterStep: {
        "number": NUMBER,
        "name": SHORT_NAME,
        "days": Range(0.0, 365.0),
        "done_day": DAY,
    },
    rug.Cartoon: {"palette": Items(MOST_COLOURS, Colour()), "source_name": Letters(255)},
    rug.Photo: {"day": DAY, "file_name": Letters(255), "caption": Letters(300), "linked_id": ID},
    rug.Wage: {"weaver_id": ID, "amount": PRICE, "each": Range(1, 1_000_000), "first_day": DAY},
    rug.Cost: {"day": DAY, "amount": PRICE, "note": NOTE},
    rug.Pricing: {"margin": Range(0.0, MOST_MARGIN)},
    order.Order: {
        "customer": NAME,
        "promised_day": DAY,
        "price": PRICE,
        "address": Letters(400),
        "delivered_day": DAY,
        "note": NOTE,
        "shown": Items(len(order.OrderItem)),
    },
    order.Payment: {"day": DAY, "amount": PRICE, "note": NOTE},
    Loom: {
        "name": NAME,
        "width_cm": LOOM_SIZE_CM,
        "longest_warp_cm": LOOM_SIZE_CM,
        "waste_cm": LOOM_CM,
        "seats": Range(1, MOST_SEATS),
        "note": NOTE,
    },
    rug.Setting: {},
}
"""The rule of each field of each value; a field of a closed set (a role, a stage) needs none."""


def _plan(value: rug.RugPlan) -> None:
    if value.unshorn_mm is not None and value.unshorn_mm < value.pile_height_mm:
        raise BadEntry(
            _("The pile cannot be lower before shearing than after it. Change one of the heights.")
        )


def _on_scale(value: rug.Lot | rug.Weighing) -> None:
    if (value.weighed_g is None) != (value.regain is None):
        raise BadEntry(_("Enter both what the scale said and how damp the yarn was, or neither."))


def _days_off(value: rug.DaysOff) -> None:
    if value.last_day < value.first_day:
        raise BadEntry(_("The last day lies before the first one. Change one of them."))
    if (value.last_day - value.first_day).days >= MOST_DAYS_OFF:
        raise BadEntry(_("These days off go on for more than ten years. Check the year."))


def _mark(value: CartoonMark) -> None:
    if value.last_knot < value.first_knot:
        raise BadEntry(_("The last knot lies before the first one. Change one of them."))


def _session(value: rug.Session) -> None:
    if any(last < first for _weaver, first, last in value.places):
        raise BadEntry(_("A place across the width ends before it begins. Share the width out again."))


def _measurement(value: rug.Measurement) -> None:
    read = (value.width_cm, value.left_cm, value.right_cm, value.rising_cm, value.falling_cm)
    if not value.length_cm and all(reading is None for reading in read):
        raise BadEntry(_("Nothing was measured. Enter at least one of the lengths."))


def _trim(value: Trim) -> None:
    if value.before_mm is not None and value.after_mm is not None and value.after_mm > value.before_mm:
        raise BadEntry(_("The pile cannot be higher after trimming than before. Change one of the heights."))


def _cartoon(value: rug.Cartoon) -> None:
    if not value.palette:
        raise BadEntry(_("This cartoon has no colours. Choose the picture again."))


def _cells(value: rug.Cartoon) -> None:
    if int(value.cells.max()) >= len(value.palette):
        raise BadEntry(
            _("The cartoon uses a colour that its palette does not have. Choose the picture again.")
        )


_CURRENCY = re.compile(r"[A-Z]{3}")
DEVICE_NAME_KEY = "device_name."
"""Settings with this prefix and a device's id rename the device in the diary."""

TEXT_SETTINGS: dict[str, int] = {"country": 3, "currency": 3, "length_unit": 10, "rug in hand": 80}
NUMBER_SETTINGS: dict[str, Range] = {
    "lead_days": Range(0, 999), "first_weekday": Range(0, 6),
    "skein_g": Range(1, 50_000, "g"), "least_purchase_g": Range(0, 500_000, "g"),
}  # fmt: skip
"""The settings that the app knows; the diary has a label for each (`presenters/entry_text`)."""


def _setting(value: rug.Setting) -> None:
    """Check the settings that the app knows; what a newer app keeps under other names is its own affair."""
    said = value.value
    if value.id.startswith(DEVICE_NAME_KEY):
        DEVICE_NAME.check(said)
    elif said is not None and value.id in TEXT_SETTINGS:
        Letters(TEXT_SETTINGS[value.id]).check(said)
        if value.id == "currency" and said and not _CURRENCY.fullmatch(str(said)):
            raise BadEntry(_("A currency is written with three letters, such as EUR. Choose it again."))
    elif said is not None and value.id in NUMBER_SETTINGS:
        if not isinstance(said, int):
            raise BadEntry(_("A whole number was expected here."))
        NUMBER_SETTINGS[value.id].check(said)


def _wage(value: rug.Wage) -> None:
    if value.weaver_id == "":
        raise BadEntry(_("A wage is for one weaver or for everybody. Choose which."))


def _hand_out(value: HandOut) -> None:
    if "" in (value.weaver_id, value.lot_id):
        raise BadEntry(_("Balls belong to one weaver, or to nobody by name. Choose whose they are."))


def _lot_move(value: LotMove) -> None:
    ends = ((value.from_rug_id, value.from_yarn_id), (value.to_rug_id, value.to_yarn_id))
    if any((rug_id is None) != (yarn_id is None) for rug_id, yarn_id in ends):
        raise BadEntry(_("Yarn is moved from or to a yarn of a rug, or the shelf. Choose it again."))
    if ends[0] == ends[1]:
        raise BadEntry(_("The yarn lies there already. Choose another place."))


def _order(value: order.Order) -> None:
    if len(set(value.shown)) < len(value.shown):
        raise BadEntry(_("The record tells one part of the order twice. Choose again."))


_RELATIONS: dict[type, Callable[[Any], None]] = {
    rug.RugPlan: _plan,
    rug.DaysOff: _days_off,
    rug.Lot: _on_scale,
    rug.Weighing: _on_scale,
    rug.Session: _session,
    CartoonMark: _mark,
    rug.Measurement: _measurement,
    Trim: _trim,
    rug.Cartoon: _cartoon,
    rug.Setting: _setting,
    rug.Wage: _wage,
    HandOut: _hand_out,
    LotMove: _lot_move,
    order.Order: _order,
}


def check(value: Any, cells: bool = True) -> None:
    """Check a value against every rule.

    Parameters
    ----------
    cells
        False leaves a cartoon's cells packed and unlooked at.

    Raises
    ------
    BadEntry
        With a sentence that says what cannot be.
    """
    kind = type(value)
    for field, rule in RULES[kind].items():
        entered = getattr(value, field)
        if entered is not None:
            rule.check(entered)
    relation = _RELATIONS.get(kind)
    if relation is not None:
        relation(value)
    if cells and kind is rug.Cartoon:
        _cells(value)


def within(plan: rug.RugPlan) -> rug.RugPlan:
    """Return a plan that keeps every rule: a number outside its range is set to the bound it went past.

    So that a rug whose plan cannot be still opens, and its plan can be put right.
    """
    from dataclasses import replace

    mended: dict[str, Any] = {}
    for field, rule in RULES[rug.RugPlan].items():
        entered = getattr(plan, field)
        if entered is None:
            continue
        try:
            rule.check(entered)
        except BadEntry:
            mended[field] = _nearest(rule, entered)
    sound = replace(plan, **mended)
    try:
        _plan(sound)
    except BadEntry:
        sound = replace(sound, unshorn_mm=None)
    return sound


def _nearest(rule: Rule, entered: Any) -> Any:
    if isinstance(rule, Range):
        bound = min(max(entered, rule.least), rule.most)
        return int(bound) if isinstance(entered, int) else float(bound)
    if isinstance(rule, Letters):
        return entered[: rule.most]
    if isinstance(rule, Days):
        return min(max(entered, FIRST_DAY), LAST_DAY)
    return ()
