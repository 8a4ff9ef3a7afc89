/* After the work: checks, faults before and after, a report for the club, and the car's log. */
(function (asfound) {
  "use strict";

  const { gettext } = asfound.speech;
  const { h, fill, field, pick, button, download, today } = asfound.dom;
  const { store, typed } = asfound;
  const OUTCOMES = [
    ["", gettext("pick one")], ["worked", gettext("It works as the recipe says")], ["partly", gettext("It works in part")],
    ["no-effect", gettext("Written and read back, but the car behaves as before")], ["refused", gettext("The module did not take it")],
    ["put-back", gettext("I have put it back")], ["could-not-put-back", gettext("I could not put it back")],
  ];

  /** Fault codes in a text: {right, wrong}; the word for none is neither. */
  function codes(text) {
    const none = ["none", gettext("none")].map((word) => word.toUpperCase());
    const all = text.toUpperCase().split(/[\s,;.]+/).filter((one) => one && !none.includes(one));
    return {
      right: Array.from(new Set(all.filter((one) => asfound.codes.encodeFault(one) !== null))),
      wrong: all.filter((one) => asfound.codes.encodeFault(one) === null),
    };
  }

  /** Signs nobody sees, which the club's check refuses; they come with what is pasted. Counterpart: source.guards. */
  const HIDDEN = /[\u007f-\u009f\u00ad\u180e\u200b\u2028-\u202e\u2060-\u2069\ufeff\ufff9-\ufffb\ufffe\uffff\u{e0000}-\u{e007f}]/gu;
  const quote = (text) => JSON.stringify(text.replace(HIDDEN, ""));

  /** A record as a report writes it. */
  function held(record, content) {
    if (Array.isArray(content)) { return typed.showHeld(record, content); }
    const ids = Object.keys(content);
    return ids.length === 1 ? content[ids[0]] : ids.map((id) => id + ": " + content[id]).join("; ");
  }

  /** The report as YAML for the recipe's folder; `told` are the reader's own words. Counterpart: report.schema.json. */
  function reportText(recipe, car, told, rows) {
    const by = told.by || "anonymous";
    const id = by + "-" + told.date.slice(0, 7);
    const lines = [
      "# yaml-language-server: $schema=../../../../schema/report.schema.json", "report: " + quote(id), "recipe: " + quote(recipe.id),
      "sheet_code: " + quote(recipe.code), "by: " + quote(by), "date: " + quote(told.date), "car:",
    ];
    const put = (key, value) => { if (value) { lines.push("  " + key + ": " + quote(value)); } };
    put("line", car.lines[0]);
    put("model", car.models[0]);
    put("phase", car.phases[0]);
    put("market", (car.markets || []).length === 1 ? car.markets[0] : "");
    put("built", car.built);
    for (const [key, value] of [["equipment", true], ["without", false]]) {
      const items = Object.keys(car.equipment || {}).filter((item) => car.equipment[item] === value);
      if (items.length) { lines.push("  " + key + ": [" + items.map(quote).join(", ") + "]"); }
    }
    const modules = Object.keys(car.modules || {}).filter((one) => recipe.modules.includes(one));
    if (modules.length) {
      lines.push("  modules:");
      for (const name of modules) {
        const one = car.modules[name];
        lines.push("    " + quote(name) + ": {" + ["software", "part"].filter((key) => one[key]).map((key) => key + ": " + quote(one[key])).join(", ") + "}");
      }
    }
    for (const key of ["found", "left"]) {
      const some = rows.filter((row) => row[key] !== undefined);
      if (some.length) {
        lines.push(key + ":");
        for (const row of some) { lines.push("  " + quote(row.path) + ": " + quote(held(row.record, row[key]))); }
      }
    }
    lines.push("outcome: " + told.outcome);
    if (told.side) { lines.push("side_effects: " + quote(told.side)); }
    if (told.note) { lines.push("note: " + quote(told.note)); }
    return { name: id + ".yml", text: lines.join("\n") + "\n" };
  }

  /** The entries of a job for the log: of each record that was written and read back. Counterpart: log_job. */
  function entries(sheet, date) {
    const car = store.known();
    const hex = (content) => Array.isArray(content) ? asfound.bits.toHex(content) : content;
    const out = [];
    for (const row of sheet.ready ? sheet.sheet.rows : []) {
      const left = sheet.leftHeld(row);
      if (row.assessment.state === "already done" || left === undefined) { continue; }
      const module = row.path.split("/")[0].split("@")[0];
      const told = (car.modules || {})[module] || {};
      const moves = asfound.logs.moves(row.edit, row.record.settings, row.found);
      const wrote = { record: row.path };
      if (row.layout) { wrote.layout = row.layout; }
      Object.assign(wrote, told, { found: hex(row.found), written: hex(row.write), left: hex(left) });
      wrote.recipes = sheet.plan.jobs.map((job) => {
        const own = [].concat(...job.form.records.filter((one) => one.record === row.path).map((one) => one.changes))
          .map((n) => job.recipe.changes[n].setting.split("/")[2]);
        return { recipe: job.recipe.id, sheet_code: job.recipe.code, changes: moves.filter((one) => own.includes(one.setting)) };
      }).filter((one) => one.changes.length);
      out.push({ date, wrote });
    }
    for (const job of sheet.plan.jobs) {
      const media = job.recipe.media;
      const versions = (sheet.more.versions || {})[job.recipe.id];
      if (media && versions && versions.before && versions.after) {
        out.push({ date, loaded: { module: media.module, recipe: job.recipe.id, sheet_code: job.recipe.code, name: media.name, before: versions.before, after: versions.after } });
      }
    }
    return out;
  }

  /** Puts what was done into the car's log, nothing twice; how that went, in words. */
  function putIntoLog(sheet) {
    const done = entries(sheet, sheet.more.date || today());
    const some = asfound.logs.fresh(store.logFile(), done);
    if (some.length) { store.log(some); }
    return done.length ? logged() : gettext("There is nothing to put into the log: nothing was written and read back.");
  }

  function logged() {
    return gettext("In the log of “{car}”, in this browser.", { car: store.chosen().car.name || gettext("My car") });
  }

  /** What a worksheet offers once every record is written and read back: one press, and the log knows. */
  function offer(sheet) {
    const done = entries(sheet, sheet.more.date || today());
    if (!done.length) { return []; }
    if (!asfound.logs.fresh(store.logFile(), done).length) { return [h("p", { class: "asf-soft", text: logged() })]; }
    const put = () => {
      putIntoLog(sheet);
      sheet.draw();
      const said = sheet.summary.lastElementChild;
      said.tabIndex = -1;
      said.focus();
    };
    return [h("p", { class: "asf-buttons" }, button(gettext("Keep it in the car's log"), put),
      h("span", { class: "asf-soft", text: gettext("As found, written and as left of every record; in this browser only.") }))];
  }

  /** The section after the worksheet, for the recipes of its job. */
  function start(sheet, ids) {
    const more = sheet.more;
    const keep = () => { sheet.keep(); draw(); };
    const recipes = ids.map((id) => sheet.base.recipes[id]);
    more.checks = more.checks || {};
    more.faults = more.faults || {};
    more.versions = more.versions || {};
    const faultsOut = h("div", { role: "status" });
    const checks = [].concat(...recipes.map((recipe) => (recipe.checks || []).map((one, i) => {
      const key = recipe.id + "/" + i;
      const box = pick([["", gettext("not looked yet")], ["yes", gettext("as expected")], ["no", gettext("not as expected")]], more.checks[key] || "", () => { more.checks[key] = box.value; keep(); });
      return field(one.check, box, gettext("Expect: {expect}", { expect: one.expect }));
    })));
    const fault = (key, label) => {
      const box = h("textarea", { rows: "1", autocomplete: "off", spellcheck: "false", value: more.faults[key] || "", input: () => { more.faults[key] = box.value; keep(); } });
      return field(label, box, gettext("Codes such as P0133, with spaces or commas between; none if there are none."));
    };
    const versionOuts = [];
    const versions = recipes.filter((one) => one.media).map((recipe) => {
      const told = more.versions[recipe.id] || (more.versions[recipe.id] = {});
      const box = (key, label) => {
        const input = h("input", { type: "text", maxlength: "60", autocomplete: "off", value: told[key] || "", input: () => { told[key] = input.value.trim(); keep(); } });
        return field(label, input);
      };
      const out = h("p", { role: "status" });
      versionOuts.push([out, recipe.media, told]);
      return h("div", {}, box("before", gettext("Version shown before, under {where}", { where: recipe.media.where })), box("after", gettext("Version shown afterwards")), out);
    });
    const logOut = h("p", { role: "status", class: "asf-said" });
    const date = h("input", { type: "date", value: more.date || today(), change: () => { more.date = date.value; sheet.keep(); } });
    const put = () => {
      logOut.textContent = putIntoLog(sheet);
      sheet.draw();
    };
    const room = h("section", { class: "asf-after-work" },
      versions, checks.length ? h("fieldset", {}, h("legend", { text: gettext("Checks") }), checks) : "",
      h("fieldset", {}, h("legend", { text: gettext("Stored faults") }), fault("before", gettext("Before the work")), fault("after", gettext("After the work")), faultsOut),
      h("fieldset", {}, h("legend", { text: gettext("The car's log") }), field(gettext("Done on"), date),
        h("p", { class: "asf-buttons" }, button(gettext("Put this job into the car's log"), put), button(gettext("Export the log"), () => {
          const log = store.logFile();
          if (log) { download("log.json", JSON.stringify(log, null, 1) + "\n"); } else { logOut.textContent = gettext("There is no log yet."); }
        }, true)), logOut),
      recipes.map((recipe) => report(sheet, recipe)));

    function draw() {
      const before = codes(more.faults.before || "");
      const after = codes(more.faults.after || "");
      const parts = before.wrong.concat(after.wrong).map((one) => h("p", { class: "asf-ask", text: gettext("{one} is no fault code (SAE J2012: P, C, B or U, a digit from 0 to 3, three of 0 to 9 and A to F).", { one }) }));
      if ((more.faults.after || "").trim()) {
        const fresh = after.right.filter((one) => !before.right.includes(one));
        if (!fresh.length) { parts.push(h("p", { class: "asf-good", text: gettext("No fault that was not there before.") })); }
        for (const code of fresh) {
          const told = [].concat(...recipes.map((recipe) => recipe.faults || [])).find((one) => one.code === code);
          parts.push(told ? h("p", { class: "asf-ask", text: gettext("{code} is new, and the recipe knows it: {when} {do}", { code, when: told.when, do: told.do }) })
            : h("p", { class: "asf-stop" }, h("b", { text: gettext("New") + " " }), gettext("{code} is not one the recipe expects: ask the club before driving.", { code })));
        }
      }
      fill(faultsOut, ...parts);
      for (const [out, media, told] of versionOuts) {
        out.className = "";
        out.textContent = "";
        if (told.before && !media.before.includes(told.before)) {
          out.className = told.before === media.after ? "asf-ask" : "asf-stop";
          out.textContent = told.before === media.after ? gettext("The file is already loaded.") : gettext("Stop: the recipe is for {before}. Do not load the file; ask the club.", { before: asfound.words.joinWords(media.before, "or") });
        } else if (told.after) {
          out.className = told.after === media.after ? "asf-good" : "asf-stop";
          out.textContent = told.after === media.after ? gettext("As it should be.") : gettext("It should be {after}. Load the file once more; if the version stays, ask the club.", { after: media.after });
        }
      }
    }

    draw();
    return room;
  }

  /** A file for the club, asked for in a part that stays closed until somebody wants to report. */
  function report(sheet, recipe) {
    const said = h("p", { role: "status", class: "asf-said" });
    const outcome = pick(OUTCOMES, "", () => {});
    const by = h("input", { type: "text", maxlength: "32", pattern: "[a-z0-9]+(-[a-z0-9]+)*", autocomplete: "off" });
    const date = h("input", { type: "date", value: today() });
    const side = h("textarea", { rows: "2", maxlength: "2000" });
    const note = h("textarea", { rows: "2", maxlength: "2000" });
    const make = () => {
      const car = store.known();
      const lone = ["lines", "models", "phases"].every((key) => (car[key] || []).length === 1);
      if (!lone) { said.textContent = gettext("A report says of which line, model and phase the car is. Say so under “My car”, above."); return; }
      if (!outcome.value) { said.textContent = gettext("Pick how it went."); outcome.focus(); return; }
      if (by.value && !/^[a-z0-9]+(-[a-z0-9]+)*$/.test(by.value) || by.value.length === 1) { said.textContent = gettext("A handle has small letters, digits and single hyphens, two signs at least."); by.focus(); return; }
      if (!/^[0-9]{4}-[0-9]{2}-[0-9]{2}$/.test(date.value)) { said.textContent = gettext("Say on which day it was done."); date.focus(); return; }
      const rows = sheet.ready ? sheet.sheet.rows.filter((row) => recipe.forms.some((form) => form.records.some((one) => one.record === row.path)))
        .map((row) => ({ path: row.path, record: row.record, found: row.found, left: sheet.leftHeld(row) })) : [];
      const file = reportText(recipe, car, { by: by.value, date: date.value, outcome: outcome.value, side: side.value.trim(), note: note.value.trim() }, rows);
      download(file.name, file.text, "application/yaml");
      said.textContent = gettext("Give {file} to the club, for the folder {folder}.", { file: file.name, folder: "changes/" + recipe.id + "/reports" });
    };
    const title = gettext("Report on “{recipe}”", { recipe: recipe.title });
    return h("details", {}, h("summary", { text: title }), h("fieldset", { "aria-label": title },
      h("p", { class: "asf-soft", text: gettext("A file for the club, made in this page. It says what kind of car it is and what you noted above; no VIN, and no name but the one you type.") }),
      field(gettext("How it went"), outcome), field(gettext("Done on"), date), field(gettext("Your handle"), by, gettext("Small letters, digits, hyphens. Left empty, the report is anonymous.")),
      field(gettext("What else changed"), side), field(gettext("What others should know"), note), h("p", {}, button(gettext("Make the report"), make)), said));
  }

  asfound.after = { start, reportText, entries, codes, offer };
}(window.asfound = window.asfound || {}));
