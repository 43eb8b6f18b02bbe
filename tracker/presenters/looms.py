"""The looms: what lies on each, how far it is woven, who sits where, and when it becomes free."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from tracker.domain import material, team
from tracker.domain.foundation import loom_fit
from tracker.domain.loom import Loom
from tracker.domain.rows import planned_rows
from tracker.domain.rug import Role, RugBook, RugPlan, RugStage, Session
from tracker.domain.seats import seating
from tracker.domain.shared_warp import SharedWarp, shared_warp, warp_of
from tracker.forecast.answers import Answers, FinishAnswer
from tracker.presenters.answer_words import day_range, is_beyond, reckoned_day, silent_words
from tracker.presenters.doubts import Doubt
from tracker.presenters.entry_text import loom_kind_words
from tracker.presenters.guide import is_cut_off
from tracker.presenters.one_loom import others_there
from tracker.presenters.shelf import rug_card
from tracker.presenters.warp_words import on_warp_words
from tracker.words import _, day, length, n_, number, one_after_another

Woven = tuple[RugBook, Answers]
"""A rug with its answers."""


@dataclass(frozen=True, slots=True)
class SeatLine:
    """One place on a bench."""

    number: str
    """Counted from the left."""
    name: str
    """Who sits there; "" for nobody."""
    weaver_id: str = ""


@dataclass(frozen=True, slots=True)
class RugOnLoom:
    """A rug that lies on a loom, or is planned for it."""

    rug_id: str
    name: str
    where: str
    when: str
    note: str
    """Whether it is woven now, or waits, and for what."""
    share: float
    woven_now: bool
    trouble: str = ""
    """What of it does not fit the loom; "" where it does."""


@dataclass(frozen=True, slots=True)
class LoomCard:
    """One loom on the page."""

    loom_id: str
    name: str
    measures: str
    free: bool
    headline: str
    """When it becomes free, or that it is."""
    range: str
    rugs: tuple[RugOnLoom, ...]
    warp: str
    """That rugs share one warp; "" where none do."""
    seats: tuple[SeatLine, ...]
    sat: str
    """From when the seats are known; "" where nobody is known to have sat there."""
    begin_after: tuple[str, date] | None = None
    """(id of a rug that waits on the warp, day after the last row of the one before it), where its plan begins earlier."""
    begin_words: str = ""


@dataclass(frozen=True, slots=True)
class LoomsState:
    """The page."""

    headline: str
    cards: tuple[LoomCard, ...]
    unplaced: tuple[RugOnLoom, ...]
    """Rugs that are being woven on no loom that is named."""
    empty: str


def measures_words(loom: Loom, unit: str = "cm") -> str:
    """Say how a loom is built and how large it is: "upright, roller beams, 150 cm wide, warp up to 640 cm"."""
    parts = [loom_kind_words(loom.kind)]
    if loom.width_cm is not None:
        parts.append(_("{width} wide").format(width=length(loom.width_cm, unit)))
    if loom.longest_warp_cm is not None:
        parts.append(_("warp up to {length}").format(length=length(loom.longest_warp_cm, unit)))
    if loom.seats > 1:  # one seat is what stands in the form before anybody said a number
        parts.append(n_("{count} seat", "{count} seats", loom.seats).format(count=number(loom.seats)))
    return ", ".join(parts)


def is_on(plan: RugPlan, loom_id: str) -> bool:
    """Tell whether a rug lies on a loom or is planned for it; a finished one has left it."""
    return plan.loom_id == loom_id and plan.stage is not RugStage.FINISHED


def deletion_trouble(loom_id: str, plans: Sequence[RugPlan]) -> str:
    """Say why a loom cannot be deleted; "" when it can."""
    there = [plan.name for plan in plans if is_on(plan, loom_id)]
    if not there:
        return ""
    return n_(
        "{rugs} lies on this loom. Finish the rug, or choose another loom in its plan.",
        "{rugs} lie on this loom. Finish the rugs, or choose another loom in their plans.",
        len(there),
    ).format(rugs=one_after_another(there))


def _is_woven(book: RugBook, answers: Answers) -> bool:
    """Tell whether a rug is on the loom with rows still to weave."""
    begun = book.plan.stage is RugStage.ON_LOOM or answers.where.rows_woven > 0
    return begun and (answers.finish is not None or answers.silent_days is not None)


def _rug_line(book: RugBook, answers: Answers, today: date, waits_for: str) -> RugOnLoom:
    card = rug_card(book.plan, today, False, answers)
    woven_now = _is_woven(book, answers) and not waits_for
    note = ""
    if waits_for:
        note = _("begins when {rug} is done").format(rug=waits_for)
    elif woven_now:
        reached = answers.where.rows_woven > 0 or answers.where.knots_begun > 0
        note = _("being woven now") if reached else _("no row woven yet")
    return RugOnLoom(card.rug_id, card.name, card.where, card.when, note, card.share, woven_now)


def _seats(loom: Loom, sat: Sequence[tuple[RugBook, Session]]) -> tuple[SeatLine, ...]:
    """Return a loom's seats, left to right, with who sat there; more weavers than seats all get one."""
    people: dict[str, str] = {}
    for book, session in sat:
        names = {weaver.id: weaver.name for weaver in book.weavers}
        people |= {who: names.get(who, _("somebody")) for who in team.seated(session)}
    taken = list(people.items())
    free = [("", "")] * max(0, loom.seats - len(taken))
    return tuple(
        SeatLine(number(place + 1), name, weaver_id) for place, (weaver_id, name) in enumerate(taken + free)
    )


