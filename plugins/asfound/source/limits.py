"""Every limit of what is read, in one place.

They are generous for what members write by hand and small enough that no file can take noticeable time or
memory before it is refused.
"""

from __future__ import annotations

FILE_BYTES = 256 * 1024  # one YAML file; the longest recipe written by hand is a tenth of it
CAR_BYTES = 1024 * 1024  # what a reader keeps of a car; hundreds of jobs
PICTURE_BYTES = 8 * 1024 * 1024  # one picture, as a camera writes it
PICTURE_PIXELS = 24_000_000  # of one picture; decoded, each takes up to four bytes
DEPTH = 32  # lists and maps inside each other
VALUES = 20_000  # keys and values of one file
ANCHORS = 8  # anchors and aliases that are told one by one; eight cannot multiply to anything
DIGITS = 18  # characters of a plain number; sizes of files on a card take 15
FINDINGS_PER_FILE = 50  # reported for one file; the rest is counted
MOST_ERRORS = 500  # of the schema validator, before it leaves out the rest of lists
NAME_LENGTH = 64  # of a file's or folder's name without its extension
SHOWN = 60  # characters of a foreign value that a message repeats

# Names no file or folder may have: Windows keeps the first group for devices, whatever the extension, and a
# checkout there would fail; pages or the host of the site use the second.
DEVICE_NAMES = frozenset(
    ["con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(10))]
)
PAGE_NAMES = frozenset(
    ["index", "search", "assets", "stylesheets", "javascripts", "404", "sitemap", "robots", "readme"]
)
RESERVED_NAMES = DEVICE_NAMES | PAGE_NAMES
