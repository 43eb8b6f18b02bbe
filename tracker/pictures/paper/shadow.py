"""Finds a hard shadow over a sheet: the same yarns are seen lit on one side of its edge and darker on the other.

References
----------
G. D. Finlayson, S. D. Hordley, C. Lu, M. S. Drew, IEEE Trans. PAMI 28(1), 2006, doi 10.1109/TPAMI.2006.18: a shadow changes a
colour's level, hardly its chroma.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tracker.domain.colour import lab_of_rgb

FloatArray = NDArray[np.float64]

LEAST_STEP, MOST_STEP = 0.11, 0.5
"""Natural logarithm by which a shadow darkens the picture's channels: a fifth to two thirds of the real light taken."""
_ALIKE = 4.0
"""Distance in CIELAB up to which a colour, darkened, is another one."""
_STEP_ALIKE = 0.03
"""Logarithm by which one shadow's steps may differ from yarn to yarn."""
_LEAST_SQUARES = 25
"""Squares of a colour that tell of a shadow, at least."""
_LEAST_PAIRS = 2
"""Yarns that must be seen lit as well as shaded: a light blue sky over a dark blue sea is no shadow."""
_LEAST_PAIRED = 0.55
"""Share of all squares whose colours must be seen lit as well as shaded."""
_LEAST_AGREEING = 0.95
"""Share of these that must lie on their side of the shadow's edge."""
_LEAST_SIDE = 0.04
"""Share of these on the smaller side."""
_SIDE_BY_SIDE, _LEAST_BESIDE = 0.85, 50
"""Share of the neighbours of different yarns, and their number, that are both lit or both shaded where a shadow's edge was not found."""
_TILE = 4
"""Squares along the side of a tile whose votes are counted together."""
_TURNS = 48
"""Directions of the edge that are tried."""
_EDGE_REACH = 3.0
"""Squares on both sides of the edge in which each square is asked itself whether it is lit."""
_SHARES = np.array([0.0, 0.25, 0.5, 0.75, 1.0], dtype=np.float32)
"""Parts of the shadow a square on the edge may lie in."""


def hard_shadow(lit: NDArray[np.float32], labels: NDArray[np.intp]) -> NDArray[np.float32] | None:
    """Return the logarithm of the light that a shadow takes from each square, 0 outside; None where there is none.

    Parameters
    ----------
    lit
        (rows, knots, 3) colours with gentle light evened out, 0 to 255.
    labels
        (rows, knots) clusters, each yarn's lit and shaded squares apart.
    """
    telling, colours, counts = _telling(lit, labels)
    if len(telling) < 2:
        return None
    best: tuple[float, NDArray[np.float32]] | None = None
    for tried in _likely_steps(colours, _steps(colours), counts):
        pairs = _pairs(colours, tried)
        field = _side(labels, telling, pairs, tried, lit)
        if field is not None and (best is None or field[0] > best[0]):
            best = field
    return best[1] if best is not None else None


def may_be_shaded(lit: NDArray[np.float32], labels: NDArray[np.intp]) -> bool:
    """Return whether half of the yarns may be others in a shadow whose edge was not found: bent, or of more than one shadow.

    Unlike the light and the dark tones of a design, the lit ones then lie beside each other, and so do the shaded ones.

    Parameters
    ----------
    lit
        As `hard_shadow` takes it, any shadow that was found taken off.
    labels
        (rows, knots) yarns.
    """
    telling, colours, counts = _telling(lit, labels)
    if len(telling) < 2 * _LEAST_PAIRS:
        return False
    for tried in _likely_steps(colours, _steps(colours), counts):
        pairs = _pairs(colours, tried)
        both = {p[0] for p in pairs} & {p[1] for p in pairs}
        pairs = [p for p in pairs if not both & set(p)]
        votes_of, pair_of = np.zeros(int(labels.max()) + 1, np.int8), np.full(int(labels.max()) + 1, -1)
        for place, (first, second) in enumerate(pairs):
            votes_of[telling[first]], votes_of[telling[second]] = 1, -1
            pair_of[telling[[first, second]]] = place
        votes, pair = votes_of[labels], pair_of[labels]
        if len(pairs) < _LEAST_PAIRS or np.abs(votes).mean() < _LEAST_PAIRED:
            continue
        alike = different = 0
        for one, two in ((np.s_[1:], np.s_[:-1]), (np.s_[:, 1:], np.s_[:, :-1])):
            told = (votes[one] != 0) & (votes[two] != 0) & (pair[one] != pair[two])
            alike += int((told & (votes[one] == votes[two])).sum())
            different += int((told & (votes[one] != votes[two])).sum())
        if alike >= _LEAST_BESIDE and alike >= _SIDE_BY_SIDE * (alike + different):
            return True
    return False


