"""Edits against bitstruct, cantools and plain integer arithmetic, for thousands of random fields."""

from __future__ import annotations

import random
from fractions import Fraction

import bitstruct
import cantools.database
import pytest
from crccheck.crc import Crc8Autosar, Crc8SaeJ1850, Crc16Arc, Crc16Ibm3740, Crc32IsoHdlc

from asfound.car.bits import Part, Place
from asfound.car.checksums import Checksum
from asfound.car.records import Layout, Record, RecordPath, SettingPath
from asfound.car.settings import Choice, Choices, Number, Setting
from asfound.work.edits import assess, compile_edit, undo, write
from asfound.work.recipes import Change

PATH = RecordPath("box", "rec")


def number(id: str, width: int, signed: bool, factor: str = "1", offset: str = "0") -> Setting:
    low, high = (-(1 << width - 1), (1 << width - 1) - 1) if signed else (0, (1 << width) - 1)
    scaled = sorted(Fraction(factor) * raw + Fraction(offset) for raw in (low, high))
    return Setting(
        id, id, Number(Fraction(factor), Fraction(offset), "", *scaled, signed), ("comfort",), "club"
    )


def big_endian(start: int, width: int) -> Place:
    """Bits ``start``… counted from the most significant bit of byte 0, as bitstruct counts them."""
    cells = [divmod(start + i, 8) for i in range(width)]
    return joined([(byte, 7 - bit) for byte, bit in cells])


def little_endian(start: int, width: int) -> Place:
    """Bits ``start``… counted from the least significant bit of byte 0, as DBC files count Intel signals."""
    cells = [divmod(start + i, 8) for i in range(width)]
    return joined(list(reversed(cells)))


def joined(cells: list[tuple[int, int]]) -> Place:
    """Cells, most significant first, as the fewest parts."""
    parts: list[Part] = []
    for byte, bit in cells:
        if parts and parts[-1].byte == byte and parts[-1].low == bit + 1:
            parts[-1] = Part(byte, bit, parts[-1].high)
        else:
            parts.append(Part(byte, bit, bit))
    return Place(tuple(parts))


def edited(
    settings: list[Setting], places: dict[str, Place], to: dict[str, str], found: bytes, checksum=None
):
    layout = Layout("one", None, len(found), places, checksum)
    changes = [Change(SettingPath("box", "rec", id), None, words) for id, words in to.items()]
    edit = compile_edit(Record("rec", "Rec", tuple(settings), (layout,)), PATH, layout, changes)
    return edit, write(edit, found)


def test_against_bitstruct_in_rows():
    """Whole rows of fields, signed and unsigned; bitstruct 8: pack('u1u3u4s16', 1, 2, 3, -4) = a3fffc."""
    assert bitstruct.pack("u1u3u4s16", 1, 2, 3, -4) == bytes.fromhex("a3fffc")
    rng = random.Random(1)
    for _ in range(400):
        length = rng.randint(2, 16)
        widths, left = [], 8 * length
        while left:
            widths.append(rng.randint(1, min(left, 24)))
            left -= widths[-1]
        signs = [width > 1 and rng.random() < 0.5 for width in widths]
        raws = [rng.getrandbits(w) for w in widths]
        values = [
            r - (1 << w) if s and r >> (w - 1) else r for r, w, s in zip(raws, widths, signs, strict=True)
        ]
        form = "".join(f"{'s' if s else 'u'}{w}" for w, s in zip(widths, signs, strict=True))
        found = rng.randbytes(length)
        settings = [number(f"f{i}", w, s) for i, (w, s) in enumerate(zip(widths, signs, strict=True))]
        places = {f"f{i}": big_endian(sum(widths[:i]), w) for i, w in enumerate(widths)}
        changed = {i for i in range(len(widths)) if rng.random() < 0.6}
        old = bitstruct.unpack(form, found)
        wanted = [values[i] if i in changed else old[i] for i in range(len(widths))]
        to = {f"f{i}": str(values[i]) for i in sorted(changed)}
        edit, out = edited(settings, places, to, found)
        assert out == bitstruct.pack(form, *wanted)
        assert undo(edit, found, out) == found


@pytest.mark.parametrize("order", ["big", "little"])
def test_against_plain_integers(order):
    """One field anywhere: the record as one number, cleared and set by shifts."""
    rng = random.Random(order)
    for _ in range(1500):
        length = rng.randint(1, 12)
        width = rng.randint(1, min(8 * length, 32))
        start = rng.randint(0, 8 * length - width)
        signed = width > 1 and rng.random() < 0.5
        raw = rng.getrandbits(width)
        value = raw - (1 << width) if signed and raw >> (width - 1) else raw
        found = rng.randbytes(length)
        whole = int.from_bytes(found, order)
        shift = 8 * length - start - width if order == "big" else start
        expected = whole & ~((1 << width) - 1 << shift) | raw << shift
        place = (big_endian if order == "big" else little_endian)(start, width)
        edit, out = edited([number("f", width, signed)], {"f": place}, {"f": str(value)}, found)
        assert out == expected.to_bytes(length, order)
        (present,) = assess(edit, out).fields
        assert (present.present, present.state) == (str(value), "already done")


