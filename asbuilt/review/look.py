"""How the review looks: a mark, a colour and a word for every verdict, the same in plots, tables and on the map.

Colours: found by a search for the seven that differ most in every kind of colour vision while each keeps a contrast of
3 : 1 on light and on dark paper; a test computes both. A mark's shape says the same as its colour. Hollow is what was
not measured: a joint within only if something holds stands at the most that it takes if that holds.
"""

from __future__ import annotations

from typing import NamedTuple

from asbuilt.schema import DOMAINS

RUST, PLUM, OCHRE, INDIGO, AZURE = "#BF400E", "#905F8D", "#B78850", "#575CFD", "#2B9AD6"
PINE, GREY = "#34775D", "#918F94"
"""Pine is for bends, grey for how well a deflection is known."""


class Mark(NamedTuple):
    """How a verdict is drawn."""

    word: str
    color: str
    bokeh: str
    outline: str
    """As a path from the mark's middle, about 2 across; of a dot, which has none, a line of no length."""
    size: int
    """Screen pixels across."""
    filled: bool
    path: str
    """Outline in a box of 16 by 16, for legends and tables."""


MARKS: dict[str, Mark] = {
    "over": Mark("over", RUST, "triangle", "m0-1 1 1.9h-2z", 12, True, "M8 1.5 15 14H1z"),
    "cannot-tell": Mark("cannot tell", PLUM, "diamond", "m0-1 1 1-1 1-1-1z", 12, True, "M8 1 15 8 8 15 1 8z"),
    "no-allowable": Mark("no allowable", OCHRE, "square", "m-1-1h2v2h-2z", 8, True, "M3 3h10v10H3z"),
    "not-computed": Mark("not computed", GREY, "x", "m-1-1 2 2m0-2-2 2", 7, False, "M3 3 13 13M13 3 3 13"),
    "within-assumed": Mark(
        "within-assumed",
        AZURE,
        "hex",
        "m0-1 .87.5v1l-.87.5-.87-.5v-1z",
        8,
        False,
        "M8 2.5 12.8 5.2v5.6L8 13.5 3.2 10.8V5.2z",
    ),
    "within": Mark("within", INDIGO, "circle", "h0", 6, True, "M8 4a4 4 0 1 0 .01 0z"),
}
"""By verdict, in the order in which they matter."""

SEVERITIES = {"act": "Act on it", "check": "Check it", "note": "For information"}
MEANINGS = DOMAINS["verdict"]
