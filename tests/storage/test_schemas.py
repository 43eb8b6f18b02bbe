"""Schemas: the models and the migrations agree, and every schema ever released still opens."""

from __future__ import annotations

import compileall
import json
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from storage import diary, migrations, reading
from storage.models import Base
from tests.storage.book_samples import plain
from tracker.domain.lot_moves import MovedLot
from tracker.domain.rug import HoursFrom, RugBook, RugPlan, UnpickedYarn

pytestmark = pytest.mark.made_anew

ROOT = Path(__file__).parents[2]
SCHEMAS = Path(__file__).parent / "schemas"


def test_the_models_and_the_migrated_schema_agree(book):
    from alembic.autogenerate import compare_metadata
    from alembic.migration import MigrationContext

    with book.reading() as connection:
        context = MigrationContext.configure(
            connection, opts={"compare_type": True, "compare_server_default": True}
        )
        assert compare_metadata(context, Base.metadata) == []


def test_the_comparison_would_see_a_difference(book):
    from alembic.autogenerate import compare_metadata
    from alembic.migration import MigrationContext

    with book.writing() as connection:
        connection.exec_driver_sql("ALTER TABLE weaver ADD COLUMN shoe_size INTEGER")
    with book.reading() as connection:
        differences = compare_metadata(MigrationContext.configure(connection), Base.metadata)
    assert [difference[0] for difference in differences] == ["remove_column"]


def test_every_schema_has_a_sample_book():
    assert {path.stem for path in SCHEMAS.glob("*.book")} == set(migrations.KNOWN)


@pytest.mark.parametrize("schema", migrations.KNOWN)
def test_a_book_of_every_schema_opens_with_all_it_held(open_book, tmp_path, schema):
    shutil.copy(SCHEMAS / f"{schema}.book", tmp_path / "book.loomside")
    with closing(sqlite3.connect(tmp_path / "book.loomside")) as connection:
        assert connection.execute("SELECT version_num FROM alembic_version").fetchone() == (schema,)
    entered = json.loads((SCHEMAS / f"{schema}.json").read_text(encoding="utf-8"))
    book = open_book()
    book.check()
    (rug,) = (one for one in entered if one["is"] == RugPlan.__name__)
    told = reading.rug_book(book, rug["id"])
    found = {told.plan.id: plain(told.plan), told.cartoon.id: plain(told.cartoon)}
    for name in RugBook.__dataclass_fields__:
        if name not in ("plan", "cartoon", "loom"):
            entries = (value for value in getattr(told, name) if not isinstance(value, MovedLot))
            found |= {value.id: plain(value) for value in entries}
    found |= {loom.id: plain(loom) for loom in reading.looms(book)}
    found |= {move.id: plain(move) for move in reading.lot_moves(book)}
    found |= {
        key: {"is": "Setting", "id": key, "value": value} for key, value in reading.settings(book).items()
    }
    for one in entered:
        now = found.pop(one["id"])
        assert {name: now[name] for name in one} == one
    assert found == {}
    (correction,) = (entry for entry in diary.entries(book) if entry.kind == "corrected")
    assert correction.changes[0].before.rows == 99


def test_a_session_older_than_the_places_of_a_team_says_none_and_is_the_same_when_entered_again(
    open_book, tmp_path
):
    shutil.copy(SCHEMAS / "0001.book", tmp_path / "book.loomside")
    book = open_book()
    (rug,) = reading.rugs(book)
    (sat,) = reading.rug_book(book, rug.id).sessions
    assert (sat.places, sat.ahead) == ((), ())
    acts = book.acts()
    with book.act("session corrected") as act:
        act.write(sat)
    assert book.acts() == acts
    said = replace(sat, places=((sat.weavers[0], 1, 40),), ahead=((sat.weavers[0], 2),))
    with book.act("session corrected") as act:
        act.write(said)
    told = reading.rug_book(book, rug.id).sessions[0]
    assert (told.places, told.ahead) == (said.places, said.ahead)
    book.undo(act.act_id)
    assert reading.rug_book(book, rug.id).sessions[0].places == ()
    book.check()


def test_the_newest_sample_says_the_places_of_a_team(open_book, tmp_path):
    shutil.copy(SCHEMAS / "0002.book", tmp_path / "book.loomside")
    book = open_book()
    (rug,) = reading.rugs(book)
    told = reading.rug_book(book, rug.id)
    (sat,) = told.sessions
    assert sat.places == ((told.weavers[0].id, 3, 40),)
    assert sat.ahead == ((told.weavers[0].id, 2),)


