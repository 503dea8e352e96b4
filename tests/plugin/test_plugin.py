"""The desktop-GIS plugin in the real host, offscreen: installed from its zip in a clean profile, and used there."""

import configparser
import csv
import hashlib
import json
import os
import re
import shutil
import sqlite3
import subprocess
import sys
import sysconfig
import zipfile
from contextlib import closing
from pathlib import Path

import build_plugin
import pyogrio
import pytest
from desktop import (
    COMMAND,
    FORM,
    OPEN_FORM,
    ROOT,
    SAMPLE,
    TABLES,
    alive,
    asbuilt,
    in_findings_panel,
    in_panel,
    placed_by_command,
    rows,
    says,
)  # fmt: skip

from asbuilt import __version__
from asbuilt.register.layout import REGISTER_DOMAINS
from asbuilt.terminal.cautions import CAUTION, DIGGING_CAUTION

# The zip


def test_the_zip_holds_one_folder_with_all_that_the_plugin_repository_asks_for(built):
    with zipfile.ZipFile(built) as archive:
        names = archive.namelist()
        metadata = configparser.ConfigParser()
        metadata.read_string(archive.read(f"{build_plugin.NAME}/metadata.txt").decode())
    assert {name.split("/")[0] for name in names} == {build_plugin.NAME}
    needed_files = ["__init__.py", "metadata.txt", "icon.svg", "LICENSE", "vocabulary.json", "i18n/asbuilt.ts"]
    needed_files += ["help/howto/desktop_gis.html", "help/tutorials/technician.html"]
    for needed in needed_files:
        assert f"{build_plugin.NAME}/{needed}" in names
    assert not [name for name in names if name.endswith(".pyc") or "/." in name]
    general = metadata["general"]
    for key in ("name", "description", "about", "version", "qgisMinimumVersion", "author", "email", "homepage",
                "tracker", "repository", "tags", "category", "icon", "changelog"):  # fmt: skip
        assert general[key].strip(), key
    assert general["version"] == __version__
    assert "@" not in "".join(value for key, value in general.items() if key != "email")
    assert general["license"] == "GPL-2.0-or-later"
    assert general["supportsQt6"] == general["experimental"] == "True"
    assert general["hasProcessingProvider"] == "yes"


def test_the_same_sources_give_the_same_zip(built, tmp_path):
    assert build_plugin.build(tmp_path).read_bytes() == built.read_bytes()


def test_texts_to_be_translated_are_up_to_date(tmp_path, monkeypatch):
    folder = shutil.copytree(build_plugin.STRINGS.parent, tmp_path / "i18n")
    monkeypatch.setattr(build_plugin, "STRINGS", folder / "asbuilt.ts")
    monkeypatch.setattr(build_plugin, "source_of", lambda language: folder / f"asbuilt_{language}.ts")
    build_plugin.write_strings()
    for name in ("asbuilt", *(f"asbuilt_{language}" for language in build_plugin.LANGUAGES)):
        here = build_plugin.PLUGIN / "i18n" / f"{name}.ts"
        assert (folder / f"{name}.ts").read_text("utf-8") == here.read_text("utf-8"), "run build_plugin.py --strings"


@pytest.mark.parametrize("language", build_plugin.LANGUAGES)
def test_every_text_is_translated_with_its_placeholders_and_keys(language):
    texts = build_plugin.translations(language)
    assert set(texts) == set(build_plugin.strings())
    for text, translated in texts.items():
        assert translated.strip(), text
        for pattern in (r"\{[^}]*\}|%\d|%[sd]", r"\*\.\w+", r"&\w", r"\n", r"\.\.\.$", r"postgresql://"):
            marks = sorted(re.findall(pattern, text)), sorted(re.findall(pattern, translated))
            # Which letter is the key is the language's own.
            assert len(marks[0]) == len(marks[1]) if "&" in pattern else marks[0] == marks[1], (text, translated)
        assert text.startswith(" ") == translated.startswith(" "), text


def test_a_translation_that_loses_a_placeholder_is_found(monkeypatch):
    wrong = {**build_plugin.translations("de"), "{0} joints were found.": "Verbindungen gefunden."}
    monkeypatch.setattr(build_plugin, "translations", lambda language: wrong)
    with pytest.raises(AssertionError):
        test_every_text_is_translated_with_its_placeholders_and_keys("de")


def test_what_is_not_ready_is_not_built_for_publishing(tmp_path, monkeypatch):
    with pytest.raises(SystemExit, match="email is a placeholder"):
        build_plugin.refuse_unready()
    filled = tmp_path / "plugin_release.toml"
    filled.write_text(build_plugin.ADDRESSES.read_text().replace(".example", ".org"))
    monkeypatch.setattr(build_plugin, "ADDRESSES", filled)
    if build_plugin.lrelease():
        build_plugin.refuse_unready()
    monkeypatch.setattr(build_plugin, "lrelease", lambda: None)
    with pytest.raises(SystemExit, match="lrelease is not here"):
        build_plugin.refuse_unready()


def test_the_plugin_imports_only_its_host_and_the_standard_library():
    import ast

    allowed = set(sys.stdlib_module_names) | {"qgis", "processing"}
    for file in build_plugin.PLUGIN.glob("*.py"):
        for node in ast.walk(ast.parse(file.read_text("utf-8"))):
            names = [one.name for one in node.names] if isinstance(node, ast.Import) else []
            if isinstance(node, ast.ImportFrom) and not node.level:
                names = [node.module]
            assert {name.split(".")[0] for name in names} <= allowed, file.name


def test_the_package_does_not_import_the_plugin():
    for file in (ROOT / "asbuilt").glob("*.py"):
        assert "plugin" not in file.read_text("utf-8"), file.name


def test_the_plugins_environment_has_what_its_commands_use_and_no_tools():
    assert build_plugin.extras() == ["cad", "ground", "postgis", "serve"]


def test_the_wheel_has_the_package_without_the_plugin(built, tmp_path):
    with zipfile.ZipFile(built) as archive:
        (name,) = [name for name in archive.namelist() if name.endswith(".whl")]
        archive.extract(name, tmp_path)
    with zipfile.ZipFile(tmp_path / name) as wheel:
        names = wheel.namelist()
    # Without py.typed type checkers of other programs take the package for untyped.
    assert {"asbuilt/cli.py", "asbuilt/py.typed"} <= set(names)
    assert "asbuilt/data/sample_gis/job.toml" in names
    assert not [name for name in names if "plugin" in name]


# In the host


def test_the_examples_of_the_plugins_docstrings_run(host):
    answer = host.run(
        """
        import doctest
        from asbuilt_plugin import form_words, inputs, stations
        for one in (form_words, inputs, stations):
            answer[one.__name__] = doctest.testmod(one)
        """
    )
    assert all(failed == 0 and tried > 1 for failed, tried in (answer[name] for name in answer if "." in name))


def test_the_provider_loads_from_the_zip_in_a_clean_profile(host):
    answer = host.run(
        """
        answer["loaded"] = bool(loaded)
        answer["algorithms"] = {one.id(): [one.shortHelpString(), [
            [kind.name(), kind.help()] for kind in one.parameterDefinitions() if not kind.isDestination()
        ]] for one in provider.algorithms()}
        answer["icon"] = provider.icon().pixmap(32, 32).isNull()
        from qgis.PyQt.QtCore import QUrl
        answer["help"] = {one.id(): QUrl(one.helpUrl()).toLocalFile() for one in provider.algorithms()}
        """,
    )
    assert answer["loaded"]
    pages = {name: Path(page) for name, page in answer["help"].items()}
    assert set(pages) == set(answer["algorithms"])
    assert all(page.is_file() for page in pages.values()), pages
    assert {pages[f"asbuilt:{name}"].stem for name in ("place", "sheet", "undo_load")} == {
        "desktop_gis", "sheet", "register",
    }  # fmt: skip
    assert set(answer["algorithms"]) >= {"asbuilt:setup", "asbuilt:check", "asbuilt:place"}
    for name, (text, parameters) in answer["algorithms"].items():
        assert len(text) > 80, name
        assert all(tip for _, tip in parameters), (name, parameters)
    assert not answer["icon"]


def test_place_writes_what_the_command_writes_and_opens_it_styled_and_related(host, tmp_path):
    out = tmp_path / "joints.gpkg"
    answer = host.run(
        FORM
        + f"""
        answer.update(run("place", dict(FORM, OUTPUT="{out}"), load=True))
        application.processEvents()
        answer["open"] = {{one.name(): one.featureCount() for one in project.mapLayers().values() if one != lines}}
        answer["tree"] = [[group.name(), [one.name() for one in group.children()]]
                          for group in project.layerTreeRoot().children()]
        joints = project.mapLayersByName("Joints")[0]
        answer["style"] = [joints.renderer().type(), [one.value() for one in joints.renderer().categories()]]
        answer["alias"] = joints.attributeAlias(joints.fields().indexOf("deflection_deg"))
        relations = project.relationManager().referencedRelations(joints)
        answer["relations"] = sorted([one.name(), one.isValid()] for one in relations)
        joint = next(joints.getFeatures("route = 'A' and joint = '188'"))
        answer["related"] = {{one.name(): len(list(one.getRelatedFeatures(joint))) for one in relations}}
        from qgis.gui import QgsAttributeForm, QgsRelationEditorWidget, QgsAttributeEditorContext, QgsGui
        QgsGui.editorWidgetRegistry().initEditors()
        # The window gives its forms a canvas and tools; without them the host's form of a relation ends the process.
        from qgis.core import QgsVectorLayerTools
        from qgis.gui import QgsAdvancedDigitizingDockWidget, QgsMapCanvas
        class Tools(QgsVectorLayerTools):
            pass
        canvas, tools, context = QgsMapCanvas(), Tools(), QgsAttributeEditorContext()
        context.setVectorLayerTools(tools)
        digitizing = QgsAdvancedDigitizingDockWidget(canvas)
        context.setMapCanvas(canvas)
        context.setCadDockWidget(digitizing)
        form = QgsAttributeForm(joints, joint, context)
        answer["in the form"] = sorted(
            kind.relation().name() for kind in form.findChildren(QgsRelationEditorWidget)
        ) or [str(type(one)) for one in form.findChildren(object)][:3]
        """.replace("\n        ", "\n")
    )
    assert answer["RECORDS_READ"] == answer["INSPECTIONS_PLACED"] + answer["RECORDS_SET_ASIDE"] == 481
    assert "481 records were read; 471 were placed and 10 were set aside." in answer["said"]
    assert answer["steps"][:3] == ["read the centerline", "read the log", "place the joints"]
    titles = ["Findings", "Joints", "Segments", "Centerline", "Inspections", "Set aside", "Run"]
    assert answer["tree"] == [["Contract 26-07", titles], ["mains", []]]
    assert answer["open"]["Joints"] == 469
    assert answer["style"][0] == "categorizedSymbol"
    assert "over" in answer["style"][1]
    assert answer["alias"] == "Deflection (deg)"
    assert answer["relations"] == [["Findings", True], ["Inspections", True]]
    assert answer["related"]["Inspections"] == 2  # laid twice
    assert answer["in the form"] == ["Findings", "Inspections"]
    expected = placed_by_command(SAMPLE / "job.toml", tmp_path / "expected.gpkg")
    for table in TABLES:
        here, there = rows(out, table), rows(expected, table)
        if table == "findings":
            # What the sample's job file requires is what is usual; the form leaves it at that, and the finding says so.
            bases = [
                {row.pop("basis") for row in each if row["code"] == "inspection-missing"} for each in (here, there)
            ]
            assert all(basis.startswith("usual for this joint family") for basis in bases[0])
            assert bases[1] == {"required by the job for this joint family"}
        assert here == there, table


def test_layers_in_memory_filtered_or_selected_place_as_their_files_do(host, tmp_path):
    answer = host.run(
        FORM
        + f"""
        from qgis.core import QgsFeatureRequest, QgsProcessingFeatureSourceDefinition
        quarry = layer("{SAMPLE}/joint_log_quarry.csv")
        memory = lines.materialize(QgsFeatureRequest())
        project.addMapLayer(memory)
        del FORM["LOG_FILES"]
        form = dict(FORM, CENTERLINE=memory, LOG=quarry, OUTPUT="{tmp_path}/all.gpkg", OPEN=False)
        answer["all"] = run("place", form)
        quarry.selectByExpression("Joint >= '150' and Joint <= '159'")
        chosen = QgsProcessingFeatureSourceDefinition(quarry.id(), True)
        answer["selected"] = run("check", dict(form, LOG=chosen))
        answer["not only the selected"] = run("check", form)
        quarry.setSubsetString("cast(Joint as integer) between 150 and 152")
        answer["filtered"] = run("check", form)
        """.replace("\n        ", "\n")
    )
    assert not [one["error"] for one in answer.values() if "error" in one]
    assert answer["all"]["RECORDS_READ"] == answer["not only the selected"]["RECORDS_READ"] == 132
    assert answer["selected"]["RECORDS_READ"] == 10
    assert answer["filtered"]["RECORDS_READ"] == 3
    job = tmp_path / "job.toml"
    text = (SAMPLE / "job.toml").read_text().replace('"joint_log.xlsx", ', "").replace('sheet = "Joint log"', "")
    for name in ("centerline.gpkg", "joint_log_quarry.csv", "allowables.csv"):
        text = text.replace(f'"{name}"', f'"{SAMPLE / name}"')
    job.write_text(text)
    expected = rows(placed_by_command(job, tmp_path / "expected.gpkg"), "joints")
    found = rows(tmp_path / "all.gpkg", "joints")
    assert len(found) == 128  # of 132 records, one joint twice and three set aside
    assert found == expected


def test_a_job_file_is_run_as_it_is(host, tmp_path):
    job = SAMPLE / "job_metric.toml"
    answer = host.run(f"answer.update(run('place_job', dict(JOB='{job}', OUTPUT='{tmp_path}/c.gpkg')))")
    assert answer["RECORDS_READ"] == 119
    expected = placed_by_command(job, tmp_path / "expected.gpkg")
    for table in TABLES:
        assert rows(tmp_path / "c.gpkg", table) == rows(expected, table)


