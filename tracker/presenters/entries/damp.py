"""The air a yarn lay in when it was weighed: what a form asks of it, and what the yarn then counts as."""

from __future__ import annotations

from typing import Any

from tracker.domain import rules
from tracker.domain.fibres import Air, conditioned_g, official_regain, regain_in
from tracker.domain.rug import Lot, Weighing, Yarn
from tracker.presenters.entries.form import EntryForm, Question, Sort
from tracker.words import _, mass, number

MEASURED_DAMP = "measured"
"""The answer on the air of who knows how much water is in the yarn."""


def damp_questions(form: EntryForm, yarn: Yarn | None) -> tuple[Question, ...]:
    """Return what is asked of the air the yarn lay in; how much water is in it only where somebody knows."""
    air = form.answers.get("air")
    hint = ""
    if air and rules.MASS_G.holds(form.answers.get("mass_g")) and says_damp(form.answers):
        hint = _("counts as {mass}, at the {percent} % of water usual for this fibre in trade").format(
            mass=mass(conditioned(form.answers, yarn)[0]),
            percent=number(100 * official_regain(_fibre(yarn)), 1),
        )
    of_air = Question(
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
        return (of_air,)
    return (
        of_air,
        Question(
            "damp_percent",
            _("Water in it, of the dry yarn"),
            Sort.NUMBER,
            _("%"),
            decimals=1,
            most=round(100 * rules.REGAIN.most),
        ),
    )


def damp_answers(value: Lot | Weighing) -> dict[str, Any]:
    """Return the answers on mass and air of an entry weighed in other than usual air; none for usual air."""
    if value.weighed_g is None or value.regain is None:
        return {}
    return {
        "mass_g": value.weighed_g,
        "air": MEASURED_DAMP,
        "damp_percent": round(100 * value.regain, 4),
    }


def says_damp(answers: dict[str, Any]) -> bool:
    """Tell whether the answers on the air say how much water is in the yarn."""
    damp = answers.get("damp_percent")
    return answers.get("air") != MEASURED_DAMP or (damp is not None and rules.REGAIN.holds(damp / 100))


def check_air(form: EntryForm) -> None:
    """Raise ValueError where a kept form names an air that there is not."""
    if form.answers.get("air") not in (None, MEASURED_DAMP):
        Air(form.answers["air"])


def _fibre(yarn: Yarn | None) -> str:
    return "" if yarn is None else yarn.fibre


def conditioned(answers: dict[str, Any], yarn: Yarn | None) -> tuple[float, float | None, float | None]:
    """Return (conditioned mass, mass on the scale, regain) in g; the last two None for yarn from usual air."""
    mass_g, air = float(answers["mass_g"]), answers.get("air")
    if not air:
        return mass_g, None, None
    fibre = _fibre(yarn)
    known = float(answers["damp_percent"]) / 100.0 if air == MEASURED_DAMP else None
    regain = regain_in(Air(air), fibre) if known is None else known
    return round(conditioned_g(mass_g, regain, fibre), 3), mass_g, regain
