"""What to wind before weaving: balls for every colour and section, shuttles, the hours it takes, what is ticked off."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from tracker.domain import defaults
from tracker.domain.rug import Lot, Preparation, PreparationKind, Role, Yarn
from tracker.words import _

_GRAIN = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class LotShare:
    """One dye lot of one colour, shared by the weavers as their sections ask for it."""

    dye_lot: str
    bought: bool
    """False for yarn that is still to be bought."""
    mass_g: float
    """What the rug takes of this lot."""
    by_section: tuple[int, ...]
    """Balls of each section, left to right."""
    ball_g: float
    """On the fullest of them."""
    wound_g: float
    """In all of them; never below `mass_g`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BallLine:
    """Balls to wind of one colour for the whole rug."""

    yarn_id: str
    number: int
    name: str
    swatch: str
    balls: int
    by_section: tuple[int, ...]
    """Of them for each section of the width, left to right."""
    lots: tuple[LotShare, ...]
    wound_g: float
    """Mass in all the balls; never below the need."""
    diameter_mm: float
    """Of the fullest ball."""
    balls_per_skein: int
    """Full balls from one skein, at least 1."""

    @property
    def need_g(self) -> float:
        """What the rug takes of the colour."""
        return math.fsum(lot.mass_g for lot in self.lots)


@dataclass(frozen=True, slots=True, kw_only=True)
class ShuttleLine:
    """Shuttles to make of one weft."""

    yarn_id: str
    number: int
    name: str
    shuttles: int
    shuttle_g: float
    """On a full one."""
    wound_g: float
    """On all of them."""
    rows_per_shuttle: float


def full_ball_g(yarn: Yarn | None) -> float:
    """Return the grams on a full ball of a yarn; usual ones where nobody said."""
    return yarn.unit_mass_g if yarn is not None and yarn.unit_mass_g > 0 else float(defaults.BALL_G)


def usual_unit_g(role: Role) -> float:
    """Return the grams on a full ball or shuttle that a new yarn of a role is planned with, until somebody says them."""
    return float({Role.WEFT: defaults.SHUTTLE_G, Role.WARP: defaults.WARP_BALL_G}.get(role, defaults.BALL_G))


def ball_diameter_mm(mass_g: float, fibre_density_g_cm3: float) -> float:
    """Return the diameter of a hand-wound ball in mm: a sphere of yarn with air between."""
    volume_cm3 = mass_g / (fibre_density_g_cm3 * defaults.BALL_PACKING)
    return 10.0 * (6.0 * volume_cm3 / math.pi) ** (1.0 / 3.0)


def balls_of(mass_g: float, full_ball_g: float) -> tuple[int, float]:
    """Return (balls, g on each) that hold `mass_g` of one lot for one weaver, none fuller than `full_ball_g`.

    All are equally full; the mass on a ball is rounded up to a tenth of a gram.
    """
    if mass_g <= 0:
        return 0, 0.0
    balls = max(1, math.ceil(mass_g / full_ball_g - _GRAIN))
    exact_g = mass_g / balls
    return balls, max(exact_g, min(full_ball_g, math.ceil(10.0 * exact_g - _GRAIN) / 10.0))


def used_ball_g(yarn: Yarn, need_g: float, there_g: float, weavers: int = 1, ended: float = 1.0) -> float:
    """Return the grams that were on a ball or shuttle which was used up, where nobody weighed it; 0 where nothing tells.

    What is known of it is how much a full one holds. A yarn of which the rug needs less, or of which there was less, was wound
    as the list says: nobody winds 200 g of 110. Where more ended than the list has, they were not wound by it.

    Parameters
    ----------
    need_g
        What the whole rug needs of the yarn.
    there_g
        What had been bought of it by then; 0 where the book knows of none.
    weavers
        Who share the need side by side.
    ended
        How many ended in all.
    """
    full_g, hands = max(yarn.unit_mass_g, 0.0), max(weavers, 1)
    # More than one full ball there: that all of them are gone says that a purchase is missing, not that they were small.
    most_g = there_g / max(hands, ended) if 0 < there_g < full_g else full_g
    listed_g = min(full_g, need_g / hands) if ended <= hands else full_g
    wound_g = min(most_g, listed_g)
    if wound_g >= full_g or wound_g <= 0:
        return full_g
    # Rounded as the list rounds, and no more than there was.
    return min(balls_of(wound_g, full_g)[1], most_g)


