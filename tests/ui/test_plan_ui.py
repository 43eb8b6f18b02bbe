"""Planning a rug by touch: bare or from a cartoon, with slips on the way, over a closed app, changed and taken back."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from kivy.metrics import dp
from PIL import Image

from tests.today import TODAY
from tests.ui.handed_time import pass_time
from tracker.domain.rug import Role
from tracker.domain.units import DensityUnit
from tracker.previews.draw import settle
from tracker.sheets.asking import ask_text
from tracker.widgets.basics import rest_at
from tracker.widgets.look import look


@pytest.fixture
def pictures(tmp_path: Path, monkeypatch) -> Path:
    """A home of its own, with a folder of pictures, so that the list of files shows nothing else."""
    home = tmp_path / "home"
    folder = home / "Pictures"
    folder.mkdir(parents=True)
    monkeypatch.setenv("HOME", str(home))
    return folder


def draw(path: Path, cells: np.ndarray, colours: list[tuple[int, int, int]]) -> Path:
    """Write cells (top row first, as a picture lies) as a true-colour PNG."""
    Image.fromarray(np.array(colours, dtype=np.uint8)[cells], "RGB").save(path)
    return path


IVORY, MADDER, INDIGO = (239, 230, 210), (155, 47, 37), (36, 64, 107)


def small_cartoon(folder: Path, name: str = "garden.png") -> Path:
    """40 knots by 60 rows: an ivory ground, 200 knots of madder, 60 of indigo along the bottom edge.

    One knot of madder stands alone, as such knots do in every design: a picture without any may as well be an enlarged one.
    """
    cells = np.zeros((60, 40), dtype=int)
    cells[11:21, 7:27] = 1
    cells[11, 7], cells[30, 20] = 0, 1
    cells[-2:, 5:35] = 2
    return draw(folder / name, cells, [IVORY, MADDER, INDIGO])


def open_plan(hand) -> None:
    """Begin a plan: it opens at its first part, or with what was half filled."""
    hand.tap("Plan a rug")


def open_part(hand, title: str) -> None:
    """Begin a plan and open one of its parts from the cards."""
    hand.tap("Plan a rug")
    all_parts(hand)
    hand.tap(title)


def all_parts(hand) -> None:
    """Go to the list of the plan's parts, where one of them is open."""
    if hand.shell.page.part:
        hand.tap("All parts")


def choice(hand, words: str):
    """The key that says so; tables and notes may say it as well."""
    from tests.ui.hand import everything, shown
    from tracker.widgets.basics import Key

    return next(w for w in everything(hand.shell) if isinstance(w, Key) and w.text == words and shown(w))


def go(hand, name: str, **what) -> None:
    """Go to a page, as a link on another page would, and let it be laid out."""
    hand.shell.go(name, **what)
    settle()


def back(hand) -> None:
    """Press the back key and let the page be laid out."""
    hand.key_back()
    settle()


class Counted:
    """Counts the taps of a hand."""

    def __init__(self, hand) -> None:
        self.hand, self.taps = hand, 0

    def __call__(self, *whats) -> None:
        for what in whats:
            self.taps += 1
            self.hand.tap(what)


def test_a_simple_rug_is_planned_in_ten_taps_and_can_be_taken_back(open_app) -> None:
    hand = open_app()
    tap = Counted(hand)
    tap("Plan a rug", "Next: Size", "120 × 180 cm", "Next: Density, knot and pile", "Next: Colours")
    assert not hand.shell.page.ids.overview.children, "cards were built that nobody sees beside an open part"
    tap("Add a colour", "Madder", "Add a colour", "Indigo", "Save")
    assert tap.taps <= 10
    desk = hand.app.desk
    plan = desk.rug.plan
    assert hand.shell.page_name == "home"
    # 120 cm at 40 per 10 cm are 480 knots, 180 cm are 720 rows.
    assert (plan.width_cm, plan.length_cm, plan.knots_across, plan.rows) == (120, 180, 480, 720)
    pile = desk.rug.yarns_of(Role.PILE)
    assert [(yarn.name, yarn.number) for yarn in pile] == [("Ivory", 1), ("Madder", 2), ("Indigo", 3)]
    assert [yarn.share for yarn in pile] == pytest.approx([1 / 3] * 3)
    assert len(desk.rug.yarns_of(Role.WEFT)) == 2
    assert len(desk.rug.yarns_of(Role.WARP)) == 1
    assert hand.sees("is planned: 345,600 knots in 720 rows")
    # The rug came into the picture after the strip: it follows, and hides neither the answer nor the key.
    settle(6)
    (strip,), answer = hand.shell.ids.toast_place.children, hand.shell.page.ids.finish_label
    assert strip.to_window(*strip.pos)[1] >= answer.to_window(0, answer.top)[1]
    hand.tap("Undo")
    assert desk.rug is None
    assert desk.plans == ()
    hand.tap("Plan a rug")
    assert hand.sees("120 × 180 cm"), "what was taken back is still in the form"


