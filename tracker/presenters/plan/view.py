"""What the plan page says of its form: a card for each part, and the lines of the part that is open."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from tracker.domain import defaults
from tracker.domain.cartoon import CartoonPicture
from tracker.domain.errors import BadEntry
from tracker.domain.finished_size import selvedges_cm, shrinks, tolerance_cm
from tracker.domain.material import assumed_tex
from tracker.domain.material_plan import MaterialPlan, material_plan
from tracker.domain.rug import EDGES, KnotKind, Role, RugBook, SizeMeasure
from tracker.domain.taught import NOTHING_TAUGHT, Taught
from tracker.domain.units import (
    RAJ_LENGTHS_CM,
    SQUARE_FOOT_M2,
    Density,
    DensityUnit,
    from_per_10cm,
    show_number,
    unit_words,
)
from tracker.domain.washing import TaughtShrinkage
from tracker.domain.winding import usual_unit_g
from tracker.domain.work import OwnRate, knots_an_hour
from tracker.domain.yarn import parse_fineness
from tracker.forecast.reckon import rows_wanted
from tracker.presenters.answer_words import code_of
from tracker.presenters.plan.checks import SHRINKAGES, count_trouble, size_troubles, troubles
from tracker.presenters.plan.form import PlanForm, YarnForm, units_of
from tracker.presenters.plan.records import draft_book, plan_of_size, to_plan, to_yarns
from tracker.presenters.plan.shares import counted_percents, even_shares, knots_of, share_trouble
from tracker.presenters.plan.size import size_check
from tracker.presenters.size_words import size_on_loom_words, tolerance_source
from tracker.presenters.trade_words import fibre_words, knot_kind_name, measure_words
from tracker.words import (
    CM_PER_INCH,
    _,
    day,
    hours,
    length,
    mass,
    n_,
    number,
    one_after_another,
    percent,
    size,
    small_length,
    weekday_name,
    work_words,
)


@dataclass(frozen=True, slots=True)
class Line:
    """A question with its answer, as a field shows it."""

    label: str
    answer: str
    hint: str = ""
    trouble: str = ""


@dataclass(frozen=True, slots=True)
class Part:
    """One part of the plan as a card."""

    key: str
    icon: str
    title: str
    answer: str
    note: str = ""
    trouble: str = ""
    swatches: tuple[tuple[str, str], ...] = ()
    """(colour, number)"""


@dataclass(frozen=True, slots=True)
class PlannedYarnCard:
    """One yarn on the list of colours or of the foundation."""

    yarn_id: str
    swatch: str
    number: str
    name: str
    amount: str
    note: str
    trouble: str


PARTS = ("rug", "size", "cloth", "colours", "foundation", "week")

PART_OF_FIELD = {
    "name": "rug", "cartoon": "rug", "width": "size", "length": "size", "across": "cloth", "along": "cloth",
    "loom_shrinkage": "size", "wash_shrinkage_width": "size", "wash_shrinkage_length": "size",
    "pile": "cloth", "raj": "cloth", "unshorn": "cloth", "jufti": "cloth", "offset": "cloth", "colours": "colours", "wefts": "foundation", "weekdays": "week", "hours": "week", "wish": "week",
}  # fmt: skip


def part_of(form: PlanForm, field: str) -> str:
    """Return the part in which a field stands."""
    if field.startswith("yarn "):
        yarn = form.yarn(field.removeprefix("yarn "))
        return "colours" if yarn is not None and yarn.role == Role.PILE.value else "foundation"
    return PART_OF_FIELD[field]


def following(form: PlanForm, part: str, taught: TaughtShrinkage | None = None) -> str:
    """Return the part after another; "" after the last.

    With a cartoon the size follows from the density, whose part tells it: where nothing of it is to be decided its own
    part is passed over. `taught` is what the washing of the last rug tells, which the part on the size offers.
    """
    later = PARTS[PARTS.index(part) + 1 :]
    if later[:1] == ("size",) and form.cartoon is not None:
        offered = taught is not None and not follows_taught(form, taught)
        if size_check(form) is None and not size_troubles(form) and not offered:
            later = later[1:]
    return later[0] if later else ""


def starting_words() -> str:
    """Say how a new plan begins."""
    return _("Everything has a starting value. Change what you know, leave the rest.")


def can_save_early(form: PlanForm) -> bool:
    """Tell whether enough was said of a rug to save it before the last part: its cartoon or its size."""
    return not form.new or form.cartoon is not None or form.size_said


def part_title(key: str) -> str:
    """Return the title of a part."""
    return {
        "rug": _("Name and cartoon"),
        "size": _("Size"),
        "cloth": _("Density, knot and pile"),
        "colours": _("Colours"),
        "foundation": _("Wefts, warp and loom"),
        "week": _("Working week"),
    }[key]


def density_units() -> tuple[tuple[str, str], ...]:
    """Return (words, unit) of the ways to say a density; bis stands for bis and bhutan."""
    return (
        (_("per 10 cm"), DensityUnit.PER_10CM.value),
        (_("per inch"), DensityUnit.PER_INCH.value),
        (_("per foot (line)"), DensityUnit.LINE.value),
        (_("raj"), DensityUnit.RAJ.value),
        (_("bis / bhutan"), DensityUnit.BIS.value),
    )


def raj_lengths() -> tuple[tuple[str, float], ...]:
    """Return (words, cm) of the lengths a raj has by region."""
    return tuple((_("{cm} cm").format(cm=show_number(cm)), cm) for cm in RAJ_LENGTHS_CM)


def density_words(form: PlanForm) -> str:
    """Return the density in the form's unit, across and along."""
    across, along = units_of(form)
    figures = (
        show_number(from_per_10cm(form.knots_per_10cm, across, form.raj_cm)),
        show_number(from_per_10cm(form.rows_per_10cm, along, form.raj_cm)),
    )
    if across is DensityUnit.BIS:
        return _("{bis} / {bhutan} bis").format(bis=figures[0], bhutan=figures[1])
    return _("{across} × {along} {unit}").format(
        across=figures[0], along=figures[1], unit=unit_words(across, form.raj_cm)
    )


