"""The plan form: what is entered of a rug, its yarns and its cartoon, and what it starts with."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

from tracker.domain import defaults, finished_size
from tracker.domain.cartoon import CartoonPicture
from tracker.domain.loom import WarpLay
from tracker.domain.rug import Cartoon, KnotKind, Role, RugBook, SizeMeasure, Yarn, new_id
from tracker.domain.units import RAJ_CM, DensityUnit
from tracker.presenters.shades import shades
from tracker.words import _


@dataclass(frozen=True, slots=True)
class YarnForm:
    """One yarn as it is being entered; unit in the name, percent where a weaver says percent."""

    id: str
    role: str
    name: str
    swatch: str = "#C8B89A"
    number: int = 0
    """0: not numbered yet."""
    share: float | None = None
    """Percent of the knots, without a cartoon; None: an even part of what is left."""
    shades: tuple[str, ...] = ()
    """Colours of the cartoon ("#RRGGBB") knotted in this yarn."""
    count: str = ""
    twist_percent: float = 0.0
    fibre: str = "wool"
    unit_mass_g: float = float(defaults.BALL_G)
    passes: int = 1
    take_up_percent: float | None = None
    cut_length_mm: float | None = None
    pile_g_per_m2: float | None = None
    skein_g: float = 0.0
    least_g: float = 0.0
    margin_percent: float = 100 * float(defaults.MARGIN)
    price_per_kg: float | None = None
    dyer: str = ""
    lead_days: int = int(defaults.LEAD_DAYS)
    per_cm: float | None = None
    pieces: int | None = None
    untouched: bool = False
    """True for the yarn a blank form starts with: a cartoon may take its place."""


@dataclass(frozen=True, slots=True)
class CartoonForm:
    """The cartoon being planned. Files lie in the folder of drafts; "" for the one the book already has."""

    name: str
    knots: int
    rows: int
    shades: tuple[tuple[str, int], ...]
    """("#RRGGBB", knots) of the whole cartoon, in the order of its palette."""
    file: str = ""
    merge: bool = False
    given: str = "full"
    shared_column: bool = False
    shared_row: bool = False
    times_across: int = 1
    times_along: int = 1
    field_file: str = ""
    strip_file: str = ""
    corner_file: str = ""
    doubted: tuple[tuple[int, int], ...] = ()
    """(row, knot) of squares of the file that were read with doubt, the least sure first; row 0 is woven first."""


@dataclass(frozen=True, slots=True)
class PlanForm:
    """A rug being planned or changed."""

    rug_id: str
    name: str
    start_day: date
    new: bool = True
    width_cm: float = float(defaults.FIRST_WIDTH_CM)
    length_cm: float = float(defaults.FIRST_LENGTH_CM)
    """As the customer measures the finished rug; with a cartoon the size follows from its knots."""
    size_said: bool = False
    """True once the weaver gave a size: a cartoon that disagrees is then worth a word."""
    unit: str = "cm"
    density_unit: str = "per 10 cm"
    knots_per_10cm: float = float(defaults.FIRST_PER_10CM)
    rows_per_10cm: float = float(defaults.FIRST_PER_10CM)
    knot_kind: str = KnotKind.SYMMETRIC.value
    pile_height_mm: float = float(defaults.FIRST_PILE_MM)
    cartoon: CartoonForm | None = None
    yarns: tuple[YarnForm, ...] = ()
    weekdays: tuple[int, ...] = (0, 1, 2, 3, 4)
    hours_per_week: float = float(defaults.FIRST_HOURS_PER_WEEK)
    weavers_planned: int = 1
    weavers: tuple[tuple[str, str], ...] = ()
    """(id, name) of weavers that are not in the book yet."""
    knots_per_hour: float | None = None
    wished_day: date | None = None
    selvedge_warps: int = int(defaults.SELVEDGE_WARPS)
    end_cm: float = float(defaults.END_CM)
    fringe_cm: float = float(defaults.FRINGE_CM)
    loom_waste_cm: float = float(defaults.LOOM_WASTE_CM)
    loom_width_cm: float | None = None
    beam_roll_cm: float | None = None
    loom_id: str | None = None
    warp_after: str | None = None
    warp_lay: str = WarpLay.BEHIND.value
    warp_gap_cm: float | None = None
    raj_cm: float = RAJ_CM
    unshorn_mm: float | None = None
    jufti_percent: float = 0.0
    warp_offset_degrees: float = 0.0
    size_measure: str = SizeMeasure.KNOTTED.value
    loom_shrinkage: float = 0.0
    """Shares, 0 to 1, as those of the plan: so the sums of the finished size take the form as they take a plan."""
    wash_shrinkage_width: float = 0.0
    wash_shrinkage_length: float = 0.0

    def of(self, role: Role) -> tuple[YarnForm, ...]:
        """Yarns of one role in their order."""
        return tuple(yarn for yarn in self.yarns if yarn.role == role.value)

    def yarn(self, yarn_id: str) -> YarnForm | None:
        """Return one yarn, or None."""
        return next((yarn for yarn in self.yarns if yarn.id == yarn_id), None)

    @property
    def knots(self) -> int:
        """Knots across that the loom will hold."""
        if self.cartoon is not None:
            return self.cartoon.knots
        return finished_size.knots_across(self, self.width_cm)

    @property
    def rows(self) -> int:
        """Rows of knots."""
        if self.cartoon is not None:
            return self.cartoon.rows
        return finished_size.rows_along(self, self.rows_per_10cm, self.length_cm)

    @property
    def tied(self) -> int:
        """Knots that are tied: those over four warps fill two places."""
        return round(self.knots * self.rows * (1.0 - self.jufti_percent / 200.0))

    @property
    def true_width_cm(self) -> float:
        """Width the finished rug will have, as the customer measures it."""
        if self.cartoon is None:
            return self.width_cm
        return finished_size.finished_width_cm(self, self.cartoon.knots / self.knots_per_10cm * 10)

    @property
    def true_length_cm(self) -> float:
        """Length the finished rug will have, as the customer measures it."""
        if self.cartoon is None:
            return self.length_cm
        return finished_size.finished_length_cm(self, self.cartoon.rows / self.rows_per_10cm * 10)


def first_day_offered(weekdays: Collection[int], today: date) -> date:
    """Return the first day of a plan that nobody said a day of: today, or the next one that is a working day."""
    days = (today + timedelta(days=more) for more in range(7))
    return next((on for on in days if on.weekday() in weekdays), today)


def blank_form(today: date, rugs: int = 0, unit: str = "cm", lead_days: int | None = None) -> PlanForm:
    """Return the form of a new rug with everything that can be assumed filled in."""
    lead = int(defaults.LEAD_DAYS) if lead_days is None else lead_days
    first = shades()[0]
    form = PlanForm(
        rug_id=new_id(),
        name=_("Rug {number}").format(number=rugs + 1),
        start_day=today,
        unit=unit,
        density_unit=_usual_unit(unit),
        yarns=(
            YarnForm(
                id=new_id(),
                role=Role.PILE.value,
                name=first.name,
                swatch=first.colour,
                lead_days=lead,
                untouched=True,
            ),
            new_weft(0, lead),
            new_weft(1, lead),
            YarnForm(
                id=new_id(),
                role=Role.WARP.value,
                name=_("Warp"),
                swatch="#E4DAC4",
                fibre="cotton",
                unit_mass_g=float(defaults.WARP_BALL_G),
                lead_days=lead,
            ),
        ),
    )
    return replace(form, start_day=first_day_offered(form.weekdays, today))


def _usual_unit(unit: str) -> str:
    """Return the unit of density that goes with a unit of length."""
    return (DensityUnit.PER_INCH if unit == "inch" else DensityUnit.PER_10CM).value


def new_weft(index: int, lead_days: int = int(defaults.LEAD_DAYS)) -> YarnForm:
    """Return weft number `index` (from 0): ground, sinuous, then plain ones."""
    names = (_("Thick weft, straight"), _("Thin weft, wavy"))
    return YarnForm(
        id=new_id(),
        role=Role.WEFT.value,
        name=names[index] if index < len(names) else _("Weft {number}").format(number=index + 1),
        swatch=("#D8CBB0", "#8A6B4A")[index % 2],
        fibre="cotton",
        unit_mass_g=float(defaults.SHUTTLE_G),
        lead_days=lead_days,
    )


def edge_name(role: Role) -> str:
    """Return what a yarn of the edges is called until somebody names it."""
    return {
        Role.OVERCAST: _("Overcasting of the sides"),
        Role.CORD: _("Side cords"),
        Role.FRINGE: _("Added fringe"),
    }[role]


def new_edge(role: Role, like: YarnForm | None, lead_days: int = int(defaults.LEAD_DAYS)) -> YarnForm:
    """Return a yarn that finishes the edges: overcasting in the pile's fibre and shade, cords and fringe of cotton."""
    pile = role is Role.OVERCAST and like is not None
    return YarnForm(
        id=new_id(),
        role=role.value,
        name=edge_name(role),
        swatch=like.swatch if pile and like is not None else "#E4DAC4",
        fibre=like.fibre if pile and like is not None else "cotton",
        lead_days=lead_days,
    )


