"""The command line: the same answers as text and JSON, pictures of the screens, and plain sentences for trouble."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.today import TODAY
from tests.unit import books
from tracker.command_line.main import main

ROOT = Path(__file__).parents[2]
DAY = TODAY.isoformat()


@pytest.fixture(scope="module")
def demo(tmp_path_factory, demo_book) -> str:
    return str(shutil.copy(demo_book, tmp_path_factory.mktemp("demo") / "demo.loomside"))


def run(*arguments: str, **environment: str) -> subprocess.CompletedProcess:
    """Run main.py as a newcomer would."""
    bare = {
        key: value
        for key, value in os.environ.items()
        if key not in ("DISPLAY", "WAYLAND_DISPLAY", "SDL_VIDEODRIVER")
    }
    return subprocess.run(
        [sys.executable, "main.py", *arguments],
        cwd=ROOT,
        env={**bare, **environment},
        capture_output=True,
        text=True,
        timeout=120,
    )


def test_a_machine_without_a_screen_gets_a_sentence_that_points_to_the_text(tmp_path: Path) -> None:
    found = run("--book", str(tmp_path / "b.loomside"))
    assert found.returncode == 3
    assert "finds no screen" in found.stderr
    assert "--text" in found.stderr
    assert "Traceback" not in found.stderr


def test_text_and_json_give_the_same_answers(demo: str, capsys) -> None:
    assert main(["--book", demo, "--day", DAY, "--json"]) == 0
    values = json.loads(capsys.readouterr().out)["rugs"][0]
    assert main(["--book", demo, "--day", DAY, "--text"]) == 0
    text = capsys.readouterr().out
    assert f"Row {values['where']['rows_woven']} of {values['where']['rows']}" in text
    for line in values["yarns"]:
        assert line["name"] in text
    assert values["yarns"][0]["word"] == "short"
    assert values["finish"]["early"] <= values["finish"]["middle"] <= values["finish"]["late"]


def test_the_text_agrees_with_sums_by_hand(demo: str, capsys) -> None:
    import sqlite3
    from contextlib import closing

    assert main(["--book", demo, "--day", DAY, "--json"]) == 0
    where = json.loads(capsys.readouterr().out)["rugs"][0]["where"]
    # By hand: the latest version of each session of this rug, withdrawn ones left out, straight from the file.
    with closing(sqlite3.connect(demo)) as connection:
        rug, knots_across = connection.execute(
            "SELECT record_id, knots_across FROM rug_plan WHERE name = 'Walled garden' ORDER BY clock DESC"
        ).fetchone()
        rows = connection.execute(
            "SELECT record_id, rows, hours, withdrawn FROM session WHERE rug_id = ? ORDER BY clock", (rug,)
        ).fetchall()
    latest: dict[str, tuple[int, float | None]] = {}
    for record, gained, hours, withdrawn in rows:
        if withdrawn:
            latest.pop(record, None)
        else:
            latest[record] = (gained, hours)
    assert where["rows_woven"] == sum(gained for gained, _hours in latest.values())
    assert where["hours_woven"] == pytest.approx(sum(hours or 0 for _gained, hours in latest.values()))
    assert where["knots_woven"] == where["rows_woven"] * knots_across
    assert where["share"] == pytest.approx(where["knots_woven"] / (where["rows"] * 241), abs=1e-4)


def test_every_rug_can_be_asked_for_by_name(demo: str, capsys) -> None:
    assert main(["--book", demo, "--day", DAY, "--json", "--rug", "doorstep"]) == 0
    assert json.loads(capsys.readouterr().out)["rugs"][0]["rug"]["name"] == "Doorstep"
    assert main(["--book", demo, "--day", DAY, "--json", "--rug", "all"]) == 0
    assert len(json.loads(capsys.readouterr().out)["rugs"]) == 3


def test_an_unknown_rug_gets_the_names_there_are(demo: str, capsys) -> None:
    assert main(["--book", demo, "--day", DAY, "--text", "--rug", "Nowhere"]) == 1
    said = capsys.readouterr().err
    assert "no rug named Nowhere" in said
    assert "Walled garden" in said


def test_an_empty_book_says_so(tmp_path: Path, capsys) -> None:
    books.empty(tmp_path / "new.loomside")
    assert main(["--book", str(tmp_path / "new.loomside"), "--text"]) == 0
    assert "no rug is planned yet" in capsys.readouterr().out


def test_a_file_that_is_no_book_gets_a_sentence_and_is_left_alone(tmp_path: Path, capsys) -> None:
    path = tmp_path / "letter.txt"
    path.write_text("Dear weaver")
    assert main(["--book", str(path), "--text"]) == 2
    said = capsys.readouterr().err
    assert "damaged" in said or "not a book" in said
    assert path.read_text() == "Dear weaver"


@pytest.mark.parametrize("size", ["big", "360", "10x10", "99999x10", "360x"])
def test_a_size_that_is_none_gets_an_example(size: str, tmp_path: Path) -> None:
    found = run("--demo", "--screens", str(tmp_path), "--size", size, XDG_DATA_HOME=str(tmp_path))
    assert found.returncode == 2
    assert "such as 360x640" in found.stderr
    assert "Traceback" not in found.stderr


def test_a_screen_is_drawn_at_the_size_asked(tmp_path: Path) -> None:
    from PIL import Image

    found = run(
        "--demo",
        "--day",
        DAY,
        "--screens",
        str(tmp_path / "p"),
        "--size",
        "412x892",
        "--only",
        "home",
        XDG_DATA_HOME=str(tmp_path),
    )
    assert found.returncode == 0, found.stderr
    with Image.open(tmp_path / "p" / "home.png") as picture:
        assert picture.size == (412, 892)
        assert len(picture.convert("RGB").getcolors(maxcolors=10**6)) > 50
    assert "Traceback" not in found.stderr
    assert "mtdev" not in found.stderr.lower()


def test_help_lists_every_option() -> None:
    found = run("--help")
    assert found.returncode == 0
    for option in ("--book", "--demo", "--text", "--json", "--rug", "--day", "--screens", "--size"):
        assert option in found.stdout


def test_an_app_whose_parts_are_missing_says_so(tmp_path: Path) -> None:
    """As where the README's command was not run, or Python's own files were cut short on a full disk."""
    (tmp_path / "argparse.py").write_text("raise ImportError('No module named argparse')", "utf-8")
    done = subprocess.run(
        [sys.executable, str(ROOT / "main.py"), "--text"],
        env={**os.environ, "PYTHONPATH": str(tmp_path), "HOME": str(tmp_path)}, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 1
    assert done.stderr.strip() == (
        "Loomside cannot start: No module named argparse. Set it up as README.md says, then try again."
    )


@pytest.mark.parametrize("zone", [":/dev/null", "A" * 5000, "nonsense/zone"])
def test_a_time_zone_that_there_is_not_stops_nothing(zone: str) -> None:
    done = subprocess.run(
        [sys.executable, "-c", "import datetime, tracker.words as w; print(w.day(datetime.date(2026, 11, 25)))"],
        cwd=ROOT, env={**os.environ, "TZ": zone}, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert "November" in done.stdout or "Nov" in done.stdout
