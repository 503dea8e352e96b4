"""Files at s3:// addresses, against a server of this machine that answers as such a store does.

As a script it kills as many commands as asked for at moments drawn from a seed while they place into the store, and
looks at what is there after each: `python tests/test_s3.py 20 0`.
"""

import logging
import os
import random
import subprocess
import sys
import tempfile
import time
from contextlib import contextmanager
from pathlib import Path

import pytest

from asbuilt import stores
from asbuilt.archive.jobs import _handed, place_elsewhere, place_jobs
from asbuilt.cli import run
from asbuilt.errors import InputFileError
from asbuilt.job import load_job
from asbuilt.layers import outputs
from asbuilt.placed import read_placed

NEEDED = "NOT CHECKED: s3fs and moto's server (extra test) are not installed"
s3fs = pytest.importorskip("s3fs", reason=NEEDED)
moto_server = pytest.importorskip("moto.server", reason=NEEDED)

SAMPLE = Path(__file__).parents[1] / "sample_gis"
ACCESS = {"AWS_ACCESS_KEY_ID": "crew", "AWS_SECRET_ACCESS_KEY": "spade", "AWS_DEFAULT_REGION": "us-east-1",
          "AWS_MAX_ATTEMPTS": "1", "AWS_EC2_METADATA_DISABLED": "true", "AWS_CONFIG_FILE": os.devnull,
          "AWS_SHARED_CREDENTIALS_FILE": os.devnull}  # fmt: skip
JOB = "s3://crew/jobs/job.toml"
BIG = 120 << 20
"""Bytes that the library sends in parts."""


@contextmanager
def serving():
    """Give a store with the sample in the bucket crew, named in the environment as the store's programs look for it."""
    logging.getLogger("werkzeug").setLevel(logging.ERROR)
    server = moto_server.ThreadedMotoServer("127.0.0.1", 0, verbose=False)
    server.start()
    _, port = server.get_host_and_port()
    with pytest.MonkeyPatch.context() as patch:
        for name, value in (ACCESS | {"AWS_ENDPOINT_URL": f"http://127.0.0.1:{port}"}).items():
            patch.setenv(name, value)
        s3fs.S3FileSystem.clear_instance_cache()
        store = s3fs.S3FileSystem()
        store.mkdir("crew")
        for file in SAMPLE.glob("*.*"):
            store.pipe_file(f"crew/jobs/{file.name}", file.read_bytes())
        try:
            yield store
        finally:
            server.stop()
            s3fs.S3FileSystem.clear_instance_cache()


@pytest.fixture(scope="module")
def crew():
    with serving() as store:
        yield store


def told(capsys):
    return " ".join(capsys.readouterr().err.split())


def test_a_job_in_a_bucket_is_placed_into_it_and_loaded_from_it(crew, tmp_path, capsys):
    assert run(["place", JOB, "--out", "s3://crew/out/joints.gpkg", "--progress", "none"]) == 0
    assert "Wrote s3://crew/out/joints.gpkg" in capsys.readouterr().out
    placed = read_placed("s3://crew/out/joints.gpkg")
    assert {one["path"] for one in placed.run["inputs"]} == {
        f"s3://crew/jobs/{name}"
        for name in ("centerline.gpkg", "joint_log.xlsx", "joint_log_quarry.csv", "allowables.csv")
    }
    assert crew.cat_file("crew/jobs/job.toml") == (SAMPLE / "job.toml").read_bytes()
    register = str(tmp_path / "register.gpkg")
    assert run(["load", "s3://crew/out/joints.gpkg", "--into", register, "--progress", "none"]) == 0
    assert run(["find", register, "--route", "A", "--out", "s3://crew/out/found.xlsx"]) == 0
    assert crew.info("crew/out/found.xlsx")["size"] > 10_000
    # Placed again it takes the place of what the same job wrote.
    assert run(["place", JOB, "--out", "s3://crew/out/joints.gpkg", "--progress", "none"]) == 0


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["place", "s3://crew/jobs/gone.toml"], "s3://crew/jobs/gone.toml: there is no such file; name a job file"),
        (
            ["place", "s3://gone/job.toml"],
            "s3://gone/job.toml: there is no bucket 'gone'; correct its name, or make it",
        ),
        (["place", JOB, "--out", "s3://gone/joints.gpkg"], "s3://gone/joints.gpkg: there is no bucket 'gone'"),
        (["place", "s3://crew/jobs"], "s3://crew/jobs: is a folder"),
        (["columns", "s3://crew/jobs/gone.csv"], "s3://crew/jobs/gone.csv: there is no such file"),
        (
            ["place", JOB, "--out", "s3://crew/jobs/centerline.gpkg"],
            "s3://crew/jobs/centerline.gpkg: this is an input of the job",
        ),
        (
            ["place", JOB, "--out", "s3://crew/jobs/README.md"],
            "s3://crew/jobs/README.md: the name of a GeoPackage ends in",
        ),
    ],
)
def test_what_is_wrong_is_said_with_the_address_and_the_remedy(crew, capsys, arguments, said):
    before = {name: crew.info(name)["ETag"] for name in crew.find("crew")}
    assert run([*arguments, "--json"]) == 2
    assert said in told(capsys)
    crew.invalidate_cache()
    assert {name: crew.info(name)["ETag"] for name in crew.find("crew")} == before


