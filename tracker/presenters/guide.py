"""The guide: each stage of a rug as a list to tick off, its cautions first, with this rug's own numbers."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cache
from typing import Any

from tracker.domain import defaults, material
from tracker.domain.foundation import FinishedMass
from tracker.domain.material_plan import MaterialPlan
from tracker.domain.rows import planned_rows
from tracker.domain.rug import AfterStep, PreparationKind, RugBook, RugPlan, RugStage
from tracker.domain.shared_warp import warp_of
from tracker.domain.warping import CountingMark, counting_marks, mark_step_cm, warps_per_step, wet_rug
from tracker.presenters.cautions import wool_dust
from tracker.presenters.of_rug import TICKS, of_rug
from tracker.presenters.settings import LANGUAGES
from tracker.words import (
    _,
    day_short,
    half_length,
    length,
    mark,
    mass,
    n_,
    number,
    one_after_another,
    plainly,
    said_in,
)

MARKS_WRITTEN = 12
"""Counting marks written out; of more, the first ones and the last."""


class GuideStage(StrEnum):
    """A stage of the work, in its order; the value is how this phone remembers what was ticked off of it."""

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


Contents = tuple[list[str], list[tuple[str, str]]]
"""Cautions, and (key, sentence) of each thing to do: the key stays when the sentence or its place changes."""


@dataclass(frozen=True, slots=True)
class Stage:
    """All that belongs to one stage; `title`, `names`, `within` and `own_words` are messages still to be translated."""

    key: GuideStage
    icon: str
    title: str
    contents: Callable[[RugBook, MaterialPlan, str], Contents]
    """What to mind and to do with this rug, lengths in this unit."""
    names: tuple[str, ...] = ()
    """What its step after weaving is usually called; a name that begins as one of them tells the stage, too."""
    within: tuple[str, ...] = ()
    """Usual names of steps that it is a part of."""
    own_words: tuple[str, ...] = ()
    """Other words by which a weaver may begin such a step's name."""
    lines: Callable[[RugBook, str], tuple[tuple[str, str], ...]] = lambda _book, _unit: ()
    """(what, figure) of this rug to be read while it is done."""


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
    stands_here: str = ""
    """Over the stage that the work stands at, at most one: "Now" where it was begun, else "Next"; "" over the others."""


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


def _yarn_steps() -> Contents:
    cautions = [
        _("Dyes, mordants and moth treatment: wear gloves, work in fresh air, use no kitchen pots. "
          "Follow the maker's safety sheet and local rules."),
    ]  # fmt: skip
    steps = [
        ("daylight", _("Lay all skeins of one colour side by side in daylight. Keep dye lots apart.")),
        (
            "bleeding",
            _("Rub a wet white cloth on every colour: one that bleeds is washed again or not used."),
        ),
        ("moth", _("Look for moth and its grubs; what has them stays out of the room.")),
        ("balls", _("Wind balls, one lot to a ball, and write the lot on each.")),
    ]
    return cautions, steps


def _warp_steps(book: RugBook, plan: MaterialPlan, unit: str) -> Contents:
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
        ("loom", _("Check the loom: beams level and square (both diagonals alike), no splinters, nothing loose.")),
        ("measure", _("Measure {count} warps of {long} each, all at the same tension.").format(
            count=number(plan.warps if shared is None else shared.threads),
            long=length(plan.warp_length_cm if shared is None else shared.length_cm, unit),
        )),
        ("counting thread", _("Tie a counting thread round every {count} warps, and count again from the other side.").format(
            count=number(warps_per_step(rug, unit))
        )),
        ("middle", _("Mark the middle of the beams, and half the width, {half}, to each side.").format(
            half=half_length(width_cm, unit)
        )),
        ("mount", _("Mount section by section, from the middle outwards, each between its two marks.")),
        ("selvedges", selvedges),
        ("fringe", _("Leave {fringe} for the fringe before the first pick, at both ends.").format(
            fringe=length(rug.fringe_cm, unit)
        )
        if rug.fringe_cm
        else _("Weave the end close to the beam: this rug has no fringe.")),
        ("tighten", _("Tighten a little. Feel along the warp with a flat hand and draw up soft places until all "
          "feel alike. Then tighten fully.")),
        ("shed", _("Open the shed, put in the shed stick and the heddles, and look for crossed or missed warps.")),
        ("spacing", _("Check the spacing with a tape at the left, in the middle and at the right: {count} warps to {step}.").format(
            count=number(warps_per_step(rug, unit)), step=length(mark_step_cm(unit), unit)
        )),
        # The plan's width is that between the selvedges.
        ("first end", (
            _("Weave the first flat end, then measure the width again, selvedges included: {width}.")
            if rug.selvedge_warps
            else _("Weave the first flat end, then measure the width again: {width}.")
        ).format(width=length(width_cm, unit))),
    ]  # fmt: skip
    return cautions, steps


