"""Pages to print: HTML to PDF by a Chromium that is already on the machine; nothing is installed for it."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Sequence
from pathlib import Path

__all__ = ["NO_BROWSER", "PrintError", "find_browser", "to_pdf"]

NO_BROWSER = ("No Chromium was found on this machine, so there are no PDF pages. The HTML pages print from any browser; or "
              "install Chromium, or name one in the environment variable LUTHERIE_BROWSER, and start again.")
_NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome", "microsoft-edge", "msedge")
_PLACES = ("/Applications/Chromium.app/Contents/MacOS/Chromium", "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
           r"C:\Program Files\Google\Chrome\Application\chrome.exe",
           r"C:\Program Files (x86)\Microsoft\Edge\Application\msedge.exe")
SECONDS = 180
"""After so many seconds a browser that has not printed a page is given up [s]."""


class PrintError(RuntimeError):
    """The browser did not print the page; the message says what it said."""


def find_browser() -> str | None:
    """The path of a Chromium on this machine, or None. LUTHERIE_BROWSER goes first."""
    named = os.environ.get("LUTHERIE_BROWSER")
    if named is not None:
        return shutil.which(named)
    return next((path for name in (*_NAMES, *_PLACES) if (path := shutil.which(name))), None)


def to_pdf(page: Path, into: Path, *, browser: str) -> Path:
    """Print an HTML page into a PDF file; raises PrintError."""
    with tempfile.TemporaryDirectory() as profile:  # its own profile: a browser that is open keeps the usual one locked
        order = [browser, "--headless", "--disable-gpu", "--no-first-run", f"--user-data-dir={profile}", "--no-pdf-header-footer",
                 *_as_root(), f"--print-to-pdf={into.resolve()}", page.resolve().as_uri()]
        try:
            done = subprocess.run(order, capture_output=True, text=True, timeout=SECONDS, check=False)
        except (OSError, subprocess.TimeoutExpired) as e:
            raise PrintError(f"{page.name}: the browser did not print it ({e})") from e
    if done.returncode or not into.exists():
        raise PrintError(f"{page.name}: the browser did not print it: {done.stderr.strip()[-300:]}")
    return into


def _as_root() -> Sequence[str]:
    # Chromium does not run its sandbox as root, as in a container; the pages are our own and load nothing.
    return ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []
