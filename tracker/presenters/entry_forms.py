"""The small forms: a lot bought, a weighing, yarn lost, a sample, a ball used up, and the like. Without a window.

Each form is a handful of questions, answered in any order; what is kept of it is plain JSON, so that it survives a
phone call, and `to_value` turns it into the value that one act writes.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from enum import StrEnum
from typing import Any

from tracker.domain import rules
from tracker.domain.act import ActKind
from tracker.domain.errors import BadEntry
from tracker.domain.fibres import Air, conditioned_g, official_regain, regain_in
from tracker.domain.rug import (
    Cost,
    CostKind,
    DaysOff,
    Lot,
    Measurement,
    Photo,
    Preparation,
    PreparationKind,
    PriceShown,
    Pricing,
    Role,
    RugBook,
    Sample,
    Session,
    Spoilt,
    Wage,
    WageBasis,
    Weighing,
    Yarn,
    new_id,
)
from tracker.files.typed import read_as
from tracker.presenters import entry_text
from tracker.words import _, day, mass, number

MOST_MASS_G = 1_000_000
MOST_NOTE = 2000
USUAL_KNOTS_PAID = 1000
"""Knots for which a wage by knots is said (common practice, no source)."""
USUAL_SAMPLE_KNOTS = 500
"""Knots of a sample large enough to weigh on a kitchen scale (common practice, no source)."""

MEASURED_DAMP = "measured"
"""The answer on the air of who knows how much water is in the yarn."""


class FormKind(StrEnum):
    """What a small form enters."""

    LOT = "lot"
    WEIGHING = "weighing"
    SPOILT = "spoilt"
    SAMPLE = "sample"
    BALL = "ball"
    MEASUREMENT = "measurement"
    PREPARATION = "preparation"
    DAYS_OFF = "days off"
    PHOTO = "photo"
    WAGE = "wage"
    COST = "cost"
    PRICING = "pricing"


VALUES: dict[type, FormKind] = {
    Lot: FormKind.LOT,
    Weighing: FormKind.WEIGHING,
    Spoilt: FormKind.SPOILT,
    Sample: FormKind.SAMPLE,
    Measurement: FormKind.MEASUREMENT,
    Preparation: FormKind.PREPARATION,
    DaysOff: FormKind.DAYS_OFF,
    Photo: FormKind.PHOTO,
    Wage: FormKind.WAGE,
    Cost: FormKind.COST,
    Pricing: FormKind.PRICING,
}
"""The form that corrects each kind of value."""

DEEDS: dict[FormKind, ActKind] = {
    FormKind.LOT: ActKind.YARN_BOUGHT,
    FormKind.WEIGHING: ActKind.YARN_WEIGHED,
    FormKind.SPOILT: ActKind.YARN_SPOILT,
    FormKind.SAMPLE: ActKind.SAMPLE_WEIGHED,
    FormKind.BALL: ActKind.YARN_USED_UP,
    FormKind.MEASUREMENT: ActKind.LENGTH_MEASURED,
    FormKind.PREPARATION: ActKind.PREPARATION_DONE,
    FormKind.DAYS_OFF: ActKind.DAYS_OFF_ENTERED,
    FormKind.PHOTO: ActKind.PHOTO_ADDED,
    FormKind.WAGE: ActKind.WAGE_ENTERED,
    FormKind.COST: ActKind.MONEY_SPENT,
    FormKind.PRICING: ActKind.PRICE_MADE,
}
"""The kind of act under which each form is entered."""

CORRECTED = ActKind.ENTRY_CORRECTED


class Sort(StrEnum):
    """How a question is answered."""

    NUMBER = "number"
    TEXT = "text"
    DAY = "day"
    CHOICE = "choice"


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

    def with_answer(self, key: str, answer: Any) -> EntryForm:
        """Return the form with one question answered (None: left open)."""
        return replace(self, answers={**self.answers, key: answer})

    def day_of(self, key: str = "day") -> date | None:
        """Return a day that was answered."""
        kept = self.answers.get(key)
        return date.fromisoformat(kept) if kept else None


@dataclass(frozen=True, slots=True)
class FormLine:
    """One question as it is shown."""

    question: Question
    answer: str
    hint: str
    value: Any


@dataclass(frozen=True, slots=True)
class EntryFormState:
    """What a form shows."""

    title: str
    lines: tuple[FormLine, ...]
    caution: str
    """Something worth a second look, such as a mixed dye lot; never in the way of saving."""
    save: str


def _yarn(book: RugBook | None, yarn_id: str | None) -> Yarn | None:
    return next((yarn for yarn in book.yarns if yarn.id == yarn_id), None) if book else None


def ball_or_shuttle(yarn: Yarn | None, plural: bool = False) -> str:
    """Return what a yarn is wound on."""
    if yarn is not None and yarn.role is Role.WEFT:
        return _("shuttles") if plural else _("shuttle")
    return _("balls") if plural else _("ball")


def blank(kind: FormKind, book: RugBook, today: date, yarn_id: str | None = None) -> EntryForm:
    """Return an empty form, with what is usual already answered."""
    yarn = _yarn(book, yarn_id)
    answers: dict[str, Any] = {"day": today.isoformat()}
    if kind is FormKind.LOT and yarn is not None:
        last = next((lot for lot in reversed(book.lots) if lot.yarn_id == yarn.id), None)
        answers["dyer"] = (last.dyer if last and last.dyer else yarn.dyer) or ""
    elif kind is FormKind.WEIGHING:
        answers["resolution_g"] = book.weighings[-1].resolution_g if book.weighings else 5.0
    elif kind is FormKind.SAMPLE:
        answers["knots"] = USUAL_SAMPLE_KNOTS
        answers["resolution_g"] = book.samples[-1].resolution_g if book.samples else 1.0
    elif kind is FormKind.BALL:
        answers["count"] = 1
    elif kind is FormKind.DAYS_OFF:
        answers = {"first_day": today.isoformat(), "last_day": today.isoformat()}
    elif kind is FormKind.MEASUREMENT:
        answers["row"] = book.rows_woven or None
        answers["resolution_cm"] = 0.5
    elif kind is FormKind.WAGE:
        last_wage = book.wages[-1] if book.wages else None
        answers = {"weaver_id": None, "first_day": None}
        answers["basis"] = str(last_wage.basis if last_wage else WageBasis.KNOTS)
        answers["each"] = last_wage.each if last_wage else USUAL_KNOTS_PAID
    elif kind is FormKind.COST:
        answers["kind"] = str(CostKind.OTHER)
    elif kind is FormKind.PRICING:
        answers = {"shown": str(PriceShown.HERE)}
    return EntryForm(kind=kind, record_id=new_id(), rug_id=book.plan.id, yarn_id=yarn_id, answers=answers)


def form_of(value: Any) -> EntryForm:
    """Return the form that corrects an entry.

    Raises
    ------
    KeyError
        When entries of this kind are not corrected by a small form.
    """
    kind = VALUES[type(value)]
    answers: dict[str, Any] = {}
    fixed: dict[str, Any] = {}
    for name in value.__dataclass_fields__:
        if name in ("id", "rug_id", "yarn_id", "born", "weighed_g", "regain"):
            continue
        held = getattr(value, name)
        kept = held.isoformat() if isinstance(held, date) else held
        if name in ("file_name", "linked_id") or (name == "kind" and kind is FormKind.PREPARATION):
            fixed[name] = kept
        elif name == "margin":
            answers["percent"] = None if held is None else round(float(held) * 100, 6)
        else:
            answers[name] = str(kept) if isinstance(kept, StrEnum) else kept
    if getattr(value, "weighed_g", None) is not None:
        answers |= {
            "mass_g": value.weighed_g,
            "air": MEASURED_DAMP,
            "damp_percent": round(100 * value.regain, 4),
        }
    return EntryForm(
        kind=kind,
        record_id=value.id,
        rug_id=value.rug_id,
        yarn_id=getattr(value, "yarn_id", None),
        correcting=True,
        answers=answers,
        fixed=fixed,
    )


def to_kept(form: EntryForm) -> dict[str, Any]:
    """Return the form as JSON can keep it."""
    return {
        "kind": str(form.kind),
        "record_id": form.record_id,
        "rug_id": form.rug_id,
        "yarn_id": form.yarn_id,
        "correcting": form.correcting,
        "answers": dict(form.answers),
        "fixed": {
            key: str(value) if isinstance(value, StrEnum) else value for key, value in form.fixed.items()
        },
    }


def from_kept(kept: Any) -> EntryForm | None:
    """Return a kept form; None when it cannot be read."""
    try:
        form = read_as(EntryForm, kept)
        for key in ("day", "first_day", "last_day"):
            form.day_of(key)
        for value in form.fixed.values():
            read_as(str | None, value)
        if form.kind is FormKind.PREPARATION:
            PreparationKind(form.fixed["kind"])
        if form.answers.get("air") not in (None, MEASURED_DAMP):
            Air(form.answers["air"])
        if form.kind is FormKind.PHOTO:
            read_as(str, form.fixed["file_name"])
        for key in _NUMBERS:
            read_as(float | None, form.answers.get(key))
        for key in _TEXTS:
            read_as(str | None, form.answers.get(key))
    except (KeyError, TypeError, ValueError):
        return None
    return form


_NUMBERS = (
    "mass_g", "damp_percent", "price", "resolution_g", "knots", "count", "row", "length_cm", "resolution_cm", "hours", "amount", "each",
    "percent",
)  # fmt: skip
_TEXTS = (
    "dye_lot", "dyer", "air", "note", "reason", "caption", "day", "first_day", "last_day", "basis", "kind", "shown", "weaver_id",
)  # fmt: skip


def questions(form: EntryForm, book: RugBook | None) -> tuple[Question, ...]:
    """Return the questions a form asks, in order."""
    yarn = _yarn(book, form.yarn_id)
    on_day = Question("day", _("Day"), Sort.DAY)
    note = Question(
        "note", _("Note"), Sort.TEXT, optional=True, most=MOST_NOTE, lines=3, hint=_("if you like")
    )
    scale = Question(
        "resolution_g",
        _("The scale shows steps of"),
        Sort.NUMBER,
        _("g"),
        decimals=2,
        least=0.01,
        most=1000,
        hint=_("the smallest step on its display"),
    )
    match form.kind:
        case FormKind.LOT:
            lots = [lot for lot in book.lots if lot.yarn_id == form.yarn_id] if book else []
            dyers = [lot.dyer for lot in book.lots] + [one.dyer for one in book.yarns] if book else []
            return (
                Question(
                    "mass_g",
                    _("Mass"),
                    Sort.NUMBER,
                    _("g"),
                    decimals=1,
                    least=1,
                    hint=_("as it was weighed in the shop"),
                ),
                Question(
                    "dye_lot",
                    _("Dye lot"),
                    Sort.TEXT,
                    optional=True,
                    most=60,
                    offers=tuple(dict.fromkeys(lot.dye_lot for lot in reversed(lots) if lot.dye_lot)),
                    hint=_("the mark of its dye bath, if it has one"),
                ),
                Question(
                    "dyer",
                    _("Dyer"),
                    Sort.TEXT,
                    optional=True,
                    most=80,
                    offers=tuple(dict.fromkeys(dyer for dyer in dyers if dyer)),
                    hint=_("if you like"),
                ),
                Question(
                    "price",
                    _("Price in all"),
                    Sort.NUMBER,
                    decimals=2,
                    most=1e9,
                    optional=True,
                    hint=_("if you like"),
                ),
                on_day,
                *_damp_questions(form, yarn),
            )
        case FormKind.WEIGHING:
            every = ball_or_shuttle(yarn, plural=True)
            left = _("All that is left, begun {balls} and skeins too").format(balls=every)
            return (
                Question("mass_g", _("Left"), Sort.NUMBER, _("g"), decimals=1, hint=left),
                scale,
                on_day,
                note,
                *_damp_questions(form, yarn),
            )
        case FormKind.SPOILT:
            why = replace(note, hint=_("spoilt, given away, used for something else"))
            return (
                Question("mass_g", _("Lost for the rug"), Sort.NUMBER, _("g"), decimals=1, least=0.1),
                on_day,
                why,
            )
        case FormKind.SAMPLE:
            sheared = _("knotted and sheared as the rug will be")
            return (
                Question("knots", _("Knots"), Sort.NUMBER, _("knots"), least=1, most=100_000, hint=sheared),
                Question("mass_g", _("They weigh"), Sort.NUMBER, _("g"), decimals=2, least=0.01, most=10_000),
                scale,
                on_day,
            )
        case FormKind.BALL:
            label = (
                _("Shuttles used up") if yarn is not None and yarn.role is Role.WEFT else _("Balls used up")
            )
            return (
                Question(
                    "count",
                    label,
                    Sort.NUMBER,
                    ball_or_shuttle(yarn, plural=True),
                    decimals=2,
                    least=0.25,
                    most=99,
                ),
                on_day,
            )
        case FormKind.MEASUREMENT:
            most_row = book.plan.rows * 2 if book else 100_000
            return (
                Question("row", _("At row"), Sort.NUMBER, least=1, most=most_row),
                Question(
                    "length_cm",
                    _("Woven length"),
                    Sort.NUMBER,
                    _("cm"),
                    decimals=1,
                    least=0.1,
                    most=10_000,
                    hint=_("from the first row of knots to this one"),
                ),
                Question(
                    "resolution_cm", _("Read to"), Sort.NUMBER, _("cm"), decimals=2, least=0.01, most=10
                ),
                on_day,
            )
        case FormKind.PREPARATION:
            fields = [on_day]
            if form.fixed.get("kind") != PreparationKind.WARP:
                fields.insert(
                    0,
                    Question(
                        "count",
                        _("How many"),
                        Sort.NUMBER,
                        ball_or_shuttle(yarn, plural=True),
                        least=1,
                        most=10_000,
                    ),
                )
            fields.append(
                Question(
                    "hours",
                    _("Hours"),
                    Sort.NUMBER,
                    _("h"),
                    decimals=2,
                    most=1000,
                    optional=True,
                    hint=_("in all"),
                )
            )
            return tuple(fields)
        case FormKind.DAYS_OFF:
            return (
                Question("first_day", _("First day"), Sort.DAY),
                Question("last_day", _("Last day"), Sort.DAY),
                Question("reason", _("Reason"), Sort.TEXT, optional=True, most=200, hint=_("if you like")),
            )
        case FormKind.PHOTO:
            return (
                Question("caption", _("Caption"), Sort.TEXT, optional=True, most=300, hint=_("if you like")),
                on_day,
            )
        case FormKind.WAGE:
            return _wage_questions(book)
        case FormKind.COST:
            return (
                _amount_question(_("Amount")),
                Question(
                    "kind",
                    _("For"),
                    Sort.CHOICE,
                    choices=tuple((str(one), entry_text.cost_kind_words(one)) for one in CostKind),
                ),
                on_day,
                replace(note, hint=_("washing, stretching, transport, rent of the loom ...")),
            )
        case FormKind.PRICING:
            return (
                Question(
                    "percent",
                    _("Margin"),
                    Sort.NUMBER,
                    _("%"),
                    decimals=1,
                    most=round(rules.MOST_MARGIN * 100),
                    optional=True,
                    hint=_("the share of the price that is left when the cost is paid"),
                ),
                Question(
                    "shown",
                    _("The price stands"),
                    Sort.CHOICE,
                    choices=(
                        (str(PriceShown.HERE), _("in the book only")),
                        (str(PriceShown.RECORD), _("in the record too")),
                    ),
                    hint=_("the customer reads the record; costs and wages are never in it"),
                ),
            )
    raise ValueError(form.kind)


def _damp_questions(form: EntryForm, yarn: Yarn | None) -> tuple[Question, ...]:
    """Return what is asked of the air the yarn lay in; how much water is in it only where somebody knows."""
    air = form.answers.get("air")
    hint = ""
    if air and rules.MASS_G.holds(form.answers.get("mass_g")) and _damp_holds(form.answers):
        hint = _("counts as {mass}, at the {percent} % of water with which this fibre is traded").format(
            mass=mass(_conditioned(form.answers, yarn)[0]),
            percent=number(100 * official_regain(_fibre(yarn)), 1),
        )
    asked = Question(
        "air",
        _("Air it lay in"),
        Sort.CHOICE,
        optional=True,
        choices=(
            (None, _("usual: neither dry nor damp")),
            (str(Air.DRY), _("dry: a heated room, summer heat")),
            (str(Air.DAMP), _("damp: rain, mist, a cellar")),
            (str(Air.OVEN), _("dried in an oven")),
            (MEASURED_DAMP, _("I know how much water is in it")),
        ),
        hint=hint,
    )
    if air != MEASURED_DAMP:
        return (asked,)
    return (
        asked,
        Question(
            "damp_percent",
            _("Water in it, of the dry yarn"),
            Sort.NUMBER,
            _("%"),
            decimals=1,
            most=round(100 * rules.REGAIN.most),
        ),
    )


def _damp_holds(answers: dict[str, Any]) -> bool:
    """Tell whether the answers on the air say how much water is in the yarn."""
    damp = answers.get("damp_percent")
    return answers.get("air") != MEASURED_DAMP or (damp is not None and rules.REGAIN.holds(damp / 100))


def _fibre(yarn: Yarn | None) -> str:
    return "" if yarn is None else yarn.fibre


def _conditioned(answers: dict[str, Any], yarn: Yarn | None) -> tuple[float, float | None, float | None]:
    """Return (conditioned mass, mass on the scale, regain) in g; the last two None for yarn from usual air."""
    mass_g, air = float(answers["mass_g"]), answers.get("air")
    if not air:
        return mass_g, None, None
    fibre = _fibre(yarn)
    known = float(answers["damp_percent"]) / 100.0 if air == MEASURED_DAMP else None
    regain = regain_in(Air(air), fibre) if known is None else known
    return round(conditioned_g(mass_g, regain, fibre), 3), mass_g, regain


def _on_scale(
    form: EntryForm, book: RugBook | None, answers: dict[str, Any]
) -> tuple[float, float | None, float | None]:
    """Return what `_conditioned` does; an entry whose answers nobody changed keeps what the book holds to the last digit."""
    entries: tuple[Lot | Weighing, ...] = () if book is None else (*book.lots, *book.weighings)
    held = next((entry for entry in entries if entry.id == form.record_id), None)
    asked = ("mass_g", "air", "damp_percent")
    if held is not None and all(form_of(held).answers.get(key) == answers.get(key) for key in asked):
        return held.mass_g, held.weighed_g, held.regain
    return _conditioned(answers, _yarn(book, form.yarn_id))


def _amount_question(label: str) -> Question:
    return Question(
        "amount",
        label,
        Sort.NUMBER,
        decimals=entry_text.MONEY_DECIMALS_ENTERED,
        most=rules.PRICE.most,
        hint=_("in the currency of the book"),
    )


def _wage_questions(book: RugBook | None) -> tuple[Question, ...]:
    bases = {
        WageBasis.KNOTS: _("knots"),
        WageBasis.ROWS: _("rows"),
        WageBasis.AREA: _("square metres"),
        WageBasis.DAYS: _("days"),
    }
    people = (
        (None, _("everybody")),
        *((weaver.id, weaver.name) for weaver in (book.weavers if book else ())),
    )
    return (
        _amount_question(_("Wage")),
        Question("each", _("For each"), Sort.NUMBER, least=1, most=1_000_000),
        Question(
            "basis", _("Of"), Sort.CHOICE, choices=tuple((str(one), words) for one, words in bases.items())
        ),
        Question(
            "weaver_id",
            _("Who"),
            Sort.CHOICE,
            optional=True,
            choices=people,
            hint=_("her own wage stands before everybody's"),
        ),
        Question(
            "first_day",
            _("From"),
            Sort.DAY,
            optional=True,
            hint=_("left open: from the first row of the rug"),
        ),
    )


def _shown(question: Question, value: Any, today: date) -> str:
    if question.sort is Sort.CHOICE:
        return dict(question.choices).get(value, "")
    if value in (None, ""):
        return ""
    if question.sort is Sort.DAY:
        that_day = date.fromisoformat(value)
        if that_day == today:
            return _("today")
        return _("yesterday") if that_day == today - timedelta(days=1) else day(that_day, today)
    if question.sort is Sort.NUMBER:
        said = number(float(value), question.decimals)
        return f"{said} {question.unit}" if question.unit else said
    return str(value)


def title_of(form: EntryForm, book: RugBook | None) -> str:
    """Return what a form is headed with."""
    yarn = _yarn(book, form.yarn_id)
    name = yarn.name if yarn else ""
    if form.correcting:
        titles = {
            FormKind.LOT: _("Correct what was bought"),
            FormKind.WEIGHING: _("Correct the weighing"),
            FormKind.SPOILT: _("Correct what was lost"),
            FormKind.SAMPLE: _("Correct the sample"),
            FormKind.MEASUREMENT: _("Correct the measured length"),
            FormKind.PREPARATION: _("Correct what was prepared"),
            FormKind.DAYS_OFF: _("Correct the days off"),
            FormKind.PHOTO: _("The picture's words"),
            FormKind.WAGE: _("Correct the wage"),
            FormKind.COST: _("Correct what was spent"),
            FormKind.PRICING: _("Price for the customer"),
        }
        return titles[form.kind] + (f": {name}" if name else "")
    titles = {
        FormKind.LOT: _("Bought: {name}"),
        FormKind.WEIGHING: _("Weigh what is left: {name}"),
        FormKind.SPOILT: _("Lost: {name}"),
        FormKind.SAMPLE: _("Sample of {name}"),
        FormKind.BALL: _("Used up: {name}"),
        FormKind.MEASUREMENT: _("Measure the length"),
        FormKind.PREPARATION: _("Preparation"),
        FormKind.DAYS_OFF: _("Days off"),
        FormKind.PHOTO: _("Picture"),
        FormKind.WAGE: _("A wage"),
        FormKind.COST: _("Money spent"),
        FormKind.PRICING: _("Price for the customer"),
    }
    return titles[form.kind].format(name=name)


def dye_lots_on_hand(book: RugBook, yarn_id: str, besides: str = "") -> tuple[str, ...]:
    """Return the dye lots of a yarn that were bought, first bought first, without the lot `besides`."""
    return tuple(
        dict.fromkeys(
            lot.dye_lot for lot in book.lots if lot.yarn_id == yarn_id and lot.dye_lot and lot.id != besides
        )
    )


def caution_of(form: EntryForm, book: RugBook | None) -> str:
    """Return a sentence about something worth a second look; "" when there is nothing."""
    if book is None:
        return ""
    answers = form.answers
    if form.kind is FormKind.LOT and form.yarn_id:
        known = dye_lots_on_hand(book, form.yarn_id, form.record_id)
        new = str(answers.get("dye_lot") or "")
        if known and new and new not in known:
            return _(
                "You have {known} of this yarn; {new} may differ in shade. Lay them side by side in daylight, "
                "and change over where it will not show."
            ).format(known=", ".join(known), new=new)
    if form.kind is FormKind.WEIGHING and answers.get("mass_g") is not None and _damp_holds(answers):
        given = _conditioned(answers, _yarn(book, form.yarn_id))[0]
        bought = sum(lot.mass_g for lot in book.lots if lot.yarn_id == form.yarn_id)
        if bought and given > bought:
            return _("That is more than was bought ({bought} in all). Is a purchase missing?").format(
                bought=mass(bought)
            )
    return ""


def build_entry_form_state(form: EntryForm, book: RugBook | None, today: date) -> EntryFormState:
    """Turn a form into what is shown."""
    lines = []
    for question in questions(form, book):
        value = form.answers.get(question.key)
        lines.append(FormLine(question, _shown(question, value, today), question.hint, value))
    return EntryFormState(title_of(form, book), tuple(lines), caution_of(form, book), _("Save"))


def _missing(question: Question) -> BadEntry:
    return BadEntry(_("One answer is missing: {label}. Tap it and give it.").format(label=question.label))


def checked(form: EntryForm, book: RugBook | None, today: date) -> dict[str, Any]:
    """Return the answers, each of its type and within its bounds.

    Raises
    ------
    BadEntry
        With a sentence, when something is missing or cannot be.
    """
    answers: dict[str, Any] = {}
    for question in questions(form, book):
        value = form.answers.get(question.key)
        if question.sort is Sort.TEXT:
            text = str(value or "").strip()
            if len(text) > question.most:
                raise BadEntry(
                    _("{label} is longer than {most} characters. Shorten it a little.").format(
                        label=question.label, most=number(question.most)
                    )
                )
            answers[question.key] = text
        elif question.sort is Sort.CHOICE:
            if value not in dict(question.choices):
                raise _missing(question)
            answers[question.key] = value
        elif value is None or value == "":
            if not question.optional:
                raise _missing(question)
            answers[question.key] = None
        elif question.sort is Sort.DAY:
            answers[question.key] = date.fromisoformat(value)
        else:
            amount = float(value)
            if not question.least <= amount <= question.most:
                raise BadEntry(
                    _("{label}: give a number from {least} to {most}.").format(
                        label=question.label,
                        least=number(question.least, question.decimals),
                        most=number(question.most, question.decimals),
                    )
                )
            answers[question.key] = amount if question.decimals else int(amount)
    when = answers.get("day")
    if when is not None and when > today + timedelta(days=1):
        raise BadEntry(_("{day} is still to come. Choose the day on which it was.").format(day=day(when)))
    return answers


def to_value(form: EntryForm, book: RugBook | None, today: date) -> Any:
    """Return the value the form stands for, ready for an act.

    A ball used up joins today's session when there is one, so that the evening stays one entry; otherwise it
    is a session without rows.

    Raises
    ------
    BadEntry
        With a sentence, when something is missing or cannot be.
    """
    answers = checked(form, book, today)
    common: dict[str, Any] = {"id": form.record_id, "rug_id": form.rug_id}
    of_yarn: dict[str, Any] = {**common, "yarn_id": form.yarn_id}
    match form.kind:
        case FormKind.LOT:
            mass_g, weighed_g, regain = _on_scale(form, book, answers)
            return Lot(
                **of_yarn,
                day=answers["day"],
                mass_g=mass_g,
                weighed_g=weighed_g,
                regain=regain,
                dye_lot=answers["dye_lot"],
                dyer=answers["dyer"],
                price=answers["price"],
            )
        case FormKind.WEIGHING:
            mass_g, weighed_g, regain = _on_scale(form, book, answers)
            return Weighing(
                **of_yarn,
                day=answers["day"],
                mass_g=mass_g,
                weighed_g=weighed_g,
                regain=regain,
                resolution_g=answers["resolution_g"],
                note=answers["note"],
            )
        case FormKind.SPOILT:
            return Spoilt(**of_yarn, **answers)
        case FormKind.SAMPLE:
            return Sample(**of_yarn, **answers)
        case FormKind.BALL:
            return _ball(form, book, answers)
        case FormKind.MEASUREMENT:
            return Measurement(**common, **answers)
        case FormKind.PREPARATION:
            kind = PreparationKind(form.fixed["kind"])
            count = answers.get("count", form.answers.get("count", 1))
            return Preparation(**of_yarn, kind=kind, day=answers["day"], count=count, hours=answers["hours"])
        case FormKind.DAYS_OFF:
            if answers["last_day"] < answers["first_day"]:
                raise BadEntry(_("The last day lies before the first one. Change one of them."))
            return DaysOff(**common, **answers)
        case FormKind.PHOTO:
            return Photo(
                **common, **answers, file_name=form.fixed["file_name"], linked_id=form.fixed.get("linked_id")
            )
        case FormKind.WAGE:
            return Wage(
                **common,
                **{**answers, "basis": WageBasis(answers["basis"]), "amount": float(answers["amount"])},
            )
        case FormKind.COST:
            return Cost(
                **common, **{**answers, "kind": CostKind(answers["kind"]), "amount": float(answers["amount"])}
            )
        case FormKind.PRICING:
            share = answers["percent"]
            return Pricing(
                **common,
                margin=None if share is None else round(share / 100, 8),
                shown=PriceShown(answers["shown"]),
            )
    raise ValueError(form.kind)


def _ball(form: EntryForm, book: RugBook | None, answers: dict[str, Any]) -> Session:
    if book is None or form.yarn_id is None or form.rug_id is None:
        raise BadEntry(_("This yarn is not in the book any more."))
    count = float(answers["count"])
    same_day = [session for session in book.sessions if session.day == answers["day"]]
    if same_day:
        session = same_day[-1]
        used = dict(session.used)
        used[form.yarn_id] = used.get(form.yarn_id, 0.0) + count
        return replace(session, used=tuple(used.items()))
    return Session(
        id=form.record_id, rug_id=form.rug_id, day=answers["day"], rows=0, used=((form.yarn_id, count),)
    )


def deed_of(form: EntryForm) -> ActKind:
    """Return the kind of act under which the form is written."""
    return CORRECTED if form.correcting else DEEDS[form.kind]
