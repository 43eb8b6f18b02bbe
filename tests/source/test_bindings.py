"""What a kv file binds must follow what it is bound to."""

from __future__ import annotations

import re

from tests.parsed import ROOT

PLAIN = (str, tuple, list, dict, set, float, int)
"""Values that tell nobody when a method of theirs would answer anew."""


def test_every_rule_has_a_name_of_its_own() -> None:
    """Kivy knows rules by the bare name: two classes of one name in two files would each get both rules."""
    places: dict[str, list[str]] = {}
    for path in sorted(ROOT.glob("tracker/**/*.kv")):
        for name in re.findall(r"^<-?(\w+)", path.read_text("utf-8"), re.MULTILINE):
            places.setdefault(name, []).append(path.name)
    assert {name: files for name, files in places.items() if len(files) > 1} == {}


def test_no_rule_reads_its_ids() -> None:
    """Kivy holds the `ids` that a rule reads through `self` or `root`, and with them a page that was let go of."""
    holding = [
        (path.name, number, line.strip())
        for path in sorted(ROOT.glob("tracker/**/*.kv"))
        for number, line in enumerate(path.read_text("utf-8").splitlines(), 1)
        if re.search(r"\b(?:root|self)\.ids\b", line) and not line.strip().startswith(("on_", "#"))
    ]
    assert holding == []


def test_no_expression_calls_a_method_of_a_property() -> None:
    """Kivy takes `root.shown.upper` for the property to watch, not `root.shown`: such an expression is read once."""
    call = re.compile(r"\b(?:root|self)\.\w+\.(\w+)\(")
    deaf = [
        (path.name, number, line.strip())
        for path in sorted(ROOT.glob("tracker/**/*.kv"))
        for number, line in enumerate(path.read_text("utf-8").splitlines(), 1)
        if not line.strip().startswith("on_")
        for method in call.findall(line)
        if any(hasattr(kind, method) for kind in PLAIN)
    ]
    assert deaf == []
