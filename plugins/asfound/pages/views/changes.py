"""What changes in a record: from and to in words, where each setting lies, and the bytes to write."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup

from ...car.bits import differing
from ...car.checksums import Checksum
from ...car.records import Layout, Record, SettingPath, ShownAsNumber
from ...car.settings import Number, Setting, Text
from ...car.values import number, step, with_unit
from ...speech import gettext, ngettext
from ...work.compiled import Edit, NamesEdit
from ...work.recipes import Ask, Change
from .. import bits
from ..figures.strips import Mark, change_strip
from ..words import byte_words, capital, list_words, ordinal, place_words
from .drawn import contents

# Names in the public catalogue of parametrised CRC algorithms.
CHECKSUM_NAMES = {
    "crc8-j1850": "CRC-8/SAE-J1850",
    "crc8-autosar": "CRC-8/AUTOSAR",
    "crc16-ibm-3740": "CRC-16/IBM-3740",
    "crc16-arc": "CRC-16/ARC",
    "crc32-iso-hdlc": "CRC-32/ISO-HDLC",
}


@dataclass(frozen=True, slots=True)
class SettingRow:
    """One setting: ``mark`` is its label in the strip, ``when`` a condition in words or empty."""

    mark: str
    name: str
    search: str
    guess: bool
    when: str
    before: str
    before_raw: str
    to: str
    to_raw: str
    note: str
    where: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ByteRow:
    """One byte that changes; a dot stands for what stays as found."""

    where: str
    before: Markup
    to: Markup
    hex: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RecordTable:
    """All that changes in one record in one layout; no ``strip``, ``places`` or ``bytes`` for names only."""

    id: str
    title: str
    when: str
    look: tuple[str, ...]
    detail: str
    strip: Markup
    settings_caption: str
    places: bool
    rows: tuple[SettingRow, ...]
    bytes_caption: str
    bytes: tuple[ByteRow, ...]
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Heading:
    """How a record's section begins."""

    id: str
    title: str
    when: str = ""
    look: tuple[str, ...] = ()
    detail: str = ""


def edit_table(
    edit: Edit,
    record: Record,
    layout: Layout,
    changes: Mapping[SettingPath, Change],
    when: Mapping[SettingPath, str],
    heading: Heading,
) -> RecordTable:
    """The table of a record whose bytes are known.

    ``changes`` are the recipe's, by setting; ``when``: of a change not for all cars, when it is made.
    """
    rows, marks = [], {name: Mark("", "known") for name in layout.places}
    for at, one in enumerate(edit.fields, 1):
        change = changes[one.setting]
        marks[one.setting.setting] = Mark(str(at), "written")
        definition = one.definition
        rows.append(
            SettingRow(
                mark=str(at),
                name=definition.name,
                search=list_words([f"“{word}”" for word in definition.search_words], "or"),
                guess=definition.known_from == "guess",
                when=when.get(one.setting, ""),
                before=gettext("any")
                if one.before_words is None
                else with_unit(definition, one.before_words),
                before_raw="" if one.before_raw is None else _stored(definition, one.before_raw),
                to=with_unit(definition, one.to_words),
                to_raw=_stored(definition, one.to_raw),
                note=_note(definition, change, one.exact),
                where=place_words(one.place),
            )
        )
    listed = list_words([f"{row.mark} {row.name}" for row in rows])
    alternative = ngettext(
        "The record as found and to write, two bars of {n} byte. What changes: {settings}. The tables below"
        " say where, from what and to what.",
        "The record as found and to write, two bars of {n} bytes. What changes: {settings}. The tables below"
        " say where, from what and to what.",
        edit.length,
        settings=listed,
    )
    return RecordTable(
        id=heading.id,
        title=heading.title,
        when=heading.when,
        look=heading.look,
        detail=heading.detail,
        strip=change_strip(
            layout, marks, contents(edit), alternative, (gettext("as found"), gettext("to write"))
        ),
        settings_caption=_settings_caption(bool(edit.asked), True),
        places=True,
        rows=tuple(rows),
        bytes_caption=(
            gettext(
                "The bytes, as found → to write. A dot is a bit that stays as found; bold, underlined and in "
                "brackets is what changes."
            )
            + (" " + gettext("Shown for the suggested value.") if edit.asked else "")
        ),
        bytes=_byte_rows(edit),
        remarks=tuple(_remarks(edit, record)),
    )


