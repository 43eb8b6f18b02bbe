"""The record read back with pypdf: its figures, its picture and its type, against the demo book and sums on paper."""

from __future__ import annotations

import io
import re
import shutil
from dataclasses import replace
from datetime import date, timedelta
from itertools import groupby
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from pypdf import PdfReader

from tests.today import TODAY
from tests.unit.reports.books import BLUE, CELLS, RED, small_answers, small_book
from tracker.app.desk import Desk
from tracker.domain.errors import BadEntry
from tracker.domain.need import account_of
from tracker.domain.rows import rows_to_weave
from tracker.domain.rug import Photo, Role, RugStage, Session
from tracker.forecast.outlook import outlook
from tracker.forecast.reckon import rows_wanted
from tracker.presenters.record.rug_record import rug_record
from tracker.reports import rows_pdf as rows_module
from tracker.reports.record_pdf import record_pdf
from tracker.reports.rows_pdf import rows_list, rows_pdf

CARTOON = Path(__file__).parents[2] / "assets" / "demo" / "cartoon.png"


@pytest.fixture(scope="module")
def demo(tmp_path_factory, demo_book):
    """Every rug of the demo book with its answers, by name."""
    path = Path(shutil.copy(demo_book, tmp_path_factory.mktemp("demo") / "demo.loomside"))
    desk = Desk(path, today=lambda: TODAY, background=False)
    desk.open()
    yield {plan.name: desk.answers_for(plan.id) for plan in desk.plans}
    desk.close()


def read(data: bytes) -> tuple[PdfReader, str]:
    """The document, and its words with single blanks between."""
    document = PdfReader(io.BytesIO(data))
    return document, " ".join(" ".join(page.extract_text() for page in document.pages).split())


def rgb(colour: str) -> tuple[int, ...]:
    return tuple(int(colour[i : i + 2], 16) for i in (1, 3, 5))


# --- what it says


def test_the_record_of_the_demo_rug_has_its_figures(demo) -> None:
    document, words = read(record_pdf(rug_record(*demo["Walled garden"])))
    for own in ("unpicked", "not given", "without hours"):
        assert own not in words, f"the weaver's own affair: {own}"
    # By hand: 241 x 341 knots at 24 x 24 per 10 cm: 241 / 2.4 = 100.4 cm, 341 / 2.4 = 142.1 cm; 24 x 24 x 100 = 57,600
    # in a square metre; 24 x 2.54 / 10 = 6.10 an inch, squared 37.2; x 12 = 73.2 a foot; 24 x 0.7 = 16.8 in 7 cm.
    for figure in (
        "82,181",
        "241 across, 341 rows",
        "100.4 × 142.1 cm",
        "57,600",
        "6.1 × 6.1",
        "37.2",
        "73.2 × 73.2",
        "16.8 × 16.8",
    ):
        assert figure in words, figure
    for said in (
        "A record so far",
        "symmetric",
        "10 mm",
        "Madder red",
        "dye lot M-14",
        "dye lots W-3 and W-4",
        "the dyer by the river",
        "Nm 5/2 x 3 strands",
        "row 197 of 341",
        "40 days",
        "116 h and more",
    ):
        assert said in words, said
    assert document.metadata is not None
    assert document.metadata.title.startswith("Walled garden")
    assert all(page.mediabox.width == pytest.approx(595.28, abs=0.1) for page in document.pages)


def test_the_answers_of_today_stand_in_it_until_the_rug_is_finished(demo) -> None:
    from tracker.words import day

    book, answers = demo["Walled garden"]
    _document, words = read(record_pdf(rug_record(book, answers)))
    assert f"Where it stands on {day(TODAY)}" in words
    assert day(answers.finish.middle, TODAY) in words
    assert "Madder red: short" in words
    _document, done = read(record_pdf(rug_record(*demo["Doorstep"])))
    assert "Where it stands" not in done
    assert "The record of a hand-knotted rug" in done
    assert "done " in done


