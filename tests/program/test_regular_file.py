"""Files that somebody chose: links to endless devices, pipes, folders, files that understate their size."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest

from tracker.files.regular import NotRegular, TooLarge, copy_regular, open_regular, read_regular

ROOT = Path(__file__).parents[2]

pytestmark = pytest.mark.skipif(os.name == "nt", reason="pipes and devices as files")


def pitfalls(folder: Path) -> dict[str, Path]:
    """Make one of everything that is no regular file, by its name in a folder of files."""
    os.mkfifo(folder / "pipe")
    (folder / "endless").symlink_to("/dev/zero")
    (folder / "terminal").symlink_to("/dev/tty")
    (folder / "folder").mkdir()
    with socket.socket(socket.AF_UNIX) as there:
        here = os.getcwd()
        os.chdir(folder)  # the name of a socket may be short only
        try:
            there.bind("socket")
        finally:
            os.chdir(here)
    return {path.name: path for path in folder.iterdir()}


def test_only_regular_files_are_opened_and_none_is_waited_for(tmp_path):
    for path in pitfalls(tmp_path).values():
        with pytest.raises((NotRegular, OSError)):
            open_regular(path)
    for name in ("pipe", "endless", "folder", "socket"):
        with pytest.raises(NotRegular):
            open_regular(tmp_path / name)


def test_a_link_to_a_regular_file_is_as_good_as_the_file(tmp_path):
    (tmp_path / "rug").write_bytes(b"pile")
    (tmp_path / "link").symlink_to("rug")
    assert read_regular(tmp_path / "link", 4) == b"pile"


def test_no_more_than_the_limit_is_read_whatever_size_a_file_says_it_has(tmp_path):
    (tmp_path / "four").write_bytes(b"pile")
    assert read_regular(tmp_path / "four", 4) == b"pile"
    with pytest.raises(TooLarge) as met:
        read_regular(tmp_path / "four", 3)
    assert met.value.size_bytes == 4
    with pytest.raises(TooLarge):
        copy_regular(tmp_path / "four", tmp_path / "copy", 3)
    assert not (tmp_path / "copy").exists()


@pytest.mark.skipif(not Path("/proc/self/maps").exists(), reason="no file that understates its size")
def test_a_file_that_says_it_is_empty_is_read_under_its_limit_too(tmp_path):
    assert os.stat("/proc/self/maps").st_size == 0
    with pytest.raises(TooLarge):
        read_regular("/proc/self/maps", 100)
    with pytest.raises(TooLarge):
        copy_regular("/proc/self/maps", tmp_path / "copy", 100)
    assert not (tmp_path / "copy").exists()


READERS = {
    "cartoon": "from tracker.pictures.cartoon_reader import read_cartoon; read_cartoon(path)",
    "scan": "from tracker.pictures.cartoon_reader import read_shades; read_shades(path)",
    "photo": "from tracker.pictures.photo_reader import read_photo; read_photo(path)",
    "photo kept": "from tracker.device.photos import keep_photo; keep_photo(folder / 'b.loomside', path)",
    "exchange file": (
        "from storage.book import Book; from storage.exchange import join\n"
        "with Book.open(folder / 'b.loomside') as book: join(book, path)"
    ),
    "copy": (
        "from storage.book import Book; from storage.copies import restore\n"
        "with Book.open(folder / 'b.loomside') as book: restore(book, path)"
    ),
    "book": "from storage.book import Book; Book.open(path)",
    "schema": "from storage.schema import schema_of; schema_of(path)",
    "glance": (
        "from storage.fingerprint import glance; from storage.trouble import no_file\n"
        "if glance(path) is None: raise no_file()"
    ),
    "rescue": "from storage.rescue import rescue; rescue(path)",
}


def test_a_pipe_a_device_and_a_folder_are_refused_in_a_sentence_at_once(tmp_path):
    """In a process of its own with little memory: today's answer would be to hang, or to fill it."""
    pitfalls(tmp_path)
    readers = "".join(
        f"def read():\n{textwrap.indent(reader, ' ' * 4)}\nrefused({name!r}, read)\n"
        for name, reader in READERS.items()
    )
    code = f"""
import resource, sys
from pathlib import Path
from tracker.domain.errors import LoomsideError
import sqlalchemy, numpy, PIL.Image, storage.exchange
resource.setrlimit(resource.RLIMIT_AS, (3 << 30, 3 << 30))
folder = Path(sys.argv[1])
def refused(reader, read):
    global path
    for name in ("pipe", "endless", "folder", "socket"):
        path = folder / name
        print(reader, name, end=": ", flush=True)
        try:
            read()
        except LoomsideError as error:
            print(error.sentence)
        else:
            print("was taken")
{readers}"""
    run = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path)],
        cwd=ROOT, capture_output=True, text=True, check=False, timeout=60,
    )  # fmt: skip
    assert run.returncode == 0, run.stdout + run.stderr
    said = run.stdout.splitlines()
    assert len(said) == 4 * len(READERS)
    for line in said:
        assert "not a file" in line, line
    left = {path.name for path in tmp_path.iterdir()}
    assert not [name for name in left if "part" in name or "restoring" in name or "joining" in name]


BESIDE = {
    "opened": "from storage.book import Book; Book.open(path).close()",
    "rescued": "from storage.rescue import rescue; rescue(path)",
    "glanced at": (
        "from storage.fingerprint import glance; from storage.trouble import not_ours\n"
        "if glance(path) is None: raise not_ours(path)"
    ),
}


def test_a_pipe_a_link_and_a_folder_where_a_journal_would_lie_are_said_at_once(tmp_path):
    """SQLite would wait for ever for whoever writes into the pipe, or follow the link."""
    from storage.book import Book

    Book.open(tmp_path / "book.loomside").close()
    (tmp_path / "letter").write_text("Dear weaver,")
    code = f"""
        import itertools, os, socket, sys
        from pathlib import Path
        from tracker.domain.errors import LoomsideError
        folder = Path(sys.argv[1])
        path = folder / "book.loomside"
        deeds = {BESIDE!r}
        for deed, tail in itertools.product(deeds, ("-wal", "-shm", "-journal")):
            side = folder / f"book.loomside{{tail}}"
            for make in (
                lambda: os.mkfifo(side), lambda: side.symlink_to("letter"), lambda: side.symlink_to("/dev/zero"),
                lambda: side.symlink_to("nowhere"), lambda: side.mkdir(),
            ):
                make()
                try:
                    exec(deeds[deed])
                except LoomsideError as error:
                    print(error.sentence)
                else:
                    print(deed, tail, "was taken")
                side.rmdir() if side.is_dir() and not side.is_symlink() else side.unlink()
    """
    run = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(code), str(tmp_path)],
        cwd=ROOT, capture_output=True, text=True, check=False, timeout=30,
    )  # fmt: skip
    assert run.returncode == 0, run.stderr
    said = run.stdout.splitlines()
    assert len(said) == 15 * len(BESIDE)
    assert all("not of this app" in line for line in said), said
    assert (tmp_path / "letter").read_text() == "Dear weaver,"
    assert not (tmp_path / "nowhere").exists()
    with Book.open(tmp_path / "book.loomside") as book:
        book.check()
