"""The package stays small, and what was trimmed is not missed."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections import Counter
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

pytest.importorskip("pythonforandroid", reason="needs the test extra")

from tests.package.payload import MOST_BYTES, counted, is_left_out, lay_out, table, weights


def whole_words() -> list[str]:
    """Return what the untrimmed libraries say: holidays of every country offered, and each language's own day."""
    import holidays

    from tracker import words
    from tracker.presenters.settings import COUNTRIES, LANGUAGES, country_name

    said = []
    for country in filter(None, COUNTRIES):
        days = holidays.country_holidays(country, years=2027)
        said.append(" ".join([country, *sorted(f"{day} {name}" for day, name in days.items())]))
    for language in LANGUAGES:
        words.use_language(language)
        day, clock = words.day(date(2026, 1, 2)), words.clock(datetime(2026, 1, 2, 18, 40, tzinfo=UTC))
        said.append(f"{language} {country_name('NP')} {day} {clock}")
    words.use_language("en")
    return said


def run(folder: Path, out: Path) -> str:
    """Run the app out of a folder; the phone compiles assertions and docstrings away."""
    out.mkdir()
    old = shutil.copy(Path(__file__).parents[1] / "storage" / "schemas" / "0001.book", out / "old.loomside")
    ran = subprocess.run(
        [sys.executable, "-OO", str(Path(__file__).with_name("trimmed_app.py")), str(folder), str(out), str(old)],
        capture_output=True, text=True, check=False, cwd=out,
        env={"PATH": os.environ["PATH"], "LANG": os.environ.get("LANG", ""), "LANGUAGE": os.environ.get("LANGUAGE", ""), "HOME": str(out), "XDG_DATA_HOME": str(out), "PYTHONDONTWRITEBYTECODE": "1"},
    )  # fmt: skip
    assert ran.returncode == 0, ran.stderr[-3000:]
    return ran.stdout


@pytest.mark.slow
def test_the_app_runs_from_a_tree_so_trimmed_and_says_the_same(tmp_path: Path) -> None:
    lay_out(tmp_path / "packed", runnable=True)
    assert not list((tmp_path / "packed").rglob("*.py"))
    said = run(tmp_path / "packed", tmp_path / "out")
    assert set(whole_words()) <= set(said.splitlines())
    made = {path.name for path in (tmp_path / "out").rglob("*") if path.stat().st_size}
    assert {"record.pdf", "rows.pdf", "days.ics"} <= made
    assert any(name.endswith(".png") for name in made)


@pytest.mark.slow
@pytest.mark.skipif(shutil.which("strip") is None, reason="needs binutils")
def test_the_payload_is_within_its_limit(tmp_path: Path) -> None:
    lay_out(tmp_path, runnable=False)
    found = weights(tmp_path)
    assert counted(found) <= MOST_BYTES, table(found)
    assert "?" not in found
    # what a table that forgot a package would not show
    assert {"sqlalchemy", "kivy", "babel", "holidays", "Loomside: program", "Loomside: assets"} <= set(found)
    assert found["kivy"]["compiled"] > 2**20
    assert sum(found["Loomside: assets"].values()) > 3 * Path("assets/fonts/Lato-Regular.ttf").stat().st_size


def test_adding_up_leaves_numpy_apart() -> None:
    found = {
        "numpy": Counter(python=10, compiled=5),
        "babel": Counter(python=7),
        "kivy": Counter(python=1, compiled=2),
    }
    assert counted(found) == 10


@pytest.mark.parametrize(
    ("path", "left_out"),
    [
        ("/site-packages/babel/locale-data/zu.dat", True),
        ("/site-packages/babel/locale-data/tr.dat", False),
        ("/site-packages/requests/api.pyc", True),
        ("/site-packages/numpy/_core/_multiarray.cpython-314-aarch64-linux-android.so", False),
        ("/site-packages/fontTools/misc/bezierTools.cpython-314-x86_64-linux-gnu.so", True),
        ("/private/assets/fonts/Lato-Regular.ttf", False),
        ("/private/tracker/catalogues/tr/LC_MESSAGES/loomside.mo", False),
    ],
)
def test_the_blacklist_means_what_it_says(path: str, left_out: bool) -> None:
    assert is_left_out(path) is left_out
