/* How an edit is made by hand: a lookup for each digit that changes, a rule for a decimal number. Counterpart:
   asfound.work.byhand; the page that draws a plan needs it, since only there recipes are merged. */
(function (asfound) {
  "use strict";

  const { bits, values, edits } = asfound;
  const MOST_PATTERNS = 12;

  /** What by hand may be done with an edit, or null where as found must be typed. Counterpart: by_hand. */
  function work(edit, record, alternatives) {
    if (edit.checksum && edit.checksum.by === "reader") { return null; }
    const defined = edits.byId(record.settings);
    const fields = edit.fields.map((field) => ({
      setting: defined[field.setting], place: field.place, to: BigInt(field.to),
      legal: legal(edit, field, defined[field.setting], alternatives),
    }));
    return record.shown_as ? number(edit, record.shown_as[1], fields) : digits(edit, fields);
  }

  /** The raw values that are no stop, as spans; null for a text. Counterpart: _legal. */
  function legal(edit, field, setting, alternatives) {
    const width = bits.width(field.place);
    const path = edits.bare(edit.record) + "/" + field.setting;
    const offered = (alternatives || []).filter((one) => one.setting === path).map((one) => values.encode(setting, one.to, width).raw);
    const single = [BigInt(field.to), ...offered].map((raw) => [raw, raw]);
    if (field.before !== undefined) {
      single.push([BigInt(field.before), BigInt(field.before)]);
      if (!field.asked) { return joined(single); }
    }
    if (setting.text) { return null; }
    const size = 1n << BigInt(width);
    const named = (setting.choices || setting.number.special || []).filter((one) => one[0] !== null && BigInt(one[0]) < size)
      .map((one) => [BigInt(one[0]), BigInt(one[0])]);
    return joined([...single, ...named, ...(setting.number ? stored(setting.number, size) : [])]);
  }

  function stored(kind, size) {
    const ceil = ({ n, d }) => -values.floor({ n: -n, d });
    const ends = [kind.min, kind.max].map((limit) => values.over(values.minus(values.parse(limit), values.parse(kind.offset)), values.parse(kind.factor)))
      .sort(values.compare);
    let low = ceil(ends[0]);
    let high = values.floor(ends[1]);
    const most = (a, b) => a > b ? a : b;
    const least = (a, b) => a < b ? a : b;
    if (!kind.signed) { return [[most(low, 0n), least(high, size - 1n)]]; }
    low = most(low, -size / 2n);
    high = least(high, size / 2n - 1n);
    return [[most(low, 0n), high], ...(low < 0n ? [[low + size, least(high, -1n) + size]] : [])];
  }

  function joined(spans) {
    const out = [];
    const sorted = spans.filter(([low, high]) => low <= high).sort((a, b) => a[0] < b[0] ? -1 : a[0] > b[0] ? 1 : a[1] < b[1] ? -1 : 1);
    for (const [low, high] of sorted) {
      const last = out[out.length - 1];
      if (last && low <= last[1] + 1n) { last[1] = high > last[1] ? high : last[1]; } else { out.push([low, high]); }
    }
    return out;
  }

  /** The numbers of the spans, cut into pieces of these widths: sets of values, null for any. Counterpart: _patterns. */
  function patterns(spans, widths) {
    const total = widths.reduce((sum, one) => sum + one, 0);
    if (spans.length === 1 && spans[0][0] === 0n && spans[0][1] === (1n << BigInt(total)) - 1n) { return [widths.map(() => null)]; }
    if (!widths.length || !spans.length) { return []; }
    const rest = BigInt(total - widths[0]);
    const same = new Map();
    for (let value = 0; value < 1 << widths[0]; value += 1) {
      const start = BigInt(value) << rest;
      const end = start + (1n << rest) - 1n;
      const below = joined(spans.filter(([a, b]) => a <= end && b >= start).map(([a, b]) => [(a > start ? a : start) - start, (b < end ? b : end) - start]));
      if (!below.length) { continue; }
      const key = below.join(";");
      if (!same.has(key)) { same.set(key, { below, of: [] }); }
      same.get(key).of.push(value);
    }
    const groups = Array.from(same.values()).sort((a, b) => a.of[0] - b.of[0]);
    return [].concat(...groups.map(({ below, of }) => (rest ? patterns(below, widths.slice(1)) : [[]]).map((tail) => [of, ...tail])));
  }

  /** A setting digit by digit: [{cell, bits}]; null when it comes back to a digit it has left. */
  function pieces(place) {
    const out = [];
    for (const [byte, bit] of bits.bits(place)) {
      const half = bit > 3 ? 0 : 1;
      const last = out[out.length - 1];
      if (last && last.cell[0] === byte && last.cell[1] === half) { last.bits.push(bit & 3); } else { out.push({ cell: [byte, half], bits: [bit & 3] }); }
    }
    return new Set(out.map((one) => one.cell.join())).size === out.length ? out : null;
  }

  const SIXTEEN = Array.from({ length: 16 }, (_, digit) => digit);
  const held = (piece, digit) => piece.bits.reduce((value, bit) => value << 1 | digit >> bit & 1, 0);

  function digits(edit, fields) {
    const possible = new Map();
    const alone = new Map(); // the same, by settings that no other digit decides about
    const allowed = [];
    const texts = [];
    let mask = new Array(edit.length).fill(0);
    let to = mask;
    for (const field of fields) {
      const all = (1n << BigInt(bits.width(field.place))) - 1n;
      mask = bits.scatter(field.place, mask, all);
      to = bits.scatter(field.place, to, field.to);
      if (field.legal === null) {
        const bytes = field.place.map((part) => part[0]);
        if (field.place.some((part) => part[1] !== 0 || part[2] !== 7) || bytes.some((byte, i) => byte !== bytes[0] + i)) { return null; }
        texts.push({ name: field.setting.name, first: bytes[0], last: bytes[bytes.length - 1], pad: field.setting.text.pad });
        continue;
      }
      const some = pieces(field.place);
      if (!some) { return null; }
      const said = patterns(field.legal, some.map((one) => one.bits.length));
      if (said.length > MOST_PATTERNS) { return null; }
      const of = said.map((one) => one.map((set, i) => set === null ? null : SIXTEEN.filter((digit) => set.includes(held(some[i], digit)))));
      some.forEach((piece, i) => {
        const key = piece.cell.join();
        const union = SIXTEEN.filter((digit) => of.some((one) => one[i] === null || one[i].includes(digit)));
        for (const known of of.length > 1 ? [possible] : [possible, alone]) {
          known.set(key, (known.get(key) || SIXTEEN).filter((digit) => union.includes(digit)));
        }
      });
      if (of.length > 1) { allowed.push({ name: field.setting.name, cells: some.map((one) => one.cell), patterns: of }); }
    }
    const lookups = [];
    const fixed = [];
    for (let byte = 0; byte < edit.length; byte += 1) {
      for (const half of [0, 1]) {
        const shift = half ? 0 : 4;
        const part = mask[byte] >> shift & 15;
        const goal = to[byte] >> shift & 15;
        const key = byte + "," + half;
        const may = possible.get(key) || SIXTEEN;
        if (part === 15 && (alone.get(key) || SIXTEEN).length === 16) {
          fixed.push({ cell: [byte, half], digit: goal });
        } else if (part) {
          lookups.push({ cell: [byte, half], write: SIXTEEN.map((digit) => may.includes(digit) ? digit & ~part | goal : null) });
        }
      }
    }
    return { mask, lookups, fixed, allowed, texts };
  }

  function number(edit, order, fields) {
    const shares = [];
    for (const field of fields) {
      const at = bits.bits(field.place).map(([byte, bit]) => 8 * (order === "little" ? byte : edit.length - 1 - byte) + bit);
      const low = at[at.length - 1];
      if (field.legal === null || at.some((one, i) => one !== low + at.length - 1 - i) || field.legal.length > MOST_PATTERNS) { return null; }
      const top = low + at.length === 8 * edit.length;
      shares.push({ divide: 1n << BigInt(low), modulo: top ? 0n : 1n << BigInt(at.length), to: field.to, allowed: field.legal });
    }
    if (shares.length === 1 && shares[0].divide === 1n && !shares[0].modulo) { return { whole: shares[0].to, allowed: shares[0].allowed, shares: [] }; }
    return { whole: null, allowed: [], shares };
  }

  asfound.byhand = { work };
}(window.asfound = window.asfound || {}));