def _weave_steps() -> Contents:
    cautions = [
        _("Pain that stays, numb fingers or weak hands: see a doctor."),
        _("When you get up, put the blades back in their place."),
    ]
    steps = [
        (
            "seat",
            _(
                "Seat high and firm, the row at the height of the elbows or a little above, light from the side."
            ),
        ),
        ("get up", _("Get up every half hour or so. Look into the distance.")),
        ("hands", _("Hands: spread the fingers wide, then make a loose fist, five times, slowly.")),
        (
            "wrists",
            _("Wrists: arm out, draw the hand gently up, then down, with the other; never into pain."),
        ),
        ("neck", _("Neck and shoulders: ear towards the shoulder, each side; roll the shoulders back.")),
        ("back", _("Back: stand, hands on the hips, lean back a little.")),
        (
            "measure",
            _("Measure width and length every few rows, at the left, in the middle and at the right."),
        ),
    ]
    return cautions, steps


def _behind_on_warp(book: RugBook) -> list[str]:
    """Return the names of the rugs still to be woven behind a rug on its warp."""
    warp = warp_of(book)
    own = None if warp is None else warp.of(book.plan.id)
    if warp is None or own is None:
        return []
    return [one.part.name for one in warp.parts if one.band > own.band and not one.part.done]


def _cut_off_steps(book: RugBook) -> Contents:
    behind = _behind_on_warp(book)
    cautions = [
        *(
            [
                _(
                    "{rugs}: still to be woven on this warp. Cut in the gap between the rugs only, and tie the warps behind it "
                    "fast first. Better still, leave this rug on the beam until all are woven."
                ).format(rugs=one_after_another(behind))
            ]
            if behind
            else []
        ),
        _("Slacken the warp before any blade comes near; a warp cut under its pull lashes."),
        _("Two people: one holds the rug, one cuts, away from both."),
    ]
    steps = [
        ("photograph", _("Measure and photograph the rug on the loom.")),
        ("last end", _("Weave the last flat end and secure it, so that no row can open.")),
        ("slacken", _("Slacken the warp, slowly and evenly over the whole width.")),
        ("cut", _("Cut in the middle first, then left and right in turn. Leave enough for the fringe.")),
        ("lay flat", _("Lay the rug flat for a day, then measure. Without tension it draws in.")),
    ]
    return cautions, steps


def _ends_steps() -> Contents:
    steps = [
        ("waste weft", _("Take out the loom's waste weft, a few warps at a time.")),
        ("secure", _("Secure both ends before anything is washed: knot, plait or sew them.")),
        ("back", _("Go over the back for loose knots and missed warps, and mend them now.")),
    ]
    return [_("Needle and knife: work in good light, and keep your hand out of the way of the point.")], steps


def _dry_words(plan: RugPlan, finished: FinishedMass) -> str:
    """Say what the rug weighs dry and whence that is known, with the plan's figure beside another one."""
    dry, planned_g = mass(finished.total_g), finished.planned_g
    if plan.washed_g or plan.unwashed_g:
        words = _("{mass}, as weighed").format(mass=dry)
    elif planned_g is not None:
        words = _("{mass} by the yarn it took").format(mass=dry)
    else:
        return _("{mass} by the plan").format(mass=dry)
    if planned_g is None or mass(planned_g) == dry:
        return words
    return _("{mass} (planned: {planned})").format(mass=words, planned=mass(planned_g))


def _wash_steps(rug: RugPlan, finished: FinishedMass) -> Contents:
    wet = wet_rug(finished.total_g)
    weight = _("Soaked, this rug weighs at least {wet}; dry {dry}.").format(
        wet=mass(wet.wet_g), dry=_dry_words(rug, finished)
    )
    if wet.two_people:
        weight += " " + _(
            "Too heavy for one person, even in the best case. Lift with two or more people, or use a barrow."
        )
    elif not wet.light:
        weight += " " + _("A wet, limp rug is awkward to hold. Lift it with a second person.")
    # What anybody may lift is nothing to be warned of.
    cautions = [
        *([] if wet.light else [weight]),
        _("A wet floor is slippery, and no electric tool belongs near it."),
    ]
    steps = [
        ("dust", _("Beat the dust out, mask on, windows open.")),
        ("corner", _("Try water and soap on a corner: no colour may bleed.")),
        ("wash", _("Wash with cool water and a mild soap, along the pile, never against it.")),
        ("rinse", _("Rinse until the water stays clear, then press the water out; do not wring.")),
        ("dry", _("Dry flat and airy, out of hot sun, the pile combed to its lie.")),
    ]
    return cautions, steps


