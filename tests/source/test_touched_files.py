"""Every place that can change, move or remove a file is known, and touched_files.md says why it touches no other."""

from __future__ import annotations

import re

import pytest

from tests.source.touched_files import ROOT, everywhere, touching

KNOWN: dict[str, str] = {
    "tracker/catalogues/make.py: main": "mkdir open open write_bytes",
    "tracker/demo/place.py: ensure_demo": "mkdir",
    "tracker/demo/place.py: _build_beside": "drop_working drop_working os.replace",
    "tracker/device/camera.py: forget_picture": "unlink",
    "tracker/device/content.py: _opened": "os.fdopen",
    "tracker/device/content.py: cache": "mkdir",
    "tracker/device/content.py: photograph.taken": "unlink",
    "tracker/device/content.py: share": "shutil.copyfile unlink",
    "tracker/device/content.py: take_in": "open rmdir tempfile.mkdtemp unlink",
    "tracker/device/files.py: made_folder": "mkdir shutil.rmtree",
    "tracker/device/photos.py: keep_photo": "mkdir unlink write_whole",
    "tracker/device/photos.py: forget_photo": "unlink",
    "tracker/app/drafts.py: Drafts._write": "write_whole",
    "tracker/pictures/photo_reader.py: _jpeg": "save",
    "tracker/app/first_view.py: keep": "write_whole",
    "tracker/files/regular.py: open_regular": "getattr os.fdopen os.open",
    "tracker/files/regular.py: copy_regular": "open unlink",
    "tracker/reports/cartoon_form.py: png_of": "save",
    "tracker/reports/files_out.py: write_numbered": "write_whole",
    "tracker/reports/files_out.py: write_new": "mkdir",
    "tracker/reports/files_out.py: _take_name": "open",
    "tracker/reports/files_out.py: write_numbered_folder": "mkdir mkdir",
    "tracker/reports/files_out.py: _leave": "rmdir",
    "tracker/reports/files_out.py: _forget": "unlink",
    "tracker/reports/record_pdf.py: _photo": "save",
    "tracker/previews/draw.py: _save": "mkdir save write_whole",
    "tracker/screens/diary/diary.py: DiaryPage._take_photo": "take_picture",
    "tracker/screens/plan/drafts.py: PlanDrafts.tidy": "unlink",
    "tracker/screens/plan/drafts.py: PlanDrafts.write": "mkdir write_whole",
    "tracker/sheets/giving.py: zipped": "unlink zipfile.ZipFile",
    "tracker/sheets/photograph.py: take_photograph": "take_picture",
    "tracker/screens/plan/drafts.py: PlanDrafts.copy": "copy_regular mkdir",
    "tracker/command_line/books.py: data_folder": "mkdir",
    "tracker/command_line/main.py: _forget_output": "os.open",
    "tracker/app/unforeseen.py: note": "open tempfile.mkstemp write_whole",
    "tracker/files/whole.py: drop_working": "unlink",
    "tracker/files/whole.py: sync_folder": "os.open",
    "tracker/files/whole.py: write_whole": "open os.replace unlink unlink",
    "storage/connecting.py: make_engine.open_connection": "sqlite3.connect",
    "storage/connecting.py: make_engine": "create_engine",
    "storage/schema.py: schema_of": "sqlite3.connect",
    "storage/lock.py: Lock.__init__": "os.open",
    "storage/lock.py: Lock.acknowledge": "os.pwrite",
    "storage/lock.py: Lock.hold_file": "os.open",
    "storage/disk.py: sync_file": "os.open",
    "storage/fresh.py: make_fresh": "drop_working drop_working os.replace sqlite3.connect",
    "storage/opening.py: set_rollback_journal_aside": "mkdir os.replace",
    "storage/disk.py: nothing_left_on_failure": "unlink",
    "storage/connecting.py: memory_connection": "sqlite3.connect",
    "storage/opening.py: open_book": "mkdir",
    "storage/opening.py: _Opening._look_at_journal": "sqlite3.connect",
    "storage/open_book.py: OpenBook._attached": "SQL",
    "storage/checks.py: check_file": "sqlite3.connect",
    "storage/copies.py: daily_copy": "write_whole",
    "storage/copies.py: _copy": "drop_working drop_working mkdir os.replace",
    "storage/copies.py: _back_up": "backup sqlite3.connect sqlite3.connect",
    "storage/copies.py: thin": "unlink",
    "storage/copies.py: prepare_stranger": "copy_regular drop_working sqlite3.connect sqlite3.connect sqlite3.connect sqlite3.connect",
    "storage/copies.py: restore": "drop_working",
    "storage/exchange.py: write_exchange": "gzip.GzipFile open os.replace unlink unlink",
    "storage/exchange.py: join": "drop_working",
    "storage/exchange.py: stage": "sqlite3.connect",
    "storage/fingerprint.py: glance": "sqlite3.connect",
    "storage/journal.py: _acts_in_file": "sqlite3.connect",
    "storage/witness.py: note": "write_whole",
    "storage/rescue.py: rescue": "drop_working drop_working mkdir os.replace os.replace",
    "storage/rescue.py: _use_newest_copy": "drop_working sqlite3.connect",
    "storage/rescue.py: _stage": "sqlite3.connect",
    "storage/merge.py: make_staging": "drop_working sqlite3.connect",
    "assets/demo/draw_cartoon.py: main": "save",
    "assets/icons/draw_icons.py: draw_package": "mkdir save save save save save save",
    "assets/icons/draw_icons.py: main": "save",
    "assets/icons/draw_icons.py: save": "mkdir save",
    "assets/pictures/compare.py: main": "save tempfile.TemporaryDirectory",
    "assets/pictures/draw.py: draw": "subprocess.run",
    "assets/pictures/draw.py: main": "save save tempfile.TemporaryDirectory",
}
"""Place -> the calls there. A new one is looked at by a person: what can its file be called, and whose else is it?"""


