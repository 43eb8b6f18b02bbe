"""What a kv file binds must follow what it is bound to."""

from __future__ import annotations

import ast
import re
from itertools import pairwise

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


def test_no_property_has_the_name_of_an_event() -> None:
    """Kivy takes what begins with `on_` for an event: a rule that reads such a property is never told of its changes."""
    misnamed = [
        (path.name, name)
        for path in sorted(ROOT.glob("tracker/**/*.py"))
        for name in re.findall(
            r"^    (on_\w+)\b[^=\n]*= \w+Property\(", path.read_text("utf-8"), re.MULTILINE
        )
    ]
    assert misnamed == []


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


def test_a_side_that_is_shared_out_at_times_is_set_anew_when_it_is_not() -> None:
    """A constant is set once: whatever the layout gave in between stays. The diary kept a margin of an open entry's width."""
    kept = []
    for path in sorted(ROOT.glob("tracker/**/*.kv")):
        lines = path.read_text("utf-8").splitlines()
        for number, (hint, side) in enumerate(pairwise(lines), 2):
            if re.search(r"size_hint_[xy]:.*\bNone\b", hint) and " if " in hint:
                given = re.fullmatch(r"\s*(?:width|height): (.*)", side)
                if given is not None and " if " not in given[1] and "(" not in given[1]:
                    kept.append((path.name, number, side.strip()))
    assert kept == []


DRESSED_BY_THEMSELVES = {
    "Text": "tone, strong, style",
    "Heading": "tone, strong, style",
    "Figure": "tone, style",
}
"""Widgets that set their own colour and type, and what they do it by."""


def test_no_rule_colours_what_dresses_itself() -> None:
    """It would hold until the words are fitted anew: the strip's sentence once was ink on ink in large type."""
    overruled = []
    for path in sorted(ROOT.glob("tracker/**/*.kv")):
        inside: list[tuple[int, str]] = []
        for number, line in enumerate(path.read_text("utf-8").splitlines(), 1):
            words = line.strip()
            if not words or words.startswith("#"):
                continue
            indent = len(line) - len(line.lstrip())
            inside = [(depth, name) for depth, name in inside if depth < indent]
            if named := re.fullmatch(r"<?-?(\w+)(?:@\w+)?>?:", words):
                inside.append((indent, named[1]))
            elif (
                re.match(r"(?:color|font_size|bold):", words)
                and inside
                and inside[-1][1] in DRESSED_BY_THEMSELVES
            ):
                overruled.append((path.name, number, words))
    assert overruled == []


def test_nothing_is_drawn_by_a_side_that_kivy_remembers() -> None:
    """`right`, `top` and the centre are remembered from before while a new size is told: a frame hung out of the window by its left."""
    remembered = {"right", "top", "center", "center_x", "center_y"}
    drawn_by = [
        (path.name, node.lineno, node.attr)
        for path in sorted(ROOT.glob("tracker/**/*.py"))
        for function in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(function, ast.FunctionDef) and "draw" in function.name
        for node in ast.walk(function)
        if isinstance(node, ast.Attribute)
        and node.attr in remembered
        and isinstance(node.value, ast.Name)
        and node.value.id == "self"
    ]
    assert drawn_by == []
