"""What is entered of one yarn: a lot bought, a weighing, yarn lost, a sample, a ball used up."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from typing import Any

from tracker.domain import defaults
from tracker.domain.act import ActKind
from tracker.domain.errors import BadEntry
from tracker.domain.rug import Lot, Role, RugBook, Sample, Session, Spoilt, Weighing, Yarn
from tracker.domain.step import FINEST, is_on_step, step_of
from tracker.presenters.entries.damp import (
    check_air,
    conditioned,
    damp_answers,
    damp_questions,
    says_damp,
)
from tracker.presenters.entries.form import (
    EntryForm,
    FormKind,
    Question,
    SmallForm,
    Sort,
    day_answered,
    day_question,
    note_question,
)
from tracker.words import _, mass, number, one_after_another

USUAL_SAMPLE_KNOTS = 500
"""Knots of a sample large enough to weigh on a kitchen scale (common practice, no source)."""


def ball_or_shuttle(yarn: Yarn | None, plural: bool = False) -> str:
    """Return what a yarn is wound on."""
    if yarn is not None and yarn.role is Role.WEFT:
        return _("shuttles") if plural else _("shuttle")
    return _("balls") if plural else _("ball")


def dye_lots_on_hand(book: RugBook, yarn_id: str, besides: str = "") -> tuple[str, ...]:
    """Return the dye lots of a yarn that were bought, first bought first, without the lot `besides`."""
    return tuple(
        dict.fromkeys(
            lot.dye_lot for lot in book.lots if lot.yarn_id == yarn_id and lot.dye_lot and lot.id != besides
        )
    )


class _OfStep(SmallForm):
    """A form that asks in which steps the scale shows what was read off it."""

    @abstractmethod
    def usual_step_g(self, book: RugBook | None) -> float:
        """Return the step that a new entry starts with."""

    def answered(self, form: EntryForm, book: RugBook | None, key: str, answer: Any) -> EntryForm:
        """Return the form with one question answered; a mass that falls between the steps says that they are finer.

        A step that came with an earlier mass goes with it.
        """
        after = form.with_answer(key, answer)
        step_g = form.answers.get("resolution_g")
        if key != "mass_g" or not step_g:
            return after
        usual_g = self.usual_step_g(book)
        own = step_g != step_of(usual_g, *_read(form))
        return after.with_answer("resolution_g", step_of(step_g if own else usual_g, *_read(after)))

    def scale_question(self, form: EntryForm, book: RugBook | None) -> Question:
        """Ask for the step."""
        usual_g = self.usual_step_g(book)
        shown_g = step_of(usual_g, *_read(form))
        return Question(
            "resolution_g",
            _("The scale shows steps of"),
            Sort.NUMBER,
            _("g"),
            decimals=2,
            least=FINEST,
            most=1000,
            hint=_("{mass} g is read in finer steps than {step} g").format(
                mass=number(form.answers["mass_g"], 2), step=number(usual_g, 2)
            )
            if shown_g != usual_g and form.answers.get("resolution_g") == shown_g
            else _("the smallest step on its display"),
        )

    def caution(self, form: EntryForm, book: RugBook) -> str:
        step_g = form.answers.get("resolution_g")
        if not step_g or all(is_on_step(read_g, step_g) for read_g in _read(form)):
            return ""
        return _("{mass} g lies between two steps of {step} g. Does the scale show finer ones?").format(
            mass=number(form.answers["mass_g"], 2), step=number(step_g, 2)
        )


def _read(form: EntryForm) -> tuple[float, ...]:
    """What was read off the scale, in g; () while nothing was."""
    read_g = form.answers.get("mass_g")
    return () if read_g is None else (float(read_g),)


class _OnScale(SmallForm):
    """A form whose mass may have been read in damp or dry air."""

    def answers_of(self, value: Lot | Weighing) -> dict[str, Any]:
        """Return the answers that an entry gives."""
        answers = super().answers_of(value)
        del answers["weighed_g"], answers["regain"]
        return answers | damp_answers(value)

    def check_draft(self, form: EntryForm) -> None:
        """Raise ValueError where the air is none that there is."""
        super().check_draft(form)
        check_air(form)

    def masses(
        self,
        form: EntryForm,
        book: RugBook | None,
        entries: Iterable[Lot | Weighing],
        answers: dict[str, Any],
    ) -> dict[str, Any]:
        """Return the fields of mass; an entry whose answers nobody changed keeps what the book holds to the last digit."""
        held = next((entry for entry in entries if entry.id == form.record_id), None)
        if held is not None:
            before = self.answers_of(held)
            if all(before.get(key) == answers.get(key) for key in ("mass_g", "air", "damp_percent")):
                return {"mass_g": held.mass_g, "weighed_g": held.weighed_g, "regain": held.regain}
        mass_g, weighed_g, regain = conditioned(answers, form.yarn_in(book))
        return {"mass_g": mass_g, "weighed_g": weighed_g, "regain": regain}


class LotForm(_OnScale):
    """Yarn bought."""

    kind = FormKind.LOT
    value_type = Lot
    deed = ActKind.YARN_BOUGHT

    def title(self, name: str) -> str:
        return _("Bought: {name}").format(name=name)

    def title_of_correction(self) -> str:
        return _("Correct what was bought")

    def first_answers(self, book: RugBook, today: date, yarn: Yarn | None) -> dict[str, Any]:
        answers = day_answered(today)
        if yarn is not None:
            last = next((lot for lot in reversed(book.lots) if lot.yarn_id == yarn.id), None)
            answers["dyer"] = (last.dyer if last and last.dyer else yarn.dyer) or ""
        return answers

    def questions(self, form: EntryForm, book: RugBook | None) -> tuple[Question, ...]:
        lots = [lot for lot in book.lots if lot.yarn_id == form.yarn_id] if book else []
        dyers = [lot.dyer for lot in book.lots] + [yarn.dyer for yarn in book.yarns] if book else []
        return (
            Question(
                "mass_g",
                _("Weight"),
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
            day_question(),
            *damp_questions(form, form.yarn_in(book)),
        )

    def to_value(self, form: EntryForm, book: RugBook | None, answers: dict[str, Any]) -> Lot:
        return Lot(
            **form.of_yarn,
            **self.masses(form, book, book.lots if book else (), answers),
            day=answers["day"],
            dye_lot=answers["dye_lot"],
            dyer=answers["dyer"],
            price=answers["price"],
        )

    def caution(self, form: EntryForm, book: RugBook) -> str:
        known = dye_lots_on_hand(book, form.yarn_id, form.record_id) if form.yarn_id else ()
        new = str(form.answers.get("dye_lot") or "")
        if not known or not new or new in known:
            return ""
        return _(
            "You have {known} of this yarn. {new} may differ in shade. Lay them side by side in "
            "daylight, and change over where it will not show."
        ).format(known=one_after_another(known), new=new)


class WeighingForm(_OnScale, _OfStep):
    """What is left of a yarn, on the scale."""

    kind = FormKind.WEIGHING
    value_type = Weighing
    deed = ActKind.YARN_WEIGHED

    def title(self, name: str) -> str:
        return _("Weigh what is left: {name}").format(name=name)

    def title_of_correction(self) -> str:
        return _("Correct the weighing")

    def first_answers(self, book: RugBook, today: date, yarn: Yarn | None) -> dict[str, Any]:
        return {**day_answered(today), "resolution_g": self.usual_step_g(book)}

    def usual_step_g(self, book: RugBook | None) -> float:
        """Return the step of the last weighing's scale, g."""
        return book.weighings[-1].resolution_g if book and book.weighings else float(defaults.SCALE_STEP_G)

    def questions(self, form: EntryForm, book: RugBook | None) -> tuple[Question, ...]:
        yarn = form.yarn_in(book)
        left = _("All that is left, begun {balls} and skeins too").format(
            balls=ball_or_shuttle(yarn, plural=True)
        )
        return (
            Question("mass_g", _("What is left"), Sort.NUMBER, _("g"), decimals=1, hint=left),
            self.scale_question(form, book),
            day_question(),
            note_question(),
            *damp_questions(form, yarn),
        )

    def to_value(self, form: EntryForm, book: RugBook | None, answers: dict[str, Any]) -> Weighing:
        return Weighing(
            **form.of_yarn,
            **self.masses(form, book, book.weighings if book else (), answers),
            day=answers["day"],
            resolution_g=answers["resolution_g"],
            note=answers["note"],
        )

    def caution(self, form: EntryForm, book: RugBook) -> str:
        if form.answers.get("mass_g") is None or not says_damp(form.answers):
            return _OfStep.caution(self, form, book)
        given = conditioned(form.answers, form.yarn_in(book))[0]
        bought = sum(lot.mass_g for lot in book.lots if lot.yarn_id == form.yarn_id)
        if not bought or given <= bought:
            return _OfStep.caution(self, form, book)
        return _("That is more than there was ({mass} in all). Is a purchase missing?").format(
            mass=mass(bought)
        )


