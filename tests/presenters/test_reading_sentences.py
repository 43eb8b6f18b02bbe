"""Every sentence that the reading of a cartoon can say, each with a picture that really brings it, and none against another."""

from __future__ import annotations

import ast
import io
import re
import struct
import zlib
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.reading.on_paper import Trouble, cartoon, enlarged, framed, put_on_paper, yarns
from tests.today import TODAY
from tracker.domain.cartoon import MAX_CARTOON_FILE_BYTES
from tracker.domain.errors import LoomsideError
from tracker.pictures import joining, knotting, opening
from tracker.pictures.joining import ReadPart, Shift, join
from tracker.pictures.paper.opening import OpenedSheet
from tracker.pictures.paper.reading import read_sheet
from tracker.pictures.paper.understood import (
    Ask,
    Reading,
    asks_pixel_size,
    border_wishes,
    may_have_border,
    say_asks,
)
from tracker.pictures.paper.wishes import Wish
from tracker.presenters.cartoon_reading import build_reading_state
from tracker.presenters.plan.form import blank_form

ROOM = Path(opening.__file__).parent
SAYING = (
    *(ROOM / name for name in ("opening.py", "greys.py", "see_through.py", "joining.py", "knotting.py")),
    *sorted((ROOM / "paper").glob("*.py")),
)
"""The modules that open, read, join and knot a picture."""


def templates() -> Iterator[str]:
    """Every sentence in those modules, its fields in braces; of one and of many both."""
    for path in SAYING:
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("_", "n_"):
                for argument in node.args:
                    if isinstance(argument, ast.Constant) and isinstance(argument.value, str):
                        yield argument.value


LEAST_SENTENCE = 26
"""What is no longer is a part of a sentence."""


def says(template: str, sentence: str) -> bool:
    return re.fullmatch(re.sub(r"\\\{\w+\\\}", ".+", re.escape(template)), sentence) is not None


# --- pictures


def saved(image: Image.Image, kind: str = "PNG") -> bytes:
    out = io.BytesIO()
    image.save(out, kind)
    return out.getvalue()


def of_size(width: int, height: int) -> bytes:
    """The beginning of a PNG that says it is so large."""
    head = b"IHDR" + struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + head + struct.pack(">I", zlib.crc32(head)) + saved(
        Image.new("RGB", (9, 9))
    )[33:]  # fmt: skip


def paper(kind: str = "bordered", colours: int = 4, **trouble) -> bytes:
    """A cartoon of 24 x 30 squares on paper."""
    rng = np.random.default_rng(5)
    return put_on_paper(
        rng, framed(cartoon(rng, 30, 24, colours, kind)), yarns(rng, colours), Trouble(**trouble)
    ).data


def boxes(size: tuple[int, int], *inside: tuple[int, int, int, int]) -> bytes:
    """Flat boxes, each in a colour of its own."""
    picture = Image.new("RGB", size, "#c03030")
    for box, colour in zip(inside, ("#203060", "#d8c090", "#204020"), strict=True):
        picture.paste(colour, box)
    return saved(picture)


def marks_alone() -> bytes:
    rng = np.random.default_rng(3)
    white = np.array([[250, 248, 240]] * 4, np.uint8)
    cells = cartoon(rng, 24, 20, 4, "speckled")
    return put_on_paper(rng, cells, white, Trouble(points=14, inside="symbols", noise=1.5)).data


def empty_squares() -> bytes:
    squares = np.full((240, 240, 3), 250, np.uint8)
    squares[::12] = squares[:, ::12] = 40
    return saved(Image.fromarray(squares), "JPEG")


def clouds() -> bytes:
    rng = np.random.default_rng(2)
    small = Image.fromarray(rng.integers(60, 200, (6, 8, 3), dtype=np.uint8))
    soft = np.asarray(small.resize((240, 180), Image.Resampling.BICUBIC)).astype(np.int16)
    return saved(Image.fromarray(np.clip(soft + rng.integers(-6, 7, soft.shape), 0, 255).astype(np.uint8)))


def pages() -> bytes:
    """A scan of two pages, the first of them empty."""
    out = io.BytesIO()
    Image.new("RGB", (40, 30)).save(
        out, "TIFF", save_all=True, append_images=[Image.new("RGB", (40, 30), "red")]
    )
    return out.getvalue()


def plain(colour: tuple[int, int, int]) -> bytes:
    return saved(Image.new("RGB", (90, 90), colour), "JPEG")


