"""The yarn shelf: what is left of every lot over all rugs, what can be given to the rug in hand, and the moves that do it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from tracker.domain import defaults
from tracker.domain.colour import ciede2000, lab_of_hex
from tracker.domain.dye_lots import DyeLot, dye_lots_of, marks_of
from tracker.domain.errors import BadEntry
from tracker.domain.lot_moves import LotMove, MovedLot, Place, holdings, moves_for
from tracker.domain.need import account_of, is_in_rug
from tracker.domain.rows import rows_to_weave
from tracker.domain.rug import Lot, Role, RugBook, RugStage, Yarn, new_id
from tracker.domain.shopping import gathered_g
from tracker.forecast.answers import TellsYarns, YarnWord
from tracker.forecast.reckon import rows_wanted
from tracker.presenters.answer_words import to_buy_words, yarn_code
from tracker.presenters.doubts import Doubt
from tracker.presenters.dye_lots import marked_words, told_g
from tracker.words import (
    _,
    mass,
    n_,
    number,
    one_after_another,
    plainly,
    shown_difference_g,
    shown_g,
    shown_sum_g,
)

LEAST_SHOWN_G = 1.0
"""Less than a gram is no yarn to look for."""


@dataclass(frozen=True, slots=True)
class YarnPart:
    """Yarn of one dye lot at one place."""

    yarn: Yarn
    """As the rug it was bought for calls it."""
    mark: str
    place: Place
    rug_name: str
    """"" on the shelf."""
    mass_g: float
    free: bool
    """On the shelf, or left over from a finished rug."""
    lots: tuple[tuple[str, float], ...]
    """Lots it is of, with what their place holds of each by the book, first bought first."""
    said_g: float | None = None
    """The same as the yarn's own page says it, where its lots make what is on hand of it; None: as it is."""

    @property
    def told_g(self) -> float:
        """Grams as they are told."""
        return self.mass_g if self.said_g is None else self.said_g

    @property
    def key(self) -> tuple[Place, str, str]:
        """What tells it from other parts."""
        return self.place, self.yarn.id, self.mark


@dataclass(frozen=True, slots=True)
class ShelfStock:
    """What the shelf's page is made of: every part of every lot."""

    parts: tuple[YarnPart, ...]
    rugs: tuple[tuple[RugBook, TellsYarns], ...] = ()
    """The rugs that are not finished, to which yarn can be given."""


def left_g(book: RugBook, answers: TellsYarns, yarn: Yarn) -> float:
    """Return what is left of a yarn in g, by the one sum: on hand by the forecast, or gathered less what the rug took."""
    answer = next((one for one in answers.yarns if one.yarn_id == yarn.id), None)
    if answer is not None:
        return 0.0 if answer.word is YarnWord.NOT_BOUGHT else answer.on_hand_g
    there_g = gathered_g(book, yarn)
    if not is_in_rug(book, yarn):
        return there_g
    need = account_of(book, rows_to_weave(book, rows_wanted(book))).of(yarn.id)
    return max(0.0, there_g - (0.0 if need is None else need.need_g))


def _by_dye_lot(book: RugBook, answers: TellsYarns, yarn: Yarn) -> tuple[tuple[DyeLot, float], ...]:
    """Return what is left of each dye lot of a yarn; what no forecast parts is of the lots bought last."""
    dye_lots = dye_lots_of([lot for lot in book.lots if lot.yarn_id == yarn.id])
    answer = next((one for one in answers.yarns if one.yarn_id == yarn.id), None)
    if answer is not None and answer.lots is not None:
        stocks = {stock.lot_id: stock.on_hand_g for stock in answer.lots.stocks}
        return tuple((one, stocks.get(one.lot_id, 0.0)) for one in dye_lots)
    rest = left_g(book, answers, yarn)
    parts = []
    for one in reversed(dye_lots):
        part_g = min(rest, max(0.0, one.mass_g))
        parts.append((one, part_g))
        rest -= part_g
    return tuple(reversed(parts))


