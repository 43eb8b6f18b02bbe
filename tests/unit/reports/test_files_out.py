"""Files get free names, are whole or not there, and a disk that refuses gets a sentence."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from tracker.app import exports
from tracker.device import documents as device_documents
from tracker.domain.errors import BookTrouble
from tracker.reports.files_out import (
    folder_words,
    safe_name,
    write_new,
    write_numbered,
    write_numbered_folder,
)


def test_nothing_is_ever_overwritten(tmp_path: Path) -> None:
    paths = [write_numbered(tmp_path / "new" / "folder", "a record.pdf", bytes([n])) for n in range(3)]
    assert [path.name for path in paths] == ["a record.pdf", "a record 2.pdf", "a record 3.pdf"]
    assert [path.read_bytes() for path in paths] == [b"\0", b"\1", b"\2"]
    assert len(list((tmp_path / "new" / "folder").iterdir())) == 3


def test_tables_lie_in_a_folder_of_their_own(tmp_path: Path) -> None:
    one = write_numbered_folder(tmp_path, "tables", {"a.csv": b"1", "b.csv": b"2"})
    two = write_numbered_folder(tmp_path, "tables", {"a.csv": b"3"})
    assert (one.name, two.name) == ("tables", "tables 2")
    assert (one / "a.csv").read_bytes() == b"1"
    assert (two / "a.csv").read_bytes() == b"3"


@pytest.mark.parametrize(
    ("number", "said"),
    [
        (errno.ENOSPC, "no room left"),
        (errno.EROFS, "cannot be written to"),
        (errno.EACCES, "cannot be written to"),
        (errno.EIO, "could not be written"),
    ],
)
@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_a_disk_that_refuses_leaves_nothing_behind_and_can_be_tried_again(
    tmp_path: Path, monkeypatch, step: str, number: int, said: str
) -> None:
    def refuse(*_args) -> None:
        raise OSError(number, "refused")

    with monkeypatch.context() as broken:
        broken.setattr(os, step, refuse)
        with pytest.raises(BookTrouble, match=said):
            write_numbered(tmp_path, "a.pdf", b"x")
        with pytest.raises(BookTrouble, match=said):
            write_numbered_folder(tmp_path, "tables", {"a.csv": b"1"})
        with pytest.raises(BookTrouble, match=said):
            write_numbered(tmp_path / "new" / "folder", "a.pdf", b"x")
        with pytest.raises(BookTrouble, match=said):
            write_numbered_folder(tmp_path / "new" / "folder", "tables", {"a.csv": b"1"})
    assert list(tmp_path.iterdir()) == []
    assert write_numbered(tmp_path, "a.pdf", b"x").read_bytes() == b"x"


@pytest.mark.parametrize("refused", [2, 3, 4])
def test_a_disk_that_has_room_for_some_of_the_folders_keeps_none(
    tmp_path: Path, monkeypatch, refused: int
) -> None:
    real, made = os.mkdir, []

    def full(path, *how, **more) -> None:
        made.append(path)
        if len(made) == refused:
            raise OSError(errno.ENOSPC, "full")
        real(path, *how, **more)

    # The first call finds "a" missing; then "a", "a/b" and the tables' own folder are made.
    monkeypatch.setattr(os, "mkdir", full)
    with pytest.raises(BookTrouble, match="no room left"):
        write_numbered_folder(tmp_path / "a" / "b", "tables", {"a.csv": b"1"})
    assert len(made) == refused
    assert list(tmp_path.iterdir()) == []


def test_the_second_table_failing_takes_the_first_away(tmp_path: Path, monkeypatch) -> None:
    real, calls = os.fsync, []

    def fails_later(descriptor: int) -> None:
        calls.append(descriptor)
        if len(calls) == 2:
            raise OSError(errno.ENOSPC, "full")
        real(descriptor)

    monkeypatch.setattr(os, "fsync", fails_later)
    with pytest.raises(BookTrouble):
        write_numbered_folder(tmp_path, "tables", {"a.csv": b"1", "b.csv": b"2"})
    assert list(tmp_path.iterdir()) == []


def test_a_file_in_the_folders_place_is_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "Loomside").write_text("not a folder")
    with pytest.raises(BookTrouble):
        write_numbered(tmp_path / "Loomside", "a.pdf", b"x")
    assert (tmp_path / "Loomside").read_text() == "not a folder"


@pytest.mark.parametrize(
    ("name", "safe"),
    [
        ("Walled garden", "Walled garden"),
        ("../../etc/passwd", "etc passwd"),
        ('a\\b:c*d?"e<f>g|h', "a b c d e f g h"),
        ("  Ковёр\n№ 3 ", "Ковёр № 3"),
        ("con", "con rug"),
        ("", " rug"),
        ("...", " rug"),
        ("\u202egnp.exe", "gnp.exe"),
    ],
)
def test_any_name_of_a_rug_makes_a_file_name(name: str, safe: str, tmp_path: Path) -> None:
    assert safe_name(name).strip() == safe.strip()
    assert write_numbered(tmp_path, safe_name(name) + ".pdf", b"x").parent == tmp_path


def test_a_very_long_name_fits_every_file_system(tmp_path: Path) -> None:
    for letter in ("a", "ж", "絨", "𒀀"):
        path = write_numbered(tmp_path, safe_name(letter * 500) + " record.pdf", b"x")
        assert len(path.name.encode()) < 200


def test_files_go_to_the_documents_or_else_beside_the_book(tmp_path: Path, monkeypatch) -> None:
    documents = tmp_path / "Documents"
    documents.mkdir()

    class Storage:
        @staticmethod
        def get_documents_dir() -> str:
            return str(documents)

    book = tmp_path / "books" / "b.loomside"
    monkeypatch.setattr(device_documents, "service", lambda _name: Storage())
    assert exports.folder(book) == documents / "Loomside"
    documents.rmdir()
    assert exports.folder(book) == tmp_path / "books" / "Loomside"
    monkeypatch.setattr(device_documents, "service", lambda _name: None)
    assert exports.folder(book) == tmp_path / "books" / "Loomside"


def test_a_folder_is_named_from_the_weavers_own_on(tmp_path: Path, monkeypatch) -> None:
    monkeypatch.setattr(Path, "home", lambda: tmp_path)
    assert folder_words(tmp_path / "Documents" / "Loomside") == "Documents › Loomside"
    assert folder_words(Path("/media/card/Loomside")) == "/media › card › Loomside"


def test_the_folder_one_works_in_is_named_too(tmp_path: Path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)

    def torn(_path: Path) -> None:
        raise OSError(errno.EIO, "the card is worn")

    with pytest.raises(BookTrouble, match=tmp_path.name):
        write_new(Path(), "rows.txt", torn)


def test_a_folder_whose_name_is_too_long_gets_a_sentence(tmp_path: Path) -> None:
    for write in (
        lambda folder: write_numbered(folder, "a.pdf", b"x"),
        lambda folder: write_numbered_folder(folder, "tables", {"a.csv": b"1"}),
    ):
        with pytest.raises(BookTrouble, match="name is too long"):
            write(tmp_path / ("x" * 400))
    assert list(tmp_path.iterdir()) == []
