"""A file loaded into a module from a card: what it takes, and the operations that no other job has."""

from __future__ import annotations

from ..car.phrases import list_words, minutes_words
from ..speech import gettext
from .jobs import Times
from .operations import Operation
from .recipes import Media
from .wording import Unit, quoted, see_refusals


def needs(media: Media) -> tuple[str, ...]:
    """What must be at hand. A supply too: a battery that fails meanwhile may end the module."""
    file = gettext(
        "The file {media} ({size} bytes), version {version}.",
        media=media.name,
        size=media.size,
        version=media.version,
    )
    supply = gettext("A supply that keeps the battery charged while the file is loaded.")
    card = gettext(
        "A memory card of {size}, formatted as {file_system}.",
        size=card_size(media),
        file_system=media.file_system,
    )
    return card, file, supply


def card_size(media: Media) -> str:
    """How large the card may be: ``8 GB or more``, ``8 to 32 GB``, ``16 GB``."""
    if media.largest_gb is None:
        return gettext("{smallest_gb} GB or more", smallest_gb=media.smallest_gb)
    if media.largest_gb == media.smallest_gb:
        return f"{media.smallest_gb} GB"
    return gettext(
        "{smallest_gb} to {largest_gb} GB", smallest_gb=media.smallest_gb, largest_gb=media.largest_gb
    )


def check_card(media: Media, recipe: str, times: Times) -> Operation:
    """Whether the card holds the very file. ``recipe`` is the id of the recipe that loads it."""
    return Operation(
        "precheck",
        gettext(
            "Check the card: {file_system}, with the file {media} on it under exactly this name.",
            file_system=media.file_system,
            media=media.name,
        ),
        expect=gettext(
            "The file has {size} bytes and the SHA-256 {sha256}.", size=media.size, sha256=media.sha256
        ),
        otherwise=gettext("Do not load it: get the file again from its origin and copy it anew."),
        minutes=times.check,
        recipe=recipe,
        origin=media.origin,
    )


def note_version(media: Media, recipe: str, times: Times) -> Operation:
    """The version on the screen, which is as found for a file."""
    return Operation(
        "note-version",
        gettext("Look at the screen under {where} and note the version it shows.", where=media.reading_where),
        expect=f"{list_words([quoted(version) for version in media.reading_before], 'or')}.",
        otherwise=gettext(
            "If it shows {version}, the file is already loaded. If it shows anything else, do"
            " not load the file: ask the club.",
            version=media.reading_after,
        ),
        module=media.module,
        power="key-on",
        minutes=times.check,
        recipe=recipe,
        origin=media.origin,
    )


def load_file(media: Media, recipe: str, unit: Unit) -> Operation:
    """The loading itself."""
    time = gettext(", about {time}", time=minutes_words(media.minutes)) if media.minutes else ""
    return Operation(
        "load-file",
        gettext(
            "Put the card into {unit}, choose {path}, and wait until the screen says that loading has"
            " ended{time}. Touch neither key nor card meanwhile.",
            unit=unit.name,
            path=" > ".join(media.menu),
            time=time,
        ),
        otherwise=see_refusals(),
        module=media.module,
        power="key-on",
        minutes=media.minutes,
        recipe=recipe,
        origin=media.origin,
    )


def read_version(media: Media, recipe: str, times: Times) -> Operation:
    """The version on the screen afterwards, which is as left."""
    return Operation(
        "read-version",
        gettext("Look at the screen under {where} again and note the version.", where=media.reading_where),
        expect=f"{quoted(media.reading_after)}.",
        otherwise=gettext("Load the file once more; if the version stays, stop and ask the club."),
        module=media.module,
        power="key-on",
        minutes=times.check,
        recipe=recipe,
        origin=media.origin,
    )
