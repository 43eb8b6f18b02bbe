"""The material plan for reading: the cloth, every yarn, what the loom takes, and where each number comes from."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from tracker.domain import defaults, material
from tracker.domain.finished_size import selvedges_cm
from tracker.domain.material_plan import (
    EdgeNeed,
    MaterialPlan,
    PileNeed,
    WarpNeed,
    WeftNeed,
    YarnNeed,
    spread,
)
from tracker.domain.rug import KnotKind, Role, RugBook, RugStage
from tracker.domain.units import SQUARE_FOOT_M2, show_number
from tracker.domain.winding import BallLine, ShuttleLine, usual_unit_g
from tracker.domain.work import pace_prior
from tracker.domain.yarn import all_counts
from tracker.forecast.answers import Answers
from tracker.presenters.answer_words import code_of
from tracker.presenters.preparation_hours import work_in_all_h, work_left_h
from tracker.presenters.record.yarn_use import basis_words, dry_mass_g, yarn_use
from tracker.presenters.size_words import density_words, one_side_words, size_on_loom_words
from tracker.presenters.standing import Standing, amount_words, stand_words, standing_of, whole_range_words
from tracker.presenters.trade_words import measure_words, offset_words
from tracker.presenters.warp_words import need_words, on_warp_words
from tracker.presenters.yarn_answers import assumed_units_words
from tracker.words import (
    _,
    divisor_that_makes,
    half_work_h,
    long_length,
    mass,
    mass_each,
    n_,
    number,
    one_after_another,
    parts_that_add_up,
    percent,
    rate_that_makes,
    shown_g,
    shown_parts_g,
    shown_rest_h,
    shown_work_h,
    size,
    small_length,
    work_words,
)
from tracker.words import length as length_words


@dataclass(frozen=True, slots=True)
class Story:
    """Where a number comes from: a sentence, and the figures that go into it."""

    title: str
    sentence: str
    lines: tuple[tuple[str, str], ...] = ()
    source: str = ""


@dataclass(frozen=True, slots=True)
class PlanFact:
    """One number of the plan with its name; tapping it tells its story."""

    label: str
    figure: str
    story: Story | None = None


@dataclass(frozen=True, slots=True)
class YarnFacts:
    """One yarn of the plan."""

    yarn_id: str
    swatch: str
    number: str
    name: str
    need: str
    range: str
    lines: tuple[str, ...]
    story: Story


@dataclass(frozen=True, slots=True)
class Group:
    """Facts that belong together."""

    title: str
    icon: str
    facts: tuple[PlanFact, ...] = ()
    yarns: tuple[YarnFacts, ...] = ()
    note: str = ""
    of: str = ""
    """What every yarn's mass is of, said once beside the title; "" where there are none."""


@dataclass(frozen=True, slots=True)
class MaterialState:
    """What the material page shows."""

    rug_name: str
    warnings: tuple[str, ...]
    groups: tuple[Group, ...]


def rests_words(rests_on: str) -> str:
    """Return a sentence on what the need of a yarn rests on."""
    return {
        material.SAMPLE: _("From a sample you knotted and weighed."),
        material.BORROWED: _("From the threads, corrected by your sample of another colour."),
        material.CUT_LENGTH: _("From the length of yarn you cut for one knot."),
        material.PER_AREA: _("From the pile yarn in a square metre that you gave."),
        material.GEOMETRY: _(
            "Calculated from the yarn round two warps, the pile, and what knife and shears take off. "
            "A knotted and weighed sample is more exact."
        ),
        material.MEASURED: _("From the take-up you measured."),
    }.get(rests_on, "")


def fineness_words(need: YarnNeed) -> str:
    """Return a yarn's fineness in tex and Nm, saying when it is assumed."""
    counts = dict(all_counts(need.tex))
    words = _("R {tex} tex (Nm {nm})").format(tex=show_number(need.tex), nm=counts["Nm"])
    return _("{fineness}, assumed").format(fineness=words) if need.tex_assumed else words


