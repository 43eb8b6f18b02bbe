"""Reads the type stubs of the Android API: which classes there are, their methods, arguments, fields and constants."""

from __future__ import annotations

import ast
import importlib.metadata
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

PACKAGES = {"android", "java", "javax", "androidx", "org"}


@dataclass(frozen=True, slots=True)
class Signature:
    """One way to call a method: the types of its arguments, what it returns, static or not."""

    arguments: tuple[str, ...]
    returns: str
    static: bool


@dataclass(slots=True, eq=False)
class JavaClass:
    """A class as its stub describes it."""

    name: str
    """As the stubs spell it: "android.os.Build.VERSION"."""
    bases: tuple[str, ...] = ()
    methods: dict[str, list[Signature]] = field(default_factory=dict)
    fields: dict[str, tuple[str, bool]] = field(default_factory=dict)
    """Type of each field, and whether it is the class's own (static)."""


def _stubs() -> Path:
    return Path(str(importlib.metadata.distribution("chaquopy-stubs-android").locate_file("")))


@cache
def _module(name: str) -> dict[str, JavaClass]:
    first, *rest = name.split(".")
    path = Path(_stubs(), f"{first}-stubs", *rest, "__init__.pyi")
    if not path.is_file():
        return {}
    found: dict[str, JavaClass] = {}
    inside = ast.parse(path.read_text(encoding="utf-8"))

    def full(text: str, scope: str) -> str:
        """Return a name that the stub writes shortly in full."""
        if text.split(".")[0] in PACKAGES or ("." in text and text.split(".")[0] == "typing"):
            return text
        return f"{name}.{text}"

    def read(node: ast.ClassDef, outer: str) -> None:
        own = f"{outer}.{node.name}"
        bases = [base.value if isinstance(base, ast.Subscript) else base for base in node.bases]
        one = found[own] = JavaClass(own, tuple(full(ast.unparse(base), own) for base in bases))
        for child in node.body:
            if isinstance(child, ast.ClassDef):
                read(child, own)
            elif isinstance(child, ast.FunctionDef):
                static = any(ast.unparse(mark) == "staticmethod" for mark in child.decorator_list)
                arguments = [*child.args.posonlyargs, *child.args.args][0 if static else 1 :]
                one.methods.setdefault(child.name, []).append(
                    Signature(
                        tuple(_full_type(argument.annotation, full, own) for argument in arguments),
                        _full_type(child.returns, full, own),
                        static,
                    )
                )
            elif isinstance(child, ast.AnnAssign) and isinstance(child.target, ast.Name):
                text = ast.unparse(child.annotation)
                static = text.startswith("typing.ClassVar[")
                inner = text.removeprefix("typing.ClassVar[").removesuffix("]") if static else text
                one.fields[child.target.id] = (
                    _full_type(ast.parse(inner, mode="eval").body, full, own),
                    static,
                )

    for node in inside.body:
        if isinstance(node, ast.ClassDef):
            read(node, name)
    return found


SIMPLE = {"int", "str", "bool", "float", "None", "bytes"}


def _full_type(node: ast.expr | None, full, scope: str) -> str:
    """Return a type with every name in full and its parameters dropped; alternatives stay apart."""
    if node is None:
        return "None"
    if isinstance(node, ast.BinOp):
        return f"{_full_type(node.left, full, scope)} | {_full_type(node.right, full, scope)}"
    if isinstance(node, ast.Subscript):
        return _full_type(node.value, full, scope)
    text = ast.unparse(node)
    return text if text in SIMPLE else full(text, scope)


@cache
def java_class(name: str) -> JavaClass:
    """Return a class by its Java name, nested ones after "$".

    Raises
    ------
    LookupError
        The API has no such class.
    """
    spelled = name.replace("$", ".")
    parts = spelled.split(".")
    for cut in range(len(parts) - 1, 0, -1):
        found = _module(".".join(parts[:cut])).get(spelled)
        if found is not None:
            return found
    raise LookupError(f"there is no class {name}")


@cache
def lineage(one: JavaClass) -> tuple[JavaClass, ...]:
    """Return a class and all it descends from."""
    found = [one]
    for base in one.bases:
        try:
            found += lineage(java_class(base))
        except LookupError:
            continue
    return tuple(found)