def test_without_credentials_it_is_said_where_they_are_looked_for(crew, monkeypatch, capsys):
    monkeypatch.delenv("AWS_ACCESS_KEY_ID")
    monkeypatch.delenv("AWS_SECRET_ACCESS_KEY")
    s3fs.S3FileSystem.clear_instance_cache()
    assert run(["columns", "s3://crew/jobs/joint_log_quarry.csv"]) == 2
    text = told(capsys)
    assert "s3://crew/jobs/joint_log_quarry.csv: cannot be read (Unable to locate credentials)" in text
    assert "AWS_ACCESS_KEY_ID" in text
    s3fs.S3FileSystem.clear_instance_cache()


def test_what_the_store_forbids_is_said_with_what_to_check(crew, monkeypatch):
    def forbidden(self, *given, **more):
        raise PermissionError("Access Denied")

    monkeypatch.setattr(s3fs.S3FileSystem, "info", forbidden)
    with pytest.raises(
        InputFileError, match=r"^s3://crew/x.csv: cannot be read \(Access Denied\); give the store's cred"
    ):
        stores.local("s3://crew/x.csv")


def test_a_connection_that_is_lost_while_writing_leaves_what_was_there(crew, capsys):
    path = stores.local("s3://crew/lost/note.txt")
    with outputs.put_in_place(path, option="--out") as unfinished:
        unfinished.write_text("before")
    put = s3fs.S3FileSystem._put_file
    with pytest.MonkeyPatch.context() as patch:

        async def lost(self, *given, **more):
            _lose(patch)
            return await put(self, *given, **more)

        patch.setattr(s3fs.S3FileSystem, "_put_file", lost)
        s3fs.S3FileSystem.clear_instance_cache()
        assert run(["place", JOB, "--out", "s3://crew/lost/joints.gpkg", "--progress", "none"]) == 2
    text = told(capsys)
    assert "s3://crew/lost/joints.gpkg: cannot be written (" in text
    assert "check the connection; it may have been written all the same" in text
    s3fs.S3FileSystem.clear_instance_cache()
    crew.invalidate_cache()
    assert crew.ls("crew/lost", detail=False) == ["crew/lost/note.txt"]
    assert crew.cat_file("crew/lost/note.txt") == b"before"


def _lose(patch):
    """Let the library find nobody at the store's address from now on."""
    from aiobotocore.httpsession import AIOHTTPSession
    from botocore.exceptions import EndpointConnectionError

    async def nobody(self, request):
        raise EndpointConnectionError(endpoint_url=request.url)

    patch.setattr(AIOHTTPSession, "send", nobody)


_KILLED = """
import os, signal, sys
import s3fs
from asbuilt import stores
from asbuilt.layers import outputs
path = stores.local("s3://crew/out/big.bin")
with outputs.put_in_place(path, option="--out") as unfinished:
    with unfinished.open("wb") as file:
        file.truncate({big})
    call = s3fs.S3FileSystem._call_s3
    async def until(self, method, *given, **more):
        if method == {method!r}:
            if method == "upload_part" and more.get("PartNumber") == 1:
                return await call(self, method, *given, **more)
            os.kill(os.getpid(), signal.SIGKILL)
        return await call(self, method, *given, **more)
    s3fs.S3FileSystem._call_s3 = until
"""


