"""What to wind before weaving: balls for every colour and weaver, shuttles, the hours it takes, what is ticked off."""

from __future__ import annotations

import math
from dataclasses import dataclass

from tracker.domain import defaults
from tracker.domain.rug import Lot, Preparation, PreparationKind, Yarn
from tracker.words import _, n_

_GRAIN = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class LotShare:
    """One dye lot of one colour, shared equally by the weavers."""

    dye_lot: str
    bought: bool
    """False for yarn that is still to be bought."""
    mass_g: float
    """What the rug takes of this lot."""
    balls_per_weaver: int
    balls: int
    ball_g: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BallLine:
    """Balls to wind of one colour."""

    yarn_id: str
    number: int
    name: str
    swatch: str
    weavers: int
    balls: int
    balls_per_weaver: int
    lots: tuple[LotShare, ...]
    wound_g: float
    """Mass in all the balls; never below the need."""
    diameter_mm: float
    """Of one full ball."""
    balls_per_skein: int
    """Full balls from one skein, at least 1."""
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ShuttleLine:
    """Shuttles to make of one weft."""

    yarn_id: str
    number: int
    name: str
    shuttles: int
    shuttle_g: float
    rows_per_shuttle: float


def full_ball_g(yarn: Yarn | None) -> float:
    """Return the grams on a full ball of a yarn; usual ones where nobody said."""
    return yarn.unit_mass_g if yarn is not None and yarn.unit_mass_g > 0 else float(defaults.BALL_G)


def ball_diameter_mm(mass_g: float, fibre_density_g_cm3: float) -> float:
    """Return the diameter of a hand-wound ball in mm: a sphere of yarn with air between."""
    volume_cm3 = mass_g / (fibre_density_g_cm3 * defaults.BALL_PACKING)
    return 10.0 * (6.0 * volume_cm3 / math.pi) ** (1.0 / 3.0)


def balls_of_lot(mass_g: float, weavers: int, full_ball_g: float) -> tuple[int, float]:
    """Return (balls for each weaver, g on each) so that all weavers get the same of a lot of `mass_g`.

    Balls are as full as equal sharing lets them be, never fuller than `full_ball_g`; weavers x balls x g covers
    `mass_g`. The mass on a ball is rounded up to a tenth of a gram.
    """
    if mass_g <= 0:
        return 0, 0.0
    each = math.ceil(mass_g / (weavers * full_ball_g) - _GRAIN)
    each = max(each, 1)
    exact_g = mass_g / (weavers * each)
    return each, max(exact_g, min(full_ball_g, math.ceil(10.0 * exact_g - _GRAIN) / 10.0))


def ball_line(
    yarn: Yarn,
    need_g: float,
    lots: tuple[Lot, ...],
    weavers: int,
    fibre_density_g_cm3: float,
) -> BallLine:
    """Return the balls of one colour for weavers who sit side by side.

    Parameters
    ----------
    yarn
        Its `unit_mass_g` is a full ball.
    need_g
        What the whole rug needs.
    lots
        Lots bought, in the order of their use. What they do not cover counts as one lot still to be bought.
    weavers
        Weavers side by side; each gets the same number of balls from every lot, so that a change of lot, if there
        must be one, runs across the whole width at the same row instead of standing beside itself.
    """
    full_g = full_ball_g(yarn)
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
    shares = []
    for dye_lot, bought, mass_g in parts:
        each, ball_g = balls_of_lot(mass_g, weavers, full_g)
        shares.append(
            LotShare(
                dye_lot=dye_lot,
                bought=bought,
                mass_g=mass_g,
                balls_per_weaver=each,
                balls=each * weavers,
                ball_g=ball_g,
            )
        )
    balls = sum(share.balls for share in shares)
    if weavers > 1:
        sentence = _("{balls} balls, {each} for each of {weavers} weavers.").format(
            balls=balls, each=balls // weavers, weavers=weavers
        )
    else:
        sentence = n_("{balls} ball.", "{balls} balls.", balls).format(balls=balls)
    return BallLine(
        yarn_id=yarn.id,
        number=yarn.number,
        name=yarn.name,
        swatch=yarn.swatch,
        weavers=weavers,
        balls=balls,
        balls_per_weaver=balls // weavers,
        lots=tuple(shares),
        wound_g=sum(share.balls * share.ball_g for share in shares),
        diameter_mm=ball_diameter_mm(
            max((share.ball_g for share in shares), default=full_g), fibre_density_g_cm3
        ),
        balls_per_skein=max(1, int(yarn.skein_g / full_g + _GRAIN)),
        sentence=sentence,
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
        rows_per_shuttle=rows / shuttles if shuttles else 0.0,
    )


# --- hours ---------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnTime:
    """Hours that one piece of preparation takes, and whether the weaver's own records say so."""

    hours_each: float
    own: bool
    records: int
    """Own records with hours."""


def own_time(preparations: tuple[Preparation, ...], kind: PreparationKind, default_hours: float) -> OwnTime:
    """Return the hours for one ball, shuttle or warp: the weaver's own mean once enough are noted, else the default."""
    noted = [
        entry for entry in preparations if entry.kind is kind and entry.hours is not None and entry.count > 0
    ]
    if len(noted) < defaults.OWN_TIMES_NEEDED:
        return OwnTime(hours_each=float(default_hours), own=False, records=len(noted))
    hours = sum(entry.hours or 0.0 for entry in noted)
    return OwnTime(hours_each=hours / sum(entry.count for entry in noted), own=True, records=len(noted))


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


def preparation_plan(
    preparations: tuple[Preparation, ...],
    balls: tuple[BallLine, ...],
    shuttles: tuple[ShuttleLine, ...],
    warp: WarpToMount,
    earlier: tuple[Preparation, ...] = (),
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
    """

    def done(kind: PreparationKind, yarn_id: str | None) -> int:
        return sum(
            entry.count
            for entry in preparations
            if entry.kind is kind and (yarn_id is None or entry.yarn_id == yarn_id)
        )

    items = [
        CheckItem(
            kind=PreparationKind.WARP,
            yarn_id=None,
            name=_("Warp of {warps} threads").format(warps=warp.threads),
            planned=1,
            done=max(int(warp.mounted), done(PreparationKind.WARP, None)),
        )
    ]
    if not warp.threads:
        items = []
    for kind, lines in ((PreparationKind.BALLS, balls), (PreparationKind.SHUTTLES, shuttles)):
        for line in lines:
            planned = line.balls if isinstance(line, BallLine) else line.shuttles
            if planned:
                items.append(
                    CheckItem(
                        kind=kind,
                        yarn_id=line.yarn_id,
                        name=line.name,
                        planned=planned,
                        done=done(kind, line.yarn_id),
                    )
                )
    everything = earlier + preparations
    times = {
        PreparationKind.BALLS: own_time(everything, PreparationKind.BALLS, defaults.HOURS_PER_BALL),
        PreparationKind.SHUTTLES: own_time(everything, PreparationKind.SHUTTLES, defaults.HOURS_PER_SHUTTLE),
        PreparationKind.WARP: own_time(everything, PreparationKind.WARP, warp_hours(warp.threads)),
    }
    return PreparationPlan(
        items=tuple(items),
        ball=times[PreparationKind.BALLS],
        shuttle=times[PreparationKind.SHUTTLES],
        warp=times[PreparationKind.WARP],
        hours_all=sum(item.planned * times[item.kind].hours_each for item in items),
        hours_left=sum(item.left * times[item.kind].hours_each for item in items),
        hours_noted=math.fsum(entry.hours or 0.0 for entry in preparations),
    )
