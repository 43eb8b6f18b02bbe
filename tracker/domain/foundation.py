"""What the knots stand on: flat ends, warp balls, whether the rug fits the loom, and what the finished rug weighs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from tracker.domain import defaults, material
from tracker.domain.loom import Loom
from tracker.domain.rug import RugPlan, Yarn
from tracker.domain.shared_warp import SharedWarp
from tracker.domain.units import show_number
from tracker.words import _, length, mass


def end_picks(plan: RugPlan, ground: Yarn) -> int:
    """Return the passes of the ground weft in one flat-woven end: its height over the spacing of beaten picks."""
    spacing_mm = defaults.END_ROWS_PER_WEFT_DIAMETER * material.diameter_of_mm(plan, ground)
    return round(plan.end_cm * 10.0 / spacing_mm)


def ends_mass_g(plan: RugPlan, ground: Yarn, warp: Yarn | None = None) -> float:
    """Return the mass of ground weft in both flat-woven ends, in g."""
    picks = 2 * end_picks(plan, ground)
    length_cm = material.cloth_width_cm(plan) * (1.0 + defaults.END_TAKE_UP) + material.weft_turn_cm(
        plan, ground, warp
    )
    return picks * length_cm * material.tex_of(plan, ground) * material.TEX_TO_G_PER_CM


def crowded_warps(plan: RugPlan, warp: Yarn | None) -> str:
    """Return a sentence when the warps are too thick to lie as planned at the density; "" when they have room."""
    needed_mm, room_mm = material.knot_width_needed_mm(plan, warp), 2.0 * material.warp_spacing_mm(plan)
    if needed_mm <= room_mm:
        return ""
    return _(
        "The warps of one knot need {needed} mm side by side, but a knot has {room} mm. "
        "Offset them further, take a finer warp, or knot less closely."
    ).format(needed=show_number(needed_mm), room=show_number(room_mm))


def cloth_length_cm(plan: RugPlan) -> float:
    """Return the length of the cloth with both flat ends, without fringes, in cm."""
    return plan.rows / plan.rows_per_10cm * 10.0 + 2.0 * plan.end_cm


@dataclass(frozen=True, slots=True)
class Misfit:
    """Something that does not fit: a sentence, the lengths in it in cm, and the loom's name where it is told."""

    sentence: str
    lengths_cm: Mapping[str, float] = field(default_factory=dict)
    loom: str = ""

    def words(self, unit: str) -> str:
        """Return the sentence with its lengths in `unit`."""
        said = {name: length(length_cm, unit) for name, length_cm in self.lengths_cm.items()}
        return self.sentence.format(loom=self.loom, **said) if said else self.sentence


@dataclass(frozen=True, slots=True, kw_only=True)
class LoomFit:
    """Whether the rug fits the loom; None where the loom's size is not known."""

    cloth_width_cm: float
    cloth_length_cm: float
    fits_width: bool | None
    spare_width_cm: float | None
    fits_roll: bool | None
    spare_roll_cm: float | None
    spare_warp_cm: float | None
    """What the loom holds beyond the warp; None where its longest warp is not known."""
    misfits: tuple[Misfit, ...]
    """What does not fit."""
    between_cm: float | None = None
    """Clear width of the loom, as the plan has it, else as its loom does."""

    @property
    def sentences(self) -> tuple[str, ...]:
        """What does not fit, lengths in cm."""
        return self.sentences_in("cm")

    def sentences_in(self, unit: str) -> tuple[str, ...]:
        """Return what does not fit, lengths in `unit`: "cm" or "inch"."""
        return tuple(misfit.words(unit) for misfit in self.misfits)


def shared_sentences(shared: SharedWarp) -> list[str]:
    """Say what does not go together of rugs that share one warp."""
    sentences = []
    if not shared.one_spacing:
        sentences.append(
            _(
                "The rugs on this warp are planned at different densities across, but one warp has "
                "one spacing. Plan all at one density, or give each its own warp."
            )
        )
    if not shared.one_yarn:
        sentences.append(
            _(
                "The rugs on this warp are planned with different warp yarns, but one warp has one "
                "yarn. Change a plan."
            )
        )
    return sentences


