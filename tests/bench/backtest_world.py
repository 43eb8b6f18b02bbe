"""Simulated rugs and their weavers for the back-test: a small world written apart from the forecaster.

Nothing here imports `tracker.forecast`. The world weaves forward day by day, for many replicates at once, so
that the same code makes both the true course of a rug and the futures of the forecaster that knows all.
Parameters are drawn at random from ranges set here, not from anything the forecaster assumes.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date, timedelta

import numpy as np

from tracker.domain.rug import (
    Cartoon,
    DaysOff,
    Lot,
    Role,
    RugBook,
    RugPlan,
    RugStage,
    Session,
    Spoilt,
    Weaver,
    Weighing,
    Yarn,
)

PALETTE = (
    "#7a3b2e",
    "#2f4a6d",
    "#c9b58b",
    "#3f3a34",
    "#b98a3c",
    "#6b7f5e",
    "#8c5b6e",
    "#d8cbb0",
    "#4f6b7a",
    "#9c4a3c",
)


@dataclass(frozen=True, eq=False)
class Weave:
    """True parameters of one weaver at one rug."""

    row_work: np.ndarray
    """Work of each row in plain knots, shape (rows,): knots, wefts and beating, colour changes."""
    knots_per_hour: float
    learn_excess: float
    learn_hours: float
    drift_sd: float
    drift_days: float
    evening_sd: float
    team_sizes: tuple[int, ...]
    team_power: float
    team_hazard: float
    weekday_chance: np.ndarray
    weekday_hours: np.ndarray
    hours_sd: float
    absence_hazard: float
    absence_mean: float
    absence_shape: float
    habit_hazard: float
    habit_range: tuple[float, float]
    unpick_chance: float
    unpick_mean: float
    off: frozenset[int]
    work_before: np.ndarray = field(init=False)

    def __post_init__(self) -> None:
        """Cumulate the work once."""
        object.__setattr__(self, "work_before", np.concatenate([[0.0], np.cumsum(self.row_work)]))


@dataclass
class State:
    """Where a number of replicates of one rug stand; every array has shape (n,)."""

    day: int
    work: np.ndarray
    hours: np.ndarray
    drift: np.ndarray
    habit: np.ndarray
    absent: np.ndarray
    team: np.ndarray

    def copies(self, n: int) -> State:
        """Repeat the one replicate of this state n times."""
        return State(
            self.day,
            *(
                np.repeat(getattr(self, k)[:1], n)
                for k in ("work", "hours", "drift", "habit", "absent", "team")
            ),
        )


@dataclass
class Day:
    """What happened on one day of the true course."""

    day: int
    wove: bool
    hours: float
    work: float
    """Work done up to the end of the day."""
    work_peak: float
    """The same before anything was unpicked."""
    team: int


def first_state(w: Weave, start: int, rng: np.random.Generator) -> State:
    """Return the state of one replicate before the first day."""
    one = np.ones(1)
    return State(
        start - 1,
        0 * one,
        0 * one,
        w.drift_sd * rng.normal(size=1),
        one.copy(),
        0 * one,
        w.team_sizes[0] * one,
    )


def next_day(w: Weave, s: State, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Live one day in every replicate; returns (wove, hours, work before any unpicking)."""
    n = s.work.size
    s.day += 1
    weekday = (s.day - 1) % 7  # date.fromordinal(1) was a Monday
    fall_ill = (s.absent <= 0) & (rng.random(n) < w.absence_hazard)
    if fall_ill.any():
        s.absent[fall_ill] = 1 + rng.gamma(
            w.absence_shape, w.absence_mean / w.absence_shape, int(fall_ill.sum())
        )
    change = rng.random(n) < w.habit_hazard
    if change.any():
        low, high = np.log(w.habit_range)
        s.habit[change] = np.exp(rng.uniform(low, high, int(change.sum())))
    if len(w.team_sizes) > 1:
        turn = rng.random(n) < w.team_hazard
        if turn.any():
            s.team[turn] = rng.choice(w.team_sizes, int(turn.sum()))
    keep = np.exp(-1.0 / w.drift_days)
    s.drift = keep * s.drift + w.drift_sd * np.sqrt(1 - keep**2) * rng.normal(size=n)
    wove = (rng.random(n) < w.weekday_chance[weekday]) & (s.absent <= 0) & (s.day not in w.off)
    s.absent = np.maximum(s.absent - 1, 0)
    hours = w.weekday_hours[weekday] * s.habit * np.exp(w.hours_sd * rng.normal(size=n) - w.hours_sd**2 / 2)
    hours = np.where(wove, np.clip(hours, 0.5, 13.0), 0.0)
    pace = (
        w.knots_per_hour
        * s.team**w.team_power
        * np.exp(
            -w.learn_excess * np.exp(-s.hours / w.learn_hours) + s.drift + w.evening_sd * rng.normal(size=n)
        )
    )
    unpicks = wove & (rng.random(n) < w.unpick_chance)
    s.work = s.work + hours * pace * np.where(unpicks, 0.7, 1.0)
    peak = s.work.copy()
    if unpicks.any():
        at = np.searchsorted(w.work_before, s.work[unpicks], side="right") - 1
        lost = 1 + rng.poisson(w.unpick_mean - 1, int(unpicks.sum()))
        s.work[unpicks] = w.work_before[np.clip(at - lost, 0, None)]
    s.hours = s.hours + hours
    return wove, hours, peak


