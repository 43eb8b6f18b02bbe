"""Plane geometry of a photographed sheet: vanishing points of its lines, homographies, straightening.

Coordinates are continuous: point (column) 0 of a picture covers 0 to 1, its middle is 0.5.

References
----------
R. Hartley, A. Zisserman, Multiple View Geometry in Computer Vision, 2nd ed. 2004: homographies from four points
(4.1), rectification by the vanishing line (2.7).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from PIL import Image

FloatArray = NDArray[np.float64]

_BLOCK = 128
"""Side of the blocks in which line directions are measured, in points."""
_BINS = 360
"""Directions told apart, half a degree each."""
_SLOWEST, _FASTEST = 1 / 40, 0.42
"""Waves looked at, in 1/points: slower ones are the design's, faster ones the points' own."""
_MOST_PEAKS = 10
"""Peaks of a block's spectrum that are counted."""
_CLEAR_PEAK = 6.0
"""How far the lattice's directions stand out where lines or dots show them; 8 to 16 on sheets with them, 3 without."""
_DIAGONAL = 0.4
"""What a turning of 45 degrees counts less than none."""
_BLOCKS_A_SIDE = 12
"""Blocks along each side at most; direction changes slowly, more would only cost time."""


def homography(source: ArrayLike, target: ArrayLike) -> FloatArray:
    """Return the (3, 3) homography that takes four points to four others (or more, in the least-squares sense)."""
    src, dst = np.asarray(source, dtype=np.float64), np.asarray(target, dtype=np.float64)
    # Normalised about their middle: the plain system is ill-conditioned for thousands of points.
    norm_src, norm_dst = _normaliser(src), _normaliser(dst)
    rows = []
    for (x, y), (u, v) in zip(apply(norm_src, src), apply(norm_dst, dst), strict=True):
        rows.append([x, y, 1, 0, 0, 0, -u * x, -u * y, -u])
        rows.append([0, 0, 0, x, y, 1, -v * x, -v * y, -v])
    matrix = np.linalg.svd(np.array(rows))[2][-1].reshape(3, 3)
    matrix = np.linalg.inv(norm_dst) @ matrix @ norm_src
    return np.asarray(matrix / matrix[2, 2])


def _normaliser(points: FloatArray) -> FloatArray:
    middle = points.mean(axis=0)
    size = max(float(np.abs(points - middle).max()), 1e-9)
    return np.array([[1 / size, 0, -middle[0] / size], [0, 1 / size, -middle[1] / size], [0, 0, 1]])


def apply(matrix: ArrayLike, points: ArrayLike) -> FloatArray:
    """Return (..., 2) points taken through a homography."""
    m, p = np.asarray(matrix, dtype=np.float64), np.asarray(points, dtype=np.float64)
    x, y = p[..., 0], p[..., 1]
    w = m[2, 0] * x + m[2, 1] * y + m[2, 2]
    return np.stack(
        [(m[0, 0] * x + m[0, 1] * y + m[0, 2]) / w, (m[1, 0] * x + m[1, 1] * y + m[1, 2]) / w], axis=-1
    )


def straightening(rgb: NDArray[np.uint8]) -> FloatArray:
    """Return the homography that makes the sheet's two families of lines level and upright.

    What it leaves open - pitch, phase, gentle bending - the lattice fit finds.
    """
    height, width = rgb.shape[:2]
    places, angles, weights = _line_directions(rgb)
    if not len(places):
        return np.eye(3)
    middle, half = np.array([width / 2, height / 2]), max(width, height) / 2
    points = (places - middle) / half
    to_units = np.array([[1 / half, 0, -middle[0] / half], [0, 1 / half, -middle[1] / half], [0, 0, 1]])
    upright = _vanishing_point(points, angles[:, 0], weights[:, 0])
    level = _vanishing_point(points, angles[:, 1], weights[:, 1])
    if upright is None or level is None:
        return np.eye(3)
    centre = np.array([0.0, 0.0, 1.0])
    h1, h2, h3 = np.cross(upright, centre), np.cross(level, centre), np.cross(level, upright)
    if abs(h3[2]) < 1e-9:
        return np.eye(3)
    h3 = h3 / h3[2]
    h1, h2 = h1 / np.hypot(h1[0], h1[1]), h2 / np.hypot(h2[0], h2[1])
    h1, h2 = h1 * np.sign(h1[0]), h2 * np.sign(h2[1])
    corners = np.array([[-width, -height, 0], [width, -height, 0], [width, height, 0], [-width, height, 0]])
    depth = (corners[:, :2] / (2 * half)) @ h3[:2] + 1
    if depth.min() < 0.3 or not np.isfinite(depth).all():
        return np.eye(3)
    return np.asarray(np.diag([half, half, 1.0]) @ np.stack([h1, h2, h3]) @ to_units)