def test_the_first_guess_at_the_columns_is_the_commands_own(host):
    def checked(job):
        return json.loads(asbuilt("check", SAMPLE / job, "--json"))

    logs = {}
    for job, mapped in (("job.toml", {"kind", "bend_angle", "bend_plane", "bolt_torque"}), ("job_metric.toml", set())):
        answer = checked(job)
        for file, field, column in answer["columns"]:
            columns, matched = logs.setdefault(file, ([], {}))
            columns.append(column)
            if field not in mapped:
                matched[field] = column
        for file, column in answer["columns_not_read"]:
            logs[file][0].append(column)
    names = {file: columns for file, (columns, _) in logs.items()}
    answer = host.run(
        f"""
        from asbuilt_plugin import columns
        answer["guessed"] = {{file: columns.guess(names) for file, names in {names!r}.items()}}
        """
    )
    assert len(logs) == 3
    for file, (_, matched) in logs.items():
        guessed = answer["guessed"][file]
        assert {field: guessed.get(field) for field in matched} == matched, file


WRONG_INPUTS = {
    'ROUTE="line"': r"'Column with the route': .*centerline.gpkg has no column 'line'",
    'LOG_FILES=["/nowhere/log.csv"]': "/nowhere/log.csv: there is no such file",
    'COLUMNS="station"': "Columns: 'station' is not of the form: field = column",
    'COLUMNS="statoin = STA."': "did you mean 'station'",
    'MORE="records.spacing = 1"': "records.spacing: unknown key; did you mean",
    "LAYING_LENGTH=None": "Give the laying length",
    "LOG_FILES=[], LOG=found": "findings is what was found, not a joint log",
    'START_STATION="10+00"': "The start station is given twice",
    "NAME=None": "jobs of one name correct one another",
    "LOG_FILES=[]": "Give the joint log",
    "LOG=lines": "The joint log is given twice",
    'OUTPUT="/nowhere/joints.gpkg"': "there is no folder /nowhere",
}


def test_wrong_inputs_give_the_commands_message_and_no_traceback(host, placed, tmp_path):
    answer = host.run(
        FORM
        + f"""
        found = layer("{placed}", "findings")
        FORM["OUTPUT"] = "{tmp_path}/o.gpkg"
        for change in {list(WRONG_INPUTS)!r}:
            answer[change] = run("place", FORM | eval(f"dict({{change}})"))
        """.replace("\n        ", "\n")
    )
    assert "Traceback" not in json.dumps(answer)
    for change, message in WRONG_INPUTS.items():
        assert answer[change]["error"].startswith("QgsProcessingException"), change
        assert re.search(message, answer[change]["error"], re.DOTALL), answer[change]["error"]
    assert not (tmp_path / "o.gpkg").exists()


def test_a_checked_log_goes_back_to_the_contractor_with_remarks(host, tmp_path):
    answer = host.run(FORM + f"answer.update(run('check', dict(FORM, RETURN='{tmp_path}/back.xlsx')))")
    assert [line for line in answer["said"] if line.startswith("Written: ")]
    assert answer["RECORDS_READ"] == 481
    assert list(tmp_path.glob("back*.xlsx"))


def test_a_log_as_a_layer_keeps_its_file_its_rows_and_its_digest_also_filtered(host, tmp_path):
    log, book = tmp_path / "log.csv", SAMPLE / "joint_log.xlsx"
    shutil.copy(SAMPLE / "joint_log_quarry.csv", log)
    answer = host.run(
        FORM
        + f"""
        del FORM["LOG_FILES"]
        def placed(name, log, **more):
            form = dict(FORM, LOG=log, OPEN=False, OUTPUT=f"{tmp_path}/{{name}}.gpkg", **more)
            answer[name] = run("place", form)
        plain = layer("{log}")
        text = QgsVectorLayer("file://{log}?type=csv&geomType=none", "text", "delimitedtext")
        project.addMapLayer(text)
        placed("plain", plain)
        placed("text", text)
        plain.setSubsetString("cast(Joint as integer) between 150 and 152")
        text.setSubsetString("Joint >= 150 and Joint <= 152")
        placed("plain_filtered", plain)
        placed("text_filtered", text)
        plain.setSubsetString("")
        plain.selectByExpression("Joint >= '150' and Joint <= '152'")
        from qgis.core import QgsProcessingFeatureSourceDefinition
        placed("selected", QgsProcessingFeatureSourceDefinition(plain.id(), True))
        sheet = layer("{book}", "Joint log")
        FORM["MORE"] = ""
        placed("book", sheet)
        sheet.selectByIds([10, 12])
        placed("book_selected", QgsProcessingFeatureSourceDefinition(sheet.id(), True))
        answer["marked"] = run("check", dict(FORM, LOG=plain, RETURN="{tmp_path}/back.xlsx"))
        """.replace("\n        ", "\n")
    )
    assert not [one["error"] for one in answer.values() if "error" in one]

    def inputs(name):
        (run,) = rows(tmp_path / f"{name}.gpkg", "run")
        return {Path(one["path"]).name: one["sha256"] for one in json.loads(run["inputs"])}

    def taken(name):
        tables = (rows(tmp_path / f"{name}.gpkg", table) for table in ("inspections", "set_aside"))
        return sorted((Path(row["file"]).name, row["row"]) for table in tables for row in table)

    digest = hashlib.sha256(log.read_bytes()).hexdigest()
    lines = list(csv_reader(log))
    joints = {row[1]: at for at, row in enumerate(lines, start=1) if row and row[1] in ("150", "151", "152")}
    assert len(joints) == 3
    for name in ("plain", "text", "plain_filtered", "text_filtered", "selected"):
        assert inputs(name)["log.csv"] == digest, name
        assert inputs(name)["centerline.gpkg"] == hashlib.sha256((SAMPLE / "centerline.gpkg").read_bytes()).hexdigest()
    assert taken("plain") == taken("text")
    assert len(taken("plain")) == 132
    for name in ("plain_filtered", "text_filtered", "selected"):
        assert taken(name) == [("log.csv", row) for row in sorted(joints.values())], name
    assert {row for _, row in taken("book")} >= {10, 12}  # column names in row 5
    assert taken("book_selected") == [("joint_log.xlsx", 10), ("joint_log.xlsx", 12)]
    assert answer["marked"]["RETURN"] == answer["marked"]["RETURNED"] == f"{tmp_path}/back.xlsx"


def csv_reader(path):
    with path.open(encoding="utf-8-sig", newline="") as file:
        yield from csv.reader(file)


def test_a_layer_in_no_file_has_the_same_digest_each_time_and_says_where_it_is_from(host, tmp_path):
    answer = host.run(
        FORM
        + f"""
        import time
        from qgis.core import QgsFeatureRequest
        quarry = layer("{SAMPLE}/joint_log_quarry.csv").materialize(QgsFeatureRequest())
        quarry.setName("Quarry, north crew")
        project.addMapLayer(quarry)
        del FORM["LOG_FILES"]
        for name in ("one", "two"):
            answer[name] = run("place", dict(FORM, LOG=quarry, OPEN=False, OUTPUT=f"{tmp_path}/{{name}}.gpkg"))
            time.sleep(1.1)  # the clock of a file's own dates
        answer["saved"] = run("check", dict(FORM, LOG=quarry, JOB_FILE="{tmp_path}/saved.toml"))
        """.replace("\n        ", "\n")
    )
    runs = [rows(tmp_path / f"{name}.gpkg", "run")[0] for name in ("one", "two")]
    digests = [[one["sha256"] for one in json.loads(run["inputs"])] for run in runs]
    assert digests[0] == digests[1]
    assert "# Quarry_north_crew.gpkg: a copy of the layer Quarry, north crew (memory)" in runs[0]["job"]
    assert "a layer of it is in no file" in answer["saved"]["error"]
    assert not (tmp_path / "saved.toml").exists()


def test_changes_that_are_not_saved_are_not_passed_over(host, tmp_path):
    shutil.copy(SAMPLE / "centerline.gpkg", tmp_path / "line.gpkg")
    answer = host.run(
        FORM
        + f"""
        lines = layer("{tmp_path}/line.gpkg", "mains")
        lines.startEditing()
        lines.changeAttributeValue(1, lines.fields().indexOf("street"), "Elsewhere")
        answer["r"] = run("check", dict(FORM, CENTERLINE=lines))
        """.replace("\n        ", "\n")
    )
    assert "has changes that are not saved" in answer["r"]["error"]


def test_a_layer_without_a_coordinate_system_takes_the_forms(host, tmp_path):
    lines = pyogrio.read_dataframe(SAMPLE / "centerline.gpkg", layer="mains")
    lines.set_crs(None, allow_override=True).to_file(tmp_path / "bare.gpkg", layer="mains")
    answer = host.run(
        FORM
        + f"""
        from qgis.core import QgsCoordinateReferenceSystem, QgsFeatureRequest
        bare = layer("{tmp_path}/bare.gpkg", "mains")
        bare.setCrs(QgsCoordinateReferenceSystem())
        memory = bare.materialize(QgsFeatureRequest())
        memory.setCrs(QgsCoordinateReferenceSystem())
        project.addMapLayer(memory)
        for name, line in (("file", bare), ("memory", memory)):
            answer[f"{{name}} without"] = run("check", dict(FORM, CENTERLINE=line))
            answer[name] = run("check", dict(FORM, CENTERLINE=line, CRS="EPSG:6418"))
        bare.setCrs(QgsCoordinateReferenceSystem("EPSG:6418"))
        answer["set in the project"] = run("check", dict(FORM, CENTERLINE=bare))
        """.replace("\n        ", "\n")
    )
    for name in ("file", "memory", "set in the project"):
        assert answer[name].get("JOINTS") == 469, answer[name]
    for name in ("file without", "memory without"):
        assert "'Coordinate system of the centerline': " in answer[name]["error"]


def test_surveyed_joints_of_a_file_without_a_coordinate_system_are_in_the_layers(host, placed, tmp_path):
    """Set in the project, as the file does not say it; one that only this host knows goes over as it is defined."""
    joints = pyogrio.read_dataframe(placed, layer="joints")[["route", "joint", "station", "size", "geometry"]]
    degrees = joints.to_crs(4326).set_crs(None, allow_override=True)
    degrees.geometry = degrees.geometry.force_2d()
    degrees.to_file(tmp_path / "log.shp")
    answer = host.run(
        FORM
        + f"""
from qgis.core import QgsCoordinateReferenceSystem as Crs
log = layer("{tmp_path}/log.shp")
form = dict(FORM, LOG=log, COLUMNS="", LOG_FILES=None, EQUATIONS=[])
form["MORE"] = 'records.spacing_tolerance = 0.5'
own = Crs()
own.createFromProj("+proj=longlat +ellps=GRS80 +no_defs")
for name, crs in (("known", Crs("EPSG:4326")), ("own", own)):
    log.setCrs(crs)
    answer[name] = run("check", dict(form, JOB_FILE="{tmp_path}/" + name + ".toml"))
from asbuilt_plugin import inputs
class Mine(Crs):
    def authid(self): return "USER:100001"
answer["its number"] = inputs.authority(Mine(own))[:7]
"""
    )
    assert "error" not in answer["known"], answer["known"]
    assert 'records.crs = "EPSG:4326"' in (tmp_path / "known.toml").read_text()
    assert answer["its number"] == "GEOGCS["  # which only this host knows
    assert 'records.crs = "GEOGCS[' in (tmp_path / "own.toml").read_text()
    assert answer["known"]["JOINTS"] == 469
    assert "records.crs: no transformation from unknown" in answer["own"]["error"]  # its datum is none


def test_a_form_is_saved_as_a_job_file_that_runs_the_same(host, tmp_path):
    (tmp_path / "theirs.toml").write_text('name = "theirs"\n')
    answer = host.run(
        FORM
        + f"""
        answer["form"] = run("place", dict(FORM, JOB_FILE="{tmp_path}/job.toml", OUTPUT="{tmp_path}/a.gpkg"))
        answer["again"] = run("place", dict(FORM, JOB_FILE="{tmp_path}/job.toml", OUTPUT="{tmp_path}/a.gpkg"))
        answer["theirs"] = run("check", dict(FORM, JOB_FILE="{tmp_path}/theirs.toml"))
        answer["file"] = run("place_job", dict(JOB="{tmp_path}/job.toml", OUTPUT="{tmp_path}/b.gpkg"))
        """.replace("\n        ", "\n")
    )
    assert f"Saved as job file: {tmp_path}/job.toml" in answer["again"]["said"]
    assert "was not saved from this form" in answer["theirs"]["error"]
    assert (tmp_path / "theirs.toml").read_text() == 'name = "theirs"\n'
    for table in TABLES:
        assert rows(tmp_path / "a.gpkg", table) == rows(tmp_path / "b.gpkg", table), table


def test_a_job_files_own_output_is_used_and_the_map_shows_what_a_second_run_wrote(host, tmp_path):
    shutil.copytree(SAMPLE, tmp_path / "job")
    out = tmp_path / "job" / "joints.gpkg"
    out.unlink(missing_ok=True)
    answer = host.run(
        f"""
        from pathlib import Path
        log = Path("{tmp_path}/job/joint_log_quarry.csv")
        answer["first"] = run("place_job", dict(JOB="{tmp_path}/job/job.toml"), load=True)
        application.processEvents()
        joints = project.mapLayersByName("Joints")[0]
        answer["before"] = [len(project.mapLayers()), joints.featureCount(), len(list(joints.getFeatures()))]
        # The crew's last rows are taken back.
        log.write_text("".join(log.read_text("utf-8").splitlines(keepends=True)[:100]), "utf-8")
        answer["second"] = run("place_job", dict(JOB="{tmp_path}/job/job.toml"), load=True)
        application.processEvents()
        answer["after"] = [len(project.mapLayers()), joints.featureCount(), len(list(joints.getFeatures()))]
        """,
    )
    assert answer["first"]["OUTPUT"] == answer["second"]["OUTPUT"] == str(out)
    layers, joints, features = answer["before"]
    assert joints == features == 469
    now = len(rows(out, "joints"))
    assert now < joints
    assert answer["after"] == [layers, now, now]