def _side_words(per_10cm: float, unit: DensityUnit, raj_cm: float) -> str:
    return _("{number} {unit}").format(
        number=show_number(from_per_10cm(per_10cm, unit, raj_cm)), unit=unit_words(unit, raj_cm)
    )


def knots_words(form: PlanForm) -> str:
    """Return the knots across, the rows and the knots in all."""
    return _("{knots} knots across, {rows} rows").format(knots=number(form.knots), rows=number(form.rows))


def knot_kind_words(kind: str) -> str:
    """Return a kind of knot with a phrase on what it is."""
    return {
        KnotKind.SYMMETRIC.value: _("Symmetric: round both warps"),
        KnotKind.ASYMMETRIC.value: _("Asymmetric: round one warp, behind the other"),
        KnotKind.ROD.value: _("On a rod: looped round both warps and a rod, then cut"),
    }[kind]


def overview(
    form: PlanForm,
    book: RugBook | None = None,
    wrong: dict[str, str] | None = None,
    loom: str = "",
    fits: bool = True,
) -> tuple[Part, ...]:
    """Return a card for each part.

    Parameters
    ----------
    wrong
        The troubles to show.
    loom
        The name of the loom that the plan names.
    fits
        Whether the rug fits it; if not, its part says why.
    """
    by_part: dict[str, str] = {}
    for field, sentence in (wrong or {}).items():
        by_part.setdefault(part_of(form, field), sentence)
    if not fits:
        by_part.setdefault("foundation", _("It does not fit the loom."))
    pile, wefts = form.of(Role.PILE), form.of(Role.WEFT)
    cartoon = form.cartoon
    kind = knot_kind_name(form.knot_kind)
    answers: dict[str, tuple[str, str, str]] = {
        "rug": (
            "rug",
            form.name or _("no name yet"),
            _("without a cartoon")
            if cartoon is None
            else _("cartoon of {knots} × {rows} knots").format(
                knots=number(cartoon.knots), rows=number(cartoon.rows)
            ),
        ),
        "size": (
            "measure",
            size(form.true_width_cm, form.true_length_cm, form.unit),
            _("finished; {knots}").format(knots=knots_words(form)),
        ),
        "cloth": (
            "knot",
            density_words(form),
            _("{kind} knot, pile {height}").format(
                kind=kind, height=small_length(form.pile_height_mm, form.unit)
            ),
        ),
        "colours": (
            "skein",
            n_("{count} colour", "{count} colours", len(pile)).format(count=number(len(pile))),
            _("shares from the cartoon")
            if cartoon is not None
            else ""
            if share_trouble(form) or len(pile) < 2
            else _("shares make 100 %"),
        ),
        "foundation": (
            "shuttle",
            n_("{count} weft a row", "{count} wefts a row", len(wefts)).format(count=number(len(wefts))),
            "\n".join(part for part in (one_after_another([weft.name for weft in wefts]), loom) if part),
        ),
        "week": (
            "calendar",
            _("{hours} a week planned").format(hours=hours(form.hours_per_week)),
            _("from {day}").format(day=day(form.start_day))
            + (
                ", " + _("target {day}").format(day=day(form.wished_day, form.start_day))
                if form.wished_day
                else ""
            ),
        ),
    }
    return tuple(
        Part(
            key=key,
            icon=answers[key][0],
            title=part_title(key),
            answer=answers[key][1],
            note=answers[key][2],
            trouble=by_part.get(key, ""),
            swatches=tuple((yarn.swatch, str(at + 1)) for at, yarn in enumerate(pile[:12]))
            if key == "colours"
            else (),
        )
        for key in PARTS
    )


