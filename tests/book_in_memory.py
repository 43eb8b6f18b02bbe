"""A book in memory that answers as `tracker.app.book_port.BookPort`: for tests of the desk that need no file.

`tests/storage/test_book_port.py` runs the same checks on it and on a book's file.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from types import TracebackType
from typing import Any, Self

from tracker.domain import rules
from tracker.domain.act import BRINGING_BACK, ActKind
from tracker.domain.errors import BadEntry, BookTrouble
from tracker.domain.hand_out import HandOut
from tracker.domain.history import COUNTED, Change, Entry, PastVersion, Since, Undone, Writer, telling
from tracker.domain.loom import Loom, WarpPart
from tracker.domain.lot_change import LotChange
from tracker.domain.lot_moves import LotMove, lots_of_rug
from tracker.domain.mark import CartoonMark
from tracker.domain.order import Order, Payment
from tracker.domain.rug import (
    AfterStep,
    Cartoon,
    Cost,
    DaysOff,
    Lot,
    Measurement,
    Photo,
    Preparation,
    Pricing,
    RugBook,
    RugPlan,
    Sample,
    Session,
    Setting,
    Spoilt,
    Wage,
    Weaver,
    Weighing,
    Yarn,
    new_id,
)
from tracker.domain.shared_warp import rugs_on_warp, warp_part
from tracker.domain.team import sat_last
from tracker.domain.trimming import Trim

KINDS: dict[type, str] = {
    RugPlan: "rug_plan", Cartoon: "cartoon", Yarn: "yarn", Weaver: "weaver", Session: "session", Lot: "lot",
    Weighing: "weighing", Spoilt: "spoilt", Sample: "sample", Measurement: "measurement", DaysOff: "days_off",
    Preparation: "preparation", AfterStep: "after_step", Photo: "photo", Wage: "wage", Cost: "cost",
    Pricing: "pricing", LotChange: "lot_change", LotMove: "lot_move", CartoonMark: "cartoon_mark",
    Trim: "trim", HandOut: "hand_out", Order: "rug_order", Payment: "payment", Loom: "loom", Setting: "setting",
}  # fmt: skip
LISTS = {
    "yarns": Yarn, "sessions": Session, "lots": Lot, "weighings": Weighing, "spoilt": Spoilt, "samples": Sample,
    "measurements": Measurement, "preparations": Preparation, "after_steps": AfterStep, "photos": Photo, "wages": Wage,
    "costs": Cost, "pricings": Pricing, "lot_changes": LotChange, "marks": CartoonMark, "trims": Trim, "hand_outs": HandOut,
    "orders": Order, "payments": Payment,
}  # fmt: skip
"""The parts of a `RugBook` that are lists of one kind of one rug."""
AT = datetime(2026, 3, 10, 18, tzinfo=UTC)


@dataclass
class Version:
    """One version of a record."""

    act_id: str
    value: Any
    withdrawn: bool


@dataclass
class Act:
    """One act as it was written."""

    act_id: str
    kind: str
    rug_id: str | None
    undoes_id: str | None
    records: tuple[str, ...]


class ActInMemory:
    """Gathers one act."""

    def __init__(self, book: BookInMemory, kind: str, rug_id: str | None) -> None:
        self.act_id = new_id()
        self.stored = False
        self._book, self._kind, self._rug_id = book, kind, rug_id
        self._targets: dict[str, tuple[Any, bool]] = {}

    def write(self, value: object) -> None:
        """Enter a value."""
        rules.check(value)
        self._targets[value.id] = (value, False)  # type: ignore[attr-defined]

    def withdraw(self, record_id: str) -> None:
        """Take a record out."""
        self._targets[record_id] = (None, True)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if kind is None and self._targets:
            held = self._book.store(self.act_id, self._kind, self._rug_id, self._targets, None)
            self.stored, self.act_id = held == self.act_id, held


class BookInMemory:
    """An open book whose acts are a list and whose records are chains of versions."""

    device_id = "here"
    notice = ""

    def __init__(self) -> None:
        self._acts: list[Act] = []
        self._chains: dict[str, list[Version]] = {}
        self._closed = False

    # --- writing

    def act(self, kind: str, rug_id: str | None = None) -> ActInMemory:
        """Return an act to be used in a `with` block."""
        return ActInMemory(self, kind, rug_id)

    def store(
        self,
        act_id: str,
        kind: str,
        rug_id: str | None,
        targets: dict[str, tuple[Any, bool]],
        undoes_id: str | None,
    ) -> str:
        """Write what the targets change; return the act's id, or that of the act that holds them already."""
        self._open()
        changed: dict[str, Version] = {}
        holder = act_id
        for record_id, (value, withdrawn) in targets.items():
            chain = self._chains.get(record_id)
            if chain is None and value is None:
                raise BadEntry("This entry is not in the book.")
            newest = chain[-1] if chain else None
            said = newest.value if value is None and newest is not None else value
            if newest is not None and newest.withdrawn == withdrawn and _same(newest.value, said):
                holder = newest.act_id
                continue
            changed[record_id] = Version(act_id, said, withdrawn)
        if not changed:
            return holder
        if rug_id is None:
            rugs = {_rug_of(version.value) for version in changed.values()}
            rug_id = rugs.pop() if len(rugs) == 1 else None
        self._acts.append(Act(act_id, kind, rug_id, undoes_id, tuple(changed)))
        for record_id, version in changed.items():
            self._chains.setdefault(record_id, []).append(version)
        return act_id

    def undo(self, act_id: str) -> Undone:
        """Take an act back."""
        act = next((act for act in self._acts if act.act_id == act_id), None)
        if act is None:
            raise BookTrouble("This is not in the book, so it cannot be undone.")
        targets: dict[str, tuple[Any, bool]] = {}
        left = []
        for record_id in act.records:
            *older, newest = self._chains[record_id]
            if newest.act_id != act_id:
                left.append(record_id)
            elif older:
                targets[record_id] = (older[-1].value, older[-1].withdrawn)
            elif not newest.withdrawn:
                targets[record_id] = (newest.value, True)
        undone = self.store(new_id(), ActKind.UNDONE, act.rug_id, targets, act_id) if targets else None
        return Undone(undone, tuple(targets), tuple(left))

    def close(self) -> None:
        """Close the book."""
        self._closed = True

    def _open(self) -> None:
        if self._closed:
            raise BookTrouble("The book is closed. Open it again.")

    # --- reading

    def _born(self, record_id: str) -> int:
        first = self._chains[record_id][0].act_id
        return 1 + next(number for number, act in enumerate(self._acts) if act.act_id == first)

    def _current(self, kind: type, rug_id: str | None = None, anywhere: bool = False) -> list[Any]:
        self._open()
        values = [
            replace(chain[-1].value, born=self._born(record_id))
            for record_id, chain in self._chains.items()
            if isinstance(chain[-1].value, kind) and not chain[-1].withdrawn
        ]
        return sorted(
            (value for value in values if anywhere or _rug_of(value) == rug_id), key=_number_and_day
        )

    def rugs(self) -> tuple[RugPlan, ...]:
        """Return the plans of all rugs."""
        return tuple(sorted(self._current(RugPlan, anywhere=True), key=lambda plan: plan.born))

    def yarns(self) -> tuple[Yarn, ...]:
        """Return the yarns of all rugs."""
        return tuple(self._current(Yarn, anywhere=True))

    def lots(self) -> tuple[Lot, ...]:
        """Return what was bought for all rugs, as it was bought."""
        return tuple(self._current(Lot, anywhere=True))

    def lot_moves(self) -> tuple[LotMove, ...]:
        """Return every move of yarn."""
        return tuple(self._current(LotMove))

    def looms(self) -> tuple[Loom, ...]:
        """Return all looms."""
        return tuple(self._current(Loom))

    def weavers(self) -> tuple[Weaver, ...]:
        """Return everybody who sits at the loom."""
        return tuple(self._current(Weaver))

    def settings(self) -> dict[str, Any]:
        """Return all settings by their key."""
        return {setting.id: setting.value for setting in self._current(Setting)}

    def rug_book(self, rug_id: str, with_cartoon: bool = True) -> RugBook:
        """Return everything about one rug."""
        plan = next((plan for plan in self.rugs() if plan.id == rug_id), None)
        if plan is None:
            raise BookTrouble("This rug is not in the book any more.")
        cartoons = self._current(Cartoon, rug_id)
        lists: dict[str, Any] = {name: tuple(self._current(kind, rug_id)) for name, kind in LISTS.items()}
        lists["lots"] = lots_of_rug(
            rug_id,
            lists["lots"],
            [lot for lot in self.lots() if lot.rug_id != rug_id],
            self.lot_moves(),
        )
        days_off = (*self._current(DaysOff, rug_id), *self._current(DaysOff))
        return RugBook(
            plan=plan,
            cartoon=cartoons[-1] if cartoons and with_cartoon else None,
            weavers=self.weavers(),
            days_off=tuple(sorted(days_off, key=_number_and_day)),
            loom=next((loom for loom in self.looms() if loom.id == plan.loom_id), None),
            warp_parts=self._warp_parts(plan),
            sat_before=self._sat_before(plan, lists["sessions"]),
            **lists,
        )

    def _warp_parts(self, plan: RugPlan) -> tuple[WarpPart, ...]:
        on_warp = rugs_on_warp(plan.id, self.rugs())

        def part(other: RugPlan) -> WarpPart:
            cartoons = self._current(Cartoon, other.id)
            yarns, preparations, sessions, own_lots, spoilt, weighings = (
                self._current(kind, other.id) for kind in (Yarn, Preparation, Session, Lot, Spoilt, Weighing)
            )
            elsewhere = [lot for lot in self.lots() if lot.rug_id != other.id]
            lots = lots_of_rug(other.id, tuple(own_lots), elsewhere, self.lot_moves())
            cartoon = cartoons[-1] if cartoons else None
            return warp_part(other, cartoon, yarns, preparations, sessions, lots, spoilt, weighings)

        return tuple(part(other) for other in on_warp) if len(on_warp) > 1 else ()

    def _sat_before(self, plan: RugPlan, sessions: tuple[Session, ...]) -> tuple[str, ...]:
        if plan.loom_id is None or sessions:
            return ()
        there = [other.id for other in self.rugs() if other.loom_id == plan.loom_id]
        return sat_last(session for rug_id in there for session in self._current(Session, rug_id))

    def history(self, record_id: str) -> tuple[PastVersion, ...]:
        """Return every version of an entry, the newest first."""
        self._open()
        chain = self._chains.get(record_id)
        if chain is None:
            raise BookTrouble("This entry is not in the book.")
        kinds = {act.act_id: act.kind for act in self._acts}
        return tuple(
            PastVersion(
                act_id=version.act_id,
                made_at=AT,
                device=self._here(),
                kind=kinds[version.act_id],
                value=None if version.withdrawn else replace(version.value, born=self._born(record_id)),
                current=version is chain[-1],
                set_aside=False,
            )
            for version in reversed(chain)
        )

    def diary(
        self,
        rug_id: str | None = None,
        text: str = "",
        kinds: Collection[str] | None = None,
        limit: int = 50,
        offset: int = 0,
        folded: bool = False,
        mended_in_place: bool = False,
    ) -> tuple[Entry, ...]:
        """Return acts, the newest first."""
        self._open()
        told = [
            self._entry(act)
            for act in reversed(self._acts)
            if (rug_id is None or act.rug_id == rug_id) and (kinds is None or act.kind in kinds)
            if not folded or not (self._is_deleted(act) or act.undoes_id)
            if not mended_in_place or not self._is_told_by_others(act, rug_id, kinds)
        ]
        wanted = text.strip().casefold()
        told = [entry for entry in told if wanted in _words(entry)]
        return tuple(told[offset : offset + limit])

    def _is_deleted(self, act: Act) -> bool:
        """Whether an act tells of one entry alone, which another act deleted since."""
        if len(act.records) != 1:
            return False
        newest = self._chains[act.records[0]][-1]
        deletion = next(one for one in self._acts if one.act_id == newest.act_id)
        return newest.withdrawn and deletion is not act and deletion.undoes_id is None

    def _is_told_by_others(self, act: Act, rug_id: str | None, kinds: Collection[str] | None) -> bool:
        """Whether an act stands and only says what another act, among those told, tells as it stands."""
        if act.undoes_id or act.kind in BRINGING_BACK or self._is_undone(act.act_id):
            return False
        for record_id in act.records:
            chain = self._chains[record_id]
            own = self._act_told_by(chain)
            told = (rug_id is None or own.rug_id == rug_id) and (kinds is None or own.kind in kinds)
            gone = next(version.withdrawn for version in chain if version.act_id == act.act_id)
            if own is act or gone or not told or KINDS[type(chain[-1].value)] not in COUNTED:
                return False
        return True

    def _act_told_by(self, chain: list[Version]) -> Act:
        acts = {one.act_id: one for one in self._acts}
        own = telling(
            (acts[one.act_id].kind, acts[one.act_id].undoes_id is not None, one.withdrawn) for one in chain
        )
        return acts[chain[own].act_id]

    def entry(self, act_id: str) -> Entry | None:
        """Return one act."""
        self._open()
        return next((self._entry(act) for act in self._acts if act.act_id == act_id), None)

    def diary_count(
        self,
        rug_id: str | None = None,
        text: str = "",
        kinds: Collection[str] | None = None,
        folded: bool = False,
        mended_in_place: bool = False,
    ) -> int:
        """Return how many acts `diary` would tell of."""
        return len(
            self.diary(
                rug_id, text, kinds, limit=len(self._acts), folded=folded, mended_in_place=mended_in_place
            )
        )

    def phone_name(self) -> str:
        """Return what this phone is called."""
        return self._here().name

    def _here(self) -> Writer:
        return Writer(self.device_id, "this phone", True)

    def _entry(self, act: Act) -> Entry:
        changes = []
        undoable = False
        for record_id in act.records:
            chain = self._chains[record_id]
            place = next(place for place, version in enumerate(chain) if version.act_id == act.act_id)
            before = chain[place - 1] if place else None
            newest = place == len(chain) - 1
            undoable |= newest and (place > 0 or not chain[place].withdrawn)
            changes.append(
                Change(
                    record_id=record_id,
                    kind=KINDS[type(chain[place].value)],
                    before=None if before is None or before.withdrawn else before.value,
                    after=None if chain[place].withdrawn else chain[place].value,
                    current=newest,
                    since=(since := _since(chain[place], chain[-1])),
                    now=chain[-1].value if since is Since.CHANGED else None,
                    told_elsewhere=KINDS[type(chain[place].value)] in COUNTED
                    and self._act_told_by(chain) is not act,
                )
            )
        return Entry(
            act_id=act.act_id,
            made_at=AT,
            device=self._here(),
            kind=act.kind,
            rug_id=act.rug_id,
            undoes_id=act.undoes_id,
            undone=self._is_undone(act.act_id),
            undoable=undoable,
            changes=tuple(changes),
            undone_by=next(
                (
                    undo.act_id
                    for undo in self._acts
                    if undo.undoes_id == act.act_id and not self._is_undone(undo.act_id)
                    if any(self._chains[one][-1].act_id == undo.act_id for one in act.records)
                ),
                "",
            ),
        )

    def _is_undone(self, act_id: str) -> bool:
        return any(act.undoes_id == act_id and not self._is_undone(act.act_id) for act in self._acts)


def _since(version: Any, latest: Any) -> Since:
    if version.withdrawn and latest.withdrawn:
        return Since.STANDS
    if latest.withdrawn:
        return Since.WITHDRAWN
    return Since.STANDS if not version.withdrawn and _same(version.value, latest.value) else Since.CHANGED


def _same(one: Any, other: Any) -> bool:
    if isinstance(one, Cartoon):
        return one is other
    return bool(replace(one, born=0) == replace(other, born=0))


def _rug_of(value: Any) -> str | None:
    return value.id if isinstance(value, RugPlan) else getattr(value, "rug_id", None)


def _number_and_day(value: Any) -> tuple[int, date, int]:
    day = getattr(value, "day", None) or getattr(value, "first_day", None) or date.min
    return getattr(value, "number", 0), day, value.born


def _words(entry: Entry) -> str:
    """The names and notes an act wrote."""
    values = [change.after for change in entry.changes if change.after is not None]
    fields = ("name", "note", "notes", "caption", "reason", "dyer")
    return " ".join(str(getattr(value, field, "")) for value in values for field in fields).casefold()
