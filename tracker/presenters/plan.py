"""The plan form: what it starts with, how each tap changes it, what is wrong with it, and the records it becomes."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import asdict, dataclass, replace
from datetime import date
from typing import Any

from tracker.domain import defaults
from tracker.domain.cartoon import CartoonPicture
from tracker.domain.colour import match_palette
from tracker.domain.errors import BadEntry
from tracker.domain.layout import SizeCheck, SizeChoice, SizeWay, as_cartoon, check_size
from tracker.domain.rug import Cartoon, KnotKind, Role, RugBook, RugPlan, Weaver, Yarn, new_id
from tracker.domain.units import LEAST_PER_10CM, MOST_PER_10CM
from tracker.domain.yarn import parse_fineness
from tracker.files.typed import read_as
from tracker.presenters.shades import shades
from tracker.words import _, day, n_, number

# --- starting values of a first rug: common practice, no source --------------------------------------------------

WIDTH_CM, LENGTH_CM = 80.0, 120.0
PER_10CM = 40.0
PILE_MM = 8.0
HOURS_PER_WEEK = 20.0
SIZES_CM = ((60, 90), (80, 120), (120, 180), (170, 240), (200, 300))
SIZES_INCH = ((24, 36), (36, 60), (48, 72), (72, 108), (96, 120))
DENSITIES_PER_10CM = (25, 30, 40, 50, 60)

LEAST_SIDE_CM, MOST_SIDE_CM = 5.0, 2000.0
MOST_KNOTS_EACH_WAY = 20_000
MOST_NAME = 80
MOST_COLOURS = 64
SHARE_SLACK = 0.05
"""Percent by which the shares may miss 100: what rounding to a decimal can do."""


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
    fibre: str = "wool"
    unit_mass_g: float = float(defaults.BALL_G)
    passes: int = 1
    take_up_percent: float | None = None
    cut_length_mm: float | None = None
    pile_g_per_m2: float | None = None
    skein_g: float = float(defaults.SKEIN_G)
    least_g: float = float(defaults.LEAST_PURCHASE_G)
    margin_percent: float = 100 * float(defaults.MARGIN)
    price_per_kg: float | None = None
    dyer: str = ""
    lead_days: int = int(defaults.LEAD_DAYS)
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


@dataclass(frozen=True, slots=True)
class PlanForm:
    """A rug being planned or changed."""

    rug_id: str
    name: str
    start_day: date
    new: bool = True
    width_cm: float = WIDTH_CM
    length_cm: float = LENGTH_CM
    """As wished; with a cartoon the size follows from its knots."""
    size_said: bool = False
    """True once the weaver gave a size: a cartoon that disagrees is then worth a word."""
    unit: str = "cm"
    density_unit: str = "per 10 cm"
    knots_per_10cm: float = PER_10CM
    rows_per_10cm: float = PER_10CM
    knot_kind: str = KnotKind.SYMMETRIC.value
    pile_height_mm: float = PILE_MM
    cartoon: CartoonForm | None = None
    yarns: tuple[YarnForm, ...] = ()
    weekdays: tuple[int, ...] = (0, 1, 2, 3, 4)
    hours_per_week: float = HOURS_PER_WEEK
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
        return max(1, round(self.width_cm * self.knots_per_10cm / 10))

    @property
    def rows(self) -> int:
        """Rows of knots."""
        if self.cartoon is not None:
            return self.cartoon.rows
        return max(1, round(self.length_cm * self.rows_per_10cm / 10))

    @property
    def true_width_cm(self) -> float:
        """Width the rug will have."""
        return self.width_cm if self.cartoon is None else self.cartoon.knots / self.knots_per_10cm * 10

    @property
    def true_length_cm(self) -> float:
        """Length the rug will have."""
        return self.length_cm if self.cartoon is None else self.cartoon.rows / self.rows_per_10cm * 10


# --- starting ---------------------------------------------------------------------------------------------------


def blank_form(today: date, rugs: int = 0, unit: str = "cm", lead_days: int | None = None) -> PlanForm:
    """Return the form of a new rug with everything that can be assumed filled in."""
    lead = int(defaults.LEAD_DAYS) if lead_days is None else lead_days
    first = shades()[0]
    return PlanForm(
        rug_id=new_id(),
        name=_("Rug {number}").format(number=rugs + 1),
        start_day=today,
        unit=unit,
        density_unit="per inch" if unit == "inch" else "per 10 cm",
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


def new_weft(index: int, lead_days: int = int(defaults.LEAD_DAYS)) -> YarnForm:
    """Return weft number `index` (from 0): ground, sinuous, then plain ones."""
    names = (_("Ground weft"), _("Sinuous weft"))
    return YarnForm(
        id=new_id(),
        role=Role.WEFT.value,
        name=names[index] if index < len(names) else _("Weft {number}").format(number=index + 1),
        swatch=("#D8CBB0", "#8A6B4A")[index % 2],
        fibre="cotton",
        unit_mass_g=float(defaults.SHUTTLE_G),
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
        density_unit="per inch" if unit == "inch" else "per 10 cm",
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
        count=yarn.count or (f"R {yarn.tex:g} tex" if yarn.tex > 0 else ""),
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


# --- keeping the draft -------------------------------------------------------------------------------------------


def to_kept(form: PlanForm) -> dict[str, Any]:
    """Return the form as JSON can keep it."""
    kept = asdict(form)
    kept["start_day"] = form.start_day.isoformat()
    kept["wished_day"] = form.wished_day.isoformat() if form.wished_day else None
    return kept


def from_kept(kept: Any) -> PlanForm | None:
    """Return a kept form; None when it cannot be read."""
    try:
        form = read_as(PlanForm, kept)
        return form if troubles(form) is not None else None
    except (ValueError, OverflowError, ZeroDivisionError):
        return None


def files_of(form: PlanForm) -> set[str]:
    """Return the names of the pictures a draft needs."""
    if form.cartoon is None:
        return set()
    chosen = form.cartoon
    return {chosen.file, chosen.field_file, chosen.strip_file, chosen.corner_file} - {""}


# --- changing ----------------------------------------------------------------------------------------------------


def with_yarn(form: PlanForm, yarn_id: str, **changes: Any) -> PlanForm:
    """Return the form with one yarn changed."""
    changes.setdefault("untouched", False)
    return replace(
        form, yarns=tuple(replace(yarn, **changes) if yarn.id == yarn_id else yarn for yarn in form.yarns)
    )


def with_all(form: PlanForm, role: Role, **changes: Any) -> PlanForm:
    """Return the form with every yarn of one role changed alike."""
    return replace(
        form,
        yarns=tuple(replace(yarn, **changes) if yarn.role == role.value else yarn for yarn in form.yarns),
    )


def _free_name(form: PlanForm, name: str) -> str:
    taken = {yarn.name.casefold() for yarn in form.yarns}
    found, at = name, 2
    while found.casefold() in taken:
        found, at = f"{name} {at}", at + 1
    return found


def add_colour(form: PlanForm, name: str, swatch: str) -> PlanForm:
    """Return the form with one more colour; it is bought and wound like the last one.

    As long as no share was given, all colours share evenly; otherwise the new one gets what is missing to the whole.

    Raises
    ------
    BadEntry
        When there are as many colours as a rug can have.
    """
    pile = form.of(Role.PILE)
    if len(pile) >= MOST_COLOURS:
        raise BadEntry(_("A rug can have {most} colours. Remove one first.").format(most=MOST_COLOURS))
    given = [yarn.share for yarn in pile]
    share = None
    if pile and all(part is not None for part in given):
        share = max(0.0, round(100 - sum(part or 0.0 for part in given), 2))
    like = pile[-1] if pile else YarnForm(id="", role=Role.PILE.value, name="")
    yarn = replace(
        like,
        id=new_id(),
        name=_free_name(form, name),
        swatch=swatch,
        number=0,
        share=share,
        shades=(),
        untouched=False,
        cut_length_mm=like.cut_length_mm,
    )
    others = tuple(y for y in form.yarns if y.role != Role.PILE.value)
    return replace(form, yarns=(*(replace(y, untouched=False) for y in pile), yarn, *others))


def add_weft(form: PlanForm) -> PlanForm:
    """Return the form with one more weft."""
    wefts, warps = form.of(Role.WEFT), form.of(Role.WARP)
    weft = new_weft(len(wefts))
    return replace(
        form, yarns=(*form.of(Role.PILE), *wefts, replace(weft, name=_free_name(form, weft.name)), *warps)
    )


def remove_yarn(form: PlanForm, yarn_id: str, book: RugBook | None) -> PlanForm:
    """Return the form without one yarn.

    Raises
    ------
    BadEntry
        When the book already tells of it, or the cartoon is knotted in it, or it is the last of what a rug needs.
    """
    yarn = form.yarn(yarn_id)
    if yarn is None:
        return form
    if book is not None and _told_of(book, yarn_id):
        raise BadEntry(
            _(
                "{name} has been bought or used already, so it stays in the plan. Give it a share of 0 instead."
            ).format(name=yarn.name)
        )
    if form.cartoon is not None and yarn.shades:
        raise BadEntry(
            _("The cartoon is knotted in {name}. Give its cartoon colours to another yarn first.").format(
                name=yarn.name
            )
        )
    if yarn.role != Role.WARP.value and len(form.of(Role(yarn.role))) == 1:
        raise BadEntry(
            _("A rug needs at least one colour.")
            if yarn.role == Role.PILE.value
            else _("A rug needs at least one weft.")
        )
    return replace(form, yarns=tuple(other for other in form.yarns if other.id != yarn_id))


def _told_of(book: RugBook, yarn_id: str) -> bool:
    records: tuple[Any, ...] = (
        *book.lots, *book.weighings, *book.spoilt, *book.samples, *book.preparations
    )  # fmt: skip
    return any(record.yarn_id == yarn_id for record in records) or any(
        used == yarn_id for session in book.sessions for used, _count in session.used
    )


def even_shares(pile: tuple[YarnForm, ...]) -> tuple[float, ...]:
    """Return the percent of each colour: the given ones, and an even part of what is left for the others."""
    known = sum(yarn.share for yarn in pile if yarn.share is not None)
    blank = sum(yarn.share is None for yarn in pile)
    rest = max(0.0, 100 - known) / blank if blank else 0.0
    return tuple(rest if yarn.share is None else yarn.share for yarn in pile)


def set_share(form: PlanForm, yarn_id: str, percent: float | None) -> PlanForm:
    """Return the form with one colour's share given."""
    return with_yarn(form, yarn_id, share=percent)


