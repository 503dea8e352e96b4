"""The review's pages in a real headless Chromium: no network, linked by mouse and keyboard, whole on paper."""

import re
import shutil
import subprocess
from html import unescape

import laying
import numpy as np
import pytest

from asbuilt.review import write_review

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip
MARKUP = "<script>window.ran = 1</script><img src=x onerror='window.ran = 1'> & \"wet\" trench"
OVER = (33, 61)
"""Indices of the joints pulled over."""

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="NOT CHECKED: the program chromium is not here")


@pytest.fixture(scope="module")
def review(tmp_path_factory):
    """A main of 120 joints with a curve, a bend, an equation, two joints over, sparse shots at its end, and markup."""
    folder = tmp_path_factory.mktemp("review")
    turn = np.zeros(118)
    turn[9:19] = 2.0
    turn[[at - 1 for at in OVER]] = 6.5
    turn[44] = 45.0
    turn[90:100] = 2.0
    points = laying.pipe(turn)
    points[:, 2] += 6.0 * np.sin(np.arange(120) / 15.0)
    shots = points[[*range(80), *range(80, 115, 5), 119]]
    log = laying.log(points, remarks=[MARKUP] * 120, crew=["North", MARKUP] * 60)
    log["date"] = [f"2026-04-{1 + at // 5:02d}" for at in range(120)]
    log["kind"] = ["bend" if at == 45 else "pipe" for at in range(120)]
    log["bend angle"] = ["45" if at == 45 else "" for at in range(120)]
    log.loc[::2, "inspector"] = ""
    # From 1,000 ft on the stations are 500 ft more.
    log["station"] = [text if at <= 50 else more(text, 500) for at, text in enumerate(log["station"])]
    placement = laying.place(
        laying.lines(A=shots), log,
        centerline={"equations": [{"route": "A", "back": "10+10", "ahead": "15+10"}], "sigma_horizontal": 0.02},
        restraint=[{"route": "A", "from": "8+00", "to": "9+80", "why": "45 degree bend at 9+00, sheet C-4"}],
        pressure_tests=[{"route": "A", "from": "0+00", "to": "9+00", "pressure_psi": 150, "duration_h": 2, **water}
                        for water in ({"makeup_gal": 9.0, "tested_on": "2026-06-02"}, {"tested_on": "2026-06-03"})],
    )  # fmt: skip
    placement.write(folder / "joints.gpkg")
    assert len(placement.joints) == 120
    written = write_review(folder / "joints.gpkg", folder / "out", pdf=True, paper="a4")
    return folder / "out", written, placement


@pytest.fixture(scope="module")
def crowded(tmp_path_factory):
    """The page of a main whose bends and equations lie close together."""
    folder = tmp_path_factory.mktemp("crowded")
    laying.crowded().write(folder / "placed.gpkg")
    return folder / "out" / write_review(folder / "placed.gpkg", folder / "out")["routes"][0]["page"]


def more(station, feet):
    value = float(station.replace("+", "")) + feet
    return f"{int(value // 100)}+{value % 100:05.2f}"


@pytest.fixture(scope="module")
def browser():
    from playwright.sync_api import sync_playwright

    with sync_playwright() as started:
        chromium = started.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield chromium
        chromium.close()


@pytest.fixture(scope="module")
def opened(browser, review):
    context = browser.new_context(viewport={"width": 1100, "height": 900})
    yield open_page(context, review[0] / "route-A.html")
    context.close()


@pytest.fixture
def page(opened):
    """The route's page, opened from disk once; what it asks for and complains of is kept."""
    opened.keyboard.press("Escape")
    yield opened
    assert opened.complaints == []
    assert opened.asked == []


@pytest.fixture
def fresh(browser, review):
    """The route's page as nobody has used it yet."""
    context = browser.new_context(viewport={"width": 1100, "height": 900})
    yield open_page(context, review[0] / "route-A.html")
    context.close()


