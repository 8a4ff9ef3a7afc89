/* Bytes, places and checksums. Counterparts: asfound.car.bits, asfound.car.checksums.

   A record is an array of numbers 0 to 255. A place is a list of parts [byte, lowest bit, highest bit], the most
   significant first. Raw values are BigInt, since a place may be wider than a browser's numbers are exact. */
(function (asfound) {
  "use strict";

  /** Parameters of the public CRC catalogue; `reflected` is both refin and refout. */
  const KINDS = {
    "crc8-j1850": { width: 8, poly: 0x1D, init: 0xFF, reflected: false, xorout: 0xFF },
    "crc8-autosar": { width: 8, poly: 0x2F, init: 0xFF, reflected: false, xorout: 0xFF },
    "crc16-ibm-3740": { width: 16, poly: 0x1021, init: 0xFFFF, reflected: false, xorout: 0 },
    "crc16-arc": { width: 16, poly: 0x8005, init: 0, reflected: true, xorout: 0 },
    "crc32-iso-hdlc": { width: 32, poly: 0x04C11DB7, init: 0xFFFFFFFF, reflected: true, xorout: 0xFFFFFFFF },
  };

  /** Hex pairs with spaces to bytes. Counterpart: bytes.fromhex. */
  function fromHex(text) {
    const digits = text.replace(/ /g, "");
    const out = [];
    for (let at = 0; at < digits.length; at += 2) { out.push(parseInt(digits.slice(at, at + 2), 16)); }
    return out;
  }

  /** Bytes as capital hex pairs with single spaces. Counterpart: hex_pairs. */
  function toHex(bytes) {
    return Array.from(bytes, (one) => one.toString(16).toUpperCase().padStart(2, "0")).join(" ");
  }

  /** Number of bits of a place. */
  function width(place) {
    return place.reduce((sum, part) => sum + part[2] - part[1] + 1, 0);
  }

  /** The unsigned number the bits of a place hold; undefined when the record is too short. */
  function gather(place, record) {
    let value = 0n;
    for (const [byte, low, high] of place) {
      if (byte >= record.length) { return undefined; }
      const size = high - low + 1;
      value = value << BigInt(size) | BigInt(record[byte] >> low & (1 << size) - 1);
    }
    return value;
  }

  /** A copy of the record with the bits of the place replaced by a value that fits. */
  function scatter(place, record, value) {
    const out = record.slice();
    let rest = value;
    for (let i = place.length - 1; i >= 0; i -= 1) {
      const [byte, low, high] = place[i];
      const size = high - low + 1;
      const mask = (1 << size) - 1 << low;
      out[byte] = out[byte] & ~mask & 0xFF | Number(rest & (1n << BigInt(size)) - 1n) << low;
      rest >>= BigInt(size);
    }
    return out;
  }

  /** Every [byte, bit] of a place, most significant first. */
  function bits(place) {
    const out = [];
    for (const [byte, low, high] of place) {
      for (let bit = high; bit >= low; bit -= 1) { out.push([byte, bit]); }
    }
    return out;
  }

  /** The record with the masked bits taken from `from`. */
  function replace(record, mask, from) {
    return record.map((one, i) => one & ~mask[i] & 0xFF | from[i] & mask[i]);
  }

  /** Every [byte, bit] in which two records of one length differ; byte ascending, bit descending. */
  function differing(one, other) {
    const out = [];
    one.forEach((byte, at) => {
      for (let bit = 7; bit >= 0; bit -= 1) {
        if ((byte ^ other[at]) >> bit & 1) { out.push([at, bit]); }
      }
    });
    return out;
  }

  /** Whether two records are the same. */
  function same(one, other) {
    return one.length === other.length && one.every((byte, at) => byte === other[at]);
  }

  function mirrored(value, size) {
    let out = 0;
    for (let i = 0; i < size; i += 1) { out = (out << 1 | value >>> i & 1) >>> 0; }
    return out;
  }

  /** The checksum of bytes, an unsigned number. Counterpart: checksums.crc. */
  function crc(kind, data) {
    const p = KINDS[kind];
    const top = p.width - 1;
    const all = p.width === 32 ? 0xFFFFFFFF : (1 << p.width) - 1;
    let register = p.init;
    for (const one of data) {
      const byte = p.reflected ? mirrored(one, 8) : one;
      register = (register ^ byte << p.width - 8) >>> 0;
      for (let i = 0; i < 8; i += 1) {
        const carry = register >>> top & 1;
        register = (register << 1 & all) >>> 0;
        if (carry) { register = (register ^ p.poly) >>> 0; }
      }
    }
    return ((p.reflected ? mirrored(register, p.width) : register) ^ p.xorout) >>> 0;
  }

  /** Bytes of a checksum itself. */
  function checksumSize(checksum) { return KINDS[checksum.kind].width / 8; }

  /** Where a checksum lies. */
  function checksumPlace(checksum) {
    const bytes = [];
    for (let i = 0; i < checksumSize(checksum); i += 1) { bytes.push([checksum.at + i, 0, 7]); }
    return checksum.order === "little" ? bytes.reverse() : bytes;
  }

  /** The right checksum of a record. */
  function checksumOf(checksum, record) {
    return BigInt(crc(checksum.kind, record.slice(checksum.over[0], checksum.over[1] + 1)));
  }

  /** Whether the checksum a record has is the right one. */
  function checksumMatches(checksum, record) {
    return gather(checksumPlace(checksum), record) === checksumOf(checksum, record);
  }

  /** The record with its checksum put right. */
  function checksumApplied(checksum, record) {
    return scatter(checksumPlace(checksum), record, checksumOf(checksum, record));
  }

  asfound.bits = {
    fromHex, toHex, width, gather, scatter, bits, replace, differing, same, crc,
    checksumSize, checksumPlace, checksumOf, checksumMatches, checksumApplied,
  };
}(window.asfound = window.asfound || {}));
