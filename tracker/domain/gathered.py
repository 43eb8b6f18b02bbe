"""What was gathered of a yarn for the whole rug: bought less spoilt, or what the scale said before the first row."""

from __future__ import annotations

from collections.abc import Iterable

from tracker.domain.lot_moves import weighed_lots
from tracker.domain.rug import Lot, Session, Spoilt, Weighing
from tracker.domain.weighing_answer import lost_before


def gathered_of(
    yarn_id: str,
    lots: Iterable[Lot],
    spoilt: Iterable[Spoilt],
    weighings: Iterable[Weighing],
    sessions: Iterable[Session],
) -> float:
    """Return the yarn gathered for the whole rug, in g, from all that was entered of that rug.

    Before the first row a weighing of all there is says more than the bills, so it takes their place for what came
    before it; afterwards part of the yarn is in the rug.
    """
    own_lots = tuple(lot for lot in lots if lot.yarn_id == yarn_id)
    own_spoilt = [entry for entry in spoilt if entry.yarn_id == yarn_id]
    first_day = min((session.day for session in sessions), default=None)
    before_weaving = [
        weighing
        for weighing in weighings
        if weighing.yarn_id == yarn_id and (first_day is None or weighing.day < first_day)
    ]
    if before_weaving:
        last = before_weaving[-1]
        lost = sum(entry.mass_g for entry in own_spoilt if not lost_before(entry, last))
        before_g = sum(entry.mass_g for entry in own_spoilt) - lost
        there = weighed_lots(own_lots, last, before_g)
        later = sum(lot.mass_g for lot in own_lots) - sum(lot.mass_g for lot in there)
        return max(0.0, last.mass_g + later - lost)
    return max(0.0, sum(lot.mass_g for lot in own_lots) - sum(entry.mass_g for entry in own_spoilt))