def finish_days(w: Weave, s: State, rng: np.random.Generator, most_days: int = 4000) -> np.ndarray:
    """Weave every replicate to its last row; returns the day's ordinal, shape (n,)."""
    done = np.full(s.work.size, s.day + most_days)
    open_ = np.ones(s.work.size, dtype=bool)
    total = w.work_before[-1]
    for _ in range(most_days):
        next_day(w, s, rng)
        ready = open_ & (s.work >= total)
        done[ready] = s.day
        open_ &= ~ready
        if not open_.any():
            break
    return done


def true_course(
    w: Weave, start: int, rng: np.random.Generator, keep: tuple[float, ...]
) -> tuple[list[Day], dict[float, State]]:
    """Weave one rug to its end; also return the states at the first evening at which each share of rows is done."""
    s = first_state(w, start, rng)
    rows = w.row_work.size
    course: list[Day] = []
    kept: dict[float, State] = {}
    total = w.work_before[-1]
    while s.work[0] < total and len(course) < 3000:
        wove, hours, peak = next_day(w, s, rng)
        course.append(
            Day(s.day, bool(wove[0]), float(hours[0]), float(s.work[0]), float(peak[0]), int(s.team[0]))
        )
        at = np.searchsorted(w.work_before, s.work[0] + 1e-9, side="right") - 1
        for share in keep:
            if share not in kept and wove[0] and at >= share * rows and s.work[0] < total:
                kept[share] = replace(s.copies(1), day=s.day)
    return course, kept


# ---------------------------------------------------------------------------------------------- designs