def level_shares(form: PlanForm) -> PlanForm:
    """Return the form with all shares stretched or shrunk alike, so that they make 100 % to the tenth."""
    pile = form.of(Role.PILE)
    shares = even_shares(pile)
    total = sum(shares)
    scaled = [100 / len(pile)] * len(pile) if total <= 0 else [100 * share / total for share in shares]
    tenths = [math.floor(10 * share + 1e-9) for share in scaled]
    # The largest remainders get the tenths that rounding down has left over.
    order = sorted(range(len(pile)), key=lambda at: tenths[at] - 10 * scaled[at])
    for at in order[: 1000 - sum(tenths)]:
        tenths[at] += 1
    new = {yarn.id: tenth / 10 for yarn, tenth in zip(pile, tenths, strict=True)}
    return replace(
        form,
        yarns=tuple(replace(yarn, share=new[yarn.id]) if yarn.id in new else yarn for yarn in form.yarns),
    )


def take_cartoon(form: PlanForm, cartoon: CartoonForm) -> PlanForm:
    """Return the form with a cartoon: its knots and rows, its colours matched to the yarns there are.

    A yarn keeps the cartoon colours it had where the new cartoon has them too; the rest is matched by eye (CIEDE2000),
    and what matches nothing becomes a new yarn with a plain name. The yarn a blank form starts with makes room.
    """
    # The commonest colour first, as a weaver would name them.
    palette = tuple(shade for shade, _knots in sorted(cartoon.shades, key=lambda shade: -shade[1]))
    pile = tuple(yarn for yarn in form.of(Role.PILE) if not yarn.untouched)
    kept = tuple(replace(yarn, shades=tuple(s for s in yarn.shades if s in palette)) for yarn in pile)
    claimed = {shade for yarn in kept for shade in yarn.shades}
    free = tuple(shade for shade in palette if shade not in claimed)
    idle = tuple(
        Yarn(
            id=yarn.id, rug_id=form.rug_id, role=Role.PILE, number=at + 1, name=yarn.name, swatch=yarn.swatch
        )
        for at, yarn in enumerate(kept)
        if not yarn.shades
    )
    like = form.of(Role.PILE)[-1] if form.of(Role.PILE) else YarnForm(id="", role=Role.PILE.value, name="")
    taken = {yarn.name.casefold() for yarn in kept}
    new: list[YarnForm] = []
    for match in match_palette(free, idle):
        if match.yarn_id is not None:
            kept = tuple(
                replace(yarn, shades=(match.colour.upper(),)) if yarn.id == match.yarn_id else yarn
                for yarn in kept
            )
            continue
        name, at = match.name[:1].upper() + match.name[1:], 2
        while name.casefold() in taken:
            name, at = f"{match.name[:1].upper()}{match.name[1:]} {at}", at + 1
        taken.add(name.casefold())
        new.append(
            replace(
                like,
                id=new_id(),
                name=name,
                swatch=match.colour.upper(),
                number=0,
                share=None,
                shades=(match.colour.upper(),),
                untouched=False,
            )
        )
    others = tuple(yarn for yarn in form.yarns if yarn.role != Role.PILE.value)
    taken_in = replace(form, cartoon=cartoon, yarns=(*kept, *new, *others))
    return taken_in if form.size_said else follow_size(taken_in)