def _pile_source(plan: MaterialPlan, need: PileNeed) -> str:
    """Return where the figures of a knot come from, as far as they are assumed."""
    packing = _("Packing: {packing}.").format(packing=_(defaults.PACKING_PILE.source))
    if need.rests_on == material.CUT_LENGTH or plan.plan.knot_kind is KnotKind.ROD:
        return packing
    return _("Knife: {knife}.").format(knife=_(defaults.KNIFE_MM_PER_KNOT.source)) + " " + packing


def _knot_lines(plan: MaterialPlan) -> tuple[tuple[str, str], ...]:
    """Return how the knots are tied and how the warps stand, where it was said, and the colour changes."""
    of = plan.plan
    lines = []
    if of.jufti_share:
        lines.append((_("Field tied over four warps"), percent(of.jufti_share)))
    if of.warp_offset_degrees:
        lines.append((_("Every second warp"), offset_words(of.warp_offset_degrees)))
    if plan.colour_changes is not None:
        lines.append((_("Colour changes within the rows"), number(plan.colour_changes)))
    return tuple(lines)


@dataclass(frozen=True, slots=True)
class _PartOfKnots:
    """What a colour makes of all knots, as it is told: with the other colours it makes the whole."""

    knots: int
    share: float
    """To the whole percent, but where it is less than one."""


def _parts_of_knots(plan: MaterialPlan) -> tuple[_PartOfKnots, ...]:
    knots = parts_that_add_up([need.knots for need in plan.pile])
    percents = parts_that_add_up([100 * need.share for need in plan.pile])
    return tuple(
        _PartOfKnots(round(told), min(whole / 100, 0.99 if need.share < 1 - 1e-9 else 1.0) or need.share)
        for need, told, whole in zip(plan.pile, knots, percents, strict=True)
    )


def _pile_facts(
    plan: MaterialPlan,
    need: PileNeed,
    part: _PartOfKnots,
    balls: BallLine | None,
    standing: Standing,
    unit: str,
) -> YarnFacts:
    rows = ""
    if need.rows_with is not None:
        rows = (
            n_(
                "in {count} row, from row {first} to row {last}",
                "in {count} rows, from row {first} to row {last}",
                need.rows_with,
            ).format(
                count=number(need.rows_with),
                first=number(need.first_row or 0),
                last=number(need.last_row or 0),
            )
            if need.rows_with
            else _("not in the cartoon")
        )
    knots = n_("{knots} knot, {share}", "{knots} knots, {share}", part.knots).format(
        knots=number(part.knots), share=percent(part.share)
    )
    lines = [knots, rows, *standing_lines(standing), ball_words(balls, unit) if balls is not None else ""]
    return YarnFacts(
        yarn_id=need.yarn_id,
        swatch=need.swatch,
        number=str(need.number),
        name=need.name,
        need=mass(need.need_g),
        range=whole_range_words(standing),
        lines=tuple(line for line in lines if line),
        story=Story(
            title=need.name,
            sentence=rests_words(need.rests_on),
            lines=(
                (_("Knots"), number(part.knots)),
                (
                    _("Yarn in one knot, by weight"),
                    _("{mg} mg").format(mg=number(need.mass_per_knot_g * 1000, 1)),
                ),
                (_("Fineness (yarn count)"), fineness_words(need)),
                (_("Thickness of the yarn"), small_length(need.diameter_mm, unit, 2)),
                (_("Yarn in one knot, by length"), small_length(need.mass_per_knot_g / need.tex * 1e6, unit)),
                (_("Length in all"), long_length(need.length_m, unit)),
                *_parts_of_knot(need, unit),
            ),
            source=_pile_source(plan, need),
        ),
    )


def _parts_of_knot(need: PileNeed, unit: str) -> tuple[tuple[str, str], ...]:
    """Return what a knot's yarn goes into; where the need rests on something else than the geometry, that is said."""
    knot = need.knot
    if need.rests_on in (material.GEOMETRY, material.CUT_LENGTH):
        return (
            (_("Wrapped round the warps (calculated)"), small_length(knot.collar_mm, unit)),
            (_("Two legs of pile"), small_length(knot.legs_mm, unit)),
            (_("The knife takes"), small_length(knot.knife_mm, unit)),
            (_("The shears take"), small_length(knot.shears_mm, unit)),
        )
    return ((_("Calculated from the threads alone"), small_length(knot.total_mm, unit)),)