def test_a_session_older_than_part_rows_ends_with_a_whole_one_and_is_the_same_when_entered_again(
    open_book, tmp_path
):
    shutil.copy(SCHEMAS / "0007.book", tmp_path / "book.loomside")
    book = open_book()
    (rug,) = reading.rugs(book)
    (sat,) = reading.rug_book(book, rug.id).sessions
    assert sat.begun_knots is None
    acts = book.acts()
    with book.act("session corrected") as act:
        act.write(sat)
    assert book.acts() == acts
    for knots in (0, 17):
        with book.act("session corrected") as act:
            act.write(replace(sat, begun_knots=knots))
        assert reading.rug_book(book, rug.id).sessions[0].begun_knots == knots
    book.check()


def test_unpicked_rows_older_than_their_losses_have_lost_all_their_yarn(open_book, tmp_path):
    shutil.copy(SCHEMAS / "0009.book", tmp_path / "book.loomside")
    book = open_book()
    (rug,) = reading.rugs(book)
    told = reading.rug_book(book, rug.id)
    (sat,), (lost,) = told.sessions, told.spoilt
    assert (sat.unpicked_yarn, lost.session_id) == (UnpickedYarn.GONE, None)
    acts = book.acts()
    with book.act("entered") as act:
        act.write(sat)
        act.write(lost)
    assert book.acts() == acts
    with book.act("entered") as act:
        act.write(replace(sat, unpicked_yarn=UnpickedYarn.SAID))
        act.write(replace(lost, session_id=sat.id))
    told = reading.rug_book(book, rug.id)
    assert (told.sessions[0].unpicked_yarn, told.spoilt[0].session_id) == (UnpickedYarn.SAID, sat.id)
    book.undo(act.act_id)
    told = reading.rug_book(book, rug.id)
    assert (told.sessions[0].unpicked_yarn, told.spoilt[0].session_id) == (UnpickedYarn.GONE, None)
    book.check()


def test_hours_older_than_who_gave_them_leave_it_open_and_are_the_same_when_entered_again(
    open_book, tmp_path
):
    shutil.copy(SCHEMAS / "0016.book", tmp_path / "book.loomside")
    book = open_book()
    (rug,) = reading.rugs(book)
    (sat,) = reading.rug_book(book, rug.id).sessions
    assert (sat.hours, sat.hours_from) == (1.75, None)
    acts = book.acts()
    with book.act("session corrected") as act:
        act.write(sat)
    assert book.acts() == acts
    for whose in HoursFrom:
        with book.act("session corrected") as act:
            act.write(replace(sat, hours_from=whose))
        assert reading.rug_book(book, rug.id).sessions[0].hours_from is whose
    book.check()


def test_a_plan_older_than_the_raj_by_region_has_what_was_reckoned_with_then(open_book, tmp_path):
    shutil.copy(SCHEMAS / "0003.book", tmp_path / "book.loomside")
    book = open_book()
    (old,) = reading.rugs(book)
    assert (old.raj_cm, old.unshorn_mm, old.jufti_share, old.warp_offset_degrees) == (7.0, None, 0.0, 0.0)
    acts = book.acts()
    with book.act("plan changed") as act:
        act.write(old)
    assert book.acts() == acts
    said = replace(old, raj_cm=6.5, unshorn_mm=12.0, jufti_share=0.5, warp_offset_degrees=90.0)
    with book.act("plan changed") as act:
        act.write(said)
    (told,) = reading.rugs(book)
    assert replace(told, born=0) == replace(said, born=0)
    assert {yarn.twist_contraction for yarn in reading.rug_book(book, old.id).yarns} == {0.0}
    book.check()


def test_a_phone_that_carries_only_compiled_files_can_make_a_book(tmp_path):
    for package in ("storage", "tracker"):
        shutil.copytree(
            ROOT / package, tmp_path / package, ignore=shutil.ignore_patterns("__pycache__", "*.kv", "assets")
        )
    compileall.compile_dir(tmp_path, quiet=1, legacy=True)
    for source in tmp_path.rglob("*.py"):
        source.unlink()
    code = "from storage.book import Book; b = Book.open('b.loomside'); b.check(); print(b.acts())"
    run = subprocess.run(
        [sys.executable, "-c", code], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert run.stdout.strip() == "0", run.stderr
