"""The pages of the review: one of each route and an index, each a file that needs nothing else.

A folder of pages is made beside its final place and renamed, so that it is there whole or not at all.
"""

from __future__ import annotations

import base64
import datetime as dt
import hashlib
import json
import re
from collections import Counter
from collections.abc import Callable, Sequence
from functools import cache
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal
from unicodedata import combining, normalize

import numpy as np

from asbuilt import addresses, units
from asbuilt.errors import InputFileError
from asbuilt.layers import outputs
from asbuilt.review import answer, deflections, inspections, laid, not_placed, to_act_on
from asbuilt.review.at_joint import Album, album, readings_table, readings_words
from asbuilt.review.curves import as_crews_read, offset_of_length, radius_of_lengths
from asbuilt.review.drawing import Drawing, missing_letters
from asbuilt.review.figures import KINDS, plot_route
from asbuilt.review.folder import (
    MANIFEST,
    check_folder,
    files_of_earlier,
    refuse_other_job,
    refuse_to_lose_what_was_typed,
    sha256,
)
from asbuilt.review.issues import TYPED, Issues, found, is_open, merged, read_issues, write_issues
from asbuilt.review.linked import linked_plots, scripts
from asbuilt.review.look import GREY, MARKS, PINE, SEVERITIES
from asbuilt.review.printing import PAPERS, find_browser, print_pdf
from asbuilt.review.reading import Review, Route, read_review
from asbuilt.review.remarks import remarks_of, remarks_table, to_read_table
from asbuilt.review.rows import known
from asbuilt.review.shown import from_to
from asbuilt.review.stakes import stake_table, stakes, write_stakes
from asbuilt.review.tables import plain_source, plain_time, said_once
from asbuilt.review.turns import at_least
from asbuilt.schema import SURVEY_CODES, conditions

if TYPE_CHECKING:
    import jinja2
    from markupsafe import Markup

    from asbuilt.review.deflections import Sparse
    from asbuilt.review.rows import Rows
    from asbuilt.review.tables import Table

Progress = Callable[[str, int, int], None]

CAUTION = (
    "This page reports on records; it does not accept work. Limits come from the approved submittal and the project's "
    "specification; local codes and the pipe maker's instructions govern, and the judgement is a licensed engineer's. "
    "Trench work, lifting, jacking and pressure testing injure and kill: nothing here replaces the site's safety plan. "
    "Not for locating. Before digging: locate request and trench protection. Isolate and depressurize the main before "
    "moving a joint. Local codes, the site's safety plan and a licensed engineer govern."
)
_FOOTER_LETTERS = 50
"""Letters of a name in the footer of a sheet; the sheet's head has it all."""
_WORDS_OF_KIND = {
    "deflection": "Deflection at the joints along the route, against the allowable",
    "plan": "Plan of the route with equal scales and an arrow to grid north",
    "profile": "Elevation of the joints along the route",
}


