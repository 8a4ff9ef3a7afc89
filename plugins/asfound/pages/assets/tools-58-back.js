/* The way back from the note, and later readings against the log. */
(function (asfound) {
  "use strict";

  const { gettext } = asfound.speech;
  const { h, fill, field, pick, button, copier, today } = asfound.dom;
  const { store, bits, edits, typed, values } = asfound;
  const { marked, HOW } = asfound.sheet;
  const { unitName } = asfound.words;

  /** Which layout a later reading has: what the modules said then no longer counts. */
  function readLater(path, record, text, stock, software) {
    const module = path.split("/")[0].split("@")[0];
    const known = Object.assign({}, store.known());
    const modules = Object.assign({}, known.modules);
    const told = Object.assign({}, modules[module]);
    delete told.software;
    if (software) { told.software = software; }
    modules[module] = told;
    known.modules = modules;
    delete known.records;
    return asfound.worksheets.layoutsRead(path, record, record.layouts || [], text, stock, known);
  }

  /** A field for a later reading; `tell({layout, held} or null)` hears what was read. */
  function reading(path, record, stock, label, tell) {
    const out = h("div", { role: "status" });
    if (record.names_only) {
      const words = {};
      const boxes = record.settings.map((setting) => {
        const box = setting.choices ? pick([["", gettext("not read")], ...setting.choices.map((one) => [one[1], one[2] || one[1]]), ["something else", gettext("something else")]], "", change)
          : h("input", { type: "text", autocomplete: "off", input: change });
        function change() {
          if (box.value) { words[setting.id] = box.value; } else { delete words[setting.id]; }
          tell(Object.keys(words).length ? { held: Object.assign({}, words) } : null);
        }
        return field(setting.name, box);
      });
      return h("fieldset", {}, h("legend", { text: label }), boxes);
    }
    const software = h("input", { type: "text", maxlength: "24", autocomplete: "off", input: work });
    const box = h("textarea", { rows: "2", autocomplete: "off", spellcheck: "false", class: "asf-bytes-in", input: work });
    let picked = null;
    function work(event) {
      if (event) { picked = null; }
      if (!box.value.trim()) { fill(out); tell(null); return; }
      const found = readLater(path, record, box.value, stock, software.value.trim());
      if (found.length > 1 && picked === null) {
        const name = asfound.dom.newId();
        fill(out, h("fieldset", { class: "asf-ask" }, h("legend", { text: gettext("This can be read in more than one way. Which is it? The software version above may tell.") }), found.map((one, i) => {
          const id = asfound.dom.newId();
          const when = one.layout.for ? ": " + asfound.words.say(asfound.conditions.read(one.layout.for), stock.names) : "";
          return h("div", {}, h("input", { type: "radio", name, id, change: () => { picked = i; work(); box.focus(); } }), " ", h("label", { for: id, text: gettext("Layout {layout}{when}", { layout: one.layout.id, when }) + " (" + HOW[one.reading.how] + ")" }));
        })));
        tell(null);
        return;
      }
      const one = found.length > 1 ? found[picked] : found[0];
      if (!one) {
        fill(out, h("p", { class: "asf-ask", text: gettext("This is not the whole record, or no layout known here is that of the car.") }));
        tell(null);
        return;
      }
      if (one.checksumOk === false) {
        fill(out, h("p", { class: "asf-stop" }, h("b", { text: gettext("Stop") + " " }), edits.checksumWords(one.layout.checksum, one.reading.held) + " " + gettext("Read it again.")));
        tell(null);
        return;
      }
      fill(out, h("p", { class: "asf-soft" }, gettext("Read as:"), " ", marked(record, one.reading.held), (record.layouts || []).length > 1 ? " · " + gettext("layout {layout}", { layout: one.layout.id }) : ""));
      tell({ layout: one.layout.id, held: one.reading.held });
    }
    return h("div", {}, field(label, box, gettext("All bytes, or the number, as the tool shows it.")), field(gettext("Software version of the module now"), software, gettext("If you know it. After a workshop's update it may be another one.")), out);
  }

  /** What to write, to copy, to read back, and then to put into the log. */
  function toWrite(path, record, to, from, what, finish) {
    const state = h("div", { role: "status" });
    const code = h("code", { class: "asf-write" }, Array.isArray(to) ? marked(record, to, from) : heldWords(record, to));
    const parts = [h("h4", { text: gettext("To write") }), h("p", {}, code, " ", Array.isArray(to) ? copier(typed.showHeld(record, to), code) : ""), h("p", { class: "asf-soft", text: what })];
    const good = (left) => fill(state, h("p", { class: "asf-good", text: gettext("As left equals what was to be written.") }), h("p", {}, button(gettext("Put it into the car's log"), () => { finish(left); fill(state, h("p", { class: "asf-good", text: gettext("In the log.") })); })));
    if (Array.isArray(to)) {
      const box = h("textarea", { rows: "2", autocomplete: "off", spellcheck: "false", class: "asf-bytes-in", input: () => {
        const read = typed.readings(record, box.value);
        if (!box.value.trim()) { fill(state); } else if (read.some((one) => bits.same(one.held, to))) { good(to); } else {
          fill(state, h("p", { class: "asf-stop", text: gettext("This is not what was to be written. Read it again; if it stays, ask the club.") }));
        }
      } });
      parts.push(field(gettext("As left"), box, gettext("Read it back.")));
    } else {
      parts.push(h("p", {}, button(gettext("It now shows this"), () => good(to), true)));
    }
    return [...parts, state];
  }

  const hex = (held) => Array.isArray(held) ? bits.toHex(held) : held;

  /** What a record holds as its tool shows it, or in words by setting. */
  function heldWords(record, held) {
    const name = (id) => (record.settings.find((one) => one.id === id) || { name: id }).name;
    return Array.isArray(held) ? typed.showHeld(record, held) : Object.keys(held).map((id) => name(id) + ": “" + held[id] + "”").join("; ");
  }

  /** The entry for a record put back. */
  function backEntry(path, layout, found, written, left, standing) {
    const put = { record: path };
    if (layout) { put.layout = layout; }
    Object.assign(put, { found: hex(found), written: hex(written), left: hex(left) });
    put.recipes = byRecipe(standing, (one) => ({ setting: one.setting, from: one.from, to: one.to }));
    return put;
  }

  function byRecipe(changes, make) {
    const out = [];
    for (const one of changes) {
      let did = out.find((other) => other.recipe === one.did.recipe);
      if (!did) { did = { recipe: one.did.recipe, sheet_code: one.did.sheet_code, changes: [] }; out.push(did); }
      did.changes.push(make(one));
    }
    return out;
  }

  /** How to put one record back, from a note: {path, record, layout, noted, wishes: [{setting, to, original, did}]}. */
  function wayBack(note, stock) {
    const { path, record } = note;
    const out = h("div", { role: "status" });
    const box = reading(path, record, stock, gettext("As it is now"), (now) => {
      if (!now) { fill(out); return; }
      try {
        let to;
        let what;
        if (record.names_only) {
          to = edits.putBackNames(asfound.logs.compile(path, record, null, note.wishes), record.settings, note.noted, now.held);
          what = gettext("By name, from the note.");
        } else {
          const then = record.layouts.find((one) => one.id === note.layout);
          const layout = record.layouts.find((one) => one.id === now.layout);
          if (!then) { throw new edits.Stop("undo", gettext("The club no longer describes the layout of the note.")); }
          const old = asfound.logs.compile(path, record, then, note.wishes);
          if (then.id === layout.id) {
            to = edits.undo(old, record.settings, note.noted, now.held);
            what = gettext("Only the bits of the change are taken from the note; what else changed since stays.");
          } else {
            to = edits.putBackByValue(old, note.noted, asfound.logs.compile(path, record, layout, note.wishes.filter((one) => layout.places[one.setting])), now.held, record.settings);
            what = gettext("The layout is another one now, so the values of the note are put back, not its bytes.");
          }
        }
        const back = note.wishes.map((one) => ({ setting: one.setting, from: one.to, to: one.original, did: one.did }));
        fill(out, ...toWrite(path, record, to, now.held, what, (left) => store.log([{ date: today(), put_back: backEntry(path, now.layout, now.held, to, left, back) }])));
      } catch (error) {
        if (!(error instanceof edits.Stop || error instanceof edits.EditProblem)) { throw error; }
        fill(out, h("p", { class: "asf-stop" }, h("b", { text: gettext("Stop") + " " }), error.reason + " " + error.repair));
      }
    });
    return h("section", { class: "asf-sheet__record" }, h("h4", { text: gettext("{record} of {unit}", { record: asfound.sentences.recordName(record), unit: unitName(path.split("/")[0], stock.names) }) }),
      h("p", {}, gettext("The note of what was found:"), " ", h("code", { text: heldWords(record, note.noted) }), note.date ? ", " + note.date : ""),
      box, out);
  }

  /** Notes to go back from: those of the worksheet, else those of the car's log, for some recipes. */
  function notes(sheet, stock, recipes) {
    const out = [];
    const seen = new Set();
    for (const row of sheet && sheet.ready ? sheet.sheet.rows : []) {
      if (row.assessment.state === "already done") { continue; }  /* what it was before, the log may know */
      seen.add(row.path);
      const moves = asfound.logs.moves(row.edit, row.record.settings, row.found);
      const did = (setting) => {
        const job = sheet.plan.jobs.find((one) => one.recipe.changes.some((change) => change.setting === edits.bare(row.path) + "/" + setting));
        return { recipe: job.recipe.id, sheet_code: job.recipe.code };
      };
      out.push({ path: row.path, record: row.record, layout: row.layout, noted: row.found, wishes: moves.map((one) => ({ setting: one.setting, to: one.to, original: one.from, did: did(one.setting) })) });
    }
    const log = store.logFile();
    for (const one of log ? asfound.logs.standing(log) : []) {
      if (recipes && !recipes.includes(one.did.recipe) || seen.has(one.record)) { continue; }
      const record = asfound.plans.recordOf(stock, one.record);
      if (!record) { continue; }
      let note = out.find((other) => other.entry === one.note);
      if (!note) {
        const { found, layout } = asfound.logs.body(one.note);
        note = { path: one.record, record, layout, noted: typeof found === "string" ? bits.fromHex(found) : found, date: one.note.date, entry: one.note, wishes: [] };
        out.push(note);
      }
      note.wishes.push({ setting: one.setting, to: one.to, original: one.original, did: one.did });
    }
    return out;
  }

  /** What became of the changes in the log, by a later reading. */
  function drift(stock) {
    const log = store.logFile();
    const standing = log ? asfound.logs.standing(log) : [];
    const paths = Array.from(new Set(standing.map((one) => one.record)));
    if (!paths.length) { return [h("p", { text: gettext("No change stands by the log of this car.") })]; }
    return paths.map((path) => {
      const record = asfound.plans.recordOf(stock, path);
      if (!record) { return h("p", { class: "asf-ask", text: gettext("The club no longer describes {path}.", { path }) }); }
      const out = h("div", { role: "status" });
      const box = reading(path, record, stock, gettext("As it is now"), (now) => {
        if (!now) { fill(out); return; }
        const [one] = asfound.logs.drift(store.logFile(), { [path]: now }, () => record);
        fill(out, ...driftWords(one, record, now, stock));
      });
      return h("section", { class: "asf-sheet__record" }, h("h4", { text: gettext("{record} of {unit}", { record: asfound.sentences.recordName(record), unit: unitName(path.split("/")[0], stock.names) }) }), box, out);
    });
  }

  /** What became of one change. */
  function stateWords(mark, name, say) {
    const { setting, to } = mark.standing;
    const parts = { setting: name(setting), now: say(setting, mark.now), wanted: say(setting, to) };
    if (mark.state === "stands") { return gettext("{setting}: stands, {now}.", parts); }
    return mark.state === "lost" ? gettext("{setting}: lost, now {now} instead of {wanted}.", parts)
      : gettext("{setting}: cannot be told.", parts);
  }

  function driftWords(one, record, now, stock) {
    const name = (id) => (record.settings.find((other) => other.id === id) || { name: id }).name;
    const say = (id, words) => "“" + values.withUnit(record.settings.find((other) => other.id === id), words) + "”";
    if (one.problem) { return [h("p", { class: "asf-ask", text: one.problem })]; }
    const out = [];
    if (one.by === "value") { out.push(h("p", { class: "asf-ask", text: gettext("The record has another layout now: compared by value.") })); }
    out.push(h("ul", { class: "asf-plain" },
      one.marks.map((mark) => h("li", { class: mark.state === "stands" ? "asf-good" : mark.state === "lost" ? "asf-stop" : "asf-ask", text: stateWords(mark, name, say) })),
      one.moved.map((moved) => h("li", { class: "asf-ask", text: gettext("{setting} moved too: {before} became {after}, by nothing in the log.",
        { setting: name(moved.setting), before: say(moved.setting, moved.from), after: say(moved.setting, moved.to) }) })),
      one.bits.length ? h("li", { class: "asf-ask", text: gettext("Other bits moved: {bits}.", { bits: one.bits.map(([byte, bit]) => gettext("byte {byte} bit {bit}", { byte, bit })).join(", ") }) }) : ""));
    const restore = one.restore;
    if (restore && restore.refused) { out.push(h("p", { class: "asf-stop" }, h("b", { text: gettext("Stop") + " " }), restore.refused.join(" "))); }
    if (restore && restore.write !== undefined) {
      const lost = one.marks.filter((mark) => mark.state === "lost").map((mark) => ({ setting: mark.standing.setting, from: mark.now, to: mark.standing.to, did: mark.standing.did }));
      out.push(...toWrite(one.record, record, restore.write, now.held, gettext("This puts back what was lost."), (left) => {
        const wrote = { record: one.record };
        if (now.layout) { wrote.layout = now.layout; }
        Object.assign(wrote, { found: hex(now.held), written: hex(restore.write), left: hex(left), recipes: byRecipe(lost, (l) => ({ setting: l.setting, from: l.from, to: l.to })) });
        store.log([{ date: today(), wrote }]);
      }));
    }
    return out;
  }

  /** What a workshop or the next owner must know. */
  function handover(stock, titles) {
    const log = store.logFile();
    const { modules, files } = asfound.logs.handover(log || { entries: [] });
    if (!modules.length && !files.length) { return [h("p", { text: gettext("By the log of this car, nothing stands that was changed.") })]; }
    const car = store.chosen().car;
    const recordOf = (path) => asfound.plans.recordOf(stock, path) || { name: path.split("/")[1], settings: [] };
    const setting = (one) => recordOf(one.record).settings.find((other) => other.id === one.setting);
    /* Of each record the oldest note: how it was before anything of what stands. */
    const oldest = (changes) => {
      const notes = log.entries.filter((entry) => changes.some((one) => one.note === entry)).map(asfound.logs.body);
      return notes.filter((one, i) => notes.findIndex((other) => other.record === one.record) === i);
    };
    return [
      h("p", { text: (car.name ? car.name + ": " : "") + gettext("{car}. As of {today}.", { car: asfound.car.inWords(car, stock.names), today: today() }) }),
      h("p", { text: gettext("These values were changed by hand from what the maker left. An update, a replacement or a reset of a module may lose them, or may be refused because of them.") }),
      ...modules.map((module) => h("section", { class: "asf-handover" },
        h("h4", { text: unitName(module.module, stock.names) + (module.software ? " · " + gettext("software {version}", { version: module.software }) : "") }),
        h("table", { class: "asf-table asf-stack" }, h("thead", {}, h("tr", {}, [gettext("Setting"), gettext("Found"), gettext("Stands at"), gettext("Since"), gettext("Recipe")].map((one) => h("th", { scope: "col", text: one })))),
          h("tbody", {}, module.changes.map((one) => h("tr", {}, h("th", { scope: "row", text: (setting(one) || { name: one.setting }).name }),
            h("td", { "data-label": gettext("Found"), text: values.withUnit(setting(one), one.original) }), h("td", { "data-label": gettext("Stands at") }, h("strong", { text: values.withUnit(setting(one), one.to) })),
            h("td", { "data-label": gettext("Since"), text: one.date }), h("td", { "data-label": gettext("Recipe"), text: gettext("{recipe}, sheet {code}", { recipe: titles[one.did.recipe] || one.did.recipe, code: one.did.sheet_code }) }))))),
        oldest(module.changes).map(({ record, found }) => h("p", { class: "asf-soft", text: gettext("Record “{record}” as found: {found}", { record: recordOf(record).name, found: heldWords(recordOf(record), typeof found === "string" ? bits.fromHex(found) : found) }) })))),
      files.length ? h("section", { class: "asf-handover" }, h("h4", { text: gettext("Files loaded") }), h("ul", {}, files.map((one) => h("li", { text: gettext("{module}: {file}, version {before} before, {after} now", { module: stock.names.modules[one.module] || one.module, file: one.name, before: one.before, after: one.after }) })))) : "",
    ];
  }

  asfound.back = { wayBack, notes, drift, handover };
}(window.asfound = window.asfound || {}));
