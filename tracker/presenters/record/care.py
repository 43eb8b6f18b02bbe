"""What the buyer of a rug should know."""

from __future__ import annotations

from tracker.words import _


def care_advice() -> tuple[tuple[str, str], ...]:
    """Return what the buyer of a rug should know: (what, how). Common practice, no source."""
    return (
        (
            _("Every week"),
            _(
                "Vacuum gently, along the pile and without a beating brush. Sweep the fringe by hand; a machine tears it."
            ),
        ),
        (
            _("Every half year"),
            _(
                "Turn the rug round, so that feet and light wear it evenly. Look for moths under "
                "furniture and at the back."
            ),
        ),
        (
            _("When something is spilt"),
            _(
                "Lift off what is solid and blot with a dry white cloth, from the edge inwards. Do "
                "not rub. Then blot with a little lukewarm water. Try anything else first where "
                "nobody sees it: colours may run."
            ),
        ),
        (
            _("On the floor"),
            _(
                "Lay something under it that keeps it from slipping. Do not set plant pots on it: damp rots the knots."
            ),
        ),
        (
            _("Light"),
            _("Strong sun fades every dye in time. Draw a curtain at noon, or turn the rug more often."),
        ),
        (
            _("When it is put away"),
            _(
                "Clean and dry it. Roll it round a tube in the direction of the pile. Wrap it in "
                "cotton, not in plastic. Do not fold it."
            ),
        ),
        (_("A loose tuft or thread"), _("Cut it level with the pile. Never pull it: it holds a knot.")),
        (
            _("Edges, fringe, a good wash"),
            _(
                "When edges or fringe loosen, have them secured at once. Have the rug washed by "
                "somebody who washes hand-knotted rugs by hand."
            ),
        ),
    )
