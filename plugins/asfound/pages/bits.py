"""Bits on a page: changed ones are bold, underlined and in brackets, so that print and ears tell them too."""

from __future__ import annotations

from functools import lru_cache

from markupsafe import Markup


def _runs(mask: int) -> list[tuple[int, int]]:
    """(high, low) of each run of set bits within one half of the byte, most significant first."""
    runs: list[tuple[int, int]] = []
    for half in (7, 3):
        high = None
        for bit in range(half, half - 5, -1):
            inside = bit > half - 4 and mask >> bit & 1
            if inside and high is None:
                high = bit
            elif not inside and high is not None:
                runs.append((high, bit + 1))
                high = None
    return runs


@lru_cache(maxsize=8192)
def binary(value: int, known: int = 0xFF, changed: int = 0) -> Markup:
    """One byte in binary; a bit outside ``known`` is a dot (stays as found), ``changed`` bits are marked."""
    starts = {high: low for high, low in _runs(changed)}
    ends = set(starts.values())
    out: list[str] = []
    for bit in range(7, -1, -1):
        if bit == 3:
            out.append(" ")
        if bit in starts:
            out.append("<b>[")
        out.append(str(value >> bit & 1) if known >> bit & 1 else "·")
        if bit in ends:
            out.append("]</b>")
    return Markup(f'<code class="asf-bin">{"".join(out)}</code>')


def record_hex(record: bytes, changed: bytes | None = None) -> Markup:
    """A whole record as pairs, eight to a group; pairs in which ``changed`` has a bit set are marked."""
    pairs = [
        f"<b>[{byte:02X}]</b>" if changed is not None and changed[at] else f"{byte:02X}"
        for at, byte in enumerate(record)
    ]
    rows = (" ".join(pairs[at : at + 8]) for at in range(0, len(pairs), 8))
    return Markup(f'<code class="asf-record">{"  ".join(rows)}</code>')


def digit_table(mask: int, bits: int, known: int = 0, before: int = 0) -> tuple[tuple[str, str], ...]:
    """For one hexadecimal digit with some bits masked: (as found, to write) for each digit that changes.

    Only digits whose bits in ``known`` are as in ``before``: any other is unexpected, and a stop.
    """
    out = []
    for digit in range(16):
        to = digit & ~mask & 15 | bits & mask
        if to != digit and not (digit ^ before) & known:
            out.append((f"{digit:X}", f"{to:X}"))
    return tuple(out)