def drop_cartoon(form: PlanForm) -> PlanForm:
    """Return the form as a bare rug: the colours keep the shares that the cartoon gave them."""
    if form.cartoon is None:
        return form
    knots = dict(form.cartoon.shades)
    total = max(1, sum(knots.values()))
    yarns = tuple(
        replace(yarn, share=round(100 * sum(knots.get(s, 0) for s in yarn.shades) / total, 1), shades=())
        if yarn.role == Role.PILE.value
        else yarn
        for yarn in form.yarns
    )
    bare = replace(
        form,
        cartoon=None,
        yarns=yarns,
        width_cm=round(form.true_width_cm, 1),
        length_cm=round(form.true_length_cm, 1),
    )
    return level_shares(bare) if bare.of(Role.PILE) else bare


def move_shade(form: PlanForm, shade: str, yarn_id: str) -> PlanForm:
    """Return the form with one colour of the cartoon knotted in another yarn."""
    return replace(
        form,
        yarns=tuple(
            replace(
                yarn,
                shades=tuple(s for s in yarn.shades if s != shade) + ((shade,) if yarn.id == yarn_id else ()),
            )
            for yarn in form.yarns
        ),
    )


def knots_of(form: PlanForm, yarn: YarnForm) -> float:
    """Return the knots of one colour: the cartoon's count, or its share."""
    if form.cartoon is not None:
        knots = dict(form.cartoon.shades)
        return float(sum(knots.get(shade, 0) for shade in yarn.shades))
    pile = form.of(Role.PILE)
    shares = dict(zip((y.id for y in pile), even_shares(pile), strict=True))
    return form.knots * form.rows * shares.get(yarn.id, 0.0) / 100