def write_review(
    path: Path | str,
    out: Path | str,
    *,
    routes: Sequence[str] = (),
    pdf: bool = False,
    paper: str = "letter",
    plots: bool = False,
    photos: Literal["embed", "link"] = "link",
    photo_folder: Path | str | None = None,
    issues: Path | str | None = None,
    progress: Progress | None = None,
) -> dict[str, Any]:
    """Write the review of a placed file: a page for each route, an index, the list of issues, and points to stake out.

    Parameters
    ----------
    path : path of a GeoPackage that `place` wrote
    out : path of the folder to write
        Made new; an earlier review there is replaced, anything else is left and refused.
    routes : sequence of str
        Routes wanted; all, if left out.
    pdf : bool
        Also print every page to PDF, through a headless Chromium.
    paper : {"letter", "a4"}
        Of the PDFs.
    plots : bool
        Also write every plot as SVG and PNG.
    photos : {"embed", "link"}
        Scale the photos of the joints down into the pages, or link to their files.
    photo_folder : path of the job's folder, optional
        From which the file names its photos; the file's own folder, if left out.
    issues : path of a list of issues, optional
        The list of an earlier review, XLSX or CSV, filled in: what people typed there is kept and shown.
    progress : function of (step, steps done, steps), optional

    Returns
    -------
    dict
        What was written, with the counts of each route, and which files of an earlier review went with it (`removed`).

    Raises
    ------
    InputFileError
        When the file is not a placed one, a route is not in it, or the list of issues is none of this job.
    OutputError
        When the folder cannot be written, a list in it would be lost, or PDFs are asked for and no browser is there.
    """
    out, given = Path(out), Path(issues) if issues is not None else None
    base = _folder_of_photos(photo_folder)
    check_folder(out)
    refuse_to_lose_what_was_typed(out, given)
    browser = find_browser() if pdf else None
    report = progress or (lambda step, done, of: None)
    report("read the file", 0, 1)
    review = read_review(path, routes)
    refuse_other_job(out, review.run["name"])
    listed = _issues(review, given)
    unsettled = {route.name: deflections.sparse(route) for route in review.routes}
    points = stakes(review, listed.rows, {name: one.asked for name, one in unsettled.items()})
    staked: dict[str, list[dict[str, Any]]] = {}
    for one in points:
        staked.setdefault(one["route"], []).append(one)
    of = len(review.routes) + 2
    names = _file_names([route.name for route in review.routes])
    with outputs.put_in_place(out, option="--out") as folder, outputs.write_errors(out, "--out"):
        folder.mkdir()
        done, sheets = [], []
        for number, (route, name) in enumerate(zip(review.routes, names, strict=True), start=1):
            report(f"page of route {route.name}", number, of)
            seen = album(review, route, embed=photos == "embed", folder=base)
            shown = _route_values(review, route, listed, seen, unsettled[route.name], staked.get(route.name, []))
            done.append(_write_route(folder, route, name, shown, plots))
            if plots or browser is not None:
                done[-1]["letters_not_drawn"] = _not_drawn(route)
            sheets.append(
                {
                    "name": route.name,
                    "anchor": name,
                    "text": _blocks("route.html", name, plots=None, top="#main", **shown),
                }
            )
            if browser is not None:
                done[-1]["pdf"] = f"{name}.pdf"
                print_pdf(browser, _route_page(route, shown, paper=paper), folder / f"{name}.pdf")
        report("index", of - 1, of)
        index = _index_values(review, done, listed)
        _text(folder / "index.html", _page("index.html", scripted=False, paper=None, whole_pdf=pdf, **index))
        _text(folder / "whole.html", _whole_page(index, sheets, paper=None))
        if browser is not None:
            print_pdf(browser, _whole_page(index, sheets, paper=paper), folder / "whole.pdf")
        lists = write_issues(listed, folder)
        write_stakes(points, review, folder)
        written = {
            "file": addresses.shown(str(path)),
            "job": review.run["name"],
            "index": "index.html",
            "whole": ["whole.html", "whole.pdf"] if pdf else ["whole.html"],
            "routes": done,
            "issues": dict(Counter(row["state"] for row in listed.rows).most_common()),
            "joints_to_stake_out": len(points),
            "issues_sha256": {name: sha256(folder / name) for name in lists},
            "issues_typed": sum(any(row[name] for name in (*TYPED, *listed.added)) for row in listed.rows),
            "files": [*sorted(str(one.relative_to(folder)) for one in folder.rglob("*") if one.is_file()), MANIFEST],
        }
        _text(folder / MANIFEST, json.dumps(written, ensure_ascii=False, indent=1))
        removed = sorted(files_of_earlier(out) - set(written["files"]))
    report("index", of, of)
    return written | {"written": str(out), "removed": removed}


def _folder_of_photos(given: Path | str | None) -> Path | None:
    if given is None:
        return None
    if not Path(given).is_dir():
        raise InputFileError(f"{given}: is no folder; name the job's folder with --photo-folder")
    return Path(given)


def _issues(review: Review, given: Path | None) -> Issues:
    """Give the issues found now, with what people typed in the list that came back."""
    job = review.run["name"]
    earlier = read_issues(given, job, dt.date.today()) if given is not None else None
    seen = {route.name for route in review.routes} | set(review.without_joints)
    return merged(found(review), earlier, job, frozenset(review.known_routes) - seen)


def _write_route(folder: Path, route: Route, name: str, shown: dict[str, Any], plots: bool) -> dict[str, Any]:
    _with_scripts(folder / f"{name}.html", _route_page(route, shown))
    done = {
        "route": route.name, "page": f"{name}.html", "answer": shown["answer"].sentence,
        "open": list(shown["answer"].open), **shown["counts"], **shown["album"].counts,
    }  # fmt: skip
    if not plots:
        return done
    (folder / "plots").mkdir(exist_ok=True)
    files = []
    for kind, drawing in shown["drawings"].items():
        plot = f"plots/{name}-{kind}"
        files += [f"{plot}.svg", f"{plot}.png"]
        _text(folder / f"{plot}.svg", drawing.svg)
        (folder / f"{plot}.png").write_bytes(drawing.png)
    return done | {"plots": files}