def summary(
    form: PlanForm,
    book: RugBook | None = None,
    picture: CartoonPicture | None = None,
    taught: Taught = NOTHING_TAUGHT,
) -> str:
    """Return what the plan comes to: knots, hours at the loom, the weight of the finished rug.

    `book` and `picture` are as `records.draft_book` takes them: the line says what the material page will. `taught` is what
    the weaver's other rugs say of her pace.
    """
    planned = _planned(form, book, picture, taught)
    if planned is None:
        return ""
    line = plan_line(
        planned.knots, planned.finished.total_g, planned.weaving_hours, begun=_is_woven(form, book)
    )
    if can_save_early(form):
        return line
    # Nobody said anything of the rug yet: figures alone read like somebody else's.
    proposed = _("As proposed, {size}:").format(size=size(form.width_cm, form.length_cm, form.unit))
    return f"{proposed}\n{line}"


def _is_woven(form: PlanForm, book: RugBook | None) -> bool:
    """Tell whether evenings of the rug are logged, so that the pages of its date go by those and no more by the plan."""
    return book is not None and not form.new and bool(book.woven_sessions)


def hours_words(
    form: PlanForm,
    book: RugBook | None = None,
    picture: CartoonPicture | None = None,
    taught: Taught = NOTHING_TAUGHT,
) -> str:
    """Say of which parts the hours at the loom are made, with what `summary` takes; "" where there is no plan yet."""
    planned = _planned(form, book, picture, taught)
    if planned is None:
        return ""
    return _(
        "Of the {hours} at the loom, {knotting} go into tying the knots at this rate, the rest into changing colours, "
        "a slower start and unpicking."
    ).format(hours=work_words(planned.weaving_hours), knotting=work_words(planned.knotting_hours))


def _planned(
    form: PlanForm, book: RugBook | None, picture: CartoonPicture | None, taught: Taught
) -> MaterialPlan | None:
    fence = {
        "width", "length", "across", "along", "pile", "raj", "unshorn", "jufti", "offset", *SHRINKAGES
    }  # fmt: skip
    if fence & set(troubles(form)):
        return None
    try:
        drafted = draft_book(form, book, picture)
        return material_plan(drafted, rows=rows_wanted(drafted), taught=taught)
    except BadEntry:
        return None


