"""Does every name in the survey lead where it may, and does each reading say how good it is?

Checked on what is written, so that one fault hides no other.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from packcheck.errors import Fault, SourceMark
from packcheck.scene.document.document import RawScene
from packcheck.scene.expand.loops import chained
from packcheck.scene.expand.survey_making import TOOLS
from packcheck.scene.grammar.observing import KINDS
from packcheck.scene.model.scene import CAR
from packcheck.scene.text.hints import joined, nearest
from packcheck.scene.text.nodes import Entry, ListNode, MapNode, Node, Text
from packcheck.scene.text.written import maps_of, texts_of

__all__ = ["check_survey_links"]


def check_survey_links(raw: RawScene) -> Iterator[Fault]:
    """Faults of every name in `survey` and `checks` that leads nowhere or to the wrong sort of thing."""
    return _SurveyLinks(raw).faults()


class _SurveyLinks:
    def __init__(self, raw: RawScene) -> None:
        survey = raw.tree.get("survey")
        self.raw = raw
        self.names = {name: named.what for name, named in raw.names.items()}
        self.places = [CAR, *(name for name, what in self.names.items() if what in ("frame", "part"))]
        self.survey = survey if isinstance(survey, MapNode) else None
        self.points = _entries(self.survey, "points")
        self.instruments = _entries(self.survey, "instruments")
        self.nodes = maps_of(raw.tree.get("frames")) | maps_of(raw.tree.get("parts"))

    def faults(self) -> Iterator[Fault]:
        yield from self._checks()
        if self.survey is None:
            return
        yield from self._points()
        for place, node in enumerate(_items(self.survey.get("observations")), start=1):
            yield from self._observation(f"survey.observations item {place}:", node)
        for name, entry in _entries(self.survey, "place").items():
            yield from self._place(name, entry)
        yield from self._hanging()
        for name, entry in _entries(self.survey, "rocks").items():
            if isinstance(entry.node, MapNode):
                yield from _repeated(f"survey.rocks {name!r}:", entry.node, "axis")

    def _points(self) -> Iterator[Fault]:
        for name, entry in self.points.items():
            subject = f"survey point {name!r}:"
            if name in self.places:
                what = "the car's zero" if name == CAR else f"a {self.names[name]}"
                yield Fault(entry.mark, f"{subject} the name is that of {what}", mend="rename the point")

    def _observation(self, subject: str, node: MapNode) -> Iterator[Fault]:
        kind = next((kind for kind in KINDS if kind in node.entries), None)
        if kind is None:
            return
        yield from _repeated(subject, node, kind)
        yield from self._sure(subject, node, kind)

    def _sure(self, subject: str, node: MapNode, kind: str) -> Iterator[Fault]:
        """Each reading says how good it is, by itself or by an instrument of its own sort."""
        stated = texts_of(node.get("with"))
        if "accuracy" in node.entries or (stated and stated[0] not in self.instruments):
            return
        name = str(stated[0]) if stated else kind
        if name not in self.instruments:
            what = f"{subject} does not say how good it is, needs accuracy, or with: and an instrument"
            why = "a reading that may be off by anything decides nothing"
            yield Fault(node.mark, what, why, f"write accuracy: 1 mm, or name an instrument {kind!r}")
        else:
            yield from self._of_the_sort(subject, node, kind, name)

    def _of_the_sort(self, subject: str, node: MapNode, kind: str, name: str) -> Iterator[Fault]:
        instrument = self.instruments[name].node
        if not isinstance(instrument, MapNode):
            return
        of_angles = "angles" in instrument.entries
        if of_angles != (kind == "angle"):
            sort, need = ("angles", "lengths") if of_angles else ("lengths", "angles")
            what = f"{subject} the instrument {name!r} reads {sort}, needs one that reads {need}"
            yield Fault(node.mark, what)

    def _place(self, name: str, entry: Entry) -> Iterator[Fault]:
        subject = f"survey.place {name!r}:"
        if name not in self.places or name == CAR:
            if self.raw.complete or name in self.names:
                got = f"is a {self.names[name]}" if name in self.names else "is not known"
                known = [place for place in self.places if place != CAR]
                yield Fault(entry.mark, f"{subject} {got}, needs a frame or a part", mend=nearest(name, known))
            return
        yield from self._placed_twice(name, entry.mark)
        if isinstance(entry.node, MapNode):
            yield from self._marks(subject, entry.node)
            yield from _one_place(subject, entry.node)

    def _placed_twice(self, name: str, mark: SourceMark) -> Iterator[Fault]:
        section = self.raw.tree.get(f"{self.names[name]}s")
        node = section.get(name) if isinstance(section, MapNode) else None
        for key in ("at", "turn", "faces", "in", "uncertainty"):
            if isinstance(node, MapNode) and key in node.entries:
                what = f"{self.names[name]} {name!r}: {key} stands beside a place of the survey"
                why = "the points say where it is and how it lies"
                mend = f"leave out {key}, or take {name!r} out of survey.place (line {mark.line})"
                yield Fault(node.entries[key].mark, what, why, mend)

    def _marks(self, subject: str, node: MapNode) -> Iterator[Fault]:
        """What is matched are points known on it."""
        for mark, entry in _entries(node, "matched").items():
            if mark not in self.points:
                what = f"{subject} matched {mark!r} is not a point of the survey"
                mend = nearest(mark, self.points) or "give it under points, with in: and at: on the part"
                yield Fault(entry.mark, what, mend=mend)

    def _hanging(self) -> Iterator[Fault]:
        """Places that rest on points of themselves, or on what hangs on them."""
        places = {name: entry for name, entry in _entries(self.survey, "place").items() if name in self.places}
        rests = {name: list(_rests_of(entry.node)) for name, entry in places.items()}
        leads = {name: [on for text in texts for on in self._carriers(str(text))] for name, texts in rests.items()}
        for knot in chained(leads).knots:
            name = knot[0]
            text = next(text for text in rests[name] if not set(knot).isdisjoint(self._carriers(str(text))))
            what = f"survey.place {name!r}: {str(text)!r} hangs on what is placed by it"
            loop = f": {joined([*knot, name], ' -> ')}" if len(knot) > 1 else ""
            why = "it would have to stand before itself"
            yield Fault(text.mark, f"{what}{loop}", why, "name points that were measured at the car")

    def _carriers(self, name: str) -> Iterator[str]:
        """A frame or part, or what a point is on, and everything that this hangs on."""
        point = self.points[name].node if name in self.points else None
        on = texts_of(point.get("in"))[:1] if isinstance(point, MapNode) else [] if point else [name]
        seen: set[str] = set()
        while on and str(on[0]) in self.names and str(on[0]) not in seen:
            seen.add(str(on[0]))
            yield str(on[0])
            on = texts_of(self.nodes[str(on[0])].get("in"))[:1] if str(on[0]) in self.nodes else []

    def _checks(self) -> Iterator[Fault]:
        for place, node in enumerate(_items(self.raw.tree.get("checks")), start=1):
            subject = f"checks item {place}:"
            yield from _repeated(subject, node, "between")
            known = [*TOOLS, *self.instruments]
            for tool in texts_of(node.get("with")):
                if tool not in known and "accuracy" not in node.entries:
                    what = f"{subject} with {str(tool)!r} is not known, needs one of {joined(list(TOOLS))}"
                    yield Fault(tool.mark, what, mend=nearest(tool, known) or "or say accuracy: 0.5 mm beside it")
            if not {"with", "accuracy"} & node.entries.keys():
                what = f"{subject} does not say how good it is, needs with or accuracy"
                yield Fault(node.mark, what, mend="write with: drill, feeler, calliper, clay or tape")


def _rests_of(place: Node) -> Iterator[Text]:
    """Every point that a place rests on."""
    if not isinstance(place, MapNode):
        return
    for key in ("origin", "plane", "axis"):
        yield from texts_of(place.get(key))
    for key in ("toward", "side", "matched"):
        yield from (text for entry in _entries(place, key).values() for text in texts_of(entry.node))
    hinge = place.get("hinge")
    for dot in hinge.items if isinstance(hinge, ListNode) else ():
        yield from texts_of(dot)


def _one_place(subject: str, node: MapNode) -> Iterator[Fault]:
    """Points that are to differ and are one: no direction, plane or axis leads from a point to itself."""
    ways = [entry.node for key in ("toward", "side") for entry in _entries(node, key).values()]
    rows = {"origin, toward and side": [node.get("origin"), *ways], "plane": [node.get("plane")]}
    rows |= {"axis": [node.get("axis")], "matched": [entry.node for entry in _entries(node, "matched").values()]}
    hinge = node.get("hinge")
    rows |= {
        f"hinge item {k}": [dot] for k, dot in enumerate(hinge.items if isinstance(hinge, ListNode) else (), 1)
    }
    for key, nodes in rows.items():
        yield from _twice(f"{subject} {key}", [text for one in nodes for text in texts_of(one)])


def _repeated(subject: str, node: MapNode, key: str) -> Iterator[Fault]:
    yield from _twice(f"{subject} {key}", texts_of(node.get(key)))


def _twice(subject: str, names: Iterable[Text]) -> Iterator[Fault]:
    seen: set[str] = set()
    for name in names:
        if name in seen:
            yield Fault(name.mark, f"{subject} names {str(name)!r} twice")
        seen.add(name)


def _entries(node: MapNode | None, key: str) -> Mapping[str, Entry]:
    below = node.get(key) if node else None
    return below.entries if isinstance(below, MapNode) else {}


def _items(node: Node | None) -> list[MapNode]:
    return [item for item in node.items if isinstance(item, MapNode)] if isinstance(node, ListNode) else []
