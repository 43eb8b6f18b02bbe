"""The record of each yarn on one line of time: units tied, balls ended, weighings, purchases and losses, before anything is learnt from it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TypeVar

import numpy as np

from tracker.domain.defaults import UNPICKED_LOST
from tracker.domain.lot_moves import weighed_lots
from tracker.domain.need import Need
from tracker.domain.rug import Lot, Role, RugBook, Spoilt, UnpickedYarn, Weighing, Yarn, heights_after
from tracker.domain.weighing_answer import lost_before
from tracker.domain.winding import used_ball_g
from tracker.forecast import priors
from tracker.forecast.stats import middle_of
from tracker.forecast.strays import strayed_between

Balls = TypeVar("Balls", float, np.ndarray)


@dataclass(frozen=True, slots=True, eq=False)
class Ledger:
    """One yarn's record on one line of time: before each session and after it.

    Attributes
    ----------
    need : what the whole rug needs of the yarn, by the one account
    planned_g : planned grams a unit (a knot of pile, a row of weft)
    tied : float (sessions + 1,), units tied up to the end of each session; unpicked ones are counted where nobody said
        what became of their yarn (it is gone), and no longer where the losses say it
    wound_off : float (sessions + 1,), units whose yarn left balls and shuttles for good: those tied, and what was lost of
        unpicked ones
    ahead : float (rows + 1,), units needed from the start of the rug up to each row; the flat ends count as so many rows
    """

    need: Need
    tied: np.ndarray
    wound_off: np.ndarray
    ahead: np.ndarray
    lots: tuple[Lot, ...]
    weighings: tuple[Weighing, ...]
    spoilt: tuple[Spoilt, ...]
    ended: np.ndarray
    """float (sessions,), balls or shuttles ended in each session."""
    team: float
    tied_before: tuple[float, ...] = ()
    """Of each lot: units that were tied when it came, by day and order of entry."""
    usual_rows: float = 0.0
    """Rows of a usual session; 0 before the first."""

    @property
    def yarn(self) -> Yarn:
        """The yarn."""
        return self.need.yarn

    @property
    def used_ball_g(self) -> float:
        """Grams assumed on a ball or shuttle that ended."""
        ends = np.flatnonzero(self.ended > 0)
        # Bought up to the session in which the last one ended.
        until = float(self.tied[int(ends[-1])]) if ends.size else math.inf
        there_g = sum(
            lot.mass_g for lot, tied in zip(self.lots, self.tied_before, strict=False) if tied <= until
        )
        return used_ball_g(
            self.yarn, self.need.need_g, max(float(there_g), 0.0), round(self.team), float(self.ended.sum())
        )

    @property
    def planned_g(self) -> float:
        """Planned grams a unit."""
        return max(self.need.g_per_unit, 1e-9)

    def lost_in_lumps(self, share: float) -> float:
        """Rows: by so much a row the variance of the rows lost of those tied grows, where a share of them comes out a session at once.

        Poisson: so many times as large as the share of it that is lost of this kind of yarn (`defaults.UNPICKED_LOST`).
        """
        return share * self.usual_rows * UNPICKED_LOST["pile" if self.yarn.role is Role.PILE else "weft"]

    def units_to(self, row: float) -> float:
        """Units needed from the start of the rug up to a row, of which a part may be tied."""
        return float(units_at(self.need, self.ahead, np.array([row]))[0])

    @property
    def bought_g(self) -> float:
        """Grams bought in all, with what was moved here and without what was moved away."""
        return float(sum(lot.mass_g for lot in self.lots))

    @property
    def spoilt_g(self) -> float:
        """Grams spoilt in all."""
        return float(sum(loss.mass_g for loss in self.spoilt))


def units_at(need: Need, ahead: np.ndarray, rows: np.ndarray) -> np.ndarray:
    """Units needed from the start of the rug up to each of `rows`, whose last may be tied in part.

    Of a part of a row the pile takes its share; the weft goes through the shed when the row is whole.
    """
    if need.yarn.role is Role.PILE:
        return np.interp(rows, np.arange(ahead.size), ahead)
    return ahead[np.clip(np.floor(rows + 1e-9), 0, ahead.size - 1).astype(int)]


def units_tied(need: Need, heights: np.ndarray, ahead: np.ndarray, again: Sequence[bool] = ()) -> np.ndarray:
    """Units tied up to the end of each session, (sessions + 1,).

    Parameters
    ----------
    need, ahead
        The yarn's need, and the units from the start of the rug up to each row.
    heights
        The rows on the loom after each session, parts of a row counted (`rug.heights_after`).
    again
        Whether the yarn of a session's unpicked rows is yarn again, as far as no loss says otherwise; where it is not,
        what was unpicked was still tied once.
    """
    after = np.minimum(heights, ahead.size - 1)
    more = np.diff(units_at(need, ahead, np.concatenate([[0.0], after])))
    back = np.array(again, dtype=bool) if len(again) else np.zeros(more.size, dtype=bool)
    return np.concatenate([[0.0], np.cumsum(np.where(back, more, np.maximum(more, 0.0)))])


def sessions_before(day: date, born: int, keys: list[tuple[date, int]]) -> int:
    """Number of sessions that came before a record of that day and birth."""
    low, high = 0, len(keys)
    while low < high:
        middle = (low + high) // 2
        if keys[middle] <= (day, born):
            low = middle + 1
        else:
            high = middle
    return low


@dataclass(frozen=True, slots=True, eq=False)
class Scale:
    """The weighings of one yarn as linear evidence: mass = book - use x tied + noise, arrays (weighings,)."""

    mass: np.ndarray
    book: np.ndarray
    tied: np.ndarray
    noise_sd: np.ndarray
    book_sd: np.ndarray
    odd_sd: np.ndarray
    """What each weighing and all after it may be off by because of something that nobody entered; 0 as a rule."""


def scale_evidence(ledger: Ledger, keys: list[tuple[date, int]], by_eye: bool = False) -> Scale | None:
    """Lay out the weighings of one yarn; None without any. `by_eye`: whether the colours' shares were taken by eye."""
    if not ledger.weighings:
        return None
    mass, book, tied, noise, book_sd = [], [], [], [], []
    for weighing in ledger.weighings:
        lost = sum(loss.mass_g for loss in ledger.spoilt if lost_before(loss, weighing))
        bought = sum(lot.mass_g for lot in weighed_lots(ledger.lots, weighing, lost))
        mass.append(weighing.mass_g)
        book.append(bought - lost)
        tied.append(float(ledger.tied[sessions_before(weighing.day, weighing.born, keys)]))
        noise.append(
            math.sqrt(
                priors.SCALE_SD_G**2
                + weighing.resolution_g**2 / 12.0
                + (priors.DAMP_SD * weighing.mass_g) ** 2
            )
        )
        book_sd.append(math.hypot(priors.LOT_SD * bought, priors.SPOILT_SD * lost))
    masses, books, ties, noises, book_sds = (np.array(one) for one in (mass, book, tied, noise, book_sd))
    went = ledger.planned_g * np.diff(ties, prepend=0.0)
    use_variance = (math.hypot(ledger.need.use_sd, ledger.need.share_sd) * went) ** 2
    if by_eye:
        whole = max(float(ledger.ahead[-1]), 1e-9)
        heights = np.concatenate([[0.0], ties / whole])
        use_variance += strayed_between(heights) * (ledger.planned_g * whole) ** 2
    odd_sd = _odd_sd(went, use_variance, masses, books, noises, book_sds)
    return Scale(masses, books, ties, noises, book_sds, odd_sd)


