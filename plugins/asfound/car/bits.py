"""Bits of a record: parts, places, masks.

Byte 0 is the first of the record; bit 0 is the least significant of its byte. A place made of several parts
lists the most significant first, so both byte orders and any crossing of byte borders are the same thing.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, order=True)
class Part:
    """A run of bits ``low``…``high`` (both included) of one byte."""

    byte: int
    low: int = 0
    high: int = 7

    @property
    def width(self) -> int:
        """Number of bits; below 1 when ``high`` < ``low``, which the rules report."""
        return self.high - self.low + 1

    @property
    def mask(self) -> int:
        """The part's bits as a value of its byte."""
        return ((1 << self.width) - 1) << self.low


@dataclass(frozen=True, slots=True)
class Place:
    """Where a setting lies in a record: parts, most significant first."""

    parts: tuple[Part, ...]

    @property
    def width(self) -> int:
        """Number of bits altogether."""
        return sum(part.width for part in self.parts)

    def gather(self, record: bytes) -> int:
        """The unsigned number these bits of ``record`` hold. IndexError when the record is too short."""
        value = 0
        for part in self.parts:
            value = value << part.width | (record[part.byte] & part.mask) >> part.low
        return value

    def scatter(self, record: bytes, value: int) -> bytes:
        """``record`` with these bits replaced by ``value``.

        ValueError when ``value`` does not fit into the place's bits.
        """
        if not 0 <= value < 1 << self.width:
            raise ValueError(f"{value} does not fit into {self.width} bits")
        out = bytearray(record)
        for part in reversed(self.parts):
            out[part.byte] = out[part.byte] & ~part.mask & 0xFF | (value << part.low) & part.mask
            value >>= part.width
        return bytes(out)

    def mask(self, length: int) -> bytes:
        """A record of ``length`` bytes with exactly this place's bits set."""
        return self.scatter(bytes(length), (1 << self.width) - 1)

    def bits(self) -> tuple[tuple[int, int], ...]:
        """Every (byte, bit), most significant first."""
        return tuple((p.byte, bit) for p in self.parts for bit in range(p.high, p.low - 1, -1))


def combine(masks: Iterable[bytes], length: int) -> bytes:
    """The union of masks of one length."""
    out = 0
    for mask in masks:
        out |= int.from_bytes(mask, "big")
    return out.to_bytes(length, "big")


def replace(record: bytes, mask: bytes, bits: bytes) -> bytes:
    """``record`` with the masked bits taken from ``bits``."""
    return bytes(r & ~m & 0xFF | b & m for r, m, b in zip(record, mask, bits, strict=True))


def differing(one: bytes, other: bytes) -> tuple[tuple[int, int], ...]:
    """Every (byte, bit) in which two records of one length differ; byte ascending, bit descending."""
    return tuple(
        (byte, bit)
        for byte, (a, b) in enumerate(zip(one, other, strict=True))
        for bit in range(7, -1, -1)
        if (a ^ b) >> bit & 1
    )


def hex_pairs(record: bytes) -> str:
    """``01 40 00``: the way records are written everywhere in asfound."""
    return record.hex(" ").upper()
