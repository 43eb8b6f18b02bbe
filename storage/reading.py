"""Reads for the screens: what counts now, as plain values. Every row read is checked against its seal."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Any

from sqlalchemy import Connection, select

from storage.convert import (
    SETTING_PREFIX,
    UNLAWFUL,
    Kind,
    add_seals,
    kind_named,
    to_value,
)
from storage.models import Tally
from storage.open_book import OpenBook
from storage.trouble import damaged
from storage.versions import (
    ACT,
    CLOCK,
    COLUMNS,
    DEVICE,
    RECORD,
    RUG,
    SEAL,
    WITHDRAWN,
    Current,
    current,
    row_value,
    true_row,
    versions,
    versions_of_book,
    versions_of_record,
    versions_of_rug,
)
from tracker.domain import rules
from tracker.domain.errors import BadEntry, BookTrouble
from tracker.domain.loom import Loom, WarpPart
from tracker.domain.lot_moves import LotMove, lots_of_rug
from tracker.domain.rug import Cartoon, Lot, RugBook, RugPlan, Session, SetAside, Weaver, Yarn
from tracker.domain.shared_warp import rugs_on_warp, warp_part
from tracker.domain.shopping import LEAST_SETTING, SKEIN_SETTING, as_sold, says_how_sold
from tracker.domain.team import sat_last
from tracker.words import _


def _current_plans(rows: Sequence[Sequence[Any]]) -> Current:
    """Like `current`, but a plan that cannot be is shown as near as it can be, so that its rug opens."""
    kind = kind_named("rug_plan")
    plans = current(kind, rows)
    for aside in plans.set_aside:
        chain = sorted(
            (row for row in rows if row[RECORD] == aside.id and not row[WITHDRAWN]),
            key=lambda row: (row[CLOCK], row[DEVICE], row[ACT]),
            reverse=True,
        )
        for row in chain:
            value = row_value(kind, row, aside.born)
            if isinstance(value, SetAside):
                try:
                    value = rules.within(to_value(kind, row[RECORD], row[RUG], aside.born, row[COLUMNS:]))
                except UNLAWFUL:
                    continue
            plans.values.append(value)
            break
    plans.sort()
    return plans


class _Tallies:
    """What should be there, to be compared with what was found."""

    def __init__(self, connection: Connection, rug_ids: Collection[str]) -> None:
        rows = connection.execute(
            select(Tally.rug_id, Tally.kind, Tally.versions, Tally.seals).where(Tally.rug_id.in_(rug_ids))
        )
        self._expected = {(row.rug_id, row.kind): (row.versions, row.seals) for row in rows}

    def compare(self, rug_id: str, kind: Kind, rows: Sequence[Sequence[Any]]) -> None:
        """Raise BookDamaged unless `rows` are all and only the versions of the rug and kind."""
        counted = (len(rows), add_seals(0, (row[SEAL] for row in rows)))
        if self._expected.get((rug_id, kind.name), (0, 0)) != counted:
            raise damaged(f"the tally of {kind.name} of rug {rug_id!r} does not agree")


def _sealed(connection: Connection, name: str, rug_id: str | None, tallies: _Tallies) -> list[Sequence[Any]]:
    """Return every version of one kind of one rug (None: of the book), checked."""
    kind = kind_named(name)
    if rug_id is None:
        rows = connection.execute(versions_of_book(name)).all()
    else:
        rows = connection.execute(versions_of_rug(name), {"rug_id": rug_id}).all()
    checked = [true_row(kind, row) for row in rows]
    tallies.compare(rug_id or "", kind, checked)
    return checked


def _read(connection: Connection, name: str, rug_id: str | None, tallies: _Tallies) -> Current:
    rows = _sealed(connection, name, rug_id, tallies)
    return _current_plans(rows) if name == "rug_plan" else current(kind_named(name), rows)


def rugs(book: OpenBook) -> tuple[RugPlan, ...]:
    """Return the plans of all rugs, in the order in which they were entered."""
    return tuple(_of_all_rugs(book, "rug_plan"))


def yarns(book: OpenBook) -> tuple[Yarn, ...]:
    """Return the yarns of all rugs, so that an entry about any rug can be told by name."""
    return tuple(_of_all_rugs(book, "yarn"))


def _of_all_rugs(book: OpenBook, name: str) -> list[Any]:
    """Return the current values of one kind of every rug, each version checked against the tallies.

    What cannot be is left out here; `rug_book` tells of it.
    """
    kind = kind_named(name)
    with book.reading() as connection:
        rows = [true_row(kind, row) for row in connection.execute(versions(name))]
        expected = connection.execute(select(Tally.versions, Tally.seals).where(Tally.kind == name)).all()
    if len(rows) != sum(row.versions for row in expected) or add_seals(
        0, (row[SEAL] for row in rows)
    ) != add_seals(0, (row.seals for row in expected)):
        raise damaged(f"the tallies of {name} do not agree")
    return (_current_plans(rows) if name == "rug_plan" else current(kind, rows)).values


def rug_book(book: OpenBook, rug_id: str, with_cartoon: bool = True) -> RugBook:
    """Return everything the book holds about one rug, as of one moment.

    Parameters
    ----------
    with_cartoon
        False leaves the cartoon out (None), which is faster where no picture is drawn.

    Raises
    ------
    BookTrouble
        There is no such rug (any more).
    """
    with book.reading() as connection:
        tallies = _Tallies(connection, ("", rug_id))

        aside: list[SetAside] = []

        def read(name: str, rug: str | None = rug_id) -> tuple[Any, ...]:
            records = _read(connection, name, rug, tallies)
            aside.extend(records.set_aside)
            return tuple(records.values)

        plans = read("rug_plan")
        if not plans:
            raise BookTrouble(_("This rug is not in the book any more."))
        cartoon: Cartoon | None = None
        if with_cartoon:
            # Two phones may each have given the rug a cartoon; the one entered last counts.
            cartoon = max(read("cartoon"), key=lambda entered: (entered.born, entered.id), default=None)
        if cartoon is not None:
            try:
                rules.check(cartoon)
            except UNLAWFUL as error:
                sentence = (
                    error.sentence
                    if isinstance(error, BadEntry)
                    else _("It is not written as a book writes it.")
                )
                aside.append(SetAside(cartoon.id, "cartoon", rug_id, sentence, cartoon.born))
                cartoon = None
        days_off = sorted(
            (*read("days_off"), *read("days_off", None)), key=lambda off: (off.first_day, off.born)
        )
        yarns = read("yarn")
        if not all(says_how_sold(yarn) for yarn in yarns):
            said = {key: _setting(connection, key) for key in (SKEIN_SETTING, LEAST_SETTING)}
            yarns = tuple(as_sold(yarn, said) for yarn in yarns)
        sessions = read("session")
        return RugBook(
            plan=plans[0],
            cartoon=cartoon,
            yarns=yarns,
            weavers=read("weaver", None),
            sessions=sessions,
            lots=_lots_with_moves(connection, rug_id, read("lot"), read("lot_move", None)),
            weighings=read("weighing"),
            spoilt=read("spoilt"),
            samples=read("sample"),
            measurements=read("measurement"),
            days_off=tuple(days_off),
            preparations=read("preparation"),
            after_steps=read("after_step"),
            photos=read("photo"),
            wages=read("wage"),
            costs=read("cost"),
            pricings=read("pricing"),
            lot_changes=read("lot_change"),
            marks=read("cartoon_mark"),
            trims=read("trim"),
            hand_outs=read("hand_out"),
            orders=read("rug_order"),
            payments=read("payment"),
            loom=_loom_of(connection, plans[0]),
            warp_parts=_warp_parts(connection, plans[0]),
            sat_before=_sat_before(connection, plans[0], sessions),
            set_aside=tuple(aside),
        )


def _lots_with_moves(
    connection: Connection, rug_id: str, lots: tuple[Lot, ...], moves: tuple[LotMove, ...]
) -> tuple[Lot, ...]:
    """Return a rug's lots with what was moved to it and away; the lots of other rugs are looked up one by one."""
    own = {lot.id for lot in lots}
    ours = {move.lot_id for move in moves if rug_id in (move.from_rug_id, move.to_rug_id)}
    if not ours:
        return lots
    kind = kind_named("lot")
    others: list[Lot] = []
    for lot_id in sorted(ours - own):
        rows = connection.execute(versions_of_record("lot"), {"record_id": lot_id})
        others += current(kind, [true_row(kind, row) for row in rows]).values
    return lots_of_rug(rug_id, lots, others, moves)


