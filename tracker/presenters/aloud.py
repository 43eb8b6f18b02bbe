"""A row read aloud, run by run: what the voice says, and the same in large letters."""

from __future__ import annotations

from dataclasses import dataclass

from tracker.presenters.loom import LoomState
from tracker.words import _, number


@dataclass(frozen=True, slots=True)
class AloudState:
    """What is said and shown of a row at one place.

    Attributes
    ----------
    row : such as "Row 198"
    where : such as "Run 3 of 47"; "" at the end of the row
    count, name, code, swatch, span : the run's own words; "" at the end
    hint : what a touch does
    spoken : what the voice says
    ends : whether every run of the row is tied
    """

    row: str
    where: str
    count: str
    name: str
    code: str
    swatch: str
    span: str
    hint: str
    spoken: str
    ends: bool


def build_aloud_state(row: LoomState, place: int | None) -> AloudState:
    """Say the run in hand, or that the row ends.

    Parameters
    ----------
    row : the row shown, with its runs
    place : how many of its runs are tied; None: none
    """
    tied = place or 0
    title = _("Row {row}").format(row=row.figure)
    if tied >= len(row.runs):
        hint = (
            _("Touch here to go back to your row.")
            if row.browsing
            else _("Touch here when the row is woven.")
        )
        return AloudState(title, "", "", _("End of the row"), "", "", "", hint, _("End of the row."), True)
    run = row.runs[tied]
    said = f"{run.count} {run.name}."
    return AloudState(
        row=title,
        where=_("Run {number} of {all}").format(number=number(tied + 1), all=number(len(row.runs))),
        count=run.count,
        name=run.name,
        code=run.code,
        swatch=run.swatch,
        span=run.span,
        hint=_("Touch here when it is tied."),
        spoken=said if tied else _("Row {row}.").format(row=row.figure) + " " + said,
        ends=False,
    )
