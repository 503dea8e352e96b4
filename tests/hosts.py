"""Programs of the host that some tests hold the output against."""

import shutil
import subprocess
import sys

import pytest


def python_with(module):
    """Find a Python that can import a module which is not on the package index."""
    for python in ("/usr/bin/python3", sys.executable):
        if (
            shutil.which(python)
            and not subprocess.run([python, "-c", f"import {module}"], capture_output=True).returncode
        ):
            return python
    pytest.skip(f"NOT CHECKED: no Python here can import {module}")