def plan_line(knots: int, finished_g: float, weaving_hours: float, begun: bool = False) -> str:
    """Say what a rug comes to, on one line of a phone: it stands under each part of the plan.

    Of one that is `begun` the hours are said to be the plan's: the date goes by its evenings.
    """
    said = (
        _("{knots} knots, about {hours} by the plan, finished {mass}")
        if begun
        else _("{knots} knots, about {hours}, finished {mass}")
    )
    return said.format(knots=number(knots), mass=mass(finished_g), hours=work_words(weaving_hours))


def density_table(form: PlanForm) -> tuple[tuple[str, str], ...]:
    """Return the density in every way the trade says it."""
    return Density(form.knots_per_10cm, form.rows_per_10cm, form.raj_cm).all_ways()


def size_lines(form: PlanForm, wrong: dict[str, str]) -> dict[str, Line]:
    """Return the lines of the part on size."""
    return {
        "width": Line(_("Width"), length(form.width_cm, form.unit), trouble=wrong.get("width", "")),
        "length": Line(_("Length"), length(form.length_cm, form.unit), trouble=wrong.get("length", "")),
    }


def cartoon_size_words(form: PlanForm) -> str:
    """Say what size the cartoon makes at the form's density; "" without a cartoon."""
    if form.cartoon is None:
        return ""
    return _("The cartoon has {knots} × {rows} knots; at this density that makes {size}.").format(
        knots=number(form.cartoon.knots),
        rows=number(form.cartoon.rows),
        size=size(form.true_width_cm, form.true_length_cm, form.unit),
    )


def size_line(form: PlanForm) -> Line:
    """Return the size that the cartoon makes as a line of the part on the density."""
    return Line(
        _("Size of the finished rug"),
        size(form.true_width_cm, form.true_length_cm, form.unit),
        _("It follows from the knots. Tap if it is sold by another measure, or shrinks when it is washed."),
    )


def measures() -> tuple[tuple[str, str], ...]:
    """Return (words, measure) of what a customer may measure."""
    return tuple((measure_words(measure), measure.value) for measure in SizeMeasure)


def measure_note(form: PlanForm) -> str:
    """Return a sentence on what the size that is asked for takes in."""
    return {
        SizeMeasure.KNOTTED: _("Of the finished rug, without selvedges, ends and fringes."),
        SizeMeasure.CLOTH: _("Of the finished rug, with selvedges and flat ends, without fringes."),
        SizeMeasure.FRINGES: _("Of the finished rug, with selvedges, ends and fringes."),
    }[SizeMeasure(form.size_measure)]


def shrinkage_lines(form: PlanForm, wrong: dict[str, str]) -> dict[str, Line]:
    """Return the lines on what the rug gives up between the loom and the floor."""
    labels = {
        "loom_shrinkage": (
            _("Shorter once off the loom"),
            _("The loom stretches the warps. Once cut off, the cloth gets a little shorter."),
        ),
        "wash_shrinkage_width": (_("Narrower after washing"), ""),
        "wash_shrinkage_length": (
            _("Shorter after washing"),
            _("Published: about 2 %, up to 5 or 10 %. None is assumed until you enter it."),
        ),
    }
    return {
        field: Line(
            label,
            _("{number} %").format(number=number(100 * getattr(form, field), 1))
            if getattr(form, field)
            else _("not said: none"),
            hint,
            wrong.get(field, ""),
        )
        for field, (label, hint) in labels.items()
    }


def taught_fields(taught: TaughtShrinkage) -> dict[str, float]:
    """Return the fields of the form that the last rug's washing tells."""
    shares = {
        "wash_shrinkage_width": taught.width_share,
        "wash_shrinkage_length": taught.length_share,
    }
    return {field: share for field, share in shares.items() if share is not None}