def shelf_stock(
    rugs: Sequence[tuple[RugBook, TellsYarns]],
    lots: Sequence[Lot],
    moves: Sequence[LotMove],
    yarns: Iterable[Yarn],
) -> ShelfStock:
    """Gather every part of every lot.

    Parameters
    ----------
    rugs
        Every rug with its answers.
    lots, moves, yarns
        All of the book, as they were entered.
    """
    held = holdings(lots, moves)
    by_id = {lot.id: lot for lot in lots}
    named = {yarn.id: yarn for yarn in yarns}
    parts: list[YarnPart] = []

    def held_of(place: Place, lot_ids: Iterable[str]) -> tuple[tuple[str, float], ...]:
        there = held.get(place, {})
        return tuple((lot_id, there[lot_id]) for lot_id in lot_ids if there.get(lot_id, 0.0) > 0)

    for book, answers in rugs:
        free = book.plan.stage is RugStage.FINISHED
        moved_in = {move.id: move.lot_id for move in moves}
        lots_answers = {one.yarn_id: one.lots for one in answers.yarns if one.lots is not None}
        for yarn in book.yarns:
            place = (book.plan.id, yarn.id)
            told = told_g(lots_answers[yarn.id].stocks) if yarn.id in lots_answers else {}
            for dye_lot, mass_g in _by_dye_lot(book, answers, yarn):
                ids = (
                    moved_in.get(lot.move_id, lot.id) if isinstance(lot, MovedLot) else lot.id
                    for lot in dye_lot.lots
                )
                there = held_of(place, dict.fromkeys(ids))
                held_g = sum(grams for _lot_id, grams in there)
                said_g = told.get(dye_lot.lot_id) if mass_g <= held_g else None
                mass_g = min(mass_g, held_g)
                if mass_g >= LEAST_SHOWN_G:
                    parts.append(
                        YarnPart(yarn, dye_lot.mark, place, book.plan.name, mass_g, free, there, said_g)
                    )
    on_shelf: dict[tuple[str, str], list[Lot]] = {}
    for lot_id, grams in held.get(None, {}).items():
        lot = by_id[lot_id]
        if grams > 0 and lot.yarn_id in named:
            on_shelf.setdefault((lot.yarn_id, lot.dye_lot.strip()), []).append(lot)
    for (yarn_id, mark), same in on_shelf.items():
        there = held_of(None, [lot.id for lot in same])
        parts.append(
            YarnPart(named[yarn_id], mark, None, "", sum(grams for _lot_id, grams in there), True, there)
        )
    in_work = tuple(told for told in rugs if told[0].plan.stage is not RugStage.FINISHED)
    return ShelfStock(tuple(parts), in_work)


# --- what suits the rug in hand ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Match:
    """A yarn of the rug in hand for which a part would do."""

    yarn: Yarn
    words: str
    """How near the shades are."""
    wants_g: float
    """What is still to be bought of it."""
    short_g: float
    """By how much what is on hand misses what is needed; 0 where it does not, or nobody can say."""
    other_lots: tuple[str, ...] = ()
    """Dye lots of it that are there already and differ."""
    away: float = 0.0
    """How far the two yarns are apart: pile by CIEDE2000, the rest by `fineness_apart`."""


ANOTHER_FINENESS = 0.25
"""Yarns for the foundation whose mass a length differs by more of the thinner are not offered for one another (our own choice)."""


def fineness_apart(one: Yarn, other: Yarn) -> float:
    """Return by what share of the thinner one two yarns differ in mass a length; where nobody said, by name: the same 0, else 1."""
    if one.tex <= 0 or other.tex <= 0:
        return 0.0 if one.name.casefold() == other.name.casefold() else 1.0
    return max(one.tex, other.tex) / min(one.tex, other.tex) - 1.0


def near_words(delta_e: float) -> str:
    """Say how near two shades are."""
    if delta_e <= defaults.SAME_DELTA_E:
        return _("the same shade on the screen")
    return _("a near shade; hold them together in daylight")


