"""Places in records against bitstruct, cantools (as DBC files count bits) and plain integers."""

import random
from fractions import Fraction

import bitstruct
import cantools.database
import pytest

from asfound.car.bits import Part, Place, combine, differing, replace
from asfound.car.settings import Number, Setting
from asfound.car.values import decode, encode


def place_of(bits: list[tuple[int, int]]) -> Place:
    """The place of single (byte, bit) pairs, most significant first, runs of one byte joined."""
    parts: list[Part] = []
    for byte, bit in bits:
        if parts and parts[-1].byte == byte and parts[-1].low == bit + 1:
            parts[-1] = Part(byte, bit, parts[-1].high)
        else:
            parts.append(Part(byte, bit, bit))
    return Place(tuple(parts))


def big_endian(start: int, width: int) -> Place:
    """``start`` counts from the most significant bit of byte 0, as bitstruct does."""
    return place_of([(i // 8, 7 - i % 8) for i in range(start, start + width)])


def little_endian(start: int, width: int) -> Place:
    """``start`` counts from the least significant bit of byte 0, as DBC files do for Intel order."""
    return place_of([(i // 8, i % 8) for i in range(start + width - 1, start - 1, -1)])


def number(signed: bool, width: int, factor: str = "1", offset: str = "0") -> Setting:
    f, o = Fraction(factor), Fraction(offset)
    low, high = (-(1 << width - 1), (1 << width - 1) - 1) if signed else (0, (1 << width) - 1)
    ends = sorted((low * f + o, high * f + o))
    return Setting("n", "N", Number(f, o, "V", ends[0], ends[1], signed), ("comfort",), "maker")


def test_the_example_of_bitstruct() -> None:
    # bitstruct 8.24: pack('u1u3u4s16', 1, 2, 3, -4) == a3fffc
    record = bytes(3)
    for place, raw in (
        (big_endian(0, 1), 1),
        (big_endian(1, 3), 2),
        (big_endian(4, 4), 3),
        (big_endian(8, 16), encode(number(True, 16), "-4", 16).raw),
    ):
        record = place.scatter(record, raw)
    assert record.hex() == "a3fffc" == bitstruct.pack("u1u3u4s16", 1, 2, 3, -4).hex()


def test_the_example_of_cantools() -> None:
    # cantools 45.1: 4|12@1+ and 23|12@0+ both 0xABC, 32|8@1- (0.5,-40) = 10.0
    scaled = number(True, 8, "0.5", "-40")
    record = little_endian(4, 12).scatter(bytes(8), 0xABC)
    record = big_endian(16, 12).scatter(record, 0xABC)  # DBC bit 23 is the most significant of byte 2
    record = little_endian(32, 8).scatter(record, encode(scaled, "10", 8).raw)
    assert record.hex() == "c0ababc064000000"
    assert decode(scaled, little_endian(32, 8).gather(record), 8).words == "10"


def test_random_fields_agree_with_bitstruct() -> None:
    rng = random.Random(1)
    for _ in range(2000):
        length = rng.randint(1, 12)
        start = rng.randrange(8 * length)
        width = rng.randint(1, min(64, 8 * length - start))
        record, signed = rng.randbytes(length), rng.random() < 0.5
        layout = "".join(
            f"{kind}{n}"
            for kind, n in (("u", start), ("s" if signed else "u", width), ("u", 8 * length - start - width))
            if n
        )
        fields = list(bitstruct.unpack(layout, record))
        at = 1 if start else 0
        place = big_endian(start, width)
        setting = number(signed, width)
        assert decode(setting, place.gather(record), width).words == str(fields[at])
        fields[at] = (
            rng.randint(-(1 << width - 1), (1 << width - 1) - 1) if signed else rng.getrandbits(width)
        )
        stored = encode(setting, str(fields[at]), width)
        assert stored.exact and place.scatter(record, stored.raw) == bitstruct.pack(layout, *fields)


def test_random_signals_agree_with_cantools() -> None:
    rng = random.Random(2)
    lines, fields = ['VERSION ""', "BS_:", "BU_: A"], []
    for i in range(1500):
        little, signed = rng.random() < 0.5, rng.random() < 0.5
        first = rng.randrange(64)
        width = rng.randint(1, 64 - first)
        place = little_endian(first, width) if little else big_endian(first, width)
        # DBC names an Intel signal by its least significant bit, a Motorola signal by its most significant
        # one, both counted eight to the byte from the least significant bit of the byte.
        start = first if little else first // 8 * 8 + 7 - first % 8
        lines += [f"BO_ {i + 1} M{i}: 8 A", f' SG_ S : {start}|{width}@{int(little)}{"-" if signed else "+"}'
                  f' (1,0) [0|0] "" A', ""]  # fmt: skip
        fields.append((place, width, signed))
    messages = cantools.database.load_string("\n".join(lines), "dbc").messages
    by_name = {message.name: message for message in messages}
    for i, (place, width, signed) in enumerate(fields):
        message, record, setting = by_name[f"M{i}"], rng.randbytes(8), number(signed, width)
        raw = place.gather(record)
        assert int(decode(setting, raw, width).words) == message.decode(record, scaling=False)["S"]
        written = message.encode({"S": message.decode(record, scaling=False)["S"]}, scaling=False)
        assert place.scatter(bytes(8), raw) == written


@pytest.mark.parametrize("order", ["big", "little"])
def test_whole_bytes_agree_with_plain_integers(order: str) -> None:
    rng = random.Random(3)
    for _ in range(500):
        record = rng.randbytes(rng.randint(2, 16))
        first = rng.randrange(len(record))
        size = rng.randint(1, len(record) - first)
        run = range(first, first + size)
        place = Place(tuple(Part(byte) for byte in (run if order == "big" else reversed(run))))
        assert place.gather(record) == int.from_bytes(record[first : first + size], order)  # type: ignore[arg-type]
        value = rng.getrandbits(8 * size)
        expected = record[:first] + value.to_bytes(size, order) + record[first + size :]  # type: ignore[arg-type]
        assert place.scatter(record, value) == expected


def test_scattered_parts_agree_with_plain_integers() -> None:
    rng = random.Random(4)
    for _ in range(500):
        length = rng.randint(1, 8)
        every = [(byte, bit) for byte in range(length) for bit in range(8)]
        bits = rng.sample(every, rng.randint(1, len(every)))
        place, record = place_of(bits), rng.randbytes(length)
        whole = int.from_bytes(record, "little")
        assert place.bits() == tuple(bits) and place.width == len(bits)
        assert place.gather(record) == int("".join(str(whole >> 8 * y + t & 1) for y, t in bits), 2)
        value = rng.getrandbits(len(bits))
        out = place.scatter(record, value)
        assert place.gather(out) == value
        # No other bit moved, and masks say which may.
        assert set(differing(record, out)) <= set(bits)
        assert out == replace(record, place.mask(length), out)
        assert combine([place.mask(length), bytes(length)], length) == place.mask(length)


def test_a_value_that_does_not_fit_is_refused() -> None:
    for value in (-1, 8):
        with pytest.raises(ValueError, match="3 bits"):
            Place((Part(0, 2, 4),)).scatter(b"\0", value)
    with pytest.raises(IndexError):
        Place((Part(1),)).gather(b"\0")
