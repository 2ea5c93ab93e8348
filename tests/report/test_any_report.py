"""Laws that hold for every report, whatever its numbers and names."""

from __future__ import annotations

import csv
import io
import json
import unicodedata

from hypothesis import given
from hypothesis import strategies as st

from packcheck.arrays import frozen
from packcheck.findings import Finding, Limit, Move, PairCount, Place, Report, RuleNote, Table
from packcheck.report.as_csv import COLUMNS, as_csv
from packcheck.report.as_json import as_json
from packcheck.report.text.as_text import as_text

numbers = st.none() | st.floats(allow_nan=True, allow_infinity=True)
lengths = st.floats(-1e6, 1e6)
texts = st.text(st.characters(codec=None), max_size=20)
vectors = st.tuples(lengths, lengths, lengths).map(frozen)
findings = st.builds(
    Finding,
    st.sampled_from(["gaps", "meshes"]),
    st.lists(texts, min_size=1, max_size=3).map(tuple),
    texts,
    value=numbers,
    unit=st.sampled_from(["mm", "C"]),
    low=numbers,
    high=numbers,
    limit=st.builds(Limit, numbers, numbers, numbers),
    points=st.none() | st.tuples(vectors, vectors).map(frozen),
    direction=st.none() | vectors,
    pose=st.dictionaries(texts, numbers, max_size=2),
    rule=st.none() | st.builds(RuleNote, st.tuples(texts, texts), texts, texts, texts),
    where=st.none() | st.builds(Place, texts, vectors, texts),
    move=st.none() | st.builds(Move, texts, vectors, texts),
    note=texts,
    skipped=texts,
    envelope=st.booleans(),
)
tables = st.builds(
    Table, texts, texts, st.just(("a", "b")), st.lists(st.tuples(texts, numbers), max_size=2).map(tuple)
)
reports = st.builds(
    Report,
    texts,
    texts,
    findings=st.lists(findings, max_size=3).map(tuple),
    tables=st.lists(tables, max_size=1).map(tuple),
    pairs=st.builds(PairCount, st.integers(0, 9), st.integers(0, 9), st.integers(0, 9)),
    unlisted=st.integers(0, 3),
    missing=st.lists(texts, max_size=2).map(tuple),
    notes=st.lists(texts, max_size=1).map(tuple),
    units=st.sampled_from(["mm", "in"]),
)


@given(reports)
def test_text_holds_printable_characters_and_line_breaks_only(report: Report) -> None:
    """Oracle: the Unicode categories."""
    shown = {unicodedata.category(character) for character in as_text(report).replace("\n", "")}
    assert not shown & {"Cc", "Cf", "Cs", "Zl", "Zp"}


@given(reports)
def test_json_reads_back_with_every_name_whole(report: Report) -> None:
    """Oracle: the standard library's parser, with NaN and infinity refused."""
    read = json.loads(as_json(report, version="1"), parse_constant=_refuse)
    assert sorted(found["subjects"] for found in read["findings"]) == sorted(
        list(f.subjects) for f in report.findings
    )
    assert sum(read["counts"].values()) == len(report.findings) + report.unlisted


@given(reports)
def test_csv_has_one_line_for_each_finding(report: Report) -> None:
    """Oracle: the standard library's reader."""
    rows = list(csv.reader(io.StringIO(as_csv(report))))
    assert [len(row) for row in rows] == [len(COLUMNS)] * (1 + len(report.findings))


def _refuse(name: str) -> None:
    raise AssertionError(name)
