"""The house: a module imports only from those before it in the flow, and none imports itself by a detour."""

import ast
import re
import sys
import threading
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import laying
import pytest

import asbuilt
from asbuilt.review.pages import write_review

ROOT = Path(asbuilt.__file__).parent
FLOW = (
    "version", "errors", "arrays", "waiting", "units", "vocabulary", "checks", "notes", "schema", "keys", "job",
    "stored", "placed", "line", "inputs", "survey", "placing", "judging", "layers", "placement", "processor",
    "returned", "blank", "owner_map", "cad", "review", "register", "comparing", "archive", "serve", "terminal",
    "commands", "cli", "__main__",
)  # fmt: skip
"""The wings and the modules beside them in the order of the flow: inputs to records to judgement to files."""


def modules():
    """Give every module of the package by its dotted name; the plugin imports nothing of it, migrations are data."""
    found = {}
    for path in ROOT.rglob("*.py"):
        parts = path.relative_to(ROOT.parent).with_suffix("").parts
        if "plugin" not in parts and "migrations" not in parts:
            found[".".join(parts).removesuffix(".__init__")] = path
    return found


def imports():
    """List (module, imported module) over all imports, in functions and for types too."""
    known, found = modules(), []
    for name, path in known.items():
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] == "asbuilt":
                names = [f"{node.module}.{one.name}" for one in node.names]
                found += [(name, one if one in known else str(node.module)) for one in names]
    return [(one, other) for one, other in found if one != other]


def place_in_flow(module):
    return FLOW.index(module.split(".")[1]) if "." in module else -1


def test_every_module_has_a_place_in_the_flow():
    assert {name.split(".")[1] for name in modules() if "." in name} <= set(FLOW)


def test_no_module_imports_back_up_the_flow():
    # The package's front door alone reaches down: its names are made when first asked for.
    inner = [(one, other) for one, other in imports() if one != "asbuilt"]
    assert len(inner) > 200
    assert [(one, other) for one, other in inner if place_in_flow(other) > place_in_flow(one)] == []


def test_no_module_imports_itself_by_a_detour():
    graph = {}
    for one, other in imports():
        if one != "asbuilt":
            graph.setdefault(one, set()).add(other)
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as error:
        pytest.fail(f"a circle of imports: {' <- '.join(error.args[1])}")


def test_the_front_door_of_a_wing_imports_nothing_of_the_house():
    # So that any module can be the first to be imported: what stands above it is its own imports alone, without circle.
    for name, path in modules().items():
        if path.name == "__init__.py":
            tree = ast.parse(path.read_text("utf-8"))
            for_types = {id(one) for node in tree.body if isinstance(node, ast.If) for one in ast.walk(node)}
            loaded = [node for node in ast.walk(tree) if isinstance(node, ast.ImportFrom) and id(node) not in for_types]
            assert [node.module for node in loaded if (node.module or "").startswith("asbuilt.")] in (
                [],
                ["asbuilt.version"] if name == "asbuilt" else [],
            ), name


def ways():
    """Read the lists of functions from file to page out of the contributors' notes."""
    text = (ROOT.parent / "DEVELOPERS.md").read_text("utf-8")
    section = text.split("## From file to page\n")[1].split("\n## ")[0]
    parts = re.split(r"^\*\*A (.+?)\*\*", section, flags=re.M)
    return {
        name: re.findall(r"^1\. `([\w.]+)`", part, flags=re.M)
        for name, part in zip(parts[1::2], parts[2::2], strict=True)
    }


def calls_of(work):
    """Run some work, and give the functions of the package that it called, in their order, on all threads."""
    called = []

    def note(frame, event, _):
        if event != "call":
            return
        module = frame.f_globals.get("__name__", "")
        if module.startswith("asbuilt."):
            called.append(f"{module.removeprefix('asbuilt.')}.{frame.f_code.co_qualname}")

    before = sys.getprofile()
    threading.setprofile(note)
    sys.setprofile(note)
    try:
        work()
    finally:
        sys.setprofile(before)
        threading.setprofile(None)
    return called


def test_the_ways_from_file_to_page_are_those_that_a_job_takes(tmp_path):
    points = laying.pipe([0.0, 0.0, 9.0, 0.0, 0.0])
    shots = [f"{number},{north},{east},{up}" for number, (east, north, up) in enumerate(points, start=1)]
    (tmp_path / "shots.csv").write_text("\n".join(["point,northing,easting,elevation", *shots]), "utf-8")
    laying.log(points, **{"home to mark": "no"}).to_csv(tmp_path / "log.csv", index=False)
    job = laying.values(centerline={"path": "shots.csv", "route": None}, records={"path": "log.csv"}, crs=laying.CRS)

    def work():
        placement = asbuilt.place(asbuilt.Job.from_mapping(job, folder=tmp_path), today=laying.TODAY)
        placement.write(tmp_path / "joints.gpkg")
        write_review(tmp_path / "joints.gpkg", tmp_path / "review")

    called, listed = calls_of(work), ways()
    assert list(listed) == ["log record", "shot", "finding"]
    for way, stops in listed.items():
        assert len(stops) > 10, way
        rest = iter(called)
        assert [stop for stop in stops if stop not in rest] == [], way
    told = (ROOT.parent / "DEVELOPERS.md").read_text("utf-8")
    counted = [len(stops) for stops in listed.values()]
    assert "A record passes {} stops, a shot {}, a finding {}.".format(*counted) in told
