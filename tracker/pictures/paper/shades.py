"""Finds the yarns' colours among the squares: evens out the light, takes off a hard shadow, clusters in CIELAB, and tells which squares are doubtful.

References
----------
E. H. Land, J. J. McCann, J. Opt. Soc. Am. 61(1), 1971, doi 10.1364/JOSA.61.000001: light changes gently where colour
does not; its slope is read between neighbours of one colour.
D. Comaniciu, P. Meer, IEEE Trans. PAMI 24(5), 2002, doi 10.1109/34.1000236: mean shift to the middle of a cluster.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass, replace
from itertools import product

import numpy as np
from numpy.typing import NDArray

from tracker.domain.cartoon import MAX_COLOURS
from tracker.domain.colour import ciede2000, hex_of_rgb, lab_of_rgb
from tracker.pictures.paper.beside import with_neighbours
from tracker.pictures.paper.leaks import entropy, less_leak, own_colours, some_of, without_leak
from tracker.pictures.paper.shadow import hard_shadow, may_be_shaded
from tracker.pictures.paper.two_in_one import Two, two_heaps

FloatArray = NDArray[np.float64]

APART_DELTA_E = 5.0
"""CIEDE2000 below which two clusters are one yarn, unless the picture is clean; our choice."""
LEAST_SQUARES = 3
LEAST_SHARE = 0.0002
"""A colour needs so many squares, and such a share of them, to count as a yarn's by itself; our choice."""
DOUBT_BELOW = 0.97
"""Confidence under which a square is shown to the weaver."""
MOST_DOUBTED = 0.02
"""Share of squares shown as doubtful at most: more could not be walked through."""
_FIRST_EVEN = np.diag([1.3, 0.85, 0.85])
"""Before the noise is known: JPEG and cameras keep lightness better than colour."""
_ROUNDS = 4
"""Rounds of clustering and of evening out the light by its clusters."""
_MOST_LIGHT = 1.2
"""Range of the logarithm of the light over a sheet that is believed: a factor of 3.3 in the picture, 13 in real light."""
_FEW, _FEW_ALIKE = 15, 8.0
"""Squares below which two clusters tell nothing by a gap between them, and CIEDE2000 below which they are then one yarn."""
_RARE_APART, _LEAST_RARE, _NO_FEW, _MOST_RARE_SHARE, _MOST_RARE = 14.0, 5, 50, 0.04, 2_000
"""How far from every other yarn the squares of a yarn of a few scattered squares must lie, how many there must be, from how
many on they would be a cluster by themselves, and the share of all squares, and the number, of which nothing is told."""
_TWO = Two(middles=np.zeros((2, 3)), apart=2.75, less=0.27, gain=30.0)
_TWO_AS_SEEN = replace(_TWO, apart=3.05, less=0.12, gain=40.0)
_MAY_BE_TWO = replace(_TWO, apart=2.6, less=0.14, gain=20.0)
_TWO_DELTA_E = 4.2
"""How clearly the squares of a cluster must lie in two heaps, and what CIEDE2000 must part these, when they are two yarns, when they are with what leaks
still in them (on 139 development sheets no number that was right became wrong by it), and when they may be.
On development sheets single yarns have 2.8 at most, but with a smaller share or less than 4 CIEDE2000; two in one 2.7 and more."""
_CLEAR_DELTA_E, _CLEAR_SPREADS, _MINGLED = 8.0, 5.7, 0.5
"""CIEDE2000 between the two nearest yarns, and standard deviations of a square's colour, from which on colours stand wholly clear: of two yarns at
4 standard deviations one square in 40 is taken for the other. And how clear they are at most where two yarns may be taken for one."""
_PARTING_ROUNDS, _MOST_PARTINGS = 1, 4
"""Last rounds of clustering in which clusters are parted, and how often: one may hold several yarns."""
_CLEAR_SQUARE = 0.9995
"""Chance by its colour alone from which on a square's neighbours are not asked."""
_SAMPLE = 40_000
_TAILS = 4.0
"""Degrees of freedom of the heavy-tailed (Student) spread round a yarn's colour."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shades:
    """The squares' yarns."""

    cells: NDArray[np.uint8]
    """(rows, knots) index of each square's colour, top row first."""
    palette: tuple[str, ...]
    confidence: NDArray[np.float32]
    """(rows, knots) chance that the square is in the right colour, as far as the picture tells."""
    light: NDArray[np.float32]
    """(rows, knots) natural logarithm of the light's share, 0 at its brightest."""
    clear: float
    """0 to 1: how well the colours stand apart."""


