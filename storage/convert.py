"""Turns values into rows and back, generically from the fields of the value classes, and seals rows.

Everything that enters a book passes `to_columns`, whether typed here or sent by another phone: types and
limits are checked in this one place.
"""

from __future__ import annotations

import json
import math
import re
import struct
import types
import typing
import zlib
from collections.abc import Callable
from dataclasses import MISSING, dataclass, fields
from datetime import date
from enum import Enum
from functools import cache
from hashlib import blake2b

from sqlalchemy import Table

from storage import limits, models
from tracker.domain import order, rug, rules
from tracker.domain.errors import BadEntry
from tracker.domain.hand_out import HandOut
from tracker.domain.loom import Loom
from tracker.domain.lot_change import LotChange
from tracker.domain.lot_moves import LotMove
from tracker.domain.mark import CartoonMark
from tracker.domain.trimming import Trim
from tracker.words import _

if typing.TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Raw = str | int | float | bytes | None
"""What SQLite stores."""

SETTING_PREFIX = "setting:"
"""Record ids of settings: the same key on two phones is the same record."""

SHARED_COLUMNS = ("record_id", "rug_id", "act_id", "device_id", "clock", "follows", "withdrawn", "seal")
"""The columns every version has before those of its kind."""

_ID = re.compile(rf"[A-Za-z0-9_.:\-]{{1,{limits.ID_CHARACTERS}}}")
_SEAL_MASK = (1 << 63) - 1
_canonical = json.JSONEncoder(ensure_ascii=True, separators=(",", ":"), allow_nan=False).encode
_compact = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode


@dataclass(frozen=True, slots=True)
class Field:
    """How one field of a value is stored: `store` checks and converts, `load` turns back what is stored."""

    name: str
    optional: bool
    store: Callable[[object], Raw]
    load: Callable[[typing.Any], object]
    default: object
    """The value's default, or dataclasses.MISSING."""
    younger: bool = False
    """Whether a later schema added the column: its default is kept as NULL, as in rows older than the column, so
    that the same value always reads and seals the same."""


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of record: its value class, its version table and its fields."""

    name: str
    value: type
    table: Table
    fields: tuple[Field, ...]
    of_rug: bool
    """Whether the value has a `rug_id` field."""

    @property
    def columns(self) -> tuple[str, ...]:
        """Names of the columns that hold the value's fields."""
        return tuple(field.name for field in self.fields)


def checked_id(text: object) -> str:
    """Return `text` if it can be a record's id; BadEntry otherwise."""
    if not isinstance(text, str) or not _ID.fullmatch(text):
        raise BadEntry(_("This entry has an identity number that cannot be used, so it was not taken."))
    return text


def checked_text(text: object, most: int = limits.TEXT_CHARACTERS) -> str:
    """Return `text` if it is text that can be stored whole; BadEntry otherwise."""
    if not isinstance(text, str):
        raise BadEntry(_("Text was expected here."))
    if len(text) > most:
        raise BadEntry(_("This text is too long: at most {most} characters can be kept.").format(most=most))
    if "\x00" in text or any("\ud800" <= letter <= "\udfff" for letter in text):
        raise BadEntry(_("This text contains signs that cannot be kept. Type it again."))
    return str(text)


def _whole(value: object) -> int:
    if isinstance(value, bool) or not hasattr(value, "__index__"):
        raise BadEntry(_("A whole number was expected here."))
    number = int(value)
    if abs(number) > limits.WHOLE_NUMBER:
        raise BadEntry(_("This number is too large. Check it."))
    return number


def _decimal(value: object) -> float:
    if isinstance(value, (bool, str, bytes)) or not hasattr(value, "__float__"):
        raise BadEntry(_("A number was expected here."))
    try:
        number = float(value)
    except (TypeError, ValueError, OverflowError):
        raise BadEntry(_("A number was expected here.")) from None
    if not math.isfinite(number) or abs(number) > limits.DECIMAL:
        raise BadEntry(_("This number is too large. Check it."))
    return number + 0.0  # SQLite does not keep the sign of a zero; the seal must not see it either


def _day(value: object) -> str:
    if type(value) is not date:
        raise BadEntry(_("A day was expected here."))
    return value.isoformat()


def _load_day(text: str) -> date:
    return date.fromisoformat(text)


def _json_text(value: object) -> str:
    try:
        text = _compact(value)
    except (TypeError, ValueError, RecursionError):
        raise BadEntry(_("This choice cannot be kept.")) from None
    if len(text) > limits.JSON_CHARACTERS:
        raise BadEntry(_("This list is too long to be kept."))
    return checked_text(text, limits.JSON_CHARACTERS)


