"""Plants each mistake in a copy of the tree and asks whether a test notices."""

from __future__ import annotations

import importlib
import os
import shutil
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

from tests.mistakes.planted import Mistake

ROOT = Path(__file__).parents[2]
PARTS = ("tracker", "storage", "assets", "tests", "pyproject.toml", "main.py")
"""What the tests need."""
OURS = ("tracker", "storage", "tests")
"""Packages that a trial must take from the copy."""
THEIRS = (
    "numpy",
    "scipy.optimize",
    "scipy.stats",
    "hypothesis",
    "pint",
    "pytest",
    "pytest_timeout",
    "xdist.plugin",
)
"""What every trial imports and no mistake touches: read once, before the first."""
WITHOUT_SUMS = (
    "test_pictures_of_others.py",
    "test_public_holidays.py",
    "test_colour_distance.py",
    "test_statistics.py",
)
"""Files of `tests/outside` that reach none of the sums."""
SUITES = {
    "outside": (
        tuple(
            f"tests/outside/test_{name}.py"
            for name in ("quantities", "finished_rug", "times", "money", "design")
        ),
        ("tests/outside", *(f"--ignore=tests/outside/{name}" for name in WITHOUT_SUMS)),
    ),
    "unit": (("tests/unit/domain",),),
}
"""What each suite runs, one after another until a test fails: those that catch most, and start soonest, first."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a suite said of a planted mistake."""

    caught: bool
    by: str
    """The first test that failed; "" where none did."""


class NotATrial(Exception):
    """The suite did not run to a verdict: it fails without a mistake, or could not be run with it."""


def copy_tree(into: Path) -> Path:
    """Copy what the tests need, without anything compiled, and return the copy."""
    leave = shutil.ignore_patterns("__pycache__", "*.pyc", "*.loomside")
    for part in PARTS:
        source = ROOT / part
        if source.is_dir():
            shutil.copytree(source, into / part, ignore=leave)
        else:
            shutil.copy(source, into / part)
    return into


def read_theirs() -> None:
    """Import what every trial needs, so that each begins with it."""
    for name in THEIRS:
        importlib.import_module(name)


def _run_tests(tree: Path, tests: tuple[str, ...], said: int) -> int:
    """Run tests of the copy in this process, a child that does nothing else; return pytest's exit code."""
    import pytest

    os.dup2(said, 1)
    os.dup2(said, 2)
    os.chdir(tree)
    for name in [name for name in sys.modules if name.split(".")[0] in OURS]:
        del sys.modules[name]
    sys.path[:] = [str(tree), *(place for place in sys.path if Path(place or ".").resolve() != ROOT)]
    # A compiled file could outlive the mistake it was compiled from.
    sys.dont_write_bytecode = True
    return int(
        pytest.main(
            ["-x", "-n", "0", "-p", "no:cacheprovider", "--assert=plain", "--rootdir", str(tree), *tests]
        )
    )


def run(tree: Path, suite: str) -> tuple[int, str]:
    """Run a suite in a tree until a test fails; return pytest's exit code and what it said."""
    code, words = 0, ""
    for tests in SUITES[suite]:
        with tempfile.TemporaryFile() as said:
            child = os.fork()
            if not child:
                try:
                    code = _run_tests(tree, tests, said.fileno())
                except BaseException:
                    code = 70
                os._exit(code)
            code = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
            said.seek(0)
            words = said.read().decode(errors="replace")
        if code:
            break
    return code, words


def check_unharmed(tree: Path, suite: str) -> None:
    """Raise `NotATrial` when the suite fails in a tree without a mistake."""
    code, said = run(tree, suite)
    if code:
        raise NotATrial(f"{suite} fails without any mistake:\n{said[-3000:]}")


def try_mistake(tree: Path, mistake: Mistake, suite: str) -> Verdict:
    """Plant a mistake in the copy, run the suite, and take the mistake out again."""
    path = tree / mistake.file
    right = path.read_text(encoding="utf-8")
    mistake.plant(tree)
    try:
        code, said = run(tree, suite)
    finally:
        path.write_text(right, encoding="utf-8")
    if code not in (0, 1):
        raise NotATrial(f"{mistake.name}: {suite} could not be run ({code}):\n{said[-3000:]}")
    failed = [line.split()[1] for line in said.splitlines() if line.startswith(("FAILED ", "ERROR "))]
    return Verdict(caught=code == 1, by=failed[0] if failed else "")
