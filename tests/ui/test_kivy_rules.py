"""The rules of Kivy's widgets that the app reads in place of Kivy's own file are Kivy's, and none that it needs is missing."""

from __future__ import annotations

import importlib
import pkgutil
import re
from pathlib import Path

import kivy
from kivy.lang import Builder
from kivy.uix.widget import Widget

import tracker
from tracker.app.window import RULES, RULES_OF

ONCE_NEEDED = {"bubblecontent", "bubblebutton", "button", "textinputcutcopypaste"}
"""What Kivy makes by itself: the strip over a text that is held."""


def rules(path: Path) -> dict[str, str]:
    """Return the rules of a kv file by the classes they name, comments left out, whatever language they speak."""
    text = re.sub(r"^#.*\n", "", path.read_text("utf-8"), flags=re.MULTILINE)
    text = re.sub(r"_\(('[^']+')\)", r"\1", text)
    blocks = re.split(r"^(?=[<\[])", text, flags=re.MULTILINE)[1:]
    return {block.splitlines()[0].strip(): block.strip() for block in blocks}


KIVYS = Path(kivy.kivy_data_dir) / "style.kv"


def test_each_rule_stands_as_kivy_has_it() -> None:
    whole, ours = rules(KIVYS), rules(RULES / "style.kv")
    assert kivy.__version__ == RULES_OF
    assert len(ours) == 10
    assert {name: rule for name, rule in ours.items() if whole.get(name) != rule} == {}


def test_every_rule_that_a_widget_of_the_app_needs_is_among_them() -> None:
    for module in pkgutil.walk_packages(tracker.__path__, "tracker."):
        importlib.import_module(module.name)
    kinds, seen = [Widget], set()
    while kinds:
        kind = kinds.pop()
        if kind not in seen:
            seen.add(kind)
            kinds.extend(kind.__subclasses__())
    named_in_kv = {
        name.lower()
        for path in Path(tracker.__file__).parent.rglob("*.kv")
        for name in re.findall(r"^ +([A-Z]\w+):", path.read_text("utf-8"), re.MULTILINE)
    }
    used = {
        parent.__name__.lower()
        for kind in seen
        if kind.__module__.startswith("tracker.")
        for parent in kind.__mro__
    }
    used |= named_in_kv | ONCE_NEEDED

    def named(path: Path) -> set[str]:
        heads = (re.sub(r"[<>:\-\[\]]", "", head).lower() for head in rules(path))
        return {name for head in heads for name in head.split(",")}

    needed = named(KIVYS) & used
    assert {"image", "scrollview", "textinput"} <= needed <= named(RULES / "style.kv")


def test_the_app_has_read_those_and_no_others_of_kivys() -> None:
    assert str(RULES / "style.kv") in Builder.files
    assert str(KIVYS) not in Builder.files
