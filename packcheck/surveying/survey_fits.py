"""Would a part fit its points better in another size, or as its own mirror image? Never done, always told."""

from __future__ import annotations

from collections.abc import Iterator
from math import sqrt
from typing import Final

import numpy as np

from packcheck.arrays import Floats, Points
from packcheck.scene.model.survey import Place
from packcheck.survey.adjust import adjusted_from
from packcheck.survey.fits import rigid_fit
from packcheck.surveying.surveyed import Surveyed
from packcheck.tolerances import COVERAGE

__all__ = ["other_fits"]

SCALE_TELLING: Final = 0.02
"""A scale that fits better by this share is a slip of the unit, or the wrong part."""

BETTER: Final = 3.0
"""How many times better the other fit must be."""

ROUGHEST: Final = 1.0
"""mm, standard. What is left of good points on good marks is no more than this."""


def other_fits(surveyed: Surveyed, name: str) -> Iterator[str]:
    """What would fit the points of a part laid on marks better than the part as it is, in words."""
    place = surveyed.survey.places[name]
    if len(place.matches) < 3:
        return
    marks, found = _marks(surveyed, place), _points_alone(surveyed, place)
    rigid = rigid_fit(marks, found)
    scaled, mirror = rigid_fit(marks, found, scaled=True), rigid_fit(marks, found, mirror=True)
    floor = COVERAGE * sqrt(3.0) * max(place.standard, ROUGHEST)
    if abs(scaled.scale - 1) > SCALE_TELLING and rigid.rms > max(BETTER * scaled.rms, floor):
        yield f"would fit {scaled.scale:.3g} times as large: a slip of the unit?"
    elif len(place.matches) > 3 and rigid.rms > max(BETTER * mirror.rms, floor):
        yield "would fit mirrored: left and right exchanged?"


def _marks(surveyed: Surveyed, place: Place) -> Points:
    spots = {spot.name: spot for spot in surveyed.network.spots}
    stated = [spots.get(f"{match.mark_on_part} as stated", spots[match.mark_on_part]) for match in place.matches]
    return np.array([spot.local for spot in stated])


def _points_alone(surveyed: Surveyed, place: Place) -> Floats:
    """Where the points (n, 3) are by their own readings; a part that does not fit would pull them off."""
    network = surveyed.network
    matched = frozenset(
        k for k, one in enumerate(network.readings) if one.role == "matched" and one.mark == place.mark
    )
    placed = adjusted_from(network.without(matched), surveyed.solution.adjustment.state).placed
    number = {spot.name: k for k, spot in enumerate(network.spots)}
    return np.array([placed[number[match.point]] for match in place.matches])