def test_numbers_are_given_in_the_weavers_own_units(open_app) -> None:
    hand = open_app()
    open_part(hand, "Size")
    hand.tap("in inches")
    hand.tap("Width")
    for key in "36":
        hand.tap(key)
    hand.tap("Done")
    hand.tap("Next: Density, knot and pile")
    hand.tap(choice(hand, "bis / bhutan"))
    assert not hand.sees("tap a common one"), "there is none to tap in this unit"
    hand.tap(choice(hand, "per inch"))
    hand.tap("12 × 12")
    assert hand.shell.page.form.rows_per_10cm == pytest.approx(12 / 0.254)
    hand.tap(choice(hand, "8 × 8"))
    hand.tap("Rows along")
    for key in "10.16":
        hand.tap(key)
    hand.tap("Done")
    hand.tap("Knots across")
    for key in "10":
        hand.tap(key)
    hand.tap("Done")
    form = hand.shell.page.form
    assert form.width_cm == pytest.approx(91.44)
    assert form.knots_per_10cm == pytest.approx(39.3701, abs=1e-3)
    # 36 inches at 10 knots an inch.
    assert form.knots == 360
    # 10 x 10.16 knots to the square inch (40 rows per 10 cm are 10.16 an inch).
    assert hand.sees("102")


def test_a_slip_in_a_sheet_is_named_there_and_nothing_is_lost(open_app) -> None:
    hand = open_app()
    open_part(hand, "Colours")
    hand.tap("Fineness (yarn count)")
    sheet = hand.shell.sheet
    sheet.content.ids.entry.text = "Nm five"
    hand.tap("Done")
    assert hand.shell.sheet is sheet
    assert hand.sees("is not a fineness of yarn (yarn count)")
    sheet.content.ids.entry.text = "Nm 5/2 x 3"
    hand.tap("Done")
    # Nm 5 is 200 tex; two plies, three strands: 1,200 tex.
    assert hand.sees("1,200 tex")
    assert hand.shell.page.form.of(Role.PILE)[0].count == "Nm 5/2 x 3"


def test_shares_that_miss_the_whole_are_named_and_levelled(open_app) -> None:
    hand = open_app()
    open_part(hand, "Colours")
    hand.tap("Add a colour")
    hand.tap("Madder")
    for name, keys in (("Ivory", "60"), ("Madder", "30")):
        hand.tap(name)
        hand.tap("Share of the knots")
        for key in keys:
            hand.tap(key)
        hand.tap("Done")
        back(hand)
    assert hand.sees("The shares make 90 %: 10 % are missing.")
    back(hand)
    hand.tap("Save the plan")
    assert hand.shell.page_name == "plan"
    assert hand.app.desk.rug is None
    hand.tap("Make them 100 %")
    # 60 : 30 is two to one.
    assert [yarn.share for yarn in hand.shell.page.form.of(Role.PILE)] == pytest.approx([66.7, 33.3])
    back(hand)
    hand.tap("Save the plan")
    assert hand.app.desk.rug is not None


