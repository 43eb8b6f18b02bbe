"""Lets atheris look for inputs that break a target, guided by the code each of them reaches.

    python -m tests.fuzz.run TARGET --minutes 12 [--corpus FOLDER] [--found FOLDER]

What is found is kept as a file with its trace beside it, one for each place it comes from, and the search goes on. To do
one again: `python -m tests.fuzz.run TARGET --again FILE`.
"""

from __future__ import annotations

import argparse
import contextlib
import hashlib
import importlib
import json
import os
import pkgutil
import random
import subprocess
import sys
import tempfile
import time
import traceback
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
WITH_A_WINDOW = (
    "tracker.screens", "tracker.sheets", "tracker.shell", "tracker.widgets", "tracker.previews", "tracker.app.app",
    "tracker.app.phone", "tracker.app.window",
)  # fmt: skip
"""Not counted: nothing of it runs without a window."""
FOLDER = "LOOMSIDE_FUZZ_FOLDER"
"""Names the passing folder to the process that searches: it ends without a chance to tidy up."""
SECONDS_FOR_ONE = 60
"""An input that takes longer on the wall clock ends the search and is kept."""
MEMORY_MB = 4096
REPORT_EVERY_S = 60
"""The search ends the process itself, so what became of the inputs is said again and again."""


def _import_all() -> None:
    """Import all that is to be counted: what is imported later, inside a function, would not be."""
    for room in ("storage", "tracker"):
        package = importlib.import_module(room)
        for module in pkgutil.walk_packages(package.__path__, f"{room}."):
            name = module.name
            if not name.startswith((*WITH_A_WINDOW, "storage.migrations", "tracker.catalogues.make")):
                importlib.import_module(name)


def seeds_of(name: str) -> list[bytes]:
    """Return what a target begins with: the seeds kept, and what was found earlier."""
    from tests.fuzz.targets import SAMPLES, unpacked

    files = [
        path
        for folder in ("seeds", "found")
        for path in sorted((HERE / folder / name).glob("*"))
        if path.suffix != ".txt"
    ]
    seeds = [path.read_bytes() for path in files]
    if name == "exchange":
        for sample in sorted(SAMPLES.glob("*.exchange")):
            seeds += [unpacked(sample), sample.read_bytes()]
    if name in ("cartoons", "sheets"):
        from tests.unit.pictures.fuzz import healthy_files

        seeds += healthy_files()
    return seeds


class Search:
    """Feeds a target, counts, and keeps what failed."""

    def __init__(self, name: str, found: Path, folder: Path) -> None:
        from tests.fuzz.targets import TARGETS

        self.name, self.found = name, found
        self.target = TARGETS[name]
        self.feed = self.target.make(folder)
        self.counts: dict[str, int] = {}
        self.places: dict[str, str] = {}
        self.slowest = 0.0
        self.next_report = time.monotonic() + REPORT_EVERY_S

    def __call__(self, data: bytes) -> None:
        """Feed one input."""
        began = time.process_time()
        try:
            said = self.feed(data)
        except Exception as error:
            said = "FAILED"
            self._keep(data, error)
        self.slowest = max(self.slowest, time.process_time() - began)
        self.counts[said] = self.counts.get(said, 0) + 1
        if time.monotonic() > self.next_report:
            self.report()

    def _keep(self, data: bytes, error: Exception) -> None:
        where = " <- ".join(
            f"{Path(frame.filename).name}:{frame.lineno}"
            for frame in reversed(traceback.extract_tb(error.__traceback__))
            if "site-packages" not in frame.filename
        ).split(" <- ")[:2]
        place = f"{type(error).__name__} at {' <- '.join(where)}"
        if place in self.places:
            return
        mark = hashlib.sha256(place.encode()).hexdigest()[:10]
        self.places[place] = mark
        self.found.mkdir(parents=True, exist_ok=True)
        (self.found / mark).write_bytes(data)
        trace = "".join(traceback.format_exception(error))
        (self.found / f"{mark}.txt").write_text(f"{place}\n\n{trace}", "utf-8", "replace")
        print(f"\nFOUND {self.found / mark}: {place}: {str(error)[:200]}", file=sys.stderr, flush=True)

    def report(self) -> None:
        """Say what became of the inputs."""
        self.next_report = time.monotonic() + REPORT_EVERY_S
        said = {
            "target": self.name,
            **self.counts,
            "slowest in s": round(self.slowest, 2),
            "found": list(self.places),
        }
        print(json.dumps(said, ensure_ascii=False), file=sys.stderr, flush=True)