def _telling(
    lit: NDArray[np.float32], labels: NDArray[np.intp]
) -> tuple[NDArray[np.intp], FloatArray, NDArray[np.intp]]:
    """Return the clusters that tell of a shadow, their colours and their numbers of squares."""
    counts = np.bincount(labels.ravel())
    telling = np.flatnonzero(counts >= max(_LEAST_SQUARES, 0.002 * labels.size))
    colours = [np.median(lit[labels == index], axis=0) for index in telling]
    return telling, np.array(colours, dtype=np.float64).reshape(-1, 3), counts[telling]


def _steps(colours: FloatArray) -> FloatArray:
    """Return by how much each colour is brighter than each other one: the brighter a channel the surer its step."""
    step = np.log(colours[:, None] + 1.0) - np.log(colours[None] + 1.0)
    weight = np.minimum(colours[:, None], colours[None]) + 1.0
    return np.asarray((step * weight).sum(axis=2) / weight.sum(axis=2))


def _darkened(colours: FloatArray, step: float) -> FloatArray:
    return np.asarray(lab_of_rgb(np.clip(colours * np.exp(-step), 0, 255)), dtype=np.float64)


def _pairs(colours: FloatArray, step: float) -> list[tuple[int, int]]:
    """Return (lit, shaded) of the colours that are each other's nearest under a step."""
    away = np.linalg.norm(_darkened(colours, step)[:, None] - np.asarray(lab_of_rgb(colours))[None], axis=2)
    away[np.diag_indices(len(away))] = np.inf
    out = []
    for first in range(len(colours)):
        second = int(np.argmin(away[first]))
        if away[first, second] < _ALIKE and int(np.argmin(away[:, second])) == first:
            out.append((first, second))
    return out


def _likely_steps(colours: FloatArray, steps: FloatArray, counts: NDArray[np.intp]) -> list[float]:
    """Return steps that make lit colours of many squares shaded ones, the likeliest first."""
    found: list[tuple[float, float]] = []
    for first, second in zip(*np.nonzero((steps > LEAST_STEP) & (steps < MOST_STEP)), strict=True):
        pairs = _pairs(colours, float(steps[first, second]))
        if (first, second) not in pairs:
            continue
        near = [p for p in pairs if abs(steps[p] - steps[first, second]) < 2 * _STEP_ALIKE]
        sizes = np.array([min(counts[p[0]], counts[p[1]]) for p in near], dtype=np.float64)
        mean = float((sizes * [steps[p] for p in near]).sum() / sizes.sum())
        found.append((float(sum(counts[index] for p in near for index in p)), mean))
    out: list[float] = []
    for _size, step in sorted(found, reverse=True):
        if all(abs(step - other) > _STEP_ALIKE / 2 for other in out):
            out.append(step)
    return out[:4]


def _side(
    labels: NDArray[np.intp],
    telling: NDArray[np.intp],
    pairs: list[tuple[int, int]],
    step: float,
    lit: NDArray[np.float32],
) -> tuple[float, NDArray[np.float32]] | None:
    """Return how well a straight edge parts lit from shaded squares, and the light taken; None when none does."""
    rows, knots = labels.shape
    for _round in range(3):
        # A colour that is one yarn in the shadow and another in the light tells nothing.
        both = {p[0] for p in pairs} & {p[1] for p in pairs}
        votes_of = np.zeros(int(labels.max()) + 1)
        for first, second in pairs:
            votes_of[telling[first]] += first not in both
            votes_of[telling[second]] -= second not in both
        votes = votes_of[labels]
        if len(pairs) < _LEAST_PAIRS or np.abs(votes).mean() < _LEAST_PAIRED:
            return None
        edge = _edge(votes)
        y, x = np.mgrid[0:rows, 0:knots]
        side = np.sign(x * np.cos(edge[0]) + y * np.sin(edge[0]) - edge[1])
        agreeing = [
            float(((side * votes)[labels == telling[index]] >= 0).mean()) for pair in pairs for index in pair
        ]
        good = [p for place, p in enumerate(pairs) if min(agreeing[2 * place : 2 * place + 2]) > 0.8]
        if len(good) == len(pairs):
            break
        pairs = good
    counted = np.abs(votes).sum()
    agree = float((side * votes > 0).sum() / counted)
    small = min(float((side > 0)[votes != 0].mean()), float((side < 0)[votes != 0].mean()))
    if agree < _LEAST_AGREEING or small < _LEAST_SIDE:
        return None
    away = x * np.cos(edge[0]) + y * np.sin(edge[0]) - edge[1]
    shaded = (away < 0).astype(np.float32)
    return agree, _with_edge(shaded, away, step, lit, labels, telling, pairs)