def _not_drawn(route: Route) -> str:
    """Give the letters in the names of a route and its joints that PNG files and PDFs have no font for."""
    return missing_letters("".join([route.name, "0", *filter(None, route.joints["joint"].tolist())]))


def _route_values(
    review: Review, route: Route, listed: Issues, seen: Album, sparse: Sparse, staked: list[dict[str, Any]]
) -> dict[str, Any]:
    """Give what a route's page shows, on the screen and on paper."""
    drawings = {kind: plot_route(route, kind) for kind in KINDS}
    elevated = bool(known(route.joints["elevation"]).any())
    tables = {
        "to_act_on": said_once(to_act_on.to_act_on(route, listed.rows), 4),
        "to_read": to_read_table(route),
        "stakes": stake_table(route, staked, listed.rows, sparse.lengths),
        "sparse": sparse,
        "over": deflections.over_table(route),
        "unclear": deflections.unclear_table(route),
        "without_limit": deflections.without_limit(route),
        "information": to_act_on.for_information(route),
        "curves": deflections.curve_table(route),
        "lengths": laid.length_tables(review, route),
        "inspection": inspections.inspection_tables(review, route),
        "remarks": remarks_table(route),
        "readings": readings_table(route, review.run["reading_unit"]),
        "photos_missing": seen.missing,
        "quantities": laid.quantities(review, route),
        "survey": laid.survey_table(review, route),
        "set_aside": not_placed.set_aside_on(review, route),
    }
    return {
        "title": f"Route {route.name}",
        "review": review,
        "route": route,
        "tables": tables,
        "counts": answer.counts(route),
        "answer": answer.answer(review, route, listed.rows),
        "album": seen,
        "doubted": sum(code in SURVEY_CODES for code in route.findings["code"].tolist()),
        "drawings": drawings,
        "pictures": {kind: _picture(drawing) for kind, drawing in drawings.items() if elevated or kind != "profile"},
        "elevated": elevated,
        "drawn": _drawn(route),
        "picture_words": _WORDS_OF_KIND,
        "station_unit": units.SYMBOLS[route.station_unit],
    }


def _route_page(route: Route, shown: dict[str, Any], *, paper: str | None = None) -> str:
    """Make the page of a route; on paper without its scripts."""
    screen = paper is None
    plots, joints = (linked_plots(route), _joint_data(shown["review"], route)) if screen else (None, None)
    return _page("route.html", scripted=screen, paper=paper, plots=plots, joints=joints, top="index.html", **shown)


def _drawn(route: Route) -> dict[str, bool | str]:
    """Say what the plots show besides the verdicts, for the legend."""
    bend, measured, own, sigma = (
        known(route.joints[f"{name}_deg"]) for name in ("bend_angle", "measured", "own_deflection", "sigma")
    )
    return {
        "bend": bool(bend.any()),
        "measured": bool(measured.any()),
        "bounds": from_to(route),
        "sigma": bool((own & sigma).any()),
    }


def _index_values(review: Review, done: list[dict[str, Any]], listed: Issues) -> dict[str, Any]:
    """Give what the index shows, alone and before the routes of the whole job."""
    answers, of_every = answer.for_index(done)
    return {
        "answers": answers,
        "of_every": of_every,
        "title": "Deflection review",
        "review": review,
        "done": done,
        "of_all": {
            "verdicts": sum((Counter(one["joints_by_verdict"]) for one in done), Counter()),
            "severities": sum((Counter(one["findings_by_severity"]) for one in done), Counter()),
            "over": sum(one["joints_over_at_least"] for one in done),
            "turns_shared": sum(one["turns_shared"] for one in done),
        },
        "open_issues": sum(map(is_open, listed.rows)),
        "issues": len(listed.rows),
        "set_aside": not_placed.set_aside_table(review),
        "whole": False,
    }


def _whole_page(index: dict[str, Any], sheets: list[dict[str, str]], *, paper: str | None) -> str:
    """Make the page of the whole job: the index, and every route after it."""
    from markupsafe import Markup

    anchors = [one | {"page": f"#{sheet['anchor']}"} for one, sheet in zip(index["done"], sheets, strict=True)]
    values = index | {"done": anchors, "whole": True}
    routes = [sheet | {"text": Markup(sheet["text"])} for sheet in sheets]
    parts = {name: Markup(_blocks("index.html", "job", (block,), **values))
             for name, block in (("index", "answer"), ("aside", "main"))}  # fmt: skip
    shown = {name: index[name] for name in ("title", "review")}
    return _page("whole.html", scripted=False, paper=paper, routes=routes, **parts, **shown)


