"""Yarn moved between rugs and the shelf: the record of a move, and what each place holds of a lot.

A move says that grams of a lot went from one place to another. A place is a yarn of a rug, or the shelf. What a place
gives it no longer has, and what it gives is what the other gets, so that all places together always hold what was bought.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from datetime import date

from tracker.domain.errors import BadEntry
from tracker.domain.rug import Lot, Weighing
from tracker.words import _, mass

SAME_G = 0.05
"""Less is no difference that anybody weighs."""
Place = tuple[str, str] | None
"""A rug's id and the id of its yarn; None: the shelf."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LotMove:
    """Grams of a lot moved from one place to another; a rug and its yarn None: the shelf."""

    id: str
    lot_id: str
    day: date
    mass_g: float
    from_rug_id: str | None = None
    from_yarn_id: str | None = None
    to_rug_id: str | None = None
    to_yarn_id: str | None = None
    born: int = 0

    @property
    def source(self) -> Place:
        """Where it came from."""
        return _place(self.from_rug_id, self.from_yarn_id)

    @property
    def target(self) -> Place:
        """Where it went."""
        return _place(self.to_rug_id, self.to_yarn_id)


def _place(rug_id: str | None, yarn_id: str | None) -> Place:
    return None if rug_id is None or yarn_id is None else (rug_id, yarn_id)


@dataclass(frozen=True, slots=True, kw_only=True)
class MovedLot(Lot):
    """A lot's part that came to a yarn by a move, or left it: then `mass_g` and `price` are below zero."""

    move_id: str
    other: Place
    """Where it came from, or went."""


@dataclass(frozen=True, slots=True)
class Counted:
    """A move as far as the place it is from had so much."""

    move: LotMove
    lot: Lot
    mass_g: float


def counted(lots: Iterable[Lot], moves: Iterable[LotMove]) -> tuple[Counted, ...]:
    """Return what each move moves, in the order of day, then of entry.

    Notes
    -----
    Two phones may each have given the same skein away before they met. The move that comes first by day and entry is
    served first, the next gets what is left, on every phone alike; moves of a lot that is not in the book move nothing.
    """
    by_id = {lot.id: lot for lot in lots}
    held: dict[tuple[str, Place], float] = {
        (lot.id, (lot.rug_id, lot.yarn_id)): lot.mass_g for lot in by_id.values()
    }
    served = []
    for move in sorted(moves, key=lambda move: (move.day, move.born, move.id)):
        lot = by_id.get(move.lot_id)
        if lot is None or move.source == move.target:
            continue
        mass_g = min(move.mass_g, held.get((lot.id, move.source), 0.0))
        if mass_g <= 0:
            continue
        held[lot.id, move.source] -= mass_g
        held[lot.id, move.target] = held.get((lot.id, move.target), 0.0) + mass_g
        served.append(Counted(move, lot, mass_g))
    return tuple(served)


def refuse_less_than_moved(
    lots: Iterable[Lot], moves: Iterable[LotMove], changed: Mapping[str, object]
) -> None:
    """Check that a change leaves every other move what it moved: else yarn would vanish from another rug without a word.

    Parameters
    ----------
    lots, moves
        Those of the whole book as they stand, the lots as they were bought.
    changed
        What lots and moves become, by their id; None: withdrawn. Others in it are passed over.

    Raises
    ------
    BadEntry
        With a sentence, when a move would get less.
    """
    lots, moves = tuple(lots), tuple(moves)
    lots_then = {lot.id: lot for lot in lots}
    moves_then = {move.id: move for move in moves}
    for record_id, value in changed.items():
        if isinstance(value, LotMove):
            moves_then[record_id] = value
        elif isinstance(value, Lot):
            lots_then[record_id] = value
        elif value is None:
            lots_then.pop(record_id, None)
            moves_then.pop(record_id, None)
    then = {one.move.id: one.mass_g for one in counted(lots_then.values(), moves_then.values())}
    short = [
        one
        for one in counted(lots, moves)
        if one.move.id not in changed and then.get(one.move.id, 0.0) < one.mass_g - SAME_G
    ]
    if not short:
        return
    lot = short[0].lot
    if lot.id not in changed:
        raise BadEntry(_("This yarn was moved on. Delete the later move first."))
    if changed[lot.id] is None:
        raise BadEntry(
            _("Yarn of this purchase was moved to another rug or the shelf. Delete that move first.")
        )
    moved = mass(sum(one.mass_g for one in counted(lots, moves) if one.lot.id == lot.id))
    raise BadEntry(
        _(
            "{mass} of this purchase was moved to another rug or the shelf, so the purchase cannot "
            "be smaller. Delete that move first."
        ).format(mass=moved)
    )


