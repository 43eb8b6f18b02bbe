"""Lists the licence of everything that pyproject.toml brings in, and fails on one that nobody has agreed to.

Run as `python -m tests.licences`. What a package says of itself is taken as true; its text is not read.
"""

from __future__ import annotations

import re
import sys
import tomllib
from importlib.metadata import PackageNotFoundError, metadata, requires
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

TOP = Path(__file__).parent.parent
NOTHING_NAMED = {"", "OSI Approved", "DFSG approved", "Dual License"}
ALLOWED = re.compile(
    r"(MIT|(\d-clause )?BSD|0BSD|Apache|PSF|Python Software Foundation|MPL|Mozilla Public|LGPL|"
    r"Zlib|CC0|Public Domain|any-OSI)",
    re.IGNORECASE,
)
"""Licences that let us ship unchanged libraries beside our own code. A copyleft one that reaches our code (GPL) is none."""


def named() -> list[Requirement]:
    """Return what pyproject.toml itself names, for running and for testing."""
    project = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    return [Requirement(line) for line in project["dependencies"] + project["optional-dependencies"]["test"]]


def brought_in() -> dict[str, Requirement]:
    """Return every requirement that an installation here follows from what is named, by its canonical name."""
    found: dict[str, Requirement] = {}
    seen: set[tuple[str, frozenset[str]]] = set()
    waiting = named()
    while waiting:
        one = waiting.pop()
        name = canonicalize_name(one.name)
        if (name, frozenset(one.extras)) in seen:
            continue
        seen.add((name, frozenset(one.extras)))
        found.setdefault(name, one)
        try:
            further = requires(name) or []
        except PackageNotFoundError:
            continue
        for line in map(Requirement, further):
            extras = one.extras or {""}
            if line.marker is None or any(line.marker.evaluate({"extra": extra}) for extra in extras):
                waiting.append(line)
    return found


def licences_of(name: str) -> list[str]:
    """Return the licences that an installed package names, each an alternative; empty when it names none.

    The first of these that names one decides: its licence expression, its classifiers, its free text.
    """
    said = metadata(name)
    expression = str(said.get("License-Expression") or "")
    if expression:
        return re.split(r" OR ", expression)
    classifiers = [str(line) for line in said.get_all("Classifier") or [] if str(line).startswith("License")]
    found = [line.split(" :: ")[-1] for line in classifiers]
    found = [one for one in found if one not in NOTHING_NAMED]
    text = str(said.get("License") or "").split("\n")[0].strip()
    return found or ([text] if text not in NOTHING_NAMED else [])


def allowed(licences: list[str]) -> bool:
    """Say whether one of the alternatives is made of agreed licences alone."""
    return any(all(ALLOWED.match(part) for part in one.strip("()").split(" AND ")) for one in licences)


def main() -> int:
    """Print the list; return 1 when a package is not agreed to or is not installed."""
    wrong = 0
    for name in sorted(brought_in()):
        try:
            licences = licences_of(name)
        except PackageNotFoundError:
            print(f"{name}: not installed")
            wrong += 1
            continue
        good = allowed(licences)
        wrong += not good
        print(f"{name}: {' or '.join(licences) or 'names no licence'}{'' if good else '  <- not agreed to'}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
