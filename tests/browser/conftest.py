"""The demo site, built once, and a real browser that reads it over HTTP and from its folder."""

from __future__ import annotations

import fcntl
import functools
import http.server
import os
import shutil
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, ConsoleMessage, Page, Request, Response, sync_playwright

ROOT = Path(__file__).parents[2]
PROGRAMS = ("chromium-headless-shell", "chromium", "chromium-browser")
QUIET = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
)


@pytest.fixture(scope="session")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the demo site, built as `make site` does, once for all processes of the run."""
    shared = tmp_path_factory.getbasetemp()
    if os.environ.get("PYTEST_XDIST_WORKER"):
        shared = shared.parent
    folder = shared / "demo-site"
    with open(shared / "demo-site.lock", "w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not folder.exists():
            built = subprocess.run(
                [sys.executable, "-m", "mkdocs", "build", "--strict", "--site-dir", str(folder)],
                cwd=ROOT,
                env=os.environ | {"NO_MKDOCS_2_WARNING": "1"},
                capture_output=True,
                text=True,
            )
            if built.returncode:
                shutil.rmtree(folder, ignore_errors=True)
                pytest.fail(f"the demo site was not built:\n{built.stdout}{built.stderr}", pytrace=False)
    return folder


class _Silent(http.server.SimpleHTTPRequestHandler):
    def log_message(self, format: str, *args: object) -> None:
        pass


@pytest.fixture(scope="session")
def bases(site: Path) -> Iterator[dict[str, str]]:
    """Where the site is found, by the way it is opened: "http" and "file"."""
    handler = functools.partial(_Silent, directory=str(site))
    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield {"http": f"http://127.0.0.1:{server.server_address[1]}/", "file": site.as_uri() + "/"}
        server.shutdown()


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """The system's Chromium; where it is installed its engine alone, which takes a third less time."""
    program = next(filter(None, map(shutil.which, PROGRAMS)), None)
    if program is None:
        pytest.fail("The browser tests need Chromium. As root: apt-get install chromium", pytrace=False)
    with (
        sync_playwright() as playwright,
        playwright.chromium.launch(executable_path=program, args=list(QUIET)) as started,
    ):
        yield started


class Reader:
    """A tab, and everything that happened in it and should not: errors, failed or foreign requests."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.base = ""
        self.trouble: list[str] = []
        page.on("console", self._console)
        page.on("pageerror", lambda error: self.trouble.append(f"error in a script: {error}"))
        page.on("request", self._request)
        page.on("requestfailed", self._failed)
        page.on("response", self._response)

    def _console(self, message: ConsoleMessage) -> None:
        if message.type in ("error", "warning"):
            self.trouble.append(f"{message.type} in the console: {message.text}")

    def _request(self, request: Request) -> None:
        if not request.url.startswith((self.base, "data:")):
            self.trouble.append(f"request outside the site: {request.url}")

    def _failed(self, request: Request) -> None:
        if request.failure != "net::ERR_ABORTED":  # the reader went on to another page meanwhile
            self.trouble.append(f"failed, {request.failure}: {request.url}")

    def _response(self, response: Response) -> None:
        if response.status >= 400:
            self.trouble.append(f"{response.status}: {response.url}")

    def open(self, path: str) -> Page:
        """Opens a page of the site and waits until it is at rest."""
        self.page.goto(self.base + path)
        return self.page

    @property
    def path(self) -> str:
        """Which page of the site is open."""
        assert self.page.url.startswith(self.base)
        return self.page.url.removeprefix(self.base).partition("?")[0].partition("#")[0]


Opener = Callable[..., "contextmanager[Reader]"]


@pytest.fixture(scope="session")
def opener(browser: Browser, bases: dict[str, str]) -> Opener:
    """`with opener("http", width=360) as reader:`; at its end nothing untoward may have happened."""
    readers: dict[bool, Reader] = {}

    @contextmanager
    def opened(way: str, width: int = 1280, javascript: bool = True) -> Iterator[Reader]:
        if javascript not in readers:  # a tab is kept, since a new one takes as long as a page
            context = browser.new_context(java_script_enabled=javascript, locale="en-GB")
            context.set_default_timeout(20_000)
            readers[javascript] = Reader(context.new_page())
        reader = readers[javascript]
        reader.base = bases[way]
        reader.page.set_viewport_size({"width": width, "height": 900})
        reader.page.emulate_media(media="null", color_scheme="null")
        try:
            try:
                yield reader
            finally:  # what a failed story kept must not trouble the next
                reader.page.evaluate("localStorage.clear()")
            reader.page.goto("about:blank")  # ends what is still under way
            assert reader.trouble == []
        finally:
            reader.trouble.clear()

    return opened
