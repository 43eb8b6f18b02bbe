"""What is wrong with a plan form, field by field."""

from __future__ import annotations

from tracker.domain.errors import BadEntry
from tracker.domain.finished_size import knotted_length_cm, knotted_width_cm
from tracker.domain.rug import Role, RugBook, RugPlan, Yarn
from tracker.domain.rules import RULES
from tracker.domain.units import LengthUnit, density_trouble, from_cm
from tracker.domain.yarn import parse_fineness
from tracker.presenters.plan.form import PlanForm, YarnForm, units_of
from tracker.presenters.plan.shares import share_trouble
from tracker.words import MM_PER_INCH, _, day, hours, n_, number

LEAST_SIDE_CM, MOST_SIDE_CM = 5.0, 2000.0
LEAST_KNOTTED_CM = 2.0
"""Less than this left to knot is a slip: the ends and fringes take up the whole size."""
SHRINKAGES = ("loom_shrinkage", "wash_shrinkage_width", "wash_shrinkage_length")
MOST_KNOTS_EACH_WAY = 20_000
MOST_NAME = 80


def size_troubles(form: PlanForm) -> dict[str, str]:
    """Return what is wrong with size and density, by field."""
    wrong: dict[str, str] = {}
    for key, value in (("width", form.width_cm), ("length", form.length_cm)):
        if not LEAST_SIDE_CM <= value <= MOST_SIDE_CM:
            wrong[key] = (
                _("A rug measures between {least} and {most} in.").format(
                    least=number(from_cm(LEAST_SIDE_CM, LengthUnit.INCH)),
                    most=number(from_cm(MOST_SIDE_CM, LengthUnit.INCH)),
                )
                if form.unit == LengthUnit.INCH
                else _("A rug measures between {least} and {most} cm.").format(
                    least=number(LEAST_SIDE_CM), most=number(MOST_SIDE_CM)
                )
            )
    across, along = units_of(form)
    for key, value, unit in (("across", form.knots_per_10cm, across), ("along", form.rows_per_10cm, along)):
        trouble = density_trouble(value, unit, form.raj_cm)
        if trouble:
            wrong[key] = trouble
    for field in SHRINKAGES:
        try:
            RULES[RugPlan][field].check(getattr(form, field))
        except BadEntry:
            wrong[field] = _("A rug shrinks by 0 to 30 %.")
    if not wrong and form.cartoon is None:
        if knotted_width_cm(form, form.width_cm) < LEAST_KNOTTED_CM:
            wrong["width"] = _("The selvedges take up this whole width. Nothing is left to knot.")
        if knotted_length_cm(form, form.length_cm) < LEAST_KNOTTED_CM:
            wrong["length"] = _("The ends and fringes take up this whole length. Nothing is left to knot.")
    return wrong


def knot_troubles(form: PlanForm) -> dict[str, str]:
    """Return what is wrong with the raj, the knots over four warps and the stand of the warps, by field."""
    rules = RULES[RugPlan]
    wrong: dict[str, str] = {}
    try:
        rules["jufti_share"].check(form.jufti_percent / 100)
    except BadEntry:
        wrong["jufti"] = _("A share of the field lies between 0 and 100 %.")
    for key, field, value in (
        ("raj", "raj_cm", form.raj_cm),
        ("unshorn", "unshorn_mm", form.unshorn_mm),
        ("offset", "warp_offset_degrees", form.warp_offset_degrees),
    ):
        try:
            if value is not None:
                rules[field].check(value)
        except BadEntry as trouble:
            wrong[key] = trouble.sentence
    return wrong


def count_trouble(text: str) -> str:
    """Return what is wrong with a yarn count, "" when it can be read or is left open."""
    if not text.strip():
        return ""
    try:
        parse_fineness(text)
    except BadEntry as trouble:
        return trouble.sentence
    return ""