def _odd_sd(
    went: np.ndarray,
    use_variance: np.ndarray,
    mass: np.ndarray,
    book: np.ndarray,
    noise_sd: np.ndarray,
    book_sd: np.ndarray,
) -> np.ndarray:
    """Return what each weighing may be off by because yarn was lost or bought that nobody entered, in g, (weighings,).

    From one weighing to the next, in which by the plan `went` grams were used. What no use that can be believed explains
    (`priors.ODD_WEIGHING_SDS`) says the less of the use the farther it lies off: 2 g weighed for 200 would make every knot of the
    rug ten times as heavy. The scale itself is believed: what it shows is on hand.
    """
    off = np.abs(np.diff(book, prepend=0.0) - went - np.diff(mass, prepend=0.0))
    before = np.concatenate([[0.0], noise_sd[:-1]])
    usual = noise_sd**2 + before**2 + np.abs(np.diff(book_sd**2, prepend=0.0)) + use_variance
    return np.sqrt(np.maximum((off / priors.ODD_WEIGHING_SDS) ** 2 - usual, 0.0))


def mass_of_balls(count: Balls, hands: float) -> Balls:
    """Mass of so many balls in whole ones: the first of each hand is seldom a whole one."""
    return count - (1.0 - priors.FIRST_BALL) * np.minimum(count, hands)