def find_shades(
    colours: NDArray[np.uint8],
    spread: NDArray[np.float32],
    *,
    many: int | None = None,
    even_light: bool = False,
) -> Shades:
    """Return the fewest colours that explain the squares.

    Parameters
    ----------
    colours, spread
        (rows, knots, 3) and (rows, knots) from `look_at_squares`.
    many
        Number of colours, when the weaver said it.
    even_light
        The picture was drawn by a program: no light to even out.
    """
    rows, knots = spread.shape
    coded = colours.astype(np.float32)
    light = np.zeros((rows, knots), dtype=np.float32)
    shade: NDArray[np.float32] | None = None
    if not even_light:
        light = _gentle_light(coded)
        coded = without_leak(coded * np.exp(-light)[..., None]) * np.exp(light)[..., None]
        lit = np.clip(coded * np.exp(-light)[..., None], 0, 300)
        places = (lab_of_rgb(lit) @ _FIRST_EVEN).astype(np.float32)
        back = np.asarray(np.linalg.inv(_FIRST_EVEN), dtype=np.float64)
        centres = _clusters(places.reshape(-1, 3), _noise(places), None, back)
        shade = hard_shadow(lit, _assign(places.reshape(-1, 3), centres)[0].reshape(rows, knots))
        if shade is not None:
            light = light + shade
    # Noise is not alike in lightness and in colour: clusters are sought in coordinates in which it is.
    even: FloatArray = np.eye(3) if even_light else _FIRST_EVEN
    mingled = joined = False
    for round_ in range(1 if even_light else _ROUNDS):
        lit = np.clip(coded * np.exp(-light)[..., None], 0, 300)
        lab = lab_of_rgb(lit)
        places = (lab @ even).astype(np.float32)
        noise = _noise(places)
        back = np.asarray(np.linalg.inv(even), dtype=np.float64)
        centres = _clusters(places.reshape(-1, 3), noise, many, back, shaded=shade is not None)
        labels = _assign(places.reshape(-1, 3), centres)[0].reshape(rows, knots)
        if many is None:
            centres, labels = _without_ghosts(places, labels, centres, noise)
            if not even_light:
                centres, labels = _with_rare(places, labels, centres, noise)
        if not even_light and round_ >= _ROUNDS - _PARTING_ROUNDS:
            # Yarns that always lie beside the same others, taken for one, seem to be what leaks: first they are parted as seen.
            less = (lab_of_rgb(less_leak(lit, labels, len(centres))) @ even).astype(np.float32)
            centres, labels, _may_be = _parted(less, labels, centres, many, back, _TWO_AS_SEEN)
            for last in range(_LEAK_ROUNDS):
                # With what leaks taken off, near yarns part and some squares turn out to be of another one, and then other colours leak.
                places = (lab_of_rgb(own_colours(lit, labels, len(centres))) @ even).astype(np.float32)
                centres, labels, mingled = _parted(places, labels, centres, many, back, _TWO)
                centres, labels = _settled(places, labels, centres)
                if many is None and last == _LEAK_ROUNDS - 2:
                    centres, labels, joined = _weighed(lit, even, places, labels, centres)
        if round_ < _ROUNDS - 1 and not even_light:
            light = light + _local_light(lit, places, labels, centres)
            even = _evening(lab, labels)
    if many is None and not even_light and not mingled:
        # Near yarns taken for one spread what their neighbours tell so wide that nothing parts. What parts by less is asked about.
        less = (lab_of_rgb(less_leak(lit, labels, len(centres))) @ even).astype(np.float32)
        mingled = len(_parted(less, labels, centres, many, back, _TWO)[0]) > len(centres)
    nearest, scale = _assign(places.reshape(-1, 3), centres)
    if not even_light:
        for _round in range(_MOST_PARTINGS):
            parted, may_be = _few_parted(places, lab, nearest, centres, scale, many)
            mingled = mingled or (many is None and may_be)
            if len(parted) == len(centres):
                break
            labels = _assign(places.reshape(-1, 3), parted)[0].reshape(rows, knots)
            places = (lab_of_rgb(own_colours(lit, labels, len(parted))) @ even).astype(np.float32)
            middles = [np.median(places[labels == index], axis=0) for index in np.unique(labels)]
            centres = np.array(middles, dtype=np.float64)
            nearest, scale = _assign(places.reshape(-1, 3), centres)
    if even_light:
        confidence = _confidence(places.reshape(-1, 3), centres, scale, nearest)
    else:
        noisier = _contrast_noise(places, nearest, centres, scale)
        confidence = _confidence(places.reshape(-1, 3), centres, scale, nearest, noisier)
        unclear = np.flatnonzero(confidence < _CLEAR_SQUARE)
        if len(centres) > 1 and len(unclear):
            likely = _likely(places.reshape(-1, 3)[unclear], centres, scale, noisier[unclear])
            labels, confidence[unclear] = with_neighbours(nearest.reshape(rows, knots), unclear, likely)
            nearest = labels.ravel()
        off = (lab.reshape(-1, 3) - (centres @ np.linalg.inv(even))[nearest]).astype(np.float32)
        confidence = np.minimum(confidence, _unlike_any(off, even @ scale, spread.ravel(), nearest))
        if shade is not None:
            either = _in_either_light(lit, shade, even @ scale, centres @ scale, nearest)
            confidence = np.where(either, np.minimum(confidence, _EITHER), confidence)
            at_edge = np.bincount(nearest, weights=_at_edge(shade, _BESIDE_EDGE + 1)) / np.maximum(
                1, np.bincount(nearest)
            )
            mingled = mingled or (many is None and bool((at_edge > _ALL_AT_EDGE).any()))
        # Half of the yarns may be the others in a shadow.
        mingled = mingled or (many is None and may_be_shaded(lit, nearest.reshape(rows, knots)))
    confidence = confidence.reshape(rows, knots)
    used, values = np.unique(nearest, return_inverse=True)
    cells = values.reshape(rows, knots).astype(np.uint8)
    palette = []
    for index in range(len(used)):
        mine = (cells == index) & (confidence > 0.5)
        mine = mine if mine.any() else cells == index
        palette.append(hex_of_rgb(np.clip(np.rint(np.median(lit[mine], axis=0)), 0, 255)))
    clear = min(
        _gaps(centres[used] @ np.linalg.inv(even)) / _CLEAR_DELTA_E,
        _spreads(centres[used], scale) / _CLEAR_SPREADS,
    )
    return Shades(
        cells=cells,
        palette=tuple(palette),
        confidence=confidence.astype(np.float32),
        light=light,
        clear=float(np.clip(clear, 0, _MINGLED if mingled or joined else 1.0)),
    )


def doubted(confidence: NDArray[np.float32]) -> NDArray[np.bool_]:
    """Return the squares to show as doubtful: the least sure, at most a fixed share of all."""
    most = max(1, int(MOST_DOUBTED * confidence.size))
    limit = min(DOUBT_BELOW, float(np.partition(confidence.ravel(), most - 1)[most - 1]))
    out = confidence < limit
    if out.sum() < most:
        ties = np.flatnonzero((confidence == limit).ravel() & (limit < DOUBT_BELOW))[: most - int(out.sum())]
        out.ravel()[ties] = True
    return np.asarray(out)


# --- light -------------------------------------------------------------------------------------------------------