def _twist_trouble(yarn: YarnForm) -> str:
    try:
        RULES[Yarn]["twist_contraction"].check(yarn.twist_percent / 100)
        if yarn.count.strip():
            RULES[Yarn]["tex"].check(parse_fineness(yarn.count).tex_after_twist(yarn.twist_percent / 100))
    except BadEntry as trouble:
        return trouble.sentence
    return ""


def week_trouble(form: PlanForm, hours_per_week: float) -> str:
    """Return why so many hours do not go into the ticked days of a week, and what to do; "" where they do."""
    days = len(form.weekdays)
    if not days or hours_per_week <= 24 * days:
        return ""
    return n_(
        "{week} a week on {days} day is {each} a day. Give fewer hours, or tick more days.",
        "{week} a week on {days} days is {each} a day. Give fewer hours, or tick more days.",
        days,
    ).format(week=hours(hours_per_week), days=number(days), each=hours(hours_per_week / days))


def troubles(form: PlanForm, book: RugBook | None = None) -> dict[str, str]:
    """Return a sentence for every field with which the plan cannot be saved; keys are field names or "yarn ID"."""
    wrong = size_troubles(form)
    if not form.name.strip():
        wrong["name"] = _("Give the rug a name.")
    elif len(form.name) > MOST_NAME:
        wrong["name"] = _("Keep the name under {most} letters.").format(most=MOST_NAME)
    if not wrong.keys() - {"name"}:
        if form.knots > MOST_KNOTS_EACH_WAY:
            wrong["width"] = _("That makes {knots} knots across, more than {most}.").format(
                knots=number(form.knots), most=number(MOST_KNOTS_EACH_WAY)
            )
        if form.rows > MOST_KNOTS_EACH_WAY:
            wrong["length"] = _("That makes {rows} rows, more than {most}.").format(
                rows=number(form.rows), most=number(MOST_KNOTS_EACH_WAY)
            )
        if book is not None and form.rows < book.rows_woven:
            wrong["length"] = n_(
                "{woven} row is woven already, but the plan has only {rows}.",
                "{woven} rows are woven already, but the plan has only {rows}.",
                book.rows_woven,
            ).format(woven=number(book.rows_woven), rows=number(form.rows))
    if not 0 < form.pile_height_mm <= 100:
        wrong["pile"] = (
            _("A pile stands between {least} and {most} in high.").format(
                least=number(1.0 / MM_PER_INCH, 2), most=number(100.0 / MM_PER_INCH, 1)
            )
            if form.unit == "inch"
            else _("A pile stands between 1 and 100 mm high.")
        )
    elif form.unshorn_mm is not None and form.unshorn_mm < form.pile_height_mm:
        wrong["unshorn"] = _("The pile cannot be lower before shearing than after it.")
    wrong |= knot_troubles(form)
    if not form.of(Role.PILE):
        wrong["colours"] = _("Add at least one colour.")
    elif share_trouble(form):
        wrong["colours"] = share_trouble(form)
    names: dict[str, str] = {}
    for yarn in form.yarns:
        key = f"yarn {yarn.id}"
        if not yarn.name.strip():
            wrong[key] = _("Give it a name.")
        elif names.setdefault(yarn.name.strip().casefold(), yarn.id) != yarn.id:
            wrong[key] = _("Another yarn is called {name} already.").format(name=yarn.name)
        elif sentence := count_trouble(yarn.count) or _twist_trouble(yarn):
            wrong[key] = sentence
    if not form.of(Role.WEFT):
        wrong["wefts"] = _("Add at least one weft.")
    if not form.weekdays:
        wrong["weekdays"] = _("Choose at least one day.")
    if not 0 < form.hours_per_week <= 24 * 7:
        wrong["hours"] = _("Give the hours you sit at the loom in a week, such as 20.")
    elif sentence := week_trouble(form, form.hours_per_week):
        wrong["hours"] = sentence
    if form.wished_day is not None and form.wished_day <= form.start_day:
        wrong["wish"] = _("The target date lies before the start on {day}.").format(day=day(form.start_day))
    return wrong
