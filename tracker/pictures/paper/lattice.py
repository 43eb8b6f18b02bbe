"""Finds the lattice of squares on a straightened sheet: pitch along both axes, phase, and gentle bending.

The borders of squares lie on a lattice whether a line is drawn there or only the colour changes. Strength of edges is
summed over narrow bands, its spectrum gives the pitch, and its phase at that pitch, tile by tile, tells where the lines
run; a smooth polynomial through the phases is the lattice.

References
----------
P. D. Welch, IEEE Trans. Audio Electroacoust. 15(2), 1967, doi 10.1109/TAU.1967.1161901: averaged spectra.
M. J. Hytch, E. Snoeck, R. Kilaas, Ultramicroscopy 74(3), 1998, doi 10.1016/S0304-3991(98)00035-7: displacement of a
lattice from the local phase of one of its waves.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from tracker.pictures.paper.perspective import apply

FloatArray = NDArray[np.float64]

BAND = 16
"""Height of the bands over which edges are summed, in points: a quarter degree of slant blurs a line by 0.2 points."""
_WINDOW = 256
"""Length of the pieces whose spectra are averaged, in points."""
_LONGEST_PITCH = 64.0
_CLEAREST = 2
"""Pitches that stand out most of what lies round them in the spectrum, looked at beside the strongest."""
SHORTEST_PITCH = 2.4
EDGE_FLOOR, EDGE_CAP = 12, 96
"""Edges are counted between these (sum of the three channels' steps): below is noise, above all are equally edges."""
_LINE_REACH = 2
"""Points on both sides against which a line must be dark."""
_LINE_FLOOR, _LINE_CAP = 3, 40
_SOLVED = 1e-7
"""Squares by which a crossing point may lie off where it is solved for."""
_MESH = 4
"""Squares between two points at which the lattice is solved for; between them it is taken as straight."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Profiles:
    """Strength of edges summed over bands: `across[band, x]` of upright edges at x, `along[band, y]` of level ones at y."""

    across: FloatArray
    along: FloatArray
    shift: float = 0.0
    """Place of index 0, in points: half a point where points themselves count rather than the steps between them."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Axis:
    """The lattice coordinate along one axis: squares counted from an arbitrary line, over the straightened picture."""

    pitch: float
    """Points to a square, on average."""
    level: bool
    """Whether it counts along y (rows) rather than along x."""
    middle: tuple[float, float]
    half: float
    degree: int
    terms: FloatArray
    coherence: float = 0.0
    """How much of the edges' strength is in step with the lattice, 0 to 1."""

    def at(self, x: FloatArray, y: FloatArray) -> FloatArray:
        """Return lattice coordinates of points of the straightened picture."""
        along = y if self.level else x
        return np.asarray(along / self.pitch + self.bending(x, y))

    def bending(self, x: FloatArray, y: FloatArray) -> FloatArray:
        """Return how far the lattice departs from an even one, in squares."""
        u, v = (x - self.middle[0]) / self.half, (y - self.middle[1]) / self.half
        term_of = dict(zip(_powers(self.degree), self.terms, strict=True))
        # Horner's rule, in u inside and in v outside: single powers of whole pictures took a third of a reading.
        out: FloatArray = np.zeros(np.shape(u))
        for j in range(self.degree, -1, -1):
            line: FloatArray = np.full(np.shape(u), term_of[self.degree - j, j])
            for i in range(self.degree - j - 1, -1, -1):
                line = line * u + term_of[i, j]
            out = out * v + line
        return out


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lattice:
    """Where every square lies in the picture. Squares are counted across from the left, along from the top."""

    across: Axis
    along: Axis
    to_flat: FloatArray
    """(3, 3) homography from the picture to the straightened one."""

    def squares_of(self, points: FloatArray) -> FloatArray:
        """Return (..., 2) lattice coordinates of (..., 2) points of the picture."""
        flat = apply(self.to_flat, points)
        return np.stack(
            [self.across.at(flat[..., 0], flat[..., 1]), self.along.at(flat[..., 0], flat[..., 1])], axis=-1
        )

    def points_of(self, a: FloatArray, b: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return (len(b), len(a)) x and y in the picture of the lattice's crossing points a x b."""
        aa, bb = np.meshgrid(np.asarray(a, dtype=np.float64), np.asarray(b, dtype=np.float64))
        x, y = self._solve(aa, bb)
        picture = apply(np.linalg.inv(self.to_flat), np.stack([x, y], axis=-1))
        return picture[..., 0], picture[..., 1]

    def _solve(self, aa: FloatArray, bb: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return x, y in the straightened picture: a few rounds of Newton's method from the even lattice."""
        x = (aa - float(self.across.terms[0])) * self.across.pitch
        y = (bb - float(self.along.terms[0])) * self.along.pitch
        step = 0.25
        for _round in range(6):
            a, b = self.across.at(x, y), self.along.at(x, y)
            off_a, off_b = aa - a, bb - b
            if max(float(np.abs(off_a).max()), float(np.abs(off_b).max())) < _SOLVED:
                break
            ax = (self.across.at(x + step, y) - a) / step
            ay = (self.across.at(x, y + step) - a) / step
            bx = (self.along.at(x + step, y) - b) / step
            by = (self.along.at(x, y + step) - b) / step
            det = ax * by - ay * bx
            det = np.where(np.abs(det) < 1e-9, 1e-9, det)
            x = x + (off_a * by - off_b * ay) / det
            y = y + (off_b * ax - off_a * bx) / det
        return x, y

    def mesh(self, a: FloatArray, b: FloatArray) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
        """Return x and y in the picture at sorted lattice coordinates a x b, straight between every few squares."""
        nodes_a, left, share_a = _between(a)
        nodes_b, top, share_b = _between(b)
        whole = np.float32(1.0)
        out = []
        for nodes in self.points_of(nodes_a, nodes_b):
            grid = nodes.astype(np.float32)
            rows = grid[top] * (whole - share_b)[:, None] + grid[top + 1] * share_b[:, None]
            out.append(rows[:, left] * (whole - share_a) + rows[:, left + 1] * share_a)
        return out[0], out[1]

    def coarser(self, times: float) -> Lattice:
        """Return the lattice of which each square is `times` x `times` squares of this one, from the same (0, 0)."""
        return replace(self, across=_coarser(self.across, times), along=_coarser(self.along, times))

    def doubled(self, across: bool, along: bool) -> Lattice:
        """Return the lattice with squares of twice the side across, along, or both, from the same (0, 0)."""
        return replace(
            self,
            across=_coarser(self.across, 2) if across else self.across,
            along=_coarser(self.along, 2) if along else self.along,
        )

    def moved(self, a: float, b: float) -> Lattice:
        """Return the same lattice counted from square (a, b)."""
        return replace(self, across=_shifted(self.across, -a), along=_shifted(self.along, -b))


def _coarser(axis: Axis, times: float) -> Axis:
    return replace(axis, pitch=axis.pitch * times, terms=axis.terms / times)


def _shifted(axis: Axis, by: float) -> Axis:
    terms = axis.terms.copy()
    terms[0] += by
    return replace(axis, terms=terms)


def _between(places: FloatArray) -> tuple[FloatArray, NDArray[np.intp], NDArray[np.float32]]:
    low, high = float(places[0]), float(places[-1])
    many = max(1, int(np.ceil((high - low) / _MESH)))
    nodes = np.linspace(low, high, many + 1) if high > low else np.array([low, low + 1.0])
    step = nodes[1] - nodes[0]
    left = np.clip(((places - low) / step).astype(np.intp), 0, many - 1)
    return nodes, left, ((places - nodes[left]) / step).astype(np.float32)


def _powers(degree: int) -> list[tuple[int, int]]:
    return [(total - j, j) for total in range(degree + 1) for j in range(total + 1)]


# --- edges -------------------------------------------------------------------------------------------------------


def edge_profiles(rgb: NDArray[np.uint8], progress: Callable[[float], None] | None = None) -> Profiles:
    """Return the edges of a straightened picture summed over bands; index i stands for the line between points i-1 and i."""
    height, width = rgb.shape[:2]
    bands_along = max(1, height // BAND)
    bands_across = max(1, width // BAND)
    across = np.zeros((bands_along, width + 1))
    along = np.zeros((bands_across, height + 1))
    cuts = np.arange(bands_across) * BAND
    for band in range(bands_along):
        top = band * BAND
        last = height if band == bands_along - 1 else top + BAND
        part = rgb[top : min(height, last + 1)].astype(np.int16)
        steps = np.abs(part[: last - top, 1:] - part[: last - top, :-1]).sum(axis=2, dtype=np.int16)
        across[band, 1:width] = np.clip(steps - EDGE_FLOOR, 0, EDGE_CAP).sum(axis=0)
        steps = np.abs(part[1:] - part[:-1]).sum(axis=2, dtype=np.int16)
        steps = np.clip(steps - EDGE_FLOOR, 0, EDGE_CAP)
        along[:, top + 1 : top + 1 + steps.shape[0]] = np.add.reduceat(steps, cuts, axis=1, dtype=np.int32).T
        if progress is not None:
            progress((band + 1) / bands_along)
    return Profiles(across=across, along=along)


def line_profiles(grey: NDArray[np.uint8], progress: Callable[[float], None] | None = None) -> Profiles:
    """Return the dark lines of a straightened picture summed over bands.

    Where squares are small, a blurred line has its two edges half a pitch apart, and edges no longer keep step; the
    line's own middle does.
    """
    height, width = grey.shape
    bands_along = max(1, height // BAND)
    bands_across = max(1, width // BAND)
    across = np.zeros((bands_along, width + 1))
    along = np.zeros((bands_across, height + 1))
    cuts = np.arange(bands_across) * BAND
    reach = _LINE_REACH
    for band in range(bands_along):
        top = band * BAND
        last = height if band == bands_along - 1 else top + BAND
        part = grey[top:last].astype(np.int16)
        depth = np.minimum(part[:, : -2 * reach], part[:, 2 * reach :]) - part[:, reach:-reach]
        across[band, reach : width - reach] = np.clip(depth - _LINE_FLOOR, 0, _LINE_CAP).sum(axis=0)
        first, end = max(0, top - reach), min(height, last + reach)
        part = grey[first:end].astype(np.int16)
        depth = np.minimum(part[: -2 * reach], part[2 * reach :]) - part[reach:-reach]
        depth = np.clip(depth - _LINE_FLOOR, 0, _LINE_CAP)
        along[:, first + reach : end - reach] = np.add.reduceat(depth, cuts, axis=1, dtype=np.int32).T
        if progress is not None:
            progress((band + 1) / bands_along)
    return Profiles(across=across, along=along, shift=0.5)


# --- pitch -------------------------------------------------------------------------------------------------------


def spectrum(profile: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return frequencies (1/points) and the share of the edges' strength that is in step at each, squared, averaged."""
    length = min(_WINDOW, profile.shape[1])
    pieces = sliding_window_view(profile, length, axis=1)[:, :: max(1, length // 2)].reshape(-1, length)
    taper = np.hanning(length)
    whole = pieces @ taper
    kept = whole > max(1.0, 0.15 * float(np.median(whole)))
    pieces, whole = pieces[kept], whole[kept]
    padded = 4 * _WINDOW
    frequencies = np.asarray(np.fft.rfftfreq(padded), dtype=np.float64)
    if not len(pieces):
        return frequencies, np.zeros(len(frequencies))
    level = (whole / taper.sum())[:, None]
    waves = np.abs(np.fft.rfft((pieces - level) * taper, padded, axis=1)) ** 2
    weights = np.minimum(whole, 2 * np.median(whole))
    return frequencies, np.asarray(
        (waves / whole[:, None] ** 2 * weights[:, None]).sum(axis=0) / weights.sum()
    )


def _near(peak: int, length: int) -> slice:
    reach = max(8, peak // 4)
    return slice(max(1, peak - reach), min(length, peak + reach + 1))


def likely_pitches(profile: FloatArray, most: int = 6) -> tuple[tuple[float, float], ...]:
    """Return (points to a square, strength) of pitches with which the edges keep step, the strongest first.

    Motifs of the design keep some step as well: which pitch is the squares' is told by following it over the sheet.
    """
    frequency, power = spectrum(profile)
    fit = (frequency > 1 / _LONGEST_PITCH) & (frequency < 1 / SHORTEST_PITCH)
    peaks = np.flatnonzero(fit[1:-1] & (power[1:-1] > power[:-2]) & (power[1:-1] >= power[2:])) + 1
    # Motifs are of many sizes and lift whole stretches of the spectrum; squares are of one, and stand out of what lies round them.
    clear = power[peaks] / np.array([float(np.median(power[_near(int(peak), len(power))])) for peak in peaks])
    strongest = peaks[np.argsort(-power[peaks])][:most]
    strongest = strongest[power[strongest] >= 0.15 * power[strongest[:1]].sum()]
    clearest = [peak for peak in peaks[np.argsort(-clear)][:_CLEAREST] if peak not in strongest]
    pitches = []
    for peak in [*strongest, *clearest]:
        before, here, after = power[peak - 1 : peak + 2]
        bend = before - 2 * here + after
        shift = 0.5 * (before - after) / bend if bend else 0.0
        pitches.append((float(1.0 / ((peak + shift) * (frequency[1] - frequency[0]))), float(np.sqrt(here))))
    return tuple(pitches)


# --- phase -------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tiles:
    """How the edges of one axis keep step with a pitch, tile by tile; every array is (bands, pieces along the axis)."""

    pitch: float
    level: bool
    x: FloatArray
    y: FloatArray
    """Middles of the tiles, in points of the straightened picture."""
    phase: FloatArray
    """Lattice coordinate less place / pitch, of which only the part after the point is known."""
    strength: FloatArray
    """Edges in step at the tile's own phase."""
    whole: FloatArray
    """All edges of the tile."""
    weights: FloatArray
    size: tuple[float, float]
    """Width and height of the straightened picture, in points."""
    hop: int
    """Points from tile to tile along the axis."""

    def in_step(self, off: FloatArray) -> FloatArray:
        """Return what of the edges keeps step with a lattice that departs from the tiles' phases by `off` squares."""
        return np.asarray(self.strength * np.cos(2 * np.pi * off))


def tiles_of(profile: FloatArray, pitch: float, level: bool, *, shift: float = 0.0) -> Tiles:
    """Return the phases of the edges at a pitch.

    Parameters
    ----------
    profile
        (bands, length) from `edge_profiles` or `line_profiles`.
    pitch
        Points to a square, within a few percent.
    level
        Whether the lines are level (rows) and the profile runs along y.
    shift
        Place of the profile's index 0, in points.
    """
    bands, length = profile.shape
    hop = max(2, round(4 * pitch))
    span = min(length, max(8, round(10 * pitch)))
    pieces = sliding_window_view(profile, span, axis=1)[:, ::hop]
    taper = np.hanning(span + 2)[1:-1]
    starts = np.arange(pieces.shape[1]) * hop + shift
    turning = np.exp(-2j * np.pi * np.arange(span) / pitch)
    waves = (pieces @ (taper * turning)) * np.exp(-2j * np.pi * starts / pitch)[None, :]
    whole = pieces @ taper + 1e-9
    along = np.broadcast_to(starts + (span - 1) / 2, waves.shape)
    other = np.broadcast_to(((np.arange(bands) + 0.5) * BAND)[:, None], waves.shape)
    strength = np.abs(waves)
    coherence = strength / whole
    return Tiles(
        pitch=pitch,
        level=level,
        x=other if level else along,
        y=along if level else other,
        phase=np.angle(waves) / (2 * np.pi),
        strength=strength,
        whole=whole,
        weights=np.minimum(strength, np.quantile(strength, 0.95)) * coherence**2,
        size=(bands * BAND, length) if level else (length, bands * BAND),
        hop=hop,
    )


def _slopes(tiles: Tiles, start: tuple[int, int]) -> tuple[float, float]:
    """Return how the phase rises across and along round a tile, in squares to a point."""
    rows = slice(max(0, start[0] - 3), start[0] + 4)
    columns = slice(max(0, start[1] - 3), start[1] + 4)
    coherence = (tiles.strength / tiles.whole)[rows, columns]
    near = tiles.strength[rows, columns] * coherence * np.exp(2j * np.pi * tiles.phase[rows, columns])
    along = float(np.angle((near[:, 1:] * near[:, :-1].conj()).sum() or 1) / (2 * np.pi * tiles.hop))
    other = float(np.angle((near[1:] * near[:-1].conj()).sum() or 1) / (2 * np.pi * BAND))
    return (other, along) if tiles.level else (along, other)


def fit_axis(tiles: Tiles, *, degree: int = 4) -> Axis:
    """Return the lattice along one axis: the phase of the edges, followed from tile to tile.

    Parameters
    ----------
    degree
        Of the polynomial that carries bending and what is left of the perspective.
    """
    x, y, phase, weights = tiles.x, tiles.y, tiles.phase, tiles.weights
    size, hop = tiles.size, tiles.hop
    middle, half = (size[0] / 2, size[1] / 2), max(size) / 2
    start = np.unravel_index(int(np.argmax(_box(weights, 2))), weights.shape)
    slope_x, slope_y = _slopes(tiles, (int(start[0]), int(start[1])))
    x0, y0 = float(x[start]), float(y[start])
    powers = _powers(degree)
    u, v = (x - middle[0]) / half, (y - middle[1]) / half
    basis = np.stack([u**i * v**j for i, j in powers], axis=-1)
    terms = np.zeros(len(powers))
    terms[1], terms[2] = slope_x * half, slope_y * half
    terms[0] = phase[start] - slope_x * (x0 - middle[0]) - slope_y * (y0 - middle[1])
    away = np.hypot(x - x0, y - y0)
    # Tiles with next to nothing in step would only cost time.
    telling = weights > 0.03 * float(np.quantile(weights, 0.98))
    reach = 2.5 * max(hop, BAND)
    farthest = float(away.max())
    while True:
        inside = (away <= reach) & telling
        spread = np.sqrt(float((away[inside] ** 2).mean() if inside.any() else 0.0)) / half
        now = 1 if reach < 5 * max(hop, BAND) else 2 if spread < 0.3 else 3 if reach < farthest else degree
        now = min(now, degree)
        count = (now + 1) * (now + 2) // 2
        rounds = 3 if reach < farthest else 8
        part, value, weight = basis[inside][:, :count], phase[inside], weights[inside]
        for _round in range(rounds):
            off = value - part @ terms[:count]
            off -= np.rint(off)
            w = weight * np.exp(-((off / 0.2) ** 2))
            moments = (part * w[:, None]).T @ part
            # Terms beyond the straight ones must be earned by evidence spread over the sheet.
            damping = (
                np.array(
                    [
                        0.0 if i + j <= 1 else 1e-2 * min(1.0, spread) ** (2 * (i + j))
                        for i, j in powers[:count]
                    ]
                )
                * w.sum()
                + 1e-12
            )
            moments[np.diag_indices(count)] += damping
            pull = part.T @ (w * off)
            terms[:count] += np.linalg.solve(moments + 1e-9 * np.eye(count) * max(1.0, w.sum()), pull)
        if reach >= farthest:
            break
        reach *= 1.5
    off = phase - basis @ terms
    off -= np.rint(off)
    in_step = float(tiles.in_step(off).sum() / tiles.whole.sum())
    return Axis(
        pitch=tiles.pitch,
        level=tiles.level,
        middle=middle,
        half=half,
        degree=degree,
        terms=terms,
        coherence=max(0.0, in_step),
    )


def _box(values: FloatArray, reach: int) -> FloatArray:
    out = values
    for axis in (0, 1):
        padded = np.pad(out, [(reach, reach) if a == axis else (0, 0) for a in (0, 1)])
        out = sliding_window_view(padded, 2 * reach + 1, axis=axis).sum(axis=-1)
    return np.asarray(out)


# --- both axes at once -------------------------------------------------------------------------------------------


def fit_sheet(across: Tiles, along: Tiles, to_flat: FloatArray) -> tuple[Lattice, Warp] | None:
    """Return the lattice of a sheet followed along both axes at once, and how far from straight the picture lay.

    A polynomial says nothing about where it has not been, and slips by a line far from its beginning when a tilted sheet
    was not made quite straight. A flat sheet's lattice is a homography of the picture: eight numbers, found near the
    beginning, say where the lines run at the far end. Bending is a gentle polynomial beside it.

    Parameters
    ----------
    across, along
        The two axes' tiles on the same straightened picture.
    to_flat
        (3, 3) homography from the picture to the straightened one.
    """
    start = _common_start(across, along)
    middle, half = start, max(across.size) / 2
    axes = [_Followed(tiles, middle, half) for tiles in (across, along)]
    if any(not len(axis.place) for axis in axes):
        return None
    many = len(_powers(_BEND_DEGREE)) - 3
    plane, lean, bend = np.zeros((2, 3)), np.zeros(2), np.zeros((2, many))
    for index, axis in enumerate(axes):
        plane[index] = axis.first_plane()
    powers = _powers(_BEND_DEGREE)[3:]
    reach = 2.5 * max(across.hop, along.hop, BAND)
    farthest = max(float(axis.away.max()) for axis in axes)
    while True:
        bends = reach >= 5 * max(across.hop, along.hop, BAND)
        inside = [axis.away <= reach for axis in axes]
        spread = (
            max(
                float(np.sqrt((a.away[i] ** 2).mean())) if i.any() else 0.0
                for a, i in zip(axes, inside, strict=True)
            )
            / half
        )
        degree = 1 if not bends else 2 if spread < 0.3 else 3 if reach < farthest else _BEND_DEGREE
        free = np.array([i + j <= degree for i, j in powers])
        damping = np.array([1e-2 * min(1.0, spread) ** (2 * (i + j)) for i, j in powers])
        for _round in range(3 if reach < farthest else 8):
            moments = np.zeros((8 + 2 * many, 8 + 2 * many))
            pull = np.zeros(8 + 2 * many)
            total = 0.0
            for index, (axis, near) in enumerate(zip(axes, inside, strict=True)):
                if not near.any():
                    continue
                off, part = axis.step(near, plane[index], lean, bend[index])
                weight = axis.weight[near] * np.exp(-((off / 0.2) ** 2))
                rows = np.zeros((len(off), 8 + 2 * many))
                rows[:, 3 * index : 3 * index + 3] = part[:, :3]
                if bends:
                    rows[:, 6:8] = part[:, 3:5]
                rows[:, 8 + index * many : 8 + (index + 1) * many] = part[:, 5:] * free
                moments += (rows * weight[:, None]).T @ rows
                pull += rows.T @ (weight * off)
                total += float(weight.sum())
                place = slice(8 + index * many, 8 + (index + 1) * many)
                pull[place] -= damping * weight.sum() * bend[index] * free
                moments[np.arange(place.start, place.stop), np.arange(place.start, place.stop)] += (
                    damping * weight.sum()
                )
            if total <= 0:
                return None
            moments[[6, 7], [6, 7]] += _LEAN_DAMPING * total
            pull[6:8] -= _LEAN_DAMPING * total * lean
            change = np.linalg.solve(moments + 1e-9 * total * np.eye(len(pull)), pull)
            plane += change[:6].reshape(2, 3)
            lean += change[6:8]
            bend += change[8:].reshape(2, many)
        if reach >= farthest:
            break
        reach *= 1.5
    return _lattice_of(axes, plane, lean, bend, to_flat)


_BEND_DEGREE = 4
_LEAN_DAMPING = 1e-5
_MOST_FOLLOWED = 4000
"""Tiles of an axis that are followed at most; more would only cost time."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Warp:
    """How far from straight the picture lay on which a lattice was followed."""

    slant: float
    """Points by which a line departs from level or upright within a band, at most."""
    stretch: float
    """The largest pitch over the smallest, along one axis."""


class _Followed:
    """The tiles of one axis in coordinates round the beginning, with the part of the lattice they tell."""

    def __init__(self, tiles: Tiles, middle: tuple[float, float], half: float) -> None:
        self.tiles = tiles
        self.middle, self.half = middle, half
        telling = np.flatnonzero((tiles.weights > 0.03 * float(np.quantile(tiles.weights, 0.98))).ravel())
        if len(telling) > _MOST_FOLLOWED:
            telling = np.sort(np.random.default_rng(4).choice(telling, _MOST_FOLLOWED, replace=False))
        self.place = telling
        self.u = (tiles.x.ravel()[telling] - middle[0]) / half
        self.v = (tiles.y.ravel()[telling] - middle[1]) / half
        self.away = np.hypot(self.u, self.v) * half
        self.phase = tiles.phase.ravel()[telling]
        self.weight = tiles.weights.ravel()[telling] / max(float(tiles.weights.ravel()[telling].sum()), 1e-12)
        self.bend = np.stack([self.u**i * self.v**j for i, j in _powers(_BEND_DEGREE)[3:]], axis=-1)

    def even(self, u: FloatArray, v: FloatArray) -> FloatArray:
        """Return the even lattice's coordinate, counted from the beginning."""
        return np.asarray((v if self.tiles.level else u) * (self.half / self.tiles.pitch))

    @property
    def even_start(self) -> float:
        """The even lattice's coordinate at the beginning."""
        return self.middle[1 if self.tiles.level else 0] / self.tiles.pitch

    def first_plane(self) -> FloatArray:
        """Return the lattice near the beginning as a plane over u and v."""
        tiles = self.tiles
        away = np.hypot(tiles.x - self.middle[0], tiles.y - self.middle[1])
        near = tiles.weights * np.exp(-((away / (3.0 * max(tiles.hop, BAND))) ** 2))
        start = np.unravel_index(int(np.argmax(near)), near.shape)
        slope_x, slope_y = _slopes(tiles, (int(start[0]), int(start[1])))
        phase = (
            tiles.phase[start]
            - slope_x * (tiles.x[start] - self.middle[0])
            - slope_y * (tiles.y[start] - self.middle[1])
        )
        plane = np.array([phase, slope_x * self.half, slope_y * self.half])
        plane[2 if tiles.level else 1] += self.half / tiles.pitch
        return plane

    def counted(
        self,
        plane: FloatArray,
        lean: FloatArray,
        bend: FloatArray,
        u: FloatArray,
        v: FloatArray,
        bends: FloatArray,
    ) -> FloatArray:
        """Return the lattice coordinate less the even lattice's at the beginning."""
        depth = 1 + lean[0] * u + lean[1] * v
        return np.asarray((plane[0] + plane[1] * u + plane[2] * v) / depth + bends @ bend)

    def step(
        self, near: NDArray[np.bool_], plane: FloatArray, lean: FloatArray, bend: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """Return how far the tiles' phases are from the lattice, in squares, and its slopes by its numbers."""
        u, v, bends = self.u[near], self.v[near], self.bend[near]
        depth = np.maximum(1 + lean[0] * u + lean[1] * v, 0.2)
        count = (plane[0] + plane[1] * u + plane[2] * v) / depth
        off = self.phase[near] + self.even(u, v) - count - bends @ bend
        off = off - np.rint(off)
        return off, np.column_stack(
            [1 / depth, u / depth, v / depth, -count * u / depth, -count * v / depth, bends]
        )


def _common_start(across: Tiles, along: Tiles) -> tuple[float, float]:
    """Return the place where both axes keep step best, in points."""
    side = 4.0 * max(across.hop, along.hop, BAND) / 2
    wide, high = (int(length // side) + 1 for length in across.size)
    maps = []
    for tiles in (across, along):
        cell = np.minimum((tiles.y // side).astype(int), high - 1) * wide + np.minimum(
            (tiles.x // side).astype(int), wide - 1
        )
        sums = np.bincount(cell.ravel(), weights=tiles.weights.ravel(), minlength=wide * high).reshape(
            high, wide
        )
        maps.append(_box(np.asarray(sums, dtype=np.float64), 1) / max(float(sums.sum()), 1e-12))
    best = np.unravel_index(int(np.argmax(maps[0] * maps[1])), maps[0].shape)
    return (float(best[1]) + 0.5) * side, (float(best[0]) + 0.5) * side


def _lattice_of(
    axes: list[_Followed], plane: FloatArray, lean: FloatArray, bend: FloatArray, to_flat: FloatArray
) -> tuple[Lattice, Warp] | None:
    """Return what was followed as a homography to an even lattice and a polynomial for what is left."""
    half, middle = axes[0].half, axes[0].middle
    width, height = axes[0].tiles.size
    corners = (np.array([[0, 0], [width, 0], [width, height], [0, height]]) - middle) / half
    if (1 + corners @ lean).min() < 0.25:
        return None
    pitches = [axis.tiles.pitch for axis in axes]
    to_units = np.array([[1 / half, 0, -middle[0] / half], [0, 1 / half, -middle[1] / half], [0, 0, 1]])
    even = np.array(
        [
            pitches[0] * plane[0][[1, 2, 0]],
            pitches[1] * plane[1][[1, 2, 0]],
            [lean[0], lean[1], 1.0],
        ]
    )
    shift = np.array([[1, 0, middle[0]], [0, 1, middle[1]], [0, 0, 1]])
    forward = shift @ even @ to_units
    det = np.linalg.det(forward)
    if not np.isfinite(det) or det <= 0:
        return None
    out = []
    for index, axis in enumerate(axes):
        tiles = axis.tiles
        places = apply(forward, np.stack([tiles.x.ravel(), tiles.y.ravel()], axis=-1))
        u, v = (tiles.x.ravel() - middle[0]) / half, (tiles.y.ravel() - middle[1]) / half
        bends = np.stack([u**i * v**j for i, j in _powers(_BEND_DEGREE)[3:]], axis=-1)
        count = axis.counted(plane[index], lean, bend[index], u, v, bends)
        off = tiles.phase.ravel() + axis.even(u, v) - count
        off -= np.rint(off)
        own_half = (
            (float(places[:, 0].mean()), float(places[:, 1].mean())),
            max(float(np.ptp(places)) / 2, 1.0),
        )
        out.append(_rest(tiles, places, count + off, off, own_half, axis.even_start))
    slants, stretch = [], 1.0
    for axis in axes:
        near = axis.weight > 0
        u, v = axis.u[near], axis.v[near]
        here = np.stack([u * half + middle[0], v * half + middle[1]], axis=-1)
        moved = apply(forward, here)
        right = apply(forward, here + np.array([1.0, 0.0])) - moved
        down = apply(forward, here + np.array([0.0, 1.0])) - moved
        along_line, across_line = (right, down) if axis.tiles.level else (down, right)
        side = 1 if axis.tiles.level else 0
        slants.append(float(np.quantile(np.abs(along_line[:, side] / across_line[:, side]), 0.9)) * BAND)
        low, high = np.quantile(np.abs(across_line[:, side]), [0.03, 0.97])
        stretch = max(stretch, float(high / low))
    lattice = Lattice(across=out[0], along=out[1], to_flat=forward @ to_flat)
    return lattice, Warp(slant=max(slants), stretch=stretch)


def _rest(
    tiles: Tiles,
    places: FloatArray,
    count: FloatArray,
    off: FloatArray,
    frame: tuple[tuple[float, float], float],
    even_start: float,
) -> Axis:
    """Return the axis over the evened sheet: pitch, and the polynomial through what departs from it."""
    middle, half = frame
    along = places[:, 1 if tiles.level else 0]
    value = count + even_start - along / tiles.pitch
    weight = tiles.weights.ravel() * np.exp(-((off / 0.2) ** 2))
    u, v = (places[:, 0] - middle[0]) / half, (places[:, 1] - middle[1]) / half
    basis = np.stack([u**i * v**j for i, j in _powers(_BEND_DEGREE)], axis=-1)
    moments = (basis * weight[:, None]).T @ basis
    moments[np.diag_indices(len(moments))] += 1e-4 * weight.sum()
    terms = np.asarray(np.linalg.solve(moments, basis.T @ (weight * value)), dtype=np.float64)
    left = value - basis @ terms
    left -= np.rint(left)
    in_step = float(tiles.in_step(left.reshape(tiles.phase.shape)).sum() / tiles.whole.sum())
    return Axis(
        pitch=tiles.pitch,
        level=tiles.level,
        middle=middle,
        half=half,
        degree=_BEND_DEGREE,
        terms=terms,
        coherence=max(0.0, in_step),
    )