def ball_words(line: BallLine, unit: str = "cm") -> str:
    """Return the balls of a colour, and how the weavers share them."""
    if not line.balls:
        return _("no ball to wind")
    words = n_("{count} ball of {mass}", "{count} balls of about {mass}", line.balls).format(
        count=number(line.balls), mass=mass_each(line.need_g, line.balls)
    )
    shared = shared_balls_words(line)
    return ", ".join(
        part
        for part in (words, shared, _("about {mm} across").format(mm=small_length(line.diameter_mm, unit, 0)))
        if part
    )


def shared_balls_words(line: BallLine) -> str:
    """Say how the weavers share the balls of a colour, section by section; "" where one weaves alone."""
    if len(line.by_section) < 2:
        return ""
    if len(set(line.by_section)) == 1:
        each = line.by_section[0]
        return n_("{each} for each weaver", "{each} for each weaver", each).format(each=number(each))
    return _("{balls} from left to right").format(
        balls=one_after_another([number(balls) for balls in line.by_section])
    )


def _take_up_words(number_: int) -> str:
    """Return where the take-up of weft number `number_` comes from when nobody measured it."""
    if number_ == 1:
        return _("The usual extra length of a thick weft. Measure the take-up to be more exact.")
    return _("Calculated from how it waves between the warps. Measure the take-up to be more exact.")


def _rows_each(shuttles: ShuttleLine) -> str:
    """Return the rows for which a shuttle lasts, so fine that all of them last for all rows."""
    rows = round(shuttles.rows_per_shuttle * shuttles.shuttles)
    if shuttles.shuttles < 2 or not rows:
        return number(shuttles.rows_per_shuttle)
    return number(*rate_that_makes(shuttles.rows_per_shuttle, shuttles.shuttles, rows, 0.5))


def _weft_facts(need: WeftNeed, shuttles: ShuttleLine | None, standing: Standing, unit: str) -> YarnFacts:
    lines = [
        n_("{count} pass after each row", "{count} passes after each row", need.passes_per_row).format(
            count=number(need.passes_per_row)
        ),
        *standing_lines(standing),
    ]
    if shuttles is not None and shuttles.shuttles:
        lines.append(
            n_(
                "{count} shuttle, for {rows} rows",
                "{count} shuttles, each for about {rows} rows",
                shuttles.shuttles,
            ).format(count=number(shuttles.shuttles), rows=_rows_each(shuttles))
        )
    measured = need.rests_on == material.MEASURED
    return YarnFacts(
        yarn_id=need.yarn_id,
        swatch=need.swatch,
        number=code_of(Role.WEFT, need.number),
        name=need.name,
        need=mass(need.need_g),
        range=whole_range_words(standing),
        lines=tuple(line for line in lines if line),
        story=Story(
            title=need.name,
            sentence=rests_words(material.MEASURED) if measured else _take_up_words(need.number),
            lines=(
                (_("Take-up"), _("{number} %").format(number=number(100 * need.take_up, 1))),
                (_("Length of one pass"), length_words(need.length_per_pass_cm, unit)),
                (_("of that, the turn at the selvedge"), length_words(need.turn_cm, unit)),
                (_("Weight after each row"), _("{number} g").format(number=number(need.mass_per_row_g, 2))),
                (_("Passes in each flat end"), number(need.end_picks)),
                (_("In both flat ends"), mass(need.ends_g)),
                (_("Fineness (yarn count)"), fineness_words(need)),
                (_("Thickness"), small_length(need.diameter_mm, unit, 2)),
                (_("Length in all"), long_length(need.length_m, unit)),
            ),
            source=_("F. T. Peirce, The Geometry of Cloth Structure, 1937. Thick weft: {ground}").format(
                ground=_(defaults.GROUND_WEFT_TAKE_UP.source)
            ),
        ),
    )


