"""Every tolerance of the project, with its unit and its reason."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

LIMIT_SLACK: Final = 0.005
"""mm. A gap designed exactly at its limit passes in spite of rounding in the last figure typed."""

CONTACT_BAND: Final = 0.01
"""mm. Gaps nearer to zero than this are called touching: far below what a tape or calliper can tell."""

EXACT_WIDTH: Final = 0.001
"""mm. An interval no wider than this is printed as one number."""

FACET_ERROR: Final = 0.00025
"""mm. How far the facets of a cylinder, cone or tube may stray from the true curved face, either way.
Two curved solids together stay within EXACT_WIDTH / 2 each side."""

DRAFT_ERROR: Final = 0.02
"""mm. The same for the coarser twins that are used where places are searched for, hundreds of queries each."""

DEPTH_WIDTH: Final = 0.0005
"""mm. Width at which the penetration depth of a convex pair is called closed."""

FACE_SLACK: Final = 0.001
"""mm. Opposite faces of a part may disagree with its size by this: the rounding of what was typed in inches."""

MERGE_DISTANCE: Final = 1e-5
"""mm. Mesh vertices nearer than this are one vertex: below the rounding of a float32 file at 100 mm."""

WELD_DISTANCE: Final = 0.001
"""mm. Border vertices of an open mesh nearer than this are joined when that closes a crack: as exact as any gap
printed, and what moved counts as an error of the solid."""

ODD_SMALL: Final = 5.0
"""mm. A mesh whose longest side is shorter was probably drawn in another unit than the scene says."""

ODD_LARGE: Final = 10_000.0
"""mm. Likewise when its longest side is longer."""

FARTHEST: Final = 1e9
"""mm. Mesh vertices farther out are refused: at 1000 km the last figure of a double is still 1e-7 mm."""

PATCH_FACES: Final = 128
"""Triangles in a spatial patch: small enough that building one tree takes a millisecond."""

BOX_SLACK: Final = 1e-6
"""mm. Boxes are grown by this before culling, so that rounding never culls a pair at its limit."""

JOINT_GAP: Final = 0.5
"""mm. Parts bolted together may stand this far apart (paint, gasket) and still be called touching."""

ABOUT_TOLERANCE: Final = 15.0
"""mm. What a rough envelope (`fit: about`) without a stated tolerance may be off by. Common practice for a
size judged by eye."""

KNOWN_TOLERANCES: Final[Mapping[str, float]] = {"guess": 15.0, "tape": 3.0, "calliper": 0.5, "drawing": 1.0}
"""mm. How far off a surface may be, by how it is `known`. Common practice: judged by eye; a tape or rule between
faces one can touch; a calliper; a maker's drawing for a part as cast and painted. A scene may state its own."""

COVERAGE: Final = 1.959963984540054
"""Standard uncertainties either side of a value that hold the truth 95 times in 100, errors being normal."""

COVERAGES: Final = (COVERAGE, 2.447746830681, 2.795483482915, 3.080215782447, 3.327236140302, 3.548462659201)
"""The same where one to six independent numbers count at once: roots of chi squared at 95 in 100."""

COVERAGE_ANY: Final = COVERAGES[5]
"""The same for a shift and a turn of any two shapes."""

BEYOND_READINGS: Final = 100.0
"""mm. A part as near as this beyond its limit to a skin that was not read to its edges is held against the rest of
it, too: as much as a panel may plausibly rise past the last reading.
A scene with a greater `list_within` uses that."""

MOVE_REACH: Final = 300.0
"""mm. A suggested move longer than this is a new layout, not a correction."""

SEARCH_WIDTH: Final = 0.05
"""mm. A least gap over a motion is found to within this: a tenth of what a tape tells."""

SEARCH_BUDGET: Final = 3_000
"""Gaps asked of one pair before a search stops and tells the interval it has reached: some seconds for meshes."""

SEARCH_ROUNDING: Final = 1e-6
"""mm. Taken off every bound of a search, for the rounding of its own arithmetic (1e-9 mm at 10 m)."""
