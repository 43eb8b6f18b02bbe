"""The demo book: an invented workshop, its rug "Walled garden" on the loom, one finished, one planned.

Everything in it is made up, and says so. The numbers come from one seeded generator that first lets the rug be
woven, yarn by yarn, and then writes down what the two weavers would have noticed: balls that ended, scales rounded
to 5 g, hours rounded to halves. So the record is as coherent, and as rough, as a real one.
"""

from __future__ import annotations

import os
from datetime import UTC, date, datetime, time, timedelta

from tracker.demo.deeds import Deed, Ids
from tracker.demo.doorstep import doorstep
from tracker.demo.long_winter import long_winter
from tracker.demo.looms import workshop_looms
from tracker.demo.walled_garden import GardenLoom
from tracker.domain.act import ActKind
from tracker.domain.rug import (
    Weaver,
)
from tracker.words import _


def demo_deeds(today: date) -> tuple[Deed, ...]:
    """Return everything the demo's weavers noted until the day before `today`, oldest first."""
    ids = Ids()
    weavers = (
        Weaver(id=ids.new(), name=_("Left seat")),
        Weaver(id=ids.new(), name=_("Right seat")),
    )
    on_loom = list(GardenLoom(today, weavers, ids).deeds())
    finished = list(doorstep(on_loom[0].day - timedelta(days=12), weavers, ids))
    planned = list(long_winter(today, ids))
    # One act each: weavers stand in the order in which they were entered.
    hello = [Deed(finished[0].day, ActKind.WEAVERS_ENTERED, (weaver,)) for weaver in weavers]
    hello += [Deed(finished[0].day, ActKind.LOOM_ENTERED, (loom,)) for loom in workshop_looms()]
    # Sorting is stable: within a day, what was noted first stays first.
    return tuple(sorted((*hello, *finished, *on_loom, *planned), key=lambda deed: deed.day))


def build_demo(path: str | os.PathLike[str], today: date) -> None:
    """Write the demo book as a new file at `path`, marked as a demo in its header.

    Parameters
    ----------
    path
        Where no file is yet.
    today
        The record ends the day before.

    Raises
    ------
    BookTrouble
        When it cannot be written.
    """
    from storage.book import Book

    clock = [datetime.combine(today, time(18), tzinfo=UTC)]
    with Book.open(path, device_name=_("demo"), now=lambda: clock[0]) as book:
        minutes = 0
        for deed in demo_deeds(today):
            minutes = minutes + 1 if deed.day == clock[0].date() else 0
            clock[0] = datetime.combine(deed.day, time(18, minutes), tzinfo=UTC)
            with book.act(deed.kind, rug_id=deed.rug_id) as act:
                for value in deed.values:
                    act.write(value)
                for record_id in deed.withdrawn:
                    act.withdraw(record_id)
        book.mark_as_demo()
