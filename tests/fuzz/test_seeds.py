"""The fuzzer's targets take every seed that is kept, and everything that was once found; the search itself runs on request."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.fuzz import targets
from tests.fuzz.run import quick_folder, seeds_of
from tests.fuzz.targets import TARGETS, Orders
from tests.quick_books import made_anew, quickened

ROOT = Path(__file__).parents[2]
MOST_SEED_BYTES = 4096
SAID = {"taken", "refused", "rescued", "refused, and nothing to rescue", "left out"}
LONG_MINUTES = float(os.environ.get("LOOMSIDE_FUZZ_MINUTES", "12"))


@pytest.fixture
def folder() -> Iterator[Path]:
    with tempfile.TemporaryDirectory(
        prefix="loomside-fuzz-", dir=quick_folder(), ignore_cleanup_errors=True
    ) as made:
        yield Path(made)


@pytest.mark.parametrize("name", TARGETS)
def test_a_target_takes_its_seeds_and_what_was_found(
    name: str, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    seeds = seeds_of(name)
    assert len(seeds) >= 3
    # What takes seconds each, all pages of a book, has tests of its own and is left to the search.
    monkeypatch.setattr(targets, "now_and_then", lambda data, often: False)
    feed = TARGETS[name].make(folder)
    said = {feed(seed) for seed in seeds}
    assert said <= SAID
    assert said & {"taken", "rescued"}, "the seeds reach beyond the first refusal"


@pytest.mark.parametrize("name", ["exchange", "books"])
def test_a_target_made_quick_says_the_same(name: str, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(targets, "now_and_then", lambda data, often: False)
    seeds = seeds_of(name)[:3]
    said = []
    for way in (made_anew, quickened):
        with way():
            here = folder / way.__name__
            here.mkdir()
            feed = TARGETS[name].make(here)
            said.append([feed(seed) for seed in seeds])
    assert said[0] == said[1]
    assert len(set(said[0])) > 1 or name == "exchange"


def test_seeds_are_small_enough_to_live_in_the_repository() -> None:
    for path in (Path(__file__).parent / "seeds").rglob("*"):
        assert path.is_dir() or path.stat().st_size <= MOST_SEED_BYTES, path


def test_a_failure_is_kept_once_with_its_trace(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from tests.fuzz.run import Search

    def broken(_folder: Path) -> targets.Feed:
        def feed(data: bytes) -> str:
            if data == b"bad":
                raise KeyError("broken on purpose")
            return "taken"

        return feed

    monkeypatch.setitem(TARGETS, "broken", targets.Target(broken))
    search = Search("broken", folder / "found", folder)
    for data in (b"good", b"bad", b"bad"):
        search(data)
    assert search.counts == {"taken": 1, "FAILED": 2}
    kept = sorted(path.name for path in (folder / "found").iterdir())
    assert len(kept) == 2
    assert (folder / "found" / kept[0]).read_bytes() == b"bad"
    assert "broken on purpose" in (folder / "found" / kept[1]).read_text()


def test_orders_run_out_with_zeros() -> None:
    orders = Orders(bytes((7, 0, 3, 97, 98, 99)))
    assert (orders.whole(5), orders.bytes(8), orders.more, orders.whole(9), orders.bytes()) == (
        2,
        b"abc",
        False,
        0,
        b"",
    )


@pytest.mark.slow
@pytest.mark.timeout(0)
@pytest.mark.parametrize("name", TARGETS)
def test_minutes_of_search_find_nothing(name: str, tmp_path: Path) -> None:
    """`LOOMSIDE_FUZZ_MINUTES` for each target, else 12."""
    pytest.importorskip(
        "atheris", reason="nothing was fuzzed: atheris is not installed (pip install atheris)"
    )
    done = subprocess.run(
        [sys.executable, "-m", "tests.fuzz.run", name, "--minutes", str(LONG_MINUTES), "--found", str(tmp_path / "found")],
        cwd=ROOT, capture_output=True, text=True, errors="replace", check=False,
    )  # fmt: skip
    print(done.stderr[-3000:])
    assert done.returncode == 0, done.stderr[-6000:]
    assert "DONE" in done.stderr, "the search came to its end"