def follow_size(form: PlanForm) -> PlanForm:
    """Return the form with the wished size set to what the cartoon makes at its density."""
    return replace(form, width_cm=form.true_width_cm, length_cm=form.true_length_cm)


def set_size(form: PlanForm, **sides: float) -> PlanForm:
    """Return the form with a width or length the weaver gave."""
    return replace(form, size_said=True, **sides)


def set_density(form: PlanForm, **densities: float) -> PlanForm:
    """Return the form with another density; a cartoon's size follows as long as no other was wished."""
    agreed = form.cartoon is not None and (not form.size_said or size_check(form) is None)
    changed = replace(form, **densities)
    return follow_size(changed) if agreed else changed


def size_check(form: PlanForm) -> SizeCheck | None:
    """Return how the cartoon disagrees with the wished size; None when there is nothing to choose."""
    if form.cartoon is None or _fence(form):
        return None
    found = check_size(_bare_plan(form, form.width_cm, form.length_cm), form.cartoon.knots, form.cartoon.rows)
    return None if found.agrees else found


def choose_size(form: PlanForm, choice: SizeChoice) -> PlanForm:
    """Return the form after one way out of a disagreement was tapped.

    Mirroring and repeating change how the picture is laid out: the caller puts the cartoon together anew and hands
    it to `take_cartoon`.
    """
    if choice.way is SizeWay.KEEP_SIZE:
        return replace(form, knots_per_10cm=choice.knots_per_10cm, rows_per_10cm=choice.rows_per_10cm)
    if choice.way is SizeWay.KEEP_DENSITY:
        return follow_size(form)
    return form