def told() -> set[str]:
    """Return the places that the table names."""
    text = (ROOT / "tests/source/touched_files.md").read_text("utf-8")
    places = set()
    for row in re.findall(r"^\|(.*?)\|", text, re.MULTILINE):
        for file, names in re.findall(r"`([\w/]+\.py)`: ((?:`[\w.]+`(?:, )?)+)", row):
            places |= {f"{file}: {name}" for name in re.findall(r"`([\w.()]+)`", names)}
    return places


def test_no_file_is_touched_where_nobody_looked() -> None:
    found = {
        f"{file}: {where}": " ".join(sorted(calls.elements()))
        for (file, where), calls in everywhere().items()
    }
    assert found == KNOWN


def test_the_table_for_developers_names_each_place_and_no_other() -> None:
    assert told() == set(KNOWN)


@pytest.mark.parametrize(
    "spelling",
    [
        "path.unlink()",
        "os.remove(path)",
        "import os as o; o.remove(path)",
        "from os import remove; remove(path)",
        "from os import unlink as away; away(path)",
        "list(map(os.unlink, paths))",
        "getattr(os, 'rem' + 'ove')(path)",
        "getattr(path, 'unlink')()",
        "os.replace(a, b)",
        "path.replace(other)",
        "path.rename(other)",
        "shutil.rmtree(path)",
        "import shutil as sh; sh.move(a, b)",
        "from shutil import copyfile; copyfile(a, b)",
        "from shutil import *",
        "open(path, 'w')",
        "open(path, mode='ab')",
        "open(path, how)",
        "open(*given)",
        "open(path, **how)",
        "path.open('w')",
        "path.open(mode='r+')",
        "io.open(path, 'x')",
        "opener = open",
        "os.open(path, os.O_WRONLY)",
        "path.write_text('')",
        "path.write_bytes(b'')",
        "path.touch()",
        "gzip.open(path, 'w')",
        "zipfile.ZipFile(path, 'w')",
        "sqlite3.connect(path)",
        "one.backup(other)",
        "picture.save(path)",
        "pdf.output(path)",
        "widget.export_to_png(path)",
        "connection.execute('VACUUM INTO ?', (path,))",
        "connection.execute('ATTACH ? AS x', (path,))",
        "tempfile.mkdtemp()",
        "subprocess.run(['rm', path])",
        "os.system('rm x')",
        "os.truncate(path, 0)",
        "from tracker.files.whole import write_whole; write_whole(path, b'')",
    ],
)
def test_every_spelling_is_found(spelling: str) -> None:
    modules = "import gzip, io, os, shutil, sqlite3, subprocess, tempfile, zipfile\n"
    assert sum(touching(modules + spelling).values()) >= 1


@pytest.mark.parametrize(
    "harmless",
    [
        "open(path)",
        "open(path, 'rb')",
        "path.open()",
        "path.open('r')",
        "text.replace('a', 'b')",
        "day.replace(day=1)",
        "replace(plan, rows=3)",
        "page.save()",
        "book = Book.open(path, device_name='here')",
        "page.open('colours')",
        "look.touch",
        "path.read_bytes()",
    ],
)
def test_reading_is_no_touching(harmless: str) -> None:
    assert not touching(harmless)
