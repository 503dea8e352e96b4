"""How the review looks: a mark, a colour and a word for every verdict, the same in plots, tables and on the map.

Colours: the palette for all kinds of colour vision of M. Okabe and K. Ito, "Color Universal Design" (2008; from
memory). A mark's shape says the same as its colour.
"""

from __future__ import annotations

from typing import NamedTuple

from asbuilt.schema import DOMAINS

VERMILLION, PURPLE, ORANGE, BLUE, SKY = "#D55E00", "#CC79A7", "#E69F00", "#0072B2", "#56B4E9"
GREEN, GREY = "#009E73", "#767B82"
"""Green is for bends, grey for how well a deflection is known; grey is not of the palette."""


class Mark(NamedTuple):
    """How a verdict is drawn."""

    word: str
    color: str
    bokeh: str
    matplotlib: str
    size: int
    """Screen pixels across."""
    filled: bool
    path: str
    """Outline in a box of 16 by 16, for legends and tables."""


MARKS: dict[str, Mark] = {
    "over": Mark("over", VERMILLION, "triangle", "^", 12, True, "M8 1.5 15 14H1z"),
    "cannot-tell": Mark("cannot tell", PURPLE, "diamond", "d", 12, True, "M8 1 15 8 8 15 1 8z"),
    "no-allowable": Mark("no allowable", ORANGE, "square", "s", 8, True, "M3 3h10v10H3z"),
    "not-computed": Mark("not computed", GREY, "x", "x", 7, False, "M3 3 13 13M13 3 3 13"),
    "within-assumed": Mark("assumed", SKY, "hex", "h", 8, True, "M8 2.5 12.8 5.2v5.6L8 13.5 3.2 10.8V5.2z"),
    "within": Mark("within", BLUE, "circle", "o", 6, True, "M8 4a4 4 0 1 0 .01 0z"),
}
"""By verdict, in the order in which they matter."""

SEVERITIES = {"act": "Act on it", "check": "Check it", "note": "For information"}
MEANINGS = DOMAINS["verdict"]