def follows_taught(form: PlanForm, taught: TaughtShrinkage) -> bool:
    """Tell whether the form already plans with what the last rug's washing tells."""
    return all(getattr(form, field) == share for field, share in taught_fields(taught).items())


def on_loom_words(form: PlanForm) -> str:
    """Return the size on the loom where the knotted part is not the finished size; "" where it is."""
    width_cm = form.knots / form.knots_per_10cm * 10 + selvedges_cm(form)
    length_cm = form.rows / form.rows_per_10cm * 10
    if not shrinks(form) and form.size_measure == SizeMeasure.KNOTTED:
        return ""
    return _("Planned on the loom: {size}").format(
        size=size_on_loom_words(form, width_cm, length_cm, form.unit)
    )


def tolerance_words(form: PlanForm) -> str:
    """Return by how much the finished sides may differ from what was ordered."""
    said = _(
        "The finished rug may differ by ± {width} in width and ± {length} in length from the order."
    ).format(
        width=length(tolerance_cm(form.true_width_cm), form.unit),
        length=length(tolerance_cm(form.true_length_cm), form.unit),
    )
    return f"{said} {tolerance_source(form.true_width_cm, form.true_length_cm, form.unit)}"


def cloth_lines(form: PlanForm, wrong: dict[str, str]) -> dict[str, Line]:
    """Return the lines of the part on density, knot and pile."""
    across, along = units_of(form)
    return {
        "across": Line(
            _("Knots across"),
            _side_words(form.knots_per_10cm, across, form.raj_cm),
            trouble=wrong.get("across", ""),
        ),
        "along": Line(
            _("Rows along"),
            _side_words(form.rows_per_10cm, along, form.raj_cm),
            trouble=wrong.get("along", ""),
        ),
        "pile": Line(
            _("Pile height"),
            small_length(form.pile_height_mm, form.unit),
            _("After shearing, above the knots."),
            wrong.get("pile", ""),
        ),
        "unshorn": Line(
            _("Pile height before shearing"),
            _("not said")
            if form.unshorn_mm is None
            else small_length(form.unshorn_mm, form.unit, 1 if form.unit == "inch" else 2),
            _("What the shears take follows from it. Until then {length} of each leg is assumed.").format(
                length=small_length(defaults.SHEARS_MM_PER_LEG, form.unit)
            ),
            wrong.get("unshorn", ""),
        ),
        "jufti": Line(
            _("Field tied over four warps"),
            _("{share} %").format(share=number(form.jufti_percent, 1)),
            _(
                "Such a knot (jufti) fills two places. If 70 of 100 knots are like this, they fill "
                "82 % of the field."
            ),
            wrong.get("jufti", ""),
        ),
    }


def yarn_cards(form: PlanForm, role: Role, wrong: dict[str, str]) -> tuple[PlannedYarnCard, ...]:
    """Return a card for every yarn of one role."""
    yarns = form.of(role)
    total = max(1, form.knots * form.rows)
    counted = {} if form.cartoon is None else counted_percents(form)
    cards = []
    for index, yarn in enumerate(yarns):
        note = yarn.count
        if role is Role.PILE:
            knots = knots_of(form, yarn)
            amount = _("{share} %").format(share=number(100 * knots / total, 1))
            if form.cartoon is not None:
                # Under one percent is said of the knots themselves.
                shown = counted[yarn.id] / 100 or knots / total
                amount = percent(shown) if knots else _("not in the cartoon")
            tied = round(knots * form.tied / total)
            note = n_("{count} knot", "{count} knots", tied).format(count=number(tied)) + (
                f" · {yarn.count}" if yarn.count else ""
            )
        elif role is Role.WEFT:
            amount = n_("{passes} pass a row", "{passes} passes a row", yarn.passes).format(
                passes=yarn.passes
            )
            note = yarn.count or assumed_words(form, yarn)
        else:
            amount, note = "", yarn.count or assumed_words(form, yarn)
        cards.append(
            PlannedYarnCard(
                yarn_id=yarn.id,
                swatch=yarn.swatch,
                number=code_of(role, yarn.number or index + 1),
                name=yarn.name or _("no name yet"),
                amount=amount,
                note=note,
                trouble=wrong.get(f"yarn {yarn.id}", ""),
            )
        )
    return tuple(cards)