def _last_session(book: RugBook) -> Session | None:
    return next((session for session in reversed(book.woven_sessions) if session.weavers), None)


def _sat_last(
    woven: Sequence[RugBook], others: Sequence[RugBook]
) -> tuple[list[tuple[RugBook, Session]], bool]:
    """Return whose last session says who sits at a loom, and whether that is a session of what lies on it now."""
    now = [(book, session) for book in woven if (session := _last_session(book)) is not None]
    if now:
        return now, True
    before = [(book, session) for book in others if (session := _last_session(book)) is not None]
    return sorted(before, key=lambda told: (told[1].day, told[1].born))[-1:], False


def _free_words(finish: FinishAnswer | None, answers: Answers, today: date) -> tuple[str, str]:
    """Say when the last row on a loom is woven, in the words of the other pages: (headline, range)."""
    if finish is not None:
        return (
            _("Free {later}").format(later=reckoned_day(finish.middle, today))
            if is_beyond(finish.middle, today)
            else _("Free about {day}").format(day=day(finish.middle, today)),
            day_range(finish.early, finish.late, today),
        )
    if answers.silent_days is not None:
        return silent_words(answers.silent_days)[:2]
    return _("The last row is woven: free once the rug is cut off"), ""


@dataclass(frozen=True, slots=True)
class _OnLoom:
    """What lies on one loom or is planned for it, in the order in which it is woven."""

    rugs: tuple[Woven, ...]
    warps: dict[str, SharedWarp | None]

    @property
    def begun(self) -> tuple[Woven, ...]:
        """Those that lie on it."""
        return tuple(
            (book, answers)
            for book, answers in self.rugs
            if book.plan.stage is RugStage.ON_LOOM or answers.where.rows_woven > 0
        )

    @property
    def waiting(self) -> tuple[Woven, ...]:
        """Those that wait on the warp of another."""
        return tuple((book, answers) for book, answers in self.rugs if answers.ahead is not None)

    def too_early(self) -> _TooEarly | None:
        """Return the first rug whose plan begins it before the one that it waits for is done."""
        for book, answers in self.waiting:
            ahead = answers.ahead
            if ahead is not None and ahead.finish is not None and book.plan.start_day <= ahead.finish.middle:
                return _TooEarly(book.plan, ahead.name, ahead.finish.loom_free)
        return None


@dataclass(frozen=True, slots=True)
class _TooEarly:
    """A rug whose plan begins it before the rug that it waits for is done."""

    plan: RugPlan
    ahead: str
    """Name of the other."""
    next_day: date
    """After the other's last row."""


def _on_loom(rugs: Sequence[Woven]) -> _OnLoom:
    """Put what lies on a loom in the order in which it is woven: what is woven now first, then by warp and day."""
    warps = {book.plan.id: shared_warp(book.warp_parts) for book, _answers in rugs}

    def turn(told: Woven) -> tuple[bool, int, date]:
        book, answers = told
        warp = warps[book.plan.id]
        own = warp.of(book.plan.id) if warp is not None else None
        return not _is_woven(book, answers), 0 if own is None else own.band, book.plan.start_day

    return _OnLoom(tuple(sorted(rugs, key=turn)), warps)


def _lines(there: _OnLoom, today: date, unit: str) -> tuple[RugOnLoom, ...]:
    """Return the rugs of a loom; what does not fit of rugs on one warp is told once."""
    early = there.too_early()
    told: set[str] = set()
    lines = []
    for book, answers in there.rugs:
        line = _rug_line(book, answers, today, "" if answers.ahead is None else answers.ahead.name)
        if early is not None and early.plan.id == line.rug_id and not line.share:
            # A day of the plan that cannot be is no day to be told.
            line = replace(line, when="")
        sentences = (*_misfit(book, unit), *_woven_at_once(book, there, unit))
        trouble = "\n".join(sentence for sentence in sentences if sentence not in told)
        told.update(sentences)
        lines.append(replace(line, trouble=trouble))
    return tuple(lines)


