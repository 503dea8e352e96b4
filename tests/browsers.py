"""A real browser for the pages: Debian's Chromium, without a network of its own."""

import shutil
from contextlib import contextmanager

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
FLAGS = (
    "--no-sandbox", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--use-angle=swiftshader", "--enable-unsafe-swiftshader",
    "--ignore-gpu-blocklist",
)  # fmt: skip


@contextmanager
def browser_page(width=1400, height=900):
    """Open a page; a script of it that fails fails the test."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=list(FLAGS))
        page = browser.new_page(viewport={"width": width, "height": height})
        failed = []
        page.on("pageerror", lambda error: failed.append(str(error)))
        yield page
        browser.close()
        assert failed == []
