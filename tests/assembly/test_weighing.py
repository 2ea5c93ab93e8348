"""Weights in the car: where masses come from, the centre of several, loads on the wheels."""

from __future__ import annotations

import json
from math import pi
from pathlib import Path

import pytest

import packcheck
from packcheck.bay import Bay
from packcheck.data import materials
from packcheck.drawing.weighing import corner_loads, total, weigh_parts
from packcheck.scene.model.scene import Box, Cylinder, Frame, Pipe, Sphere, Wheels
from tests.bays import bay, part
from tests.cli.running import run
from tests.scene.writing import faults_of, scene_of, write

ROOT = Path(__file__).parents[2]
WHEELS = Wheels((-1000, -700, -300), (-1000, 700, -300), (1500, -650, -300), (1500, 650, -300))


def weighed(made: Bay, name: str = "a") -> float | None:
    return weigh_parts(made.assembly)[name].mass


def test_mass_from_density_and_volume() -> None:
    """Oracle: by head: 10 cm of steel, 7850 kg/m3, is 7.85 kg."""
    assert weighed(bay(part("a", Box((100, 100, 100)), material="steel"))) == pytest.approx(7.85)


def test_a_tube_of_the_frame_weighs_its_wall() -> None:
    """Oracle: closed form: steel tube 38 x 1.5, a metre of it: pi / 4 (38^2 - 35^2) x 7.85e-6 = 1.350 kg (a stock
    list prints 1.35 kg/m; from memory)."""
    rail = part("a", Pipe(38, ((0, 0, 0), (1000, 0, 0))), material="steel", wall=1.5)
    assert weighed(bay(rail)) == pytest.approx(pi / 4 * (38**2 - 35**2) * 1000 * 7.85e-6)
    assert weighed(bay(rail)) == pytest.approx(1.35, abs=0.005)


def test_a_given_mass_wins_and_no_mass_is_none() -> None:
    made = bay(part("a", Box((10, 10, 10)), mass=2.5, material="lead"), part("b", Box((10, 10, 10))))
    assert (weighed(made), weighed(made, "b")) == (2.5, None)
    whole = total(weigh_parts(made.assembly))
    assert whole is not None and whole.mass == 2.5


def test_nothing_with_a_mass_has_no_sum() -> None:
    assert total(weigh_parts(bay(part("b", Box((10, 10, 10)))).assembly)) is None


def test_the_centre_of_two_parts_on_a_turned_frame() -> None:
    """Oracle: lever rule: 3 kg and 1 kg, 400 mm apart along a frame's x, which points to the car's y."""
    frames = {"turned": Frame("turned", at=(100, 0, 0), turn=(0, 0, 90))}
    one = part("a", Sphere(20), parent="turned", mass=3.0)
    other = part("b", Sphere(20), parent="turned", at=(400, 0, 0), mass=1.0)
    whole = total(weigh_parts(bay(one, other, frames=frames).assembly))
    assert whole is not None
    assert whole.centre == pytest.approx([100, 100, 0])
    assert whole.inertia[0, 0] == pytest.approx(3 * 100**2 + 1 * 300**2 + 4 * 2 / 5 * 10**2)


def test_bounds_hold_the_range_of_the_material() -> None:
    made = weigh_parts(bay(part("a", Box((100, 100, 100)), material="cast_iron")).assembly)["a"].bulk
    assert made is not None
    assert (made.low, made.volume, made.high) == pytest.approx((6.8, 7.2, 7.8))


def test_an_envelope_weighs_at_most_what_it_comes_to() -> None:
    made = weigh_parts(bay(part("a", Box((100, 100, 100)), material="steel", fit="encloses")).assembly)["a"]
    assert made.bulk is not None and made.bulk.low == 0.0
    assert "too much" in made.basis


def test_shapes_that_share_room_are_told() -> None:
    apart = part("a", Box((10, 10, 10)), material="steel")
    twice = part("b", Box((10, 10, 10)), Cylinder(8, 30), material="steel")
    made = weigh_parts(bay(apart, twice).assembly)
    assert not made["a"].doubts
    assert "counts twice" in made["b"].doubts[0]


def test_wheel_loads_by_the_lever_rule() -> None:
    """Oracle: lever rule (Milliken, Race Car Vehicle Dynamics, from memory: a = L W_r / W): 100 kg a quarter of the
    way from the front axle, on the centreline: 75 front, 25 rear, halves across."""
    made = bay(part("a", Sphere(20), at=(-375, 0, 100), mass=100.0), wheels=WHEELS)
    whole = total(weigh_parts(made.assembly))
    assert whole is not None
    loads = corner_loads(made.assembly, whole.centre, whole.mass)
    assert loads == pytest.approx({"front_left": 37.5, "front_right": 37.5, "rear_left": 12.5, "rear_right": 12.5})


def test_wheel_loads_balance_about_any_point() -> None:
    """Oracle: statics: the loads' moments about both level axes are those of the weight, behind the axle too."""
    made = bay(part("a", Sphere(20), at=(1800, 210, 100), mass=80.0), wheels=WHEELS)
    loads = corner_loads(made.assembly, made.assembly.poses["a"].translation, 80.0)
    assert loads is not None and sum(loads.values()) == pytest.approx(80)
    assert sum(kg * getattr(WHEELS, name)[0] for name, kg in loads.items()) == pytest.approx(80 * 1800)
    assert sum(kg * getattr(WHEELS, name)[1] for name, kg in loads.items()) == pytest.approx(80 * 210)
    assert loads["front_left"] < 0  # it lifts the front