def balls_in_lots(lots_g: Iterable[float], full_ball_g: float, has_g: float = 0.0) -> tuple[int, float]:
    """Return (balls to wind, g on them) for one weaver's need of one colour: no ball holds yarn of two lots.

    Every page that says how many balls are wanted asks here.

    Parameters
    ----------
    lots_g
        What she needs of each lot, in the order of their use.
    full_ball_g
        Grams on a full ball.
    has_g
        What she has already: it goes for the lots used first.
    """
    balls, mass_g = 0, 0.0
    for lot_g in lots_g:
        rest_g = max(0.0, lot_g - has_g)
        has_g = max(0.0, has_g - lot_g)
        balls += balls_of(rest_g, full_ball_g)[0]
        mass_g += rest_g
    return balls, mass_g


def lots_in_turn(need_g: float, lots: Sequence[Lot]) -> tuple[tuple[str, bool, float], ...]:
    """Return the dye lots that a need is taken from, in the order of their use: (dye lot, bought, g).

    `lots` are in the order of their use; what they do not cover is one lot still to be bought.
    """
    baths: dict[str, float] = {}
    for lot in lots:
        baths[lot.dye_lot] = baths.get(lot.dye_lot, 0.0) + lot.mass_g
    parts: list[tuple[str, bool, float]] = []
    left_g = need_g
    for dye_lot, mass_g in baths.items():
        taken = min(mass_g, left_g)
        if taken > 0:
            parts.append((dye_lot, True, taken))
            left_g -= taken
    if left_g > _GRAIN:
        parts.append(("", False, left_g))
    return tuple(parts)


def ball_line(
    yarn: Yarn,
    lots: Sequence[tuple[str, bool]],
    sections_g: Sequence[Sequence[float]],
    fibre_density_g_cm3: float,
) -> BallLine:
    """Return the balls of one colour for weavers who sit side by side.

    Parameters
    ----------
    yarn
        Its `unit_mass_g` is a full ball.
    lots
        (dye lot, whether it is bought) in the order of their use.
    sections_g
        Of each section of the width, left to right, what it takes of each lot, in g.
    """
    full_g = full_ball_g(yarn)
    shares = []
    for index, (dye_lot, bought) in enumerate(lots):
        wound = [balls_of(section[index], full_g) for section in sections_g]
        shares.append(
            LotShare(
                dye_lot=dye_lot,
                bought=bought,
                mass_g=math.fsum(section[index] for section in sections_g),
                by_section=tuple(balls for balls, _each in wound),
                ball_g=max((each_g for _balls, each_g in wound), default=0.0),
                wound_g=math.fsum(balls * each_g for balls, each_g in wound),
            )
        )
    by_section = tuple(balls_in_lots(section, full_g)[0] for section in sections_g)
    return BallLine(
        yarn_id=yarn.id,
        number=yarn.number,
        name=yarn.name,
        swatch=yarn.swatch,
        balls=sum(by_section),
        by_section=by_section,
        lots=tuple(shares),
        wound_g=math.fsum(share.wound_g for share in shares),
        diameter_mm=ball_diameter_mm(
            max((share.ball_g for share in shares if share.ball_g), default=full_g), fibre_density_g_cm3
        ),
        balls_per_skein=max(1, int(yarn.skein_g / full_g + _GRAIN)),
    )


def shuttle_line(yarn: Yarn, need_g: float, rows: int) -> ShuttleLine:
    """Return the shuttles of one weft, evenly full; `unit_mass_g` is what a full one holds, the flat ends need theirs."""
    full_g = yarn.unit_mass_g if yarn.unit_mass_g > 0 else float(defaults.SHUTTLE_G)
    shuttles = math.ceil(need_g / full_g - _GRAIN) if need_g > 0 else 0
    return ShuttleLine(
        yarn_id=yarn.id,
        number=yarn.number,
        name=yarn.name,
        shuttles=shuttles,
        shuttle_g=full_g,
        wound_g=max(need_g, 0.0),
        rows_per_shuttle=rows / shuttles if shuttles else 0.0,
    )


