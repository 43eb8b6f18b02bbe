"""How many small mistakes planted in the code the tests of the same layer catch, on a random sample.

    python -m tests.mutation.score [LAYER ...] [--each 15] [--seed 1]

The mistakes are mutmut's (`pip install -e '.[mutation]'`): a number one larger, < for <=, + for -, `and` for `or`, an
argument left out, a value replaced by None. Sentences are left alone: the catalogues hold them; so is the `strict` of a
zip, which guards against slips of ours and shows nobody anything. The layer's tests run once, watched by coverage, so
that each mistake meets only the tests that pass through its line; each runs in a process forked from one that has numpy
and pytest loaded already, against a module read with the mistake in it. No file of the repository is changed. A mistake
that no test passes through counts as missed.
"""

from __future__ import annotations

import argparse
import difflib
import importlib
import importlib.machinery
import json
import os
import random
import re
import resource
import subprocess
import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from types import CodeType
from typing import Any

TOP = Path(__file__).parents[2]
EQUIVALENT = Path(__file__).with_name("equivalent.txt")
LAYERS: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "domain": (("tracker/domain",), ("tests/unit/domain", "tests/outside")),
    "forecast": (("tracker/forecast",), ("tests/unit/forecast", "tests/outside")),
    "presenters": (("tracker/presenters",), ("tests/presenters",)),
    "unit_of_work": (
        ("storage/unit_of_work.py",),
        ("tests/storage/test_acts.py", "tests/storage/test_bounds.py", "tests/storage/test_clocks.py"),
    ),
}
"""What is changed, and the tests that should notice."""
WORDS = {"_", "n_", "mark"}
SECONDS = 60
"""Processor time after which a mistake that hangs the tests counts as caught."""
LEAST_SHARE = 0.85
"""Of the planted mistakes; below it the command fails."""
MOST_TESTS = 400
"""Tests one mistake meets at most, the quickest first."""
LOADED = ("numpy", "hypothesis", "pytest", "_pytest.assertion.rewrite", "hypothesis.strategies", "PIL.Image", "babel.dates",
          "sqlalchemy.orm", "holidays", "scipy.stats", "time_machine", "icalendar")  # fmt: skip
"""Libraries loaded once; none of our own."""
PLAIN_PYTEST = ["-o", "addopts=", "-q", "-x", "-p", "no:cacheprovider", "-m", "not slow", "--timeout", "0"]


# --- which test passes where (runs in a process of its own) ------------------------------------------------------


class _Watch:
    """Tells coverage which test runs."""

    def __init__(self, watch: Any) -> None:
        self.watch = watch
        self.seconds: dict[str, float] = {}

    def pytest_runtest_logstart(self, nodeid: str) -> None:
        self.watch.switch_context(nodeid)

    def pytest_runtest_logreport(self, report: Any) -> None:
        self.seconds[report.nodeid] = self.seconds.get(report.nodeid, 0.0) + report.duration


def watch_tests(layer: str, out: Path) -> int:
    """Run a layer's tests once and write {file: {line: [test, ...]}} and {test: seconds}."""
    import coverage
    import pytest

    sources, tests = LAYERS[layer]
    include = [f"{TOP / source}/*" if (TOP / source).is_dir() else str(TOP / source) for source in sources]
    watch = coverage.Coverage(data_file=None, include=include)
    watch.start()
    plugin = _Watch(watch)
    code = int(pytest.main([*PLAIN_PYTEST, *tests], plugins=[plugin]))
    watch.stop()
    data = watch.get_data()
    lines = {
        Path(file).relative_to(TOP).as_posix(): {
            str(line): sorted(filter(None, contexts))
            for line, contexts in data.contexts_by_lineno(file).items()
        }
        for file in data.measured_files()
    }
    out.write_text(json.dumps({"lines": lines, "seconds": plugin.seconds}))
    return code


# --- mistakes ----------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Mistake:
    """One changed module."""

    path: str
    first: int
    last: int
    """Lines of the statement that is changed, from 1."""
    code: str
    said: str
    """FILE: OLD -> NEW."""
    at_import: bool
    """Whether the changed line runs when the module is read, not when a function is called."""


