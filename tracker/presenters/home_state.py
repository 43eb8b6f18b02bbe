"""What the first view shows of a rug. It is read at every start, before anything else of the app: it needs little."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

NEXT_ICONS = {"session": "row", "finish": "flag", "export": "share", "shopping": "buy", "preparation": "wind"}
"""The pages to which the main key may lead, with its icon."""

ASK_PAGES = frozenset(
    {"yarn_story", "yarn", "session", "plan", "diary", "zoom", "looms", "shopping", "preparation", "cloth"}
)
"""The pages to which a line that asks may lead."""
ASK_ICONS = frozenset({"buy", "row", "weigh", "warning", "flag", "warp", "measure"})

MOST_ALERTS = 2
"""Yarns to see to that the first view has room for."""


class YarnTone(StrEnum):
    """The colour of the theme in which it is said how a yarn stands."""

    LASTS = "green"
    TIGHT = "ink"
    LACKING = "madder"
    NO_MORE_NEEDED = "soft"


@dataclass(frozen=True, slots=True)
class YarnLine:
    """One yarn on the first view."""

    yarn_id: str
    number: str
    name: str
    swatch: str
    word: str
    """What is said of it with grams: "short by 340 g"."""
    tone: YarnTone
    tight: bool
    share: float
    """On hand over what is still needed, at most 1."""


@dataclass(frozen=True, slots=True)
class YarnAlert:
    """A yarn that is not simply enough: what is the matter, and what to do."""

    yarn_id: str
    number: str
    swatch: str
    title: str
    more: str
    act: str
    """What to buy; "" for nothing."""
    tone: YarnTone


@dataclass(frozen=True, slots=True)
class YarnsTold:
    """The yarns that have a card each, and what is said of the others in a line."""

    alerts: tuple[YarnAlert, ...]
    """Worst first."""
    others: str
    """What is said of the yarns that have no card; of those to see to alone, where some of them have none."""
    others_of: tuple[str, ...] = ()
    """Ids of the yarns of which that is said, by number."""


@dataclass(frozen=True, slots=True)
class HomeAsk:
    """A line that asks for something, or on which the date rests: a tap leads to where it is answered."""

    words: str
    icon: str
    page: str
    yarn_id: str = ""
    """The yarn it is about; "" where it is about none."""
    session_id: str = ""
    """The session it is about; "" where it is about none."""


@dataclass(frozen=True, slots=True)
class FinishBand:
    """The days of the last row on a line from now on, each as a share of its length."""

    early: float
    late: float
    middle: float
    target: float
    """Below zero without one."""

    @property
    def misses(self) -> bool:
        """Whether the middle lies after the target."""
        return 0 <= self.target < self.middle


@dataclass(frozen=True, slots=True)
class HomeState:
    """The first view's three answers as words and shares."""

    rug_name: str
    row_figure: str
    row_of: str
    knots: str
    share: float
    last: str
    finish_label: str
    finish_figure: str
    finish_range: str
    wish: str
    conditions: tuple[HomeAsk, ...]
    """What the date holds under: yarn that must come, a rug that must be off the warp."""
    asks: tuple[HomeAsk, ...]
    """What of the record is in doubt or still to be mended."""
    yarns: tuple[YarnLine, ...]
    basis: str
    from_plan: bool
    act: str
    """What the main key says."""
    next_page: str
    """Where it leads."""
    rows_woven: int
    picture_rows: int
    """Rows that the picture has."""
    told: YarnsTold
    """The yarns to see to, at most `MOST_ALERTS`, and what is said of the others."""
    one_told: YarnsTold
    """The same where there is room for one."""
    band: FinishBand | None
    next_row: str
    warps: bool = True
    """Whether warps are seen at the rug's ends: on the loom they are; on a finished one where they are its fringe."""
    label_with_condition: str = ""
    """What may stand over the day in place of its label, where it holds under one yarn; it says both on one line."""
    label_under: str = ""
    """What stands there in large type, whatever the day holds under."""

    @property
    def alerts(self) -> tuple[YarnAlert, ...]:
        """The yarns to see to where there is room, worst first."""
        return self.told.alerts

    @property
    def others(self) -> str:
        """What is said of the others then."""
        return self.told.others

    def lines_of(self, yarn_ids: tuple[str, ...]) -> tuple[YarnLine, ...]:
        """How these yarns stand."""
        by_id = {line.yarn_id: line for line in self.yarns}
        return tuple(by_id[yarn_id] for yarn_id in yarn_ids if yarn_id in by_id)

    @property
    def conditions_below(self) -> tuple[HomeAsk, ...]:
        """Conditions that a yarn's own alert below them leads on from: said in plain words under the date."""
        led_on = {alert.yarn_id for alert in self.alerts}
        return tuple(one for one in self.conditions if one.page == "yarn_story" and one.yarn_id in led_on)

    @property
    def conditions_to_open(self) -> tuple[HomeAsk, ...]:
        """The other conditions, which lead on themselves."""
        return tuple(one for one in self.conditions if one not in self.conditions_below)