def _warp_facts(plan: MaterialPlan, need: WarpNeed, standing: Standing, unit: str) -> YarnFacts:
    balls = n_("{count} ball", "{count} balls", need.balls).format(count=number(need.balls))
    shared = plan.shared_warp
    own = None if shared is None else shared.of(plan.plan.id)
    beyond = (
        (_("Loom waste"), length_words(plan.plan.loom_waste_cm, unit))
        if own is None
        else (_("Its part of gaps and loom waste"), length_words(own.beyond_cm, unit))
    )
    return YarnFacts(
        yarn_id=need.yarn_id,
        swatch=need.swatch,
        number=code_of(Role.WARP, need.number),
        name=need.name,
        need=mass(need.need_g),
        range=whole_range_words(standing),
        lines=tuple(
            line
            for line in (
                _("{warps} warps of {length}").format(
                    warps=number(plan.warps), length=length_words(plan.warp_length_cm, unit)
                ),
                *standing_lines(standing),
                # Full ones: together they hold more than is needed.
                _("{balls} of at most {mass}").format(balls=balls, mass=mass(need.ball_g)),
                "" if shared is None else on_warp_words(shared, unit),
                "" if shared is None else need_words(shared),
            )
            if line
        ),
        story=Story(
            title=need.name,
            sentence=_("Counted from the knots: two warps each, and the selvedges."),
            lines=(
                (_("Knots across"), number(plan.plan.knots_across)),
                (_("Extra warps in the selvedges"), number(plan.plan.selvedge_warps)),
                (_("Warps"), number(plan.warps)),
                (
                    _("Woven length with both ends"),
                    length_words(plan.on_loom_length_cm + 2 * plan.plan.end_cm, unit),
                ),
                (_("Fringes, both"), length_words(2 * plan.plan.fringe_cm, unit)),
                beyond,
                (_("Length of one warp, with take-up"), length_words(plan.warp_length_cm, unit)),
                (_("Fineness (yarn count)"), fineness_words(need)),
                (_("Thickness"), small_length(need.diameter_mm, unit, 2)),
            ),
            source=_("Take-up of the warp: {source}").format(source=_(defaults.WARP_TAKE_UP.source)),
        ),
    )


def _edge_facts(plan: MaterialPlan, need: EdgeNeed, standing: Standing, unit: str) -> YarnFacts:
    if need.role is Role.OVERCAST:
        what = n_("{count} turn of {length}", "{count} turns of {length}", need.count)
        sentence = _(
            "Wound round both selvedges along the whole cloth as it is on the loom, turn beside turn."
        )
        source = _(defaults.OVERCAST_SIDE_BY_SIDE.source)
    elif need.role is Role.CORD:
        what = n_("{count} cord of {length}", "{count} cords of {length}", need.count)
        sentence = _("Mounted with the warp and just as long. Loom waste is included.")
        source = ""
    else:
        what = n_(
            "{count} tuft of strands cut to {length}", "{count} tufts of strands cut to {length}", need.count
        )
        sentence = _(
            "Knotted into both ends. The warp keeps its own length: its ends hold the cloth until the fringe does."
        )
        source = _(defaults.FRINGE_FOLDS.source) + ". " + _(defaults.FRINGE_KNOT_CM.source)
    amount = what.format(count=number(need.count), length=length_words(need.each_cm, unit))
    pieces = {
        Role.CORD: ((_("Cords along each side"), number(need.pieces)),),
        Role.FRINGE: ((_("Strands in a tuft"), number(need.pieces)),),
    }.get(need.role, ())
    return YarnFacts(
        yarn_id=need.yarn_id,
        swatch=need.swatch,
        number=code_of(need.role, need.number),
        name=need.name,
        need=mass(need.need_g),
        range=whole_range_words(standing),
        lines=(amount, *standing_lines(standing)),
        story=Story(
            title=need.name,
            sentence=sentence,
            lines=(
                *pieces,
                (_("Fineness (yarn count)"), fineness_words(need)),
                (_("Thickness"), small_length(need.diameter_mm, unit, 2)),
                (_("Length in all"), long_length(need.length_m, unit, 1)),
            ),
            source=source,
        ),
    )