def quick_folder() -> str | None:
    """Return a folder in memory, where syncing costs nothing, if there is one."""
    return "/dev/shm" if os.access("/dev/shm", os.W_OK) else None


def main() -> int:
    """Run one target; return 0 when nothing was found."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz.run", description=__doc__.split("\n")[0])
    parser.add_argument("target")
    parser.add_argument("--minutes", type=float, default=12.0)
    parser.add_argument(
        "--corpus", type=Path, help="where to keep inputs that reach new code (default: a passing folder)"
    )
    parser.add_argument("--found", type=Path, default=Path("fuzz-found"), help="where to keep what fails")
    parser.add_argument(
        "--again", type=Path, help="feed this one file, without atheris, and show what happens"
    )
    options = parser.parse_args()
    if options.again:
        from tests.fuzz.targets import TARGETS

        with tempfile.TemporaryDirectory(prefix="loomside-fuzz-") as folder:
            print(TARGETS[options.target].make(Path(folder))(options.again.read_bytes()))
        return 0
    try:
        import atheris
    except ImportError:
        print(
            "Nothing was fuzzed: atheris is not installed (pip install atheris; Linux, Python 3.11 to 3.13).",
            file=sys.stderr,
        )
        return 3
    folder = os.environ.get(FOLDER)
    if folder:
        search(atheris, options, Path(folder))
    with tempfile.TemporaryDirectory(prefix="loomside-fuzz-", dir=quick_folder()) as passing:
        done = subprocess.run(
            [sys.executable, "-m", "tests.fuzz.run", *sys.argv[1:]],
            env={**os.environ, FOLDER: passing},
            check=False,
        )
    found = sorted(options.found.glob(f"{options.target}/*.txt")) + sorted(
        options.found.glob(f"{options.target}-*")
    )
    print(f"{options.target}: found {', '.join(map(str, found)) or 'nothing'}", file=sys.stderr)
    return 1 if found or done.returncode else 0


def search(atheris: Any, options: argparse.Namespace, folder: Path) -> None:
    """Let atheris search until the time is over; it then ends the process."""
    began = time.monotonic()
    from tests.fuzz.targets import TARGETS
    from tests.quick_books import quickened

    with atheris.instrument_imports(include=list(TARGETS[options.target].rooms)):
        _import_all()
    found = options.found / options.target
    (folder / "books").mkdir()
    # For as long as the process lives: the search ends it.
    contextlib.ExitStack().enter_context(quickened())
    running = Search(options.target, found, folder / "books")
    corpus = options.corpus or folder / "corpus"
    corpus.mkdir(parents=True, exist_ok=True)
    for seed in seeds_of(options.target):
        (corpus / hashlib.sha256(seed).hexdigest()[:16]).write_bytes(seed)
    words = folder / "words"
    words.write_text("".join(f'"{_escaped(word)}"\n' for word in running.target.words if word), "ascii")
    mutate = running.target.mutate

    def custom(data: bytes, longest: int, seed: int) -> bytes:
        changed = mutate(data, longest, random.Random(seed)) if mutate else None
        return atheris.Mutate(data, longest) if changed is None else changed[:longest]

    arguments = [
        sys.argv[0], str(corpus), f"-max_total_time={max(1, int(60 * options.minutes))}", f"-max_len={running.target.longest}",
        f"-timeout={SECONDS_FOR_ONE}", f"-report_slow_units={SECONDS_FOR_ONE}", f"-rss_limit_mb={MEMORY_MB}", f"-artifact_prefix={found}-",
        "-len_control=0", "-print_final_stats=1", "-reload=0", *([f"-dict={words}"] if running.target.words else []),
    ]  # fmt: skip
    found.parent.mkdir(parents=True, exist_ok=True)
    print(f"ready after {time.monotonic() - began:.0f} s", file=sys.stderr, flush=True)
    atheris.Setup(arguments, running, **({"custom_mutator": custom} if mutate else {}))
    atheris.Fuzz()


def _escaped(word: str) -> str:
    return "".join(f"\\x{part:02x}" for part in word.encode())


if __name__ == "__main__":
    sys.exit(main())
