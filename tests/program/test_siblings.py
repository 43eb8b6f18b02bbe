"""What lies beside a book is the weaver's: no option and no act of a session changes or removes any of it."""

from __future__ import annotations

from pathlib import Path

import pytest

from storage import copies, exchange
from storage.book import Book
from storage.lock import Lock
from storage.places import lock_path
from storage.rescue import rescue
from tests.today import TODAY
from tests.unit.books import planned
from tracker.app.desk import Desk
from tracker.command_line.main import main
from tracker.demo import place
from tracker.device import photos
from tracker.domain.errors import BookTrouble
from tracker.domain.rug import Session
from tracker.reports.files_out import write_new, write_numbered, write_numbered_folder

LOOK_ALIKES = (
    *(
        "mine.drafts.json",
        "mine.drafts.part",
        "mine.view",
        "mine.viewpart",
        "mine.part",
        "mine.lock",
        "mine.pdf",
    ),
    *("my.rug.part", "my.drafts.json", "my.loomside", "my.rug.drafts.json", "my.rug", "letters.txt"),
    *("mine.loomside.new", "mine.loomside.new-wal", "mine.loomside.part", "mine.loomside.rescued"),
    *("mine.loomside.carved", "mine.loomside.copy-work", "mine.loomside.joining", "mine.loomside.restoring"),
    *("mine.loomside.drafts.part", "mine.loomside~", "mine.loomside.bak", "mine.loomside.old"),
    *("mine.record.pdf", "record.pdf", "record.pdf.part", "record 2.pdf.part", "out.loomside-exchange.part"),
    *("mine.half.loomside", "mine.building", "demo.loomside", "mine.drafts/picture.png", "mine.photos/a.jpg"),
    *("mine.loomside.drafts/hers.png", "mine.loomside.copies/hers.part.txt", "standing.png", "mine.txt"),
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name in LOOK_ALIKES:
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(f"the weaver's own {name}".encode())
    return tmp_path


def unchanged(folder: Path) -> bool:
    """Tell whether every look-alike holds what the weaver put into it."""
    wrong = [
        name
        for name in LOOK_ALIKES
        if not (folder / name).is_file()
        or (folder / name).read_bytes() != f"the weaver's own {name}".encode()
    ]
    assert wrong == []
    return True


@pytest.mark.parametrize("name", ["mine.loomside", "my.rug.loomside", "mine.book"])
def test_every_option_leaves_what_lies_beside_the_book(
    folder: Path, name: str, capsys: pytest.CaptureFixture
) -> None:
    book = folder / name
    planned(book)
    for how in (
        *(["--text"], ["--json"], ["--plan"], ["--text", "--rug", "all"]),
        *(["--record", str(folder / "record.pdf")], ["--rows", str(folder / "mine.pdf")]),
        *(["--calendar", str(folder / "mine.txt")], ["--csv", str(folder)], ["--record", str(folder)]),
    ):
        main(["--book", str(book), "--day", TODAY.isoformat(), *how])
    assert unchanged(folder)
    assert (folder / "record 2.pdf").read_bytes().startswith(b"%PDF")


def test_a_session_of_the_app_leaves_what_lies_beside_the_book(folder: Path) -> None:
    path = folder / "mine.loomside"
    planned(path)
    desk = Desk(path, today=lambda: TODAY, background=False)
    desk.ground = "#ffffff"
    desk.open()
    desk.drafts.put("diary", {"text": "madder"})
    desk.act("session logged", Session(id="t", rug_id="r", day=TODAY, rows=2, hours=1.0))
    desk.copy_of_the_day()
    copy = copies.copy_now(desk.book)
    exchange.write_exchange(desk.book, folder / "out.loomside-exchange")
    exchange.join(desk.book, folder / "out.loomside-exchange")
    copies.restore(desk.book, copy.path)
    desk.close()
    assert unchanged(folder)
    path.write_bytes(path.read_bytes()[:5000] + b"\0" * 3000)
    rescue(path)
    assert unchanged(folder)


def test_a_new_book_and_a_demo_leave_what_lies_beside_them(folder: Path) -> None:
    Book.open(folder / "mine.loomside").close()
    place.ensure_demo(folder / "mine 2.loomside", TODAY)
    assert unchanged(folder)


def test_a_book_whose_lock_would_be_somebody_elses_file_is_refused(folder: Path) -> None:
    (folder / "yarn.lock").write_text("# exact versions of what this program needs\n" * 3)
    before = (folder / "yarn.lock").read_bytes()
    with pytest.raises(BookTrouble, match=r"yarn\.lock is not of this app"):
        Book.open(folder / "yarn")
    assert (folder / "yarn.lock").read_bytes() == before
    lock = Lock(lock_path(folder / "other"))
    lock.acknowledge(12)
    lock.release()
    assert Lock(lock_path(folder / "other")).acknowledged() == 12


def test_two_books_that_differ_in_their_ending_share_nothing(tmp_path: Path) -> None:
    one, other = (Desk(tmp_path / name, background=False) for name in ("my.rug", "my.loomside"))
    one.drafts.put("diary", {"text": "madder"})
    other.drafts.put("diary", {"text": "indigo"})
    assert Desk(one.path, background=False).drafts.get("diary") == {"text": "madder"}


def test_a_file_written_through_a_link_laid_in_its_way_spares_what_the_link_leads_to(folder: Path) -> None:
    path = folder / "mine.loomside"
    for ending in (".view", ".drafts.json"):
        (folder / f"mine.loomside{ending}.loomside-part").symlink_to(folder / "letters.txt")
    desk = Desk(path, background=False)
    desk.drafts.put("diary", {"text": "madder"})
    assert unchanged(folder)
    assert desk.drafts.path.is_file()


def test_a_file_that_cannot_be_written_leaves_no_half_of_itself(folder: Path) -> None:
    def fails(_path: Path) -> None:
        raise BookTrouble("no room")

    with pytest.raises(BookTrouble):
        write_new(folder, "fresh.pdf", fails)
    assert not list(folder.glob("fresh*"))
    assert write_numbered(folder, "record.pdf", b"new").name == "record 2.pdf"
    assert write_numbered_folder(folder, "mine.drafts", {"a.csv": b"a"}).name == "mine.drafts 2"
    assert unchanged(folder)


def test_pictures_of_a_book_lie_under_names_of_their_own(folder: Path) -> None:
    from PIL import Image

    source = folder / "madder.png"
    Image.new("RGB", (40, 40), "#9C2F25").save(source)
    before = source.read_bytes()
    name = photos.keep_photo(folder / "mine.loomside", source)
    photos.forget_photo(folder / "mine.loomside", name)
    photos.forget_photo(folder / "mine.loomside", "../mine.photos/a.jpg")
    assert source.read_bytes() == before
    assert unchanged(folder)