def _finished_size(plan: MaterialPlan, unit: str) -> PlanFact:
    """Return the size of the finished rug, as the customer measures it, with what it may be off by; of one that was measured that."""
    of = plan.plan
    planned = size(plan.finished_width_cm, plan.finished_length_cm, unit)
    wide, long = of.finished_width_cm, of.finished_length_cm
    measured = size(wide, long, unit) if wide is not None and long is not None else ""
    shrinks = (
        (_("Shorter once off the loom"), of.loom_shrinkage),
        (_("Narrower after washing"), of.wash_shrinkage_width),
        (_("Shorter after washing"), of.wash_shrinkage_length),
    )
    return PlanFact(
        _("Finished size"),
        measured or "; ".join(filter(None, (planned, one_side_words(of, unit)))),
        Story(
            _("Finished size"),
            _("Off the loom, washed and dry, {measure}.").format(measure=measure_words(of.size_measure)),
            (
                *(((_("Planned"), planned),) if measured else ()),
                *(
                    (label, _("{number} %").format(number=number(100 * share, 1)))
                    for label, share in shrinks
                    if share
                ),
                (_("Allowed in width, either way"), length_words(plan.tolerance_width_cm, unit)),
                (_("Allowed in length, either way"), length_words(plan.tolerance_length_cm, unit)),
            ),
            _(
                "Allowed: how much a finished side may differ from the order. The Turkish standard "
                "TS 43 says {least} to {most} by size (from eracarpets.com). In between we take 2.5 "
                "% of the side."
            ).format(
                least=length_words(defaults.TOLERANCE_CM[0], unit),
                most=length_words(defaults.TOLERANCE_CM[1], unit),
            )
            + " "
            + _("Shrinking: {source}.").format(source=_(defaults.USUAL_WASH_SHRINKAGE.source)),
        ),
    )


def standing_lines(standing: Standing) -> tuple[str, ...]:
    """Return what is still needed, on hand and to buy of a yarn, in the words of the pages of yarn and shopping."""
    buy = standing.buy
    if not buy.mass_g:
        return (stand_words(standing),)
    return stand_words(standing), _("to buy: {amount}").format(amount=amount_words(buy))


def _of_whole(group: Group) -> Group:
    """Return the yarns of a rug that is to be woven, with what their masses are of."""
    return replace(group, of=_("for the whole rug") if group.yarns else "")


def _as_used(
    group: Group, book: RugBook, answers: Answers, plan: MaterialPlan, standing: Callable[[str], Standing]
) -> Group:
    """Return the yarns of a finished rug with what it took of them, as its record tells it, and what is left; nothing is to buy."""
    yarns = {yarn.id: yarn for yarn in book.yarns}
    told = []
    for facts in group.yarns:
        stands, use = standing(facts.yarn_id), yarn_use(book, answers, plan, yarns[facts.yarn_id])
        left = _("left over {mass}").format(mass=mass(stands.on_hand_g))
        told.append(
            replace(
                facts,
                need="–" if use.told_g is None else mass(use.told_g),
                range=basis_words(use)
                if use.basis == "plan"
                else _("{basis}; planned {mass}").format(basis=basis_words(use), mass=facts.need),
                lines=(
                    *(line for line in facts.lines if line not in standing_lines(stands)),
                    *((left,) if shown_g(stands.on_hand_g) else ()),
                ),
            )
        )
    return replace(group, yarns=tuple(told), note="", of=_("used in the rug") if told else "")


