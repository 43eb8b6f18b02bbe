"""What to buy of each yarn: whole skeins, a margin, the least purchase, what is there already, and its dye lots."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from statistics import NormalDist

from tracker.domain.defaults import ENOUGH_FROM, LEAST_RESERVE, ORDER_CHANCE, TEN_PERCENT_POINT
from tracker.domain.dye_lots import marks_of
from tracker.domain.gathered import gathered_of
from tracker.domain.need import is_in_rug
from tracker.domain.rug import Lot, Role, RugBook, Yarn
from tracker.domain.shared_warp import SharedWarp, warp_of
from tracker.words import _, mass, one_after_another

_GRAIN = 1e-9
"""Skeins; keeps a sum that is whole but for rounding from costing another skein."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BuyLine:
    """One line of the shopping list. Masses in g."""

    yarn_id: str
    role: Role
    number: int
    name: str
    swatch: str
    dyer: str
    need_g: float
    need_low_g: float
    need_high_g: float
    """`need_low_g` to `need_high_g` holds eight times in ten."""
    margin_g: float
    """Bought on top of the need: the weaver's margin, of a warp or an edge at least what makes it very likely last."""
    on_hand_g: float
    to_buy_g: float
    """Whole skeins, at least the least purchase; 0 when enough is there. Of a warp that several rugs share: for all of it."""
    skeins: int
    skein_g: float
    cost: float | None
    """None where no price is given."""
    spare_g: float
    """What is left over of a rug that needs `need_g`."""
    covers_high: bool
    """Whether what is there and what is bought also covers `need_high_g`."""
    dye_lots: tuple[str, ...]
    """Dye lots on hand."""
    ask_for_lot: str
    """The dye lot to ask for, when some of it is there already."""
    warning: str
    """A sentence on dye lots, "" when one lot does it."""

    @property
    def bought(self) -> bool:
        """Whether nothing is left to buy."""
        return self.to_buy_g <= 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Shopping:
    """The shopping list, by dyer, then by kind and number."""

    lines: tuple[BuyLine, ...]

    @property
    def total_g(self) -> float:
        """Mass left to buy."""
        return sum(line.to_buy_g for line in self.lines)

    @property
    def cost(self) -> float:
        """Cost of the lines that have a price."""
        return sum(line.cost or 0.0 for line in self.lines)

    @property
    def without_price(self) -> tuple[str, ...]:
        """Names of the yarns to buy that have no price."""
        return tuple(line.name for line in self.lines if line.to_buy_g and line.cost is None)

    def by_dyer(self) -> tuple[tuple[str, tuple[BuyLine, ...]], ...]:
        """Return (dyer, lines), those without a dyer last."""
        dyers: dict[str, list[BuyLine]] = {}
        for line in self.lines:
            dyers.setdefault(line.dyer, []).append(line)
        return tuple((dyer, tuple(lines)) for dyer, lines in dyers.items())


def lots_of(book: RugBook, yarn: Yarn) -> tuple[Lot, ...]:
    """Return the lots bought of one yarn."""
    return tuple(lot for lot in book.lots if lot.yarn_id == yarn.id)


def gathered_g(book: RugBook, yarn: Yarn) -> float:
    """Return the yarn gathered for the whole rug, in g; of a warp that is bought once for several rugs, this one's share.

    Whichever rug's list it was bought from: what is there of the whole warp is shared out as the whole warp's need is.
    """
    warp = bought_once(book, yarn)
    if warp is not None:
        own = warp.of(book.plan.id)
        return 0.0 if own is None or not warp.mass_g else warp.gathered_g * own.mass_g / warp.mass_g
    return gathered_of(yarn.id, book.lots, book.spoilt, book.weighings, book.sessions)


def bought_once(book: RugBook, yarn: Yarn) -> SharedWarp | None:
    """Return the warp that a rug shares where it is bought once, as it is mounted; None for any other yarn.

    Rugs whose plans name warp yarns of different fineness buy each their own part.
    """
    if yarn.role is not Role.WARP:
        return None
    shared = warp_of(book)
    return shared if shared is not None and shared.one_yarn and shared.mass_g else None


def is_noted(book: RugBook, yarn: Yarn) -> bool:
    """Tell whether the book knows of any of a yarn: a purchase, what lay on the shelf, or what the scale said."""
    return bool(lots_of(book, yarn)) or gathered_g(book, yarn) > 0


