"""From the README's first command to the first moved slider, on a machine that has nothing of this project yet.

    python tests/benchmarks/bench_first_slider.py

Each step is timed by the clock on the wall: packages fetched (network, counted apart), environment made, packages installed from
what was fetched, joint book written, JupyterLab ready, notebook 01 open, all cells run, first slider answered. Nothing outside a
temporary folder is touched. Needs Chromium and playwright, as the browser tests do.
"""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests" / "browser"))
NOTEBOOK = "01_design_a_joint_in_ten_minutes.ipynb"
LIMIT_S = 120.0

times: dict[str, float] = {}


@contextmanager
def timed(step: str) -> Iterator[None]:
    """Time one step and print it as soon as it is done."""
    start = time.perf_counter()
    yield
    times[step] = time.perf_counter() - start
    print(f"{times[step]:7.1f} s  {step}", flush=True)


def run(*order: str | Path, cwd: Path) -> None:
    done = subprocess.run([str(part) for part in order], cwd=cwd, capture_output=True, text=True, check=False)
    if done.returncode:
        raise SystemExit(f"{order[0]}: {done.stdout[-1000:]}\n{done.stderr[-2000:]}")


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        work = Path(folder) / "lutherie_geom"
        shutil.copytree(ROOT, work, ignore=shutil.ignore_patterns(".git", ".venv", "*.egg-info", "__pycache__", ".*_cache"))
        python, fetched = work / ".venv" / "bin" / "python", Path(folder) / "fetched"
        with timed("network: packages fetched"):
            run(sys.executable, "-m", "pip", "download", "-q", "--dest", fetched, str(work), "hatchling", cwd=work)
        with timed("environment made"):
            run(sys.executable, "-m", "venv", ".venv", cwd=work)
        with timed("packages installed"):
            run(python, "-m", "pip", "install", "-q", "--no-index", "--find-links", fetched, ".", cwd=work)
        with timed("joint book of slack_water written"):
            run(python, "-m", "lutherie_geom", "book", "slack_water", cwd=work)
        first_slider(work, python)
    network = times.pop("network: packages fetched")
    total = sum(times.values())
    print(f"{total:7.1f} s  from the first command to the first moved slider, the network's {network:.0f} s aside "
          f"(wanted: under {LIMIT_S:.0f} s)")


def first_slider(work: Path, python: Path) -> None:
    """JupyterLab as the README starts it, the first notebook, its cells run, one press of a key on a slider."""
    import test_notebooks as browser_run
    from playwright.sync_api import sync_playwright

    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    url = f"http://127.0.0.1:{port}"
    homes = {f"JUPYTER_{kind}_DIR": str(work.parent / kind.lower()) for kind in ("CONFIG", "DATA", "RUNTIME")}
    homes |= {"IPYTHONDIR": str(work.parent / "ipython"), "JUPYTERLAB_SETTINGS_DIR": str(work.parent / "settings")}
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=browser_run.find_chromium(playwright), args=browser_run.FLAGS)
        with timed("JupyterLab ready"):
            server = subprocess.Popen(
                [python, "-m", "jupyter", "lab", "notebooks", "--ServerApp.open_browser=False", "--ServerApp.allow_root=True",
                 "--ServerApp.ip=127.0.0.1", f"--ServerApp.port={port}", "--IdentityProvider.token=here",
                 "--LabApp.expose_app_in_browser=True"],
                cwd=work, env={**os.environ, **homes}, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)  # fmt: skip
            wait(url)
        try:
            page = browser.new_page(viewport={"width": 1300, "height": 1000})
            with timed("notebook 01 open, its kernel ready"):
                page.goto(f"{url}/lab/tree/{NOTEBOOK}?token=here")
                page.wait_for_selector(".jp-NotebookPanel .jp-Cell", timeout=120_000)
                page.wait_for_function(browser_run.READY, timeout=120_000)
            with timed("all cells run"):
                page.evaluate("()=>{window.jupyterapp.commands.execute('notebook:run-all-cells')}")
                page.wait_for_function(browser_run.FINISHED, timeout=120_000, polling=200)
            with timed("first slider moved, its picture changed"):
                move(page, browser_run.PICTURE)
        finally:
            server.terminate()
            server.wait(timeout=30)
            browser.close()


def wait(url: str) -> None:
    for _ in range(600):
        try:
            urllib.request.urlopen(f"{url}/api/status?token=here", timeout=5).close()
            return
        except (urllib.error.URLError, OSError):
            time.sleep(0.1)
    raise SystemExit("JupyterLab did not start")


def move(page: Any, picture: str) -> None:
    """One press of a key on the first slider, until its picture is another."""
    handle = page.locator(".jp-OutputArea .noUi-handle").first
    handle.scroll_into_view_if_needed(timeout=60_000)
    handle.focus()
    before = handle.evaluate(picture)
    page.keyboard.press("ArrowRight")
    for _ in range(200):
        if handle.evaluate(picture) != before:
            return
        time.sleep(0.05)
    raise SystemExit("the slider moved, and its picture did not")


if __name__ == "__main__":
    main()
