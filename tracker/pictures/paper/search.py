"""Searches a photograph, a scan or a drawn picture for the lattice its squares lie on: straightens it, follows likely pitches, weighs them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from tracker.pictures import limits
from tracker.pictures.paper.lattice import (
    EDGE_CAP,
    EDGE_FLOOR,
    SHORTEST_PITCH,
    Axis,
    Lattice,
    Profiles,
    edge_profiles,
    fit_axis,
    fit_sheet,
    likely_pitches,
    line_profiles,
    tiles_of,
)
from tracker.pictures.paper.perspective import apply, flattened, homography, straightening
from tracker.pictures.paper.squares import explained, find_extent
from tracker.pictures.paper.steps import Steps
from tracker.pictures.paper.understood import CLEAR_EDGES, CLEAR_LINES
from tracker.pictures.paper.wishes import Wish

FloatArray = NDArray[np.float64]
_MOST_FLAT_PIXELS = 16_000_000
_MOST_FIRST_PIXELS = 6_000_000
"""Points above which the lattice is sought on the picture at half its size."""
_LEAST_FIRST_PITCH = 6.0
"""Points to a square there below which it is sought on the whole picture after all."""
_MOST_STRAIGHTENINGS = 3
_MOST_FILLED = 400
"""Rows, and columns, of the picture that are looked at to tell whether squares fill it."""
_FILLED, _FILLED_CLEAR, _MOST_FILLED_UNEVEN = 0.28, 1.5, 1.6
"""Share of the edges in step with the picture's own sides from which on squares fill it, how many times that of any other number of
squares it must be, and how much longer a square's one side may be than the other. Such pictures have 0.3 and more, and twice as much at least."""
_MOST_WANDERING = 0.04
"""Squares by which edges in one half of such a picture may lie beside its own sides; they have 0.01 at most, turned sheets 0.05 and more."""
_GLANCE_SIDE = 800
"""Points along the longer side of a picture in which large squares are looked for."""
_LARGE_PITCH = 40.0
"""Points to a square, of the whole picture, from which on squares are large."""
_LARGE_EXPLAINED, _LARGE_LEFT = 0.85, 0.004
"""Share of the colours' variance that must lie between large squares, and how much more may lie within them than within
their halves or thirds, beside twice as much."""
_LEAST_LINES = 0.01
"""Strength of dark lines beside that of edges below which there are none: the ripples of JPEG along large squares, at a
step of their own, are 0.002 at most, thin lines 0.02 at least."""
_AS_GOOD, _SETTLED = 0.98, 0.9
"""Share of another lattice's step from which on one is as good, and below which the two disagree."""
_AGREEING = 0.5
"""What the other signal's step at the same pitch counts beside a signal's own: of the two the clearer one is followed."""
_MOST_SLANT = 0.5
"""Points by which a line may slant within a band, of a picture that is straight enough."""
_MOST_STRETCH = 1.06
"""The largest pitch over the smallest, of a picture that is straight enough: a tile takes in ten squares."""


def level_lattice(
    rgb: NDArray[np.uint8], wish: Wish, corners: FloatArray | None, steps: Steps
) -> tuple[Lattice, float] | None:
    """Return the lattice of a picture that a program drew, or that lies between corners set by hand, and its coherence."""
    flat, to_flat = flattened(rgb, _upright(corners) if corners is not None else np.eye(3), _MOST_FLAT_PIXELS)
    steps.at(0.35)
    signals = _signals(flat, steps, 0.35, 0.6)
    del flat
    best = _best_axes(signals, to_flat, wish, corners)
    if best is None:
        return None
    (_one, across), (_two, along) = best
    return Lattice(across=across, along=along, to_flat=to_flat), _coherence(across, along)


