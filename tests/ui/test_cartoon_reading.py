"""A cartoon on paper, read and corrected by touch: what is shown, what a finger can set right, what is taken."""

from __future__ import annotations

import io
import os
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from unittest import mock

import numpy as np
import pytest
from PIL import Image

from tests.reading.on_paper import Sheet, Trouble, cartoon, enlarged, framed, put_on_paper, yarns
from tests.today import TODAY
from tests.ui import remembered
from tests.ui.hand import Finger
from tests.ui.handed_time import pass_time
from tests.unit.device.phone import Phone, put_in_place
from tracker.presenters.plan.form import blank_form
from tracker.previews.draw import settle
from tracker.widgets.basics import Busy

KNOTS, ROWS = 32, 44


@dataclass
class Taken:
    """What the page handed over."""

    pictures: list[Any] = field(default_factory=list)
    doubts: list[Any] = field(default_factory=list)

    def __call__(self, picture: Any, doubted: Any) -> None:
        self.pictures.append(picture)
        self.doubts.append(doubted)


@pytest.fixture(scope="module")
def sheet() -> Sheet:
    """A cartoon of 32 x 44 squares and four colours, photographed a little from aside."""
    rng = np.random.default_rng(5)
    cells = framed(cartoon(rng, ROWS, KNOTS, 4, "bordered"))
    trouble = Trouble(points=9.0, tilt_deg=8, turn_deg=3, table=True, jpeg=90, noise=1.5)
    return put_on_paper(rng, cells, yarns(rng, 4), trouble)


@pytest.fixture
def wall(tmp_path: Path, sheet: Sheet) -> Path:
    path = tmp_path / "wall.jpg"
    path.write_bytes(sheet.data)
    return path


def picture_of_nothing(path: Path) -> Path:
    """Soft clouds: no squares, no edges."""
    rng = np.random.default_rng(2)
    small = Image.fromarray(rng.integers(60, 200, (6, 8, 3), dtype=np.uint8))
    soft = np.asarray(small.resize((240, 180), Image.Resampling.BICUBIC)).astype(np.int16)
    Image.fromarray(np.clip(soft + rng.integers(-6, 7, soft.shape), 0, 255).astype(np.uint8)).save(path)
    return path


def read(hand, path: Path) -> Taken:
    """Open the page on a picture."""
    taken = Taken()
    hand.shell.go("cartoon_reading", path=path, form=blank_form(TODAY), take=taken)
    settle()
    return taken


def corner_on_screen(hand, index: int) -> tuple[float, float]:
    view = hand.shell.page._photo
    x, y = view.on_screen(*view.corners[index])
    return view.to_window(x, y)


def place_on_screen(hand, place: tuple[float, float]) -> tuple[float, float]:
    """Where a place of the file lies in the window."""
    page = hand.shell.page
    view = page._photo
    return view.to_window(*view.on_screen(place[0] / page._photo_scale, place[1] / page._photo_scale))


def test_what_was_understood_is_shown_and_taken_with_one_tap(open_app, wall, sheet) -> None:
    hand = open_app()
    taken = read(hand, wall)
    assert hand.sees("32 knots across, 44 rows, 4 colours")
    assert hand.sees("8 × 11 cm"), "how large it weaves at the plan's 40 knots to 10 cm"
    grid = hand.shell.page._grid
    assert (grid.knots, grid.rows) == (KNOTS, ROWS)
    assert not taken.pictures, "nothing is taken before it was looked at"
    hand.tap("Take this cartoon")
    assert taken.pictures[0].cells.shape == (ROWS, KNOTS)
    truth = sheet.cells[::-1]
    for value in range(4):
        mine = taken.pictures[0].cells[truth == value]
        assert (mine == np.bincount(mine).argmax()).mean() > 0.998
    assert hand.shell.page_name == "home"


