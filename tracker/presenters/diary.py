"""The diary: every act as a line of words, what it did in full, and the ways to look for it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from tracker.domain.act import BRINGING_BACK, CORRECTIONS, ActKind
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
"""Entries that add up: read down the diary each that stands is told once, as it stands, with a word if it was put right."""


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


@dataclass(frozen=True, slots=True)
class _Telling:
    """What a line tells of an act."""

    changes: tuple[Any, ...]
    struck: bool
    deed: bool
    """Whether the line says what was done, and only then to what: another line tells of that as it stands."""
    since: str = ""
    """What became of it, in words; "" where it stands."""
    mended: bool = False


def _counts(change: Any) -> bool:
    return isinstance(_told(change), TOLD_SINCE)


def _as_it_stands(changes: Iterable[Any]) -> tuple[Any, ...]:
    """Return what an act said as it counts now."""
    return tuple(
        replace(change, after=change.now)
        if _counts(change) and change.after is not None and change.now is not None
        else change
        for change in changes
    )


def _telling(entry: Any) -> _Telling:
    """Tell what of an act stands: of what adds up each is told unstruck by one act, and nothing that does not stand."""
    changes = tuple(entry.changes)
    own = tuple(change for change in changes if not change.told_elsewhere)
    brings_back = entry.undoes_id or entry.kind in BRINGING_BACK
    takes_out = bool(changes) and all(change.after is None for change in changes)
    if takes_out or (brings_back and not any(_counts(change) for change in own if change.after is not None)):
        return _deed_told(entry, bool(entry.undoes_id) or takes_out or not own)
    if not own:
        first = next((one for one in changes if _counts(one) and one.after is not None), None)
        since = Since.STANDS if first is None or entry.undone else Since(first.since)
        return _Telling(changes, entry.undone or since is Since.WITHDRAWN, False, _since_words(since))
    left = tuple(change for change in own if not _counts(change) or change.since is not Since.WITHDRAWN)
    if entry.undone:
        struck = not any(_counts(change) for change in left)
    else:
        # A rug that was put on the loom with it is no reason to tell of a session that was deleted since.
        beside = [change for change in left if not isinstance(_told(change), RugPlan)]
        struck = len(left) < len(own) and not beside and _counts(_in_order(own)[0])
    if struck:
        return _Telling(own, True, False, "" if entry.undone else _since_words(Since.WITHDRAWN))
    stands = _as_it_stands(left)
    return _Telling(
        stands, False, False, mended=any(one is not was for one, was in zip(stands, left, strict=True))
    )


def _deed_told(entry: Any, deed: bool) -> _Telling:
    """Tell of what was taken out or brought back; struck where that does not stand."""
    fates = [_fate(change) for change in entry.changes]
    left = tuple(change for change, fate in zip(entry.changes, fates, strict=True) if not fate)
    if entry.undone or not left:
        return _Telling(entry.changes, True, deed, "" if entry.undone or not fates else fates[0])
    return _Telling(_as_it_stands(left), False, deed)


def _fate(change: Any) -> str:
    """Say why what an act took out or brought back does not stand; "" where it does."""
    if change.after is None:
        return _("restored since") if change.since is Since.CHANGED else ""
    gone = change.since is Since.WITHDRAWN or (change.before is not None and change.since is Since.CHANGED)
    return _since_words(change.since) if _counts(change) and gone else ""


def _since_words(since: Since) -> str:
    """Say that something was put right or deleted since; "" where it stands."""
    return {Since.CHANGED: _("corrected since"), Since.WITHDRAWN: _("deleted since")}.get(since, "")


def _deed(entry: Any, private: bool) -> str:
    """Say what somebody did; an undo that brings something back is no word of what is gone."""
    if private:
        return deed_words(entry.kind if entry.undoes_id else ActKind.ORDER_CHANGED)
    back = entry.undoes_id and any(one.before is None and one.after is not None for one in entry.changes)
    return _("Restored") if back else deed_words(entry.kind)


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
    deed = _deed(entry, private)
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
    telling = _telling(entry)
    told = _in_order(telling.changes)
    own_day = getattr(_told(told[0]), "day", None) if told and not private else None
    if telling.since:
        parts.insert(0, telling.since)
    if own_day is not None and own_day != entered:
        # First, so that it is never cut where the line is too long.
        parts.insert(0, _("for {day}").format(day=day_short(own_day, today)))
    head = _head(entry, telling.changes, names)
    rug_named = names.rugs.get(entry.rug_id or "", "")
    if several_rugs and rug_named not in ("", head) and _is_of_a_rug(entry):
        parts.append(rug_named)
    if not entry.device.here and entry.device.name:
        parts.append(other_phone(entry.device.name))
    parts.append(clock(local))
    if telling.deed and not private and deed in parts:
        # What was deleted or brought back is told where it was entered: here it is told that it was.
        only = telling.changes[0] if len(telling.changes) == 1 else None
        changed = _changed_words(entry, names) if only is not None and _counts(only) else ""
        parts[parts.index(deed)], head = changed or head, deed
        parts = [part for part in parts if part != deed]
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
        struck=telling.struck,
        tag=_("undone") if entry.undone and telling.struck else _("corrected") if telling.mended else "",
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
