"""The least-squares search against certified and independent answers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest

from packcheck.arrays import Floats
from packcheck.survey.refine import refine


def numbers(text: str) -> Floats:
    return np.array([float(word) for word in text.split()])


MISRA_Y = np.array(
    [10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78]
)
MISRA_X = np.array(
    [77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0]
)
THURBER_Y = numbers(
    """80.574 84.248 87.264 87.195 89.076 89.608 89.868 90.101 92.405 95.854 100.696 101.060 401.672
    390.724 567.534 635.316 733.054 759.087 894.206 990.785 1090.109 1080.914 1122.643 1178.351
    1260.531 1273.514 1288.339 1327.543 1353.863 1414.509 1425.208 1421.384 1442.962 1464.350
    1468.705 1447.894 1457.628"""
)
THURBER_X = numbers(
    """-3.067 -2.981 -2.921 -2.912 -2.840 -2.797 -2.702 -2.699 -2.633 -2.481 -2.363 -2.322 -1.501
    -1.460 -1.274 -1.212 -1.100 -1.046 -0.915 -0.714 -0.566 -0.545 -0.400 -0.309 -0.109 -0.103
    0.010 0.119 0.377 0.790 0.963 1.006 1.115 1.572 1.841 2.047 2.200"""
)
MGH09_Y = np.array([0.1957, 0.1947, 0.1735, 0.16, 0.0844, 0.0627, 0.0456, 0.0342, 0.0323, 0.0235, 0.0246])
MGH09_X = np.array([4, 2, 1, 0.5, 0.25, 0.167, 0.125, 0.1, 0.0833, 0.0714, 0.0625])


def misra1a(b: Floats, x: Floats) -> Floats:
    return np.asarray(b[0] * (1 - np.exp(-b[1] * x)))


def misra1b(b: Floats, x: Floats) -> Floats:
    return np.asarray(b[0] * (1 - (1 + b[1] * x / 2) ** -2))


def thurber(b: Floats, x: Floats) -> Floats:
    top = b[0] + b[1] * x + b[2] * x**2 + b[3] * x**3
    return np.asarray(top / (1 + b[4] * x + b[5] * x**2 + b[6] * x**3))


def mgh09(b: Floats, x: Floats) -> Floats:
    return np.asarray(b[0] * (x**2 + x * b[1]) / (x**2 + x * b[2] + b[3]))


@dataclass(frozen=True)
class Certified:
    """A data set: its model, its two starts, the certified parameters, their deviations and the sum of squares."""

    name: str
    model: Callable[[Floats, Floats], Floats]
    x: Floats
    y: Floats
    starts: tuple[tuple[float, ...], ...]
    values: tuple[float, ...]
    deviations: tuple[float, ...] | None
    squares: float | None


SETS = [
    Certified(
        "Misra1a",
        misra1a,
        MISRA_X,
        MISRA_Y,
        ((500, 1e-4), (250, 5e-4)),
        (2.3894212918e2, 5.5015643181e-4),
        (2.7070075241, 7.2668688436e-6),
        1.2455138894e-1,
    ),
    Certified(
        "Misra1b",
        misra1b,
        MISRA_X,
        MISRA_Y,
        ((500, 1e-4), (300, 2e-4)),
        (3.3799746163e2, 3.9039091287e-4),
        None,
        None,
    ),
    Certified(
        "Thurber",
        thurber,
        THURBER_X,
        THURBER_Y,
        ((1000, 1000, 400, 40, 0.7, 0.3, 0.03), (1300, 1500, 500, 75, 1, 0.4, 0.05)),
        tuple(
            numbers(
                "1.2881396800e3 1.4910792535e3 5.8323836877e2 7.5416644291e1"
                " 9.6629502864e-1 3.9797285797e-1 4.9727297349e-2"
            )
        ),
        tuple(
            numbers(
                "4.6647963344 3.9571156086e1 2.8698696102e1 5.5675370270"
                " 3.1333340687e-2 1.4984928198e-2 6.5842344623e-3"
            )
        ),
        5.6427082397e3,
    ),
    Certified(
        "MGH09",
        mgh09,
        MGH09_X,
        MGH09_Y,
        ((25, 39, 41.5, 39), (0.25, 0.39, 0.415, 0.39)),
        (1.9280693458e-1, 1.9128232873e-1, 1.2305650693e-1, 1.3606233068e-1),
        (1.1435312227e-2, 1.9633220911e-1, 8.0842031232e-2, 9.0025542308e-2),
        3.0750560385e-4,
    ),
]


def evaluated(certified: Certified) -> Callable[[Floats], tuple[Floats, Floats]]:
    def residuals(b: Floats) -> Floats:
        return certified.model(b, certified.x) - certified.y

    def evaluate(b: Floats) -> tuple[Floats, Floats]:
        steps = 1e-6 * np.maximum(np.abs(b), 1e-6)
        columns = [
            (residuals(b + step * unit) - residuals(b - step * unit)) / (2 * step)
            for step, unit in zip(steps, np.eye(len(b)), strict=True)
        ]
        return residuals(b), np.array(columns).T

    return evaluate


@pytest.mark.parametrize("start", [0, 1], ids=["far start", "near start"])
@pytest.mark.parametrize("certified", SETS, ids=lambda one: one.name)
def test_certified_parameters_are_found(certified: Certified, start: int) -> None:
    """Oracle: NIST StRD, nonlinear regression, certified values to 11 figures, from both published starts."""
    begin = np.array(certified.starts[start], dtype=float)
    found = refine(evaluated(certified), begin, lambda b, step: b + step, most=2000)
    assert found.converged
    np.testing.assert_allclose(found.state, certified.values, rtol=2e-6)
    if certified.squares is not None:
        assert found.cost == pytest.approx(certified.squares, rel=1e-8)


@pytest.mark.parametrize("certified", [one for one in SETS if one.deviations], ids=lambda one: one.name)
def test_certified_deviations_follow_from_the_derivatives(certified: Certified) -> None:
    """Oracle: NIST StRD, certified standard deviations of the parameters."""
    assert certified.deviations is not None
    found = refine(evaluated(certified), np.array(certified.starts[1], dtype=float), lambda b, step: b + step)
    freedom = len(certified.y) - len(certified.values)
    covariance = np.linalg.inv(found.jacobian.T @ found.jacobian) * found.cost / freedom
    np.testing.assert_allclose(np.sqrt(np.diag(covariance)), certified.deviations, rtol=1e-5)


def test_too_few_steps_are_told() -> None:
    """Oracle: the definition. Three steps from the far start of MGH09 cannot be at the bottom."""
    found = refine(evaluated(SETS[3]), np.array(SETS[3].starts[0]), lambda b, step: b + step, most=3)
    assert not found.converged


def test_agrees_with_an_independent_solver() -> None:
    """Oracle: scipy.optimize.least_squares (MINPACK), for 20 random networks of four tapes to one point."""
    from scipy.optimize import least_squares

    rng = np.random.default_rng(3)
    for _ in range(20):
        anchors = rng.uniform(-400, 400, (4, 3))
        ranges = np.linalg.norm(anchors - rng.uniform(-400, 400, 3), axis=1) + rng.normal(size=4)

        def evaluate(p: Floats, anchors: Floats = anchors, ranges: Floats = ranges) -> tuple[Floats, Floats]:
            apart = p - anchors
            lengths = np.linalg.norm(apart, axis=1)
            return lengths - ranges, apart / lengths[:, None]

        start = rng.uniform(-400, 400, 3)
        ours = refine(evaluate, start, lambda p, step: p + step)
        theirs = least_squares(
            lambda p, evaluate=evaluate: evaluate(p)[0], ours.state + 0.1, method="lm", xtol=1e-14, ftol=1e-14
        )
        assert ours.converged
        np.testing.assert_allclose(ours.state, theirs.x, atol=1e-4)
