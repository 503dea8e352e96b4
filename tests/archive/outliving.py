"""A task that lasts until it is interrupted, for the test of processes that must not outlive their parent."""

import os
import time
from pathlib import Path


def task(path, *, resume, into, folder):
    try:
        Path(folder, str(os.getpid())).touch()
        time.sleep(1000)
    except KeyboardInterrupt:
        Path(folder, f"taken back {os.getpid()}").touch()
        raise
