"""The blank log as a page in a real browser without a network: filled in, kept, handed out, and read without a note."""

import datetime as dt
import re

import crews
import laying
import pytest
from browsers import CHROMIUM, FLAGS

import asbuilt
from asbuilt.blank.blank import CAUTION
from asbuilt.blank.writing import write_sheet

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="NOT CHECKED: the program chromium is not here")
CONTROL = "input:not([type=file]), select, textarea, button"
NAMELESS = """() => [...document.querySelectorAll('input, select, textarea, button')].filter((one) => {
  const labels = [...(one.labels || [])].map((label) => label.textContent.trim()).join('');
  return !(labels || one.getAttribute('aria-label') || one.textContent.trim());
}).map((one) => one.id)"""
LARGE = "button, .button, .choices label, select, textarea, input[type=text], input[type=date]"
SMALL = f"""() => [...document.querySelectorAll('{LARGE}')].filter((one) => one.offsetParent
  && one.getBoundingClientRect().height < 48).map((one) => one.id)"""
WIDE = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"


@pytest.fixture(scope="module")
def browser():
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        chromium = play.chromium.launch(executable_path=CHROMIUM, args=list(FLAGS))
        yield chromium
        chromium.close()


@pytest.fixture
def opened(browser):
    """Give a function that opens a page on a device of its own; a script that fails fails the test."""
    failed, devices = [], []

    def device(width=1400, height=900):
        context = browser.new_context(viewport={"width": width, "height": height})
        context.on("weberror", lambda error: failed.append(str(error.error)))
        devices.append(context)
        return context.new_page()

    yield device
    for context in devices:
        context.close()
    assert failed == []


def made(folder, **tables):
    """Write a page, and give its job, columns and address."""
    job = crews.job(folder, **tables)
    blank = write_sheet(job, folder / "log.html").blank
    return job, blank.columns, (folder / "log.html").as_uri()


def enter(page, columns, row):
    """Fill in one joint as a person does: by its labels, choosing and typing."""
    for one in columns:
        value = row.get(one.field)
        if value is None:
            continue
        text = str(value)
        if one.choices and len(one.choices) <= 8:
            group = page.get_by_role("group", name=re.compile(rf"^{re.escape(one.title)}\b"))
            if text in one.choices:
                group.get_by_text(text[:1].upper() + text[1:], exact=True).click()
            else:
                group.get_by_text("Other", exact=True).click()
                group.get_by_role("textbox").fill(text)
        else:
            page.locator(f"#in-{one.field}").fill(text)
    page.locator("#in-station").press("Tab")


def comes_to_hold(page, label, text):
    from playwright.sync_api import expect

    expect(page.get_by_label(label)).to_have_value(text)


def hand_out(page, folder):
    with page.expect_download() as waiting:
        page.get_by_role("button", name="Hand out the log (CSV)").click()
    path = folder / waiting.value.suggested_filename
    waiting.value.save_as(path)
    return path


def test_what_is_typed_is_handed_out_as_a_log_that_is_read_without_one_note(opened, tmp_path):
    job, columns, address = made(tmp_path)
    rows = [crews.entries(columns, number) for number in range(crews.BEND + 3)]
    page = opened(820, 1180)
    asked = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(address)
    for number, row in enumerate(rows):
        enter(page, columns, row)
        if number + 1 < len(rows):
            page.locator("#next").click()
    path = hand_out(page, tmp_path)
    assert "All of it was handed out." in page.locator("#kept").inner_text()
    # Blobs are the file that is handed out: nothing else is asked for, outside or here.
    assert [url for url in asked if not url.startswith("blob:")] == [address]
    assert re.fullmatch(r"joint_log_Quarry_Lane_A_\d{4}-\d\d-\d\d\.csv", path.name)
    read = crews.job(tmp_path, records={"path": path.name, "covers": "part"})
    placement = asbuilt.place(read, today=laying.TODAY)
    crews.no_note_but_the_job_s(placement, len(rows))
    crews.same(placement.log, columns, rows)
    assert job.name == read.name