def _loom_of(connection: Connection, plan: RugPlan) -> Loom | None:
    """Return the loom a plan names; None where it names none, or one that is no longer in the book."""
    if plan.loom_id is None:
        return None
    looms = _read(connection, "loom", None, _Tallies(connection, ("",))).values
    return next((loom for loom in looms if loom.id == plan.loom_id), None)


def _warp_parts(connection: Connection, plan: RugPlan) -> tuple[WarpPart, ...]:
    """Return the parts of the warp a rug lies on, its own included; () where the warp is its own."""
    if plan.loom_id is None:
        return ()
    rows = [true_row(kind_named("rug_plan"), row) for row in connection.execute(versions("rug_plan"))]
    on_warp = rugs_on_warp(plan.id, _current_plans(rows).values)
    if len(on_warp) < 2:
        return ()
    tallies = _Tallies(connection, [other.id for other in on_warp])
    moves = _read(connection, "lot_move", None, _Tallies(connection, ("",))).values

    def part(other: RugPlan) -> WarpPart:
        def read(name: str) -> list[Any]:
            return _read(connection, name, other.id, tallies).values

        cartoon = max(read("cartoon"), key=lambda entered: (entered.born, entered.id), default=None)
        yarns = read("yarn")
        if not all(map(says_how_sold, yarns)):
            said = {key: _setting(connection, key) for key in (SKEIN_SETTING, LEAST_SETTING)}
            yarns = [as_sold(yarn, said) for yarn in yarns]
        lots = _lots_with_moves(connection, other.id, tuple(read("lot")), tuple(moves))
        return warp_part(
            other,
            cartoon,
            yarns,
            read("preparation"),
            read("session"),
            lots,
            read("spoilt"),
            read("weighing"),
        )

    return tuple(part(other) for other in on_warp)


