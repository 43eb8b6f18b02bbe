"""The versions of an entry in words: how one differs from another, and who wrote which when."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

import numpy as np

from tracker.domain.history import Writer, local_time
from tracker.domain.rug import Cartoon
from tracker.presenters.entry_details import details
from tracker.presenters.entry_text import Names
from tracker.presenters.places import span_words
from tracker.words import _, clock, day, n_, number

UNNAMED = "this phone"
"""What a phone is called in its book until somebody names it."""


def other_phone(name: str) -> str:
    """Return what another phone is called; the one that nobody named calls itself as this one may."""
    return _("another phone") if name in ("", UNNAMED, _("this phone")) else name


def phone_words(writer: Writer) -> str:
    """Return what the phone is called that wrote an entry."""
    return writer.name or _("this phone") if writer.here else other_phone(writer.name)


@dataclass(frozen=True, slots=True)
class Difference:
    """One field that a correction changed."""

    label: str
    before: str
    after: str

    @property
    def words(self) -> str:
        """The change on one line."""
        if not self.before:
            return f"{self.label}: {self.after}"
        if not self.after:
            return _("{label}: {before}, taken out").format(label=self.label, before=self.before)
        return f"{self.label}: {self.before} → {self.after}"

    @property
    def newest_first(self) -> str:
        """The same for a line whose end may be cut off: what holds now is never lost."""
        if not self.before or not self.after:
            return self.words
        return _("{label}: {after}, was {before}").format(
            label=self.label, before=self.before, after=self.after
        )


def differences(before: Any, after: Any, names: Names) -> tuple[Difference, ...]:
    """Return what differs between two versions of an entry, field by field."""
    if before is None or after is None:
        return ()
    if isinstance(before, Cartoon) and isinstance(after, Cartoon) and (mended := mended_words(before, after)):
        return (Difference(_("Mended"), "", mended),)
    old, new = dict(details(before, names)), dict(details(after, names))
    labels = list(dict.fromkeys([*old, *new]))
    return tuple(
        Difference(label, old.get(label, ""), new.get(label, ""))
        for label in labels
        if old.get(label, "") != new.get(label, "")
    )


def mended_words(before: Cartoon | None, after: Cartoon | None) -> str:
    """Say which squares of a cartoon were mended: "Row 47, knot 21", "5 squares, rows 40 to 42, knots 3 to 9".

    "" where one of the two is missing, or they are of another size.
    """
    if before is None or after is None or before.cells.shape != after.cells.shape:
        return ""
    rows, knots = np.nonzero(before.cells != after.cells)
    if not rows.size:
        return ""
    first, last = int(rows.min()) + 1, int(rows.max()) + 1
    at = span_words(int(knots.min()) + 1, int(knots.max()) + 1)
    if first == last:
        place = _("row {row}, {knots}").format(row=number(first), knots=at)
    else:
        place = _("rows {first} to {last}, {knots}").format(first=number(first), last=number(last), knots=at)
    if rows.size == 1:
        return place[:1].upper() + place[1:]
    return n_("{count} square: {place}", "{count} squares: {place}", int(rows.size)).format(
        count=number(int(rows.size)), place=place
    )


@dataclass(frozen=True, slots=True)
class PastLine:
    """One version of an entry, for its history."""

    act_id: str
    who_when: str
    deed: str
    lines: tuple[str, ...]
    """What changed from the version before; for the first version nothing: its details say it."""
    current: bool
    withdrawn: bool
    set_aside: bool


def instant_words(made_at: datetime, today: date) -> str:
    """Say when something was entered, by this phone's time zone: "24 November, 18:05"."""
    local = local_time(made_at)
    return _("{day}, {time}").format(day=day(local.date(), today), time=clock(local))


def history_lines(versions: Iterable[Any], names: Names, today: date) -> tuple[PastLine, ...]:
    """Return the history of one entry, newest first: who, when, and what was before and after.

    Parameters
    ----------
    versions
        `storage.history.versions_of`, of the entry, newest first.
    """
    chain = list(versions)
    history = []
    for place, version in enumerate(chain):
        before = next((older.value for older in chain[place + 1 :] if older.value is not None), None)
        previous = chain[place + 1].value if place + 1 < len(chain) else None
        lines: tuple[str, ...] = ()
        if version.value is not None and before is not None:
            lines = tuple(one.words for one in differences(before, version.value, names))
        if version.value is None:
            deed = _("Deleted")
        elif place + 1 == len(chain):
            deed = _("Entered")
        elif previous is None:
            deed = _("Restored")
        else:
            deed = _("Corrected")
        if version.set_aside:
            lines += (_("Set aside: another phone's later entry won."),)
        history.append(
            PastLine(
                act_id=version.act_id,
                who_when=_("{when} on {device}").format(
                    when=instant_words(version.made_at, today),
                    device=phone_words(version.device),
                ),
                deed=deed,
                lines=lines,
                current=version.current,
                withdrawn=version.value is None,
                set_aside=version.set_aside,
            )
        )
    return tuple(history)
