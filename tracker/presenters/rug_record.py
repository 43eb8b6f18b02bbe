"""The record of one rug in words: what the weaver hands over with it, or so far while it is on the loom."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import numpy as np

from tracker.domain.material import warp_mass_g
from tracker.domain.material_plan import MaterialPlan, material_plan
from tracker.domain.rug import KnotKind, Photo, PreparationKind, Role, RugBook, RugStage, Yarn
from tracker.domain.team import knots_in_all
from tracker.domain.units import CM_PER_INCH
from tracker.forecast.answers import Answers, YarnAnswer, YarnWord
from tracker.presenters.entry_text import names_of
from tracker.presenters.finish import days_words
from tracker.presenters.home import range_words, silent_words, yarn_code, yarn_words
from tracker.presenters.picture import rug_picture
from tracker.presenters.places import knots_words
from tracker.presenters.plan.view import fibre_words
from tracker.words import _, day, day_short, mass, month_short, n_, number, one_after_another, percent

MOST_WEEKS = 60
"""Bars the chart draws week by week; a longer record is drawn by months."""
PHOTOS = 24
"""Pictures printed at the most; a phone that kept hundreds could not hold them all at once."""


@dataclass(frozen=True, slots=True)
class Fact:
    """One fact of the record."""

    label: str
    figure: str
    more: str = ""


@dataclass(frozen=True, slots=True)
class YarnUse:
    """What one yarn gave to the rug."""

    mass_g: float | None
    """None: nothing can be said."""
    basis: str
    """"weighed", "reckoned", "plan", or "needed" while nothing is woven yet."""


@dataclass(frozen=True, slots=True)
class YarnEntry:
    """One yarn in the list of materials."""

    number: str
    name: str
    swatch: str
    role: Role
    lines: tuple[str, ...]
    knots: str
    share: float
    used: str
    basis: str


@dataclass(frozen=True, slots=True)
class WeaverEntry:
    """Somebody who sat at the loom."""

    name: str
    days: str
    hours: str
    knots: str = ""
    """Knots this weaver wove; "" while nobody ever said who sits where."""


@dataclass(frozen=True, slots=True)
class Bar:
    """Rows gained in a week, or in a month."""

    first_day: date
    rows: int
    label: str
    """"" where the axis has no room for one."""


@dataclass(frozen=True, slots=True)
class PhotoEntry:
    """A picture kept with the rug."""

    path: Path
    words: str


@dataclass(frozen=True, slots=True, eq=False)
class RugRecord:
    """Everything the record says, ready to be set."""

    kicker: str
    name: str
    subtitle: str
    on_day: str
    so_far: bool
    """True until the rug is finished."""
    facts: tuple[Fact, ...]
    densities: tuple[tuple[str, str], ...]
    now: tuple[Fact, ...]
    """Today's answers; empty for a finished rug."""
    warnings: tuple[str, ...]
    yarns: tuple[YarnEntry, ...]
    weaving: tuple[Fact, ...]
    weavers: tuple[WeaverEntry, ...]
    chart_title: str
    bars: tuple[Bar, ...]
    steps: tuple[tuple[str, str], ...]
    notes: str
    photos: tuple[PhotoEntry, ...]
    photos_left_out: str
    care: tuple[tuple[str, str], ...]
    picture: np.ndarray
    """uint8 (rows, knots, 3), row 1 first."""
    width_cm: float
    length_cm: float
    width_words: str
    length_words: str
    woven_share: float
    """Of the rows, 0 to 1."""
    woven_words: str


# --- sums of the record


def weaving_days(book: RugBook) -> int:
    """Return the days on which somebody wove."""
    return len({session.day for session in book.woven_sessions})


def yarns_in_order(book: RugBook) -> tuple[Yarn, ...]:
    """Return the yarns as they are read: pile by number, then wefts, then the warp."""
    order = {Role.PILE: 0, Role.WEFT: 1, Role.WARP: 2}
    return tuple(sorted(book.yarns, key=lambda one: (order[one.role], one.number, one.born)))