LOOSE_G = 1.0
"""A skein of at most so many grams is no skein: the yarn is sold by the gram. 0: nobody said how it is sold."""


SKEIN_SETTING, LEAST_SETTING = "skein_g", "least_purchase_g"
"""Settings of the book, whole grams: how yarn is sold where a yarn's own line does not say."""
FILLED_IN_G = (500.0, 1000.0)
"""A skein and a least purchase that the app once filled into every yarn by itself: nobody said them."""


def says_how_sold(yarn: Yarn) -> bool:
    """Tell whether somebody said in what skeins or from what mass on a yarn is sold."""
    sold = (yarn.skein_g, yarn.least_purchase_g)
    return sold not in ((0.0, 0.0), FILLED_IN_G)


def as_sold(yarn: Yarn, settings: Mapping[str, object]) -> Yarn:
    """Return the yarn as it is sold: by its own line, else by what the weaver said once for all, else nobody knows (0)."""
    if says_how_sold(yarn):
        return yarn
    skein_g, least_g = (settings.get(key) for key in (SKEIN_SETTING, LEAST_SETTING))
    return replace(
        yarn,
        skein_g=float(skein_g) if isinstance(skein_g, int) else 0.0,
        least_purchase_g=float(least_g) if isinstance(least_g, int) else 0.0,
    )


def purchase(short_g: float, skein_g: float, least_purchase_g: float) -> tuple[int, float]:
    """Return (skeins, g) to buy where `short_g` is missing: at least the least purchase, in whole skeins.

    (0, 0) when nothing is short. Where yarn is sold by the gram, or nobody said how, no skeins and grams rounded up
    to ten.
    """
    if short_g <= 0:
        return 0, 0.0
    want_g = max(short_g, least_purchase_g)
    if skein_g <= LOOSE_G:
        return 0, max(10.0 * math.ceil(short_g / 10.0 - _GRAIN), least_purchase_g)
    skeins = math.ceil(want_g / skein_g - _GRAIN)
    return skeins, skeins * skein_g


def lasting_g(need_g: float, need_high_g: float, chance: float) -> float:
    """Return the mass of a yarn that lasts with a chance, where `need_high_g` is the high end of the range of its need."""
    if not 0 < need_g < need_high_g:
        return need_g
    sds = NormalDist().inv_cdf(chance) / TEN_PERCENT_POINT
    return need_g * (need_high_g / need_g) ** sds


def chance_to_last(mass_g: float, need_g: float, need_high_g: float) -> float:
    """Return the chance with which a mass of a yarn lasts: the inverse of `lasting_g`.

    Examples
    --------
    >>> round(chance_to_last(lasting_g(100.0, 130.0, 0.95), 100.0, 130.0), 6)
    0.95
    """
    if not 0 < need_g < need_high_g or mass_g <= 0:
        return 1.0 if mass_g >= need_g else 0.0
    return NormalDist().cdf(TEN_PERCENT_POINT * math.log(mass_g / need_g) / math.log(need_high_g / need_g))


def most_missing_g(margin: float, need_g: float, need_high_g: float, on_hand_low_g: float) -> float:
    """Return the most that is said to be missing of a yarn, in g: up to the high end of what it needs, and one reserve.

    Where little is known of a yarn its range is wide, and what makes it last with `ORDER_CHANCE` lies far beyond that range:
    a weaver who bought so much had twice what she needed.

    Parameters
    ----------
    margin
        The weaver's own reserve, as a share of the need.
    need_g, need_high_g
        What is needed, and the high end of its range.
    on_hand_low_g
        What is there at least.
    """
    return need_high_g + max(margin * need_g, LEAST_RESERVE * need_high_g) - on_hand_low_g


def enough_g(need_g: float, need_high_g: float) -> float:
    """Return the mass of a yarn used once from which on it is called enough: by its chance, or as all of its range is covered."""
    return min(lasting_g(need_g, need_high_g, ENOUGH_FROM), most_missing_g(0.0, need_g, need_high_g, 0.0))


