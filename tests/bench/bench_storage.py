"""How a book's times grow: one rug against 50 rugs, 20,000 sessions, 300,000 records.

`python -m tests.bench.bench_storage` prints every time of the large book as a ratio to the same of the small one.
"""

from __future__ import annotations

import random
import sqlite3
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from storage import copies, diary, exchange, reading
from storage.book import Book
from storage.convert import (
    add_seals,
    identity,
    kind_of,
    seal_of_act,
    seal_of_device,
    seal_of_version,
    to_columns,
)
from storage.merge import join_file, make_staging
from tests.storage.book_samples import plan
from tracker.domain.rug import Lot, Measurement, Photo, Role, Session, Spoilt, Weighing, Yarn, new_id
from tracker.files.whole import working

SESSIONS, RECORDS = 400, 6000
"""Of one rug: 50 such rugs are 20,000 sessions and 300,000 records."""


def records_of_a_rug(chance: random.Random) -> Iterator[Any]:
    """Yield a rug and RECORDS - 1 other records of it, SESSIONS of them sessions."""
    rug = plan(f"Rug {chance.randrange(10**6)}")
    yield rug
    yarns = [
        Yarn(id=new_id(), rug_id=rug.id, role=Role.PILE, number=number, name=f"colour {number}", tex=500.0)
        for number in range(1, 13)
    ]
    yield from yarns
    first = date(2025, 1, 1)
    for number in range(SESSIONS):
        yield Session(
            id=new_id(),
            rug_id=rug.id,
            day=first + timedelta(days=number),
            rows=chance.randrange(1, 9),
            hours=chance.randrange(2, 12) / 2,
            used=((chance.choice(yarns).id, 1.0),),
            note="a note of the evening " * chance.randrange(3),
        )
    rest = RECORDS - 1 - len(yarns) - SESSIONS
    for number in range(rest):
        day = first + timedelta(days=number % SESSIONS)
        common: dict[str, Any] = {"id": new_id(), "rug_id": rug.id, "day": day}
        yarn_id = chance.choice(yarns).id
        kind = number % 5
        if kind == 0:
            yield Weighing(**common, yarn_id=yarn_id, mass_g=float(chance.randrange(5, 900)))
        elif kind == 1:
            yield Lot(**common, yarn_id=yarn_id, mass_g=1000.0, dye_lot=str(number), dyer="a dyer")
        elif kind == 2:
            yield Measurement(**common, row=number, length_cm=1.0 + number / 40)
        elif kind == 3:
            yield Photo(**common, file_name=f"{number}.jpg", caption="border and field")
        else:
            yield Spoilt(**common, yarn_id=yarn_id, mass_g=5.0, note="moths")


def fill(book: Book, rugs: int, seed: int = 1) -> None:
    """Put `rugs` rugs into a book, each record in an act of its own, by way of a staging file."""
    chance = random.Random(seed)
    staging = working(book.path, "staging")
    make_staging(staging)
    device_id = new_id()
    # Rugs grow side by side, so that a rug's rows lie scattered over the whole file.
    looms = [records_of_a_rug(chance) for _rug in range(rugs)]
    totals: dict[tuple[str, str], list[int]] = {}
    with closing(sqlite3.connect(staging)) as connection:
        connection.execute("PRAGMA synchronous = OFF")
        connection.execute(
            "INSERT INTO device VALUES (?, ?, ?)", (device_id, "old", seal_of_device(device_id, "old"))
        )
        clock = 0
        for together in zip(*looms, strict=True):
            for value in together:
                clock += 1
                kind = kind_of(value)
                record_id, rug_id = identity(value)
                act = (new_id(), device_id, clock, clock * 10**6, "entered", rug_id, None, 1)
                connection.execute(
                    "INSERT INTO act (act_id, device_id, clock, made_at, kind, rug_id, undoes_id, versions, seal)"
                    " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
                    (*act, seal_of_act(*act)),
                )
                columns = tuple(to_columns(kind, value).values())
                seal = seal_of_version(kind, record_id, rug_id, act[:3], None, 0, columns)
                exchange.put_version(connection, kind, (record_id, rug_id, *act[:3], None, 0, seal, *columns))
                total = totals.setdefault((rug_id or "", kind.name), [0, 0])
                total[0] += 1
                total[1] = add_seals(total[1], (seal,))
        exchange.put_tallies(connection, totals)
        connection.commit()
    join_file(book, staging)
    staging.unlink()


