"""A job file taken apart says the same when its keys are put together again."""

import json
import tomllib
from pathlib import Path

import pytest
from pydantic import BaseModel

from asbuilt.cli import run
from asbuilt.inputs.job_keys import FILES, job_keys
from asbuilt.job import Job

SAMPLE = Path(__file__).resolve().parents[2] / "sample_gis"


@pytest.mark.parametrize("name", sorted(path.name for path in SAMPLE.glob("*.toml")))
def test_keys_put_together_are_the_job_with_its_files_in_full(name):
    path = SAMPLE / name
    whole = tomllib.loads("\n".join(one["text"] for one in job_keys(path)))
    job = Job.from_mapping(tomllib.loads(path.read_text()), folder=SAMPLE)
    again = Job.from_mapping(whole)
    assert [job.file(one).resolve() for one in job.records.path] == [Path(one) for one in again.records.path]
    assert Path(again.output.path) == job.file(job.output.path).resolve()
    # All but the files says the same.
    text = json.dumps(again.model_dump(mode="json")).replace(f"{SAMPLE}/", "")
    assert json.loads(text) == job.model_dump(mode="json")


def paths_in(model, before=""):
    for name, field in model.model_fields.items():
        inner = list(_models(field.annotation))
        for one in inner:
            yield from paths_in(one, f"{before}{name}.")
        if not inner and ("path" in name or "Path" in str(field.annotation)):
            yield f"{before}{name}"


def _models(annotation):
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [one for part in getattr(annotation, "__args__", ()) for one in _models(part)]


def test_every_key_that_names_a_file_is_known():
    named = set(paths_in(Job))
    assert len(named) > 6
    assert named <= FILES


def test_a_job_file_that_is_wrong_is_said_and_the_keys_are_printed_as_toml(tmp_path, capsys):
    wrong = tmp_path / "job.toml"
    wrong.write_text('name = "J"\nrecords.pth = "a.csv"\n')
    assert run(["check", "--keys", str(wrong)]) == 2
    assert "records.pth" in capsys.readouterr().err
    assert run(["check", "--keys", str(SAMPLE / "job.toml")]) == 0
    assert tomllib.loads(capsys.readouterr().out)["records"]["columns"]["kind"] == "Ftg"
