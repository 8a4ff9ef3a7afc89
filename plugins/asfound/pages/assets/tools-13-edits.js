/* Edits: what a record holds now, what to write, and the way back. Counterparts: asfound.work.compiled,
   asfound.work.edits. Edits and settings are plain data as asfound.pages.compiled writes them. */
(function (asfound) {
  "use strict";

  const { gettext } = asfound.speech;
  const bits = asfound.bits;
  const { encode, decode, accept, ValueProblem } = asfound.values;

  /** Nothing may be written: `kind` is length, checksum or undo; `reason` says why, `repair` what to do. */
  class Stop extends Error {
    constructor(kind, reason, repair) {
      super(reason);
      this.kind = kind;
      this.reason = reason;
      this.repair = repair || ASK;
    }
  }

  /** Changes that cannot be made together, or a value that cannot be stored. */
  class EditProblem extends Error {
    constructor(reason, repair) {
      super(reason);
      this.reason = reason;
      this.repair = repair || gettext("Leave one of the two out or make them agree.");
    }
  }

  const ASK = gettext("Leave the record as it is and ask the club.");
  const AGAIN = gettext("Read it again; if that does not help, this layout is not that of the car: stop and ask.");

  function byId(settings) {
    const out = {};
    for (const one of settings) { out[one.id] = one; }
    return out;
  }

  /** module/record of a record path, without the place. */
  function bare(path) { return path.replace(/@[^/]*/, ""); }

  function others(edit, field, alternatives) {
    return (alternatives || []).filter((one) => one.setting === bare(edit.record) + "/" + field.setting);
  }

  /** What a record as found means for the edit: {state, fields, checksumOk, stops}. Counterpart: assess. */
  function assess(edit, settings, found, alternatives) {
    checkLength(edit, found);
    const defined = byId(settings);
    const fields = edit.fields.map((field) => {
      const setting = defined[field.setting];
      const width = bits.width(field.place);
      const raw = bits.gather(field.place, found);
      const meaning = decode(setting, raw, width);
      const offered = others(edit, field, alternatives).map((one) => stored(setting, one.to, width));
      let state = "unexpected";
      if (raw === BigInt(field.to)) {
        state = "already done";
      } else if (field.before === undefined ? meaning.known : raw === BigInt(field.before)) {
        state = "ready";
      } else if (offered.includes(raw) || field.asked && meaning.known) {
        state = "another offered value";
      }
      return { setting: field.setting, state, present: meaning.words, known: meaning.known };
    });
    const ok = edit.checksum ? bits.checksumMatches(edit.checksum, found) : null;
    const stops = unexpected(edit, defined, fields);
    if (ok === false) { stops.unshift(checksumWords(edit.checksum, found)); }
    return { state: stops.length ? "unexpected" : overall(fields), fields, checksumOk: ok, stops };
  }

  /** As `assess`, for a record read by name; `found` is words by setting. Counterpart: assess_names. */
  function assessNames(edit, settings, found, alternatives) {
    const defined = byId(settings);
    const fields = edit.fields.map((field) => {
      const present = found[field.setting] || "";
      const known = legal(defined[field.setting], present);
      const offered = others(edit, field, alternatives).some((one) => one.to === present);
      let state = "unexpected";
      if (present === field.to_words) {
        state = "already done";
      } else if (field.before_words === undefined ? known : present === field.before_words) {
        state = "ready";
      } else if (offered || field.asked && known) {
        state = "another offered value";
      }
      return { setting: field.setting, state, present, known };
    });
    const stops = unexpected(edit, defined, fields);
    return { state: stops.length ? "unexpected" : overall(fields), fields, checksumOk: null, stops };
  }

  /** What to write. Stops on a wrong length or checksum. Counterpart: write. */
  function write(edit, found) {
    checkLength(edit, found);
    checkSum(edit, found, gettext("as found"));
    return sealed(edit, bits.replace(found, bits.fromHex(edit.mask), bits.fromHex(edit.bits)));
  }

  /** What each setting is to show afterwards. Counterpart: write_names. */
  function writeNames(edit, found) {
    const out = Object.assign({}, found);
    for (const field of edit.fields) { out[field.setting] = field.to_words; }
    return out;
  }

  /** The way back: `present` with the masked bits from the note. Counterpart: undo. */
  function undo(edit, settings, noted, present) {
    checkLength(edit, noted);
    checkLength(edit, present);
    checkSum(edit, noted, gettext("as noted"));
    checkSum(edit, present, gettext("as it is now"));
    mustBeTo(edit, byId(settings), present);
    return sealed(edit, bits.replace(present, bits.fromHex(edit.mask), noted));
  }

  /** The way back by value, after the module changed its layout. Counterpart: put_back_by_value. */
  function putBackByValue(old, noted, now, present, settings) {
    const defined = byId(settings);
    checkLength(old, noted);
    checkLength(now, present);
    checkSum(old, noted, gettext("as noted"));
    checkSum(now, present, gettext("as it is now"));
    mustBeTo(now, defined, present);
    let out = present;
    for (const field of old.fields) {
      const setting = defined[field.setting];
      const target = now.fields.find((one) => one.setting === field.setting);
      if (!target) { throw new Stop("undo", gettext("The layout it has now has no place for “{setting}”.", { setting: setting.name })); }
      const was = decode(setting, bits.gather(field.place, noted), bits.width(field.place));
      if (!was.known) {
        throw new Stop("undo", gettext("“{setting}” was noted as “{words}”, which has no known meaning.", { setting: setting.name, words: was.words }));
      }
      let value;
      try {
        value = encode(setting, was.words, bits.width(target.place));
      } catch (error) {
        if (!(error instanceof ValueProblem)) { throw error; }
        throw new Stop("undo", gettext("“{setting}” was “{words}”. {reason}", { setting: setting.name, words: was.words, reason: error.reason }));
      }
      if (!value.exact) {
        throw new Stop("undo", gettext("“{setting}” was “{words}”, which it cannot hold exactly now.", { setting: setting.name, words: was.words }));
      }
      out = bits.scatter(target.place, out, value.raw);
    }
    return sealed(now, out);
  }

  /** `undo` by name. Counterpart: put_back_names. */
  function putBackNames(edit, settings, noted, present) {
    const defined = byId(settings);
    const out = Object.assign({}, present);
    for (const field of edit.fields) {
      const name = defined[field.setting].name;
      const now = present[field.setting] || "";
      if (now !== field.to_words) {
        throw new Stop("undo", gettext("“{name}” shows “{now}”, not “{wanted}”: something else has changed it.", { name, now, wanted: field.to_words }));
      }
      if (noted[field.setting] === undefined) { throw new Stop("undo", gettext("“{name}” was never noted.", { name })); }
      out[field.setting] = noted[field.setting];
    }
    return out;
  }

  /** Several edits of one record in one layout as one. EditProblem when they clash. Counterpart: compose. */
  function compose(edits) {
    const first = edits[0];
    const fields = [].concat(...edits.map((one) => one.fields));
    return first.layout === undefined ? packNames(first.record, fields) : pack(first, fields);
  }

  /** The edit with what the reader chose, words by setting. Counterpart: compile_edit with `choose`. */
  function choose(edit, settings, chosen) {
    const defined = byId(settings);
    const fields = edit.fields.map((field) => {
      if (!field.asked || chosen[field.setting] === undefined) { return field; }
      const setting = defined[field.setting];
      const words = chosen[field.setting];
      const out = Object.assign({}, field);
      delete out.rounded;
      try {
        if (field.place === undefined) {
          out.to_words = accept(setting, words);
        } else {
          const value = encode(setting, words, bits.width(field.place));
          out.to = String(value.raw);
          out.to_words = value.shown;
          if (!value.exact) { out.rounded = true; }
        }
      } catch (error) {
        if (error instanceof ValueProblem) { throw new EditProblem(error.reason, error.repair); }
        throw error;
      }
      return out;
    });
    return edit.layout === undefined ? packNames(edit.record, fields) : pack(edit, fields);
  }

  function pack(edit, fields) {
    const after = new Map();
    const before = new Map();
    const merged = new Map();
    for (const field of fields) {
      claim(after, field, field.to);
      if (field.before !== undefined) { claim(before, field, field.before); }
      const known = merged.get(field.setting);
      if (!known) {
        merged.set(field.setting, field);
      } else {
        const both = Object.assign({}, known);
        if (known.before === undefined && field.before !== undefined) {
          both.before = field.before;
          both.before_words = field.before_words;
        }
        if (field.asked) { both.asked = true; }
        merged.set(field.setting, both);
      }
    }
    const mask = new Array(edit.length).fill(0);
    const to = new Array(edit.length).fill(0);
    after.forEach((value, at) => {
      const [byte, bit] = at.split(".").map(Number);
      mask[byte] |= 1 << bit;
      to[byte] |= value << bit;
    });
    return Object.assign({}, edit, {
      mask: bits.toHex(mask), bits: bits.toHex(to), fields: Array.from(merged.values()),
    });
  }

  function claim(claims, field, raw) {
    const all = bits.bits(field.place);
    all.forEach(([byte, bit], i) => {
      const at = byte + "." + bit;
      const value = Number(BigInt(raw) >> BigInt(all.length - 1 - i) & 1n);
      if (claims.has(at) && claims.get(at) !== value) {
        throw new EditProblem(gettext("Two changes want byte {byte} bit {bit} differently.", { byte, bit }));
      }
      claims.set(at, value);
    });
  }

  function packNames(record, fields) {
    const merged = new Map();
    for (const field of fields) {
      const known = merged.get(field.setting) || field;
      const two = [known.before_words, field.before_words];
      if (known.to_words !== field.to_words || !two.includes(undefined) && two[0] !== two[1]) {
        throw new EditProblem(gettext("“{setting}” is changed twice, in different ways.", { setting: field.setting }));
      }
      const both = Object.assign({}, known);
      if (both.before_words === undefined && field.before_words !== undefined) { both.before_words = field.before_words; }
      if (field.asked) { both.asked = true; }
      merged.set(field.setting, both);
    }
    return { record, fields: Array.from(merged.values()) };
  }

  function stored(setting, words, width) {
    try {
      return encode(setting, words, width).raw;
    } catch (error) {
      if (error instanceof ValueProblem) { throw new EditProblem(error.reason, error.repair); }
      throw error;
    }
  }

  function legal(setting, words) {
    try {
      return accept(setting, words) === words;
    } catch (error) {
      if (error instanceof ValueProblem) { return false; }
      throw error;
    }
  }

  function overall(fields) {
    if (fields.every((one) => one.state === "already done")) { return "already done"; }
    return fields.some((one) => one.state === "another offered value") ? "another offered value" : "ready";
  }

  function unexpected(edit, defined, fields) {
    return fields.map((one, i) => {
      if (one.state !== "unexpected") { return ""; }
      const field = edit.fields[i];
      const setting = defined[field.setting];
      const say = (words) => "“" + asfound.values.withUnit(setting, words) + "”";
      const holds = say(one.present) + (one.known ? "" : gettext(", which has no known meaning"));
      const awaited = field.before_words === undefined ? gettext("a value with a known meaning")
        : gettext("{before} (before) or {after} (afterwards)", { before: say(field.before_words), after: say(field.to_words) });
      return gettext("“{setting}” holds {holds}; {awaited} was expected.", { setting: setting.name, holds, awaited });
    }).filter(Boolean);
  }

  function checkLength(edit, record) {
    if (record.length !== edit.length) {
      throw new Stop("length", gettext("The record has {n} bytes; layout “{layout}” has {length}.", { n: record.length, layout: edit.layout, length: edit.length }), AGAIN);
    }
  }

  function checkSum(edit, record, which) {
    if (edit.checksum && !bits.checksumMatches(edit.checksum, record)) {
      throw new Stop("checksum", gettext("The record {which} fails its checksum. {sums}", { which, sums: checksumWords(edit.checksum, record) }), AGAIN);
    }
  }

  function checksumWords(checksum, record) {
    const size = bits.checksumSize(checksum);
    const show = (value) => value.toString(16).toUpperCase().padStart(2 * size, "0").match(/../g).join(" ");
    return gettext("The checksum is {held}, but the bytes it covers give {right}.",
      { held: show(bits.gather(bits.checksumPlace(checksum), record)), right: show(bits.checksumOf(checksum, record)) });
  }

  function sealed(edit, record) {
    return edit.checksum ? bits.checksumApplied(edit.checksum, record) : record;
  }

  function mustBeTo(edit, defined, present) {
    for (const field of edit.fields) {
      const raw = bits.gather(field.place, present);
      if (raw !== BigInt(field.to)) {
        const setting = defined[field.setting];
        const now = decode(setting, raw, bits.width(field.place)).words;
        throw new Stop("undo", gettext("“{setting}” is “{now}”, not “{wanted}”: something else has changed it.", { setting: setting.name, now, wanted: field.to_words }));
      }
    }
  }

  asfound.edits = {
    Stop, EditProblem, assess, assessNames, write, writeNames, undo, putBackByValue, putBackNames, compose, choose,
    bare, byId, checksumWords,
  };
}(window.asfound = window.asfound || {}));
