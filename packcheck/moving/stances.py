"""Where parts stand in the pose that decides a finding, worked out again from its data."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

import numpy as np

from packcheck.arrays import Floats
from packcheck.assembly.assembly import Assembly
from packcheck.findings import Finding
from packcheck.kinematics.joints import carried
from packcheck.kinematics.motions import Drive
from packcheck.surfaces import Stance

__all__ = ["stance", "stances"]


def stances(assembly: Assembly, findings: Iterable[Finding]) -> tuple[Stance, ...]:
    """Every pose that decides one of these findings, once each, in their order; rest is not among them."""
    found: dict[str, Stance] = {}
    for finding in findings:
        if finding.pose and set(finding.pose) <= set(assembly.motions.drives) and repr(finding.pose) not in found:
            found[repr(finding.pose)] = stance(assembly, finding.pose)
    return tuple(found.values())


def stance(assembly: Assembly, pose: Mapping[str, object]) -> Stance:
    """Where the parts that these motions carry stand; `pose` is as `telling.pose_data` gives it."""
    drives = [drive for name in pose for drive in assembly.motions.drives[name]]
    setting = np.array([_value(drive, pose[drive.motion]) for drive in drives])
    pieces = dict(_pieces(drives, setting))
    moved = {}
    for part in assembly.parts:
        motions = [name for name in assembly.motions.carrying(part) if name in pose]
        if motions:
            way = carried(assembly.motions.chain(part, motions, drives, pieces), setting)
            moved[part] = (way.rotation, way.translation)
    return Stance(pose, moved)


def _value(drive: Drive, told: Any) -> float:
    if not drive.word:
        return float(told)
    word, axis = drive.word.split()
    return float(told[word]["xyz".index(axis)])


def _pieces(drives: Iterable[Drive], setting: Floats) -> Iterator[tuple[str, int]]:
    """On which straight piece of its path a motion is; the last stop belongs to the last piece."""
    for drive, value in zip(drives, setting, strict=True):
        if drive.unit == "stop":
            yield drive.motion, int(np.clip(np.floor(value), drive.low, drive.high - 1)) - 1