def filling_lattice(rgb: NDArray[np.uint8]) -> tuple[Lattice, float] | None:
    """Return the lattice of a cartoon that lies upright and fills the picture to its edges, and its coherence; None for others.

    Then the picture's own sides are the first and the last line, and edges keep step with a whole number of squares over its whole
    length, all in one wave: that tells where a square has few points, motifs are large, or diagonals would turn the picture.
    """
    best = []
    for lines in (rgb, rgb.transpose(1, 0, 2)):
        some = lines[:: max(1, len(lines) // _MOST_FILLED)].astype(np.int16)
        steps = np.abs(some[:, 1:] - some[:, :-1]).sum(axis=2, dtype=np.int16)
        steps = np.clip(steps - EDGE_FLOOR, 0, EDGE_CAP)
        edges = steps.sum(axis=0, dtype=np.int64).astype(np.float64)
        whole, length = float(edges.sum()), lines.shape[1]
        counts = np.arange(limits.MIN_PAPER_SIDE, int(length / SHORTEST_PITCH) + 1)
        if whole <= 0 or not len(counts):
            return None
        places = np.arange(1, length) / length
        waves = np.array([edges @ np.cos(2 * np.pi * count * places) for count in counts]) / whole
        most = int(np.argmax(waves))
        # At a whole multiple sharp edges keep step as well; any other number that does so speaks against all.
        others = waves[counts % counts[most] != 0]
        if waves[most] < _FILLED or (len(others) and waves[most] < _FILLED_CLEAR * float(others.max())):
            return None
        if not _keeps_phase(steps, float(counts[most]) / length):
            return None
        best.append((length / int(counts[most]), float(waves[most])))
    (wide, one), (high, two) = best
    if max(wide, high) > _MOST_FILLED_UNEVEN * min(wide, high):
        return None
    across, along = (
        Axis(
            pitch=pitch,
            level=level,
            middle=(0.0, 0.0),
            half=1.0,
            degree=0,
            terms=np.zeros(1),
            coherence=share,
        )
        for pitch, share, level in ((wide, one, False), (high, two, True))
    )
    lattice = Lattice(across=across, along=along, to_flat=np.eye(3))
    return lattice, _coherence(across, along)


def _keeps_phase(steps: NDArray[np.int16], frequency: float) -> bool:
    """Return whether edges, (lines, points), lie on the picture's own sides in its one half as in its other.

    On a sheet turned by a quarter of a degree, with a margin of about whole squares, they do so on the whole only: they wander by it.
    """
    turn = np.exp(2j * np.pi * frequency * np.arange(1, steps.shape[1] + 1))
    halves = (complex(half.sum(axis=0, dtype=np.int64) @ turn) for half in np.array_split(steps, 2))
    return all(abs(float(np.angle(half))) <= 2 * np.pi * _MOST_WANDERING for half in halves)


def straight_lattice(
    rgb: NDArray[np.uint8], straight: FloatArray | None, steps: Steps
) -> tuple[Lattice, float] | None:
    """Return the lattice of a photograph or a scan, and its coherence; `straight` straightens the picture where that is known.

    What was followed on a picture straightened by its lines' directions straightens it better: then bands cut no line
    aslant, one pitch fits all the sheet, and the lattice is followed anew.
    """
    to_flat = straight = straightening(rgb) if straight is None else straight
    steps.at(0.25)
    times = 2 if rgb.shape[0] * rgb.shape[1] > _MOST_FIRST_PIXELS else 1
    found: tuple[Lattice, float] | None = None
    for round_ in range(_MOST_STRAIGHTENINGS):
        shares = 0.25 + 0.45 * np.array([round_, round_ + 1]) / _MOST_STRAIGHTENINGS
        followed = _followed(rgb, times, to_flat, steps, (float(shares[0]), float(shares[1])))
        if followed is None:
            break
        fine = times == 1 or followed.least_pitch >= _LEAST_FIRST_PITCH
        if times > 1 and followed.coherence < CLEAR_LINES:
            # Too small to be seen so: begin again on the whole picture.
            to_flat, times = straight, 1
            continue
        if found is None or followed.coherence > _AS_GOOD * found[1] or not fine:
            found = followed.lattice, followed.coherence
        if fine and followed.settled:
            break
        to_flat = np.diag([float(times), float(times), 1.0]) @ followed.straighter.to_flat
        times = times if fine else 1
    return found


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Follow:
    """The lattice of a whole picture, followed on one made smaller: its pitches are in points of the small one."""

    lattice: Lattice
    coherence: float
    straighter: Lattice
    """The lattice whose homography straightens the picture."""
    settled: bool
    """Whether the picture lay straight, and both ways of following it agree."""

    @property
    def least_pitch(self) -> float:
        """Points of the small picture to a square, along its shorter side."""
        return min(self.lattice.across.pitch, self.lattice.along.pitch)


def _followed(
    rgb: NDArray[np.uint8], times: int, to_flat: FloatArray, steps: Steps, shares: tuple[float, float]
) -> _Follow | None:
    """Return the lattice followed on the picture made `times` smaller and straightened."""
    small = rgb if times == 1 else np.asarray(Image.fromarray(rgb).reduce(times))
    shrunk = np.diag([1 / times, 1 / times, 1.0])
    flat, to_flat = flattened(small, shrunk @ to_flat @ np.linalg.inv(shrunk), _MOST_FLAT_PIXELS)
    del small
    begun = shares[0] + 0.3 * (shares[1] - shares[0])
    steps.at(begun)
    signals = _signals(flat, steps, begun, shares[1])
    del flat
    to_flat = to_flat @ shrunk
    best = _best_axes(signals, to_flat, Wish(), None)
    if best is None:
        return None
    (one, across), (two, along) = best
    lattice, plain = Lattice(across=across, along=along, to_flat=to_flat), _coherence(across, along)
    sheet = fit_sheet(
        tiles_of(signals[one].across, across.pitch, False, shift=signals[one].shift),
        tiles_of(signals[two].along, along.pitch, True, shift=signals[two].shift),
        to_flat,
    )
    if sheet is None:
        return _Follow(lattice=lattice, coherence=plain, straighter=lattice, settled=True)
    straighter, warp = sheet
    both = _coherence(straighter.across, straighter.along)
    # On bent paper one of the two may slip by a row at a corner; what slipped keeps less step.
    better = both > _AS_GOOD * plain
    return _Follow(
        lattice=straighter if better else lattice,
        coherence=both if better else plain,
        straighter=straighter,
        settled=warp.slant < _MOST_SLANT
        and warp.stretch < _MOST_STRETCH
        and _SETTLED < both / plain < 1 / _SETTLED,
    )


def glanced_at(
    rgb: NDArray[np.uint8], steps: Steps
) -> tuple[tuple[Lattice, float] | None, FloatArray | None]:
    """Return the lattice of squares so large that it is seen at a glance, with its coherence, and what straightens the picture.

    Each is None where a glance does not tell. Seen from near, a line has two edges, paper has grain, a half or a third of
    a large square passes for the pitch, and dots stand in diagonal lines as clearly as in rows.
    """
    times = -(-max(rgb.shape[:2]) // _GLANCE_SIDE)
    if times < 2:
        return None, None
    small = np.asarray(Image.fromarray(rgb).reduce(times))
    enlarged = np.diag([float(times), float(times), 1.0])
    followed = _followed(
        rgb, times, enlarged @ straightening(small) @ np.linalg.inv(enlarged), steps, (0.15, 0.25)
    )
    if followed is None or followed.coherence < CLEAR_EDGES:
        return None, None
    straight = enlarged @ followed.straighter.to_flat
    if followed.least_pitch * times < _LARGE_PITCH:
        return None, straight
    # Motifs that repeat, and every tenth line, keep such a step as well; but their squares are of several colours.
    told: list[tuple[Lattice, float]] = []
    for parts in (1, 2, 3):
        finer = followed.lattice.coarser(1 / parts)
        extent = find_extent(rgb, finer)
        if extent is not None:
            told.append(
                (finer, explained(rgb, finer, (extent.left, extent.top, extent.right, extent.bottom)))
            )
    most = max((share for _lattice, share in told), default=0.0)
    enough = max(_LARGE_EXPLAINED, 1 - _LARGE_LEFT - 2 * (1 - most))
    large = next(((finer, followed.coherence) for finer, share in told if share >= enough), None)
    return large, straight


def _coherence(across: Axis, along: Axis) -> float:
    return float(np.sqrt(across.coherence * along.coherence))


def _signals(flat: NDArray[np.uint8], steps: Steps, first: float, last: float) -> tuple[Profiles, ...]:
    """Return the straightened picture's edges and, where there are any, its dark lines, summed over bands."""
    middle = first + 0.6 * (last - first)
    edges = edge_profiles(flat, lambda share: steps.at(first + (middle - first) * share))
    lines = line_profiles(
        np.asarray(Image.fromarray(flat).convert("L")),
        lambda share: steps.at(middle + (last - middle) * share),
    )
    clear = lines.across.sum() + lines.along.sum() > _LEAST_LINES * (edges.across.sum() + edges.along.sum())
    return (edges, lines) if clear else (edges,)


def _upright(corners: FloatArray) -> FloatArray:
    """Return the homography that makes the four corners a rectangle of about the same size."""
    wide = (np.linalg.norm(corners[1] - corners[0]) + np.linalg.norm(corners[2] - corners[3])) / 2
    high = (np.linalg.norm(corners[3] - corners[0]) + np.linalg.norm(corners[2] - corners[1])) / 2
    return homography(corners, np.array([[0, 0], [wide, 0], [wide, high], [0, high]]))


def _best_axes(
    signals: tuple[Profiles, ...], to_flat: FloatArray, wish: Wish, corners: FloatArray | None
) -> tuple[tuple[int, Axis], tuple[int, Axis]] | None:
    """Return the best lattice across and along among the likely pitches, each with the number of its signal."""
    fitted: dict[bool, list[tuple[int, Axis]]] = {False: [], True: []}
    told: dict[bool, float] = {}
    if corners is not None:
        box = apply(to_flat, corners)
        if wish.knots is not None:
            told[False] = (
                float(np.linalg.norm(box[1] - box[0]) + np.linalg.norm(box[2] - box[3])) / 2 / wish.knots
            )
        if wish.rows is not None:
            told[True] = (
                float(np.linalg.norm(box[3] - box[0]) + np.linalg.norm(box[2] - box[1])) / 2 / wish.rows
            )
    for level in (False, True):
        for index, signal in enumerate(signals):
            profile = signal.along if level else signal.across
            pitches = (
                [told[level]] if level in told else [pitch for pitch, _strength in likely_pitches(profile)]
            )
            fitted[level] += [
                (index, fit_axis(tiles_of(profile, pitch, level, shift=signal.shift))) for pitch in pitches
            ]
    # Squares are about as wide as high: the two axes are chosen together.
    best: tuple[float, tuple[int, Axis], tuple[int, Axis]] | None = None
    for one in fitted[False]:
        for two in fitted[True]:
            odd = np.log(one[1].pitch / two[1].pitch) / 0.35
            worth = _worth(*one, fitted[False]) + _worth(*two, fitted[True]) - 0.5 * odd**2
            if best is None or worth > best[0]:
                best = (float(worth), one, two)
    return best[1:] if best is not None else None


def _worth(signal: int, axis: Axis, rivals: list[tuple[int, Axis]]) -> float:
    """Return what a lattice along one axis is worth beside the others found along it.

    At a half or a third of the true pitch edges keep step just as well, and lines may do so even better (marks in the
    squares' middles do that); at a multiple of the true pitch they do not. So a multiple that is fairly in step is preferred.
    Where lines are drawn, they and the edges keep step at one pitch; the grain of a table has no such lines.
    """
    support = {
        id(rival): rival.coherence + _AGREEING * _agreeing(number, rival, rivals) for number, rival in rivals
    }
    top_signal, top = max(rivals, key=lambda rival: support[id(rival[1])])
    times = axis.pitch / top.pitch
    multiple = round(times) in (2, 3) and abs(times - round(times)) < 0.05
    enough = 0.75 if signal == top_signal else 0.3
    if multiple and axis.coherence > max(0.1, enough * top.coherence):
        return float(np.log(support[id(top)] + 1e-6)) + 0.1
    return float(np.log(support[id(axis)] + 1e-6))


def _agreeing(signal: int, axis: Axis, rivals: list[tuple[int, Axis]]) -> float:
    """Return how well the other signal keeps step at the same pitch."""
    return max(
        (
            rival.coherence
            for number, rival in rivals
            if number != signal and abs(np.log(rival.pitch / axis.pitch)) < 0.04
        ),
        default=0.0,
    )
