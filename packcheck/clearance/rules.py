"""Which clearance applies between two parts, and why?

Method
------
A rule stands between two names, each a part, a kind or `*`. It asks for a least gap `must`, maybe a better gap
`want`, and a gap `moving` that remains at the worst pose of a modelled motion. Where `moving` is not stated it is
`must`, except in rows of packcheck that are common practice about touching, and for a default: half of `must`.
Rules come from the scene (`clearances.rules`) and, with `use: common`, from the table packaged with packcheck.

Of all rules that apply to a pair **the largest wins**: the limit is the largest `must`, the wanted gap the largest
`want` above it, the moving gap the largest one; each figure is told with the source of its own row. Where no rule
applies, the scene's `clearances.default` does; where the scene states none, the packaged defaults (5 mm between
parts on one carrier, 10 mm across carriers), and with `use: none` 10 mm.

The only way under another rule is a rule that names both parts and says `lower: true` and `why`; reports then print
"lowered from 10 to 3, line 31". Parts joined by `bolted_to` are asked to touch instead, and the rules by kind are
off for that pair. Where a part `goes_into` another nothing is asked of the two: neither gap nor depth is measured,
and reports say so.

Room that must stay free (kinds `access` and `keep_out`, and the air that a part `needs`) asks for no overlap and
nothing more, whatever the rules say of `*`; a rule that names it asks what it says. Room may overlap other
room, and what is joined to a part, or goes into it, may stand in the air which that part needs; where the boxes of
the two meet, reports say that it was not measured.

Two parts are on *one part* when one is placed in the other or both hang on the same part, and on *one frame* when
both hang on the same named frame. Parts on one part or one frame are on one carrier.

Limits
------
Rules of packcheck marked "published figure" quote a text written for the vehicles it names; they are not a
statement of compliance. Rules marked second-hand were read as quoted by others; the rest is common practice. A
figure that is halved, lowered or read across to other parts is common practice, and says from what.

Example
-------
    clearances:
      rules:
        - {between: [fuel, exhaust], gap: {must: 50 mm, want: 100 mm}, why: radiant heat}
        - {between: [pump, "*"], gap: 8 mm}
        - {between: [pump, bracket_rib], gap: 3 mm, lower: true, why: cast boss, checked by hand}
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from packcheck.arrays import Floats
from packcheck.clearance.rooms import Rooms
from packcheck.clearance.rows import Labels, Row, default_row, packaged, scene_row
from packcheck.clearance.unasked import Unasked
from packcheck.findings import Limit, RuleNote, SourceMark
from packcheck.placing.carriers import Relation, carrier, relation
from packcheck.scene.model.scene import CAR, Scene

__all__ = ["Asked", "RuleBook"]

MM_PER_INCH = 25.4


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of the gap between two parts: at rest, and at the worst pose of a motion (mm).

    `rule` asks the first and `moving_rule` the second; they may be two.
    """

    limit: Limit
    moving: float
    rule: RuleNote
    moving_rule: RuleNote
    mark: SourceMark | None = None

    @property
    def lowered(self) -> str:
        """ "lowered from 10 to 3, line 31" when a rule was gone under on purpose, else empty."""
        return self.rule.lowered

    @property
    def reach(self) -> float:
        """Gap beyond which nothing is asked, mm."""
        must, want = self.limit.must, self.limit.want
        assert must is not None
        return must if want is None else want