def build_material_state(
    book: RugBook, plan: MaterialPlan, answers: Answers | None, unit: str = "cm"
) -> MaterialState:
    """Return the whole plan in words, lengths in `unit`; what to buy follows from the answers, as on every other page."""

    yarns = {yarn.id: yarn for yarn in book.yarns}
    by_yarn = {} if answers is None else {answer.yarn_id: answer for answer in answers.yarns}
    on_list = {line.yarn_id: line for line in plan.shopping.lines}

    def standing(yarn_id: str) -> Standing:
        return standing_of(book, on_list[yarn_id], by_yarn.get(yarn_id), yarns[yarn_id])

    measured_cm = None if answers is None else answers.final_length_cm
    about_lots = {line.warning for line in plan.shopping.lines}
    finished = book.plan.stage is RugStage.FINISHED
    # Nothing is wound any more for a rug that is finished.
    balls = {} if finished else {line.yarn_id: line for line in plan.balls}
    shuttles = {} if finished else {line.yarn_id: line for line in plan.shuttles}
    cloth = Group(
        _("The cloth"),
        "rug",
        (
            _finished_size(plan, unit),
            PlanFact(
                _("Planned on the loom"),
                size_on_loom_words(plan.plan, plan.on_loom_width_cm, plan.on_loom_length_cm, unit),
                Story(
                    _("Planned on the loom"),
                    _(
                        "The knots across and the rows at the planned density. The width takes in the "
                        "selvedges, the length no flat ends and fringes."
                    ),
                    (
                        (_("Knots across"), number(plan.plan.knots_across)),
                        (_("Rows"), number(plan.plan.rows)),
                        (
                            _("Width of the knots alone"),
                            length_words(plan.on_loom_width_cm - selvedges_cm(plan.plan), unit),
                        ),
                        (_("Length with the flat ends"), length_words(plan.loom.cloth_length_cm, unit)),
                        *(
                            ((_("Length at the last row, by the tape"), length_words(measured_cm, unit)),)
                            if measured_cm is not None
                            else ()
                        ),
                    ),
                ),
            ),
            PlanFact(
                _("Knots"),
                number(plan.knots),
                Story(
                    _("Knots"),
                    _("{knots} knots across in {rows} rows.").format(
                        knots=number(plan.plan.knots_across), rows=number(plan.plan.rows)
                    ),
                    _knot_lines(plan),
                ),
            ),
            PlanFact(
                _("Density"),
                density_words(plan.density.knots_per_10cm, plan.density.rows_per_10cm, unit),
                Story(
                    _("Density"),
                    _("The same density in every way the trade says it."),
                    plan.density.all_ways(),
                ),
            ),
            _finished(
                plan, unit, book.plan.washed_g or book.plan.unwashed_g, dry_mass_g(book, answers, plan)
            ),
        ),
    )
    colours = Group(
        _("Colours"),
        "ball",
        yarns=tuple(
            _pile_facts(plan, need, part, balls.get(need.yarn_id), standing(need.yarn_id), unit)
            for need, part in zip(plan.pile, _parts_of_knots(plan), strict=True)
        ),
        note=assumed_units_words(book.yarns, Role.PILE),
    )
    wefts = Group(
        _("Wefts"),
        "shuttle",
        yarns=tuple(
            _weft_facts(need, shuttles.get(need.yarn_id), standing(need.yarn_id), unit) for need in plan.wefts
        ),
        note=assumed_units_words(book.yarns, Role.WEFT),
    )
    warp = Group(
        _("Warp"),
        "warp",
        yarns=() if plan.warp is None else (_warp_facts(plan, plan.warp, standing(plan.warp.yarn_id), unit),),
        note="" if plan.warp is None else assumed_units_words(book.yarns, Role.WARP),
    )
    edges = Group(
        _("Edges"),
        "ball",
        yarns=tuple(_edge_facts(plan, need, standing(need.yarn_id), unit) for need in plan.edges),
    )
    return MaterialState(
        rug_name=book.plan.name,
        # The shopping page speaks of dye lots.
        warnings=tuple(
            sentence
            for sentence in plan.warnings
            if sentence not in about_lots and sentence not in plan.loom.sentences
        )
        + plan.loom.sentences_in(unit),
        groups=tuple(
            group
            for group in (
                cloth,
                *(
                    _of_whole(group)
                    if answers is None or not finished
                    else _as_used(group, book, answers, plan, standing)
                    for group in (colours, wefts, warp, edges)
                ),
                _loom(plan, unit),
                _work(plan, bool(book.woven_sessions)),
            )
            if group.facts or group.yarns
        ),
    )


