"""Who sat at the loom, how long, and which knots were theirs."""

from __future__ import annotations

from collections import defaultdict
from datetime import date

from tracker.domain.rug import HoursFrom, RugBook
from tracker.domain.seats import placed
from tracker.domain.team import knots_in_all
from tracker.presenters.entry_text import names_of
from tracker.presenters.places import knots_words
from tracker.presenters.record.facts import days_count, hours_told
from tracker.presenters.record.values import WeaverEntry


def weaver_entries(book: RugBook) -> tuple[WeaverEntry, ...]:
    """Return one entry for each weaver."""
    names = names_of((book,))
    days: dict[str, set[date]] = defaultdict(set)
    hours: dict[str, float] = defaultdict(float)
    for session in book.sessions:
        for who in session.weavers:
            days[who].add(session.day)
            hours[who] += session.hours or 0.0
    usual: dict[str, float] = defaultdict(float)
    for session in book.sessions:
        if session.hours_from is HoursFrom.USUAL:
            for who in session.weavers:
                usual[who] += session.hours or 0.0
    untimed = {who for session in book.woven_sessions if session.hours is None for who in session.weavers}
    share = book.plan.tied_share
    knots: dict[str, int] = {}
    if any(session.places for session in book.sessions):
        across = book.plan.knots_across
        knots, _unsaid = knots_in_all(placed(book.sessions, across).sessions, across)
    return tuple(
        WeaverEntry(
            names.weaver(who),
            days_count(len(days[who])),
            hours_told(hours[who], bool(usual[who]), who in untimed) if hours[who] else "",
            knots_words(round(knots[who] * share)) if who in knots else "",
        )
        for who in days
    )
