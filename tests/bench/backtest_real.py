"""The back-test on real records: the sewing teams' output, split by team, and the days on which people really worked.

Run it from the root of the repository:

    python tests/bench/backtest_real.py           the parts on which choices may be made
    python tests/bench/backtest_real.py --last    the parts kept for one last look
"""

from __future__ import annotations

import argparse
import csv
import sys
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[2])]

import numpy as np  # noqa: E402

from tests.bench.backtest_scores import DayForecast, line_with_its_errors, score  # noqa: E402
from tracker.domain.as_of import book_as_of  # noqa: E402
from tracker.domain.rug import Role, RugBook, RugPlan, RugStage, Session, Yarn  # noqa: E402
from tracker.forecast.reckon import reckon  # noqa: E402

DATA = Path(__file__).parent / "data"
CHECKS = (0.10, 0.25, 0.50, 0.75)
TEAM = 30
"""Workers of a sewing team, about (the full data set gives 20 to 60)."""
ROWS_A_DAY = 5
"""Rows that a day worked on counts for where only days are known."""
LAST_TEAMS = 2
"""Teams kept for the last look: those with the highest numbers."""
LAST_FROM = date(2015, 7, 1)
"""Days worked from this one on are kept for the last look."""

Output = list[tuple[date, float]]
"""Day and rows gained on it, one entry a day worked on, in order."""


def team_spans(last: bool) -> list[tuple[str, Output]]:
    """Each sewing team's output as rows of rugs of 30 to 59 days: (team, output of one rug)."""
    teams: dict[str, Output] = defaultdict(list)
    with (DATA / "garment_productivity.csv").open(encoding="utf-8") as file:
        for line in csv.DictReader(file):
            teams[line["team"]].append(
                (date.fromisoformat(line["date"]), 20.0 * float(line["actual_productivity"]))
            )
    names = sorted(teams, key=int)
    chosen = names[-LAST_TEAMS:] if last else names[:-LAST_TEAMS]
    return [
        (name, days)
        for name in chosen
        for days in spans_of(sorted(teams[name]), step=6, lengths=(30, 44, 59))
    ]


def worked_spans(last: bool) -> list[tuple[str, Output]]:
    """The days worked as rugs of 30 to 100 days at the loom, a day like any other: (half-year of the first day, output of one rug)."""
    with (DATA / "days_worked.csv").open(encoding="utf-8") as file:
        days = [date.fromisoformat(line["date"]) for line in csv.DictReader(file)]
    chosen = sorted(day for day in days if (day >= LAST_FROM) == last)
    output = [(day, float(ROWS_A_DAY)) for day in chosen]
    return [
        (f"{span[0][0].year}.{span[0][0].month > 6:d}", span)
        for span in spans_of(output, step=24, lengths=(30, 60, 100))
    ]


def spans_of(days: Output, step: int, lengths: Sequence[int]) -> list[Output]:
    """Cut a record into rugs of so many days, one beginning every `step` days."""
    return [
        days[first : first + length]
        for first in range(0, len(days), step)
        for length in lengths
        if first + length <= len(days)
    ]


def rug_of(number: int, span: Output, planned: Sequence[int], weavers: int) -> RugBook:
    """Return the book of a rug of which those rows were woven on those days, no hours entered.

    The plan names the rows a day that the work was measured against: 20 for a team, as many as came of a day where only days are known.
    """
    gained = np.floor(np.cumsum([rows for _day, rows in span])).astype(int)
    rows_a_day = 20 if weavers > 1 else ROWS_A_DAY
    plan = RugPlan(
        id=f"real{number}", name="A real record", width_cm=100, length_cm=100, knots_per_10cm=40, rows_per_10cm=40,
        knots_across=400, rows=int(gained[-1]), pile_height_mm=8, start_day=span[0][0], weekdays=tuple(planned),
        hours_per_week=8.0 * len(planned), stage=RugStage.ON_LOOM, weavers_planned=weavers,
        knots_per_hour=rows_a_day * 400 / 8.0 / weavers**0.9,
    )  # fmt: skip
    sessions = tuple(
        Session(id=f"s{place}", rug_id=plan.id, day=day, rows=int(rows), born=place)
        for place, ((day, _rows), rows) in enumerate(zip(span, np.diff(gained, prepend=0), strict=True))
    )
    yarn = Yarn(id="p", rug_id=plan.id, role=Role.PILE, number=1, name="One", share=1.0, tex=400)
    return RugBook(plan=plan, sessions=sessions, yarns=(yarn,))


def forecasts_of(book: RugBook, number: int, world: str, group: str) -> list[DayForecast]:
    """Forecast a rug on the evening on which each share of it was woven."""
    rows, last = book.plan.rows, book.sessions[-1].day
    gained = np.cumsum([session.rows for session in book.sessions])
    cases = []
    for share in CHECKS:
        today = book.sessions[int(np.argmax(gained >= share * rows))].day
        here = book_as_of(book, today)
        futures = reckon(replace(here, days_off=book.days_off), today).futures
        if futures is None or today >= last:
            continue
        days = (today - book.sessions[0].day).days + 1
        cases.append(
            DayForecast(
                world, number, share, (last - today).days, np.sort(futures.days[:, -1] - today.toordinal()),
                (rows - here.rows_woven) * days / max(here.rows_woven, 1), group=group,
            )
        )  # fmt: skip
    return cases


def real_forecasts(world: str, last: bool = False) -> list[DayForecast]:
    """Forecast the rugs of one real record: "teams" or "days worked"."""
    teams = world == "teams"
    cases = []
    for number, (group, span) in enumerate(team_spans(last) if teams else worked_spans(last)):
        planned = sorted({day.weekday() for day, _rows in span}) if teams else range(5)
        cases += forecasts_of(rug_of(number, span, list(planned), TEAM if teams else 1), number, world, group)
    return cases


def table(cases: Sequence[DayForecast]) -> str:
    """Lay out the scores at each share and over all; the line has its own errors from the other teams or half-years."""
    lines = [
        f"{'':<10}{'n':>5}{'holds':>8}{'before':>8}{'after':>8}{'bias':>8}{'error':>8}{'line':>8}{'CRPS / line':>12}"
    ]
    for share in (None, *CHECKS):
        some = [case for case in cases if share is None or case.share == share]
        ours = score([case.truth for case in some], [case.drawn for case in some])
        line = score([case.truth for case in some], line_with_its_errors(some))
        straight = sum(abs(round(case.straight) - case.truth) for case in some) / sum(
            case.truth for case in some
        )
        name = "all" if share is None else f"{share:.0%}"
        lines.append(
            f"{name:<10}{ours.cases:>5}{ours.holds_80:>8.2f}{ours.before:>8.2f}{ours.after:>8.2f}{ours.bias:>+8.3f}{ours.error:>8.3f}"
            f"{straight:>8.3f}{ours.crps / line.crps:>12.2f}"
        )
    return "\n".join(lines)


def main() -> None:
    """Run the back-test and print the tables."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--last", action="store_true", help="the parts kept for one last look")
    options = parser.parse_args()
    for world in ("teams", "days worked"):
        print(f"\n== {world}{', kept back' if options.last else ''}")
        print(table(real_forecasts(world, options.last)), flush=True)


if __name__ == "__main__":
    main()