def _woven_at_once(book: RugBook, there: _OnLoom, unit: str) -> tuple[str, ...]:
    """Say that another rug is woven on the same loom at the same time, where no warp is shared and both do not lie side by side."""
    now = [other for other, answers in there.rugs if _is_woven(other, answers) and answers.ahead is None]
    if book not in now:
        return ()
    plans = [replace(other.plan, stage=RugStage.ON_LOOM) for other in now]
    apart = {other.id for other in others_there(book.plan, plans)}
    pairs = [
        (one, other)
        for place, one in enumerate(now)
        for other in now[place + 1 :]
        if (one is book and other.plan.id in apart) or (other is book and one.plan.id in apart)
    ]
    sentences = []
    for one, other in pairs:
        width_cm = None if book.loom is None else book.loom.width_cm
        both_cm = sum(material.cloth_width_cm(woven.plan) for woven in (one, other))
        names = {"one": one.plan.name, "other": other.plan.name}
        if width_cm is None:
            sentences.append(
                _(
                    "{one} and {other} are both woven here now, each on a warp of its own. If one has moved, or they "
                    "share a warp, change it in its plan."
                ).format(**names)
            )
        elif both_cm > width_cm:
            sentences.append(
                _(
                    "{one} and {other} are both woven here now, each on a warp of its own: {both} of cloth on a loom of "
                    "{width}. If one has moved, or they share a warp, change it in its plan."
                ).format(**names, both=length(both_cm, unit), width=length(width_cm, unit))
            )
    return tuple(sentences)


def _misfit(book: RugBook, unit: str) -> tuple[str, ...]:
    """Say what of a rug does not fit its loom, as its plan does."""
    warp = next(iter(book.yarns_of(Role.WARP)), None)
    take_up = None if warp is None else warp.take_up
    plan = replace(book.plan, rows=planned_rows(book), knots_across=book.knots_across)
    return loom_fit(plan, book.loom, warp_of(book), take_up).sentences_in(unit)


def _sat_words(sat: Sequence[tuple[RugBook, Session]], of_now: bool, today: date) -> str:
    """Say from when the seats are known."""
    seen = max((session.day for _book, session in sat), default=None)
    if seen is None:
        return ""
    words = _("as on {day}") if of_now else _("as last on {day}, with another rug")
    when = words.format(day=day(seen, today))
    if any(seating(book).assumed for book, session in sat if len(team.seated(session)) > 1):
        return _("{when}; nobody said in which order").format(when=when)
    return when


def _freedom(there: _OnLoom, today: date) -> tuple[str, str]:
    """Say when a loom becomes free and what comes then: (headline, range)."""
    begun = {book.plan.id for book, _answers in there.begun}
    to_come = [
        book.plan for book, answers in there.rugs if book.plan.id not in begun and answers.ahead is None
    ]
    following = min(to_come, key=lambda plan: plan.start_day, default=None)
    then = "" if following is None else _("{rug} comes next").format(rug=following.name)
    if not begun:
        if following is not None and following.start_day > today:
            return _("Free until {day}").format(day=day(following.start_day, today)), then
        return _("Free"), then
    # The rug that keeps the loom longest says when it is free; one that waits on the warp begins after the other.
    keeps = [told for told in there.rugs if told[0].plan.id in begun or told[1].ahead is not None]
    headline, between = _free_of(keeps, today)
    dated = [answers.finish.middle for _book, answers in keeps if answers.finish is not None]
    if following is not None and dated and following.start_day <= max(dated):
        then = _("{rug} is planned to begin before that").format(rug=following.name)
    if (early := there.too_early()) is not None:
        then = _(
            "{rug} is planned to begin before {other} is done: its days are counted from then on"
        ).format(rug=early.plan.name, other=early.ahead)
    return headline, "\n".join(part for part in (between, then) if part)