# --- hours ---------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnTime:
    """How long one piece of preparation takes by the mass on it, and whether the weaver's own records say so."""

    hours_fixed: float
    """However little is on it."""
    hours_per_100g: float = 0.0
    own: bool
    records: int
    """Own records with hours."""

    def hours(self, mass_g: float) -> float:
        """Return the hours of one ball, shuttle or warp that holds so much."""
        return self.hours_fixed + self.hours_per_100g * mass_g / 100.0


def own_time(
    preparations: tuple[Preparation, ...],
    kind: PreparationKind,
    hours_fixed: float,
    hours_per_100g: float = 0.0,
    each_g: Mapping[str, float] | None = None,
    usual_g: float = 0.0,
) -> OwnTime:
    """Return the hours of one ball, shuttle or warp: common ones, once enough are noted as the weaver's own add up.

    Parameters
    ----------
    hours_fixed, hours_per_100g
        The common times.
    each_g
        What is on one, by the id of its yarn.
    usual_g
        What was on one of another yarn.
    """
    noted = [
        entry for entry in preparations if entry.kind is kind and entry.hours is not None and entry.count > 0
    ]
    common = OwnTime(hours_fixed=hours_fixed, hours_per_100g=hours_per_100g, own=False, records=len(noted))
    if len(noted) < defaults.OWN_TIMES_NEEDED:
        return common
    masses = each_g or {}
    usual_h = sum(entry.count * common.hours(masses.get(entry.yarn_id or "", usual_g)) for entry in noted)
    factor = sum(entry.hours or 0.0 for entry in noted) / usual_h
    return OwnTime(
        hours_fixed=hours_fixed * factor,
        hours_per_100g=hours_per_100g * factor,
        own=True,
        records=len(noted),
    )


def warp_hours(warps: int) -> float:
    """Return the hours that mounting a warp of so many threads takes by default."""
    return defaults.HOURS_WARP_FIXED + defaults.HOURS_PER_100_WARPS * warps / 100.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckItem:
    """One line of the preparation checklist."""

    kind: PreparationKind
    yarn_id: str | None
    name: str
    planned: int
    done: int
    noted: int = 0
    """Of what is done, what was noted; the rest must have been wound, for it is knotted or handed out."""
    by_rows: bool = False
    """Whether the rows woven say that at least so many are done, and nothing else says as many."""
    each_g: float = 0.0
    """What is on one of them."""

    @property
    def left(self) -> int:
        """What is still to do."""
        return max(0, self.planned - self.done)

    @property
    def ticked(self) -> bool:
        """Whether it is done."""
        return self.left == 0


@dataclass(frozen=True, slots=True, kw_only=True)
class PreparationPlan:
    """The checklist with its hours."""

    items: tuple[CheckItem, ...]
    ball: OwnTime
    shuttle: OwnTime
    warp: OwnTime
    hours_all: float
    """All preparation at these times."""
    hours_left: float
    """What is not ticked off."""
    hours_noted: float
    """Hours the weaver noted so far."""

    @property
    def ready(self) -> bool:
        """Whether everything is ticked off."""
        return all(item.ticked for item in self.items)

    @property
    def rests_on(self) -> str:
        """A sentence on whose times were used."""
        own = [
            name
            for name, time in ((_("balls"), self.ball), (_("shuttles"), self.shuttle), (_("warp"), self.warp))
            if time.own
        ]
        if not own:
            return _("Times are common ones until you have noted two or three of your own.")
        return _("Your own times are used for: {what}.").format(what=", ".join(own))


@dataclass(frozen=True, slots=True)
class WarpToMount:
    """The warp that a rug's checklist names."""

    threads: int
    """0: it is mounted with another rug."""
    mounted: bool = False
    """Whether the record of another rug on it says that it is mounted."""


