"""Disks of their own, mounted for a test: what a disk takes for one file, or does not let be written."""

import os
import shutil
import subprocess
from contextlib import contextmanager

import pytest

_ROOM = 64 << 20
WITHOUT_RIGHTS = ("setpriv", "--bounding-set", "-dac_override,-dac_read_search")
"""Before a command: root, too, has then but the rights that a folder gives."""


@contextmanager
def ignoring_capitals(folder):
    """Give a folder on a disk for which capitals and small letters are one: exFAT, as on sticks and cards.

    By FUSE, which numbers a file anew for each way to write its name.
    """
    tools = all(map(shutil.which, ("mkfs.exfat", "mount.exfat-fuse", "losetup")))
    if not tools or os.geteuid() or not os.path.exists("/dev/fuse"):
        pytest.skip("NOT CHECKED: mounting a disk takes root, and Debian's exfat-fuse and exfatprogs")
    image, mounted = folder / "disk.img", folder / "disk"
    image.touch()
    os.truncate(image, _ROOM)
    mounted.mkdir()
    subprocess.run(["mkfs.exfat", image], check=True, capture_output=True)
    found = subprocess.run(["losetup", "--find", "--show", image], capture_output=True, text=True)
    device = found.stdout.strip()
    if found.returncode or subprocess.run(["mount.exfat-fuse", device, mounted], capture_output=True).returncode:
        if device:
            subprocess.run(["losetup", "--detach", device], check=True)
        pytest.skip("NOT CHECKED: no disk can be mounted here")
    try:
        yield mounted
    finally:
        subprocess.run(["umount", mounted], check=True)
        subprocess.run(["losetup", "--detach", device], check=True)


@contextmanager
def that_can_be_closed(folder):
    """Give a folder on a disk of its own, and what closes the disk to whoever writes."""
    mounted = folder / "closed"
    mounted.mkdir()
    if os.geteuid() or subprocess.run(["mount", "-t", "tmpfs", "none", mounted], capture_output=True).returncode:
        pytest.skip("NOT CHECKED: mounting a disk takes root")
    try:
        yield mounted, lambda: subprocess.run(["mount", "-o", "remount,ro", mounted], check=True)
    finally:
        subprocess.run(["umount", mounted], check=True)