def white_border() -> bytes:
    rng = np.random.default_rng(7)
    cells = np.pad(framed(cartoon(rng, 30, 20, 4, "lattice")), 2, constant_values=4)
    palette = [[150, 40, 36], [30, 60, 110], [90, 110, 40], [170, 120, 20], [255, 255, 255]]
    return enlarged(cells, np.array(palette, np.uint8), 6, margin=19).data


PHOTO = {"points": 9, "noise": 1.5, "jpeg": 90}
READ: dict[str, Callable[[], bytes]] = {
    "a plain photograph": lambda: paper(**PHOTO),
    "without lines": lambda: paper(grid="none", **PHOTO),
    "from far away": lambda: paper(points=4, noise=2, jpeg=80),
    "marks over the colours": lambda: paper(inside="symbols", points=12, jpeg=85),
    "drawn large": lambda: boxes((60, 90), (6, 6, 54, 84), (12, 12, 48, 78), (18, 30, 42, 60)),
    "drawn a pixel a knot": lambda: boxes((260, 390), (5, 5, 255, 385), (11, 12, 248, 377), (17, 30, 42, 59)),
    "a white border on white": white_border,
    "of one colour": lambda: saved(Image.new("RGB", (30, 20), "#C03030")),
    "drawn large and clean": lambda: (
        enlarged(
            cartoon(np.random.default_rng(7), 60, 40, 5, "lattice"), yarns(np.random.default_rng(8), 5), 6
        ).data
    ),
}
"""Pictures that are read."""


@cache
def reading(name: str) -> Reading:
    return read_sheet(READ[name](), wish=Wish(colours=1 if name == "of one colour" else None))


def refused(data: bytes | Path, **wish: object) -> Callable[[Path], object]:
    return lambda _folder: read_sheet(data, wish=Wish(**wish))  # type: ignore[arg-type]


def too_large(folder: Path) -> object:
    path = folder / "large.png"
    with path.open("wb") as file:
        file.truncate(MAX_CARTOON_FILE_BYTES + 1)
    return read_sheet(path)


def see_through(_folder: Path) -> object:
    return read_sheet(saved(Image.new("RGBA", (40, 40), (9, 9, 9, 90))))


def bordered(wide: int) -> Callable[[Path], object]:
    return lambda _folder: border_wishes(reading("a white border on white"), wide)


def part(cells: np.ndarray) -> ReadPart:
    rng = np.random.default_rng(1)
    palette = tuple(f"#{r:02X}{g:02X}{b:02X}" for r, g, b in rng.integers(0, 256, (int(cells.max()) + 1, 3)))
    read = joining.CartoonPicture(cells=cells[::-1], palette=palette)
    ones = np.ones(cells.shape, dtype=np.float32)
    return ReadPart(cells=cells, palette=palette, confidence=ones, doubted=ones < 0, picture=read)


def patches(seed: int, rows: int = 40, many: int = 4) -> np.ndarray:
    return np.random.default_rng(seed).integers(0, many, (rows, 20), dtype=np.uint8)


def joined(first: np.ndarray, second: np.ndarray, shift: Shift | None = None) -> Callable[[Path], object]:
    return lambda _folder: join(part(first), part(second), shift)


def more_colours(_folder: Path) -> object:
    whole = patches(5, 60, 40)
    second = part(np.where(whole[30:] + 0 < 99, whole[30:], 0))
    # Of the second part's colours none is one of the first: where they share a row nothing is alike but the changes.
    above, below = part(whole[:36]), second
    shown = below.cells.copy()
    shown[6:] += 40
    return join(above, part(shown))


def too_many_knots(_folder: Path) -> object:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(joining, "MAX_KNOTS", 1000)
        whole = patches(6, 60)
        return join(part(whole[:36]), part(whole[30:]))


def knotted(**how: object) -> Callable[[Path], object]:
    sheet = OpenedSheet(rgb=np.zeros((9, 9, 3), np.uint8), scale=1.0)
    return lambda _folder: knotting.knot_picture(sheet, **{"knots": 9, "rows": 9, **how})


