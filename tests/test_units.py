"""Quantities: literals, dimensions and arithmetic."""

from __future__ import annotations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from packcheck.scene.text.expressions import evaluate
from packcheck.units import (
    ANGLE,
    LENGTH,
    PLAIN,
    RATIO,
    Dimension,
    Quantity,
    QuantityError,
    literal,
    to_degrees,
    to_mm,
    to_number,
)

TEN_MM = Quantity(10.0, LENGTH)
TWO = Quantity(2.0)
RIGHT_ANGLE = Quantity(90.0, ANGLE)

finite = st.floats(-1e6, 1e6, allow_nan=False)
lengths = st.builds(Quantity, finite, st.just(LENGTH))
quantities = st.builds(Quantity, finite, st.sampled_from([PLAIN, RATIO, LENGTH, ANGLE]))


def read(text: str) -> Quantity:
    found = literal(text)
    assert found is not None
    assert found[1] == len(text)
    return found[0]


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("1 in", 25.4),
        ("3/8 in", 9.525),
        ("14 3/8 in", 365.125),
        ("1 1/2 in", 38.1),
        ("1/16in", 1.5875),
        ("0.1 in", 2.54),
        (".5 in", 12.7),
        ("5 / 8 in", 15.875),
        ("12 mm", 12.0),
        ("12mm", 12.0),
        ("1.5 cm", 15.0),
        ("1e3 mm", 1000.0),
        ("0.42 m", 420.0),
        ("2.5E-1 m", 250.0),
        ("3 1/2 mm", 3.5),
    ],
)
def test_length_literal_is_exact_in_mm(text: str, mm: float) -> None:
    """Oracle: 1 in = 25.4 mm exactly (international yard and pound agreement, 1959); the rest by hand."""
    assert read(text) == Quantity(mm, LENGTH)


@pytest.mark.parametrize(
    ("text", "value", "dimension"),
    [("1 1/2", 1.5, PLAIN), ("7", 7.0, PLAIN), ("2.5 deg", 2.5, ANGLE), ("22 1/2 deg", 22.5, ANGLE)],
)
def test_literal_without_length_unit_keeps_its_kind(text: str, value: float, dimension: Dimension) -> None:
    """Oracle: by hand."""
    assert read(text) == Quantity(value, dimension)


@pytest.mark.parametrize("text", ["mm", "", "rise", "-3 mm", "(3)"])
def test_no_literal_where_no_digit_stands(text: str) -> None:
    assert literal(text) is None


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("5 lbs", "unknown unit 'lbs'"),
        ("5 MM", "unknown unit 'MM'"),
        ("1 3/2 in", "3/2 after a whole number"),
        ("3/0 in", "divides by zero"),
        ("1e400 mm", "too large a number"),
        ("1e307 m", "too large a number"),
        ("0x1F", "unknown unit 'x1F'"),
        ("1_000 mm", "'1_000', which is not a number"),
        ("1.2.3", "'1.2.3', which is not a number"),
    ],
)
def test_literal_that_cannot_be_meant_is_refused(text: str, what: str) -> None:
    with pytest.raises(QuantityError, match=what):
        literal(text)


@pytest.mark.parametrize("mark", ['"', "''", "″"])
@pytest.mark.parametrize(("figures", "mm"), [("3", 76.2), ("5 1/2", 139.7), ("3/8", 9.525)])
def test_inch_marks_are_inches(figures: str, mm: float, mark: str) -> None:
    """Oracle: by hand, 25.4 mm each."""
    assert read(f"{figures}{mark}") == Quantity(mm, LENGTH)


@pytest.mark.parametrize("units", ["mm", "cm", "m"])
@pytest.mark.parametrize("text", ["2 7/8", "-1 1/2", "2 * 2 7/8", "2 7/8 + 1", "max(3, 3 1/2)", "7/8", " 3 / 16 "])
def test_a_fraction_without_a_unit_is_a_length_in_inches_only(text: str, units: str) -> None:
    value = evaluate(text, {})
    assert to_mm(value, "in") == pytest.approx(value.value * 25.4)
    with pytest.raises(QuantityError, match="is a fraction without a unit in a file with units") as caught:
        to_mm(value, units)
    assert "in? write the unit" in caught.value.mend


@pytest.mark.parametrize("text", ["1 1/2 * 20 mm", "1/2 * (3 + 4)", "40 / 16 * 2", "2.875", "40 / 5"])
def test_arithmetic_that_holds_a_fraction_is_no_slip(text: str) -> None:
    value = evaluate(text, {})
    assert to_mm(value, "mm") == value.value


@pytest.mark.parametrize(
    ("text", "mend"),
    [
        ("5 MM", "write 'mm'"),
        ("5 inches", "write 'in'"),
        ("5°", "write 'deg'"),
        ("2 milimetres", "write 'mm'"),
        ("3 inchs", "write 'in'"),
        ("3 ins", "write 'in'"),
        ("4 centimters", "write 'cm'"),
        ("2 meters", "write 'm'"),
        ("9 degres", "write 'deg'"),
        ("1 foot", "a foot is 12 in"),
        ("5 lbs", ""),
        ("5 mine", ""),
    ],
)
def test_unit_written_another_way_names_ours(text: str, mend: str) -> None:
    with pytest.raises(QuantityError) as caught:
        literal(text)
    assert caught.value.mend == mend


def test_bare_fraction_is_left_to_division() -> None:
    """`a / 3/8` must stay (a / 3) / 8, so `3/8` without a unit is no literal of its own."""
    assert literal("3/8") == (Quantity(3.0), 1)