def test_choices_are_kept_by_their_names_and_routine_notes_are_no_warnings(host, tmp_path):
    answer = host.run(
        FORM
        + """
        from qgis.core import QgsProcessingParameterEnum
        answer["by name"] = {
            f"{one.name()}.{kind.name()}": [kind.usesStaticStrings(), kind.options()]
            for one in provider.algorithms() for kind in one.parameterDefinitions()
            if isinstance(kind, QgsProcessingParameterEnum)
        }
        warned = []
        class Warned(Feedback):
            def pushWarning(self, text):
                warned.append(text)
        feedback = Warned()
        processing.run("asbuilt:check", FORM, feedback=feedback)
        answer["warned"], answer["said"] = warned, feedback.said
        """.replace("\n        ", "\n")
    )
    assert set(answer["by name"]) == {"check.STATION_UNIT", "check.TABLE", "place.STATION_UNIT", "place.TABLE",
                                      "find.VERDICT", "find.FINDING", "service.STATE", "conflicts.SETTLE"}  # fmt: skip
    assert all(steady for steady, _ in answer["by name"].values())
    assert "within-assumed" in answer["by name"]["find.VERDICT"][1]
    assert any("how well the shots are known" in text for text in answer["warned"])
    assert not [text for text in answer["warned"] if "left out as blank" in text or "separated by" in text]
    assert [text for text in answer["said"] if "left out as blank" in text]


# The child


def test_cancel_stops_the_child_and_all_that_it_started(host, tmp_path):
    host.says(
        f"""if [ "$1" = --version ]; then echo "asbuilt, version {__version__}"; exit; fi
        echo '{{"step": "read the log", "done": 1, "of": 6}}' >&2
        sleep 600 & echo $! > {tmp_path}/grandchild; echo $$ > {tmp_path}/child; wait"""
    )
    answer = host.run(
        f"""
        import threading, time
        from pathlib import Path
        feedback = Feedback()

        def cancel():
            while not Path("{tmp_path}/child").exists() or not feedback.steps:
                time.sleep(0.05)
            feedback.canceled_at = time.monotonic()
            feedback.cancel()

        thread = threading.Thread(target=cancel)
        thread.start()
        try:
            processing.run("asbuilt:check_job", dict(JOB="{SAMPLE}/job.toml"), feedback=feedback)
        except Exception as error:
            answer["error"] = str(error)
        answer["seconds"] = time.monotonic() - feedback.canceled_at
        answer["steps"] = feedback.steps
        """
    )
    assert "Cancelled" in answer["error"]
    assert answer["steps"] == ["read the log"]
    assert answer["seconds"] < 10
    for name in ("child", "grandchild"):
        assert not alive(int((tmp_path / name).read_text())), name


def test_cancelling_the_real_command_leaves_the_earlier_output_and_nothing_beside_it(host, tmp_path):
    host.says(COMMAND)
    folder = tmp_path / "out"
    folder.mkdir()
    earlier = folder / "joints.gpkg"
    for _ in range(5):
        earlier.write_bytes(b"as it was")
        answer = host.run(
            f"""
            feedback = Feedback()
            # Cancelled at the last step, while the file is being written.
            feedback.setProgressText = lambda text: text == "write" and feedback.cancel()
            try:
                job = dict(JOB="{SAMPLE}/job.toml", OUTPUT="{earlier}")
                processing.run("asbuilt:place_job", job, feedback=feedback)
            except Exception as error:
                answer["error"] = str(error)
            """
        )
        assert [path.name for path in folder.iterdir()] == ["joints.gpkg"]
        if "Cancelled too late" not in answer["error"]:
            break
        # On a busy machine the host hears of the step when the file is there: whole, and said to be the new one.
        assert pyogrio.read_info(earlier, layer="joints")["features"] == 469
    assert "Cancelled; the output is as it was before" in answer["error"]
    assert earlier.read_bytes() == b"as it was"


def test_cancelling_what_was_done_by_then_says_that_the_output_is_the_new_one(host, tmp_path):
    says(tmp_path / "done", f"touch {tmp_path}/new; sleep 1")
    answer = host.run(
        f"""
        import os, time
        from asbuilt_plugin import child
        def cancelled():
            there = os.path.exists("{tmp_path}/new")
            time.sleep(2.0 if there else 0.0)  # meanwhile the child ends
            return there
        try:
            child.run(["{tmp_path}/done"], cancelled=cancelled)
        except child.Cancelled as error:
            answer["error"] = str(error)
        """
    )
    assert answer["error"].startswith("Cancelled too late: the work was done by then")


DEATHS = {
    "kill -SEGV $$": r"ended before it was done \(exit status -11\)",
    "echo '{'": "answered with something other than JSON",
    "echo 'asbuilt failed: KeyError' >&2; exit 3": "asbuilt failed: KeyError",
    "head -c 300000 /dev/zero | tr '\\0' x >&2; kill -KILL $$": r"exit status -9",
}


def test_a_child_that_dies_or_talks_nonsense_is_one_message(host, tmp_path):
    for number, line in enumerate(DEATHS):
        says(
            tmp_path / f"death{number}",
            f'if [ "$1" = --version ]; then echo "asbuilt, version {__version__}"; exit; fi\n{line}',
        )
    answer = host.run(
        f"""
        for number in range({len(DEATHS)}):
            QgsSettings().setValue("asbuilt/command", f"{tmp_path}/death{{number}}")
            answer[number] = run("check_job", dict(JOB="{SAMPLE}/job.toml"))
        """
    )
    for number, message in enumerate(DEATHS.values()):
        error = answer[str(number)]["error"]
        assert error.startswith("QgsProcessingException")
        assert re.search(message, error), error[:500]


def test_a_missing_or_other_environment_is_said_with_what_to_do(host, tmp_path):
    says(tmp_path / "newer", 'echo "asbuilt, version 9.9.0"')
    says(tmp_path / "broken", "exit 1")
    messages = {
        "/nowhere/asbuilt": "/nowhere/asbuilt, named in the plugin's settings, is not there",
        f"{tmp_path}/newer": f"is asbuilt 9.9.0, but this plugin needs {__version__}",
        f"{tmp_path}/broken": "does not answer as the asbuilt command",
        "": "The asbuilt command is not here yet. Run the algorithm 'Set up the asbuilt environment'",
    }
    answer = host.run(
        f"""
        import os
        os.environ["PATH"] = "/usr/bin:/bin"
        for setting in {list(messages)!r}:
            QgsSettings().setValue("asbuilt/command", setting)
            answer[setting] = run("check_job", dict(JOB="{SAMPLE}/job.toml"))
        """
    )
    for setting, message in messages.items():
        assert message in answer[setting]["error"]


def test_the_hosts_own_library_settings_do_not_reach_the_child(host, tmp_path):
    host.says(f'env > {tmp_path}/seen; echo "asbuilt, version {__version__}"')
    # The wrapper sets PYTHONPATH itself, so the others speak for it.
    host.run(
        """
        import os
        os.environ.update(PYTHONHOME="/wrong", GDAL_DATA="/wrong", PROJ_LIB="/wrong", KEPT="yes")
        from asbuilt_plugin import environment
        environment.command()
        """
    )
    seen = (tmp_path / "seen").read_text()
    assert "/wrong" not in seen
    assert "KEPT=yes" in seen


# As a user meets it


def test_the_form_chooses_the_only_line_layer_its_columns_and_the_columns_of_files(host):
    answer = host.run(
        OPEN_FORM
        + f"""
project.setTitle("Contract 26-07")
lines = layer("{SAMPLE}/centerline.gpkg", "mains")
dialog, fields = opened()
answer["only"] = fields["CENTERLINE"].parameterValue() in (lines.id(), lines.source())
wait(lambda: fields["ROUTE"].parameterValue())
answer["guessed"] = [fields[name].parameterValue() for name in ("ROUTE", "START_FIELD", "NAME")]
context = QgsProcessingContext()
context.setProject(project)
fields["LOG_FILES"].setParameterValue(["{SAMPLE}/joint_log.xlsx"], context)
wait(lambda: "STA." in fields["COLUMNS"].value())
answer["columns"] = fields["COLUMNS"].value()
# Of two layers none is chosen.
layer("{SAMPLE}/centerline.gpkg", "mains")
answer["of two"] = opened()[1]["CENTERLINE"].parameterValue()
""",
    )
    assert answer["only"]
    assert answer["guessed"] == ["route_id", "sta_start", "Contract 26-07"]
    looked = json.loads(asbuilt("columns", SAMPLE / "joint_log.xlsx", "--json"))
    assert dict(line.split(" = ") for line in answer["columns"].splitlines()) == looked["files"][0]["fields"]
    assert not answer["of two"]


def test_a_form_filled_in_from_a_job_file_places_as_that_file_does(host, tmp_path):
    answer = host.run(
        OPEN_FORM
        + f"""
dialog, fields = opened()
fields["NAME"].fill_from("{SAMPLE}/job.toml")
wait(lambda: fields["LAYING_LENGTH"].parameterValue())
form = dialog.mainWidget().createProcessingParameters()
answer["form"] = {{name: str(value) for name, value in form.items()}}
answer["said"] = dialog.messageBar().currentItem().text()
answer["r"] = run("place", {{**form, "OUTPUT": "{tmp_path}/o.gpkg"}})
fields["NAME"].fill_from("{tmp_path}/none.toml")
wait(lambda: "there is no such file" in dialog.messageBar().currentItem().text())
""",
    )
    assert answer["form"]["STATION_UNIT"] == "US survey foot"
    assert answer["form"]["START_FIELD"] == "sta_start"
    assert "'Further keys of the job file'" in answer["said"]
    assert answer["r"].get("RECORDS_READ") == 481, answer["r"]
    expected = placed_by_command(SAMPLE / "job.toml", tmp_path / "expected.gpkg")
    for table in TABLES:
        assert rows(tmp_path / "o.gpkg", table) == rows(expected, table)


def test_messages_name_fields_of_the_form_and_results_are_sentences(host, tmp_path):
    answer = host.run(
        FORM
        + f"""
answer["r"] = run("place", dict(FORM, OUTPUT="{tmp_path}/o.gpkg"))
answer["near"] = run("find", dict(REGISTER="{tmp_path}/none.gpkg", FROM="12+00", OUTPUT="{tmp_path}/f.gpkg"))
answer["length"] = run("place", dict(FORM, LAYING_LENGTH=9000, OUTPUT="{tmp_path}/o2.gpkg"))
""",
    )
    said = "\n".join(answer["r"]["said"])
    assert "481 records were read; 471 were placed and 10 were set aside." in said
    assert "They are 469 joints, on 2 of 2 routes." in said
    for one in ("near", "length"):
        assert not re.search(r"--[a-z]|records\.|/job\.toml", answer[one]["error"]), answer[one]
    assert "'Load a placed job into the register' makes one" in answer["near"]["error"]
    assert "'Laying length'" in answer["length"]["error"]


def test_the_form_offers_the_logs_columns_with_the_first_guess_chosen(host, tmp_path):
    answer = host.run(
        FORM
        + f"""
        from qgis.PyQt.QtTest import QTest
        from qgis.PyQt.QtCore import Qt
        quarry = layer("{SAMPLE}/joint_log_quarry.csv")
        del FORM["LOG_FILES"], FORM["COLUMNS"]
        from processing.gui.AlgorithmDialog import AlgorithmDialog
        dialog = AlgorithmDialog(QgsApplication.processingRegistry().createAlgorithmById("asbuilt:place"), False, None)
        dialog.setParameters(dict(FORM, LOG=quarry, OUTPUT="{tmp_path}/o.gpkg"))
        dialog.show()
        form = dialog.mainWidget()
        boxes = form.wrappers["COLUMNS"].widget.boxes
        answer["guess"] = {{field: box.currentText() for field, box in boxes.items() if box.currentText()}}
        answer["tips"] = [box.toolTip() for box in boxes.values()]
        # The user types the two columns that the guess cannot know.
        for field, column in (("kind", "Ftg"), ("pipe_class", "Bend plane")):
            boxes[field].setFocus()
            boxes[field].lineEdit().selectAll()
            QTest.keyClicks(boxes[field].lineEdit(), column)
        # ... and takes one back.
        boxes["pipe_class"].lineEdit().selectAll()
        QTest.keyClick(boxes["pipe_class"].lineEdit(), Qt.Key.Key_Delete)
        answer["parameters"] = form.createProcessingParameters()
        answer["run"] = processing.run("asbuilt:place", answer["parameters"])
        answer["parameters"] = answer["parameters"]["COLUMNS"]
        """.replace("\n        ", "\n")
    )
    assert answer["guess"]["laid_length"] == "Laid length"
    assert answer["guess"]["bolt_torque"] == "Torque (ft-lb)"
    assert "kind" not in answer["guess"]
    assert all(answer["tips"])
    assert "kind = Ftg" in answer["parameters"]
    assert "pipe_class" not in answer["parameters"]
    assert answer["run"]["RECORDS_READ"] == 132
    kinds = {row["kind"] for row in rows(tmp_path / "o.gpkg", "joints")}
    assert "pipe" in kinds
    assert len(kinds) > 1


