"""What is installed: each with its exact version for the tests of next year, and under a licence we agreed to."""

from __future__ import annotations

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from tests.licences import TOP, allowed, brought_in, named


def exact_versions() -> dict[str, str]:
    """Return the versions that constraints.txt holds, by canonical name."""
    lines = (TOP / "constraints.txt").read_text(encoding="utf-8").splitlines()
    pins = [Requirement(line) for line in lines if line and not line.startswith("#")]
    found = {}
    for pin in pins:
        (only,) = pin.specifier
        assert only.operator == "==", pin
        found[canonicalize_name(pin.name)] = only.version
    return found


def test_everything_named_has_an_exact_version_within_its_open_range() -> None:
    exact = exact_versions()
    for one in named():
        name = canonicalize_name(one.name)
        assert name in exact, f"{one.name} is missing from constraints.txt"
        assert one.specifier.contains(exact[name]), f"{one} does not allow {exact[name]} of constraints.txt"


def test_everything_that_follows_from_it_has_an_exact_version_too() -> None:
    assert set(brought_in()) - {"setuptools", "wheel"} <= set(exact_versions())


def test_a_fresh_machine_installs_those_versions() -> None:
    tests = (TOP / "README.md").read_text(encoding="utf-8").split("## Run the tests")[1]
    assert "-c constraints.txt" in tests


def test_only_licences_that_leave_our_code_alone_are_agreed_to() -> None:
    assert allowed(["MIT"])
    assert allowed(["BSD-3-Clause AND 0BSD AND MIT AND Zlib AND CC0-1.0"])
    assert allowed(["BSD License", "GNU General Public License (GPL)"])
    assert not allowed(["GNU General Public License (GPL)"])
    assert not allowed(["AGPL-3.0-only"])
    assert not allowed(["MIT AND GPL-3.0-only"])
    assert not allowed([])