def _cells(value: object) -> bytes:
    import numpy as np

    if not isinstance(value, np.ndarray) or value.ndim != 2 or value.dtype != np.uint8:
        raise BadEntry(_("This cartoon is not a grid of knots."))
    rows, knots = value.shape
    if not (
        1 <= rows <= limits.CARTOON_ROWS
        and 1 <= knots <= limits.CARTOON_KNOTS
        and rows * knots <= limits.CARTOON_CELLS
    ):
        raise BadEntry(_("This cartoon is too large to be kept."))
    # zlib's output may differ between phones; that is fine, since a version is made once and then only passed on.
    packed = struct.pack(">II", rows, knots) + zlib.compress(np.ascontiguousarray(value).tobytes(), 6)
    if len(packed) > limits.CARTOON_PACKED_BYTES:
        raise BadEntry(_("This cartoon is too large to be kept."))
    return packed


@dataclass(frozen=True, slots=True)
class StoredCells:
    """A cartoon's cells as a book keeps them: rows and knots as two big-endian 32-bit numbers, then zlib."""

    stored: bytes
    shape: tuple[int, int]

    def unpack(self) -> NDArray[np.uint8]:
        """Return the cells.

        Raises
        ------
        BadEntry
            They are not what their first bytes say.
        """
        import numpy as np

        rows, knots = self.shape
        unpacker = zlib.decompressobj()
        try:
            raw = unpacker.decompress(memoryview(self.stored)[8:], rows * knots + 1)
        except zlib.error:
            raise BadEntry(_("This cartoon is not a grid of knots.")) from None
        if len(raw) != rows * knots:
            raise BadEntry(_("This cartoon is not a grid of knots."))
        return np.frombuffer(raw, dtype=np.uint8).reshape(rows, knots)


def cells_told(stored: object) -> int:
    """Return how many cells a stored cartoon says it has, without unpacking it; 0 for what is no cartoon."""
    try:
        rows, knots = _load_cells(stored).shape
    except BadEntry:
        return 0
    return rows * knots


def cells_in(connection: typing.Any, schema: str = "main") -> int:
    """Return how many cells all versions of all cartoons in a file say they have, without unpacking one."""
    packed = connection.execute(f"SELECT substr(cells, 1, 9) FROM {schema}.cartoon")
    return sum(cells_told(start) for (start,) in packed)


def _load_cells(stored: object) -> StoredCells:
    if not isinstance(stored, bytes) or not 8 < len(stored) <= limits.CARTOON_PACKED_BYTES:
        raise BadEntry(_("This cartoon is not a grid of knots."))
    rows, knots = struct.unpack(">II", stored[:8])
    if not (
        1 <= rows <= limits.CARTOON_ROWS
        and 1 <= knots <= limits.CARTOON_KNOTS
        and rows * knots <= limits.CARTOON_CELLS
    ):
        raise BadEntry(_("This cartoon is too large to be kept."))
    return StoredCells(stored, (rows, knots))


def _same(value: object) -> object:
    return value


def _list_codec(
    arguments: tuple[object, ...],
) -> tuple[Callable[[object], Raw], Callable[[typing.Any], object]]:
    """Return store and load of a tuple of items of one type, or of tuples of fixed types."""
    item = arguments[0]
    if typing.get_origin(item) is tuple:
        parts = [_codec(part) for part in typing.get_args(item)]

        def store_item(value: object) -> Raw | list[Raw]:
            if not isinstance(value, (tuple, list)) or len(value) != len(parts):
                raise BadEntry(_("This list cannot be kept."))
            return [store(part) for (store, _load), part in zip(parts, value, strict=True)]

        def load_item(value: typing.Any) -> object:
            return tuple(load(part) for (_store, load), part in zip(parts, value, strict=True))
    else:
        plain_store, plain_load = _codec(item)

        def store_item(value: object) -> Raw | list[Raw]:
            return plain_store(value)

        def load_item(value: typing.Any) -> object:
            return plain_load(value)

    def store(value: object) -> Raw:
        if not isinstance(value, (tuple, list)):
            raise BadEntry(_("This list cannot be kept."))
        if len(value) > limits.LIST_ITEMS:
            raise BadEntry(_("This list is too long to be kept."))
        return _json_text([store_item(part) for part in value])

    def load(stored: typing.Any) -> object:
        return () if stored == "[]" else tuple(load_item(part) for part in json.loads(stored))

    return store, load


class _Numpy:
    """Stands for numpy in the annotations of values."""

    class ndarray:
        """An array of cells."""