@pytest.mark.skipif(os.name != "posix", reason="NOT CHECKED: needs signals of POSIX")
@pytest.mark.parametrize("method", ["create_multipart_upload", "upload_part", "complete_multipart_upload"])
def test_a_program_killed_while_it_writes_leaves_what_was_there(crew, method):
    crew.pipe_file("crew/out/big.bin", b"")
    done = subprocess.run([sys.executable, "-c", _KILLED.format(big=BIG, method=method)], check=False)
    assert done.returncode == -9
    crew.invalidate_cache()
    assert crew.info("crew/out/big.bin")["size"] == 0


def test_many_jobs_in_a_bucket_are_placed_by_processes_of_their_own(crew, capsys):
    for name, file in (("one", "job_metric"), ("two", "job_repair")):
        text = crew.cat_file(f"crew/jobs/{file}.toml").decode()
        assert text.count("\n[output]\npath = ") == 1
        crew.pipe_file(
            f"crew/jobs/{name}.toml", text.replace('[output]\npath = "', f'[output]\npath = "{name}-').encode()
        )
    jobs = [f"s3://crew/jobs/{name}.toml" for name in ("one", "gone", "two")]
    done = place_jobs(jobs, workers=2)
    assert [one.job for one in done] == jobs
    assert [one.state for one in done] == ["placed", "wrong", "placed"], done
    assert done[1].message.startswith("s3://crew/jobs/gone.toml: there is no such file")
    assert all(one.written.startswith("s3://crew/jobs/") for one in done if one.written)
    assert [one.state for one in place_jobs(jobs[::2], resume=True)] == ["unchanged", "unchanged"]
    # A worker on another machine makes copies of its own.
    handed = _handed(load_job(jobs[0]))
    assert handed.path == jobs[0]
    assert place_elsewhere(handed, True).state == "unchanged"
    assert run(["place", jobs[0], jobs[0]]) == 2
    assert f"{jobs[0]}: is named twice" in told(capsys)


def kill(count, seed):
    """Kill commands at drawn moments while they place into a store; tell what is there after each."""
    left = {"as before": 0, "new and whole": 0}
    drawn = random.Random(seed)
    with serving() as store:
        command = [sys.executable, "-m", "asbuilt", "place", JOB, "--out", "s3://crew/out/joints.gpkg", "--json",
                   "--progress", "none"]  # fmt: skip
        begun = time.monotonic()
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
        took = time.monotonic() - begun
        print(f"a whole command takes {took:.1f} s")
        for _ in range(count):
            store.invalidate_cache()
            before = store.info("crew/out/joints.gpkg")["ETag"]
            # It writes last, and takes longer at one time than at another: half of the moments lie there.
            share = drawn.uniform(0.7, 1.3) if drawn.random() < 0.5 else drawn.uniform(0.0, 1.0)
            with tempfile.TemporaryDirectory() as folder:
                process = subprocess.Popen(command, stdout=subprocess.DEVNULL, env=os.environ | {"TMPDIR": folder})
                try:
                    process.wait(share * took)
                except subprocess.TimeoutExpired:
                    process.kill()
                status = process.wait()
            store.invalidate_cache()
            about = store.info("crew/out/joints.gpkg")
            same = about["ETag"] == before
            stores.forget()
            with tempfile.TemporaryDirectory() as folder:
                copy = Path(folder, "joints.gpkg")
                store.get_file("crew/out/joints.gpkg", str(copy))
                joints = read_placed(copy).table("joints").num_rows
            assert joints == 469, joints
            assert not (status == 0 and same)
            left["as before" if same else "new and whole"] += 1
            print(f"at {share * took:5.2f} s, status {status}: {'as before' if same else 'new and whole'}", flush=True)
    print(left)


if __name__ == "__main__":
    kill(int(sys.argv[1]), int(sys.argv[2]))
