"""Checksums against the CRC catalogue's check values and crccheck."""

import random

import pytest
from crccheck import crc as reference

from asfound.car.checksums import KINDS, Checksum, crc

# The catalogue of parametrised CRC algorithms: check = CRC of the ASCII text 123456789 (from memory).
CHECK = {
    "crc8-j1850": (0x4B, reference.Crc8SaeJ1850),
    "crc8-autosar": (0xDF, reference.Crc8Autosar),
    "crc16-ibm-3740": (0x29B1, reference.Crc16Ibm3740),
    "crc16-arc": (0xBB3D, reference.Crc16Arc),
    "crc32-iso-hdlc": (0xCBF43926, reference.Crc32IsoHdlc),
}


def test_every_kind_has_a_reference() -> None:
    assert CHECK.keys() == KINDS.keys()


@pytest.mark.parametrize("kind", KINDS)
def test_check_value(kind: str) -> None:
    assert crc(kind, b"123456789") == CHECK[kind][0]


@pytest.mark.parametrize("kind", KINDS)
def test_random_data_agrees_with_crccheck(kind: str) -> None:
    rng = random.Random(kind)
    for size in [0, 1, *(rng.randint(2, 300) for _ in range(60))]:
        data = rng.randbytes(size)
        assert crc(kind, data) == CHECK[kind][1].calc(data)


@pytest.mark.parametrize("order", ["big", "little"])
@pytest.mark.parametrize("kind", KINDS)
def test_in_a_record(kind: str, order: str) -> None:
    rng = random.Random(kind + order)
    size = KINDS[kind].width // 8
    checksum = Checksum(kind, 1, 9, 10, order)  # type: ignore[arg-type]
    record = rng.randbytes(12 + size)
    right = CHECK[kind][1].calc(record[1:10])
    out = checksum.applied(record)
    assert checksum.size == size
    assert out[10 : 10 + size] == right.to_bytes(size, order)  # type: ignore[arg-type]
    assert out[:10] == record[:10] and out[10 + size :] == record[10 + size :]
    assert checksum.matches(out) and checksum.held(out) == checksum.compute(out) == right
    for bit in range(8):  # a CRC finds every single wrong bit
        wrong = bytearray(out)
        wrong[rng.randint(1, 9 + size)] ^= 1 << bit
        assert not checksum.matches(bytes(wrong))


def test_a_record_too_short_is_refused() -> None:
    with pytest.raises(IndexError):
        Checksum("crc8-j1850", 0, 6, 0).compute(bytes(6))
    with pytest.raises(IndexError):
        Checksum("crc16-arc", 0, 3, 7).held(bytes(8))
