/* Files a reader keeps: cars and logs, taken in as what they may be and nothing else. Counterparts: schema/car and log. */
(function (asfound) {
  "use strict";

  const { gettext } = asfound.speech;
  const HELD = /^[0-9A-F]{2}( [0-9A-F]{2})*$/;
  const RECORD = /^[a-z0-9-]+(@[a-z0-9-]+)?\/[a-z0-9-]+$/;

  const text = (one) => typeof one === "string" && one.length <= 2000;
  const plain = (one) => Boolean(one) && typeof one === "object" && !Array.isArray(one);
  const some = (one, good) => Array.isArray(one) && one.length > 0 && one.every(good);
  const texts = (one, keys, more) => plain(one) && keys.every((key) => text(one[key])) && (more || []).every((key) => one[key] === undefined || text(one[key]));
  const held = (one) => text(one) ? HELD.test(one) : plain(one) && some(Object.values(one), text);

  const did = (one) => texts(one, ["recipe", "sheet_code"]) && some(one.changes, (change) => texts(change, ["setting", "from", "to"]));
  const record = (one) => texts(one, ["record"], ["layout", "software", "part"]) && RECORD.test(one.record) && held(one.found);
  const writing = (one) => record(one) && held(one.written) && (one.left === undefined || held(one.left)) && some(one.recipes, did);
  const KINDS = {
    wrote: writing, put_back: writing, read: record,
    loaded: (one) => texts(one, ["module", "recipe", "sheet_code", "name", "before", "after"]),
  };

  /** Whether a log may have such an entry. */
  function sound(entry) {
    const kinds = plain(entry) ? Object.keys(KINDS).filter((kind) => entry[kind] !== undefined) : [];
    return kinds.length === 1 && text(entry.date) && KINDS[kinds[0]](entry[kinds[0]]);
  }

  /** A JSON file as a car or a log: {car, log}; throws with words for the reader. */
  function read(content) {
    let data;
    try { data = JSON.parse(content); } catch (error) { throw new Error(gettext("This file is no JSON.")); }
    if (data && data.asfound === "car" && data.version === 1) { return { car: car(data) }; }
    if (data && data.asfound === "log" && data.version === 1 && Array.isArray(data.entries)) {
      const wrong = data.entries.findIndex((entry) => !sound(entry));
      if (wrong >= 0) { throw new Error(gettext("Entry {n} of this log is none that a log can have. Nothing was taken in.", { n: wrong + 1 })); }
      return { car: car(data.car || {}), log: { asfound: "log", version: 1, entries: data.entries } };
    }
    throw new Error(gettext("This file is neither a car nor a car's log."));
  }

  /** Only what a car file may hold, each of its kind. */
  function car(data) {
    const out = { asfound: "car", version: 1 };
    for (const key of ["name", "built"]) { if (text(data[key])) { out[key] = data[key]; } }
    if (out.built && !/^[0-9]{4}-(0[1-9]|1[0-2])$/.test(out.built)) { delete out.built; }
    for (const key of ["lines", "models", "phases", "markets"]) { if (some(data[key], text)) { out[key] = data[key].slice(); } }
    const map = (key, good) => {
      const kept = Object.entries(plain(data[key]) ? data[key] : {}).filter(([, one]) => good(one));
      if (kept.length) { out[key] = Object.fromEntries(kept); }
    };
    map("equipment", (one) => typeof one === "boolean");
    map("modules", (one) => texts(one, [], ["software", "part"]));
    map("records", (one) => text(one) && HELD.test(one));
    map("settings", text);
    return out;
  }

  asfound.files = { read };
}(window.asfound = window.asfound || {}));
