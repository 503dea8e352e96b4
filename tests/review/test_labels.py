"""Words in the plots stand alike in print and in the browser: cases worked by hand, run by both."""

import json
import re
import shutil
import subprocess
from pathlib import Path

import pytest

from asbuilt.review import labels

HERE = Path(__file__).parent
CASES = json.loads((HERE / "label_cases.json").read_text("utf-8"))
SCRIPT = Path(labels.__file__).parent / "templates" / "labels.js"
ANSWERS = {"together": "said", "gathered": "groups", "near": "is", "rows": "rows"}
SIZE, AWAY, EDGE = 6.0, 6.0, labels.Box(0, 100, 0, 100)


def by_python(kind, case):
    if kind == "together":
        return labels.together(case["texts"])
    if kind == "gathered":
        edge = (tuple(case["edge"]),) if case["edge"] else ()
        return [list(one) for one in labels.gathered(case["places"], case["texts"], SIZE, *edge)]
    if kind == "near":
        return labels.near(case["one"], case["other"], SIZE)
    if kind == "rows":
        return labels.rows(case["spans"])
    frame = labels.Frame(EDGE, [labels.Box(*one) for one in case["taken"]], case.get("line", ()))
    found = labels.find_room(frame, case["place"], case["way"], case["text"], SIZE, AWAY, must=case.get("must", True))
    return [found and list(found), found and list(frame.taken[-1])]


BY_BROWSER = """
const type = { size: 6, width: (text) => 0.7 * 6 * text.length };
const run = {
  together: (one) => labels.together(one.texts),
  gathered: (one) =>
    labels.gathered(one.places, one.texts, type, one.edge || undefined).map(([group, at]) => [group, at]),
  near: (one) => labels.near(one.one, one.other, 6),
  rows: (one) => labels.rows(one.spans),
  find_room: (one) => {
    const frame = { edge: [0, 100, 0, 100], taken: one.taken, line: one.line };
    const found = labels.findRoom(frame, one.place, one.way, one.text, type, 6, one.must);
    return [found, found && frame.taken[frame.taken.length - 1]];
  },
};
const cases = JSON.parse(require("fs").readFileSync(0, "utf8"));
const answers = Object.entries(cases).map(([kind, some]) => [kind, some.map(run[kind])]);
console.log(JSON.stringify(Object.fromEntries(answers)));
"""


@pytest.fixture(scope="module")
def by_browser():
    node = shutil.which("node")
    if node is None:
        pytest.skip("Node is not installed")
    program = SCRIPT.read_text("utf-8") + BY_BROWSER
    done = subprocess.run([node, "-e", program], input=json.dumps(CASES), capture_output=True, text=True, check=True)
    return json.loads(done.stdout)


def flat(value):
    """Give an answer as text, its numbers to a thousandth."""
    said = json.dumps(value, ensure_ascii=False)
    return re.sub(r"-?\d+(?:\.\d+)?(?:e-?\d+)?", lambda number: f"{float(number[0]) + 0.0:.3f}", said)


@pytest.mark.parametrize("kind", CASES)
def test_both_place_words_as_worked_by_hand(kind, by_browser):
    for case, browser in zip(CASES[kind], by_browser[kind], strict=True):
        wanted = [case["found"], case["box"]] if kind == "find_room" else case[ANSWERS[kind]]
        assert flat(by_python(kind, case)) == flat(wanted), case
        assert flat(browser) == flat(wanted), case
