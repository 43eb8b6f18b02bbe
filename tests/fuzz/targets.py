"""What the fuzzer feeds: one file, picture, command line or book at a time, and what must hold whatever it is.

A target is made for a folder of its own and then fed bytes; it says what became of them in a word, and any exception
that comes out of it is a finding. `tests.fuzz.run` lets atheris choose the bytes by the code they reach, `test_seeds.py`
feeds what is kept.
"""

from __future__ import annotations

import contextlib
import gzip
import hashlib
import io
import json
import os
import random
import shutil
import sqlite3
import time
import uuid
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from unittest import mock

from tests.today import TODAY
from tracker.domain.errors import BadPicture, LoomsideError

HERE = Path(__file__).parent
SAMPLES = HERE.parent / "storage" / "schemas"
PROCESSOR_SECONDS = 8.0
"""Longest an input may keep the processor; the counting of what code is reached makes everything several times slower."""
Feed = Callable[[bytes], str]
Mutate = Callable[[bytes, int, random.Random], bytes | None]


@dataclass(frozen=True, slots=True)
class Target:
    """One way in. `make` returns what takes the bytes; `mutate` changes them knowingly, None leaves it to the fuzzer."""

    make: Callable[[Path], Feed]
    mutate: Mutate | None = None
    longest: int = 4096
    words: tuple[str, ...] = ()
    """Words worth trying."""
    rooms: tuple[str, ...] = ("storage", "tracker", "PIL")
    """Where the code that is reached counts; what only some inputs are led through would call each of them new."""


class TooSlow(AssertionError):
    """An input kept the processor too long."""


@contextlib.contextmanager
def in_time() -> Iterator[None]:
    """Fail when the block takes more processor than any input may."""
    began = time.process_time()
    yield
    took = time.process_time() - began
    if took > PROCESSOR_SECONDS:
        raise TooSlow(f"{took:.1f} s of processor")


def now_and_then(data: bytes, often: int) -> bool:
    """Tell one input of so many, always the same ones, for what is worth doing but takes long."""
    return hashlib.sha256(data).digest()[0] % often == 0


def _plain(trouble: LoomsideError) -> str:
    assert trouble.sentence.strip().endswith((".", "!", "?")), repr(trouble.sentence)
    return "refused"


# --- pictures of cartoons


def _cartoons(_folder: Path) -> Feed:
    from tests.unit.pictures.fuzz import sound
    from tracker.pictures.cartoon_reader import read_cartoon, read_scan, read_shades

    def feed(data: bytes) -> str:
        said = "taken"
        with in_time():
            for read in (read_cartoon, read_shades, read_scan) if now_and_then(data, 4) else (read_cartoon,):
                try:
                    found = read(data)
                except BadPicture as trouble:
                    said = _plain(trouble)
                else:
                    assert read is not read_cartoon or sound(found)
        return said

    return feed


def _with_true_checksums(data: bytes, _longest: int, chance: random.Random) -> bytes | None:
    from tests.unit.pictures.fuzz import damaged, with_true_checksums

    if chance.random() < 0.4:
        return None
    changed = damaged(data, chance)
    return with_true_checksums(changed) if changed.startswith(b"\x89PNG") else changed


def _sheets(_folder: Path) -> Feed:
    """Photographs, scans and pictures to be knotted; small ones only are read to the end, the reading is tested elsewhere."""
    from tracker.domain.errors import BadEntry
    from tracker.pictures.knotting import knot_picture
    from tracker.pictures.paper.opening import open_sheet
    from tracker.pictures.paper.reading import read_sheet
    from tracker.pictures.paper.understood import say_asks
    from tracker.pictures.photo_reader import read_photo

    def feed(data: bytes) -> str:
        said = "taken"
        with in_time():
            with contextlib.suppress(BadPicture):
                read_photo(data)
            try:
                sheet = open_sheet(data)
            except BadPicture as trouble:
                return _plain(trouble)
            if sheet.width * sheet.height > 40_000:
                return said
            for work in (
                lambda: say_asks(read_sheet(sheet)),
                lambda: knot_picture(sheet, knots=7, rows=9, colours=3),
            ):
                try:
                    work()
                except (BadPicture, BadEntry) as trouble:
                    said = _plain(trouble)
        return said

    return feed


