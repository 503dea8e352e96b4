"""The colours of marks: enough contrast on light and dark paper, told apart in every kind of colour vision.

Colour vision is simulated by the model of Machado, Oliveira and Fernandes (IEEE TVCG 15, 2009), and differences are
measured in CAM02-UCS, both by the library colorspacious; contrast by WCAG 2.1's formula (from memory).
"""

import itertools
import re
from pathlib import Path

import numpy as np
import pytest
from colorspacious import cspace_convert

from asbuilt.returned import markup
from asbuilt.review import look
from asbuilt.serve import page

CSS = (Path(look.__file__).parent / "templates" / "page.css").read_text("utf-8")
COLOURS = [*(mark.color for mark in look.MARKS.values()), look.PINE]
KINDS_OF_VISION = [None, "protanomaly", "deuteranomaly", "tritanomaly"]


def rgb(colour):
    return np.array([int(colour[at : at + 2], 16) for at in (1, 3, 5)]) / 255


def luminance(colour):
    linear = np.where(colour <= 0.04045, colour / 12.92, ((colour + 0.055) / 1.055) ** 2.4)
    return float(linear @ [0.2126, 0.7152, 0.0722])


def contrast(one, other):
    dark, light = sorted((luminance(rgb(one)), luminance(rgb(other))))
    return (light + 0.05) / (dark + 0.05)


def papers(name):
    """Give a colour of the page, light and dark."""
    return re.findall(rf"--{name}: (#[0-9a-f]{{6}})", CSS)


def test_contrast_is_what_the_standard_gives_for_black_on_white():
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)  # WCAG's own example of a passing grey


@pytest.mark.parametrize("colour", COLOURS)
def test_a_mark_stands_out_from_light_and_from_dark_paper(colour):
    assert len(papers("raised")) == 2
    for paper in papers("raised"):
        assert contrast(colour, paper) >= 3.0


def test_the_sign_of_a_failed_inspection_stands_out_from_the_map_and_from_paper():
    for ground in ("#eef1ee", "#ffffff"):
        assert contrast(page.FAILED["color"], ground) >= 4.5
    assert '"background-color": "#eef1ee"' in page.static("page.js")


def test_links_and_small_text_can_be_read_on_their_paper():
    for ink in ("accent", "soft", "caution"):
        for colour, paper in zip(papers(ink), papers("caution-paper" if ink == "caution" else "paper"), strict=True):
            assert contrast(colour, paper) >= 4.5


@pytest.mark.parametrize("vision", KINDS_OF_VISION)
def test_no_two_marks_look_alike_in_any_kind_of_colour_vision(vision):
    seen = [rgb(colour) for colour in COLOURS]
    if vision is not None:
        space = {"name": "sRGB1+CVD", "cvd_type": vision, "severity": 100}
        seen = [np.clip(cspace_convert(colour, space, "sRGB1"), 0, 1) for colour in seen]
    places = [cspace_convert(colour, "sRGB1", "CAM02-UCS") for colour in seen]
    least = min(np.linalg.norm(one - other) for one, other in itertools.combinations(places, 2))
    assert least >= 12  # a difference of 1 is about the least that can be seen side by side


def test_the_shape_alone_tells_a_verdict():
    for name in ("bokeh", "outline", "path"):
        assert len({getattr(mark, name) for mark in look.MARKS.values()}) == len(look.MARKS)


@pytest.mark.parametrize("severity", ["act", "check", "note"])
def test_black_text_stays_readable_on_the_fills_of_a_returned_log(severity):
    assert contrast("#" + markup._FILLS[severity][2:], "#000000") >= 7.0