def open_page(context, path):
    page = context.new_page()
    page.asked, page.complaints = [], []
    own = path.as_uri()
    page.on("request", lambda one: page.asked.append(one.url) if not one.url.startswith((own, "data:")) else None)
    page.on("pageerror", lambda error: page.complaints.append(str(error)))
    page.on("console", lambda said: page.complaints.append(said.text) if said.type in ("error", "warning") else None)
    page.goto(own)
    if path.name != "index.html":
        page.wait_for_selector("body[data-ready]")
        page.wait_for_function("Bokeh.documents[0].get_model_by_name('profile').inner_width > 100")
    return page


def marked(page):
    """Give the joint that each of the three plots marks, by its place there, and that of the card and the tables."""
    return page.evaluate(
        """() => {
          const shown = Bokeh.documents[0];
          const joints = shown.get_model_by_name("joints").data;
          const places = { deflection: ["distance"], plan: ["east", "north"], profile: ["distance", "elevation"] };
          const plots = Object.entries(places).map(([name, fields]) => {
            const drawn = shown.get_model_by_name(name).renderers.filter((one) => one.data_source?.name === "picked");
            const mark = drawn.find((one) => one.glyph.type === "Scatter");
            if (mark.glyph.x.field !== fields[0]) return null;
            const at = fields.map((field) => mark.data_source.data[field][0]);
            const same = (joint) => fields.every((field, number) => joints[field][joint] === at[number]);
            return joints.distance.findIndex((_, joint) => same(joint));
          });
          const rows = [...document.querySelectorAll("tr.marked")].map((row) => Number(row.dataset.joint));
          const card = [...document.querySelectorAll("#card dd")].map((one) => one.textContent);
          return { plots, rows, card, slider: Number(document.getElementById("joint").value) };
        }"""
    )


def place_on_screen(page, plot, joint):
    """Give where a joint's mark lies in the window."""
    return page.evaluate(
        """([name, at]) => {
          const shown = Bokeh.documents[0];
          const plot = shown.get_model_by_name(name);
          const up = { deflection: "drawn", plan: "north", profile: "elevation" }[name];
          const fields = [name === "plan" ? "east" : "distance", up];
          const [x, y] = fields.map((field) => shown.get_model_by_name("joints").data[field][at]);
          const view = Bokeh.index.find_one(plot);
          view.el.scrollIntoView({ block: "center" });
          const box = view.canvas_view.el.getBoundingClientRect();
          return [box.left + view.frame.x_scale.compute(x), box.top + view.frame.y_scale.compute(y)];
        }""",
        [plot, joint],
    )


@pytest.mark.parametrize("plot", ["deflection", "plan", "profile"])
def test_pointing_at_a_joint_in_one_plot_marks_it_in_all_and_in_the_tables(page, plot):
    page.mouse.move(*place_on_screen(page, plot, OVER[1]))
    page.wait_for_timeout(100)
    found = marked(page)
    assert found["plots"] == [OVER[1]] * 3
    assert found["slider"] == OVER[1]
    assert set(found["rows"]) == {OVER[1]}
    assert len(found["rows"]) >= 2  # among the joints over, and among the findings
    assert "over" in found["card"]
    assert "62" in found["card"]


def test_a_clicked_joint_stays_marked_until_escape(page):
    page.mouse.click(*place_on_screen(page, "deflection", OVER[0]))
    page.mouse.move(*place_on_screen(page, "deflection", 20))
    page.wait_for_timeout(100)
    assert marked(page)["plots"] == [OVER[0]] * 3
    page.keyboard.press("Escape")
    page.mouse.move(*place_on_screen(page, "deflection", 21))
    page.wait_for_timeout(100)
    assert marked(page)["plots"] == [21] * 3