# --- drafts


def _drafts(folder: Path) -> Feed:
    from tests.presenters.answers import answers
    from tests.presenters.rugs import book, session
    from tracker.app import first_view
    from tracker.app.drafts import Drafts
    from tracker.domain.errors import BadEntry
    from tracker.presenters import cloth, entry_forms, loom, mending, settings, timer
    from tracker.presenters import session as session_page
    from tracker.presenters.acts import filter_of
    from tracker.presenters.plan import changes, checks, draft, form, records, size, view

    rug = book(session(1, 3, 2.0))
    path, now = folder / "book.loomside.drafts.json", datetime(2026, 11, 25, 12, tzinfo=UTC)

    def told(work: Callable[[], Any]) -> None:
        with contextlib.suppress(BadEntry):
            work()

    def feed(data: bytes) -> str:
        path.write_bytes(data)
        with in_time():
            kept = Drafts(path)
            names = list(kept._kept)
            settings.build_settings_state(kept, {})
            filter_of(str((kept.get("diary") or {}).get("filter", "all")))
            for name in names:
                value = kept.get(name)
                filled = session_page.from_kept(value)
                if filled is not None:
                    session_page.build_session_state(filled, rug, TODAY)
                    told(lambda: session_page.to_session(filled, rug, TODAY))  # noqa: B023
                    loom.build_loom_state(rug, None, filled, TODAY)
                running = timer.from_kept(value)
                if running is not None:
                    timer.shown(running, now)
                    timer.hours_worked(timer.resume(timer.pause(running, now), now), now)
                    timer.break_due(running, now, 30.0)
                entry = entry_forms.from_kept(value)
                if entry is not None:
                    entry_forms.build_entry_form_state(entry, rug, TODAY)
                    told(lambda: entry_forms.to_value(entry, rug, TODAY))  # noqa: B023
                measure = cloth.from_kept(value)
                if measure is not None:
                    cloth.build_cloth_state(measure, rug, answers())
                    told(lambda: cloth.to_measurement(measure, rug, TODAY))  # noqa: B023
                for one in value.values() if isinstance(value, dict) else ():
                    planned = draft.from_kept(one)
                    if planned is not None:
                        _planned(planned)
                loom.place_of(value, "rug", 2, 5)
                loom.part_of(value, "rug", ())
                mending.doubts_of(value, "rug", 40, 60)
            kept.put("mirrored", True)
            assert Drafts(path).get("mirrored") is True
            assert set(names) <= set(Drafts(path)._kept) | {"mirrored"}, (
                "what was read is kept when it is written again"
            )
            first_view.kept(path)
        return "taken" if names else "refused"

    def _planned(planned: form.PlanForm) -> None:
        wrong = checks.troubles(planned)
        view.overview(planned, None, wrong)
        view.summary(planned)
        view.size_lines(planned, wrong)
        view.cloth_lines(planned, wrong)
        view.week_lines(planned, TODAY, wrong)
        view.density_table(planned)
        size.size_check(planned)
        told(lambda: changes.add_colour(planned, "x", "#102030"))
        if not wrong:
            records.draft_book(planned)

    return feed


def _json_mutations(data: bytes, longest: int, chance: random.Random) -> bytes | None:
    from tests.storage.test_fuzz import STRANGE, places, put

    if chance.random() < 0.5:
        return None
    try:
        told = json.loads(data)
    except (ValueError, RecursionError):
        return None
    if not isinstance(told, dict) or not told:
        return None
    value = chance.choice(
        (*STRANGE, 1e14, -1.0, 1.5, 0.01, "2026-02-28", "pile", "weft", "per inch", "#102030")
    )
    with contextlib.suppress(TypeError, IndexError, KeyError):
        put(told, chance.choice(places(told)), value)
    with contextlib.suppress(ValueError, UnicodeEncodeError):
        return json.dumps(told).encode()[:longest]
    return None


