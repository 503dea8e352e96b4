"""What must not be lost or left behind by a click: outputs, layers being edited, works under way, in the real host."""

import hashlib
import os
import shutil
import subprocess
import sys

import pytest
from desktop import COMMAND, FORM, SAMPLE, alive, asbuilt, in_findings_panel, in_panel, placed_by_command, rows
from disks import ignoring_capitals

QUARRY = (
    FORM.replace("NAME=", "DROPPED=").split("LOG_FILES", maxsplit=1)[0].replace(' DROPPED="Contract 26-07",', "")
    + f"""NAME="Quarry", LOG_FILES=["{SAMPLE}/joint_log_quarry.csv"], EQUATIONS=["B", "29+00.00", "27+50.00"],
    STATION_UNIT="US survey foot", LAYING_LENGTH=20)
"""
)
"""A form that is filled in with all that it asks for."""


def digests(*paths):
    return [hashlib.sha256(path.read_bytes()).hexdigest() for path in paths]


def test_what_somebody_keeps_in_a_placed_file_or_an_answer_is_not_written_over(host, placed, loaded, tmp_path):
    """A layer that was exported into it, and a project that was saved in it, would be gone with the file."""
    job, answered, project = (tmp_path / name for name in ("joints.gpkg", "found.gpkg", "project.gpkg"))
    for path in (job, project):
        shutil.copy(placed, path)
    asbuilt("find", loaded, "--route", "B", "--joint", "176", "--out", answered)
    answer = host.run(
        f"""
        from qgis.core import QgsVectorFileWriter, QgsFeature, QgsGeometry, QgsPointXY
        for path in ("{job}", "{answered}"):
            mine = QgsVectorLayer("Point?crs=EPSG:6418&field=what:string", "punch list", "memory")
            mine.dataProvider().addFeatures([QgsFeature(mine.fields())])
            options = QgsVectorFileWriter.SaveVectorOptions()
            options.driverName, options.layerName = "GPKG", "punch list"
            options.actionOnExistingFile = QgsVectorFileWriter.ActionOnExistingFile.CreateOrOverwriteLayer
            QgsVectorFileWriter.writeAsVectorFormatV3(mine, path, project.transformContext(), options)
        answer["saved"] = project.write("geopackage:{project}?projectName=asbuilts")
        place = dict(JOB="{SAMPLE}/job.toml")
        answer["place"] = run("place_job", dict(place, OUTPUT="{job}"))
        answer["project"] = run("place_job", dict(place, OUTPUT="{project}"))
        answer["find"] = run("find", dict(REGISTER="{loaded}", ROUTE="B", OUTPUT="{answered}"))
        """
    )
    assert answer["saved"]
    for one, kept in (("place", "punch list"), ("project", "qgis_projects"), ("find", "punch list")):
        assert f"holds what asbuilt did not write and nobody could bring back ({kept})" in answer[one]["error"]
    assert len(rows(job, "punch list")) == len(rows(answered, "punch list")) == 1
    assert [row["name"] for row in rows(project, "qgis_projects")] == ["asbuilts"]


