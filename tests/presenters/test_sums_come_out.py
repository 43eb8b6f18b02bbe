"""What a reader multiplies or adds up on any page comes out as it is said, for random books."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tests.presenters.test_one_truth import START, finished_before, random_book, woven
from tests.properties import examples
from tracker.domain.material_plan import MaterialPlan, material_plan
from tracker.domain.rug import (
    Cost,
    CostKind,
    HoursFrom,
    Lot,
    Preparation,
    PreparationKind,
    Role,
    RugBook,
    RugStage,
    Wage,
    WageBasis,
    Weighing,
)
from tracker.forecast.answers import Answers
from tracker.forecast.lessons import lessons_of
from tracker.forecast.outlook import outlook
from tracker.forecast.reckon import rows_wanted
from tracker.presenters import progress, unpick
from tracker.presenters.balls import build_balls_state
from tracker.presenters.costs import build_costs_state
from tracker.presenters.finish import build_finish_state
from tracker.presenters.home import build_home_state
from tracker.presenters.material import build_material_state
from tracker.presenters.preparation import build_preparation_state
from tracker.presenters.record.facts import weaving_facts
from tracker.presenters.record.rug_record import rug_record
from tracker.presenters.shelf import build_lesson_state
from tracker.presenters.yarn import build_yarn_story_state
from tracker.reports.text_form import as_text
from tracker.words import hours

MASSES_OF_A_STORY = ("On hand", "Bought in all", "Moved here in all", "Moved on in all", "Not accounted for")
"""What is said of a yarn side by side; each kilogram leaves five grams open."""
N = 16
SEEDS = st.integers(0, 15) if settings.default.derandomize else st.integers(0, 100_000)
"""In every run the same few books, each worked out once for all sums."""
NUMBER = r"\d[\d,]*(?:\.\d+)?"
TIME = rf"(?:{NUMBER} h {NUMBER} min|{NUMBER} h|{NUMBER} min)"


def read(figure: str) -> tuple[float, float]:
    """Read a number as it is said: itself, and half of its last digit."""
    decimals = len(figure.partition(".")[2])
    return float(figure.replace(",", "")), 0.5 * 10.0**-decimals


def read_h(words: str) -> tuple[float, float]:
    """Read a time as it is said, in hours: itself, and half of its last digit."""
    value = half = 0.0
    for figure, unit in re.findall(rf"({NUMBER}) (h|min)\b", words):
        per = 1.0 if unit == "h" else 60.0
        value += read(figure)[0] / per
        half = read(figure)[1] / per
    return value, half


def holds(product: float, told: tuple[float, float], words: str) -> None:
    """Hold what a reader works out to what is told beside it: within half of its last digit."""
    assert abs(product - told[0]) <= told[1] + 1e-6, f"{product} beside {told[0]}: {words}"


def strings(value: Any) -> Iterator[str]:
    """Return every string that a page's state holds."""
    if isinstance(value, str):
        yield value
    elif is_dataclass(value) and not isinstance(value, type):
        for field in fields(value):
            yield from strings(getattr(value, field.name))
    elif isinstance(value, tuple | list):
        for item in value:
            yield from strings(item)


def read_g(words: str) -> tuple[float, float]:
    """Read a mass as it is said, in grams: itself, and half of its last digit."""
    figure, unit = re.findall(rf"(-?{NUMBER}) (g|kg)\b", words)[-1]
    value, half = read(figure)
    # Of kilograms two decimals are said; trailing noughts are left out.
    return (value * 1000, 5.0) if unit == "kg" else (value, half)


def money(words: str) -> float:
    """Read an amount of money."""
    return float(re.findall(NUMBER, words)[0].replace(",", ""))