def test_a_cartoon_fixes_knots_and_rows_and_the_size_follows(open_app, pictures) -> None:
    small_cartoon(pictures)
    hand = open_app()
    open_plan(hand)
    hand.tap("Choose a cartoon")
    hand.tap("garden.png")
    assert hand.sees("40 knots across, 60 rows, 3 colours")
    all_parts(hand)
    # 40 knots and 60 rows at 40 per 10 cm.
    assert hand.sees("10 × 15 cm")
    hand.tap("Save the plan")
    # The rug's picture came after the strip that lies over its upper edge: the strip follows it.
    hand.wait(lambda: hand.app.desk.fresh)
    settle(6)
    (strip,), picture = hand.shell.ids.toast_place.children, hand.shell.page.ids.picture
    assert strip.to_window(0, strip.top)[1] == pytest.approx(
        picture.to_window(0, picture.y + picture.height)[1], abs=1
    )
    rug = hand.app.desk.rug
    assert (rug.plan.knots_across, rug.plan.rows) == (40, 60)
    assert (rug.plan.width_cm, rug.plan.length_cm) == (10, 15)
    # The bottom row of the picture is woven first.
    first = [rug.cartoon.palette[value] for value in rug.cartoon.cells[0]]
    assert first.count("#24406B") == 30
    by_swatch = {yarn.swatch: yarn for yarn in rug.yarns_of(Role.PILE)}
    assert set(by_swatch) == {"#EFE6D2", "#9B2F25", "#24406B"}
    for swatch, yarn in by_swatch.items():
        assert [rug.cartoon.palette[value] for value in yarn.cartoon_values] == [swatch]


def test_a_picture_that_is_no_cartoon_changes_nothing(open_app, pictures) -> None:
    small_cartoon(pictures)
    (pictures / "letter.png").write_bytes(b"Dear weaver, this is no picture.")
    photo = np.random.default_rng(3).integers(0, 255, (80, 80, 3)).astype(np.uint8)
    Image.fromarray(photo, "RGB").save(pictures / "photo.jpg")
    hand = open_app()
    open_plan(hand)
    hand.tap("Choose a cartoon")
    hand.tap("garden.png")
    before = hand.shell.page.form
    hand.tap("Choose another picture")
    hand.tap("letter.png")
    assert hand.sees("This file is not a picture")
    assert hand.shell.page.form is before
    hand.tap("Choose another picture")
    hand.tap("photo.jpg")
    assert hand.sees("No squares were found")
    assert hand.app.desk.rug is None
    back(hand)
    assert hand.shell.page.form.cartoon == before.cartoon
    hand.tap("Save")
    assert hand.app.desk.rug.plan.knots_across == 40


def test_stray_shades_are_shown_before_they_are_merged(open_app, pictures) -> None:
    cells = np.zeros((60, 40), dtype=int)
    cells[10:20, 10:30] = 1
    cells[30, 3:13:2] = 2
    draw(pictures / "scan.png", cells, [IVORY, MADDER, (157, 49, 39)])
    hand = open_app()
    open_plan(hand)
    hand.tap("Choose a cartoon")
    hand.tap("scan.png")
    assert hand.sees("1 stray shades were merged into 2 colours") or hand.sees("5 knots")
    assert hand.shell.page.form.cartoon is None, "nothing is taken before it was looked at"
    hand.tap("Merge these shades")
    assert [knots for _shade, knots in hand.shell.page.form.cartoon.shades] == [2195, 205]
    hand.tap("Undo")
    assert hand.shell.page.form.cartoon is None


def test_the_strip_of_a_cartoon_goes_with_its_part_of_the_plan(open_app, pictures) -> None:
    small_cartoon(pictures)
    hand = open_app()
    open_plan(hand)
    hand.tap("Choose a cartoon")
    hand.tap("garden.png")
    assert hand.sees("Cartoon taken: ")
    part = hand.shell.page.part
    hand.shell.page.go_forward()
    settle()
    assert hand.shell.page.part != part
    assert not hand.sees("Cartoon taken: ")
    assert hand.shell.page.form.cartoon is not None


def test_what_a_form_takes_back_is_said_and_the_strip_offers_it_no_longer(open_app, pictures) -> None:
    small_cartoon(pictures)
    hand = open_app()
    open_plan(hand)
    hand.tap("Choose a cartoon")
    hand.tap("garden.png")
    hand.tap("Undo")
    assert hand.shell.page.form.cartoon is None
    assert not hand.sees("Cartoon taken: ")
    assert hand.sees("Undone.")