_NAMED = re.compile(r' (id|aria-labelledby|aria-describedby)="([^"]+)"')
"""With the blank before it, which no picture in the page has: they need not be looked through."""


def _blocks(template: str, before: str, blocks: Sequence[str] = ("header", "answer", "main"), **values: Any) -> str:
    """Render blocks of a template without the page around them, `before` before every name that an element has."""
    page, parts = _templates().get_template(template), _templates().get_template("parts.html").module
    context = page.new_context(values | _LOOK | {name: getattr(parts, name) for name in ("mark", "table")})
    text = "".join(piece for name in blocks for piece in page.blocks[name](context))
    return _NAMED.sub(lambda one: f' {one[1]}="{before}-{one[2]}"', text)


_LOOK: dict[str, Any] = {
    "marks": MARKS,
    "severities": SEVERITIES,
    "at_least": at_least,
    "colors": {"bend": PINE, "known": GREY},
}


def _page(template: str, *, scripted: bool, **values: Any) -> str:
    program, allowed = (_places(), _program()[1]) if scripted else ((), "'none'")
    policy = f"default-src 'none'; script-src {allowed}; style-src 'unsafe-inline'; img-src data: blob:"
    return _templates().get_template(template).render(
        **values, **_LOOK, policy=policy, scripts=program, style=_source("page.css"), caution=CAUTION,
        made=plain_time(values["review"].run["made_at"]), papers=PAPERS,
    )  # fmt: skip


@cache
def _program() -> tuple[tuple[bytes, ...], str]:
    """Give the scripts of a page, and which scripts a browser may run there: these, by their digests."""
    program = tuple(script.encode("utf-8") for script in (*scripts(), _source("labels.js"), _source("page.js")))
    digests = (base64.b64encode(hashlib.sha256(script).digest()).decode("ascii") for script in program)
    return program, " ".join(f"'sha256-{digest}'" for digest in digests)


def _places() -> tuple[str, ...]:
    """Give what stands for the scripts of a page until it is written; in no text of it is a "<" left."""
    return tuple(f"<script {number}>" for number in range(len(_program()[0])))


def _with_scripts(path: Path, page: str) -> None:
    """Write a page with its scripts, which are ten times as long as all else on it, and the same on every page."""
    with path.open("wb") as file:
        for place, script in zip(_places(), _program()[0], strict=True):
            before, _, page = page.partition(place)
            file.write(before.encode("utf-8"))
            file.write(script)
        file.write(page.encode("utf-8"))


@cache
def _templates() -> jinja2.Environment:
    import jinja2
    from markupsafe import Markup

    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("asbuilt.review"), autoescape=True, undefined=jinja2.StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    # Inside a script element nothing is escaped but what would end it.
    environment.filters["in_script"] = lambda text: Markup(text.replace("<", "\\u003c"))
    environment.filters["as_program"] = Markup
    environment.filters["cells"] = _cells
    environment.filters["in_style"] = lambda text: Markup(_as_css(text))
    return environment


def _cells(row: Sequence[str], table: Table) -> Markup:
    """Write the cells of a row behind its first; as text, since a template takes many times as long for each."""
    from markupsafe import Markup, escape

    told = []
    for at, (title, text) in enumerate(zip(_escaped(table.columns)[1:], row[1:], strict=True), start=1):
        if at == table.verdict_column and text in MARKS:
            told.append(f'<td class="w" data-title="{title}">{_marked(text)}</td>')
            continue
        kind = "n" if at in table.numeric else "long" if len(text) > _LONG else "w" if len(text) <= _SHORT else ""
        kind = kind if text else "blank"
        told.append(f'<td data-title="{title}"{kind and f" class={chr(34)}{kind}{chr(34)}"}>{escape(text)}</td>')
    return Markup("".join(told))


_SHORT, _LONG = 16, 24
"""Letters up to which a cell stays on one line, and beyond which it has room for several words on each."""


@cache
def _escaped(titles: tuple[str, ...]) -> list[str]:
    from markupsafe import escape

    return [str(escape(title)) for title in titles]