def test_arrow_keys_step_from_joint_to_joint_and_are_read_out(page):
    page.focus("#plots")
    page.keyboard.press("Home")
    for key, joint in (("ArrowRight", 1), ("ArrowRight", 2), ("PageUp", 12), ("ArrowLeft", 11), ("End", 119)):
        page.keyboard.press(key)
        found = marked(page)
        assert (found["plots"], found["slider"]) == ([joint] * 3, joint), key
    page.focus("#joint")
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("PageDown")
    assert marked(page)["plots"] == [108] * 3
    page.wait_for_timeout(400)
    said = page.text_content("#said")
    assert said.startswith("Joint 109 at ")
    assert page.get_attribute("#joint", "aria-valuetext") == said
    assert page.get_attribute("#said", "aria-live") == "polite"


def test_a_station_in_a_table_shows_its_joint_in_the_plots(page):
    for joint in (*OVER, OVER[0]):
        # What is said of a joint grows and shrinks above the tables; that must not move them under the pointer.
        page.hover(f"#over tr[data-joint='{joint}'] button")
        page.click(f"#over tr[data-joint='{joint}'] button")
        assert marked(page)["plots"] == [joint] * 3
    page.click("#next")
    assert marked(page)["plots"][0] > OVER[0]


def ranges(page):
    """Give what each plot shows, from its start to its end."""
    return page.evaluate(
        """() => Object.fromEntries(["deflection", "plan", "profile"].map((name) => {
          const range = Bokeh.documents[0].get_model_by_name(name).x_range;
          return [name, [range.start, range.end]];
        }))"""
    )


def test_the_view_buttons_move_plan_and_profile_with_the_deflections(page):
    page.click("#whole")
    whole = ranges(page)
    for _ in range(3):
        page.click("#in")
    near = ranges(page)
    for name, (start, end) in near.items():
        part = (end - start) / (whole["deflection"][1] - whole["deflection"][0])
        # The plan shows as much to the right and to the left as the route is long in the other two.
        assert part == pytest.approx(1 / 8, rel=0.02), name
    page.click("#on")
    ahead = ranges(page)
    assert ahead["deflection"][0] == pytest.approx(sum(near["deflection"]) / 2, abs=0.1)
    assert ahead["profile"] == ahead["deflection"]
    assert ahead["plan"] != near["plan"]
    page.click("#back")
    assert ranges(page)["deflection"] == pytest.approx(near["deflection"], abs=0.1)
    page.click("#out")
    assert np.ptp(ranges(page)["deflection"]) == pytest.approx(2 * np.ptp(near["deflection"]), rel=0.01)
    page.click("#whole")
    assert ranges(page) == whole


def test_next_goes_by_severity_and_comes_round(page, review):
    findings = review[2].findings
    act = set(findings.loc[findings["severity"] == "act", "joint"].dropna()) - {str(at + 1) for at in OVER}
    page.click(f"#over tr[data-joint='{OVER[0]}'] button")
    seen = [OVER[0]]
    for _ in range(len(act) + 1):
        page.click("#next")
        seen.append(marked(page)["slider"])
    assert seen[:2] == list(OVER)
    assert {str(at + 1) for at in seen[2:]} == act
    assert seen[2:] == sorted(seen[2:])
    for _ in range(120):
        if (
            page.evaluate("document.getElementById('next').click(), Number(document.getElementById('joint').value)")
            == (OVER[0])
        ):
            break
    else:
        pytest.fail("the joints to look at never come round")


def test_after_any_click_the_arrow_keys_step(page):
    for where in (f"#over tr[data-joint='{OVER[1]}'] button", "#before", "#in", "h1"):
        page.click(where)
        at = marked(page)["slider"]
        page.keyboard.press("ArrowRight")
        page.keyboard.press("ArrowRight")
        page.keyboard.press("ArrowLeft")
        assert marked(page)["plots"] == [at + 1] * 3, where
    page.click("#whole")