def fuller(book: RugBook, seed: int) -> RugBook:
    """The same book with hours as a timer counts them, preparations, wages, costs and prices."""
    rng = np.random.default_rng([seed, 21])
    units = {yarn.id: float(rng.uniform(5, 250)) for yarn in book.yarns}
    book = replace(
        book,
        yarns=tuple(
            replace(yarn, unit_mass_g=units[yarn.id], price_per_kg=float(rng.integers(5, 90)))
            for yarn in book.yarns
        ),
        preparations=tuple(
            Preparation(
                id=f"p{number}", rug_id="r", day=START, kind=kind, count=int(rng.integers(1, 5)),
                yarn_id=yarn.id, hours=float(rng.integers(1, 200)) / 60 if rng.random() < 0.6 else None,
            )
            for number, (yarn, kind) in enumerate(
                (yarn, PreparationKind.BALLS if yarn.role is Role.PILE else PreparationKind.SHUTTLES)
                for yarn in book.yarns if yarn.role.row_by_row
            )
            if rng.random() < 0.4
        ),
        wages=(Wage(id="w", rug_id="r", basis=list(WageBasis)[int(rng.integers(4))], amount=float(rng.uniform(1, 50)), each=10),)
        if rng.random() < 0.7
        else (),
        costs=tuple(
            Cost(id=f"x{number}", rug_id="r", day=START, kind=list(CostKind)[number], amount=float(rng.integers(1, 9000)) / 100)
            for number in range(int(rng.integers(0, 3)))
        ),
    )  # fmt: skip
    sessions = tuple(
        replace(
            session,
            hours=None
            if rng.random() < 0.2
            else round(float(rng.uniform(0.05, 6)) * 60) / 60
            if rng.random() < 0.5
            else session.hours,
            hours_from=HoursFrom.USUAL if rng.random() < 0.2 else session.hours_from,
        )
        for session in book.sessions
    )
    return replace(book, sessions=sessions)


def hold_rates(words: str) -> None:
    """Hold every "n at r", "r each of n in all" of a text to its result."""
    for rows, each, left in re.findall(rf"({NUMBER}) rows? to come at ({TIME}) a row: ({TIME})", words):
        holds(read(rows)[0] * read_h(each)[0], read_h(left), words)
    for each, rows, spent in re.findall(rf"({TIME}) a row so far: ({NUMBER}) rows? in ({TIME})", words):
        holds(read(rows)[0] * read_h(each)[0], read_h(spent), words)
    for each, rows, spent in re.findall(rf"({TIME}) a row \(({NUMBER}) rows? in ({TIME})", words):
        holds(read(rows)[0] * read_h(each)[0], read_h(spent), words)
    for left, week, weeks in re.findall(
        rf"({TIME}) at ({TIME}) a week, days off included: ({NUMBER}) weeks?", words
    ):
        holds(read_h(week)[0] * read(weeks)[0], read_h(left), words)
    for left, days, each in re.findall(
        rf"({TIME}) in ({NUMBER}) days?, days off included, until [^:]*: ({TIME}) a day", words
    ):
        holds(read(days)[0] * read_h(each)[0], read_h(left), words)


@lru_cache(maxsize=64)
def of_seed(seed: int) -> tuple[RugBook, Answers, MaterialPlan]:
    """A random book some evenings later or, every third, before its first; its answers and its plan."""
    book = fuller(random_book(seed), seed)
    day = START
    if seed % 3:
        book = fuller(woven(book, seed), seed)
        day = book.sessions[-1].day
    answers = outlook(book, day, earlier=finished_before(seed) if seed % 5 == 0 else ())
    return book, answers, material_plan(book, rows=rows_wanted(book), taught=answers.taught)


@examples(N)
@given(seed=SEEDS)
def test_rows_by_their_time_and_weeks_by_their_hours_make_the_hours_told(seed: int) -> None:
    book, answers, _plan = of_seed(seed)
    finish = build_finish_state(book, answers)
    pages = (
        finish,
        build_home_state(book, answers),
        progress.pace(book, answers),
        progress.hours_by_weekday(book, answers),
        as_text(book, answers),
    )
    for words in strings(pages):
        hold_rates(words)
    # The hours that are left are one figure on all of them.
    left = re.search(rf"About ({TIME}) at the loom are left", finish.left)
    for words in strings(pages):
        for told in re.findall(
            rf"to come at {TIME} a row: ({TIME})|({TIME}) at {TIME} a week, days off", words
        ):
            assert left is not None
            assert left[1] in told, words


