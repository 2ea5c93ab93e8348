"""Arithmetic with units, as the user writes it."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from packcheck.scene.text.expressions import LONGEST, evaluate, names_in
from packcheck.units import ANGLE, LENGTH, PLAIN, RATIO, Dimension, Quantity, QuantityError

NAMES = {
    "rise": Quantity(150.0, LENGTH),
    "run": Quantity(20.0, LENGTH),
    "count": Quantity(3.0),
    "höhe": Quantity(4.0),
}


@pytest.mark.parametrize(
    ("text", "value", "dimension"),
    [
        ("rise + 20 mm", 170.0, LENGTH),
        ("rise - 1 1/2 in", 111.9, LENGTH),
        ("-3/8 in", -9.525, LENGTH),
        ("2 * (rise + run)", 340.0, LENGTH),
        ("rise / count", 50.0, LENGTH),
        ("rise / run", 7.5, RATIO),
        ("rise * run / run", 150.0, LENGTH),
        ("rise * run", 3000.0, Dimension(2)),
        ("rise / run * 2 mm", 15.0, LENGTH),
        ("1 - run / rise * 3", 0.6, RATIO),
        ("count / 3/8", 0.125, PLAIN),
        ("2 * 3/8 in", 19.05, LENGTH),
        ("min(rise, run, 1 in)", 20.0, LENGTH),
        ("max(count, 2)", 3.0, PLAIN),
        ("abs(run - rise)", 130.0, LENGTH),
        ("sqrt(count + 6)", 3.0, PLAIN),
        ("höhe * 2 mm", 8.0, LENGTH),
        ("45 deg * 2", 90.0, ANGLE),
        ("+count", 3.0, PLAIN),
        ("2*-3", -6.0, PLAIN),
        ("  7 mm  ", 7.0, LENGTH),
        ("010", 10.0, PLAIN),
        ("6/4", 1.5, PLAIN),
    ],
)
def test_expression_comes_to(text: str, value: float, dimension: Dimension) -> None:
    """Oracle: by hand, 1 in = 25.4 mm; `count / 3/8` is (3 / 3) / 8 by the usual order of division."""
    result = evaluate(text, NAMES)
    assert result.value == pytest.approx(value, rel=1e-12)
    assert result.dimension == dimension


@pytest.mark.parametrize(
    ("text", "what", "at"),
    [
        ("rise + 20", "cannot add mm and a plain number", "20"),
        ("count + (rise - 2)", "cannot subtract mm and a plain number", "2)"),
        ("höhe + rise", "cannot add a plain number and mm", "rise"),
        ("rise + 45 deg", "cannot add mm and deg", "45"),
        ("rize * 2", "unknown name 'rize'", "rize"),
        ("2 * 5 lbs", "unknown unit 'lbs'", "lbs"),
        ("2 rise", "unknown unit 'rise'", "rise"),
        ("12,5 mm", "decimal comma", ",5"),
        ("rise / 0", "divides by zero", "0"),
        ("2 ** 3", "a power", "3"),
        ("rise.x + 1", "dot inside a name", "rise"),
        ("2 * mm", "'mm', which is a unit", "mm"),
        ("max + 1", "'max', which is a function", "max"),
        ("min()", "gives min 0 values", "min"),
        ("abs(1, 2)", "gives abs 2 values", "abs"),
        ("sqrt(rise)", "square root of mm", "sqrt"),
        ("sqrt(0 - 4)", "square root of a negative", "sqrt"),
        ("sin(3)", "unknown function 'sin'", "sin"),
        ("rise / 3/8 in", "divides by a fraction", "3/8"),
        ("1 + 1e400 mm", "too large", "1e400"),
        ("1e300 * 1e300", "too large", "1e300"),
        ("5 5", "cannot be read as arithmetic at '5'", "5"),
        ("rise mm", "cannot be read as arithmetic at 'mm'", "mm"),
        ("rise; 2", "';', which is not arithmetic", "; 2"),
        ("[rise]", "'\\[', which is not arithmetic", "[rise"),
        ("count and 3", "not arithmetic", "count"),
        ("min(rise, count)", "cannot compare", "min"),
    ],
)
def test_mistake_is_named_and_pointed_at(text: str, what: str, at: str) -> None:
    with pytest.raises(QuantityError, match=what) as caught:
        evaluate(text, NAMES)
    assert caught.value.offset is not None
    assert text[caught.value.offset :].startswith(at)


@pytest.mark.parametrize(
    "text", ["", "   ", "2 * (", "rise +", ".inf", "-.INF", "nan", "inf", "()", "_", "a=3", '"x"']
)
def test_what_is_no_arithmetic_is_refused(text: str) -> None:
    with pytest.raises(QuantityError):
        evaluate(text, NAMES)


@pytest.mark.parametrize(
    "text",
    [
        "().__class__.__base__",
        "__import__('os').system('true')",
        "9**9**9**9",
        "'a' * 10",
        "[x for x in rise]",
        "lambda: 3",
        "rise if count else run",
        "(rise)(run)",
        "max(*rise)",
        "min(key=rise)",
        "f'{rise}'",
        "rise := 3",
        "await rise",
        "(" * 400 + "1" + ")" * 400,
        "9" * (LONGEST + 1),
    ],
)
def test_nothing_but_arithmetic_is_evaluated(text: str) -> None:
    with pytest.raises(QuantityError):
        evaluate(text, NAMES)


@pytest.mark.parametrize("text", ["1-1/2", "1-1/2 in", "2 * (1-1/2)"])
def test_hyphened_mixed_number_is_not_guessed_at(text: str) -> None:
    with pytest.raises(QuantityError, match="mixed number and as a subtraction") as caught:
        evaluate(text, NAMES)
    assert "'1 1/2'" in caught.value.mend


def test_subtraction_with_blanks_is_a_subtraction() -> None:
    """Oracle: by hand, 1 - 1/2."""
    assert evaluate("1 - 1/2", NAMES) == Quantity(0.5)


def test_misspelt_name_gets_the_nearest() -> None:
    with pytest.raises(QuantityError) as caught:
        evaluate("coont * 2", NAMES)
    assert caught.value.mend == "did you mean 'count'?"


def test_name_behind_a_number_is_a_product_in_the_making() -> None:
    with pytest.raises(QuantityError) as caught:
        evaluate("2 rise", NAMES)
    assert caught.value.mend == "to multiply, write * rise"


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("rise + run * rise", ("rise", "run")),
        ("max(a, min(b, 2 mm))", ("a", "b")),
        ("12 mm", ()),
        ("max", ("max",)),
        ("2 * (", ()),
    ],
)
def test_names_an_expression_rests_on(text: str, names: tuple[str, ...]) -> None:
    assert names_in(text) == names


@settings(deadline=None)
@given(st.text(alphabet="0123456789 ./*+-()einmcrs,_\"'°", max_size=30))
def test_any_text_is_a_quantity_or_a_fault(text: str) -> None:
    try:
        evaluate(text, NAMES)
    except QuantityError as error:
        assert error.what


@settings(deadline=None)
@given(st.floats(-1e5, 1e5), st.floats(-1e5, 1e5), st.sampled_from(["+", "-", "*", "/"]))
def test_plain_arithmetic_agrees_with_floats(a: float, b: float, sign: str) -> None:
    """Oracle: second method, Python's own floats; e-notation and minus signs included."""
    expected = {"+": a + b, "-": a - b, "*": a * b}.get(sign) if sign != "/" or not b else a / b
    assume(expected is None or math.isfinite(expected))
    if expected is None:
        with pytest.raises(QuantityError, match="divides by zero"):
            evaluate(f"({a!r}) / ({b!r})", {})
    else:
        assert evaluate(f"({a!r}) {sign} ({b!r})", {}).value == expected
