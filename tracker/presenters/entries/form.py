"""What every small form has: its questions, its answers, and what a kind of form says of itself."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from enum import Enum, StrEnum, auto
from typing import Any, ClassVar

from tracker.domain.act import ActKind
from tracker.domain.rug import RugBook, RugPlan, Yarn
from tracker.files.typed import read_as
from tracker.words import CM_PER_INCH, _

MOST_MASS_G = 1_000_000
MOST_NOTE = 2000


class FormKind(StrEnum):
    """What a small form enters."""

    LOT = "lot"
    LOT_CHANGE = "lot change"
    TRIM = "trim"
    HAND_OUT = "hand out"
    WEIGHING = "weighing"
    SPOILT = "spoilt"
    MARK = "mark"
    SAMPLE = "sample"
    BALL = "ball"
    MEASUREMENT = "measurement"
    PREPARATION = "preparation"
    DAYS_OFF = "days off"
    PHOTO = "photo"
    WAGE = "wage"
    COST = "cost"
    PRICING = "pricing"
    PAYMENT = "payment"
    LOOM = "loom"


class Sort(Enum):
    """How a question is answered."""

    NUMBER = auto()
    TEXT = auto()
    DAY = auto()
    CHOICE = auto()


@dataclass(frozen=True, slots=True)
class Question:
    """One question of a form."""

    key: str
    label: str
    sort: Sort
    unit: str = ""
    decimals: int = 0
    least: float = 0
    most: float = MOST_MASS_G
    optional: bool = False
    hint: str = ""
    offers: tuple[str, ...] = ()
    """Answers given before, to be tapped instead of typed."""
    lines: int = 1
    choices: tuple[tuple[str | None, str], ...] = ()
    """What can be chosen: (answer, words)."""
    usual_cm: float | None = None
    """What is usual, to be told as a hint."""
    of_length: bool = False
    """A length: kept in cm, asked and shown in the weaver's unit."""
    of_height: bool = False
    """A height of pile: kept in mm, asked and shown in the weaver's unit."""
    planned_mm: float | None = None
    """What is planned of it, to be told as a hint."""
    happened: bool = False
    """A day on which something was: none that is still to come."""

    @property
    def per_inch(self) -> float:
        """How much of the unit in which it is kept an inch is."""
        return CM_PER_INCH * (10.0 if self.of_height else 1.0)


@dataclass(frozen=True, slots=True)
class EntryForm:
    """A small form being filled in. `answers` holds numbers, texts and days as ISO text."""

    kind: FormKind
    record_id: str
    rug_id: str | None
    yarn_id: str | None = None
    correcting: bool = False
    answers: dict[str, Any] = field(default_factory=dict)
    fixed: dict[str, Any] = field(default_factory=dict)
    """What a correction keeps as it was."""
    day_said_on: str = ""
    """The day, as ISO text, on which the weaver said of which day the entry is; "": nobody did, it is that on which it was begun."""

    undone: bool = False
    """It was saved and undone: it is saved again only once that was asked for."""

    def with_day(self, on: date, today: date) -> EntryForm:
        """Return the form of a day that the weaver said today."""
        return replace(self.with_answer("day", on.isoformat()), day_said_on=today.isoformat())

    def is_of_earlier(self, today: date) -> bool:
        """Whether a new entry was begun on an earlier day, and nobody said today that it is of that day."""
        begun = None if self.correcting else self.day_of()
        return begun is not None and begun < today and self.day_said_on != today.isoformat()

    def with_answer(self, key: str, answer: Any) -> EntryForm:
        """Return the form with one question answered (None: left open)."""
        return replace(self, answers={**self.answers, key: answer}, undone=False)

    def day_of(self, key: str = "day") -> date | None:
        """Return a day that was answered."""
        answer = self.answers.get(key)
        return date.fromisoformat(answer) if answer else None

    def yarn_in(self, book: RugBook | None) -> Yarn | None:
        """Return the yarn the form is about, as the rug has it."""
        return next((yarn for yarn in book.yarns if yarn.id == self.yarn_id), None) if book else None

    @property
    def of_rug(self) -> dict[str, Any]:
        """Return what every entry of the rug carries."""
        return {"id": self.record_id, "rug_id": self.rug_id}

    @property
    def of_yarn(self) -> dict[str, Any]:
        """Return what every entry of a yarn carries."""
        return {**self.of_rug, "yarn_id": self.yarn_id}


