"""Checksums inside records: the public CRC catalogue's parameters and the one algorithm they describe.

Source: R. Williams, "A painless guide to CRC error detection algorithms" (the parameter model), and the
catalogue of parametrised CRC algorithms that uses it (names and parameters).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal

from .bits import Part, Place


@dataclass(frozen=True, slots=True)
class Parameters:
    """A catalogue entry; ``poly`` without its top bit; ``reflected`` is both refin and refout."""

    width: int
    poly: int
    init: int
    reflected: bool
    xorout: int


KINDS: dict[str, Parameters] = {
    "crc8-j1850": Parameters(8, 0x1D, 0xFF, False, 0xFF),  # CRC-8/SAE-J1850
    "crc8-autosar": Parameters(8, 0x2F, 0xFF, False, 0xFF),  # CRC-8/AUTOSAR
    "crc16-ibm-3740": Parameters(16, 0x1021, 0xFFFF, False, 0x0000),  # CRC-16/IBM-3740
    "crc16-arc": Parameters(16, 0x8005, 0x0000, True, 0x0000),  # CRC-16/ARC
    "crc32-iso-hdlc": Parameters(32, 0x04C11DB7, 0xFFFFFFFF, True, 0xFFFFFFFF),  # CRC-32/ISO-HDLC
}


def _reverse(value: int, width: int) -> int:
    """The lowest ``width`` bits of ``value``, last first."""
    return int(f"{value:0{width}b}"[::-1], 2)


@cache
def _table(kind: str) -> tuple[int, ...]:
    """What each byte, shifted out at the top of the register, puts back into it."""
    p = KINDS[kind]
    rows = []
    for byte in range(256):
        register = byte << p.width - 8
        for _ in range(8):
            carry = register >> p.width - 1
            register = (register << 1 & (1 << p.width) - 1) ^ (p.poly if carry else 0)
        rows.append(register)
    return tuple(rows)


def crc(kind: str, data: bytes) -> int:
    """The checksum of ``data``. KeyError for a kind that is not in ``KINDS``."""
    p, table = KINDS[kind], _table(kind)
    register = p.init
    for byte in data:
        if p.reflected:
            byte = _reverse(byte, 8)
        register = (register << 8 & (1 << p.width) - 1) ^ table[register >> p.width - 8 ^ byte]
    return (_reverse(register, p.width) if p.reflected else register) ^ p.xorout


@dataclass(frozen=True, slots=True)
class Checksum:
    """A checksum over the bytes ``first``…``last`` (both included) of a record, kept from byte ``at`` on.

    ``order`` is that of a checksum of several bytes. ``by`` says who puts it right when the record is
    written: the tool, or whoever types the bytes.
    """

    kind: str
    first: int
    last: int
    at: int
    order: Literal["big", "little"] = "big"
    by: Literal["tool", "reader"] = "tool"

    @property
    def size(self) -> int:
        """Bytes of the checksum itself."""
        return KINDS[self.kind].width // 8

    @property
    def place(self) -> Place:
        """Where the checksum itself lies."""
        bytes_ = range(self.at, self.at + self.size)
        return Place(tuple(Part(b) for b in (bytes_ if self.order == "big" else reversed(bytes_))))

    def compute(self, record: bytes) -> int:
        """The right checksum of ``record``. IndexError when the record ends before ``last``."""
        if self.last >= len(record):
            raise IndexError(f"the checksum covers byte {self.last}, the record has {len(record)} bytes")
        return crc(self.kind, record[self.first : self.last + 1])

    def held(self, record: bytes) -> int:
        """The checksum ``record`` has. IndexError when the record is too short."""
        return self.place.gather(record)

    def matches(self, record: bytes) -> bool:
        """Whether the checksum ``record`` has is the right one."""
        return self.held(record) == self.compute(record)

    def applied(self, record: bytes) -> bytes:
        """``record`` with its checksum put right."""
        return self.place.scatter(record, self.compute(record))
