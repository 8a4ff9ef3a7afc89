"""``asfound serve``: show the site while it is written; pages are made when a browser asks for them."""

from __future__ import annotations

import contextlib
import gc
import logging
import mimetypes
import shutil
import threading
import time
from collections.abc import Callable
from html import escape
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path, PurePosixPath
from tempfile import mkdtemp
from urllib.parse import unquote, urlsplit

import click

from ..pages import PictureProblem, TemplateFault
from ..plugin.preview import Preview, PreviewFailed, recipes_of
from ..review.live import LiveBook
from ..source.findings import Finding, printable
from ..source.report import as_lines, count_text
from .common import refuse
from .watch import Changes, observer

_OWN = "_preview"  # what the preview adds lies here; no folder of a site begins with an underscore
_WAIT = 25.0  # seconds that a browser's question for news stays open
_WAITS = "The site appears when these are mended:"
_SCRIPT = """(() => {
  const own = document.currentScript, have = own.dataset.have;
  const ask = () => fetch(new URL("news?have=" + have, own.src)).then((answer) => answer.text())
    .then((now) => now === have ? ask() : location.reload()).catch(() => setTimeout(ask, 1000));
  ask();
})();
"""
_STYLE = """.preview-findings {
  position: fixed; inset: auto 0 0; z-index: 99; max-height: 50vh; overflow: auto; padding: 0.8rem 1.2rem;
  background: #fff3e0; color: #1a1a1a; border-top: 3px solid #b23c00; font: 14px/1.45 monospace;
  white-space: pre-wrap;
}
"""


@click.command()
@click.option(
    "--config", type=click.Path(path_type=Path), default=Path("mkdocs.yml"), show_default=True,
    metavar="FILE", help="The site's configuration.",
)  # fmt: skip
@click.option(
    "--port", type=click.IntRange(0, 65535), default=8000, show_default=True, help="0: any free one."
)
def serve(config: Path, port: int) -> None:
    """Show the site at an address of this computer, and every change at once.

    A saved recipe is checked and shown anew. While a file has findings they stand at the foot of each
    page and in the terminal, and the last good pages stay; at first the site is shown without recipes that
    have any. Other computers cannot see it. Ctrl-C ends it.

    Exit status: 0 ended by Ctrl-C, 2 could not run.
    """
    if not config.is_file():
        refuse("serve", f"there is no {config}; go to your club's folder first, or name the site's --config")
    logging.getLogger("mkdocs").addHandler(_terminal())
    site = Site(config, click.echo)
    try:
        if site.preview is None and not site.live.found:
            refuse("serve", "the site cannot be built; what is wrong stands above")
        try:
            server = ThreadingHTTPServer(("127.0.0.1", port), handler(site))
        except OSError as error:
            refuse("serve", f"port {port}: {error.strerror or error}; name another one with --port")
        server.daemon_threads = True
        threading.Thread(target=server.serve_forever, daemon=True).start()
        click.echo(f"The site is at http://127.0.0.1:{server.server_port}/ until Ctrl-C.")
        changes = Changes()
        watching = observer(changes, site.watched())
        try:
            with contextlib.suppress(KeyboardInterrupt):
                while True:
                    site.look(changes.wait())
        finally:
            watching.stop()
            server.shutdown()
    finally:
        site.close()


