"""The library's front door: load a scene, check it, read the report.

>>> import packcheck
>>> bay = packcheck.load("scenes/first_steps.yaml")
>>> print(bay.check().verdict)
fail
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from math import inf
from pathlib import Path
from typing import TYPE_CHECKING

from packcheck.assembly.assembly import Assembly, assemble
from packcheck.assembly.restraint import deferring, refuse_restrained
from packcheck.budget import STANDARD, STANDARD_MOVES, Budget
from packcheck.comparison import Alternative
from packcheck.drawing.inventory import inventory
from packcheck.drawing.looks import exported_bay, surfaces
from packcheck.drawing.sweeping import swept_bay
from packcheck.drawing.weighing import corner_loads, total, weigh_parts
from packcheck.drawn import NetworkDrawing
from packcheck.errors import Fault, SceneError
from packcheck.findings import Finding, PairCount, Report, Table
from packcheck.joining import planned_joints, with_lost_joints
from packcheck.moves import with_moves
from packcheck.moving.stances import stances
from packcheck.moving.telling import deed
from packcheck.notes import notes_of
from packcheck.placing.placing import Stock
from packcheck.proximity import Session
from packcheck.scene import load_scene
from packcheck.scene.model.scene import Stage
from packcheck.studies import STUDIES, gaps, leeway, moving, weigh
from packcheck.studies.drawing import with_draws
from packcheck.studies.rules_table import rules_table
from packcheck.studies.surveys import survey
from packcheck.studies.surveys.readings import readings
from packcheck.studies.unstated import as_typed
from packcheck.surfaces import Model
from packcheck.surveying.survey_drawn import drawing_of, sheet_of
from packcheck.surveying.surveyed import Surveyed
from packcheck.threads import on_one_thread

if TYPE_CHECKING:
    from packcheck.scene.editing import Plan

__all__ = ["AS_WRITTEN", "Bay", "load"]

AS_WRITTEN = "as written"
"""What the scene without a layout is called beside its layouts."""


@dataclass(frozen=True, slots=True, eq=False)
class Bay:
    """A loaded scene, put together, with the session that remembers what was measured, and the meshes read."""

    assembly: Assembly
    session: Session = field(default_factory=Session)
    stock: Stock = field(default_factory=Stock)

    @on_one_thread
    def check(
        self,
        parts: Collection[str] = (),
        *,
        moves: bool = True,
        draws: int = 0,
        seed: int = 1,
        without: Collection[str] = (),
        budget: Budget | None = None,
    ) -> Report:
        """Every study that checks the scene as it stands, as one report.

        `parts` keeps findings that concern one of these; `moves=False` seeks no suggested moves; `draws` gaps that
        are only likely are drawn so many times at random, from `seed`; `without` leaves out studies by
        their ids; `budget` is of motions and moves. Raises SceneError when a part is not in the scene.
        """
        parts = self._with_air(self._members(parts))
        whole = Budget(STANDARD if moves else inf) if budget is None else budget
        asked = [study for name, study in STUDIES.items() if name not in without]
        more = {moving: (whole.begin(),)}
        reports: list[Report] = [s.run(self.assembly, self.session, parts, *more.get(s, ())) for s in asked]
        findings = tuple(finding for report in reports for finding in report.findings)
        if draws:
            findings = with_draws(self.assembly, self.session, findings, draws=draws, seed=seed)
        if moves:
            sought = whole.at_most(STANDARD_MOVES) if budget is None else whole
            findings = with_moves(self.assembly, self.session, findings, apart=bool(parts), budget=sought)
        findings = with_lost_joints(self.assembly, self.session, findings, self._as_written)
        findings = as_typed(self.assembly, deferring(self.assembly.scene, findings))
        scene = self.assembly.scene
        tables = [table for report in reports for table in report.tables]
        return replace(
            reports[0],
            title=scene.title,
            findings=tuple(sorted(findings, key=lambda finding: finding.sort_key)),
            moving=sum((report.moving for report in reports), PairCount()),
            tables=(*tables, *filter(None, [readings(self.assembly, self.session, findings)])),
            notes=notes_of(self.assembly),
            units=scene.units,
            families={name: part.family for name, part in scene.parts.items() if part.family},
            layout=scene.layout,
        )

    def _as_written(self) -> Assembly:
        """The scene without its layout, at the same stage, as it was read together with it."""
        scene = self.assembly.scene
        plain = scene.as_written() if scene.as_written is not None else scene
        return assemble(replace(plain, stage=scene.stage), stock=self.stock)

    @on_one_thread
    def joined(self, findings: Sequence[Finding]) -> Plan:
        """What stating the pairs of `findings` as joints changes in the scene's files: shown, then written."""
        return planned_joints(self.assembly, findings)

    def inventory(self, parts: Collection[str] = ()) -> Table:
        """Every part in words, as it stands in the car; `parts` keeps these."""
        return inventory(self.assembly, self._members(parts))

    @on_one_thread
    def survey(self, parts: Collection[str] = ()) -> Report:
        """What the readings come to, as tables, and in words what is wrong or weak in them."""
        return survey.run(self.assembly, self.session, self._members(parts))

    @on_one_thread
    def survey_drawing(self) -> NetworkDrawing:
        """The points and readings of the survey, to be drawn. Raises SceneError when the scene has none."""
        return drawing_of(self._surveyed())

    @on_one_thread
    def measuring_sheet(self) -> Table:
        """A line for each reading of the survey. Raises SceneError when the scene has none."""
        return sheet_of(self._surveyed())

    def _surveyed(self) -> Surveyed:
        if self.assembly.surveyed is None:
            raise SceneError([Fault(None, f"{self.assembly.scene.path}: this file holds no survey")])
        return self.assembly.surveyed

    def rules(self, parts: Collection[str] = ()) -> Table:
        """Which limit applies between which parts, and why; `parts` keeps the pairs that hold one of these."""
        return rules_table(self.assembly.rules, list(self.assembly.parts), list(self._members(parts)))

    @on_one_thread
    def weigh(self, parts: Collection[str] = (), *, beside: Sequence[Bay] = ()) -> Report:
        """What everything weighs, as tables; `beside` are other layouts, whose change against this one is added.

        `parts` keeps the rows of these. Raises SceneError when a part is not in the scene.
        """
        parts = self._members(parts)
        report: Report = weigh.run(self.assembly, self.session, parts)
        if not beside:
            return report
        bays = {_called(bay): bay for bay in (self, *beside)}
        sums = {name: total(weigh_parts(bay.assembly)) for name, bay in bays.items()}
        loads = {
            name: None if whole is None else corner_loads(bays[name].assembly, whole.centre, whole.mass)
            for name, whole in sums.items()
        }
        told = [weigh.weights_table(sums, _called(self))]
        told += [weigh.loads_table(loads, _called(self))] if any(loads.values()) else []
        return replace(report, tables=(*told, *report.tables))

    @on_one_thread
    def leeway(self, part: str) -> Report:
        """How far `part` may travel and turn before a limit is missed, and what stops it, as a table.

        Raises SceneError when the part is not in the scene, or is a restraint.
        """
        self._refuse_strangers([part])
        refuse_restrained(self.assembly, part)
        report: Report = leeway.run(self.assembly, self.session, [part])
        return report

    @on_one_thread
    def pair(self, subjects: tuple[str, ...]) -> Finding | None:
        """The gap finding of two parts, whatever its verdict and however far apart they are.

        None when nothing is asked of them, or one of them is not in the scene.
        """
        if len(subjects) != 2 or not set(subjects) <= set(self.assembly.parts):
            return None
        a, b = sorted(subjects, key=list(self.assembly.parts).index)
        return gaps.pair_finding(self.assembly, self.session, a, b, inf)

    @on_one_thread
    def alternative(self, name: str) -> Alternative:
        """This bay as one of several arrangements, called `name`: checked, without moves, and weighed."""
        weighed = weigh_parts(self.assembly)
        whole = total(weighed)
        return Alternative(
            name,
            self.check(moves=False),
            self.pair,
            None if whole is None else whole.mass,
            None if whole is None else whole.centre,
            sum(one.mass is None for one in weighed.values()),
        )

    def _members(self, names: Collection[str]) -> tuple[str, ...]:
        """The parts that are meant, a row by all its members. Raises SceneError when one is not in the scene."""
        rows: dict[str, list[str]] = {}
        for name, part in self.assembly.scene.parts.items():
            rows.setdefault(part.family or name, []).append(name)
        self._refuse_strangers([name for name in names if name not in rows])
        return tuple(dict.fromkeys(member for name in names for member in rows.get(name, [name])))

    def _with_air(self, names: Collection[str]) -> tuple[str, ...]:
        """The parts, and the air that each of them needs."""
        parts = self.assembly.scene.parts.values()
        return tuple(dict.fromkeys([*names, *(part.name for part in parts if part.air_of in names)]))

    @property
    def sources(self) -> tuple[Path, ...]:
        """Every file the scene is made from or names: scenes, tables, sheets, meshes, other layouts too."""
        return self.assembly.scene.sources

    def model(self, report: Report | None = None) -> Model:
        """The bay to be looked at: every part as it stands, and the text of the scene files.

        With a `report`, where its motions put the parts in the poses that decide its findings.
        """
        scene = self.assembly.scene
        axes = (scene.axes.x, scene.axes.y, scene.axes.z)
        texts = tuple(
            (file.as_posix(), file.read_text("utf-8-sig", "replace")) for file in scene.files if file.is_file()
        )
        poses = () if report is None else stances(self.assembly, report.findings)
        return Model(surfaces(self.assembly), axes, texts, poses)

    def exported(self, suffix: str, report: Report | None = None) -> bytes:
        """The posed bay as the bytes of a file: `suffix` is .glb, .stl, .ply or .obj.

        With a `report` the gap of each of its findings is in it, as a rod between the witness points.
        """
        return exported_bay(self.assembly, suffix, () if report is None else report.findings)

    def swept(self, motion: str, copies: int = 13, *, alone: bool = False) -> bytes:
        """What `motion` carries, at several settings along its way, as the bytes of a GLB file: not a proof.

        Of a full turn, all that is swept as well, as one solid of revolution.

        `alone` leaves out everything else. Raises SceneError when the scene has no such motion.
        """
        return swept_bay(self.assembly, motion, copies, alone=alone)

    def deed(self, motion: str) -> str:
        """What a motion of the scene does, in words."""
        return deed(self.assembly, self.assembly.scene.motions[motion])

    def _refuse_strangers(self, names: Collection[str]) -> None:
        known = list(self.assembly.parts)
        strangers = [name for name in names if name not in known]
        if strangers:
            raise SceneError([_stranger(self.assembly.scene.path, name, known) for name in strangers])


def _called(bay: Bay) -> str:
    """The name of a bay's layout, or what stands for the scene without one."""
    return bay.assembly.scene.layout or AS_WRITTEN


def _stranger(path: str, name: str, known: list[str]) -> Fault:
    near = get_close_matches(name, known, n=1)
    mend = f"did you mean '{near[0]}'?" if near else f"the scene's parts are {', '.join(known) or 'none'}"
    return Fault(None, f"{path}: there is no part '{name}' in this scene", mend=mend)


@on_one_thread
def load(
    path: str | Path,
    *,
    layout: str | None = None,
    stage: Stage | None = None,
    use_cache: bool = True,
    trust: bool = True,
) -> Bay:
    """Read a scene file, as written or as one of its layouts has it, and put it together.

    `stage` leaves out the parts that are gone by then, whatever stage the file states. With `trust` off, a survey
    that lacks something is used as far as it goes, to be looked at.

    Raises SceneError with every fault of the file and what it includes: file, line, column, why and mend.
    """
    scene, stock = load_scene(path, layout), Stock()
    scene = replace(scene, stage=stage) if stage else scene
    return Bay(assemble(scene, use_cache=use_cache, stock=stock, trust=trust), stock=stock)