def test_a_finished_rugs_yarn_is_what_was_bought_less_what_the_scale_left(demo) -> None:
    book, answers = demo["Doorstep"]
    record = rug_record(book, answers)
    # 144 x 216 knots, half of them madder; 1,250 g, 750 g and 500 g were bought.
    assert [yarn.knots for yarn in record.yarns[:3]] == ["15,552", "9,331", "6,221"]
    for yarn, bought_g in zip(record.yarns[:3], (1250, 750, 500), strict=True):
        value = next(one for one in book.yarns if one.name == yarn.name)
        (left,) = [weighing.mass_g for weighing in book.weighings if weighing.yarn_id == value.id]
        assert yarn.used == f"{bought_g - left:.0f} g"
        assert yarn.basis == "weighed"


def test_hours_and_days_of_each_weaver_are_summed() -> None:
    record = rug_record(small_book(), small_answers())
    # Ann: 9 and 17 November, 2 + 3 h. Bo: 17 and 24 November, 3 + 0.5 h.
    assert [(one.name, one.days, one.hours) for one in record.weavers] == [
        ("Ann", "2 days", "5 h"),
        ("Bo", "2 days", "3.5 h"),
    ]
    facts = {fact.label: fact for fact in record.weaving}
    assert facts["Days at the loom"].figure == "3"
    assert facts["Hours at the loom"].figure == "5.5 h"
    assert facts["Rows woven"].figure == "3"
    # 3 rows of 6 knots in the 5 hours of Ann and the 3.5 of Bo: 2.12.
    assert facts["Knots an hour"].figure == "2"


def test_knots_of_each_weaver_are_told_once_somebody_said_who_sits_where() -> None:
    book = small_book()
    first, second, third = book.sessions
    places = (("ann", 1, 4), ("bo", 5, 6))
    told = replace(
        book, sessions=(first, replace(second, places=places), replace(third, rows=-1, weavers=("ann", "bo")))
    )
    # Ann alone 2 x 6, then 2 x 4 of her place; Bo 2 x 2; of the row that comes out 4 knots are Ann's and 2 Bo's.
    assert [(one.name, one.knots) for one in rug_record(told, small_answers()).weavers] == [
        ("Ann", "16 knots"),
        ("Bo", "2 knots"),
    ]
    assert {one.knots for one in rug_record(book, small_answers()).weavers} == {""}


def test_the_chart_has_every_week_from_first_to_last_idle_and_unpicked_ones_too() -> None:
    book = small_book()
    later = Session(id="s4", rug_id="rug", day=date(2026, 12, 8), rows=2, hours=1.0, born=20)
    record = rug_record(replace(book, sessions=(*book.sessions, later)), small_answers())
    # Mondays: 9, 16, 23, 30 November and 7 December.
    assert [(bar.first_day, bar.rows) for bar in record.bars] == [
        (date(2026, 11, 9), 2), (date(2026, 11, 16), 2), (date(2026, 11, 23), -1), (date(2026, 11, 30), 0), (date(2026, 12, 7), 2),
    ]  # fmt: skip
    _document, words = read(record_pdf(record))
    assert "Rows by week" in words
    assert "−1" in words


def test_years_of_weaving_are_charted_by_month() -> None:
    sessions = tuple(
        Session(
            id=f"s{n}",
            rug_id="rug",
            day=date(2024, 1, 15) + timedelta(days=30 * n),
            rows=1,
            hours=1.0,
            born=n,
        )
        for n in range(24)
    )
    book = replace(small_book(), sessions=sessions, plan=replace(small_book().plan, rows=100))
    record = rug_record(book, small_answers())
    assert record.chart_title == "Rows by month"
    assert sum(bar.rows for bar in record.bars) == 24
    assert (record.bars[0].first_day, record.bars[-1].first_day) == (date(2024, 1, 1), date(2025, 12, 1))