def mistakes_in(path: str, each: int, dice: random.Random, passed_over: set[str]) -> list[Mistake]:
    """Return a sample of the mistakes that can be made in a file."""
    import libcst as cst
    from libcst.metadata import MetadataWrapper, ParentNodeProvider, PositionProvider
    from mutmut.mutation.file_mutation import create_mutations

    before = (TOP / path).read_text("utf-8")
    module, mutations, _classes, _functions = create_mutations(path, before)
    wrapper = MetadataWrapper(module, unsafe_skip_copy=True)
    places, parents = wrapper.resolve(PositionProvider), wrapper.resolve(ParentNodeProvider)

    def above(node: Any) -> Iterator[Any]:
        while node is not None:
            yield node
            node = parents.get(node)

    def is_words(node: Any) -> bool:
        return any(
            isinstance(one, cst.Call) and isinstance(one.func, cst.Name) and one.func.value in WORDS
            for one in above(node)
        )

    def in_function(node: Any) -> bool:
        return any(
            isinstance(parents.get(one), cst.FunctionDef) and parents[one].body is one for one in above(node)
        )

    dice.shuffle(mutations)
    out: list[Mistake] = []
    for mutation in mutations:
        if len(out) == each:
            break
        node = mutation.original_node
        if is_words(node):
            continue
        statement = next(
            (
                one
                for one in above(node)
                if isinstance(one, cst.SimpleStatementLine | cst.BaseCompoundStatement)
            ),
            node,
        )
        place = places[statement if isinstance(statement, cst.SimpleStatementLine) else node]
        after = module.deep_replace(node, mutation.mutated_node).code
        said = f"{path}: {_changed(before, after)}"
        if said in passed_over or _without_strict(after) == _without_strict(before):
            continue
        out.append(Mistake(path, place.start.line, place.end.line, after, said, not in_function(node)))
    return out


def _without_strict(code: str) -> str:
    return re.sub(r",\s*(strict=\w+)?\)", ")", code)


def _changed(before: str, after: str) -> str:
    lines = list(difflib.unified_diff(before.splitlines(), after.splitlines(), n=0, lineterm=""))[3:]
    old = " ".join(line[1:].strip() for line in lines if line.startswith("-"))
    new = " ".join(line[1:].strip() for line in lines if line.startswith("+"))
    return f"{old} -> {new}"


class _Loader(importlib.machinery.SourceFileLoader):
    """Reads a module with a mistake in it."""

    def __init__(self, name: str, mistake: Mistake) -> None:
        super().__init__(name, str(TOP / mistake.path))
        self._mistake = mistake

    def get_code(self, fullname: str) -> CodeType:
        return compile(self._mistake.code, self.path, "exec", dont_inherit=True)


class _Finder:
    """Finds the module with the mistake before Python finds the right one."""

    def __init__(self, mistake: Mistake) -> None:
        parts = Path(mistake.path).with_suffix("").parts
        self.name = ".".join(part for part in parts if part != "__init__")
        self.mistake = mistake

    def find_spec(
        self, name: str, path: Any = None, target: Any = None
    ) -> importlib.machinery.ModuleSpec | None:
        if name != self.name:
            return None
        loader = _Loader(name, self.mistake)
        return importlib.util.spec_from_file_location(name, loader.path, loader=loader)


def is_caught(mistake: Mistake, tests: list[str]) -> bool:
    """Tell whether one of the tests fails, errs or hangs when the module holds the mistake."""
    child = os.fork()
    if child == 0:
        code = 1
        try:
            resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS + 5))
            null = os.open(os.devnull, os.O_RDWR)
            for handle in (0, 1, 2):
                os.dup2(null, handle)
            sys.meta_path.insert(0, _Finder(mistake))  # type: ignore[arg-type]
            import pytest
            from hypothesis import HealthCheck, Phase, settings

            # A crowded machine must not be taken for a test that noticed something.
            settings.register_profile(
                "planted",
                derandomize=True,
                phases=(Phase.explicit, Phase.generate),
                deadline=None,
                suppress_health_check=[HealthCheck.too_slow],
            )

            class Quick:
                @pytest.hookimpl(trylast=True)
                def pytest_configure(self) -> None:
                    # One failing example is enough: it is not made smaller.
                    settings.load_profile("planted")

            code = int(pytest.main([*PLAIN_PYTEST, *tests], plugins=[Quick()]))
        except BaseException:
            code = 1
        finally:
            os._exit(code)
    _pid, status = os.waitpid(child, 0)
    ended = os.waitstatus_to_exitcode(status)
    if ended == 5:
        raise RuntimeError(f"none of these tests is there: {tests[:3]}")
    return ended != 0


# --- the score ---------------------------------------------------------------------------------------------------


