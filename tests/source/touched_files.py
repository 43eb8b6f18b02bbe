"""Finds every place in the code that can change, move or remove a file, whatever it is spelled like."""

from __future__ import annotations

import ast
import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from tests.parsed import parsed

ROOT = Path(__file__).parents[2]
SOURCES = ("main.py", "tracker", "storage", "assets")

MODULES = {
    "os": {
        *(
            "open",
            "remove",
            "unlink",
            "rename",
            "renames",
            "replace",
            "rmdir",
            "removedirs",
            "truncate",
            "ftruncate",
        ),
        *(
            "link",
            "symlink",
            "mkdir",
            "makedirs",
            "mkfifo",
            "mknod",
            "write",
            "pwrite",
            "writev",
            "chmod",
            "chown",
        ),
        *("utime", "sendfile", "copy_file_range", "system", "popen", "fdopen"),
    },
    "shutil": {"copy", "copy2", "copyfile", "copyfileobj", "copytree", "move", "rmtree", "unpack_archive"},
    "tempfile": {"mkstemp", "mkdtemp", "mktemp", "NamedTemporaryFile", "TemporaryDirectory", "TemporaryFile"},
    "sqlite3": {"connect"},
    "gzip": {"open", "GzipFile"},
    "bz2": {"open", "BZ2File"},
    "lzma": {"open", "LZMAFile"},
    "zipfile": {"ZipFile"},
    "tarfile": {"open"},
    "io": {"open", "FileIO"},
    "codecs": {"open"},
    "mmap": {"mmap"},
    "subprocess": {"run", "call", "check_call", "check_output", "Popen"},
    "logging": {"FileHandler"},
}
"""Functions of modules. Any of them counts, called or handed on, by its own name, an alias or `getattr`."""

METHODS = {
    *(
        "unlink",
        "rmdir",
        "write_bytes",
        "write_text",
        "mkdir",
        "symlink_to",
        "hardlink_to",
        "chmod",
        "lchmod",
    ),
    *(
        "rename",
        "backup",
        "savez",
        "savetxt",
        "tofile",
        "memmap",
        "export_to_png",
        "extractall",
        "take_picture",
    ),
    *("copy_into", "move_into"),
}
"""Methods of paths, databases, pictures and widgets. Any counts, called or handed on, whatever it is a method of."""

SAVING = {"save": 1, "output": 1, "touch": 0}
"""Methods whose names say other things, too: a call counts when it hands over so many values, or for none just that."""

OWN = {"create_engine", "write_whole", "drop_working", "copy_regular"}
"""Functions that touch the file they are given: whoever calls them says which file that is."""

SQL = re.compile(r"\b(?:ATTACH|VACUUM\s+INTO)\b")


def _is_reading(call: ast.Call, mode_at: int) -> bool:
    """Tell whether a call of `open` says in so many words that it only reads."""
    mode = call.args[mode_at] if len(call.args) > mode_at else None
    for keyword in call.keywords:
        if keyword.arg == "mode":
            mode = keyword.value
        if keyword.arg in (None, "opener"):
            return False
    if mode is None:
        return not any(isinstance(argument, ast.Starred) for argument in call.args)
    return (
        isinstance(mode, ast.Constant) and isinstance(mode.value, str) and not set(mode.value) & set("wax+")
    )


