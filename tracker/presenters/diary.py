"""The diary: every act as a line of words, what it did in full, and the ways to look for it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from tracker.domain.act import CORRECTIONS, ActKind
from tracker.domain.history import Since, local_time
from tracker.domain.order import Order, Payment
from tracker.domain.rug import AfterStep, Cartoon, Lot, Measurement, Photo, RugPlan, Session, Spoilt, Weighing
from tracker.presenters import entry_text
from tracker.presenters.acts import OF_ANY_ENTRY, deed_words, icon_of
from tracker.presenters.entry_text import Names, headline
from tracker.presenters.entry_versions import (
    differences,
    instant_words,
    mended_words,
    other_phone,
    phone_words,
)
from tracker.words import _, clock, day_short, month_short, n_, number

TOLD_SINCE = (Session, Lot, Weighing, Spoilt, Measurement)
"""Entries that add up: a line that was put right since says so, or read down the diary they would count twice."""


@dataclass(frozen=True, slots=True)
class DiaryLine:
    """One act as a line of the diary."""

    act_id: str
    day: str
    """Day of the month, only where it differs from the line above."""
    month: str
    icon: str
    head: str
    more: str
    struck: bool
    """Taken back, or what it entered deleted since."""
    tag: str
    photo: str
    """File name of a picture; "" when there is none."""


NO_LINE = DiaryLine("", "", "", "", "", "", False, "", "")
"""What a line shows until it has been read."""


def _told(change: Any) -> Any:
    return change.after if change.after is not None else change.before


def _in_order(changes: Iterable[Any]) -> list[Any]:
    """Return the changes that say something, the one the act is about first.

    A session is told before the plan it put on the loom; a plan before the yarns that changed with it; an order last.
    """
    ranks = {Session: 0, RugPlan: 1, Order: 3, Payment: 3}
    told = [change for change in changes if _told(change) is not None]
    return sorted(told, key=lambda change: ranks.get(type(_told(change)), 2))


def _is_of_order(entry: Any) -> bool:
    """Tell whether an act is about the order behind a rug and nothing else: the list then says no more than that."""
    told = _in_order(entry.changes)
    return bool(told) and all(isinstance(_told(change), Order | Payment) for change in told)


def _icon(entry: Any) -> str:
    if entry.undoes_id:
        return "undo"
    if _is_of_order(entry):
        return entry_text.ICONS[Order]
    icon = icon_of(entry.kind)
    if icon is not None and entry.kind not in OF_ANY_ENTRY:
        return icon
    told = next((_told(change) for change in entry.changes if _told(change) is not None), None)
    plan = any(isinstance(_told(change), RugPlan) for change in entry.changes)
    return "rug" if plan else entry_text.ICONS.get(type(told), icon or "info")


def _is_of_a_rug(entry: Any) -> bool:
    """Whether an act is about a rug: settings, weavers and looms are of the whole book, whichever rug was in hand."""
    values = [value for change in entry.changes if (value := _told(change)) is not None]
    return not values or any(isinstance(value, RugPlan) or getattr(value, "rug_id", None) for value in values)


def _head(entry: Any, stands: Iterable[Any], names: Names) -> str:
    values = [_told(change) for change in _in_order(stands)]
    if not values:
        return deed_words(entry.kind)
    if isinstance(values[0], RugPlan):
        return values[0].name
    if isinstance(values[0], Order | Payment):
        # The list says no more than that: not whether something was paid, nor how often.
        return _("Customer's order")
    said = headline(values[0], names)
    if isinstance(values[0], Cartoon):
        said = _mended_words(entry) or said
    others = [value for value in values[1:] if not isinstance(value, RugPlan)]
    more = len(others)
    if more and isinstance(values[0], Session) and all(isinstance(value, Spoilt) for value in others):
        said = n_(
            "{first}, and what was lost of {count} yarn", "{first}, and what was lost of {count} yarns", more
        ).format(first=said, count=number(more))
    elif more and any(type(value) is not type(values[0]) for value in others):
        # More of the same needs no name; what is of another kind is no more of it.
        said = n_("{first}, and {count} other entry", "{first}, and {count} other entries", more).format(
            first=said, count=number(more)
        )
    elif more:
        said = n_("{first}, and {count} more", "{first}, and {count} more", more).format(
            first=said, count=number(more)
        )
    return said or deed_words(entry.kind)


def _mended_words(entry: Any) -> str:
    """Say which squares of a cartoon an act changed; "" where it was not mended square by square."""
    change = next((one for one in entry.changes if isinstance(_told(one), Cartoon)), None)
    return "" if change is None else mended_words(change.before, change.after)


def _changed_alike(entry: Any, names: Names) -> str:
    """Name what an act changed of several entries of one kind, where it is the same of each: "Yarn count"; "" elsewhere."""
    if len({type(change.after) for change in entry.changes}) != 1:
        return ""
    changed = [{one.label for one in differences(c.before, c.after, names)} for c in entry.changes]
    alike = set.intersection(*changed)
    first = differences(entry.changes[0].before, entry.changes[0].after, names)
    return ", ".join(one.label for one in first if one.label in alike)


def _changed_words(entry: Any, names: Names) -> str:
    """Say in a few words what an act on one entry changed; "" where its deed says all."""
    change = entry.changes[0]
    before, after = change.before, change.after
    if entry.kind == ActKind.STEP_TICKED and isinstance(after, AfterStep):
        if after.done_day is None:
            return _("not done yet")
        return _("done on {day}").format(day=day_short(after.done_day, after.done_day))
    if entry.kind == ActKind.RUG_FINISHED and isinstance(after, RugPlan) and after.finished_day is not None:
        return _("on {day}").format(day=day_short(after.finished_day, after.finished_day))
    if entry.kind == ActKind.RUG_PUT_ON_LOOM or isinstance(after, Cartoon):
        return ""
    changed = differences(before, after, names)
    return "; ".join(one.newest_first for one in changed[:2])


def _as_it_stands(entry: Any) -> tuple[Any, ...]:
    """Return what an act entered as it counts now: a line that was put right since is told by that, and says that it was."""
    return tuple(
        replace(change, after=change.now)
        if change.before is None and isinstance(change.after, TOLD_SINCE) and change.now is not None
        else change
        for change in entry.changes
    )


def _since(entry: Any) -> Since:
    """Return what became of what an act entered."""
    if entry.undone or entry.undoes_id:
        return Since.STANDS
    change = next((one for one in entry.changes if isinstance(one.after, TOLD_SINCE)), None)
    return Since.STANDS if change is None else Since(change.since)


def _since_words(since: Since) -> str:
    """Say that something was put right or deleted since; "" where it stands."""
    return {Since.CHANGED: _("corrected since"), Since.WITHDRAWN: _("deleted since")}.get(since, "")


def diary_line(entry: Any, names: Names, today: date, above: date | None, several_rugs: bool) -> DiaryLine:
    """Return one act (a `Entry`) as a line.

    Parameters
    ----------
    above
        The day of the line above; its day is not said again.
    several_rugs
        Whether the rug needs to be named.
    """
    local = local_time(entry.made_at)
    entered = local.date()
    private = _is_of_order(entry)
    deed = deed_words(ActKind.ORDER_CHANGED if private and not entry.undoes_id else entry.kind)
    parts = [deed]
    if len(entry.changes) == 1 and not entry.undoes_id and not private:
        changed = _changed_words(entry, names)
        if changed and entry.kind in CORRECTIONS:
            # The headline says what is counted now: that it was put right comes first, the end of the line may be cut off.
            parts = [_("Corrected"), changed]
        elif changed:
            # What changed comes first here.
            parts = [changed, deed]
    elif len(entry.changes) > 1 and not entry.undoes_id and not private:
        parts = [part for part in (_changed_alike(entry, names), deed) if part]
    stands = entry.changes if entry.undone or entry.undoes_id else _as_it_stands(entry)
    mended = any(one is not was for one, was in zip(stands, entry.changes, strict=True))
    told = _in_order(stands)
    own_day = getattr(_told(told[0]), "day", None) if told and not private else None
    since = _since(entry)
    if not mended and (said := _since_words(since)):
        parts.insert(0, said)
    if own_day is not None and own_day != entered:
        # First, so that it is never cut where the line is too long.
        parts.insert(0, _("for {day}").format(day=day_short(own_day, today)))
    head = _head(entry, stands, names)
    rug_named = names.rugs.get(entry.rug_id or "", "")
    if several_rugs and rug_named not in ("", head) and _is_of_a_rug(entry):
        parts.append(rug_named)
    if not entry.device.here and entry.device.name:
        parts.append(other_phone(entry.device.name))
    parts.append(clock(local))
    gone = (
        bool(entry.changes) and all(change.after is None for change in entry.changes) and not entry.undoes_id
    )
    if (gone or entry.undoes_id) and not private and head != deed and deed in parts:
        # What was deleted or undone is struck where it was entered: here it is told that it was.
        head, parts[parts.index(deed)] = deed, head
    photo = next((c.after.file_name for c in entry.changes if isinstance(c.after, Photo)), "")
    day_of_month, month = "", ""
    if entered != above:
        this_year = entered.year == today.year
        day_of_month = number(entered.day) if this_year else f"{entered.day} {month_short(entered)}"
        month = month_short(entered) if this_year else str(entered.year)
    return DiaryLine(
        act_id=entry.act_id,
        day=day_of_month,
        month=month,
        icon=_icon(entry),
        head=head,
        more=" · ".join(parts),
        struck=entry.undone or since is Since.WITHDRAWN,
        tag=_("undone") if entry.undone else _("corrected") if mended else "",
        photo="" if entry.undone else photo,
    )


def diary_lines(
    entries: Iterable[Any], names: Names, today: date, above: Any = None
) -> tuple[DiaryLine, ...]:
    """Return a page of acts as lines; `above` is the act before the first, if there is one."""
    several = len(names.rugs) > 1
    last = local_time(above.made_at).date() if above is not None else None
    lines = []
    for entry in entries:
        lines.append(diary_line(entry, names, today, last, several))
        last = local_time(entry.made_at).date()
    return tuple(lines)


@dataclass(frozen=True, slots=True)
class ChangeLine:
    """What an act did to one entry."""

    record_id: str
    icon: str
    head: str
    lines: tuple[str, ...]
    struck: bool


@dataclass(frozen=True, slots=True)
class EntryDetail:
    """One act in full."""

    act_id: str
    title: str
    who_when: str
    undone: bool
    undoable: bool
    changes: tuple[ChangeLine, ...]
    rug_id: str | None
    undo_now: str
    """Words of the key that takes the act back, or does it again; "" when nothing would change."""
    undoes: str
    """Id of the act which that key undoes: the act itself, or the undo that stands against it."""
    main: str = ""
    """Id of the entry that the act is about and that opens at once; "" where several are of one rank."""


@dataclass(frozen=True, slots=True)
class SessionsTakenBack:
    """What becomes of the sessions of an act that is undone: what a later act changed stays as it is."""

    restored: tuple[Session, ...]
    """As they were before."""
    withdrawn: tuple[str, ...]
    """Ids of those that the act entered."""


def sessions_taken_back(entry: Any) -> SessionsTakenBack:
    """Return the sessions that undoing an act (a `Entry`) changes; of one that was undone, doing it again."""
    again = bool(entry.undone_by)
    changed = [
        (change.record_id, change.after if again else change.before)
        for change in entry.changes
        if (change.current or again) and isinstance(_told(change), Session)
    ]
    return SessionsTakenBack(
        tuple(session for _record_id, session in changed if session is not None),
        tuple(record_id for record_id, session in changed if session is None),
    )


def _main_of(changes: list[Any]) -> str:
    """Return the id of the one entry an act is about: the only one, or the evening that put its rug on the loom."""
    sessions = [change for change in changes if isinstance(_told(change), Session)]
    others = [change for change in changes if not isinstance(_told(change), Session)]
    if len(changes) == 1:
        return str(changes[0].record_id)
    return (
        str(sessions[0].record_id)
        if len(sessions) == 1 and all(isinstance(_told(change), RugPlan) for change in others)
        else ""
    )


def entry_detail(entry: Any, names: Names, today: date) -> EntryDetail:
    """Return one act (a `Entry`) in full."""
    changes = []
    for change in _in_order(entry.changes):
        value = _told(change)
        changes.append(
            ChangeLine(
                record_id=change.record_id,
                icon=entry_text.ICONS.get(type(value), "info"),
                head=headline(value, names),
                lines=tuple(one.words for one in differences(change.before, change.after, names)),
                struck=change.after is None,
            )
        )
    undo_now = ""
    only = entry.changes[0] if len(entry.changes) == 1 else None
    # What was entered or withdrawn alone has keys of its own: withdraw, restore.
    corrected = only is not None and only.before is not None and only.after is not None
    if entry.undone:
        undo_now = _("Do it again") if entry.undone_by and (corrected or only is None) else ""
    elif entry.undoable:
        if entry.undoes_id:
            undo_now = _("Do it again")
        elif only is None:
            undo_now = _("Undo it all")
        elif corrected:
            undo_now = _("Undo this correction")
    return EntryDetail(
        act_id=entry.act_id,
        title=deed_words(entry.kind),
        who_when=_("{when} on {device}").format(
            when=instant_words(entry.made_at, today), device=phone_words(entry.device)
        ),
        undone=entry.undone,
        undoable=entry.undoable,
        changes=tuple(changes),
        rug_id=entry.rug_id,
        undo_now=undo_now,
        undoes=entry.undone_by or entry.act_id,
        main=_main_of(_in_order(entry.changes)),
    )