@cache
def _marked(verdict: str) -> str:
    """Give the mark of a verdict, and its word."""
    parts: Any = _templates().get_template("parts.html").module
    return f"{parts.mark(verdict, MARKS)} {MARKS[verdict].word}"


def _as_css(text: str) -> str:
    r"""Write a text as the inside of a CSS string, every letter that could end it by its number.

    Examples
    --------
    >>> _as_css('A "1"; } <b>')
    'A \\22 1\\22 \\3b  \\7d  \\3c b\\3e '
    """
    short = text if len(text) <= _FOOTER_LETTERS else f"{text[:_FOOTER_LETTERS]}…"
    return re.sub(r"[^A-Za-z0-9 ]", lambda one: f"\\{ord(one[0]):x} ", short)


@cache
def _source(name: str) -> str:
    return resources.files("asbuilt.review").joinpath("templates", name).read_text("utf-8")


def _picture(drawing: Drawing) -> str:
    """Give a plot as SVG in a data URL: for print, and where scripts do not run."""
    return "data:image/svg+xml;base64," + base64.b64encode(drawing.svg.encode("utf-8")).decode("ascii")


def _joint_data(review: Review, route: Route) -> str:
    """Give what the page says of a joint when it is pointed at, by columns, as JSON."""
    joints, remarks = route.joints, remarks_of(route)
    length, unit = route.laying_length, route.station_unit
    symbol = units.SYMBOLS[unit]
    records = joints.records(_CARD)
    worst = deflections.worst_deg(joints)
    offset = [as_crews_read(value, unit) for value in offset_of_length(length, worst).tolist()]
    radius = radius_of_lengths(length, np.abs(worst))
    columns: dict[str, list[Any]] = {
        "Joint": [joint["joint"] or "" for joint in records],
        "Station": [joint["station"] or "" for joint in records],
        "verdict": [joint["verdict"] or "not-computed" for joint in records],
        "One of several": [
            f"{those}; the shots do not tell which" if those else "" for those in map(route.one_of, range(len(joints)))
        ],
        "Only if": [conditions(joint["verdict_assumes"] or "") for joint in records],
        "Deflection, deg": [deflections.deflection_words(joint) for joint in records],
        "Allowable, deg": _rounded(joints["allowable_deg"], 2),
        "Allowable from": [plain_source(joint["allowable_source"] or "") for joint in records],
        "Of the allowable": [deflections.against_words(joint) for joint in records],
        f"Offset per {length:.4g} {symbol}": offset,
        f"Radius, {symbol}": _rounded(np.where(radius < 1e5, radius, np.nan), 0),
        "Measured at the joint, deg": [deflections.measured_words(joint) for joint in records],
        **_turn_words(joints),
        "Bend, deg": _rounded(joints["bend_angle_deg"], 2),
        "Size": [f"{size} {route.size_unit}" if size else "" for size in _rounded(joints["size"], 0)],
        "Joint type": [joint["joint_type"] or "" for joint in records],
        "Restrained": [joint["restrained"] or "" for joint in records],
        f"Elevation, {units.SYMBOLS[route.unit]}": _rounded(joints["elevation"], 2),
        **_place_words(review, route),
        **readings_words(route, review.run["reading_unit"]),
        "Inspection": [joint["inspection"] or "" for joint in records],
        "Inspector": [joint["inspector"] or "" for joint in records],
        "Remarks": [remarks.get(at, "") for at in range(len(joints))],
    }
    said: dict[int, list[str]] = {}
    findings = (route.findings[name].tolist() for name in ("at", "code", "message"))
    for at, code, message in zip(*findings, strict=True):
        said.setdefault(at, []).append(f"{code}: {message}")
    stations = route.stations
    return json.dumps(
        {
            "columns": {name: _coded(values) for name, values in columns.items() if any(values)},
            "distance": np.round(joints["distance"], 3).tolist(),
            "findings": said,
            "worst": _worst_first(route),
            "pieces": np.column_stack(
                [stations.distance_from, stations.distance_to, stations.station_from, stations.station_to]
            ).tolist(),
            "form": stations.form,
            "words": {name: mark.word for name, mark in MARKS.items()},
            "unit": symbol,
        },
        ensure_ascii=False, separators=(",", ":"), allow_nan=False,
    )  # fmt: skip


_TURNED_BY = ("survey", "survey-and-readings")


