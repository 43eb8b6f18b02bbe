"""Makes books quick to open and to make for tests that need many: what comes out the same each time is made once.

A statement is compiled by SQLAlchemy once for all books, not once a book; an empty book and an empty working file are
made once, by the app's own code, and copied from then on. Nothing that looks at what a book holds is left out.
Tests of how a book comes to be are marked `made_anew`: there every table is made as on a phone.
"""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from unittest import mock

from sqlalchemy import Engine

_anew: list[bool] = []
"""Holds something while books are made as on a phone."""


@contextlib.contextmanager
def made_anew() -> Iterator[None]:
    """Make books as on a phone, for a while."""
    _anew.append(True)
    try:
        yield
    finally:
        _anew.pop()


def _made_once(make: Callable[..., None]) -> Callable[..., None]:
    made: list[bytes] = []

    def copied(path: Path, *rest: Any, **named: Any) -> None:
        if rest or named or _anew:
            return make(path, *rest, **named)
        if made:
            path.write_bytes(made[0])
        else:
            make(path)
            made.append(path.read_bytes())
        return None

    return copied


def _one_dialect(make: Callable[..., Engine]) -> Callable[..., Engine]:
    first = make(Path("none"), lambda: sqlite3.connect(":memory:", check_same_thread=False))
    with first.connect():
        pass  # a dialect asks its first connection what it can

    def sharing(*told: Any, **named: Any) -> Engine:
        engine = make(*told, **named)
        if _anew:
            return engine
        engine.dialect, engine._compiled_cache = first.dialect, first._compiled_cache
        return engine

    return sharing


@contextlib.contextmanager
def quickened() -> Iterator[None]:
    """Make books quick to open and to make, for this process."""
    from storage import connecting, exchange, fresh, merge, open_book, opening, rescue, schema

    engines = _one_dialect(connecting.make_engine)
    staging = _made_once(merge.make_staging)
    with contextlib.ExitStack() as changed:
        for module in (connecting, fresh, opening, schema, open_book):
            changed.enter_context(mock.patch.object(module, "make_engine", engines))
        for module in (merge, exchange, rescue):
            changed.enter_context(mock.patch.object(module, "make_staging", staging))
        changed.enter_context(mock.patch.object(fresh, "migrate", _made_once(schema.migrate)))
        yield
