"""The app's sources read as syntax, each once a process: several tests walk all of them."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parents[1]


@cache
def parsed(path: Path) -> ast.Module:
    """Return a file's syntax tree; nobody changes it."""
    return ast.parse(path.read_text("utf-8"))


@cache
def nodes_of(path: Path) -> tuple[ast.AST, ...]:
    """Return every node of a file's syntax tree."""
    return tuple(ast.walk(parsed(path)))


@cache
def sources(*rooms: str) -> tuple[Path, ...]:
    """Return every Python file of these rooms, such as "tracker" and "storage"."""
    return tuple(path for room in rooms for path in sorted((ROOT / room).rglob("*.py")))