def test_nothing_is_written_to_a_file_that_a_layer_is_being_edited_in(host, placed, loaded, tmp_path):
    """By whatever name the file is called: its layer's changes would be lost, or be of other rows."""
    register, found, owner = (tmp_path / name for name in ("register.gpkg", "found.gpkg", "owner.gpkg"))
    shutil.copy(loaded, register)
    asbuilt("find", loaded, "--route", "B", "--out", found)
    (tmp_path / "link.gpkg").symlink_to(register)
    (tmp_path / "hard.gpkg").hardlink_to(found)
    job = shutil.copytree(SAMPLE, tmp_path / "job") / "job.toml"
    with job.open("a") as file:
        file.write(f'\n[map]\ninto = "{owner}"\nlayer = "joints"\n[map.columns]\njoint_uid = "uid"\n')
    asbuilt("map", job)
    # Their rows: the host writes to the head of a file that it edits.
    whole = [(register, "loads"), (register, "joints"), (found, "joints"), (owner, "joints")]
    before = [rows(path, table) for path, table in whole]
    answer = host.run(
        f"""
        opened = [layer(path, "joints") for path in ("{register}", "{found}", "{owner}")]
        answer["edited"] = [one.startEditing() for one in opened]
        WORKS = dict(
            load=dict(INPUT="{placed}", REGISTER="{tmp_path}/link.gpkg"),
            undo_load=dict(REGISTER="{register}", LOAD=1),
            service=dict(REGISTER="{register}", MAIN="B", STATE="abandoned"),
            conflicts=dict(REGISTER="{register}", JOB="Contract 26-07", SETTLE="ours"),
            find=dict(REGISTER="{loaded}", ROUTE="A", OUTPUT="{tmp_path}/hard.gpkg"),
            map=dict(JOB="{job}", DRY_RUN=False),
        )
        for work, form in WORKS.items():
            answer[work] = run(work, form)
        answer["looked"] = run("conflicts", dict(REGISTER="{register}"))
        for one in opened:
            one.rollBack()
        """
    )
    assert answer["edited"] == [True] * 3
    for work in ("load", "undo_load", "service", "conflicts", "find", "map"):
        assert "is being edited in the project, as the layer joints" in answer[work].get("error", "it was done"), work
    assert "No joint waits to be settled." in answer["looked"]["said"], answer["looked"]  # what only looks may look
    assert [rows(path, table) for path, table in whole] == before


def test_layers_that_are_open_are_no_outputs_however_they_are_chosen(host, loaded, tmp_path):
    """Given as the layer, as its source, or by its path: the register, the owner's map, the log of the form."""
    register, owner = shutil.copy(loaded, tmp_path / "register.gpkg"), tmp_path / "owner.gpkg"
    shutil.copy(SAMPLE / "centerline.gpkg", owner)
    before = digests(tmp_path / "register.gpkg", owner)
    answer = host.run(
        QUARRY
        + f"""
opened = layer("{register}", "joints")
theirs = layer("{owner}", "mains")
for name, path in (("layer", opened.source()), ("path", "{register}"), ("owner", theirs.source())):
    answer[name] = [run("place", dict(FORM, OUTPUT=path)),
                    run("find", dict(REGISTER="{loaded}", ROUTE="B", OUTPUT=path))]
"""
    )
    for name in ("layer", "path", "owner"):
        for one in answer[name]:
            assert "error" in one, (name, one)
    assert digests(tmp_path / "register.gpkg", owner) == before


@pytest.fixture
def small_disk(tmp_path):
    """Give a disk of one megabyte, and a function that makes it read only."""
    folder = tmp_path / "disk"
    folder.mkdir()
    if subprocess.run(["mount", "-t", "tmpfs", "-o", "size=1m", "tmpfs", folder], capture_output=True).returncode:
        pytest.skip("NOT CHECKED: no disk can be mounted here")
    try:
        yield folder, lambda: subprocess.run(["mount", "-o", "remount,ro", folder], check=True)
    finally:
        subprocess.run(["umount", folder], check=True)


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="NOT CHECKED: mounting a disk takes root")
def test_a_full_or_locked_disk_leaves_what_was_there_and_is_one_message(host, small_disk):
    folder, lock = small_disk
    shutil.copy(SAMPLE / "job_metric.toml", folder / "note.toml")
    (folder / "joints.gpkg").write_bytes(b"")
    works = f"""
    answer["place"] = run("place_job", dict(JOB="{SAMPLE}/job.toml", OUTPUT="{folder}/joints.gpkg"))
    answer["remarks"] = run("check_job", dict(JOB="{SAMPLE}/job.toml", RETURN="{folder}/back.xlsx"))
    """
    full = host.run(works)
    assert "joints.gpkg: cannot be written" in full["place"]["error"]
    assert "make room" in full["place"]["error"]
    left = sorted(path.name for path in folder.iterdir())
    lock()
    locked = host.run(works)
    for work in ("place", "remarks"):
        assert "cannot be written (Read-only file system)" in locked[work]["error"]
        assert "Traceback" not in locked[work]["error"]
    assert sorted(path.name for path in folder.iterdir()) == left
    # Nothing half-written; the logs with remarks may have had room.
    assert set(left) <= {"joints.gpkg", "note.toml", "back-joint_log.xlsx", "back-joint_log_quarry.xlsx"}
    assert (folder / "joints.gpkg").read_bytes() == b""