def test_the_joints_card_stands_at_the_cursor_and_goes_with_it(page):
    x, y = place_on_screen(page, "deflection", OVER[0])
    # Scrolling there puts it away; it comes with the next movement.
    page.wait_for_timeout(200)
    page.mouse.move(x - 1, y)
    page.mouse.move(x, y)
    page.wait_for_selector("#tip:not([hidden])")
    assert page.inner_text("#tip").startswith("Joint 34 at ")
    assert "over, 6.5" in page.inner_text("#tip")
    box = page.locator("#tip").bounding_box()
    assert abs(box["x"] - x) < 20 or abs(box["x"] + box["width"] - x) < 20
    page.mouse.move(5, 5)
    page.wait_for_selector("#tip", state="hidden")


def test_the_plots_stay_in_sight_while_tables_are_read_if_that_is_wanted(page):
    table = page.locator("#quantities")
    assert page.get_attribute("#keep", "aria-pressed") == "false"
    page.click("#keep")
    table.scroll_into_view_if_needed()
    page.wait_for_selector("#plots.aloft")
    height = page.evaluate("document.documentElement.scrollHeight")
    assert page.locator("#plots").bounding_box()["y"] == pytest.approx(0, abs=1)
    page.click(f"#photos-missing, #over tr[data-joint='{OVER[1]}'] button")
    assert marked(page)["plots"] == [OVER[1]] * 3
    page.keyboard.press("Home")
    page.evaluate("scrollTo(0, 0)")
    page.wait_for_selector("#plots:not(.aloft)")
    assert page.evaluate("document.documentElement.scrollHeight") == pytest.approx(height, abs=2)
    page.click("#keep")


def test_zooming_keeps_round_stations_and_equal_scales(page):
    page.focus("#plots")
    page.keyboard.press("Home")
    for _ in range(5):
        page.keyboard.press("PageUp")
    page.click("#closer")
    page.wait_for_timeout(700)
    axis, scales, title = page.evaluate(
        """() => {
          const shown = Bokeh.documents[0];
          const plot = shown.get_model_by_name("deflection");
          const axis = plot.below[0];
          const range = plot.x_range;
          const plan = shown.get_model_by_name("plan");
          const labels = axis.ticker.ticks.map((at) => [at, axis.major_label_overrides.get(at)]);
          return [labels.filter(([at]) => at > range.start && at < range.end),
            [[plan.x_range, plan.inner_width], [plan.y_range, plan.inner_height]].map(
              ([one, size]) => (one.end - one.start) / size),
            shown.get_model_by_name("profile").title.text];
        }"""
    )
    before = {text: at for at, text in axis if at <= 1010}
    after = {text: at for at, text in axis if at > 1010}
    assert len(before) >= 2
    assert len(after) >= 2
    for text, at in (before | after).items():
        station = float(text.replace("+", ""))
        # Textbook: 10+10 back = 15+10 ahead, so 500 ft of stations are skipped.
        assert at == pytest.approx(station - (500 if station > 1010 else 0), abs=0.05), text
        assert station % 10 == 0
    assert scales[0] == pytest.approx(scales[1], rel=0.02)
    assert re.fullmatch(r"Elevation drawn [\d.]+ times \(vertical exaggeration\)", title)


def test_markup_in_the_log_is_shown_as_text_and_does_not_run(page):
    assert MARKUP in marked(page)["card"]
    page.click("#all summary")
    page.wait_for_selector("#all[data-whole]")
    assert page.locator("#all tbody tr").count() == 120
    assert page.locator("#all td", has_text="<script>").count() == 120
    # Each cell stands under the title of its column.
    lefts = """(row) => [...row.cells].map((cell) => Math.round(cell.getBoundingClientRect().left))"""
    head, last = page.locator("#all thead tr"), page.locator("#all tbody tr").last
    assert head.evaluate(lefts) == last.evaluate(lefts)
    assert page.get_by_role("table", name="All joints in order along the route").get_by_role("row").count() == 121
    assert page.locator("table img, .card img").count() == 0
    assert page.evaluate("window.ran") is None


