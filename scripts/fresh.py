"""Set up a virtual environment beside this checkout and run the sample, or the tests, in it.

    python3 scripts/fresh.py demo     # run the main job on the sample
    python3 scripts/fresh.py test     # pass the tests

Needs Python 3.11 or later with pip. The tests against real hosts need Debian's packages: as root on such a
system they are installed; elsewhere the tests say which parts did not run.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
HOST_PACKAGES = (
    "chromium", "exfat-fuse", "exfatprogs", "gdal-bin", "poppler-utils", "postgresql-postgis", "python3-gdal",
    "python3-qgis", "python3-venv", "qgis", "qttools5-dev-tools",
)  # fmt: skip

ROOM = 4 << 30
"""Bytes that the tests' files may take; they take a quarter of it."""


def main() -> int:
    """Run what was asked for and give its exit status."""
    wanted = sys.argv[1:2]
    if wanted not in (["demo"], ["test"]):
        print(__doc__)
        return 2
    if wanted == ["demo"]:
        python = environment(ROOT / ".venv", "")
        return subprocess.call([python, "-m", "asbuilt", "demo", *sys.argv[2:]])
    install_hosts()
    python = environment(ROOT / ".venv", "[test]")
    # Tests wait for servers, browsers and other processes, so more of them than there are processors keep these busy.
    # The tests of one file share what they set up: a file goes to one process.
    side_by_side = ["-n", str(min((os.cpu_count() or 1) + 2, 6)), "--dist", "loadfile", "--no-loadscope-reorder"]
    return subprocess.call([python, "-m", "pytest", *side_by_side, *sys.argv[2:]], cwd=ROOT, env=in_memory())


def in_memory() -> dict[str, str]:
    """Give an environment whose temporary files lie in memory where there is room: no test is about a disk's speed."""
    memory = Path("/dev/shm")
    if "TMPDIR" in os.environ or not os.access(memory, os.W_OK) or shutil.disk_usage(memory).free < ROOM:
        return dict(os.environ)
    return os.environ | {"TMPDIR": str(memory)}


def environment(folder: Path, extra: str) -> str:
    """Make a virtual environment with this checkout installed in it, and give its interpreter."""
    if not (folder / "pyvenv.cfg").exists():
        venv.create(folder, with_pip=True)
    python = str(folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python"))
    print(f"installing asbuilt{extra} into {folder} ...", flush=True)
    subprocess.check_call([python, "-m", "pip", "install", "--quiet", "--editable", f"{ROOT}{extra}"])
    return python


def install_hosts() -> None:
    """Install the programs that the tests hold the output against, where that is possible."""
    missing = [name for name in HOST_PACKAGES if not installed(name)]
    if not missing:
        return
    if shutil.which("apt-get") is None or not hasattr(os, "geteuid") or os.geteuid() != 0:
        print(f"NOT INSTALLED, their tests will not run: {', '.join(missing)} (needs apt-get as root)", flush=True)
        return
    print(f"installing {', '.join(missing)} ...", flush=True)
    quiet = {"stdout": subprocess.DEVNULL, "env": os.environ | {"DEBIAN_FRONTEND": "noninteractive"}}
    for command in (["update", "-qq"], ["install", "-y", "-qq", "--no-install-recommends", *missing]):
        if subprocess.run(["apt-get", *command], check=False, **quiet).returncode:  # type: ignore[call-overload]
            print(f"NOT INSTALLED, their tests will not run: {', '.join(missing)} (apt-get failed)", flush=True)
            return


def installed(package: str) -> bool:
    """Tell whether a Debian package is installed."""
    if shutil.which("dpkg-query") is None:
        return False
    query = ["dpkg-query", "--show", "--showformat=${db:Status-Abbrev}", package]
    return subprocess.run(query, capture_output=True, text=True, check=False).stdout.startswith("ii")


if __name__ == "__main__":
    sys.exit(main())