def _per_area_words(g_per_m2: float, unit: str) -> str:
    """Return what lies on each square metre, or on each square foot for who measures in inches."""
    if unit == "inch":
        return _("{mass} on each square foot").format(mass=mass(g_per_m2 * SQUARE_FOOT_M2))
    return _("{mass} on each m²").format(mass=mass(g_per_m2))


def _finished(plan: MaterialPlan, unit: str, weighed_g: float | None, dry_g: float) -> PlanFact:
    """Return what the finished rug weighs, `dry_g` as every page says it; its parts in the plan's shares.

    `weighed_g` is what the scale showed, where it lay on one.
    """
    finished = plan.finished if dry_g == plan.finished.total_g else plan.finished.weighing(dry_g)
    wide, long = plan.plan.finished_width_cm, plan.plan.finished_length_cm
    if weighed_g is not None and wide is not None and long is not None:
        finished = replace(finished, area_m2=wide * long / 1e4)
    inches = unit == "inch"
    pile_g, wefts_g, warp_g, edges_g = shown_parts_g(
        (finished.pile_g, finished.wefts_g, finished.warp_g, finished.edges_g)
    )
    lines = [
        (_("Pile"), mass(pile_g)),
        (_("Wefts"), mass(wefts_g)),
        (_("Warp in the cloth"), mass(warp_g)),
        *(((_("Overcasting and side cords"), mass(edges_g)),) if finished.edges_g else ()),
        (_("In all"), mass(finished.total_g)),
        (
            _("A square foot") if inches else _("A square metre"),
            _per_area_words(finished.g_per_m2, unit),
        ),
    ]
    sentence = (
        _("As it was weighed; its parts as they share it by the plan.")
        if weighed_g is not None
        else _("What stays in the rug after shearing and cutting off the loom waste, without fringes.")
        if finished is plan.finished
        else _("By the yarn that was used; its parts as they share it by the plan.")
    )
    source = ""
    if finished.published_g_per_m2 is not None:
        least, most = (each * (SQUARE_FOOT_M2 if inches else 1.0) for each in finished.published_g_per_m2)
        lines.append(
            (
                _("Published for this density"),
                _("{least} to {most}").format(least=mass(least), most=mass(most)),
            )
        )
        source = _("nepalcarpet.org, “Quality of Carpets”; pile heights are not given there")
    return PlanFact(
        _("Finished rug"),
        f"{mass(finished.total_g)}, {_per_area_words(finished.g_per_m2, unit)}",
        Story(_("Finished rug"), sentence, tuple(lines), source),
    )


def _fits(fits: bool | None, spare_cm: float | None, unit: str, unknown: str) -> str:
    if fits is None or spare_cm is None:
        return unknown
    if fits:
        return _("fits, {spare} to spare").format(spare=length_words(spare_cm, unit))
    return _("too large by {less}").format(less=length_words(-spare_cm, unit))


def _loom(plan: MaterialPlan, unit: str) -> Group:
    loom = plan.loom
    return Group(
        _("Does it fit the loom?"),
        "measure",
        (
            PlanFact(
                _("Between the sides"),
                _fits(loom.fits_width, loom.spare_width_cm, unit, _("loom's size not given")),
                Story(
                    _("Between the sides"),
                    _("The cloth with its selvedges, and room for hands at both sides."),
                    (
                        (_("Cloth with selvedges"), length_words(loom.cloth_width_cm, unit)),
                        (_("Room for hands"), length_words(float(defaults.LOOM_SIDE_ROOM_CM), unit)),
                        *(
                            ((_("Loom"), length_words(loom.between_cm, unit)),)
                            if loom.between_cm is not None
                            else ()
                        ),
                    ),
                    _(defaults.LOOM_SIDE_ROOM_CM.source),
                ),
            ),
            PlanFact(
                _("On the beam"),
                _fits(loom.fits_roll, loom.spare_roll_cm, unit, _("what it rolls up is not given")),
                Story(
                    _("On the beam"),
                    _("The whole cloth with both flat ends, against what the beam can roll up."),
                    ((_("Cloth with its ends"), length_words(loom.cloth_length_cm, unit)),),
                ),
            ),
        ),
    )