class SpoiltForm(SmallForm):
    """Yarn that is lost for the rug."""

    kind = FormKind.SPOILT
    value_type = Spoilt
    deed = ActKind.YARN_SPOILT
    fixed = ("session_id",)

    def title(self, name: str) -> str:
        return _("Lost: {name}").format(name=name)

    def title_of_correction(self) -> str:
        return _("Correct what was lost")

    def questions(self, form: EntryForm, book: RugBook | None) -> tuple[Question, ...]:
        return (
            Question("mass_g", _("Weight lost"), Sort.NUMBER, _("g"), decimals=1, least=0.1),
            day_question(),
            note_question(_("spoilt, given away, used for something else")),
        )

    def to_value(self, form: EntryForm, book: RugBook | None, answers: dict[str, Any]) -> Spoilt:
        return Spoilt(**form.of_yarn, **answers, session_id=form.fixed.get("session_id"))


class SampleForm(_OfStep):
    """Knots that were tied and weighed to know what a knot takes."""

    kind = FormKind.SAMPLE
    value_type = Sample
    deed = ActKind.SAMPLE_WEIGHED

    def title(self, name: str) -> str:
        return _("Sample of {name}").format(name=name)

    def title_of_correction(self) -> str:
        return _("Correct the sample")

    def first_answers(self, book: RugBook, today: date, yarn: Yarn | None) -> dict[str, Any]:
        return {
            **day_answered(today),
            "knots": USUAL_SAMPLE_KNOTS,
            "resolution_g": self.usual_step_g(book),
        }

    def usual_step_g(self, book: RugBook | None) -> float:
        """Return the step of the last sample's scale, g."""
        return book.samples[-1].resolution_g if book and book.samples else float(defaults.SAMPLE_SCALE_STEP_G)

    def questions(self, form: EntryForm, book: RugBook | None) -> tuple[Question, ...]:
        sheared = _("knotted and sheared as the rug will be")
        return (
            Question("knots", _("Knots"), Sort.NUMBER, _("knots"), least=1, most=100_000, hint=sheared),
            Question("mass_g", _("They weigh"), Sort.NUMBER, _("g"), decimals=2, least=0.01, most=10_000),
            self.scale_question(form, book),
            day_question(),
        )

    def to_value(self, form: EntryForm, book: RugBook | None, answers: dict[str, Any]) -> Sample:
        return Sample(**form.of_yarn, **answers)