def form_of(book: RugBook, unit: str = "cm") -> PlanForm:
    """Return the form that changes an existing rug's plan."""
    plan, cartoon = book.plan, book.cartoon
    palette = () if cartoon is None else tuple(colour.upper() for colour in cartoon.palette)
    yarns = tuple(_yarn_form(yarn, palette) for yarn in book.yarns)
    if len({yarn.share for yarn in yarns if yarn.role == Role.PILE.value}) == 1:
        # All alike: nobody gave a share, so another colour takes its even part.
        yarns = tuple(replace(yarn, share=None) for yarn in yarns)
    return PlanForm(
        rug_id=plan.id,
        name=plan.name,
        start_day=plan.start_day,
        new=False,
        width_cm=plan.width_cm,
        length_cm=plan.length_cm,
        size_said=cartoon is None,
        unit=unit,
        density_unit=_usual_unit(unit) if plan.raj_cm == RAJ_CM else DensityUnit.RAJ.value,
        knots_per_10cm=plan.knots_per_10cm,
        rows_per_10cm=plan.rows_per_10cm,
        knot_kind=plan.knot_kind.value,
        pile_height_mm=plan.pile_height_mm,
        cartoon=None if cartoon is None else cartoon_form(cartoon),
        yarns=yarns,
        weekdays=plan.weekdays,
        hours_per_week=plan.hours_per_week,
        weavers_planned=plan.weavers_planned,
        knots_per_hour=plan.knots_per_hour,
        wished_day=plan.wished_day,
        selvedge_warps=plan.selvedge_warps,
        end_cm=plan.end_cm,
        fringe_cm=plan.fringe_cm,
        loom_waste_cm=plan.loom_waste_cm,
        loom_width_cm=plan.loom_width_cm,
        beam_roll_cm=plan.beam_roll_cm,
        loom_id=plan.loom_id,
        warp_after=plan.warp_after,
        warp_lay=plan.warp_lay.value,
        warp_gap_cm=plan.warp_gap_cm,
        raj_cm=plan.raj_cm,
        unshorn_mm=plan.unshorn_mm,
        jufti_percent=round(100 * plan.jufti_share, 4),
        warp_offset_degrees=plan.warp_offset_degrees,
        size_measure=plan.size_measure.value,
        loom_shrinkage=plan.loom_shrinkage,
        wash_shrinkage_width=plan.wash_shrinkage_width,
        wash_shrinkage_length=plan.wash_shrinkage_length,
    )