def names_table(
    edit: NamesEdit, changes: Mapping[SettingPath, Change], when: Mapping[SettingPath, str], heading: Heading
) -> RecordTable:
    """The table of a record of which only names are known."""
    rows = tuple(
        SettingRow(
            mark="",
            name=one.definition.name,
            search=list_words([f"“{word}”" for word in one.definition.search_words], "or"),
            guess=one.definition.known_from == "guess",
            when=when.get(one.setting, ""),
            before=gettext("any")
            if one.before_words is None
            else with_unit(one.definition, one.before_words),
            before_raw="",
            to=with_unit(one.definition, one.to_words),
            to_raw="",
            note=_note(one.definition, changes[one.setting], True),
            where=(),
        )
        for one in edit.fields
    )
    remark = gettext(
        "Nobody in the club knows the bytes of this record. The tool shows its settings by name: find each "
        "by its words, note what it shows, then choose the new value."
    )
    return RecordTable(
        id=heading.id,
        title=heading.title,
        when=heading.when,
        look=heading.look,
        detail=heading.detail,
        strip=Markup(""),
        settings_caption=_settings_caption(any(one.asked for one in edit.fields), False),
        places=False,
        rows=rows,
        bytes_caption="",
        bytes=(),
        remarks=(remark,),
    )


def checksum_words(checksum: Checksum) -> str:
    """Where a checksum lies, which one it is and who puts it right."""
    name = CHECKSUM_NAMES.get(checksum.kind, checksum.kind)
    if checksum.size == 1:
        where = capital(byte_words(checksum.at))
        what = gettext("{where}, is a checksum", where=where)
    elif checksum.size == 2:
        what = gettext(
            "Bytes {first} and {last}, the {ordinal} and {ordinal2} pairs, {order}, are a checksum",
            first=checksum.at,
            last=checksum.at + 1,
            ordinal=ordinal(checksum.at + 1),
            ordinal2=ordinal(checksum.at + 2),
            order=order_words(checksum.order),
        )
    else:
        last = checksum.at + checksum.size - 1
        what = gettext(
            "Bytes {first} to {last}, the {ordinal} to {ordinal2} pair, {order}, are a checksum",
            first=checksum.at,
            last=last,
            ordinal=ordinal(checksum.at + 1),
            ordinal2=ordinal(last + 1),
            order=order_words(checksum.order),
        )
    who = (
        gettext("The tool puts it right when it writes; compare it when you read back.")
        if checksum.by == "tool"
        else gettext(
            "Whoever types the bytes must type it too. It depends on every byte it covers: have it "
            "computed, and prove the computing with the worked example."
        )
    )
    over = gettext("bytes {first} to {last}", first=checksum.first, last=checksum.last)
    return gettext(
        "{what} ({kind}) over {bytes}. {who} If it is wrong in the record as found, stop.",
        what=what,
        kind=name,
        bytes=over,
        who=who,
    )


def shown_words(number: ShownAsNumber) -> str:
    """How the tool shows a record that is one decimal number; the order of a single byte says nothing."""
    if number.size == 1:
        return gettext("as one decimal number of one byte")
    return gettext(
        "as one decimal number of {n} bytes, {order}", n=number.size, order=order_words(number.order)
    )


def order_words(order: str) -> str:
    """Which byte of a number comes first."""
    return gettext("most significant first") if order == "big" else gettext("least significant first")


