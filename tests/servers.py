"""A real PostgreSQL with PostGIS for tests: a cluster of its own on loopback, gone when the tests end."""

import os
import shutil
import socket
import subprocess
import tempfile
import time
from contextlib import contextmanager
from pathlib import Path
from typing import Any

USER = "asbuilt"


def programs():
    """Give the folder of the newest server's programs that has PostGIS; None where there is none."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: int(path.parts[4]))
    with_postgis = [
        path.parent
        for path in found
        if Path(f"/usr/share/postgresql/{path.parts[4]}/extension/postgis.control").is_file()
    ]
    return with_postgis[-1] if with_postgis else None


@contextmanager
def postgis():
    """Give the URL of an empty database with PostGIS."""
    folder = Path(tempfile.mkdtemp(prefix="asbuilt-postgres-", dir="/tmp"))
    home = programs()
    # The server refuses to run as root.
    as_user = ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []
    try:
        if as_user:
            shutil.chown(folder, "postgres")
        data, port = folder / "data", _free_port()
        quiet: dict[str, Any] = {
            "check": True,
            "stdout": subprocess.DEVNULL,
            "stderr": subprocess.DEVNULL,
            "cwd": folder,
        }
        subprocess.run([*as_user, home / "initdb", "-D", data, "-U", USER, "-A", "trust", "-E", "UTF8", "-N"], **quiet)
        options = f"-c listen_addresses=127.0.0.1 -c port={port} -c unix_socket_directories={folder} -c fsync=off"
        subprocess.run(
            [*as_user, home / "pg_ctl", "-D", data, "-w", "-l", folder / "log", "-o", options, "start"], **quiet
        )
        try:
            yield f"postgresql://{USER}@127.0.0.1:{port}/postgres"
        finally:
            subprocess.run([*as_user, home / "pg_ctl", "-D", data, "-m", "immediate", "stop"], **quiet)
            time.sleep(0.1)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _free_port():
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return found.getsockname()[1]