DBC = """VERSION ""
NS_ :
BS_:
BU_: X
BO_ 1 M: 8 X
 SG_ S : {start}|{width}@{order}{sign} ({factor},{offset}) [0|0] "" X
"""


def sawtooth(start: int) -> int:
    """The number a DBC file gives to the bit that is ``start``-th from the most significant of byte 0."""
    return start // 8 * 8 + 7 - start % 8


def test_the_quoted_signals():
    """cantools: little-endian 4|12@1+ and big-endian 23|12@0+ both 0xABC, 32|8@1- (0.5, -40) = 10.0."""
    settings = [number("a", 12, False), number("b", 12, False), number("c", 8, True, "0.5", "-40")]
    places = {"a": little_endian(4, 12), "b": big_endian(16, 12), "c": little_endian(32, 8)}
    to = {"a": str(0xABC), "b": str(0xABC), "c": "10"}
    _, out = edited(settings, places, to, bytes(8))
    assert out == bytes.fromhex("c0ababc064000000")


def test_against_cantools():
    """Scaled signals of both byte orders, signed and unsigned, across byte borders."""
    rng = random.Random(3)
    for _ in range(300):
        width, little = rng.randint(1, 24), rng.random() < 0.5
        signed = width > 1 and rng.random() < 0.5
        start = rng.randint(0, 64 - width)
        factor, offset = rng.choice([("1", "0"), ("0.5", "-40"), ("0.05", "0"), ("2", "7"), ("0.25", "100")])
        text = DBC.format(
            start=start if little else sawtooth(start),
            width=width,
            order=1 if little else 0,
            sign="-" if signed else "+",
            factor=factor,
            offset=offset,
        )
        message = cantools.database.load_string(text, "dbc").get_message_by_name("M")
        raw = rng.getrandbits(width)
        stored = raw - (1 << width) if signed and raw >> (width - 1) else raw
        value = Fraction(factor) * stored + Fraction(offset)
        expected = message.encode({"S": stored}, scaling=False, strict=False)
        place = (little_endian if little else big_endian)(start, width)
        setting = number("f", width, signed, factor, offset)
        words = f"{float(value):.2f}".rstrip("0").rstrip(".")
        assert Fraction(words) == value
        edit, out = edited([setting], {"f": place}, {"f": words}, bytes(8))
        assert out == expected
        assert assess(edit, expected).fields[0].present == words


@pytest.mark.parametrize(
    ("kind", "reference"),
    [
        ("crc8-j1850", Crc8SaeJ1850),
        ("crc8-autosar", Crc8Autosar),
        ("crc16-ibm-3740", Crc16Ibm3740),
        ("crc16-arc", Crc16Arc),
        ("crc32-iso-hdlc", Crc32IsoHdlc),
    ],
)
def test_the_checksum_written_is_that_of_crccheck(kind, reference):
    rng = random.Random(kind)
    for order in ("big", "little"):
        for _ in range(40):
            length = rng.randint(6, 20)
            checksum = Checksum(kind, 0, length - 5, length - 4, order)
            found = bytearray(rng.randbytes(length))
            size = checksum.size
            found[length - 4 : length - 4 + size] = reference.calc(found[: length - 4]).to_bytes(size, order)
            to = rng.randint(0, 255)
            setting = number("f", 8, False)
            _, out = edited([setting], {"f": Place((Part(1),))}, {"f": str(to)}, bytes(found), checksum)
            expected = bytearray(found)
            expected[1] = to
            expected[length - 4 : length - 4 + size] = reference.calc(expected[: length - 4]).to_bytes(
                size, order
            )
            assert out == expected


def test_flags_are_plain_or_and_and():
    """Each flag alone, in every byte: found | bit, found & ~bit."""
    flag = Setting("f", "f", Choices((Choice("off", 0), Choice("on", 1))), ("comfort",), "club")
    rng = random.Random(5)
    for byte in range(4):
        for bit in range(8):
            found = rng.randbytes(4)
            for words in ("on", "off"):
                _, out = edited([flag], {"f": Place((Part(byte, bit, bit),))}, {"f": words}, found)
                expected = found[byte] | 1 << bit if words == "on" else found[byte] & ~(1 << bit)
                assert out == found[:byte] + bytes([expected]) + found[byte + 1 :]
