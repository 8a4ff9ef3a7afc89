/* What the browser answers to each kind of vector (tests/vectors/README.md). Runs in a page that has loaded the tools,
   and in Node on the same files. `asfoundVectors(file)` gives what does not agree. */
var asfoundVectors = (function () {
  "use strict";

  const asfound = window.asfound;
  const { fromHex, toHex } = asfound.bits;
  const REFUSED = { refused: true };

  function tried(refusals, work) {
    try {
      return work();
    } catch (error) {
      for (const [kind, answer] of refusals) { if (error instanceof kind) { return answer(error); } }
      throw error;
    }
  }

  const values = (work) => tried([[asfound.values.ValueProblem, () => REFUSED]], work);
  const stops = (work) => tried([
    [asfound.edits.Stop, (error) => ({ stop: error.kind })], [asfound.edits.EditProblem, () => REFUSED],
  ], work);
  const record = (given) => Object.assign({ id: "r", name: "R", settings: [], layouts: [] }, given.record);
  const lean = (one) => {
    const out = {};
    for (const key of Object.keys(one)) { if (one[key] !== null && one[key] !== undefined) { out[key] = one[key]; } }
    return out;
  };
  const content = (held) => Array.isArray(held) ? toHex(held) : held;
  const assessed = (found) => {
    const out = { state: found.state, fields: found.fields };
    return found.checksumOk === null ? out : Object.assign(out, { checksum_ok: found.checksumOk });
  };
  const shops = new Map();
  const shop = (shared) => {
    if (!shops.has(shared)) { shops.set(shared, asfound.plans.shop(shared)); }
    return shops.get(shared);
  };
  const world = (given, shared) => asfound.completions.world(given.lines.map((name) => shared.lines[name]));

  const DO = {
    "plain-words": (g) => ({ words: asfound.search.words(g.text) }),
    "found": (g) => {
      const asked = asfound.search.words(g.asked);
      const loaded = asfound.search.shards(g.starts, asked).map((n) => g.shards[n]);
      return asfound.search.find(asked, g.pages.map((one) => asfound.search.words(one[0])), loaded);
    },
    "crc": (g) => ({ crc: asfound.bits.crc(g.kind, fromHex(g.bytes)).toString(16).toUpperCase() }),
    "checksum": (g) => {
      const held = fromHex(g.record);
      return {
        matches: asfound.bits.checksumMatches(g.checksum, held), applied: toHex(asfound.bits.checksumApplied(g.checksum, held)),
      };
    },
    "encode": (g) => values(() => {
      const stored = asfound.values.encode(g.setting, g.words, g.width);
      return { raw: String(stored.raw), shown: stored.shown, exact: stored.exact };
    }),
    "decode": (g) => asfound.values.decode(g.setting, BigInt(g.raw), g.width),
    "held": (g) => {
      const held = asfound.typed.parseHeld(record(g), g.length, g.text);
      return held === null ? REFUSED : { bytes: toHex(held), shown: asfound.typed.showHeld(record(g), held) };
    },
    "typed": (g) => {
      const one = record(g);
      return {
        readings: asfound.typed.readings(one, g.text).map((r) => ({ bytes: toHex(r.held), how: r.how })),
        matches: asfound.typed.matches(one, one.layouts, g.text).map((m) => lean({
          bytes: toHex(m.reading.held), layout: m.layout.id, checksum_ok: m.checksumOk,
        })),
      };
    },
    "assess": (g) => stops(() => assessed(asfound.edits.assess(g.edit, g.settings, fromHex(g.found), g.alternatives))),
    "write": (g) => stops(() => {
      const to = asfound.edits.write(g.edit, fromHex(g.found));
      return { write: toHex(to), changed: asfound.bits.differing(fromHex(g.found), to) };
    }),
    "undo": (g) => stops(() => ({
      write: toHex(asfound.edits.undo(g.edit, g.settings, fromHex(g.noted), fromHex(g.present))),
    })),
    "put-back": (g) => stops(() => ({
      write: toHex(asfound.edits.putBackByValue(g.old, fromHex(g.noted), g.new, fromHex(g.present), g.settings)),
    })),
    "compose": (g) => tried([[asfound.edits.EditProblem, () => ({ clash: true })]], () => ({
      edit: asfound.edits.compose(g.edits),
    })),
    "choose": (g) => stops(() => ({ edit: asfound.edits.choose(g.edit, g.settings, g.choose) })),
    "assess-names": (g) => {
      const found = asfound.edits.assessNames(g.edit, g.settings, g.found, g.alternatives);
      return { state: found.state, fields: found.fields };
    },
    "write-names": (g) => ({ write: asfound.edits.writeNames(g.edit, g.found) }),
    "put-back-names": (g) => stops(() => ({
      write: asfound.edits.putBackNames(g.edit, g.settings, g.noted, g.present),
    })),
    "condition": (g, shared) => {
      const here = world(g, shared);
      const test = asfound.conditions.read(g.condition);
      const found = asfound.fitting.answer(test, g.known, here);
      const out = { kleene: asfound.fitting.truth(test, g.known, here), answer: found.kind };
      if (found.residual) {
        out.true = g.cars.map((car) => {
          const value = asfound.fitting.truth(found.residual, car, here);
          return value === null ? "?" : Number(value);
        }).join("");
      }
      return out;
    },
    "words": (g, shared) => {
      const names = asfound.words.namesOf({ lines: shared.lines }, shared.modules);
      const test = asfound.conditions.read(g.condition);
      const found = asfound.fitting.answer(test, g.known, asfound.completions.world(shared.lines));
      return {
        say: asfound.words.say(found.residual || test, names), why: asfound.words.whyNot(found.because, names),
        look: asfound.words.look(found.residual || test, names),
      };
    },
    "versions": (g) => ({ sorted: asfound.versions.sorted(g.versions) }),
    "range": (g) => {
      const range = asfound.versions.parseRange(g.range);
      return range === null ? REFUSED : { contains: asfound.versions.containsPoint(range, asfound.versions.point(g.version)) };
    },
    "order": (g) => {
      const route = asfound.order.fewestVisits(g.classes, g.before);
      return route.circle ? { circle: route.circle } : { visits: route.visits, at_least: route.atLeast };
    },
    "plan": (g, shared) => {
      const stock = shop(shared);
      const recipes = Object.assign({}, stock.recipes);
      for (const id of Object.keys(g.fits || {})) { recipes[id] = Object.assign({}, recipes[id], { fits: g.fits[id] }); }
      return planned(asfound.plans.plan(g.recipes, Object.assign({}, stock, { recipes }), g.known, g.choose));
    },
    "unit-name": (g, shared) => ({ name: asfound.words.unitName(g.unit, shop(shared).names) }),
    "worksheet": (g, shared) => {
      const stock = shop(shared);
      const plan = asfound.plans.plan(g.recipes, stock, g.known);
      const sheet = asfound.worksheets.worksheet(plan, g.typed, stock, g.known);
      return { ready: sheet.ready, missing: sheet.missing, rows: sheet.rows.map(row) };
    },
    "standing": (g) => {
      const { modules, files } = asfound.logs.handover(g.log);
      return {
        standing: asfound.logs.standing(g.log).map((one) => ({
          record: one.record, setting: one.setting, original: one.original, to: one.to, recipe: one.did.recipe, date: one.date,
        })),
        modules: modules.map((one) => lean({ module: one.module, changes: one.changes.length, software: one.software })),
        files: files.map((one) => [one.module, one.name, one.after]),
      };
    },
    "drift": (g, shared) => {
      const present = {};
      for (const path of Object.keys(g.present)) {
        const one = g.present[path];
        present[path] = { layout: one.layout, held: typeof one.held === "string" ? fromHex(one.held) : one.held };
      }
      const found = asfound.logs.drift(g.log, present, (path) => asfound.plans.recordOf(shop(shared), path));
      return { records: found.map(drifted), unread: asfound.logs.unread(g.log, present) };
    },
    "vin-check": (g) => {
      const vin = asfound.vin.normal(g.vin);
      const wrong = asfound.vin.faults(vin);
      if (wrong.length) { return { faults: wrong.length }; }
      return lean({
        check_digit: asfound.vin.checkDigit(vin), years: asfound.vin.modelYears(vin[9]), year: asfound.vin.modelYear(vin),
      });
    },
    "vin": (g, shared) => {
      const told = asfound.vin.read(g.vin, world(g, shared));
      const out = { warnings: told.warnings.length };
      if (told.line) { out.line = told.line; }
      for (const kind of ["models", "phases", "markets"]) { if (told[kind]) { out[kind] = told[kind].slice().sort(); } }
      if (told.first || told.last) { out.built = (told.first || "..") + "/" + (told.last || ".."); }
      if (Object.keys(told.equipment || {}).length) { out.equipment = told.equipment; }
      return out;
    },
    "code-check": (g) => ({ normal: asfound.codes.normalise(g.typed), right: asfound.codes.codeRight(g.typed) }),
    "make-code": (g) => ({ code: asfound.codes.makeCode(asfound.codes.spell(g.document)) }),
    "sha256": (g) => ({ sha256: asfound.codes.sha256(Uint8Array.from(g.bytes.match(/../g) || [], (pair) => parseInt(pair, 16))) }),
    "for-reading": (g) => ({ words: asfound.values.forReading(g.number) }),
    "fault": (g) => {
      if (g.number !== undefined) { return { code: asfound.codes.decodeFault(g.number) }; }
      const number = asfound.codes.encodeFault(g.code);
      return number === null ? REFUSED : { number };
    },
  };

  function planned(one) {
    const out = { answer: one.fits.kind, needed_by: one.neededBy };
    if (one.troubles.length) {
      return Object.assign(out, { troubles: one.troubles.map((t) => [t.kind, ...t.recipes]).sort(listwise) });
    }
    if (one.questions.length) {
      return Object.assign(out, { questions: Array.from(new Set(one.questions.map((q) => q.recipe))).sort() });
    }
    Object.assign(out, {
      recipes: one.jobs.map((job) => job.recipe.id),
      records: one.records.map((r) => ({ record: r.path, layouts: r.layouts.map((l) => l.id), recipes: r.recipes, edits: r.edits })),
      visits: one.visits, at_least: one.atLeast, together: one.together,
      job: one.operations.map((o) => [o.do, o.do === "unlock" ? o.text : o.record || o.module || (o.of || o.do === "key" ? o.text : "")]),
      minutes: one.minutes, key_on_minutes: one.keyOnMinutes, supply: one.supply.length,
    });
    if (one.charge) { out.charge = [one.charge.needed, one.charge.spare].map(asfound.values.spelt); }
    return out;
  }

  /* As Python sorts lists of text. */
  function listwise(a, b) {
    for (let i = 0; i < Math.min(a.length, b.length); i += 1) { if (a[i] !== b[i]) { return a[i] < b[i] ? -1 : 1; } }
    return a.length - b.length;
  }

  function row(one) {
    const out = { record: one.path, asks: one.asks.length, stops: one.stops.length };
    if (one.found !== undefined) { out.found = content(one.found); }
    if (one.layout !== undefined) { out.layout = one.layout; }
    if (one.assessment) {
      out.state = one.assessment.state;
      out.fields = one.assessment.fields;
      out.told = one.told.map((t) => [t.setting, t.words, t.known]);
    }
    if (one.write !== undefined) { Object.assign(out, { write: content(one.write), changed: one.changed || [] }); }
    return out;
  }

  function drifted(one) {
    const out = {
      record: one.record, by: one.by, marks: one.marks.map((m) => [m.standing.setting, m.state, m.now]),
      moved: one.moved.map((m) => [m.setting, m.from, m.to]), bits: one.bits,
    };
    if (one.problem) { out.problem = true; }
    if (one.restore) { out.restore = one.restore.write === undefined ? REFUSED : { write: content(one.restore.write) }; }
    return out;
  }

  return function (file) {
    const wrong = [];
    file.vectors.forEach((vector, at) => {
      let got;
      try {
        got = DO[vector.do](vector.given, file.shared);
      } catch (error) {
        got = { error: vector.do in DO ? String(error.stack) : "no such kind of vector" };
      }
      const circle = vector.expect.circle && got.circle;  /* any circle of the pairs will do */
      const agrees = circle
        ? got.circle.every((one, i) => vector.given.before.some(([a, b]) => a === one && b === got.circle[(i + 1) % got.circle.length]))
        : asfound.codes.spell(got) === asfound.codes.spell(vector.expect);
      if (!agrees) { wrong.push([at, vector.do, vector.expect, got]); }
    });
    return wrong;
  };
}());
