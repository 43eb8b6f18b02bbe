"""Who sat at the loom, how long, and which knots were theirs."""

from __future__ import annotations

from collections import defaultdict
from datetime import date

from tracker.domain.rug import HoursFrom, RugBook
from tracker.domain.seats import placed
from tracker.domain.team import knots_in_all
from tracker.presenters.entry_text import names_of
from tracker.presenters.places import knots_words
from tracker.presenters.rates import hours_words
from tracker.presenters.record.facts import days_count
from tracker.presenters.record.values import WeaverEntry
from tracker.words import _


def weaver_entries(book: RugBook) -> tuple[WeaverEntry, ...]:
    """Return one entry for each weaver, and one for knots that are not shared out among them."""
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
    unsaid = 0
    if any(session.places for session in book.sessions):
        across = book.plan.knots_across
        knots, unsaid = knots_in_all(placed(book.sessions, across).sessions, across)
    entries = [
        WeaverEntry(
            names.weaver(who),
            days_count(len(days[who])),
            _hours_of(hours[who], who in untimed, usual[who]),
            knots_words(round(knots[who] * share)) if who in knots else "",
        )
        for who in days
    ]
    if unsaid:
        entries.append(WeaverEntry(_("Not shared out"), "", "", knots_words(round(unsaid * share))))
    return tuple(entries)


def _hours_of(value: float, more: bool, usual: float) -> str:
    """Say a weaver's hours, that there were more where some of the sessions have none, and how many are the usual ones."""
    if not value:
        return "–"
    said = _("{hours} and more").format(hours=hours_words(value)) if more else hours_words(value)
    return _("{hours} ({usual} usual)").format(hours=said, usual=hours_words(usual)) if usual else said
