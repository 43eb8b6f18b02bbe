"""Runs the tests of storage, domain and forecast with the versions a phone gets: `python -m tests.package.recipe_versions`.

Makes a fresh virtual environment. "--recipes" takes SQLAlchemy as python-for-android's recipe has it (2.0.30) in place
of the version that buildozer.spec names.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import venv
from pathlib import Path

from tests.package.spec import ROOT, build_context, pins

TESTS = ("tests/storage", "tests/unit/domain", "tests/unit/forecast", "tests/unit/pictures")
TOOLS = ("pytest", "pytest-timeout", "pytest-xdist", "hypothesis", "time-machine", "apsw", "pypdf", "scipy")
NO_DISTRIBUTION = ("python3", "hostpython3", "android", "pyjnius")
"""Requirements that are no package for this machine: the interpreter and the bridge to Java."""


def wanted(recipes: bool, folder: Path) -> list[str]:
    """Return the requirements to install, each by its version."""
    versions = {
        name: version.removeprefix("v") for name, version in pins().items() if name not in NO_DISTRIBUTION
    }
    if recipes:
        from pythonforandroid.recipe import Recipe

        context = build_context(folder)
        for name in ("sqlalchemy", "numpy", "Pillow", "kivy"):
            versions[name] = Recipe.get_recipe(name, context).version.removeprefix("v")
    return [f"{name}=={version}" for name, version in versions.items()]


def main(*options: str) -> int:
    """Install and run; return pytest's exit code."""
    with tempfile.TemporaryDirectory() as place:
        requirements = wanted("--recipes" in options, Path(place) / "p4a")
        venv.create(Path(place) / "venv", with_pip=True)
        python = str(Path(place) / "venv" / "bin" / "python")
        subprocess.run([python, "-m", "pip", "install", "-q", *requirements, *TOOLS], check=True)
        print(
            subprocess.run([python, "-m", "pip", "freeze"], capture_output=True, text=True, check=True).stdout
        )
        return subprocess.run([python, "-m", "pytest", *TESTS], cwd=ROOT, check=False).returncode


if __name__ == "__main__":
    raise SystemExit(main(*sys.argv[1:]))