@pytest.mark.parametrize(
    ("text", "kilograms"), [("2.4 kg", 2.4), ("850 g", 0.85), ("2", 2), ("5 lb", 2.26796185), ("8 oz", 0.226796185)]
)
def test_masses_as_they_are_written(tmp_path: Path, text: str, kilograms: float) -> None:
    """Oracle: the pound is 0.45359237 kg."""
    scene = scene_of(tmp_path, f"parts: {{a: {{box: [1, 1, 1], mass: {text}}}}}")
    assert scene.parts["a"].mass == pytest.approx(kilograms)


@pytest.mark.parametrize(
    ("key", "what", "mend"),
    [
        ("mass: 0", "mass is 0 kg, needs more than 0", ""),
        ("mass: heavy", "mass is 'heavy', needs a mass", "write 2.4 kg"),
        ("mass: 3 kgs", "has the unknown unit 'kgs'", "did you mean 'kg'?"),
        ("material: stel", "material is 'stel', needs a material of the table", "did you mean 'steel'?"),
    ],
)
def test_weights_written_wrongly(tmp_path: Path, key: str, what: str, mend: str) -> None:
    (fault,) = faults_of(tmp_path, f"parts: {{a: {{box: [1, 1, 1], {key}}}}}")
    assert what in fault.what and fault.mend.startswith(mend)


def test_wheels_on_the_wrong_side_are_told(tmp_path: Path) -> None:
    text = """
    parts: {a: {box: [1, 1, 1]}}
    wheels:
      front_left: [0, 700 right, 0]
      front_right: [0, 700 left, 0]
      rear_left: [2000, 700 left, 0]
      rear_right: [2000, 700 right, 0]
    """
    (fault,) = faults_of(tmp_path, text)
    assert fault.what == "wheels has front_left not left of front_right"


def test_every_material_has_a_range_and_a_source() -> None:
    for name, row in materials().items():
        assert row.low <= row.density <= row.high, name
        assert row.source, name


SCENE = """\
packcheck: 1
parts:
  tray: {box: [100, 100, 10], at: [500, 0, 0], material: aluminium}
  tank: {box: [200, 100, 100], at: [500, 0, 200], wall: 2 mm, material: steel}
  wires: {pipe: {outside: 10, through: [[0, 0, 0], [90, 0, 0]]}, at: [0, 900, 0]}
layouts:
  aft: {parts: {tank: {at: [600, 0, 200]}}}
"""


def test_the_command_lists_what_has_no_mass_and_what_a_part_holds(tmp_path: Path) -> None:
    """Oracle: by head: 196 x 96 x 96 mm is 1.806 l, and the walls are 2 l less that, 1.520 kg of steel."""
    path = write(tmp_path, SCENE)
    told = run("weigh", path)
    assert told.exit_code == 0
    assert "1.806" in told.output and "1.52" in told.output
    assert "Without a mass: 1" in told.output and "no mass and no material" in told.output
    tables = {table["id"]: table for table in json.loads(run("weigh", path, "--json").output)["tables"]}
    assert dict(tables["sums"]["rows"])["mass, kg"] == pytest.approx(0.27 + 1.520, abs=0.001)


def test_the_change_between_layouts(tmp_path: Path) -> None:
    """Oracle: lever rule: moving 1.520 kg of 1.790 by 100 mm moves the centre by 84.9 mm."""
    path = write(tmp_path, SCENE)
    told = run("weigh", path, "--layout", "aft", "--layout", "aft", "--json")
    tables = {table["id"]: table for table in json.loads(told.output)["tables"]}
    assert tables["weights_of_layouts"]["rows"][0][1] == pytest.approx(1.790, abs=0.001)
    from packcheck import load

    report = load(path).weigh(beside=[load(path, layout="aft")])
    (base, aft) = report.tables[0].rows
    assert base[0] == "as written" and aft[0] == "aft"
    assert aft[6] == pytest.approx(100 * 1.520 / 1.790, abs=0.05)


def test_the_loads_of_layouts_and_what_changes(tmp_path: Path) -> None:
    """Oracle: lever rule: 10 kg of 20 moved 500 mm back on a wheelbase of 2500 shift 2 kg from front to rear."""
    text = """\
packcheck: 1
parts:
  still: {box: [9, 9, 9], at: [250, 0, 0], mass: 10 kg}
  tank: {box: [9, 9, 9], at: [0, 0, 90], mass: 10 kg}
wheels: {front_left: [-1000, -700, 0], front_right: [-1000, 700, 0], rear_left: [1500, -700, 0],
  rear_right: [1500, 700, 0]}
layouts: {aft: {parts: {tank: {at: [500, 0, 90]}}}}
"""
    from packcheck import load

    path = write(tmp_path, text)
    table = load(path).weigh(beside=[load(path, layout="aft")]).tables[1]
    more = dict(zip(table.columns, table.rows[-1], strict=True))
    assert more["layout"] == "aft, more than as written"
    assert (more["front axle, kg"], more["rear axle, kg"]) == pytest.approx((-2, 2))
    assert (more["front left, kg"], more["rear right, kg"]) == pytest.approx((-1, 1))


@pytest.mark.parametrize(("material", "basis"), [
    ("glass", "glass, 2500 kg/m3, from memory"), ("steel", "steel, 7850 kg/m3, range from memory"),
])  # fmt: skip
def test_a_density_from_memory_is_called_that_beside_the_mass(tmp_path: Path, material: str, basis: str) -> None:
    scene = tmp_path / "scene.yaml"
    scene.write_text(f"packcheck: 1\nparts: {{pane: {{box: [100, 100, 10], material: {material}}}}}\n", "utf-8")
    assert any(basis in map(str, row) for row in packcheck.load(scene).weigh().tables[0].rows)
