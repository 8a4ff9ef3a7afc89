"""Where the way to the search, and to other languages, goes in a page whose frame is the host's."""

from __future__ import annotations

import re
from collections.abc import Sequence

from markupsafe import escape

_HEADER = re.compile(r"<header(?:\s[^>]*)?>", re.IGNORECASE)
_BODY = re.compile(r"<body(?:\s[^>]*)?>", re.IGNORECASE)
_MAIN = re.compile(r"<(?:main|article)(?:\s[^>]*)?>", re.IGNORECASE)


def with_search(html: str, link: str) -> str:
    """The page with the link, which is HTML, at the end of its header's navigation or of its header.

    A page without a header has it first in its body; one without a body stays as it is.
    """
    main = _MAIN.search(html)
    if header := _HEADER.search(html, 0, main.start() if main else len(html)):
        end = html.find("</header>", header.end())
        nav = html.find("</nav>", header.end(), end)
        at = nav if nav >= 0 else end
    elif body := _BODY.search(html):
        at = body.end()
    else:
        at = -1
    return html if at < 0 else f"{html[:at]}{link}{html[at:]}"


def with_versions(html: str, found: Sequence[tuple[str, str]]) -> str:
    """The page with links to itself in each language, by tag and address, at the end of its head.

    Whoever speaks none of them is shown the first, ``x-default``. A page without a head stays as it is.
    """
    at = html.find("</head>")
    if at < 0:
        return html
    tags = [*found, ("x-default", found[0][1])]
    # The space is for mkdocs-material, whose script asks for a sitemap beside each link[rel=alternate].
    links = (
        f'<link rel="alternate " hreflang="{escape(tag)}" href="{escape(address)}">' for tag, address in tags
    )
    return f"{html[:at]}{''.join(links)}{html[at:]}"