def test_place_runs_in_a_model_whose_next_step_takes_its_joints(host, tmp_path):
    answer = host.run(
        f"""
        from qgis.core import QgsProcessingModelAlgorithm as Model, QgsProcessingModelChildAlgorithm as Child
        from qgis.core import QgsProcessingModelChildParameterSource as Source, QgsProcessingModelOutput
        model = Model("from log to heat", "tests")
        place = Child("asbuilt:place_job")
        place.setChildId("place")
        place.addParameterSources("JOB", [Source.fromStaticValue("{SAMPLE}/job.toml")])
        place.addParameterSources("OPEN", [Source.fromStaticValue(False)])
        place.addParameterSources("OUTPUT", [Source.fromStaticValue("{tmp_path}/placed.gpkg")])
        model.addChildAlgorithm(place)
        over = Child("native:extractbyexpression")
        over.setChildId("over")
        over.addParameterSources("INPUT", [Source.fromChildOutput("place", "JOINTS_LAYER")])
        over.addParameterSources("EXPRESSION", [Source.fromStaticValue("verdict = 'over'")])
        output = QgsProcessingModelOutput("over", "over")
        output.setChildId("over")
        output.setChildOutputName("OUTPUT")
        over.setModelOutputs({{"over": output}})
        model.addChildAlgorithm(over)
        model.initAlgorithm()
        context = QgsProcessingContext()
        context.setProject(project)
        results, fine = model.run({{"over:over": "{tmp_path}/over.gpkg"}}, context, Feedback())
        answer["fine"] = fine
        answer["found"] = layer("{tmp_path}/over.gpkg").featureCount()
        """
    )
    assert answer["fine"]
    assert answer["found"] == 2


def test_a_batch_runs_jobs_one_after_another(host, tmp_path):
    answer = host.run(
        f"""
        from qgis.utils import iface
        from processing.gui.BatchAlgorithmDialog import BatchAlgorithmDialog
        dialog = BatchAlgorithmDialog(QgsApplication.processingRegistry().createAlgorithmById("asbuilt:place"))
        panel = dialog.mainWidget()
        answer["columns"] = panel.tblParameters.columnCount()
        context = QgsProcessingContext()
        context.setProject(project)
        jobs = [dict(JOB=f"{SAMPLE}/{{job}}.toml", OUTPUT=f"{tmp_path}/{{job}}.gpkg") for job in ("job", "job_metric")]
        algorithm = QgsApplication.processingRegistry().createAlgorithmById("asbuilt:place_job")
        answer["found"] = [algorithm.run(job, context, Feedback())[0]["RECORDS_READ"] for job in jobs]
        """,
    )
    assert answer["columns"] > 15
    assert answer["found"] == [481, 119]


def test_the_hosts_own_program_runs_it_without_a_window(host, tmp_path):
    # Debian's wrapper hands it options that only its window knows.
    program = shutil.which("qgis_process.bin") or shutil.which("qgis_process")
    if program is None:
        pytest.skip("NOT CHECKED: the program qgis_process (Debian package qgis) is not here")
    host.says(COMMAND)
    environment = host.desktop.environment() | {
        "QGIS_CUSTOM_CONFIG_PATH": str(tmp_path / "custom"),
        "PATH": f"{tmp_path}:/usr/bin:/bin",
    }
    plugins = tmp_path / "custom" / "profiles" / "default" / "python" / "plugins"
    plugins.parent.mkdir(parents=True)
    shutil.copytree(host.plugin.parent, plugins)
    enabled = subprocess.run([program, "plugins", "enable", build_plugin.NAME], env=environment, capture_output=True)
    assert not enabled.returncode, enabled.stdout + enabled.stderr
    run = [program, "run", "asbuilt:place_job", "--json", "--", f"JOB={SAMPLE}/job.toml", f"OUTPUT={tmp_path}/o.gpkg"]
    done = subprocess.run(run, env=environment, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
    assert json.loads(done.stdout)["results"]["RECORDS_READ"] == 481
    assert len(rows(tmp_path / "o.gpkg", "joints")) == 469


def test_what_the_legends_say_is_among_the_texts_to_be_translated():
    styles = list(build_plugin.STYLES.glob("*.qml"))
    labels = re.findall(r'<category [^>]*label="([^"]+)"', "".join(style.read_text("utf-8") for style in styles))
    assert {"Over the allowable", "Act"} <= set(labels) <= set(build_plugin.strings())


def test_titles_meanings_and_assumptions_are_among_the_texts_to_be_translated():
    from asbuilt import schema

    layers = [schema.LAYERS[name] for name in ("joints", "inspections", "findings", "set_aside", "run")]
    titles = {one.title for layer in layers for one in layer.columns.values()}
    shown = ("verdict", "finding_code", "set_aside_reason", "state", "service", "yes_no", "test_result")
    meanings = {words for domain in shown for words in REGISTER_DOMAINS[domain].values()}
    assert titles | meanings | set(schema.ASSUMPTIONS.values()) <= set(build_plugin.strings())


@pytest.mark.parametrize(
    ("language", "name", "over", "act", "label", "deflection"),
    [
        ("de_DE", "Rohrverbindungen", "Über der zulässigen Abwinkelung", "Handeln", "Trasse", "Abwinkelung (Grad)"),
        ("es", "Juntas de tubería", "Por encima de lo admisible", "Actuar", "Ruta", "Deflexión (grados)"),
    ],
)
def test_the_plugin_speaks_the_hosts_language(host, placed, language, name, over, act, label, deflection):
    if build_plugin.lrelease() is None:
        pytest.skip("NOT CHECKED: the program lrelease (Debian package qttools5-dev-tools) is not here")
    answer = host.run(
        f"""
        QgsSettings().setValue("locale/userLocale", "{language}")
        qgis.utils.unloadPlugin("asbuilt_plugin")
        qgis.utils.loadPlugin("asbuilt_plugin")
        qgis.utils.startProcessingPlugin("asbuilt_plugin")
        provider = QgsApplication.processingRegistry().providerById("asbuilt")
        answer["name"] = provider.name()
        answer["titles"] = [one.displayName() for one in provider.algorithms()]
        from asbuilt_plugin import results
        context = QgsProcessingContext()
        context.setProject(project)
        shown = {{name: layer("{placed}", name) for name in results.present("{placed}")}}
        joints = shown["joints"]
        joints.setFieldAlias(joints.fields().indexOf("kind"), "Chosen by me")
        # As the host does when a work has written these layers.
        for one in shown.values():
            results._Arranged("{placed}", "Job").postProcessLayer(one, context, None)
        answer["legend"] = {{name: [item.label() for item in shown[name].renderer().legendSymbolItems()]
                            for name in ("joints", "findings")}}
        answer["label"] = shown["centerline"].labeling().settings().fieldName
        from asbuilt_plugin.words import meaning
        answer["titles of columns"] = {{name: {{field.name(): one.attributeAlias(at)
                                               for at, field in enumerate(one.fields())}}
                                       for name, one in shown.items()}}
        answer["choices"] = [list(choice)[0] for one in shown.values() for at in range(one.fields().count())
                             if one.editorWidgetSetup(at).type() == "ValueMap"
                             for choice in one.editorWidgetSetup(at).config()["map"]]
        answer["meaning"] = [meaning("verdict", "over"), meaning("verdict", "of tomorrow")]
        from asbuilt_plugin.columns_widget import ColumnsTable
        table = ColumnsTable()
        fields = [table.item(row, 0) for row in range(table.rowCount())]
        answer["fields"] = [text for one in fields for text in (one.text(), one.toolTip().partition(": ")[2])]
        answer["tip"] = joints.mapTipTemplate()
        answer["assumed"] = [text for text in joints.uniqueValues(joints.fields().indexOf("assumed_in_words")) if text]
        """,
    )
    translated = set(build_plugin.translations(language[:2]).values())
    assert answer["name"] == name
    assert set(answer["titles"]) <= translated
    assert answer["legend"]["joints"][0] == over
    assert answer["legend"]["findings"][0] == act
    assert set(answer["legend"]["joints"] + answer["legend"]["findings"]) <= translated
    assert answer["label"] == f"'{label} ' || \"route\""
    titles = answer["titles of columns"]
    assert titles["joints"]["deflection_deg"] == deflection
    assert titles["joints"].pop("kind") == "Chosen by me"
    assert {"joints", "inspections", "findings", "set_aside", "run"} <= set(titles)
    shown = {title for columns in titles.values() for title in columns.values()}
    assert shown <= translated | {""}
    assert answer["fields"]
    assert set(answer["fields"]) <= translated
    assert answer["choices"]
    assert set(answer["choices"]) <= translated
    assert answer["meaning"][0] in translated
    assert answer["meaning"][1] == "of tomorrow"
    assert answer["meaning"][0] in answer["tip"]
    assert answer["assumed"]
    assert {part for text in answer["assumed"] for part in text.split("; ")} <= translated


@pytest.fixture
def python_with_libraries(tmp_path):
    """Give a Python whose new environments have the libraries of these tests, so that none is fetched and unpacked.

    Whether the package index has them is seen wherever the project itself is installed; here the installer of packages
    still judges them by what the package asks for.
    """
    libraries = tmp_path / "libraries"
    libraries.mkdir()
    for one in Path(sysconfig.get_path("purelib")).iterdir():
        if "asbuilt" not in one.name and one.suffix != ".pth":
            (libraries / one.name).symlink_to(one)
    python = tmp_path / "python3"
    says(
        python,
        f"""if [ "$1 $2" = "-m venv" ]; then
        {sys.executable} "$@" && echo {libraries} > "$(echo "$3"/lib/python3*/site-packages)/libraries.pth"
    else exec {sys.executable} "$@"; fi""",
    )
    return python


def test_the_environment_is_made_on_request_and_runs_the_job(host, python_with_libraries, tmp_path):
    answer = host.run(
        f"""
        import os
        os.environ["PATH"] = "/usr/bin:/bin"
        QgsSettings().setValue("asbuilt/command", "")
        answer["made"] = run("setup", dict(PYTHON="{python_with_libraries}"))
        answer["placed"] = run("place_job", dict(JOB="{SAMPLE}/job.toml", OUTPUT="{tmp_path}/o.gpkg"))
        """
    )
    made = host.profile / "asbuilt_environment"
    assert answer["made"].get("VERSION") == __version__, answer["made"]
    assert re.fullmatch(rf"{re.escape(str(made))}/{__version__}-[\w-]+/bin/asbuilt", answer["made"]["COMMAND"])
    assert answer["placed"]["RECORDS_READ"] == 481


def test_an_environment_that_cannot_be_made_is_said_and_leaves_nothing(host, tmp_path):
    says(tmp_path / "old", "echo 3.9")
    says(tmp_path / "broken", 'case "$*" in *print*) echo 3.11;; *) exit 1;; esac')
    messages = {
        "/usr/bin/true": "/usr/bin/true is not a Python interpreter",
        "/nowhere/python3": "/nowhere/python3 cannot be started",
        f"{tmp_path}/old": "is Python 3.9, but asbuilt needs 3.11 or later",
        f"{tmp_path}/broken": "The environment could not be made",
    }
    answer = host.run(
        f"""
        for python in {list(messages)!r}:
            answer[python] = run("setup", dict(PYTHON=python))
        """
    )
    for python, message in messages.items():
        assert message in answer[python]["error"]
    assert not list((host.profile / "asbuilt_environment").glob("*"))


def test_a_second_set_up_that_fails_or_is_cancelled_leaves_the_environment_that_works(host, tmp_path):
    made = host.profile / "asbuilt_environment"
    (made / "first" / "bin").mkdir(parents=True)
    (made / "current.txt").write_text("first")
    says(made / "first" / "bin" / "asbuilt", f'echo "asbuilt, version {__version__}"')
    says(tmp_path / "broken", 'case "$*" in *print*) echo 3.11;; *) exit 1;; esac')
    says(
        tmp_path / "slow",
        f"""case "$*" in *print*) echo 3.11;; *) mkdir -p "$3/bin"; touch "$3/bin/half"
        sleep 600 & echo $! > {tmp_path}/child; wait;; esac""",
    )
    answer = host.run(
        f"""
        import os
        from asbuilt_plugin import environment
        QgsSettings().setValue("asbuilt/command", "")
        answer["failed"] = run("setup", dict(PYTHON="{tmp_path}/broken"))

        try:
            environment.make("{tmp_path}/slow", print, lambda: os.path.exists("{tmp_path}/child"))
        except environment.child.Cancelled as error:
            answer["cancelled"] = str(error)
        answer["command"] = environment.command()
        """
    )
    assert "The environment could not be made" in answer["failed"]["error"]
    assert answer["cancelled"].startswith("Cancelled")
    assert not alive(int((tmp_path / "child").read_text()))
    assert answer["command"] == [str(made / "first" / "bin" / "asbuilt")]
    assert [path.name for path in sorted(made.iterdir())] == ["current.txt", "first"]


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="NOT CHECKED: mounting a disk takes root")
def test_a_profile_without_rights_is_one_message_and_what_a_host_left_half_made_goes_later(
    host, python_with_libraries, tmp_path
):
    made = host.profile / "asbuilt_environment"
    left, busy = made / "0.1.0-20260101-000000-left", made / "0.1.0-of-another-window"
    for folder in (left, busy):
        (folder / "bin").mkdir(parents=True)
    os.utime(left, (0, 0))
    setup = f"""
    QgsSettings().setValue("asbuilt/command", "")
    answer["made"] = run("setup", dict(PYTHON="{python_with_libraries}"))
    """
    if subprocess.run(["mount", "--bind", made, made], capture_output=True).returncode:
        pytest.skip("NOT CHECKED: no disk can be mounted here")
    try:
        subprocess.run(["mount", "-o", "remount,ro,bind", made], check=True)
        locked = host.run(setup)["made"]
    finally:
        subprocess.run(["umount", made], check=True)
    assert f"cannot be made in {made} (Read-only file system)" in locked["error"]
    assert "Traceback" not in locked["error"]
    assert {one.name for one in made.iterdir()} == {left.name, busy.name}
    whole = host.run(setup)["made"]
    assert whole.get("VERSION") == __version__, whole
    assert {one.name for one in made.iterdir()} == {
        busy.name, Path(whole["COMMAND"]).parents[1].name, "current.txt"
    }  # fmt: skip


