"""The cautions of the trade, each with where it comes from. Advice, never a diagnosis."""

from __future__ import annotations

from dataclasses import dataclass

from tracker.words import _


@dataclass(frozen=True, slots=True)
class Caution:
    """One piece of advice."""

    icon: str
    title: str
    text: str
    source: str


def wool_dust() -> Caution:
    """Return what to mind where fibre flies."""
    return Caution(
        "spoilt",
        _("Wool dust"),
        _(
            "Shearing and beating fill the air with fibre. Open a window, sweep damp, wear a mask that fits when "
            "you shear. With coughing or tight breath at work, see a doctor."
        ),
        _("What weavers usually do; we know of no study of it."),
    )


def build_cautions_state() -> tuple[Caution, ...]:
    """Return every caution, the most common harm first."""
    practice = _("What weavers usually do; we know of no study of it.")
    return (
        Caution(
            "person",
            _("How you sit"),
            _(
                "Weave at about 20 cm above the height of your elbows, on a high seat that slopes about 10 degrees "
                "forward. Move the work or the seat as the rug grows; do not stoop after it."
            ),
            _(
                "A. Choobineh and others, Int. J. Occup. Saf. Ergon. 10(4), 2004, doi 10.1080/10803548.2004.11076625"
            ),
        ),
        Caution(
            "bell",
            _("Pauses"),
            _(
                "Of 143 weavers asked, 62 in 100 had pain in the upper back within a year, 60 in the lower back, 56 in "
                "the wrists and 37 in the shoulders. Get up often, stretch, look into the distance. Pain that stays, "
                "numb fingers or weak hands: see a doctor."
            ),
            _("A study of carpet weavers in Qom, Health Scope, article 64182. Pauses: common practice."),
        ),
        Caution(
            "warp",
            _("The loom under tension"),
            _(
                "A warped loom is under great tension. Slacken it slowly and evenly. Keep hands and "
                "face out of line with the warps and beams. Keep children away. Mount the warp and "
                "cut off the rug with two people."
            ),
            practice,
        ),
        Caution(
            "scissors",
            _("Blades"),
            _(
                "Cut away from the hand that holds. Put hook, knife and shears in their place when you get up; never "
                "leave them on the bench or in the pile."
            ),
            practice,
        ),
        wool_dust(),
        Caution(
            "skein",
            _("Dyes and mordants"),
            _(
                "Keep dye pots apart from kitchen pots. Wear gloves. Do not breathe steam or powder. "
                "Label every jar. For what is left over, follow the maker's safety sheet and local "
                "rules."
            ),
            practice,
        ),
        Caution(
            "sun",
            _("Light"),
            _("Good light from the side spares eyes and neck. If you must lean in to see, it is too dark."),
            practice,
        ),
    )


def closing() -> str:
    """Return who has the last word."""
    return _(
        "This is general advice. Follow the rules of your country and workshop. Ask people trained "
        "in safety and health."
    )
