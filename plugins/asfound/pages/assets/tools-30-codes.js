/* Codes, fault codes and SHA-256. Counterparts: asfound.trust.letters, asfound.trust.canonical.spell,
   asfound.work.faults; FIPS 180-4 for the hash, since a page opened from a file has no SubtleCrypto everywhere. */
(function (asfound) {
  "use strict";

  const ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";

  let made = null;

  /** The first 32 bits of the fractional part of the square (or cube) roots of primes: FIPS 180-4, 4.2.2 and 5.3.3.
      Worked out when they are wanted, which on most pages they are not. */
  function constants() {
    if (made) { return made; }
    const primes = [];
    for (let n = 2; primes.length < 64; n += 1) {
      if (primes.every((prime) => n % prime)) { primes.push(n); }
    }
    const bits = (value) => Math.floor((value - Math.floor(value)) * 4294967296) | 0;
    made = { k: Int32Array.from(primes, (prime) => bits(Math.cbrt(prime))), h: primes.slice(0, 8).map((prime) => bits(Math.sqrt(prime))) };
    return made;
  }

  const turned = (x, n) => x >>> n | x << 32 - n;

  /** A running SHA-256: update(Uint8Array) as often as wanted, then hex(). */
  class Sha256 {
    constructor() {
      const { k, h } = constants();
      this.k = k;
      this.h = Int32Array.from(h);
      this.block = new Uint8Array(64);
      this.filled = 0;
      this.length = 0;
      this.w = new Int32Array(64);
    }

    update(data) {
      this.length += data.length;
      let at = 0;
      while (at < data.length) {
        const take = Math.min(64 - this.filled, data.length - at);
        this.block.set(data.subarray(at, at + take), this.filled);
        this.filled += take;
        at += take;
        if (this.filled === 64) { this.compress(this.block); this.filled = 0; }
      }
      return this;
    }

    compress(block) {
      const { k, w } = this;
      for (let i = 0; i < 16; i += 1) {
        w[i] = block[4 * i] << 24 | block[4 * i + 1] << 16 | block[4 * i + 2] << 8 | block[4 * i + 3];
      }
      for (let i = 16; i < 64; i += 1) {
        const x = w[i - 15];
        const y = w[i - 2];
        w[i] = w[i - 16] + w[i - 7] + (turned(x, 7) ^ turned(x, 18) ^ x >>> 3) + (turned(y, 17) ^ turned(y, 19) ^ y >>> 10) | 0;
      }
      let [a, b, c, d, e, f, g, h] = this.h;
      for (let i = 0; i < 64; i += 1) {
        const one = h + (turned(e, 6) ^ turned(e, 11) ^ turned(e, 25)) + (e & f ^ ~e & g) + k[i] + w[i] | 0;
        const two = (turned(a, 2) ^ turned(a, 13) ^ turned(a, 22)) + (a & b ^ a & c ^ b & c) | 0;
        h = g; g = f; f = e; e = d + one | 0; d = c; c = b; b = a; a = one + two | 0;
      }
      [a, b, c, d, e, f, g, h].forEach((value, i) => { this.h[i] = this.h[i] + value | 0; });
    }

    hex() {
      const length = this.length;
      const tail = new Uint8Array((this.filled < 56 ? 64 : 128) - this.filled);
      tail[0] = 0x80;
      const view = new DataView(tail.buffer);
      view.setUint32(tail.length - 8, Math.floor(length / 536870912));
      view.setUint32(tail.length - 4, length * 8 >>> 0);
      this.update(tail);
      return Array.from(this.h, (one) => (one >>> 0).toString(16).padStart(8, "0")).join("");
    }
  }

  /** SHA-256 of a Uint8Array, in small hexadecimal. */
  function sha256(data) { return new Sha256().update(data).hex(); }

  /** A document as RFC 8785 writes it (whole numbers only). Counterpart: canonical.spell. */
  function spell(document) {
    if (Array.isArray(document)) { return "[" + document.map(spell).join(",") + "]"; }
    if (document && typeof document === "object") {
      return "{" + Object.keys(document).sort().map((key) => JSON.stringify(key) + ":" + spell(document[key])).join(",") + "}";
    }
    return JSON.stringify(document);
  }

  function timesAlpha(element) {
    const out = element << 1;
    return out & 32 ? out ^ 37 : out;
  }

  function checkLetter(letters) {
    let total = 0;
    for (const letter of letters) { total = timesAlpha(total) ^ ALPHABET.indexOf(letter); }
    return ALPHABET[timesAlpha(total)];
  }

  /** The code of UTF-8 text. Counterpart: make_code. */
  function makeCode(text) {
    const bits = BigInt("0x" + sha256(new TextEncoder().encode(text)).slice(0, 10)) >> 5n;
    let letters = "";
    for (let shift = 30n; shift >= 0n; shift -= 5n) { letters += ALPHABET[Number(bits >> shift & 31n)]; }
    return letters + checkLetter(letters);
  }

  /** What somebody typed as a code, made regular. Counterpart: normalise. */
  function normalise(typed) {
    return typed.replace(/[a-z]/g, (one) => one.toUpperCase()).replace(/[IL]/g, "1").replace(/O/g, "0")
      .replace(/U/g, "V").replace(/[ -]/g, "");
  }

  /** Whether a typed code can be one. Counterpart: check_code. */
  function codeRight(typed) {
    const code = normalise(typed);
    return /^[0-9A-HJKMNP-TV-Z]{8}$/.test(code) && checkLetter(code.slice(0, 7)) === code[7];
  }

  /** The fault code of a two-byte number (SAE J2012). Counterpart: decode_fault. */
  function decodeFault(number) {
    return "PCBU"[number >> 14] + (number >> 12 & 3) + (number & 0xFFF).toString(16).toUpperCase().padStart(3, "0");
  }

  /** The number of a fault code; null for anything else. Counterpart: encode_fault. */
  function encodeFault(code) {
    if (!/^[PCBU][0-3][0-9A-F]{3}$/.test(code)) { return null; }
    return "PCBU".indexOf(code[0]) << 14 | Number(code[1]) << 12 | parseInt(code.slice(2), 16);
  }

  asfound.codes = { Sha256, sha256, spell, makeCode, normalise, codeRight, decodeFault, encodeFault };
}(window.asfound = window.asfound || {}));
