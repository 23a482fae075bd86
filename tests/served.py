"""A server of the page on this machine, and a browser to look at it: for tests, endurance runs and benchmarks."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from shutil import which
from urllib.parse import urlencode

from playwright.sync_api import Browser, Page, sync_playwright

ROOT = Path(__file__).resolve().parents[1]
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--host-resolver-rules=MAP piano.test 127.0.0.1",
]
STARTS_WITHIN = 180.0
"""How long the server may take [s]."""

FAR = "piano.test"
"""By this name the browser comes to this machine as to another, which plain http makes no secure context."""

TOKEN = "by this token all the tests come in"
"""Lets in whoever opens the address of a server's start with it."""

MISSING = "Chromium is missing; install it (on Debian: apt-get install chromium)"


def chromium_path() -> str | None:
    """Return the path of Chromium, None where it is not installed."""
    return which("chromium") or which("chromium-browser")


@contextmanager
def launched() -> Iterator[Browser]:
    """Give a browser; raises SystemExit where none is installed."""
    path = chromium_path()
    if path is None:
        raise SystemExit(MISSING)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, headless=True, args=ARGUMENTS)
        yield browser
        browser.close()


class Served:
    """One server: of the page, or of another script.

    Parameters
    ----------
    environ : mapping
        What is added to the environment, such as ``VALUATION_DATA``.
    script : str
        The script.
    root : Path
        Folder in which it runs.
    options : tuple of str
        More options of the server.
    log : Path, optional
        File to which goes what the server writes; nowhere if left out.
    """

    def __init__(
        self,
        environ: Mapping[str, str],
        script: str = "app.py",
        root: Path = ROOT,
        options: tuple[str, ...] = (),
        log: Path = Path(os.devnull),
    ) -> None:
        self.environ, self.script, self.root, self.options, self.log = dict(environ), script, root, options, log
        self.port = free_port()
        self.host = f"127.0.0.1:{self.port}"
        self.address = f"http://{self.host}"
        self.process: subprocess.Popen | None = None

    def start(self) -> None:
        """Start it on its port and wait until it answers."""
        command = [sys.executable, "-m", "streamlit", "run", self.script, "--server.headless=true",
                   f"--server.port={self.port}", "--server.fileWatcherType=none", *self.options]  # fmt: skip
        environ = os.environ | {"VALUATION_TOKEN": TOKEN} | self.environ
        with self.log.open("ab") as log:
            self.process = subprocess.Popen(command, cwd=self.root, env=environ, stdout=log, stderr=log)
        end = time.monotonic() + STARTS_WITHIN
        while time.monotonic() < end:
            if self.process.poll() is not None:
                raise RuntimeError(f"the server ended by itself with {self.process.returncode}")
            try:
                with urllib.request.urlopen(f"{self.address}/_stcore/health", timeout=2):
                    return
            except (urllib.error.URLError, TimeoutError, ConnectionError):
                time.sleep(0.1)
        raise RuntimeError(f"the server did not answer within {STARTS_WITHIN:.0f} s")

    def kill(self) -> None:
        """End it at once, as a crash or the power would."""
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()

    def stop(self) -> None:
        """End it."""
        if self.process and self.process.poll() is None:
            self.process.terminate()
            self.process.wait(timeout=60)

    def __enter__(self) -> Served:
        self.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()


def entrance(address: str) -> str:
    """Return the address that lets a browser in to a server: the one that its start prints."""
    return f"{address}/?{urlencode({'token': TOKEN})}"


def free_port() -> int:
    """Return a port of this machine that nobody uses."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return free.getsockname()[1]


def settle(page: Page) -> None:
    """Wait until the page has been drawn."""
    page.wait_for_selector("[data-testid=stApp][data-test-script-state=notRunning]")
    page.wait_for_timeout(300)


def slow_down(page: Page, times: float) -> None:
    """Let the browser reckon so many times slower, as a tablet does."""
    page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": times})
