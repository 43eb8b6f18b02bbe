"""The house has floors: a room imports only from the rooms named below it. Read from the code's own imports."""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

from tests.parsed import ROOT, nodes_of, sources

GROUND = frozenset({"words", "theme", "files"})
MAY_IMPORT: dict[str, frozenset[str]] = {
    "words": frozenset(),
    "theme": frozenset(),
    "files": frozenset(),
    "catalogues": frozenset(),
    "domain": frozenset({"words"}),
    "forecast": frozenset({"domain", "words", "files"}),
    "pictures": frozenset({"domain", "words", "files"}),
    "storage": frozenset({"domain", "words", "files"}),
    "presenters": frozenset({"domain", "forecast"}) | GROUND,
    "reports": frozenset({"presenters", "pictures", "domain", "forecast"}) | GROUND,
    "device": frozenset({"pictures", "domain", "words", "files"}),
    "widgets": GROUND,
    "shell": frozenset({"widgets", "domain"}) | GROUND,
    "sheets": frozenset({"shell", "widgets", "device", "presenters", "domain"}) | GROUND,
    "screens": frozenset({"sheets", "shell", "widgets", "device", "presenters", "domain"}) | GROUND,
    "demo": frozenset({"storage", "pictures", "domain", "words", "files"}),
    "app": frozenset({"screens", "sheets", "shell", "widgets", "device", "reports", "presenters", "storage", "pictures", "forecast", "domain", "demo"}) | GROUND,
    "previews": frozenset({"app", "screens", "sheets", "shell", "widgets", "presenters", "domain"}) | GROUND,
    "command_line": frozenset({"app", "previews", "screens", "device", "reports", "presenters", "forecast", "domain", "demo", "words", "files"}),
}  # fmt: skip
"""Each room, and the rooms it may import from. DEVELOPERS.md shows the same table."""


def room_of(module: str) -> str | None:
    """Return the room a module of ours lies in; None for a module of somebody else's."""
    parts = module.split(".")
    if parts[0] == "storage":
        return "storage"
    return parts[1] if parts[0] == "tracker" and len(parts) > 1 else None


FOREIGN: dict[str, frozenset[str]] = {
    "kivy": frozenset({"widgets", "shell", "sheets", "screens", "app", "previews", "device"}),
    "sqlalchemy": frozenset({"storage"}),
    "alembic": frozenset({"storage"}),
}  # fmt: skip
"""Libraries that are kept to some rooms: no Kivy below the pages, no database but in storage."""


def table_of_developers() -> dict[str, frozenset[str]]:
    """Return the table of rooms as DEVELOPERS.md shows it."""
    table = {}
    for line in (ROOT / "DEVELOPERS.md").read_text("utf-8").splitlines():
        if shown := re.fullmatch(r"\| `(\w+)` \| ([\w, ]+) \| .* \|", line):
            room, names = shown.groups()
            table[room] = frozenset() if names == "nothing of ours" else frozenset(names.split(", "))
    return table


@cache
def imports_of(path: Path) -> list[str]:
    """Return every module that a file imports, wherever in the file."""
    modules = []
    for node in nodes_of(path):
        if isinstance(node, ast.Import):
            modules += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            named = node.module or ""
            if node.level:
                package = path.relative_to(ROOT).with_suffix("").parts[: -node.level]
                named = ".".join((*package, named)).rstrip(".")
            short = named in ("tracker", "storage")
            modules += [f"{named}.{alias.name}" for alias in node.names] if short else [named]
    return modules


def kv_imports_of(path: Path) -> list[str]:
    """Return every name that a kv file imports."""
    lines = path.read_text("utf-8").splitlines()
    return [line.split()[2] for line in lines if line.startswith("#:import")]


@cache
def arrows() -> dict[tuple[str, str], set[tuple[str, str]]]:
    """Return the arrows between rooms, each with the (module, imported module) pairs that draw it."""
    drawn: dict[tuple[str, str], set[tuple[str, str]]] = {}
    for path in (*sources("tracker", "storage"), *ROOT.glob("tracker/**/*.kv")):
        module = ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")
        here = room_of(module)
        for imported in imports_of(path) if path.suffix == ".py" else kv_imports_of(path):
            there = room_of(imported)
            if here and there and here != there:
                drawn.setdefault((here, there), set()).add((module, imported))
    return drawn


def test_every_room_is_in_the_table() -> None:
    rooms = {room for arrow in arrows() for room in arrow}
    assert rooms <= set(MAY_IMPORT)


def test_the_table_of_rooms_is_the_one_that_developers_read() -> None:
    assert {room: names for room, names in table_of_developers().items() if room in MAY_IMPORT} == MAY_IMPORT


def test_libraries_are_kept_to_their_rooms() -> None:
    strays = sorted(
        f"{path.relative_to(ROOT)} imports {imported}"
        for path in sources("tracker", "storage")
        for imported in imports_of(path)
        if (library := imported.split(".")[0]) in FOREIGN
        and room_of(".".join(path.relative_to(ROOT).with_suffix("").parts)) not in FOREIGN[library]
    )
    assert strays == []


def test_arrows_point_downwards_only() -> None:
    wrong = {
        f"{module} imports {imported}"
        for (here, there), pairs in arrows().items()
        for module, imported in pairs
        if there not in MAY_IMPORT[here]
    }
    assert not wrong, "\n".join(sorted(wrong))


def test_the_table_has_no_circle() -> None:
    below = {room: set(rooms) for room, rooms in MAY_IMPORT.items()}
    while below:
        ground = {room for room, rooms in below.items() if not rooms & set(below)}
        assert ground, f"a circle among {sorted(below)}"
        for room in ground:
            del below[room]


def test_no_modules_import_each_other_in_a_circle() -> None:
    """Wherever in the file they import: an import put off until a call is an arrow as well."""
    modules = {
        ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__"): path
        for path in sources("tracker", "storage")
    }
    below: dict[str, set[str]] = {}
    for module, path in modules.items():
        named = {
            f"{node.module}.{alias.name}"
            for node in nodes_of(path)
            if isinstance(node, ast.ImportFrom) and node.module
            for alias in node.names
        }
        below[module] = ((named | set(imports_of(path))) & set(modules)) - {module}
    ground = {""}
    while below and ground:
        ground = {module for module, imported in below.items() if not imported & set(below)}
        for module in ground:
            del below[module]
    assert not below, f"a circle among {sorted(below)}"