def _block_steps() -> Contents:
    steps = [
        ("stretch", _("Stretch the damp rug on a clean board, pile down. Pin or nail it every few fingers "
          "through the flat ends and selvedges.")),
        ("diagonals", _("Draw both diagonals to the same length, then the sides straight.")),
        ("dry", _("Leave it until it is dry right through. Damp wool in the dark attracts moth and mould.")),
        ("measure", _("Measure width and length at three places each, and weigh the dry rug.")),
    ]  # fmt: skip
    return [_("Pins and nails: count them out and in again; shoes on.")], steps


def shear_cautions() -> list[str]:
    """Return what to mind with machine and shears."""
    return [
        _("Shearing machine: wear safety glasses, ear protection and a mask. Tie up sleeves and "
          "hair. Pull the plug before you touch the blade."),
        _("Hand shears: never put the other hand in front of the blades."),
    ]  # fmt: skip


def _shear_steps() -> Contents:
    steps = [
        ("dry", _("Rug dry, flat and brushed; look for forgotten pins first.")),
        ("passes", _("Shear in several light passes rather than one deep one.")),
        ("height", _("Check the pile's height at the corners and in the middle.")),
        ("sweep", _("Sweep the fibre up damp, do not blow it about.")),
    ]
    return [*shear_cautions(), wool_dust().text], steps


def _fringe_steps(fringe_cm: float, unit: str) -> Contents:
    steps = [
        ("comb", _("Comb the warp ends, part them evenly, and knot or plait them close to the end.")),
        (
            "trim",
            _("Trim both fringes to one length: {fringe}.").format(fringe=length(fringe_cm, unit))
            if fringe_cm
            else _("This rug has no fringe: turn the ends under and sew them down."),
        ),
        ("selvedges", _("Go round the selvedges, and overcast what is thin.")),
    ]
    return [_("Change hands and pause: knotting a fringe is hours of one movement.")], steps


def _store_steps() -> Contents:
    steps = [
        ("photograph", _("Photograph front and back, and write the record.")),
        ("roll", _("Roll it round a tube, pile outwards; never fold it.")),
        ("wrap", _("Wrap it in clean cotton, dry, off the floor, and look at it every month.")),
        ("owner", _("Tell the new owner how to clean and turn it and keep it from light.")),
    ]
    return [
        _("Moth treatment by local rules and the maker's sheet; never in a room where people sleep.")
    ], steps


CUT_AND_SECURE = mark("Cut off and secure the ends")

STAGES = (
    Stage(GuideStage.YARN, "skein", mark("Yarn and dyes"), lambda *_rug: _yarn_steps()),
    Stage(
        GuideStage.WARP, "warp", mark("Set up the warp"), _warp_steps,
        lines=lambda book, unit: _mark_lines(counting_marks(book.plan, unit), unit),
    ),
    Stage(GuideStage.WEAVE, "person", mark("At the loom"), lambda *_rug: _weave_steps()),
    Stage(
        GuideStage.CUT_OFF, "scissors", mark("Cut off"), lambda book, *_rest: _cut_off_steps(book),
        (CUT_AND_SECURE, mark("Cut off")),
    ),
    Stage(
        GuideStage.ENDS, "knot", mark("Ends"), lambda *_rug: _ends_steps(),
        (mark("Ends"),), (CUT_AND_SECURE,), (mark("Bind"),),
    ),
    Stage(
        GuideStage.WASH, "wash", mark("Wash and dry"), lambda book, plan, _unit: _wash_steps(book.plan, plan.finished),
        (mark("Wash and dry"),), (), (mark("Scour"), mark("Rinse")),
    ),
    Stage(
        GuideStage.BLOCK, "measure", mark("Stretch to shape"), lambda *_rug: _block_steps(),
        (mark("Stretch to shape"),), (), (mark("Block"),),
    ),
    Stage(
        GuideStage.SHEAR, "shear", mark("Shear"), lambda *_rug: _shear_steps(),
        (mark("Shear"),), (), (mark("Clip"), mark("Trim the pile")),
    ),
    Stage(
        GuideStage.FRINGE, "fringe", mark("Fringe and selvedge"),
        lambda book, _plan, unit: _fringe_steps(book.plan.fringe_cm, unit),
        (mark("Fringe"), mark("Fringe and selvedge")),
    ),
    Stage(
        GuideStage.STORE, "shelf", mark("Keep and hand over"), lambda *_rug: _store_steps(),
        own_words=(mark("Mothproof"),),
    ),
)  # fmt: skip
"""Every stage in its order."""
AFTER_WEAVING = frozenset(GuideStage) - {GuideStage.YARN, GuideStage.WARP, GuideStage.WEAVE}
"""The stages that follow the last row."""

