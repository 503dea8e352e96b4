"""What the plugin says of a placed job that is not, or no longer, what it looks like: in the real host, offscreen."""

import csv
import re
import shutil
import sqlite3
from contextlib import closing

import geopandas as gpd
import pytest
from desktop import FORM, SAMPLE, in_findings_panel, placed_by_command, rows

LOOK = """
def looked():
    panel.look()
    wait(lambda: panel._question is None)
    return panel.doubts.text().splitlines()

panel.show()
application.processEvents()
"""
"""Has the panel look at the files behind its lists, and gives what it doubts."""


@pytest.fixture(scope="module")
def placed_once(tmp_path_factory):
    """Place the sample's job once, by full paths; give its folder, and a copy of it as it was then."""
    folder = shutil.copytree(SAMPLE, tmp_path_factory.mktemp("placed_once") / "job")
    placed_by_command(folder / "job.toml", folder / "joints.gpkg")
    return folder, shutil.copytree(folder, folder.with_name("as_placed"))


@pytest.fixture
def job(placed_once):
    """Give the sample's job as it was placed: always in the same folder, as its full paths are in the placed file."""
    folder, as_placed = placed_once
    shutil.rmtree(folder)
    return shutil.copytree(as_placed, folder)


def change(path, *statements):
    """Do something to a placed file behind the plugin's back."""
    with closing(sqlite3.connect(path)) as database, database:
        for (trigger,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            database.execute(f'DROP TRIGGER "{trigger}"')
        for statement in statements:
            database.execute(statement)


def test_the_panel_says_which_inputs_were_written_to_or_went_away_since(host, job):
    answer = in_findings_panel(
        host,
        LOOK
        + f"""
layer("{job}/joints.gpkg", "findings")
application.processEvents()
answer["fresh"] = [panel.placed.text(), looked(), panel.doubts.isVisible()]
with open("{job}/joint_log_quarry.csv", "a") as file:
    file.write("\\n")
answer["written"] = [looked(), panel.doubts.isVisible()]
__import__("os").rename("{job}/joint_log.xlsx", "{job}/elsewhere.xlsx")
answer["gone"] = looked()
""",
    )
    placed, doubts, shown = answer["fresh"]
    assert placed.startswith("Placed ")
    assert placed.endswith("by asbuilt 0.1.0.")
    assert (doubts, shown) == ([], False)
    (doubt,), shown = answer["written"]
    assert shown
    assert doubt.startswith(f"{job}/joint_log_quarry.csv was written to since")
    assert any(f"{job}/joint_log.xlsx is not where it was" in one for one in answer["gone"])


def test_a_geopackage_that_was_only_put_in_edit_is_told_as_such(host, job):
    """The host writes to its head then, so it is another file: whether anything else was written cannot be told."""
    answer = in_findings_panel(
        host,
        LOOK
        + f"""
lines = layer("{job}/centerline.gpkg", "mains")
layer("{job}/joints.gpkg", "findings")
application.processEvents()
list(lines.getFeatures())
answer["read"] = looked()
lines.startEditing()
lines.rollBack()
answer["edited"] = looked()
""",
    )
    assert answer["read"] == []
    assert len(answer["edited"]) == 1
    assert "if only by this program when a layer of it was put in edit" in answer["edited"][0]


def test_a_centerline_in_several_files_is_as_it_was_until_one_of_them_is_written_to(host, tmp_path):
    """A Shapefile is the files beside it too, and a file geodatabase a folder: the command takes all of them."""
    mains = gpd.read_file(SAMPLE / "centerline.gpkg", layer="mains")
    mains.to_file(tmp_path / "mains.shp")
    mains.to_file(tmp_path / "mains.gdb", driver="OpenFileGDB", layer="mains")
    for name, kind in (("mains.shp", ""), ("mains.gdb", '"\nlayer = "mains')):
        text = (SAMPLE / "job.toml").read_text().replace('"centerline.gpkg"', f'"{tmp_path}/{name}{kind}"')
        text = text.replace('layer = "mains"\nroute', "route")
        for other in ("joint_log.xlsx", "joint_log_quarry.csv", "allowables.csv"):
            text = text.replace(f'"{other}"', f'"{SAMPLE}/{other}"')
        (tmp_path / f"{name}.toml").write_text(text)
        placed_by_command(tmp_path / f"{name}.toml", tmp_path / f"of_{name}.gpkg")
    answer = in_findings_panel(
        host,
        LOOK
        + f"""
for name, part in (("mains.shp", "mains.dbf"), ("mains.gdb", "mains.gdb/gdb")):
    opened = layer("{tmp_path}/of_" + name + ".gpkg", "findings")
    application.processEvents()
    answer[name] = [looked()]
    with open("{tmp_path}/" + part, "ab") as file:
        file.write(b" ")
    answer[name].append(looked())
    project.removeMapLayer(opened.id())
    application.processEvents()
""",
    )
    for name in ("mains.shp", "mains.gdb"):
        before, after = answer[name]
        assert before == []
        assert len(after) == 1
        assert f"{tmp_path}/{name} was written to since" in after[0]


def test_the_panel_says_that_layers_are_filtered_or_edited_or_have_unsaved_changes(host, job):
    answer = in_findings_panel(
        host,
        LOOK
        + f"""
findings = layer("{job}/joints.gpkg", "findings")
log = layer("{job}/joint_log_quarry.csv")
application.processEvents()
findings.setSubsetString("severity = 'act'")
answer["filtered"] = [looked(), findings.featureCount(), panel.findings.topLevelItemCount()]
findings.setSubsetString("")
findings.startEditing()
answer["edited"] = looked()
findings.rollBack()
log.startEditing()
answer["untouched"] = [one for one in looked() if "not saved" in one]
log.changeAttributeValue(log.allFeatureIds()[3], 1, "77")
answer["unsaved"] = looked()
log.rollBack()
""",
    )
    (said,), on_map, listed = answer["filtered"]
    assert f"the map shows {on_map} of {listed} rows" in said
    assert on_map < listed
    assert any("is being edited: a placed file is not mended by hand" in one for one in answer["edited"])
    assert answer["untouched"] == []
    assert any(f"changes that are not saved in {job}/joint_log_quarry.csv" in one for one in answer["unsaved"])


def test_files_of_another_version_or_changed_by_hand_are_named_as_such(host, placed, tmp_path):
    for name, statement in (
        ("earlier", "ALTER TABLE run DROP COLUMN file_version"),
        ("older", "UPDATE run SET file_version = 0"),
        ("later", "UPDATE run SET file_version = 99"),
        ("fewer", "DELETE FROM findings WHERE code = 'gasket-cold'"),
        ("notes", "DROP TABLE notes"),
    ):
        change(shutil.copy(placed, tmp_path / f"{name}.gpkg"), statement)
    change(tmp_path / "earlier.gpkg", "DROP TABLE stationing")
    answer = in_findings_panel(
        host,
        f"""
        for name in ("earlier", "older", "later", "fewer", "notes"):
            layer(f"{tmp_path}/{{name}}.gpkg", "findings")
            application.processEvents()
            answer[name] = [panel.job.currentText(), panel.findings.topLevelItemCount(), panel.state.text()]
            project.clear()
            application.processEvents()
        """,
    )
    for name in ("earlier", "older", "later", "fewer", "notes"):
        assert answer[name][0].startswith(f"{name}.gpkg (Contract 26-07"), name
        assert answer[name][1] == 0, name
    for name in ("earlier", "older"):
        assert "was placed by an earlier version" in answer[name][2]
        assert "place the job again" in answer[name][2]
    assert "was placed by a later version" in answer["later"][2]
    assert re.search(r"was changed after it was placed: findings has \d+ rows, not the \d+", answer["fewer"][2])
    assert "cannot be read as a placed job" in answer["notes"][2]


def test_the_notes_of_the_job_stand_in_the_panel(host, placed):
    answer = in_findings_panel(
        host,
        f"""
        layer("{placed}", "findings")
        application.processEvents()
        panel.tabs.setCurrentIndex(2)
        lines = [panel.notes.topLevelItem(at) for at in range(panel.notes.topLevelItemCount())]
        answer["notes"] = [[line.text(0), line.text(1)] for line in lines]
        QTest.mouseClick(panel.next, LEFT)
        answer["first"] = panel.text.text()
        answer["title"] = panel.tabs.tabText(2)
        """,
    )
    expected = [[row["severity"], row["text"]] for row in rows(placed, "notes")]
    assert sorted([one, text.replace(f"{SAMPLE}/", "")] for one, text in answer["notes"]) == sorted(expected) != []
    assert answer["first"] == answer["notes"][0][1]
    assert answer["title"] == f"Notes ({len(expected)})"


def test_a_job_placed_by_another_window_or_the_command_is_read_anew(host, job):
    log = job / "joint_log_quarry.csv"
    shorter = "".join(log.read_text("utf-8").splitlines(keepends=True)[:100])
    answer = in_findings_panel(
        host,
        LOOK
        + f"""
import os, subprocess
findings = layer("{job}/joints.gpkg", "findings")
joints = layer("{job}/joints.gpkg", "joints")
application.processEvents()
panel.look()
before = [panel.findings.topLevelItemCount(), joints.featureCount()]
open("{job}/joint_log_quarry.csv", "w", encoding="utf-8").write({shorter!r})
subprocess.run(["{host.command}", "place", "{job}/job.toml", "--out", "{job}/joints.gpkg"], capture_output=True,
               check=True)
wait(lambda: "Placed again" in panel.state.text())
answer["counts"] = [before, [panel.findings.topLevelItemCount(), joints.featureCount()]]
answer["doubts"] = looked()
answer["said"] = panel.state.text()
os.remove("{job}/joints.gpkg")
wait(lambda: "not there any more" in panel.state.text())
""",
    )
    before, after = answer["counts"]
    assert after[1] < before[1]
    assert answer["doubts"] == []


def test_a_failed_placing_leaves_what_was_there_and_the_panel_says_of_when_it_is(host, job):
    answer = in_findings_panel(
        host,
        LOOK
        + f"""
layer("{job}/joints.gpkg", "findings")
application.processEvents()
before = [panel.placed.text(), panel.findings.topLevelItemCount()]
open("{job}/joint_log_quarry.csv", "w").write("no log\\n")
answer["failed"] = run("place_job", dict(JOB="{job}/job.toml", OUTPUT="{job}/joints.gpkg"), load=True)
answer["doubts"] = looked()
answer["same"] = before == [panel.placed.text(), panel.findings.topLevelItemCount()]
""",
    )
    assert "joint_log_quarry.csv" in answer["failed"]["error"]
    assert answer["same"]
    assert any("joint_log_quarry.csv was written to since" in one for one in answer["doubts"])


def test_a_job_file_is_not_placed_past_unsaved_changes_nor_onto_a_file_that_is_being_edited(host, job):
    answer = host.run(
        f"""
        form = dict(JOB="{job}/job.toml", OUTPUT="{job}/joints.gpkg")
        log = layer("{job}/joint_log_quarry.csv")
        log.startEditing()
        log.changeAttributeValue(log.allFeatureIds()[3], 1, "77")
        for name in ("place_job", "check_job"):
            answer[name] = run(name, dict(form) if name == "place_job" else dict(JOB=form["JOB"]))
        log.rollBack()
        joints = layer("{job}/joints.gpkg", "joints")
        joints.startEditing()
        answer["onto"] = run("place_job", form)
        answer["beside"] = run("place_job", dict(form, OUTPUT="{job}/other.gpkg"))
        joints.changeAttributeValue(1, joints.fields().indexOf("verdict"), "within")
        answer["loaded"] = run("load", dict(INPUT=joints, REGISTER="{job}/register.gpkg"))
        joints.rollBack()
        project.clear()  # the host keeps its journal beside a file that was edited, until no layer is of it
        answer["then"] = run("place_job", form)
        """
    )
    for name in ("place_job", "check_job"):
        assert f"has changes that are not saved in {job}/joint_log_quarry.csv" in answer[name]["error"], name
    assert "joints.gpkg is being edited in the project" in answer["onto"]["error"]
    assert answer["beside"].get("JOINTS") == 469, answer["beside"]
    assert answer["then"].get("JOINTS") == 469, answer["then"]
    assert "has changes that are not saved" in answer["loaded"]["error"]
    assert not (job / "register.gpkg").exists()


def test_placed_layers_are_opened_to_be_read_and_shown_again_after_each_placing(host, job):
    answer = host.run(
        f"""
        run("place_job", dict(JOB="{job}/job.toml", OUTPUT="{job}/joints.gpkg"), load=True)
        application.processEvents()
        joints = project.mapLayersByName("Joints")[0]
        answer["edit"] = [joints.readOnly(), joints.startEditing()]
        """,
    )
    assert answer["edit"] == [True, False]


CORRECTING = """
import subprocess
from asbuilt_plugin import log_rows
opened_at = []

class Files:
    @staticmethod
    def openUrl(url): opened_at.append(url.toLocalFile())

log_rows.QDesktopServices = Files

class Window:
    forms, tables = [], []
    def openFeatureForm(self, layer, feature, *more): self.forms.append([layer.name(), feature["joint_uid"]])
    def showAttributeTable(self, layer, expression): self.tables.append([layer.name(), expression])

panel.desktop = Window()

def choose(list_, column, text):
    for at in range(list_.topLevelItemCount()):
        if list_.topLevelItem(at).text(column) == text:
            list_.setCurrentItem(list_.topLevelItem(at))
            return list_.topLevelItem(at).about
"""
"""A desktop that notes what the panel asks it to open."""


def test_a_finding_leads_to_its_joints_form_and_to_the_logs_row_which_is_corrected_and_placed_again(host, job):
    answer = in_findings_panel(
        host,
        LOOK
        + CORRECTING
        + f"""
form = dict(JOB="{job}/job.toml", OUTPUT="{job}/joints.gpkg")
run("place_job", form, load=True)
application.processEvents()
log = layer("{job}/joint_log_quarry.csv")
panel.tabs.setCurrentIndex(1)
aside = choose(panel.set_aside, 0, "joint_log_quarry.csv")
QTest.mouseClick(panel.log, LEFT)
wait(lambda: "correct it" in panel.state.text())
(feature,) = log.selectedFeatures()
answer["aside"] = [aside["row"], feature.id(), aside["joint"], [str(one) for one in feature.attributes()]]
answer["table"] = panel.desktop.tables
answer["editing"] = log.isEditable()
answer["before"] = [panel.set_aside.topLevelItemCount(), panel.findings.topLevelItemCount()]
station = [one.name() for one in log.fields() if one.name().lower().startswith(("sta", "ch"))][0]
log.changeAttributeValue(feature.id(), log.fields().indexOf(station), "31+20")
answer["unsaved"] = looked()
log.commitChanges()
answer["saved"] = looked()
answer["again"] = run("place_job", form, load=True)
application.processEvents()
answer["after"] = [panel.set_aside.topLevelItemCount(), panel.state.text(), looked()]
panel.tabs.setCurrentIndex(0)
over = choose(panel.findings, 1, "deflection-over")
QTest.mouseClick(panel.form, LEFT)
answer["form"] = [panel.desktop.forms, over["joint_uid"]]
book = choose(panel.findings, 1, "torque-off")
answer["rows"] = panel.file.rows_of_joint(book["joint_uid"])
QTest.mouseClick(panel.log, LEFT)
wait(lambda: panel.state.text())
answer["book"] = [opened_at, panel.state.text()]
""",
    )
    row, feature, joint, cells = answer["aside"]
    with open(job / "joint_log_quarry.csv", newline="", encoding="utf-8") as file:
        lines = list(csv.reader(file))
    assert joint is None or joint in cells
    assert answer["table"] == [["layer", f"$id in ({feature})"]]
    assert answer["editing"]
    assert "31+20" in lines[row - 1]  # the host keeps the order of the rows
    assert any("not saved" in one for one in answer["unsaved"])
    assert any("was written to since" in one for one in answer["saved"])
    after, said, doubts = answer["after"]
    assert after == answer["before"][0] - 1
    assert said.startswith("Placed again")
    assert doubts == []
    assert answer["form"] == [[["Joints", answer["form"][1]]], answer["form"][1]]
    opened, said = answer["book"]
    assert opened == [str(job / "joint_log.xlsx")]
    assert said.endswith(f"go to row {answer['rows'][0][1]}.")


def test_the_form_that_placed_a_job_opens_again_as_it_was(host, job):
    answer = host.run(
        FORM.replace(str(SAMPLE), str(job))
        + f"""
from asbuilt_plugin import again
answer["none"] = again.form_of("{job}/joints.gpkg", project)
run("place", dict(FORM, OUTPUT="{job}/form.gpkg"), load=True)
application.processEvents()
name, form = again.form_of("{job}/form.gpkg", project)
answer["form"] = [name, form]
project.write("{job}/project.qgz")
project.clear()
project.read("{job}/project.qgz")
answer["kept"] = again.form_of("{job}/form.gpkg", project)
before = open("{job}/form.gpkg", "rb").read()
answer["again"] = run(name.partition(":")[2], form)
from qgis.core import QgsProcessingContext, QgsProcessingFeatureSourceDefinition, QgsVectorLayer
context = QgsProcessingContext()
context.setProject(project)
algorithm = QgsApplication.processingRegistry().algorithmById("asbuilt:place")
memory = QgsVectorLayer("LineString?crs=EPSG:2226", "sketch", "memory")
project.addMapLayer(memory)
selected = QgsProcessingFeatureSourceDefinition(form["CENTERLINE"], True)
for key, source in (("selected", selected), ("memory", memory.id())):
    again.remember(algorithm, dict(form, CENTERLINE=source), context, "{job}/form.gpkg")
    answer[key] = [again.not_kept("{job}/form.gpkg", project), again.open_form("{job}/form.gpkg", project)]
"""
    )
    for key in ("selected", "memory"):
        (lost,), said = answer[key]
        assert "enterline" in lost, answer[key]
        assert said.startswith("This job was placed from selected features only, or from a layer in memory")
    assert answer["none"] == ["asbuilt:place_job", {"OUTPUT": str(job / "joints.gpkg")}]
    name, form = answer["form"]
    assert name == "asbuilt:place"
    assert form["NAME"] == "Contract 26-07"
    assert form["EQUATIONS"][:3] == ["A", "24+50.00", "30+00.00"]
    assert form["OUTPUT"] == str(job / "form.gpkg")
    assert answer["kept"] == answer["form"]
    assert answer["again"].get("JOINTS") == 469, answer["again"]


def test_keys_of_the_panels_are_heard_in_them_alone_and_no_text_takes_a_letter_of_the_menus(host, placed):
    answer = in_findings_panel(
        host,
        f"""
        from qgis.PyQt.QtGui import QKeySequence
        from qgis.PyQt.QtWidgets import QAbstractButton, QLabel, QWidget
        from asbuilt_plugin.panel import HistoryPanel, QShortcut
        history = HistoryPanel(canvas, window)
        layer("{placed}", "findings")
        panel.show()
        window.activateWindow()
        application.processEvents()
        answer["buttons"] = [one.text() for each in (panel, history) for one in each.findChildren(QAbstractButton)
                             if not one.shortcut().isEmpty()]
        answer["heard"] = [[one.key().toString(), int(one.context())] for each in (panel, history)
                           for one in each.findChildren(QShortcut)]
        answer["in the panel"] = int(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        panel.findings.setFocus()
        before = panel.findings.indexOfTopLevelItem(panel.findings.currentItem())
        QTest.keyClick(panel.findings, Qt.Key.Key_Right, Qt.KeyboardModifier.AltModifier)
        QTest.keyClick(panel.findings, Qt.Key.Key_Right, Qt.KeyboardModifier.AltModifier)
        QTest.keyClick(panel.findings, Qt.Key.Key_Left, Qt.KeyboardModifier.AltModifier)
        answer["at"] = -before - 1 + panel.findings.indexOfTopLevelItem(panel.findings.currentItem())
        canvas.setFocus()
        QTest.keyClick(canvas, Qt.Key.Key_Right, Qt.KeyboardModifier.AltModifier)
        answer["elsewhere"] = -before - 1 + panel.findings.indexOfTopLevelItem(panel.findings.currentItem())
        """,
    )
    assert answer["buttons"] == []
    assert len(answer["heard"]) == 4
    assert {context for _, context in answer["heard"]} == {answer["in the panel"]}
    assert answer["at"] == answer["elsewhere"] == 0, answer