def tests_through(mistake: Mistake, seen: dict[str, Any]) -> list[str]:
    """Return the tests that pass through a mistake's lines, the quickest first; what runs at import meets all of the file."""
    lines = seen["lines"].get(mistake.path, {})
    if not mistake.at_import:
        passing = {
            test for line in range(mistake.first, mistake.last + 1) for test in lines.get(str(line), ())
        }
        return _quickest_first(passing, seen["seconds"])[:MOST_TESTS]
    # What is written when the module is read any test of the layer may notice, those that pass through the module first.
    near = _quickest_first({test for tests in lines.values() for test in tests}, seen["seconds"])
    left_s, far = SECONDS / 3, []
    for test in _quickest_first(set(seen["seconds"]) - set(near), seen["seconds"]):
        left_s -= seen["seconds"][test]
        if left_s > 0:
            far.append(test)
    return [*near[:MOST_TESTS], *far]


def _quickest_first(tests: set[str], seconds: dict[str, float]) -> list[str]:
    """Return tests by the time they take, one of each function before all others: its many parameters go the same way."""
    order = sorted(tests, key=lambda test: seconds.get(test, 0.0))
    firsts: dict[str, str] = {}
    for test in order:
        firsts.setdefault(test.split("[")[0], test)
    return [*firsts.values(), *(test for test in order if test not in firsts.values())]


def passing(layer: str, folder: Path) -> dict[str, Any]:
    """Return what `watch_tests` wrote into a folder, now or before."""
    out = folder / f"{layer}.json"
    if not out.exists():
        command = [sys.executable, "-m", "tests.mutation.score", "--watch", layer, "--seen", str(folder)]
        if subprocess.run(command, cwd=TOP).returncode:
            out.unlink(missing_ok=True)
            raise SystemExit(f"The tests of {layer} do not pass as they are.")
    seen: dict[str, Any] = json.loads(out.read_text())
    return seen


def score(layer: str, each: int, seed: int, only: str, folder: Path) -> tuple[int, int]:
    """Print what a layer's tests miss; return (caught, planted)."""
    seen = passing(layer, folder)
    passed_over = {
        line for line in EQUIVALENT.read_text("utf-8").splitlines() if line and not line.startswith("#")
    }
    dice = random.Random(f"{layer} {seed}")
    by_file: dict[str, list[bool]] = defaultdict(list)
    for source in LAYERS[layer][0]:
        files = sorted((TOP / source).rglob("*.py")) if (TOP / source).is_dir() else [TOP / source]
        for file in files:
            path = file.relative_to(TOP).as_posix()
            if only not in path:
                continue
            begun = time.monotonic()
            for mistake in mistakes_in(path, each, dice, passed_over):
                tests = tests_through(mistake, seen)
                caught = bool(tests) and is_caught(mistake, tests)
                by_file[path].append(caught)
                if not caught:
                    print(
                        f"missed{'' if tests else ' (no test passes)'}: line {mistake.first} of {mistake.said}",
                        flush=True,
                    )
            if by_file[path]:
                share = f"{sum(by_file[path])} of {len(by_file[path])}"
                print(f"{path}: {share} ({time.monotonic() - begun:.0f} s)", flush=True)
    verdicts = [verdict for verdicts in by_file.values() for verdict in verdicts]
    return sum(verdicts), len(verdicts)


def main() -> None:
    """Score the layers asked for."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("layers", nargs="*", metavar="LAYER", help=", ".join(LAYERS))
    parser.add_argument("--each", type=int, default=15, help="mistakes planted in each module (15)")
    parser.add_argument("--seed", type=int, default=1, help="another number plants others (1)")
    parser.add_argument("--only", default="", help="only files whose path holds this")
    parser.add_argument("--watch", help=argparse.SUPPRESS)
    parser.add_argument(
        "--seen", type=Path, help="folder that keeps which test passes where, for another run"
    )
    asked = parser.parse_args()
    os.chdir(TOP)
    if asked.watch:
        raise SystemExit(watch_tests(asked.watch, asked.seen / f"{asked.watch}.json"))
    for name in LOADED:
        importlib.import_module(name)
    below = []
    for layer in asked.layers or LAYERS:
        with tempfile.TemporaryDirectory() as passing_folder:
            folder = asked.seen or Path(passing_folder)
            caught, planted = score(layer, asked.each, asked.seed, asked.only, folder)
        share = caught / max(1, planted)
        below += [layer] if share < LEAST_SHARE else []
        print(f"{layer}: {caught} of {planted} caught, {100 * share:.0f} % (seed {asked.seed})", flush=True)
    if below:
        raise SystemExit(f"fewer than {100 * LEAST_SHARE:.0f} % in {', '.join(below)}")


if __name__ == "__main__":
    main()
