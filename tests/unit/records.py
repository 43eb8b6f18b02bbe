"""What the values of a package say where nobody said anything."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Iterator
from dataclasses import MISSING, Field, fields, is_dataclass
from types import ModuleType

NOTHING = {"str": "", "int": 0, "float": 0.0, "bool": False}


def _values_of(package: ModuleType) -> Iterator[type]:
    for module in pkgutil.iter_modules(package.__path__, package.__name__ + "."):
        named = importlib.import_module(module.name)
        yield from (
            value
            for value in vars(named).values()
            if isinstance(value, type) and is_dataclass(value) and value.__module__ == module.name
        )


def _left_unsaid(field: Field) -> object:
    if "None" in str(field.type):
        return None
    return () if str(field.type).startswith("tuple") else NOTHING.get(str(field.type), MISSING)


def said_unasked(package: ModuleType, usual: dict[str, object]) -> list[str]:
    """Return the fields that say something by themselves which is neither nothing nor the usual value."""
    wrong, unmet = [], set(usual)
    for record in _values_of(package):
        for field in fields(record):
            name = f"{record.__name__}.{field.name}"
            # Private accounts and the cells of a cartoon are begun by the sums themselves.
            if field.default is MISSING or record.__name__.startswith("_") or name == "Cartoon.cells":
                continue
            unmet.discard(name)
            said = usual.get(name, _left_unsaid(field))
            if (type(said), said) != (type(field.default), field.default):
                wrong.append(f"{name} is {field.default!r}, not {said!r}")
    return wrong + [f"{name} is no longer said" for name in unmet]