class SmallForm(ABC):
    """A kind of small form. Titles are made when they are shown, in the language of that moment."""

    kind: ClassVar[FormKind]
    value_type: ClassVar[type | None] = None
    """The kind of entry that the form corrects; None: such entries are corrected elsewhere."""
    deed: ClassVar[ActKind]
    """The kind of act under which a new entry is written."""
    fixed: ClassVar[tuple[str, ...]] = ()
    """Fields of an entry that a correction leaves as they were."""
    of_book: ClassVar[bool] = False
    """Whether its entries are of the whole book, so that they need no rug."""

    @abstractmethod
    def title(self, name: str) -> str:
        """Return the heading over a new entry; `name` is the yarn's, or ""."""

    def title_of_correction(self) -> str:
        """Return the heading over a correction."""
        raise LookupError(self.kind)

    def first_answers(self, book: RugBook, today: date, yarn: Yarn | None) -> dict[str, Any]:
        """Return what an empty form has answered already: what is usual."""
        return day_answered(today)

    def answers_of_book(self) -> dict[str, Any]:
        """Return what is usual for an entry of the whole book."""
        return {}

    def answered(self, form: EntryForm, book: RugBook | None, key: str, answer: Any) -> EntryForm:
        """Return the form with one question answered, and with what that answer says of the others."""
        return form.with_answer(key, answer)

    @abstractmethod
    def questions(self, form: EntryForm, book: RugBook | None) -> tuple[Question, ...]:
        """Return what is asked, in order."""

    @abstractmethod
    def to_value(self, form: EntryForm, book: RugBook | None, answers: dict[str, Any]) -> Any:
        """Return the entry that checked answers stand for.

        Raises
        ------
        BadEntry
            With a sentence, when the answers do not go together.
        """

    def answers_of(self, value: Any) -> dict[str, Any]:
        """Return the answers that an entry gives."""
        beside = ("id", "rug_id", "yarn_id", "born", *self.fixed)
        return {
            name: to_plain(getattr(value, name)) for name in value.__dataclass_fields__ if name not in beside
        }

    def along(self, value: Any, opened: Mapping[str, Any], plans: tuple[RugPlan, ...]) -> tuple[Any, ...]:
        """Return what is written in the same act beside a correction.

        Parameters
        ----------
        opened
            The answers before anything was corrected.
        plans
            All rugs of the book.
        """
        return ()

    def caution(self, form: EntryForm, book: RugBook) -> str:
        """Return something worth a second look; "" when there is nothing."""
        return ""

    def check_draft(self, form: EntryForm) -> None:
        """Look at what a kept form holds beside the answers to its questions.

        Raises
        ------
        KeyError, ValueError
            When it cannot be used.
        """
        for value in form.fixed.values():
            read_as(str | None, value)


def to_plain(value: Any) -> Any:
    """Return a value as JSON can hold it."""
    if isinstance(value, date):
        return value.isoformat()
    return str(value) if isinstance(value, StrEnum) else value


def day_answered(today: date) -> dict[str, Any]:
    """Return the answers of a form that has answered nothing but that it was today."""
    return {"day": today.isoformat()}


def day_question() -> Question:
    """Ask for the day on which it was."""
    return Question("day", _("Day"), Sort.DAY, happened=True)


def note_question(hint: str = "") -> Question:
    """Ask for a note; `hint` says what may stand in it."""
    return Question(
        "note", _("Note"), Sort.TEXT, optional=True, most=MOST_NOTE, lines=3, hint=hint or _("if you like")
    )