def matches(part: YarnPart, book: RugBook, answers: TellsYarns) -> tuple[Match, ...]:
    """Return the yarns of a rug for which a part would do, the nearest shade first: pile by CIEDE2000, the rest by use.

    What is needed once and is in the rug, such as the warp of one that is warped, takes no more.
    """
    if book.plan.stage is RugStage.FINISHED:
        return ()
    near: list[tuple[float, Match]] = []
    lab = lab_of_hex(part.yarn.swatch)
    for yarn in book.yarns:
        if yarn.role is not part.yarn.role or part.place == (book.plan.id, yarn.id) or is_in_rug(book, yarn):
            continue
        delta_e = float(ciede2000(lab, lab_of_hex(yarn.swatch))) if yarn.role is Role.PILE else 0.0
        if delta_e > defaults.NAME_DELTA_E:
            continue
        away = delta_e if yarn.role is Role.PILE else fineness_apart(part.yarn, yarn)
        words = near_words(delta_e) if yarn.role is Role.PILE else ""
        there = marks_of([lot for lot in book.lots if lot.yarn_id == yarn.id])
        others = tuple(mark for mark in there if mark != part.mark) if yarn.role is Role.PILE else ()
        answer = next((one for one in answers.yarns if one.yarn_id == yarn.id), None)
        bought = answer is not None and answer.word is not YarnWord.NOT_BOUGHT
        # As every page says it: what is needed less what is on hand, as both are said.
        short_g = (
            max(0.0, shown_difference_g(answer.needed_g, answer.on_hand_g))
            if answer is not None and bought
            else 0.0
        )
        near.append((away, Match(yarn, words, wants_g(book, answers, yarn), short_g, others, away)))
    return tuple(match for _away, match in sorted(near, key=lambda one: (one[0], one[1].yarn.number)))


def takers(stock: ShelfStock, part: YarnPart, in_hand: str) -> tuple[tuple[RugBook, Match], ...]:
    """Return the rugs with the yarn for which a part would do: those that still want some first, of them the rug in hand."""
    fitting = [(book, match) for book, answers in stock.rugs for match in matches(part, book, answers)]
    return tuple(sorted(fitting, key=lambda taker: (taker[1].wants_g <= 0, taker[0].plan.id != in_hand)))


def no_taker_words(part: YarnPart) -> str:
    """Say why no rug is named to which a part could go."""
    if part.yarn.role is Role.PILE:
        return _("No yarn of the other rugs has a shade near it.")
    return _("No other rug takes any more of it.")


def wants_g(book: RugBook, answers: TellsYarns, yarn: Yarn) -> float:
    """Return what is still missing of a yarn, in g, rounded up to a gram."""
    answer = next((one for one in answers.yarns if one.yarn_id == yarn.id), None)
    if answer is not None:
        return max(answer.order_g, answer.short_g)
    need = account_of(book, rows_to_weave(book, rows_wanted(book))).of(yarn.id)
    if need is None or is_in_rug(book, yarn):
        return 0.0
    return max(0.0, need.need_g * (1.0 + yarn.margin) - gathered_g(book, yarn))


def missing_g(book: RugBook, answers: TellsYarns, yarn: Yarn) -> float:
    """Return what must come of a yarn so that it lasts, in whole g: what is at hand need not come in whole skeins."""
    answer = next((one for one in answers.yarns if one.yarn_id == yarn.id), None)
    if answer is None or not answer.want_g:
        return wants_g(book, answers, yarn)
    return math.ceil(max(answer.want_g, answer.short_g))


def give(part: YarnPart, to: Place, mass_g: float, today: date) -> tuple[LotMove, ...]:
    """Return the moves that bring grams of a part to another place: one of each lot it is of.

    Raises
    ------
    BadEntry
        There is not so much of it.
    """
    if mass_g > max(part.mass_g, part.told_g) + 0.5:
        raise BadEntry(_("Only {mass} of it are there.").format(mass=mass(part.told_g)))
    grams = dict(part.lots)
    source = part.place or (None, None)
    target = to or (None, None)
    return tuple(
        LotMove(
            id=new_id(), lot_id=lot_id, day=today, mass_g=part_g, from_rug_id=source[0], from_yarn_id=source[1],
            to_rug_id=target[0], to_yarn_id=target[1],
        )
        for lot_id, part_g in moves_for(grams, grams, min(mass_g, part.mass_g))
        if part_g >= LEAST_MOVED_G
    )  # fmt: skip


