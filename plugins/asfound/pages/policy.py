"""What a browser may do with a page of the site: the Content-Security-Policy and the referrer policy.

A second wall behind escaping. It knows the theme's own inline scripts by the hash of a page that holds
nothing else; hashes taken from finished pages would bless whatever somebody got into one.
"""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Iterable
from hashlib import sha256

from markupsafe import escape

# HTML Living Standard, 4.12.1: a script without type, or with a JavaScript type, runs; one with src has no
# text that could.
_SCRIPT = re.compile(r"<script(?P<attributes>[^>]*)>(?P<text>.*?)</script\s*>", re.DOTALL | re.IGNORECASE)
_DATA = re.compile(r"""\stype\s*=\s*["']?(?!text/javascript|module)[^"'\s>]+""", re.IGNORECASE)
_SRC = re.compile(r"\ssrc\s*=", re.IGNORECASE)
_HEAD = re.compile(r"<head(?:\s[^>]*)?>", re.IGNORECASE)
_DOCTYPE = re.compile(r"\s*<!doctype[^>]*>", re.IGNORECASE)


def script_hashes(pages: Iterable[str]) -> tuple[str, ...]:
    """The sources that allow the inline scripts of these pages, sorted (Content Security Policy 3, 2.3.1)."""
    return tuple(
        sorted(
            {
                f"'sha256-{b64encode(sha256(found['text'].encode()).digest()).decode()}'"
                for page in pages
                for found in _SCRIPT.finditer(page)
                if not _SRC.search(found["attributes"]) and not _DATA.search(found["attributes"])
            }
        )
    )


def policy(hashes: Iterable[str] = ()) -> str:
    """The Content-Security-Policy: files of the site itself, and the inline scripts with these hashes."""
    return "; ".join(
        (
            "default-src 'none'",
            " ".join(("script-src 'self'", *hashes)),
            "style-src 'self'",
            "img-src 'self' data:",  # the theme's style sheets draw their icons from data: addresses
            "font-src 'self'",
            "connect-src 'self'",
            "worker-src 'self'",
            "manifest-src 'self'",
            "base-uri 'none'",
            "form-action 'none'",
        )
    )


def with_policy(html: str, content: str) -> str:
    """The page with both policies as the first things in its head, before anything they should hold for."""
    metas = (
        f'<meta http-equiv="Content-Security-Policy" content="{escape(content)}">\n'
        '<meta name="referrer" content="no-referrer">\n'
    )
    if head := _HEAD.search(html):
        return f"{html[: head.end()]}\n{metas}{html[head.end() :]}"
    doctype = _DOCTYPE.match(html)  # a page without a head tag has one all the same; it starts here
    at = doctype.end() if doctype else 0
    return f"{html[:at]}{metas}{html[at:]}"