def wound_by(noted: Iterable[tuple[int, int]]) -> int:
    """Return how many balls or shuttles were wound, of what was noted as (how many, begun at the loom by then) in order.

    What is noted comes on top of what the rows had begun by then, so that one more is always one less to wind.
    """
    wound = 0
    for count, begun in noted:
        wound = max(wound, begun) + count
    return wound


def preparation_plan(
    preparations: tuple[Preparation, ...],
    balls: tuple[BallLine, ...],
    shuttles: tuple[ShuttleLine, ...],
    warp: WarpToMount,
    earlier: tuple[Preparation, ...] = (),
    there: Mapping[str, float] | None = None,
    begun: Mapping[str, Sequence[int]] | None = None,
) -> PreparationPlan:
    """Return the checklist, derived from what was noted, and the hours at the weaver's own or common times.

    Parameters
    ----------
    preparations
        Noted for this rug.
    balls, shuttles
        What is planned.
    warp
        What is mounted with this rug.
    earlier
        Noted for the weaver's other rugs: they count for the times, not for what is done.
    there
        Balls and shuttles used up or handed out, by the id of their yarn: they were wound, whether that was noted or not.
    begun
        Balls and shuttles that the rows on the loom have begun, by the id of their yarn: when each of its `preparations` was
        noted, and last now. What is knotted was wound, too.
    """

    def done(kind: PreparationKind, yarn_id: str | None) -> tuple[int, int]:
        """Return (those done by what was noted and by the rows, by the rows alone)."""
        counts = [
            entry.count
            for entry in preparations
            if entry.kind is kind and (yarn_id is None or entry.yarn_id == yarn_id)
        ]
        *then, now = (begun or {}).get(yarn_id or "") or [0] * (len(counts) + 1)
        return max(wound_by(zip(counts, then, strict=True)), now), now

    items = [
        CheckItem(
            kind=PreparationKind.WARP,
            yarn_id=None,
            name=_("Warp of {warps} threads").format(warps=warp.threads),
            planned=1,
            done=max(int(warp.mounted), *done(PreparationKind.WARP, None)),
        )
    ]
    if not warp.threads:
        items = []
    for kind, lines in ((PreparationKind.BALLS, balls), (PreparationKind.SHUTTLES, shuttles)):
        for line in lines:
            planned = line.balls if isinstance(line, BallLine) else line.shuttles
            if planned:
                wound, by_rows = done(kind, line.yarn_id)
                in_use = int((there or {}).get(line.yarn_id, 0))
                noted = sum(
                    entry.count
                    for entry in preparations
                    if entry.kind is kind and entry.yarn_id == line.yarn_id
                )
                items.append(
                    CheckItem(
                        kind=kind,
                        yarn_id=line.yarn_id,
                        name=line.name,
                        planned=planned,
                        done=max(wound, in_use),
                        noted=noted,
                        by_rows=by_rows > max(noted, in_use),
                        each_g=line.wound_g / planned,
                    )
                )
    everything = earlier + preparations
    masses = {item.yarn_id: item.each_g for item in items if item.yarn_id is not None}
    times = {
        PreparationKind.BALLS: own_time(
            everything,
            PreparationKind.BALLS,
            float(defaults.HOURS_BALL_FIXED),
            float(defaults.HOURS_BALL_PER_100_G),
            masses,
            usual_unit_g(Role.PILE),
        ),
        PreparationKind.SHUTTLES: own_time(
            everything,
            PreparationKind.SHUTTLES,
            float(defaults.HOURS_SHUTTLE_FIXED),
            float(defaults.HOURS_SHUTTLE_PER_100_G),
            masses,
            usual_unit_g(Role.WEFT),
        ),
        PreparationKind.WARP: own_time(everything, PreparationKind.WARP, warp_hours(warp.threads)),
    }
    return PreparationPlan(
        items=tuple(items),
        ball=times[PreparationKind.BALLS],
        shuttle=times[PreparationKind.SHUTTLES],
        warp=times[PreparationKind.WARP],
        hours_all=sum(item.planned * times[item.kind].hours(item.each_g) for item in items),
        hours_left=sum(item.left * times[item.kind].hours(item.each_g) for item in items),
        hours_noted=math.fsum(entry.hours or 0.0 for entry in preparations),
    )