def test_the_straightened_picture_shows_each_square_in_its_own_block(open_app, wall, sheet) -> None:
    hand = open_app()
    read(hand, wall)
    page = hand.shell.page
    shown = page._grid.picture
    block = shown.shape[1] // KNOTS
    middles = shown[block // 2 :: block, block // 2 :: block].astype(int)
    # The squares' middles lie near the colours they were painted in, under the sheet's own light.
    off = np.abs(middles - sheet.palette[sheet.cells].astype(int)).max(axis=2)
    assert np.median(off) < 25


def test_a_wrong_number_is_set_right_and_reckoned_anew(open_app, wall) -> None:
    hand = open_app()
    read(hand, wall)
    hand.tap("Rows")
    for key in "22":
        hand.tap(key)
    hand.tap("Done")
    assert hand.sees("32 knots across, 22 rows")
    assert hand.sees("as you said")
    hand.tap("Knots across")
    for key in "9999":
        hand.tap(key)
    hand.tap("Done")
    assert hand.sees("So many squares cannot be seen in a picture of"), "they would fill the phone's memory"
    assert hand.sees("32 knots across, 22 rows"), "what was read is still there"
    hand.tap("Find everything again")
    assert hand.sees("32 knots across, 44 rows")
    hand.tap("Colours")
    hand.tap("3")
    hand.tap("Done")
    assert hand.sees("44 rows, 3 colours")


def test_a_corner_is_dragged_with_a_magnifier_under_the_finger(open_app, wall, sheet) -> None:
    hand = open_app()
    read(hand, wall)
    hand.tap("Corners")
    page = hand.shell.page
    # Half the cartoon: both lower corners go to the middle of its sides, 22 rows from the top.
    x, y = corner_on_screen(hand, 2)
    finger = Finger(x, y)
    finger.put(x, y)
    settle(1)
    assert page._photo._glass is not None, "the surroundings of the corner are shown enlarged"
    finger.lift()
    # A second touch at one place in a moment is let go as a slip.
    pass_time(0.5)
    settle(1)
    before = page.reading
    for index, (above, below) in ((2, (1, 2)), (3, (0, 3))):
        middle = (sheet.corners[above] + sheet.corners[below]) / 2
        hand.drag(corner_on_screen(hand, index), place_on_screen(hand, tuple(middle)))
    assert page.reading is not before
    assert page.reading.knots_across == KNOTS
    assert abs(page.reading.rows - ROWS // 2) <= 1


def test_cutting_out_a_part_reads_that_part_alone(open_app, wall, sheet) -> None:
    hand = open_app()
    read(hand, wall)
    hand.tap("Cut out")
    page = hand.shell.page
    top = page._photo.on_screen(0, 0)[1]
    x, y = corner_on_screen(hand, 0)
    middle = place_on_screen(hand, tuple((sheet.corners[0] + sheet.corners[3]) / 2))
    hand.drag((x, y), (x, middle[1]))
    crop = page.wishes["crop"]
    assert crop[1] > 0
    assert page._photo.corners[0][1] == page._photo.corners[1][1], "the box stays upright"
    assert page._photo.on_screen(0, 0)[1] == top
    assert page.reading.rows < ROWS * 0.6


def test_a_picture_without_squares_says_so_and_offers_what_can_be_done(open_app, tmp_path) -> None:
    hand = open_app()
    taken = read(hand, picture_of_nothing(tmp_path / "clouds.png"))
    assert hand.sees("No squares were found")
    hand.tap("Take this cartoon")
    assert not taken.pictures
    assert hand.shell.page_name == "cartoon_reading"
    hand.tap("Knot this picture")
    assert hand.shell.page_name == "knotting"
    # 320 knots across the planned 80 cm; a picture of 240 x 180 keeps its shape: 240 rows.
    assert hand.sees("320 knots across, 240 rows")
    view = hand.shell.page._view
    assert view.picture.shape[1] / view.picture.shape[0] == pytest.approx(240 / 180, rel=0.01)
    hand.tap("Knots across")
    for key in "60":
        hand.tap(key)
    hand.tap("Done")
    hand.tap("Take it as the cartoon")
    assert taken.pictures[0].cells.shape == (45, 60)
    assert len(taken.pictures[0].palette) <= 8


def test_what_cannot_be_opened_says_why_and_offers_another(open_app, tmp_path) -> None:
    path = tmp_path / "letter.jpg"
    path.write_bytes(b"Dear weaver, this is no picture.")
    hand = open_app()
    read(hand, path)
    assert hand.sees("not a picture")
    assert hand.sees("Choose another picture")
    assert not hand.sees("Knot this picture")


def test_the_phone_reads_beside_the_touch_thread_and_can_be_stopped(open_app, wall) -> None:
    remembered.forget_readings()  # what is remembered is there before anybody could stop it
    hand = open_app()
    hand.app.desk.background = True
    taken = read(hand, wall)
    page = hand.shell.page
    assert page.busy
    hand.wait(lambda: page._job is not None)
    hand.tap("Stop")
    assert hand.sees("The reading was stopped.")
    assert page.reading is None
    page.find_anew()
    hand.wait(lambda: page.reading is not None)
    assert page.share > 0, "the bar moved"
    assert not page.busy
    hand.tap("Take this cartoon")
    assert taken.pictures


def test_stop_ends_the_opening_of_a_picture_and_the_joining_of_parts_too(open_app, home) -> None:
    hand = open_app()
    for what in ("Plan a rug", "Choose a cartoon", "wall.jpg", "Add a photograph of the next part"):
        hand.tap(what)
    page, desk = hand.shell.page, hand.app.desk
    waiting = []

    def later(work, done, failed=None) -> None:
        waiting.append((work, done, failed))

    desk.aside = later
    hand.tap("wall.jpg")
    assert hand.sees("Opening the picture")
    hand.tap("Stop")
    assert hand.sees("The reading was stopped.")
    work, done, _failed = waiting.pop()
    done(work())
    assert not waiting, "what was stopped is not read when it is open at last"
    assert page.sheet is None
    assert hand.sees("The reading was stopped.")
    del desk.aside
    hand.tap("Choose another picture")
    hand.tap("wall.jpg")
    assert hand.sees("32 knots across, 44 rows"), "the first part waits still"
    desk.aside = later
    hand.tap("Join it to the part before")
    hand.tap("Stop")
    _work, _done, failed = waiting.pop()
    failed("The two pictures share nothing.")
    assert not hand.sees("The two pictures share nothing.")
    assert hand.sees("Join it to the part before"), "both parts are there still"
    assert not hand.find("Join it to the part before").disabled


BAD: dict[str, tuple[bytes, str]] = {
    "letter.png": (b"Dear weaver", "not a picture"),
    "zip.jpg": (b"PK\x03\x04" + bytes(99), "not a picture"),
    "torn.jpg": (b"", "broken"),
    "empty.png": (b"", "The file is empty"),
    "gone.png": (b"", "could not be opened"),
    "pipe.png": (b"", "a folder or a device"),
    "night.jpg": (b"", "too dark"),
    "two\nlines.png": (b"no picture", "not a picture"),
}
"""What lies in files chosen for a cartoon, and what is said of it."""


def test_a_bad_picture_is_refused_in_a_sentence_and_the_plan_keeps_what_it_had(
    open_app, home, sheet, tmp_path
) -> None:
    for name, (data, _said) in BAD.items():
        (home / name).write_bytes(data)
    (home / "torn.jpg").write_bytes(sheet.data[: len(sheet.data) // 2])
    (home / "gone.png").unlink()
    (home / "pipe.png").unlink()
    os.mkfifo(home / "pipe.png")
    Image.new("RGB", (90, 90), (9, 9, 9)).save(home / "night.jpg")
    hand = open_app()
    read_for_a_plan(hand, "wall.jpg")
    hand.tap("Take this cartoon")
    plan = hand.shell.page
    kept, shown = plan.form, plan.cartoon.picture.cells
    for name, (_data, said) in BAD.items():
        plan.cartoon.look_at(home / name)
        settle()
        assert hand.sees(said), (name, hand.words())
        if hand.shell.page is not plan:
            assert not hand.shell.page.ready
            assert hand.key_back()
        assert (hand.shell.page, plan.form) == (plan, kept), name
        assert np.array_equal(plan.cartoon.picture.cells, shown), name
    # A picture that vanishes while it is read, and one for which the memory does not suffice.
    for trouble, said in ((OSError("gone"), "could not be opened"), (MemoryError(), "too large")):
        with mock.patch("tracker.pictures.opening.read_regular", side_effect=trouble):
            plan.cartoon.look_at(home / "wall.jpg")
        settle()
        assert hand.sees(said)
        assert (hand.shell.page, plan.form) == (plan, kept)
    plan.cartoon.read_paper(home / "night.jpg")
    settle()
    with mock.patch("tracker.app.cartoons.read_sheet", side_effect=MemoryError()):
        hand.shell.page.find_anew()
        settle()
    assert hand.sees("The picture is too large for this phone. Choose a smaller one.")


class Counted:
    """A hand that counts its taps and drags."""

    def __init__(self, hand) -> None:
        self.hand, self.count = hand, 0

    def tap(self, *whats: str) -> None:
        for what in whats:
            self.count += 1
            self.hand.tap(what)

    def drag(self, start: tuple[float, float], end: tuple[float, float]) -> None:
        self.count += 1
        self.hand.drag(start, end)


@pytest.fixture
def home(tmp_path: Path, wall: Path, monkeypatch) -> Path:
    """A home with the photograph of the cartoon in its folder of pictures."""
    folder = tmp_path / "home" / "Pictures"
    folder.mkdir(parents=True)
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    wall.rename(folder / "wall.jpg")
    return folder


class FromFile:
    """The picture lies among the files."""

    def choose(self, counted: Counted, home: Path) -> None:
        counted.tap("Plan a rug", "Choose a cartoon", "wall.jpg")


class FromCamera:
    """The picture is taken with a phone's camera."""

    def __init__(self, tmp_path: Path, monkeypatch) -> None:
        self.phone = put_in_place(Phone(36, tmp_path / "phone"), monkeypatch)
        self.phone.says["android.content.pm.PackageManager.hasSystemFeature"] = True

    def choose(self, counted: Counted, home: Path) -> None:
        counted.tap("Plan a rug", "Photograph the cartoon")
        taken = Path(self.phone.calls("FileProvider.getUriForFile")[-1][2].given[0])
        taken.write_bytes((home / "wall.jpg").read_bytes())
        counted.count += 2  # the camera's own: it takes the picture, and asks whether it is good
        self.phone.answers("RESULT_OK")
        settle()


@pytest.fixture(params=["file", "camera"])
def source(request, tmp_path, monkeypatch) -> FromFile | FromCamera:
    return FromFile() if request.param == "file" else FromCamera(tmp_path, monkeypatch)


def test_from_a_picture_to_a_saved_plan_in_five_taps_with_the_camera_in_six(
    open_app, home, sheet, source
) -> None:
    hand = open_app()
    counted = Counted(hand)
    source.choose(counted, home)
    counted.tap("Take this cartoon", "Save")
    rug = hand.app.desk.rug
    assert counted.count <= (5 if isinstance(source, FromFile) else 6)
    assert (rug.plan.knots_across, rug.plan.rows) == (KNOTS, ROWS)
    assert rug.cartoon.cells.shape == (ROWS, KNOTS)
    # The sheet's bottom row is woven first: every colour's knots are the true ones.
    truth = np.bincount(sheet.cells.ravel())
    found = np.bincount(rug.cartoon.cells.ravel())
    assert sorted(found) == pytest.approx(sorted(truth), abs=3)
    if isinstance(source, FromFile):
        assert rug.cartoon.source_name == "wall.jpg"
    else:
        assert not list(source.phone.folder.rglob("loomside-*.jpg")), (
            "a picture taken here is gone once it was taken in"
        )


def test_the_first_rug_walked_by_every_page_takes_nine_taps(open_app, home) -> None:
    hand = open_app()
    counted = Counted(hand)
    counted.tap("Plan a rug", "Choose a cartoon", "wall.jpg", "Take this cartoon")
    seen = [hand.shell.page.heading]
    while not hand.sees("Save the plan"):
        counted.tap(next(words for words in hand.words() if words.startswith("Next: ")))
        seen.append(hand.shell.page.heading)
    # The size that the cartoon makes is told where the density is asked: nothing else of it is to be decided.
    assert seen == [
        "Name and cartoon",
        "Density, knot and pile",
        "Colours",
        "Wefts, warp and loom",
        "Working week",
    ]
    counted.tap("Save the plan")
    assert counted.count <= 9
    assert hand.app.desk.rug.cartoon.cells.shape == (ROWS, KNOTS)


def test_with_all_four_corners_set_right_it_takes_ten_with_the_camera_eleven(
    open_app, home, sheet, source
) -> None:
    hand = open_app()
    counted = Counted(hand)
    source.choose(counted, home)
    counted.tap("Corners")
    page = hand.shell.page
    # As if all four had been found two squares off.
    page._correct(corners=tuple((float(x) + 18, float(y) + 18) for x, y in sheet.corners))
    for index in range(4):
        counted.drag(corner_on_screen(hand, index), place_on_screen(hand, tuple(sheet.corners[index])))
    counted.tap("Take this cartoon", "Save")
    assert counted.count <= (10 if isinstance(source, FromFile) else 11)
    plan = hand.app.desk.rug.plan
    assert (plan.knots_across, plan.rows) == (KNOTS, ROWS)


@pytest.mark.parametrize("points", [2, 6])
def test_a_picture_drawn_large_is_never_taken_point_by_point_in_silence(open_app, home, points) -> None:
    rng = np.random.default_rng(7)
    cells, palette = framed(cartoon(rng, 60, 40, 5, "lattice")), yarns(rng, 5)
    large = np.kron(palette[cells], np.ones((points, points, 1), dtype=np.uint8))
    Image.fromarray(large).save(home / "large.png")
    hand = open_app()
    for what in ("Plan a rug", "Choose a cartoon", "large.png"):
        hand.tap(what)
    assert hand.shell.page_name == "cartoon_reading"
    assert hand.sees("40 knots across, 60 rows, 5 colours")


def test_the_choice_is_undone_with_the_strip(open_app, home) -> None:
    hand = open_app()
    for what in ("Plan a rug", "Choose a cartoon", "wall.jpg", "Take this cartoon"):
        hand.tap(what)
    assert hand.shell.page_name == "plan"
    assert hand.sees("Cartoon taken: 32 × 44 knots.")
    assert not hand.sees("Draft restored."), "she never left the plan"
    hand.tap("Undo")
    assert hand.shell.page.form.cartoon is None


def test_half_a_cartoon_photographed_is_mirrored_like_any_other(open_app, home) -> None:
    hand = open_app()
    for what in ("Plan a rug", "Choose a cartoon", "wall.jpg", "Take this cartoon"):
        hand.tap(what)
    for what in ("The picture shows", "its left half"):
        hand.tap(what)
    assert hand.shell.page.form.knots == 2 * KNOTS


def test_a_cartoon_just_taken_is_mended_before_its_plan_is_saved(open_app, home) -> None:
    hand = open_app()
    for what in ("Plan a rug", "Choose a cartoon", "wall.jpg", "Take this cartoon"):
        hand.tap(what)
    as_taken = hand.shell.page.cartoon.picture
    for what in ("The picture shows", "its left half", "Mend the cartoon"):
        hand.tap(what)
    page = hand.shell.page
    assert page.drawing.cells.shape == (ROWS, KNOTS), "the picture as it was taken, before it is mirrored"
    yarn = page.drawing.yarns[int(page.drawing.cells[0, 0]) - 1]
    hand.tap(yarn_key(hand, yarn.swatch))
    view = page._view
    hand.tap_at(*view.to_window(view._left + view.cell()[0] / 2, view._top - view.cell()[1] * (ROWS - 0.5)))
    assert hand.sees("1 knot is changed.")
    half_filled = hand.app.desk.drafts.get("plan forms")
    hand.tap("Back to the plan")
    assert hand.app.desk.drafts.get("plan forms") == half_filled, (
        "kept with the stroke: the phone may end the app"
    )
    assert hand.sees("64 knots across")
    hand.tap("Save")
    rug = hand.app.desk.rug
    colours = np.array([int(shade[1:], 16) for shade in rug.cartoon.palette])[rug.cartoon.cells]
    before = np.array([int(shade[1:], 16) for shade in as_taken.palette])[as_taken.cells]
    both = np.concatenate([before, before[:, ::-1]], axis=1)
    assert np.argwhere(colours != both).tolist() == [[0, 0], [0, 2 * KNOTS - 1]], "mirrored like all else"
    assert colours[0, 0] == int(yarn.swatch[1:], 16)
    assert len(list((hand.app.desk.path.parent).glob("*.drafts/*"))) <= 1, (
        "no picture stays that no plan needs"
    )


def test_a_picture_of_the_border_goes_the_same_way(open_app, home) -> None:
    hand = open_app()
    for what in ("Plan a rug", "Choose a cartoon", "wall.jpg", "Take this cartoon"):
        hand.tap(what)
    for what in ("Field laid into it", "wall.jpg"):
        hand.tap(what)
    assert hand.shell.page_name == "cartoon_reading", "no other picture is guessed at either"


def test_a_long_cartoon_is_joined_from_two_photographs(open_app, home) -> None:
    rng = np.random.default_rng(12)
    truth = framed(cartoon(rng, 72, 36, 4, "medallion"))
    palette = yarns(rng, 4)
    for name, cut in (("upper.jpg", truth[:42]), ("lower.jpg", truth[36:])):
        trouble = Trouble(points=9.0, tilt_deg=4, turn_deg=2, table=True, jpeg=90, falloff=0.2)
        (home / name).write_bytes(put_on_paper(rng, cut, palette, trouble).data)
    hand = open_app()
    for what in ("Plan a rug", "Choose a cartoon", "upper.jpg"):
        hand.tap(what)
    assert hand.sees("36 knots across, 42 rows")
    hand.tap("Add a photograph of the next part")
    hand.tap("lower.jpg")
    assert hand.sees("36 knots across, 36 rows")
    assert hand.shell.page.sheet is not None
    hand.tap("Join it to the part before")
    assert hand.sees("36 knots across, 72 rows, 4 colours")
    assert hand.sees("The parts share 6 rows")
    assert hand.shell.page.sheet is None, "no photograph is held any longer"
    hand.tap(next(words for words in hand.words() if words.startswith(("Look at the", "Mend single"))))
    if hand.shell.page.walking:
        hand.tap("End the walk")
    hand.tap("Back to the reading")
    assert hand.sees("36 knots across, 72 rows, 4 colours"), "the parts are still joined"
    hand.tap("Take this cartoon")
    hand.tap("Save")
    assert hand.app.desk.rug.cartoon.cells.shape == (72, 36)


def test_a_photograph_of_something_else_is_not_joined(open_app, home) -> None:
    rng = np.random.default_rng(3)
    other = framed(cartoon(rng, 40, 30, 4, "patches"))
    data = put_on_paper(rng, other, yarns(rng, 4), Trouble(points=8.0, jpeg=88)).data
    (home / "other.jpg").write_bytes(data)
    hand = open_app()
    for what in ("Plan a rug", "Choose a cartoon", "wall.jpg"):
        hand.tap(what)
    for what in ("Add a photograph of the next part", "other.jpg", "Join it to the part before"):
        hand.tap(what)
    assert hand.sees("The two pictures share nothing.")
    assert hand.sees("30 knots across, 40 rows"), "what was read is still there"
    hand.tap("Choose another picture")
    hand.tap("other.jpg")
    assert hand.sees("Join it to the part before"), "the first part is lost with a poor picture of the second"


def test_back_leaves_without_taking_anything(open_app, wall) -> None:
    hand = open_app()
    taken = read(hand, wall)
    hand.tap("Corners")
    assert hand.key_back()
    assert hand.shell.page.view == "squares"
    assert hand.key_back()
    assert hand.shell.page_name == "home"
    assert not taken.pictures
    page = next(page for page in hand.shell.every_page() if page.name == "cartoon_reading")
    assert page.sheet is None, "a photograph takes tens of megabytes"


# --- squares mended before the cartoon is taken

SMUDGES = ((12, 9), (20, 15), (30, 22))
"""(row from the top, knot) of squares that are about half in another yarn's colour."""
SMUDGED = (0.5, 0.5, 0.5)
"""Share of the other yarn in each."""


@pytest.fixture(scope="module")
def smudged() -> tuple[bytes, Sheet]:
    """A scanned cartoon with three smudged squares, told by nothing but the weaver's eye."""
    rng = np.random.default_rng(5)
    cells = framed(cartoon(rng, ROWS, KNOTS, 4, "bordered"))
    sheet = put_on_paper(rng, cells, yarns(rng, 4), Trouble(points=9.0, noise=1.5))
    rgb = np.asarray(Image.open(io.BytesIO(sheet.data)).convert("RGB")).copy()
    for (row, knot), share in zip(SMUDGES, SMUDGED, strict=True):
        other = next(
            value
            for value in (
                cells[row - 1, knot],
                cells[row, knot + 1],
                cells[row + 1, knot],
                cells[row, knot - 1],
            )
            if value != cells[row, knot]
        )
        x, y = (sheet.corners[0] + np.array([knot, row]) * 9).astype(int)
        part = rgb[y + 2 : y + 8, x + 2 : x + 8]
        part[:] = part * (1 - share) + sheet.palette[other] * share
    out = io.BytesIO()
    Image.fromarray(rgb).save(out, "PNG")
    return out.getvalue(), sheet


@pytest.fixture
def stained(home: Path, smudged: tuple[bytes, Sheet]) -> Path:
    path = home / "stained.png"
    path.write_bytes(smudged[0])
    return path


def read_for_a_plan(hand, name: str) -> None:
    for what in ("Plan a rug", "Choose a cartoon", name):
        hand.tap(what)


def yarn_key(hand, colour: str):
    from tracker.screens.mending.mending import YarnKey

    return next(w for w in hand.shell.page.walk() if isinstance(w, YarnKey) and w.colour == colour)


def walked_square(hand) -> tuple[int, int]:
    """(row from the top, knot) of the square the walk is at."""
    row, knot = hand.shell.page.square
    return ROWS - 1 - int(row), int(knot)


def test_doubted_squares_are_mended_before_the_plan_takes_them(open_app, stained, smudged) -> None:
    hand = open_app()
    read_for_a_plan(hand, "stained.png")
    as_read = hand.shell.page.reading
    hand.tap("Look at the 3 doubted squares")
    assert hand.shell.page_name == "mending"
    assert hand.sees("Doubted squares: 1 of 3"), "one tap, and she is at the first of them"
    seen = []

    def colour_of(square: tuple[int, int]) -> str:
        return as_read.palette[as_read.cells[square]]

    seen.append(walked_square(hand))
    hand.tap("Keep")
    assert hand.sees("Doubted squares: 2 of 3")
    seen.append(walked_square(hand))
    page = hand.shell.page
    beside = next(yarn.swatch for yarn in page.drawing.yarns if yarn.name == page.beside_name)
    hand.tap(hand.find(page.beside_name))
    seen.append(walked_square(hand))
    assert sorted(seen) == sorted(SMUDGES)
    picked = next(colour for colour in as_read.palette if colour != colour_of(seen[2]))
    hand.tap(yarn_key(hand, picked))
    assert hand.sees("Doubted squares: all looked at.")
    hand.tap("Back to the reading")
    assert hand.shell.page_name == "cartoon_reading"
    assert hand.sees("Mend single squares")
    assert hand.shell.page.reading is not as_read
    hand.tap("Take this cartoon")
    hand.tap("Save")
    rug = hand.app.desk.rug
    woven = np.array(
        [next(yarn.swatch for yarn in rug.yarns if value in yarn.cartoon_values) for value in range(4)]
    )[rug.cartoon.cells[::-1]]
    before = np.array(as_read.palette)[as_read.cells]
    assert {tuple(place) for place in np.argwhere(woven != before).tolist()} == {seen[1], seen[2]}
    assert woven[seen[0]] == colour_of(seen[0])
    assert woven[seen[1]] == beside
    assert woven[seen[2]] == picked
    assert not hand.app.desk.drafts.get("doubted squares"), "nothing is left to look at"


def test_the_photograph_is_shown_beside_the_square_that_is_doubted(open_app, stained, smudged) -> None:
    data, sheet = smudged
    hand = open_app()
    read_for_a_plan(hand, "stained.png")
    hand.tap("Look at the 3 doubted squares")
    rgb = np.asarray(Image.open(io.BytesIO(data)).convert("RGB")).astype(int)
    patch = hand.shell.page._patch
    row, knot = walked_square(hand)
    block = patch.picture.shape[1] // patch.knots
    # The square is framed in it, and what is framed has the smudge's own colour, not the colour it was read as.
    framed_row, framed_knot = patch.rows - 1 - patch.here[0], patch.here[1]
    shown = patch.picture[
        framed_row * block : (framed_row + 1) * block, framed_knot * block : (framed_knot + 1) * block
    ]
    x, y = (sheet.corners[0] + (np.array([knot, row]) + 0.5) * 9).astype(int)
    middle = shown[block // 3 : -(block // 3), block // 3 : -(block // 3)]
    assert (
        np.abs(
            np.median(middle, axis=(0, 1)) - np.median(rgb[y - 2 : y + 3, x - 2 : x + 3], axis=(0, 1))
        ).max()
        < 6
    )
    hand.tap("End the walk")
    assert not hand.shell.page.shows_photograph
    # Left in the middle of the walk: nothing of the photograph stays for the next cartoon that is mended.
    hand.shell.page.walk_doubts()
    assert hand.shell.page.shows_photograph
    page = hand.shell.page
    hand.shell.open_tab("home")
    page.enter()
    assert not page.shows_photograph


def mend_one(hand) -> None:
    """Give the first doubted square its neighbours' colour, and come back."""
    hand.tap("Look at the 3 doubted squares")
    hand.tap(hand.find(hand.shell.page.beside_name))
    hand.tap("End the walk")
    hand.tap("Back to the reading")


def test_a_square_mended_before_is_given_back_when_she_returns_to_mend(open_app, stained) -> None:
    hand = open_app()
    read_for_a_plan(hand, "stained.png")
    as_read = hand.shell.page.reading.cells
    mend_one(hand)
    assert (hand.shell.page.reading.cells != as_read).sum() == 1
    hand.tap("Look at the 2 doubted squares")
    hand.tap("End the walk")
    hand.tap(next(w for w in hand.shell.page.walk() if getattr(w, "icon", "") == "undo"))
    hand.tap("Back to the reading")
    assert np.array_equal(hand.shell.page.reading.cells, as_read)


def test_reading_anew_says_what_it_costs_and_can_be_taken_back(open_app, stained) -> None:
    hand = open_app()
    read_for_a_plan(hand, "stained.png")
    mend_one(hand)
    mended = hand.shell.page.reading
    assert hand.sees("Look at the 2 doubted squares")
    for what in ("Colours", "3", "Done"):
        hand.tap(what)
    assert hand.sees("44 rows, 3 colours")
    assert hand.sees("What you mended by hand is gone")
    hand.tap("Undo")
    assert hand.sees("44 rows, 4 colours")
    assert np.array_equal(hand.shell.page.reading.cells, mended.cells)
    assert hand.sees("Look at the 2 doubted squares")


def test_mended_squares_are_not_left_behind_unasked(open_app, stained) -> None:
    hand = open_app()
    read_for_a_plan(hand, "stained.png")
    mend_one(hand)
    mended = hand.shell.page.reading.cells
    assert hand.key_back()
    settle()
    assert hand.sees("The squares you mended are not taken yet")
    hand.tap("Take this cartoon")
    assert hand.shell.page_name == "plan"
    assert np.array_equal(hand.shell.page.cartoon.picture.cells, mended[::-1])


def test_scarce_memory_does_not_take_what_was_mended(open_app, stained) -> None:
    hand = open_app()
    read_for_a_plan(hand, "stained.png")
    hand.tap("Look at the 3 doubted squares")
    hand.tap(hand.find(hand.shell.page.beside_name))
    hand.tap("End the walk")
    hand.app.phone.low_memory()
    hand.tap("Back to the reading")
    assert hand.sees("Look at the 2 doubted squares")


def drawn(path: Path, *boxes: tuple[int, int, int, int], size: tuple[int, int] = (60, 90)) -> None:
    """Write a picture of flat boxes, each in a colour of its own."""
    picture = Image.new("RGB", size, "#c03030")
    for box, colour in zip(boxes, ("#203060", "#d8c090", "#204020", "#e8e0c8"), strict=True):
        picture.paste(colour, box)
    picture.save(path)


def test_a_clean_picture_of_one_pixel_a_knot_goes_into_the_plan_unasked_however_plain(open_app, home) -> None:
    drawn(home / "flat.png", (5, 5, 55, 85), (11, 12, 48, 77), (17, 30, 42, 59), (25, 37, 35, 53))
    hand = open_app()
    read_for_a_plan(hand, "flat.png")
    assert hand.shell.page_name == "plan"
    assert hand.sees("Cartoon taken: 60 × 90 knots.")
    assert (hand.shell.page.form.knots, hand.shell.page.form.rows) == (60, 90)


@pytest.mark.parametrize("lines", [False, True])
def test_a_clean_enlarged_picture_goes_into_the_plan_with_one_tap_and_no_question(
    open_app, home, lines
) -> None:
    rng = np.random.default_rng(7)
    cells, palette = cartoon(rng, 60, 40, 5, "lattice"), yarns(rng, 5)
    (home / "large.png").write_bytes(enlarged(cells, palette, 6, lines=lines, margin=17 if lines else 0).data)
    hand = open_app()
    read_for_a_plan(hand, "large.png")
    assert hand.sees("Everything fits.")
    assert not hand.sees("Not sure")
    hand.tap("Take this cartoon")
    assert (hand.shell.page.form.knots, hand.shell.page.form.rows) == (40, 60)


def test_a_large_flat_picture_is_shown_as_one_pixel_a_knot_and_asked_about(open_app, home) -> None:
    drawn(
        home / "flat.png",
        (5, 5, 355, 485),
        (11, 12, 348, 477),
        (17, 30, 42, 59),
        (25, 37, 35, 53),
        size=(360, 490),
    )
    hand = open_app()
    read_for_a_plan(hand, "flat.png")
    assert hand.sees("360 knots across, 490 rows, 5 colours")
    # Nothing is wrong with it: it is asked as a question, and not called unsure.
    assert hand.sees("One pixel is taken as one knot: 360 across, 490 rows. Is that so?")
    assert not hand.sees("Not sure")
    assert not hand.sees("Count the squares")
    hand.tap("Take this cartoon")
    assert (hand.shell.page.form.knots, hand.shell.page.form.rows) == (360, 490)


def test_a_picture_whose_parts_are_multiples_of_six_may_be_one_pixel_a_knot_by_a_tap(open_app, home) -> None:
    drawn(home / "six.png", (6, 6, 54, 84), (12, 12, 48, 78), (18, 30, 42, 60), (24, 36, 36, 54))
    hand = open_app()
    read_for_a_plan(hand, "six.png")
    assert hand.sees("10 knots across, 15 rows, 5 colours")
    assert hand.sees("A knot is taken as 6 × 6 pixels")
    hand.tap("One pixel a knot: 60 × 90 knots")
    assert hand.sees("60 knots across, 90 rows, 5 colours")
    assert not hand.sees("One pixel a knot:")


def test_a_white_border_on_white_paper_is_spoken_of_and_taken_in_by_its_width(open_app, home) -> None:
    rng = np.random.default_rng(7)
    cells = np.pad(framed(cartoon(rng, 60, 40, 4, "lattice")), 2, constant_values=4)
    palette = np.array(
        [[150, 40, 36], [30, 60, 110], [90, 110, 40], [170, 120, 20], [255, 255, 255]], np.uint8
    )
    (home / "border.png").write_bytes(enlarged(cells, palette, 6, margin=19).data)
    hand = open_app()
    read_for_a_plan(hand, "border.png")
    assert hand.sees("40 knots across, 60 rows, 4 colours")
    assert hand.sees("If that is a white border of the cartoon")
    hand.tap("It has a white border")
    hand.tap("9")
    hand.tap("Done")
    assert hand.sees("The picture ends before a border of 9 knots does.")
    assert hand.key_back()
    hand.tap("It has a white border")
    hand.tap("2")
    hand.tap("Done")
    assert hand.sees("44 knots across, 64 rows, 5 colours")
    assert not hand.sees("It has a white border")
    hand.tap("Take this cartoon")
    assert (hand.shell.page.form.knots, hand.shell.page.form.rows) == (44, 64)


# --- corners dragged while the squares are read


def places_of_photograph(hand) -> tuple[tuple[float, ...], ...]:
    """Where the photograph, and a point of it, lie in the window."""
    view = hand.shell.page._photo
    return tuple(round(side, 1) for side in (*view.to_window(*view.pos), *view.size, *view.on_screen(10, 10)))


def flick(start: tuple[float, float], end: tuple[float, float]) -> None:
    """Drag in a few frames, without looking whether anything is ready."""
    finger = Finger(*start)
    finger.put(*start)
    for share in (0.3, 0.7, 1.0):
        finger.slide(*(begin + (there - begin) * share for begin, there in zip(start, end, strict=True)))
        settle(1)
    finger.lift()


@pytest.fixture
def askew(open_app, wall, sheet):
    """The page in the view of corners, all four found two squares off; reading goes on beside the touch thread."""
    hand = open_app()
    taken = read(hand, wall)
    hand.tap("Corners")
    hand.shell.page._correct(corners=tuple((float(x) + 18, float(y) + 18) for x, y in sheet.corners))
    remembered.forget_readings()
    hand.app.desk.background = True
    return hand, taken


def test_four_corners_dragged_one_right_after_the_other_all_end_where_the_finger_left_them(
    askew, sheet
) -> None:
    hand, taken = askew
    page = hand.shell.page
    before = places_of_photograph(hand)
    # Where a hand that looks once would put all four.
    ways = [
        (corner_on_screen(hand, index), place_on_screen(hand, tuple(sheet.corners[index])))
        for index in range(4)
    ]
    for start, end in ways:
        flick(start, end)
        assert page.busy
        assert places_of_photograph(hand) == before, "the picture moved under the finger"
        for index, corner in enumerate(sheet.corners[: ways.index((start, end)) + 1]):
            shown = np.array(page._photo.corners[index]) * page._photo_scale
            assert shown == pytest.approx(corner, abs=1.5), f"corner {index} is where the finger left it"
    hand.wait(lambda: not page.busy)
    assert places_of_photograph(hand) == before
    assert np.array(page.wishes["corners"]) == pytest.approx(sheet.corners, abs=1.5)
    hand.tap("Take this cartoon")
    assert taken.pictures[0].cells.shape == (ROWS, KNOTS)
    truth = sheet.cells[::-1]
    for value in range(4):
        mine = taken.pictures[0].cells[truth == value]
        assert (mine == np.bincount(mine).argmax()).mean() > 0.998


def test_a_corner_in_hand_stays_with_the_finger_when_the_reading_is_done(askew, sheet) -> None:
    hand, _taken = askew
    page = hand.shell.page
    flick(corner_on_screen(hand, 0), place_on_screen(hand, tuple(sheet.corners[0])))
    x, y = corner_on_screen(hand, 2)
    goal = place_on_screen(hand, tuple(sheet.corners[2]))
    finger = Finger(x, y)
    finger.put(x, y)
    finger.slide(*goal)
    hand.wait(lambda: not page.busy)
    held = np.array(page._photo.corners[2]) * page._photo_scale
    assert held == pytest.approx(sheet.corners[2], abs=1.5)
    finger.lift()
    hand.wait(lambda: not page.busy)
    for index in (0, 2):
        assert page.wishes["corners"][index] == pytest.approx(sheet.corners[index], abs=1.5)


def test_a_number_set_while_corners_are_read_takes_nothing_from_them(askew, sheet) -> None:
    hand, _taken = askew
    page = hand.shell.page
    flick(corner_on_screen(hand, 0), place_on_screen(hand, tuple(sheet.corners[0])))
    page._set_count("colours", 3)
    hand.wait(lambda: not page.busy)
    assert page.wishes["corners"][0] == pytest.approx(sheet.corners[0], abs=1.5)
    assert hand.sees("3 colours")


def test_corners_set_on_a_picture_in_which_nothing_was_found_stay_until_they_are_read(
    open_app, tmp_path
) -> None:
    hand = open_app()
    read(hand, picture_of_nothing(tmp_path / "clouds.png"))
    page = hand.shell.page
    goals = ((20.0, 20.0), (150.0, 25.0), (155.0, 120.0), (18.0, 118.0))
    for index, goal in enumerate(goals):
        hand.drag(corner_on_screen(hand, index), place_on_screen(hand, goal))
    shown = np.array(page._photo.corners) * page._photo_scale
    assert shown == pytest.approx(np.array(goals), abs=1.5)
    hand.tap("Read between the corners")
    if page.reading is None:
        assert np.array(page._photo.corners) * page._photo_scale == pytest.approx(np.array(goals), abs=1.5)
    else:
        assert np.array(page.wishes["corners"]) == pytest.approx(np.array(goals), abs=1.5)


def test_the_bar_that_is_not_shown_takes_no_touch_on_its_line(askew) -> None:
    hand, _taken = askew
    settle()
    bar = next(widget for widget in hand.shell.page.walk() if isinstance(widget, Busy))
    assert bar.height == 0
    assert bar.disabled
    finger = Finger(0, 0)
    finger.pos = bar.center
    assert bar.collide_point(*finger.pos)
    assert not bar.dispatch("on_touch_down", finger)