def _pace_source(plan: MaterialPlan) -> str:
    """Say where the expected rate comes from; "" where the plan names it and nothing else is known."""
    if plan.taught.rugs:
        return n_(
            "from your plan and {count} earlier rug",
            "from your plan and {count} earlier rugs",
            plan.taught.rugs,
        ).format(count=number(plan.taught.rugs))
    return "" if plan.plan.knots_per_hour else _(defaults.KNOTS_PER_HOUR.source)


def _rate_between(plan: MaterialPlan) -> str:
    """Return the knots an hour between which the true rate is believed to lie before the first evening."""
    prior = pace_prior(plan.plan, plan.plan.knots_across, plan.taught)
    low, high = spread(plan.knots_per_hour, prior.level_sd)
    return _("{low} to {high}").format(low=number(low), high=number(high))


def _rate_words(plan: MaterialPlan, rate: float) -> str:
    """Return knots an hour so fine that the knots divided by them come to the hours of knotting that are told."""
    hours = plan.knotting_hours
    return number(*divisor_that_makes(rate, plan.knots, shown_work_h(hours), half_work_h(hours)))


def _work(plan: MaterialPlan, begun: bool) -> Group:
    # Once evenings are logged the date goes by them: whose hours these are is said.
    knotting = _("Knotting, by the plan") if begun else _("Knotting")
    preparation = plan.preparation
    several = plan.plan.weavers_planned > 1
    alone = number(round(plan.knots_per_hour)) if several else _rate_words(plan, plan.knots_per_hour)
    together: tuple[tuple[str, str], ...] = ()
    if several and plan.knotting_hours > 0:
        # Side by side nobody is quite as quick as alone: their number times the rate is not what they tie.
        both = _rate_words(plan, plan.knots / plan.knotting_hours)
        together = ((_("Knots an hour, all together: they wait for one another"), both),)
    rest_h = shown_rest_h(plan.weaving_hours, plan.knotting_hours)
    each = (
        *(
            (words.format(mass=mass(usual_g)), work_words(time.hours(usual_g)))
            for words, time, usual_g in (
                (_("One ball of {mass}"), preparation.ball, usual_unit_g(Role.PILE)),
                (_("One shuttle of {mass}"), preparation.shuttle, usual_unit_g(Role.WEFT)),
            )
        ),
        (_("The warp"), work_words(preparation.warp.hours(0.0))),
    )
    return Group(
        _("The work"),
        "timer",
        (
            PlanFact(
                _("Preparation"),
                work_words(work_in_all_h(preparation)),
                Story(
                    _("Preparation"),
                    preparation.rests_on,
                    (*each, (_("Left to do"), work_words(work_left_h(preparation)))),
                    _("One ball, one shuttle, the warp: {source}").format(
                        source=_(defaults.HOURS_BALL_PER_100_G.source)
                    ),
                ),
            ),
            PlanFact(
                knotting,
                work_words(plan.weaving_hours),
                Story(
                    knotting,
                    _(
                        "All knots at the expected rate, the planned weavers together. The first evenings replace it."
                    ),
                    (
                        (_("Knots"), number(plan.knots)),
                        (_("Knots an hour, each weaver"), alone),
                        (_("Likely range"), _rate_between(plan)),
                        (_("Weavers side by side"), number(plan.plan.weavers_planned)),
                        *together,
                        (_("The knots alone, at that rate"), work_words(plan.knotting_hours)),
                        (_("Changing colours, a slower start, unpicking"), work_words(rest_h)),
                    ),
                    _pace_source(plan),
                ),
            ),
        ),
    )