def test_the_offer_to_set_up_ends_when_it_was_set_up_or_the_plugin_is_taken_off(host, python_with_libraries):
    answer = host.run(
        f"""
        import os
        from qgis.gui import QgsMessageBar
        from asbuilt_plugin import child
        from asbuilt_plugin.plugin import JointRecords

        class Interface:
            bar = QgsMessageBar()
            def messageBar(self): return self.bar

        def texts(): return sorted(one.text() for one in interface.bar.items())

        os.environ["PATH"] = "/usr/bin:/bin"
        QgsSettings().setValue("asbuilt/command", "")
        before, interface = qgis.utils.iface, Interface()
        qgis.utils.iface = interface
        plugin = JointRecords(interface)
        plugin._welcome()
        interface.bar.pushMessage("something else")
        answer["offered"] = texts()
        answer["failed"] = run("setup", dict(PYTHON="/usr/bin/true"))
        answer["after failing"] = texts()
        plugin.unload()
        child.ending.clear()
        answer["taken off"] = texts()
        plugin = JointRecords(interface)
        plugin._welcome()
        answer["offered again"] = texts()
        answer["made"] = run("setup", dict(PYTHON="{python_with_libraries}"))
        answer["after it"] = texts()
        plugin.unload()
        child.ending.clear()
        qgis.utils.iface = before
        """
    )
    offered = sorted(["The asbuilt command is not here yet.", "something else"])
    assert answer["offered"] == answer["after failing"] == answer["offered again"] == offered
    assert "is not a Python interpreter" in answer["failed"]["error"]
    assert answer["taken off"] == answer["after it"] == ["something else"]
    assert answer["made"].get("VERSION") == __version__, answer["made"]


def test_the_form_that_sets_up_stands_before_the_settings_and_can_be_used(host):
    answer = host.run(
        """
        import processing.tools.general as general
        from qgis.PyQt.QtCore import QTimer
        from qgis.PyQt.QtWidgets import QMainWindow, QPushButton
        from asbuilt_plugin.settings_dialog import SettingsDialog

        class Interface:
            def mainWindow(self): return window
            def __getattr__(self, name): return lambda *given: None

        def look():
            form = application.activeModalWidget()
            answer["form"] = [type(form).__name__, form.parent() is dialog]
            form.reject()
            QTimer.singleShot(0, dialog.reject)

        window = QMainWindow()
        before, general.iface = general.iface, Interface()
        dialog = SettingsDialog(window)
        QTimer.singleShot(0, dialog.set_up.click)
        QTimer.singleShot(1000, look)
        dialog.exec()
        general.iface = before
        answer["state"] = dialog.state.text()
        """
    )
    assert answer["form"] == ["AlgorithmDialog", True]
    assert answer["state"] == f"Ready: {host.command}"


def test_no_output_is_a_file_that_the_form_reads(host, tmp_path):
    for name in ("centerline.gpkg", "joint_log_quarry.csv"):
        shutil.copy(SAMPLE / name, tmp_path / name)
    before = (tmp_path / "centerline.gpkg").read_bytes()
    answer = host.run(
        f"""
        lines = layer("{tmp_path}/centerline.gpkg", "mains")
        form = dict(CENTERLINE=lines, ROUTE="route_id", START_FIELD="sta_start", NAME="Quarry",
                    LOG_FILES=["{tmp_path}/joint_log_quarry.csv"], STATION_UNIT="US survey foot", LAYING_LENGTH=20)
        answer["layer"] = run("place", {{**form, "OUTPUT": "{tmp_path}/centerline.gpkg"}})
        answer["other"] = run("place", {{**form, "OUTPUT": "{tmp_path}/../{tmp_path.name}/centerline.gpkg"}})
        answer["log"] = run("check", {{**form, "RETURN": "{tmp_path}/joint_log_quarry.csv"}})
        answer["nameless"] = run("place", {{**form, "NAME": " ", "OUTPUT": "{tmp_path}/out.gpkg"}})
        """
    )
    for one in ("layer", "other", "log"):
        assert "is read by this work, so it cannot be its output" in answer[one]["error"], answer[one]
    assert "jobs of one name correct one another" in answer["nameless"]["error"]
    assert (tmp_path / "centerline.gpkg").read_bytes() == before


def test_finding_does_not_replace_the_register(host, tmp_path):
    (tmp_path / "register.gpkg").write_bytes(b"a register")
    answer = host.run(
        f"""
        answer["found"] = run("find", dict(REGISTER="{tmp_path}/register.gpkg", OUTPUT="{tmp_path}/register.gpkg"))
        """
    )
    assert "cannot be its output" in answer["found"]["error"]
    assert (tmp_path / "register.gpkg").read_bytes() == b"a register"


REFUSED = {
    # work, what else its form says, the output and its path, what is said
    "the centerline by a link": ("place", "OUTPUT", "link_centerline.gpkg", "is read by this work"),
    "the centerline by a second name": ("place", "OUTPUT", "hard_centerline.gpkg", "is read by this work"),
    "the centerline from where the host is": ("place", "OUTPUT", "./centerline.gpkg", "is read by this work"),
    "a register": ("place", "OUTPUT", "link_register.gpkg", "a register is there, and is not written over"),
    "another job": ("place", "OUTPUT", "metric.gpkg", "a placed file of another job is there"),
    "the owner's layers": ("place", "OUTPUT", "link_owner.gpkg", "a file is there that is no placed file"),
    "a folder": ("place", "OUTPUT", ".", "the name of a GeoPackage ends in .gpkg"),
    "the log by a job file": ("place", "JOB_FILE", "joint_log_quarry.csv", "was not saved from this form"),
    "another job's job file": ("place", "JOB_FILE", "saved.toml", "was not saved from this form"),
    "a folder by a job file": ("place", "JOB_FILE", ".", "was not saved from this form"),
    "its own job file": ("place", "OUTPUT", "both.toml", "cannot be both the job file and what is written by it"),
    "the log by remarks": ("check", "RETURN", "link_joint_log.xlsx", "is read by this work"),
    "the register by an answer": ("find", "OUTPUT", "hard_register.gpkg", "is read by this work"),
    "the owner's by an answer": ("find", "OUTPUT", "owner.gpkg", "no answer of asbuilt find"),
    "a placed file by a register": ("load", "REGISTER", "link_placed.gpkg", "is not a register"),
    "a filled log": ("sheet", "OUTPUT", "joint_log.xlsx", "no blank log of asbuilt sheet"),
    "a folder with other things": ("review", "OUTPUT", ".", "holds what no review wrote"),
    "what is compared": ("compare", "OUTPUT", "link_placed.gpkg", "is read by this work"),
}


def test_no_work_writes_over_what_it_reads_or_what_another_made(host, placed, loaded, tmp_path):
    folder = shutil.copytree(SAMPLE, tmp_path / "work")
    for path, name in ((placed, "placed.gpkg"), (loaded, "register.gpkg"), (SAMPLE / "centerline.gpkg", "owner.gpkg")):
        shutil.copy(path, folder / name)
    placed_by_command(SAMPLE / "job_metric.toml", folder / "metric.gpkg")
    (folder / "saved.toml").write_text('# A job, saved from the form of the desktop GIS.\nname = "Another"\n')
    for name in ("centerline.gpkg", "register.gpkg", "owner.gpkg", "joint_log.xlsx", "placed.gpkg"):
        (folder / f"link_{name}").symlink_to(folder / name)
        (folder / f"hard_{name}").hardlink_to(folder / name)

    def contents():
        return {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in folder.iterdir()}

    before = contents()
    answer = host.run(
        FORM.replace(str(SAMPLE), str(folder))
        + f"""
import os
os.chdir("{folder}")
REGISTER, JOB, PLACED = "{folder}/register.gpkg", "{folder}/job.toml", "{folder}/placed.gpkg"
FORMS = dict(place=dict(FORM, OUTPUT="new.gpkg"), check=FORM, find=dict(REGISTER=REGISTER, ROUTE="A"), load=dict(
    INPUT=PLACED), sheet=dict(JOB=JOB), review=dict(INPUT=PLACED), compare=dict(OLD=PLACED, NEW="metric.gpkg"))
for case, (work, field, path, _) in {REFUSED!r}.items():
    more = dict(JOB_FILE="both.toml") if path == "both.toml" else dict()
    answer[case] = run(work, {{**FORMS[work], **more, field: path}})
os.chdir("/")
"""
    )
    for case, (*_, said) in REFUSED.items():
        assert said in answer[case].get("error", "it was done"), (case, answer[case])
        assert "Traceback" not in answer[case]["error"], case
    assert contents() == before


def test_the_wheel_scrolls_the_form_and_choices_outlive_another_log(host):
    answer = host.run(
        """
        from asbuilt_plugin.columns_widget import ColumnsTable
        from qgis.PyQt.QtCore import QPoint, QPointF, Qt
        from qgis.PyQt.QtGui import QWheelEvent
        table = ColumnsTable()
        table.offer(["STA.", "Jt", "Size"])
        box = table.boxes["station"]
        turn = QWheelEvent(QPointF(2, 2), QPointF(2, 2), QPoint(0, -120), QPoint(0, -120), Qt.MouseButton.NoButton,
                           Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False)
        before = box.currentText()
        QgsApplication.sendEvent(box, turn)
        answer["turned"] = [before, box.currentText()]
        table.boxes["joint"].setCurrentText("Size")
        table.offer(["Station", "Jt", "Size"])
        answer["kept"] = [table.boxes["joint"].currentText(), table.boxes["station"].currentText()]
        """,
    )
    assert answer["turned"] == ["STA.", "STA."]
    assert answer["kept"] == ["Size", "Station"]


def test_no_turn_of_the_wheel_changes_what_a_form_says(host):
    """Also where a box of the host's was chosen in just now: the table of allowables was another one, unseen."""
    answer = host.run(
        OPEN_FORM
        + """
from qgis.PyQt.QtCore import QPoint, QPointF, Qt
from qgis.PyQt.QtGui import QWheelEvent
from qgis.PyQt.QtWidgets import QAbstractSpinBox, QComboBox, QScrollArea
dialog, fields = opened()
application.processEvents()
context = QgsProcessingContext()
for name, value in (("TABLE", "awwa-c600"), ("LAYING_LENGTH", 18.0), ("STATION_UNIT", "foot")):
    fields[name].setParameterValue(value, context)
def says():
    return [fields[name].parameterValue() for name in ("TABLE", "LAYING_LENGTH", "STATION_UNIT", "FRACTION")]
answer["before"] = says()
bar = max((one.verticalScrollBar() for one in dialog.findChildren(QScrollArea)), key=lambda one: one.maximum())
answer["at"] = bar.value()
boxes = [one for kind in (QComboBox, QAbstractSpinBox) for one in dialog.mainWidget().findChildren(kind)]
for box in boxes:
    box.setFocus()
    for turn in (-120, 120, -120):
        event = QWheelEvent(QPointF(2, 2), QPointF(2, 2), QPoint(0, turn), QPoint(0, turn), Qt.MouseButton.NoButton,
                            Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False)
        QgsApplication.sendEvent(box, event)
answer["after"], answer["boxes"], answer["scrolled"] = says(), len(boxes), bar.value() > answer["at"]
"""
    )
    assert answer["before"][:2] == ["awwa-c600", 18.0]
    assert answer["after"] == answer["before"]
    assert answer["boxes"] > 40


def test_a_point_is_handed_over_with_the_code_of_its_system(host):
    answer = host.run(
        """
        from asbuilt_plugin import register
        from qgis.core import QgsCoordinateReferenceSystem as Crs, QgsPointXY
        answer["degrees"] = register.point_text(QgsPointXY(-121.2, 38.9), Crs("EPSG:4326"))
        answer["feet"] = register.point_text(QgsPointXY(6700000, 2000000), Crs("EPSG:6418"))
        own = Crs()
        own.createFromProj("+proj=tmerc +lat_0=38.9 +lon_0=-121.2 +datum=WGS84")
        answer["own"] = register.point_text(QgsPointXY(0, 0), own)
        """
    )
    assert answer["degrees"] == "38.900000000,-121.200000000,EPSG:4326"
    assert answer["feet"] == "6700000.000000000,2000000.000000000,EPSG:6418"
    latitude, longitude, code = answer["own"].split(",")
    assert (float(latitude), float(longitude)) == pytest.approx((38.9, -121.2))
    assert code == "EPSG:4326"


# The register, the review, and the panel


def found(*arguments):
    return json.loads(asbuilt("find", *arguments, "--json"))["joints"]


def test_the_review_of_a_layers_job_is_written(host, placed, tmp_path):
    answer = host.run(
        f"""
        joints = layer("{placed}", "joints")
        answer["r"] = run("review", dict(INPUT=joints, ROUTE="A", OUTPUT="{tmp_path}/review"))
        answer["wrong"] = run("review", dict(INPUT=layer("{SAMPLE}/joint_log_quarry.csv"), OUTPUT="{tmp_path}/other"))
        """
    )
    assert answer["r"].get("INDEX") == f"{tmp_path}/review/index.html", answer["r"]
    assert len(list((tmp_path / "review").glob("*.html"))) == 3  # the index, the route asked for, and both as one page
    assert "is not a layer of a GeoPackage" in answer["wrong"]["error"]


def test_a_placed_job_is_loaded_once_and_found_again(host, placed, tmp_path):
    register = tmp_path / "register.gpkg"
    answer = host.run(
        f"""
        QgsSettings().setValue("asbuilt/who", "M. Whitlock")
        joints = layer("{placed}", "joints")
        for name, more in (("dry", dict(DRY_RUN=True)), ("first", dict()), ("again", dict())):
            answer[name] = run("load", dict(INPUT=joints, REGISTER="{register}", **more))
            answer[name]["there"] = __import__("os").path.exists("{register}")
        """
    )
    assert not [one["error"] for one in answer.values() if "error" in one]
    answers = {name: json.loads(answer[name]["ANSWER"]) for name in ("dry", "first", "again")}
    assert not answer["dry"]["there"]
    assert answers["dry"]["joints"]["new"] == answers["first"]["joints"]["new"] == 469
    assert not answers["again"]["changed"]
    assert [row["loaded_by"] for row in rows(register, "loads")] == ["M. Whitlock"]
    assert len(found(register, "--route", "A")) == 252