class RuleBook:
    """Every clearance rule in force in a scene. Build it with `RuleBook.of`."""

    def __init__(self, scene: Scene, rows: Sequence[Row], defaults: Sequence[Row]) -> None:
        names_parts = [bool(set(row.between) & scene.parts.keys()) for row in rows]
        self._scene = scene
        self._by_kind = [row for row, named in zip(rows, names_parts, strict=True) if not named]
        self._by_name = [row for row, named in zip(rows, names_parts, strict=True) if named]
        self._defaults = {place: row for row in defaults for place in row.when}
        self._carriers = {name: carrier(scene, name) for name in scene.parts}
        self._labels: dict[str, Labels] = {
            name: frozenset({name, *part.kinds}) for name, part in scene.parts.items()
        }
        self.rooms = Rooms(scene, rows)
        self._joints = {pair for name, part in scene.parts.items() for pair in _joints(name, part.bolted_to)}
        self.unasked = Unasked(scene, self.rooms, self._joints)
        self._naming = defaultdict(list)
        for row in self._by_name:
            for name in set(row.between) & scene.parts.keys():
                self._naming[name].append(row)
        self._kind_memo: dict[tuple[tuple[str, ...], tuple[str, ...], Relation], Asked] = {}

    @classmethod
    def of(cls, scene: Scene) -> RuleBook:
        """The rules of a scene and, unless it says `use: none`, the packaged ones."""
        clearances = scene.clearances
        own = [scene_row(rule, index) for index, rule in enumerate(clearances.rules)]
        common, common_defaults = packaged() if clearances.use == "common" else ((), ())
        if clearances.default is not None or not common_defaults:
            return cls(scene, [*own, *common], [default_row(scene)])
        return cls(scene, [*own, *common], common_defaults)

    def limit(self, a: str, b: str) -> Asked:
        """What is asked between parts `a` and `b` (either order), joints left aside.

        Raises
        ------
        KeyError
            If the scene has no such part.
        """
        place = relation(self._carriers[a], self._carriers[b])
        if self.rooms.between(a, b):
            return _largest([*self.rooms.rows(self._labels[a], self._labels[b])])
        if a in self._naming or b in self._naming:
            return self._decide(self._labels[a], self._labels[b], place, self._rows_between(a, b))
        parts = self._scene.parts
        key = (parts[a].kinds, parts[b].kinds, place)
        if key not in self._kind_memo:
            self._kind_memo[key] = self._decide(self._labels[a], self._labels[b], place, self._by_kind)
        return self._kind_memo[key]

    def joint(self, a: str, b: str) -> bool:
        """Whether two parts are joined on purpose: either one is `bolted_to` the other."""
        return (a, b) in self._joints

    @property
    def seat(self) -> float:
        """Overlap still called touching between joined parts, mm."""
        return self._scene.clearances.seat

    def lowered(self) -> tuple[str, ...]:
        """Every pair whose limit was lowered on purpose, in words, in the order of the rules."""
        pairs = [row.between for row in self._by_name if row.lower]
        asked = [(pair, self.limit(*pair)) for pair in dict.fromkeys(pairs) if set(pair) <= self._labels.keys()]
        return tuple(
            f"{a} and {b}: {found.lowered}{f' ({found.rule.why})' if found.rule.why else ''}"
            for (a, b), found in asked
            if found.lowered
        )

    def reach_matrix(self, names: Sequence[str]) -> Floats:
        """How far apart two parts may be before nothing is asked of their gap.

        Parameters
        ----------
        names : n part names

        Returns
        -------
        (n, n) array
            The larger of `must` and `want` of each pair, mm; symmetric, zero on the diagonal.

        Notes
        -----
        One table by kinds and relation, spread over the pairs, then patched by the rules that name parts:
        about 0.2 s for 1600 parts.
        """
        relations = self._relation_matrix(names)
        reach = self._reach_by_kind(names, relations)
        for row in self._by_name:
            if not row.lower:
                self._patch(reach, names, row)
        for place, row in self._defaults.items():
            reach[(relations == place) & np.isneginf(reach)] = row.reach
        self._patch_lowered(reach, names)
        self._patch_room(reach, names)
        np.fill_diagonal(reach, 0.0)
        return reach

    @property
    def furthest(self) -> float:
        """The greatest distance at which anything may be asked of two parts, mm."""
        return max((row.reach for row in (*self._by_kind, *self._by_name, *self._defaults.values())), default=0.0)

    def _rows_between(self, a: str, b: str) -> Iterable[Row]:
        first, second = sorted((a, b))  # of equal rules the same one speaks, whichever part is named first
        return [*self._naming.get(first, ()), *self._naming.get(second, ()), *self._by_kind]

    def _decide(self, a: Labels, b: Labels, place: Relation, rows: Iterable[Row]) -> Asked:
        applying = list(dict.fromkeys(row for row in rows if place in row.when and row.applies(a, b)))
        lowering = [row for row in applying if row.lower]
        usual = _largest([row for row in applying if not row.lower] or [self._defaults[place]])
        if not lowering:
            return usual
        low = _largest(lowering)
        if not _goes_under(low, usual):
            return _largest(applying)
        text = self._lowered_text(usual, low)
        moving_rule = replace(low.moving_rule, lowered=text) if low.moving < usual.moving else low.moving_rule
        return replace(low, rule=replace(low.rule, lowered=text), moving_rule=moving_rule)

    def _lowered_text(self, usual: Asked, low: Asked) -> str:
        what, before, after = "lowered", usual.limit.must, low.limit.must
        if before == after:
            what, before, after = "wanted gap lowered", usual.limit.want, low.limit.want
        at = "" if low.mark is None or not low.mark.line else f", line {low.mark.line}"
        if at and low.mark is not None and low.mark.file != self._scene.path:
            at = f"{at} of {low.mark.file}"
        return f"{what} from {self._figure(before)} to {self._figure(after)}{at}"

    def _figure(self, length: float | None) -> str:
        if length is None:
            return "none"
        return f"{length / MM_PER_INCH:.3f} in" if self._scene.units == "in" else f"{length:g}"

    def _relation_matrix(self, names: Sequence[str]) -> npt.NDArray[np.intp]:
        carriers = [self._carriers[name] for name in names]
        part = _numbered([hung.part for hung in carriers])
        frame = _numbered([hung.frame for hung in carriers])
        named = np.array([hung.frame != CAR for hung in carriers], dtype=np.bool_)
        relations = np.full((len(names), len(names)), Relation.APART, dtype=np.intp)
        relations[(frame[:, None] == frame) & named[:, None]] = Relation.ONE_FRAME
        relations[part[:, None] == part] = Relation.ONE_PART
        return relations

    def _reach_by_kind(self, names: Sequence[str], relations: npt.NDArray[np.intp]) -> Floats:
        kinds = [frozenset(self._scene.parts[name].kinds) for name in names]
        groups = list(dict.fromkeys(kinds))
        table = np.full((len(Relation), len(groups), len(groups)), -np.inf)
        for row in self._by_kind:
            one, other = _sides(row, groups)
            asked = np.where((one[:, None] & other) | (other[:, None] & one), row.reach, -np.inf)
            for place in row.when:
                np.maximum(table[place], asked, out=table[place])
        place_of = {group: index for index, group in enumerate(groups)}
        group = np.array([place_of[kind] for kind in kinds], dtype=np.intp)
        reach: Floats = table[relations, group[:, None], group]
        return reach

    def _patch(self, reach: Floats, names: Sequence[str], row: Row) -> None:
        one, other = _sides(row, [self._labels[name] for name in names])
        for first, second in ((one, other), (other, one)):
            block = np.ix_(np.flatnonzero(first), np.flatnonzero(second))
            reach[block] = np.maximum(reach[block], row.reach)

    def _patch_room(self, reach: Floats, names: Sequence[str]) -> None:
        for i, name in enumerate(names):
            if name in self.rooms.names:
                ruled = names if self.rooms.ruled else ()
                reach[i] = reach[:, i] = 0.0
                for j, other in enumerate(ruled):
                    reach[i, j] = reach[j, i] = 0.0 if i == j else self.limit(name, other).reach

    def _patch_lowered(self, reach: Floats, names: Sequence[str]) -> None:
        index = {name: place for place, name in enumerate(names)}
        for row in self._by_name:
            first, second = row.between
            if row.lower and first in index and second in index:
                i, j = index[first], index[second]
                reach[i, j] = reach[j, i] = self.limit(first, second).reach