# --- books and exchange files


@contextlib.contextmanager
def _same_ids(seed: int) -> Iterator[None]:
    """Draw new ids from a seed, so that an input means the same whenever the samples are made."""
    chance = random.Random(seed)
    with mock.patch.object(uuid, "uuid4", lambda: uuid.UUID(int=chance.getrandbits(128), version=4)):  # noqa: PT008
        yield


def packed(lines: bytes) -> bytes:
    """Return lines as an exchange file with a true end."""
    if lines and not lines.endswith(b"\n"):
        lines += b"\n"
    end = json.dumps(["end", lines.count(b"\n"), hashlib.sha256(lines).hexdigest()], separators=(",", ":"))
    return gzip.compress(lines + end.encode() + b"\n", 1)


def unpacked(file: Path) -> bytes:
    """Return the lines of an exchange file without the end."""
    lines = gzip.decompress(file.read_bytes()).splitlines(keepends=True)
    return b"".join(line for line in lines if not line.startswith(b'["end"'))


def _exchange(folder: Path) -> Feed:
    from storage import exchange
    from storage.book import Book
    from tests.every_form import everything_of
    from tests.storage.book_samples import Clock, plan, session
    from tests.storage.test_damage import told
    from tracker.app.desk import Desk

    pristine, here = folder / "pristine", folder / "here"
    pristine.mkdir()
    with _same_ids(1), Book.open(pristine / "book.loomside", "this phone", Clock()) as made:
        rug = plan("Mine")
        with made.act("rug planned") as act:
            act.write(rug)
            act.write(session(rug.id))
    path, file = here / "book.loomside", folder / "other.loomside-exchange"
    opened: list[Book] = []

    def fresh() -> None:
        while opened:
            opened.pop().close()
        shutil.rmtree(here, ignore_errors=True)
        shutil.copytree(pristine, here)
        opened.append(Book.open(path, "this phone", Clock()))

    def shown(joined: Any, thorough: bool) -> None:
        """Let the pages ask for what came."""
        opened.pop().close()
        desk = Desk(path, today=lambda: TODAY, background=False)
        try:
            desk.open()
            if thorough:
                everything_of(desk, here, joined, papers=False)
        finally:
            desk.close()

    fresh()

    def feed(data: bytes) -> str:
        # What begins as a gzip stream does is the file itself, anything else its lines.
        file.write_bytes(data if data.startswith(b"\x1f\x8b") else packed(data))
        book = opened[0]
        before = book.acts()
        with in_time():
            try:
                joined = exchange.join(book, file)
            except LoomsideError as trouble:
                assert book.acts() == before
                return _plain(trouble)
            # Whatever the rules let in can be checked, told and written; now and then, shown.
            book.check()
            told(book)
            if now_and_then(data, 3):
                exchange.write_exchange(book, file)
            if now_and_then(data, 6):
                shown(joined, now_and_then(data, 48))
        fresh()
        return "taken"

    return feed


def _exchange_mutations(data: bytes, longest: int, chance: random.Random) -> bytes | None:
    from tests.storage.test_fuzz import mutated_lines

    deed = chance.random()
    # Several changes follow each other: mostly lawful ones, or hardly a file would be taken in.
    if deed < 0.05 or data.startswith(b"\x1f\x8b"):
        return None
    try:
        lines = [json.loads(line) for line in data.splitlines()]
    except (ValueError, RecursionError):
        return None
    if not lines:
        return None
    if deed < 0.85:
        _lawful_change(lines, chance)
    else:
        lines, _what = mutated_lines(lines, chance)
    if chance.random() < 0.95:
        _count_again(lines)
    with contextlib.suppress(ValueError, UnicodeEncodeError, RecursionError):
        return b"".join(json.dumps(line, separators=(",", ":")).encode() + b"\n" for line in lines)[:longest]
    return None