@examples(N)
@given(seed=SEEDS)
def test_the_hours_of_the_preparation_are_those_of_its_lines(seed: int) -> None:
    book, answers, plan = of_seed(seed)
    state = build_preparation_state(book, plan, answers.day)
    lines = [line for group in state.groups for line in group.lines]
    left = [read_h(told[1])[0] for line in lines if (told := re.search(rf"about ({TIME}) left", line.note))]
    head = re.fullmatch(rf"About ({TIME}) left(?: of ({TIME}))?", state.headline)
    assert (head is not None) == bool(left)
    (work,) = (group for group in build_material_state(book, plan, answers).groups if group.icon == "timer")
    facts = {fact.label: fact for fact in work.facts}
    story = dict(facts["Preparation"].story.lines)
    if head is None:
        return
    holds(sum(left), read_h(head[1]), f"{state.headline}: {left}")
    assert read_h(head[1]) == read_h(story["Left to do"])
    # Where something was noted nobody is left to wonder what was done beside it.
    assert (head[2] is None) == ("noted so far" in state.rests_on)
    if head[2] is not None:
        assert read_h(head[2]) == read_h(facts["Preparation"].figure)


@example(seed=289)
@example(seed=1103)
@examples(N)
@given(seed=SEEDS)
def test_knots_by_the_knots_of_an_hour_are_the_hours_of_knotting_and_the_rest_is_the_rest(seed: int) -> None:
    book, answers, plan = of_seed(seed)
    (work,) = (group for group in build_material_state(book, plan, answers).groups if group.icon == "timer")
    (knotting,) = (fact for fact in work.facts if fact.label.startswith("Knotting"))
    story = dict(knotting.story.lines)
    alone = read_h(story["The knots alone, at that rate"])
    rate = next(
        story[label]
        for label in ("Knots an hour, all together: they wait for one another", "Knots an hour, each weaver")
        if label in story
    )
    if alone[0] < 5 / 60:
        return
    holds(read(story["Knots"])[0] / read(rate)[0], alone, str(story))
    rest = read_h(story["Changing colours, a slower start, unpicking"])[0]
    holds(alone[0] + rest, read_h(knotting.figure), str(story))


@examples(N)
@given(seed=SEEDS)
def test_the_knots_tied_by_their_hours_are_the_knots_of_an_hour(seed: int) -> None:
    book, _answers, _plan = of_seed(seed)
    handed = {fact.label: fact.figure for fact in weaving_facts(book)}
    for label, figure, more in build_lesson_state(book, lessons_of(book), START).facts:
        if label == "Knots an hour":
            counted = re.search(rf"by one weaver: ({NUMBER}) knots? in ({TIME})", more)
            assert counted is not None
            holds(read(counted[1])[0] / read_h(counted[2])[0], read(figure), more)
            assert handed.get(label, figure) == figure


