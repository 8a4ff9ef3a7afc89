/* The log of a car and a later reading against it. Counterparts: asfound.work.log, asfound.work.drift,
   asfound.work.handover. A log is plain data as in schema/log.schema.json. */
(function (asfound) {
  "use strict";

  const { gettext } = asfound.speech;
  const bits = asfound.bits;
  const edits = asfound.edits;
  const { encode, decode, accept, ValueProblem } = asfound.values;
  const ASK = gettext("Leave the record as it is and ask the club.");
  const body = (entry) => entry.wrote || entry.put_back;

  /** The changes made and not put back, each setting once, as it was changed last; `note` is the entry before whose
      writing the setting was as it was at first. Counterpart: standing. */
  function standing(log) {
    const first = new Map();
    const last = new Map();
    for (const entry of log.entries) {
      const wrote = body(entry);
      for (const did of wrote ? wrote.recipes : []) {
        for (const moved of did.changes) {
          const key = wrote.record + "/" + moved.setting;
          if (!first.has(key)) { first.set(key, { original: moved.from, note: entry }); }
          const { original, note } = first.get(key);
          last.delete(key);
          if (entry.put_back && moved.to === original) {
            first.delete(key);
          } else {
            last.set(key, {
              record: wrote.record, setting: moved.setting, original, note, to: moved.to, date: entry.date, did, wrote,
            });
          }
        }
      }
    }
    return Array.from(last.values());
  }

  /** {layout, content} of a record when it was last seen; null when it never was. Counterpart: last_held. */
  function lastHeld(log, record) {
    for (const entry of log.entries.slice().reverse()) {
      const wrote = body(entry);
      if (wrote && wrote.record === record) {
        return { layout: wrote.layout, content: wrote.left !== undefined ? wrote.left : wrote.written };
      }
      if (entry.read && entry.read.record === record) { return { layout: entry.read.layout, content: entry.read.found }; }
    }
    return null;
  }

  /** What stands, module by module: {modules, files}. Counterpart: handover. */
  function handover(log) {
    const modules = new Map();
    for (const one of standing(log)) {
      const unit = one.record.split("/")[0];
      if (!modules.has(unit)) { modules.set(unit, { module: unit, changes: [] }); }
      const module = modules.get(unit);
      module.changes.push(one);
      if (one.wrote.software) { module.software = one.wrote.software; }
    }
    const files = new Map();
    for (const entry of log.entries) { if (entry.loaded) { files.set(entry.loaded.module, entry.loaded); } }
    return { modules: Array.from(modules.values()), files: Array.from(files.values()) };
  }

  /** The settings an edit changes, with their words as found and as wished. Counterpart: moves. */
  function moves(edit, settings, found) {
    const defined = edits.byId(settings);
    return edit.fields.map((field) => ({
      setting: field.setting, to: field.to_words,
      from: field.place === undefined ? found[field.setting]
        : decode(defined[field.setting], bits.gather(field.place, found), bits.width(field.place)).words,
    }));
  }

  /**
   * What became of every record read again that the log knows. `present` is {record: {layout, held}} with `held` bytes
   * or words by setting; `recordOf` gives a record's description by its path, or undefined. Counterpart: drift.
   */
  function drift(log, present, recordOf) {
    const stand = standing(log);
    const out = [];
    for (const path of Object.keys(present)) {
      const seen = lastHeld(log, path);
      if (!seen) { continue; }
      const own = stand.filter((one) => one.record === path);
      const record = recordOf(path);
      if (!record) {
        out.push(nothing(path, own, gettext("The club no longer describes this record.")));
      } else {
        out.push(record.names_only ? byNames(path, record, own, seen, present[path]) : byBytes(path, record, own, seen, present[path]));
      }
    }
    return out;
  }

  /** The records with standing changes that were not read again. Counterpart: unread. */
  function unread(log, present) {
    return Array.from(new Set(standing(log).map((one) => one.record))).filter((path) => !(path in present));
  }

  function nothing(record, own, problem) {
    return {
      record, by: "value", marks: own.map((one) => ({ standing: one, state: "cannot tell", now: "" })), moved: [], bits: [],
      problem,
    };
  }

  function byBytes(path, record, own, seen, now) {
    const layout = record.layouts.find((one) => one.id === now.layout);
    const held = now.held;
    if (!layout || !Array.isArray(held) || held.length !== layout.length) {
      return nothing(path, own, gettext("What was read is no layout of this record that the club knows."));
    }
    let old = record.layouts.find((one) => one.id === seen.layout);
    const was = typeof seen.content === "string" ? bits.fromHex(seen.content) : null;
    if (!was || !old || was.length !== old.length) { old = undefined; }
    const same = old !== undefined && old.id === layout.id;
    const wanted = own.map((one) => one.setting);
    const moved = [];
    for (const setting of old ? record.settings : []) {
      const before = words(setting, old, was);
      const after = words(setting, layout, held);
      if (!wanted.includes(setting.id) && before !== null && after !== null && before !== after) {
        moved.push({ setting: setting.id, from: before, to: after });
      }
    }
    const marks = own.map((one) => mark(record, layout, one, held));
    const by = same ? "bits" : "value";
    const lost = marks.filter((one) => one.state === "lost").map((one) => one.standing);
    const out = { record: path, by, marks, moved, bits: same ? loose(layout, was, held) : [] };
    if (lost.length) { out.restore = restore(path, record, layout, lost, held); }
    return out;
  }

  function words(setting, layout, held) {
    const place = layout.places[setting.id];
    return place ? decode(setting, bits.gather(place, held), bits.width(place)).words : null;
  }

  function mark(record, layout, one, held) {
    const setting = record.settings.find((other) => other.id === one.setting);
    const place = setting && layout.places[one.setting];
    if (!place) { return { standing: one, state: "cannot tell", now: "" }; }
    const raw = bits.gather(place, held);
    let stands = false;
    try {
      stands = encode(setting, one.to, bits.width(place)).raw === raw;
    } catch (error) {
      if (!(error instanceof ValueProblem)) { throw error; }
    }
    return { standing: one, state: stands ? "stands" : "lost", now: decode(setting, raw, bits.width(place)).words };
  }

  function loose(layout, was, now) {
    const told = new Set();
    const places = Object.values(layout.places);
    if (layout.checksum) { places.push(bits.checksumPlace(layout.checksum)); }
    for (const place of places) { for (const at of bits.bits(place)) { told.add(at.join()); } }
    return bits.differing(was, now).filter((at) => !told.has(at.join()));
  }

  /** An edit that makes settings what they should be, whatever they are now. Counterpart: compile_edit. */
  function compile(path, record, layout, wishes) {
    const fields = wishes.map((one) => {
      const setting = record.settings.find((other) => other.id === one.setting);
      const place = layout && layout.places[one.setting];
      if (!setting || layout && !place) {
        throw new edits.EditProblem(gettext("The club no longer describes {path}.", { path: path + "/" + one.setting }), ASK);
      }
      try {
        if (!layout) { return { setting: one.setting, to_words: accept(setting, one.to) }; }
        const stored = encode(setting, one.to, bits.width(place));
        return { setting: one.setting, place, to: String(stored.raw), to_words: stored.shown };
      } catch (error) {
        if (error instanceof ValueProblem) { throw new edits.EditProblem(error.reason, error.repair); }
        throw error;
      }
    });
    const empty = layout ? { record: path, layout: layout.id, length: layout.length, fields } : { record: path, fields };
    if (layout && layout.checksum) { empty.checksum = layout.checksum; }
    return edits.compose([empty]);
  }

  function restore(path, record, layout, lost, held) {
    try {
      const edit = compile(path, record, layout, lost);
      const { stops } = edits.assess(edit, record.settings, held);
      return stops.length ? { edit, refused: [stops[0], ASK] } : { edit, write: edits.write(edit, held) };
    } catch (error) {
      if (error instanceof edits.EditProblem) { return { refused: [error.reason, ASK] }; }
      if (error instanceof edits.Stop) { return { refused: [error.reason, error.repair] }; }
      throw error;
    }
  }

  function byNames(path, record, own, seen, now) {
    const held = now.held;
    if (Array.isArray(held)) { return nothing(path, own, gettext("Of this record only names are known, and bytes were read.")); }
    const marks = own.map((one) => {
      const there = held[one.setting];
      return { standing: one, state: there === undefined ? "cannot tell" : there === one.to ? "stands" : "lost", now: there || "" };
    });
    const was = typeof seen.content === "string" ? {} : seen.content;
    const wanted = own.map((one) => one.setting);
    const moved = Object.keys(held).filter((name) => !wanted.includes(name) && was[name] !== undefined && was[name] !== held[name])
      .map((name) => ({ setting: name, from: was[name], to: held[name] }));
    const lost = marks.filter((one) => one.state === "lost").map((one) => one.standing);
    const out = { record: path, by: "names", marks, moved, bits: [] };
    if (lost.length) { out.restore = restoreNames(path, record, lost, held); }
    return out;
  }

  function restoreNames(path, record, lost, held) {
    try {
      const edit = compile(path, record, null, lost);
      const { stops } = edits.assessNames(edit, record.settings, held);
      return stops.length ? { edit, refused: [stops[0], ASK] } : { edit, write: edits.writeNames(edit, held) };
    } catch (error) {
      if (error instanceof edits.EditProblem) { return { refused: [error.reason, ASK] }; }
      throw error;
    }
  }

  /** What an entry says, its date aside, whatever the order of its keys; and what it is about. */
  function said(entry) {
    const sorted = (one) => Array.isArray(one) ? one.map(sorted)
      : one && typeof one === "object" ? Object.fromEntries(Object.keys(one).sort().map((key) => [key, sorted(one[key])])) : one;
    return JSON.stringify(sorted(Object.assign({}, entry, { date: "" })));
  }

  function about(entry) {
    const one = entry.wrote || entry.put_back || entry.read;
    return one ? one.record : entry.loaded.module + " " + entry.loaded.name;
  }

  /** Those of some entries that are not the log's last word already on their record or file. */
  function fresh(log, entries) {
    const last = new Map();
    for (const one of log ? log.entries : []) { if (!one.read) { last.set(about(one), said(one)); } }
    return entries.filter((one) => last.get(about(one)) !== said(one));
  }

  asfound.logs = { body, standing, lastHeld, handover, moves, drift, unread, compile, fresh };
}(window.asfound = window.asfound || {}));
