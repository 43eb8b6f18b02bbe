"""Deliberate mistakes in the sums: what a slip of a developer's hand could make of them, and where."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path


class DoesNotFit(Exception):
    """The text a mistake replaces is not in its file exactly once any more: bring the mistake up to date."""


@dataclass(frozen=True, slots=True)
class Mistake:
    """One mistake: `right` stands in `file` once and becomes `wrong`."""

    name: str
    file: str
    right: str
    wrong: str

    def plant(self, root: Path) -> None:
        """Put the mistake into the tree at `root`."""
        path = root / self.file
        text = path.read_text(encoding="utf-8")
        if text.count(self.right) != 1:
            raise DoesNotFit(
                f"{self.name}: {text.count(self.right)} places in {self.file} read {self.right!r}"
            )
        path.write_text(text.replace(self.right, self.wrong), encoding="utf-8")


DEFAULTS = "tracker/domain/defaults.py"
MATERIAL = "tracker/domain/material.py"
PLAN = "tracker/domain/material_plan.py"
FOUNDATION = "tracker/domain/foundation.py"
NEED = "tracker/domain/need.py"
ROWS = "tracker/domain/rows.py"
CARTOON = "tracker/domain/cartoon.py"
SHOPPING = "tracker/domain/shopping.py"
GATHERED = "tracker/domain/gathered.py"
WINDING = "tracker/domain/winding.py"
WORK = "tracker/domain/work.py"
COSTS = "tracker/domain/costs.py"
CHART = "tracker/forecast/chart.py"
EDGES = "tracker/domain/edges.py"
SIZE = "tracker/domain/finished_size.py"
FIBRES = "tracker/domain/fibres.py"
YARN = "tracker/domain/yarn.py"
UNITS = "tracker/domain/units.py"
SHAPE = "tracker/domain/shape.py"

MISTAKES = (
    # Those that once lived.
    Mistake("knife 0 mm", DEFAULTS, "KNIFE_MM_PER_KNOT = Default(\n    3.0", "KNIFE_MM_PER_KNOT = Default(\n    0.0"),
    Mistake("knife 15 mm", DEFAULTS, "KNIFE_MM_PER_KNOT = Default(\n    3.0", "KNIFE_MM_PER_KNOT = Default(\n    15.0"),
    Mistake("shears 6 mm", DEFAULTS, "SHEARS_MM_PER_LEG = Default(\n    1.5", "SHEARS_MM_PER_LEG = Default(\n    6.0"),
    Mistake("warp without fringe and waste", MATERIAL, " + 2.0 * plan.fringe_cm + plan.loom_waste_cm", ""),
    Mistake("turns of the weft 0", MATERIAL, "return (around_mm + up_mm) / 10.0", "return 0.0 * (around_mm + up_mm)"),
    Mistake("extra length of the thick weft 0", DEFAULTS, "GROUND_WEFT_TAKE_UP = Default(\n    0.15", "GROUND_WEFT_TAKE_UP = Default(\n    0.0"),
    Mistake("flat ends forgotten", NEED, "warp) / 2.0 if ground else 0.0", "warp) * 0.0 if ground else 0.0"),
    Mistake("end picks counted once", FOUNDATION, "picks = 2 * end_picks(plan, ground)", "picks = end_picks(plan, ground)"),
    Mistake("margin dropped", SHOPPING, "short_g = need_g + margin_g - on_hand_g", "short_g = need_g - on_hand_g"),
    Mistake("balls rounded down", WINDING, "balls = max(1, math.ceil(mass_g / full_ball_g - _GRAIN))", "balls = max(1, math.floor(mass_g / full_ball_g))"),
    Mistake("rate 500", DEFAULTS, "KNOTS_PER_HOUR = Default(\n    750.0", "KNOTS_PER_HOUR = Default(\n    500.0"),
    # Material.
    Mistake("the shears take one leg", MATERIAL, "2.0 * defaults.SHEARS_MM_PER_LEG", "defaults.SHEARS_MM_PER_LEG"),
    Mistake("one leg of pile", MATERIAL, "legs_mm=2.0 * plan.pile_height_mm", "legs_mm=plan.pile_height_mm"),
    Mistake("what is lost is not used", MATERIAL, "return self.collar_mm + self.legs_mm + self.lost_mm", "return self.collar_mm + self.legs_mm"),
    Mistake("what is lost stays in the rug", MATERIAL, '"""Yarn that stays in the rug."""\n        return self.collar_mm + self.legs_mm', '"""Yarn that stays in the rug."""\n        return self.total_mm'),
    Mistake("a collar of two turns", MATERIAL, "turns_mm = 3.0 * math.pi * radius_mm", "turns_mm = 2.0 * math.pi * radius_mm"),
    Mistake("asymmetric knots like symmetric ones", MATERIAL, "return max(0.0, spacing_mm - 2.0 * radius_mm) + 3.0", "return spacing_mm + 3.0"),
    Mistake("one warp to a knot", MATERIAL, "return 2 * plan.knots_across + plan.selvedge_warps", "return plan.knots_across + plan.selvedge_warps"),
    Mistake("selvedge warps forgotten", MATERIAL, "return 2 * plan.knots_across + plan.selvedge_warps", "return 2 * plan.knots_across"),
    Mistake("one fringe", MATERIAL, "2.0 * plan.fringe_cm", "plan.fringe_cm"),
    Mistake("loom waste forgotten", MATERIAL, " + plan.loom_waste_cm", ""),
    Mistake("warp under one flat end", MATERIAL, "(pile_cm + 2.0 * plan.end_cm)", "(pile_cm + plan.end_cm)"),
    Mistake("take-up on fringes and waste", MATERIAL, "* (1.0 + crimp) + 2.0 * plan.fringe_cm + plan.loom_waste_cm", "* (1.0 + crimp) + (2.0 * plan.fringe_cm + plan.loom_waste_cm) * (1.0 + crimp)"),
    Mistake("weft without take-up", MATERIAL, "cloth_width_cm(plan) * (1.0 + weft_take_up(plan, yarn, warp))", "cloth_width_cm(plan)"),
    Mistake("one pass a row", MATERIAL, "passes_cm = yarn.passes_per_row * weft_length", "passes_cm = weft_length"),
    Mistake("measured take-up ignored", MATERIAL, "if yarn.take_up is not None:\n        return yarn.take_up", "if yarn.take_up is not None and yarn.take_up > 9:\n        return yarn.take_up"),
    Mistake("a whole circle at each turn", MATERIAL, "around_mm = math.pi / 2.0", "around_mm = math.pi"),
    Mistake("no way up at each turn", MATERIAL, "return (around_mm + up_mm) / 10.0", "return around_mm / 10.0"),
    Mistake("thin weft pulled taut", DEFAULTS, "SINUOUS_WEFT_WAVE = Default(\n    0.5", "SINUOUS_WEFT_WAVE = Default(\n    0.15"),
    Mistake("a tex ten times too light", MATERIAL, "TEX_TO_G_PER_CM = 1e-5", "TEX_TO_G_PER_CM = 1e-6"),
    Mistake("cut length ignored", MATERIAL, "if not yarn.cut_length_mm:\n        return knot", "if not yarn.cut_length_mm or yarn.cut_length_mm > 0:\n        return knot"),
    Mistake("cut length taken twice", MATERIAL, "lost_mm = yarn.cut_length_mm - legs_mm", "lost_mm = 2.0 * yarn.cut_length_mm - legs_mm"),
    Mistake("mass per area ignored", MATERIAL, "if yarn.pile_g_per_m2 and not yarn.cut_length_mm:\n        return", "if yarn.pile_g_per_m2 and yarn.pile_g_per_m2 < 0:\n        return"),
    Mistake("the sample's hand forgotten", MATERIAL, "mass_g = geometric_mass_per_knot_g(plan, yarn, warp) * hand", "mass_g = geometric_mass_per_knot_g(plan, yarn, warp)"),
    Mistake("packing of yarns loose", DEFAULTS, "PACKING_TWISTED = Default(\n    0.60", "PACKING_TWISTED = Default(\n    0.45"),
    Mistake("pile yarn as thick as its cell", DEFAULTS, "PILE_FILL = Default(\n    0.24", "PILE_FILL = Default(\n    0.48"),
    Mistake("a thick weft as fine as the warp", DEFAULTS, "GROUND_WEFT_OVER_WARP = Default(\n    2.0", "GROUND_WEFT_OVER_WARP = Default(\n    1.0"),
    Mistake("the shearing that was said ignored", MATERIAL, "if plan.unshorn_mm is None:", "if True:"),
    Mistake("one leg sheared", MATERIAL, "return 2.0 * (plan.unshorn_mm - plan.pile_height_mm)", "return plan.unshorn_mm - plan.pile_height_mm"),
    Mistake("knots over four warps as many as others", "tracker/domain/rug.py", "return 1.0 - self.jufti_share / 2.0", "return 1.0"),
    Mistake("knots over four warps as short as others", MATERIAL, "more_mm = (each_side - 1) * spacing_mm", "more_mm = 0.0"),
    Mistake("a rod's loops lose to the knife", MATERIAL, "knife_mm=0.0 if plan.knot_kind is KnotKind.ROD else ", "knife_mm="),
    Mistake("warps behind ignored", MATERIAL, "if not plan.warp_offset_degrees:", "if True:"),
    # Foundation and finished mass.
    Mistake("flat ends of straight weft", FOUNDATION, "material.cloth_width_cm(plan) * (1.0 + defaults.END_TAKE_UP)", "material.cloth_width_cm(plan)"),
    Mistake("picks of the ends apart by two diameters", DEFAULTS, "END_ROWS_PER_WEFT_DIAMETER = Default(\n    1.15", "END_ROWS_PER_WEFT_DIAMETER = Default(\n    2.0"),
    Mistake("every weft weaves the ends", NEED, "ground=position == 0", "ground=True"),
    Mistake("finished rug without its warp", FOUNDATION, "return self.pile_g + self.wefts_g + self.warp_g", "return self.pile_g + self.wefts_g"),
    Mistake("what was sheared off is weighed", PLAN, "need.need_g * need.knot.finished_mm / need.knot.total_mm", "need.need_g"),
    Mistake("one row of wefts too few in ten", PLAN, "need.mass_per_row_g * plan.rows for", "need.mass_per_row_g * plan.rows * 0.9 for"),
    # Need, rows and cartoon.
    Mistake("a need without its ends", NEED, "return self.units * self.g_per_unit + self.ends_g", "return self.units * self.g_per_unit"),
    Mistake("the last end forgotten", NEED, "return self.first_end_g + self.last_end_g", "return self.first_end_g"),
    Mistake("shares not made a whole", ROWS, "return tuple(share / total for share in shares), warning", "return tuple(shares), warning"),
    Mistake("changes between shades of one yarn", CARTOON, "tied = chunk if yarns is None else yarns[chunk]", "tied = chunk"),
    Mistake("a change too many a row", CARTOON, "different.sum(axis=1, dtype=np.int32)", "different.sum(axis=1, dtype=np.int32) + 1"),
    Mistake("a yarn's second shade forgotten", CARTOON, "for value in yarn.cartoon_values:", "for value in yarn.cartoon_values[:1]:"),
    Mistake("no changes without a cartoon", ROWS, "defaults.CHANGES_PER_COLOUR * max(0, len(pile) - 1)", "0.0 * max(0, len(pile) - 1)"),
    # The list.
    Mistake("margin taken off", SHOPPING, "short_g = need_g + margin_g - on_hand_g", "short_g = need_g - margin_g - on_hand_g"),
    Mistake("what is there is bought again", SHOPPING, "short_g = need_g + margin_g - on_hand_g", "short_g = need_g + margin_g"),
    Mistake("skeins rounded down", SHOPPING, "skeins = math.ceil(want_g / skein_g - _GRAIN)", "skeins = math.floor(want_g / skein_g)"),
    Mistake("a skein too many", SHOPPING, "return skeins, skeins * skein_g", "return skeins + 1, (skeins + 1) * skein_g"),
    Mistake("the least purchase ignored", SHOPPING, "want_g = max(short_g, least_purchase_g)", "want_g = short_g"),
    Mistake("grams rounded down to ten", SHOPPING, "max(10.0 * math.ceil(short_g / 10.0 - _GRAIN)", "max(10.0 * math.floor(short_g / 10.0)"),
    Mistake("the least purchase ignored by the gram", SHOPPING, " - _GRAIN), least_purchase_g)", " - _GRAIN), 0.0)"),
    Mistake("spoilt yarn still there", GATHERED, "for lot in own_lots) - sum(entry.mass_g for entry in own_spoilt))", "for lot in own_lots))"),
    Mistake("a weighing ignored", GATHERED, "    if before_weaving:\n        last", "    if before_weaving and not own_lots:\n        last"),
    # Winding.
    Mistake("balls for one weaver", WINDING, "balls=sum(by_section),", "balls=max(by_section, default=0),"),
    Mistake("shuttles rounded down", WINDING, "shuttles = math.ceil(need_g / full_g - _GRAIN)", "shuttles = math.floor(need_g / full_g)"),
    Mistake("warp balls rounded down", PLAN, "balls=math.ceil(need.need_g / ball_g - 1e-9)", "balls=math.floor(need.need_g / ball_g)"),
    Mistake("a ball in two minutes", DEFAULTS, "HOURS_BALL_PER_100_G = Default(7.5 / 60.0", "HOURS_BALL_PER_100_G = Default(0.75 / 60.0"),
    Mistake("a ball of 300 g", DEFAULTS, "BALL_G = Default(200.0", "BALL_G = Default(300.0"),
    Mistake("tight balls", DEFAULTS, "BALL_PACKING = Default(\n    0.55", "BALL_PACKING = Default(\n    0.95"),
    # Hours.
    Mistake("unpicking twenty times as often", DEFAULTS, "UNPICK_HOURS = (1.0, 50.0)", "UNPICK_HOURS = (20.0, 50.0)"),
    Mistake("changes take no time", WORK, "(1.0 + belief.change_knots[:, None] * changes_per_knot)", "(1.0 + 0.0 * belief.change_knots[:, None] * changes_per_knot)"),
    Mistake("a team as slow as one", WORK, "return alone / belief.gained_share / strength", "return alone / belief.gained_share"),
    Mistake("knots a row forgotten", WORK, "math.log(max(tied, 1.0) /", "math.log(100.0 /"),
    # Edges.
    Mistake("edges forgotten", NEED, "for role in EDGES for yarn in book.yarns_of(role)", "for role in EDGES[:0] for yarn in book.yarns_of(role)"),
    Mistake("one side overcast", EDGES, "sides_cm = 2.0 * foundation", "sides_cm = foundation"),
    Mistake("overcasting without its ends", EDGES, "sides_cm = 2.0 * foundation.cloth_length_cm(plan)", "sides_cm = 2.0 * plan.rows / plan.rows_per_10cm * 10.0"),
    Mistake("turns as thin as nothing", EDGES, "around_mm = round_mm + math.pi * material.diameter_of_mm(plan, yarn)", "around_mm = round_mm"),
    Mistake("turns round the warps of both sides", EDGES, "warps = max(2.0, plan.selvedge_warps / 2.0)", "warps = max(2.0, plan.selvedge_warps)"),
    Mistake("turns under the weft", EDGES, "thick_mm += 2.0 * material", "thick_mm += 0.0 * material"),
    Mistake("turns beside the cords", EDGES, "wide_mm += cords_each_side(cord) * cord_mm", "wide_mm += 0.0 * cord_mm"),
    Mistake("turns two apart", DEFAULTS, "OVERCAST_SIDE_BY_SIDE = Default(\n    1.0", "OVERCAST_SIDE_BY_SIDE = Default(\n    2.0"),
    Mistake("counted turns ignored", EDGES, "    if yarn.per_cm is not None:\n        return yarn.per_cm\n", ""),
    Mistake("cords on one side", EDGES, "return 2.0 * cords_each_side(yarn) * warp", "return cords_each_side(yarn) * warp"),
    Mistake("cords as short as the cloth", EDGES, "* warp_length_cm(book, plan, yarn.take_up)", "* foundation.cloth_length_cm(plan)"),
    Mistake("a fringe at one end", EDGES, "return 2.0 * fringe_tufts", "return fringe_tufts"),
    Mistake("a fringe of single strands", EDGES, " * fringe_strands(yarn) * fringe_strand_cm", " * fringe_strand_cm"),
    Mistake("a fringe not doubled", DEFAULTS, "FRINGE_FOLDS = Default(\n    2.0", "FRINGE_FOLDS = Default(\n    1.0"),
    Mistake("a fringe without knots", DEFAULTS, "FRINGE_KNOT_CM = Default(\n    3.0", "FRINGE_KNOT_CM = Default(\n    0.0"),
    Mistake("edges weigh nothing", FOUNDATION, "return self.knotted_g + self.edges_g", "return self.knotted_g"),
    Mistake("edges still to buy cost nothing", "tracker/presenters/costs.py", "missing = (max(g - there_g, 0.0)", "missing = (max(g - there_g, 0.0) * 0.0"),
    # From the loom to the floor.
    Mistake("washing leaves the width", SIZE, "return 1.0 - plan.wash_shrinkage_width", "return 1.0"),
    Mistake("washing leaves the length", SIZE, "return (1.0 - plan.loom_shrinkage) * (1.0 - plan.wash_shrinkage_length)", "return 1.0 - plan.loom_shrinkage"),
    Mistake("the loom's pull stays", SIZE, "return (1.0 - plan.loom_shrinkage) * (1.0 - plan.wash_shrinkage_length)", "return 1.0 - plan.wash_shrinkage_length"),
    Mistake("shrinkages added up", SIZE, "return (1.0 - plan.loom_shrinkage) * (1.0 - plan.wash_shrinkage_length)", "return 1.0 - plan.loom_shrinkage - plan.wash_shrinkage_length"),
    Mistake("woven smaller for a rug that shrinks", SIZE, "finished_cm / width_left(plan)", "finished_cm * width_left(plan)"),
    Mistake("woven shorter for a rug that shrinks", SIZE, "(finished_cm - fringes_cm(plan)) / length_left(plan)", "(finished_cm - fringes_cm(plan)) * length_left(plan)"),
    Mistake("fringes left out of the measure", SIZE, "return 2.0 * plan.fringe_cm if", "return 0.0 if"),
    Mistake("one end in the measure", SIZE, "else 2.0 * plan.end_cm", "else plan.end_cm"),
    Mistake("selvedges as wide as knots", SIZE, "return plan.selvedge_warps * 10.0 / (2.0 * plan.knots_per_10cm)", "return plan.selvedge_warps * 10.0 / plan.knots_per_10cm"),
    Mistake("a square metre on the loom", PLAN, "        * finished_size.length_left(plan),", "        * 1.0,"),
    Mistake("every size allowed as much", DEFAULTS, "TOLERANCE_CM = (3.0, 8.0)", "TOLERANCE_CM = (8.0, 8.0)"),
    Mistake("shorter rugs always within", SIZE, "abs(self.off_cm) <= self.tolerance_cm", "self.off_cm <= self.tolerance_cm"),
    # Damp.
    Mistake("water bought as wool", FIBRES, "return mass * (1.0 - moisture_content)", "return mass"),
    Mistake("dry yarn paid dry", FIBRES, "moisture_content=moisture_content) * (1.0 + regain)", "moisture_content=moisture_content)"),
    Mistake("content for regain", FIBRES, "return regain / (1.0 + regain)", "return regain"),
    Mistake("combed wool for carded", FIBRES, '"wool": 0.17,\n    "cotton"', '"wool": 0.1825,\n    "cotton"'),
    Mistake("cotton as damp as wool", FIBRES, '"cotton": 0.085', '"cotton": 0.17'),
    Mistake("damp air like usual air", FIBRES, "Air.DAMP: 1.35", "Air.DAMP: 1.0"),
    Mistake("dry air like usual air", FIBRES, "Air.DRY: 0.65", "Air.DRY: 1.0"),
    Mistake("the scale's mass entered", "tracker/presenters/entries/damp.py", "return round(conditioned_g(mass_g, regain, fibre), 3), mass_g, regain", "return mass_g, mass_g, regain"),
    # Units and yarns.
    Mistake("a raj of 6.5 cm in Tabriz", UNITS, "RAJ_CM = 7.0", "RAJ_CM = 6.5"),
    Mistake("the region's raj ignored", UNITS, "return raj_cm if unit is DensityUnit.RAJ else SPAN_CM[unit]", "return SPAN_CM[unit]"),
    Mistake("a hank of 560 yards", YARN, "(840 * 0.9144)", "(560 * 0.9144)"),
    Mistake("strands forgotten", YARN, "return self.single_tex * self.plies * self.strands", "return self.single_tex * self.plies"),
    # Costs.
    Mistake("a mark-up for a margin", COSTS, "Fraction(cost) / (1 - _exact(margin))", "Fraction(cost) * (1 + _exact(margin))"),
    Mistake("a price rounded to the nearest", COSTS, "decimals, ROUND_CEILING)", "decimals)"),
    Mistake("a wage for each knot instead of each thousand", COSTS, "* done / wage.each", "* done"),
    Mistake("a row paid by the knot", COSTS, "done = Fraction(knots, plan.knots_across)", "done = Fraction(knots)"),
    Mistake("an area ten times too large", COSTS, "_exact(plan.rows_per_10cm) * 100)", "_exact(plan.rows_per_10cm) * 10)"),
    Mistake("every session a day", COSTS, "int(new_day)", "1"),
    Mistake("wages left out of the cost", COSTS, "so_far = yarn_now + wages + besides", "so_far = yarn_now + besides"),
    Mistake("other spending left out at the end", COSTS, " + Spread(besides, besides, besides)", ""),
    Mistake("yarn used forgotten at the end", COSTS, "rounded((used + _exact(more)) * a_gram, decimals)", "rounded(_exact(more) * a_gram, decimals)"),
    Mistake("a kilogram's price for a gram", COSTS, "_exact(yarn.price_per_kg) / 1000", "_exact(yarn.price_per_kg)"),
    Mistake("work ahead unpaid", COSTS, "so_far + rounded((rate.by_piece", "so_far + 0 * rounded((rate.by_piece"),
    # The shape of the cloth.
    Mistake("a lean twice as far", SHAPE, "return (diagonals + sides) / (4.0 * foot_cm)", "return (diagonals + sides) / (2.0 * foot_cm)"),
    Mistake("a lean to the other side", SHAPE, "(rising_cm - falling_cm) * (rising_cm", "(falling_cm - rising_cm) * (rising_cm"),
    Mistake("corners by the wrong diagonal", SHAPE, "left_x = (left_cm**2 + foot_cm**2 - falling_cm**2)", "left_x = (left_cm**2 + foot_cm**2 - rising_cm**2)"),
    # The chart of the design.
    Mistake("borders of a few knots", CHART, "bordered = min(low_gap, high_gap) >= DIFFERS_FROM", "bordered = min(low_gap, high_gap) >= 0.01"),
    Mistake("a border at one end is enough", CHART, "bordered = min(low_gap, high_gap) >= DIFFERS_FROM", "bordered = max(low_gap, high_gap) >= DIFFERS_FROM"),
    Mistake("the border ends a row late", CHART, "border_end=borders[0] if borders", "border_end=borders[0] + 1 if borders"),
    Mistake("the medallion ends where it starts", CHART, "low + last) for first, last in ends", "low + first) for first, last in ends"),
)  # fmt: skip
"""Each is caught by a test of `tests/outside`: `python -m tests.mistakes`."""