def soon(page, holds):
    """Say whether something holds within some pictures of a page."""
    for _ in range(100):
        if holds():
            return True
        page.wait_for_timeout(50)
    return False


def test_rows_of_all_joints_out_of_sight_are_not_laid_out_but_keep_their_height_and_are_found(fresh):
    page = fresh
    page.click("#all summary")
    page.wait_for_selector("#all[data-whole]")
    last = page.locator("#all tbody tr").last
    laid_out = "(row) => row.checkVisibility({ contentVisibilityAuto: true })"
    assert soon(page, lambda: page.locator("#all tbody tr").first.evaluate(laid_out))
    assert not last.evaluate(laid_out)
    # Without heights all rows would be in sight at once, and all be laid out.
    bodies = page.evaluate(
        "[...document.querySelectorAll('#all tbody')].map((one) => [one.offsetHeight, one.rows.length])"
    )
    high = bodies[0][0] / bodies[0][1]
    assert high > 15
    assert [height for height, _ in bodies] == pytest.approx([high * many for _, many in bodies], abs=2)
    # The browser's search finds what is out of sight, and shows it.
    where = page.locator("#all thead th").all_text_contents().index("Latitude, longitude")
    place = last.locator("td, th").nth(where).text_content()
    found = (
        "(text) => find(text, false, false, true) && getSelection().anchorNode.parentElement.closest('#all') !== null"
    )
    assert page.evaluate(found, place)
    assert soon(page, lambda: last.evaluate(laid_out))
    # A click on its station marks it in the plots, and its row.
    last.locator("button").click()
    assert "marked" in last.get_attribute("class")
    assert marked(page)["plots"] == [119, 119, 119]


def test_all_joints_are_on_paper_however_soon_they_are_printed(fresh):
    rows = fresh.evaluate("""() => {
      const all = document.getElementById("all");
      all.open = true;
      return new Promise((done) => all.addEventListener("toggle", () => {
        dispatchEvent(new Event("beforeprint"));
        const many = () => ["tbody tr", "tbody"].map((name) => all.querySelectorAll(name).length);
        const printed = many();
        setTimeout(() => done([...printed, ...many()]), 300);
      }));
    }""")
    assert rows == [120, 2, 120, 2]


@pytest.mark.parametrize("width", [390, 820])
def test_on_phone_and_tablet_nothing_lies_beyond_the_edge(browser, review, width):
    context = browser.new_context(viewport={"width": width, "height": 850}, has_touch=True, is_mobile=True)
    for name in ("route-A.html", "index.html"):
        page = open_page(context, review[0] / name)
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        assert page.complaints == []
        if name != "index.html":
            assert marked(page)["plots"][0] in OVER  # the worst joint, or the one as bad
            first = page.locator("#over tbody tr").first
            assert int(first.get_attribute("data-joint")) in OVER
            tapped = page
    tapped.touchscreen.tap(*place_on_screen(tapped, "deflection", 20))
    tapped.wait_for_timeout(200)
    assert marked(tapped)["plots"] == [20] * 3
    context.close()


