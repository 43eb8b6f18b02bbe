"""What the last weighing of a yarn asks, and what each answer enters: lost, another lot, other knots."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from tracker.domain.act import ActKind
from tracker.domain.errors import BadEntry
from tracker.domain.lot_moves import MovedLot, weighed_lots
from tracker.domain.need import account_of
from tracker.domain.rows import rows_to_weave
from tracker.domain.rug import Lot, Role, RugBook, Sample, Spoilt, Weighing, Yarn
from tracker.domain.rules import check
from tracker.domain.weighing_answer import KNOTS, LOST, answer_id
from tracker.forecast.answers import Told, YarnAnswer, YarnWord
from tracker.forecast.ledger import ledgers_of, scale_evidence, units_ahead
from tracker.forecast.outlook import yarns_alone
from tracker.presenters.entries.form import FormKind
from tracker.words import _, day_short, mass, mass_as_weighed, number, shown_g

LEAST_GAP_G, GAP_OVER_USUAL = 10.0, 1.5
"""A weighing that is off by fewer grams, or by fewer times what weighings usually are, is not asked about (our choice)."""
LEAST_MOVED = 1e-9
"""Share by which what a knot takes must differ to have moved at all."""
LOTS_OFFERED = 2
"""Lots of which it is asked whether they were light: the last ones bought."""
MOST_BY_KNOTS = 4.0
"""How many times as much, or as little, as was expected knots are asked about to have taken (our choice): more was something else."""


@dataclass(frozen=True, slots=True)
class WeighedChoice:
    """One answer to what a weighing tells."""

    label: str
    """The answer, with what it counts for."""
    icon: str
    said: str
    """What is said once it is entered."""
    deed: ActKind | None = None
    values: tuple[Any, ...] = ()
    form: FormKind | None = None
    """The form it opens instead of entering anything."""
    withdraw: tuple[str, ...] = ()
    """Ids of what is left out with it."""
    corrects: str = ""
    """The entry that it opens to be corrected; "" where it enters something."""


def gap_g(told: Told | None) -> float:
    """Return by how much more lay on the scale than was expected, in g; 0 where that is not worth asking."""
    if told is None or told.as_expected or _is_near(told):
        return 0.0
    return told.mass_g - told.expected_g


def _is_near(told: Told) -> bool:
    """Whether the scale alone can have shown so much more or less, however well the use is known."""
    return abs(told.mass_g - told.expected_g) <= max(GAP_OVER_USUAL * told.usual_g, LEAST_GAP_G)


def weighing_question(answer: YarnAnswer) -> str:
    """Ask what the last weighing tells; "" where it is as expected."""
    gap = gap_g(answer.told)
    if not shown_g(gap) or answer.word is YarnWord.DONE:
        return ""
    if gap < 0:
        return _("The scale showed {gap} less than expected. What was it?").format(gap=mass(-gap))
    return _("The scale showed {gap} more than expected. What was it?").format(gap=mass(gap))


def weighing_choices(book: RugBook, yarn: Yarn, answer: YarnAnswer) -> tuple[WeighedChoice, ...]:
    """Return the answers to that question; () where nothing is asked.

    Notes
    -----
    Each enters what a weaver would have entered had she known: yarn lost before the weighing, which counts for this yarn
    alone; the purchase by what it really weighed, for that lot alone; a sample of the knots so far, which all colours share.
    Only what can explain the gap is offered: of what was on an earlier scale, that scale told the mass, unless it was misread.
    """
    before, weighing = _last_two(book, yarn)
    if weighing is None or not weighing_question(answer):
        return ()
    gap = gap_g(answer.told)
    choices: list[WeighedChoice] = []
    if gap > 0:
        choices.append(WeighedChoice(_("A purchase was not entered"), "buy", "", form=FormKind.LOT))
    else:
        loss_id = answer_id(weighing.id, LOST)
        # Of a weighing that was answered before and corrected since: what is missing beyond that.
        known_g = sum(loss.mass_g for loss in book.spoilt if loss.id == loss_id)
        lost = Spoilt(
            id=loss_id,
            rug_id=book.plan.id,
            yarn_id=yarn.id,
            day=weighing.day,
            # As it is said: half a gram less would be told as another whole one.
            mass_g=known_g + (round(-gap) if -gap < 999.5 else round(-gap, 1)),
            note=_("by the weighing"),
        )
        said = _("{gap} of {name} lost.").format(gap=mass(-gap), name=yarn.name)
        label = _("Lost: {gap}, of this yarn alone").format(gap=mass(-gap))
        choices.append(WeighedChoice(label, "spoilt", said, ActKind.YARN_SPOILT, (lost,)))
    choices += _lot_choices(book, yarn, before, weighing, gap)
    choices += _knot_choice(book, yarn, weighing, gap)
    choices += _wrong_before(book, yarn, before, answer)
    misread = _("The scale was misread: correct what it showed")
    choices.append(WeighedChoice(misread, "edit", "", corrects=weighing.id))
    return tuple(choices)


def _wrong_before(
    book: RugBook, yarn: Yarn, before: Weighing | None, answer: YarnAnswer
) -> list[WeighedChoice]:
    """Return the answer that the scale was misread the time before, where all is as expected without that.

    The weighing goes with what it was answered by.
    """
    if before is None or answer.told is None:
        return []
    entered = {loss.id for loss in book.spoilt} | {sample.id for sample in book.samples}
    answers = tuple(
        one for one in (answer_id(before.id, LOST), answer_id(before.id, KNOTS)) if one in entered
    )
    without = replace(
        book,
        weighings=tuple(one for one in book.weighings if one.id != before.id),
        spoilt=tuple(one for one in book.spoilt if one.id not in answers),
        samples=tuple(one for one in book.samples if one.id not in answers),
    )
    then = next((one for one in yarns_alone(without, answer.told.day).yarns if one.yarn_id == yarn.id), None)
    # That without it much would be believed possible is no reason to leave it out.
    if then is None or then.told is None or not _is_near(then.told):
        return []
    on = day_short(before.day, answer.told.day)
    words = {"day": on, "mass": mass_as_weighed(before.mass_g)}
    return [
        WeighedChoice(
            _("The weighing of {day} was wrong: leave its {mass} out").format(**words),
            "withdraw",
            _("The weighing of {day} is left out.").format(**words),
            ActKind.ENTRY_WITHDRAWN,
            withdraw=(before.id, *answers),
        )
    ]


def _last_two(book: RugBook, yarn: Yarn) -> tuple[Weighing | None, Weighing | None]:
    """Return the yarn's last weighing but one, and its last."""
    own = [one for one in book.weighings if one.yarn_id == yarn.id]
    return (own[-2] if len(own) > 1 else None, own[-1] if own else None)


