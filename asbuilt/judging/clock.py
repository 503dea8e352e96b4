"""Clock positions of readings, held against the survey: gaps read looking back, or columns of two hours exchanged.

Which side of a joint opens is then told the wrong way round. The deflection is as large as it was read, but survey and
readings contradict one another wherever the pipe turns.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from asbuilt.arrays import together
from asbuilt.judging.sightings import in_right_and_up
from asbuilt.notes import OfRoutes

if TYPE_CHECKING:
    from asbuilt.arrays import Floats, Ints
    from asbuilt.judging.judged import Judged
    from asbuilt.line.routes import Routes

_FEWEST = 8
_AGREE, _CONTRADICT = 3.0, 12.0
"""Mean square of what readings and survey differ by, in that of their errors: 1 of readings that agree, and by chance
hardly 3; as written it must be far more. Chosen here, no source."""
_LOOKED_BACK = (
    "right and left are exchanged, as where the clock was read looking back, or the columns of 3 and 9 o'clock "
    "stand for one another"
)
_EXCHANGED = {
    (-1.0, 1.0): _LOOKED_BACK,
    (1.0, -1.0): "top and bottom are exchanged, as where the columns of 12 and 6 o'clock stand for one another",
    (-1.0, -1.0): "they are turned by half the clock, as where gaps were measured to the other side",
}
"""Signs of what was read to the right and upward, and what makes them so."""


def turned_clocks(routes: Routes, judged: Judged) -> list[OfRoutes]:
    """Say on which routes readings agree with the survey only with clock positions exchanged.

    Parameters
    ----------
    routes : Routes
    judged : Judged

    Returns
    -------
    list of OfRoutes
    """
    seen, read, joints = judged.seen, judged.readings.vector, judged.joints
    # Most jobs have no conflict at all.
    if routes.sigma_horizontal is None or not judged.judgement.conflict.any():
        return []
    shown = in_right_and_up(seen.turned)
    plain = seen.exact & ~np.isfinite(judged.fitting_deg) & ~judged.bend_without_angle & ~judged.doubted.drawn
    rows = np.flatnonzero(plain & np.isfinite(shown.one + shown.other + read.one + read.other))
    # Nothing is known upward of a survey without elevations.
    up = ~seen.level & (routes.sigma_vertical is not None)
    notes = []
    for some in together(rows, joints.route):
        if len(some) < _FEWEST:
            continue
        wide = (shown.variance_one + read.variance_one)[some], (shown.variance_other + read.variance_other)[some]

        def apart(right: float, upward: float, some: Ints = some, wide: tuple[Floats, Floats] = wide) -> float:
            across = (shown.one[some] - right * read.one[some]) ** 2 / wide[0]
            above = np.where(up[some], (shown.other[some] - upward * read.other[some]) ** 2 / wide[1], 0.0)
            return float(np.sum(across + above)) / float(len(some) + np.count_nonzero(up[some]))

        best = min(_EXCHANGED, key=lambda signs: apart(*signs))
        if apart(1.0, 1.0) > _CONTRADICT and apart(*best) < _AGREE:
            name = routes.names[joints.route[some[0]]]
            text = (
                f"route {name}: the gaps read at {len(some)} joints agree "
                f"with the survey only if {_EXCHANGED[best]}: as written the two contradict one another wherever the "
                "pipe turns; find out how the clock was read, and name the columns so in records.columns"
            )
            notes.append(OfRoutes.one(name, text))
    return notes