def holdings(lots: Iterable[Lot], moves: Iterable[LotMove]) -> dict[Place, dict[str, float]]:
    """Return the grams of each lot (by its id) that every place got and did not give, used or not."""
    lots = tuple(lots)
    held: dict[Place, dict[str, float]] = {}
    for lot in lots:
        held.setdefault((lot.rug_id, lot.yarn_id), {})[lot.id] = lot.mass_g
    for moved in counted(lots, moves):
        held[moved.move.source][moved.lot.id] -= moved.mass_g
        there = held.setdefault(moved.move.target, {})
        there[moved.lot.id] = there.get(moved.lot.id, 0.0) + moved.mass_g
    return held


def _part(moved: Counted, place: tuple[str, str], other: Place, sign: float) -> MovedLot:
    """Return what a move brings to a place or, with a sign below zero, takes from it: all that its lot says, but for the mass."""
    lot, move = moved.lot, moved.move
    said = {field.name: getattr(lot, field.name) for field in fields(Lot)}
    part = {
        "id": move.id if sign > 0 else f"{move.id}:out",
        "rug_id": place[0],
        "yarn_id": place[1],
        "day": move.day,
        "mass_g": sign * moved.mass_g,
        "price": None if lot.price is None else sign * moved.mass_g / lot.mass_g * lot.price,
        # The whole lot lay on the scale, not this part.
        "weighed_g": None,
        "regain": None,
        "born": move.born,
    }
    return MovedLot(**(said | part), move_id=move.id, other=other)


def lots_of_rug(
    rug_id: str, lots: Iterable[Lot], others: Iterable[Lot], moves: Iterable[LotMove]
) -> tuple[Lot, ...]:
    """Return a rug's lots with what was moved to it and away from it, in the order of day, then of entry.

    Parameters
    ----------
    lots
        What was bought for the rug.
    others
        The lots of other rugs that the moves name.
    moves
        The moves of the whole book.

    Notes
    -----
    This is the one place where moves enter the sums: every page adds up the masses of a rug's lots.
    """
    own = tuple(lots)
    parts: list[Lot] = list(own)
    for moved in counted((*own, *others), moves):
        for place, other, sign in (
            (moved.move.source, moved.move.target, -1.0),
            (moved.move.target, moved.move.source, 1.0),
        ):
            if place is None or place[0] != rug_id:
                continue
            parts.append(_part(moved, place, other, sign))
    return tuple(sorted(parts, key=lambda lot: (lot.day, lot.born, lot.id)))


@dataclass(frozen=True, slots=True)
class CameBy:
    """How the yarn of some lots came: bought for it, or moved from and to other rugs and the shelf."""

    bought_g: float
    paid: float | None
    """None: no purchase says what it cost."""
    moved_here_g: float
    moved_on_g: float
    moved_worth: float | None
    """What was paid for what was moved here, less for what was moved on; None: not known, or nothing was moved."""


def came_by(lots: Iterable[Lot]) -> CameBy:
    """Part what was bought from what was moved."""
    lots = tuple(lots)
    own = [lot for lot in lots if not isinstance(lot, MovedLot)]
    moved = [lot for lot in lots if isinstance(lot, MovedLot)]

    def money(of: list[Lot] | list[MovedLot]) -> float | None:
        said = [lot.price for lot in of if lot.price is not None]
        return float(sum(said)) if said else None

    return CameBy(
        bought_g=float(sum(lot.mass_g for lot in own)),
        paid=money(own),
        moved_here_g=float(sum(max(lot.mass_g, 0.0) for lot in moved)),
        moved_on_g=float(sum(max(-lot.mass_g, 0.0) for lot in moved)),
        moved_worth=money(moved),
    )


def weighed_lots(lots: Iterable[Lot], weighing: Weighing, lost_g: float = 0.0) -> tuple[Lot, ...]:
    """Return those lots of a yarn that were in the house at a weighing, with what was moved away by then.

    Parameters
    ----------
    lots
        All lots of the yarn in the order of day, then of entry.
    weighing
        The weighing.
    lost_g
        Yarn lost by then, in g.

    Notes
    -----
    On the day of the weighing the order of entry tells what came first, unless the scale says otherwise: while less was
    there than was weighed, what was bought that day and written down later was on the scale already.
    """
    lots = tuple(lots)
    there = [lot for lot in lots if (lot.day, lot.born) <= (weighing.day, weighing.born)]
    held_g = sum(lot.mass_g for lot in there) - lost_g
    for lot in lots:
        written_later = lot.day == weighing.day and lot.born > weighing.born
        if written_later and not isinstance(lot, MovedLot) and held_g < weighing.mass_g - SAME_G:
            there.append(lot)
            held_g += lot.mass_g
    return tuple(there)


def moves_for(
    held: Mapping[str, float], lot_ids: Iterable[str], mass_g: float
) -> tuple[tuple[str, float], ...]:
    """Return (lot id, grams) that together are `mass_g`, taken from the lots named, the last one first."""
    rest, parts = mass_g, []
    for lot_id in reversed(tuple(lot_ids)):
        part_g = min(rest, held.get(lot_id, 0.0))
        if part_g > 0:
            parts.append((lot_id, part_g))
            rest -= part_g
    return tuple(parts)