def _codec(hint: object) -> tuple[Callable[[object], Raw], Callable[[typing.Any], object]]:
    """Return the pair (store, load) for a field of type `hint`."""
    if hint is str:
        return checked_text, _same
    if hint is int:
        return _whole, _same
    if hint is float:
        return _decimal, _same
    if hint is date:
        return _day, _load_day
    if isinstance(hint, type) and issubclass(hint, Enum):
        members = {member.value: member for member in hint}

        def store_choice(value: object) -> Raw:
            if not isinstance(value, str) or value not in members:
                raise BadEntry(_("This is not one of the choices."))
            return str(members[value].value)

        return store_choice, members.__getitem__
    if typing.get_origin(hint) is tuple:
        return _list_codec(typing.get_args(hint))
    if hint is object:
        return _json_text, json.loads
    if hint is _Numpy.ndarray:
        return _cells, _load_cells
    raise TypeError(f"no way to store {hint!r}")


def _field(name: str, hint: object, default: object, nullable: bool) -> Field:
    optional = isinstance(hint, types.UnionType) and type(None) in typing.get_args(hint)
    if optional:
        (hint,) = (part for part in typing.get_args(hint) if part is not type(None))
    store, load = _codec(hint)
    return Field(name, optional, store, load, default, younger=nullable and not optional)


# The order is the order in which a rug's kinds are read; names are the tables' names.
_CLASSES: dict[str, tuple[type, type]] = {
    "rug_plan": (rug.RugPlan, models.RugPlanVersion),
    "cartoon": (rug.Cartoon, models.CartoonVersion),
    "yarn": (rug.Yarn, models.YarnVersion),
    "weaver": (rug.Weaver, models.WeaverVersion),
    "session": (rug.Session, models.SessionVersion),
    "lot": (rug.Lot, models.LotVersion),
    "weighing": (rug.Weighing, models.WeighingVersion),
    "spoilt": (rug.Spoilt, models.SpoiltVersion),
    "sample": (rug.Sample, models.SampleVersion),
    "measurement": (rug.Measurement, models.MeasurementVersion),
    "days_off": (rug.DaysOff, models.DaysOffVersion),
    "preparation": (rug.Preparation, models.PreparationVersion),
    "after_step": (rug.AfterStep, models.AfterStepVersion),
    "photo": (rug.Photo, models.PhotoVersion),
    "setting": (rug.Setting, models.SettingVersion),
    "wage": (rug.Wage, models.WageVersion),
    "cost": (rug.Cost, models.CostVersion),
    "pricing": (rug.Pricing, models.PricingVersion),
    "lot_change": (LotChange, models.LotChangeVersion),
    "lot_move": (LotMove, models.LotMoveVersion),
    "cartoon_mark": (CartoonMark, models.CartoonMarkVersion),
    "trim": (Trim, models.TrimVersion),
    "rug_order": (order.Order, models.OrderVersion),
    "payment": (order.Payment, models.PaymentVersion),
    "loom": (Loom, models.LoomVersion),
    "hand_out": (HandOut, models.HandOutVersion),
}

KIND_NAMES = tuple(_CLASSES)


@cache
def kind_named(name: str) -> Kind:
    """Return the kind called `name`; KeyError if there is none."""
    value_class, model = _CLASSES[name]
    # Annotations are resolved without numpy, which the app imports only when it draws a cartoon.
    hints = typing.get_type_hints(value_class, localns={"np": _Numpy})
    table = model.__table__  # type: ignore[attr-defined]
    asked = [field for field in fields(value_class) if field.name not in ("id", "rug_id", "born")]
    for field in asked:
        if field.name not in table.c:
            raise LookupError(f"{value_class.__name__}.{field.name} has no column in models.{model.__name__}")
    stored = tuple(
        _field(field.name, hints[field.name], field.default, bool(table.c[field.name].nullable))
        for field in asked
    )
    of_rug = any(field.name == "rug_id" for field in fields(value_class))
    return Kind(name, value_class, table, stored, of_rug)


_NAME_OF_CLASS = {value_class: name for name, (value_class, _model) in _CLASSES.items()}


def kind_of(value: object) -> Kind:
    """Return the kind of a value of `tracker.domain.rug`; TypeError for anything else."""
    name = _NAME_OF_CLASS.get(type(value))
    if name is None:
        raise TypeError(f"a book keeps no {type(value).__name__}")
    return kind_named(name)


def identity(value: typing.Any) -> tuple[str, str | None]:
    """Return (record id, rug id) under which a value is kept; rug id None: of the whole book."""
    if isinstance(value, rug.Setting):
        return checked_id(SETTING_PREFIX + value.id), None
    record_id = checked_id(value.id)
    if record_id.startswith(SETTING_PREFIX):
        raise BadEntry(_("This entry has an identity number that cannot be used, so it was not taken."))
    if isinstance(value, rug.RugPlan):
        return record_id, record_id
    rug_id = getattr(value, "rug_id", None)
    return record_id, None if rug_id is None else checked_id(rug_id)