class BallForm(SmallForm):
    """A ball or shuttle used up between sessions. It is corrected as the session that it became.

    Where several weavers were given balls of the yarn, whose it was can be said: it becomes an entry in her name alone.
    """

    kind = FormKind.BALL
    deed = ActKind.YARN_USED_UP

    def title(self, name: str) -> str:
        return _("Used up: {name}").format(name=name)

    def first_answers(self, book: RugBook, today: date, yarn: Yarn | None) -> dict[str, Any]:
        return {**day_answered(today), "count": 1}

    def questions(self, form: EntryForm, book: RugBook | None) -> tuple[Question, ...]:
        yarn = form.yarn_in(book)
        of_weft = yarn is not None and yarn.role is Role.WEFT
        holders = self._holders(form, book)
        whose = Question(
            "weaver_id", _("Whose"), Sort.CHOICE, choices=((None, _("not said")), *holders),
            hint=_("who was given balls of this yarn"),
        )  # fmt: skip
        return (
            Question(
                "count",
                _("Shuttles used up") if of_weft else _("Balls used up"),
                Sort.NUMBER,
                decimals=2,
                least=0.25,
                most=99,
            ),
            *((whose,) if len(holders) > 1 else ()),
            day_question(),
        )

    def _holders(self, form: EntryForm, book: RugBook | None) -> tuple[tuple[str | None, str], ...]:
        """Return those who were given balls of the yarn."""
        if book is None:
            return ()
        given = {entry.weaver_id for entry in book.hand_outs if entry.yarn_id == form.yarn_id}
        return tuple((weaver.id, weaver.name) for weaver in book.weavers if weaver.id in given)

    def to_value(self, form: EntryForm, book: RugBook | None, answers: dict[str, Any]) -> Session:
        """Return that day's session with the ball in it, so that the session stays one entry; else one without rows."""
        if book is None or form.yarn_id is None or form.rug_id is None:
            raise BadEntry(_("This yarn is not in the book any more."))
        count = float(answers["count"])
        whose = (answers["weaver_id"],) if answers.get("weaver_id") else ()
        same_day = [
            session
            for session in book.sessions
            if session.day == answers["day"] and (not whose or session.weavers == whose)
        ]
        if not same_day:
            return Session(
                **form.of_rug, day=answers["day"], rows=0, weavers=whose, used=((form.yarn_id, count),)
            )
        used = dict(same_day[-1].used)
        used[form.yarn_id] = used.get(form.yarn_id, 0.0) + count
        return replace(same_day[-1], used=tuple(used.items()))