def yarn_use(book: RugBook, answers: Answers, plan: MaterialPlan, yarn: Yarn) -> YarnUse:
    """Return the grams of a yarn that the rug took so far.

    What was bought, less what was lost, less what is on hand: by a scale when it was weighed after the last session
    that used it, otherwise as learnt from balls and weighings. With nothing bought the plan stands in, and for the
    warp always.
    """
    bought = sum(lot.mass_g for lot in book.lots if lot.yarn_id == yarn.id)
    need = next((one for one in plan.needs if one.yarn_id == yarn.id), None)
    if yarn.role is Role.WARP:
        mounted = any(done.kind is PreparationKind.WARP for done in book.preparations)
        return YarnUse(warp_mass_g(book.plan, yarn), "plan" if mounted or book.sessions else "needed")
    if not book.sessions:
        return YarnUse(None if need is None else need.need_g, "needed")
    lost = sum(spoilt.mass_g for spoilt in book.spoilt if spoilt.yarn_id == yarn.id)
    last = book.sessions[-1]
    weighed = [one for one in book.weighings if one.yarn_id == yarn.id]
    if bought and weighed and (weighed[-1].day, weighed[-1].born) >= (last.day, last.born):
        later = weighed[-1].day
        came = sum(lot.mass_g for lot in book.lots if lot.yarn_id == yarn.id and lot.day <= later)
        gone = sum(one.mass_g for one in book.spoilt if one.yarn_id == yarn.id and one.day <= later)
        return YarnUse(max(0.0, came - gone - weighed[-1].mass_g), "weighed")
    answer = next((one for one in answers.yarns if one.yarn_id == yarn.id), None)
    if bought and answer is not None:
        return YarnUse(max(0.0, bought - lost - answer.on_hand_g), "reckoned")
    if need is None or not book.plan.rows:
        return YarnUse(None, "plan")
    return YarnUse(need.need_g * book.rows_woven / book.plan.rows, "plan")


def rows_by_week(book: RugBook) -> tuple[tuple[date, int], ...]:
    """Return (Monday, rows gained) of every week from the first session to the last, idle ones too."""
    if not book.sessions:
        return ()
    gained: dict[date, int] = defaultdict(int)
    for session in book.sessions:
        gained[session.day - timedelta(days=session.day.weekday())] += session.rows
    first, last = min(gained), max(gained)
    weeks = (last - first).days // 7 + 1
    return tuple((monday, gained[monday]) for monday in (first + timedelta(weeks=at) for at in range(weeks)))


