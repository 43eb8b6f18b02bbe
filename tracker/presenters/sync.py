"""Two phones, one rug: what a file from another phone brought, and what was done where both had changed the same."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from tracker.domain.order import Order, Payment
from tracker.presenters.entry_text import ICONS, Names, headline, kind_words
from tracker.presenters.entry_versions import differences, other_phone
from tracker.words import _, n_, number, one_after_another

SUFFIX = ".loomside-exchange"
MOST_NAME = 40


def file_name(device_name: str, today: date) -> str:
    """Return the name of the file a phone writes: who wrote it and when, in letters every phone can store."""
    name_part = "".join(sign if sign.isalnum() and sign.isascii() else "-" for sign in device_name.strip())
    name_part = "-".join(part for part in name_part.split("-") if part)[:MOST_NAME] or "loomside"
    return f"{name_part}-{today.isoformat()}{SUFFIX}"


@dataclass(frozen=True, slots=True)
class ConflictLine:
    """One entry that two phones had changed without knowing of each other."""

    record_id: str
    icon: str
    counting: str
    aside: str
    lines: tuple[str, ...]
    """Field by field: set aside → counting."""


@dataclass(frozen=True, slots=True)
class MergeState:
    """What a file brought."""

    headline: str
    from_whom: str
    conflicts: tuple[ConflictLine, ...]
    rule: str
    withdrawn: tuple[ConflictLine, ...] = ()
    """What was in this book and the other phone took out, by name."""
    withdrawn_rule: str = ""
    act_ids: tuple[str, ...] = ()
    """What taking the join back takes back; empty: nothing came."""


def who(writer: Any) -> str:
    """Return what the phone that wrote is called."""
    return _("this phone") if writer.here else other_phone(writer.name)


def conflict_lines(conflicts: Iterable[Any], names: Names) -> tuple[ConflictLine, ...]:
    """Return the conflicts (`Conflict`) in words."""
    clashes = []
    for conflict in conflicts:
        counting = conflict.counting
        value = (
            counting.value
            if counting.value is not None
            else next((o.value for o in conflict.set_aside if o.value), None)
        )
        other = conflict.set_aside[0] if conflict.set_aside else None
        said = headline(value, names) if value is not None else ""
        kept_words = said if counting.value is not None else _("deleted: {entry}").format(entry=said)
        aside = ""
        lines: tuple[str, ...] = ()
        if other is not None:
            aside = _("set aside: {entry} ({who})").format(
                entry=headline(other.value, names) if other.value is not None else _("deleted"),
                who=who(other.device),
            )
            # What an order says is told where its entry is opened, in no list. Two answers to one weighing may be of two
            # kinds, a loss and a lot, of which no field is the other's.
            told = not isinstance(value, Order | Payment) and isinstance(other.value, type(counting.value))
            lines = (
                tuple(one.words for one in differences(other.value, counting.value, names)) if told else ()
            )
        clashes.append(
            ConflictLine(
                record_id=conflict.record_id,
                icon=ICONS.get(type(value), "info"),
                counting=_("{entry} ({who})").format(entry=kept_words, who=who(counting.device)),
                aside=aside,
                lines=lines,
            )
        )
    return tuple(clashes)


def withdrawn_lines(withdrawn: Iterable[Any], names: Names) -> tuple[ConflictLine, ...]:
    """Return what a file withdrew (`Withdrawal`) in words, rugs first."""
    ordered = sorted(withdrawn, key=lambda gone: gone.kind != "rug_plan")
    return tuple(
        ConflictLine(
            record_id=gone.record_id,
            icon=ICONS.get(type(gone.value), "info"),
            counting=_("deleted: {entry}").format(
                entry=f"{kind_words(gone.kind)}: {headline(gone.value, names)}".removesuffix(": ")
            ),
            aside=who(gone.by),
            lines=(),
        )
        for gone in ordered
    )


def build_merge_state(joined: Any, names: Names) -> MergeState:
    """Say what a file (`Joined`) brought."""
    if joined.nothing_new:
        return MergeState(_("Nothing new: all of it was here already."), "", (), "")
    new_entries = n_("{count} new entry.", "{count} new entries.", joined.acts).format(
        count=number(joined.acts)
    )
    others = list(dict.fromkeys(other_phone(name) for name in joined.devices))
    from_whom = _("From {names}").format(names=one_after_another(others)) if others else ""
    conflicts = conflict_lines(joined.conflicts, names)
    rule = ""
    if conflicts:
        rule = n_(
            "{count} entry was changed on both phones. What was entered last counts. The other stays "
            "in its history: undo the last change in the diary to bring it back.",
            "{count} entries were changed on both phones. What was entered last counts. The others stay "
            "in their history: undo a last change in the diary to bring one back.",
            len(conflicts),
        ).format(count=number(len(conflicts)))
    if joined.own_acts:
        lost = n_(
            "{count} entry is this phone's own and was missing from its book.",
            "{count} entries are this phone's own and were missing from its book.",
            joined.own_acts,
        ).format(count=number(joined.own_acts))
        from_whom = f"{from_whom}. {lost}" if from_whom else lost
    contested = {conflict.record_id for conflict in joined.conflicts}
    withdrawn = withdrawn_lines((gone for gone in joined.withdrawn if gone.record_id not in contested), names)
    withdrawn_rule = ""
    if withdrawn:
        withdrawn_rule = n_(
            "{count} entry of this book was deleted by it. Tap it to bring it back.",
            "{count} entries of this book were deleted by it. Tap one to bring it back.",
            len(withdrawn),
        ).format(count=number(len(withdrawn)))
    return MergeState(
        new_entries, from_whom, conflicts, rule, withdrawn, withdrawn_rule, tuple(joined.act_ids)
    )


def taken_back_words(restored: int, left: int) -> str:
    """Say what taking a join back did."""
    if not restored:
        return _("There is nothing left to undo.")
    said = n_(
        "{count} entry is as before the file came.", "{count} entries are as before the file came.", restored
    ).format(count=number(restored))
    if left:
        said += " " + n_(
            "{count} entry was changed since and stays.", "{count} entries were changed since and stay.", left
        ).format(count=number(left))
    return said