def test_lengths_are_in_inches_for_who_measures_so() -> None:
    _document, words = read(record_pdf(rug_record(small_book(), small_answers(), unit="inch")))
    # 30 / 2.54 = 11.8, 20 / 2.54 = 7.9.
    assert "11.8 × 7.9 in" in words
    assert "Hand-knotted pile rug, to be 11.8 × 7.9 in finished" in words  # the line under the name, too


# --- its picture


def plate_of(document: PdfReader) -> np.ndarray:
    return np.array(document.pages[0].images[0].image.convert("RGB")).astype(int)


def test_the_plate_shows_woven_rows_in_true_colours_and_the_rest_pale() -> None:
    document, _words = read(record_pdf(rug_record(small_book(), small_answers())))
    plate = plate_of(document)
    tall, wide = plate.shape[0] // 4, plate.shape[1] // 6
    cell = plate[tall // 2 :: tall, wide // 2 :: wide]
    assert cell.shape == (4, 6, 3)
    # The picture's foot is row 1.
    for row in range(3):
        for knot in range(6):
            assert tuple(cell[3 - row, knot]) == rgb((RED, BLUE)[CELLS[row, knot]])
    assert cell[0].min() > 150


def test_a_finished_plate_is_the_cartoon_knot_for_knot(demo) -> None:
    book, answers = demo["Walled garden"]
    missing = book.plan.rows - book.rows_woven
    last = Session(id="end", rug_id=book.plan.id, day=TODAY, rows=missing, hours=9.0, born=10**6)
    done = replace(
        book,
        sessions=(*book.sessions, last),
        plan=replace(book.plan, stage=RugStage.FINISHED, finished_day=TODAY),
    )
    document, _words = read(record_pdf(rug_record(done, answers)))
    plate = plate_of(document)
    times = plate.shape[0] // 341
    with Image.open(CARTOON) as drawn:
        assert (plate[times // 2 :: times, times // 2 :: times] == np.array(drawn.convert("RGB"))).all()


def test_photos_are_kept_and_a_broken_one_is_told(tmp_path: Path) -> None:
    Image.new("RGB", (3000, 2000), (20, 120, 220)).save(tmp_path / "good.jpg")
    (tmp_path / "broken.jpg").write_bytes(b"\xff\xd8 not a picture")
    photos = tuple(
        Photo(id=name, rug_id="rug", day=date(2026, 11, 17), file_name=f"{name}.jpg", caption=caption)
        for name, caption in (("good", "The first corner"), ("broken", ""), ("elsewhere", ""))
    )

    def at(name: str) -> Path | None:
        return tmp_path / name if (tmp_path / name).is_file() else None

    document, words = read(record_pdf(rug_record(small_book(photos=photos), small_answers(), photo_at=at)))
    assert "17 November 2026: The first corner" in words
    assert "This picture cannot be read." in words
    assert "1 more picture is kept in the book." in words
    # Some writers list every picture on every page; the plate is 6 by 4 knots, each 234 pixels.
    found = {image.image.size: image.image for page in document.pages for image in page.images}
    assert set(found) == {(1404, 936), (1400, 933)}
    assert np.allclose(np.array(found[1400, 933].convert("RGB"))[5, 5], (20, 120, 220), atol=6)


# --- any text


def named(name: str, notes: str = ""):
    book = small_book()
    return replace(
        book,
        plan=replace(book.plan, name=name, notes=notes),
        weavers=tuple(replace(weaver, name=name) for weaver in book.weavers),
        yarns=tuple(replace(yarn, name=name, dyer=name, count=name) for yarn in book.yarns),
    )


@pytest.mark.parametrize(
    "name", ["Sırlı bahçe İĞÜŞÖÇ", "Зимний ковёр Їґ", "Қызыл шегір", "Příliš žluťoučký", "Ελαία", "გამარჯობა"]
)
def test_names_in_many_letters_are_printed_as_they_are(name: str) -> None:
    document, words = read(record_pdf(rug_record(named(name, name), small_answers())))
    assert name in words
    assert "Some letters cannot be shown here." not in words
    assert document.metadata is not None
    assert name in document.metadata.title


@pytest.mark.parametrize(
    "name",
    ["", " ", "\x00\x07\x1b", "\ud83d", "🧶🐑", "绒毯", "بختیاری", "\u202eabc", *(pytest.param(long, marks=pytest.mark.slow) for long in ("a" * 10_000, "ab " * 3000)), "ab " * 600, "-" * 300, "\n\n\n", "(\\) %%EOF endobj", "**bold** --x--"],
)  # fmt: skip
def test_no_text_stops_the_record(name: str) -> None:
    book = named(name, name)
    document, words = read(record_pdf(rug_record(book, small_answers())))
    assert "How to care for it" in words
    assert ("Some letters cannot be shown here." in words) == (name in ("🧶🐑", "绒毯", "بختیاری"))
    assert len(document.pages) < 20
    read(rows_pdf(rows_list(book), name))


def test_the_app_s_own_type_travels_with_the_file() -> None:
    document, _words = read(record_pdf(rug_record(small_book(), small_answers())))
    fonts = {
        str(font.get_object()["/BaseFont"])
        for page in document.pages
        for font in page["/Resources"]["/Font"].values()
    }
    assert any("Lato" in font for font in fonts)
    for page in document.pages:
        for font in page["/Resources"]["/Font"].values():
            kept = font.get_object()["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object()
            assert "/FontFile2" in kept


# --- the least and the most


def test_a_rug_that_is_only_planned_has_a_record_too(demo) -> None:
    _document, words = read(record_pdf(rug_record(*demo["Long winter"])))
    assert "no row is woven yet" in words
    assert "needed" in words
    assert "How it was woven" not in words


def test_a_rug_without_anything_else_has_a_record_too() -> None:
    bare = small_book(
        cartoon=None,
        yarns=(),
        weavers=(),
        sessions=(),
        lots=(),
        spoilt=(),
        weighings=(),
        measurements=(),
        after_steps=(),
        days_off=(),
    )
    _document, words = read(record_pdf(rug_record(bare, small_answers(yarns=(), finish=None))))
    assert "No yarn is in the plan." in words
    assert "30 × 20 cm" in words


def test_the_advice_to_the_buyer_ends_with_whom_to_ask() -> None:
    _document, words = read(record_pdf(rug_record(small_book(), small_answers())))
    for said in ("moths", "Never pull it", "ask somebody who restores hand-knotted rugs"):
        assert said in words


# --- the rows of the cartoon


def test_runs_of_the_small_rug_are_those_on_paper() -> None:
    rows = rows_list(small_book())
    said = [[(rows.yarns[run.colour][0], run.knots) for run in group.runs] for group in rows.groups]
    assert said == [[("1", 6)], [("1", 2), ("2", 2), ("1", 2)], [("2", 1), ("1", 4), ("2", 1)]]
    # Rows 2 and 3 are knotted alike.
    assert [(group.first, group.last) for group in rows.groups] == [(1, 1), (2, 3), (4, 4)]


def test_who_works_from_the_back_reads_each_row_from_its_other_end() -> None:
    book = small_book()
    cells = CELLS.copy()
    cells[3] = [1, 1, 0, 0, 0, 0]
    book = replace(book, cartoon=replace(book.cartoon, cells=cells))
    rows = rows_list(book, first=4, mirrored=True)
    (group,) = rows.groups
    assert [(rows.yarns[run.colour][0], run.knots) for run in group.runs] == [("1", 4), ("2", 2)]


def test_the_printed_rows_are_the_cartoon_read_with_another_reader(demo) -> None:
    """Reads chips and counts off the page by their places and rebuilds the rows from them."""
    book, _answers = demo["Walled garden"]
    rows = rows_list(book, first=330)
    document, words = read(rows_pdf(rows, "25 November 2026"))
    assert "Rows 330 to 341" in words
    with Image.open(CARTOON) as drawn:
        pixels = np.array(drawn.convert("RGB"))[::-1]
    number_of = {rgb(colour): code for code, _name, colour in rows.yarns}
    wanted: dict[int, list[tuple[str, int]]] = {}
    for row in range(330, 342):
        codes = [number_of[tuple(int(part) for part in pixel)] for pixel in pixels[row - 1]]
        wanted[row] = [(code, len(list(same))) for code, same in groupby(codes)]
    found: list[list[tuple[str, int]]] = []
    labels: list[str] = []
    for page in document.pages:
        pieces: list[tuple[float, float, str, float]] = []

        def keep(text, _cm, tm, _font, size, pieces=pieces) -> None:
            if text.strip():
                pieces.append((round(tm[5], 1), tm[4], text.strip(), round(size, 1)))

        page.extract_text(visitor_text=keep)
        labels += [text for _y, _x, text, size in pieces if re.fullmatch(r"3\d\d(–3\d\d)?", text)]
        codes = [(y, x, text) for y, x, text, size in pieces if size == 8.5 and re.fullmatch(r"\d", text)]
        counts = [
            (y, x, int(text))
            for y, x, text, size in pieces
            if size == 13.0 and re.fullmatch(r"\d+", text) and x > 130
        ]
        for (_y1, x1, code), (_y2, x2, count) in zip(codes, counts, strict=True):
            assert 0 < x2 - x1 < 20
            found.append((code, count))
    flat: list[tuple[str, int]] = []
    seen: list[list[tuple[str, int]]] = []
    for row in range(330, 342):
        if not seen or wanted[row] != seen[-1]:
            flat += wanted[row]
        seen.append(wanted[row])
    assert found == flat
    assert labels[0].startswith("330")
    assert labels[-1].endswith("341")


def test_a_long_cartoon_stops_where_one_file_ends_and_says_where(monkeypatch) -> None:
    monkeypatch.setattr(rows_module, "MOST_RUNS", 4)
    rows = rows_list(small_book())
    # One run and three runs make four; row 4 has three more.
    assert (rows.first, rows.last) == (1, 3)
    _document, words = read(rows_pdf(rows, "today"))
    assert "Rows 1 to 3" in words


def test_a_colour_without_a_yarn_is_printed_with_a_question_mark() -> None:
    book = small_book()
    rows = rows_list(replace(book, yarns=tuple(yarn for yarn in book.yarns if yarn.id != "indigo")))
    assert ("?", "no yarn yet", BLUE) in rows.yarns


@pytest.mark.parametrize("first", [0, 5, -3])
def test_rows_that_are_not_there_are_a_sentence(first: int) -> None:
    with pytest.raises(BadEntry, match="rows 1 to 4"):
        rows_list(small_book(), first)


def test_a_rug_without_a_cartoon_has_no_rows_to_print() -> None:
    with pytest.raises(BadEntry, match="no cartoon"):
        rows_list(small_book(cartoon=None))


def test_what_a_customer_reads_of_the_size_is_not_cut_and_speaks_of_no_order_that_nobody_gave() -> None:
    small = small_book()
    plan = replace(
        small.plan,
        stage=RugStage.FINISHED,
        finished_day=date(2026, 11, 24),
        width_cm=10.0,
        length_cm=15.0,
        finished_width_cm=10.0,
        finished_length_cm=15.5,
    )
    _document, words = read(
        record_pdf(rug_record(replace(small, plan=plan), small_answers(finish=None, finished=True)))
    )
    # 7.5 % of 10 cm is 0.75, of 15 cm 1.12.
    assert "planned: 10 × 15 cm; within what is allowed (0.8 cm in width, 1.1 cm in length)" in words
    assert "…" not in words
    assert "Common practice" not in words
    assert "For an old, fine or silk piece ask somebody" in words


def test_all_that_is_known_of_a_rug_stands_above_the_foot_of_the_first_page() -> None:
    record = rug_record(small_book(), small_answers())
    long = "2 % of the length, 15 g of the weight (3.3 %), and what else is known of it in some words more"
    many = tuple(replace(record.facts[0], label=f"Fact {at}", more=long) for at in range(11))
    last = replace(
        record.facts[0], label="Woven by", figure="Ayla and Berna", more="named in 6 of 7 sessions"
    )
    page = PdfReader(io.BytesIO(record_pdf(replace(record, facts=(*many, last))))).pages[0]
    above_foot_mm: dict[str, float] = {}

    def see(text: str, _user: object, matrix: list[float], *_font: object) -> None:
        if text.strip():
            above_foot_mm[text.strip()] = matrix[5] * 25.4 / 72

    page.extract_text(visitor_text=see)
    foot = min(height for words, height in above_foot_mm.items() if words != "named in 6 of 7 sessions")
    # The rule over the footer lies 5 mm above its words.
    assert above_foot_mm["named in 6 of 7 sessions"] > foot + 5


@pytest.mark.parametrize(("yarns", "steps", "notes"), [(10, 3, 0), (12, 7, 1), (11, 9, 30), (4, 14, 2)])
def test_no_row_of_a_list_stands_alone_on_a_page_and_the_sum_stays_with_its_yarns(
    yarns, steps, notes
) -> None:
    """Page 4 of 5 held one line, and the sum of the yarns had fallen to the head of a page."""
    record = rug_record(small_book(), small_answers())
    long = replace(record.yarns[0], lines=("wool", "the river dyer, dye lot M-1"))
    lines = tuple(f"Line {n}" for n in range(notes))
    record = replace(
        record,
        yarns=tuple(replace(long, name=f"Yarn {n}") for n in range(yarns)),
        steps=tuple((f"Step {n}", "to do, 1 day") for n in range(steps)),
        yarn_sums=(("In all", "900 g"), ("In the finished rug", "800 g"), ("Left", "100 g")),
        notes="\n".join(lines),
    )
    document, _words = read(record_pdf(record))
    pages = [page.extract_text() for page in document.pages]
    kinds = {"Yarn": yarns, "Step": steps, "Line": notes}
    for kind, many in kinds.items():
        on_pages = [len(set(re.findall(rf"\b{kind} \d+\b", page))) for page in pages]
        assert sum(on_pages) == many
        assert many < 2 or 1 not in on_pages, (kind, on_pages)
    (with_sum,) = (page for page in pages if "In all" in page)
    assert f"Yarn {yarns - 1}" in with_sum
    assert "Every week" in pages[-1], "all of the advice stands on the last page, not a rest of it"


def test_hours_that_are_told_in_many_words_are_told_in_full() -> None:
    record = rug_record(small_book(), small_answers())
    said = "10 h and more (5.5 h of it usual hours)"
    weavers = tuple(replace(weaver, hours=said) for weaver in record.weavers)
    assert weavers
    _document, words = read(record_pdf(replace(record, weavers=weavers)))
    assert said in words


def test_a_rug_called_finished_before_its_last_row_is_told_with_the_rows_it_has(demo) -> None:
    rug, _answers = demo["Walled garden"]
    woven = rug.rows_woven
    assert woven == 197 < rug.plan.rows
    early = replace(rug, plan=replace(rug.plan, stage=RugStage.FINISHED, finished_day=TODAY))
    answers = outlook(early, TODAY)
    assert (answers.finished, answers.where.rows, answers.where.share) == (True, 197, 1.0)
    _document, words = read(record_pdf(rug_record(early, answers)))
    # 241 x 197
    assert "47,477" in words
    assert "241 across, 197 rows" in words
    assert "82,181" not in words

    # The warp was measured for all of them, and is gone.
    def warp_g(book):
        account = account_of(book, rows_to_weave(book, rows_wanted(book)))
        return next(need.need_g for need in account.needs if need.yarn.role is Role.WARP)

    assert warp_g(early) == pytest.approx(warp_g(rug))