def _lot_choices(
    book: RugBook, yarn: Yarn, before: Weighing | None, weighing: Weighing, gap: float
) -> list[WeighedChoice]:
    lots = [lot for lot in book.lots if lot.yarn_id == yarn.id]
    weighed_before = () if before is None else weighed_lots(lots, before)
    there = [
        lot
        for lot in weighed_lots(lots, weighing)
        if not isinstance(lot, MovedLot) and lot not in weighed_before and lot.mass_g + gap >= 1
    ]
    choices = []
    for lot in reversed(there[-LOTS_OFFERED:]):
        held = replace(lot, mass_g=round(lot.mass_g + gap, 1), weighed_g=None, regain=None)
        words = {"lot": _lot_name(lot, lots), "mass": mass(held.mass_g)}
        label = (
            _("A light lot: {lot} weighed {mass}, that lot alone")
            if gap < 0
            else _("A heavy lot: {lot} weighed {mass}, that lot alone")
        )
        said = _("{lot} weighed {mass}.").format(**words)
        choices.append(
            WeighedChoice(
                label.format(**words), "weigh", said[:1].upper() + said[1:], ActKind.LOT_AS_WEIGHED, (held,)
            )
        )
    return choices


def _lot_name(lot: Lot, lots: Sequence[Lot]) -> str:
    if lot.dye_lot:
        return _("dye lot {lot}").format(lot=lot.dye_lot)
    return (
        _("what was bought") if len(lots) == 1 else _("the purchase of {mass}").format(mass=mass(lot.mass_g))
    )


def _knot_choice(book: RugBook, yarn: Yarn, weighing: Weighing, gap: float) -> list[WeighedChoice]:
    """Return the answer that the knots take so much: what went since the weighing before, as a sample of the knots since."""
    if yarn.role is not Role.PILE:
        return []
    to_weave = rows_to_weave(book)
    account = account_of(book, to_weave)
    need = account.of(yarn.id)
    place = next((k for k, one in enumerate(to_weave.pile) if one.id == yarn.id), None)
    if need is None or place is None:
        return []
    ahead = units_ahead(need, to_weave.knots[:, place], to_weave.rows)
    (ledger,) = ledgers_of(book, (need,), (ahead,), 1.0)
    scale = scale_evidence(ledger, [(session.day, session.born) for session in book.sessions])
    if scale is None:
        return []
    knots, used_g = float(scale.tied[-1]), float(scale.book[-1] - scale.mass[-1])
    if scale.mass.size > 1:
        # Until the scale before it the knots took what that one told.
        knots -= float(scale.tied[-2])
        used_g -= float(scale.book[-2] - scale.mass[-2])
    expected_g = used_g + gap
    if knots < 1 or used_g <= 0 or not expected_g / MOST_BY_KNOTS <= used_g <= expected_g * MOST_BY_KNOTS:
        return []
    part = min(1.0, 100_000 / knots)
    sample = Sample(
        id=answer_id(weighing.id, KNOTS),
        rug_id=book.plan.id,
        yarn_id=yarn.id,
        day=weighing.day,
        knots=round(knots * part),
        mass_g=round(used_g * part, 2),
        resolution_g=max(1.0, weighing.resolution_g),
    )
    try:
        check(sample)
    except BadEntry:
        return []
    after = account_of(replace(book, samples=(*book.samples, sample)), to_weave)
    others = [
        abs(then.g_per_unit - now.g_per_unit) > LEAST_MOVED * now.g_per_unit
        for now, then in zip(account.pile, after.pile, strict=True)
        if now.yarn.id != yarn.id
    ]
    # A colour that was measured by itself keeps its own measure.
    if not any(others):
        words = _("Thicker knots of this colour") if gap < 0 else _("Thinner knots of this colour")
    elif all(others):
        words = _("Thicker knots, in all colours") if gap < 0 else _("Thinner knots, in all colours")
    elif gap < 0:
        words = _("Thicker knots, in all colours not measured yet")
    else:
        words = _("Thinner knots, in all colours not measured yet")
    said = _("{knots} knots took {mass}. The rows to come count on that.").format(
        knots=number(sample.knots), mass=mass(sample.mass_g)
    )
    return [WeighedChoice(words, "knot", said, ActKind.SAMPLE_WEIGHED, (sample,))]