def test_a_name_in_other_capitals_is_the_same_file_where_the_disk_says_so(host, placed, tmp_path):
    """On such a disk, here one that numbers a file anew for each way to write its name."""
    with ignoring_capitals(tmp_path) as disk:
        folder = shutil.copytree(SAMPLE, disk / "Job", copy_function=shutil.copyfile)
        shutil.copyfile(placed, folder / "Placed.gpkg")
        before = digests(folder / "centerline.gpkg", folder / "joint_log_quarry.csv", folder / "Placed.gpkg")
        answer = host.run(
            QUARRY.replace(str(SAMPLE), str(folder))
            + f"""
from asbuilt_plugin import outputs, results
answer["line"] = run("place", dict(FORM, OUTPUT="{disk}/job/CENTERLINE.gpkg"))
answer["log"] = run("place", dict(FORM, JOB_FILE="{folder}/Joint_Log_Quarry.CSV", OUTPUT="{disk}/new.gpkg"))
answer["remarks"] = run("check", dict(FORM, RETURN="{folder}/JOINT_LOG_QUARRY.csv"))
answer["compared"] = run("compare", dict(OLD="{folder}/Placed.gpkg", NEW="{placed}", OUTPUT="{folder}/PLACED.gpkg"))
log = layer("{folder}/joint_log_quarry.csv")
FORM["LOG_FILES"] = ["{folder}/JOINT_LOG_quarry.csv"]
log.startEditing()
log.changeAttributeValue(next(log.getFeatures()).id(), 0, "9")
answer["unsaved"] = run("place", dict(FORM, OUTPUT="{disk}/new.gpkg"))
log.rollBack()
joints = layer("{folder}/Placed.gpkg", "joints")
joints.startEditing()
answer["edited"] = run("place", dict(FORM, OUTPUT="{disk}/job/PLACED.gpkg"))
joints.rollBack()
answer["shown"] = list(results.layers_of("{disk}/job/PLACED.gpkg", project))
answer["apart"] = outputs.is_same_file("{folder}/Placed.gpkg", "{folder}/centerline.gpkg")
project.clear()
"""
        )
        after = digests(folder / "centerline.gpkg", folder / "joint_log_quarry.csv", folder / "Placed.gpkg")
    for one in ("line", "remarks", "compared"):
        assert "is read by this work, so it cannot be its output" in answer[one].get("error", "it was done"), one
    assert "was not saved from this form" in answer["log"]["error"]
    assert "has changes that are not saved in" in answer["unsaved"]["error"]
    assert "is being edited in the project, as the layer joints" in answer["edited"]["error"]
    assert answer["shown"] == ["joints"]
    assert not answer["apart"]
    assert after[:2] == before[:2]  # the host writes to the head of a placed file that it edits


def slowly(host, tmp_path):
    """Have the command wait for a long time, with a child of its own, before it does anything."""
    host.says(
        f"""case "$1" in --version) exec "{sys.executable}" -m asbuilt "$@";; esac
        sleep 600 & echo $! > {tmp_path}/child; wait"""
    )