def loom_card(
    loom: Loom, rugs: Sequence[Woven], finished: Sequence[RugBook], today: date, unit: str = "cm"
) -> LoomCard:
    """Return one loom in words.

    Parameters
    ----------
    rugs
        What lies on it or is planned for it, in the order of the book.
    finished
        Rugs that were woven on it before.
    """
    there = _on_loom(rugs)
    lines, early = _lines(there, today, unit), there.too_early()
    sat, of_now = _sat_last(
        [book for (book, _a), line in zip(there.rugs, lines, strict=True) if line.woven_now],
        [*(book for book, _a in rugs), *finished],
    )
    headline, between = _freedom(there, today)
    return LoomCard(
        loom_id=loom.id,
        name=loom.name,
        measures=measures_words(loom, unit),
        free=not there.begun,
        headline=headline,
        range=between,
        rugs=lines,
        warp=_warp_words(there.warps, unit),
        seats=_seats(loom, sat),
        sat=_sat_words(sat, of_now, today),
        begin_after=None if early is None else (early.plan.id, early.next_day),
        begin_words=""
        if early is None
        else _("Let {rug} begin on {day}").format(rug=early.plan.name, day=day(early.next_day, today)),
    )


def _free_of(woven: Sequence[Woven], today: date) -> tuple[str, str]:
    """Say when the last of some rugs is woven."""
    silent = next((answers for _book, answers in woven if answers.silent_days is not None), None)
    if silent is not None:
        return _free_words(None, silent, today)
    dated = [answers for _book, answers in woven if answers.finish is not None]
    if not dated and all(is_cut_off(book) for book, _answers in woven):
        return _("Cut off: the loom is free"), ""
    if not dated:
        return _free_words(None, woven[0][1], today)
    last = max(dated, key=lambda answers: answers.finish.middle if answers.finish else date.min)
    return _free_words(last.finish, last, today)


def _warp_words(warps: Mapping[str, SharedWarp | None], unit: str) -> str:
    """Say that rugs share one warp."""
    warp = next((warp for warp in warps.values() if warp is not None), None)
    return "" if warp is None else on_warp_words(warp, unit)


def build_looms_state(
    looms: Sequence[Loom],
    rugs: Sequence[Woven],
    finished: Sequence[RugBook],
    today: date,
    unit: str = "cm",
) -> LoomsState:
    """Turn the looms and what lies on them into the page.

    Parameters
    ----------
    rugs
        Every rug that is not finished, with its answers.
    finished
        Finished rugs whose plan names a loom.
    """
    cards = []
    for loom in looms:
        there = [(book, answers) for book, answers in rugs if is_on(book.plan, loom.id)]
        before = [book for book in finished if book.plan.loom_id == loom.id]
        cards.append(loom_card(loom, there, before, today, unit))
    known = {loom.id for loom in looms}
    unplaced = tuple(
        _rug_line(book, answers, today, "")
        for book, answers in rugs
        if book.plan.loom_id not in known and _is_woven(book, answers)
    )
    free = sum(card.free for card in cards)
    headline = ""
    if cards:
        headline = n_("{count} loom", "{count} looms", len(cards)).format(count=number(len(cards)))
        headline += ", " + (
            n_("{count} free", "{count} free", free).format(count=number(free)) if free else _("none free")
        )
    empty = ""
    if not cards:
        empty = _(
            "Enter each loom once. Plans then take its width and waste. Here you see what is on each "
            "loom, who sits where and when it is free."
        )
    return LoomsState(headline, tuple(cards), unplaced, empty)


def placed_on(plan: RugPlan, loom: Loom) -> RugPlan:
    """Return a plan that names its loom and has its width; what was planned of its warp stays, and is told where it does not fit."""
    return replace(plan, loom_id=loom.id, loom_width_cm=loom.width_cm or plan.loom_width_cm)


def fit_doubt(book: RugBook, placed: RugPlan, loom: Loom, unit: str) -> Doubt | None:
    """Return what is asked before a rug is put on a loom that is too narrow or too short for it."""
    said = _misfit(replace(book, plan=placed, loom=loom), unit)
    return Doubt(" ".join(said), _("It lies there all the same"), _("Choose again")) if said else None


def begin_on(plan: RugPlan, first_day: date) -> RugPlan:
    """Return a plan that begins on a day."""
    return replace(plan, start_day=first_day)


def looms_text(state: LoomsState) -> str:
    """Return the looms as plain text, "" where the book has none."""
    if not state.cards:
        return ""
    lines = [state.headline]
    for card in state.cards:
        lines += ["", f"{card.name} ({card.measures})"]
        lines.append("  " + ", ".join(part for part in (card.headline, card.range) if part))
        for rug in card.rugs:
            lines.append(
                "  " + ": ".join((rug.name, ", ".join(p for p in (rug.note, rug.where, rug.when) if p)))
            )
        if card.warp:
            lines.append("  " + card.warp)
        if card.sat:
            seats = ", ".join(f"{seat.number} {seat.name or _('empty')}" for seat in card.seats)
            lines.append("  " + _("Seats from the left, {when}: {seats}").format(when=card.sat, seats=seats))
    return "\n".join(lines) + "\n"