def _sat_before(connection: Connection, plan: RugPlan, sessions: tuple[Session, ...]) -> tuple[str, ...]:
    """Return who sat last at a rug's loom while it has no session of its own."""
    if plan.loom_id is None or sessions:
        return ()
    rows = [true_row(kind_named("rug_plan"), row) for row in connection.execute(versions("rug_plan"))]
    there = [other.id for other in _current_plans(rows).values if other.loom_id == plan.loom_id]
    tallies = _Tallies(connection, there)
    return sat_last(
        session for rug_id in there for session in _read(connection, "session", rug_id, tallies).values
    )


def looms(book: OpenBook) -> tuple[Loom, ...]:
    """Return all looms, in the order in which they were entered."""
    with book.reading() as connection:
        return tuple(_read(connection, "loom", None, _Tallies(connection, ("",))).values)


def lots(book: OpenBook) -> tuple[Lot, ...]:
    """Return what was bought for all rugs, as it was bought."""
    return tuple(_of_all_rugs(book, "lot"))


def lot_moves(book: OpenBook) -> tuple[LotMove, ...]:
    """Return every move of yarn between rugs and the shelf."""
    with book.reading() as connection:
        return tuple(_read(connection, "lot_move", None, _Tallies(connection, ("",))).values)


def weavers(book: OpenBook) -> tuple[Weaver, ...]:
    """Return everybody who sits at the loom, in the order in which they were entered."""
    with book.reading() as connection:
        return tuple(_read(connection, "weaver", None, _Tallies(connection, ("",))).values)


def settings(book: OpenBook) -> dict[str, object]:
    """Return all settings by their key."""
    with book.reading() as connection:
        values = _read(connection, "setting", None, _Tallies(connection, ("",))).values
    return {setting.id: setting.value for setting in values}


def setting(book: OpenBook, key: str, default: object = None) -> Any:
    """Return one setting, or `default` if it was never made."""
    with book.reading() as connection:
        return _setting(connection, key, default)


def _setting(connection: Connection, key: str, default: object = None) -> Any:
    kind = kind_named("setting")
    rows = connection.execute(versions_of_record("setting"), {"record_id": SETTING_PREFIX + key})
    values = current(kind, [true_row(kind, row) for row in rows]).values
    return values[0].value if values else default