def _lawful_change(lines: list[Any], chance: random.Random) -> None:
    """Give one field of one version another value that its rule allows, near a bound or at it."""
    from storage.convert import KIND_NAMES, kind_named
    from tracker.domain import rules

    versions = [
        line for line in lines
        if isinstance(line, list) and len(line) == 8 and line[0] == "v" and line[1] in KIND_NAMES and isinstance(line[7], dict)
    ]  # fmt: skip
    if not versions:
        return
    line = chance.choice(versions)
    if chance.random() < 0.15:
        twin = [*line[:2], f"{chance.getrandbits(128):032x}", *line[3:7], dict(line[7])]
        lines.append(twin)
        line = twin
    kind = kind_named(line[1])
    fields = list(rules.RULES[kind.value].items())
    if not fields:
        return
    for _time in range(chance.choice((1, 1, 2, 4))):
        name, rule = chance.choice(fields)
        line[7][name] = _lawful(rule, chance, isinstance(line[7].get(name), float))
        if isinstance(rule, rules.Items):
            line[7][name] = json.dumps(line[7][name], separators=(",", ":"))
        if chance.random() < 0.1:
            line[7].pop(name)


def _lawful(rule: Any, chance: random.Random, decimal: bool) -> Any:
    from tracker.domain import rules

    if isinstance(rule, rules.Range):
        value = chance.choice(
            (rule.least, rule.most, rule.least + (rule.most - rule.least) * chance.random() ** 4)
        )
        return float(value) if decimal or isinstance(rule.least, float) else int(value)
    if isinstance(rule, rules.Letters):
        return chance.choice(
            ("", "a", "=1+1", "‮", "x" * rule.most, "\n", "🧶", "[b]", "\x7f", "../x", "%s{x}")
        )[: rule.most]
    if isinstance(rule, rules.Days):
        return chance.choice(
            ("1900-01-01", "2300-12-31", "2026-11-25", "2026-11-26", "2024-02-29", "2027-03-01")
        )
    if isinstance(rule, rules.Colour):
        return chance.choice(("#000000", "#ffffff", "#C8B89A"))
    many = chance.choice((0, 1, 2, min(rule.most, 30)))
    if rule.each is not None:
        return [_lawful(rule.each, chance, False) for _item in range(many)]
    return [[_lawful(part, chance, False) for part in rule.parts] for _item in range(many)]


def _count_again(lines: list[Any]) -> None:
    """Let the header, and every act, count what the file now holds."""
    marks = [line[0] if isinstance(line, list) and line else None for line in lines]
    if isinstance(lines[0], dict):
        lines[0].update(acts=marks.count("a"), versions=marks.count("v"))
    wrote: dict[Any, int] = {}
    for line in lines:
        if isinstance(line, list) and len(line) == 8 and line[0] == "v" and isinstance(line[4], str):
            wrote[line[4]] = wrote.get(line[4], 0) + 1
    for line in lines:
        if isinstance(line, list) and len(line) == 10 and line[0] == "a" and isinstance(line[1], str):
            line[8] = wrote.get(line[1], 0)


class Orders:
    """Reads an input as a list of orders; when it is used up every answer is 0."""

    def __init__(self, data: bytes) -> None:
        self.data, self.at = data, 0

    @property
    def more(self) -> bool:
        """Whether there is anything left."""
        return self.at < len(self.data)

    def whole(self, below: int, size: int = 2) -> int:
        """Return the next number, from 0 to one less than `below`."""
        part = self.data[self.at : self.at + size]
        self.at += size
        return int.from_bytes(part, "little") % max(1, below)

    def bytes(self, most: int = 24) -> bytes:
        """Return the next bytes, their number first."""
        size = self.whole(most + 1, 1)
        part = self.data[self.at : self.at + size]
        self.at += size
        return part


