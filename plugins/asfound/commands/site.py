"""``asfound site``: build the whole site beside the old one and put it in its place at one instant."""

from __future__ import annotations

import ctypes
import os
import shutil
import subprocess
import sys
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from tempfile import mkdtemp

import click

from .common import refuse
from .init import still_ours

_HOSTS = ("mkdocs", "properdocs")  # the host of the site, and the maintained fork of it
_NO_DATE = 315532800  # 1980-01-01, the first day a zip file can name
_AT_FDCWD, _EXCHANGE = -100, 2  # renameat2(2)


@click.command()
@click.option(
    "--out", type=click.Path(path_type=Path), default=Path("site"), show_default=True, metavar="FOLDER",
    help="Where the site comes to lie.",
)  # fmt: skip
@click.option(
    "--config", type=click.Path(path_type=Path), default=Path("mkdocs.yml"), show_default=True,
    metavar="FILE", help="The site's configuration.",
)  # fmt: skip
@click.option(
    "--zip", "archive", type=click.Path(path_type=Path), metavar="FILE", help="Also write it as zip."
)
@click.option(
    "--host", type=click.Choice(_HOSTS), default=_HOSTS[0], show_default=True, help="What builds it."
)
def site(out: Path, config: Path, archive: Path | None, host: str) -> None:
    """Build the whole site; the old one stays until the new one is complete.

    The new site is made in a folder of its own and takes the old one's place at one instant. When the build
    fails, or is stopped at any moment, the last good site lies there as before. The same input gives the same
    bytes: the date in them is that of the repository's newest commit, or SOURCE_DATE_EPOCH.

    Exit status: 0 built, 1 the build failed, 2 could not run.
    """
    if not config.is_file():
        refuse("site", f"there is no {config}; go to your club's folder first, or name the site's --config")
    out, when = Path(os.path.abspath(out)), date_of_source(config)
    if not _may_replace(out):
        refuse("site", f"{out} is no site that was built before; name another folder, or remove it")
    try:
        for made in (out, archive or out):
            made.parent.mkdir(parents=True, exist_ok=True)
        with _alone(out) as lock:
            _clear(out)
            fresh = Path(mkdtemp(prefix=_beside(out), dir=out.parent))
            fresh.chmod(0o755)
            try:
                _build(host, config, fresh, when, lock)
                switch(fresh, out)
                if archive:
                    _write_zip(out, archive, when)
            finally:
                shutil.rmtree(fresh, ignore_errors=True)  # the old site by now, or what failed
    except OSError as error:
        refuse("site", f"{error.filename or out}: {error.strerror or error}")
    click.echo(f"The site lies in {out}; open {out / 'index.html'}")
    club = config.parent / "recipes" / "club.yml"
    if club.is_file() and (lines := still_ours(club.read_text("utf-8", "replace"))):
        listed = f"line{'s' if len(lines) > 1 else ''} {', '.join(map(str, lines))}"
        click.echo(f"Still as asfound init wrote it, and published: {club}, {listed}.", err=True)


def _may_replace(out: Path) -> bool:
    """Whether nothing lies there, or a site with our pages; a mistyped folder is not to be lost."""
    if not os.path.lexists(out):
        return True
    ours = (out / "index.html", out / "assets" / "asfound")
    return out.is_dir() and not out.is_symlink() and (not any(out.iterdir()) or all(p.exists() for p in ours))


def date_of_source(config: Path) -> int:
    """Seconds since 1970 of what is built: SOURCE_DATE_EPOCH, or the newest commit, or 1980.

    https://reproducible-builds.org/specs/source-date-epoch/
    """
    said = os.environ.get("SOURCE_DATE_EPOCH", "")
    if not said:
        asked = ["git", "-C", str(config.parent), "log", "-1", "--format=%ct"]
        try:
            said = subprocess.run(asked, capture_output=True, text=True, timeout=60).stdout.strip()
        except (OSError, subprocess.TimeoutExpired):
            said = ""
    return int(said) if said.isascii() and said.isdigit() else _NO_DATE


def _build(host: str, config: Path, fresh: Path, when: int, lock: int) -> None:
    """Builds into ``fresh``; ends the program when the host fails."""
    words = [sys.executable, "-m", host, "build", "--strict", "--quiet", "-f", str(config), "-d", str(fresh)]
    environment = os.environ | {
        "SOURCE_DATE_EPOCH": str(when),
        "NO_MKDOCS_2_WARNING": "1",  # a notice of the theme at each build
    }
    # A build whose parent was killed keeps the lock until it has ended too.
    ended = subprocess.run(words, env=environment, pass_fds=(lock,) if os.name == "posix" else ())
    if ended.returncode:
        click.echo("asfound site: the build failed; the last site is as it was.", err=True)
        sys.exit(1)


def switch(fresh: Path, out: Path) -> None:
    """Puts ``fresh`` where ``out`` is at one instant; what was there is at ``fresh`` afterwards.

    Where the system cannot exchange two folders at once, the old one is renamed first, which leaves a moment
    without a site. OSError when neither works; then the old one is back in its place.
    """
    if not out.exists():
        os.rename(fresh, out)
        return
    if _exchange(fresh, out):
        return
    aside = fresh.with_name(f"{fresh.name}.old")
    os.rename(out, aside)
    try:
        os.rename(fresh, out)
    except OSError:
        os.rename(aside, out)
        raise
    os.rename(aside, fresh)


def _exchange(one: Path, other: Path) -> bool:
    """Exchanges two folders at once, by renameat2(2) of Linux; False where that cannot be done."""
    if not sys.platform.startswith("linux"):
        return False
    call = getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None)
    if call is None:  # a C library from before 2018
        return False
    return bool(call(_AT_FDCWD, os.fsencode(one), _AT_FDCWD, os.fsencode(other), _EXCHANGE) == 0)


@contextmanager
def _alone(out: Path) -> Iterator[int]:
    """Waits until no other build for this place runs; yields the file that holds the lock."""
    handle = os.open(out.with_name(f".{out.name}.lock"), os.O_CREAT | os.O_RDWR, 0o644)
    try:
        try:
            import fcntl
        except ImportError:  # Windows
            pass
        else:
            fcntl.flock(handle, fcntl.LOCK_EX)
        yield handle
    finally:
        os.close(handle)


def _beside(out: Path) -> str:
    return f".{out.name}.new-"


def _clear(out: Path) -> None:
    """Removes what builds that were stopped have left."""
    for left in out.parent.glob(f"{_beside(out)}*"):
        shutil.rmtree(left, ignore_errors=True)


def _write_zip(folder: Path, archive: Path, when: int) -> None:
    """The folder as a zip file whose bytes depend on the content and date alone.

    Not compressed: libraries differ in what they make of the same bytes.
    """
    date = datetime.fromtimestamp(max(when, _NO_DATE), UTC).timetuple()[:6]
    beside = archive.with_name(f".{archive.name}.new")
    # Listed before it is begun: it may lie in the folder itself, for readers to fetch.
    files = {path.relative_to(folder).as_posix(): path for path in folder.rglob("*") if path.is_file()}
    try:
        with zipfile.ZipFile(beside, "w") as file:
            for name in sorted(files):
                entry = zipfile.ZipInfo(f"site/{name}", date)
                entry.create_system, entry.external_attr = 3, 0o644 << 16  # as on Unix, wherever made
                file.writestr(entry, files[name].read_bytes())
        os.replace(beside, archive)
    finally:
        beside.unlink(missing_ok=True)
