"""The lattice's own sums: its polynomial by the textbook's powers, and that crossing points are where the lattice says."""

from __future__ import annotations

import numpy as np
import pytest

from tracker.pictures.paper.lattice import Axis, Lattice


def bent_axis(level: bool, seed: int) -> Axis:
    rng = np.random.default_rng(seed)
    return Axis(
        pitch=9.0, level=level, middle=(300.0, 400.0), half=400.0, degree=4, terms=rng.normal(0, 0.4, 15)
    )


def test_bending_is_the_polynomial_of_its_terms() -> None:
    axis = bent_axis(level=False, seed=1)
    x, y = np.meshgrid(np.linspace(0, 600, 7), np.linspace(0, 800, 9))
    u, v = (x - 300) / 400, (y - 400) / 400
    powers = [(total - j, j) for total in range(5) for j in range(total + 1)]
    plain = sum(term * u**i * v**j for term, (i, j) in zip(axis.terms, powers, strict=True))
    assert axis.bending(x, y) == pytest.approx(plain, abs=1e-9)


def test_crossing_points_lie_where_the_lattice_counts_them() -> None:
    lattice = Lattice(across=bent_axis(False, 2), along=bent_axis(True, 3), to_flat=np.eye(3))
    a, b = np.arange(8.0, 50.0, 3.0), np.arange(5.0, 70.0, 4.0)
    x, y = lattice.points_of(a, b)
    places = lattice.squares_of(np.stack([x, y], axis=-1))
    assert places[..., 0] == pytest.approx(np.broadcast_to(a, places.shape[:2]), abs=1e-5)
    assert places[..., 1] == pytest.approx(np.broadcast_to(b[:, None], places.shape[:2]), abs=1e-5)