def loom_fit(
    plan: RugPlan, loom: Loom | None = None, shared: SharedWarp | None = None, take_up: float | None = None
) -> LoomFit:
    """Compare the cloth with the clear width of the loom, with what its beam takes up, and the warp with what it holds.

    Parameters
    ----------
    loom
        The loom the plan names.
    shared
        The warp, where other rugs share it: rugs side by side need room together, all of them one length of warp.
    take_up
        Of the warp, as it was measured.
    """
    own_cm, length_cm = material.cloth_width_cm(plan), cloth_length_cm(plan)
    width_cm = own_cm if shared is None else max(own_cm, shared.width_cm)
    misfits = []
    spare_width: float | None = None
    spare_roll: float | None = None
    between_cm = plan.loom_width_cm
    if between_cm is None and loom is not None:
        between_cm = loom.width_cm
    if between_cm is not None:
        spare_width = between_cm - width_cm - defaults.LOOM_SIDE_ROOM_CM
        if spare_width < 0:
            alone = _(
                "The rug is {width} wide with its selvedges and needs {room} for hands. The loom has "
                "{between} between its sides. Make the rug narrower by {less} or use a wider loom."
            )
            together = _(
                "Side by side, the rugs on this warp take {width} and need {room} for hands. The "
                "loom has {between} between its sides. That is {less} too little."
            )
            misfits.append(
                Misfit(
                    alone if width_cm == own_cm else together,
                    {
                        "width": width_cm,
                        "room": defaults.LOOM_SIDE_ROOM_CM,
                        "between": between_cm,
                        "less": -spare_width,
                    },
                )
            )
    if plan.beam_roll_cm is not None:
        spare_roll = plan.beam_roll_cm - length_cm
        if spare_roll < 0:
            misfits.append(
                Misfit(
                    _(
                        "The cloth is {long} long with its ends. The beam can roll up {roll}. Make "
                        "the rug shorter by {less} or use a loom that rolls more."
                    ),
                    {"long": length_cm, "roll": plan.beam_roll_cm, "less": -spare_roll},
                )
            )
    warp_cm = material.warp_length_cm(plan, take_up) if shared is None else shared.length_cm
    spare_warp = None if loom is None or loom.longest_warp_cm is None else loom.longest_warp_cm - warp_cm
    if spare_warp is not None and spare_warp < 0 and loom is not None:
        misfits.append(
            Misfit(
                _(
                    "With loom waste the warp is {long} long. {loom} holds {most}. Make it shorter "
                    "by {less} or use another loom."
                ),
                {"long": warp_cm, "most": loom.longest_warp_cm or 0.0, "less": -spare_warp},
                loom.name,
            )
        )
    if shared is not None:
        misfits += [Misfit(sentence) for sentence in shared_sentences(shared)]
    return LoomFit(
        spare_warp_cm=spare_warp,
        cloth_width_cm=own_cm,
        cloth_length_cm=length_cm,
        fits_width=None if spare_width is None else spare_width >= 0,
        spare_width_cm=spare_width,
        fits_roll=None if spare_roll is None else spare_roll >= 0,
        spare_roll_cm=spare_roll,
        misfits=tuple(misfits),
        between_cm=between_cm,
    )


# --- finished mass ---------------------------------------------------------------------------------------------------

PUBLISHED_G_PER_M2: tuple[tuple[float, float, float], ...] = (
    (56_000.0, 4500.0, 5000.0),
    (70_000.0, 3800.0, 3800.0),
    (80_000.0, 3500.0, 4250.0),
    (125_000.0, 2500.0, 3500.0),
)
"""(knots per m2, least, most g per m2) of finished rugs (nepalcarpet.org, "Quality of Carpets")."""
PUBLISHED_NEAR = 0.10
"""Share by which a density may differ from a published one to be compared with it."""


def published_range_g_per_m2(knots_per_m2: float) -> tuple[float, float] | None:
    """Return the published (least, most) mass of a finished rug of about this density, None where there is none."""
    density, least, most = min(PUBLISHED_G_PER_M2, key=lambda row: abs(row[0] / knots_per_m2 - 1.0))
    return (least, most) if abs(density / knots_per_m2 - 1.0) <= PUBLISHED_NEAR else None


@dataclass(frozen=True, slots=True, kw_only=True)
class FinishedMass:
    """What the finished rug weighs, without its fringes."""

    pile_g: float
    wefts_g: float
    warp_g: float
    edges_g: float
    """Overcasting and cords along both sides."""
    area_m2: float
    """Of the knotted part, when the rug is finished."""
    published_g_per_m2: tuple[float, float] | None
    planned_g: float | None = None
    """Of the whole by the plan, where something better than the plan is known; None where the plan is all there is."""

    @property
    def total_g(self) -> float:
        """Mass of the knotted part with its sides."""
        return self.knotted_g + self.edges_g

    @property
    def knotted_g(self) -> float:
        """Mass of the knotted part alone."""
        return self.pile_g + self.wefts_g + self.warp_g

    def weighing(self, total_g: float) -> FinishedMass:
        """Return the same rug at another mass [g], its parts in the same shares."""
        times = total_g / self.total_g if self.total_g else 1.0
        return replace(
            self,
            planned_g=self.planned_g if self.planned_g is not None or times == 1.0 else self.total_g,
            pile_g=self.pile_g * times,
            wefts_g=self.wefts_g * times,
            warp_g=self.warp_g * times,
            edges_g=self.edges_g * times,
        )

    @property
    def g_per_m2(self) -> float:
        """Mass of a square metre of the knotted part."""
        return self.knotted_g / self.area_m2 if self.area_m2 else 0.0

    @property
    def sentence(self) -> str:
        """What a square metre weighs, beside what is published for the quality."""
        text = _("About {found} a square metre when finished.").format(found=mass(self.g_per_m2))
        if self.published_g_per_m2 is None:
            return text
        least, most = self.published_g_per_m2
        if least == most:
            return text + " " + _("Published for this density: {found}.").format(found=mass(least))
        return (
            text
            + " "
            + _("Published for this density: {least} to {most}.").format(least=mass(least), most=mass(most))
        )


def warp_in_cloth_g(plan: RugPlan, warp: Yarn | None) -> float:
    """Return the mass of the warps within the knotted part, in g; 0 without a warp yarn."""
    if warp is None:
        return 0.0
    crimp = float(defaults.WARP_TAKE_UP) if warp.take_up is None else warp.take_up
    length_cm = plan.rows / plan.rows_per_10cm * 10.0 * (1.0 + crimp)
    return material.warps(plan) * length_cm * material.tex_of(plan, warp) * material.TEX_TO_G_PER_CM
