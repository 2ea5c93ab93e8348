"""Propagation of uncertainty against the examples of the guide."""

from __future__ import annotations

import numpy as np
import pytest

from packcheck.arrays import Floats
from packcheck.survey.propagate import linear, simulated

# GUM H.1, in nm and degrees: standard, difference, coefficient, its difference, temperature, its difference
LENGTHS = np.array([50.000623e6, 215.0, 11.5e-6, 0.0, -0.1, 0.0])
H1 = {
    "standard": 25.0,
    "difference": float(np.sqrt(5.8**2 + 3.9**2 + 6.7**2)),
    "alpha": 2e-6 / np.sqrt(3),
    "delta_alpha": 1e-6 / np.sqrt(3),
    "theta": float(np.hypot(0.2, 0.5 / np.sqrt(2))),
    "delta_theta": 0.05 / np.sqrt(3),
}


def gauge(inputs: Floats) -> Floats:
    """GUM H.1, eq. H.3: l = l_s + d - l_s (delta_alpha theta + alpha_s delta_theta)."""
    standard, difference, alpha, delta_alpha, theta, delta_theta = inputs
    return np.array([standard + difference - standard * (delta_alpha * theta + alpha * delta_theta)])


def test_end_gauge_first_order() -> None:
    """Oracle: JCGM 100, H.1: l = 50.000838 mm, combined standard uncertainty 32 nm (31.7 unrounded)."""
    found = linear(gauge, LENGTHS, np.diag(np.square(list(H1.values()))))
    assert found.value[0] * 1e-6 == pytest.approx(50.000838, abs=5e-7)
    assert found.standard[0] == pytest.approx(31.7, abs=0.1)


def test_end_gauge_with_the_second_order_terms() -> None:
    """Oracle: JCGM 100, H.1.7: 34 nm with second-order terms, which drawing at random holds."""
    drawn = simulated(gauge, LENGTHS, np.diag(np.square(list(H1.values()))), seed=5, draws=100_000)
    assert drawn.std() == pytest.approx(33.87, abs=0.35)


VOLT = np.array([5.007, 4.994, 5.005, 4.990, 4.999])
AMPERE = np.array([19.663, 19.639, 19.640, 19.685, 19.678]) * 1e-3
PHASE = np.array([1.0456, 1.0438, 1.0468, 1.0428, 1.0433])


def impedance(inputs: Floats) -> Floats:
    volt, ampere, phase = inputs
    return np.array([volt / ampere * np.cos(phase), volt / ampere * np.sin(phase), volt / ampere])


def test_resistance_and_reactance_keep_their_correlations() -> None:
    """Oracle: JCGM 100, H.2, table H.2 for the five sets of readings and table H.4 for the answers: R 127.732,
    X 219.847, Z 254.260 ohm, u 0.071, 0.295, 0.236, r -0.588, -0.485, 0.993. The readings give the published means,
    uncertainties and correlations of V, I and phi."""
    read = np.array([VOLT, AMPERE, PHASE])
    covariance = np.cov(read) / read.shape[1]
    np.testing.assert_allclose(np.sqrt(np.diag(covariance)), (0.0032, 0.0095e-3, 0.00075), rtol=5e-3)
    found = linear(impedance, read.mean(axis=1), covariance)
    np.testing.assert_allclose(found.value, (127.732, 219.847, 254.260), atol=5e-4)
    np.testing.assert_allclose(found.standard, (0.071, 0.295, 0.236), atol=6e-4)  # 0.2956 is printed as 0.295
    related = found.covariance / np.outer(found.standard, found.standard)
    np.testing.assert_allclose((related[0, 1], related[0, 2], related[1, 2]), (-0.588, -0.485, 0.993), atol=6e-4)


def test_drawing_agrees_with_derivatives_where_all_is_nearly_straight() -> None:
    """Oracle: an independent method, first derivatives; the impedance hardly bends over its uncertainty."""
    read = np.array([VOLT, AMPERE, PHASE])
    covariance = np.cov(read) / read.shape[1]
    drawn = simulated(impedance, read.mean(axis=1), covariance, seed=2, draws=20_000)
    np.testing.assert_allclose(
        drawn.std(axis=0), linear(impedance, read.mean(axis=1), covariance).standard, rtol=0.03
    )


def test_the_same_seed_draws_the_same() -> None:
    first = simulated(impedance, np.array([5.0, 0.02, 1.0]), np.eye(3) * 1e-6, seed=9, draws=10)
    again = simulated(impedance, np.array([5.0, 0.02, 1.0]), np.eye(3) * 1e-6, seed=9, draws=10)
    np.testing.assert_array_equal(first, again)
