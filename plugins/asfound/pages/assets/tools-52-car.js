/* The bar "My car": what is known of the reader's car, kept in this browser only. */
(function (asfound) {
  "use strict";

  const { gettext } = asfound.speech;
  const { h, fill, field, pick, button, download } = asfound.dom;
  const store = asfound.store;
  const UNKNOWN = ["", gettext("not known")];

  /** A car in one line of words. */
  function inWords(car, names) {
    const line = (car.lines || [])[0];
    const said = [];
    const called = (kind) => (car[kind] || []).map((id) => names[kind][line + " " + id] || id).join(" " + gettext("or") + " ");
    if (line) { said.push(names.lines[line] || line); }
    said.push(called("models"), called("phases"), called("markets"));
    if (car.built) { said.push(gettext("built in {month}", { month: asfound.words.monthWords(car.built) })); }
    const has = Object.keys(car.equipment || {});
    const list = (value) => has.filter((item) => car.equipment[item] === value).map((item) => names.equipment[item] || item);
    if (list(true).length) { said.push(gettext("with {items}", { items: asfound.words.joinWords(list(true), "and") })); }
    if (list(false).length) { said.push(gettext("without {items}", { items: asfound.words.joinWords(list(false), "or") })); }
    const modules = car.modules || {};
    const read = Object.keys(modules).map((id) => (names.modules[id] || id) + " " + [modules[id].software, modules[id].part].filter(Boolean).join(", "));
    return said.filter(Boolean).concat(read).join(" · ") || gettext("nothing known yet");
  }

  /** What is said of a car without what only its vehicle line gives a meaning. */
  function ofNoLine(car) {
    const out = Object.assign({}, car);
    for (const key of ["lines", "models", "phases", "markets", "equipment"]) { delete out[key]; }
    return out;
  }

  /** The form for a car; `done(car)` is called with a car file's keys. */
  class CarForm {
    constructor(stock, car, done) {
      this.stock = stock;
      this.car = JSON.parse(JSON.stringify(car));
      if (!this.car.lines && stock.world.lines.length === 1) { this.car.lines = [stock.world.lines[0].id]; }
      this.room = h("form", { class: "asf-car__form", submit: (event) => { event.preventDefault(); done(this.read()); } });
      this.render();
    }

    line() { return this.stock.here.by[(this.car.lines || [])[0]]; }

    render() {
      const line = this.line();
      const car = this.car;
      const one = (kind) => (car[kind] || []).length === 1 ? car[kind][0] : (car[kind] || []).length ? "several" : "";
      const options = (kind) => {
        const list = line && line[kind] ? line[kind].map((other) => [other.id, other.name]) : [];
        const some = (car[kind] || []).length > 1 ? [["several", car[kind].map((id) => (list.find((o) => o[0] === id) || [id, id])[1]).join(" " + gettext("or") + " ")]] : [];
        return [UNKNOWN, ...some, ...list];
      };
      this.inputs = {};
      const fields = [];
      this.name = h("input", { type: "text", maxlength: "60", autocomplete: "off", value: car.name || "" });
      fields.push(field(gettext("What you call it"), this.name));
      if (this.stock.world.lines.some((other) => other.vin)) { fields.push(this.vinField()); }
      this.lineBox = pick([UNKNOWN, ...this.stock.world.lines.map((other) => [other.id, other.name])], line ? line.id : "", () => {
        this.car = ofNoLine(this.read());
        if (this.lineBox.value) { this.car.lines = [this.lineBox.value]; }
        this.render();
        this.lineBox.focus();
      });
      fields.push(field(gettext("Vehicle line"), this.lineBox));
      for (const [kind, words] of [["models", gettext("Model")], ["phases", gettext("Phase")], ["markets", gettext("Market")]]) {
        if (line && line[kind]) {
          this.inputs[kind] = pick(options(kind), one(kind));
          fields.push(field(words, this.inputs[kind]));
        }
      }
      this.built = h("input", { type: "text", inputmode: "numeric", placeholder: "2021-09", pattern: "[0-9]{4}-(0[1-9]|1[0-2])", maxlength: "7", title: gettext("Year and month, such as 2021-09"), value: car.built || "" });
      fields.push(field(gettext("Month of building"), this.built, gettext("Year and month, such as 2021-09")));
      this.equipment = {};
      const gear = (line && line.equipment || []).map((item) => {
        const told = (car.equipment || {})[item.id];
        this.equipment[item.id] = pick([UNKNOWN, ["yes", gettext("has it")], ["no", gettext("does not have it")]], told === undefined ? "" : told ? "yes" : "no");
        return field(item.name.replace(/^(an?|the) /, ""), this.equipment[item.id], item.look);
      });
      this.modules = {};
      const modules = this.stock.world.modules.map((module) => {
        const told = (car.modules || {})[module.id] || {};
        const software = h("input", { type: "text", maxlength: "24", pattern: "[0-9A-Za-z.]+", autocomplete: "off", value: told.software || "" });
        const part = h("input", { type: "text", maxlength: "32", pattern: "[0-9A-Z]+([ .\\-][0-9A-Z]+)*", title: gettext("Capitals and digits, as printed"), autocomplete: "off", value: told.part || "" });
        this.modules[module.id] = { software, part };
        return h("fieldset", { class: "asf-car__module" }, h("legend", { text: module.name }), field(gettext("Software version"), software), field(gettext("Part number"), part));
      });
      const known = (set) => Object.keys(set || {}).length > 0;
      this.room.replaceChildren(
        h("div", { class: "asf-fields" }, fields),
        gear.length ? h("details", { open: known(car.equipment) }, h("summary", { text: gettext("Equipment") }), h("div", { class: "asf-fields" }, gear)) : "",
        h("details", { open: known(car.modules) }, h("summary", { text: gettext("What its control modules say of themselves") }), h("div", { class: "asf-fields" }, modules)),
        h("p", {}, h("button", { type: "submit", class: "asf-press", text: gettext("Save car") })));
    }

    vinField() {
      const vin = h("input", {
        type: "text", maxlength: "24", autocomplete: "off", spellcheck: "false", autocapitalize: "characters",
        keydown: (event) => { if (event.key === "Enter" && vin.value.trim()) { event.preventDefault(); read(); } },
      });
      const said = h("div", { role: "status", class: "asf-said" });
      const read = () => {
        const told = asfound.vin.read(vin.value, this.stock.here);
        const now = this.read();
        const before = told.line && told.line !== (now.lines || [])[0] ? ofNoLine(now) : now;
        this.car = Object.assign({}, before, asfound.vin.known(told), {
          equipment: Object.assign({}, before.equipment, told.equipment),
        });
        const words = told.line ? gettext("The VIN says: {inWords}.", { inWords: inWords(asfound.vin.known(told), this.stock.names) }) : gettext("The VIN says nothing that is known here.");
        this.render();
        const room = this.room.querySelector("[data-asf-vin]");
        room.replaceChildren(h("p", { text: words }), ...told.warnings.map((one) => h("p", { class: "asf-warn", text: one })));
        room.tabIndex = -1;
        room.focus();  /* the form is another one now, the VIN forgotten */
      };
      said.setAttribute("data-asf-vin", "");
      const box = field("VIN", vin, gettext("Read here, in this page, and forgotten at once."));
      box.append(button(gettext("Read the VIN"), read, true), said);
      return box;
    }

    /** The car as the form has it. */
    read() {
      const car = { asfound: "car", version: 1 };
      const put = (key, value) => { if (value && (typeof value !== "object" || Object.keys(value).length)) { car[key] = value; } };
      put("name", this.name.value.trim());
      if (this.lineBox.value) { car.lines = [this.lineBox.value]; }
      for (const kind of Object.keys(this.inputs)) {
        const value = this.inputs[kind].value;
        if (value) { car[kind] = value === "several" ? this.car[kind] : [value]; }
      }
      if (/^[0-9]{4}-(0[1-9]|1[0-2])$/.test(this.built.value)) { car.built = this.built.value; }
      const equipment = {};
      for (const item of Object.keys(this.equipment)) {
        if (this.equipment[item].value) { equipment[item] = this.equipment[item].value === "yes"; }
      }
      put("equipment", equipment);
      const modules = {};
      for (const id of Object.keys(this.modules)) {
        const told = {};
        for (const key of ["software", "part"]) {
          const value = this.modules[id][key].value.trim();
          if (value) { told[key] = value; }
        }
        if (Object.keys(told).length) { modules[id] = told; }
      }
      put("modules", modules);
      put("records", this.car.records);
      put("settings", this.car.settings);
      return car;
    }
  }

  /** Builds the bar at the top of the page. */
  function start(stock) {
    const bar = h("section", { class: "asf-car", "aria-label": gettext("My car") });
    const head = h("div", { class: "asf-car__head" });
    const body = h("div", { class: "asf-car__body", hidden: true, id: "asf-car-body" });
    const said = h("p", { role: "status", class: "asf-said" });
    bar.append(head, body, said);
    const say = (words) => { said.textContent = words; };

    function openForm(car, id) {
      const form = new CarForm(stock, car, (read) => {
        const one = store.cars().find((other) => other.id === id);
        if (one) { one.car = read; store.changed(); } else { store.add(read); }
        shut();
        say(store.works() ? gettext("Saved in this browser, and nowhere else.") : gettext("This browser keeps nothing for this page: export the car before you leave."));
      });
      body.replaceChildren(form.room, manage(id));
      body.hidden = false;
      render();
      const first = body.querySelector("input");
      if (first) { first.focus(); }
    }

    function shut() {
      body.hidden = true;
      body.replaceChildren();
      render();
      const opener = head.querySelector("[aria-expanded]");
      if (opener) { opener.focus(); }
    }

    function manage(id) {
      const one = store.cars().find((other) => other.id === id);
      const file = h("input", { type: "file", accept: ".json,application/json", change: () => {
        const chosen = file.files[0];
        if (!chosen) { return; }
        file.value = "";  /* or a browser would not notice the same file again, put right */
        if (chosen.size > 4000000) { say(gettext("This file is too large for a car or a log.")); return; }
        chosen.text().then((text) => {
          const read = asfound.files.read(text);
          store.add(read.car, read.log);
          shut();
          say(gettext("Taken in as a car of its own."));
        }).catch((error) => say(error.message));
      } });
      const rows = store.listed().map(([key, size, words]) => h("tr", {}, h("th", { scope: "row", text: key }), h("td", { "data-label": gettext("What it is"), text: words }), h("td", { "data-label": gettext("Size"), text: gettext("{size} characters", { size }) })));
      return h("div", { class: "asf-car__more" },
        h("p", { class: "asf-buttons" },
          one ? button(gettext("Export this car"), () => download("car.json", JSON.stringify(one.car, null, 1) + "\n"), true) : "",
          one ? button(gettext("Another car"), () => openForm({}, null), true) : "",
          one ? button(gettext("Remove this car"), () => { store.remove(id); shut(); say(gettext("Removed.")); }, true) : ""),
        field(gettext("Take in a car or a log from a file"), file),
        h("details", {}, h("summary", { text: gettext("What is kept in this browser") }),
          h("p", { text: gettext("Nothing you say of your car leaves this page. It is kept in this browser's storage, until you forget it here or the browser's own housekeeping does.") }),
          rows.length ? h("table", { class: "asf-table asf-stack" }, h("thead", {}, h("tr", {}, h("th", { scope: "col", text: gettext("Name") }), h("th", { scope: "col", text: gettext("What it is") }), h("th", { scope: "col", text: gettext("Size") }))), h("tbody", {}, rows)) : h("p", { text: gettext("Nothing.") }),
          location.protocol === "file:" ? h("p", { class: "asf-soft", text: gettext("Opened from a folder, some browsers give every page a storage of its own. Then export the car here and take it in on the page where you need it.") }) : ""),
        h("p", {}, button(gettext("Forget everything"), () => { store.forget(); shut(); say(gettext("Everything is forgotten.")); }, true)));
    }

    function render() {
      const cars = store.cars();
      const one = store.chosen();
      const open = !body.hidden;
      const title = one && one.car.name ? one.car.name : gettext("My car");
      const toggle = button(open ? gettext("Close") : one ? gettext("Change") : gettext("Say what car you have"), () => {
        if (open) { shut(); } else { openForm(one ? one.car : {}, one ? one.id : null); }
      });
      toggle.setAttribute("aria-expanded", String(open));
      toggle.setAttribute("aria-controls", body.id);
      const focused = head.querySelector(":focus");
      head.replaceChildren(
        h("p", { class: "asf-car__name" }, h("strong", { text: title }), " ", h("span", { class: "asf-soft", text: one ? inWords(one.car, stock.names) : gettext("Then every page answers for it. Nothing leaves this page.") })),
        h("p", { class: "asf-car__do" },
          cars.length > 1 ? h("label", {}, gettext("Car"), " ", pick(cars.map((other) => [other.id, other.car.name || gettext("Car {other}", { other: other.id })]), one ? one.id : "", (event) => { store.choose(event.target.value); say(gettext("Chosen.")); })) : "", " ", toggle));
      if (focused) { head.querySelector(focused.tagName).focus(); }  /* the list of cars, or the button */
    }

    store.listen(render);
    render();
    return bar;
  }

  asfound.car = { start, inWords };
}(window.asfound = window.asfound || {}));