def toggle_weekday(form: PlanForm, index: int) -> PlanForm:
    """Return the form with a planned weaving day more or less."""
    days = set(form.weekdays) ^ {index}
    return replace(form, weekdays=tuple(sorted(days)))


def add_weaver(form: PlanForm, name: str, known: Iterable[str]) -> PlanForm:
    """Return the form with a weaver who is not in the book yet.

    Raises
    ------
    BadEntry
        When there is no name, or somebody is called so already.
    """
    if not name:
        raise BadEntry(_("Give a name, or a sign by which you know each other."))
    taken = {other.casefold() for other in known} | {other.casefold() for _id, other in form.weavers}
    if name.casefold() in taken:
        raise BadEntry(_("{name} is in the book already.").format(name=name))
    return replace(form, weavers=(*form.weavers, (new_id(), name)))


# --- checking ----------------------------------------------------------------------------------------------------


def _fence(form: PlanForm) -> dict[str, str]:
    """Return what is wrong with size and density, by field."""
    found: dict[str, str] = {}
    for key, value in (("width", form.width_cm), ("length", form.length_cm)):
        if not LEAST_SIDE_CM <= value <= MOST_SIDE_CM:
            found[key] = _("A rug measures between {least} and {most} cm.").format(
                least=number(LEAST_SIDE_CM), most=number(MOST_SIDE_CM)
            )
    for key, value in (("across", form.knots_per_10cm), ("along", form.rows_per_10cm)):
        if not LEAST_PER_10CM <= value <= MOST_PER_10CM:
            found[key] = _(
                "Hand-knotted rugs have between {least} and {most} per 10 cm. Look at the unit."
            ).format(least=number(LEAST_PER_10CM), most=number(MOST_PER_10CM))
    return found


def count_trouble(text: str) -> str:
    """Return what is wrong with a yarn count, "" when it can be read or is left open."""
    if not text.strip():
        return ""
    try:
        parse_fineness(text)
    except BadEntry as trouble:
        return trouble.sentence
    return ""


def share_trouble(form: PlanForm) -> str:
    """Return by how much the shares miss 100 %, "" when they do not."""
    if form.cartoon is not None or not form.of(Role.PILE):
        return ""
    total = sum(even_shares(form.of(Role.PILE)))
    off = 100 - total
    if abs(off) <= SHARE_SLACK:
        return ""
    if off > 0:
        return _("The shares make {total} %: {off} % are missing.").format(
            total=number(total, 1), off=number(off, 1)
        )
    return _("The shares make {total} %: {off} % too many.").format(
        total=number(total, 1), off=number(-off, 1)
    )


