"""From a scene file to a `Scene`, or to every fault in it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from functools import partial
from itertools import islice
from pathlib import Path
from typing import Final

from pydantic import ValidationError

from packcheck.errors import Fault, SceneError, SourceMark
from packcheck.scene.checks.holding_links import holding_faults
from packcheck.scene.checks.links import check_links
from packcheck.scene.checks.measure_links import check_measures
from packcheck.scene.checks.motion_links import motion_faults
from packcheck.scene.checks.naming import name_faults
from packcheck.scene.checks.survey_links import check_survey_links
from packcheck.scene.document.document import RawScene, axes_of, read_raw
from packcheck.scene.document.faults import faults_of, shape_faults
from packcheck.scene.document.forms import form_faults
from packcheck.scene.document.named_files import named_files
from packcheck.scene.expand.copies import expanded, told_once
from packcheck.scene.expand.images import centreline_faults
from packcheck.scene.expand.layouts import check_layouts, layout_names, with_layout, with_params
from packcheck.scene.expand.params import Params, evaluate_params
from packcheck.scene.expand.survey_making import made_checks, made_survey
from packcheck.scene.grammar.grammar import SceneFile
from packcheck.scene.making import made
from packcheck.scene.model import scene as model
from packcheck.scene.model.directions import distinct
from packcheck.scene.model.middles import mid_plane_faults
from packcheck.scene.quantities.slots import Context
from packcheck.scene.text.effort import arithmetic_faults
from packcheck.scene.text.files import NO_CONTENTS, Contents
from packcheck.scene.text.nodes import MapNode, plain
from packcheck.scene.text.uses import Use, uses_of

__all__ = ["Written", "load_scene", "scene_from"]

MOST_FAULTS: Final = 500
"""Faults told at once; more than anybody mends in one sitting."""

LONGEST_FAULT: Final = 800
"""Characters."""


def load_scene(path: str | Path, layout: str | None = None) -> model.Scene:
    """What `packcheck.scene.load_scene` promises; that one puts off importing this module until it is called."""
    return Written(path).scene(layout)


class Written:
    """A scene file read once, from which scenes are made: of each layout, and with other values of its params.

    Raises
    ------
    SceneError
        When nothing in the file can be understood further.
    """

    def __init__(self, path: str | Path, contents: Contents = NO_CONTENTS) -> None:
        raw, self._faults = read_raw(path, contents)
        if raw is None:
            raise _error(self._faults, ())
        self._raw, self._named = raw, named_files(raw)

    @property
    def layouts(self) -> tuple[str, ...]:
        """The layouts of the file, in its order."""
        return layout_names(self._raw)

    def uses(self, param: str, layout: str | None = None) -> tuple[Use, ...]:
        """Every place that rests on a param, in the scene as written or as `layout` has it."""
        raw = self._raw if layout is None else with_layout(self._raw, layout)[0]
        return uses_of(expanded(raw)[0].tree, param)

    def scene(self, layout: str | None = None, params: Mapping[str, str] | None = None) -> model.Scene:
        """The scene as written or as `layout` has it; `params` are values in place of those of the file.

        Raises
        ------
        SceneError
            With every fault; what is wrong with a layout is told with its place in the layout.
        """
        raw, faults = self._raw, [*self._faults, *check_layouts(self._raw)]
        as_written = None
        if layout is not None:
            raw, found = with_layout(raw, layout)
            faults += found
            as_written = partial(self.scene, None, params)
        made = scene_from(with_params(raw, params or {}), faults)
        return replace(made, layout=layout, layouts=self.layouts, named=self._named, as_written=as_written)


def scene_from(raw: RawScene, faults: Iterable[Fault] = ()) -> model.Scene:
    """The scene a raw scene amounts to; `faults` were found before and are told along.

    Raises
    ------
    SceneError
    """
    raw, copying = expanded(raw)
    if too_much := list(arithmetic_faults(raw.tree)):
        raise _error([*faults, *copying, *too_much], raw.order)
    params, found = evaluate_params(raw)
    context = _context(raw, params)
    file, misread = _understood(raw.tree, context)
    for header in raw.headers:
        misread += _understood(header, context)[1]
    form = list(faults)
    ill_formed = {fault.mark for fault in form}  # what was put in its place there is no mistake of the user's
    found += form + [fault for fault in misread if fault.mark not in ill_formed]
    found += [*_first(shape_faults(raw.tree)), *_first(form_faults(raw.tree))]
    found += [
        *_first(name_faults(raw)),
        *_first(check_links(raw)),
        *centreline_faults(raw),
        *_first(check_measures(raw)),
        *_first(motion_faults(raw)),
        *_first(holding_faults(raw, file)),
        *_first(check_survey_links(raw)),
    ]
    found = told_once([*copying, *found], raw.copies)
    if found or file is None:
        raise _error(found, raw.order)
    values = {name: params.values[name].value for name in file.params}
    survey, unread = made_survey(raw, file.survey, context.axes)
    if unread:
        raise _error(unread, raw.order)
    scene = made(raw, file, values)
    if unsaid := list(mid_plane_faults(scene)):
        raise _error(unsaid, raw.order)
    return replace(scene, survey=survey, checks=made_checks(raw, file.checks, survey))


def _context(raw: RawScene, params: Params) -> Context:
    return Context(
        units=raw.units,
        folders=raw.folders,
        params=params.values,
        spoilt=frozenset(params.spoilt),
        param_units={name: raw.units[raw.names[name].mark.file] for name in params.values},
        axes=distinct(axes_of(raw.tree)),
    )


def _understood(tree: MapNode, context: Context) -> tuple[SceneFile | None, list[Fault]]:
    try:
        return SceneFile.model_validate(plain(tree), context=context), []
    except ValidationError as error:
        return None, _first(faults_of(error, tree))


def _first(faults: Iterator[Fault]) -> list[Fault]:
    """As many as can be told and one more; looking up hints for all of a ruined file would take minutes."""
    return list(islice(faults, MOST_FAULTS + 1))


def _short(fault: Fault) -> Fault:
    """The same fault, without the length of what was quoted from the file."""
    if len(fault.what) + len(fault.mend) <= LONGEST_FAULT:
        return fault
    return replace(fault, what=fault.what[:LONGEST_FAULT] + " ...", mend=fault.mend[:LONGEST_FAULT])


def _error(faults: Iterable[Fault], files: Iterable[str]) -> SceneError:
    """Every fault once, files in the order they were read, then by line."""
    told = list(dict.fromkeys(map(_short, faults)))
    seen = [*files, *(fault.mark.file for fault in told if fault.mark)]
    order = {file: place for place, file in enumerate(dict.fromkeys(seen))}

    def place(fault: Fault) -> tuple[int, SourceMark]:
        mark = fault.mark or SourceMark("")
        return order.get(mark.file, 0), mark

    told.sort(key=place)
    more = [Fault(None, "and more faults, told when these are mended")] if len(told) > MOST_FAULTS else []
    return SceneError([*told[:MOST_FAULTS], *more])