def rows_by_month(book: RugBook) -> tuple[tuple[date, int], ...]:
    """Return (first day, rows gained) of every month from the first session to the last."""
    gained: dict[tuple[int, int], int] = defaultdict(int)
    for session in book.sessions:
        gained[session.day.year, session.day.month] += session.rows
    if not gained:
        return ()
    (year, first), (last_year, last) = min(gained), max(gained)
    found = []
    for index in range(year * 12 + first - 1, last_year * 12 + last):
        at = (index // 12, index % 12 + 1)
        found.append((date(*at, 1), gained[at]))
    return tuple(found)


# --- words


def length_words(length_cm: float, unit: str = "cm") -> str:
    """Return a length as the record says it, in centimetres or inches, without the unit."""
    return number(length_cm / CM_PER_INCH if unit == "inch" else length_cm, 1)


def size_words(width_cm: float, length_cm: float, unit: str = "cm") -> str:
    """Return "100.4 × 142.1 cm"."""
    said = _("{width} × {length} in") if unit == "inch" else _("{width} × {length} cm")
    return said.format(width=length_words(width_cm, unit), length=length_words(length_cm, unit))


def hours_words(value: float) -> str:
    """Return hours to the nearest quarter: "120.5 h"."""
    return _("{number} h").format(number=number(round(value * 4) / 4, 2))


def _days_count(count: int) -> str:
    return n_("{count} day", "{count} days", count).format(count=number(count))


def _title(book: RugBook, unit: str) -> tuple[str, str]:
    """Return the kicker and the subtitle."""
    plan, sessions = book.plan, book.woven_sessions
    size = size_words(plan.width_cm, plan.length_cm, unit)
    if plan.stage is RugStage.FINISHED:
        kicker = _("The record of a hand-knotted rug")
    elif sessions:
        kicker = _("A record so far: this rug is on the loom")
    else:
        kicker = _("A rug that is planned: no row is woven yet")
    subtitle = _("Hand-knotted pile rug, {size}").format(size=size)
    if sessions:
        span = (day(sessions[0].day, sessions[-1].day), day(sessions[-1].day))
        woven = (
            _("woven on {last}").format(last=span[1])
            if sessions[0].day == sessions[-1].day
            else _("woven from {first} to {last}").format(first=span[0], last=span[1])
        )
        subtitle += ", " + woven
    return kicker, subtitle


def _fibres(yarns: Iterable[Yarn]) -> str:
    return one_after_another(list(dict.fromkeys(fibre_words(yarn.fibre) for yarn in yarns)))


def _facts(book: RugBook, answers: Answers, plan: MaterialPlan, unit: str) -> tuple[Fact, ...]:
    rug, density = book.plan, plan.density
    measured = ""
    if answers.final_length_cm is not None:
        measured = _("length by the measure on the loom: about {length}").format(
            length=_("{number} in").format(number=length_words(answers.final_length_cm, unit))
            if unit == "inch"
            else _("{number} cm").format(number=length_words(answers.final_length_cm, unit))
        )
    kinds = {KnotKind.SYMMETRIC: _("symmetric"), KnotKind.ASYMMETRIC: _("asymmetric")}
    kind_more = {
        KnotKind.SYMMETRIC: _("round both warps"),
        KnotKind.ASYMMETRIC: _("round one warp, behind the other"),
    }
    wefts, warps, pile = book.yarns_of(Role.WEFT), book.yarns_of(Role.WARP), book.yarns_of(Role.PILE)
    foundation = []
    if warps:
        foundation.append(_("{fibre} warp").format(fibre=_fibres(warps)))
    if wefts:
        foundation.append(
            n_("{count} weft of {fibre}", "{count} wefts of {fibre}", len(wefts)).format(
                count=number(len(wefts)), fibre=_fibres(wefts)
            )
        )
    per_m2 = _("{knots} knots in a square metre").format(knots=number(density.per_m2))
    return (
        Fact(_("Size"), size_words(rug.width_cm, rug.length_cm, unit), measured),
        Fact(
            _("Knots"),
            number(plan.knots),
            _("{across} across, {rows} rows").format(across=number(rug.knots_across), rows=number(rug.rows)),
        ),
        Fact(
            _("Density"),
            _("{across} × {along} per 10 cm").format(
                across=number(rug.knots_per_10cm, 1), along=number(rug.rows_per_10cm, 1)
            ),
            per_m2,
        ),
        Fact(_("Knot"), kinds[rug.knot_kind], kind_more[rug.knot_kind]),
        Fact(
            _("Pile"),
            _("{number} mm").format(number=number(rug.pile_height_mm, 1)),
            _("{fibre}, {colours}").format(
                fibre=_fibres(pile),
                colours=n_("{count} colour", "{count} colours", len(pile)).format(count=number(len(pile))),
            )
            if pile
            else "",
        ),
        Fact(_("Foundation"), foundation[0] if foundation else "–", ", ".join(foundation[1:])),
        Fact(
            _("Weight"),
            _("about {mass}").format(mass=mass(plan.finished.total_g)),
            _("reckoned from the plan, without fringes"),
        ),
        Fact(_("At the loom"), *_loom_time(book)),
        Fact(_("Woven by"), _names(book), ""),
    )


def _loom_time(book: RugBook) -> tuple[str, str]:
    if not book.woven_sessions:
        return _("not begun"), ""
    hours = sum(session.hours or 0.0 for session in book.sessions)
    figure = _days_count(weaving_days(book))
    return (_("{days}, {hours}").format(days=figure, hours=hours_words(hours)) if hours else figure), ""


def _names(book: RugBook) -> str:
    names = names_of((book,))
    sat = dict.fromkeys(who for session in book.sessions for who in session.weavers)
    said = [names.weaver(who) for who in sat]
    return one_after_another(said) if said else "–"


def _yarn_entries(book: RugBook, answers: Answers, plan: MaterialPlan) -> tuple[YarnEntry, ...]:
    needs = {need.yarn_id: need for need in plan.needs}
    basis = {
        "weighed": _("weighed"),
        "reckoned": _("reckoned"),
        "plan": _("from the plan"),
        "needed": _("needed"),
    }
    entries = []
    for yarn in yarns_in_order(book):
        lots = [lot for lot in book.lots if lot.yarn_id == yarn.id]
        dyers = list(dict.fromkeys(who for who in [*(lot.dyer for lot in lots), yarn.dyer] if who))
        marks = list(dict.fromkeys(lot.dye_lot for lot in lots if lot.dye_lot))
        lines = [", ".join(part for part in (fibre_words(yarn.fibre), yarn.count) if part)]
        source = one_after_another(dyers)
        if marks:
            said = n_("dye lot {lots}", "dye lots {lots}", len(marks)).format(lots=one_after_another(marks))
            source = f"{source}, {said}" if source else said
        if source:
            lines.append(source)
        use = yarn_use(book, answers, plan, yarn)
        need = needs.get(yarn.id)
        knots = getattr(need, "knots", 0.0)
        entries.append(
            YarnEntry(
                number=yarn_code(yarn),
                name=yarn.name,
                swatch=yarn.swatch,
                role=yarn.role,
                lines=tuple(lines),
                knots=number(knots) if yarn.role is Role.PILE else "",
                share=float(getattr(need, "share", 0.0)) if yarn.role is Role.PILE else 0.0,
                used="–" if use.mass_g is None else mass(use.mass_g),
                basis="" if use.mass_g is None else basis[use.basis],
            )
        )
    return tuple(entries)


def _weaving(book: RugBook) -> tuple[Fact, ...]:
    if not book.woven_sessions:
        return ()
    hours = sum(session.hours or 0.0 for session in book.sessions)
    untimed = sum(session.hours is None for session in book.woven_sessions)
    more = ""
    if untimed and hours:
        more = n_("{count} session without hours", "{count} sessions without hours", untimed).format(
            count=number(untimed)
        )
    sat = n_("{count} session", "{count} sessions", len(book.woven_sessions)).format(
        count=number(len(book.woven_sessions))
    )
    facts = [Fact(_("Days at the loom"), number(weaving_days(book)), sat)]
    if hours:
        facts.append(Fact(_("Hours at the loom"), number(round(hours * 4) / 4, 2), more))
    unpicked = -sum(min(0, session.rows) for session in book.sessions)
    facts.append(
        Fact(
            _("Rows woven"),
            number(book.rows_woven),
            n_("{rows} row unpicked on the way", "{rows} rows unpicked on the way", unpicked).format(
                rows=number(unpicked)
            )
            if unpicked
            else "",
        )
    )
    timed_rows = sum(session.rows for session in book.sessions if session.hours is not None)
    if hours and timed_rows > 0:
        facts.append(
            Fact(
                _("Knots in an hour"),
                number(timed_rows * book.plan.knots_across / hours),
                _("of everybody together"),
            )
        )
    return tuple(facts)


def _weavers(book: RugBook) -> tuple[WeaverEntry, ...]:
    names = names_of((book,))
    days: dict[str, set[date]] = defaultdict(set)
    hours: dict[str, float] = defaultdict(float)
    for session in book.sessions:
        for who in session.weavers:
            days[who].add(session.day)
            hours[who] += session.hours or 0.0
    knots: dict[str, int] = {}
    unsaid = 0
    if any(session.places for session in book.sessions):
        knots, unsaid = knots_in_all(book.sessions, book.plan.knots_across)
    entries = [
        WeaverEntry(
            names.weaver(who),
            _days_count(len(days[who])),
            hours_words(hours[who]) if hours[who] else "–",
            knots_words(knots[who]) if who in knots else "",
        )
        for who in days
    ]
    if unsaid:
        entries.append(WeaverEntry(_("Nobody said who"), "", "", knots_words(unsaid)))
    return tuple(entries)


def _bars(book: RugBook) -> tuple[str, tuple[Bar, ...]]:
    weeks = rows_by_week(book)
    if len(weeks) > MOST_WEEKS:
        every = max(1, -(-len(rows_by_month(book)) // 16))
        bars = tuple(
            Bar(first, rows, f"{month_short(first)} {first.year}" if first.month == 1 else month_short(first))
            if at % every == 0
            else Bar(first, rows, "")
            for at, (first, rows) in enumerate(rows_by_month(book))
        )
        return _("Rows by month"), bars
    every = max(1, -(-len(weeks) // 12))
    return _("Rows by week"), tuple(
        Bar(monday, rows, day_short(monday, monday) if at % every == 0 else "")
        for at, (monday, rows) in enumerate(weeks)
    )


def _now(book: RugBook, answers: Answers) -> tuple[Fact, ...]:
    """Return today's answers."""
    where, finish, today = answers.where, answers.finish, answers.day
    facts = [
        Fact(
            _("Where it stands"),
            _("row {row} of {rows}").format(row=number(where.rows_woven), rows=number(where.rows)),
            _("{percent} of the knots").format(percent=percent(where.share)),
        )
    ]
    if finish is not None:
        facts.append(
            Fact(
                _("Last row about"), day(finish.middle, today), range_words(finish.early, finish.late, today)
            )
        )
        if finish.ready is not None and finish.ready > finish.middle:
            facts.append(Fact(_("Ready about"), day(finish.ready, today), _("with the steps after weaving")))
    elif answers.silent_days is not None:
        facts.append(Fact(*silent_words(answers.silent_days)))
    else:
        facts.append(Fact(_("Last row"), _("woven"), ""))
    yarns = {yarn.id: yarn.name for yarn in book.yarns}
    wanting = [
        one for one in answers.yarns if one.word in (YarnWord.SHORT, YarnWord.TIGHT, YarnWord.NOT_BOUGHT)
    ]

    def said(one: YarnAnswer) -> str:
        return f"{yarns.get(one.yarn_id, '')}: {yarn_words(one)}"

    if wanting:
        figure = n_("{count} yarn to watch", "{count} yarns to watch", len(wanting)).format(
            count=number(len(wanting))
        )
        shown = [said(one) for one in wanting[:4]]
        if len(wanting) > len(shown):
            rest = len(wanting) - len(shown)
            shown.append(n_("{count} more", "{count} more", rest).format(count=number(rest)))
        facts.append(Fact(_("The yarn"), figure, "; ".join(shown)))
    elif answers.yarns and finish is not None:
        facts.append(Fact(_("The yarn"), _("every yarn lasts"), ""))
    return tuple(facts)


def _steps(book: RugBook, today: date) -> tuple[tuple[str, str], ...]:
    return tuple(
        (
            step.name,
            _("done {day}").format(day=day(step.done_day))
            if step.done_day
            else _("to do, {days}").format(days=days_words(step.days)),
        )
        for step in sorted(book.after_steps, key=lambda one: (one.number, one.born))
    )


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
                "Turn the rug round, so that feet and light wear it evenly. Look under furniture and at the back for moths."
            ),
        ),
        (
            _("When something is spilt"),
            _(
                "Lift off what is solid and blot with a dry white cloth, from the edge inwards; do not rub. Then blot "
                "with a little lukewarm water. Try anything else first where nobody sees it: colours may run."
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
            _("Strong sun pales every dye in time. Draw a curtain at noon, or turn the rug more often."),
        ),
        (
            _("When it is put away"),
            _(
                "Clean and dry it, roll it round a tube in the direction of the pile, and wrap it in cotton, not in plastic. Do not fold it."
            ),
        ),
        (_("A loose tuft or thread"), _("Cut it level with the pile. Never pull it: it holds a knot.")),
        (
            _("Edges, fringe, a good wash"),
            _(
                "Have edges and fringe secured as soon as they loosen, and have the rug washed by somebody who washes hand-knotted rugs by hand."
            ),
        ),
    )


def rug_record(
    book: RugBook,
    answers: Answers,
    *,
    unit: str = "cm",
    photo_at: Callable[[str], Path | None] = lambda _name: None,
    longest: int = 2400,
    ground: str = "#F7F0E3",
) -> RugRecord:
    """Put the record of a rug into words.

    Parameters
    ----------
    book, answers
        The rug, and its answers of the day the record is made.
    unit
        "cm" or "inch", for lengths.
    photo_at
        Returns where a picture lies by its file name, or None when it is not on this phone.
    longest
        Pixels of the longer side of the rug's picture at the most.
    ground
        Colour towards which rows to come are paled.
    """
    plan = material_plan(book)
    rug = book.plan
    so_far = rug.stage is not RugStage.FINISHED
    kicker, subtitle = _title(book, unit)
    chart_title, bars = _bars(book)
    here: list[tuple[Photo, Path]] = [
        (photo, path) for photo in book.photos if (path := photo_at(photo.file_name)) is not None
    ]
    left_out = len(book.photos) - min(len(here), PHOTOS)
    rows = max(1, rug.rows)
    return RugRecord(
        kicker=kicker,
        name=rug.name,
        subtitle=subtitle,
        on_day=day(answers.day),
        so_far=so_far,
        facts=_facts(book, answers, plan, unit),
        densities=plan.density.all_ways(),
        now=_now(book, answers) if so_far else (),
        warnings=(answers.length_warning,) if so_far and answers.length_warning else (),
        yarns=_yarn_entries(book, answers, plan),
        weaving=_weaving(book),
        weavers=_weavers(book),
        chart_title=chart_title,
        bars=bars,
        steps=_steps(book, answers.day),
        notes=rug.notes,
        photos=tuple(
            PhotoEntry(path, f"{day(photo.day)}: {photo.caption}" if photo.caption else day(photo.day))
            for photo, path in here[:PHOTOS]
        ),
        photos_left_out=n_(
            "{count} more picture is kept in the book.",
            "{count} more pictures are kept in the book.",
            left_out,
        ).format(count=number(left_out))
        if left_out
        else "",
        care=care_advice(),
        picture=rug_picture(book, ground, longest),
        width_cm=rug.width_cm,
        length_cm=rug.length_cm,
        width_words=_("{length} in").format(length=length_words(rug.width_cm, unit))
        if unit == "inch"
        else _("{length} cm").format(length=length_words(rug.width_cm, unit)),
        length_words=_("{length} in").format(length=length_words(rug.length_cm, unit))
        if unit == "inch"
        else _("{length} cm").format(length=length_words(rug.length_cm, unit)),
        woven_share=max(0.0, min(1.0, book.rows_woven / rows)),
        woven_words=_("row {row}").format(row=number(book.rows_woven)),
    )