@pytest.mark.parametrize(("units", "mm"), [("mm", 3.0), ("cm", 30.0), ("m", 3000.0), ("in", 76.2)])
def test_plain_number_takes_the_units_of_its_file(units: str, mm: float) -> None:
    """Oracle: by hand; 3 x 25.4 = 76.2."""
    assert to_mm(Quantity(3.0), units) == mm


def test_length_does_not_depend_on_the_units_of_its_file() -> None:
    assert to_mm(TEN_MM, "in") == 10.0


@pytest.mark.parametrize(
    ("quantity", "what"),
    [
        (TEN_MM * TEN_MM, "an area, not a length"),
        (TEN_MM / TEN_MM, "a ratio, not a length"),
        (RIGHT_ANGLE, "an angle, not a length"),
        (TWO / TEN_MM, r"mm\^-1, not a length"),
        (TEN_MM * TEN_MM * TEN_MM, r"mm\^3, not a length"),
        (Quantity(1.1e6, LENGTH), "within 1 km"),
    ],
)
def test_what_is_no_length_is_refused_as_one(quantity: Quantity, what: str) -> None:
    with pytest.raises(QuantityError, match=what):
        to_mm(quantity)


@pytest.mark.parametrize(
    ("quantity", "what"),
    [
        (TEN_MM, "a length, not an angle"),
        (TEN_MM / TEN_MM, "a ratio, not an angle"),
        (Quantity(361.0, ANGLE), "one whole turn"),
        (Quantity(-361.0), "one whole turn"),
    ],
)
def test_what_is_no_angle_is_refused_as_one(quantity: Quantity, what: str) -> None:
    with pytest.raises(QuantityError, match=what):
        to_degrees(quantity)


def test_angle_is_degrees_with_or_without_the_unit() -> None:
    assert to_degrees(RIGHT_ANGLE) == to_degrees(Quantity(90.0)) == 90.0


def test_ratio_of_lengths_is_a_number() -> None:
    assert to_number(Quantity(30.0, LENGTH) / TEN_MM) == 3.0


def test_length_is_not_a_number() -> None:
    with pytest.raises(QuantityError, match="a length, not a plain number"):
        to_number(TEN_MM)


@pytest.mark.parametrize(
    ("a", "b", "what"),
    [
        (TEN_MM, TWO, "mm and a plain number"),
        (TEN_MM, RIGHT_ANGLE, "mm and deg"),
        (TWO, RIGHT_ANGLE, "a plain number"),
    ],
)
@pytest.mark.parametrize(
    "sum_of", [lambda a, b: a + b, lambda a, b: a - b, lambda a, b: a < b, lambda a, b: a >= b]
)
def test_unlike_quantities_do_not_mix(a: Quantity, b: Quantity, what: str, sum_of: object) -> None:
    assert callable(sum_of)
    with pytest.raises(QuantityError, match=what):
        sum_of(a, b)


def test_adding_a_plain_number_to_a_length_says_what_to_do() -> None:
    with pytest.raises(QuantityError) as caught:
        TEN_MM + TWO
    assert "give the number a unit" in caught.value.mend


def test_division_by_zero_is_refused() -> None:
    with pytest.raises(QuantityError, match="divides by zero"):
        TEN_MM / Quantity(0.0)


@pytest.mark.parametrize("value", [float("inf"), float("-inf"), float("nan")])
def test_number_that_is_not_finite_is_refused(value: float) -> None:
    with pytest.raises(QuantityError, match="too large"):
        Quantity(value)


def test_overflow_in_the_middle_of_a_sum_is_refused() -> None:
    with pytest.raises(QuantityError, match="too large"):
        Quantity(1e300) * Quantity(1e300)


@settings(deadline=None)
@given(lengths, lengths)
def test_adding_and_taking_away_again_is_the_same_length(a: Quantity, b: Quantity) -> None:
    """Oracle: closed form; (a + b) - b = a within float rounding."""
    assert (a + b - b).value == pytest.approx(a.value, abs=1e-9)


@settings(deadline=None)
@given(lengths, finite)
def test_scaling_a_length_keeps_it_a_length(a: Quantity, factor: float) -> None:
    assert (a * Quantity(factor)).dimension == (Quantity(factor) * a).dimension == LENGTH


@settings(deadline=None)
@given(quantities, quantities)
def test_product_over_one_factor_has_the_dimension_of_the_other(a: Quantity, b: Quantity) -> None:
    assume(abs(b.value) > 1e-6)
    dimension = (a * b / b).dimension
    assert dimension[:2] == a.dimension[:2]


@settings(deadline=None)
@given(quantities, quantities)
def test_order_is_total_among_like_quantities(a: Quantity, b: Quantity) -> None:
    assume(a.dimension == b.dimension)
    assert (a < b) + (a > b) + (a.value == b.value) == 1
    assert (a <= b) == (b >= a) == (not a > b)


@settings(deadline=None)
@given(st.integers(0, 500), st.integers(1, 63), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_mixed_inches_agree_with_sixty_fourths(whole: int, over: int, under: int) -> None:
    """Oracle: second method; a 64th of an inch is 25.4/64 = 127/320 mm, and all are whole numbers of them."""
    assume(over < under)
    sixty_fourths = 64 * whole + over * (64 // under)
    assert read(f"{whole} {over}/{under} in").value == sixty_fourths * 127 / 320


@settings(deadline=None)
@given(finite, st.sampled_from(["mm", "cm", "m", "in"]))
def test_plain_number_in_its_units_equals_the_literal(value: float, units: str) -> None:
    text = f"{abs(value)!r} {units}"
    assert read(text).value == pytest.approx(to_mm_unbounded(abs(value), units), rel=1e-15)


def to_mm_unbounded(value: float, units: str) -> float:
    """Oracle: second method, plain float multiplication."""
    return value * {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}[units]