def _extra(yarn: Yarn, margin: float, need_g: float, need_high_g: float, gathered: float) -> float:
    """Return the share of the need that is bought on top of it.

    Of a warp or an edge, used once, the weaver's margin and never less than what makes it very likely last, as the forecast
    orders every other yarn: a warp that is too short cannot be mended. `gathered` is the share of the need that is there:
    what is enough already is not topped up.
    """
    if yarn.role.row_by_row or not need_g:
        return margin
    enough = enough_g(need_g, need_high_g)
    sure = min(lasting_g(need_g, need_high_g, ORDER_CHANCE), most_missing_g(margin, need_g, need_high_g, 0.0))
    return max(margin, (enough if gathered * need_g >= enough else sure) / need_g - 1.0)


def buy_line(book: RugBook, yarn: Yarn, need_g: float, need_low_g: float, need_high_g: float) -> BuyLine:
    """Return the line of the shopping list for one yarn that the whole rug needs `need_g` of."""
    on_hand_g = gathered_g(book, yarn)
    warp = bought_once(book, yarn)
    if is_in_rug(book, yarn):
        # What hangs on the loom is not bought any more, whoever noted of what.
        margin_g, skein_g, part = 0.0, yarn.skein_g, 1.0
        skeins, to_buy_g = 0, 0.0
    elif warp is None:
        extra = _extra(yarn, yarn.margin, need_g, need_high_g, on_hand_g / need_g if need_g else 0.0)
        margin_g, skein_g, part = need_g * extra, yarn.skein_g, 1.0
        skeins, to_buy_g = purchase(need_g + margin_g - on_hand_g, skein_g, yarn.least_purchase_g)
    else:
        # One reckoning for the lists of all rugs on it: by the yarn of the rug with which it is mounted.
        first, part = warp.first.part, need_g / warp.mass_g
        extra = _extra(yarn, first.margin, need_g, need_high_g, warp.gathered_g / warp.mass_g)
        margin_g, skein_g = need_g * extra, first.skein_g
        missing_g = warp.mass_g * (1.0 + extra) - warp.gathered_g
        skeins, to_buy_g = purchase(missing_g, skein_g, first.least_purchase_g)
    short_g = need_g + margin_g - on_hand_g
    lots = lots_of(book, yarn)
    dye_lots = marks_of(lots)
    warning = ask_for = ""
    if yarn.role is Role.PILE and len(dye_lots) > 1:
        warning = _(
            "{name} comes from {many} dye lots ({lots}). They differ in shade. Use them in bands "
            "across the whole width: every weaver uses the same lot in the same row."
        ).format(name=yarn.name, many=len(dye_lots), lots=one_after_another(dye_lots))
    if yarn.role is Role.PILE and lots and to_buy_g:
        ask_for = dye_lots[-1] if dye_lots else ""
        asked = (
            _("Ask for dye lot {lot}").format(lot=ask_for)
            if ask_for
            else _("Ask for the same dye lot as before")
        )
        more = _(
            "{missing} of {name} are still missing. {asked}. If it is gone, buy all you need from "
            "one new bath."
        ).format(missing=mass(math.ceil(short_g)), name=yarn.name, asked=asked)
        warning = f"{warning} {more}".strip()
    return BuyLine(
        yarn_id=yarn.id,
        role=yarn.role,
        number=yarn.number,
        name=yarn.name,
        swatch=yarn.swatch,
        dyer=yarn.dyer,
        need_g=need_g,
        need_low_g=need_low_g,
        need_high_g=need_high_g,
        margin_g=margin_g,
        on_hand_g=on_hand_g,
        to_buy_g=to_buy_g,
        skeins=skeins,
        skein_g=skein_g,
        cost=None if yarn.price_per_kg is None else to_buy_g / 1000.0 * yarn.price_per_kg,
        spare_g=on_hand_g + part * to_buy_g - need_g,
        covers_high=on_hand_g + part * to_buy_g >= need_high_g,
        dye_lots=dye_lots,
        ask_for_lot=ask_for,
        warning=warning,
    )


def shopping_of(lines: tuple[BuyLine, ...]) -> Shopping:
    """Return the lines as a list in the order of a walk through the shops: by dyer, then kind and number."""
    kinds = list(Role)
    return Shopping(
        lines=tuple(
            sorted(
                lines,
                key=lambda line: (not line.dyer, line.dyer.casefold(), kinds.index(line.role), line.number),
            )
        )
    )
