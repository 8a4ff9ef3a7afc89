"""Where the way to the search goes in a page whose frame is the host's."""

from __future__ import annotations

import re

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
