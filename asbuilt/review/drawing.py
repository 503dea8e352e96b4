"""Drawings as SVG: lines, marks and words, in points to the right and down from the upper left corner."""

from __future__ import annotations

import re
from functools import cache
from typing import Any, NamedTuple

import numpy as np

from asbuilt.arrays import Floats

INK = "#20252B"
_FONTS = "Arial, Helvetica, 'Liberation Sans', 'DejaVu Sans', 'Noto Sans', sans-serif"
_PNG_DPI = 200
_NO_LETTERS = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""What XML has no place for: one of them, in a name, and no program would show the drawing."""
_NOT_A_LETTER = "\U0010fffd"
_FALL = {"top": 0.95, "center": 0.35, "bottom": -0.25, "line": 0.0}
"""How far the line on which words stand lies below their place, as a part of the height of their type."""


class Field(NamedTuple):
    """The part of a drawing that values are drawn in: its edges in points, and the values at them."""

    left: float
    top: float
    width: float
    height: float
    across: tuple[float, float]
    """Values at the left and at the right edge."""
    up: tuple[float, float]
    """Values at the lower and at the upper edge."""

    def right(self, value: Any) -> Any:
        """Give where values lie across, in points from the drawing's left edge."""
        start, end = self.across
        return self.left + (value - start) * (self.width / (end - start))

    def down(self, value: Any) -> Any:
        """Give where values lie down, in points from the drawing's upper edge."""
        start, end = self.up
        return self.top + self.height - (value - start) * (self.height / (end - start))


class Drawing:
    """A drawing of a size in points, to which lines, marks and words are added; a notebook shows it."""

    def __init__(self, width: float, height: float) -> None:
        self.width, self.height = width, height
        self._parts: list[str] = []

    def line(
        self, path: str, *, color: str = INK, width: float = 0.8, dash: str = "", opacity: float = 1.0,
        fill: str = "none", cap: str = "", scale: float = 1.0,
    ) -> None:  # fmt: skip
        """Draw a path, whose numbers are multiplied by `scale`; the width of its line is not."""
        if not path:
            return
        more = f' stroke-dasharray="{dash}"' if dash else ""
        more += f' stroke-linecap="{cap}"' if cap else ""
        more += f' opacity="{opacity:g}"' if opacity != 1.0 else ""
        more += f' transform="scale({scale:g})"' if scale != 1.0 else ""
        self._parts.append(
            f'<path d="{path}" fill="{fill}" stroke="{color}" stroke-width="{width / scale:.3g}"{more}/>'
        )

    def behind(self, left: float, top: float, width: float, height: float) -> None:
        """Whiten a box, so that the words in it can be read."""
        self._parts.append(
            f'<rect x="{left:.2f}" y="{top:.2f}" width="{width:.2f}" height="{height:.2f}" fill="#fff" opacity=".8"/>'
        )

    def words(
        self, text: str, right: float, down: float, size: float, *, across: str = "left", stands: str = "line",
        turned: bool = False,
    ) -> None:  # fmt: skip
        """Write a line of words.

        Parameters
        ----------
        text : str
        right, down : float
            Their place, points.
        size : float
            Height of the type, points.
        across : {"left", "center", "right"}
            Which part of the words is at their place.
        stands : {"line", "bottom", "center", "top"}
            Which height of the words is at their place.
        turned : bool
            Written upward.
        """
        anchor = {"left": "", "center": ' text-anchor="middle"', "right": ' text-anchor="end"'}[across]
        fall = _FALL[stands] * size
        if turned:
            place = f'transform="translate({right + fall:.2f} {down:.2f})rotate(-90)"'
        else:
            place = f'x="{right:.2f}" y="{down + fall:.2f}"'
        self._parts.append(f'<text {place} font-size="{size:g}"{anchor}>{_escaped(text)}</text>')

    @property
    def svg(self) -> str:
        """The drawing as an SVG document."""
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{self.width:g}pt" height="{self.height:g}pt" '
            f'viewBox="0 0 {self.width:g} {self.height:g}"><rect width="100%" height="100%" fill="#fff"/>'
            f'<g font-family="{_FONTS}" fill="{INK}">{"".join(self._parts)}</g></svg>'
        )

    @property
    def png(self) -> bytes:
        """The drawing as a PNG; letters that no font of the machine has are boxes in it."""
        return _png(self.svg)

    def _repr_svg_(self) -> str:
        return self.svg


def through(right: Floats, down: Floats) -> str:
    """Give the path of a line through places; it is broken where one is NaN.

    Examples
    --------
    >>> through(np.array([0.0, 1.0, 2.0, 3.0, 4.0]), np.array([1.0, 1.0, np.nan, 1.0, 1.0]))
    'M0 1L1 1M3 1L4 1'
    """
    known = np.isfinite(right) & np.isfinite(down)
    begins = known & ~np.concatenate([[False], known[:-1]])
    return "".join(
        f"{'M' if begin else 'L'}{x:.6g} {y:.6g}"
        for x, y, begin in zip(*_short(right[known], down[known]), begins[known].tolist(), strict=True)
    )


def uprights(right: Floats, top: Floats, bottom: Floats) -> str:
    """Give the path of lines that stand upright.

    Examples
    --------
    >>> uprights(np.array([1.0, 2.5]), np.array([0.0, 0.0]), np.array([4.0, 5.0]))
    'M1 0V4M2.5 0V5'
    """
    return "".join(f"M{x:.6g} {y:.6g}V{z:.6g}" for x, y, z in zip(*_short(right, top, bottom), strict=True))


def at_each(right: Floats, down: Floats, outline: str, scale: float) -> str:
    """Give the path of a mark at each of several places, its outline as large as `scale`.

    Examples
    --------
    >>> at_each(np.array([10.0]), np.array([20.0]), "h0", 2.0)
    'M5 10h0'
    """
    return "".join(f"M{x:.6g} {y:.6g}{outline}" for x, y in zip(*_short(right / scale, down / scale), strict=True))


def missing_letters(text: str) -> str:
    """Give the letters of a text that no font of this machine has."""
    return "".join(sorted(letter for letter in set(text) if not letter.isspace() and not _has(letter)))


@cache
def _has(letter: str) -> bool:
    return _looks(letter) != _looks(_NOT_A_LETTER)


@cache
def _looks(letter: str) -> bytes:
    drawing = Drawing(12, 12)
    drawing.words(letter, 2, 10, 8)
    return drawing.png


def _png(svg: str) -> bytes:
    import resvg_py

    return bytes(resvg_py.svg_to_bytes(svg_string=svg, dpi=_PNG_DPI))


def _escaped(text: str) -> str:
    kept = _NO_LETTERS.sub("\ufffd", text)
    return kept.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _short(*values: Floats) -> list[list[float]]:
    return [np.round(one, 2).tolist() for one in values]