def _books(folder: Path) -> Feed:
    """Books whose pages, journal, values and side files were changed; the input says how (`_damage`)."""
    from storage.rescue import rescue
    from storage.trouble import BookDamaged
    from tests.every_form import everything_of
    from tests.storage.book_samples import Clock
    from tests.storage.test_damage import told, write_sample
    from tracker.app.desk import Desk

    bases = [folder / name for name in ("closed", "killed", "old")]
    expected: list[Any] = []
    with _same_ids(2):
        for base, left in zip(bases[:2], (False, True), strict=True):
            base.mkdir()
            expected.append(write_sample(base / "book.loomside", leave_journal=left, sessions=8))
    bases[2].mkdir()
    shutil.copy(SAMPLES / "0001.book", bases[2] / "book.loomside")
    expected.append(None)
    here = folder / "here"
    path = here / "book.loomside"

    def opened_and_read(as_it_is: bool, thorough: bool) -> Any:
        desk = Desk(path, today=lambda: TODAY, background=False)
        try:
            desk.open(as_it_is)
            desk.book.check()
            if thorough:
                everything_of(desk, here, papers=False)
            return told(desk.book)
        finally:
            desk.close()

    def feed(data: bytes) -> str:
        orders = Orders(data)
        which = orders.whole(len(bases), 1)
        shutil.rmtree(here, ignore_errors=True)
        shutil.copytree(bases[which], here)
        honest = True
        while orders.more:
            honest &= _damage(path, orders)
        thorough = now_and_then(data, 50)
        with in_time():
            try:
                said = opened_and_read(False, thorough)
                if honest and expected[which] is not None:
                    assert said == expected[which], "silently wrong"
                return "taken"
            except BookDamaged as trouble:
                _plain(trouble)
            except LoomsideError as trouble:
                return _plain(trouble)
            try:
                rescue(path, now=Clock())
            except LoomsideError as trouble:
                _plain(trouble)
                return "refused, and nothing to rescue"
            opened_and_read(True, thorough)
            return "rescued"

    return feed