def _edge(votes: FloatArray) -> tuple[float, float]:
    """Return the (direction, offset in squares) of the straight edge whose far side is lit."""
    rows, knots = votes.shape
    tall, wide = -(-rows // _TILE), -(-knots // _TILE)
    padded = np.zeros((tall * _TILE, wide * _TILE))
    padded[:rows, :knots] = votes
    sums = padded.reshape(tall, _TILE, wide, _TILE).sum(axis=(1, 3)).ravel()
    y, x = (np.mgrid[0:tall, 0:wide] + 0.5) * _TILE - 0.5
    best = (-np.inf, 0.0, 0.0)
    for turn in np.arange(_TURNS) * 2 * np.pi / _TURNS:
        along = (x * np.cos(turn) + y * np.sin(turn)).ravel()
        order = np.argsort(along)
        gained = np.cumsum(sums[order])
        place = int(np.argmin(gained))
        worth = float(gained[-1] - 2 * gained[place])
        if worth > best[0]:
            best = (worth, float(turn), float(along[order[place]]) + _TILE / 2)
    # Now by single squares, round the best.
    yy, xx = np.nonzero(votes)
    value = votes[yy, xx]
    out = best
    for turn in best[1] + np.linspace(-1, 1, 17) * 2 * np.pi / _TURNS:
        along = xx * np.cos(turn) + yy * np.sin(turn)
        order = np.argsort(along)
        gained = np.cumsum(value[order])
        place = int(np.argmin(gained))
        worth = float(gained[-1] - 2 * gained[place])
        if worth > out[0]:
            out = (worth, float(turn), float(along[order[place]]) + 0.5)
    return out[1], out[2]


def _with_edge(
    shaded: NDArray[np.float32],
    away: FloatArray,
    step: float,
    lit: NDArray[np.float32],
    labels: NDArray[np.intp],
    telling: NDArray[np.intp],
    pairs: list[tuple[int, int]],
) -> NDArray[np.float32]:
    """Return the light taken; squares near the edge lie in that part of the shadow which gives them a lit yarn's colour."""
    y, x = np.nonzero(np.abs(away) < _EDGE_REACH)
    # What is one yarn in the light and another in the shadow is a lit one as well: left out, its squares at the edge passed for others'.
    lit_alone = {telling[index] for pair in pairs for index in pair[:1]}
    dark = {telling[pair[1]] for pair in pairs} - lit_alone
    middles = []
    for index in (label for label in telling if label not in dark):
        mine = labels == index
        outside = mine & (shaded == 0)
        if index not in lit_alone and outside.sum() <= 0.5 * mine.sum():
            # A yarn seen only in the shadow counts with the light it lacks.
            middles.append(np.median(lit[mine], axis=0) * np.exp(step))
        else:
            middles.append(np.median(lit[outside if outside.any() else mine], axis=0))
    yarns = np.asarray(lab_of_rgb(np.clip(np.array(middles), 0, 255)))
    own = lit[y, x]
    off = np.stack(
        [
            np.linalg.norm(
                np.asarray(lab_of_rgb(np.clip(own * np.exp(step * share), 0, 255)))[:, None] - yarns, axis=2
            ).min(axis=1)
            # Where several fit, the side the square lies on tells.
            + 2.0 * np.abs(share - np.clip(0.5 - away[y, x], 0, 1))
            for share in _SHARES
        ]
    )
    share = shaded.copy()
    share[y, x] = _SHARES[np.argmin(off, axis=0)]
    return np.asarray(-step * share, dtype=np.float32)
