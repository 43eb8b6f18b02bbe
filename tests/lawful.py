"""Books of everything that the rules let in: every kind of record, every field from end to end of its range."""

from __future__ import annotations

import types
import typing
from dataclasses import MISSING, fields
from datetime import date, timedelta
from enum import Enum
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from hypothesis import strategies as st

from storage.book import Book
from storage.convert import KIND_NAMES, checked_file_name, kind_named
from tests.today import TODAY
from tracker.domain import rug, rules
from tracker.domain.errors import BadEntry
from tracker.domain.hand_out import HandOut
from tracker.domain.loom import Loom
from tracker.domain.lot_moves import LotMove
from tracker.domain.order import Order, OrderItem

RUGS = ("rug-1", "rug-2")
YARNS = tuple(f"yarn-{number}" for number in range(6))
LOOMS = ("loom-1", "loom-2")
WEAVERS = ("ann", "bo", "cem")
STRANGERS = ("nobody", "x" * 80, "...", "-")
"""Ids that may name something of another rug, or nothing at all."""

TEXTS = (
    "", " ", "a", "Madder", "madder", "=1+1", "@x", "-", "[b]x[/b]", "%s {x} {0}", "\n", "a\tb", "‮abc", "﷽" * 3, "🧶",
    "\x7f", "\x01", "e" + "\u0301" * 40, "../x", '"', ",", "\r\n", "ß", "ﬁ", "़", "\ufeff", "\u2028",
)  # fmt: skip
DAYS = (
    rules.FIRST_DAY, date(1969, 12, 31), date(1970, 1, 1), date(2000, 2, 29), TODAY - timedelta(days=400),
    TODAY - timedelta(days=30), TODAY - timedelta(days=1), TODAY, TODAY + timedelta(days=1), TODAY + timedelta(days=40),
    date(2038, 1, 20), date(2100, 2, 28), date(2150, 12, 31), rules.LAST_DAY - timedelta(days=1), rules.LAST_DAY,
)  # fmt: skip
near_days = st.integers(-60, 3).map(lambda days: TODAY + timedelta(days=days))
SETTINGS: dict[str, tuple[Any, ...]] = {
    "country": ("TR", "DE", "US", "", "XX", "zz", "USA", None),
    "currency": ("EUR", "JPY", "KWD", "XXX", "ZZZ", "", None),
    "length_unit": ("cm", "inch", "", "ell", None),
    "lead_days": (0, 14, 999, None),
    "first_weekday": (0, 6, None),
    "language": ("en", "tr", 7, None),
    "newer.app": (None, 1.5, [1, [2]], {"a": {"b": None}}, "x" * 200, True),
}
IDS: dict[str, tuple[str, ...]] = {
    "yarn_id": YARNS + STRANGERS,
    "lot_id": tuple(f"lot-{rug_id}-{number}" for rug_id in RUGS for number in range(2)) + STRANGERS,
    "weaver_id": WEAVERS + STRANGERS,
    "session_id": tuple(f"session-{rug_id}-{number}" for rug_id in RUGS for number in range(2)) + STRANGERS,
    # Mostly the same loom and each other's warp, so that warps are shared.
    "loom_id": (*LOOMS[:1] * 3, *LOOMS, *STRANGERS),
    "warp_after": (*RUGS * 2, *STRANGERS),
    "linked_id": YARNS + STRANGERS,
}


def of_rule(rule: rules.Rule, whole: bool) -> st.SearchStrategy[Any]:
    """Return what a rule lets in, its ends and what is usual alike."""
    if isinstance(rule, rules.Range):
        least, most = rule.least, rule.most
        ends = [least, most] + ([0] if rule.or_zero else [])
        if whole:
            return (
                st.sampled_from([int(end) for end in ends])
                | st.integers(int(least), int(most))
                | st.integers(max(int(least), 0), min(int(most), 40))
            )
        return (
            st.sampled_from([float(end) for end in ends])
            | st.floats(least, most, allow_subnormal=False)
            | st.floats(least, min(most, least + 100.0)).map(
                lambda value: min(most, max(least, round(value, 2)))
            )
        )
    if isinstance(rule, rules.Letters):
        return st.sampled_from(
            [text[: rule.most] for text in TEXTS] + ["x" * rule.most, "🧶" * rule.most]
        ) | st.text(
            st.characters(blacklist_categories=("Cs",), blacklist_characters="\0"),
            max_size=min(rule.most, 30),
        )
    if isinstance(rule, rules.Days):
        return st.sampled_from(DAYS) | near_days | near_days
    if isinstance(rule, rules.Colour):
        return st.sampled_from(["#000000", "#FFFFFF", "#ffffff", "#C8B89A", "#9c2f25"])
    raise TypeError(rule)


def _items(name: str, rule: rules.Items) -> st.SearchStrategy[Any]:
    if name == "weavers":
        return st.lists(st.sampled_from(WEAVERS + STRANGERS[:2]), max_size=4).map(tuple)
    if name == "used":
        return st.lists(
            st.tuples(st.sampled_from(YARNS + STRANGERS[:1]), of_rule(rule.parts[1], False)), max_size=3
        ).map(tuple)
    if name == "places":
        knots = st.tuples(of_rule(rules.KNOTS, True), of_rule(rules.KNOTS, True)).map(sorted)
        return st.lists(st.tuples(st.sampled_from(WEAVERS + STRANGERS[:1]), knots), max_size=3).map(
            lambda said: tuple((who, *ends) for who, ends in said)
        )
    if name == "ahead":
        return st.lists(st.tuples(st.sampled_from(WEAVERS), of_rule(rule.parts[1], True)), max_size=3).map(
            tuple
        )
    assert rule.each is not None
    most = min(rule.most, 8)
    return st.lists(of_rule(rule.each, isinstance(rule.each, rules.Range)), max_size=most).map(tuple)


@cache
def _field(kind: type, name: str) -> st.SearchStrategy[Any]:
    """Return what a field may hold. Made once: checking a strategy takes longer than drawing from it."""
    hint = typing.get_type_hints(kind, localns={"np": np})[name]
    default = next(field.default for field in fields(kind) if field.name == name)
    optional = isinstance(hint, types.UnionType) and type(None) in typing.get_args(hint)
    if optional:
        hint = next(part for part in typing.get_args(hint) if part is not type(None))
    rule = rules.RULES[kind].get(name)
    if (kind, name) == (Order, "shown"):
        return st.lists(st.sampled_from(OrderItem), unique=True).map(tuple)
    if name in IDS:
        found: st.SearchStrategy[Any] = st.sampled_from(IDS[name])
    elif isinstance(hint, type) and issubclass(hint, Enum):
        found = st.sampled_from(hint)
    elif isinstance(rule, rules.Items):
        found = _items(name, rule)
    else:
        assert rule is not None, (kind, name)
        found = of_rule(rule, hint is int)
    if default is not MISSING:
        found = st.just(default) | found
    return st.none() | found if optional else found


def _is_allowed(value: Any) -> bool:
    try:
        rules.check(value)
    except BadEntry:
        return False
    return True


def values(kind: type, **given: Any) -> st.SearchStrategy[Any]:
    """Return values of one kind; a field named is what it is given."""
    return st.builds(
        kind,
        **{
            field.name: _field(kind, field.name)
            for field in fields(kind)
            if field.name not in ("born", "id", "rug_id", *given)
        },
        **{
            name: told if isinstance(told, st.SearchStrategy) else st.just(told)
            for name, told in given.items()
        },
    ).filter(_is_allowed)


@st.composite
def cartoons(draw: st.DrawFn, rug_id: str) -> rug.Cartoon:
    """Return a small cartoon, whatever the plan's size is; colours may be alike or unused."""
    rows, knots = draw(st.sampled_from([(1, 1), (1, 40), (60, 1), (7, 5), (60, 40), (200, 120)]))
    colours = draw(st.sampled_from([1, 2, 5, rules.MOST_COLOURS]))
    cells = (
        np.random.default_rng(draw(st.integers(0, 99))).integers(0, colours, (rows, knots)).astype(np.uint8)
    )
    palette = draw(st.lists(of_rule(rules.Colour(), False), min_size=colours, max_size=colours))
    name = draw(of_rule(rules.Letters(255), False))
    return rug.Cartoon(
        id=f"cartoon-{rug_id}", rug_id=rug_id, cells=cells, palette=tuple(palette), source_name=name
    )


@st.composite
def days_off(draw: st.DrawFn, number: int) -> rug.DaysOff:
    """Return days off, which may go on for ten years."""
    first = draw(of_rule(rules.DAY, False))
    last = first + timedelta(days=draw(st.sampled_from([0, 1, 13, 400, rules.MOST_DAYS_OFF - 1])))
    return rug.DaysOff(
        id=f"off-{number}", rug_id=draw(st.sampled_from([None, *RUGS])), first_day=first, last_day=min(last, rules.LAST_DAY),
        reason=draw(of_rule(rules.Letters(200), False)),
    )  # fmt: skip


@st.composite
def moves(draw: st.DrawFn, number: int) -> LotMove:
    """Return a move of yarn, mostly of a lot there is, between yarns there are and the shelf."""
    places = st.sampled_from(
        [(None, None), *((RUGS[0], yarn) for yarn in YARNS[:3]), *((RUGS[1], yarn) for yarn in YARNS[3:])]
    )
    source, target = draw(places), draw(places)
    if source == target:
        target = (RUGS[0], STRANGERS[0])
    return draw(
        values(
            LotMove, id=f"move-{number}", from_rug_id=source[0], from_yarn_id=source[1], to_rug_id=target[0],
            to_yarn_id=target[1],
        )
    )  # fmt: skip


def _photo_name(name: str) -> bool:
    try:
        checked_file_name(name)
    except BadEntry:
        return False
    return True


@st.composite
def books(draw: st.DrawFn, most: int = 4) -> list[Any]:
    """Return the values of a book with one or two rugs and up to `most` records of every other kind a rug."""
    found: list[Any] = [rug.Weaver(id=who, name=draw(of_rule(rules.NAME, False))) for who in WEAVERS]
    ids = RUGS[: draw(st.integers(1, 2))]
    small = st.sampled_from([1, 2, 40, 60, 200])
    for rug_id in ids:
        size = {} if draw(st.integers(0, 3)) == 0 else {"rows": small, "knots_across": small}
        found.append(draw(values(rug.RugPlan, id=rug_id, **size)))
        if draw(st.booleans()):
            found.append(draw(cartoons(rug_id)))
        yarns = YARNS[:3] if rug_id == RUGS[0] else YARNS[3:]
        for yarn_id in yarns[: draw(st.integers(1, 3) | st.just(0))]:
            found.append(draw(values(rug.Yarn, id=yarn_id, rug_id=rug_id)))
        for name in KIND_NAMES:
            kind = kind_named(name).value
            if kind in (
                rug.RugPlan,
                rug.Cartoon,
                rug.Yarn,
                rug.Weaver,
                rug.Setting,
                rug.DaysOff,
                LotMove,
                Loom,
            ):
                continue
            # Rows mostly go up a little; now and then anything.
            for number in range(draw(st.integers(1, most) | st.just(0))):
                given: dict[str, Any] = {"id": f"{name}-{rug_id}-{number}", "rug_id": rug_id}
                if kind is rug.Session and draw(st.integers(0, 2)):
                    given.update(rows=st.integers(-2, 9), day=near_days)
                if kind is rug.Photo:
                    given["file_name"] = st.sampled_from(["a.jpg", "🧶.png", "x" * 255]) | of_rule(
                        rules.Letters(255), False
                    ).filter(_photo_name)
                if kind is rug.Wage:
                    given["weaver_id"] = st.sampled_from([None, *WEAVERS, *STRANGERS])
                if kind is HandOut and draw(st.integers(0, 2)):
                    # Mostly to those who are there, of the rug's own yarn, a few balls at a time.
                    given.update(
                        yarn_id=st.sampled_from(yarns), weaver_id=st.sampled_from([None, *WEAVERS]),
                        balls=st.integers(1, 6).map(float), mass_g=st.floats(20, 900), day=near_days,
                    )  # fmt: skip
                found.append(draw(values(kind, **given)))
    found += [draw(values(Loom, id=loom_id)) for loom_id in LOOMS[: draw(st.integers(0, 2))]]
    found += [draw(moves(number)) for number in range(draw(st.integers(0, 4)))]
    found += [draw(days_off(number)) for number in range(draw(st.integers(0, 3)))]
    for key in draw(st.lists(st.sampled_from(sorted(SETTINGS)), unique=True, max_size=4)):
        found.append(rug.Setting(id=key, value=draw(st.sampled_from(SETTINGS[key]))))
    return found


def entered(path: Path, values: list[Any]) -> None:
    """Enter values, a few an act, as a hand would."""
    with Book.open(path, "first phone") as book:
        for start in range(0, len(values), 7):
            with book.act("entered") as act:
                for value in values[start : start + 7]:
                    act.write(value)
