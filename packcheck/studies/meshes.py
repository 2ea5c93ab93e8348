"""How was each geometry file understood, and is its size believable?

Method
------
Every mesh is read in the units the scene states; nothing is guessed. The table says how it was understood: closed
solid or sheet, number of pieces, triangles, extents, what was repaired on the way in and what could not be.

A mesh whose longest side is under 5 mm or over 10 m draws the finding "odd size", undecided until the units are
looked at: a unit slip moves it by a factor of 10 to 1000. A mesh that is an open surface and has no `thickness` and
`side` has no inside: it draws the finding "open surface", and whatever it winds round is undecided.

Limits
------
A unit slip between mm and inches (a factor of 25.4) often leaves a believable size. Compare the sizes printed
here with the part on the bench.

Example
-------
    packcheck check scenes/hillclimb_rear_bay.yaml --json
"""

from __future__ import annotations

from collections.abc import Collection

from packcheck.assembly.assembly import Assembly
from packcheck.findings import Finding, Limit, Report, RuleNote, Table
from packcheck.proximity import Session
from packcheck.solids.meshes.files import MeshAccount

__all__ = ["ID", "run"]

ID = "meshes"

LEAST_SIDE, GREATEST_SIDE = 5.0, 10_000.0  # mm


def run(assembly: Assembly, session: Session, only: Collection[str] = ()) -> Report:  # noqa: ARG001
    """The account of every mesh, and a finding for each that is odd; `only` keeps these parts."""
    accounts = [
        (name, account)
        for name, several in assembly.accounts.items()
        for account in several
        if not only or name in only
    ]
    findings = [finding for name, account in accounts for finding in _findings(assembly, name, account)]
    return Report(assembly.scene.path, findings=tuple(findings), tables=(_table(accounts),) if accounts else ())


def _findings(assembly: Assembly, name: str, account: MeshAccount) -> list[Finding]:
    mark = assembly.scene.parts[name].mark
    found = []
    if account.odd_size:
        found.append(
            Finding(
                ID,
                (name,),
                "odd size",
                value=float(max(account.extents)),
                limit=Limit(must=LEAST_SIDE, most=GREATEST_SIDE),
                rule=RuleNote((name, "*"), f"{account.file}: {account.odd_size}", "common practice"),
                mark=mark,
            )
        )
    if not account.closed and not account.sheet:
        why = f"{account.file} is an open surface: say its `thickness` and `side`"
        found.append(
            Finding(ID, (name,), "open surface", limit=Limit(must=0.0), rule=RuleNote((name, "*"), why), mark=mark)
        )
    return found


def _table(accounts: list[tuple[str, MeshAccount]]) -> Table:
    columns = ("part", "file", "understood as", "pieces", "triangles", "size, mm", "repaired", "not repaired")
    return Table("meshes", "Geometry files", columns, tuple(_row(name, account) for name, account in accounts))


def _row(name: str, account: MeshAccount) -> tuple[str | int, ...]:
    understood = f"sheet, {account.sheet}" if account.sheet else "solid" if account.closed else "open surface"
    return (
        name,
        account.file,
        understood,
        account.pieces,
        account.triangles,
        " x ".join(f"{side:.0f}" for side in account.extents),
        "; ".join(account.repaired),
        "; ".join(account.unrepaired),
    )
