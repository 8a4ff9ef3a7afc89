/* What is written of a record, strictly (as in files) and leniently (as people type).
   Counterparts: asfound.work.held, asfound.work.typed. */
(function (asfound) {
  "use strict";

  const { fromHex, toHex, checksumMatches } = asfound.bits;
  const LONGEST = 4096;

  function fromNumber(number, size, order) {
    const out = [];
    for (let i = size - 1; i >= 0; i -= 1) { out.push(Number(number >> BigInt(8 * i) & 255n)); }
    return order === "little" ? out.reverse() : out;
  }

  /** The bytes of a record written as its tool shows it, strictly; null when it is not. Counterpart: parse_held. */
  function parseHeld(record, length, text) {
    if (record.names_only) { return null; }
    let out;
    if (record.shown_as) {
      const [size, order] = record.shown_as;
      if (!/^(?:0|[1-9][0-9]{0,19})$/.test(text) || BigInt(text) >= 256n ** BigInt(size)) { return null; }
      out = fromNumber(BigInt(text), size, order);
    } else {
      if (text.length > 768 || !/^[0-9A-F]{2}(?: [0-9A-F]{2})*$/.test(text)) { return null; }
      out = fromHex(text);
    }
    return length !== null && out.length !== length ? null : out;
  }

  /** The record as its tool shows it. Counterpart: show_held. */
  function showHeld(record, held) {
    if (!record.shown_as) { return toHex(held); }
    const bytes = record.shown_as[1] === "little" ? held.slice().reverse() : held;
    return String(bytes.reduce((sum, one) => sum << 8n | BigInt(one), 0n));
  }

  function whole(pattern, groups) {
    let digits = "";
    for (const group of groups) {
      const found = pattern.exec(group);
      if (!found) { return ""; }
      digits += found[1];
    }
    return digits;
  }

  /** Every way to read the text as bytes, each content once: [{held, how}]. Counterpart: readings. */
  function readings(record, text) {
    if (text.length > LONGEST) { return []; }
    const groups = text.split(/[ \t\r\n,;:_-]+/).filter(Boolean);
    if (record.shown_as && groups.length === 1 && /^[0-9]+$/.test(groups[0])) {
      const [size, order] = record.shown_as;
      const fits = groups[0].length <= 32 && BigInt(groups[0]) < 256n ** BigInt(size);
      return fits ? [{ held: fromNumber(BigInt(groups[0]), size, order), how: "decimal" }] : [];
    }
    const found = [];
    const hex = whole(/^(?:0[xX])?((?:[0-9A-Fa-f]{2})+)$/, groups);
    if (hex) { found.push({ held: fromHex(hex), how: "hex" }); }
    if (groups.length && groups.every((one) => /^(?:0|[1-9][0-9]{0,2})$/.test(one) && Number(one) < 256)) {
      found.push({ held: groups.map(Number), how: "decimal" });
    }
    const binary = whole(/^(?:0[bB])?((?:[01]{8})+)$/, groups);
    if (binary) {
      found.push({ held: binary.match(/[01]{8}/g).map((one) => parseInt(one, 2)), how: "binary" });
    }
    return found.filter((one, at) => found.findIndex((other) => asfound.bits.same(one.held, other.held)) === at);
  }

  /** The readings with the layouts they can have, by length and checksum. Counterpart: matches. */
  function matches(record, layouts, text) {
    const fitting = [];
    for (const reading of readings(record, text)) {
      for (const layout of layouts) {
        if (layout.length === reading.held.length) {
          const ok = layout.checksum ? checksumMatches(layout.checksum, reading.held) : null;
          fitting.push({ reading, layout, checksumOk: ok });
        }
      }
    }
    const sound = fitting.filter((one) => one.checksumOk !== false);
    return sound.length ? sound : fitting;
  }

  asfound.typed = { parseHeld, showHeld, readings, matches };
}(window.asfound = window.asfound || {}));
