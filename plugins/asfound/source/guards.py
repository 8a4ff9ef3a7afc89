"""What a file must be before YAML looks at it: a regular file of modest size, UTF-8, without hidden signs.

The character rule holds twice, for the raw file and for text decoded from escapes, since a sign hidden in
a comment can start a line that only the program sees, and one hidden in a value can reverse what a reader
sees.
"""

from __future__ import annotations

import errno
import os
import re
import stat
import unicodedata
from pathlib import Path

from .findings import Finding
from .limits import FILE_BYTES

_HIDDEN = (
    ("control", r"\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f"),
    ("tab", r"\t"),
    ("line", "\x85\u2028\u2029"),  # NEL and the two Unicode separators: a new line to YAML, not to an editor
    ("direction", "\u202a-\u202e\u2066-\u2069"),
    ("tag", "\U000e0000-\U000e007f"),
    ("invisible", "\u00ad\u180e\u200b\u2060-\u2064\ufeff\ufff9-\ufffb\ufffe\uffff"),
)
FORBIDDEN = re.compile("[" + "".join(signs for _, signs in _HIDDEN) + "]")
_BLANK = "\u115f\u1160\u2800\u3164\uffa0"  # letters and symbols that have no ink
# Marks over and under one letter, so many that they cover the lines around it; nobody writes five.
_STACKED = re.compile(
    "[\u0300-\u036f\u0483-\u0489\u0591-\u05bd\u064b-\u065f\u0e31\u0e34-\u0e3a\u0e47-\u0e4e\u0eb1\u0eb4-\u0ebc"
    "\u0ec8-\u0ecd\u1ab0-\u1aff\u1dc0-\u1dff\u20d0-\u20ff\ufe00-\ufe0f\ufe20-\ufe2f]{5,}"
)
_LONE_RETURN = re.compile(r"\r(?!\n)")
_MEANS = {
    "control": ("a control character", "remove it"),
    "tab": ("a tab character", "write spaces"),
    "line": ("a line separator that many editors do not show as one", "remove it, or end the line there"),
    "direction": ("a character that reverses the direction of the text around it", "remove it"),
    "tag": ("an invisible tag character", "remove it"),
    "invisible": ("an invisible character", "remove it"),
    "marks": ("more than four marks on one letter", "remove them"),
    "return": ("a carriage return without a line feed", "end lines with a line feed"),
}


class Unreadable(Exception):
    """A file that was not read: the id of the finding, what is wrong and what to do."""

    def __init__(self, id: str, message: str, repair: str) -> None:
        super().__init__(message)
        self.id, self.message, self.repair = id, message, repair


def read_file(path: Path, limit: int = FILE_BYTES) -> bytes:
    """The bytes of a regular file of at most ``limit`` bytes.

    Links are not followed in the last place of the path, nothing that blocks is opened for reading, and the
    size is asked of the open file, so that a file exchanged meanwhile is no way around. Raises Unreadable.
    """
    flags = os.O_RDONLY
    for name in ("O_NOFOLLOW", "O_NONBLOCK", "O_BINARY", "O_CLOEXEC"):  # not every system has each
        flags |= getattr(os, name, 0)
    try:
        handle = os.open(path, flags)
    except OSError as error:
        raise _not_opened(error) from None
    try:
        status = os.fstat(handle)
        if not stat.S_ISREG(status.st_mode):
            raise _not_regular()
        if status.st_size > limit:
            raise too_large(status.st_size, limit)
        with os.fdopen(handle, "rb", closefd=False) as file:
            data = file.read(limit + 1)
    except OSError as error:
        raise _not_opened(error) from None
    finally:
        os.close(handle)
    if len(data) > limit:
        raise too_large(len(data), limit)
    return data


