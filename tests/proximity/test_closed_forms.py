"""The kernel on every pair whose gap can be checked by hand."""

from __future__ import annotations

import pytest

from packcheck.proximity import Session
from tests.adapters import to_placed
from tests.oracles.closed_forms import CASES, ClosedForm
from tests.oracles.shapes import Hull
from tests.oracles.truth import is_convex
from tests.proximity.judging import EXACT, ROUNDING

STATED = [case for case in CASES if not isinstance(case.a.pieces[0].shape, Hull)]


@pytest.mark.parametrize("case", STATED, ids=lambda case: case.name)
def test_interval_holds_the_closed_form(case: ClosedForm) -> None:
    """Oracle: closed form, derived in `tests/oracles/closed_forms.py`."""
    found = Session().gap(to_placed(case.a, "a"), to_placed(case.b, "b"))
    assert found.low is not None and found.high is not None
    assert found.low - ROUNDING <= case.expected <= found.high + ROUNDING
    if case.expected > 0 or (is_convex(case.a) and is_convex(case.b)):
        assert found.value == pytest.approx(case.expected, abs=EXACT)