def troubles(form: PlanForm, book: RugBook | None = None) -> dict[str, str]:
    """Return a sentence for every field with which the plan cannot be saved; keys are field names or "yarn ID"."""
    found = _fence(form)
    if not form.name.strip():
        found["name"] = _("Give the rug a name.")
    elif len(form.name) > MOST_NAME:
        found["name"] = _("Keep the name under {most} letters.").format(most=MOST_NAME)
    if not {"width", "length", "across", "along"} & set(found):
        if form.knots > MOST_KNOTS_EACH_WAY:
            found["width"] = _("That makes {knots} knots across, more than {most}.").format(
                knots=number(form.knots), most=number(MOST_KNOTS_EACH_WAY)
            )
        if form.rows > MOST_KNOTS_EACH_WAY:
            found["length"] = _("That makes {rows} rows, more than {most}.").format(
                rows=number(form.rows), most=number(MOST_KNOTS_EACH_WAY)
            )
        if book is not None and form.rows < book.rows_woven:
            found["length"] = n_(
                "{woven} row is woven already, but the plan has only {rows}.",
                "{woven} rows are woven already, but the plan has only {rows}.",
                book.rows_woven,
            ).format(woven=number(book.rows_woven), rows=number(form.rows))
    if not 0 < form.pile_height_mm <= 100:
        found["pile"] = _("A pile stands between 1 and 100 mm high.")
    if not form.of(Role.PILE):
        found["colours"] = _("Add at least one colour.")
    elif share_trouble(form):
        found["colours"] = share_trouble(form)
    names: dict[str, str] = {}
    for yarn in form.yarns:
        key = f"yarn {yarn.id}"
        if not yarn.name.strip():
            found[key] = _("Give it a name.")
        elif names.setdefault(yarn.name.strip().casefold(), yarn.id) != yarn.id:
            found[key] = _("Another yarn is called {name} already.").format(name=yarn.name)
        elif sentence := count_trouble(yarn.count):
            found[key] = sentence
    if not form.of(Role.WEFT):
        found["wefts"] = _("Add at least one weft.")
    if not form.weekdays:
        found["weekdays"] = _("Choose at least one day.")
    if not 0 < form.hours_per_week <= 24 * 7:
        found["hours"] = _("Give the hours you sit at the loom in a week, such as 20.")
    if form.wished_day is not None and form.wished_day <= form.start_day:
        found["wish"] = _("The wished day lies before the start on {day}.").format(day=day(form.start_day))
    return found


# --- records -------------------------------------------------------------------------------------------------------


def _bare_plan(form: PlanForm, width_cm: float, length_cm: float) -> RugPlan:
    return RugPlan(
        id=form.rug_id,
        name=form.name.strip(),
        width_cm=width_cm,
        length_cm=length_cm,
        knots_per_10cm=form.knots_per_10cm,
        rows_per_10cm=form.rows_per_10cm,
        knots_across=form.knots,
        rows=form.rows,
        pile_height_mm=form.pile_height_mm,
        knot_kind=KnotKind(form.knot_kind),
        weekdays=form.weekdays,
        hours_per_week=form.hours_per_week,
        weavers_planned=form.weavers_planned,
        start_day=form.start_day,
        wished_day=form.wished_day,
        knots_per_hour=form.knots_per_hour,
        selvedge_warps=form.selvedge_warps,
        end_cm=form.end_cm,
        fringe_cm=form.fringe_cm,
        loom_waste_cm=form.loom_waste_cm,
        loom_width_cm=form.loom_width_cm,
        beam_roll_cm=form.beam_roll_cm,
    )


def to_plan(form: PlanForm, before: RugPlan | None = None) -> RugPlan:
    """Return the plan the form stands for; what the form does not ask keeps its value from `before`."""
    plan = _bare_plan(form, form.true_width_cm, form.true_length_cm)
    if before is None:
        return plan
    return replace(
        plan, stage=before.stage, finished_day=before.finished_day, hold=before.hold, notes=before.notes
    )