def quickest(what: Callable[[], object], times: int) -> float:
    """Return the shortest of several times in seconds: what else runs on the machine only ever adds."""
    took = []
    for _time in range(times):
        began = time.perf_counter()
        what()
        took.append(time.perf_counter() - began)
    return min(took)


def reopened(path: Path) -> None:
    """Open and close."""
    Book.open(path).close()


def measures(path: Path, times: int) -> dict[str, float]:
    """Return seconds for what the app does at a touch, and for what it does in the background."""
    chance = random.Random(2)
    result = {"opening": quickest(lambda: reopened(path), times)}
    with Book.open(path) as book:
        rug_id = reading.rugs(book)[0].id

        def save() -> None:
            with book.act("session logged", rug_id) as act:
                act.write(Session(id=new_id(), rug_id=rug_id, day=date(2026, 6, 1), rows=chance.randrange(9)))

        result["list of rugs, a rug's share"] = quickest(lambda: reading.rugs(book), times) / len(
            reading.rugs(book)
        )
        result["reading a rug"] = quickest(lambda: reading.rug_book(book, rug_id), times)
        result["saving a session"] = quickest(save, times * 4)
        result["undo and redo"] = quickest(lambda: book.undo(diary.entries(book, limit=1)[0].act_id), times)
        result["a page of the diary"] = quickest(lambda: diary.entries(book, limit=50), times)
        result["a page of a rug's diary"] = quickest(lambda: diary.entries(book, rug_id, limit=50), times)
        result["searching a rug's diary"] = quickest(
            lambda: diary.entries(book, rug_id, "evening", limit=20), times
        )
        result["settings"] = quickest(lambda: reading.settings(book), times)
    return result


def growth(
    folder: Path, rugs: int, times: int
) -> tuple[dict[str, float], dict[str, float], dict[str, float]]:
    """Return (seconds small, seconds large, ratio) for a book of one rug and one of `rugs` rugs."""
    books = {}
    for count in (1, rugs):
        path = folder / f"{count}.loomside"
        with Book.open(path) as book:
            fill(book, count)
        books[count] = measures(path, times)
    small, large = books[1], books[rugs]
    return small, large, {name: large[name] / small[name] for name in small}


def main() -> None:
    """Print the growth."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        began = time.perf_counter()
        small, large, ratio = growth(folder, 50, 15)
        print(f"built and measured in {time.perf_counter() - began:.0f} s")
        sizes = [(folder / f"{count}.loomside").stat().st_size / 2**20 for count in (1, 50)]
        print(
            f"one rug: {RECORDS} records, {sizes[0]:.1f} MiB; 50 rugs: {50 * RECORDS} records, {sizes[1]:.1f} MiB\n"
        )
        print(f"{'at a touch':32}{'one rug ms':>12}{'50 rugs ms':>12}{'ratio':>8}")
        for what in small:
            print(f"{what:32}{small[what] * 1000:12.2f}{large[what] * 1000:12.2f}{ratio[what]:8.2f}")
        print("\nin the background, 50 rugs:")
        with Book.open(folder / "50.loomside") as book:
            for what, do in (
                ("checking the whole book", book.check),
                ("searching the whole diary", lambda: diary.entries(book, text="evening")),
                ("a checked copy", lambda: copies.copy_now(book)),
                ("writing an exchange file", lambda: exchange.write_exchange(book, folder / "file")),
                ("joining it again", lambda: exchange.join(book, folder / "file")),
            ):
                print(f"{what:32}{quickest(do, 1):11.1f} s")
            print(f"the exchange file has {(folder / 'file').stat().st_size / 2**20:.1f} MiB")


if __name__ == "__main__":
    main()