def test_a_plugin_taken_off_while_it_works_stops_the_work_and_the_host_lives_on(host, register, tmp_path):
    """The host hears of a work's end from its algorithm; one that went with the plugin would end the host."""
    slowly(host, tmp_path)
    answer = in_panel(
        host,
        register,
        f"""
        import os
        from qgis.core import QgsProcessingAlgRunnerTask

        class Interface:
            def __getattr__(self, name): return lambda *more: None
            def mainWindow(self): return window
            def mapCanvas(self): return canvas

        qgis.utils.unloadPlugin("asbuilt_plugin")
        from asbuilt_plugin.plugin import JointRecords
        plugin = JointRecords(Interface())
        plugin._welcome = lambda: None
        plugin.initGui()
        algorithm = QgsApplication.processingRegistry().createAlgorithmById("asbuilt:place_job")
        context, feedback, ended = QgsProcessingContext(), Feedback(), []
        context.setProject(project)
        form = dict(JOB="{SAMPLE}/job.toml", OUTPUT="{tmp_path}/o.gpkg")
        task = QgsProcessingAlgRunnerTask(algorithm, form, context, feedback)
        task.executed.connect(lambda successful, results: ended.append(successful))
        QgsApplication.taskManager().addTask(task)
        wait(lambda: os.path.exists("{tmp_path}/child"))
        asked = plugin.panels[1]
        asked.place.setFilePath(REGISTER)
        asked.route.setText("B")
        asked.find_by_name()
        answer["before"] = QgsApplication.taskManager().countActiveTasks()
        began = time.monotonic()
        plugin.unload()
        answer["seconds"] = time.monotonic() - began
        answer["after"] = [task.description() for task in QgsApplication.taskManager().activeTasks()]
        for _ in range(20):
            application.processEvents()
            time.sleep(0.02)
        answer["ended"] = ended
        answer["said"] = feedback.said
        answer["provider"] = QgsApplication.processingRegistry().providerById("asbuilt")
        """,
    )
    assert answer["before"] == 2
    assert answer["after"] == []
    assert answer["ended"] == [False]
    assert any("Cancelled" in text for text in answer["said"])
    assert answer["seconds"] < 12
    assert not alive(int((tmp_path / "child").read_text()))
    assert not (tmp_path / "o.gpkg").exists()
    assert answer["provider"] is None


def test_a_question_that_was_cancelled_in_the_hosts_list_is_said_and_the_next_one_is_answered(host, register, tmp_path):
    """The host throws a task away when it has ended; the panel must not ask it anything then."""
    slowly(host, tmp_path)
    answer = in_panel(
        host,
        register,
        f"""
        import os
        from qgis.PyQt import sip
        from qgis.PyQt.QtCore import QEvent
        type_joint("B", "176")
        wait(lambda: os.path.exists("{tmp_path}/child"))
        asked = panel.question
        QgsApplication.taskManager().cancelAll()
        wait(lambda: not QgsApplication.taskManager().countActiveTasks())
        QgsApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
        answer["gone"] = sip.isdeleted(asked)
        answer["said"] = panel.state.text()
        os.remove("{tmp_path}/child")
        type_joint("B", "177")
        wait(lambda: os.path.exists("{tmp_path}/child"))
        answer["asked again"] = panel.question is not None
        panel.close_tools()
        """,
    )
    assert answer["gone"]
    assert answer["said"].startswith("Cancelled")
    assert answer["asked again"]


def test_what_a_work_wrote_is_not_opened_in_another_project(host, tmp_path):
    """Whoever closes the form and the project meanwhile works on another job by then."""
    answer = host.run(
        f"""
        from qgis.core import QgsProcessingAlgRunnerTask
        class Closing(Feedback):
            def setProgressText(self, text):
                if text == "write":
                    project.clear()
        context = QgsProcessingContext()
        context.setProject(project)
        job, feedback = dict(JOB="{SAMPLE}/job.toml", OUTPUT="{tmp_path}/o.gpkg"), Closing()
        answer["r"] = processing.runAndLoadResults("asbuilt:place_job", job, feedback=feedback, context=context)
        application.processEvents()
        answer["said"] = feedback.said
        answer["open"] = len(project.mapLayers())
        answer["kept"] = project.entryList("asbuilt", "placed")
        answer["then"] = run("place_job", job, load=True)
        answer["open then"] = len(project.mapLayers())
        """
    )
    assert answer["r"]["JOINTS"] == len(rows(tmp_path / "o.gpkg", "joints")) == 469
    assert answer["open"] == 0
    assert answer["kept"] == []
    assert any(text.endswith(f"Written: {tmp_path}/o.gpkg") for text in answer["said"])
    assert answer["open then"] == 7


def test_a_form_asks_for_the_start_station(host, tmp_path):
    """Without one stations would count from 0 at the line's first vertex, and every joint would lie elsewhere."""
    answer = host.run(
        QUARRY
        + f"""
del FORM["START_FIELD"]
FORM["OUTPUT"] = "{tmp_path}/o.gpkg"
for change in ({{}}, dict(START_STATION="5+00"), dict(MORE='centerline.start_station = "5+00"'),
               dict(CENTERLINE=None, CENTERLINE_FILE="{SAMPLE}/shots_mill_race.csv"),
               dict(CENTERLINE=None, CENTERLINE_FILE="{SAMPLE}/alignment_foundry.xml", ROUTE=None)):
    answer[str(len(answer))] = run("place", dict(FORM, **change))
"""
    )
    for number in ("0", "3"):
        assert "Give the start station" in answer[number]["error"]
    assert answer["1"].get("JOINTS") == answer["2"].get("JOINTS") == 128, answer
    assert "Give the start station" not in answer["4"].get("error", "")  # an alignment brings its own


