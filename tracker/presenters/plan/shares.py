"""The colours' shares of a rug's knots: given, even, levelled to the whole, or counted in the cartoon."""

from __future__ import annotations

from dataclasses import replace

from tracker.domain.rug import Role
from tracker.presenters.plan.form import PlanForm, YarnForm
from tracker.words import _, number, parts_that_add_up

SHARE_SLACK = 0.05
"""Percent by which the shares may miss 100: what rounding to a decimal can do."""


def even_shares(pile: tuple[YarnForm, ...]) -> tuple[float, ...]:
    """Return the percent of each colour: the given ones, and an even part of what is left for the others."""
    known = sum(yarn.share for yarn in pile if yarn.share is not None)
    blank = sum(yarn.share is None for yarn in pile)
    rest = max(0.0, 100 - known) / blank if blank else 0.0
    return tuple(rest if yarn.share is None else yarn.share for yarn in pile)


def counted_percents(form: PlanForm) -> dict[str, int]:
    """Return the whole percent of each colour by the cartoon, which together make what its colours make of the rug."""
    pile = form.of(Role.PILE)
    parts = [100 * knots_of(form, yarn) / max(1, form.knots * form.rows) for yarn in pile]
    whole = (round(part) for part in parts_that_add_up(parts))
    return dict(zip((yarn.id for yarn in pile), whole, strict=True))


def level_shares(form: PlanForm) -> PlanForm:
    """Return the form with all shares stretched or shrunk alike, so that they make 100 % to the tenth."""
    pile = form.of(Role.PILE)
    shares = even_shares(pile)
    total = sum(shares)
    scaled = [100 / len(pile)] * len(pile) if total <= 0 else [100 * share / total for share in shares]
    tenths = parts_that_add_up([10 * share for share in scaled])
    new = {yarn.id: round(tenth) / 10 for yarn, tenth in zip(pile, tenths, strict=True)}
    return replace(
        form,
        yarns=tuple(replace(yarn, share=new[yarn.id]) if yarn.id in new else yarn for yarn in form.yarns),
    )


def knots_of(form: PlanForm, yarn: YarnForm) -> float:
    """Return the knots of one colour: the cartoon's count, or its share."""
    if form.cartoon is not None:
        knots = dict(form.cartoon.shades)
        return float(sum(knots.get(shade, 0) for shade in yarn.shades))
    pile = form.of(Role.PILE)
    shares = dict(zip((y.id for y in pile), even_shares(pile), strict=True))
    return form.knots * form.rows * shares.get(yarn.id, 0.0) / 100


def share_trouble(form: PlanForm) -> str:
    """Return by how much the shares miss 100 %, "" when they do not."""
    if form.cartoon is not None or not form.of(Role.PILE):
        return ""
    total = sum(even_shares(form.of(Role.PILE)))
    off = 100 - total
    if abs(off) <= SHARE_SLACK:
        return ""
    if off > 0:
        return _("The shares make {total} %: {off} % are missing.").format(
            total=number(total, 1), off=number(off, 1)
        )
    return _("The shares make {total} %: {off} % too many.").format(
        total=number(total, 1), off=number(-off, 1)
    )