def _yarn_form(yarn: Yarn, palette: tuple[str, ...]) -> YarnForm:
    return YarnForm(
        id=yarn.id,
        role=yarn.role.value,
        name=yarn.name,
        swatch=yarn.swatch,
        number=yarn.number,
        share=None if yarn.share is None else round(100 * yarn.share, 4),
        shades=tuple(dict.fromkeys(palette[value] for value in yarn.cartoon_values if value < len(palette))),
        count=yarn.count.strip() or (f"R {round(yarn.tex, 2):g} tex" if yarn.tex > 0 else ""),
        twist_percent=round(100 * yarn.twist_contraction, 4),
        fibre=yarn.fibre,
        unit_mass_g=yarn.unit_mass_g,
        passes=yarn.passes_per_row,
        take_up_percent=None if yarn.take_up is None else round(100 * yarn.take_up, 4),
        cut_length_mm=yarn.cut_length_mm,
        pile_g_per_m2=yarn.pile_g_per_m2,
        skein_g=yarn.skein_g,
        least_g=yarn.least_purchase_g,
        margin_percent=round(100 * yarn.margin, 4),
        price_per_kg=yarn.price_per_kg,
        dyer=yarn.dyer,
        lead_days=yarn.lead_days,
        per_cm=yarn.per_cm,
        pieces=yarn.pieces,
    )


def cartoon_form(cartoon: Cartoon | CartoonPicture, **options: Any) -> CartoonForm:
    """Return what the form keeps of a cartoon: its size and the knots of each colour."""
    from tracker.domain.cartoon import count_cartoon

    totals = count_cartoon(cartoon.cells, len(cartoon.palette)).totals
    knots: dict[str, int] = {}
    for colour, many in zip(cartoon.palette, totals, strict=True):
        knots[colour.upper()] = knots.get(colour.upper(), 0) + int(many)
    name = cartoon.source_name if isinstance(cartoon, Cartoon) else cartoon.name
    return CartoonForm(
        name=name, knots=cartoon.knots_across, rows=cartoon.rows, shades=tuple(knots.items()), **options
    )


def units_of(form: PlanForm) -> tuple[DensityUnit, DensityUnit]:
    """Return the units across and along in which the form says its density."""
    unit = DensityUnit(form.density_unit)
    return (unit, DensityUnit.BHUTAN) if unit is DensityUnit.BIS else (unit, unit)