class Site:
    """The site as it is now; ``say`` prints a line. Any thread may ask; one at a time is answered."""

    def __init__(self, config: Path, say: Callable[[str], object]) -> None:
        self.config, self.say = config, say
        self.version = 1
        self._lock = threading.RLock()
        self._news = threading.Condition()
        self._folder: Path | None = None
        self.preview: Preview | None = None
        self.live = LiveBook(self._recipes())
        self._tell()
        self._build()
        gc.collect()
        gc.freeze()  # what stays is not to be looked through at each change

    def _recipes(self) -> Path:
        """The book's folder, as the site's configuration names it."""
        try:
            return recipes_of(self.config)
        except PreviewFailed as why:
            refuse("serve", str(why))

    def watched(self) -> tuple[Path, ...]:
        """Folders whose files make the site."""
        base = self.config.resolve().parent
        others = self.preview.watched if self.preview else (base,)
        return tuple(dict.fromkeys((self.live.folder, *others)))

    def look(self, paths: set[Path]) -> None:
        """Takes in what has changed; ``paths`` are the files that may have."""
        start = time.perf_counter()
        book = self.live.folder.resolve()
        with self._lock:
            changed = self.live.look()
            if any(not path.is_relative_to(book) for path in paths):
                self._build()
                changed = True
            elif changed and self.live.book and (self.preview is None or not self.live.found):
                self._show()
            if not changed:
                return
            self._tell()
            if not self.live.found:
                self.say(f"Shown anew after {time.perf_counter() - start:.2f} s.")
        with self._news:
            self.version += 1
            self._news.notify_all()

    def _show(self) -> None:
        assert self.live.book is not None
        if self.preview is None or not self.preview.renew(self.live.book, self.live.changed):
            self._build()

    def _build(self) -> None:
        """Has the host build its part anew; when it cannot, the last one stays."""
        if self.live.book is None:
            return
        folder = Path(mkdtemp(prefix="asfound-preview-"))
        try:
            self.preview = Preview(self.config, folder, self.live.book)
        except PreviewFailed as why:
            shutil.rmtree(folder, ignore_errors=True)
            self.say(str(why))
            return
        old, self._folder = self._folder, folder
        if old:
            shutil.rmtree(old, ignore_errors=True)

    def _tell(self) -> None:
        for line in self._findings():
            self.say(line)

    def _findings(self) -> list[str]:
        found: tuple[Finding, ...] = self.live.found
        folder = printable(self.live.folder.name)
        return [*as_lines(found, folder), count_text(found)] if found else []

    def news(self, have: str) -> str:
        """The number of the present version, when it is another than ``have`` or after a while."""
        with self._news:
            self._news.wait_for(lambda: str(self.version) != have, _WAIT)
            return str(self.version)

    def answer(self, path: str) -> tuple[HTTPStatus, str, bytes]:
        """Status, media type and content for a path below the site."""
        if path == f"{_OWN}/preview.js":
            return HTTPStatus.OK, "text/javascript; charset=utf-8", _SCRIPT.encode()
        if path == f"{_OWN}/preview.css":
            return HTTPStatus.OK, "text/css; charset=utf-8", _STYLE.encode()
        with self._lock:
            status, content = self._content(path)
            kind = mimetypes.guess_type(path if content is not None else "x.html")[0] or "text/html"
            if content is None:
                content = b"<!doctype html><title>Not found</title><body><p>There is no such page.</p></body>"
            if kind == "text/html":
                content = self._with_news(content, path)
        text = kind.startswith("text/") or kind.endswith(("javascript", "json", "xml"))
        return status, f"{kind}; charset=utf-8" if text else kind, content

    def _content(self, path: str) -> tuple[HTTPStatus, bytes | None]:
        if self.preview is None:
            waits = f"<!doctype html><title>Findings</title><body><p>{_WAITS}</p></body>"
            return HTTPStatus.OK, waits.encode()
        try:
            made = self.preview.content(path)
        except (TemplateFault, PictureProblem, PreviewFailed) as why:
            self.say(str(why))
            page = f"<!doctype html><title>Cannot be shown</title><body><p>{escape(str(why))}</p></body>"
            return HTTPStatus.INTERNAL_SERVER_ERROR, page.encode()
        if made is not None:
            return HTTPStatus.OK, made
        file = self.preview.folder / path
        if ".." not in PurePosixPath(path).parts and file.is_file():
            return HTTPStatus.OK, file.read_bytes()
        missing = self.preview.folder / "404.html"
        return HTTPStatus.NOT_FOUND, missing.read_bytes() if missing.is_file() else None

    def _with_news(self, page: bytes, path: str) -> bytes:
        """A page that asks for news, and says at its foot what is wrong."""
        up = "../" * path.count("/")
        added = f'<script src="{up}{_OWN}/preview.js" data-have="{self.version}"></script>'
        if lines := self._findings():
            said = escape("\n".join(lines))
            added += f'<link rel="stylesheet" href="{up}{_OWN}/preview.css">'
            added += f'<aside class="preview-findings" role="alert">{said}</aside>'
        before, end, after = page.rpartition(b"</body>")
        return before + added.encode() + end + after if end else page + added.encode()

    def close(self) -> None:
        """Removes what was written."""
        if self._folder:
            shutil.rmtree(self._folder, ignore_errors=True)


def handler(site: Site) -> type[BaseHTTPRequestHandler]:
    """What answers a browser."""

    class Handler(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"

        def do_GET(self) -> None:
            """Answers one question; only for this computer's own name, lest another site asks."""
            host = self.headers.get("Host", "").rpartition(":")[0] or self.headers.get("Host", "")
            if host not in ("127.0.0.1", "localhost"):
                self._send(HTTPStatus.FORBIDDEN, "text/plain", b"Ask for 127.0.0.1.")
                return
            asked = urlsplit(self.path)
            path = unquote(asked.path).lstrip("/")
            if path == f"{_OWN}/news":
                now = site.news(asked.query.removeprefix("have="))
                self._send(HTTPStatus.OK, "text/plain", now.encode())
                return
            if not path or path.endswith("/"):
                path += "index.html"
            self._send(*site.answer(path))

        do_HEAD = do_GET

        def _send(self, status: HTTPStatus, kind: str, content: bytes) -> None:
            with contextlib.suppress(ConnectionError):
                self.send_response(status)
                self.send_header("Content-Type", kind)
                self.send_header("Content-Length", str(len(content)))
                self.send_header("Cache-Control", "no-store")
                self.end_headers()
                if self.command != "HEAD":
                    self.wfile.write(content)

        def log_message(self, format: str, *args: object) -> None:
            """Nothing: the terminal is for findings."""

    return Handler


def _terminal() -> logging.Handler:
    """What the host says goes to the terminal, as far as it is wrong."""
    shown = logging.StreamHandler()
    shown.setLevel(logging.WARNING)
    shown.setFormatter(logging.Formatter("%(message)s"))
    return shown