def draw_cartoon(rows: int, across: int, colours: int, rng: np.random.Generator) -> np.ndarray:
    """Paint a rug: usually a patterned border, a quieter field, and often a medallion."""
    field_colour, *others = rng.permutation(colours)
    cells = np.full((rows, across), field_colour, dtype=np.uint8)
    y, x = np.mgrid[0:rows, 0:across]
    kind = rng.choice(["border", "medallion", "allover", "bands"], p=[0.3, 0.4, 0.2, 0.1])
    period = int(rng.integers(6, 16))
    tile = rng.choice(others, size=(period, period)) if others else np.full((period, period), field_colour)
    motif = tile[y % period, x % period]
    sprinkle = rng.random((rows // period + 1, across // period + 1)) < rng.uniform(0.05, 0.35)
    where = sprinkle[y // period, x // period] & ((x % period) < period // 2)
    cells[where] = motif[where]
    if kind == "allover":
        busy = (y // period + x // period) % 2 == 0
        cells[busy] = motif[busy]
    if kind == "bands":
        band = (y // max(rows // int(rng.integers(4, 9)), 1)) % 2 == 0
        cells[band] = motif[band]
    if kind == "medallion":
        a, b = across * rng.uniform(0.25, 0.45), rows * rng.uniform(0.18, 0.4)
        r = np.abs(x - across / 2) / a + np.abs(y - rows / 2) / b
        ring = (r * rng.integers(4, 12)).astype(int) % max(len(others), 1)
        inside = r < 1
        cells[inside] = np.asarray(others or [field_colour])[ring[inside]]
        knots_in = inside & (((x + y) % period) < 2)
        cells[knots_in] = field_colour
    if kind in ("border", "medallion"):
        wide = int(across * rng.uniform(0.07, 0.18))
        frame = (x < wide) | (x >= across - wide) | (y < wide) | (y >= rows - wide)
        p2 = int(rng.integers(4, 12))
        tile2 = rng.integers(0, colours, size=(p2, p2))
        cells[frame] = tile2[y[frame] % p2, x[frame] % p2]
    return cells


# ------------------------------------------------------------------------------------------------- rugs


@dataclass(eq=False)
class TrueRug:
    """A simulated rug: its whole book, and the truth the forecaster must not see."""

    weave: Weave
    book: RugBook
    earlier: tuple[RugBook, ...]
    states: dict[float, State]
    finish: int
    use_each: dict[str, float]
    """True grams a knot (pile) or a row (weft)."""
    mass_at: dict[float, dict[str, float]]
    """True grams on hand of each yarn on the evening of each kept share."""
    used_g: dict[str, np.ndarray]
    """True grams of each yarn used up to the end of each day woven on, what was unpicked included, (days woven,)."""
    woven_day: np.ndarray = field(default_factory=lambda: np.zeros(0, dtype=int))
    woven_row: np.ndarray = field(default_factory=lambda: np.zeros(0))
    """Rows and parts of rows on the loom at the end of each of those days."""
    hours: float = 0.0
    """Hours at the loom from the first day to the last."""


def draw_weaver(rng: np.random.Generator) -> dict[str, float]:
    """Draw what a weaver takes along from rug to rug."""
    master = rng.random() < 0.35
    return {
        "knots_per_hour": float(np.exp(rng.normal(np.log(650), 0.35))),
        "learn_excess": float(rng.uniform(0.0, 0.12) if master else rng.uniform(0.15, 0.6)),
        "learn_hours": float(np.exp(rng.uniform(np.log(12), np.log(70)))),
        "change_knots": float(np.exp(rng.normal(np.log(0.9), 0.5))),
        "row_knots": float(rng.uniform(8, 60)),
        "keeps_promise": float(np.exp(rng.normal(-0.08, 0.22))),
        "evening_sd": float(rng.uniform(0.08, 0.25)),
        "hours_sd": float(rng.uniform(0.12, 0.4)),
        "skips": float(rng.uniform(0.03, 0.3)),
    }


def draw_rug(
    seed: int,
    checks: tuple[float, ...],
    *,
    may_have_earlier: bool = True,
    weaver: dict[str, float] | None = None,
    small: bool = False,
) -> TrueRug:
    """Draw one rug, weave it to the end and write its book."""
    rng = np.random.default_rng([seed, 77])
    traits = weaver or draw_weaver(rng)
    for _ in range(200):
        across = int(rng.integers(80, 420))
        rows = int(rng.integers(120, 400 if small else 1000))
        sizes: tuple[int, ...] = (1,)
        if rng.random() < 0.3:
            base = int(rng.integers(2, 5))
            sizes = (
                tuple(sorted({max(1, base - 1), base, base}, reverse=True)) if rng.random() < 0.7 else (base,)
            )
        days_a_week = int(rng.integers(2, 7))
        weekdays = np.sort(
            rng.choice(7, size=days_a_week, replace=False, p=np.array([3, 3, 3, 3, 3, 2, 1]) / 18)
        )
        hours_a_day = float(rng.uniform(1.5, 7.5))
        weekly = days_a_week * hours_a_day * (1 - traits["skips"])
        expected = (
            rows * (across + traits["row_knots"]) * 1.15 / traits["knots_per_hour"] / sizes[0] / weekly * 7
        )
        if 60 <= expected <= 420:
            break
    colours = int(rng.integers(2, 10))
    has_cartoon = bool(rng.random() < 0.75)
    cells = draw_cartoon(rows, across, colours, rng)
    changes = np.count_nonzero(np.diff(cells.astype(int), axis=1), axis=1)
    knots = np.stack([(cells == c).sum(axis=1) for c in range(colours)], axis=1)

    start_day = date(2024, 1, 1) + timedelta(days=int(rng.integers(0, 700)))
    start = start_day.toordinal()
    off_spans = [
        (int(start + rng.integers(10, 300)), int(rng.integers(3, 16))) for _ in range(int(rng.integers(0, 3)))
    ]
    off = frozenset(d for first, n in off_spans for d in range(first, first + n))
    chance = np.full(7, rng.uniform(0.0, 0.06))
    chance[weekdays] = np.clip(1 - traits["skips"] * np.exp(rng.normal(0, 0.4, weekdays.size)), 0.2, 0.99)
    hours = hours_a_day * np.exp(rng.normal(0, 0.15, 7))
    weave = Weave(
        row_work=across + traits["row_knots"] + traits["change_knots"] * changes,
        knots_per_hour=traits["knots_per_hour"] * float(np.exp(rng.normal(0, 0.07))),
        learn_excess=traits["learn_excess"],
        learn_hours=traits["learn_hours"],
        drift_sd=float(rng.uniform(0.02, 0.09)),
        drift_days=float(rng.uniform(20, 90)),
        evening_sd=traits["evening_sd"],
        team_sizes=sizes,
        team_power=float(rng.uniform(0.8, 1.0)),
        team_hazard=1 / 30,
        weekday_chance=chance,
        weekday_hours=hours,
        hours_sd=traits["hours_sd"],
        absence_hazard=1 / float(rng.uniform(35, 150)),
        absence_mean=float(rng.uniform(4, 16)),
        absence_shape=float(rng.uniform(0.8, 2.5)),
        habit_hazard=1 / float(rng.uniform(200, 900)),
        habit_range=(0.45, 1.45),
        unpick_chance=float(rng.uniform(0.0, 0.06)),
        unpick_mean=float(rng.uniform(1.5, 4)),
        off=off,
    )
    course, states = true_course(weave, start, rng, checks)

    planned_week = days_a_week * hours_a_day / traits["keeps_promise"]
    plan = RugPlan(
        id=f"rug{seed}", name=f"Simulated rug {seed}", width_cm=across / 4.0, length_cm=rows / 4.0,
        knots_per_10cm=40, rows_per_10cm=40, knots_across=across, rows=rows, pile_height_mm=8, end_cm=0.0,
        weekdays=tuple(int(d) for d in weekdays), hours_per_week=round(planned_week, 1), weavers_planned=sizes[0],
        start_day=start_day, wished_day=start_day + timedelta(days=int(expected)), stage=RugStage.ON_LOOM,
        knots_per_hour=None if rng.random() < 0.4 else round(traits["knots_per_hour"] * float(np.exp(rng.normal(0.05, 0.22))), -1),
    )  # fmt: skip
    sessions = _sessions(weave, course, plan.id, rng)
    book = RugBook(
        plan=plan,
        cartoon=Cartoon(id="c", rug_id=plan.id, cells=cells, palette=PALETTE[:colours])
        if has_cartoon
        else None,
        weavers=tuple(Weaver(id=f"w{i}", name=f"Weaver {i}") for i in range(max(sizes))),
        days_off=tuple(
            DaysOff(
                id=f"o{i}",
                rug_id=None,
                first_day=date.fromordinal(first),
                last_day=date.fromordinal(first + n - 1),
                reason="festival",
            )
            for i, (first, n) in enumerate(off_spans)
        ),
        sessions=sessions,
    )
    rug = TrueRug(weave, book, (), states, course[-1].day, {}, {}, {}, hours=sum(d.hours for d in course))
    _add_yarn(rug, knots, cells, course, checks, rng)
    if may_have_earlier and rng.random() < 0.35:
        rug.earlier = (draw_rug_before(rug, seed, traits),)
    return rug


def draw_rug_before(rug: TrueRug, seed: int, weaver: dict[str, float]) -> RugBook:
    """Draw a rug that the same weaver finished some weeks before this one."""
    before = draw_rug(seed + 500_000, (), may_have_earlier=False, weaver=weaver, small=True)
    return _moved(before.book, rug.book.plan.start_day.toordinal() - before.finish - 20)


def _moved(book: RugBook, days: int) -> RugBook:
    """Move a finished book in time, keeping what the forecaster may use of it."""
    by = timedelta(days=days // 7 * 7)
    done = book.sessions[-1].day + by if book.sessions else book.plan.start_day + by
    plan = replace(book.plan, start_day=book.plan.start_day + by, stage=RugStage.FINISHED, finished_day=done)
    return replace(
        book,
        plan=plan,
        sessions=tuple(replace(s, day=s.day + by) for s in book.sessions),
        days_off=tuple(replace(d, first_day=d.first_day + by, last_day=d.last_day + by) for d in book.days_off),
        lots=(), weighings=(), spoilt=(),
    )  # fmt: skip


def _sessions(weave: Weave, course: list[Day], rug_id: str, rng: np.random.Generator) -> tuple[Session, ...]:
    """Write the diary as weavers write it: whole rows, rounded hours, gaps, now and then a forgotten timer."""
    step = float(rng.choice([0.5, 0.25, 1 / 60], p=[0.6, 0.2, 0.2]))
    gives_hours = 1.0 - (float(rng.choice([0.03, 0.3, 1.0], p=[0.7, 0.22, 0.08])))
    timer = 0.012 if rng.random() < 0.6 else 0.0
    sessions = []
    at = 0
    rows = weave.row_work.size
    for number, day in enumerate(d for d in course if d.wove):
        now = min(int(np.searchsorted(weave.work_before, day.work + 1e-9, side="right") - 1), rows)
        hours: float | None = max(step, round(day.hours / step) * step)
        if rng.random() < timer and hours is not None:
            hours += float(rng.uniform(3, 9))
        if rng.random() > gives_hours:
            hours = None
        sessions.append(
            Session(
                id=f"s{number}", rug_id=rug_id, day=date.fromordinal(day.day), rows=now - at, hours=hours,
                weavers=tuple(f"w{i}" for i in range(day.team)), born=(number + 1) * 10,
            )
        )  # fmt: skip
        at = now
    return tuple(sessions)


# ------------------------------------------------------------------------------------------------- yarn


def _add_yarn(
    rug: TrueRug,
    knots: np.ndarray,
    cells: np.ndarray,
    course: list[Day],
    checks: tuple[float, ...],
    rng: np.random.Generator,
) -> None:
    """Buy, wind, use, weigh and spoil yarn along the true course, and write down what a weaver would."""
    book, plan = rug.book, rug.book.plan
    rows = plan.rows
    common = float(rng.normal(-0.03, 0.18))
    planned_knot_g = float(np.exp(rng.normal(np.log(0.020), 0.3)))
    records = rng.choice(["balls", "scale", "both", "little"], p=[0.35, 0.3, 0.25, 0.1])
    resolution = float(rng.choice([1, 5, 10, 50], p=[0.3, 0.4, 0.2, 0.1]))
    weigh_every = int(rng.integers(18, 60))
    yarns: list[Yarn] = []
    each: list[np.ndarray] = []
    true_each: list[float] = []
    for c in range(knots.shape[1]):
        planned = planned_knot_g * float(np.exp(rng.normal(0, 0.05)))
        per_m2 = planned * plan.knots_per_10cm * plan.rows_per_10cm * 100
        yarns.append(
            Yarn(
                id=f"p{c}", rug_id=plan.id, role=Role.PILE, number=c + 1, name=f"Colour {c + 1}",
                share=None if book.cartoon else round(float(knots[:, c].sum() / knots.sum()), 3),
                cartoon_values=(c,), tex=400, pile_g_per_m2=per_m2, unit_mass_g=float(rng.choice([100, 150, 200])),
            )
        )  # fmt: skip
        each.append(knots[:, c].astype(float))
        true_each.append(planned * float(np.exp(common + rng.normal(0, 0.06))))
    weft_common = float(rng.normal(0.02, 0.1))
    for k in range(int(rng.integers(1, 3))):
        tex = float(rng.uniform(250, 700))
        yarns.append(
            Yarn(
                id=f"f{k}", rug_id=plan.id, role=Role.WEFT, number=k + 1, name=f"Weft {k + 1}", tex=tex,
                take_up=0.06, unit_mass_g=float(rng.choice([40, 60, 80])), fibre="cotton",
            )
        )  # fmt: skip
        each.append(np.ones(rows))
        true_each.append(plan.width_cm * 1.06 * tex * 1e-5 * float(np.exp(weft_common + rng.normal(0, 0.05))))

    lots: list[Lot] = []
    weighings: list[Weighing] = []
    spoilt: list[Spoilt] = []
    used: dict[int, list[tuple[str, float]]] = {}
    mass_at: dict[float, dict[str, float]] = {share: {} for share in checks}
    wove = [d for d in course if d.wove]
    work = rug.weave.work_before
    start = plan.start_day.toordinal()
    for y, yarn in enumerate(yarns):
        total = float(each[y].sum() * true_each[y])
        nominal = total * float(np.exp(rng.uniform(np.log(0.6), np.log(1.7))))
        nominal = max(round(nominal / 50) * 50.0, 50.0)
        parts = [(start, nominal)]
        if rng.random() < 0.3:
            later = int(start + rng.integers(5, 80))
            parts = [(start, round(nominal * 0.6, 0)), (later, round(nominal * 0.4, 0))]
        true_lots = [(d, m * (1 + float(rng.normal(0, 0.012)))) for d, m in parts]
        for i, (d, m) in enumerate(parts):
            lots.append(
                Lot(
                    id=f"l{y}.{i}",
                    rug_id=plan.id,
                    yarn_id=yarn.id,
                    day=date.fromordinal(d),
                    mass_g=m,
                    dye_lot=f"{y}{i}",
                    born=i,
                )
            )
        cumulative = np.concatenate([[0.0], np.cumsum(each[y])])
        ball_bias = float(rng.normal(0, 0.02))

        def ball(yarn: Yarn = yarn, ball_bias: float = ball_bias) -> float:
            return yarn.unit_mass_g * (1 + ball_bias + float(rng.normal(0, 0.05)))

        open_balls = [ball() * float(rng.uniform(0.9, 1.0)) for _ in range(max(rug.weave.team_sizes))]
        gone = spoilt_g = 0.0
        path = np.zeros(len(wove))
        at_work = 0.0
        loses = rng.random() < 0.08
        weighs = records in ("scale", "both") and rng.random() < 0.85
        phase = int(rng.integers(0, weigh_every))
        for number, day in enumerate(wove):
            rows_from = float(np.interp(at_work, work, np.arange(rows + 1)))
            rows_to = float(np.interp(day.work_peak, work, np.arange(rows + 1)))
            units = float(
                np.interp(rows_to, np.arange(rows + 1), cumulative)
                - np.interp(rows_from, np.arange(rows + 1), cumulative)
            )
            at_work = day.work
            took = units * true_each[y] * (1 + float(rng.normal(0, 0.05)))
            gone += took
            path[number] = gone
            ended = 0
            for hand in range(day.team):
                left = took / day.team
                while left >= open_balls[hand]:
                    left -= open_balls[hand]
                    open_balls[hand] = ball()
                    ended += 1
                open_balls[hand] -= left
            if ended and records in ("balls", "both"):
                written = int(rng.binomial(ended, 0.985))
                if written:
                    used.setdefault(number, []).append((yarn.id, float(written)))
            if loses and rng.random() < 3 / len(wove):
                lost = float(rng.uniform(20, 0.08 * total + 30))
                spoilt_g += lost
                spoilt.append(
                    Spoilt(
                        id=f"x{y}.{number}",
                        rug_id=plan.id,
                        yarn_id=yarn.id,
                        day=date.fromordinal(day.day),
                        mass_g=max(1.0, round(lost * (1 + float(rng.normal(0, 0.1))) / 5) * 5),
                        born=(number + 1) * 10 + 2,
                    )
                )
            here = sum(m for d, m in true_lots if d <= day.day) - gone - spoilt_g
            if weighs and number % weigh_every == phase and here > 0:
                damp = float(rng.normal(0, 0.015))
                shown = max(0.0, round(here * (1 + damp) / resolution) * resolution)
                weighings.append(
                    Weighing(
                        id=f"g{y}.{number}",
                        rug_id=plan.id,
                        yarn_id=yarn.id,
                        day=date.fromordinal(day.day),
                        mass_g=shown,
                        resolution_g=resolution,
                        born=(number + 1) * 10 + 5,
                    )
                )
            for share in checks:
                if share in rug.states and rug.states[share].day == day.day:
                    mass_at[share][yarn.id] = here
        rug.use_each[yarn.id] = true_each[y]
        rug.used_g[yarn.id] = path
    sessions = tuple(replace(s, used=tuple(used.get(i, ()))) for i, s in enumerate(book.sessions))
    rug.mass_at = mass_at
    rug.woven_day = np.array([d.day for d in wove])
    rug.woven_row = np.interp([d.work for d in wove], work, np.arange(rows + 1))
    rug.book = replace(
        book, yarns=tuple(yarns), sessions=sessions, lots=tuple(lots), spoilt=tuple(spoilt),
        weighings=tuple(sorted(weighings, key=lambda g: (g.day, g.born))),
    )  # fmt: skip


def book_on(book: RugBook, day: date) -> RugBook:
    """Return the book as it stood on the evening of `day`."""
    return replace(
        book,
        sessions=tuple(s for s in book.sessions if s.day <= day),
        lots=tuple(x for x in book.lots if x.day <= day),
        weighings=tuple(x for x in book.weighings if x.day <= day),
        spoilt=tuple(x for x in book.spoilt if x.day <= day),
    )
