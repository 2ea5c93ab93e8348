r"""One certified search for everything that moves: the least value of a gap over boxes of parameters, with a proof.

A gap that can be asked at one setting of some parameters (an angle, a shift, a size) is asked at the middle of
a box of settings, a *cell*. What the parts can travel between there and anywhere else in the cell says how far the
gap can sink at the most. Where that is not enough the cell is halved, most promising cell first:

    gap |  o        asked in the middle
        |   \
        |    \______ limit        nothing in this cell comes under the limit: done with it
        +----|----|
        middle   end of the cell

Nothing is ever sampled and held for true: every setting belongs to a cell with a proven lower end, so that nothing
thin can be jumped over. Three kinds of bound are taken, the best of them for each cell:

- *travel*: the gap sinks no faster than the parts travel (`Problem.travel`);
- any *bound* of the problem's own, such as planes that keep convex parts apart (`Problem.bounds`);
- *corners*: a gap less half its greatest curvature is concave, so that over a cell it is least at a corner
  (`corner_bound`).

Along one parameter what a margin allows is gone at a time (`march`): how far is a limit kept from here, and where
is it kept first?

Sources: S. A. Piyavskii, "An algorithm for finding the absolute extremum of a function", USSR Comput. Math. Math.
Phys. 12 (1972); B. O. Shubert, "A sequential method seeking the global maximum of a function", SIAM J. Numer. Anal.
9 (1972): one parameter and one constant. Several parameters and the other two bounds are ours.

Example
-------
A bar 400 mm long swings over a pin, from 0 to 90 degrees; its tip comes within 30 mm of it at 40 degrees.

>>> import numpy as np
>>> from packcheck.search import Answer, Cell, Problem, Sample, decide, least, stretches
>>> def gap(at, enough):
...     apart = 800 * np.sin(np.radians(abs(at[0] - 40)) / 2)  # the pin stands 30 mm out from the tip's circle
...     return Sample(30 + apart, 30 + apart)
>>> swing = Problem(gap, (Cell.of([0], [90]),), travel=lambda cell: 400 * np.radians(cell.halves))
>>> found = least(swing, tolerance=0.05)
>>> bool(found.low <= 30 <= found.high), round(float(found.at[0])), bool(found.high - found.low <= 0.05)
(True, 40, True)
>>> decided = decide(swing, limit=25)
>>> decided.answer.value, decided.queries < found.queries
('above', True)
>>> [(s.answer.value, round(s.start), round(s.end)) for s in stretches(swing, limit=100, resolution=0.01)
...  if s.answer is not Answer.OPEN]
[('above', 0, 30), ('below', 30, 50), ('above', 50, 90)]
"""

from packcheck.search.barriers import Barrier, Blocker, Crowd, Planes, Polytope, inner_polytope, spread_directions
from packcheck.search.corners import corner_bound
from packcheck.search.march import Ended, March, Step, all_kept, closed_in, first_kept, kept_until
from packcheck.search.positions import FITS, NOT, UNDECIDED, Grid, States, mapped
from packcheck.search.problem import Answer, Bound, Cell, First, Gauge, Outcome, Probe, Problem, Sample, Stretch
from packcheck.search.running import decide, first_below, least, stretches

__all__ = [
    "FITS",
    "NOT",
    "UNDECIDED",
    "Answer",
    "Barrier",
    "Blocker",
    "Bound",
    "Cell",
    "Crowd",
    "Ended",
    "First",
    "Gauge",
    "Grid",
    "March",
    "Outcome",
    "Planes",
    "Polytope",
    "Probe",
    "Problem",
    "Sample",
    "States",
    "Step",
    "Stretch",
    "all_kept",
    "closed_in",
    "corner_bound",
    "decide",
    "first_below",
    "first_kept",
    "inner_polytope",
    "kept_until",
    "least",
    "mapped",
    "spread_directions",
    "stretches",
]
