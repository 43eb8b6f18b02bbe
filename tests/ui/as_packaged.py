"""Kivy applies its rules here as it does in the package, which is compiled with -OO."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from types import CodeType

from kivy.lang import builder


def _codes(code: CodeType) -> Iterator[CodeType]:
    """Return the code of each function that `code` defines, and of theirs."""
    for const in code.co_consts:
        if isinstance(const, CodeType):
            yield const
            yield from _codes(const)


def apply_rules_as_packaged() -> None:
    """Leave out what Kivy's builder does under `__debug__`: a line for a log at each rule that is met and each value that is set.

    Nobody reads that log, and on a phone it is not written; writing it took one part in eight of the time in which a page is
    built.
    """
    path = Path(builder.__file__)
    codes = {
        code.co_qualname: code
        for code in _codes(compile(path.read_bytes(), str(path), "exec", dont_inherit=True, optimize=1))
    }
    builder.call_fn.__code__ = codes["call_fn"]
    builder.BuilderBase.apply.__code__ = codes["BuilderBase.apply"]