def assumed_words(form: PlanForm, yarn: YarnForm) -> str:
    """Return the fineness that is assumed for a yarn whose own is left open."""
    bare = {y.id: y for y in to_yarns(form_without_counts(form))}
    return _("assumed: R {tex} tex, which suits the density").format(
        tex=show_number(assumed_tex(to_plan(form), bare[yarn.id]))
    )


def form_without_counts(form: PlanForm) -> PlanForm:
    """Return the form with every fineness left open."""
    from dataclasses import replace

    return replace(form, yarns=tuple(replace(yarn, count="") for yarn in form.yarns))


def count_line(form: PlanForm, yarn: YarnForm) -> Line:
    """Return the line on a yarn's fineness: as typed and as understood, or what is assumed."""
    trouble = count_trouble(yarn.count)
    if yarn.count.strip() and not trouble:
        fineness = parse_fineness(yarn.count)
        spoken = fineness.spoken
        if yarn.twist_percent and fineness.is_plied:
            tex = show_number(fineness.tex_after_twist(yarn.twist_percent / 100))
            spoken = _("{spoken}, {tex} tex once twisted").format(spoken=spoken, tex=tex)
        return Line(_("Fineness (yarn count)"), yarn.count, spoken)
    if trouble:
        return Line(_("Fineness (yarn count)"), yarn.count, trouble=trouble)
    return Line(_("Fineness (yarn count)"), _("not given"), assumed_words(form, yarn))


def asks_twist(yarn: YarnForm) -> bool:
    """Tell whether a yarn is said by singles that were twisted together."""
    return bool(yarn.count.strip()) and not count_trouble(yarn.count) and parse_fineness(yarn.count).is_plied


def _usual_unit_words(yarn: YarnForm) -> str:
    usual = yarn.unit_mass_g == usual_unit_g(Role(yarn.role))
    return _("Assumed until you enter your own. Weigh a full one.") if usual else ""


def _optional(value: float | None, words: str, empty: str) -> str:
    return empty if value is None else words.format(number=number(value, 2))


def per_length_label(role: str, inches: bool) -> str:
    """Return how the closeness of tufts or turns is asked."""
    if role == Role.FRINGE.value:
        return _("Tufts to the inch") if inches else _("Tufts in 1 cm")
    return _("Turns to the inch") if inches else _("Turns in 1 cm")