NAMES = """() => {
  const shown = Bokeh.documents[0];
  const pen = document.createElement("canvas").getContext("2d");
  pen.font = "11px helvetica";
  const found = {};
  for (const name of ["deflection", "plan", "profile"]) {
    const plot = shown.get_model_by_name(name);
    const frame = Bokeh.index.find_one(plot).frame;
    const boxes = [];
    const add = (text, x, y, across, baseline) => {
      const lines = text.split("\\n");
      const wide = Math.max(...lines.map((line) => pen.measureText(line).width));
      const high = 11 * lines.length;
      const left = x - wide * { left: 0, center: 0.5, right: 1 }[across];
      const top = y - high * { top: 0, middle: 0.5, bottom: 1 }[baseline];
      boxes.push([text, left, left + wide, top, top + high]);
    };
    const names = shown.get_model_by_name(name === "plan" ? "plan names" : `${name} bend names`)?.data;
    const place = (x, y) => [frame.x_scale.compute(x) - frame.bbox.left, frame.y_scale.compute(y) - frame.bbox.top];
    (names?.text || []).forEach((text, at) => {
      const [x, y] = place((names.east || names.across)[at], (names.north || names.up)[at]);
      if (name === "plan") add(text, x + names.right[at], y + names.down[at], names.across[at], names.baseline[at]);
      else add(text, x, y + 7, "center", "top");
    });
    for (const one of plot.center) {
      if (!one.tags.includes("equation")) continue;
      const [x, y] = place(one.x, one.y);
      // A label's own offsets run up.
      add(one.text, x + one.x_offset, y - one.y_offset, one.text_align, "top");
    }
    found[name] = { boxes, width: plot.inner_width, height: plot.inner_height };
  }
  return found;
}"""


@pytest.mark.parametrize("width", [390, 820, 1200])
def test_no_name_in_the_plots_lies_on_another_or_over_the_edge(browser, crowded, width):
    context = browser.new_context(viewport={"width": width, "height": 850})
    page = open_page(context, crowded)
    page.wait_for_timeout(500)
    whole = page.evaluate(NAMES)
    page.evaluate("document.getElementById('joint').value = 44")
    page.dispatch_event("#joint", "input")
    page.click("#closer")
    page.wait_for_timeout(700)
    near = page.evaluate(NAMES)
    for found in (whole, near):
        for plot, one in found.items():
            for number, (text, left, right, top, bottom) in enumerate(one["boxes"]):
                if "ahead" not in text or found is whole:
                    assert left >= -1, (plot, text)
                    assert right <= one["width"] + 1, (plot, text)
                    assert top >= -1, (plot, text)
                    assert bottom <= one["height"] + 1, (plot, text)
                for other, *box in one["boxes"][number + 1 :]:
                    apart = right <= box[0] or box[1] <= left or bottom <= box[2] or box[3] <= top
                    assert apart, (plot, text, other)
    said = {plot: [text for text, *_ in one["boxes"] if "°" in text] for plot, one in whole.items()}
    assert said["deflection"] == said["profile"]
    # Far away they are named together; from near there is room for more names.
    told = ", ".join(said["profile"])
    assert sum(int((re.match(r"(\d) × ", part) or [1, 1])[1]) for part in told.split(", ")) == 6
    from_near = len([1 for text, *_ in near["profile"]["boxes"] if "°" in text])
    assert len(said["profile"]) < from_near or width == 390
    assert len([1 for text, *_ in whole["deflection"]["boxes"] if "ahead" in text]) == 3
    assert page.complaints == []
    context.close()


def test_the_dark_page_has_light_ink_in_its_plots_too(browser, review):
    context = browser.new_context(color_scheme="dark")
    page = open_page(context, review[0] / "route-A.html")
    paper, ink, plot_paper, plot_ink = page.evaluate(
        """() => {
          const style = getComputedStyle(document.body);
          const plot = Bokeh.documents[0].get_model_by_name("deflection");
          return [style.backgroundColor, style.color, plot.background_fill_color, plot.title.text_color];
        }"""
    )
    assert contrast(rgb(paper), rgb(ink)) > 7
    assert contrast(rgb(plot_paper), rgb(plot_ink)) > 7
    assert luminance(rgb(paper)) < luminance(rgb(ink))
    context.close()


def rgb(text):
    if text.startswith("#"):
        return [int(text[at : at + 2], 16) for at in (1, 3, 5)]
    return [int(part) for part in re.findall(r"\d+", text)[:3]]