def _not_opened(error: OSError) -> Unreadable:
    if error.errno == errno.ELOOP:  # what O_NOFOLLOW gives for a link
        return Unreadable("file-link", "this is a link to another file", "put the file itself here")
    if error.errno in (errno.ENXIO, errno.EISDIR):
        return _not_regular()
    if error.errno in (errno.ENOENT, errno.ENOTDIR):
        return Unreadable(
            "file-unreadable", "there is no such file", "look how it is called and where it lies"
        )
    if error.errno == errno.ENOENT:
        return Unreadable("file-unreadable", "there is no such file", "name one that is there")
    return Unreadable("file-unreadable", f"the file cannot be read: {error.strerror}", "make it readable")


def too_large(size: int, limit: int) -> Unreadable:
    """The refusal of a file over the size limit."""
    return Unreadable(
        "file-too-large",
        f"the file has {size:,} bytes; at most {limit:,} are read",
        "shorten it, or split what it holds over several files",
    )


def _not_regular() -> Unreadable:
    return Unreadable(
        "file-not-regular", "this is a folder, a pipe or a device, not a file", "put an ordinary file here"
    )


def decode(raw: bytes, file: str) -> tuple[str, tuple[Finding, ...]]:
    """The text of a file and findings about its encoding and characters; text is empty after any."""
    for mark, name in (
        (b"\xef\xbb\xbf", "a byte-order mark"),
        (b"\xff\xfe", "UTF-16 or UTF-32"),
        (b"\xfe\xff", "UTF-16"),
        (b"\x00\x00\xfe\xff", "UTF-32"),
    ):
        if raw.startswith(mark):
            return "", (
                Finding(
                    "file-not-utf-8",
                    file,
                    1,
                    1,
                    "",
                    f"the file starts with {name}",
                    "save it as UTF-8 without byte-order mark",
                ),
            )
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        before = raw[: error.start].decode("utf-8")
        return "", (
            Finding(
                "file-not-utf-8",
                file,
                *position(before, len(before)),
                "",
                f"the byte {raw[error.start]:02X} is not UTF-8",
                "save the file as UTF-8",
            ),
        )
    findings = tuple(
        Finding("file-hidden-character", file, *position(text, at), "", message, repair)
        for at, message, repair in hidden(text, raw=True)
    )
    return ("" if findings else text), findings


def hidden(text: str, raw: bool = False) -> list[tuple[int, str, str]]:
    """Signs that must not be in a text: (index, what is wrong, what to do), at most ten.

    ``raw``: the text of a whole file, where CR LF ends a line; elsewhere any CR is refused.
    """
    found = [(match.start(), match[0]) for match, _ in zip(FORBIDDEN.finditer(text), range(10), strict=False)]
    if "\r" in text:
        returns = _LONE_RETURN.finditer(text) if raw else re.finditer("\r", text)
        found += [(match.start(), "\r") for match, _ in zip(returns, range(10), strict=False)]
    if not text.isascii():
        stacks = zip(_STACKED.finditer(text), range(10), strict=False)
        found += [(match.start(), match[0]) for match, _ in stacks]
    out = []
    for at, sign in sorted(found)[:10]:
        what, repair = _MEANS["return" if sign == "\r" else "marks" if len(sign) > 1 else _group(sign)]
        out.append((at, f"{what} (U+{ord(sign[0]):04X})", repair))
    return out


def visible(text: str) -> bool:
    """Whether there is anything to see in a text."""
    return any(
        sign > " " and sign not in _BLANK and (sign.isascii() or unicodedata.category(sign)[0] in "LNPS")
        for sign in text
    )


def _group(sign: str) -> str:
    return next(name for name, signs in _HIDDEN if re.match(f"[{signs}]", sign))


def position(text: str, index: int) -> tuple[int, int]:
    """Line and column, from 1, of a place in a text whose lines end with LF, CR LF or CR."""
    before = text[:index].replace("\r\n", "\n").replace("\r", "\n")
    return before.count("\n") + 1, len(before) - (before.rfind("\n") + 1) + 1