def _joints(name: str, bolted_to: Iterable[str]) -> Iterable[tuple[str, str]]:
    return [pair for other in bolted_to for pair in ((name, other), (other, name))]


def _largest(rows: Sequence[Row]) -> Asked:
    """The limit that several rows come to: largest must, largest want above it, largest moving gap."""
    first = max(rows, key=lambda row: (row.must, row.of_scene, row.reach))
    wanting = [row for row in rows if row.want is not None and row.want > first.must]
    better = max(wanting, key=lambda row: (row.reach, row is first), default=None)
    why = first.why
    if better is not None and better is not first:
        why = "; ".join(filter(None, [why, f"wanted between {' and '.join(better.between)}: {better.why}"]))
    asking = max(rows, key=lambda row: (row.remains, row is first, row.of_scene))
    return Asked(
        Limit(first.must, None if better is None else better.want),
        asking.remains,
        RuleNote(first.between, why, first.source, want_source="" if better is None else better.want_source),
        RuleNote(asking.between, asking.why, asking.remains_source),
        first.mark,
    )


def _goes_under(low: Asked, usual: Asked) -> bool:
    assert low.limit.must is not None
    assert usual.limit.must is not None
    if low.limit.must != usual.limit.must:
        return low.limit.must < usual.limit.must
    return low.reach < usual.reach


def _sides(row: Row, labels: Sequence[Labels]) -> tuple[npt.NDArray[np.bool_], npt.NDArray[np.bool_]]:
    """Which of several parts the first and the second name of a row mean."""
    one, other = ([row.reaches(side, label) for label in labels] for side in (0, 1))
    return np.array(one, dtype=np.bool_), np.array(other, dtype=np.bool_)


def _numbered(names: Sequence[str]) -> npt.NDArray[np.intp]:
    """Equal names as equal numbers."""
    numbers = {name: number for number, name in enumerate(dict.fromkeys(names))}
    return np.array([numbers[name] for name in names], dtype=np.intp)
