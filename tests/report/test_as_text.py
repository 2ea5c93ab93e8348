"""The report for people. Oracle throughout: the order and the words of the report's contract."""

from __future__ import annotations

from dataclasses import replace

import pytest

from packcheck.findings import PairCount, Report, RuleNote, Verdict
from packcheck.report.text.as_text import MOST_PASSING, as_text
from packcheck.report.text.caution import CAUTION
from packcheck.report.text.headline import headline
from tests.report.made import CLASH, FULL, HOSTILE, finding, report

CLOSE = finding(60.0, must=50.0, want=100.0, word="close", names=("close_a", "close_b"))
UNSURE = finding(9.0, 13.0, value=11.0, word="may be tight", names=("unsure_a", "unsure_b"))
SKIPPED = replace(finding(None, None, value=None, names=("skip_a", "skip_b")), skipped="deck.stl cannot be read")
TIGHT = finding(3.0, names=("tight_a", "tight_b"))
TIGHTER = finding(1.0, names=("tighter_a", "tighter_b"))
DEEP = finding(-40.0, word="clash", must=1.0, names=("deep_a", "deep_b"))
ODD = finding(1.0, must=-1.0, most=0.5, word="not seated", names=("joint_a", "joint_b"))
CLEAR = finding(20.0, word="clear", names=("clear_a", "clear_b"))


def test_a_clean_report_says_no_more_than_it_knows() -> None:
    assert headline(report(unlisted=595)) == "no shortfall found in 595 pairs, as described in this file"


@pytest.mark.parametrize(
    ("made", "expected"),
    [
        (
            report(CLASH, DEEP, TIGHT, ODD, UNSURE, CLOSE),
            "4 shortfalls found in 595 pairs: 2 clashes, 1 tight, 1 not seated; also 1 undecided, 1 close",
        ),
        (report(TIGHT), "1 shortfall found in 595 pairs: 1 tight"),
        (report(UNSURE, SKIPPED), "no shortfall proven in 595 pairs; 1 check undecided, 1 not checked"),
        (report(CLOSE), "no shortfall found in 595 pairs, as described in this file; 1 close"),
        (Report("empty.yaml"), "nothing was checked in 0 pairs, which is not a pass"),
        (
            replace(report(unlisted=1), pairs=PairCount(1, 1, 0)),
            "no shortfall found in 1 pair, as described in this file",
        ),
    ],
)
def test_the_headline_counts_what_was_found(made: Report, expected: str) -> None:
    assert headline(made) == expected


def test_the_verdict_stands_first_and_the_caution_last() -> None:
    made = report(CLASH)
    text = as_text(made, width=10_000)
    assert text.startswith(headline(made))
    assert text.endswith(f"{CAUTION}\n")


def test_a_part_in_many_shortfalls_is_named_first() -> None:
    """Oracle: by hand: the hood in five of six, 3 mm short of its limit at the most, with part_4."""
    hoods = [finding(7.0 + 0.5 * (4 - k), names=("hood", f"part_{k}")) for k in range(5)]
    assert "\nhood is in 5 of them, worst with part_4\n" in as_text(report(*hoods, TIGHT))
    assert " of them, worst" not in as_text(report(*hoods[1:], TIGHT))


def test_the_caution_is_the_agreed_one() -> None:
    assert CAUTION == (
        "This compares the shapes and limits in your file and nothing else. Measure the real parts, follow the "
        "codes where you live, and have fuel, brake, heat, pressure, restraint, lifting, electrical, hydraulic and "
        "drilling work judged by a licensed or qualified person."
    )


def test_findings_come_in_reading_order() -> None:
    """Clashes by depth, tight by margin, other shortfalls, undecided, not checked, close, passing."""
    text = as_text(report(CLEAR, CLOSE, SKIPPED, UNSURE, ODD, TIGHT, TIGHTER, CLASH, DEEP))
    names = ["deep_a", "water_pump", "tighter_a", "tight_a", "joint_a", "unsure_a", "skip_a", "close_a", "clear_a"]
    places = [text.index(f"{name} - ") for name in names]
    assert places == sorted(places)


def test_a_clash_is_told_whole() -> None:
    lines = as_text(report(CLASH)).splitlines()
    at = lines.index("clash: water_pump - fuel_pump: overlap 6.2 mm, needs 10 mm, short by 16.2 mm")
    assert lines[at + 1 : at + 5] == [
        "  where   58 mm aft of bulkhead, 303 mm left, 118 mm up",
        "  source  scene default",
        "  move    move water_pump 17 mm right (clears every neighbour)",
        "  asked   scenes/bay.yaml:31:3",
    ]


def test_a_rule_gives_its_reason_its_source_and_what_was_lowered() -> None:
    rule = RuleNote(("fuel", "exhaust"), "radiant heat", "common practice", "lowered from 50 to 20, line 31")
    text = as_text(report(replace(TIGHT, rule=rule)))
    assert (
        "  why     fuel - exhaust: radiant heat\n  source  common practice\n  limit   lowered from 50 to 20" in text
    )


