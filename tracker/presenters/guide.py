"""The guide: each stage of a rug as a list to tick off, its cautions first, with this rug's own numbers."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from tracker.domain import defaults, material
from tracker.domain.material_plan import MaterialPlan
from tracker.domain.rug import PreparationKind, RugBook
from tracker.domain.warping import CountingMark, counting_marks, mark_step_cm, warps_per_step, wet_rug
from tracker.presenters.cautions import wool_dust
from tracker.words import _, day_short, half_length, length, mass, n_, number

MARKS_WRITTEN = 12
"""Counting marks written out; of more, the first ones and the last."""


class GuideStage(StrEnum):
    """A stage of the work, in its order; the value is how this phone remembers what was ticked off."""

    YARN = "yarn"
    WARP = "warp"
    WEAVE = "weave"
    CUT_OFF = "cut off"
    ENDS = "ends"
    WASH = "wash"
    BLOCK = "block"
    SHEAR = "shear"
    FRINGE = "fringe"
    STORE = "store"


@dataclass(frozen=True, slots=True)
class GuideStep:
    """One thing to do."""

    key: str
    words: str
    ticked: bool


@dataclass(frozen=True, slots=True)
class GuideCard:
    """One stage."""

    stage: GuideStage
    icon: str
    title: str
    done_words: str
    """"3 of 7 done"; what another page knows, where the stage is done there."""
    share: float
    cautions: tuple[str, ...]
    steps: tuple[GuideStep, ...]
    lines: tuple[tuple[str, str], ...]
    """(what, figure) of this rug, such as its counting marks."""
    source: str


def _mark_lines(marks: tuple[CountingMark, ...], unit: str) -> tuple[tuple[str, str], ...]:
    lines = [
        (
            n_("mark after {count} warp", "mark after {count} warps", mark.warps).format(
                count=number(mark.warps)
            ),
            length(mark.at_cm, unit),
        )
        for mark in marks
        if mark.warps
    ]
    if len(lines) > MARKS_WRITTEN:
        lines = [*lines[: MARKS_WRITTEN - 2], ("…", ""), lines[-1]]
    return tuple(lines)


def _yarn_steps() -> tuple[list[str], list[str]]:
    cautions = [
        _("Dyes, mordants and moth treatment: wear gloves, work in fresh air, use no kitchen pots. "
          "Follow the maker's safety sheet and local rules."),
    ]  # fmt: skip
    steps = [
        _("Lay all skeins of one colour side by side in daylight. Keep dye lots apart."),
        _("Rub a wet white cloth on every colour: one that bleeds is washed again or not used."),
        _("Look for moth and its grubs; what has them stays out of the room."),
        _("Wind balls, one lot to a ball, and write the lot on each."),
    ]
    return cautions, steps


def _warp_steps(book: RugBook, plan: MaterialPlan, unit: str) -> tuple[list[str], list[str]]:
    rug = book.plan
    width_cm = material.cloth_width_cm(rug)
    selvedges = (
        n_(
            "Lay {count} warp of the selvedges at the edges, half on each side.",
            "Lay the {count} warps of the selvedges at the edges, half on each side.",
            rug.selvedge_warps,
        ).format(count=number(rug.selvedge_warps))
        if rug.selvedge_warps
        else _("No more warps at the edges: this rug has no selvedge warps.")
    )
    shared = plan.shared_warp
    cautions = [
        _("A warped loom is under great tension. Tighten and slacken it slowly and evenly. Keep face "
          "and hands out of line with the warps, and children away."),
        _("Two people lift the beam and mount the warp."),
    ]  # fmt: skip
    steps = [
        _("Check the loom: beams level and square (both diagonals alike), no splinters, nothing loose."),
        _("Measure {count} warps of {long} each, all at the same tension.").format(
            count=number(plan.warps if shared is None else shared.threads),
            long=length(plan.warp_length_cm if shared is None else shared.length_cm, unit),
        ),
        _("Tie a counting thread round every {count} warps, and count again from the other side.").format(
            count=number(warps_per_step(rug, unit))
        ),
        _("Mark the middle of the beams, and half the width, {half}, to each side.").format(
            half=half_length(width_cm, unit)
        ),
        _("Mount section by section, from the middle outwards, each between its two marks."),
        selvedges,
        _("Leave {fringe} for the fringe before the first pick, at both ends.").format(
            fringe=length(rug.fringe_cm, unit)
        )
        if rug.fringe_cm
        else _("Weave the end close to the beam: this rug has no fringe."),
        _("Tighten a little. Feel along the warp with a flat hand and draw up soft places until all "
          "feel alike. Then tighten fully."),
        _("Open the shed, put in the shed stick and the heddles, and look for crossed or missed warps."),
        _("Check the spacing with a tape at the left, in the middle and at the right: {count} warps to {step}.").format(
            count=number(warps_per_step(rug, unit)), step=length(mark_step_cm(unit), unit)
        ),
        _("Weave the first flat end, then measure the width again: {width}.").format(width=length(width_cm, unit)),
    ]  # fmt: skip
    return cautions, steps


def _weave_steps() -> tuple[list[str], list[str]]:
    cautions = [
        _("Pain that stays, numb fingers or weak hands: see a doctor."),
        _("When you get up, put the blades back in their place."),
    ]
    steps = [
        _("Seat high and firm, the row at the height of the elbows or a little above, light from the side."),
        _("Get up every half hour or so. Look into the distance."),
        _("Hands: spread the fingers wide, then make a loose fist, five times, slowly."),
        _("Wrists: arm out, draw the hand gently up, then down, with the other; never into pain."),
        _("Neck and shoulders: ear towards the shoulder, each side; roll the shoulders back."),
        _("Back: stand, hands on the hips, lean back a little."),
        _("Measure width and length every few rows, at the left, in the middle and at the right."),
    ]
    return cautions, steps


def _cut_off_steps() -> tuple[list[str], list[str]]:
    cautions = [
        _("Slacken the warp before any blade comes near; a warp cut under its pull lashes."),
        _("Two people: one holds the rug, one cuts, away from both."),
    ]
    steps = [
        _("Measure and photograph the rug on the loom."),
        _("Weave the last flat end and secure it, so that no row can open."),
        _("Slacken the warp, slowly and evenly over the whole width."),
        _("Cut in the middle first, then left and right in turn. Leave enough for the fringe."),
        _("Lay the rug flat for a day, then measure. Without tension it draws in."),
    ]
    return cautions, steps


def _ends_steps() -> tuple[list[str], list[str]]:
    steps = [
        _("Take out the loom's waste weft, a few warps at a time."),
        _("Secure both ends before anything is washed: knot, plait or sew them."),
        _("Go over the back for loose knots and missed warps, and mend them now."),
    ]
    return [_("Needle and knife: work in good light, and keep your hand out of the way of the point.")], steps


def _wash_steps(dry_g: float) -> tuple[list[str], list[str]]:
    wet = wet_rug(dry_g)
    cautions = [
        _("Soaked, this rug of {dry} weighs at least {wet}.").format(dry=mass(dry_g), wet=mass(wet.wet_g))
        + " "
        + (
            _(
                "Too heavy for one person, even in the best case. Lift with two or more people, or use "
                "a barrow."
            )
            if wet.two_people
            else _("A wet, limp rug is awkward to hold. Lift it with a second person.")
        ),
        _("A wet floor is slippery, and no electric tool belongs near it."),
    ]
    steps = [
        _("Beat the dust out, mask on, windows open."),
        _("Try water and soap on a corner: no colour may bleed."),
        _("Wash with cool water and a mild soap, along the pile, never against it."),
        _("Rinse until the water stays clear, then press the water out; do not wring."),
        _("Dry flat and airy, out of hot sun, the pile combed to its lie."),
    ]
    return cautions, steps


def _block_steps() -> tuple[list[str], list[str]]:
    steps = [
        _("Stretch the damp rug on a clean board, pile down. Pin or nail it every few fingers "
          "through the flat ends and selvedges."),
        _("Draw both diagonals to the same length, then the sides straight."),
        _("Leave it until it is dry right through. Damp wool in the dark attracts moth and mould."),
        _("Measure width and length at three places each, and weigh the dry rug."),
    ]  # fmt: skip
    return [_("Pins and nails: count them out and in again; shoes on.")], steps


def shear_cautions() -> list[str]:
    """Return what to mind with machine and shears."""
    return [
        _("Shearing machine: wear safety glasses, ear protection and a mask. Tie up sleeves and "
          "hair. Pull the plug before you touch the blade."),
        _("Hand shears: never put the other hand in front of the blades."),
    ]  # fmt: skip


def _shear_steps() -> tuple[list[str], list[str]]:
    steps = [
        _("Rug dry, flat and brushed; look for forgotten pins first."),
        _("Shear in several light passes rather than one deep one."),
        _("Check the pile's height at the corners and in the middle."),
        _("Sweep the fibre up damp, do not blow it about."),
    ]
    return shear_cautions(), steps


def _fringe_steps(fringe_words: str) -> tuple[list[str], list[str]]:
    steps = [
        _("Comb the warp ends, part them evenly, and knot or plait them close to the end."),
        _("Trim both fringes to one length: {fringe}.").format(fringe=fringe_words)
        if fringe_words
        else _("This rug has no fringe: turn the ends under and sew them down."),
        _("Go round the selvedges, and overcast what is thin."),
    ]
    return [_("Change hands and pause: knotting a fringe is hours of one movement.")], steps


def _store_steps() -> tuple[list[str], list[str]]:
    steps = [
        _("Photograph front and back, and write the record."),
        _("Roll it round a tube, pile outwards; never fold it."),
        _("Wrap it in clean cotton, dry, off the floor, and look at it every month."),
        _("Tell the new owner how to clean and turn it and keep it from light."),
    ]
    return [
        _("Moth treatment by local rules and the maker's sheet; never in a room where people sleep.")
    ], steps


def _step_names() -> tuple[tuple[str, tuple[GuideStage, ...]], ...]:
    """Return (name, stages) of the steps after weaving as they are usually called."""
    return (
        (_("Cut off and secure the ends"), (GuideStage.CUT_OFF, GuideStage.ENDS)),
        (_("Cut off"), (GuideStage.CUT_OFF,)),
        (_("Ends"), (GuideStage.ENDS,)),
        (_("Wash and dry"), (GuideStage.WASH,)),
        (_("Stretch to shape"), (GuideStage.BLOCK,)),
        (_("Shear"), (GuideStage.SHEAR,)),
        (_("Fringe"), (GuideStage.FRINGE,)),
        (_("Fringe and selvedge"), (GuideStage.FRINGE,)),
    )


def stages_of_step(name: str) -> tuple[GuideStage, ...]:
    """Return the stages that a step after weaving may be of, in their order; () where its name tells none.

    It is known by its usual name, else by a word that begins as that does: "Washing" is of the washing.
    """
    said = name.casefold()
    found = {stage for usual, stages in _step_names() if usual.casefold() == said for stage in stages}
    if not found:
        words = said.split()
        for usual, stages in _step_names():
            first = usual.casefold().split()[0]
            found |= {stage for stage in stages[:1] if any(word.startswith(first) for word in words)}
    return tuple(stage for stage in GuideStage if stage in found)


def step_cautions(name: str, dry_g: float) -> tuple[str, ...]:
    """Return what to mind with a step after weaving, by its name; () where that tells no stage.

    Parameters
    ----------
    dry_g
        Mass of the finished rug, dry, g.
    """
    told = {
        GuideStage.CUT_OFF: _cut_off_steps()[0],
        GuideStage.ENDS: _ends_steps()[0],
        GuideStage.WASH: _wash_steps(dry_g)[0],
        GuideStage.BLOCK: _block_steps()[0],
        GuideStage.SHEAR: [*shear_cautions(), wool_dust().text],
        GuideStage.FRINGE: _fringe_steps("")[0],
    }
    return tuple(words for stage in stages_of_step(name) for words in told[stage])


def _ticked_elsewhere(book: RugBook, plan: MaterialPlan) -> dict[GuideStage, str]:
    """Return what other pages know to be done of a stage: its step after weaving ticked off, the warp mounted."""
    done = {}
    mounted = any(item.kind is PreparationKind.WARP and item.done for item in plan.preparation.items)
    if mounted or book.woven_sessions:
        done[GuideStage.WARP] = _("the warp is mounted")
    for usual, stages in _step_names():
        steps = [step for step in book.after_steps if step.name.casefold() == usual.casefold()]
        ticked = [step.done_day for step in steps if step.done_day is not None]
        if steps and len(ticked) == len(steps):
            for stage in stages:
                done[stage] = _("ticked off on Finish, {day}").format(day=day_short(max(ticked), max(ticked)))
    return done


def build_guide_state(
    book: RugBook, plan: MaterialPlan, ticked: Iterable[str] = (), unit: str = "cm"
) -> tuple[GuideCard, ...]:
    """Return every stage in its order.

    Parameters
    ----------
    ticked
        Keys of the steps ticked off; one that this guide does not know counts for nothing.
    """
    rug, done = book.plan, frozenset(ticked)
    practice = _("Common practice, no source.")
    lifting = _("Lifting: {source}.").format(source=_(defaults.LIFT_ALONE_AT_MOST_G.source))
    heavy = wet_rug(plan.finished.total_g).two_people
    marks = _mark_lines(counting_marks(rug, unit), unit)
    fringe = length(rug.fringe_cm, unit) if rug.fringe_cm else ""
    contents = (
        (GuideStage.YARN, "skein", _("Yarn and dyes"), _yarn_steps(), ()),
        (GuideStage.WARP, "warp", _("Set up the warp"), _warp_steps(book, plan, unit), marks),
        (GuideStage.WEAVE, "person", _("At the loom"), _weave_steps(), ()),
        (GuideStage.CUT_OFF, "scissors", _("Cut off"), _cut_off_steps(), ()),
        (GuideStage.ENDS, "knot", _("Ends"), _ends_steps(), ()),
        (GuideStage.WASH, "spoilt", _("Wash and dry"), _wash_steps(plan.finished.total_g), ()),
        (GuideStage.BLOCK, "measure", _("Stretch to shape"), _block_steps(), ()),
        (GuideStage.SHEAR, "comb", _("Shear"), _shear_steps(), ()),
        (GuideStage.FRINGE, "edit", _("Fringe and selvedge"), _fringe_steps(fringe), ()),
        (GuideStage.STORE, "shelf", _("Keep and hand over"), _store_steps(), ()),
    )
    elsewhere = _ticked_elsewhere(book, plan)
    cards = []
    for stage, icon, title, (cautions, sentences), lines in contents:
        steps = tuple(
            GuideStep(f"{stage}.{at}", words, f"{stage}.{at}" in done)
            for at, words in enumerate(sentences, 1)
        )
        count = sum(step.ticked for step in steps)
        counted = _("{done} of {all} done").format(done=number(count), all=number(len(steps)))
        told = [elsewhere[stage]] if stage in elsewhere else []
        cards.append(
            GuideCard(
                stage=stage,
                icon=icon,
                title=title,
                done_words=" · ".join([*told, counted] if count else told or [counted]),
                share=1.0 if stage in elsewhere else count / len(steps),
                cautions=tuple(cautions),
                steps=steps,
                lines=lines,
                source=f"{practice} {lifting}" if stage is GuideStage.WASH and heavy else practice,
            )
        )
    return tuple(cards)