def _turn_words(joints: Rows) -> dict[str, list[str]]:
    """Say which way the line turns at each joint; between shots it is drawn straight, which measures nothing."""
    turned = np.isfinite(joints["turn_horizontal_deg"])
    here = np.isin(joints["deflection_source"].astype(str), _TURNED_BY) | known(joints["bend_angle_deg"])
    words = {}
    for name, way in (("Turn right, deg", "horizontal"), ("Turn up, deg", "vertical")):
        told = _rounded(np.where(here, joints[f"turn_{way}_deg"], np.nan), 2)
        words[name] = [text or ("not measured" if one else "") for text, one in zip(told, turned.tolist(), strict=True)]
    return words


def _place_words(review: Review, route: Route) -> dict[str, list[str]]:
    """Say where each joint is, in the file's system and on the globe, as a receiver takes it."""
    joints = route.joints
    degrees = _pairs(joints, ("latitude", "longitude"), 7)
    if review.geographic:
        return {"Latitude, longitude": degrees}
    symbol = units.SYMBOLS[route.plan_unit]
    return {f"Easting, northing, {symbol}": _pairs(joints, ("map_easting", "map_northing"), 2),
            "Latitude, longitude": degrees}  # fmt: skip


def _pairs(joints: Rows, names: tuple[str, str], decimals: int) -> list[str]:
    # No commas in thousands: what stands here is typed into receivers.
    both = zip(*(joints[name].tolist() for name in names), strict=True)
    return [f"{one:.{decimals}f}, {other:.{decimals}f}" for one, other in both]


def _worst_first(route: Route) -> list[int]:
    """Give the joints to look at, the most severe first; of two alike, the first along the route."""
    rank: dict[int, int] = {}
    for at, severity in zip(route.findings["at"].tolist(), route.findings["severity"].tolist(), strict=True):
        if at < 0:
            continue
        rank[at] = min(rank.get(at, len(SEVERITY_RANK)), SEVERITY_RANK[severity])
    for at, verdict in enumerate(route.joints["verdict"].tolist()):
        if verdict in VERDICT_RANK:
            rank[at] = min(rank.get(at, len(SEVERITY_RANK)), VERDICT_RANK[verdict])
    return sorted(rank, key=lambda at: (rank[at], at))


_CARD = (
    "joint", "station", "verdict", "verdict_assumes", "own_deflection_deg", "deflection_floor_deg",
    "deflection_ceiling_deg", "deflection_source", "sigma_deg", "allowable_deg", "allowable_source", "measured_deg",
    "sigma_measured_deg", "joint_type", "restrained", "inspection", "inspector", "may_take_deg",
)  # fmt: skip
"""What the words on a joint's card are made of."""
SEVERITY_RANK = {"act": 1, "check": 2, "note": 4}
VERDICT_RANK = {"over": 0, "cannot-tell": 3}
"""In which order joints are looked at, by verdict and by the most severe finding."""


def _coded(texts: list[str]) -> list[str] | dict[str, Any]:
    """Write a column whose texts repeat as its distinct texts and, for each joint, the number of its own."""
    distinct = {text: number for number, text in enumerate(dict.fromkeys(texts))}
    if len(distinct) > len(texts) / 4:
        return texts
    return {"of": list(distinct), "at": [distinct[text] for text in texts]}


def _rounded(values: Any, decimals: int) -> list[str]:
    # Adding nothing takes the sign from a nought.
    rounded = np.round(np.asarray(values, dtype=np.float64), decimals) + 0.0
    return [f"{value:,.{decimals}f}" if np.isfinite(value) else "" for value in rounded]


def _file_names(routes: list[str]) -> list[str]:
    """Give each route's page a name that any file system takes, all different.

    Examples
    --------
    >>> _file_names(["A", "Main / 2", "Main : 2", "a"])
    ['route-A', 'route-Main-2', 'route-Main-2-2', 'route-a-2']
    >>> _file_names(["Große Mühle", "Año Nuevo"])
    ['route-Grosse-Muhle', 'route-Ano-Nuevo']
    """
    taken: set[str] = set()
    names = []
    for route in routes:
        letters = "".join(one for one in normalize("NFKD", route.replace("ß", "ss")) if not combining(one))
        plain = "route-" + (re.sub(r"[^A-Za-z0-9]+", "-", letters)[:60].strip("-") or "unnamed")
        name, number = plain, 1
        while name.lower() in taken:
            number += 1
            name = f"{plain}-{number}"
        taken.add(name.lower())
        names.append(name)
    return names


def _text(path: Path, text: str) -> None:
    path.write_bytes(text.encode("utf-8"))