def _gentle_light(coded: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return the logarithm of the light over the sheet, a gentle polynomial, from neighbours of one colour."""
    rows, knots = coded.shape[:2]
    level = np.log(coded + 4.0)
    v, u = np.meshgrid(np.linspace(-1, 1, rows), np.linspace(-1, 1, knots), indexing="ij")
    powers = [(i, j) for i in range(4) for j in range(4 - i) if i + j > 0]
    basis = np.stack([u**i * v**j for i, j in powers], axis=-1).astype(np.float32)
    moments = np.zeros((len(powers), len(powers)))
    pull = np.zeros(len(powers))
    known: FloatArray = np.zeros(len(powers))
    tried: list[FloatArray] = [np.zeros((rows, knots))]
    # From square to square the light of a large sheet changes by far less than the noise: over many squares at once its slope
    # stands out, and what was found over few keeps other yarns out there.
    for step in _LIGHT_STEPS:
        expected = basis @ known
        for axis in (0, 1):
            if coded.shape[axis] <= step:
                continue
            here = tuple(slice(None, -step) if a == axis else slice(None) for a in (0, 1))
            two = tuple(slice(step, None) if a == axis else slice(None) for a in (0, 1))
            rise = level[two] - level[here]
            alike = np.ptp(rise, axis=2) < 0.07
            gain = rise.mean(axis=2)
            alike &= np.abs(gain - (expected[two] - expected[here])) < 0.05 + 0.02 * min(step, 3)
            b = (basis[two] - basis[here])[alike]
            moments += b.T @ b
            pull += b.T @ gain[alike]
        known = np.asarray(np.linalg.solve(moments + _LIGHT_BELIEF * np.eye(len(powers)), pull))
        tried.append(np.asarray(basis @ known))
    # Where it was taken off rightly, the squares fall into the tightest clusters.
    light = min(tried, key=lambda part: entropy(some_of(coded * np.exp(part.mean() - part)[..., None])))
    if np.ptp(light) > _MOST_LIGHT:
        return np.zeros((rows, knots), dtype=np.float32)
    return np.asarray(light - np.quantile(light, 0.95), dtype=np.float32)


_LIGHT_STEPS, _LIGHT_BELIEF = (1, 3, 10, 30), 0.1
"""Over how many squares the light's slope is read; and what a belief of hardly any light weighs against that, in pairs of squares as far apart
as the sheet is wide: noise of 0.05 in a square's level beside a light of about 0.15."""


def _local_light(
    lit: NDArray[np.float32], lab: NDArray[np.float32], labels: NDArray[np.intp], centres: FloatArray
) -> NDArray[np.float32]:
    """Return what the light departs from the gentle one, from how squares depart from their yarn's colour."""
    rows, knots = labels.shape
    mean = np.zeros((len(centres), 3), dtype=np.float32)
    for index in range(len(centres)):
        mine = lit[labels == index]
        if len(mine):
            mean[index] = np.median(mine, axis=0)
    gain = (np.log(lit + 4.0) - np.log(mean + 4.0)[labels]).mean(axis=2)
    off = lab - centres[labels]
    sound = np.linalg.norm(off, axis=2) < 25
    sound &= np.abs(gain) < 0.3
    side = 6
    tall, wide = -(-rows // side), -(-knots // side)
    padded = np.full((tall * side, wide * side), np.nan, dtype=np.float32)
    padded[:rows, :knots] = np.where(sound, gain, np.nan)
    tiles = padded.reshape(tall, side, wide, side).transpose(0, 2, 1, 3).reshape(tall, wide, -1)
    count = np.isfinite(tiles).sum(axis=2)
    with warnings.catch_warnings():
        # Of tiles without a sound square there is no middle, and none is needed: they weigh nothing.
        warnings.simplefilter("ignore", RuntimeWarning)
        middle = np.nan_to_num(np.nanmedian(tiles, axis=2))
    weight = np.where(count >= 4, count, 0).astype(np.float32)
    smooth = _blur(middle * weight) / np.maximum(_blur(weight), 1e-3)
    y = np.clip((np.arange(rows) + 0.5) / side - 0.5, 0, tall - 1)
    x = np.clip((np.arange(knots) + 0.5) / side - 0.5, 0, wide - 1)
    y0, x0 = np.minimum(y.astype(int), max(0, tall - 2)), np.minimum(x.astype(int), max(0, wide - 2))
    y1, x1 = np.minimum(y0 + 1, tall - 1), np.minimum(x0 + 1, wide - 1)
    fy, fx = (y - y0)[:, None], (x - x0)[None, :]
    out = (smooth[np.ix_(y0, x0)] * (1 - fx) + smooth[np.ix_(y0, x1)] * fx) * (1 - fy) + (
        smooth[np.ix_(y1, x0)] * (1 - fx) + smooth[np.ix_(y1, x1)] * fx
    ) * fy
    return np.asarray(out, dtype=np.float32)


def _settled(
    places: NDArray[np.float32], labels: NDArray[np.intp], centres: FloatArray
) -> tuple[FloatArray, NDArray[np.intp]]:
    """Return the middles of the clusters' own squares (those of few squares stay), and each square's nearest."""
    out = centres.copy()
    for index in range(len(centres)):
        mine = places[labels == index]
        if len(mine) >= _NO_FEW:
            out[index] = np.median(mine, axis=0)
    return out, _assign(places.reshape(-1, 3), out)[0].reshape(labels.shape)


def _weighed(
    lit: NDArray[np.float32],
    even: FloatArray,
    places: NDArray[np.float32],
    labels: NDArray[np.intp],
    centres: FloatArray,
) -> tuple[FloatArray, NDArray[np.intp], bool]:
    """Return the clusters with those made one again that were parted by what leaks into them, and whether any were.

    Where a design repeats, the same neighbours leak into many squares of a yarn and make them a heap of their own. Two that
    lie in one heap, as two as well as with what leaks reckoned anew for them as one, are one yarn.
    """
    # A part of a large sheet tells as much as all of it.
    part = slice(0, max(1, _WEIGHED // labels.shape[1]))
    if len(centres) < 2:
        return centres, labels, False
    counts = np.bincount(labels.ravel(), minlength=len(centres))
    away = np.linalg.norm(centres[:, None] - centres[None], axis=2)
    away[np.diag_indices(len(centres))] = np.inf
    one_of: list[tuple[int, int]] = []
    fits = 0
    # Parts of one yarn are near: of each only its nearest is weighed, the nearest pairs first.
    pairs = {(away[one].min(), *sorted((one, int(np.argmin(away[one]))))) for one in range(len(centres))}
    for _far, first, two in sorted(pairs):
        less, more = sorted((counts[first], counts[two]))
        if less < max(_NO_FEW, _WEIGHED_SHARE * (less + more)) or fits >= _MOST_FITS:
            continue
        if any({first, two} & set(pair) for pair in one_of):
            continue
        own = labels[part]
        both = (own == first) | (own == two)
        apart = two_heaps(places[part][both])
        if apart is None or apart.apart > _ONE_AS_TWO:
            continue
        fits += 1
        as_one = lab_of_rgb(own_colours(lit[part], np.where(own == two, first, own), len(centres))) @ even
        together = two_heaps(as_one[both].astype(np.float32))
        if together is not None and max(apart.apart - _NO_WIDER, 0) < together.apart < _ONE_AS_ONE:
            one_of.append((first, two))
    for first, two in one_of:
        labels = np.where(labels == two, first, labels)
        centres[first] = (counts[first] * centres[first] + counts[two] * centres[two]) / (
            counts[first] + counts[two]
        )
    left = np.setdiff1d(np.arange(len(centres)), [two for _first, two in one_of])
    centres, labels = centres[left], np.searchsorted(left, labels)
    return centres, labels, bool(one_of)


_WEIGHED, _WEIGHED_SHARE = 40_000, 0.12
"""Squares that are looked at, at most, and the share of them that the smaller heap must have."""
_MOST_FITS = 12
"""How often, at most, what leaks is reckoned anew for two as one: each takes as long as for all."""
_ONE_AS_TWO, _ONE_AS_ONE, _NO_WIDER = 2.66, 2.45, 0.5
"""How far apart heaps of one yarn lie at most (`Two.apart`), fitted as two and as one, and by how much less in the latter: two yarns taken for one spread
what leaks so wide that nothing parts. On development sheets one yarn has 1.7 to 2.6 as two and 1.7 to 2.4 as one, two yarns 2.9 and more, or
1.3 less as one; two of two sheets with a sixth of their squares wrong lie between."""
_LEAK_ROUNDS = 3
"""How often what leaks is reckoned with the yarns as found by then; before the last time it is weighed which of them are one."""


def _blur(values: NDArray[np.float32]) -> NDArray[np.float32]:
    for axis in (0, 1):
        pad = [(1, 1) if a == axis else (0, 0) for a in (0, 1)]
        p = np.pad(values, pad)
        n = values.shape[axis]
        parts = [np.take(p, np.arange(k, k + n), axis=axis) for k in range(3)]
        values = (parts[0] + np.float32(2) * parts[1] + parts[2]) / np.float32(4)
    return values


# --- clusters ----------------------------------------------------------------------------------------------------


def _noise(lab: NDArray[np.float32]) -> float:
    """Return the standard deviation of a square's colour along each axis of CIELAB, from neighbours of one colour."""
    apart = [
        np.linalg.norm(lab[1:] - lab[:-1], axis=2).ravel(),
        np.linalg.norm(lab[:, 1:] - lab[:, :-1], axis=2).ravel(),
    ]
    away = np.concatenate(apart)
    near = away[away < 10]
    if len(near) < 20 or len(near) < 0.02 * len(away):
        return 1.5
    # The length of a difference of two: median 1.54 x sqrt(2) standard deviations (chi with 3 degrees of freedom).
    return float(max(0.2, np.median(near) / 2.18))


def _evening(lab: FloatArray, labels: NDArray[np.intp]) -> FloatArray:
    """Return the (3, 3) matrix into coordinates in which squares spread evenly round their yarn's colour."""
    flat, mine = lab.reshape(-1, 3), labels.ravel()
    counts = np.maximum(np.bincount(mine), 1)
    middle = np.stack([np.bincount(mine, weights=flat[:, axis]) / counts for axis in range(3)], axis=1)
    off = flat - middle[mine]
    size = np.abs(off).sum(axis=1)
    off = off[size <= np.quantile(size, 0.85)]
    moments = off.T @ off / max(1, len(off)) + 0.1 * np.eye(3)
    moments = 0.9 * moments + 0.1 * np.trace(moments) / 3 * np.eye(3)
    return np.asarray(np.linalg.cholesky(np.linalg.inv(moments)) * np.linalg.det(moments) ** (1 / 6))


def _clusters(
    lab: NDArray[np.float32], noise: float, many: int | None, to_lab: FloatArray, *, shaded: bool = False
) -> FloatArray:
    """Return the middles of the clusters, the fullest first; `to_lab` takes the coordinates back to CIELAB.

    Where a hard shadow was taken off (`shaded`), what is left of its step makes two clusters of a yarn however clean the picture is.
    """
    total = len(lab)
    if total > _SAMPLE:
        lab = lab[np.random.default_rng(1).choice(total, _SAMPLE, replace=False)]
    least = max(LEAST_SQUARES * len(lab) / total, LEAST_SHARE * len(lab), 1.5)
    radius = max(2.5, 3.0 * noise)
    left = np.ones(len(lab), dtype=bool)
    centres: list[FloatArray] = []
    most = MAX_COLOURS if many is None else max(many * 2, many + 4)
    while left.sum() >= least and len(centres) < most:
        rest = lab[left]
        centre = _densest(rest, max(2.0, 1.5 * noise))
        near = np.zeros(len(rest), dtype=bool)
        for _round in range(6):
            near = ((rest - centre) ** 2).sum(axis=1) < radius**2
            if not near.any():
                break
            moved = rest[near].mean(axis=0)
            if np.abs(moved - centre).max() < 0.02:
                break
            centre = moved
        wider = ((rest - centre) ** 2).sum(axis=1) < (1.4 * radius) ** 2
        if near.sum() < least:
            break
        centres.append(centre.astype(np.float64))
        places = np.flatnonzero(left)
        left[places[wider]] = False
    if not centres:
        centres = [lab.mean(axis=0).astype(np.float64)]
    found = np.array(centres)
    return _merged(lab, found, noise, many, to_lab, shaded)


def _densest(lab: NDArray[np.float32], bin_: float) -> NDArray[np.float32]:
    keys = np.floor(lab / bin_).astype(np.int64)
    keys -= keys.min(axis=0)
    size = keys.max(axis=0) + 3
    flat = ((keys[:, 0] + 1) * size[1] + keys[:, 1] + 1) * size[2] + keys[:, 2] + 1
    values, counts = np.unique(flat, return_counts=True)
    best = int(values[int(np.argmax(counts))])
    return np.asarray(lab[flat == best].mean(axis=0))


def _merged(
    lab: NDArray[np.float32],
    centres: FloatArray,
    noise: float,
    many: int | None,
    to_lab: FloatArray,
    shaded: bool,
) -> FloatArray:
    """Return the clusters with those made one between which there is no gap, or that the eye cannot tell apart."""
    limit = APART_DELTA_E if shaded else max(2.3, min(APART_DELTA_E, 2.0 * noise))
    counts = np.bincount(_assign(lab, centres)[0], minlength=len(centres)).astype(float)
    apart: set[tuple[bytes, bytes]] = set()
    while len(centres) > 1:
        eye = centres @ to_lab
        away = ciede2000(eye[:, None], eye[None])
        away[np.diag_indices(len(centres))] = np.inf
        if many is not None and len(centres) <= many:
            break
        cost = away * np.minimum(counts[:, None], counts[None]) ** 0.25
        for first, two in zip(*np.unravel_index(np.argsort(cost, axis=None), cost.shape), strict=True):
            if first >= two:
                continue
            if away[first, two] < limit:
                break
            pair = (centres[first].tobytes(), centres[two].tobytes())
            if away[first, two] > 22 or pair in apart:
                continue
            few = max(counts[first], counts[two]) < _FEW and away[first, two] < _FEW_ALIKE
            if few or not _gap_between(lab, centres[first], centres[two], noise):
                break
            apart.add(pair)
        else:
            if many is None:
                break
            first, two = np.unravel_index(int(np.argmin(cost)), cost.shape)
        # The fuller one's middle stands: fringes must not drag it.
        keep, drop = (first, two) if counts[first] >= counts[two] else (two, first)
        if counts[drop] > 0.3 * counts[keep]:
            share = counts[first] + counts[two]
            centres[keep] = (centres[first] * counts[first] + centres[two] * counts[two]) / max(share, 1e-9)
        counts[keep] += counts[drop]
        centres, counts = np.delete(centres, drop, axis=0), np.delete(counts, drop)
    return np.asarray(centres[np.argsort(-counts, kind="stable")])


def _parted(
    places: NDArray[np.float32],
    labels: NDArray[np.intp],
    centres: FloatArray,
    many: int | None,
    to_lab: FloatArray,
    least: Two,
) -> tuple[FloatArray, NDArray[np.intp], bool]:
    """Return the clusters with those parted whose squares lie in two heaps, and whether one is left that may be two.

    Two near yarns have hardly a gap between.
    """
    flat = places.reshape(-1, 3)
    known: dict[bytes, Two | None] = {}
    for _round in range(_MOST_PARTINGS + 1):
        for index, centre in enumerate(centres):
            if centre.tobytes() not in known:
                known[centre.tobytes()] = two_heaps(places[labels == index])
        heaps = [known[centre.tobytes()] for centre in centres]
        parted = [(index, two) for index, two in enumerate(heaps) if two and _are(least, two, to_lab)]
        parted.sort(key=lambda part: -part[1].gain)
        parted = parted[: max(0, (MAX_COLOURS if many is None else many) - len(centres))]
        if not parted or _round == _MOST_PARTINGS:
            break
        whole = np.delete(centres, [index for index, _two in parted], axis=0)
        centres = np.concatenate([whole, *(two.middles for _index, two in parted)])
        labels = _assign(flat, centres)[0].reshape(labels.shape)
    return centres, labels, any(two is not None and _are(_MAY_BE_TWO, two, to_lab) for two in heaps)


def _are(least: Two, two: Two, to_lab: FloatArray) -> bool:
    """Return whether heaps are as clearly two as others, at least; the eye must tell them apart as well."""
    return (
        two.apart >= least.apart
        and two.less >= least.less
        and two.gain >= least.gain
        and float(ciede2000(*(two.middles @ to_lab))) >= _TWO_DELTA_E
    )


def _few_parted(
    places: NDArray[np.float32],
    lab: FloatArray,
    nearest: NDArray[np.intp],
    centres: FloatArray,
    scale: FloatArray,
    many: int | None,
) -> tuple[FloatArray, bool]:
    """Return the clusters with yarns of few squares parted from each other and from those of many, and whether there may be more yarns.

    So few tell nothing of the shape of their heap; but how wide a yarn's squares spread is known from all the others.
    """
    flat, seen = places.reshape(-1, 3), lab.reshape(-1, 3)
    even = (flat @ scale).astype(np.float32)
    width = np.sqrt(_contrast_noise(places, nearest, centres, scale))
    counts = np.bincount(nearest, minlength=len(centres))
    parts: list[tuple[int, FloatArray, int]] = []
    may_be = False
    for index in np.flatnonzero(counts >= 2 * _LEAST_RARE):
        mine = np.flatnonzero(nearest == index)
        if counts[index] >= _MOST_FEW:
            bunch = _bunch(even[mine], (centres[index] @ scale).astype(np.float32), width[mine])
            if bunch is None:
                continue
            members, is_one = mine[bunch[0]], bunch[1]
            if (
                float(ciede2000(np.median(seen[members], axis=0), np.median(seen[mine], axis=0)))
                < _TWO_DELTA_E
            ):
                continue
            may_be = True
            if is_one:
                parts.append((-1, np.median(flat[members], axis=0), len(members)))
            continue
        second = _halves(even[mine])
        if second is None:
            continue
        halves = mine[~second], mine[second]
        gap, apart = _how_apart(even[mine], second)
        told = (
            min(map(len, halves)),
            gap / float(np.median(width[mine])),
            apart,
            float(ciede2000(*(np.median(seen[half], axis=0) for half in halves))),
        )
        if any(all(one >= least for one, least in zip(told, sure, strict=True)) for sure in _FEW_ARE_TWO):
            parts += [(int(index), np.median(flat[half], axis=0), len(half)) for half in halves]
            # Of fewer still a part may be what leaks alike.
            may_be |= told[0] < _NO_PART
        else:
            may_be |= all(one >= least for one, least in zip(told, _FEW_MAY_BE_TWO, strict=True))
    out = centres
    while parts:
        out = np.delete(centres, [index for index, _middle, _many in parts if index >= 0], axis=0)
        sizes = [counts.max()] * len(out)
        for _index, middle, size in parts:
            # A yarn that was shared out between two clusters comes out of both.
            if np.linalg.norm((out - middle) @ scale, axis=1).min() >= _ONE_AGAIN:
                out, sizes = np.concatenate([out, middle[None]]), [*sizes, size]
        taken = np.bincount(_assign(flat, out)[0], minlength=len(out))
        # What takes many squares of others as well is no yarn by itself.
        bad = [place for place, size in enumerate(sizes) if taken[place] > _MOST_TAKEN * size + _LEAST_RARE]
        if not bad and len(out) <= (MAX_COLOURS if many is None else many):
            break
        may_be = True
        gone = {index for index, middle, _size in parts for place in bad if (out[place] == middle).all()}
        parts = [part for part in parts if part[0] not in gone] if gone else []
        out = centres
    return out, may_be


_MOST_FEW, _ONE_AGAIN, _MOST_TAKEN = 80, 5.0, 1.5
"""Squares from which on a cluster tells of its shape itself; standard deviations below which two parts of different clusters are one yarn; and how
many times its squares a part may take where it stands by itself."""
_FEW_ARE_TWO = ((5, 5.0, 4.5, 6.0), (5, 6.0, 8.0, 3.5), (10, 4.0, 3.4, 5.0), (10, 5.0, 4.5, 4.2))
_FEW_MAY_BE_TWO, _NO_PART = (7, 4.0, 3.0, 4.2), 10
"""Of how many squares the smaller half of a cluster of few is, how many of a square's standard deviations the halves lie apart, how many of their
own, and what CIEDE2000, from which on they are two yarns (all four of one line), and from which on they may be; and of how many squares a half is told unasked."""


def _bunch(
    even: NDArray[np.float32], centre: NDArray[np.float32], width: NDArray[np.float32]
) -> tuple[NDArray[np.intp], bool] | None:
    """Return which squares of a large cluster lie together far from its middle, and whether they are a yarn; None where none do.

    Noise, and what leaks, strews squares to the other side of the middle as well: a yarn lies on one side.
    """
    away = np.linalg.norm(even - centre, axis=1) / width
    rest = np.flatnonzero(away > _BUNCH_FROM)
    if not _BUNCH_LEAST <= len(rest) <= _MOST_RARE:
        return None
    level = float(np.median(width[rest]))
    near = np.linalg.norm(even[rest][:, None] - even[rest][None], axis=2) < _BUNCH_REACH * level
    middle = np.median(even[rest[near[int(np.argmax(near.sum(axis=1)))]]], axis=0)
    members = rest[np.linalg.norm(even[rest] - middle, axis=1) < _BUNCH_REACH * level]
    opposite = np.linalg.norm(even - (2 * centre - middle), axis=1) < _BUNCH_REACH * level
    far = float(np.linalg.norm(middle - centre)) / level
    if len(members) < _BUNCH_LEAST or opposite.sum() > _OPPOSITE * len(members) or far < _BUNCH_MAY_BE:
        return None
    alone = _BUNCH_SHARE * len(rest) <= len(members) < _NO_FEW
    return members, alone and far >= _BUNCH_IS


_BUNCH_FROM, _BUNCH_REACH, _OPPOSITE = 5.0, 3.0, 1 / 3
"""Standard deviations of a square's colour from a cluster's middle from which on squares may be another yarn's, and within which they lie together;
and how many may lie opposite, beside them."""
_BUNCH_LEAST, _BUNCH_MAY_BE, _BUNCH_IS, _BUNCH_SHARE = 8, 6.0, 6.4, 0.3
"""How many such squares may be a yarn (on stripes the same neighbours leak into seven alike), from how many standard deviations on; and from how many
on, and from what share of all so far out, they are taken for one, and asked about still."""


def _halves(even: NDArray[np.float32]) -> NDArray[np.bool_] | None:
    """Return which of a few squares lie in the second of the two tightest halves; None where all lie in one place."""
    best: tuple[float, NDArray[np.bool_]] | None = None
    off = even - even.mean(axis=0)
    for axis in np.linalg.svd(off, full_matrices=False)[2][:2]:
        second = off @ axis > 0
        for _round in range(_SETTLING):
            if second.all() or not second.any():
                break
            one, two = np.median(even[~second], axis=0), np.median(even[second], axis=0)
            now = ((even - two) ** 2).sum(axis=1) < ((even - one) ** 2).sum(axis=1)
            if (now == second).all():
                break
            second = now
        if second.all() or not second.any():
            continue
        cost = sum(
            float(((even[part] - np.median(even[part], axis=0)) ** 2).sum()) for part in (~second, second)
        )
        if best is None or cost < best[0]:
            best = cost, second
    return best[1] if best is not None else None


_SETTLING = 10


def _how_apart(even: NDArray[np.float32], second: NDArray[np.bool_]) -> tuple[float, float]:
    """Return how far the middles of two halves lie apart, and how many of their own standard deviations along that way."""
    one, two = np.median(even[~second], axis=0), np.median(even[second], axis=0)
    gap = max(float(np.linalg.norm(two - one)), 1e-9)
    way = (two - one) / gap
    off = np.concatenate([(even[~second] - one) @ way, (even[second] - two) @ way])
    return gap, gap / max(float(np.sqrt((off**2).mean())), 1e-9)


def _gap_between(lab: NDArray[np.float32], first: FloatArray, two: FloatArray, noise: float) -> bool:
    """Return whether fewer squares lie between two middles than at the emptier of them."""
    way = two - first
    length = float(np.linalg.norm(way))
    way = way / max(length, 1e-9)
    off = lab - first
    along = off @ way
    across = np.sqrt(np.maximum((off**2).sum(axis=1) - along**2, 0))
    tube = across < max(2.5, 2.0 * noise, 0.2 * length)
    places = along[tube] / max(length, 1e-9)
    width = float(np.clip(max(1.5, noise) / max(length, 1e-9), 0.08, 0.2))
    at_one = np.count_nonzero(np.abs(places) < width)
    at_two = np.count_nonzero(np.abs(places - 1) < width)
    between = [
        np.count_nonzero(np.abs(places - middle) < width)
        for middle in np.arange(2 * width, 1 - 1.5 * width, width)
    ]
    if not between:
        return length > 4 * noise + 2
    lower = min(at_one, at_two)
    return bool(min(between) + np.sqrt(lower) * 0.7 < 0.75 * lower)


def _assign(lab: NDArray[np.float32], centres: FloatArray) -> tuple[NDArray[np.intp], FloatArray]:
    """Return each square's cluster and the (3, 3) matrix that makes the spread round the middles even."""
    scale = np.eye(3)
    labels = np.zeros(len(lab), dtype=np.intp)
    for round_ in range(2):
        labels = np.argmin(_distances(lab, centres, scale), axis=1)
        if round_ == 0:
            some = slice(None, None, max(1, len(lab) // _SAMPLE))
            off = lab[some] - centres[labels[some]]
            near = off[(off**2).sum(axis=1) < np.quantile((off**2).sum(axis=1), 0.9) + 1e-9]
            moments = near.T @ near / max(1, len(near)) * 1.5 + 0.05 * np.eye(3)
            size = float(np.trace(moments)) / 3
            # Half round: the shape of the noise is known only roughly.
            scale = np.linalg.cholesky(np.linalg.inv(0.5 * moments + 0.5 * size * np.eye(3)))
    return labels, scale


def _distances(lab: NDArray[np.float32], centres: FloatArray, scale: FloatArray) -> NDArray[np.float32]:
    points, middles = (lab @ scale).astype(np.float32), (centres @ scale).astype(np.float32)
    squared = (points**2).sum(axis=1)[:, None] + (middles**2).sum(axis=1)[None] - 2 * points @ middles.T
    return np.asarray(np.maximum(squared, 0))


def _confidence(
    lab: NDArray[np.float32],
    centres: FloatArray,
    scale: FloatArray,
    chosen: NDArray[np.intp],
    noisier: NDArray[np.float32] | None = None,
) -> NDArray[np.float32]:
    """Return the chance of the chosen colour against all others, with heavy tails."""
    out = np.empty(len(lab), dtype=np.float32)
    for first in range(0, len(lab), 100_000):
        part = slice(first, first + 100_000)
        likely = np.exp(_likely(lab[part], centres, scale, noisier[part] if noisier is not None else None))
        mine = likely[np.arange(len(likely)), chosen[part]]
        out[part] = mine / likely.sum(axis=1)
    return out


def _likely(
    places: NDArray[np.float32], centres: FloatArray, scale: FloatArray, noisier: NDArray[np.float32] | None
) -> NDArray[np.float32]:
    """Return (squares, yarns) logarithms of how well each square's colour fits each yarn, with heavy tails."""
    squared = _distances(places, centres, scale)
    if noisier is not None:
        squared /= noisier[:, np.newaxis]
    return np.asarray(-(_TAILS + 3) / 2 * np.log1p(squared / _TAILS), dtype=np.float32)


def _contrast_noise(
    places: NDArray[np.float32], nearest: NDArray[np.intp], centres: FloatArray, scale: FloatArray
) -> NDArray[np.float32]:
    """Return how much larger than usual each square's variance is, by how far its neighbours' colours lie from its own."""
    rows, knots = places.shape[:2]
    yarn = ((centres @ scale)[nearest]).reshape(rows, knots, 3).astype(np.float32)
    padded = np.pad(yarn, ((1, 1), (1, 1), (0, 0)), mode="edge")
    contrast = np.zeros((rows, knots), dtype=np.float32)
    for dy, dx in ((0, 1), (1, 0), (1, 2), (2, 1)):
        contrast += ((padded[dy : dy + rows, dx : dx + knots] - yarn) ** 2).sum(axis=2)
    around = contrast.ravel()
    own = (((places.reshape(-1, 3) @ scale) - yarn.reshape(-1, 3)) ** 2).sum(axis=1)
    order = np.argsort(around, kind="stable")
    parts = np.array_split(order, min(_CONTRASTS, len(order) // _NO_FEW + 1))
    at = np.array([float(around[part].mean()) for part in parts])
    level = np.array([float(np.median(own[part])) for part in parts]) / _MEDIAN_OF_THREE
    return np.asarray(np.interp(around, at, np.clip(level, *_NOISIER)), dtype=np.float32)


_CONTRASTS, _NOISIER, _MEDIAN_OF_THREE = 12, (0.5, 4.0), 2.37
"""In how many heaps squares are put by the contrast round them; how much less and more than usual their variance may be there; and the median
of the square of three even standard deviations (chi-squared with 3 degrees of freedom, from any table of it)."""


def _unlike_any(
    off: NDArray[np.float32], scale: FloatArray, spread: NDArray[np.float32], nearest: NDArray[np.intp]
) -> NDArray[np.float32]:
    """Return the most that the chance of each square may be: less where it is like no yarn at all, or has two colours.

    A smudge, a fold or a pen's stroke makes a square nearer to one yarn than to all others, and for all that no yarn's.

    Parameters
    ----------
    off
        (squares, 3) CIELAB of each less that of its yarn.
    scale
        (3, 3) that makes the noise even.
    """
    far = np.where(np.linalg.norm(off, axis=1) > _SEEN_OFF, np.linalg.norm(off @ scale, axis=1) / _FAR, 0.0)
    # Of few squares all may be smudged alike.
    usual = np.full(int(nearest.max()) + 1, np.median(spread))
    for index in np.flatnonzero(np.bincount(nearest) >= _NO_FEW):
        usual[index] = np.median(spread[nearest == index])
    uneven = spread / np.maximum(
        np.maximum(_TWO_COLOURED * usual[nearest], _ABOVE_MOST * np.quantile(spread, _MOST)), _LEAST_UNEVEN
    )
    worst = np.maximum(far, uneven)
    return np.where(worst > 1, 0.999 * DOUBT_BELOW / np.maximum(worst, 1.0), 1.0).astype(np.float32)


_SEEN_OFF, _FAR = 5.0, 7.0
"""Distance in CIELAB, and in standard deviations of a square's colour, from which on a square is like no yarn: of sound ones one in 300 is 6 away
on the worst sheets, one in 30 on none."""
_TWO_COLOURED, _MOST, _ABOVE_MOST, _LEAST_UNEVEN = 3.0, 0.98, 1.5, 12.0
"""How uneven a square with two colours is inside: beside what is usual with its yarn, beside what so large a share of all squares have at most, and in
steps of a channel."""


def _in_either_light(
    lit: NDArray[np.float32],
    shade: NDArray[np.float32],
    even: FloatArray,
    middles: FloatArray,
    nearest: NDArray[np.intp],
) -> NDArray[np.bool_]:
    """Return which squares at a shadow's edge are one yarn in the light and another in the shadow, as well as each other.

    Parameters
    ----------
    even
        (3, 3) from CIELAB to standard deviations of a square's colour, in which `middles` are the yarns'.
    """
    step = -float(shade.min())
    edge = _at_edge(shade, _BESIDE_EDGE)
    places = np.flatnonzero(edge)
    bare = (lit * np.exp(shade)[..., None]).reshape(-1, 3)[places]
    out = np.zeros(edge.shape, dtype=bool)
    for share in (0.0, 0.5, 1.0):
        colours = (lab_of_rgb(np.clip(bare * np.exp(step * share), 0, 300)) @ even).astype(np.float32)
        away = _distances(colours, middles, np.eye(3))
        yarn = np.argmin(away, axis=1)
        out[places] |= (yarn != nearest[places]) & (away.min(axis=1) < _FITTING**2)
    return out


def _at_edge(shade: NDArray[np.float32], reach: int) -> NDArray[np.bool_]:
    """Return which squares lie so near a shadow's edge, in one row."""
    rows, knots = shade.shape
    padded = np.pad(shade, reach, mode="edge")
    around = [padded[y : y + rows, x : x + knots] for y, x in product((0, reach, 2 * reach), repeat=2)]
    return np.asarray((np.max(around, axis=0) - np.min(around, axis=0)).ravel() > -float(shade.min()) / 2)


_ALL_AT_EDGE = 0.7
"""Share of a yarn's squares at a shadow's edge from which on they may be others' in the wrong light."""
_BESIDE_EDGE, _FITTING, _EITHER = 2, 3.0, 0.8
"""Squares beside the edge of a shadow that may lie in either light, standard deviations up to which a colour is a yarn's, and the chance said then."""


def _without_ghosts(
    lab: NDArray[np.float32], labels: NDArray[np.intp], centres: FloatArray, noise: float
) -> tuple[FloatArray, NDArray[np.intp]]:
    """Return the clusters without those made of squares that only mix their neighbours' colours."""
    shape = labels.shape
    flat = lab.reshape(-1, 3)
    total = labels.size
    while len(centres) > 2:
        counts = np.bincount(labels.ravel(), minlength=len(centres))
        ghost = -1
        for index in np.argsort(counts):
            if counts[index] == 0:
                ghost = int(index)
                break
            if counts[index] > 0.02 * total:
                break
            if _ghostly(lab, labels, centres, int(index), noise):
                ghost = int(index)
                break
        if ghost < 0:
            break
        centres = np.delete(centres, ghost, axis=0)
        labels = _assign(flat, centres)[0].reshape(shape)
    return centres, labels


def _with_rare(
    lab: NDArray[np.float32], labels: NDArray[np.intp], centres: FloatArray, noise: float
) -> tuple[FloatArray, NDArray[np.intp]]:
    """Return the clusters with yarns of a few scattered squares among them.

    What leaks into single squares spreads them wider than others, too thin to be a cluster by itself; but they lie far from
    every yarn found, near each other, and between no two of their neighbours.
    """
    flat = lab.reshape(-1, 3)
    apart = max(_RARE_APART, 6.0 * noise)
    off = np.sqrt(((flat - centres[labels.ravel()]) ** 2).sum(axis=1))
    rest = np.flatnonzero(off > 0.8 * apart)
    if len(rest) > min(_MOST_RARE, _MOST_RARE_SHARE * len(flat)):
        # So many are no few squares of a yarn: the lattice or the light is off.
        return centres, labels
    explained = off <= 0.8 * apart
    least = max(_LEAST_RARE, LEAST_SHARE * len(flat))
    while len(rest) >= least and len(centres) < MAX_COLOURS:
        colours = flat[rest].astype(np.float64)
        near = ((colours[:, None] - colours[None]) ** 2).sum(axis=2) < (0.6 * apart) ** 2
        members = near[int(np.argmax(near.sum(axis=1)))]
        centre = np.median(colours[members], axis=0)
        members = ((colours - centre) ** 2).sum(axis=1) < (0.7 * apart) ** 2
        if members.sum() < least:
            break
        centre = np.median(colours[members], axis=0)
        with_it = np.concatenate([centres, centre[None]])
        tried = labels.copy()
        tried.ravel()[rest[members]] = len(centres)
        away = np.sqrt(((centres - centre) ** 2).sum(axis=1))
        few = least <= members.sum() < _NO_FEW and away.min() > apart
        if few and not _ghostly(lab, tried, with_it, len(centres), noise):
            # The tail of a wide cluster would take many of its squares along.
            taken = int(((_assign(flat, with_it)[0] == len(centres)) & explained).sum())
            if taken <= 0.5 * members.sum() + 2:
                centres, labels = with_it, tried
        rest = rest[~members]
    return centres, _assign(flat, centres)[0].reshape(labels.shape)


def _ghostly(
    lab: NDArray[np.float32], labels: NDArray[np.intp], centres: FloatArray, index: int, noise: float
) -> bool:
    rows, knots = labels.shape
    y, x = np.nonzero(labels == index)
    if len(y) > 3000:
        some = np.random.default_rng(2).choice(len(y), 3000, replace=False)
        y, x = y[some], x[some]
    mixed = np.zeros(len(y), dtype=bool)
    own = lab[y, x]
    reach = max(3.0, 2.5 * noise)
    for dy, dx in ((0, 1), (1, 0), (1, 1), (1, -1)):
        first = labels[np.clip(y - dy, 0, rows - 1), np.clip(x - dx, 0, knots - 1)]
        two = labels[np.clip(y + dy, 0, rows - 1), np.clip(x + dx, 0, knots - 1)]
        a, b = centres[first], centres[two]
        way = b - a
        length = np.maximum((way**2).sum(axis=1), 1e-6)
        share = ((own - a) * way).sum(axis=1) / length
        away = np.linalg.norm(own - a - way * np.clip(share, 0, 1)[:, None], axis=1)
        mixed |= (
            (first != two)
            & (first != index)
            & (two != index)
            & (share > 0.08)
            & (share < 0.92)
            & (away < reach)
        )
    return bool(mixed.mean() > 0.6)


def _spreads(centres: FloatArray, scale: FloatArray) -> float:
    """Return how far the two nearest colours lie apart, in standard deviations of a square's colour."""
    if len(centres) < 2:
        return 100.0
    away = _distances(centres.astype(np.float32), centres, scale)
    away[np.diag_indices(len(away))] = np.inf
    return float(np.sqrt(away.min()))


def _gaps(centres: FloatArray) -> float:
    if len(centres) < 2:
        return 100.0
    away = ciede2000(centres[:, None], centres[None])
    away[np.diag_indices(len(centres))] = np.inf
    return float(away.min())