def test_a_quarter_of_the_rug_is_mirrored_when_the_size_says_so(open_app, pictures) -> None:
    small_cartoon(pictures)
    hand = open_app()
    open_part(hand, "Size")
    for side, keys in (("Width", "20"), ("Length", "30")):
        hand.tap(side)
        for key in keys:
            hand.tap(key)
        hand.tap("Done")
    back(hand)
    hand.tap("Name and cartoon")
    hand.tap("Choose a cartoon")
    hand.tap("garden.png")
    assert hand.sees("but 20 × 30 cm were planned")
    hand.tap("It looks like a quarter: mirror it both ways.")
    form = hand.shell.page.form
    assert (form.knots, form.rows) == (80, 120)
    assert dict(form.cartoon.shades) == {"#EFE6D2": 4 * (2400 - 260), "#9B2F25": 800, "#24406B": 240}
    assert not hand.sees("were planned")


def test_the_draft_survives_closing_the_app_with_its_cartoon(open_app, pictures, tmp_path) -> None:
    picture = small_cartoon(pictures)
    book = tmp_path / "book.loomside"
    hand = open_app(book)
    open_plan(hand)
    hand.tap("Choose a cartoon")
    hand.tap("garden.png")
    hand.tap("Name")
    hand.shell.sheet.content.ids.entry.text = "Pear tree"
    hand.tap("Done")
    picture.unlink()

    hand = open_app(book)
    assert hand.app.desk.rug is None
    open_plan(hand)
    assert hand.sees("Draft restored.")
    assert hand.sees("Pear tree")
    assert hand.sees("cartoon of 40 × 60 knots")
    forms = hand.app.desk.drafts.get("plan forms")
    hand.tap("Save the plan")
    assert hand.app.desk.rug.plan.name == "Pear tree"
    assert hand.app.desk.rug.cartoon.cells.shape == (60, 40)
    # Killed before the form was forgotten: the next rug is planned anew, not in the place of this one.
    hand.app.desk.drafts.put("plan forms", forms)
    hand = open_app(book)
    go(hand, "plan")
    assert hand.shell.page.form.name != "Pear tree"
    assert hand.shell.page.form.rug_id != hand.app.desk.rug_id
    assert not list((tmp_path / "book.loomside.drafts").glob("*.png")), "the copy is cleared away"


def test_an_unsaved_form_can_be_started_over_and_brought_back(open_app) -> None:
    hand = open_app()
    open_part(hand, "Size")
    hand.tap("170 × 240 cm")
    back(hand)
    hand.tap("Start over")
    assert hand.shell.page.form.width_cm == 80
    hand.tap("Undo")
    assert hand.shell.page.form.width_cm == 170


def test_back_in_a_plan_leads_the_way_it_was_come(open_app) -> None:
    """It led from the first part to a list that nobody had seen, and from the third past the second."""
    hand = open_app()
    open_plan(hand)
    hand.tap("Next: Size")
    hand.tap("Next: Density, knot and pile")
    page = hand.shell.page
    seen = []
    for _step in range(2):
        back(hand)
        seen.append(page.part)
    assert seen == ["size", "rug"]
    hand.tap("All parts")
    hand.tap("Working week")
    back(hand)
    assert hand.sees("Wefts, warp and loom"), "the list it was chosen from"
    back(hand)
    assert page.part == "rug"
    back(hand)
    assert hand.shell.page_name == "home"


def plan_bare(hand) -> None:
    hand.tap("Plan a rug")
    all_parts(hand)
    hand.tap("Save the plan")


def test_changing_a_plan_keeps_its_yarns_and_supersedes(open_app) -> None:
    hand = open_app()
    plan_bare(hand)
    desk = hand.app.desk
    before = desk.rug
    go(hand, "plan", rug_id=before.plan.id)
    hand.tap("Density, knot and pile")
    hand.tap("50 × 50")
    back(hand)
    hand.tap("Save the plan")
    after = desk.rug
    assert after.plan.id == before.plan.id
    assert {yarn.id for yarn in after.yarns} == {yarn.id for yarn in before.yarns}
    assert (after.plan.knots_across, after.plan.rows) == (400, 600)
    assert len(desk.plans) == 1
    hand.tap("Undo")
    assert (desk.rug.plan.knots_across, desk.rug.plan.rows) == (320, 480)