def units_ahead(need: Need, knots: np.ndarray | None, rows: int) -> np.ndarray:
    """Return the units needed from the start of the rug up to each row, (rows + 1,).

    `knots` are those of each row; None for a weft, whose unit is a row. The first flat end comes with the first row,
    the last one with the last.
    """
    ahead = np.arange(rows + 1, dtype=float) if knots is None else np.concatenate([[0.0], np.cumsum(knots)])
    if need.ends_g and need.g_per_unit > 0:
        ahead[1:] += need.first_end_g / need.g_per_unit
        ahead[-1] += need.last_end_g / need.g_per_unit
    return ahead


def ledgers_of(
    book: RugBook, needs: Sequence[Need], ahead: Sequence[np.ndarray], team: float
) -> list[Ledger]:
    """Gather the records of the given yarns."""
    sessions = book.sessions
    place = {need.yarn.id: k for k, need in enumerate(needs)}
    ended = np.zeros((len(needs), len(sessions)))
    for place_of_session, session in enumerate(sessions):
        for name, count in session.used:
            if name in place:
                ended[place[name], place_of_session] += count
    again = [session.unpicked_yarn is UnpickedYarn.SAID for session in sessions]
    number_of = {session.id: number for number, session in enumerate(sessions)}
    # What was lost of unpicked rows left the balls as the yarn of any other knot did.
    lost_g = np.zeros((len(needs), len(sessions)))
    for loss in book.spoilt:
        number = number_of.get(loss.session_id or "")
        if loss.yarn_id in place and number is not None and again[number]:
            lost_g[place[loss.yarn_id], number] += loss.mass_g
    keys = [(session.day, session.born) for session in sessions]
    heights = np.array(heights_after(book.rows_gained))
    gained = [rows for rows in book.rows_gained if rows > 0]
    usual_rows = middle_of(np.array(gained)) if gained else 0.0
    tied = [units_tied(need, heights, units, again) for need, units in zip(needs, ahead, strict=True)]
    return [
        Ledger(
            need=need,
            tied=tied[k],
            wound_off=tied[k] + np.concatenate([[0.0], np.cumsum(lost_g[k])]) / max(need.g_per_unit, 1e-9),
            ahead=units,
            lots=(lots := tuple(x for x in book.lots if x.yarn_id == need.yarn.id)),
            tied_before=tuple(float(tied[k][sessions_before(lot.day, lot.born, keys)]) for lot in lots),
            weighings=tuple(x for x in book.weighings if x.yarn_id == need.yarn.id),
            spoilt=tuple(x for x in book.spoilt if x.yarn_id == need.yarn.id),
            ended=ended[k],
            team=team,
            usual_rows=usual_rows,
        )
        for k, (need, units) in enumerate(zip(needs, ahead, strict=True))
    ]