def _settings_caption(asked: bool, strip: bool) -> str:
    said = (
        gettext(
            "Hatched and numbered above: the settings this recipe writes, in bits, or as a pair of digits"
            " where a setting fills a byte. Grey: other settings, which stay."
        )
        if strip
        else ""
    )
    return (
        f"{said} {gettext('Shown for the suggested value, where you choose.') if asked else ''}".strip()
        or gettext("Settings")
    )


def _stored(definition: Setting, raw: int) -> str:
    """The number the bits hold; a text is its own bytes."""
    return "" if isinstance(definition.kind, Text) else gettext("stored {raw}", raw=raw)


def _note(definition: Setting, change: Change, exact: bool) -> str:
    parts = []
    if isinstance(change.to, Ask):
        parts.append(gettext("You choose: {question}.", question=change.to.question))
        if isinstance(definition.kind, Number):
            kind = definition.kind
            parts.append(
                gettext(
                    "From {min} to {max} {unit} in steps of {step}.",
                    min=number(kind.min),
                    max=number(kind.max),
                    unit=kind.unit,
                    step=step(definition),
                )
            )
    if not exact:
        asked = change.to.suggest if isinstance(change.to, Ask) else change.to
        parts.append(
            gettext("The nearest the module can store to {value}.", value=with_unit(definition, asked))
        )
    return " ".join(parts)


def _byte_rows(edit: Edit) -> tuple[ByteRow, ...]:
    held = contents(edit)
    rows = []
    for at, mask in enumerate(edit.mask):
        if not mask:
            continue
        was, has, to = held.found[at], held.known[at], edit.bits[at]
        changed = (was ^ to) & mask | mask & ~has & 0xFF
        rows.append(
            ByteRow(
                where=byte_words(at),
                before=bits.binary(was, has, changed & has),
                to=bits.binary(to, mask, changed),
                hex=_digits(mask, has, was, to),
            )
        )
    return tuple(rows)


def _digits(mask: int, has: int, was: int, to: int) -> tuple[str, ...]:
    """What becomes of each hexadecimal digit that changes, as found → to write."""
    if mask == 0xFF:
        return (f"{was:02X} → {to:02X}" if has == 0xFF else f"{gettext('any')} → {to:02X}",)
    out = []
    for shift, which in ((4, gettext("first digit")), (0, gettext("second digit"))):
        part, goal = mask >> shift & 15, to >> shift & 15
        known, before = has >> shift & part, was >> shift & 15
        if part == 15:
            out.append(f"{which}: {f'{before:X}' if known == 15 else gettext('any')} → {goal:X}")
        elif part and (pairs := bits.digit_table(part, goal, known, before)):
            out.append(f"{which}: " + ", ".join(f"{found} → {write}" for found, write in pairs))
    return tuple(out)


def _remarks(edit: Edit, record: Record) -> list[str]:
    out = []
    if record.shown_as is not None:
        order = record.shown_as.order
        said = gettext("The tool shows this record {shown}.", shown=shown_words(record.shown_as))
        if edit.mask == b"\xff" * edit.length:
            whole = int.from_bytes(edit.bits, order)
            said += " " + (
                gettext("The number to write is {number}, for the suggested value.", number=whole)
                if edit.asked
                else gettext("The number to write is {number}.", number=whole)
            )
        elif all(one.before_raw is not None for one in edit.fields):
            before, after = bytes(edit.length), bytes(edit.length)
            for one in edit.fields:
                before = one.place.scatter(before, one.before_raw or 0)
                after = one.place.scatter(after, one.to_raw)
            change = int.from_bytes(after, order) - int.from_bytes(before, order)
            if change and differing(before, after):
                amount = abs(change)
                does = gettext("add {n}", n=amount) if change > 0 else gettext("subtract {n}", n=amount)
                said += " " + gettext(
                    "If every setting holds its “from” value, {does}: number to write = number found {sign}"
                    " {n}. A switch that is already as it should be is not counted again: work out the bits"
                    " then.",
                    does=does,
                    sign="+" if change > 0 else "−",
                    n=amount,
                )
        out.append(said)
    if edit.checksum is not None:
        out.append(checksum_words(edit.checksum))
    return out