@example(seed=59)
@examples(N)
@given(seed=SEEDS)
def test_the_balls_of_every_weaver_weigh_what_stands_over_them(seed: int) -> None:
    book, answers, plan = of_seed(seed)
    across = book.knots_across
    places = (("a", 1, across // 2), ("b", across // 2 + 1, across)) if seed % 2 and across > 3 else ()
    state = build_balls_state(book, answers, places)
    in_all = 0.0
    for card in state.seats:
        lines = [read_g(line.words)[0] for line in card.lines if line.balls and "less than" not in line.words]
        if "To give" in card.figure and "less than" not in card.figure:
            if lines:
                holds(sum(lines), read_g(card.figure), f"{card.figure}: {lines}")
            in_all += read_g(card.figure)[0]
        for line in card.lines:
            needs, has = re.search(r"needs (.*)", line.note), re.search(r"has \d.*, about (.*)", line.note)
            if needs and has and "less than" not in line.words + line.note and "Ahead" not in card.note:
                told = read_g(line.words)
                worked_out = read_g(needs[1])[0] - read_g(has[1])[0]
                # Said alike they differ by what they differ.
                if worked_out:
                    holds(worked_out, told, f"{line.words}; {line.note}")
    if state.figure and "less than" not in state.figure:
        if in_all:
            holds(in_all, read_g(state.figure), state.figure)
        for note in state.notes:
            if note.startswith("Still needed in all"):
                needed, held = note.split(", of which ")
                # Of ten grams on no tenths are said.
                half = max(read_g(part)[1] for part in (needed, held, state.figure))
                holds(read_g(needed)[0] - read_g(held)[0], (read_g(state.figure)[0], half), note)
    for need in plan.wefts:
        (lines,) = (
            yarn.lines
            for group in build_material_state(book, plan, answers).groups
            for yarn in group.yarns
            if yarn.yarn_id == need.yarn_id
        )
        for count, each in re.findall(
            rf"({NUMBER}) shuttles, each for about ({NUMBER}) rows", " ".join(lines)
        ):
            holds(read(count)[0] * read(each)[0], (float(plan.plan.rows), 0.5), str(lines))
    # So many balls of so much are what the rug takes of the colour.
    page = build_material_state(book, plan, answers)
    for group in page.groups:
        for yarn in group.yarns:
            for count, each in re.findall(
                rf"({NUMBER}) balls? of (?:about )?({NUMBER} k?g)", " ".join(yarn.lines)
            ):
                if group.icon == "ball" and any(need.yarn_id == yarn.yarn_id for need in plan.pile):
                    figure, unit = each.split()
                    product = read(count)[0] * read(figure)[0] * (1000 if unit == "kg" else 1)
                    holds(product, read_g(yarn.need), f"{yarn.need}: {yarn.lines}")


@examples(N)
@given(seed=SEEDS)
def test_what_came_of_a_yarn_is_on_hand_lost_or_in_the_rows(seed: int) -> None:
    book, answers, _plan = of_seed(seed)
    for answer in answers.yarns:
        story = build_yarn_story_state(book, answers, answer.yarn_id)
        facts = {fact.label: fact for fact in story.facts}
        if "For the whole rug, as it goes" not in facts:
            continue
        goes = facts["For the whole rug, as it goes"]
        in_rows, needed = goes.more.split(" in the rows so far, ")
        holds(read_g(in_rows)[0] + read_g(needed)[0], read_g(goes.figure), goes.more)
        came = [
            sign * read_g(facts[label].figure)[0]
            for label, sign in (
                ("Bought in all", 1),
                ("Moved here in all", 1),
                ("Moved on in all", -1),
                ("Lost in all", -1),
                ("Not accounted for", -1),
            )
            if label in facts
        ]
        if not any(amount > 0 for amount in came):
            continue
        told = read_g(in_rows)
        half = max(
            told[1],
            5.0 * sum("kg" in facts[label].figure for label in MASSES_OF_A_STORY if label in facts),
            0.5 * ("Lost in all" in facts),
        )
        holds(sum(came) - read_g(facts["On hand"].figure)[0], (told[0], half), str(story.facts))


@examples(N)
@given(seed=SEEDS)
def test_the_parts_of_the_costs_and_the_colours_make_the_whole(seed: int) -> None:
    book, answers, plan = of_seed(seed)
    costs = build_costs_state(book, answers)
    if costs.lines and costs.so_far != "not known":
        holds(sum(money(line.so_far) for line in costs.lines), (money(costs.so_far), 0.001), str(costs.lines))
        if costs.at_end.startswith("about"):
            whole = money(costs.at_end)
            # Of what is foretold three digits are said.
            third = 10.0 ** max(math.floor(math.log10(whole)) - 2, 0) if whole >= 10 else 0.01
            parts = [money(line.at_end or line.so_far) for line in costs.lines]
            holds(sum(parts), (whole, third / 2), f"{costs.at_end}: {costs.lines}")
    page = build_material_state(book, plan, answers)
    if book.plan.pile_height_mm and abs(sum(need.share for need in plan.pile) - 1) < 1e-9:
        told = [
            line for group in page.groups for yarn in group.yarns for line in yarn.lines[:1] if " %" in line
        ]
        if told and all("under" not in line for line in told):
            assert sum(read(re.search(rf"({NUMBER}) %", line)[1])[0] for line in told) == 100, told
        (knots,) = (fact.figure for group in page.groups for fact in group.facts if fact.label == "Knots")
        if told and abs(sum(need.knots for need in plan.pile) - plan.knots) < 0.5:
            holds(sum(read(line.split()[0])[0] for line in told), read(knots), str(told))


@examples(N)
@given(seed=SEEDS)
def test_the_yarns_of_the_record_make_what_stands_under_them(seed: int) -> None:
    book, answers, _plan = of_seed(seed)
    last = answers.day
    done = replace(book, plan=replace(book.plan, stage=RugStage.FINISHED, finished_day=last))
    for one in (book, done):
        record = rug_record(one, answers, longest=4)
        sums = dict(record.yarn_sums)
        if "In all" not in sums:
            continue
        used = [
            read_g(entry.used)[0] for entry in record.yarns if entry.used != "–" and entry.basis != "needed"
        ]
        holds(sum(used), read_g(sums["In all"]), f"{sums}: {used}")
        parts = [read_g(figure)[0] for label, figure in record.yarn_sums[1:]]
        if parts:
            holds(sum(parts), read_g(sums["In all"]), str(sums))


def test_yarns_of_kilograms_make_the_sum_of_what_is_said_of_each() -> None:
    # 1,234 g of each were used: "1.23 kg" each, and the sum of so many of them.
    book, _answers, _plan = of_seed(1)
    last = book.sessions[-1]
    whole = replace(
        book,
        spoilt=(),
        lot_changes=(),
        lots=tuple(
            Lot(id=f"l{y.id}", rug_id="r", yarn_id=y.id, day=START, mass_g=5000.0) for y in book.yarns
        ),
        weighings=tuple(
            Weighing(id=f"w{y.id}", rug_id="r", yarn_id=y.id, day=last.day, mass_g=3766.0, born=last.born + 9)
            for y in book.yarns
        ),
    )
    record = rug_record(whole, outlook(whole, last.day), longest=4)
    used = [read_g(entry.used)[0] for entry in record.yarns if entry.basis == "weighed"]
    assert used == [1230.0] * len(used)
    assert len(used) > 2
    others = [read_g(entry.used)[0] for entry in record.yarns if entry.basis == "from the plan"]
    holds(sum(used) + sum(others), read_g(dict(record.yarn_sums)["In all"]), str(record.yarn_sums))


@examples(N)
@given(seed=SEEDS)
def test_rows_alike_hold_as_many_times_the_yarn_of_one(seed: int) -> None:
    book = random_book(seed)
    if book.cartoon is not None or book.plan.rows < 8:
        book = replace(book, cartoon=None, plan=replace(book.plan, rows=max(book.plan.rows, 8)))
    book = replace(woven(replace(book, weighings=()), seed), spoilt=())
    whole = tuple(replace(one, begun_knots=None, places=(), ahead=(), rows=2) for one in book.sessions)
    book = replace(book, sessions=whole)
    top = book.rows_woven
    one, two = (
        {line.yarn_id: line.there for line in unpick.lines_of(unpick.blank_form(book, START, row=row), book)}
        for row in (top, top - 1)
    )
    for yarn_id in one:
        if "less than" in one[yarn_id] + two[yarn_id]:
            continue
        single, both = read_g(one[yarn_id]), read_g(two[yarn_id])
        # What the smaller figure leaves open is doubled.
        assert abs(2 * single[0] - both[0]) <= 2 * single[1] + both[1] + 1e-6, (one[yarn_id], two[yarn_id])
    assert not any("less than 0.1 g" in words for words in one.values())


@examples(N)
@given(seed=SEEDS)
def test_the_hours_told_are_those_of_the_sessions_they_are_told_of(seed: int) -> None:
    book, _answers, _plan = of_seed(seed)
    handed = {fact.label: fact.figure for fact in weaving_facts(book)}
    taught = {
        label: (figure, more)
        for label, figure, more in build_lesson_state(book, lessons_of(book), START).facts
    }
    if "Hours at the loom" not in handed:
        return
    figure, more = taught["Hours at the loom"]
    # The buyer reads the same figure, and that there were more.
    assert figure == "mostly not given" or figure in handed["Hours at the loom"]
    without = sum(session.hours is None for session in book.told_sessions)
    timed = sum(bool(session.hours) for session in book.sessions)
    # A sum of the fewer would be read as of all.
    assert (figure == "mostly not given") == (without > timed)
    parts = re.findall(rf"({TIME}) (?:given in|in) ({NUMBER}) session", more)
    if parts:
        assert sum(int(count) for _told, count in parts) == timed
        if figure != "mostly not given":
            half = max(read_h(told)[1] for told in (figure, *(told for told, _count in parts)))
            holds(sum(read_h(told)[0] for told, _count in parts), (read_h(figure)[0], half), more)
    # Whoever adds up what the diary tells of each session comes to it, but for its minutes.
    if figure != "mostly not given":
        spent = [read_h(hours(session.hours))[0] for session in book.sessions if session.hours]
        assert sum(spent) == pytest.approx(read_h(figure)[0], abs=0.005 * (len(spent) + 1))