PHOTOGRAPH = ((20.0, 20.0), (150.0, 20.0), (150.0, 120.0), (20.0, 120.0))
REFUSED: dict[str, Callable[[Path], object]] = {
    "a letter": refused(b"Dear weaver, this is no picture."),
    "torn": refused(saved(Image.effect_noise((99, 99), 80))[:3000]),
    "20,001 pixels wide": refused(of_size(20_001, 10)),
    "a line": refused(saved(Image.new("RGB", (1, 9)))),
    "a bomb": refused(of_size(100_000, 100_000)),
    "a packed bitmap": refused(b"BM" + bytes(28) + b"\x01\0\0\0" + bytes(1_000_001)),
    "a large file": too_large,
    "crumbs": refused(b"\xff\xd8" + b"\xff\xfe\x00\x03a" * 50_000),
    "a folder": lambda folder: read_sheet(folder),
    "gone": lambda folder: read_sheet(folder / "gone.jpg"),
    "empty": refused(b""),
    "glass": see_through,
    "pages": refused(pages()),
    "greys of 32 bits": refused(saved(Image.fromarray(np.arange(9, dtype=np.int32).reshape(3, 3) << 28), "TIFF")),
    "marks without colours": refused(marks_alone()),
    "squares without colours": refused(empty_squares()),
    "night": refused(plain((9, 9, 9))),
    "a wall": refused(plain((190, 9, 9))),
    "clouds": refused(clouds()),
    "one row": refused(clouds(), rows=1),
    "99 colours": refused(clouds(), colours=99),
    "corners crossed": refused(clouds(), corners=(PHOTOGRAPH[0], PHOTOGRAPH[2], PHOTOGRAPH[1], PHOTOGRAPH[3])),
    "a corner far away": refused(clouds(), corners=(*PHOTOGRAPH[:3], (20.0, 9000.0))),
    "more squares than points": refused(plain((190, 9, 9)), knots=80, rows=80),
    "a strip": refused(clouds(), crop=(10.0, 10.0, 14.0, 90.0)),
    "a border of one knot beyond the picture": lambda _folder: border_wishes(reading("drawn large and clean"), 1),
    "a border of nine": bordered(9),
    "two cartoons": joined(patches(1), patches(2)),
    "the same again": joined(patches(1), patches(1)),
    "parts apart": joined(patches(1), patches(1), Shift(90, 0, 1.0)),
    "too many knots": too_many_knots,
    "too many colours": more_colours,
    "a wall to knot": knotted(knots=20_000),
    "no colours": knotted(colours=0),
    "65 yarns": knotted(colours=1, yarns=("#123456",) * 65),
}  # fmt: skip
"""What is refused, by what is wrong with it."""


@cache
def refusals(folder: Path) -> dict[str, str]:
    sentences = {}
    for name, doing in REFUSED.items():
        with pytest.raises(LoomsideError) as trouble:
            doing(folder)
        sentences[name] = trouble.value.sentence
    return sentences


def test_each_refusal_is_a_whole_sentence_of_its_own(tmp_path_factory) -> None:
    sentences = refusals(tmp_path_factory.getbasetemp())
    known = list(templates())
    for name, sentence in sentences.items():
        assert sum(says(template, sentence) for template in known) == 1, (name, sentence)
        assert sentence.endswith("."), name
    same = [
        (one, other)
        for one in sentences
        for other in sentences
        if one < other and sentences[one] == sentences[other]
    ]
    assert not same, "two different troubles sound alike"


def test_no_sentence_of_the_reading_is_without_a_picture_that_brings_it(tmp_path_factory) -> None:
    said = list(refusals(tmp_path_factory.getbasetemp()).values())
    for name in READ:
        said += (reading(name).sentence, *say_asks(reading(name)))
    whole = patches(7, 60)
    said += [
        join(part(whole[:36]), part(whole[30:])).sentence,
        join(part(whole[:, :14]), part(whole[:, 8:])).sentence,
    ]
    unsaid = {
        template for template in templates() if len(template) > LEAST_SENTENCE and not any(says(template, sentence) for sentence in said)
    }  # fmt: skip
    # English counts three rows, never one, of what two parts must share at least.
    assert {template for template in unsaid if "{count} row." not in template} == set()


def test_every_thing_that_can_be_asked_is_asked_by_one_of_the_pictures() -> None:
    assert {ask for name in READ for ask in reading(name).asks} == set(Ask)


@pytest.mark.parametrize("name", READ)
def test_what_a_page_says_of_a_reading_does_not_speak_against_itself(name: str) -> None:
    read = reading(name)
    asks = say_asks(read)
    state = build_reading_state(read, asks, frozenset(), blank_form(TODAY), asks_pixel_size(read))
    assert len(set(asks)) == len(asks)
    fits = "Everything fits" in state.verdict or "are clear" in state.verdict
    assert fits == read.is_sure
    if fits:
        assert not asks
        assert not may_have_border(read), "a key that asks whether a border is missing"
    assert ("Everything fits" in state.verdict) <= (not state.has_doubts)
    if state.verdict.endswith(":"):
        assert asks, "what comes after the colon is missing"
    if not state.verdict:
        assert asks_pixel_size(read)
    if Ask.COLOURS in read.asks:
        assert "the colours are clear" not in state.verdict
    assert (f"{int(read.doubted.sum())} doubted" in state.mend) == state.has_doubts
