"""Reads what a file beside the book holds as the type it should have: anything else is no value.

Any layer may import this module; it needs nothing of the app. Such a file may be torn, edited by hand or somebody
else's, and is read at every start: a wrong value costs itself and nothing more.
"""

from __future__ import annotations

import json
import re
import types
import typing
from collections.abc import Iterator, Mapping
from dataclasses import MISSING, fields, is_dataclass
from datetime import date
from enum import Enum
from functools import cache
from typing import Any, TypeVar

Kind = TypeVar("Kind")

DEEPEST = 12
"""Lists and objects within each other; a form has five."""
LONGEST_TEXT = 20_000
LARGEST_NUMBER = 1e15
"""Beyond it neither a mass in grams nor a count of knots makes sense, and halves are lost in a double."""


class Wrong(ValueError):
    """A value is not of the type that is wanted."""


@cache
def _hints(kind: type) -> dict[str, Any]:
    return typing.get_type_hints(kind)


def _plain(kind: Any, value: Any) -> Any:
    if kind is Any:
        return value
    if kind is None or kind is types.NoneType:
        if value is not None:
            raise Wrong("not nothing")
        return None
    if kind is bool or kind is str:
        if not isinstance(value, kind):
            raise Wrong(f"not a {kind.__name__}")
        return value
    if kind in (int, float):
        if (
            isinstance(value, bool)
            or not isinstance(value, int | float)
            or not -LARGEST_NUMBER < value < LARGEST_NUMBER
        ):
            raise Wrong("not a number")
        if kind is int and value != int(value):
            raise Wrong("not a whole number")
        return kind(value)
    if kind is date:
        return date.fromisoformat(read_as(str, value))
    if isinstance(kind, type) and issubclass(kind, Enum):
        return kind(value)
    if kind in (dict, list):
        if not isinstance(value, kind):
            raise Wrong(f"not a {kind.__name__}")
        return value
    raise TypeError(f"no rule for {kind}")


def _tuple(inner: tuple[Any, ...], value: Any) -> tuple[Any, ...]:
    if not isinstance(value, list | tuple):
        raise Wrong("not a list")
    if len(inner) == 2 and inner[1] is Ellipsis:
        return tuple(read_as(inner[0], item) for item in value)
    if len(inner) != len(value):
        raise Wrong(f"not {len(inner)} values")
    return tuple(read_as(each, item) for each, item in zip(inner, value, strict=True))


def _record(kind: type, value: Any) -> Any:
    if not isinstance(value, Mapping) or not all(isinstance(name, str) for name in value):
        raise Wrong("not an object")
    hints = _hints(kind)
    if is_dataclass(kind):
        known = {field.name for field in fields(kind)}
        needed = {
            field.name
            for field in fields(kind)
            if field.default is MISSING and field.default_factory is MISSING
        }
    else:
        known = set(hints)
        needed = set(getattr(kind, "__required_keys__", ()))
    if not needed <= set(value) <= known:
        raise Wrong("not these fields")
    return kind(**{name: read_as(hints[name], item) for name, item in value.items()})


def read_as(kind: type[Kind] | Any, value: Any) -> Any:
    """Return `value`, as JSON gives it, as a `kind`.

    Parameters
    ----------
    kind
        str, int, float, bool, date, None, an Enum, a dataclass or TypedDict, and tuples, lists, dicts and unions of these.
        A field with a default may be missing; a field that is not known may not be there.

    Raises
    ------
    ValueError
        When it is none.
    """
    origin, inner = typing.get_origin(kind), typing.get_args(kind)
    if origin in (typing.Union, types.UnionType):
        for each in inner:
            try:
                return read_as(each, value)
            except ValueError:
                continue
        raise Wrong("none of these")
    if origin is typing.Literal:
        if not any(value is each or (type(value) is type(each) and value == each) for each in inner):
            raise Wrong("none of these")
        return value
    if origin is tuple:
        return _tuple(inner, value)
    if origin is list:
        return list(_tuple((inner[0], ...), value))
    if origin is dict:
        if not isinstance(value, Mapping):
            raise Wrong("not an object")
        return {read_as(inner[0], name): read_as(inner[1], item) for name, item in value.items()}
    if is_dataclass(kind) or typing.is_typeddict(kind):
        return _record(kind, value)
    return _plain(kind, value)


def is_sound(value: Any, depth: int = 0) -> bool:
    """Tell whether a value of JSON holds finite numbers, texts that can be written, and not too much of anything."""
    if isinstance(value, str):
        return len(value) <= LONGEST_TEXT and not any("\ud800" <= sign <= "\udfff" for sign in value)
    if isinstance(value, int | float) and not isinstance(value, bool):
        return -LARGEST_NUMBER < value < LARGEST_NUMBER  # neither infinity nor what is no number lies between
    if isinstance(value, dict | list):
        parts = (*value, *value.values()) if isinstance(value, dict) else value
        return depth < DEEPEST and all(is_sound(part, depth + 1) for part in parts)
    return value is None or isinstance(value, bool)


_SIGNS = re.compile(r'"(?:[^"\\]|\\.)*"|[\[\]{},:]', re.DOTALL)


def _split(text: str) -> Iterator[tuple[str, str]]:
    """Yield name and value of an object, both as they stand in the text, as far as it can be followed."""
    depth, name, begun = 0, "", 0
    for sign in _SIGNS.finditer(text):
        what = sign[0]
        if what in "[{":
            depth += 1
            if depth == 1:
                if what != "{" or text[: sign.start()].strip():
                    return
                begun = sign.end()
        elif what in "]}" or what == ",":
            if depth == 1 and name:
                yield name, text[begun : sign.start()]
                name, begun = "", sign.end()
            elif depth == 1:
                begun = sign.end()
            depth -= what in "]}"
            if depth == 0:
                return
        elif what == ":" and depth == 1 and not name:
            name, begun = text[begun : sign.start()], sign.end()


def object_of(text: str) -> dict[str, Any]:
    """Return the object a JSON text holds; values that cannot be read are left out, each by itself."""
    fields: dict[str, Any] = {}
    try:
        whole = json.loads(text)
        pairs = list(whole.items()) if isinstance(whole, dict) else []
    except (ValueError, RecursionError):
        pairs = []
        for name_text, value_text in _split(text):
            try:
                name, value = json.loads(name_text), json.loads(value_text)
            except (ValueError, RecursionError):
                continue
            if isinstance(name, str):
                pairs.append((name, value))
    for name, value in pairs:
        if is_sound(name) and is_sound(value):
            fields[name] = value
    return fields
