"""Outputs shown in part are found again in what is printed now."""

from __future__ import annotations

from tests.demo.rewrite_readme import shown_now

SHOWN = ("2 shortfalls", "...", "tight: pump - rail: gap 3 mm", "  where   12 mm aft", "...")


def test_a_stretch_is_found_again_whatever_its_figures_and_its_place() -> None:
    """Oracle: by hand."""
    now = ["1 shortfall", "", "clash: box - lid", "tight: pump - rail: gap 5 mm", "  where   14 mm aft", "x"]
    assert shown_now(SHOWN, now) == ["1 shortfall", "...", *now[3:5], "..."]


def test_what_a_line_goes_on_with_is_taken_along() -> None:
    now = ["1 shortfall", "tight: pump - rail: gap 5 mm", "  where   14 mm aft of", "          the tub", "  why"]
    assert shown_now(SHOWN, now) == [*now[:4], "..."]


def test_a_whole_output_stays_whole() -> None:
    now = ["bay:6: cylinder needs length", "  mend: say it", "2 faults"]
    assert shown_now(("bay:5: cylinder needs diameter", "  mend: write it", "1 fault"), now) == now


def test_what_is_printed_no_more_is_left_to_a_hand() -> None:
    assert shown_now(SHOWN, ["no shortfall found in 3 pairs", "Notes"]) is None