def test_joints_found_open_in_a_group_of_their_own_beside_a_placed_job(host, placed, register, tmp_path):
    answer = host.run(
        f"""
        from qgis.core import QgsLayerTreeRegistryBridge
        run("place_job", dict(JOB="{SAMPLE}/job.toml", OUTPUT="{tmp_path}/o.gpkg"), load=True)
        # As in the window, where new layers go into the group that the user is in.
        group = project.layerTreeRoot().children()[0]
        point = QgsLayerTreeRegistryBridge.InsertionPoint(group, 0)
        project.layerTreeRegistryBridge().setLayerInsertionPoint(point)
        answer["r"] = run("find", dict(REGISTER="{register}", ROUTE="B", OUTPUT="{tmp_path}/found.gpkg"), load=True)
        application.processEvents()
        answer["tree"] = [[group.name(), [one.name() for one in group.children()]]
                          for group in project.layerTreeRoot().children()]
        joints = [one for one in project.mapLayersByName("Joints") if "found" in one.source()][0]
        answer["style"] = joints.renderer().type()
        answer["relations"] = sorted(one.name() for one in project.relationManager().referencedRelations(joints))
        answer["name"] = joints.displayExpression()
        """,
    )
    assert [name for name, _ in answer["tree"]] == ["Joints found", "Contract 26-07: Alder Bend Road and Quarry Lane"]
    assert [layers for _, layers in answer["tree"]] == [
        ["Findings", "Joints", "Inspections", "Set aside"],
        ["Findings", "Joints", "Segments", "Centerline", "Inspections", "Set aside", "Run"],
    ]
    assert answer["style"] == "categorizedSymbol"
    assert answer["relations"] == ["Findings", "Inspections"]


def test_joints_are_found_near_a_point_in_polygons_and_by_what_they_are(host, register, tmp_path):
    (joint,) = found(register, "--route", "B", "--joint", "176")
    east, north = joint["easting"], joint["northing"]
    answer = host.run(
        f"""
        from qgis.core import QgsFeature, QgsGeometry, QgsRectangle
        def found(**asked):
            return run("find", dict(REGISTER="{register}", OUTPUT=f"{tmp_path}/found{{len(answer)}}.gpkg", **asked))
        answer["near"] = found(POINT="{east},{north} [EPSG:6418]", WITHIN="50ft")
        answer["nearest"] = found(POINT="{east},{north} [EPSG:6418]", NEAREST=3)
        area = QgsVectorLayer("Polygon?crs=EPSG:6418", "trench", "memory")
        feature = QgsFeature()
        feature.setGeometry(QgsGeometry.fromRect(QgsRectangle({east} - 50, {north} - 50, {east} + 50, {north} + 50)))
        area.dataProvider().addFeatures([feature])
        project.addMapLayer(area)
        answer["area"] = found(AREA=area)
        answer["over"] = found(ROUTE="B", FROM="38+00", TO="39+00", VERDICT=["over"])
        answer["cold"] = found(FINDING=["gasket-cold"])
        answer["days"] = found(SINCE="2026-04-09", UNTIL="2026-04-09")
        answer["wrong"] = found(POINT="{east},{north} [EPSG:6418]", WITHIN="fifty paces")
        """
    )

    def joints(name):
        return {row["joint_uid"] for row in rows(answer[name]["OUTPUT"], "joints")}

    def expected(*arguments):
        return {one["joint_uid"] for one in found(register, *arguments)}

    point = f"--near={east},{north},EPSG:6418"
    assert joints("near") == expected(point, "--within=50ft") != set()
    assert len(joints("nearest")) == 3
    assert joints("area") > joints("near")
    assert joints("over") == expected("--route", "B", "--from", "38+00", "--to", "39+00", "--verdict", "over") != set()
    assert joints("cold") == expected("--finding", "gasket-cold")
    assert joints("days") == expected("--since", "2026-04-09", "--until", "2026-04-09") != set()
    assert answer["wrong"]["error"].startswith("QgsProcessingException: 'Within': ")


def test_the_panel_tells_the_limit_of_a_joint_that_the_survey_bounds(host, register):
    answer = in_panel(
        host,
        register,
        """
        type_joint("B", "40")
        wait(lambda: shown() == ["B", "40"])
        answer["page"] = panel.page.toPlainText()
        """,
    )
    (joint,) = found(register, "--route", "B", "--joint", "40")
    assert joint["deflection_deg"] is None
    assert (
        f"{joint['deflection_ceiling_deg']:.2f} degrees\n{joint['allowable_deg']:.2f} degrees allowed" in answer["page"]
    )


def test_the_panel_shows_a_joint_that_was_typed_pointed_at_or_stepped_to(host, register, tmp_path):
    answer = in_panel(
        host,
        register,
        f"""
        layer(REGISTER, "joints")
        canvas.setLayers(list(project.mapLayers().values()))
        canvas.zoomToFullExtent()
        type_joint("B", "176")
        wait(lambda: shown() == ["B", "176"])
        answer["page"] = panel.page.toPlainText()
        QTest.mouseClick(panel.zoom, LEFT)
        answer["scale"] = canvas.scale()
        answer["centre"] = [canvas.center().x(), canvas.center().y()]
        QTest.mouseClick(panel.ahead, LEFT)
        wait(lambda: shown() == ["B", "177"])
        QTest.keyClick(panel, Qt.Key.Key_Left, Qt.KeyboardModifier.AltModifier)
        wait(lambda: shown() == ["B", "176"])
        QTest.mouseClick(panel.back, LEFT)
        wait(lambda: shown() == ["B", "175"])
        there = panel._on_canvas(panel.shown)
        type_joint("A", "1")
        wait(lambda: shown() == ["A", "1"])
        QTest.mouseClick(panel.back, LEFT)
        answer["first"] = panel.state.text()
        QTest.mouseClick(panel.rectangle, LEFT)
        QTest.mouseClick(panel.point, LEFT)
        answer["tool"] = canvas.mapTool() is panel.point_tool and panel.point.isChecked()
        answer["other tool"] = panel.rectangle.isChecked()
        click(there, 3, -2)
        wait(lambda: shown() == ["B", "175"])
        answer["typed"] = panel.joint.text()
        answer["away"] = panel.list.topLevelItem(0).text(3)
        click(canvas.extent().center(), 200, 200)
        wait(lambda: "No joint there" in panel.state.text())
        answer["none"] = [shown(), panel.ahead.isEnabled()]
        window.grab().save("{tmp_path}/panel.png")
        """,
    )
    (joint,) = found(register, "--route", "B", "--joint", "176")
    for text in ("Joint 176, route B", "Over the allowable deflection", "6.12 of 5.00 degrees allowed", "38+00.74",
                 "The verdict assumes that: no standard error of the shots is stated", "409.32 ft", "deflection-over",
                 joint["inspector"], "Contract 26-07"):  # fmt: skip
        assert text in answer["page"], text
    assert answer["scale"] <= 501
    assert answer["centre"] == pytest.approx([joint["easting"], joint["northing"]], abs=0.01)
    assert answer["first"] == "The route has no joint beyond this one."
    assert answer["tool"]
    assert not answer["other tool"]
    assert answer["typed"] == ""
    assert re.fullmatch(r"\d+\.\d ft", answer["away"])
    assert answer["none"] == [None, False]
    assert (tmp_path / "panel.png").stat().st_size > 10_000


def test_findings_in_a_rectangle_are_stepped_through_and_marked_with_notes_that_the_register_keeps(host, register):
    answer = in_panel(
        host,
        register,
        """
        QgsSettings().setValue("asbuilt/who", "R. Vance")
        canvas.setExtent(layer(REGISTER, "joints").extent().buffered(100))
        QTest.mouseClick(panel.rectangle, LEFT)
        view = canvas.viewport()
        corner = QPoint(view.width() - 4, view.height() - 4)
        QTest.mousePress(view, LEFT, NONE, QPoint(4, 4))
        QTest.mouseMove(view, QPoint(view.width() // 2, view.height() // 2))
        QTest.mouseMove(view, corner)
        QTest.mouseRelease(view, LEFT, NONE, corner)
        wait(lambda: len(panel.found) > 400)
        answer["joints"], answer["findings"] = len(panel.found), panel.findings.topLevelItemCount()
        answer["marked"] = []
        for note in ("dug up & re-laid", ""):
            QTest.mouseClick(panel.next_finding, LEFT)
            item = panel.findings.currentItem()
            assert panel.shown is item.joint
            panel.note.setFocus()
            QTest.keyClicks(panel.note, note)
            QTest.keyClick(panel.note, Qt.Key.Key_Return)
            wait(lambda: item.finding["mark"])
            answer["marked"].append([item.finding["finding_uid"], item.text(3)])
        QTest.mouseClick(panel.next_finding, LEFT)
        answer["third"] = panel.findings.indexOfTopLevelItem(panel.findings.currentItem())
        panel.findings.setFocus()
        QTest.keyClick(panel.findings, Qt.Key.Key_Up)
        QTest.keyClick(panel.findings, Qt.Key.Key_Up)
        answer["note"] = panel.note.text()
        answer["page"] = panel.page.toPlainText()
        """,
    )
    everything = [*found(register, "--route", "A"), *found(register, "--route", "B")]
    assert answer["joints"] == len(everything) == 469
    findings = {one["finding_uid"]: one for joint in everything for one in joint["findings"]}
    assert answer["findings"] == len(findings)
    (first, shown), (second, other) = answer["marked"]
    assert (shown, other) == ("R. Vance: dug up & re-laid", "R. Vance")
    assert [mark["note"] for mark in findings[first]["marks"]] == ["dug up & re-laid"]
    assert [mark["by"] for mark in findings[second]["marks"]] == ["R. Vance"]
    assert sum(bool(one["marks"]) for one in findings.values()) == 2
    assert answer["third"] == 2
    assert answer["note"] == "dug up & re-laid"
    assert "R. Vance: dug up & re-laid" in answer["page"]


def test_earlier_records_and_photos_stand_on_a_joints_page_and_records_cannot_write_markup(host, register, tmp_path):
    (tmp_path / "photos").mkdir()
    (tmp_path / "secret.png").write_bytes(b"")
    shutil.copy(build_plugin.PLUGIN / "icon.svg", tmp_path / "photos" / "not-a-photo.svg")
    with closing(sqlite3.connect(register)) as database, database:
        database.execute(
            "UPDATE inspections SET photo = 'p1.png; ../../secret.png, gone.jpg', remarks = '<b>bold</b> & \"co\"' "
            "WHERE route = 'A' AND joint = '188'"
        )
    answer = in_panel(
        host,
        register,
        f"""
        from pathlib import Path
        from qgis.PyQt.QtGui import QPixmap
        from asbuilt_plugin import history
        picture = QPixmap(40, 30)
        picture.fill(Qt.GlobalColor.blue)
        picture.save("{tmp_path}/photos/p1.png")
        type_joint("A", "188")
        wait(lambda: shown() == ["A", "188"])
        answer["page"], answer["html"] = panel.page.toPlainText(), panel.page.toHtml()
        answer["photos"] = [str(path) for path in history.photos("p1.png; /etc/passwd, gone.jpg", Path("{tmp_path}"))]
        """,
    )
    assert answer["page"].count("Inspection (") == answer["page"].count("Earlier record (") == 1
    assert '<b>bold</b> & "co"' in answer["page"]
    assert answer["photos"] == [f"{tmp_path}/photos/p1.png"]
    assert "photos/p1.png" in answer["html"]
    assert "gone.jpg" not in answer["html"].replace("gone.jpg</", "")  # named, not shown


def test_the_panel_says_what_is_wrong_and_stays_usable(host, register, tmp_path):
    says(tmp_path / "dead", f'[ "$1" = --version ] && echo "asbuilt, version {__version__}" || kill -KILL $$')
    answer = in_panel(
        host,
        register,
        f"""
        def message(place, command=None):
            panel.place.setFilePath(place)
            if command:
                QgsSettings().setValue("asbuilt/command", command)
            panel.state.clear()
            type_joint("B", "176")
            wait(lambda: panel.state.text() and "Asking" not in panel.state.text())
            return panel.state.text()

        answer["none"] = message("")
        answer["missing"] = message("/nowhere/register.gpkg")
        answer["dead"] = message(REGISTER, "{tmp_path}/dead")
        answer["gone"] = message(REGISTER, "/nowhere/asbuilt")
        QgsSettings().setValue("asbuilt/command", "{host.command}")
        type_joint("B", "176")
        wait(lambda: shown() == ["B", "176"])
        panel.close_tools()
        """,
    )
    assert answer["none"].startswith("Name the register first")
    assert "/nowhere/register.gpkg" in answer["missing"]
    assert "ended before it was done" in answer["dead"]
    assert "named in the plugin's settings, is not there" in answer["gone"]


