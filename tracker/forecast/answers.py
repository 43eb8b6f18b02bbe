"""The values in which the three answers are given; `forecast.outlook.outlook(book, today)` makes them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import Protocol

from tracker.domain.lot_change import ChangePlace
from tracker.domain.taught import NOTHING_TAUGHT, Taught


@dataclass(frozen=True, slots=True, kw_only=True)
class Where:
    """Where the rug stands."""

    rows_woven: int
    rows: int
    knots_woven: int
    knots: int
    rows_last_session: int | None
    hours_woven: float
    knots_begun: int = 0
    """Knots of the next row that are tied."""

    @property
    def share(self) -> float:
        """Share of all knots that is done, 0 to 1."""
        return self.knots_woven / self.knots if self.knots else 0.0


class YarnWord(StrEnum):
    """What is said of a yarn. The chances behind the words stand in `forecast/thresholds.py`."""

    ENOUGH = "enough"
    TIGHT = "tight"
    ASKED = "asked about"
    """By the record it lasts, but the record itself cannot be right and is asked about."""
    SHORT = "short"
    NOT_BOUGHT = "not bought"
    DONE = "done"


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What the last weighing of a yarn tells, in g."""

    day: date
    mass_g: float
    expected_g: float
    """What was reckoned to be there before it was weighed."""
    usual_g: float
    """How far the two lie apart as a rule: the scale, damp, and what lots really weigh."""
    low_g: float
    """Between it and `high_g` it was believed to lie (80 %) before it was weighed: what a knot takes is not known better."""
    high_g: float

    @property
    def as_expected(self) -> bool:
        """Whether the scale showed what was believed."""
        within = self.low_g <= self.mass_g <= self.high_g
        return within or abs(self.mass_g - self.expected_g) <= self.usual_g


@dataclass(frozen=True, slots=True)
class LotStock:
    """What is on hand of one dye lot, in g; `mark` is "" when nobody said it."""

    lot_id: str
    """The first purchase of it."""
    bought: date
    """The day of that."""
    mark: str
    on_hand_g: float
    open: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class LotsAnswer:
    """How the dye lots of one pile yarn stand, and where to change from the open one."""

    stocks: tuple[LotStock, ...]
    """The open one first; together they are what is on hand of the yarn."""
    since_row: int
    """The first row knotted from the open one."""
    assumed: bool
    """Nobody said which is open: the one bought first is taken."""
    lasts: bool
    """Whether the open lot lasts to the last row, as surely as a yarn is called enough."""
    ends_row: int | None = None
    """The row in which the open lot ends (median)."""
    sure_row: int | None = None
    """The row up to which it lasts in nine cases of ten."""
    places: tuple[ChangePlace, ...] = ()
    """Where to change to the next lot, the best first; empty when the open one lasts or there is no other."""
    next_lot_id: str | None = None
    """The dye lot to change to: of the others on hand the one there is most of."""
    buy_g: float = 0.0
    """What would have to be bought of the open dye lot so that it lasts."""
    over_after_change_g: float | None = None
    """What of the other lots is over at the last row after the change that is planned, below zero what is missing; None without one."""

    @property
    def opened(self) -> LotStock:
        """The open dye lot."""
        return self.stocks[0]


@dataclass(frozen=True, slots=True, kw_only=True)
class BallsDoubted:
    """Balls or shuttles used up, and what the rows until then took, masses in grams."""

    count: float
    each_g: float
    """What a whole one holds by the plan."""
    used_g: float
    """What is believed to have been used."""


