"""The house: a module imports only from those before it in the flow, and none imports itself by a detour.

As a script it counts the structure of a checkout: `python tests/test_layout.py [FOLDER]`.
"""

import ast
import re
import sys
import threading
from collections import Counter
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import laying
import pytest

import asbuilt
from asbuilt.review.pages import write_review

ROOT = Path(asbuilt.__file__).parent
FLOW = (
    "version", "living", "addresses", "errors", "stores", "arrays", "held", "waiting", "units", "vocabulary", "checks",
    "notes", "schema", "keys", "job", "stored", "placed", "line", "inputs", "survey", "placing", "judging", "layers",
    "placement", "processor", "returned", "blank", "owner_map", "cad", "review", "register", "comparing", "archive",
    "serve", "terminal", "commands", "cli", "__main__",
)  # fmt: skip
"""The wings and the modules beside them in the order of the flow: inputs to records to judgement to files."""


LONGEST = 700
"""Lines that no module passes: one that does has more than one idea."""


def modules(root=ROOT):
    """Give every module of the package by its dotted name; the plugin imports nothing of it, migrations are data."""
    found = {}
    for path in root.rglob("*.py"):
        parts = path.relative_to(root.parent).with_suffix("").parts
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


def in_the_map():
    """Read the modules that the contributors' notes name, by wing: those of a row, and those in what is said of it."""
    known = {name.partition(".")[2] for name, path in modules().items() if path.name != "__init__.py"}
    text = (ROOT.parent / "DEVELOPERS.md").read_text("utf-8")
    rows = text.split("| module | its one idea |\n")[1].split("\n\n")[0].splitlines()[1:]
    named = set()
    for row in rows:
        _, first, *said = row.split("|")
        titles = re.findall(r"`([\w./]+)`", first)
        wing = re.match(r"\w+[./]", titles[0])
        prefix = f"{wing[0][:-1]}." if wing else ""
        named |= {one if "." in one else f"{prefix}{one}" for one in titles if not one.endswith("/")}
        named |= {f"{prefix}{one}" for one in re.findall(r"`(\w+)`", "|".join(said))} & known
    return known, named


def test_every_module_is_in_the_map_of_the_house_and_nothing_else():
    known, named = in_the_map()
    assert len(known) > 200
    assert sorted(known - named) == [], "give each a row, or a word, in the layout of DEVELOPERS.md"
    assert sorted(named - known) == []


def test_no_module_is_too_long_to_have_one_idea():
    lines = {name: len(path.read_text("utf-8").splitlines()) for name, path in modules().items()}
    assert {name: count for name, count in lines.items() if count > LONGEST} == {}


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


def count(root):
    """Print how many modules each wing of a checkout has, how many lines, and the longest."""
    found = {name.split(".", 1)[1]: path for name, path in modules(root).items() if path.name != "__init__.py"}
    lines = {name: len(path.read_text("utf-8").splitlines()) for name, path in found.items()}
    wings = Counter(name.split(".")[0] if "." in name else "(beside one another)" for name in found)
    print(f"{len(found)} modules, {sum(lines.values()):,} lines")
    print(", ".join(f"{wing} {many}" for wing, many in wings.most_common()))
    print(", ".join(f"{name} {lines[name]}" for name in sorted(lines, key=lines.__getitem__)[:-6:-1]))


def test_the_files_named_for_other_versions_and_as_slow_are_there():
    folder = Path(__file__).parent
    tree = ast.parse((folder / "conftest.py").read_text("utf-8"))
    given = {ast.unparse(node.targets[0]): node.value for node in tree.body if isinstance(node, ast.Assign)}
    named = {name: ast.literal_eval(given[name]) for name in ("FIRST", "SLOW", "VERSIONS")}
    for one in sum(named.values(), ()):
        path, _, test = one.partition("::")
        assert (folder / path).exists(), one
        assert test in (folder / path).read_text("utf-8") if test else True, one


if __name__ == "__main__":
    count(Path(sys.argv[1], "asbuilt") if len(sys.argv) > 1 else ROOT)