def test_without_a_move_the_reason_is_given() -> None:
    text = as_text(report(replace(TIGHT, no_move="up is blocked by rear_body, left by rail_l")))
    assert "  no move up is blocked by rear_body, left by rail_l" in text


def test_without_a_datum_the_raw_place_is_given() -> None:
    text = as_text(report(replace(CLASH, where=None)))
    assert "  where   (58.1, -303.1, 118.0) mm from the car's zero" in text


def test_what_was_not_measured_says_why() -> None:
    skipped = replace(SKIPPED, word="not checked", limit=replace(SKIPPED.limit, must=None))
    assert "not checked: skip_a - skip_b: deck.stl cannot be read" in as_text(report(skipped))


def test_the_account_names_passes_envelopes_gaps_in_the_model_and_lowered_rules() -> None:
    text = as_text(FULL, width=1000)
    assert "595 pairs: 541 cleared by bounding box, 54 measured. 1 fails, 594 pass." in text
    assert "3 passes rest on a shape that is only an envelope" in text
    assert "What the model does not hold: no hoses, no fasteners in this file." in text
    assert "Lowered on purpose: rail and pump: lowered from 10 to 3, line 31 (cast boss)" in text
    assert "Note: measured with a tape" in text


def test_a_table_is_aligned_and_empty_cells_stay_empty() -> None:
    assert "Geometry files\npart  size, mm\ndeck    1200.5\ncap\n" in as_text(FULL)


def test_a_table_that_is_too_wide_becomes_lines() -> None:
    assert "Geometry\nfiles\ndeck: size,\n  mm: 1200.5" in as_text(FULL, width=12)


def test_passing_gaps_are_listed_nearest_first_and_the_rest_counted() -> None:
    many = [finding(20.0 + step, word="clear", names=(f"part_{step}", "rail")) for step in range(MOST_PASSING + 5)]
    text = as_text(report(*reversed(many)))
    assert f"part_{MOST_PASSING - 1} - rail" in text
    assert f"part_{MOST_PASSING} - rail" not in text
    assert "and 5 more" in text


@pytest.mark.parametrize("width", [40, 72, 100])
def test_no_line_is_wider_than_asked_unless_a_word_is(width: int) -> None:
    made = report(CLASH, UNSURE, replace(TIGHT, note="word " * 60), CLOSE, units="in")
    assert max(map(len, as_text(made, width).splitlines())) <= width


def test_a_figure_is_never_parted_from_its_unit() -> None:
    """Oracle: brute force over widths."""
    texts = [as_text(report(CLASH, UNSURE, units="in"), width) for width in range(50, 120)]
    assert not any(line.strip().startswith(("mm", "in ", "(")) for text in texts for line in text.splitlines())


def test_hostile_names_are_written_out() -> None:
    text = as_text(report(replace(TIGHT, subjects=(HOSTILE, "rail"), note=HOSTILE)))
    assert r"tight: =1+1\x1b[2J\u202e\nnext - rail" in text
    assert not {"\x1b", "\u202e", "\r"} & set(text)


@pytest.mark.parametrize("made", [report(unlisted=595), FULL, report(UNSURE), report(CLOSE)])
def test_nothing_is_ever_called_safe_or_approved(made: Report) -> None:
    words = {word.strip(".,:;").lower() for word in as_text(made).split()}
    assert not words & {"safe", "ok", "approved", "compliant", "certified", "✓", "✔"}


def test_the_same_report_gives_the_same_bytes_whatever_the_order_of_its_findings() -> None:
    findings = [CLASH, DEEP, TIGHT, ODD, UNSURE, CLOSE, SKIPPED, CLEAR]
    assert as_text(report(*findings)) == as_text(report(*reversed(findings)))


def test_every_verdict_has_a_finding_in_these_tests() -> None:
    made = report(CLASH, UNSURE, CLOSE, SKIPPED, CLEAR)
    assert all(made.counts[verdict] == 1 for verdict in Verdict)


def test_what_looks_like_a_joint_stands_apart_and_still_counts() -> None:
    likely = replace(CLASH, looks_joined="overlap 0.3 mm, within a seat of 1 mm; bracket in the name bracket")
    made = report(likely, DEEP, replace(UNSURE, looks_joined="clip in the name clip"))
    text = as_text(made, width=10_000)
    assert (
        headline(made) == "2 shortfalls found in 595 pairs: 2 clashes; also 1 undecided; 2 of them look like joints"
    )
    clashes, apart = text.split("They look like joints that the file does not state\n")
    assert " - ".join(CLASH.subjects) not in clashes
    assert "deep_a - deep_b" in clashes
    assert "Undecided" not in text
    assert "looks   overlap 0.3 mm, within a seat of 1 mm; bracket in the name bracket\n" in apart
    assert "The others fall short like any." in apart


@pytest.mark.parametrize(("count", "said"), [(1, "1 of the passes rests on"), (3, "3 passes rest on")])
def test_passes_on_guesses_are_counted_apart(count: int, said: str) -> None:
    text = as_text(replace(report(unlisted=9), guess_passes=count), width=10_000)
    assert f"{said} what is known by guess only (known: guess).\n" in text