def test_a_plan_that_did_not_change_writes_nothing(open_app) -> None:

    hand = open_app()
    plan_bare(hand)
    desk = hand.app.desk
    acts = len(desk.book.diary())
    go(hand, "plan", rug_id=desk.rug.plan.id)
    hand.tap("Save the plan")
    assert hand.sees("Nothing was changed.")
    assert len(desk.book.diary()) == acts


def test_a_yarn_that_was_bought_stays_in_the_plan(open_app) -> None:
    from tracker.domain.rug import Lot, new_id

    hand = open_app()
    plan_bare(hand)
    desk = hand.app.desk
    yarn = desk.rug.yarns_of(Role.PILE)[0]
    desk.act("lot bought", Lot(id=new_id(), rug_id=desk.rug.plan.id, yarn_id=yarn.id, day=TODAY, mass_g=500))
    settle()
    go(hand, "plan", rug_id=desk.rug.plan.id)
    hand.tap("Colours")
    hand.tap("Add a colour")
    hand.tap("Weld")
    hand.tap("Ivory")
    hand.tap("Remove this yarn")
    assert hand.sees("so it stays in the plan")
    assert len(hand.shell.page.form.of(Role.PILE)) == 2


def test_the_days_of_the_week_are_written_alike_and_the_word_below_a_figure_is_off_the_edge(open_app) -> None:
    from tests.ui.hand import everything
    from tracker.widgets.basics import Key, Stepper

    hand = open_app()
    open_part(hand, "Working week")
    settle()
    days = [
        key
        for key in everything(hand.shell.page)
        if isinstance(key, Key) and key.text in ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
    ]
    assert len(days) == 7
    # One size for all seven, and that of every other key.
    assert {round(key.inscription.font_size, 2) for key in days} == {look.type_sizes["body"]}
    (stepper,) = (one for one in everything(hand.shell.page) if isinstance(one, Stepper))
    card = stepper.children[1]
    word, figure = card.children
    assert word.text == "weaver"
    assert word.y - card.y >= dp(5)
    assert figure.y >= word.top
    assert figure.height >= figure.texture_size[1] * 0.9


def test_a_part_that_is_filled_anew_stays_where_it_was_scrolled_to(open_app) -> None:
    """A tap on one more weaver brought the page back to its head, and the next tap in the same place met another field."""
    hand = open_app()
    open_part(hand, "Working week")
    settle()
    page = hand.shell.page
    pane = page._panes[1]
    rest_at(pane, 0.2)
    settle()
    page.change(replace(page.form, weavers_planned=3))
    settle()
    assert pane.scroll_y == pytest.approx(0.2, abs=0.02)


def test_a_wish_is_optional_and_can_be_removed(open_app) -> None:
    hand = open_app()
    open_part(hand, "Working week")
    hand.tap("Target date")
    hand.tap("25")
    assert hand.shell.page.form.wished_day is not None
    hand.tap("Remove the target date")
    assert hand.shell.page.form.wished_day is None


@pytest.mark.parametrize("size", [(892, 412), (1280, 800)])
def test_with_room_the_cards_stay_beside_the_open_part(open_app, size) -> None:
    hand = open_app(size=size)
    open_part(hand, "Size")
    hand.tap("60 × 90 cm")
    assert hand.sees("240 knots across, 360 rows")
    hand.tap("Colours")
    hand.tap("Add a colour")
    hand.tap("Weld")
    hand.tap("Weld")
    hand.tap("All colours")
    assert hand.sees("Add a colour")
    # The card of the part that is open is seen in the list, however low the window.
    for part in ("week", "rug", "foundation"):
        hand.shell.page.open(part)
        settle()
        pane, card = hand.shell.page.ids.overview_scroll, hand.shell.page._chosen_card()
        low, at = pane.to_window(0, pane.y)[1], card.to_window(*card.pos)[1]
        assert low <= at, part
        assert at + card.height <= low + pane.height + 1, part
    hand.tap("Save the plan")
    rug = hand.app.desk.rug
    assert (rug.plan.knots_across, rug.plan.rows) == (240, 360)
    assert [yarn.name for yarn in rug.yarns_of(Role.PILE)] == ["Ivory", "Weld"]