def to_columns(kind: Kind, value: object) -> dict[str, Raw]:
    """Return the columns that hold `value`, every field checked against type and limits.

    Raises
    ------
    BadEntry
        A field cannot be kept; the sentence says why.
    """
    columns: dict[str, Raw] = {}
    for field in kind.fields:
        entered = getattr(value, field.name)
        absent = entered is None if field.optional else field.younger and entered == field.default
        columns[field.name] = None if absent else field.store(entered)
    if kind.name == "photo":
        checked_file_name(columns["file_name"])
    if kind.name == "cartoon":
        rules.check(value)  # its cells need not be packed and unpacked for it
    else:
        check_stored(kind, *identity(value), tuple(columns.values()))
    return columns


def checked_file_name(name: object) -> str:
    """Return `name` if it is a plain file name that cannot lead out of its folder; BadEntry otherwise."""
    text = checked_text(name, 255)
    if (
        not text
        or text.startswith(".")
        or any(sign in text for sign in '/\\:*?"<>|')
        or any(ord(sign) < 32 or ord(sign) == 127 for sign in text)
        or len(text.encode()) > 255
    ):
        raise BadEntry(_("This photo's file name cannot be used."))
    return text


def to_value(
    kind: Kind, record_id: str, rug_id: str | None, born: int, columns: typing.Sequence[Raw]
) -> typing.Any:
    """Return the value held by `columns` (in the order of `kind.fields`)."""
    arguments: dict[str, typing.Any] = {"born": born}
    for field, stored in zip(kind.fields, columns, strict=True):
        if stored is None:
            if not field.optional:
                if field.default is MISSING:
                    raise BadEntry(_("An entry lacks a part that it needs."))
                continue  # a column younger than the row: the default stands
            arguments[field.name] = None
        else:
            arguments[field.name] = field.load(stored)
    if kind.name == "setting":
        arguments["id"] = record_id.removeprefix(SETTING_PREFIX)
    else:
        arguments["id"] = record_id
        if kind.of_rug:
            arguments["rug_id"] = rug_id
    return kind.value(**arguments)


UNLAWFUL = (BadEntry, ValueError, KeyError, TypeError, IndexError, OverflowError, RecursionError)
"""What turning a stored version into a value can raise when it is not what a book writes."""


def check_stored(kind: Kind, record_id: str, rug_id: str | None, columns: typing.Sequence[Raw]) -> None:
    """Check one stored version as a whole: every field, and every rule of `tracker.domain.rules`.

    Raises
    ------
    BadEntry
        A phone of ours would not have written it; the sentence says why.
    """
    try:
        rules.check(to_value(kind, record_id, rug_id, 1, columns))
        if kind.name == "photo":
            checked_file_name(columns[kind.columns.index("file_name")])
    except BadEntry:
        raise
    except UNLAWFUL as error:
        raise BadEntry(_("This entry is not in the form of this app's books.")) from error


def is_lawful(kind: Kind, record_id: str, rug_id: str | None, columns: typing.Sequence[Raw]) -> bool:
    """Tell whether `check_stored` has nothing against a version."""
    try:
        check_stored(kind, record_id, rug_id, columns)
    except BadEntry:
        return False
    return True


def seal_of_version(
    kind: Kind,
    record_id: str,
    rug_id: str | None,
    act: tuple[str, str, int],
    follows: str | None,
    withdrawn: int,
    columns: typing.Sequence[Raw],
) -> int:
    """Return the seal of one version: 63 bits of BLAKE2b over all it says and who said it.

    `act` is (act id, device id, clock). A column that is NULL is left out, so that columns added by later
    migrations do not break the seals of older rows. The seal guards against failing memory, not against forgery.
    """
    told = [
        part
        for name, stored in zip(kind.columns, columns, strict=True)
        if stored is not None
        for part in (
            name,
            blake2b(stored, digest_size=16).hexdigest() if isinstance(stored, bytes) else stored,
        )
    ]
    text = _canonical([kind.name, record_id, rug_id, *act, follows, withdrawn, told])
    return int.from_bytes(blake2b(text.encode("ascii"), digest_size=8).digest(), "big") >> 1


def seal_of_act(
    act_id: str,
    device_id: str,
    clock: int,
    made_at: int,
    kind: str,
    rug_id: str | None,
    undoes_id: str | None,
    versions: int,
) -> int:
    """Return the seal of one act."""
    text = _canonical(["act", act_id, device_id, clock, made_at, kind, rug_id, undoes_id, versions])
    return int.from_bytes(blake2b(text.encode("ascii"), digest_size=8).digest(), "big") >> 1


def seal_of_device(device_id: str, name: str) -> int:
    """Return the seal of one device."""
    text = _canonical(["device", device_id, name])
    return int.from_bytes(blake2b(text.encode("ascii"), digest_size=8).digest(), "big") >> 1


def add_seals(total: int, seals: typing.Iterable[int]) -> int:
    """Return the sum of seals, kept within 63 bits; the order of adding does not matter."""
    for seal in seals:
        total = (total + seal) & _SEAL_MASK
    return total