def test_findings_of_a_placed_job_are_listed_filtered_sorted_and_stepped_through(host, placed, tmp_path):
    answer = in_findings_panel(
        host,
        f"""
        from asbuilt_plugin import results
        answer["none"] = panel.state.text()
        findings = layer("{placed}", "findings")
        canvas.setLayers([findings, layer("{placed}", "joints")])
        canvas.zoomToFullExtent()
        application.processEvents()
        def listed(list_):
            return [[list_.topLevelItem(at).text(one) for one in range(5)] for at in range(list_.topLevelItemCount())]
        answer["all"], answer["aside"] = listed(panel.findings), listed(panel.set_aside)
        panel.filter.setFocus()
        QTest.keyClicks(panel.filter, "deflection-over")
        answer["over"] = listed(panel.findings)
        QTest.mouseClick(panel.next, LEFT)
        item = panel.findings.currentItem().about
        answer["first"] = [item["joint_uid"], panel.text.text(), canvas.scale()]
        answer["centre"] = [canvas.center().x(), canvas.center().y()]
        QTest.mouseClick(panel.next, LEFT)
        QTest.mouseClick(panel.next, LEFT)
        answer["end"] = panel.state.text()
        panel.filter.selectAll()
        QTest.keyClick(panel.filter, Qt.Key.Key_Delete)
        panel.severity.setCurrentIndex(1)
        answer["act"] = listed(panel.findings)
        panel.severity.setCurrentIndex(0)
        panel.findings.sortByColumn(3, Qt.SortOrder.AscendingOrder)
        answer["by joint"] = [line[3] for line in listed(panel.findings)]
        panel.findings.sortByColumn(0, Qt.SortOrder.AscendingOrder)
        answer["by severity"] = [line[0] for line in listed(panel.findings)]
        window.grab().save("{tmp_path}/findings.png")
        project.clear()
        application.processEvents()
        answer["closed"] = [panel.findings.topLevelItemCount(), panel.state.text()]
        panel.close_tools()
        """,
    )
    expected = rows(placed, "findings")
    assert answer["none"].startswith("Open the layers of a placed job")
    assert sorted(line[1] for line in answer["all"]) == sorted(row["code"] for row in expected)
    severities = [line[0] for line in answer["all"]]
    assert severities == sorted(severities, key=["act", "check", "note"].index) == answer["by severity"]
    assert len(answer["act"]) == sum(row["severity"] == "act" for row in expected)
    assert [line[1] for line in answer["over"]] == ["deflection-over"] * 2
    numbers = [int(text) for text in answer["by joint"] if text.isdecimal()]
    assert numbers == sorted(numbers)
    (joint,) = [row for row in rows(placed, "joints") if row["joint_uid"] == answer["first"][0]]
    assert answer["centre"] == pytest.approx([joint["easting"], joint["northing"]], abs=0.01)
    assert answer["first"][2] <= 501
    assert answer["end"] == "There is none beyond this one in the list."
    assert sorted(int(line[1]) for line in answer["aside"]) == sorted(row["row"] for row in rows(placed, "set_aside"))
    assert answer["closed"] == [0, answer["none"]]


def test_a_job_placed_again_says_what_is_gone_and_new(host, placed, tmp_path):
    job = tmp_path / "joints.gpkg"
    shutil.copy(placed, job)
    answer = in_findings_panel(
        host,
        f"""
        import os, shutil, sqlite3
        from asbuilt_plugin import results
        layer("{job}", "findings")
        application.processEvents()
        before = panel.findings.topLevelItemCount()
        shutil.copy("{job}", "{tmp_path}/again.gpkg")
        with sqlite3.connect("{tmp_path}/again.gpkg") as database:
            for (trigger,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
                database.execute(f'DROP TRIGGER "{{trigger}}"')
            database.execute("DELETE FROM findings WHERE code = 'gasket-cold'")
            database.execute("UPDATE findings SET message = 'another' WHERE code = 'torque-off'")
            database.execute("UPDATE run SET findings = (SELECT count(*) FROM findings)")
        database.close()
        os.replace("{tmp_path}/again.gpkg", "{job}")
        results.show_anew("{job}", project)
        application.processEvents()
        answer["said"] = panel.state.text()
        answer["count"] = [before, panel.findings.topLevelItemCount()]
        lines = [panel.findings.topLevelItem(at) for at in range(panel.findings.topLevelItemCount())]
        answer["bold"] = [line.text(1) for line in lines if line.font(1).bold()]
        """,
    )
    assert answer["said"] == "Placed again: 3 findings are gone, 1 are new (in bold)."
    assert answer["count"][0] - answer["count"][1] == 2
    assert answer["bold"] == ["torque-off"]


def test_the_station_under_the_pointer_is_that_of_the_joint_there_and_the_map_goes_to_a_station(host, placed):
    joints = [row for row in rows(placed, "joints") if row["joint"] in ("20", "188", "121", "122", "127", "176")]
    answer = in_findings_panel(
        host,
        f"""
        from qgis.core import QgsPointXY
        layer("{placed}", "findings")
        canvas.setExtent(layer("{placed}", "joints").extent())
        application.processEvents()
        answer["here"] = []
        for east, north in {[(row["easting"], row["northing"]) for row in joints]!r}:
            canvas.setCenter(QgsPointXY(east, north))
            canvas.zoomScale(500)
            canvas.xyCoordinates.emit(QgsPointXY(east, north))
            answer["here"].append(panel.here.text())
        answer["gone to"] = []
        for route, station in {[(row["route"], row["station"]) for row in joints]!r}:
            panel.route.setCurrentText(route)
            panel.station.setText(station)
            QTest.keyClick(panel.station, Qt.Key.Key_Return)
            answer["gone to"].append([canvas.center().x(), canvas.center().y()])
        def said(route, station):
            panel.route.setCurrentText(route)
            panel.station.setText(station)
            QTest.keyClick(panel.station, Qt.Key.Key_Return)
            return panel.state.text()
        answer["said"] = [said("A", "27+00"), said("B", "28+00"), said("A", "here")]
        import doctest
        from asbuilt_plugin import stations
        answer["examples"] = list(doctest.testmod(stations))
        """,
    )
    assert len(joints) > 6
    for joint, here, place in zip(joints, answer["here"], answer["gone to"], strict=True):
        route, station, *_ = here.split("  ")
        number, _, suffix = joint["station"].partition(" ")
        assert route == joint["route"]
        whole, _, feet = number.partition("+")
        assert station.startswith(f"{whole}+{float(feet):04.1f}"), (joint["station"], here)
        assert not suffix or suffix.split()[0] in station
        assert place == pytest.approx([joint["easting"], joint["northing"]], abs=0.02)
    assert answer["said"][0] == "there is no station 27+00 on this route"
    assert answer["said"][1] == "the station occurs more than once; write 28+00.0 BK or 28+00.0 AH EQ 1"
    assert answer["said"][2].startswith("'here' cannot be read as a station")
    assert answer["examples"] == [0, 5]


def test_a_joint_reads_verdict_first_with_what_it_assumes_and_the_sheet_lists_the_findings(host, tmp_path):
    answer = host.run(
        f"""
        from qgis.core import QgsExpression, QgsExpressionContext, QgsExpressionContextUtils, QgsFeatureRequest
        from qgis.core import NULL, Qgis, QgsLayoutExporter
        from qgis.gui import QgsMapCanvas
        run("place_job", dict(JOB="{SAMPLE}/job.toml", OUTPUT="{tmp_path}/o.gpkg"), load=True)
        application.processEvents()
        from asbuilt_plugin import results, sheet_layout
        layers = results.layers_of("{tmp_path}/o.gpkg", project)
        joints, findings = layers["joints"], layers["findings"]
        answer["tabs"] = [tab.name() for tab in joints.editFormConfig().tabs()]
        answer["first"] = [one.name() for one in joints.editFormConfig().tabs()[0].children()][:5]
        over = next(joints.getFeatures("verdict = 'over'"))
        answer["which"] = [over["joint_route_station"], [over[name] for name in ("joint", "route", "station")]]
        answer["meant"] = over["verdict_in_words"]
        numbers = ("deflection_deg", "allowable_deg", "deflection_floor_deg", "deflection_ceiling_deg")
        answer["degrees"] = [over["deflection_in_words"], *(over[name] for name in numbers)]
        at_end = next(joints.getFeatures("verdict = 'not-computed'"))
        answer["none there"] = at_end["deflection_in_words"] in (NULL, "")
        at = joints.fields().indexOf
        answer["shown"] = [joints.editorWidgetSetup(at(name)).type() for name in ("verdict", "deflection_deg")]
        answer["whole"] = joints.editorWidgetSetup(at("assumed_in_words")).config().get("IsMultiline")
        def tip(layer, text):
            context = QgsExpressionContext(QgsExpressionContextUtils.globalProjectLayerScopes(layer))
            context.setFeature(next(layer.getFeatures(QgsFeatureRequest().setFilterExpression(text))))
            return QgsExpression.replaceExpressionText(layer.mapTipTemplate(), context)
        answer["joint"] = tip(joints, "verdict = 'within-assumed'")
        answer["finding"] = tip(findings, "code = 'gasket-cold'")
        answer["labels"] = [rule.settings().fieldName for one in (joints, findings)
                            for rule in one.labeling().rootRule().children() if one.labelsEnabled()]
        canvas = QgsMapCanvas()
        canvas.setDestinationCrs(joints.crs())
        layout = sheet_layout.make(project, canvas)
        settings = QgsLayoutExporter.PdfExportSettings()
        settings.textRenderFormat = Qgis.TextRenderFormat.AlwaysText
        QgsLayoutExporter(layout).exportToPdf("{tmp_path}/sheet.pdf", settings)
        answer["named"] = [one.name() for one in project.layoutManager().layouts()]
        answer["listed"] = [[str(cell) for cell in row[:5]] for row in layout.multiFrames()[0].contents()]
        project.clear()
        answer["none"] = sheet_layout.make(project, canvas)
        """,
    )
    assert answer["tabs"][0] == "Verdict"
    assert set(answer["tabs"]) >= {"Inspections", "Findings"}
    which, verdict = answer["first"][:1], answer["first"][1:]
    assert which == ["joint_route_station"]
    assert verdict == ["verdict", "verdict_in_words", "deflection_in_words", "assumed_in_words"]
    degrees, allowable, floor, ceiling = answer["degrees"][1:]
    assert answer["degrees"][0].startswith(f"{degrees:.2f} of {allowable:.2f} degrees allowed")
    assert (f"between {floor:.2f} and {ceiling:.2f} degrees" in answer["degrees"][0]) == (ceiling - floor > 0.005)
    assert answer["which"][0] == ", ".join(answer["which"][1])
    assert answer["meant"] == REGISTER_DOMAINS["verdict"]["over"]
    assert answer["none there"]
    assert answer["shown"] == ["TextEdit", "Range"]  # numbers rounded
    assert answer["whole"]
    assert "if no standard error of the shots is stated" in answer["joint"]
    assert "34 F" in answer["finding"]
    assert answer["labels"] == ['"joint" || \'\\n\' || "station"', '"joint"', '"code"']
    assert answer["named"] == ["Findings of o"]
    places = {row["joint_uid"]: row["distance"] for row in rows(tmp_path / "o.gpkg", "joints")}
    listed = sorted(
        rows(tmp_path / "o.gpkg", "findings"),
        key=lambda row: (row["severity"], row["route"], places.get(row["joint_uid"], -1.0)),
    )
    shown = ("severity", "code", "route", "joint", "station")
    order = [[row[0], row[2], row[4]] for row in answer["listed"]]
    assert [[row[name] for name in ("severity", "route", "station")] for row in listed if row["joint_uid"]] == [
        row for row in order if row[2]
    ]
    assert len(order) == len(listed)
    assert set(map(tuple, answer["listed"])) == {tuple(str(row[name] or "") for name in shown) for row in listed}
    assert answer["none"] is None
    if shutil.which("pdftotext"):
        text = subprocess.run(["pdftotext", tmp_path / "sheet.pdf", "-"], capture_output=True, text=True).stdout
        assert "joints-missing" in text
        assert "not an acceptance of work" in text


def test_the_form_names_a_new_register_and_opens_it_and_a_load_is_undone(host, placed, tmp_path):
    shutil.copy(placed, tmp_path / "other.gpkg")
    answer = host.run(
        OPEN_FORM
        + f"""
joints = layer("{placed}", "joints")
layer("{placed}", "findings")
dialog, fields = opened("load")
answer["one"] = [fields["INPUT"].value(), fields["INPUT"].box.currentText()]
layer("{tmp_path}/other.gpkg", "findings")
chosen = opened("review")[1]["INPUT"]
answer["of two"] = [chosen.value(), chosen.box.count()]
chosen.setValue(joints.id())
answer["by a layer"] = chosen.value()
fields["REGISTER"].widget.setFilePath("{tmp_path}/new.gpkg")
answer["asks"] = fields["REGISTER"].widget.confirmOverwrite()
answer["save"] = fields["REGISTER"].widget.storageMode() == fields["REGISTER"].widget.StorageMode.SaveFile
form = dict(INPUT=joints, REGISTER=fields["REGISTER"].value(), OPEN=True)
answer["loaded"] = run("load", form, load=True)
application.processEvents()
in_register = [one for one in project.mapLayers().values() if "new.gpkg" in one.source()]
answer["open"] = sorted(one.name() for one in in_register)
def shown(): return {{one.name(): len(list(one.getFeatures())) for one in in_register}}
answer["shown"] = shown()
answer["conflicts"] = run("conflicts", dict(REGISTER=form["REGISTER"]))
answer["inside"] = run("info", dict(REGISTER=form["REGISTER"]))
answer["abandoned"] = run("service", dict(REGISTER=form["REGISTER"], MAIN="B", STATE="abandoned", NOTE="grouted"))
answer["undone"] = run("undo_load", dict(REGISTER=form["REGISTER"], LOAD=1))
application.processEvents()
answer["shown then"] = shown()
answer["compared"] = run("compare", dict(OLD="{placed}", NEW="{placed}"))
""",
    )
    assert answer["one"] == [str(placed), f"{placed.name} (Contract 26-07: Alder Bend Road and Quarry Lane)"]
    assert answer["of two"] == [None, 2]
    assert answer["by a layer"] == str(placed)
    assert f"Placed job: {answer['one'][1]}" in answer["loaded"]["said"]
    assert answer["save"]
    assert not answer["asks"]
    assert answer["open"] == ["Centerline", "Findings", "Inspections", "Joints", "Set aside"]
    assert "469 joints were read: 469 new, 0 changed, 0 unchanged, 0 left out." in answer["loaded"]["said"]
    assert "This is load 1; by that number it can be undone." in answer["loaded"]["said"]
    assert "No joint waits to be settled." in answer["conflicts"]["said"]
    assert any(
        text.strip().startswith("Main B: 217 joints, inspected from 2025-04-01") for text in answer["inside"]["said"]
    )
    assert json.loads(answer["inside"]["ANSWER"])["joints"] == 469
    assert "B: 217 joints are noted as abandoned." in answer["abandoned"]["said"]
    assert json.loads(answer["undone"]["ANSWER"])["joints_removed"] == 469
    # The register keeps what an undone load brought beside its joints; its layers show what holds.
    with closing(sqlite3.connect(tmp_path / "new.gpkg")) as database:
        for name, table in (("Set aside", "set_aside"), ("Centerline", "centerline")):
            (kept,) = database.execute(f"SELECT count(*) FROM {table}").fetchone()
            assert kept > 0
            assert answer["shown"][name] == kept
            assert answer["shown then"][name] == 0
    assert answer["shown then"]["Joints"] == 0
    assert "'Earlier placed file'" not in answer["compared"]["error"]  # it names the two files themselves
    assert "both names are of this one file" in answer["compared"]["error"]