def _line_directions(rgb: NDArray[np.uint8]) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return (blocks, 2) places, (blocks, 2) normal angles of upright and level lines in radians, and their weights.

    Squares, lines and dots that repeat stand as peaks in a block's spectrum, in the directions of the lattice. The edges
    themselves tell less: small ones lie along the points of the picture, and those of dots and marks any way.
    """
    places, blocks = _blocks_of(rgb)
    table, peaked = _peaks(blocks)
    if peaked < _CLEAR_PEAK:
        # Where no lines are drawn the squares themselves hide the lattice's spectrum; their sides are long and straight.
        table = _edges(blocks)
    bins = _BINS
    total = _smooth_ring(table.sum(axis=0), 3)
    if not total.any():
        return np.empty((0, 2)), np.empty((0, 2)), np.empty((0, 2))
    # The two families stand about square to each other: the best common turning, then each family's own.
    folded = total[: bins // 2] + total[bins // 2 :]
    # Dots stand in diagonal lines as well: of two equal turnings the one nearer to upright is the sheet's.
    aslant = np.sin(2 * np.pi / bins * np.arange(bins // 2)) ** 2
    turn = int(np.argmax(_smooth_ring(folded, 6) * (1 - _DIAGONAL * aslant)))
    first = turn if turn < bins // 4 else turn - bins // 2
    angles = np.zeros((len(places), 2))
    weights = np.zeros((len(places), 2))
    for family, start in enumerate((first, first + bins // 2)):
        reach = bins // 8
        window = np.arange(start - reach, start + reach + 1)
        common = _smooth_ring(total, 3)[window % bins]
        middle = window[int(np.argmax(common))]
        window = np.arange(middle - 40, middle + 41)
        part = table[:, window % bins]
        smooth = np.apply_along_axis(lambda line: np.convolve(line, np.ones(5), "same"), 1, part)
        peak = np.argmax(smooth * np.exp(-(((np.arange(81) - 40) / 30.0) ** 2)), axis=1).astype(float)
        offsets = np.arange(81)[None, :]
        for _round in range(4):
            near = np.exp(-(((offsets - peak[:, None]) / 6.0) ** 2)) * part
            peak = (near * offsets).sum(axis=1) / np.maximum(near.sum(axis=1), 1e-9)
        peaked = near.sum(axis=1) / np.maximum(part.sum(axis=1), 1e-9)
        angles[:, family] = (middle - 40 + peak) * (np.pi / bins)
        weights[:, family] = np.sqrt(near.sum(axis=1)) * peaked**2
    return places, angles, weights


def _blocks_of(rgb: NDArray[np.uint8]) -> tuple[FloatArray, list[NDArray[np.float32]]]:
    """Return the middles of blocks all over the picture, and the blocks, filled up where the picture is smaller."""
    height, width = rgb.shape[:2]
    places, blocks = [], []
    for top in _starts(height):
        for left in _starts(width):
            block = rgb[top : top + _BLOCK, left : left + _BLOCK].astype(np.float32)
            short = (_BLOCK - block.shape[0], _BLOCK - block.shape[1])
            places.append((left + min(_BLOCK, width) / 2, top + min(_BLOCK, height) / 2))
            blocks.append(np.pad(block, ((0, short[0]), (0, short[1]), (0, 0)), mode="edge"))
    return np.array(places), blocks


def _darkness(block: NDArray[np.float32]) -> NDArray[np.float32]:
    return np.asarray(np.log(block.sum(axis=2) + 30.0))


def _edges(blocks: list[NDArray[np.float32]]) -> FloatArray:
    """Return (blocks, directions) the strength of edges by the direction square to them."""
    table = []
    for block in blocks:
        light = block.sum(axis=2)
        # Scharr's kernel keeps directions true; Sobel's is off by up to a degree.
        rows = 10 * light[1:-1] + 3 * (light[:-2] + light[2:])
        columns = 10 * light[:, 1:-1] + 3 * (light[:, :-2] + light[:, 2:])
        gx, gy = rows[:, 2:] - rows[:, :-2], columns[2:] - columns[:-2]
        strength = np.hypot(gx, gy)
        strong = strength > max(400.0, 0.15 * float(strength.max()))
        angle = np.arctan2(gy[strong], gx[strong]) % np.pi
        weight = np.minimum(strength[strong], 3000.0)
        table.append(
            np.bincount(np.rint(angle * (_BINS / np.pi)).astype(int) % _BINS, weights=weight, minlength=_BINS)
        )
    return np.array(table)


def _peaks(blocks: list[NDArray[np.float32]]) -> tuple[FloatArray, float]:
    """Return (blocks, directions) the strength of spectral peaks by their direction, and how far two directions stand out."""
    taper = np.hanning(_BLOCK)
    window = taper[:, None] * taper
    down, right = np.fft.fftfreq(_BLOCK)[:, None], np.fft.rfftfreq(_BLOCK)[None]
    size = np.hypot(down, right)
    telling = (size > _SLOWEST) & (size < _FASTEST)
    table = np.zeros((len(blocks), _BINS))
    steps = np.array([-1, 0, 1])
    for line, block in zip(table, blocks, strict=True):
        seen = _darkness(block)
        power = np.where(telling, np.abs(np.fft.rfft2((seen - seen.mean()) * window)) ** 2 * size**2, 0.0)
        around = np.pad(power, ((1, 1), (0, 0)), mode="wrap")
        around = np.pad(around, ((0, 0), (1, 1)))
        higher = np.maximum(np.maximum(around[:-2], around[1:-1]), around[2:])
        higher = np.maximum(np.maximum(higher[:, :-2], higher[:, 1:-1]), higher[:, 2:])
        tops = np.flatnonzero((power >= higher) & (power > 0))
        tops = tops[np.argsort(-power.ravel()[tops])][:_MOST_PEAKS]
        for y, x in zip(*np.unravel_index(tops, power.shape), strict=True):
            column = power[(y + steps) % _BLOCK, x]
            row = around[y + 1, x : x + 3]
            v = down[y, 0] + float(column @ steps) / column.sum() / _BLOCK
            u = right[0, x] + float(row @ steps) / row.sum() / _BLOCK
            line[round(float(np.arctan2(v, u)) % np.pi * _BINS / np.pi) % _BINS] += np.sqrt(power[y, x])
    total = table.sum(axis=0)
    folded = _smooth_ring(total[: _BINS // 2] + total[_BINS // 2 :], 4) / 9
    return table, float(folded.max() / max(folded.mean(), 1e-12))


def _starts(length: int) -> NDArray[np.int64]:
    if length <= _BLOCK:
        return np.zeros(1, dtype=np.int64)
    many = min(_BLOCKS_A_SIDE, max(2, length // _BLOCK))
    return np.linspace(0, length - _BLOCK, many).astype(np.int64)


def _smooth_ring(values: FloatArray, reach: int) -> FloatArray:
    out = np.zeros_like(values)
    for step in range(-reach, reach + 1):
        out += np.roll(values, step)
    return out


def _vanishing_point(points: FloatArray, angles: FloatArray, weights: FloatArray) -> FloatArray | None:
    """Return the homogeneous point in which lines with these normals meet, by robust least squares."""
    normals = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    lines = np.column_stack([normals, -(normals * points).sum(axis=1)])
    robust = np.ones(len(points))
    point = None
    for scale in (0.1, 0.1, 0.06, 0.04, 0.03, 0.02, 0.02, 0.02):
        w = weights * robust
        if w.sum() <= 0:
            return None
        moments = (lines * w[:, None]).T @ lines / w.sum()
        # A mild belief that the camera stood square on keeps few or poor directions from tilting the sheet.
        moments[2, 2] += 1e-4
        point = np.linalg.eigh(moments)[1][:, 0]
        aim = point[None, :2] - points * point[2]
        away = (normals * aim).sum(axis=1) / np.maximum(np.hypot(aim[:, 0], aim[:, 1]), 1e-9)
        robust = 1.0 / (1.0 + (away / scale) ** 2) ** 2
    return point


def flattened(
    rgb: NDArray[np.uint8], to_flat: FloatArray, most_pixels: int
) -> tuple[NDArray[np.uint8], FloatArray]:
    """Return the picture taken through a homography, and the homography moved so that it lands at 0, 0.

    Parameters
    ----------
    most_pixels
        Points of the straightened picture; it is made smaller when it would have more.
    """
    height, width = rgb.shape[:2]
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]], dtype=np.float64)
    moved = apply(to_flat, corners)
    if np.abs(moved - moved[0] - corners).max() < 0.4:
        return rgb, np.eye(3)
    low, up = moved.min(axis=0), moved.max(axis=0)
    shrink = min(1.0, float(np.sqrt(most_pixels / np.prod(up - low))))
    place = np.array([[shrink, 0, -low[0] * shrink], [0, shrink, -low[1] * shrink], [0, 0, 1]])
    forward = place @ to_flat
    back = np.linalg.inv(forward)
    back = back / back[2, 2]
    wide, high = np.ceil((up - low) * shrink)
    red, green, blue = np.median(rgb[:: max(1, height // 50), :: max(1, width // 50)].reshape(-1, 3), axis=0)
    image = Image.fromarray(rgb).transform(
        (int(wide), int(high)),
        Image.Transform.PERSPECTIVE,
        tuple(back.ravel()[:8]),
        Image.Resampling.BILINEAR,
        fillcolor=(int(red), int(green), int(blue)),
    )
    return np.asarray(image), np.asarray(forward)