def yarn_lines(form: PlanForm, yarn: YarnForm, wrong: dict[str, str]) -> dict[str, Line]:
    """Return the lines of one yarn, by the name of what they ask."""
    pile = yarn.role == Role.PILE.value
    inches = form.unit == "inch"
    per_cm = CM_PER_INCH if inches else 1.0
    unit = {Role.PILE.value: _("On one ball"), Role.WEFT.value: _("On one shuttle")}.get(
        yarn.role, _("On one ball")
    )
    shares = dict(zip((y.id for y in form.of(Role.PILE)), even_shares(form.of(Role.PILE)), strict=True))
    return {
        "name": Line(_("Name"), yarn.name or _("no name yet"), trouble=_name_trouble(wrong, yarn)),
        "share": Line(
            _("Share of the knots"),
            _("{share} %").format(share=number(shares.get(yarn.id, 0.0), 1)),
            _("An even part; give your own when you know it.") if yarn.share is None else share_trouble(form),
        ),
        "count": count_line(form, yarn),
        "twist_percent": Line(
            _("Shortened by twisting"),
            _("{number} %").format(number=number(yarn.twist_percent, 1)),
            _("Twisting shortens the singles, so the yarn is heavier than they are. Often by 2 to 5 %."),
        ),
        "fibre": Line(_("Fibre"), fibre_words(yarn.fibre)),
        "unit_mass_g": Line(unit, mass(yarn.unit_mass_g), _usual_unit_words(yarn)),
        "passes": Line(
            _("Passes after each row"),
            number(yarn.passes),
            _("How often it goes through the shed."),
        ),
        "take_up_percent": Line(
            _("Take-up, measured"),
            _optional(yarn.take_up_percent, _("{number} %"), _("not measured")),
            _(
                "How much longer the yarn is than the cloth; calculated from the threads until you measure it."
            ),
        ),
        "per_cm": Line(
            per_length_label(yarn.role, inches),
            _optional(
                yarn.per_cm and yarn.per_cm * per_cm,
                "{number}",
                number(defaults.FRINGE_TUFTS_PER_CM * per_cm, 1)
                if yarn.role == Role.FRINGE.value
                else _("side by side"),
            ),
            _("Each strand is cut about twice as long as the fringe and doubled in half.")
            if yarn.role == Role.FRINGE.value
            else _("Count them on an edge you like; side by side, no warp shows."),
        ),
        "pieces": Line(
            _("Strands in a tuft") if yarn.role == Role.FRINGE.value else _("Cords along each side"),
            _optional(
                yarn.pieces,
                "{number}",
                number(
                    defaults.FRINGE_STRANDS if yarn.role == Role.FRINGE.value else defaults.CORDS_EACH_SIDE
                ),
            ),
            "" if yarn.role == Role.FRINGE.value else _("Mounted with the warp, and as long."),
        ),
        "dyer": Line(
            _("Dyer") if pile else _("Shop"),
            yarn.dyer or _("not given"),
            _("The shopping list is sorted by it."),
        ),
        "price_per_kg": Line(
            _("Price of a kilogram"), _optional(yarn.price_per_kg, "{number}", _("not given"))
        ),
        "lead_days": Line(
            _("From order to delivery"),
            n_("{days} day", "{days} days", yarn.lead_days).format(days=number(yarn.lead_days)),
            _("Then you are told in time when to order."),
        ),
        "margin_percent": Line(
            _("Bought on top of the need"),
            _("{number} %").format(number=number(yarn.margin_percent, 1)),
            _("A later bath never has quite the same shade."),
        ),
        "skein_g": Line(_("One skein"), mass(yarn.skein_g) if yarn.skein_g else _("not said: by the gram")),
        "least_g": Line(_("Least that is sold"), mass(yarn.least_g)),
        "cut_length_mm": Line(
            _("Yarn cut for one knot"),
            _("not measured")
            if yarn.cut_length_mm is None
            else small_length(yarn.cut_length_mm, form.unit, 1 if inches else 2),
            _("Calculated from warp, pile height and yarn until you measure it."),
        ),
        "pile_g_per_m2": Line(
            _("Pile yarn in a square foot") if inches else _("Pile yarn in a square metre"),
            _optional(
                yarn.pile_g_per_m2 and yarn.pile_g_per_m2 * (SQUARE_FOOT_M2 if inches else 1.0),
                _("{number} g"),
                _("not known"),
            ),
            _("If you know it from an earlier rug of this quality."),
        ),
    }


def _name_trouble(wrong: dict[str, str], yarn: YarnForm) -> str:
    sentence = wrong.get(f"yarn {yarn.id}", "")
    return "" if sentence == count_trouble(yarn.count) else sentence


def fibres() -> tuple[tuple[str, str], ...]:
    """Return (words, fibre) of the fibres whose density is known."""
    return tuple((fibre_words(fibre), fibre) for fibre in defaults.FIBRE_DENSITY_G_CM3)


def edges_to_add(form: PlanForm) -> tuple[tuple[str, Role], ...]:
    """Return (words, role) of the yarns of the edges that the plan does not have yet."""
    words = {
        Role.OVERCAST: _("Add overcasting of the sides"),
        Role.CORD: _("Add side cords"),
        Role.FRINGE: _("Add a fringe of its own"),
    }
    return tuple((words[role], role) for role in EDGES if not form.of(role))