@dataclass(frozen=True, slots=True, kw_only=True)
class YarnAnswer:
    """Whether one yarn lasts. Masses in grams; a range is an 80 % range (10 % and 90 % quantile)."""

    yarn_id: str
    word: YarnWord
    chance: float
    """Chance that what is on hand lasts to the last row."""
    bought_g: float
    on_hand_g: float
    on_hand_low_g: float
    on_hand_high_g: float
    needed_g: float
    """What the rest of the rug needs (median)."""
    needed_low_g: float
    needed_high_g: float
    short_g: float
    """Median need less what is on hand; never below zero."""
    runs_out_row: int | None = None
    runs_out_row_range: tuple[int, int] | None = None
    runs_out_day: date | None = None
    runs_out_day_range: tuple[date, date] | None = None
    order_g: float = 0.0
    """Whole skeins to order so that the yarn lasts with the wished chance."""
    want_g: float = 0.0
    """Grams that are missing for that, before they are rounded up to what is sold."""
    want_chance: float = 0.0
    """Chance that it lasts with so much more."""
    order_skeins: int = 0
    order_by: date | None = None
    mixed_lots: tuple[str, ...] = ()
    """Dye lots on hand, when there is more than one."""
    told: Told | None = None
    """What the last weighing tells; None without one."""
    lots: LotsAnswer | None = None
    """How its dye lots stand; None without a purchase, and for yarns whose shade does not show."""
    not_entered_g: float = 0.0
    """Grams that were tied though by the record nothing was left; 0 as a rule."""
    use_ratio: float | None = None
    """What a knot or a row of it took so far, as learnt, over what the plan reckons (median)."""
    woven_g: float = 0.0
    """Grams that the rows so far took, as believed; of what was bought never more than is gone of it."""
    woven_unbought_g: float = 0.0
    """Grams that the rows so far took of a yarn of which the book knows none; 0 where some was bought, or none is tied."""
    balls_doubted: BallsDoubted | None = None
    """Balls or shuttles used up that held far more than the rows can have taken; None where they agree."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FinishAnswer:
    """When the last row is woven, and when the rug is ready after the steps that follow."""

    middle: date
    early: date
    late: date
    """`early` to `late` holds eight times in ten."""
    ready: date | None = None
    chance_of_wish: float | None = None
    rows_a_day_for_wish: float | None = None
    chance_of_promise: float | None = None
    """Of being ready, steps after weaving done, by the day promised to the customer; None: none is promised."""
    hours_left: float = 0.0
    marks: tuple[tuple[str, int, date, date, date], ...] = ()
    """(name, row, early, middle, late) of the places on the way."""
    bands: tuple[tuple[int, date, date, date], ...] = ()
    """(row, early, middle, late) at about twenty rows ahead, for the band beside the picture."""
    weekdays: tuple[int, ...] = ()
    """Days of the week (0 = Monday) on which somebody weaves, by the plan or by the record."""

    @property
    def loom_free(self) -> date:
        """The day after the likely last row, on which the next rug can begin."""
        return self.middle + timedelta(days=1)

    @property
    def loom_surely_free(self) -> date:
        """The same after the latest likely last row."""
        return self.late + timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class RugAhead:
    """The rug that must be off a shared warp before this one can begin."""

    rug_id: str
    name: str
    finish: FinishAnswer | None
    """When its own last row is woven; None: no date can be told."""

    def free_by(self, planned: date) -> date:
        """Return the day by which it must be off the warp for the other to begin when it is reckoned to: planned, or later."""
        return planned if self.finish is None else max(planned, self.finish.loom_free)


@dataclass(frozen=True, slots=True, kw_only=True)
class EarlierDate:
    """How the date of this weaver's last finished rug held over its last month."""

    asked: date
    """The day, a month before the last row, on which the dates would have been given."""
    middle: date
    early: date
    late: date
    came: date
    """Day of the last row."""

    @property
    def moved_days(self) -> int:
        """Days by which the date moved from then to the last row; later is above zero."""
        return (self.came - self.middle).days


@dataclass(frozen=True, slots=True, kw_only=True)
class Basis:
    """What the answers rest on and what moved them, as sentences."""

    sessions: int
    from_plan: bool
    """True until the first session: the answers come from the plan alone."""
    rests_on: tuple[str, ...] = ()
    moved_by: tuple[str, ...] = ()
    row_ahead: str = ""
    """Why a row ahead takes more or less time than the last ones; "" where it takes about as much."""
    last_rug: EarlierDate | None = None
    """None without a finished rug that has a date to tell of."""
    moved_today: MovedToday | None = None
    """What today's session did; None without one, and where nothing in it explains the shift."""
    by_earlier: bool = False
    """Whether earlier rugs have their say: of the pace, or of the weaver's days and hours."""


@dataclass(frozen=True, slots=True)
class MovedToday:
    """By how much the session entered last moved the middle date, and what in it did."""

    session_id: str
    days: int
    """Later is above zero."""
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """Something measured along the rug: where it stands at the row on the loom and where it will at the last row, in cm."""

    readings: int
    last_row: int
    """The row of the latest reading."""
    last_cm: float
    """What was read there: `now_cm` is what is believed after all readings."""
    last_sd_cm: float
    last_end_cm: float
    """What that comes to at the last row, as the cloth changes from row to row by all readings."""
    now_cm: float
    now_sd_cm: float
    end_cm: float
    end_sd_cm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ShapeAnswer:
    """How the cloth keeps its shape; None for what was not measured. To the right is above zero."""

    planned_width_cm: float
    """Of the cloth on the loom, with its selvedges."""
    allowed_width_cm: float
    """By how much the width on the loom may differ for the finished one to be within what is allowed."""
    width: Course | None
    ahead: Course | None
    """By how much the right side is longer than the left one."""
    lean: Course | None
    """How far the middle of the upper edge stands to the right of the foot's."""
    rows_left: int


@dataclass(frozen=True, slots=True)
class LengthWarning:
    """The rug will end too long or too short on the loom, and it can still be mended."""

    off_cm: float
    """Positive where it ends too long."""
    rows_per_10cm: float
    """The beat from here on that ends it right."""
    beat_can_mend: bool
    """Whether a weaver can change her beat so far."""


class TellsYarns(Protocol):
    """What answers for the yarns of a rug, whatever else it tells."""

    @property
    def yarns(self) -> tuple[YarnAnswer, ...]:
        """The yarns, worst first."""
        ...


@dataclass(frozen=True, slots=True)
class YarnsAlone:
    """The yarns' answers without a day on which any of them runs out."""

    yarns: tuple[YarnAnswer, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Answers:
    """The three answers for one rug on one day. Yarns stand worst first."""

    day: date
    where: Where
    yarns: tuple[YarnAnswer, ...]
    finish: FinishAnswer | None
    basis: Basis
    finished: bool = False
    silent_days: int | None = None
    """Days for which nothing was entered, when they are so many that no date is given; known days off left out."""
    final_length_cm: float | None = None
    final_length_range_cm: tuple[float, float] | None = None
    length_warning: LengthWarning | None = None
    shape: ShapeAnswer | None = None
    """None until a width or both sides were measured."""
    taught: Taught = NOTHING_TAUGHT
    """What the weaver's earlier rugs say of her pace: the plan's hours rest on it as the date does."""
    ahead: RugAhead | None = None
    """The rug that this one waits for on its warp; what it may be late by is in every date here."""
