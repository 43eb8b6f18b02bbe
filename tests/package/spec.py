"""Reads buildozer.spec, and asks python-for-android's own code what it makes of it."""

from __future__ import annotations

import configparser
import os
import re
from fnmatch import fnmatch
from functools import cache
from importlib import import_module, metadata
from pathlib import Path
from types import ModuleType

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[2]
PYTHON_ON_THE_PHONE = "3.14"


@cache
def spec() -> configparser.SectionProxy:
    """Return the section [app] of buildozer.spec."""
    parser = configparser.ConfigParser()
    parser.optionxform = str  # type: ignore[method-assign, assignment]
    parser.read(ROOT / "buildozer.spec", encoding="utf-8")
    return parser["app"]


def listed(option: str) -> list[str]:
    """Return an option that lists things."""
    return [part.strip() for part in spec()[option].split(",") if part.strip()]


def pins() -> dict[str, str]:
    """Return every requirement and its version, "" where none is named."""
    pairs = (requirement.partition("==") for requirement in listed("requirements"))
    return {name: version for name, _sign, version in pairs}


@cache
def build_module() -> ModuleType:
    """Return python-for-android's own packer."""
    os.environ["P4A_BUILD_IS_RUNNING_UNITTESTS"] = "1"
    return import_module("pythonforandroid.bootstraps.common.build.build")


@cache
def build_context(folder: Path):
    """Return a context of python-for-android that knows our recipes and needs neither SDK nor NDK."""
    from pythonforandroid.build import Context

    context = Context()
    context.setup_dirs(str(folder))
    context.local_recipes = str(ROOT / spec()["p4a.local_recipes"])
    context.ndk_api = int(spec()["android.ndk_api"])
    return context


def installed_requirements(name: str, extras: frozenset[str] = frozenset()) -> set[str]:
    """Return the names of what an installed distribution requires on the phone."""
    on_the_phone = {
        "sys_platform": "android",
        "python_version": PYTHON_ON_THE_PHONE,
        "python_full_version": "3.14.2",
    }
    found = set()
    for line in metadata.distribution(name).requires or ():
        requirement = Requirement(line)
        if requirement.marker is None or requirement.marker.evaluate({**on_the_phone, "extra": ""}):
            found.add(canonicalize_name(requirement.name))
    return found


def is_pure(name: str) -> bool:
    """True when the wheel of an installed distribution fits every machine.

    Or when it does without its compiled parts: each stands beside its own Python source, is named for the machine on
    which the package is built, and so is left out by our blacklist and looked at by no phone.
    """
    distribution = metadata.distribution(name)
    tags = re.findall(r"^Tag: (\S+)$", distribution.read_text("WHEEL") or "", re.MULTILINE)
    if tags and all(tag.endswith("-none-any") for tag in tags):
        return True
    files = {str(path) for path in distribution.files or ()}
    compiled = [path for path in files if path.endswith((".so", ".pyd", ".dylib"))]
    return bool(compiled) and all(re.sub(r"\.[^/]*$", ".py", path) in files for path in compiled)


def packed_sources() -> list[Path]:
    """Return the files of this repository that go into the package, relative to its top.

    Buildozer's own rules: no hidden files or folders, the extensions named, without the folders and patterns named.
    """
    extensions = listed("source.include_exts")
    folders = [folder.rstrip("/") + "/" for folder in listed("source.exclude_dirs")]
    patterns = listed("source.exclude_patterns")
    found = []
    for place, names, files in os.walk(ROOT):
        here = Path(place).relative_to(ROOT).as_posix()
        inside = "" if here == "." else here + "/"
        names[:] = [
            name
            for name in names
            if not name.startswith(".")
            and not any((inside + name + "/").lower().startswith(f) for f in folders)
        ]
        found += [
            Path(inside + name)
            for name in files
            if not name.startswith(".")
            and name.rpartition(".")[2].lower() in extensions
            and not any(fnmatch(inside + name.lower(), pattern) for pattern in patterns)
        ]
    return sorted(path for path in found if "__pycache__" not in path.parts)