def test_a_shade_is_mixed_with_three_bars(open_app) -> None:
    hand = open_app()
    open_part(hand, "Colours")
    hand.tap("Add a colour")
    hand.tap("Mix another shade")
    sheet = hand.shell.sheet.content
    # Two thirds round the circle of hues lies blue.
    bar = sheet.bars["hue"]
    x, y = bar.to_window(*bar.pos)
    hand.tap_at(x + bar.width * 0.63, y + bar.height / 2)
    hand.tap("Take this shade")
    yarn = hand.shell.page.form.of(Role.PILE)[-1]
    red, green, blue = (int(yarn.swatch[at : at + 2], 16) for at in (1, 3, 5))
    assert blue > red
    assert blue > green
    assert "blue" in yarn.name.lower()


def test_the_phone_reads_a_picture_beside_the_touch_thread(open_app, pictures) -> None:
    small_cartoon(pictures)
    hand = open_app()
    hand.app.desk.background = True
    open_plan(hand)
    page = hand.shell.page
    page.cartoon.look_at(pictures / "garden.png")
    assert page.form.cartoon is None, "reading goes on while the screen answers"
    hand.wait(lambda: page.form.cartoon is not None)
    assert (page.form.knots, page.form.rows) == (40, 60)


def test_a_rug_that_shrinks_is_knotted_larger_and_its_edges_are_bought(open_app) -> None:
    hand = open_app()
    open_part(hand, "Size")
    hand.tap("80 × 120 cm")
    assert hand.sees("320 knots across, 480 rows")
    hand.tap("What is measured, and shrinking")
    hand.tap("Shorter after washing")
    hand.tap("4")
    hand.tap("Done")
    # 120 cm are what 125 cm leave: 500 rows.
    assert hand.sees("320 knots across, 500 rows")
    assert hand.sees("Planned on the loom: 81 × 125 cm with selvedges")
    back(hand)
    hand.tap("Wefts, warp and loom")
    hand.tap("Overcasting, side cords, added fringe")
    hand.tap("Add overcasting of the sides")
    hand.tap("Overcasting of the sides")
    hand.tap("Turns in 1 cm")
    hand.tap("8")
    hand.tap("Done")
    back(hand)
    back(hand)
    hand.tap("Save the plan")
    desk = hand.app.desk
    plan = desk.rug.plan
    assert (plan.width_cm, plan.length_cm, plan.rows, plan.wash_shrinkage_length) == (80, 120, 500, 0.04)
    (overcast,) = desk.rug.yarns_of(Role.OVERCAST)
    assert (overcast.per_cm, overcast.fibre) == (8.0, "wool")
    go(hand, "shopping")
    assert hand.sees("Overcasting of the sides")


@pytest.mark.parametrize("typed", ["1", "301"])
def test_the_keys_of_the_density_say_the_range_that_the_plan_takes(open_app, typed: str) -> None:
    hand = open_app()
    plan_bare(hand)
    go(hand, "plan", rug_id=hand.app.desk.rug.plan.id)
    hand.tap("Density, knot and pile")
    part = hand.shell.page.parts["cloth"]
    part.ask_density("knots_per_10cm", "Knots", DensityUnit.PER_10CM)
    for digit in typed:
        hand.tap(digit)
    hand.tap("Done")
    assert hand.sees("Give a number from 2 to 300.")


@pytest.mark.parametrize("unseen", ["\x00", "\x07", "\u202e"])
def test_letters_that_nobody_can_see_are_told_where_a_name_is_typed(open_app, unseen: str) -> None:
    hand = open_app()
    taken: list[str] = []
    ask = ask_text(hand.shell, "Name", "", taken.append)
    ask.ids.entry.text = f"Garden{unseen}red"
    ask.finish()
    assert taken == []
    assert "letters that cannot be seen" in ask.trouble
    # A line end or a tab is only room between words.
    ask.ids.entry.text = "Garden\tred"
    ask.finish()
    assert taken == ["Garden red"]


def test_a_double_tap_on_the_next_part_skips_none(open_app) -> None:
    hand = open_app()
    hand.shell.go("plan")
    settle()
    page = hand.shell.page
    page.open("rug")
    pass_time(1.0)
    key = page.ids.forward
    x, y = key.to_window(*key.center)
    hand.tap_at(x, y)
    first = page.part
    pass_time(0.2)
    hand.tap_at(x, y)
    assert page.part == first
    pass_time(1.0)
    hand.tap_at(x, y)
    assert page.part != first
