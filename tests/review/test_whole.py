"""The whole job in one: its index and every route, as a page and as one PDF to staple to a letter."""

import re
import shutil
import subprocess
from collections import Counter
from html.parser import HTMLParser

import faces
import laying
import numpy as np
import pandas as pd
import pytest

from asbuilt.review import printing, write_review

HOSTILE = '<b id="main">Main & "1"</b> id="x" }'


class Seen(HTMLParser):
    """Names of elements, where links lead, and texts."""

    def __init__(self, page):
        super().__init__(convert_charrefs=True)
        self.names, self.links, self.tags, self.text = [], [], [], ""
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        self.tags.append(tag)
        self.names += [given["id"]] if "id" in given else []
        self.links += [given[name] for name in ("href", "aria-labelledby") if name in given]

    def handle_data(self, data):
        self.text += data


def place(folder, *names):
    """Place mains of nine joints, the first one with a joint over."""
    points = [laying.pipe(np.concatenate([np.zeros(3), [7.0 * (at == 0)], np.zeros(3)])) for at in range(len(names))]
    points = [one + np.array([0.0, 500.0 * at, 0.0]) for at, one in enumerate(points)]
    logs = [laying.log(one, route=[name] * len(one)) for one, name in zip(points, names, strict=True)]
    logs[0].loc[4, "remarks"] = HOSTILE
    made = laying.place(laying.lines(**dict(zip(names, points, strict=True))), pd.concat(logs, ignore_index=True))
    made.write(folder / "joints.gpkg")
    return folder / "joints.gpkg"


def test_one_page_holds_the_index_and_every_route_and_its_links_lead_somewhere(tmp_path):
    names = (HOSTILE, "A", "a")
    written = write_review(place(tmp_path, *names), tmp_path / "out")
    assert written["whole"] == ["whole.html"]
    whole = Seen((tmp_path / "out" / "whole.html").read_text("utf-8"))
    assert {name: many for name, many in Counter(whole.names).items() if many > 1} == {}
    inside = {link.removeprefix("#") for link in whole.links if "." not in link and ":" not in link}
    assert len(inside) > 20
    assert inside <= set(whole.names)
    assert {link for link in whole.links if re.search(r"\.\w+$", link)} <= set(written["files"])
    for name, one in zip(names, written["routes"], strict=True):
        assert whole.text.count(f"Route {name}: deflection review") == 1
        # In the index, alone or as what is open on every route, and on the route's own sheet.
        assert whole.text.count(one["answer"].partition(": ")[2]) >= 1
        assert all(whole.text.count(words) >= 2 for words in one["open"])
    assert whole.text.count("Of every route: ") == 1
    assert "script" not in whole.tags
    assert "whole.html" in Seen((tmp_path / "out" / "index.html").read_text("utf-8")).links
    faces.agree(tmp_path / "joints.gpkg", tmp_path / "out")
    # What the faces are held by can fail: one digit more on a card, one row less in the list.
    for name, there, other in (("route-A.html", '"5.00"', '"5.10"'), ("whole.html", "Not yet: ", "Not so: "),
                               ("stakes.gpx", 'lat="', 'lat="1')):  # fmt: skip
        path = tmp_path / "out" / name
        text = path.read_text("utf-8")
        path.write_text(text.replace(there, other), "utf-8")
        with pytest.raises(AssertionError):
            faces.agree(tmp_path / "joints.gpkg", tmp_path / "out")
        path.write_text(text, "utf-8")


def test_one_pdf_holds_them_too_each_route_on_sheets_that_name_it(tmp_path):
    tool = shutil.which("pdftotext") or pytest.skip("NOT CHECKED: the program pdftotext is not here")
    if not any(map(shutil.which, printing.BROWSERS)):
        pytest.skip("NOT CHECKED: no Chromium is here")
    written = write_review(place(tmp_path, "Quarry", "Weir"), tmp_path / "out", pdf=True, paper="a4")
    assert written["whole"] == ["whole.html", "whole.pdf"]
    text = subprocess.run([tool, str(tmp_path / "out" / "whole.pdf"), "-"], capture_output=True, text=True, check=True)
    sheets = text.stdout.rstrip("\f").split("\f")
    numbers = [re.search(r"^(\d+) of (\d+)$", sheet, flags=re.MULTILINE).groups() for sheet in sheets]
    assert numbers == [(str(at + 1), str(len(sheets))) for at in range(len(sheets))]
    feet = [re.search(r"^(.*) – Quarry Lane – findings on records", sheet, flags=re.MULTILINE)[1] for sheet in sheets]
    assert list(dict.fromkeys(feet)) == ["Deflection review", "Route Quarry", "Route Weir"]
    # The box to sign stands with the index, not on a sheet alone.
    assert ["Reviewed by" in sheet for sheet in sheets] == [True] + [False] * (len(sheets) - 1)
