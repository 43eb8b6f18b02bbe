"""On a phone what was made goes into the share sheet or where the weaver says; a chooser left alone leads back."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest

from tests.unit.device.phone import JavaException, Phone, answer_with, lying_at, put_in_place
from tracker.previews.draw import settle


@pytest.fixture(params=[24, 36], ids=["api24", "api36"])
def phone(request, tmp_path, monkeypatch) -> Phone:
    """The oldest and the newest phone that the app runs on."""
    return put_in_place(Phone(request.param, tmp_path / "phone"), monkeypatch)


def on_page(open_app, demo: Path, page: str):
    hand = open_app(demo)
    if hand.sees("Not now"):
        hand.tap("Not now")
    hand.shell.go(page)
    settle()
    return hand


def given(phone: Phone) -> list[Path]:
    return sorted((phone.folder / "given").iterdir())


def test_what_a_rug_is_told_in_goes_into_the_share_sheet(open_app, demo, phone) -> None:
    hand = on_page(open_app, demo, "export")
    assert hand.sees("Each can be given")
    for times, (key, name, begins) in enumerate(
        (
            ("A record so far", "Walled garden record.pdf", b"%PDF"),
            ("The rows of the cartoon", "Walled garden rows 198 to 341.pdf", b"%PDF"),
            ("The days to come", "Walled garden.ics", b"BEGIN:VCALENDAR"),
        ),
        start=1,
    ):
        hand.tap(key)
        hand.tap("Give it to a phone or an app")
        (file,) = given(phone)
        assert file.name == name
        assert file.read_bytes().startswith(begins)
        assert len(phone.calls("Intent.createChooser")) == times
        assert hand.sees("Handed over")
        assert hand.shell.sheet is None


def test_a_chooser_left_alone_leads_back_to_the_page(open_app, demo, phone) -> None:
    hand = on_page(open_app, demo, "export")
    hand.tap("A record so far")
    hand.tap("Save it as a file")
    phone.answers("RESULT_CANCELED")
    settle()
    assert (hand.shell.page_name, hand.shell.sheet) == ("export", None)
    assert hand.sees("Not saved: no place was chosen.")
    hand.tap("A record so far")
    hand.tap("Save it as a file")
    phone.answers("RESULT_OK", answer_with(phone, lying_at(phone, b"")))
    settle()
    assert hand.sees("Saved: Walled garden record.pdf")
    assert (phone.folder / "of another app").read_bytes().startswith(b"%PDF")


def test_the_question_put_away_leaves_nothing_said(open_app, demo, phone) -> None:
    hand = on_page(open_app, demo, "export")
    hand.tap("A record so far")
    assert hand.key_back()
    settle()
    assert (hand.shell.page_name, hand.shell.sheet) == ("export", None)
    assert phone.calls("Activity.startActivity") == []
    assert not hand.sees("Writing")


@pytest.mark.parametrize(("way", "names"), [("one zip file", 1), ("each file", 5)])
def test_tables_are_given_as_one_zip_or_each(open_app, demo, phone, way, names) -> None:
    hand = on_page(open_app, demo, "export")
    hand.tap("Tables")
    hand.tap(f"Give {way}")
    files = given(phone)
    if names == 1:
        (archive,) = files
        assert archive.name == "Walled garden tables.zip"
        with zipfile.ZipFile(io.BytesIO(archive.read_bytes())) as inside:
            assert len(inside.read("rows.csv").splitlines()) == 342
    else:
        assert "rows.csv" in [path.name for path in files]
        assert len(files) > 1
        assert all(path.suffix == ".csv" for path in files)


def test_each_table_is_asked_about_in_turn_until_one_is_not_kept(open_app, demo, phone) -> None:
    hand = on_page(open_app, demo, "export")
    hand.tap("Tables")
    hand.tap("Save each file")
    phone.answers("RESULT_OK", answer_with(phone, lying_at(phone, b"")))
    settle()
    assert len(phone.calls("Activity.startActivityForResult")) == 2
    phone.answers("RESULT_CANCELED")
    settle()
    assert len(phone.calls("Activity.startActivityForResult")) == 2
    asked = [
        intent.kept["putExtra"][0][1] for intent, _code in phone.calls("Activity.startActivityForResult")
    ]
    assert hand.sees(f"Saved: {asked[0]}")
    assert not hand.sees(asked[1])


def test_a_place_that_cannot_be_written_is_said(open_app, demo, phone) -> None:
    hand = on_page(open_app, demo, "export")
    hand.tap("The days to come")
    hand.tap("Save it as a file")
    address = lying_at(phone, b"")

    def full(*_arguments):
        raise JavaException("IOException: No space left on device")

    phone.says["android.content.ContentResolver.openFileDescriptor"] = full
    phone.answers("RESULT_OK", answer_with(phone, address))
    settle()
    assert hand.sees("Walled garden.ics could not be saved there")


def test_the_file_for_the_other_phone_is_given_and_saved(open_app, demo, phone) -> None:
    hand = on_page(open_app, demo, "sync")
    hand.tap("Write a file")
    hand.tap("Give it to a phone or an app")
    (book,) = given(phone)
    assert book.suffix == ".loomside-exchange"
    assert book.stat().st_size > 1000
    (sent, _title) = phone.calls("Intent.createChooser")[-1]
    assert sent.kept["setType"] == [("application/octet-stream",)], (
        "the type by which the other phone takes it in"
    )
    hand.tap("Write a file")
    hand.tap("Save it as a file")
    phone.answers("RESULT_CANCELED")
    settle()
    assert hand.sees("Not saved")
    assert hand.shell.page_name == "sync"
