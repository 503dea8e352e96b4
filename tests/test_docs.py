"""The documentation is made from the code: nothing of the code is without words there."""

import importlib.util
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
