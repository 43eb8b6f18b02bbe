"""Finds what only tests call: functions, methods, classes and constants of ours that no line of the app reaches by name.

Reachable is what the code at the top of a module names, what a kv file names, and what reachable code names in turn.
A plain name is followed to the module it was imported from; an attribute is compared as a word alone, so a method that
shares its name with one in use is taken as used. The finder misses some, and accuses wrongly only what a library calls
by a name of its own.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

TOP = Path(__file__).parents[2]
ROOMS = ("tracker", "storage")
NAMING = (".kv", ".spec", ".java", ".xml", ".mako")
"""Endings of files other than Python that name our code."""

_Definition = ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef
Use = tuple[str, str]
"""Module and plain name; the module is "" for a word that may stand for anything: an attribute, a text, a word in kv."""


@dataclass(frozen=True)
class Piece:
    """A definition, with what its own code uses."""

    module: str
    qualified: str
    line: int
    lines: int
    uses: frozenset[Use]

    @property
    def name(self) -> str:
        """The last part of its name."""
        return self.qualified.rsplit(".", 1)[-1]

    @property
    def within(self) -> str:
        """The class it is in; "" at the top of a module."""
        return self.qualified.rpartition(".")[0].rpartition(".")[2]

    def __str__(self) -> str:
        return f"{self.module}.{self.qualified}"


class _Module:
    """One module, read: what it defines, what it imports, and what it uses when it is imported."""

    def __init__(self, path: Path) -> None:
        parts = path.relative_to(TOP).with_suffix("").parts
        self.name = ".".join(part for part in parts if part != "__init__")
        tree = ast.parse(path.read_text("utf-8"))
        self.imports: dict[str, Use] = {}
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom) and node.module and node.level == 0:
                for alias in node.names:
                    self.imports[alias.asname or alias.name] = (node.module, alias.name)
        self.pieces: list[Piece] = []
        self._at_import: set[Use] = set()
        self.at_import = self._at_import | self._uses(self._gather(tree.body, ""))

    def _gather(self, body: list[ast.stmt], inside: str) -> list[ast.AST]:
        """Gather the definitions of a body; return its other statements."""
        others: list[ast.AST] = []
        for node in body:
            if isinstance(node, ast.Import | ast.ImportFrom):
                continue
            if not isinstance(node, _Definition):
                others.append(node)
                if not inside:
                    self.pieces += self._constants(node)
                continue
            qualified = f"{inside}{node.name}"
            if isinstance(node, ast.ClassDef):
                own = [*node.bases, *node.keywords, *self._gather(node.body, f"{qualified}.")]
            else:
                own = [node.args, *node.body, *([node.returns] if node.returns else [])]
            # A decorator runs at import, whether or not what it adorns is ever asked for.
            self._at_import |= self._uses(node.decorator_list)
            lines = (node.end_lineno or node.lineno) - node.lineno + 1
            self.pieces.append(Piece(self.name, qualified, node.lineno, lines, frozenset(self._uses(own))))
        return others

    def _constants(self, node: ast.stmt) -> list[Piece]:
        """Return what a statement at the top of a module gives a name; its value is worked out at import."""
        targets = node.targets if isinstance(node, ast.Assign) else [getattr(node, "target", None)]
        names = [name for target in targets if target is not None for name in ast.walk(target)]
        lines = (node.end_lineno or node.lineno) - node.lineno + 1
        return [
            Piece(self.name, name.id, node.lineno, lines, frozenset())
            for name in names
            # `__all__` says what a module hands on; ruff and mypy read it.
            if isinstance(name, ast.Name)
            and name.id != "__all__"
            and isinstance(node, ast.Assign | ast.AnnAssign)
        ]

    def _uses(self, nodes: Iterable[ast.AST]) -> set[Use]:
        uses: set[Use] = set()
        for top in nodes:
            for node in ast.walk(top):
                if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load):
                    uses.add((self.name, node.id))
                elif isinstance(node, ast.Attribute):
                    uses.add(("", node.attr))
                elif isinstance(node, ast.Constant) and isinstance(node.value, str):
                    uses |= {("", word) for word in re.findall(r"^\w+$", node.value)}
        return uses


def _is_called(piece: Piece, live: set[Use], words: set[str]) -> bool:
    name = piece.name
    if piece.within and name.startswith("__") and name.endswith("__"):
        # Python calls it, on a class that is asked for.
        return (piece.module, piece.within) in live or piece.within in words
    if piece.within:
        # Kivy calls `on_x` when x changes.
        return name in words or name.startswith("on_")
    return (piece.module, name) in live or name in words


@cache
def unreached() -> tuple[Piece, ...]:
    """Return what no line of the app reaches, in the order of files and lines."""
    files = [path for room in ROOMS for path in sorted((TOP / room).rglob("*.py"))]
    callers = [
        TOP / "main.py",
        *sorted((TOP / "android").rglob("*.py")),
        *sorted((TOP / "assets").rglob("*.py")),
    ]
    modules = {module.name: module for module in map(_Module, [*files, *callers])}
    live: set[Use] = set()
    words: set[str] = set()

    def use(uses: Iterable[Use]) -> None:
        for module, name in uses:
            if not module:
                words.add(name)
                continue
            while (module, name) not in live:
                live.add((module, name))
                if module not in modules or name not in modules[module].imports:
                    break
                module, name = modules[module].imports[name]

    for module in modules.values():
        use(module.at_import)
    for room in (*ROOMS, "android"):
        for path in sorted((TOP / room).rglob("*")):
            if path.suffix in NAMING:
                words |= set(re.findall(r"\w+", path.read_text("utf-8")))
    left = [piece for module in modules.values() for piece in module.pieces]
    ours = tuple(f"{room}." for room in ROOMS)
    while reached := [piece for piece in left if _is_called(piece, live, words)]:
        left = [piece for piece in left if not _is_called(piece, live, words)]
        for piece in reached:
            use(piece.uses)
    return tuple(piece for piece in left if piece.module.startswith(ours))


if __name__ == "__main__":
    pieces = unreached()
    for piece in pieces:
        print(f"{piece}, line {piece.line}: {piece.lines} lines")
    print(f"{sum(piece.lines for piece in pieces)} lines in all")
