/* The worksheet of a job: each record as found, what it holds in words, and what to write. Counterpart:
   asfound.work.worksheet. Nothing to write is given before every record is noted and none of them is a stop. */
(function (asfound) {
  "use strict";

  const { gettext } = asfound.speech;
  const bits = asfound.bits;
  const edits = asfound.edits;
  const typed = asfound.typed;
  const { decode, withUnit } = asfound.values;
  const { listed } = asfound.sentences;

  /** The ways to read a text that such a car can hold. Counterpart: layouts_read. */
  function layoutsRead(path, record, layouts, text, stock, known) {
    return typed.matches(record, layouts, text).filter((match) => {
      const records = Object.assign({}, known.records, { [edits.bare(path)]: bits.toHex(match.reading.held) });
      const held = Object.assign({}, known, { records });
      return asfound.fitting.satisfiable(asfound.conditions.read(match.layout.for), held, stock.here);
    });
  }

  /** What every setting with a place in the layout holds. Counterpart: tell. */
  function tell(record, layout, held) {
    return record.settings.filter((one) => layout.places && layout.places[one.id]).map((setting) => {
      const place = layout.places[setting.id];
      const meaning = decode(setting, bits.gather(place, held), bits.width(place));
      return { setting: setting.id, name: setting.name, words: withUnit(setting, meaning.words), known: meaning.known };
    });
  }

  /**
   * The worksheet of a plan: {rows, missing, ready}. `texts` is what was typed by record path: text, or words by
   * setting; `picked`, by record path, is the number of the reading a reader picked where several were offered.
   */
  function worksheet(plan, texts, stock, known, picked) {
    const byPath = {};
    for (const one of plan.records) { byPath[one.path] = one; }
    const alternatives = [].concat(...plan.jobs.map((job) => job.recipe.alternatives || []));
    const order = [].concat(...plan.visits).map((path) => byPath[path]);
    const rows = order.map((one) => texts[one.path] === undefined ? { path: one.path, record: one.record, asks: [], stops: [] }
      : row(one, texts[one.path], alternatives, stock, known, (picked || {})[one.path]));
    const missing = order.map((one) => one.path).filter((path) => texts[path] === undefined);
    const ready = !missing.length && !rows.some((one) => one.stops.length || one.asks.length);
    if (ready) { rows.forEach(toWrite); }
    return { rows, missing, ready };
  }

  function row(one, text, alternatives, stock, known, pick) {
    const out = { path: one.path, record: one.record, asks: [], stops: [] };
    if (one.record.names_only) { return namesRow(out, one, text, alternatives); }
    if (typeof text !== "string") {
      out.asks = [gettext("Write the bytes, not words.")];
      return out;
    }
    const found = layoutsRead(one.path, one.record, one.layouts, text, stock, known);
    if (!found.length) {
      Object.assign(out, noLayout(one, text));
      return out;
    }
    if (found.length > 1 && found[pick] === undefined) {
      out.choices = found;
      out.asks = [unclear(found)];
      return out;
    }
    const match = found.length > 1 ? found[pick] : found[0];
    const edit = one.edits.find((other) => other.layout === match.layout.id);
    const held = match.reading.held;
    const assessment = edits.assess(edit, one.record.settings, held, alternatives);
    return Object.assign(out, {
      layout: match.layout.id, how: match.reading.how, found: held, edit, assessment,
      told: tell(one.record, match.layout, held), stops: assessment.stops.slice(),
    });
  }

  function namesRow(out, one, text, alternatives) {
    const edit = one.edits[0];
    const ids = edit.fields.map((field) => field.setting);
    if (typeof text === "string" && ids.length > 1) {
      out.asks = [gettext("Say what each of {ids} shows.", { ids: listed(ids) })];
      return out;
    }
    const words = typeof text === "string" ? { [ids[0]]: text } : text;
    const assessment = edits.assessNames(edit, one.record.settings, words, alternatives);
    const defined = edits.byId(one.record.settings);
    return Object.assign(out, {
      found: words, edit, assessment, stops: assessment.stops.slice(),
      told: edit.fields.map((field, i) => ({
        setting: field.setting, name: defined[field.setting].name, words: withUnit(defined[field.setting], assessment.fields[i].present),
        known: assessment.fields[i].known,
      })),
    });
  }

  function noLayout(one, text) {
    const read = typed.readings(one.record, text);
    const sizes = Array.from(new Set(one.layouts.map((layout) => layout.length))).sort((a, b) => a - b);
    const lengths = listed(sizes.map(String), "or");
    if (!read.length) {
      const shape = one.record.shown_as ? gettext("Write the number the tool shows.") : gettext("Write {lengths} pairs such as 01 4A 00.", { lengths });
      return { stops: [gettext("This cannot be read as the record. {shape}", { shape })], unread: true };
    }
    if (read.every((other) => !sizes.includes(other.held.length))) {
      return {
        stops: [gettext("These are {n} bytes instead of {lengths}. Read it again; if the number stays, no layout known here is that of the car: ask the club.", { n: read[0].held.length, lengths })], unread: true,
      };
    }
    return { stops: [gettext("No layout known here is that of such a car. Write nothing: ask the club.")] };
  }

  function unclear(found) {
    const layouts = Array.from(new Set(found.map((match) => match.layout.id)));
    if (layouts.length > 1) { return gettext("This can be layout {layouts}. Which is it?", { layouts: listed(layouts, "or") }); }
    return gettext("This can be read in more than one way. Which is it?");
  }

  function toWrite(one) {
    if (one.edit.layout === undefined) {
      one.write = edits.writeNames(one.edit, one.found);
    } else {
      one.write = edits.write(one.edit, one.found);
      one.changed = bits.differing(one.found, one.write);
    }
  }

  asfound.worksheets = { worksheet, layoutsRead, tell };
}(window.asfound = window.asfound || {}));