LEAST_MOVED_G = 0.1
"""What is left over of a lot below this is not moved."""


# --- the page ------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class PartLine:
    """One part on the page."""

    part: YarnPart
    head: str
    amount: str
    note: str


@dataclass(frozen=True, slots=True)
class ShadeGroup:
    """Parts of one yarn."""

    name: str
    swatch: str
    number: str
    free: str
    """What of it is free; "" when nothing is."""
    lines: tuple[PartLine, ...]


@dataclass(frozen=True, slots=True)
class Fold:
    """Parts that one line stands for until it is tapped: free yarn of one shade, or all that lies in one rug."""

    key: str
    """What tells it from the others."""
    name: str
    amount: str
    note: str
    """How many parts."""
    swatch: tuple[str, str] | None
    """Colour and number of its one shade; None where it holds several."""
    groups: tuple[ShadeGroup, ...]


@dataclass(frozen=True, slots=True)
class YarnShelfState:
    """The page."""

    headline: str
    free: tuple[ShadeGroup | Fold, ...]
    """By shade: whoever looks for yarn looks for a colour."""
    given: tuple[ShadeGroup | Fold, ...]
    """By shade too; where they are many, by rug."""
    empty: str


def part_line(part: YarnPart) -> PartLine:
    """Return one part in words."""
    if part.place is None:
        where = _("on the shelf")
    elif part.free:
        where = _("left over from {rug}").format(rug=part.rug_name)
    else:
        where = _("in {rug}").format(rug=part.rug_name)
    head = marked_words(part.mark) if part.mark else _("no dye lot noted")
    return PartLine(part, head[:1].upper() + head[1:], mass(part.told_g), where)


def _groups(parts: Iterable[YarnPart]) -> tuple[ShadeGroup, ...]:
    order = list(Role)
    by_shade: dict[tuple[int, str, str], list[YarnPart]] = {}
    for part in parts:
        key = (order.index(part.yarn.role), part.yarn.name.casefold(), part.yarn.swatch.upper())
        by_shade.setdefault(key, []).append(part)
    groups = []
    for _key, same in sorted(by_shade.items()):
        yarn = same[0].yarn
        free_g = shown_sum_g(part.told_g for part in same if part.free)
        lines = sorted(same, key=lambda part: (part.place is not None, -part.mass_g))
        groups.append(
            ShadeGroup(
                yarn.name,
                yarn.swatch,
                yarn_code(yarn),
                mass(free_g) if free_g and len(same) > 1 else "",
                tuple(part_line(part) for part in lines),
            )
        )
    return tuple(groups)


MOST_OPEN = 24
"""Parts that stand below each other at once; of more, those that belong together are folded (our own choice)."""


MOST_UNFOLDED = 48
"""Parts unfolded at once: with many more of them each frame lays out thousands of widgets (our own choice)."""


def unfolded_then(state: YarnShelfState, unfolded: Sequence[str], turned: str) -> tuple[str, ...]:
    """Return which folds stand open once one was turned, the one unfolded last at the end.

    Those unfolded before stay, so that nothing moves above the key that was tapped; of too many the first is folded.

    Parameters
    ----------
    unfolded
        The keys of those that stand open, in the order in which they were unfolded.
    turned
        The key of the one that was tapped.
    """
    many = {
        one.key: sum(len(group.lines) for group in one.groups)
        for one in (*state.free, *state.given)
        if isinstance(one, Fold)
    }
    open_now = [key for key in unfolded if key in many and key != turned]
    if turned in unfolded or turned not in many:
        return tuple(open_now)
    while open_now and sum(many[key] for key in open_now) + many[turned] > MOST_UNFOLDED:
        open_now.pop(0)
    return (*open_now, turned)


def _fold(key: str, name: str, swatch: tuple[str, str] | None, groups: tuple[ShadeGroup, ...]) -> Fold:
    parts = [line.part for group in groups for line in group.lines]
    note = n_("{count} lot", "{count} lots", len(parts)).format(count=number(len(parts)))
    return Fold(key, name, mass(shown_sum_g(part.told_g for part in parts)), note, swatch, groups)