def test_nothing_of_a_form_is_said_twice(host, tmp_path):
    said = {
        "name": 'name = "Another"',
        "records.laying_length": "records.laying_length = 18",
        "limits.fraction": "limits.fraction = 0.5",
        "centerline.equations": 'centerline.equations = [{route = "B", back = "1+00", ahead = "2+00"}]',
        "records.path": 'records.path = "other.csv"',
        "centerline.start_station": 'centerline.start_station = "1+00"',
    }
    answer = host.run(
        QUARRY
        + f"""
for key, line in {said!r}.items():
    answer[key] = run("place", dict(FORM, MORE=line, OUTPUT="{tmp_path}/o.gpkg"))
answer["other"] = run("check", dict(FORM, MORE='records.covers = "part"\\nlimits.table = "awwa-c600"'))
"""
    )
    for key in said:
        assert f"take {key} out of 'Further keys of the job file'" in answer[key].get("error", "it was done"), key
    assert "'Name of the job' is given twice" in answer["name"]["error"]
    assert answer["other"].get("JOINTS") == 128, answer["other"]  # the form leaves the table out


def test_notes_say_where_in_the_form_a_key_goes(host, tmp_path):
    answer = host.run(
        QUARRY
        + f"""
answer["form"] = run("check", FORM)
job = "{tmp_path}/job.toml"
run("check", dict(FORM, JOB_FILE=job))
answer["file"] = run("check_job", dict(JOB=job))
"""
    )
    notes = [text for text in answer["form"]["said"] if text.startswith("Note: ") and "centerline." in text]
    assert notes
    for note in notes:
        assert note.endswith("(a key is written under 'Further keys of the job file')"), note
    assert not any("Further keys" in text for text in answer["file"]["said"])  # there, a key is a key


def test_what_is_new_stays_in_sight_when_the_host_has_touched_the_file_and_goes_with_the_job(host, placed, tmp_path):
    """The host writes to a GeoPackage when it opens it, so that the file looks as if it had been placed once more."""
    job, other = shutil.copy(placed, tmp_path / "joints.gpkg"), tmp_path / "other.gpkg"
    placed_by_command(SAMPLE / "job_metric.toml", other)
    answer = in_findings_panel(
        host,
        f"""
        import os, time
        panel.show()
        findings = layer("{job}", "findings")
        application.processEvents()
        os.utime("{job}", (1, 1))
        panel.look()
        answer["silent"] = panel.state.text()
        panel.file.findings.pop()
        panel.file.made_at = "2026-01-01T00:00:00Z"
        panel.read()
        answer["said"] = [panel.state.text(), len(panel.new)]
        os.utime("{job}")
        panel.look()
        answer["still"] = [panel.state.text(), len(panel.new)]
        panel.tabs.setCurrentIndex(0)
        panel.step(1)
        answer["marked"] = panel.band.size()
        panel.here.setText("A 12+00")
        layer("{other}", "findings")
        project.removeMapLayer(findings.id())
        application.processEvents()
        answer["gone"] = [panel.band.size(), panel.here.text(), panel.state.text(), len(panel.new)]
        """,
    )
    assert answer["silent"] == ""
    assert answer["said"] == ["Placed again: 0 findings are gone, 1 are new (in bold).", 1]
    assert answer["still"] == answer["said"]
    assert answer["marked"] == 1
    assert answer["gone"] == [0, "", "", 0]


