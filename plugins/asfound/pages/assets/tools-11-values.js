/* Exact decimals and what settings store. Counterparts: fractions.Fraction, asfound.car.values.

   A fraction is {n, d}: two BigInt, d above 0, in lowest terms. */
(function (asfound) {
  "use strict";

  const { gettext, ngettext, numberWords } = asfound.speech;
  const DECIMAL = /^-?(0|[1-9][0-9]{0,19})(\.[0-9]{1,19})?$/;
  const NEARLY = /^\+?(-?)0*([0-9]{1,20}(?:[.,][0-9]{1,19})?) ?([^0-9]{0,20})$/;

  /** Words a setting cannot take: `reason`, and `repair` saying what to write. */
  class ValueProblem extends Error {
    constructor(reason, repair) {
      super(reason + " " + repair);
      this.reason = reason;
      this.repair = repair;
    }
  }

  function abs(n) { return n < 0n ? -n : n; }

  function common(a, b) {
    while (b) { [a, b] = [b, a % b]; }
    return a;
  }

  /** The fraction n/d in lowest terms. */
  function fraction(n, d) {
    if (d < 0n) { n = -n; d = -d; }
    const shared = common(abs(n), d) || 1n;
    return { n: n / shared, d: d / shared };
  }

  /** A fraction from a plain decimal number. */
  function parse(text) {
    const [whole, rest] = text.replace("-", "").split(".");
    const n = BigInt(whole + (rest || ""));
    return fraction(text[0] === "-" ? -n : n, 10n ** BigInt((rest || "").length));
  }

  function add(a, b) { return fraction(a.n * b.d + b.n * a.d, a.d * b.d); }
  function minus(a, b) { return fraction(a.n * b.d - b.n * a.d, a.d * b.d); }
  function times(a, b) { return fraction(a.n * b.n, a.d * b.d); }
  function over(a, b) { return fraction(a.n * b.d, a.d * b.n); }
  function compare(a, b) {
    const left = a.n * b.d;
    const right = b.n * a.d;
    return left < right ? -1 : left > right ? 1 : 0;
  }
  function whole(n) { return { n: BigInt(n), d: 1n }; }

  /** The whole number below or at a fraction. */
  function floor(a) {
    const q = a.n / a.d;
    return a.n % a.d < 0n ? q - 1n : q;
  }

  /** The nearest whole number, ties to even (IEEE 754 roundTiesToEven). */
  function round(a) {
    const low = floor(a);
    const twice = 2n * (a.n - low * a.d);
    if (twice < a.d) { return low; }
    if (twice > a.d) { return low + 1n; }
    return low % 2n ? low + 1n : low;
  }

  /** The exact decimal number; throws for digits that never end. Counterpart: values.decimal. */
  function decimal(a) {
    let places = 0;
    let scale = 1n;
    while (scale % a.d) {
      places += 1;
      scale *= 10n;
      if (places > 400) { throw new RangeError("no exact decimal form"); }
    }
    const digits = String(abs(a.n) * scale / a.d).padStart(places + 1, "0");
    const text = places ? digits.slice(0, -places) + "." + digits.slice(-places) : digits;
    return a.n < 0n ? "-" + text : text;
  }

  /** n/d as Python writes a Fraction. */
  function spelt(a) { return a.d === 1n ? String(a.n) : a.n + "/" + a.d; }

  function quoted(words) { return "“" + words.slice(0, 80) + "”"; }

  function named(choices, raw) {
    const found = (choices || []).find((one) => one[0] !== null && BigInt(one[0]) === raw);
    return found === undefined ? null : found[1];
  }

  function choice(choices, words) { return (choices || []).find((one) => one[1] === words); }

  function fitting(setting, raw, width) {
    if (width !== null && raw >> BigInt(width)) {
      throw new ValueProblem(
        ngettext("The value {raw} of {setting} does not fit into {n} bit.", "The value {raw} of {setting} does not fit into {n} bits.", width,
          { raw, setting: quoted(setting.name) }),
        gettext("Choose another value."));
    }
    return raw;
  }

  /** What is stored for words in `width` bits (null: not checked): {raw, shown, exact}. Counterpart: encode. */
  function encode(setting, words, width) {
    if (setting.choices) {
      const found = choice(setting.choices, words);
      if (!found) {
        throw new ValueProblem(gettext("{setting} has no value {words}.", { setting: quoted(setting.name), words: quoted(words) }),
          gettext("Choose {choices}.", { choices: setting.choices.map((one) => quoted(one[1])).join(" " + gettext("or") + " ") }));
      }
      if (found[0] === null) {
        throw new ValueProblem(gettext("Only the name of {words} is known.", { words: quoted(words) }), gettext("Ask the club."));
      }
      return { raw: fitting(setting, BigInt(found[0]), width), shown: words, exact: true };
    }
    return setting.number ? encodeNumber(setting, words, width) : encodeText(setting, words, width);
  }

  function encodeNumber(setting, words, width) {
    const kind = setting.number;
    const special = choice(kind.special, words);
    if (special && special[0] !== null) {
      return { raw: fitting(setting, BigInt(special[0]), width), shown: words, exact: true };
    }
    if (!DECIMAL.test(words)) { throw notANumber(setting, words); }
    const low = parse(kind.min);
    const high = parse(kind.max);
    const factor = parse(kind.factor);
    const offset = parse(kind.offset);
    const asked = parse(words);
    const limits = gettext("Write a number from {min} to {max}.", { min: numberWords(kind.min), max: numberWords(kind.max) });
    if (compare(asked, low) < 0 || compare(asked, high) > 0) {
      throw new ValueProblem(gettext("{value} is outside the limits of {setting}.", { value: withUnit(setting, words), setting: quoted(setting.name) }), limits);
    }
    if (factor.n === 0n) { throw new ValueProblem(gettext("{setting} has the factor 0.", { setting: quoted(setting.name) }), gettext("Ask the club.")); }
    const exactly = over(minus(asked, offset), factor);
    const stored = round(exactly);
    if (!canHold(kind, width, stored)) {
      throw new ValueProblem(gettext("The module cannot store {value}.", { value: withUnit(setting, words) }), limits);
    }
    const value = add(times(whole(stored), factor), offset);
    if (compare(value, low) < 0 || compare(value, high) > 0) {
      throw new ValueProblem(gettext("The nearest that can be stored to {words} is {nearest}, outside the limits.", { words: numberWords(words), nearest: numberWords(decimal(value)) }), limits);
    }
    const raw = width === null || stored >= 0n ? stored : stored + (1n << BigInt(width));
    const means = named(kind.special, raw);
    if (means !== null) {
      throw new ValueProblem(gettext("{value} would be stored as {raw}, which means {words}.", { value: withUnit(setting, words), raw, words: quoted(means) }), gettext("Write another number."));
    }
    return { raw, shown: decimal(value), exact: compare(value, asked) === 0 };
  }

  function canHold(kind, width, stored) {
    if (width === null) { return Boolean(kind.signed) || stored >= 0n; }
    const half = 1n << BigInt(width - 1);
    return kind.signed ? -half <= stored && stored < half : stored >= 0n && stored < 2n * half;
  }

  function notANumber(setting, words) {
    const kind = setting.number;
    const nearly = NEARLY.exec(words);
    const also = (kind.special || []).map((one) => " " + gettext("or") + " " + quoted(one[1])).join("");
    const repair = nearly && (nearly[3] === "" || nearly[3] === kind.unit)
      ? gettext("Write {number}, without unit, sign + or leading zeros.", { number: numberWords(nearly[1] + nearly[2].replace(",", ".")) })
      : gettext("Write a number from {min} to {max}{also}.", { min: numberWords(kind.min), max: numberWords(kind.max), also });
    return new ValueProblem(gettext("{words} is no plain decimal number.", { words: quoted(words) }), repair);
  }

  function encodeText(setting, words, width) {
    const { length, pad } = setting.text;
    const signs = Array.from(words);
    const odd = signs.find((one) => !(one >= " " && one <= "~"));
    if (odd !== undefined) {
      throw new ValueProblem(gettext("{setting} cannot hold the character {odd}.", { setting: quoted(setting.name), odd }),
        gettext("Use only letters without accents, digits, spaces and ASCII punctuation."));
    }
    if (signs.length > length) {
      throw new ValueProblem(ngettext("{words} has {n} character, {setting} holds {length}.", "{words} has {n} characters, {setting} holds {length}.", signs.length,
        { words: quoted(words), setting: quoted(setting.name), length }), gettext("Shorten it."));
    }
    if (pad === "space" && words.endsWith(" ")) {
      throw new ValueProblem(gettext("Spaces at the end cannot be told from the filling."), gettext("Leave them away."));
    }
    if (width !== null && width !== 8 * length) {
      throw new ValueProblem(gettext("{setting} does not fit its place.", { setting: quoted(setting.name) }), gettext("Ask the club."));
    }
    let raw = 0n;
    for (let i = 0; i < length; i += 1) {
      raw = raw << 8n | BigInt(i < words.length ? words.charCodeAt(i) : pad === "space" ? 32 : 0);
    }
    return { raw, shown: words, exact: true };
  }

  /** The words shown where only names are known, so no width. Counterpart: accept. */
  function accept(setting, words) {
    if (setting.choices && choice(setting.choices, words)) { return words; }
    return encode(setting, words, null).shown;
  }

  /** What an unsigned number of `width` bits means: {words, known}. Counterpart: decode. */
  function decode(setting, raw, width) {
    if (setting.choices) {
      const means = named(setting.choices, raw);
      return means === null ? { words: String(raw), known: false } : { words: means, known: true };
    }
    if (setting.text) { return decodeText(setting.text, raw, width); }
    const kind = setting.number;
    const means = named(kind.special, raw);
    if (means !== null) { return { words: means, known: true }; }
    const top = 1n << BigInt(width - 1);
    const stored = kind.signed && raw & top ? raw - 2n * top : raw;
    const value = add(times(whole(stored), parse(kind.factor)), parse(kind.offset));
    return { words: decimal(value), known: compare(parse(kind.min), value) <= 0 && compare(value, parse(kind.max)) <= 0 };
  }

  function decodeText(text, raw, width) {
    const held = [];
    const size = Math.max(text.length, Math.ceil(width / 8));
    for (let i = size - 1; i >= 0; i -= 1) { held.push(Number(raw >> BigInt(8 * i) & 255n)); }
    const filling = text.pad === "space" ? 32 : 0;
    let end = held.length;
    while (end && held[end - 1] === filling) { end -= 1; }
    const shown = held.slice(0, end);
    return shown.every((one) => one >= 32 && one <= 126)
      ? { words: String.fromCharCode(...shown), known: true }
      : { words: asfound.bits.toHex(held), known: false };
  }

  /** A value's words as the page calls it. Counterpart: shown. */
  function shown(setting, words) {
    const choices = setting && (setting.choices || setting.number && setting.number.special) || [];
    const found = choices.find((one) => one[1] === words);
    return found && found[2] || words;
  }

  /** Words with the setting's unit after a number, for reading: "11.4 V". Counterpart: with_unit. */
  /** A decimal number for people to read: with a minus sign, which no input of a tool need take. Counterpart: for_reading. */
  function forReading(words) { return numberWords(words).replace(/^-/, "−"); }

  function withUnit(setting, words) {
    return setting && setting.number && DECIMAL.test(words) ? forReading(words) + " " + setting.number.unit : shown(setting, words);
  }

  asfound.values = {
    ValueProblem, parse, add, minus, times, over, compare, whole, floor, decimal, spelt, encode, decode, accept, forReading, withUnit, shown,
  };
}(window.asfound = window.asfound || {}));