def _by_shade(parts: Iterable[YarnPart]) -> tuple[ShadeGroup | Fold, ...]:
    """Fold each shade of which there are several parts."""

    def told(group: ShadeGroup) -> ShadeGroup | Fold:
        if len(group.lines) == 1:
            return group
        yarn = group.lines[0].part.yarn
        key = f"{yarn.role.value} {yarn.name.casefold()} {yarn.swatch.upper()}"
        return _fold(key, group.name, (group.swatch, group.number), (group,))

    return tuple(told(group) for group in _groups(parts))


def _by_rug(parts: Iterable[YarnPart]) -> tuple[ShadeGroup | Fold, ...]:
    """Fold what lies in each rug, in the order of the rugs; a part that is its rug's only one stands open."""
    by_rug: dict[str, list[YarnPart]] = {}
    for part in parts:
        by_rug.setdefault(part.place[0] if part.place else "", []).append(part)
    told: list[ShadeGroup | Fold] = []
    for rug_id, same in by_rug.items():
        groups = _groups(same)
        if len(same) == 1:
            told += groups
        else:
            told.append(_fold(f"rug {rug_id}", same[0].rug_name, None, groups))
    return tuple(told)


SEARCH_FROM = 8
"""Parts from which on they are more than a screenful, and can be searched."""


def can_search(stock: ShelfStock) -> bool:
    """Return whether there is more yarn than is seen at once."""
    return len(stock.parts) >= SEARCH_FROM


def searched(stock: ShelfStock, sought: str) -> ShelfStock:
    """Return the parts of which each word sought is in what their card says: name, dye lot, place."""
    wanted = plainly(sought).split()
    found = []
    for part in stock.parts:
        line = part_line(part)
        said = plainly(f"{part.yarn.name} {line.head} {line.note}")
        if all(word in said for word in wanted):
            found.append(part)
    return replace(stock, parts=tuple(found))


def build_yarn_shelf_state(stock: ShelfStock) -> YarnShelfState:
    """Turn the stock into the page."""
    free = [part for part in stock.parts if part.free]
    given = [part for part in stock.parts if not part.free]
    free_g = shown_sum_g(part.told_g for part in free)
    headline = _("Nothing is free.") if given else ""
    if free:
        headline = _("{mass} free").format(mass=mass(free_g))
    empty = ""
    if not stock.parts:
        empty = _(
            "Yarn left over from finished rugs comes here by itself. You can put yarn of a rug back "
            "here too. From here you give it to the next rug."
        )
    if len(stock.parts) <= MOST_OPEN:
        return YarnShelfState(headline, _groups(free), _groups(given), empty)
    return YarnShelfState(headline, _by_shade(free), _by_rug(given), empty)


def match_words(match: Match, rug_name: str) -> str:
    """Say how a part suits a yarn of a rug, and how much that yarn still wants."""
    words = [_("{yarn} of {rug}").format(yarn=match.yarn.name, rug=rug_name), match.words]
    if match.short_g > 0:
        words.append(_("short {mass}").format(mass=mass(match.short_g)))
    elif match.wants_g > 0:
        words.append(to_buy_words(match.wants_g))
    else:
        words.append(_("it has enough"))
    if match.other_lots:
        words.append(
            n_(
                "its dye lot {lots} may differ",
                "its dye lots {lots} may differ",
                len(match.other_lots),
            ).format(lots=one_after_another(match.other_lots))
        )
    return _("{told}.").format(told="; ".join(word for word in words if word))


def offers_for(stock: ShelfStock, book: RugBook, answers: TellsYarns) -> dict[str, tuple[YarnPart, ...]]:
    """Return for each yarn of a rug that is still missing some, the free parts that would do.

    The same yarn comes first (the fineness, the name, the shade), then the most of it. A weft or warp of another fineness is
    not offered.
    """
    offers: dict[str, list[tuple[bool, bool, float, YarnPart]]] = {}
    for part in stock.parts:
        if not part.free:
            continue
        for match in matches(part, book, answers):
            pile = match.yarn.role is Role.PILE
            if match.wants_g <= 0 or (not pile and match.away > ANOTHER_FINENESS):
                continue
            far = match.away > float(defaults.SAME_DELTA_E) if pile else match.away > 0
            named = part.yarn.name.casefold() == match.yarn.name.casefold()
            offers.setdefault(match.yarn.id, []).append((far, not named, -part.mass_g, part))
    return {
        yarn_id: tuple(part for *_order, part in sorted(parts, key=lambda one: one[:3]))
        for yarn_id, parts in offers.items()
    }


