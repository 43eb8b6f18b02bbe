"""What is asked of yarns outside the plan form, where it is missed: their yarn count, and how much goes on one ball."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import Any

from tracker.domain.material import assumed_tex
from tracker.domain.rug import Role, RugBook, Yarn
from tracker.domain.units import show_number
from tracker.domain.winding import usual_unit_g
from tracker.domain.yarn import parse_fineness
from tracker.presenters.plan.changes import with_yarn
from tracker.presenters.plan.form import form_of
from tracker.presenters.plan.records import records
from tracker.words import _, mass, n_, number, one_after_another


@dataclass(frozen=True, slots=True)
class CountAsk:
    """The question for the yarn count of yarns that go by one: all colours together, every other yarn alone."""

    label: str
    answer: str
    hint: str
    yarn_ids: tuple[str, ...]
    trouble: str = ""


def count_asks(book: RugBook, yarn_ids: Collection[str]) -> tuple[CountAsk, ...]:
    """Return the questions for those of some yarns whose count nobody gave."""
    bare = [yarn for yarn in book.yarns if yarn.id in yarn_ids and yarn.tex <= 0]
    pile = [yarn for yarn in bare if yarn.role is Role.PILE]
    groups = [pile] if pile else []
    groups += [[yarn] for yarn in bare if yarn.role is not Role.PILE]
    return tuple(_ask(book, group) for group in groups)


def _ask(book: RugBook, yarns: list[Yarn]) -> CountAsk:
    first = yarns[0]
    label = (
        n_("Yarn count of {count} colour", "Yarn count of {count} colours", len(yarns)).format(
            count=number(len(yarns))
        )
        if len(yarns) > 1
        else _("Yarn count of {name}").format(name=first.name)
    )
    hint = _("assumed: R {tex} tex, which suits the density").format(
        tex=show_number(assumed_tex(book.plan, first))
    )
    return CountAsk(label, _("not given"), hint, tuple(yarn.id for yarn in yarns))


def _answered(book: RugBook, yarn_ids: Collection[str], **changes: Any) -> tuple[Any, ...]:
    """Return the records that a plan form with those answers would write."""
    form = form_of(book)
    for yarn_id in yarn_ids:
        form = with_yarn(form, yarn_id, **changes)
    return records(form, book).values


def with_count(book: RugBook, yarn_ids: Collection[str], count: str) -> tuple[Any, ...]:
    """Return the yarns with their yarn count as typed.

    Raises
    ------
    BadEntry
        When it is none, or the plan has another trouble.
    """
    parse_fineness(count)
    return _answered(book, yarn_ids, count=count)


def with_unit_mass(book: RugBook, yarn_id: str, grams: float) -> tuple[Any, ...]:
    """Return the yarn with what goes on one full ball or shuttle, g.

    Raises
    ------
    BadEntry
        When the plan has a trouble.
    """
    return _answered(book, (yarn_id,), unit_mass_g=float(grams))


def assumed_units_words(yarns: Iterable[Yarn], *roles: Role) -> str:
    """Say that what goes on a full ball or shuttle is the usual and nobody's own, where a yarn of some roles has it; "" else."""
    of_roles = [yarn for yarn in yarns if yarn.role in roles]
    usual = {yarn.role for yarn in of_roles if yarn.unit_mass_g == usual_unit_g(yarn.role)}
    said = []
    if usual - {Role.WEFT, Role.WARP}:
        said.append(_("{mass} on a ball").format(mass=mass(usual_unit_g(Role.PILE))))
    if Role.WEFT in usual:
        said.append(_("{mass} on a shuttle").format(mass=mass(usual_unit_g(Role.WEFT))))
    if Role.WARP in usual:
        said.append(_("{mass} on a ball of warp").format(mass=mass(usual_unit_g(Role.WARP))))
    if not said:
        return ""
    return _("At most {each}: assumed until you give your own, with the yarn in the plan.").format(
        each=one_after_another(said)
    )


def unit_question(yarn: Yarn) -> str:
    """Return the question how much goes on one ball or shuttle."""
    return _("On one shuttle") if yarn.role is Role.WEFT else _("On one ball")