_PLACES_ONCE: dict[GuideStage, tuple[str, ...]] = {
    GuideStage.YARN: ("daylight", "bleeding", "moth", "balls"),
    GuideStage.WARP: ("loom", "measure", "counting thread", "middle", "mount", "selvedges", "fringe", "tighten", "shed", "spacing", "first end"),
    GuideStage.WEAVE: ("seat", "get up", "hands", "wrists", "neck", "back", "measure"),
    GuideStage.CUT_OFF: ("photograph", "last end", "slacken", "cut", "lay flat"),
    GuideStage.ENDS: ("waste weft", "secure", "back"),
    GuideStage.WASH: ("dust", "corner", "wash", "rinse", "dry"),
    GuideStage.BLOCK: ("stretch", "diagonals", "dry", "measure"),
    GuideStage.SHEAR: ("dry", "passes", "height", "sweep"),
    GuideStage.FRINGE: ("comb", "trim", "selvedges"),
    GuideStage.STORE: ("photograph", "roll", "wrap", "owner"),
}  # fmt: skip
"""The keys in the order in which phones once remembered them, by their place: "warp.2" was the second. Never changed: a new step is put last."""


def ticks_kept(kept: Iterable[str]) -> list[str]:
    """Return the keys of the steps that this phone has ticked off, those that it keeps by their place, too."""
    once = {
        f"{stage}.{at}": f"{stage}.{key}"
        for stage, keys in _PLACES_ONCE.items()
        for at, key in enumerate(keys, 1)
    }
    return [once.get(key, key) for key in kept]


@cache
def _in_every_language(names: tuple[str, ...]) -> frozenset[str]:
    """Return names as each offered language says them: a book may have been kept in another one."""
    return frozenset(plainly(said_in(language, name)) for name in names for language in LANGUAGES)


def stages_of_step(name: str) -> tuple[GuideStage, ...]:
    """Return the stages that a step after weaving may be of, in their order; () where its name tells none.

    It is known by its usual name in any language, else by a word that begins as that does: "Washing" is of the washing.
    """
    said = plainly(name)
    of_name = tuple(
        stage.key for stage in STAGES if said in _in_every_language((*stage.names, *stage.within))
    )
    if of_name:
        return of_name
    words = said.split()

    def begins(stage: Stage) -> bool:
        firsts = {usual.split()[0] for usual in _in_every_language((*stage.names, *stage.own_words))}
        return any(word.startswith(first) for word in words for first in firsts)

    return tuple(stage.key for stage in STAGES if begins(stage))


_DONE_OFF_THE_LOOM = frozenset({GuideStage.CUT_OFF, GuideStage.WASH, GuideStage.BLOCK, GuideStage.FRINGE})
"""Stages of which none can be done while the rug hangs on the loom: whoever ticked one off has cut it off."""


def is_cut_off(book: RugBook) -> bool:
    """Tell whether a rug is off the loom: finished, or a step after weaving is done that says so."""
    return book.plan.stage is RugStage.FINISHED or any(
        step.done_day is not None and _DONE_OFF_THE_LOOM & set(stages_of_step(step.name))
        for step in book.after_steps
    )


def stages_ticked(kept: Iterable[str]) -> frozenset[GuideStage]:
    """Return the stages of which every step is among the keys that this phone has ticked off."""
    done = frozenset(ticks_kept(kept))
    return frozenset(
        stage for stage, keys in _PLACES_ONCE.items() if all(f"{stage}.{key}" in done for key in keys)
    )


def stages_ticked_of(drafts: Any, book: RugBook) -> frozenset[GuideStage]:
    """Return the stages of a rug that are ticked off in the guide, once every row is woven: before, nothing follows from it."""
    kept = of_rug(drafts, TICKS, book.plan.id)
    return stages_ticked(kept) if kept and book.rows_woven >= planned_rows(book) else frozenset()


