"""Does every name in the survey lead where it may, and does each reading say how good it is?

Checked on what is written, so that one fault hides no other.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Final

from packcheck.errors import Fault, SourceMark
from packcheck.scene.document import RawScene
from packcheck.scene.hints import joined, nearest
from packcheck.scene.model import CAR
from packcheck.scene.nodes import Entry, ListNode, MapNode, Node
from packcheck.scene.observing import KINDS
from packcheck.scene.survey_making import TOOLS
from packcheck.scene.written import texts_of

__all__ = ["check_survey_links"]

_POINTS: Final = {
    "tape": ("tape",),
    "offset": ("offset", "from"),
    "level": ("level",),
    "angle": ("angle",),
    "plumb": ("plumb",),
    "lies_on": ("lies_on", "plane", "line"),
    "gap": (),
}
"""The keys of each kind of reading that hold points."""


def check_survey_links(raw: RawScene) -> Iterator[Fault]:
    """Faults of every name in `survey` and `checks` that leads nowhere or to the wrong sort of thing."""
    return _SurveyLinks(raw).faults()


class _SurveyLinks:
    def __init__(self, raw: RawScene) -> None:
        survey = raw.tree.get("survey")
        self.raw = raw
        self.names = {name: named.what for name, named in raw.names.items()}
        self.places = [CAR, *(name for name, what in self.names.items() if what in ("frame", "part"))]
        self.parts = [name for name, what in self.names.items() if what == "part"]
        self.survey = survey if isinstance(survey, MapNode) else None
        self.points = _entries(self.survey, "points")
        self.instruments = _entries(self.survey, "instruments")
        self.known = [*self.points, *self.places]

    def faults(self) -> Iterator[Fault]:
        yield from self._checks()
        if self.survey is None:
            return
        yield from self._points()
        for place, node in enumerate(_items(self.survey.get("observations")), start=1):
            yield from self._observation(f"survey.observations item {place}:", node)
        for name, entry in _entries(self.survey, "place").items():
            yield from self._place(name, entry)
        for name, entry in _entries(self.survey, "rocks").items():
            if isinstance(entry.node, MapNode):
                yield from self._need_points(f"survey.rocks {name!r}:", entry.node, ("axis", "point"))

    def _points(self) -> Iterator[Fault]:
        for name, entry in self.points.items():
            subject = f"survey point {name!r}:"
            if name in self.known[len(self.points) :]:
                what = "the car's zero" if name == CAR else f"a {self.names[name]}"
                yield Fault(entry.mark, f"{subject} the name is that of {what}", mend="rename the point")
            if isinstance(entry.node, MapNode):
                yield from self._names(f"{subject} in", entry.node.get("in"), self.places, "a frame or a part")

    def _names(self, subject: str, node: Node | None, known: Iterable[str], needed: str) -> Iterator[Fault]:
        for name in texts_of(node):
            if name not in known and (self.raw.complete or name in self.names):
                got = f"is a {self.names[name]}" if name in self.names else "is not known"
                yield Fault(name.mark, f"{subject} {str(name)!r} {got}, needs {needed}", mend=nearest(name, known))

    def _need_points(self, subject: str, node: MapNode, keys: Iterable[str]) -> Iterator[Fault]:
        for key in keys:
            yield from self._names(f"{subject} {key}", node.get(key), self.known, "a point of the survey")

    def _observation(self, subject: str, node: MapNode) -> Iterator[Fault]:
        kind = next((kind for kind in KINDS if kind in node.entries), None)
        if kind is None:
            return
        yield from self._need_points(subject, node, _POINTS[kind])
        yield from self._names(f"{subject} of", node.get("of"), self.parts, "a part")
        yield from self._names(f"{subject} axes", node.get("axes"), self.places, "a frame or a part")
        if kind == "gap":
            yield from self._names(f"{subject} gap", node.get("gap"), self.parts, "a part")
        yield from _repeated(subject, node, kind)
        yield from self._sure(subject, node, kind)

    def _sure(self, subject: str, node: MapNode, kind: str) -> Iterator[Fault]:
        """Each reading says how good it is, by itself or by an instrument of its own sort."""
        stated = texts_of(node.get("with"))
        if stated and stated[0] not in self.instruments:
            what = f"{subject} with {str(stated[0])!r} is not known, needs an instrument of the survey"
            yield Fault(stated[0].mark, what, mend=nearest(stated[0], self.instruments))
            return
        if "accuracy" in node.entries:
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
            yield from self._need_points(subject, entry.node, ("origin", "plane", "axis"))
            yield from self._ways(subject, entry.node)

    def _placed_twice(self, name: str, mark: SourceMark) -> Iterator[Fault]:
        section = self.raw.tree.get(f"{self.names[name]}s")
        node = section.get(name) if isinstance(section, MapNode) else None
        for key in ("at", "turn", "faces", "in", "uncertainty"):
            if isinstance(node, MapNode) and key in node.entries:
                what = f"{self.names[name]} {name!r}: {key} stands beside a place of the survey"
                why = "the points say where it is and how it lies"
                mend = f"leave out {key}, or take {name!r} out of survey.place (line {mark.line})"
                yield Fault(node.entries[key].mark, what, why, mend)

    def _ways(self, subject: str, node: MapNode) -> Iterator[Fault]:
        """Points that stand behind directions, behind marks, and in lists of lists."""
        for key in ("toward", "side", "matched"):
            for way, entry in _entries(node, key).items():
                if key == "matched" and way not in self.points:
                    what = f"{subject} matched {way!r} is not a point of the survey"
                    mend = nearest(way, self.points) or "give it under points, with in: and at: on the part"
                    yield Fault(entry.mark, what, mend=mend)
                yield from self._names(f"{subject} {key}", entry.node, self.known, "a point of the survey")
        hinge = node.get("hinge")
        for dot in hinge.items if isinstance(hinge, ListNode) else ():
            yield from self._names(f"{subject} hinge", dot, self.known, "a point of the survey")

    def _checks(self) -> Iterator[Fault]:
        for place, node in enumerate(_items(self.raw.tree.get("checks")), start=1):
            subject = f"checks item {place}:"
            yield from self._names(f"{subject} between", node.get("between"), self.parts, "a part")
            yield from _repeated(subject, node, "between")
            known = [*TOOLS, *self.instruments]
            for tool in texts_of(node.get("with")):
                if tool not in known and "accuracy" not in node.entries:
                    what = f"{subject} with {str(tool)!r} is not known, needs one of {joined(list(TOOLS))}"
                    yield Fault(tool.mark, what, mend=nearest(tool, known) or "or say accuracy: 0.5 mm beside it")
            if not {"with", "accuracy"} & node.entries.keys():
                what = f"{subject} does not say how good it is, needs with or accuracy"
                yield Fault(node.mark, what, mend="write with: drill, feeler, calliper, clay or tape")


def _repeated(subject: str, node: MapNode, key: str) -> Iterator[Fault]:
    seen: set[str] = set()
    for name in texts_of(node.get(key)):
        if name in seen:
            yield Fault(name.mark, f"{subject} {key} names {str(name)!r} twice")
        seen.add(name)


def _entries(node: MapNode | None, key: str) -> Mapping[str, Entry]:
    below = node.get(key) if node else None
    return below.entries if isinstance(below, MapNode) else {}


def _items(node: Node | None) -> list[MapNode]:
    return [item for item in node.items if isinstance(item, MapNode)] if isinstance(node, ListNode) else []