def _damage(path: Path, orders: Orders) -> bool:
    """Do one thing to a book; return whether it was mere damage, which must be noticed or do no harm."""
    deed = orders.whole(12, 1)
    journal = path.with_name(path.name + "-wal")
    if deed < 3 or (deed == 3 and journal.exists()):
        target = journal if deed == 3 else path
        data = bytearray(target.read_bytes())
        at = min(orders.whole(len(data) // 512 + 1) * 512 + orders.whole(512), len(data))
        new = orders.bytes()
        data[at : at + len(new)] = new
        target.write_bytes(data)
        return True
    pages = max(1, path.stat().st_size // 4096)
    if deed in (4, 5):
        data = bytearray(path.read_bytes())
        page, other = orders.whole(pages), orders.whole(pages)
        data[page * 4096 : page * 4096 + 4096] = (
            bytes(4096) if deed == 4 else data[other * 4096 : other * 4096 + 4096]
        )
        path.write_bytes(data)
        return True
    if deed == 6:
        os.truncate(path, orders.whole(path.stat().st_size + 1, 3))
        return True
    if deed == 7:
        tail = (".lock", ".last-act", "-journal", "-shm", ".view", ".drafts.json")[orders.whole(6, 1)]
        path.with_name(path.name + tail).write_bytes(orders.bytes(64))
        return False
    if deed == 8 and journal.exists():
        os.truncate(journal, orders.whole(journal.stat().st_size + 1, 3))
        return False
    if deed == 9:
        for tail in (".lock", ".last-act"):
            path.with_name(path.name + tail).unlink(missing_ok=True)
        return False
    _forge(path, orders)
    return False


def _forge(path: Path, orders: Orders) -> None:
    """Change one value by SQL, and perhaps make all seals and tallies true again."""
    from tests.storage.test_fuzz import STRANGE

    with (
        contextlib.suppress(sqlite3.Error, OverflowError, UnicodeEncodeError),
        closing(sqlite3.connect(path)) as connection,
    ):
        tables = [
            name
            for (name,) in connection.execute(
                "SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name"
            )
        ]
        if not tables:
            return  # an earlier deed left nothing of the file
        table = tables[orders.whole(len(tables), 1)]
        columns = [row[1] for row in connection.execute(f'PRAGMA table_info("{table}")')]
        column = columns[orders.whole(len(columns), 1)]
        (many,) = connection.execute(f'SELECT count(*) FROM "{table}"').fetchone()
        row, pick = orders.whole(many), orders.whole(len(STRANGE) + 20, 1)
        value: Any = STRANGE[pick] if pick < len(STRANGE) else _number_or_text(orders.bytes(12))
        connection.execute(
            f'UPDATE "{table}" SET "{column}" = ? WHERE rowid IN (SELECT rowid FROM "{table}" LIMIT 1 OFFSET ?)',
            (value, row),
        )
        if orders.whole(4, 1):
            reseal(connection)
        connection.commit()


def _number_or_text(said: bytes) -> Any:
    text = said.decode("utf-8", "replace")
    for kind in (int, float):
        with contextlib.suppress(ValueError):
            return kind(text)
    return text


def reseal(connection: sqlite3.Connection) -> None:
    """Make every seal and tally of a book true for what now stands in it, as somebody who knows the format could."""
    from storage.checks import columns_there
    from storage.convert import (
        KIND_NAMES,
        SHARED_COLUMNS,
        add_seals,
        kind_named,
        seal_of_act,
        seal_of_version,
    )

    for row in connection.execute(
        "SELECT act_id, device_id, clock, made_at, kind, rug_id, undoes_id, versions FROM act"
    ).fetchall():
        connection.execute("UPDATE act SET seal = ? WHERE act_id = ?", (seal_of_act(*row), row[0]))
    connection.execute("DELETE FROM tally")
    for name in KIND_NAMES:
        kind = kind_named(name)
        there = columns_there(connection, name)
        columns = ", ".join(f'"{column}"' if column in there else "NULL" for column in kind.columns)
        totals: dict[str, list[int]] = {}
        for rowid, *row in connection.execute(
            f'SELECT rowid, {", ".join(SHARED_COLUMNS)}, {columns} FROM "{name}"'
        ).fetchall():
            record_id, rug_id, act_id, device_id, clock, follows, withdrawn, _seal, *values = row
            seal = seal_of_version(
                kind, record_id, rug_id, (act_id, device_id, clock), follows, withdrawn, values
            )
            connection.execute(f'UPDATE "{name}" SET seal = ? WHERE rowid = ?', (seal, rowid))
            total = totals.setdefault(rug_id or "", [0, 0])
            total[:] = [total[0] + 1, add_seals(total[1], (seal,))]
        connection.executemany(
            "INSERT INTO tally (rug_id, kind, versions, seals) VALUES (?, ?, ?, ?)",
            [(rug_id, name, *total) for rug_id, total in totals.items()],
        )


# --- command lines


def _command_lines(folder: Path) -> Feed:
    """Command lines, one argument a line, in a folder with a book, a cartoon and files that are neither."""
    from storage.book import Book
    from tests.storage.book_samples import Clock
    from tests.storage.test_damage import write_sample
    from tracker.command_line import books, deeds, main

    kept = folder / "kept"
    kept.mkdir()
    with _same_ids(3):
        write_sample(kept / "book.loomside", leave_journal=False)
        Book.open(kept / "empty.loomside", now=Clock()).close()
    for seed in sorted((HERE / "seeds" / "cartoons").glob("*.png"))[:1]:
        shutil.copy(seed, kept / "cartoon.png")
    (kept / "letter.txt").write_text("Dear weaver,\n")
    (kept / "folder").mkdir()
    (kept / "home").mkdir()
    here = folder / "here"

    def feed(data: bytes) -> str:
        arguments = [_harmless(line) for line in data.decode("utf-8", "surrogateescape").split("\n")[:14]]
        if any(one.startswith("--de") for one in arguments):
            return "left out"  # the demo takes seconds to build and has tests of its own
        shutil.rmtree(here, ignore_errors=True)
        shutil.copytree(kept, here)
        before, out, err = os.getcwd(), _Said(), _Said()
        os.chdir(here)
        try:
            with (
                in_time(),
                mock.patch.dict(os.environ, {"XDG_DATA_HOME": str(here / "home"), "COLUMNS": "80"}),
                mock.patch.object(main, "has_display", return_value=False),
                mock.patch.object(deeds, "draw_pictures", _drawn),
                contextlib.redirect_stdout(out),
                contextlib.redirect_stderr(err),
            ):
                try:
                    code = main.main(arguments)
                except SystemExit as ended:
                    code = int(ended.code or 0)
        finally:
            os.chdir(before)
            from tracker.words import use_language

            use_language("en")
        said = err.text()
        assert code in (0, 1, 2, 3), f"exit code {code}: {said[-600:]}"
        assert "Traceback" not in said
        assert code == 0 or said.strip(), f"exit code {code} without a word"
        return "taken" if code == 0 else "refused"

    def _drawn(options: Any) -> int:
        from tracker.previews.draw import size_of

        size_of(options.size)
        with books.opened(options):
            return 0

    return feed


class _Said(io.TextIOWrapper):
    """Takes what is printed, as a terminal would."""

    def __init__(self) -> None:
        super().__init__(io.BytesIO(), encoding="utf-8", errors="strict")

    def text(self) -> str:
        self.flush()
        return self.buffer.getvalue().decode("utf-8")  # type: ignore[attr-defined]


def _harmless(argument: str) -> str:
    """Keep what an argument may name within the folder."""
    while ".." in argument:
        argument = argument.replace("..", ".")
    head, sign, tail = argument.partition("=")
    return head.lstrip("/") + sign + tail.lstrip("/")


def _line_mutations(data: bytes, longest: int, chance: random.Random) -> bytes | None:
    if chance.random() < 0.4:
        return None
    lines = data.split(b"\n")
    word = chance.choice(OPTIONS).encode()
    deed = chance.randrange(4)
    at = chance.randrange(len(lines) + 1)
    if deed == 0 or at == len(lines):
        lines.insert(at, word)
    elif deed == 1:
        lines[at] = word
    elif deed == 2:
        del lines[at]
    else:
        lines[at] = lines[at] + b"=" + word
    return b"\n".join(lines)[:longest]


OPTIONS = (
    "--book", "book.loomside", "empty.loomside", "cartoon.png", "letter.txt", "folder", "new.loomside", "--text", "--json",
    "--plan", "--record", "r.pdf", "--rows", "--csv", "--calendar", "c.ics", "--rug", "all", "--day", "2026-11-25",
    "2150-12-31", "1990-01-01", "--screens", "--size", "360x640", "--only", "home", "--dark", "--text-size", "150",
    "--as-it-is", "--read-cartoon", "--into", "o.png", "--knots", "8x6", "--corners", "0,0 9,0 9,9 0,9", "--colours", "2",
    "--language", "tr", "en", "", "-", "--", "\x00", "folder/", "📜", "1e999", "-1", "nan", "0x0", "9" * 40,
)  # fmt: skip


TARGETS: dict[str, Target] = {
    "exchange": Target(_exchange, _exchange_mutations, longest=30_000, words=("withdrawn", "rug_plan", "null", "1e308"),
        rooms=("storage", "tracker.domain", "tracker.files")),
    "books": Target(_books, longest=200, rooms=("storage", "tracker.domain", "tracker.files")),
    "cartoons": Target(_cartoons, _with_true_checksums, longest=6_000, words=("IHDR", "PLTE", "tRNS", "IDAT", "IEND", "acTL", "NETSCAPE2.0")),
    "sheets": Target(_sheets, _with_true_checksums, longest=6_000, words=("Exif", "RIFF", "WEBPVP8 ", "II*")),
    "drafts": Target(_drafts, _json_mutations, longest=8_000),
    "command_lines": Target(_command_lines, _line_mutations, longest=400, words=OPTIONS),
}  # fmt: skip