def before_last_row(kept: Iterable[str]) -> list[str]:
    """Return of the keys that this phone has ticked off those of stages that do not follow the last row."""
    return [
        key for key in ticks_kept(kept) if not any(key.startswith(f"{stage}.") for stage in AFTER_WEAVING)
    ]


def step_ticked_with(book: RugBook, stage: GuideStage, ticked: Collection[GuideStage]) -> AfterStep | None:
    """Return the open step after weaving that is done with a stage, all its other stages being ticked off; None where there is none."""
    for step in sorted(book.after_steps, key=lambda step: (step.number, step.born)):
        stages = stages_of_step(step.name)
        if step.done_day is None and stage in stages and set(stages) <= set(ticked):
            return step
    return None


def stage_after(cards: Sequence[GuideCard], stage: GuideStage) -> GuideCard | None:
    """Return the next stage that is not done, while rows are left; None where a stage is the last one to do."""
    place = next(index for index, card in enumerate(cards) if card.stage is stage)
    return next((card for card in cards[place + 1 :] if card.share < 1), None)


def first_stage_open(name: str, ticked: Collection[GuideStage]) -> GuideStage | None:
    """Return the stage at which a step after weaving goes on: the first of its stages that is not ticked off; None where it has none."""
    stages = stages_of_step(name)
    return next((stage for stage in stages if stage not in ticked), stages[0] if stages else None)


def goes_on_at(name: str, ticked: Collection[GuideStage]) -> str:
    """Return the name of a step after weaving, or of the stage at which it goes on once one of its stages is ticked off."""
    stage = first_stage_open(name, ticked)
    if stage is None or not set(stages_of_step(name)) & set(ticked):
        return name
    return next(_(one.title) for one in STAGES if one.key is stage)


def open_steps(book: RugBook) -> tuple[AfterStep, ...]:
    """Return the steps after weaving that nobody ticked off, in their order."""
    steps = sorted(book.after_steps, key=lambda step: (step.number, step.born))
    return tuple(step for step in steps if step.done_day is None)


@dataclass(frozen=True, slots=True)
class WhatFollows:
    """What comes next once every row is woven, as every page names it."""

    words: str
    """On the key that leads to it."""
    page: str
    """Where it is done."""
    part: str = ""
    """Its name alone; "" where nothing is left but to finish the rug, or to hand its record over."""
    stages: tuple[GuideStage, ...] = ()
    """The stages of it that are open, the first to be done first."""


def what_follows(book: RugBook, ticked: Collection[GuideStage] = ()) -> WhatFollows:
    """Return what comes next of a rug of which every row is woven.

    The weaver's own steps are followed in her order; without any the guide's stages are, from the furthest that is done:
    nobody goes back to tick off how the rug was cut once it is washed.

    Parameters
    ----------
    ticked
        The stages of which every step is ticked off in the guide.
    """
    if book.plan.stage is RugStage.FINISHED:
        return WhatFollows(_("Share and print the record"), "export")
    if book.after_steps:
        step = next(iter(open_steps(book)), None)
        if step is not None:
            stages = stages_of_step(step.name)
            left = tuple(stage for stage in stages if stage not in ticked)
            part = goes_on_at(step.name, ticked)
            return WhatFollows(_("Next: {part}").format(part=part), "guide", part, left or stages)
    else:
        after = [stage for stage in STAGES if stage.key in AFTER_WEAVING]
        done = [place for place, stage in enumerate(after, 1) if stage.key in ticked]
        for stage in after[max(done, default=0) :]:
            part = _(stage.title)
            return WhatFollows(_("Next: {part}").format(part=part), "guide", part, (stage.key,))
    return WhatFollows(_("Finish the rug"), "finish")


def stage_names(stages: Collection[GuideStage]) -> tuple[str, ...]:
    """Return the names of some stages, in their order."""
    return tuple(_(stage.title) for stage in STAGES if stage.key in stages)


def stages_done_words(ticked: Collection[GuideStage]) -> str:
    """Name the stages after weaving that are ticked off in the guide; "" where none is."""
    done = stage_names(AFTER_WEAVING & set(ticked))
    return _("Done in the guide: {stages}.").format(stages=one_after_another(done)) if done else ""


def stage_cautions(stages: Collection[GuideStage], book: RugBook, plan: MaterialPlan) -> tuple[str, ...]:
    """Return what to mind in some stages."""
    return tuple(
        words for stage in STAGES if stage.key in stages for words in stage.contents(book, plan, "cm")[0]
    )


