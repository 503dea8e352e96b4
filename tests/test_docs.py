"""The documentation is made from the code: nothing of the code is without words there."""

import importlib.util
import re
from pathlib import Path

SCRIPT = Path(__file__).resolve().parent.parent / "scripts" / "build_docs.py"
spec = importlib.util.spec_from_file_location("build_docs", SCRIPT)
build_docs = importlib.util.module_from_spec(spec)
spec.loader.exec_module(build_docs)


def test_every_key_of_the_job_file_has_its_meaning_in_the_template():
    from asbuilt.job import Job

    told = build_docs.template_comments()
    keys = [".".join(filter(None, (table, key))) for table, rows in build_docs.tables_of(Job, "") for key, _ in rows]
    assert len(keys) > 80
    assert [key for key in keys if not told.get(key)] == []


def test_every_public_name_stands_in_the_python_reference():
    import asbuilt

    named = {*build_docs.PUBLIC, *build_docs.ERRORS, "__version__"}
    assert named == set(asbuilt.__all__)


def test_every_code_and_column_stands_in_the_reference():
    from asbuilt.judging.findings import CHECKS
    from asbuilt.schema import LAYERS

    pages = {"layers": build_docs.layers_page(), "findings": build_docs.findings_page()}
    for layer, info in LAYERS.items():
        assert f"## `{layer}`" in pages["layers"]
        assert all(f"| `{column}` |" in pages["layers"] for column in info.columns)
    assert all(f"| `{check.code}` |" in pages["findings"] for check in CHECKS)


def test_every_link_between_the_pages_leads_somewhere_in_the_source_tree_and_on_the_site():
    """The reference is made when the site is built: a page stands in its place until then, and says where it is."""
    root = SCRIPT.parent.parent
    made = {f"{name}.md" for name in build_docs.NAMES}
    assert {page.name for page in (build_docs.SOURCE / "reference").iterdir()} == made
    pages = [*root.glob("*.md"), *root.glob("sample_gis/*.md"), *root.glob("scripts/docs/**/*.md")]
    assert len(pages) > 20
    # Drawings are made with the site.
    drawn = re.compile(r"images/\w+\.svg")
    astray = []
    for page in pages:
        text = re.sub(r"```.*?```|`[^`\n]*`", "", page.read_text("utf-8"), flags=re.DOTALL)
        for link in re.findall(r"\]\(([^)\s#]+)[^)]*\)", text):
            outside = re.match(r"[a-z]+:", link)
            if not outside and not drawn.search(link) and not (page.parent / link).exists():
                astray.append(f"{page.relative_to(root)}: {link}")
    assert astray == []
    # On the site a page links to nothing outside of it, but where the reference takes its place.
    for page in build_docs.SOURCE.rglob("*.md"):
        if page.parent.name != "reference":
            for link in re.findall(r"\]\(([^)\s#:]+)[^):]*\)", page.read_text("utf-8")):
                assert build_docs.SOURCE in (page.parent / link).resolve().parents, f"{page.name}: {link}"