def test_the_panel_and_open_layers_follow_what_becomes_of_a_register(host, placed, tmp_path):
    answer = in_panel(
        host,
        "",
        f"""
        place = "{tmp_path}/register.gpkg"
        answer["loaded"] = run("load", dict(INPUT="{placed}", REGISTER=place, OPEN=True), load=True)
        application.processEvents()
        answer["taken over"] = [panel.place.filePath(), panel.state.text()]
        panel.route.setText("B")
        panel.find_by_name()
        wait(lambda: len(panel.found) == 217)
        (joints,) = project.mapLayersByName("Joints")
        answer["before"] = joints.featureCount()
        answer["dry"] = run("load", dict(INPUT="{placed}", REGISTER="{tmp_path}/elsewhere.gpkg", DRY_RUN=True))
        answer["stays"] = panel.place.filePath()
        run("service", dict(REGISTER=place, MAIN="B", STATE="abandoned"))
        wait(lambda: panel.question is None and panel.found[0].get("service") == "abandoned")
        answer["told"] = panel.state.text()
        run("undo_load", dict(REGISTER=place, LOAD=1))
        wait(lambda: panel.question is None)
        answer["after"] = [joints.featureCount(), len(panel.found), panel.list.topLevelItemCount(), panel.shown]
        answer["said"] = panel.state.text()
        """,
    )
    place = str(tmp_path / "register.gpkg")
    assert answer["taken over"] == [place, f"{place} is asked from now on: a job was loaded into it."]
    assert answer["stays"] == place
    assert answer["before"] == 469
    assert answer["told"] == "The register was changed; this is what it holds now."
    assert answer["after"][:1] == [0]
    assert answer["after"][1:] == [0, 0, None]
    assert answer["said"] == "'Route': the register has no route 'B'; the register has none"


def test_an_answer_in_a_file_that_is_open_shows_what_was_found_last(host, loaded, tmp_path):
    answer = host.run(
        f"""
        form = dict(REGISTER="{loaded}", ROUTE="B", OUTPUT="{tmp_path}/found.gpkg")
        run("find", form, load=True)
        application.processEvents()
        (joints,) = project.mapLayersByName("Joints")
        first = joints.featureCount()
        run("find", dict(form, JOINT="176"), load=True)
        application.processEvents()
        answer["counts"] = [first, joints.featureCount(), len(list(joints.getFeatures()))]
        """
    )
    assert answer["counts"] == [217, 1, 1]


def test_the_sheet_is_of_the_job_that_is_asked_for_and_its_scale_can_be_read(host, placed, tmp_path):
    other = placed_by_command(SAMPLE / "job_metric.toml", tmp_path / "zz.gpkg")
    answer = host.run(
        f"""
        from asbuilt_plugin import sheet_layout
        from qgis.core import QgsLayoutItemMap, QgsLayoutItemScaleBar
        from qgis.gui import QgsMapCanvas
        for path in ("{placed}", "{other}"):
            for name in ("joints", "findings"):
                opened = layer(path, name)
        canvas = QgsMapCanvas()
        canvas.setDestinationCrs(opened.crs())
        canvas.setExtent(opened.extent())
        layout = sheet_layout.make(project, canvas, "{other}")
        answer["name"] = layout.name()
        (bar,) = [one for one in layout.items() if isinstance(one, QgsLayoutItemScaleBar)]
        answer["bar"] = [bar.unitsPerSegment(), bar.rect().width()]
        (plan,) = [one for one in layout.items() if isinstance(one, QgsLayoutItemMap)]
        answer["whole"] = plan.extent().contains(opened.extent())
        answer["scale"] = plan.scale()
        """
    )
    assert answer["name"] == "Findings of zz"
    assert answer["whole"]
    length, width = answer["bar"]
    assert length >= 1
    assert 20 <= width <= 150, answer["bar"]


def test_the_search_page_can_be_ended(host, register):
    host.says(COMMAND)
    answer = host.run(
        f"""
        import time
        from asbuilt_plugin import serving

        class Desktop:
            @staticmethod
            def openUrl(url): pass

        serving.QDesktopServices = Desktop
        page, heard = serving.SearchPage(), []
        page.serves.connect(heard.append)
        page.start("{register}")
        pid = page.process.processId()
        end = time.monotonic() + 60
        while not page.address and time.monotonic() < end:
            application.processEvents()
            time.sleep(0.02)
        page.stop()
        answer["pid"], answer["heard"] = pid, heard
        """
    )
    assert answer["heard"] == [True, False]
    assert not alive(answer["pid"])
