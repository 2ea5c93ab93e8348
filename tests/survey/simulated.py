"""Measured bays with a known truth: a block in a frame of three points, and a pump laid on four marks.

Everything is drawn: where the anchors, the block and the pump are, how they are turned, and what each tape and
level reads. The survey then sees the readings alone, and the gap it predicts is held beside the true one.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from packcheck.arrays import Floats, Point
from packcheck.assembly.assembly import Assembly, assemble
from packcheck.findings import Finding
from packcheck.frames import Pose, turn_degrees
from packcheck.proximity import Session
from packcheck.scene.model.scene import Box, Clearances, Frame, Part, Scene, SolidSpec
from packcheck.scene.model.survey import Match, Observation, Place, Survey, SurveyPoint
from packcheck.studies.gaps import pair_finding

__all__ = ["TAPE", "Simulated", "predicted", "simulate"]

TAPE = 0.8
"""mm, standard, of every tape."""

LEVEL = 1.0
MARKING = 0.3

ANCHORS = np.array(
    [
        (420, 560, 520),
        (420, -560, 520),
        (900, 430, 90),
        (900, -430, 90),
        (60, 500, 120),
        (60, -500, 120),
        (0, 0, 640),
    ],
    dtype=float,
)
FRAME_POINTS = {"origin": (0, 0, 0), "fore": (600, 0, 0), "high": (0, 0, 280)}
MARKS = {"low": (-30, 0, -85), "top": (-30, 0, 85), "rear": (-30, -28, 0), "side": (26, 26, 40)}
WIDE = Clearances(default=1000.0, use="none")


@dataclass(frozen=True)
class Simulated:
    """A scene as the survey sees it, its true gap, mm, and the blunder planted: the label of its reading."""

    scene: Scene
    true_gap: float
    blunder: str = ""


def _parts(in_frame: str) -> dict[str, Part]:
    block = Part(
        "block", (SolidSpec(Box((600, 270, 430)), ("min", "mid", "min")),), parent=in_frame, at=(0, 0, -95)
    )
    pump = Part("pump", (SolidSpec(Box((60, 56, 170)), ("mid", "mid", "mid")),))
    return {"block": block, "pump": pump}


def simulate(rng: np.random.Generator, *, noise: float = 1.0, blunder: float = 0.0, aim: str = "") -> Simulated:
    """One bay, its readings off by `noise` times what is stated, one of them by `blunder` mm more.

    `aim` is the label of the reading to spoil; drawn when empty.
    """
    anchors = {f"anchor_{k}": at + rng.uniform(-40, 40, 3) for k, at in enumerate(ANCHORS)}
    frame = Pose.of(rng.uniform((150, -40, 150), (260, 40, 260)), rng.uniform(-4, 4, 3))
    pump = Pose.of(rng.uniform((350, 190, 180), (600, 330, 330)), rng.uniform(-25, 25, 3))
    true = {name: frame.apply(np.array(at, float)) for name, at in FRAME_POINTS.items()}
    for name, at in MARKS.items():  # a mark is not quite where it should be on its part
        true[f"at_{name}"] = pump.apply(np.array(at, float) + rng.normal(size=3) * MARKING * noise)
    observations = _read(rng, {**anchors, **true}, list(anchors), list(true), noise)
    label = ""
    if blunder:
        tapes = [one.label for one in observations if one.kind == "tape"]
        label = aim or tapes[int(rng.integers(len(tapes)))]
        observations = [_spoilt(one, blunder) if one.label == label else one for one in observations]
    return Simulated(_scene(anchors, list(true), observations), _true_gap(frame, pump), label)


def _spoilt(one: Observation, blunder: float) -> Observation:
    return replace(one, values=(one.values[0] + blunder,))


def _read(
    rng: np.random.Generator, at: dict[str, Point], anchors: list[str], wanted: list[str], noise: float
) -> list[Observation]:
    """Five tapes to each wanted point, and a level between every two of them that follow each other."""
    made = []
    for name in wanted:
        for anchor in rng.permutation(anchors)[:5]:
            length = float(np.linalg.norm(at[name] - at[anchor])) + noise * TAPE * float(rng.normal())
            made.append(Observation("tape", f"tape {anchor}-{name}", (str(anchor), name), (length,), TAPE))
    for first, second in pairwise(wanted):
        rise = float(at[second][2] - at[first][2]) + noise * LEVEL * float(rng.normal())
        made.append(Observation("level", f"level {first}-{second}", (first, second), (rise,), LEVEL))
    return made


def _scene(anchors: dict[str, Point], wanted: list[str], observations: list[Observation]) -> Scene:
    points = {name: SurveyPoint(name, "car", _triple(at)) for name, at in anchors.items()}
    points |= {
        f"mark_{name}": SurveyPoint(f"mark_{name}", "pump", _triple(np.array(at))) for name, at in MARKS.items()
    }
    points |= {name: SurveyPoint(name) for name in wanted}
    engine = Place("engine", "points", ("origin", "fore", "high"), ("aft", "up"))
    matches = tuple(Match(f"mark_{name}", f"at_{name}") for name in MARKS)
    survey = Survey(
        points=points,
        observations=tuple(observations),
        places={"engine": engine, "pump": Place("pump", "matched", matches=matches, standard=MARKING)},
    )
    return Scene(
        "bay.yaml", frames={"engine": Frame("engine")}, parts=_parts("engine"), clearances=WIDE, survey=survey
    )


def _triple(at: Floats) -> tuple[float, float, float]:
    x, y, z = (float(v) for v in at)
    return x, y, z


def _true_gap(frame: Pose, pump: Pose) -> float:
    parts = _parts("engine")
    parts["pump"] = replace(parts["pump"], at=_triple(pump.translation), turn=turn_degrees(pump.rotation))
    placed = Frame("engine", at=_triple(frame.translation), turn=turn_degrees(frame.rotation))
    scene = Scene("true.yaml", frames={"engine": placed}, parts=parts, clearances=WIDE)
    assembly = assemble(scene)
    return Session().gap(assembly.parts["block"], assembly.parts["pump"]).value


def predicted(simulated: Simulated) -> tuple[Assembly, Finding]:
    """What the survey makes of the bay, and the gap it predicts."""
    assembly = assemble(simulated.scene, trust=False)
    finding = pair_finding(assembly, Session(), "block", "pump")
    assert finding is not None
    return assembly, finding