def luminance(color):
    """Source: W3C, Web Content Accessibility Guidelines 2.1, relative luminance (from memory)."""
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in (one / 255 for one in color)]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one, other):
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_a_screen_reader_finds_its_way(page):
    assert page.locator("h1").count() == 1
    for landmark in ("header", "main", "footer"):
        assert page.locator(f"body > {landmark}").count() == 1
    assert page.evaluate("[...document.querySelectorAll('table')].every((one) => one.caption && one.tHead)")
    assert page.evaluate("[...document.querySelectorAll('thead th')].every((one) => one.scope === 'col')")
    assert page.evaluate("[...document.querySelectorAll('input')].every((one) => one.labels.length > 0)")
    assert page.evaluate("[...document.images].every((one) => one.alt.length > 10)")
    assert page.evaluate("document.querySelector('a, button, input, [tabindex]').className") == "skip"
    page.focus(".skip")
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"


def test_without_scripts_the_plots_are_there_as_pictures(browser, review):
    """A page whose scripts do not run hides the linked plots' place by printing it, as `--pdf` does."""
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto((review[0] / "route-A.html").as_uri())
    page.emulate_media(media="print")
    assert page.locator(".picture").count() == 3
    assert all(page.locator(".picture").nth(at).is_visible() for at in range(3))
    context.close()


# Paper --------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("paper", ["Letter", "A4"])
def test_print_cuts_no_table(browser, review, tmp_path, paper):
    """Every cell of every table is on paper, within the page, in the page's own print and in `--pdf`."""
    out, written, _ = review
    context = browser.new_context()
    page = open_page(context, out / "route-A.html")
    page.pdf(path=tmp_path / "own.pdf", format=paper, prefer_css_page_size=False)
    cells = page.evaluate(
        "[...document.querySelectorAll('main section:not(.live) table')].filter((one) => !one.closest('details'))"
        ".map((table) => [...table.rows].map((row) => [...row.cells].map((cell) => cell.textContent.trim())))"
    )
    context.close()
    files = [tmp_path / "own.pdf"]
    if paper == "A4":
        files.append(out / written["routes"][0]["pdf"])
    for file in files:
        words, pages = words_of(file)
        width, height = {"Letter": (612, 792), "A4": (595.3, 841.9)}[paper]
        assert all(size == pytest.approx((width, height), abs=2) for size in pages)
        assert min(left for _, left, *_ in words) > 20
        assert max(right for *_, right, _ in words) < width - 20
        assert max(bottom for *_, bottom in words) < height - 15
        printed = squeezed(" ".join(word for word, *_ in words))
        assert sum(len(table) for table in cells) > 100
        for table in cells:
            for row in table:
                for cell in row:
                    for word in cell.split():
                        assert squeezed(word) in printed, (word, row)
        # A table that runs over a page has its header row again there.
        (asked,) = (table for table in cells if "By how much" in table[0])
        assert printed.count(squeezed("By how much")) > 1
        assert len(asked) > 60
        # No sheet has the box for the signature alone.
        assert len(words_of_last_sheet(file).split(squeezed("Reviewed by"))[0]) > 100


def squeezed(text):
    """Hyphens at which a line may be broken and spaces do not count."""
    return re.sub(r"[\s\u00ad\u2010\u2011-]+", "", text)


def words_of_last_sheet(pdf):
    tool = shutil.which("pdftotext") or pytest.skip("NOT CHECKED: the program pdftotext is not here")
    text = subprocess.run([tool, str(pdf), "-"], capture_output=True, text=True, check=True).stdout
    return squeezed(text.rstrip("\f").split("\f")[-1])


def words_of(pdf):
    tool = shutil.which("pdftotext") or pytest.skip("NOT CHECKED: the program pdftotext is not here")
    text = subprocess.run([tool, "-bbox", str(pdf), "-"], capture_output=True, text=True, check=True).stdout
    pages = [(float(w), float(h)) for w, h in re.findall(r'<page width="([\d.]+)" height="([\d.]+)"', text)]
    found = re.findall(r'<word xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)">(.*?)</word>', text)
    return [(unescape(word), *map(float, box)) for *box, word in found], pages
