"""Params: order, loops, and what rests on a faulty one."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.scene.writing import faults_of, scene_of, whats, write


def test_params_may_rest_on_later_ones_and_keep_the_order_of_the_file(tmp_path: Path) -> None:
    """Oracle: by hand; c = 10, b = 2 c + 5 = 25, a = b - 1/4 in = 25 - 6.35."""
    params = scene_of(tmp_path, "params: {a: b - 1/4 in, b: 2 * c + 5 mm, c: 1 cm}").params
    assert params == pytest.approx({"a": 18.65, "b": 25.0, "c": 10.0})
    assert list(params) == ["a", "b", "c"]


def test_plain_param_stays_plain_and_angle_stays_degrees(tmp_path: Path) -> None:
    params = scene_of(tmp_path, "units: in\nparams: {count: 3, tilt: 2.5 deg, rise: 1 in}").params
    assert params == {"count": 3.0, "tilt": 2.5, "rise": 25.4}


def test_plain_param_takes_the_units_of_the_file_only_in_a_length_slot(tmp_path: Path) -> None:
    """Oracle: by hand; 3 in an inch file is 3 x 25.4."""
    scene = scene_of(tmp_path, "units: in\nparams: {n: 3}\nparts: {a: {box: [n, 2 * n, n * 1 mm]}}")
    (solid,) = scene.parts["a"].solids
    assert getattr(solid.shape, "size", None) == pytest.approx((76.2, 152.4, 3.0))


def test_params_of_an_included_file_rest_on_those_of_the_root(tmp_path: Path) -> None:
    write(tmp_path, "units: in\nparams: {shelf: 2 * rise}\n", "shelf.yaml")
    assert scene_of(tmp_path, "include: [shelf.yaml]\nparams: {rise: 1 cm}").params == {"rise": 10.0, "shelf": 20.0}


def test_every_loop_is_named_once(tmp_path: Path) -> None:
    told = whats(tmp_path, "params: {a: b, b: a, c: d, d: 2 * e, e: c, f: f}")
    assert [what.split(": ")[-1] for what in told] == ["a -> b -> a", "c -> d -> e -> c", "f -> f"]


def test_what_rests_on_a_faulty_param_is_not_told_again(tmp_path: Path) -> None:
    told = whats(tmp_path, "params: {a: 5 lbs, b: a, c: b + 1}\nparts: {p: {box: [a, b, c], wrap: -c}}")
    assert len(told) == 1


def test_every_faulty_param_is_told(tmp_path: Path) -> None:
    told = whats(tmp_path, "params: {a: 5 lbs, b: true, c: [1], d: , e: nope, f: {x: 1}}")
    assert [what[:9] for what in told] == [f"param '{name}'" for name in "abcdef"]


def test_fault_inside_an_expression_points_into_it(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path, 'params: {a: 1 mm, b: "a + 5 lbs"}')
    assert str(fault.mark).endswith("bay.yaml:2:29")


def test_params_section_may_be_empty(tmp_path: Path) -> None:
    assert scene_of(tmp_path, "params:\nframes:\nparts:\nclearances:\n").params == {}
