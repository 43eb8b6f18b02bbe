"""Lays out the Python part of the phone's package and adds it up: `python -m tests.package.payload [FOLDER]`.

The files are those of this repository and of the installed requirements, picked by python-for-android's own matching of
our blacklist and compiled as it compiles them (no source, no assertions, no docstrings). Compiled parts are this
machine's, stripped, so what they weigh stands in a column of its own.
"""

from __future__ import annotations

import compileall
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from importlib import metadata
from pathlib import Path

from packaging.utils import canonicalize_name

from tests.package.spec import ROOT, build_module, listed, packed_sources, pins, spec

MOST_BYTES = 45 * 2**20
"""What all but numpy's and Python's own libraries may weigh, unpacked, for one architecture."""
RECIPES_LEAVE_OUT = ("__pycache__", "tests")
"""Folders of a package that python-for-android's Python recipe never packs (numpy's are packed)."""
COUNTED_APART = {"numpy"}
COMPILED = (".so", ".pyd")
BUILT_ELSEWHERE = ("python3", "hostpython3", "android", "pyjnius")
"""Requirements that are no installed distribution here: the interpreter and the bridge to Java."""


def is_left_out(path: str) -> bool:
    """True when our blacklist, as python-for-android reads it, keeps a file out of the package."""
    build = build_module()
    lines = (ROOT / spec()["android.blacklist_src"]).read_text(encoding="utf-8").splitlines()
    blacklist = [line.strip() for line in lines if line.strip() and not line.startswith("#")]
    if build.match_filename(listed("android.whitelist"), path):
        return False
    return bool(build.match_filename([*build.BLACKLIST_PATTERNS, *blacklist], path))


def distribution_files(name: str) -> list[Path]:
    """Return the files of an installed requirement, relative to the folder it is installed in."""
    return [
        Path(str(path))
        for path in metadata.distribution(name).files or ()
        if ".." not in path.parts
        and "__pycache__" not in path.parts
        and (name == "numpy" or not set(RECIPES_LEAVE_OUT) & set(path.parts[:-1]))
        # libraries that a wheel for this machine brings along: a phone's come with python-for-android's own parts
        and not any(part.endswith(".libs") for part in path.parts)
    ]


def lay_out(folder: Path, *, runnable: bool) -> None:
    """Copy into `folder`/app and `folder`/site-packages what would be packed.

    Parameters
    ----------
    runnable
        With the libraries that this machine's wheels bring along, so that it runs here. Otherwise compiled parts are
        stripped, as they are on the phone; that needs `strip` (binutils).
    """
    for path in packed_sources():
        if not is_left_out(f"/private/{path.as_posix()}"):
            target = folder / "app" / path
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(ROOT / path, target)
    for requirement in pins():
        if requirement in BUILT_ELSEWHERE:
            continue
        distribution = metadata.distribution(requirement)
        sources = {str(path) for path in distribution.files or ()}
        for path in distribution_files(requirement):
            # a compiled part without a source beside it is built for the phone by the requirement's recipe
            source = str(path).split(".cpython", maxsplit=1)[0] + ".py"
            built = path.suffix in COMPILED and source not in sources
            if not built and is_left_out(f"/site-packages/{path.as_posix()}"):
                continue
            target = folder / "site-packages" / path
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(str(distribution.locate_file(path)), target)
        if runnable:
            for path in distribution.files or ():
                if any(part.endswith(".libs") for part in path.parts):
                    target = folder / "site-packages" / Path(str(path))
                    target.parent.mkdir(parents=True, exist_ok=True)
                    shutil.copyfile(str(distribution.locate_file(path)), target)
    if not runnable:
        # As python-for-android does: a wheel may carry the tables of a debugger, many times the size of the rest.
        subprocess.run(["strip", "--strip-unneeded", *folder.rglob("*.so")], check=True)
    compileall.compile_dir(folder, quiet=2, legacy=True, optimize=2, maxlevels=30, workers=1)
    for source in folder.rglob("*.py"):
        source.unlink()


def weights(folder: Path) -> dict[str, Counter[str]]:
    """Return bytes of each package of a laid-out folder: "python" and "compiled"."""
    owners = {
        str(path): canonicalize_name(requirement)
        for requirement in pins()
        if requirement not in BUILT_ELSEWHERE
        for path in metadata.distribution(requirement).files or ()
    }
    found: dict[str, Counter[str]] = {}
    for path in folder.rglob("*"):
        if not path.is_file():
            continue
        inside = path.relative_to(folder)
        if inside.parts[0] == "app":
            owner = "Loomside: " + ("assets" if inside.parts[1] == "assets" else "program")
        else:
            name = Path(*inside.parts[1:]).as_posix()
            owner = owners.get(name) or owners.get(name.removesuffix("c")) or "?"
        kind = "compiled" if path.suffix in COMPILED else "python"
        found.setdefault(owner, Counter())[kind] += path.stat().st_size
    return found


def counted(found: dict[str, Counter[str]]) -> int:
    """Return the bytes that the limit is about."""
    return sum(sum(parts.values()) for owner, parts in found.items() if owner not in COUNTED_APART)


def table(found: dict[str, Counter[str]]) -> str:
    """Return the weights as a table."""
    lines = [f"{'':28}{'Python and data':>18}{'compiled (here)':>18}   MiB"]
    for owner, parts in sorted(found.items(), key=lambda pair: -sum(pair[1].values())):
        apart = "   counted apart" if owner in COUNTED_APART else ""
        lines.append(f"{owner:28}{parts['python'] / 2**20:18.2f}{parts['compiled'] / 2**20:18.2f}{apart}")
    lines.append(
        f"{'in all, without numpy':28}{counted(found) / 2**20:18.2f}  (at most {MOST_BYTES / 2**20:.0f})"
    )
    return "\n".join(lines)


def main(folder: str = "") -> int:
    """Print the table; leave the tree in a folder when one is named."""
    if folder:
        lay_out(Path(folder), runnable=False)
        found = weights(Path(folder))
    else:
        with tempfile.TemporaryDirectory() as place:
            lay_out(Path(place), runnable=False)
            found = weights(Path(place))
    print(table(found))
    return 0 if counted(found) <= MOST_BYTES else 1


if __name__ == "__main__":
    raise SystemExit(main(*sys.argv[1:]))