def foundation_lines(form: PlanForm) -> dict[str, Line]:
    """Return the lines on the loom and on what is left at the ends."""
    unit = form.unit

    def length_or(value: float | None, empty: str) -> str:
        return empty if value is None else length(value, unit)

    return {
        "loom_width_cm": Line(
            _("Loom, clear between its sides"),
            length_or(form.loom_width_cm, _("not given")),
            _("Then you are told whether the rug fits."),
        ),
        "beam_roll_cm": Line(
            _("Cloth the beam can roll up"),
            length_or(form.beam_roll_cm, _("not given")),
        ),
        "selvedge_warps": Line(
            _("Extra warps in the selvedges"), number(form.selvedge_warps), _("Both sides together.")
        ),
        "end_cm": Line(_("Flat-woven end, each"), length(form.end_cm, unit)),
        "fringe_cm": Line(_("Fringe, each end"), length(form.fringe_cm, unit)),
        "loom_waste_cm": Line(
            _("Loom waste"),
            length(form.loom_waste_cm, unit),
            _("Tied round the beams and left unwoven."),
        ),
    }


def offers_rate(form: PlanForm, own: OwnRate | None) -> str:
    """Return the words of the key that plans with what the weaver ties by her own record; "" where the plan has it already."""
    if own is None or own.knots_per_hour == (form.knots_per_hour or defaults.KNOTS_PER_HOUR):
        return ""
    return _("Plan with {count} knots an hour").format(count=number(own.knots_per_hour))


def week_lines(
    form: PlanForm,
    today: date,
    wrong: dict[str, str],
    taught: Taught = NOTHING_TAUGHT,
    own: OwnRate | None = None,
) -> dict[str, Line]:
    """Return the lines on when and by whom the rug is woven.

    `taught` is what the weaver's finished rugs say of her pace, `own` what she ties on the rug that was woven last.
    """
    rests = [
        _("Your own expectation.")
        if form.knots_per_hour
        else _("A common rate; your first evenings replace it.")
    ]
    if taught.rugs:
        rests.append(
            _("With what your earlier rugs say, {count} an hour are expected.").format(
                count=number(round(knots_an_hour(plan_of_size(form, form.width_cm, form.length_cm), taught)))
            )
        )
    if own is not None:
        rests.append(
            _("On {rug} it was {count} an hour.").format(rug=own.rug, count=number(own.knots_per_hour))
        )
    return {
        "hours": Line(
            _("Hours at the loom in a week"),
            hours(form.hours_per_week),
            _("A guess will do. Your record soon replaces it."),
            wrong.get("hours", ""),
        ),
        "rate": Line(
            _("Knots an hour, each weaver"),
            number(form.knots_per_hour or defaults.KNOTS_PER_HOUR),
            " ".join(rests),
        ),
        "start": Line(_("First day at the loom"), day(form.start_day, today)),
        "wish": Line(
            _("Target date"),
            day(form.wished_day, today) if form.wished_day else _("none"),
            _("For a market or a wedding. You see how likely it is.") if not form.wished_day else "",
            wrong.get("wish", ""),
        ),
    }


def weekday_chips(form: PlanForm, first_weekday: int) -> tuple[tuple[str, int, bool], ...]:
    """Return (short name, weekday, planned) of the seven days."""
    return tuple(
        (
            weekday_name((first_weekday + at) % 7, "abbreviated"),
            (first_weekday + at) % 7,
            (first_weekday + at) % 7 in form.weekdays,
        )
        for at in range(7)
    )


def saved_words(form: PlanForm) -> str:
    """Return the sentence that answers saving."""
    if form.new:
        return _("{name} is planned: {knots} knots in {rows} rows.").format(
            name=form.name, knots=number(form.tied), rows=number(form.rows)
        )
    return _("The plan of {name} is changed.").format(name=form.name)
