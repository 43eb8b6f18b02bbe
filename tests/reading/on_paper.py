"""Makes test pictures: true cartoons put on squared paper and photographed, from a seed. Shares no code with the reader.

A sheet is drawn by asking, for every point of the photograph, where on the paper it lies: perspective, turning and
bending are exact, and the truth (squares, corners) is known to a fraction of a point.
"""

from __future__ import annotations

import io
from dataclasses import dataclass, field

import numpy as np
from PIL import Image, ImageDraw, ImageFilter, ImageFont

PAPER = (250, 248, 240)
INK = (70, 70, 78)
DIGIT_INK = (40, 40, 50)


@dataclass(frozen=True)
class Trouble:
    """What happens to a cartoon on its way into the picture."""

    points: float = 8.0
    """Points of the picture to a knot, along the shorter side of a square."""
    aspect: float = 1.0
    """Height of a square over its width."""
    grid: str = "thin"
    """none, thin, tenth (every tenth line thick)."""
    inside: str = "flat"
    """flat, symbols (a mark in each square), dots (a coloured dot on paper)."""
    margin: float = 4.0
    """Paper round the cartoon, in squares."""
    numbers: bool = False
    key: bool = False
    table: bool = False
    """The sheet lies on a table that the picture shows."""
    tilt_deg: float = 0.0
    """The camera's tilt out of the upright view: perspective."""
    turn_deg: float = 0.0
    bend: float = 0.0
    """Bending of the paper: shift of its middle over the picture's longer side."""
    falloff: float = 0.0
    """Light lost (share of the linear light) from one side of the picture to the other."""
    shadow: float = 0.0
    """Light lost inside a hard-edged shadow."""
    blur: float = 0.0
    """Standard deviation of the blur, in squares; 0.25 spreads an edge over half a square each way."""
    noise: float = 0.0
    """Standard deviation of the noise, in 8-bit steps."""
    jpeg: int = 0
    """JPEG quality; 0 keeps a PNG."""
    supersample: int = 2


@dataclass(frozen=True, eq=False)
class Sheet:
    """A test picture and the truth about it."""

    data: bytes
    cells: np.ndarray
    """(rows, knots) colour of each square, top row first."""
    palette: np.ndarray
    corners: np.ndarray
    """(4, 2) corners of the cartoon in the picture: top left, top right, bottom right, bottom left."""
    points: float
    name: str = ""
    trouble: Trouble = field(default_factory=Trouble)

    @property
    def rows(self) -> int:
        return self.cells.shape[0]

    @property
    def knots(self) -> int:
        return self.cells.shape[1]


# --- cartoons ----------------------------------------------------------------------------------------------------


def _lab(rgb: np.ndarray) -> np.ndarray:
    """CIELAB by the textbook, for keeping yarns apart; deliberately not the program's own."""
    c = np.asarray(rgb, float) / 255
    c = np.where(c > 0.04045, ((c + 0.055) / 1.055) ** 2.4, c / 12.92)
    xyz = c @ np.array([[0.4124, 0.2126, 0.0193], [0.3576, 0.7152, 0.1192], [0.1805, 0.0722, 0.9505]])
    f = np.cbrt(xyz / [0.9505, 1.0, 1.089])
    return np.stack([116 * f[..., 1] - 16, 500 * (f[..., 0] - f[..., 1]), 200 * (f[..., 1] - f[..., 2])], -1)


def yarns(rng: np.random.Generator, many: int, apart: float | None = None) -> np.ndarray:
    """(many, 3) colours at least `apart` from each other in CIELAB (1976), the first not near the paper."""
    apart = apart if apart is not None else (20.0 if many <= 12 else 14.0)
    chosen: list[np.ndarray] = []
    paper = _lab(np.array(PAPER))
    tries = 0
    while len(chosen) < many:
        tries += 1
        if tries > 4000:
            apart *= 0.93
            tries = 0
        colour = rng.integers(20, 240, 3)
        lab = _lab(colour)
        if np.hypot(lab[1], lab[2]) > 75:  # wool is not neon
            continue
        if not chosen and np.linalg.norm(lab - paper) < 25:
            continue
        if all(np.linalg.norm(lab - _lab(other)) >= apart for other in chosen):
            chosen.append(colour)
    return np.array(chosen, dtype=np.uint8)