class _Finder(ast.NodeVisitor):
    def __init__(self) -> None:
        self.found: Counter[tuple[str, str]] = Counter()
        self._where: list[str] = []
        self._modules: dict[str, str] = {}
        self._names: dict[str, str] = {}
        self._called: set[int] = set()

    def _note(self, what: str) -> None:
        self.found[".".join(self._where) or "(module)", what] += 1

    def _inside(self, node: ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef) -> None:
        self._where.append(node.name)
        self.generic_visit(node)
        self._where.pop()

    visit_FunctionDef = visit_AsyncFunctionDef = visit_ClassDef = _inside

    def visit_Import(self, node: ast.Import) -> None:
        for name in node.names:
            if name.name in MODULES:
                self._modules[name.asname or name.name] = name.name

    def visit_ImportFrom(self, node: ast.ImportFrom) -> None:
        for name in node.names:
            if name.name in MODULES.get(node.module or "", ()) or name.name in OWN:
                self._names[name.asname or name.name] = name.name
            elif name.name == "*" and node.module in MODULES:
                self._note(f"from {node.module} import *")

    def visit_Call(self, node: ast.Call) -> None:
        of = node.func
        if isinstance(of, ast.Name) and of.id == "open":
            self._called.add(id(of))
            if not _is_reading(node, 1):
                self._note("open")
        elif isinstance(of, ast.Attribute) and of.attr == "open" and not self._is_module(of.value):
            # A path's own `open`; others of that name (a book's, a page's) take no mode.
            if not _is_reading(node, 0) and (node.args or node.keywords) and self._says_mode(node):
                self._note("open")
        elif (
            isinstance(of, ast.Attribute)
            and of.attr == "replace"
            and len(node.args) == 1
            and not node.keywords
        ):
            # A path's `replace` takes one argument, a text's two, a date's and `dataclasses.replace` keywords.
            if not self._is_module(of.value):
                self._note("replace")
        elif isinstance(of, ast.Attribute) and of.attr in SAVING:
            given = len(node.args) + len(node.keywords)
            if given >= SAVING[of.attr] if SAVING[of.attr] else not given:
                self._note(of.attr)
        elif isinstance(of, ast.Name) and of.id == "getattr" and len(node.args) > 1:
            name = node.args[1].value if isinstance(node.args[1], ast.Constant) else None
            if self._is_module(node.args[0]) or name in METHODS:
                self._note("getattr")
        self.generic_visit(node)

    @staticmethod
    def _says_mode(node: ast.Call) -> bool:
        first = node.args[0] if node.args else None
        said = isinstance(first, ast.Constant) and isinstance(first.value, str)
        return any(keyword.arg == "mode" for keyword in node.keywords) or (
            said and bool(re.fullmatch(r"[rwaxbt+]{1,4}", first.value))
        )

    def _is_module(self, node: ast.expr) -> bool:
        return isinstance(node, ast.Name) and node.id in self._modules

    def visit_Attribute(self, node: ast.Attribute) -> None:
        if isinstance(node.value, ast.Name) and node.value.id in self._modules:
            if node.attr in MODULES[self._modules[node.value.id]]:
                self._note(f"{self._modules[node.value.id]}.{node.attr}")
        elif node.attr in METHODS or node.attr in OWN:
            self._note(node.attr)
        self.generic_visit(node)

    def visit_Name(self, node: ast.Name) -> None:
        if node.id in self._names and isinstance(node.ctx, ast.Load):
            self._note(self._names[node.id])
        elif node.id == "open" and isinstance(node.ctx, ast.Load) and id(node) not in self._called:
            self._note("open")

    def visit_Constant(self, node: ast.Constant) -> None:
        if isinstance(node.value, str) and SQL.search(node.value):
            self._note("SQL")


def touching(source: str | ast.AST) -> Counter[tuple[str, str]]:
    """Return (qualified function, call) -> how many, of everything in a source text, or its syntax tree, that can touch a file."""
    finder = _Finder()
    finder.visit(ast.parse(source) if isinstance(source, str) else source)
    return finder.found


def sources() -> Iterator[Path]:
    """Yield every Python file of the app."""
    for name in SOURCES:
        path = ROOT / name
        yield from [path] if path.is_file() else sorted(path.rglob("*.py"))


def everywhere() -> dict[tuple[str, str], Counter[str]]:
    """Return (file, function) -> calls that can touch a file, of the whole app."""
    found: dict[tuple[str, str], Counter[str]] = {}
    for path in sources():
        for (where, what), many in touching(parsed(path)).items():
            place = str(path.relative_to(ROOT)), where
            found.setdefault(place, Counter())[what] += many
    return found
