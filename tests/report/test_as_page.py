"""The page is whole without a script, escapes what it is given, asks for nothing, and stays light."""

from __future__ import annotations

import hashlib
import json
import re
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest

import packcheck
from packcheck.assembly.assembly import assemble
from packcheck.bay import Bay
from packcheck.findings import Finding, Limit, Report, Table
from packcheck.report.as_json import as_json
from packcheck.report.as_page import MOST_CARDS, as_page
from packcheck.report.text.caution import CAUTION
from packcheck.report.text.headline import headline
from packcheck.surfaces import Model
from tests.bays import random_crowd
from tests.report.made import CLASH, FULL, finding, report

PAGE = Path(packcheck.__file__).parent / "report" / "page"
HOSTILE = '<script>alert("x")</script>\' onload=alert(1) & <img src=http://evil.example/x.png>'


class Reader(HTMLParser):
    """What a browser without scripts finds: tags with their attributes, and the text outside script and style."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""
        self._inside: list[str] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag in ("script", "style"):
            self._inside.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if self._inside and self._inside[-1] == tag:
            self._inside.pop()

    def handle_data(self, data: str) -> None:
        if not self._inside:
            self.text += data

    def findings(self) -> list[str]:
        return [attrs["data-finding"] or "" for _, attrs in self.tags if "data-finding" in attrs]


def page(made: Report, model: Model | None = None) -> str:
    return as_page(made, model or Model(), version="0.1.0")


def crowd() -> tuple[Report, Model]:
    made = Bay(assemble(random_crowd(3, count=14, side=300)))
    return made.check(moves=False), made.model()


def test_every_finding_is_there_without_a_script_and_in_the_order_of_the_json() -> None:
    """Oracle: the JSON report of the same findings."""
    made, model = crowd()
    told = json.loads(as_json(made, version="0.1.0"))["findings"]
    reader = Reader(page(made, model))
    assert reader.findings() == [str(k) for k in range(1, len(told) + 1)]
    for entry in told:
        assert all(name in reader.text for name in entry["subjects"])


def test_a_card_says_everything_the_text_report_says() -> None:
    text = " ".join(Reader(page(report(CLASH))).text.split())
    for said in (
        "clash water_pump \u2013 fuel_pump",
        "Gap overlap 6.2 mm",
        "Asked needs 10 mm",
        "Short by 16.2 mm",
        "Where 58 mm aft of bulkhead, 303 mm left, 118 mm up",
        "Source scene default",
        "Move move water_pump 17 mm right (clears every neighbour)",
        "Written at scenes/bay.yaml:31:3",
    ):
        assert said in text


def test_the_whole_report_is_told() -> None:
    text = " ".join(Reader(page(FULL)).text.split())
    for said in (headline(FULL), CAUTION, "no hoses, no fasteners", "measured with a tape", "1200.5"):
        assert said in text
    assert "Lowered on purpose: rail and pump: lowered from 10 to 3, line 31 (cast boss)" in text
    assert "checked with packcheck 0.1.0" in text


def test_names_and_notes_are_only_text() -> None:
    hostile = replace(
        finding(3.0, names=(HOSTILE, "rail")),
        note=HOSTILE,
        when=HOSTILE,
        word=HOSTILE,
        study=HOSTILE,
        no_move=HOSTILE,
    )
    made = replace(
        report(hostile), title=HOSTILE, scene=HOSTILE, notes=(HOSTILE,), layout=HOSTILE, lowered=(HOSTILE,)
    )
    made = replace(made, tables=(Table("t", HOSTILE, (HOSTILE,), ((HOSTILE,),), HOSTILE),))
    model = Model(sources=((HOSTILE, HOSTILE),))
    plain, reader = Reader(page(report(finding(3.0)))), Reader(page(made, model))
    assert reader.text.count(HOSTILE) >= 12
    assert [tag for tag, _ in reader.tags if tag == "script"] == [tag for tag, _ in plain.tags if tag == "script"]
    assert not [tag for tag, _ in reader.tags if tag == "img"]
    assert not [name for _, attrs in reader.tags for name in attrs if name.startswith("on")]


def test_text_that_turns_round_or_hides_is_written_out() -> None:
    assert "\u202e" not in page(report(finding(3.0, names=("pump\u202egnp", "rail"))))


def test_nothing_in_the_page_asks_for_anything() -> None:
    made, model = crowd()
    reader = Reader(page(made, model))
    asked = [
        value for tag, attrs in reader.tags for name, value in attrs.items() if name in ("src", "href") and value
    ]
    assert all(value.startswith(("#", "data:")) for value in asked)
    assert not [tag for tag, _ in reader.tags if tag in ("link", "iframe", "object", "embed", "base")]
    policy = next(attrs["content"] or "" for tag, attrs in reader.tags if attrs.get("http-equiv"))
    assert policy.startswith("default-src 'none'")
    assert "url(" not in (PAGE / "style.css").read_text(encoding="utf-8")


def test_every_picture_has_words_and_every_field_a_label() -> None:
    made, model = crowd()
    reader = Reader(page(made, model))
    pictures = [attrs for tag, attrs in reader.tags if tag == "svg" and attrs.get("role") == "img"]
    assert len(pictures) > 3
    assert all(attrs.get("aria-label") for attrs in pictures)
    assert ("html", {"lang": "en"}) in reader.tags
    assert all(attrs.get("scope") == "col" for tag, attrs in reader.tags if tag == "th")


def test_numbers_are_unique_and_links_lead_to_them() -> None:
    made, model = crowd()
    reader = Reader(page(made, model))
    ids = [attrs["id"] for _, attrs in reader.tags if attrs.get("id")]
    assert len(ids) == len(set(ids))
    links = {(attrs["href"] or "")[1:] for tag, attrs in reader.tags if tag == "a"}
    assert links <= set(ids)
    assert len(links) > 2


def test_five_thousand_findings_make_a_page_of_sane_size() -> None:
    many = [finding(3.0 + k / 1e4, names=(f"part_{k}", "rail")) for k in range(5000)]
    text = page(report(*many))
    reader = Reader(text)
    assert len(reader.findings()) == 5000
    assert sum(tag == "article" for tag, _ in reader.tags) == MOST_CARDS
    assert len(text) < 4_000_000


@pytest.mark.parametrize("made", [Report("empty.yaml"), report(unlisted=3), report(finding(12.0, word="clear"))])
def test_an_empty_scene_and_one_without_faults_give_a_page(made: Report) -> None:
    reader = Reader(page(made))
    assert headline(made) in reader.text
    assert "No finding needs a card." in reader.text
    assert CAUTION in reader.text


def test_what_was_not_checked_is_told_with_its_reason() -> None:
    skipped = Finding("gaps", ("a", "b"), "not checked", limit=Limit(3.0), skipped="the mesh is no mesh")
    assert "the mesh is no mesh" in Reader(page(report(skipped))).text


def test_the_licence_of_the_library_is_in_every_page() -> None:
    """Oracle: the words of the MIT licence."""
    text = " ".join(Reader(page(Report("empty.yaml"))).text.split())
    assert "three.js authors" in text
    assert "The above copyright notice and this permission notice shall be included in all copies" in text
    assert 'THE SOFTWARE IS PROVIDED "AS IS"' in text


def test_same_report_same_page() -> None:
    made, model = crowd()
    assert page(made, model) == page(made, model)


def test_progress_is_told_picture_by_picture() -> None:
    made, model = crowd()
    heard: list[tuple[int, int]] = []
    as_page(made, model, version="0.1.0", pictures=2, progress=lambda done, total: heard.append((done, total)))
    assert heard == [(0, 2), (1, 2)]


def test_the_script_was_built_of_the_sources_that_stand_beside_it() -> None:
    """Rebuild with `npm ci --ignore-scripts && npm run build` in packcheck/report/page."""
    lines = (PAGE / "built" / "SOURCES.txt").read_text(encoding="utf-8").splitlines()
    recorded = {name: digest for digest, name in (line.split("  ") for line in lines)}
    sources = {f"source/{path.name}" for path in (PAGE / "source").iterdir()}
    assert set(recorded) == sources | {"package.json", "package-lock.json"}
    for name, digest in recorded.items():
        assert hashlib.sha256((PAGE / name).read_bytes()).hexdigest() == digest, f"{name} changed: build again"


def test_the_script_can_stand_inside_a_page() -> None:
    script = (PAGE / "built" / "page.js").read_text(encoding="ascii")
    assert not re.search(r"</script|<!--", script, re.IGNORECASE)


def test_what_looks_like_a_joint_is_a_card_like_any_with_its_evidence() -> None:
    likely = replace(CLASH, looks_joined="overlap 0.3 mm, within a seat of 1 mm; bracket in the name bracket")
    found = Reader(page(report(likely)))
    assert len(found.findings()) >= 1
    assert "bracket in the name bracket" in found.text