def _blobs(rng: np.random.Generator, rows: int, knots: int, size: float) -> np.ndarray:
    """Smooth random field in 0..1 by ranks."""
    small = rng.random((max(2, int(rows / size) + 2), max(2, int(knots / size) + 2))).astype(np.float32)
    big = np.asarray(Image.fromarray(small).resize((knots, rows), Image.Resampling.BICUBIC))
    return np.argsort(np.argsort(big.ravel())).reshape(rows, knots) / big.size


KINDS = ("medallion", "stripes", "lattice", "patches", "speckled", "bordered", "plain")


def cartoon(rng: np.random.Generator, rows: int, knots: int, colours: int, kind: str) -> np.ndarray:
    """A true cartoon, (rows, knots), in which every colour occurs; its outermost squares are of colour 0 when bordered."""
    y, x = np.mgrid[0:rows, 0:knots]
    if kind == "medallion":
        h, w = (rows + 1) // 2, (knots + 1) // 2
        quarter = np.minimum((_blobs(rng, h, w, 6) * colours).astype(int), colours - 1)
        half = np.concatenate([quarter, quarter[:, ::-1][:, knots % 2 :]], axis=1)
        cells = np.concatenate([half, half[::-1][rows % 2 :]], axis=0)
    elif kind == "stripes":
        widths = rng.integers(1, 8, rows)
        line = np.repeat(rng.integers(0, colours, rows), widths)[:rows]
        cells = np.repeat(line[:, None], knots, axis=1)
        spots = _blobs(rng, rows, knots, 4) > 0.75
        cells = np.where(spots, (cells + 1) % colours, cells)
    elif kind == "lattice":
        size = int(rng.integers(7, 15))
        d = np.abs((x % size) - size // 2) + np.abs((y % size) - size // 2)
        cells = (d * colours // (size + 1) + (x // size + y // size)) % colours
    elif kind == "patches":
        cells = np.zeros((rows, knots), int)
        for _ in range(rows * knots // 40):
            top, left = rng.integers(0, rows), rng.integers(0, knots)
            h, w = rng.integers(1, 9, 2)
            cells[top : top + h, left : left + w] = rng.integers(0, colours)
    elif kind == "speckled":
        cells = rng.integers(0, colours, (rows, knots))
    elif kind == "bordered":
        cells = np.minimum((_blobs(rng, rows, knots, 5) * colours).astype(int), colours - 1)
        ring = np.minimum.reduce([x, y, knots - 1 - x, rows - 1 - y])
        cells = np.where(ring < 8, (ring * 3 // 2 + (ring == 4) * ((x + y) // 3)) % colours, cells)
        cells = np.where(ring < 2, 0, cells)
    else:
        cells = np.zeros((rows, knots), int)
        motifs = _blobs(rng, rows, knots, 7)
        cells[motifs > 0.78] = 1
        spots = rng.random((rows, knots)) < 0.01
        cells[spots] = rng.integers(0, colours, spots.sum())
    # Every colour gets at least a few dozen squares, in runs, so that the truth has as many colours as it says.
    for colour in range(colours):
        short = 12 - int((cells == colour).sum())
        while short > 0:
            top, left = rng.integers(2, rows - 3), rng.integers(2, knots - 5)
            cells[top, left : left + 4] = colour
            short -= 4
    return cells.astype(np.uint8)


def framed(cells: np.ndarray) -> np.ndarray:
    """The cartoon with two outermost rows and knots of colour 0: without grid lines its end must be seen by colour."""
    cells = cells.copy()
    cells[:2], cells[-2:], cells[:, :2], cells[:, -2:] = 0, 0, 0, 0
    return cells


# --- the paper ---------------------------------------------------------------------------------------------------


def _font(size: int) -> ImageFont.FreeTypeFont:
    return ImageFont.load_default(size)


def _paper_layer(
    cells: np.ndarray, palette: np.ndarray, trouble: Trouble, sides: tuple[float, float, float, float]
) -> tuple[np.ndarray, int]:
    """What is on the paper beside the cartoon, as a picture with `scale` points to a square."""
    rows, knots = cells.shape
    left, top, right, bottom = sides
    scale = 10 if rows * knots < 60_000 else 4
    layer = Image.new(
        "RGB", (int((left + knots + right) * scale) + 1, int((top + rows + bottom) * scale) + 1), PAPER
    )
    pen = ImageDraw.Draw(layer)
    if trouble.numbers:
        for number in range(10, knots + 1, 10):
            pen.text(
                ((left + number - 1.2) * scale, (top - 2.2) * scale),
                str(number),
                DIGIT_INK,
                font=_font(int(1.6 * scale)),
            )
        for number in range(10, rows + 1, 10):
            pen.text(
                ((left - 3.4) * scale, (top + rows - number - 0.5) * scale),
                str(number),
                DIGIT_INK,
                font=_font(int(1.6 * scale)),
            )
    if trouble.key:
        size = 3.3
        for index, colour in enumerate(palette):
            x = left + knots + 3.3
            y = top + 1.6 + index * 4.7
            if y + size > top + rows + bottom:
                break
            pen.rectangle(
                [x * scale, y * scale, (x + size) * scale, (y + size) * scale],
                fill=tuple(int(part) for part in colour),
                outline=INK,
            )
            pen.text(
                ((x + size + 0.8) * scale, (y + 0.8) * scale),
                f"{index + 1}  wool",
                DIGIT_INK,
                font=_font(int(1.8 * scale)),
            )
    return np.asarray(layer), scale


def _glyphs(rng: np.random.Generator, many: int) -> np.ndarray:
    """(many, 12, 12) marks of thin strokes in the middle of a square."""
    out = np.zeros((many, 12, 12), dtype=bool)
    for glyph in out:
        canvas = Image.new("L", (12, 12), 0)
        pen = ImageDraw.Draw(canvas)
        for _ in range(2):
            a, b = rng.integers(3, 9, 2), rng.integers(3, 9, 2)
            pen.line([tuple(map(int, a)), tuple(map(int, b))], fill=255, width=1)
        glyph[:] = np.asarray(canvas) > 0
    return out


def _homography(src: np.ndarray, dst: np.ndarray) -> np.ndarray:
    rows = []
    for (x, y), (u, v) in zip(src, dst, strict=True):
        rows.append([x, y, 1, 0, 0, 0, -u * x, -u * y, -u])
        rows.append([0, 0, 0, x, y, 1, -v * x, -v * y, -v])
    return np.linalg.svd(np.array(rows, float))[2][-1].reshape(3, 3)


def _linear(coded: np.ndarray) -> np.ndarray:
    return (np.asarray(coded, dtype=np.float32) / 255) ** np.float32(2.2)


def put_on_paper(rng: np.random.Generator, cells: np.ndarray, palette: np.ndarray, trouble: Trouble) -> Sheet:
    """Draw the cartoon on paper and photograph it."""
    rows, knots = cells.shape
    margin = trouble.margin
    left = margin + (3.5 if trouble.numbers else 0)
    top = margin + (2.5 if trouble.numbers else 0)
    right = margin + (14.3 if trouble.key else 0)
    bottom = margin
    layer, scale = _paper_layer(cells, palette, trouble, (left, top, right, bottom))
    wide = trouble.points * max(1.0, 1 / trouble.aspect)
    high = wide * trouble.aspect
    # Paper in points, its middle at the origin; then tilted about a random axis and seen from a distance.
    half = (
        np.array(
            [[-left, -top], [knots + right, -top], [knots + right, rows + bottom], [-left, rows + bottom]]
        )
        - [knots / 2, rows / 2]
    ) * [wide, high]
    tilt, turn = np.radians(trouble.tilt_deg), np.radians(trouble.turn_deg)
    axis = rng.uniform(0, 2 * np.pi)
    distance = 1.5 * np.abs(half).max() * 2
    c, s = np.cos(axis), np.sin(axis)
    rotate = np.array([[c, s, 0], [-s, c, 0], [0, 0, 1]])
    lean = np.array([[1, 0, 0], [0, np.cos(tilt), -np.sin(tilt)], [0, np.sin(tilt), np.cos(tilt)]])
    spin = np.array([[np.cos(turn), -np.sin(turn), 0], [np.sin(turn), np.cos(turn), 0], [0, 0, 1]])
    camera = spin @ rotate.T @ lean @ rotate

    def seen(points: np.ndarray) -> np.ndarray:
        solid = np.c_[points, np.zeros(len(points))] @ camera.T
        return solid[:, :2] * (distance / (distance + solid[:, 2:]))

    flat = seen(half)
    room = 0.06 * np.ptp(flat, axis=0).max() if trouble.table else 0.0
    low, up = flat.min(axis=0) - room, flat.max(axis=0) + room
    if not trouble.table and (trouble.tilt_deg or trouble.turn_deg):
        # The picture shows paper only: a crop inside the sheet's outline, but round all of the cartoon.
        chart = seen(
            (np.array([[0, 0], [knots, 0], [knots, rows], [0, rows]]) - [knots / 2, rows / 2]) * [wide, high]
        )
        low, up = chart.min(axis=0) - 0.4 * margin * wide, chart.max(axis=0) + 0.4 * margin * wide
    width, height = (np.ceil(up - low)).astype(int)
    into_picture = _homography(
        np.array(
            [[-left, -top], [knots + right, -top], [knots + right, rows + bottom], [-left, rows + bottom]]
        ),
        flat - low,
    )
    back = np.linalg.inv(into_picture)
    longer = max(width, height)
    bend_angle, bend_phase = rng.uniform(0, np.pi), rng.uniform(0, 2 * np.pi)

    def bent(u: np.ndarray, v: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        if not trouble.bend:
            return u, v
        along = (u * np.cos(bend_angle) + v * np.sin(bend_angle)) / longer * np.pi * 1.3 + bend_phase
        shift = np.float32(trouble.bend * longer) * np.sin(along)
        return u - shift * np.sin(bend_angle), v + shift * np.cos(bend_angle)

    corners = np.array([[0, 0], [knots, 0], [knots, rows], [0, rows]], float)
    flat_corners = np.c_[corners, np.ones(4)] @ into_picture.T
    target = flat_corners[:, :2] / flat_corners[:, 2:]
    found = target.copy()
    for _ in range(50):
        u, v = bent(found[:, 0], found[:, 1])
        found += target - np.c_[u, v]

    glyphs = _glyphs(rng, len(palette))
    dark = _lab(palette)[:, 0] < 55
    thin = 0.5 * min(0.16, 1.2 / trouble.points)
    table_colour = rng.integers(30, 150, 3)
    out = np.empty((height, width, 3), dtype=np.float32)
    ss = trouble.supersample
    offsets = (np.arange(ss) + 0.5) / ss
    palette_linear, paper, ink = _linear(palette), _linear(np.array(PAPER)), _linear(np.array(INK))
    layer_linear = _linear(np.arange(256))
    step = max(1, 400_000 // width)
    for first in range(0, height, step):
        last = min(height, first + step)
        total = np.zeros((last - first, width, 3), dtype=np.float32)
        for dy in offsets:
            for dx in offsets:
                v, u = np.meshgrid(
                    np.arange(first, last, dtype=np.float32) + np.float32(dy),
                    np.arange(width, dtype=np.float32) + np.float32(dx),
                    indexing="ij",
                )
                u, v = bent(u, v)
                w = back[2, 0] * u + back[2, 1] * v + back[2, 2]
                x = (back[0, 0] * u + back[0, 1] * v + back[0, 2]) / w
                y = (back[1, 0] * u + back[1, 1] * v + back[1, 2]) / w
                column, row = np.floor(x).astype(np.int32), np.floor(y).astype(np.int32)
                inside = (column >= 0) & (column < knots) & (row >= 0) & (row < rows)
                value = cells[np.clip(row, 0, rows - 1), np.clip(column, 0, knots - 1)]
                colour = palette_linear[value]
                if trouble.inside == "symbols":
                    gy = np.clip(((y - row) * 12).astype(np.int32), 0, 11)
                    gx = np.clip(((x - column) * 12).astype(np.int32), 0, 11)
                    mark = glyphs[value, gy, gx]
                    colour = np.where(mark[..., None], np.where(dark[value], 0.9, 0.02)[..., None], colour)
                elif trouble.inside == "dots":
                    dot = (x - column - 0.5) ** 2 + (y - row - 0.5) ** 2 < 0.36**2
                    colour = np.where(dot[..., None], colour, paper)
                lx = np.clip(((x + left) * scale).astype(np.int32), 0, layer.shape[1] - 1)
                ly = np.clip(((y + top) * scale).astype(np.int32), 0, layer.shape[0] - 1)
                beside = layer_linear[layer[ly, lx]]
                colour = np.where(inside[..., None], colour, beside)
                if trouble.grid != "none":
                    line = np.zeros(x.shape, dtype=bool)
                    for place, most, other, other_most in ((x, knots, y, rows), (y, rows, x, knots)):
                        nearest = np.rint(place)
                        wide_line = np.where(
                            (trouble.grid == "tenth") & (nearest % 10 == 0),
                            np.float32(2.2 * thin),
                            np.float32(thin),
                        )
                        line |= (
                            (np.abs(place - nearest) < wide_line)
                            & (nearest >= 0)
                            & (nearest <= most)
                            & (other > -thin)
                            & (other < other_most + thin)
                        )
                    colour = np.where(line[..., None], ink, colour)
                if trouble.table:
                    off = (x < -left) | (x > knots + right) | (y < -top) | (y > rows + bottom)
                    grain = 0.5 + 0.5 * np.abs(np.sin(0.05 * u + 2.5 * np.sin(0.013 * v)))
                    wood = _linear(table_colour)[None, None, :] * grain[..., None]
                    colour = np.where(off[..., None], wood, colour)
                total += colour
        out[first:last] = total / (ss * ss)
    out = _lit(rng, out, trouble)
    coded = (np.clip(out, 0, 1) ** np.float32(1 / 2.2)) * 255
    image = Image.fromarray(np.clip(coded + 0.5, 0, 255).astype(np.uint8))
    if trouble.blur:
        image = image.filter(ImageFilter.GaussianBlur(trouble.blur * min(wide, high)))
    if trouble.noise:
        noisy = np.asarray(image, dtype=np.float32)
        noisy = noisy + rng.standard_normal(noisy.shape, dtype=np.float32) * np.float32(trouble.noise)
        image = Image.fromarray(np.clip(noisy + 0.5, 0, 255).astype(np.uint8))
    return Sheet(
        data=saved(image, trouble.jpeg),
        cells=cells,
        palette=palette,
        corners=found,
        points=trouble.points,
        trouble=trouble,
    )


def _lit(rng: np.random.Generator, linear: np.ndarray, trouble: Trouble) -> np.ndarray:
    height, width = linear.shape[:2]
    y = np.linspace(-0.5, 0.5, height, dtype=np.float32)[:, None]
    x = np.linspace(-0.5, 0.5, width, dtype=np.float32)[None, :]
    if trouble.falloff:
        angle = rng.uniform(0, 2 * np.pi)
        along = x * np.float32(np.cos(angle)) + y * np.float32(np.sin(angle))
        along = (along - along.min()) / np.ptp(along)
        linear = linear * (1 - np.float32(trouble.falloff) * along**1.3)[..., None]
    if trouble.shadow:
        angle = rng.uniform(0, 2 * np.pi)
        along = (
            x * np.float32(np.cos(angle))
            + y * np.float32(np.sin(angle))
            - np.float32(rng.uniform(-0.15, 0.15))
        )
        soft = np.clip(along * max(height, width) / 3 + 0.5, 0, 1)
        linear = linear * (1 - np.float32(trouble.shadow) * soft)[..., None]
    return linear


def saved(image: Image.Image, jpeg: int = 0) -> bytes:
    """The bytes of a JPEG of this quality, or of a PNG."""
    out = io.BytesIO()
    if jpeg:
        image.save(out, "JPEG", quality=jpeg)
    else:
        image.save(out, "PNG", compress_level=1)
    return out.getvalue()


def enlarged(
    cells: np.ndarray,
    palette: np.ndarray,
    points: int,
    *,
    lines: bool = False,
    margin: int = 0,
    key: bool = False,
) -> Sheet:
    """A drawing program's picture: each knot `points` by `points`, exact, with or without one-point lines and a key."""
    rows, knots = cells.shape
    picture = palette[np.kron(cells, np.ones((points, points), dtype=np.uint8))]
    if lines:
        ruled = np.full((rows * points + 1, knots * points + 1, 3), 96, dtype=np.uint8)
        ruled[1:, 1:] = picture
        ruled[::points], ruled[:, ::points] = 96, 96
        picture = ruled
    right = 20 * points if key else margin
    full = np.full((picture.shape[0] + 2 * margin, picture.shape[1] + margin + right, 3), 255, dtype=np.uint8)
    full[margin : margin + picture.shape[0], margin : margin + picture.shape[1]] = picture
    if key:
        canvas = Image.fromarray(full)
        pen = ImageDraw.Draw(canvas)
        x = margin + picture.shape[1] + 2 * points + 3
        for index, colour in enumerate(palette):
            y = margin + 7 + index * (5 * points + 3)
            pen.rectangle(
                [x, y, x + 4 * points, y + 4 * points],
                fill=tuple(int(c) for c in colour),
                outline=(60, 60, 60),
            )
            pen.text(
                (x + 5 * points, y + points), f"{index + 1} wool", (30, 30, 30), font=_font(2 * points + 4)
            )
        full = np.asarray(canvas)
    corners = np.array(
        [[0, 0], [knots * points, 0], [knots * points, rows * points], [0, rows * points]], float
    )
    return Sheet(
        data=saved(Image.fromarray(full)),
        cells=cells,
        palette=palette,
        corners=corners + margin + (0.5 if lines else 0),
        points=points,
    )


def scaled(cells: np.ndarray, palette: np.ndarray, points: float, *, jpeg: int = 0) -> Sheet:
    """A picture at a fractional number of points to a knot, its edges softened by the scaling."""
    rows, knots = cells.shape
    big = Image.fromarray(palette[np.kron(cells, np.ones((8, 8), dtype=np.uint8))])
    size = (round(knots * points), round(rows * points))
    return Sheet(
        data=saved(big.resize(size, Image.Resampling.LANCZOS), jpeg),
        cells=cells,
        palette=palette,
        corners=np.array([[0, 0], [size[0], 0], size, [0, size[1]]], float),
        points=points,
    )


# --- the kinds of trouble, for scores ----------------------------------------------------------------------------

SCORED_KINDS = (
    "enlarged",
    "enlarged, lines, key",
    "scaled, soft",
    "scan, grid",
    "scan, no grid",
    "photo, grid",
    "photo, no grid",
    "photo, light",
    "photo, shadow",
    "photo, bent",
    "symbols",
    "dots",
    "few points",
    "large",
)


def sheet_of(seed: int, kind: str) -> Sheet:
    """One test picture of a kind of trouble; the same seed gives the same picture."""
    rng = np.random.default_rng([seed, SCORED_KINDS.index(kind)])
    colours = int(
        rng.choice([2, 3, 4, 5, 6, 6, 8, 10, 12, 16, 20, 30], p=[0.05, 0.08] + [0.1] * 7 + [0.07, 0.05, 0.05])
    )
    design = str(rng.choice(KINDS))
    knots = int(rng.integers(60, 130))
    rows = int(rng.integers(90, 200))
    if kind == "large":
        knots, rows = (
            (700, 1000) if rng.random() < 0.3 else (int(rng.integers(250, 500)), int(rng.integers(350, 700)))
        )
    cells = cartoon(rng, rows, knots, colours, design)
    palette = yarns(rng, colours)
    points = float(rng.uniform(5, 16))
    grid = str(rng.choice(["thin", "tenth"]))
    extra = {"numbers": bool(rng.random() < 0.6), "key": bool(rng.random() < 0.4)}
    aspect = float(rng.choice([1.0, rng.uniform(0.8, 1.25)]))
    hand = {
        "noise": float(rng.uniform(1, 5)),
        "jpeg": int(rng.integers(40, 96)),
        "blur": float(rng.uniform(0, 0.15)),
    }
    photo = {
        "tilt_deg": float(rng.uniform(3, 30)),
        "turn_deg": float(rng.uniform(-12, 12)),
        "table": bool(rng.random() < 0.6),
        "falloff": float(rng.uniform(0, 0.2)),
        **hand,
    }
    base = {"points": points, "grid": grid, "aspect": aspect, **extra}
    if kind == "enlarged":
        sheet = enlarged(cells, palette, int(rng.integers(2, 13)))
    elif kind == "enlarged, lines, key":
        sheet = enlarged(
            cells,
            palette,
            int(rng.integers(5, 13)),
            lines=True,
            margin=int(rng.integers(0, 40)),
            key=rng.random() < 0.7,
        )
    elif kind == "scaled, soft":
        sheet = scaled(cells, palette, float(rng.uniform(3, 12)), jpeg=int(rng.choice([0, 75, 90])))
    elif kind == "scan, grid":
        trouble = Trouble(**base, **hand, turn_deg=float(rng.uniform(-2, 2)))
        sheet = put_on_paper(rng, cells, palette, trouble)
    elif kind == "scan, no grid":
        trouble = Trouble(**{**base, "grid": "none"}, **hand, turn_deg=float(rng.uniform(-2, 2)))
        sheet = put_on_paper(rng, framed(cells), palette, trouble)
    elif kind == "photo, no grid":
        sheet = put_on_paper(rng, framed(cells), palette, Trouble(**{**base, "grid": "none"}, **photo))
    elif kind == "photo, light":
        sheet = put_on_paper(rng, cells, palette, Trouble(**base, **{**photo, "falloff": 0.5}))
    elif kind == "photo, shadow":
        sheet = put_on_paper(
            rng, cells, palette, Trouble(**base, **photo, shadow=float(rng.uniform(0.3, 0.5)))
        )
    elif kind == "photo, bent":
        sheet = put_on_paper(
            rng, cells, palette, Trouble(**base, **photo, bend=float(rng.uniform(0.003, 0.012)))
        )
    elif kind == "symbols":
        trouble = Trouble(**{**base, "points": max(8.0, points)}, **photo, inside="symbols")
        sheet = put_on_paper(rng, cells, palette, trouble)
    elif kind == "dots":
        trouble = Trouble(**{**base, "points": max(8.0, points)}, **photo, inside="dots")
        sheet = put_on_paper(rng, cells, palette, trouble)
    elif kind == "few points":
        trouble = Trouble(
            **{**base, "points": float(rng.uniform(3, 5))}, **{**photo, "blur": min(0.1, hand["blur"])}
        )
        sheet = put_on_paper(rng, cells, palette, trouble)
    elif kind == "large":
        trouble = Trouble(**{**base, "points": float(rng.uniform(4, 6)), "key": False}, **photo)
        sheet = put_on_paper(rng, cells, palette, trouble)
    else:
        sheet = put_on_paper(rng, cells, palette, Trouble(**base, **photo))
    return Sheet(
        **{
            **{f: getattr(sheet, f) for f in sheet.__dataclass_fields__},
            "name": f"{kind} {seed} {design} {colours}",
        }
    )
