"""Pages printed to PDF by a headless Chromium, where one is installed."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

from asbuilt import living
from asbuilt.errors import OutputError

BROWSERS = ("chromium", "chromium-browser", "chrome", "google-chrome", "google-chrome-stable")
PAPERS = {"letter": "8.5in 11in", "a4": "210mm 297mm"}
_QUIET = (
    "--headless", "--disable-gpu", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--disable-extensions", "--no-pdf-header-footer",
)  # fmt: skip
_SECONDS = 300


def find_browser() -> str:
    """Give the path of a Chromium.

    Raises
    ------
    OutputError
        When none is installed.
    """
    for name in BROWSERS:
        found = shutil.which(name)
        if found:
            return found
    raise OutputError(
        "--pdf: no Chromium is installed here; install one, or leave --pdf out and print the pages from any browser"
    )


def print_pdf(browser: str, page: str, path: Path) -> Path:
    """Print a page, whose style sets its paper, to a PDF.

    Raises
    ------
    OutputError
        When the browser does not make it.
    """
    with living.temporary() as folder:
        source = folder / "page.html"
        source.write_text(page, "utf-8")
        # Chromium's own sandbox does not work for root; the page has no scripts and may fetch nothing.
        root = ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []
        command = [
            browser,
            *_QUIET,
            *root,
            f"--user-data-dir={folder}/profile",
            f"--print-to-pdf={path}",
            source.as_uri(),
        ]
        try:
            done = subprocess.run(command, capture_output=True, text=True, timeout=_SECONDS, check=False)
        except subprocess.TimeoutExpired:
            raise OutputError(f"{path.name}: {browser} took too long; print the page from a browser instead") from None
    if done.returncode or not path.exists():
        said = (done.stderr.strip().splitlines() or ["it says nothing"])[-1]
        raise OutputError(f"{path.name}: {browser} could not print it ({said}); print the page from a browser instead")
    return path