def taken_from_shelf(
    offers: Mapping[str, Sequence[YarnPart]], book: RugBook, answers: TellsYarns, today: date
) -> tuple[LotMove, ...]:
    """Return the moves that bring to each yarn what it is missing, as far as the very same yarn lies on the shelf.

    Pile of the same shade and of one dye lot alone, not beside another that is there already; whatever else of the same
    fineness. No part is given twice.
    """
    left = {part.key: part.mass_g for parts in offers.values() for part in parts}
    moves: list[LotMove] = []
    for yarn in book.yarns:
        wanted_g = missing_g(book, answers, yarn)
        for part in offers.get(yarn.id, ()):
            match = next((one for one in matches(part, book, answers) if one.yarn.id == yarn.id), None)
            pile = yarn.role is Role.PILE
            if match is None or match.away > (float(defaults.SAME_DELTA_E) if pile else ANOTHER_FINENESS):
                continue
            if match.other_lots:
                continue
            grams = min(left[part.key], wanted_g)
            if grams < LEAST_SHOWN_G:
                continue
            moves += give(part, (book.plan.id, yarn.id), grams, today)
            left[part.key] -= grams
            wanted_g -= grams
            if pile:
                break
    return tuple(moves)


def taken_words(moves: Sequence[LotMove]) -> str:
    """Say what was taken from the shelf for a rug."""
    yarns = len({move.to_yarn_id for move in moves})
    return n_(
        "{count} yarn taken from the shelf, {mass}.", "{count} yarns taken from the shelf, {mass}.", yarns
    ).format(count=number(yarns), mass=mass(sum(move.mass_g for move in moves)))


def offer_words(parts: Sequence[YarnPart]) -> str:
    """Say on the shopping list what lies on the shelf for a yarn."""
    first = parts[0]
    said = _("{mass} of {name}").format(mass=mass(first.told_g), name=first.yarn.name)
    if first.mark:
        said += ", " + marked_words(first.mark)
    if len(parts) > 1:
        said = n_("{first} and {count} more", "{first} and {count} more", len(parts) - 1).format(
            first=said, count=number(len(parts) - 1)
        )
    return _("On the shelf: {what}.").format(what=said)


def doubt_of_giving(stock: ShelfStock, part: YarnPart, grams: float) -> Doubt | None:
    """Return what is asked before yarn leaves a rug that still needs it; None where it can spare so much."""
    for book, answers in stock.rugs:
        answer = next((one for one in answers.yarns if part.place == (book.plan.id, one.yarn_id)), None)
        if answer is None:
            continue
        missing_g = shown_difference_g(answer.needed_g, max(answer.on_hand_g - grams, 0.0))
        if shown_g(missing_g) <= 0:
            return None
        question = _(
            "{rug} still needs {needed} of {name} and has {on_hand}. Without these {grams} it is short {missing}."
        ).format(
            rug=book.plan.name, needed=mass(answer.needed_g), name=part.yarn.name, on_hand=mass(answer.on_hand_g),
            grams=mass(grams), missing=mass(missing_g),
        )  # fmt: skip
        return Doubt(question, _("Move it all the same"), _("No, change it"))
    return None


def given_words(moves: Sequence[LotMove], part: YarnPart, to: str) -> str:
    """Say what was moved where; `to` is a rug's name, "" for the shelf."""
    grams = mass(sum(move.mass_g for move in moves))
    if not to:
        return _("{mass} of {name} put on the shelf.").format(mass=grams, name=part.yarn.name)
    return _("{mass} of {name} given to {to}.").format(mass=grams, name=part.yarn.name, to=to)
