"""Power cut: every write and sync of a run is recorded and replayed cut short; what was acknowledged is there."""

from __future__ import annotations

import random
import time
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from storage import diary
from storage.book import Book
from tests.storage.book_samples import Clock, one_of_every_kind, session
from tests.storage.phone_disk import Disk, Lost, connect_through
from tracker.domain.rug import RugPlan


def record_a_run(path: Path, acts: int, seed: int) -> tuple[Disk, dict[str, int]]:
    """Work on a book over a recording disk; return the disk and how many versions each act wrote."""
    Book.open(path, now=Clock()).close()
    chance = random.Random(seed)
    disk = Disk(f"recording-{seed}")
    # What lies there already is on the disk for good.
    disk.log.append(("write", str(path), 0, path.read_bytes()))
    disk.log.append(("sync", str(path)))
    disk.recording = True
    written: dict[str, int] = {}
    values = one_of_every_kind()
    rug = next(value for value in values if isinstance(value, RugPlan))
    logged = []
    with Book.open(path, now=Clock(), connect=connect_through(disk, path)) as book:
        with book.writing() as connection:
            # A small limit makes SQLite bring its journal into the book several times within the run.
            connection.exec_driver_sql("PRAGMA wal_autocheckpoint = 40")
        for number in range(acts):
            with book.act("work") as act:
                if number == 0:
                    count = len(values)
                    for value in values:
                        act.write(value)
                elif number % 5 == 4:
                    count = 1
                    act.write(replace(logged.pop(), rows=99, note="corrected"))
                else:
                    count = chance.randint(1, 4)
                    for _one in range(count):
                        logged.append(
                            session(rug.id, date(2026, 3, 1) + timedelta(days=number), note="n" * 200)
                        )
                        act.write(logged[-1])
            written[act.act_id] = count
            disk.note("acknowledged", act.act_id)
            if number % 7 == 6:
                with book.engine.connect() as connection:
                    connection.exec_driver_sql("PRAGMA wal_autocheckpoint = 40")
    disk.recording = False
    disk.unregister()
    return disk, written


def check_remains(
    folder: Path, files: dict[str, bytes], acknowledged: list[str], written: dict[str, int]
) -> None:
    """Open what the power cut left and check it."""
    for leftover in folder.iterdir():
        leftover.unlink()
    for name, content in files.items():
        (folder / Path(name).name).write_bytes(content)
    with Book.open(folder / "book.loomside", now=Clock()) as book:
        book.check()
        entries = {entry.act_id: len(entry.changes) for entry in diary.entries(book, limit=10_000)}
    assert set(acknowledged) <= set(entries), "an acknowledged act is gone"
    assert all(written[act_id] == count for act_id, count in entries.items()), "an act is half there"


def cut_everywhere(folder: Path, disk: Disk, written: dict[str, int], variants: int) -> dict[str, int]:
    """Cut the power before and after every sync and at every acknowledgement; return how often."""
    chance = random.Random(5)
    lost = Lost()
    acknowledged: list[str] = []
    counts = {"sync points": 0, "cuts": 0, "writes recorded": 0}
    for position, told in enumerate(disk.log):
        if told[0] == "acknowledged":
            acknowledged.append(told[1])
            continue
        counts["writes recorded"] += told[0] == "write"
        at_sync = told[0] == "sync" and position > 1
        if at_sync:
            counts["sync points"] += 1
            for how in ("synced", "all", *["some"] * variants):
                check_remains(folder, lost.files(how, chance), acknowledged, written)
                counts["cuts"] += 1
        lost.apply(told)
        if at_sync:
            check_remains(folder, lost.files("synced", chance), acknowledged, written)
            counts["cuts"] += 1
    for how in ("synced", "all", "some"):
        check_remains(folder, lost.files(how, chance), acknowledged, written)
        counts["cuts"] += 1
    assert len(acknowledged) == len(written)
    return counts


def test_the_power_cut_at_every_sync_point(tmp_path):
    (tmp_path / "run").mkdir()
    (tmp_path / "cut").mkdir()
    disk, written = record_a_run(tmp_path / "run" / "book.loomside", acts=7, seed=1)
    counts = cut_everywhere(tmp_path / "cut", disk, written, variants=1)
    print(counts)
    # With synchronous=FULL every act is one sync of the journal at the least.
    assert counts["sync points"] >= 7


def test_the_recording_would_notice_an_act_that_was_not_synced(tmp_path):
    """The check itself is checked: without its syncs, the same run loses acknowledged acts."""
    (tmp_path / "run").mkdir()
    (tmp_path / "cut").mkdir()
    disk, written = record_a_run(tmp_path / "run" / "book.loomside", acts=6, seed=2)
    first_sync = disk.log[:2]
    disk.log = first_sync + [told for told in disk.log[2:] if told[0] != "sync"]
    with pytest.raises(AssertionError, match="gone"):
        cut_everywhere(tmp_path / "cut", disk, written, variants=0)


@pytest.mark.slow
@pytest.mark.timeout(3000)
def test_the_power_cut_at_every_sync_point_of_a_long_run(tmp_path, capsys):
    (tmp_path / "run").mkdir()
    (tmp_path / "cut").mkdir()
    began = time.monotonic()
    disk, written = record_a_run(tmp_path / "run" / "book.loomside", acts=150, seed=3)
    counts = cut_everywhere(tmp_path / "cut", disk, written, variants=4)
    with capsys.disabled():
        print(f"\npower cut: {counts} in {time.monotonic() - began:.0f} s; every cut survived")
    assert counts["sync points"] >= 150