def test_a_blank_log_is_written_and_the_owners_layer_is_looked_at_before_it_is_written(host, tmp_path):
    shutil.copytree(SAMPLE, tmp_path / "job")
    job = tmp_path / "job" / "job.toml"
    job.write_text(
        job.read_text()
        + '\n[map]\ninto = "owner.gpkg"\nlayer = "joints"\n[map.columns]\njoint_uid = "uid"\njoint = "number"\n'
    )
    answer = host.run(
        f"""
        answer["sheet"] = run("sheet", dict(JOB="{SAMPLE}/job.toml", ROUTE="A", OUTPUT="{tmp_path}/log.xlsx"))
        answer["itself"] = run("sheet", dict(JOB="{job}", OUTPUT="{job}"))
        answer["dry"] = run("map", dict(JOB="{job}", DRY_RUN=True))
        answer["there"] = __import__("os").path.exists("{tmp_path}/job/owner.gpkg")
        answer["wet"] = run("map", dict(JOB="{job}", DRY_RUN=False))
        """
    )
    assert (tmp_path / "log.xlsx").is_file()
    assert "a blank log of" in " ".join(answer["sheet"]["said"])
    assert "is read by this work" in answer["itself"]["error"]
    assert not answer["there"]
    assert "469 would be added and 0 changed. Nothing was written." in " ".join(answer["dry"]["said"]), answer["dry"]
    assert "469 were added and 0 changed." in " ".join(answer["wet"]["said"]), answer["wet"]


def test_the_search_page_ends_with_the_plugin_and_says_what_is_wrong(host, register, tmp_path):
    host.says(COMMAND)
    answer = host.run(
        OPEN_FORM
        + f"""
import urllib.request
from asbuilt_plugin import serving
opened_at = []

class Desktop:
    @staticmethod
    def openUrl(url): opened_at.append(url.toString())

serving.QDesktopServices = Desktop
page, said = serving.SearchPage(), []
page.said.connect(lambda text, wrong: said.append([text, wrong]))
page.start("")
page.start("{register}")
wait(lambda: opened_at)
answer["page"] = urllib.request.urlopen(opened_at[0]).status
answer["pid"] = page.process.processId()
page.stop()
page.start("{tmp_path}/none.gpkg")
wait(lambda: len(said) == 3)
answer["said"] = said
""",
    )
    assert answer["page"] == 200
    assert not alive(answer["pid"])
    assert answer["said"][0] == ["Name the register first, in the plugin's settings.", True]
    assert "on this machine alone" in answer["said"][1][0]
    assert "none.gpkg" in answer["said"][2][0]


def test_cautions_stand_in_every_form_and_in_the_panel(host, register):
    answer = in_panel(
        host,
        register,
        """
        answer["forms"] = {one.name(): one.shortHelpString() for one in provider.algorithms()}
        answer["panel"] = [panel.caution.text(), panel.caution.isVisible()]
        """,
    )
    assert answer["panel"] == [DIGGING_CAUTION, True]
    for name, text in answer["forms"].items():
        assert (DIGGING_CAUTION in text) == (CAUTION in text) == (name != "setup"), name


def test_the_map_tool_from_before_comes_back_and_a_closed_panel_leaves_no_tool(host, register):
    answer = in_panel(
        host,
        register,
        """
        from qgis.gui import QgsMapToolPan
        before = QgsMapToolPan(canvas)
        canvas.setMapTool(before)
        QTest.mouseClick(panel.point, LEFT)
        QTest.mouseClick(panel.rectangle, LEFT)
        answer["taken"] = canvas.mapTool() is panel.rectangle_tool
        QTest.mouseClick(panel.rectangle, LEFT)
        answer["back"] = canvas.mapTool() is before
        QTest.mouseClick(panel.point, LEFT)
        marks = len(canvas.scene().items())
        panel.close_tools()
        answer["closed"] = canvas.mapTool() is before
        answer["fewer marks"] = len(canvas.scene().items()) < marks
        """,
    )
    assert answer["taken"]
    assert answer["back"]
    assert answer["closed"]
    assert answer["fewer marks"]


def test_the_map_may_be_in_degrees_or_in_another_zone(host, register):
    (joint,) = found(register, "--route", "B", "--joint", "176")
    answer = in_panel(
        host,
        register,
        f"""
        from qgis.core import QgsCoordinateTransform, QgsPointXY, QgsRectangle
        for code in ("EPSG:4326", "EPSG:32610", "EPSG:3857"):
            crs = QgsCoordinateReferenceSystem(code)
            canvas.setDestinationCrs(crs)
            step = QgsCoordinateTransform(QgsCoordinateReferenceSystem("EPSG:6418"), crs, project)
            there = step.transform(QgsPointXY({joint["easting"]}, {joint["northing"]}))
            reach = 0.001 if crs.isGeographic() else 100.0
            canvas.setExtent(QgsRectangle.fromCenterAndSize(there, reach, reach))
            panel._list([])
            QTest.mouseClick(panel.point, LEFT)
            click(there)
            wait(lambda: shown() == ["B", "176"])
            QTest.mouseClick(panel.point, LEFT)
            panel.zoom_to()
            answer[code] = [canvas.center().distance(there), canvas.mapUnitsPerPixel()]
        """,
    )
    for code, (away, pixel) in ((code, answer[code]) for code in ("EPSG:4326", "EPSG:32610", "EPSG:3857")):
        assert away < pixel, code


def test_stations_and_findings_are_found_on_a_map_in_degrees_or_in_another_zone(host, placed):
    (joint,) = (row for row in rows(placed, "joints") if (row["route"], row["joint"]) == ("B", "176"))
    answer = in_findings_panel(
        host,
        f"""
        from qgis.core import QgsCoordinateTransform, QgsPointXY, QgsRectangle
        layer("{placed}", "findings")
        application.processEvents()
        panel.show()
        panel.route.setCurrentText("B")
        at = [index for index in range(panel.findings.topLevelItemCount())
              if panel.findings.topLevelItem(index).about["joint_uid"] == "{joint["joint_uid"]}"][0]
        for code in ("EPSG:4326", "EPSG:32610", "EPSG:3857"):
            crs = QgsCoordinateReferenceSystem(code)
            canvas.setDestinationCrs(crs)
            step = QgsCoordinateTransform(QgsCoordinateReferenceSystem("EPSG:6418"), crs, project)
            there = step.transform(QgsPointXY({joint["easting"]}, {joint["northing"]}))
            reach = 0.01 if crs.isGeographic() else 1000.0
            elsewhere = QgsRectangle.fromCenterAndSize(QgsPointXY(there.x() + 3 * reach, there.y()), reach, reach)
            canvas.setExtent(elsewhere)
            panel.station.setText("{joint["station"]}")
            panel.go_to_station()
            gone = [canvas.center().distance(there), canvas.mapUnitsPerPixel()]
            canvas.setExtent(elsewhere)
            panel.findings.setCurrentItem(panel.findings.topLevelItem(at))
            panel.zoom_to()
            gone.append(canvas.center().distance(there))
            panel._pointer_moved(there)
            answer[code] = [*gone, panel.here.text()]
        """,
    )
    for code in ("EPSG:4326", "EPSG:32610", "EPSG:3857"):
        to_station, pixel, to_finding, here = answer[code]
        assert to_station < pixel, code
        assert to_finding < pixel, code
        assert here.startswith("B  38+00.7"), code


def test_a_project_closed_or_a_plugin_unloaded_during_a_question_ends_quietly(host, register, tmp_path):
    host.says(
        f"""case "$1" in --version) exec "{sys.executable}" -m asbuilt "$@";; esac
        touch {tmp_path}/asked; sleep 600 & echo $! > {tmp_path}/child; wait"""
    )
    answer = in_panel(
        host,
        register,
        f"""
        import os
        layer(REGISTER, "joints")
        type_joint("B", "176")
        wait(lambda: os.path.exists("{tmp_path}/child"))
        project.clear()
        application.processEvents()
        panel.close_tools()
        panel.deleteLater()
        end = time.monotonic() + 20
        while QgsApplication.taskManager().countActiveTasks() and time.monotonic() < end:
            application.processEvents()
            time.sleep(0.02)
        answer["left"] = QgsApplication.taskManager().countActiveTasks()
        """,
    )
    assert answer["left"] == 0
    assert not alive(int((tmp_path / "child").read_text()))


def test_the_plugin_goes_as_it_came(host):
    answer = host.run(
        """
        from qgis.PyQt.QtCore import Qt, QTimer
        from qgis.PyQt.QtTest import QTest
        from qgis.PyQt.QtWidgets import QMainWindow
        from qgis.gui import QgsMapCanvas, QgsMessageBar
        from asbuilt_plugin.plugin import JointRecords
        from asbuilt_plugin.settings_dialog import SettingsDialog

        class Interface:
            def __init__(self):
                self.window, self.canvas, self.menu, self.bar = QMainWindow(), QgsMapCanvas(), [], []
                self.messages = QgsMessageBar()
            def mainWindow(self): return self.window
            def mapCanvas(self): return self.canvas
            def addPluginToMenu(self, name, action): self.menu.append(action)
            def removePluginMenu(self, name, action): self.menu.remove(action)
            def addToolBarIcon(self, action): self.bar.append(action)
            def removeToolBarIcon(self, action): self.bar.remove(action)
            def addDockWidget(self, area, dock): self.window.addDockWidget(area, dock)
            def removeDockWidget(self, dock): self.window.removeDockWidget(dock)
            def messageBar(self): return self.messages

        qgis.utils.unloadPlugin("asbuilt_plugin")
        interface = Interface()
        plugin = JointRecords(interface)
        plugin.initGui()
        answer["menu"] = [action.text() for action in interface.menu]
        interface.window.show()
        for action in interface.bar:
            action.trigger()
        answer["shown"] = [panel.isVisible() for panel in plugin.panels]
        application.processEvents()
        answer["in front"] = [not panel.visibleRegion().isEmpty() for panel in plugin.panels]
        dialog = SettingsDialog(interface.window)
        answer["state"] = dialog.state.text()
        from qgis.PyQt.QtGui import QDesktopServices
        from qgis.PyQt.QtWidgets import QDialogButtonBox
        opened, QDesktopServices.openUrl = [], lambda url: opened.append(url.toLocalFile())
        dialog.findChild(QDialogButtonBox).button(QDialogButtonBox.StandardButton.Help).click()
        next(action for action in interface.menu if action.text() == "Help").trigger()
        answer["help"] = opened
        dialog.register.setFilePath("/data/register.gpkg")
        QTest.keyClicks(dialog.who, "M. Whitlock")
        dialog.accept()
        answer["kept"] = [QgsSettings().value(f"asbuilt/{name}") for name in ("register", "who", "command")]
        def another():
            form = application.activeModalWidget()
            form.register.setFilePath("/data/another.gpkg")
            form.accept()
        QTimer.singleShot(0, another)
        plugin.show_settings()
        answer["asked"] = plugin.history.place.filePath()
        answer["icons"] = len({action.icon().cacheKey() for action in interface.bar})
        from qgis.gui import QgsMapToolPan
        from qgis.PyQt.QtCore import QCoreApplication, QEvent
        from qgis.PyQt.QtWidgets import QDockWidget
        canvas, before = interface.canvas, QgsMapToolPan(interface.canvas)
        canvas.setMapTool(before)
        heard, marks = canvas.receivers(canvas.xyCoordinates), len(canvas.scene().items())
        plugin.panels[1].point.click()
        answer["taken"] = canvas.mapTool() is plugin.panels[1].point_tool
        plugin.unload()
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
        answer["gone"] = [canvas.mapTool() is before, len(interface.window.findChildren(QDockWidget)),
                          heard - canvas.receivers(canvas.xyCoordinates), marks - len(canvas.scene().items())]
        answer["left"] = [len(interface.menu), len(interface.bar), len(plugin.panels),
                          QgsApplication.processingRegistry().providerById("asbuilt")]
        """,
    )
    assert answer["menu"][0] == "Place joints ..."
    assert {"Load into the register ...", "Settings ...", "Help", "History of a joint"} <= set(answer["menu"])
    assert answer["shown"] == [True, True]
    assert answer["in front"] == [False, True]  # tabs, the one that was asked for last in front
    assert answer["state"] == f"Ready: {host.command}"
    assert answer["help"] == [str(host.plugin / "help" / "howto" / "desktop_gis.html")] * 2
    assert answer["kept"] == ["/data/register.gpkg", "M. Whitlock", str(host.command)]
    assert answer["asked"] == "/data/another.gpkg"  # the panel and the search page ask one register
    assert answer["icons"] == 2
    assert answer["taken"]
    assert answer["gone"] == [True, 0, 1, 3]  # the tool from before is back; panels, ear and their marks are gone
    assert answer["left"] == [0, 0, 0, None]