@pytest.mark.parametrize("encoding", ["cp1252", "utf-16", "utf-16-le", "utf-8"])
def test_the_file_is_in_the_letters_that_the_job_reads(opened, tmp_path, encoding):
    _, columns, address = made(tmp_path, records={"encoding": encoding})
    row = crews.entries(columns, 0) | {"remarks": "Größe 4 – naß", "inspector": "Zoë"}
    page = opened()
    page.goto(address)
    enter(page, columns, row)
    path = hand_out(page, tmp_path)
    log = asbuilt.place(crews.job(tmp_path, records={"path": path.name, "encoding": encoding})).log
    assert log.fields["remarks"].to_pylist() == ["Größe 4 – naß"]
    assert log.notes == ()


def test_a_decimal_comma_is_written_as_the_job_reads_it(opened, tmp_path):
    records = {"station_unit": "m", "laying_length": 6.0, "decimal": ",", "fixed": {}, "reading_unit": "mm"}
    _, columns, address = made(tmp_path, records=records, limits={"table": "en-545"}, inspection={})
    page = opened()
    page.goto(address)
    page.get_by_label("Station").fill("12,5")
    page.get_by_label("Gasket temperature").fill("7,5")
    page.get_by_label("Laid length").fill("1,250")
    assert "decimal point" in page.locator("#says-laid_length").inner_text()
    page.get_by_label("Laid length").fill("5.98")
    page.get_by_label("Station").fill("12.5")
    page.get_by_label("Station").press("Tab")
    assert page.get_by_label("Station").input_value() == "0+012.500"
    path = hand_out(page, tmp_path)
    log = asbuilt.place(crews.job(tmp_path, records={**records, "path": path.name}, limits={"table": "en-545"})).log
    assert log.stations.value.tolist() == [12.5]
    assert log.fields["gasket_temperature"].to_pylist() == [45.5]
    assert log.fields["laid_length"].to_pylist() == [5.98]
    assert columns[0].field == "joint"


def test_what_was_typed_is_there_again_after_the_page_was_closed(opened, tmp_path):
    _, columns, address = made(tmp_path)
    page = opened()
    context = page.context
    page.goto(address)
    page.get_by_label("Station").fill("0+20.00")
    # Closed in the middle of a word, without leaving the field.
    page.get_by_label("Remarks").press_sequentially("gasket rolled, pulled ou")
    page.close()
    page = context.new_page()
    page.goto(address)
    # The browser may be told of the last letters by the window that was closed while the new one is there already.
    page.get_by_text("1 joint is kept on this device").wait_for()
    page.get_by_role("button", name="Open joint without number, row 1").click()
    comes_to_hold(page, "Remarks", "gasket rolled, pulled ou")
    comes_to_hold(page, "Station", "0+20.00")
    assert columns


def test_letters_that_come_late_from_a_window_that_was_closed_are_not_lost(opened, tmp_path):
    """What a browser still has to write when the page is open again: put there by another window, as it would be."""
    _, _, address = made(tmp_path)
    page = opened()
    page.goto(address)
    page.get_by_label("Station").fill("0+20.00")
    page.get_by_label("Remarks").fill("gasket rolled")
    late = page.evaluate("() => localStorage.getItem(place)")
    other = page.context.new_page()
    other.goto(address)
    # Opening the page writes nothing over what is kept, and what comes late is shown as it comes.
    assert page.evaluate("() => stopped") is False
    other.get_by_role("button", name="Open joint without number, row 1").click()
    page.evaluate(
        "(text) => localStorage.setItem(place, text)", late.replace("gasket rolled", "gasket rolled, pulled out")
    )
    comes_to_hold(other, "Remarks", "gasket rolled, pulled out")
    other.get_by_label("Remarks").press_sequentially("!")
    page.get_by_text("changed in another window").wait_for()
    assert other.evaluate("() => JSON.parse(localStorage.getItem(place)).joints[0].remarks").startswith(
        "gasket rolled, pulled"
    )