def _ticked_elsewhere(book: RugBook, plan: MaterialPlan) -> dict[GuideStage, str]:
    """Return what other pages know to be done of a stage: its step after weaving ticked off, the warp mounted."""
    done = {}
    mounted = any(item.kind is PreparationKind.WARP and item.done for item in plan.preparation.items)
    if mounted or book.woven_sessions:
        done[GuideStage.WARP] = _("the warp is mounted")
    if book.rows_woven >= planned_rows(book) or book.plan.stage is RugStage.FINISHED:
        done[GuideStage.WEAVE] = _("the last row is woven")
    for stage in STAGES:
        usual = _in_every_language((*stage.names, *stage.within))
        steps = [step for step in book.after_steps if plainly(step.name) in usual]
        ticked = [step.done_day for step in steps if step.done_day is not None]
        if steps and len(ticked) == len(steps):
            done[stage.key] = _("ticked off on Finish, {day}").format(day=day_short(max(ticked), max(ticked)))
    return done


def _stands_at(cards: Sequence[GuideCard], done: Collection[GuideStage], woven: bool) -> GuideStage | None:
    """Return the stage that the work stands at; None once all is done.

    It is the furthest that anything tells of, or the one after that where it is done: nobody goes back to tick off how the
    yarn was looked at once she weaves.
    """
    reached = [
        index
        for index, card in enumerate(cards)
        if card.share or card.stage in done or (woven and card.stage is GuideStage.WEAVE)
    ]
    furthest = max(reached, default=-1)
    if furthest >= 0 and not (cards[furthest].stage in done or cards[furthest].share >= 1):
        return cards[furthest].stage
    return cards[furthest + 1].stage if furthest + 1 < len(cards) else None


def open_warp_steps_words(book: RugBook, plan: MaterialPlan, ticked: Iterable[str], unit: str = "cm") -> str:
    """Say how many steps of the warp are open for who ticked some of them off and calls it mounted; "" for anybody else."""
    card = next(one for one in build_guide_state(book, plan, ticked, unit) if one.stage is GuideStage.WARP)
    left = sum(not step.ticked for step in card.steps)
    if left in (0, len(card.steps)):
        return ""
    return n_(
        "{count} step of the warp is open in the guide.",
        "{count} steps of the warp are open in the guide.",
        left,
    ).format(count=number(left))


def build_guide_state(
    book: RugBook,
    plan: MaterialPlan,
    ticked: Iterable[str] = (),
    unit: str = "cm",
) -> tuple[GuideCard, ...]:
    """Return every stage in its order.

    Parameters
    ----------
    ticked
        Keys of the steps ticked off; one that this guide does not know counts for nothing.
    """
    done = frozenset(ticks_kept(ticked))
    practice = _("What weavers usually do; we know of no study of it.")
    lifting = _("Lifting: {source}.").format(source=_(defaults.LIFT_ALONE_AT_MOST_G.source))
    heavy = wet_rug(plan.finished.total_g).two_people
    elsewhere = _ticked_elsewhere(book, plan)
    cards = []
    for stage in STAGES:
        cautions, sentences = stage.contents(book, plan, unit)
        steps = tuple(
            GuideStep(f"{stage.key}.{key}", words, f"{stage.key}.{key}" in done) for key, words in sentences
        )
        count = sum(step.ticked for step in steps)
        counted = _("{done} of {all} done").format(done=number(count), all=number(len(steps)))
        told = [elsewhere[stage.key]] if stage.key in elsewhere else []
        cards.append(
            GuideCard(
                stage=stage.key,
                icon=stage.icon,
                title=_(stage.title),
                done_words=" · ".join([*told, counted] if count else told or [counted]),
                # Who ticks steps off sees those: the bar stands beside their number.
                share=1.0 if told and not count else count / len(steps),
                cautions=tuple(cautions),
                steps=steps,
                lines=stage.lines(book, unit),
                source=f"{practice} {lifting}" if stage.key is GuideStage.WASH and heavy else practice,
            )
        )
    if GuideStage.WEAVE in elsewhere:
        at = next(iter(what_follows(book, stages_ticked(done)).stages), None)
    else:
        at = _stands_at(cards, elsewhere, book.rows_woven > 0)
    begun = GuideStage.WEAVE if book.rows_woven > 0 else None
    return tuple(
        replace(card, stands_here=_("Now") if card.share or at is begun else _("Next"))
        if card.stage is at
        else card
        for card in cards
    )