def to_yarns(form: PlanForm, palette: tuple[str, ...] = ()) -> tuple[Yarn, ...]:
    """Return the yarns the form stands for; `palette` is the cartoon's, in its own order.

    A yarn that has a number keeps it, so that the numbers on the balls at the loom stay true.
    """
    colours = [colour.upper() for colour in palette]
    found = []
    for role in (Role.PILE, Role.WEFT, Role.WARP):
        yarns = form.of(role)
        shares = even_shares(yarns) if role is Role.PILE and form.cartoon is None else (None,) * len(yarns)
        highest = max((yarn.number for yarn in yarns), default=0)
        for yarn, share in zip(yarns, shares, strict=True):
            if not yarn.number:
                highest += 1
            found.append(
                Yarn(
                    id=yarn.id,
                    rug_id=form.rug_id,
                    role=role,
                    number=yarn.number or highest,
                    name=yarn.name.strip(),
                    swatch=yarn.swatch,
                    share=None if share is None else share / 100,
                    cartoon_values=tuple(at for at, colour in enumerate(colours) if colour in yarn.shades),
                    count=yarn.count.strip(),
                    tex=parse_fineness(yarn.count).tex if yarn.count.strip() else 0.0,
                    fibre=yarn.fibre,
                    unit_mass_g=yarn.unit_mass_g,
                    passes_per_row=yarn.passes,
                    take_up=None if yarn.take_up_percent is None else yarn.take_up_percent / 100,
                    cut_length_mm=yarn.cut_length_mm,
                    pile_g_per_m2=yarn.pile_g_per_m2,
                    skein_g=yarn.skein_g,
                    least_purchase_g=yarn.least_g,
                    margin=yarn.margin_percent / 100,
                    price_per_kg=yarn.price_per_kg,
                    dyer=yarn.dyer.strip(),
                    lead_days=yarn.lead_days,
                )
            )
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Records:
    """What saving writes and withdraws, as one act."""

    values: tuple[Any, ...]
    withdraw: tuple[str, ...] = ()


def records(form: PlanForm, book: RugBook | None = None, picture: CartoonPicture | None = None) -> Records:
    """Return the records of a form that has no troubles.

    Parameters
    ----------
    form
        The form.
    book
        The rug as it stands, when its plan is changed; what did not change is not written again.
    picture
        The cartoon put together anew; None: the rug is bare, or keeps the cartoon it has.

    Raises
    ------
    BadEntry
        With the first trouble, when there is one.
    """
    wrong = troubles(form, book)
    if wrong:
        raise BadEntry(next(iter(wrong.values())))
    values: list[Any] = []
    palette: tuple[str, ...] = ()
    withdraw: list[str] = []
    before = None if book is None else book.cartoon
    if form.cartoon is not None:
        if picture is not None:
            cartoon = as_cartoon(picture, id=new_id() if before is None else before.id, rug_id=form.rug_id)
            cartoon = replace(cartoon, source_name=form.cartoon.name)
            palette = cartoon.palette
            values.append(cartoon)
        elif before is not None:
            palette = before.palette
        else:
            raise BadEntry(_("The cartoon's picture is gone. Choose it again."))
    elif before is not None:
        withdraw.append(before.id)
    plan = to_plan(form, None if book is None else book.plan)
    yarns = to_yarns(form, palette)
    if book is None:
        return Records((plan, *yarns, *values, *_weavers(form)))
    known = {yarn.id: yarn for yarn in book.yarns}
    changed = [yarn for yarn in yarns if known.get(yarn.id) != replace(yarn, born=_born(known.get(yarn.id)))]
    withdraw += [yarn_id for yarn_id in known if yarn_id not in {yarn.id for yarn in yarns}]
    plans = [] if replace(plan, born=book.plan.born) == book.plan else [plan]
    return Records((*plans, *changed, *values, *_weavers(form)), tuple(withdraw))


def _born(yarn: Yarn | None) -> int:
    return 0 if yarn is None else yarn.born


def _weavers(form: PlanForm) -> tuple[Weaver, ...]:
    return tuple(Weaver(id=weaver_id, name=name) for weaver_id, name in form.weavers)


def draft_book(form: PlanForm) -> RugBook:
    """Return the rug the form would make, its colours by share, for sums that need no cartoon."""
    total = max(1, form.knots * form.rows)
    shares = {yarn.id: knots_of(form, yarn) / total for yarn in form.of(Role.PILE)}
    yarns = tuple(
        replace(yarn, share=shares.get(yarn.id), cartoon_values=())
        for yarn in to_yarns(
            replace(
                form,
                yarns=tuple(replace(y, count="" if count_trouble(y.count) else y.count) for y in form.yarns),
            )
        )
    )
    return RugBook(plan=to_plan(form), yarns=yarns)