def test_evidence_is_never_carried_over_to_the_next_joint(opened, tmp_path):
    _, columns, address = made(tmp_path)
    page = opened()
    page.goto(address)
    enter(page, columns, crews.entries(columns, 5))
    page.locator("#next").click()
    carried = page.evaluate("() => Object.fromEntries(columns.map((one) => [one.field, valueOf(one)]))")
    assert {field for field, value in carried.items() if value} == {
        "joint", "size", "joint_type", "inspector", "inspected_on"}  # fmt: skip
    assert carried["joint"] == "107"
    assert carried["inspected_on"] == page.evaluate("() => today()")
    # A joint that nobody touched is no record.
    assert page.evaluate("() => state.joints.length") == 1


def test_limits_ask_and_never_refuse(opened, tmp_path):
    _, columns, address = made(tmp_path)
    row = crews.entries(columns, 5) | {"gasket_temperature": 34, "gap_12": 3.5, "gauge_3": 2, "laid_length": 21.5,
                                       "bolt_torque": 60, "inspected_on": dt.date(2026, 1, 5), "station": "9+99.00",
                                       "insertion_mark": "no"}  # fmt: skip
    page = opened()
    page.goto(address)
    enter(page, columns, row)

    def said(field):
        return page.locator(f"#says-{field}").inner_text()

    assert "The job wants 40 F or more" in said("gasket_temperature")
    assert "0.5 to 1.25 in" in said("gap_12")
    assert "differ by 0.25 in at most" in said("gauge_3")
    assert "nominal laying length is 20 ft" in said("laid_length")
    assert "4-24 in: 75-90" in said("bolt_torque")
    assert "from 2026-03-02" in said("inspected_on")
    assert "The line runs from 0+00.00 to 3+00.00" in said("station")
    assert "say in the remarks what was done" in said("insertion_mark")
    assert said("gap_3") == said("gap_12")
    assert said("joint") == ""
    page.get_by_label("Station").fill("what")
    assert "Write the station like 12+34.56." in said("station")
    assert page.get_by_label("Station").get_attribute("aria-invalid") == "true"
    page.get_by_label("Station").fill("0+20.00")
    path = hand_out(page, tmp_path)
    log = asbuilt.place(crews.job(tmp_path, records={"path": path.name})).log
    assert log.fields["gasket_temperature"].to_pylist() == [34.0]
    assert log.fields["gap_12"].to_pylist() == [3.5]


def test_what_the_job_requires_of_a_joint_family_is_named_while_it_is_blank(opened, tmp_path):
    _, _, address = made(tmp_path)
    page = opened()
    page.goto(address)
    page.get_by_label("Station").fill("0+20.00")
    page.get_by_role("group", name="Joint type").get_by_text("Mechanical", exact=True).click()
    look = page.locator("#look")
    assert "blank: Bolt torque" in look.inner_text()
    assert "blank: Insertion mark" not in look.inner_text()
    page.get_by_role("group", name="Joint type").get_by_text("Push-on", exact=True).click()
    assert "blank: Insertion mark" in look.inner_text()
    assert "blank: Bolt torque" not in look.inner_text()
    assert page.get_by_label("Bolt torque").is_hidden()


def test_photos_give_their_names_and_one_name_twice_is_told(opened, tmp_path):
    _, _, address = made(tmp_path)
    for name in ("IMG_0001.jpg", "IMG_0002.jpg"):
        (tmp_path / name).write_bytes(b"\xff\xd8")
    page = opened()
    page.goto(address)
    page.get_by_label("Add photos' names").set_input_files([tmp_path / "IMG_0001.jpg", tmp_path / "IMG_0002.jpg"])
    assert page.locator("#in-photo").input_value() == "IMG_0001.jpg; IMG_0002.jpg"
    page.locator("#next").click()
    page.get_by_label("Add photos' names").set_input_files([tmp_path / "IMG_0002.jpg"])
    assert "IMG_0002.jpg stands at another photo already" in page.locator("#says-photo").inner_text()


