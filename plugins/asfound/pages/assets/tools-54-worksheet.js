/* The worksheet in the page: as found, to write, as left, record by record. Nothing to write is shown before every
   record of the job is noted and none is a stop. */
(function (asfound) {
  "use strict";

  const { gettext, numberWords } = asfound.speech;
  const { h, fill, field, pick, button, copier } = asfound.dom;
  const { typed, bits, edits, store, values } = asfound;

  const STATES = {
    "ready": gettext("ready"), "already done": gettext("already done"),
    "another offered value": gettext("another value the recipe offers"), "unexpected": gettext("unexpected: stop"),
  };

  const HOW = { hex: gettext("hexadecimal"), decimal: gettext("decimal"), binary: gettext("binary") };

  /** A record with its bytes, those that differ marked. */
  function marked(record, held, other) {
    if (!Array.isArray(held) || record.shown_as) {
      return h("span", { class: "asf-held", text: Array.isArray(held) ? typed.showHeld(record, held) : "" });
    }
    const out = h("span", { class: "asf-held" });
    held.forEach((byte, i) => {
      const pair = byte.toString(16).toUpperCase().padStart(2, "0");
      if (i) { out.append(" "); }
      out.append(other && other[i] !== byte ? h("mark", { text: pair }) : pair);
    });
    return out;
  }

  /** A number as files and tools write it: with a point, whether a point or a comma was typed. */
  const typedNumber = (text) => text.trim().replace(/^−/, "-").replace(/^([^.,]*),([^.,]*)$/, "$1.$2");

  /** A stock in which values the recipe only offers may be chosen, for the settings for which one was. */
  function offering(base, chosen) {
    const recipes = Object.create(null);
    for (const id of Object.keys(base.recipes)) {
      const recipe = base.recipes[id];
      const offered = (recipe.alternatives || []).map((one) => one.setting).filter((path) => chosen[path] !== undefined);
      recipes[id] = !offered.length || !recipe.edits ? recipe : Object.assign({}, recipe, {
        edits: recipe.edits.map((edit) => Object.assign({}, edit, {
          fields: edit.fields.map((one) => offered.includes(edit.record + "/" + one.setting) ? Object.assign({}, one, { asked: true }) : one),
        })),
      });
    }
    return Object.assign({}, base, { recipes });
  }

  /** What was typed of a record, text or words by setting; undefined unless it is all that an edit asks for. */
  function whole(text, edit) {
    const full = typeof text === "string" ? text.trim() : text && edit.fields.every((one) => text[one.setting]);
    return full ? text : undefined;
  }

  class Sheet {
    /**
     * `asked` are the recipes of the job; `stock` holds them and their modules. `after(sheet)` is called whenever
     * something changed.
     */
    constructor(asked, stock, after) {
      this.asked = asked;
      this.base = stock;
      this.after = after || (() => {});
      this.key = asked.slice().sort().join("+");
      this.load();
      this.room = h("div", { class: "asf-sheet" });
      this.render();
    }

    load() {
      const kept = store.notes(this.key) || {};
      this.texts = kept.texts || {};
      this.picked = kept.picked || {};
      this.chosen = kept.chosen || {};
      this.left = kept.left || {};
      this.more = kept.more || {};
    }

    /** What is to be kept of it; null where nothing was typed or picked. */
    noted() {
      const { texts, picked, chosen, left, more } = this;
      const all = { texts, picked, chosen, left, more };
      const full = (one) => one && typeof one === "object" ? Object.values(one).some(full) : one !== "";
      return full(all) ? all : null;
    }

    keep() { store.notes(this.key, this.noted()); }

    /** Whether something else is kept for this job by now: of another car, or by another page. */
    stale() { return JSON.stringify(store.notes(this.key)) !== JSON.stringify(this.noted()); }

    /** The stock, with changes whose other values the recipe offers made choosable. */
    stock() { return offering(this.base, this.chosen); }

    /** Works everything out anew. */
    work() {
      const known = store.known();
      const stock = this.stock();
      const chosen = {};
      this.invalid = [];
      for (const one of this.questions(stock)) {
        const words = this.chosen[one.path];
        if (words === undefined) { continue; }
        const told = this.nearest(one, words);
        if (told.wrong) { this.invalid.push(one.path); } else { chosen[one.path] = words; }
      }
      this.plan = asfound.plans.plan(this.asked, stock, known, chosen);
      this.possible = !this.plan.troubles.length && !this.plan.questions.length && Boolean(this.plan.records);
      this.sheet = this.possible ? asfound.worksheets.worksheet(this.plan, this.filled(), stock, known, this.picked) : null;
      this.ready = Boolean(this.sheet && this.sheet.ready && this.sheet.rows.length && !this.invalid.length);
    }

    /** What was typed of the records of the plan, without those of which nothing or only a part of the names is noted. */
    filled() {
      const out = {};
      for (const { path, edits: [edit] } of this.plan.records || []) {
        const text = whole(this.texts[path], edit);
        if (text !== undefined) { out[path] = text; }
      }
      return out;
    }

    /** Every value the reader may choose: {path, question, suggest, setting, options, width}. */
    questions(stock) {
      const out = new Map();
      for (const recipe of asfound.plans.gather(this.asked, stock.recipes).recipes) {
        const job = asfound.plans.jobOf(recipe, stock, store.known(), { troubles: [], questions: [] });
        const used = job && new Set([].concat(...job.form.records.map((one) => one.changes)));
        for (const [n, change] of (recipe.changes || []).entries()) {
          if (used && !used.has(n)) { continue; }
          const record = asfound.plans.recordOf(stock, change.setting.split("/").slice(0, 2).join("/"));
          const setting = record.settings.find((one) => one.id === change.setting.split("/")[2]);
          const others = (recipe.alternatives || []).filter((one) => one.setting === change.setting);
          if (!change.ask && !others.length) { continue; }
          const layout = record.layouts && record.layouts.find((one) => one.places[setting.id]);
          out.set(change.setting, {
            path: change.setting, setting, others, ask: change.ask, record,
            suggest: change.ask ? change.ask.suggest : change.to,
            question: change.ask ? change.ask.question : gettext("What “{setting}” of {module} is to become", { setting: setting.name, module: asfound.words.the(change.setting.split("/")[0], stock.names) }),
            width: layout ? bits.width(layout.places[setting.id]) : null,
          });
        }
      }
      return Array.from(out.values());
    }

    /** What the module can hold of a wish: {wrong} or {shown, exact}. */
    nearest(one, words) {
      try {
        return one.width === null ? { shown: values.accept(one.setting, words), exact: true } : values.encode(one.setting, words, one.width);
      } catch (error) {
        if (error instanceof values.ValueProblem) { return { wrong: error.reason + " " + error.repair }; }
        throw error;
      }
    }

    render() {
      this.work();
      this.shape = this.possible ? this.sheet.rows.map((row) => row.path).join() : "";
      this.outs = {};
      this.trouble = h("div", { role: "status" });
      this.summary = h("div", { role: "status", class: "asf-sheet__sum" });
      const asks = this.questions(this.base).map((one) => this.askField(one));
      this.room.replaceChildren(...[
        this.trouble,
        asks.length ? h("fieldset", { class: "asf-sheet__asks" }, h("legend", { text: gettext("Choose first") }), asks) : "",
        ...(this.possible ? this.sheet.rows.map((row, i) => this.rowRoom(row, i)) : []),
        this.possible && this.sheet.rows.length ? this.summary : "",
      ].filter(Boolean));
      this.draw();
    }

    update() {
      this.keep();
      this.work();
      const shape = this.possible ? this.sheet.rows.map((row) => row.path).join() : "";
      if (shape !== this.shape) { this.render(); } else { this.draw(); }
      this.after(this);
    }

    askField(one) {
      const said = h("p", { role: "status", class: "asf-said" });
      const set = (words) => {
        if (words === "" || words === one.suggest) { delete this.chosen[one.path]; } else { this.chosen[one.path] = words; }
        this.update();
      };
      const now = this.chosen[one.path] === undefined ? one.suggest : this.chosen[one.path];
      const number = one.setting.number;
      let input;
      if (!one.ask || one.setting.choices) {
        const options = one.ask ? one.setting.choices.map((other) => [other[1], other[2] || other[1]])
          : [[one.suggest, values.withUnit(one.setting, one.suggest)], ...one.others.map((other) => [other.to, values.withUnit(one.setting, other.to) + ": " + other.does])];
        input = pick(options, now, () => set(input.value));
      } else {
        input = h("input", { type: "text", autocomplete: "off", spellcheck: "false", value: one.setting.number ? numberWords(now) : now, input: () => set(number ? typedNumber(input.value) : input.value.trim()) });
        if (one.setting.number) { input.setAttribute("inputmode", "decimal"); }
      }
      const limits = number && one.ask ? gettext("From {min} to {max} {unit}. Suggested: {value}.",
        { min: values.forReading(number.min), max: values.forReading(number.max), unit: number.unit, value: values.withUnit(one.setting, one.suggest) }) : "";
      this.outs[one.path] = { said, one };
      return h("div", {}, field(one.question, input, limits), said);
    }

    rowRoom(row, i) {
      const unit = row.path.split("/")[0];
      const module = this.base.modules[unit.split("@")[0]];
      const out = { state: h("div", { role: "status" }), write: h("div", { role: "status" }), back: h("div", { role: "status" }) };
      const leftText = () => this.left[row.path] || "";
      out.leftBox = this.valueBox(row, () => leftText(), (value) => { this.left[row.path] = value; }, gettext("As left"), gettext("Read the record back and note it here. After a restart, once more."));
      out.leftRoom = h("div", { hidden: true }, out.leftBox, out.back);
      this.outs[row.path] = out;
      return h("section", { class: "asf-sheet__record", "aria-labelledby": "asf-r" + this.key + i },
        h("h3", { id: "asf-r" + this.key + i }, asfound.sentences.recordName(row.record), h("span", { class: "asf-soft", text: " " + gettext("of {module}", { module: asfound.words.unitName(unit, this.base.names) }) })),
        this.valueBox(row, () => this.texts[row.path] || "", (value) => { this.texts[row.path] = value; delete this.picked[row.path]; }, gettext("As found"),
          row.record.names_only ? gettext("Word for word, as the tool shows it.") : row.record.shown_as ? gettext("The number the tool shows; hex pairs and binary are read too.") : gettext("All bytes, as the tool shows them: hex pairs with or without spaces or 0x, decimal or binary.")),
        out.state, out.write, out.leftRoom);
    }

    /** A field for a whole record: text, or the words of each setting. */
    valueBox(row, get, set, label, hint) {
      if (!row.record.names_only) {
        const input = h("textarea", { rows: "2", autocomplete: "off", spellcheck: "false", autocapitalize: "off", class: "asf-bytes-in", value: get(), input: () => { set(input.value); this.update(); } });
        return field(label, input, hint);
      }
      const planned = this.plan.records.find((one) => one.path === row.path);
      const now = get() || {};
      const defined = edits.byId(row.record.settings);
      return h("fieldset", {}, h("legend", { text: label }), planned.edits[0].fields.map((one) => {
        const setting = defined[one.setting];
        const change = (words) => {
          const all = Object.assign({}, get() || {}, { [one.setting]: words });
          set(all);
          this.update();
        };
        const options = setting.choices && [["", gettext("not noted")], ...setting.choices.map((other) => [other[1], other[2] || other[1]]), ["something else", gettext("something else")]];
        const input = options ? pick(options, now[one.setting] || "", () => change(input.value))
          : h("input", { type: "text", autocomplete: "off", value: now[one.setting] || "", input: () => change(input.value.trim()) });
        return field(setting.name, input);
      }), h("p", { class: "asf-soft", text: hint }));
    }

    /** Puts what was worked out into the page. */
    draw() {
      fill(this.trouble, ...this.troubleWords());
      for (const key of Object.keys(this.outs)) {
        const { said, one } = this.outs[key];
        if (one) { this.drawAsk(said, one); }
      }
      if (!this.possible) { return; }
      for (const row of this.sheet.rows) { this.drawRow(row, this.outs[row.path]); }
      fill(this.summary, ...this.sumWords());
    }

    drawAsk(said, one) {
      const words = this.chosen[one.path] === undefined ? one.suggest : this.chosen[one.path];
      const told = this.nearest(one, words);
      said.className = told.wrong ? "asf-said asf-warn" : "asf-said";
      said.textContent = told.wrong ? told.wrong : told.exact ? "" : gettext("The nearest the module can hold is {value}.", { value: values.withUnit(one.setting, told.shown) });
    }

    troubleWords() {
      const out = this.plan.troubles.map((one) => h("p", { class: "asf-stop" }, h("b", { text: gettext("Stop") + " " }), one.reason + " " + one.repair));
      for (const one of this.plan.questions) {
        const about = this.base.recipes[one.recipe];
        out.push(h("div", { class: "asf-ask" },
          h("p", { text: gettext("How “{about}” runs depends on the car, on whether {state}. Say so under “My car”, above.", { about: about.title, state: asfound.words.state(one.decides, this.base.names) }) }),
          h("ul", {}, asfound.words.look(one.decides, this.base.names).map((words) => h("li", { text: words })))));
      }
      if (!out.length && this.plan.fits.kind === "if") {
        out.push(h("div", { class: "asf-ask" },
          h("p", { text: gettext("Go on only if {state}.", { state: asfound.words.state(this.plan.fits.residual, this.base.names) }) }),
          h("ul", {}, asfound.words.look(this.plan.fits.residual, this.base.names).map((words) => h("li", { text: words })))));
      }
      return out;
    }

    drawRow(row, out) {
      const defined = edits.byId(row.record.settings);
      const parts = [];
      if (row.found !== undefined && row.layout) {
        const several = this.plan.records.find((one) => one.path === row.path).layouts.length > 1 || row.record.layouts.length > 1;
        parts.push(h("p", { class: "asf-soft" }, gettext("Read as {how}:", { how: HOW[row.how] }), " ", marked(row.record, row.found), several ? " · " + gettext("layout {layout}", { layout: row.layout }) : "",
          row.assessment.checksumOk ? " · " + gettext("checksum right") : ""));
      }
      if (row.asks.length && row.choices) { parts.push(this.choices(row)); } else { parts.push(...row.asks.map((one) => h("p", { class: "asf-ask", text: one }))); }
      parts.push(...row.stops.map((one) => h("p", { class: row.unread ? "asf-ask" : "asf-stop" }, row.unread ? "" : h("b", { text: gettext("Stop") + " " }), one)));
      if (row.told) {
        const states = {};
        row.assessment.fields.forEach((one, i) => { states[one.setting] = [one.state, row.edit.fields[i]]; });
        parts.push(h("dl", { class: "asf-told" }, row.told.map((one) => {
          const [found, change] = states[one.setting] || [];
          const state = row.stops.length && found !== "unexpected" ? "" : found;  /* nothing is ready in a record that stops */
          return h("div", { class: found ? "asf-told__own" : "" }, h("dt", { text: one.name }),
            h("dd", {}, one.words + (one.known ? "" : " (" + gettext("no known meaning") + ")"),
              state ? h("span", { class: "asf-state asf-state--" + state.split(" ")[0], text: STATES[state] }) : "",
              state === "ready" || state === "another offered value" ? h("span", { class: "asf-soft", text: " " + gettext("becomes {value}", { value: values.withUnit(defined[one.setting], change.to_words) }) }) : ""));
        })));
      }
      fill(out.state, ...parts);
      const show = this.ready && row.write !== undefined;
      fill(out.write, ...(show ? this.writeWords(row, defined) : []));
      out.leftRoom.hidden = !show;
      fill(out.back, ...(show ? this.backWords(row) : []));
    }

    choices(row) {
      const name = asfound.dom.newId();
      const layouts = new Set(row.choices.map((one) => one.layout.id)).size > 1;
      const take = (i) => {
        this.picked[row.path] = i;
        this.update();
        this.outs[row.path].state.previousElementSibling.querySelector("textarea").focus();  /* the question is gone */
      };
      return h("fieldset", { class: "asf-ask" }, h("legend", { text: row.asks[0] }), row.choices.map((one, i) => {
        const id = asfound.dom.newId();
        const layout = one.layout;
        const when = layout.for ? ": " + asfound.words.say(asfound.conditions.read(layout.for), this.base.names) : "";
        const words = layouts ? gettext("Layout {layout}{when}", { layout: layout.id, when }) : gettext("Read as {how}:", { how: HOW[one.reading.how] }) + " " + bits.toHex(one.reading.held);
        return h("div", {}, h("input", { type: "radio", name, id, change: () => take(i) }), " ", h("label", { for: id, text: words }));
      }));
    }

    writeWords(row, defined) {
      if (row.assessment.state === "already done") {
        return [h("p", { class: "asf-good", text: gettext("Already done: nothing is to be written into this record.") })];
      }
      if (!Array.isArray(row.write)) {
        return [h("h4", { text: gettext("To write") }), h("ul", {}, row.edit.fields.map((one) => h("li", {}, defined[one.setting].name + ": ", h("strong", { text: "“" + values.shown(defined[one.setting], one.to_words) + "”" }))))];
      }
      const shown = h("code", { class: "asf-write" }, marked(row.record, row.write, row.found));
      const sum = row.edit.checksum;
      const note = !sum ? "" : sum.by === "tool" ? " " + gettext("Your tool puts the checksum right by itself; it is shown here as it will read.") : " " + gettext("The checksum is part of it: enter it too.");
      return [h("h4", { text: gettext("To write") }), h("p", {}, shown, " ", copier(typed.showHeld(row.record, row.write), shown)),
        h("p", { class: "asf-soft", text: (row.record.shown_as ? gettext("The number to enter.") : gettext("Marked: what differs from as found.")) + note })];
    }

    /** The state of the reading back of a row: "", "equal", "differs", or "unread". */
    leftState(row) {
      const text = whole(this.left[row.path], row.edit);
      if (text === undefined) { return row.assessment.state === "already done" ? "equal" : ""; }
      if (typeof text !== "string") { return row.edit.fields.every((one) => text[one.setting] === one.to_words) ? "equal" : "differs"; }
      const read = typed.readings(row.record, text);
      if (!read.length) { return "unread"; }
      return read.some((one) => bits.same(one.held, row.write)) ? "equal" : read.some((one) => one.held.length === row.write.length) ? "differs" : "unread";
    }

    /** What was read back, in the form of the log. */
    leftHeld(row) {
      const text = whole(this.left[row.path], row.edit);
      if (text === undefined) { return row.assessment.state === "already done" ? row.found : undefined; }
      if (typeof text !== "string") { return text; }
      const read = typed.readings(row.record, text);
      return (read.find((one) => bits.same(one.held, row.write)) || read.find((one) => one.held.length === row.write.length) || {}).held;
    }

    backWords(row) {
      const state = this.leftState(row);
      if (row.assessment.state === "already done" && whole(this.left[row.path], row.edit) === undefined) { return []; }
      if (state === "equal") { return [h("p", { class: "asf-good", text: gettext("As left equals what was to be written.") })]; }
      if (state === "unread") { return [h("p", { class: "asf-ask", text: gettext("This is not the whole record yet.") })]; }
      if (state !== "differs") { return []; }
      const held = this.leftHeld(row);
      return [h("p", { class: "asf-stop" }, h("b", { text: gettext("Stop") + " " }), gettext("As left is not what was to be written. Write the note back, read it back, and ask the club. The note is:"), " ",
        Array.isArray(row.found) ? h("code", {}, typed.showHeld(row.record, row.found)) : Object.values(row.found).join("; "), "."),
        Array.isArray(held) ? h("p", { class: "asf-soft" }, gettext("Marked: what differs."), " ", marked(row.record, held, row.write)) : ""];
    }

    sumWords() {
      const { missing, rows } = this.sheet;
      if (rows.some((row) => row.stops.length && !row.unread)) {
        return [h("p", { class: "asf-stop" }, h("b", { text: gettext("Stop") + " " }), gettext("Write nothing at all, in no record of this job."))];
      }
      if (this.invalid.length) { return [h("p", { class: "asf-ask", text: gettext("Choose a value that the module can hold.") })]; }
      if (!this.ready) {
        const named = (path) => asfound.words.inPlace(rows.find((row) => row.path === path).record.name, path.split("/")[0], this.base.names);
        const names = (paths) => asfound.words.joinWords(paths.map(named), "and");
        return [h("p", { class: "asf-ask", text: missing.length ? gettext("Still to be noted: {names}. What to write is shown when every record of the job is.", { names: names(missing) }) : gettext("What to write is shown when every record is clear.") })];
      }
      if (rows.some((row) => this.leftState(row) === "differs")) {
        return [h("p", { class: "asf-stop" }, h("b", { text: gettext("Stop") + " " }), gettext("Write nothing further in any record of this job."))];
      }
      const open = rows.filter((row) => this.leftState(row) !== "equal");
      return [open.length ? h("p", { class: "asf-soft", text: gettext("All noted. Write record by record and read each one back.") })
        : h("p", { class: "asf-good", text: gettext("Every record is as it should be.") }), ...(open.length ? [] : asfound.after.offer(this))];
    }

    /** Whether every record was written and read back as it should be. */
    done() { return this.ready && this.sheet.rows.every((row) => this.leftState(row) === "equal"); }

    /** Forgets what was typed; a sheet made after that is empty. */
    clear() { store.notes(this.key, null); }
  }

  asfound.sheet = { Sheet, marked, offering, HOW };
}(window.asfound = window.asfound || {}));