def test_a_joint_that_was_removed_can_be_put_back_and_a_log_is_cleared_only_after_it_was_handed_out(opened, tmp_path):
    _, columns, address = made(tmp_path)
    page = opened()
    page.goto(address)
    assert page.get_by_role("button", name="Hand out").is_disabled()
    for number in (0, 1):
        enter(page, columns, crews.entries(columns, number))
        page.locator("#next").click()
    page.get_by_role("button", name="Open joint 101").click()
    page.get_by_role("button", name="Remove this joint").click()
    assert page.locator("#list tr").count() == 1
    page.get_by_role("button", name="Put the removed joint back").click()
    assert page.locator("#list tr").count() == 2
    assert page.locator("#in-station").input_value() == "0+00.00"
    assert page.get_by_role("button", name="Begin a new log").is_disabled()
    hand_out(page, tmp_path)
    page.on("dialog", lambda dialog: dialog.accept())
    page.get_by_role("button", name="Begin a new log").click()
    assert page.locator("#list tr").count() == 0
    page.reload()
    assert "Nothing is in this log yet." in page.locator("#kept").inner_text()


def test_a_browser_that_keeps_nothing_says_so(opened, tmp_path):
    _, _, address = made(tmp_path)
    page = opened()
    page.add_init_script("Storage.prototype.setItem = () => { throw new Error('full'); }")
    page.goto(address)
    assert "keeps nothing of what is typed" in page.get_by_role("alert").inner_text()


def test_a_second_window_stops_rather_than_write_over_the_first(opened, tmp_path):
    _, _, address = made(tmp_path)
    page = opened()
    other = page.context.new_page()
    page.goto(address)
    other.goto(address)
    page.get_by_label("Station").fill("0+10.00")
    # Nothing was typed in the other one: it has what is kept, and goes on from there.
    other.get_by_text("1 joint is kept on this device").wait_for()
    assert "New joint (1 in the log)" in other.locator("#where").inner_text()
    other.get_by_label("Station").fill("0+20.00")
    page.get_by_text("changed in another window").wait_for()
    assert page.get_by_label("Station").is_disabled()
    assert page.get_by_role("button", name="Hand out").is_disabled()
    kept = other.evaluate("() => JSON.parse(localStorage.getItem(place)).joints.map((one) => one.station)")
    assert kept == ["0+10.00", "0+20.00"]


def test_entries_that_a_later_page_has_no_column_for_are_handed_out_all_the_same(opened, tmp_path):
    _, _, address = made(tmp_path)
    page = opened()
    page.goto(address)
    page.get_by_label("Station").fill("0+20.00")
    page.get_by_label("Gap at 12").fill("7/8")
    write_sheet(crews.job(tmp_path, inspection={}), tmp_path / "log.html")
    page.goto(address)
    assert page.get_by_label("Gap at 12").count() == 0
    path = hand_out(page, tmp_path)
    log = asbuilt.place(crews.job(tmp_path, records={"path": path.name})).log
    assert log.fields["gap_12"].to_pylist() == [0.875]


@pytest.mark.parametrize("size", [(820, 1180), (390, 844)])
def test_every_control_has_a_name_is_large_enough_for_a_glove_and_fits_the_screen(opened, tmp_path, size):
    _, _, address = made(tmp_path, name="<b>Quarry & Lane</b>" * 4)
    page = opened(*size)
    page.goto(address)
    page.get_by_label("Station").fill("0+20.00")
    page.get_by_role("group", name="Kind").get_by_text("Bend", exact=True).click()
    assert page.locator(CONTROL).count() > 40
    assert page.evaluate(NAMELESS) == []
    assert page.evaluate(SMALL) == []
    assert page.evaluate(WIDE) <= 0
    assert page.get_by_text(CAUTION.split(":")[0]).first.is_visible()
    assert page.locator("b").count() == 0


def test_the_keyboard_alone_is_enough(opened, tmp_path):
    _, _, address = made(tmp_path)
    page = opened()
    page.goto(address)
    page.get_by_label("Station").focus()
    page.keyboard.type("0+20.00")
    page.locator("#in-kind-none").focus()
    page.keyboard.press("ArrowRight")
    assert page.evaluate("() => state.joints[0].kind") == "pipe"
    page.locator("#next").focus()
    page.keyboard.press("Enter")
    assert "New joint (1 in the log)" in page.locator("#where").inner_text()
