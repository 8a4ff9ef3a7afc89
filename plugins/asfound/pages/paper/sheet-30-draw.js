/* A sheet drawn in the page, for a plan and for a recipe with typed values. Counterparts: pages.views.sheet and the
   templates below sheet/; what is the same on every sheet is taken from the page as it stands there. */
(function (asfound) {
  "use strict";

  const { h } = asfound.dom;
  const { gettext, ngettext } = asfound.speech;
  const { sentence, minutesWords, placeName, unitName } = asfound.words;
  const WORDS = ["DANGER", "WARNING", "CAUTION", "NOTICE"];
  const SAID = { DANGER: gettext("DANGER"), WARNING: gettext("WARNING"), CAUTION: gettext("CAUTION"), NOTICE: gettext("NOTICE") };
  const SVG = "http://www.w3.org/2000/svg";
  const b = (text) => h("b", { text });
  const box = () => h("i", { class: "box" });
  const soft = (text) => h("span", { class: "soft", text });
  const plain = (text) => text.replace(/\*\*?([^*]+)\*\*?|`([^`]+)`|\[([^\]]+)\]\([^)]*\)/g, (all, a, c, d) => a || c || d);

  function svg(tag, props) {
    const out = document.createElementNS(SVG, tag);
    for (const key of Object.keys(props)) { out.setAttribute(key, props[key]); }
    return out;
  }

  /** The QR symbol of a code, from its path. */
  function qr({ size, d }, code) {
    const out = svg("svg", { class: "qr", role: "img", "aria-label": gettext("QR symbol: {code}", { code }), viewBox: "0 0 " + size + " " + size, "shape-rendering": "crispEdges" });
    out.append(svg("rect", { width: size, height: size, fill: "#fff" }), svg("path", { d, fill: "#000" }));
    return out;
  }

  function signal(word) {
    const out = h("span", { class: "asf-signal asf-signal--" + word.toLowerCase() });
    if (word !== "NOTICE") {
      const mark = svg("svg", { class: "asf-alert", viewBox: "0 0 24 22", width: 24, height: 22, "aria-hidden": "true" });
      mark.append(svg("path", { fill: "currentColor", "fill-rule": "evenodd", d: "M12 0 24 22H0ZM10.6 7.5 11.2 15h1.6l.6-7.5ZM12 16.4a1.5 1.5 0 1 0 0 3 1.5 1.5 0 0 0 0-3Z" }));
      out.append(mark);
    }
    out.append(SAID[word]);
    return out;
  }

  /** The safety messages that are read at this moment of the job; `hazards` are of the whole job. */
  function panels(hazards, arises, several) {
    const found = hazards.filter(([hazard]) => arises.includes(hazard.arises));
    return WORDS.map((word) => [word, found.filter(([hazard]) => hazard.word === word)]).filter((one) => one[1].length)
      .map(([word, list]) => h("section", { class: "panel panel--" + word.toLowerCase(), "data-step": "" }, h("p", { class: "panel__word" }, signal(word)),
        h("ul", {}, list.map(([hazard, of]) => h("li", {}, several && of.length ? [h("b", { class: "of", text: asfound.sentences.listed(of.map((at) => String(at + 1))) }), " "] : "",
          b(hazard.hazard), " " + hazard.consequence + " " + hazard.avoid)))));
  }

  function part(one, number) {
    const { status } = one.paper;
    return [
      h("p", { class: "code" }, gettext("Sheet code") + " ", b(one.code), status.kind === "vetted" ? " · " + status.label : "", one.paper.address ? " · " + one.paper.address : ""),
      status.kind === "vetted" ? "" : h("div", { class: "status status--" + status.kind }, b(status.label), " ", h("span", { text: status.says })),
      one.paper.original && one.paper.original.says ? h("p", { class: "untranslated" }, b(one.paper.original.says)) : "",
      one.paper.annoyance ? h("p", { class: "wants" }, b(gettext("Complaint:")), " " + one.paper.annoyance) : "",
    ].filter((some) => some !== "" || number);
  }

  function head(recipes, club, car) {
    const several = recipes.length > 1;
    const title = several ? ngettext("{n} recipe in one job", "{n} recipes in one job", recipes.length) : recipes[0].title;
    const of = club + (car ? " · " + gettext("for: {car}", { car }) : "");
    return [
      h("header", { class: "head" }, h("div", { class: "head__words" }, h("p", { class: "club" }, of, several ? "" : " · ", several ? "" : b(gettext("What is wanted:"))), h("h1", { text: title }), several ? "" : part(recipes[0], 0)),
        several ? "" : h("div", { class: "head__qr" }, qr(recipes[0].paper.qr, recipes[0].code))),
      several ? h("div", { class: "parts" }, recipes.map((one, at) => h("section", { class: "head part" }, h("div", { class: "head__words" },
        h("h2", {}, h("b", { class: "of", text: String(at + 1) }), " ", soft(gettext("What is wanted:")), " " + one.title), part(one, at + 1)), h("div", { class: "head__qr" }, qr(one.paper.qr, one.code))))) : "",
    ];
  }

  /** What a thing looks like, without its name where that was just said. Counterpart: Maker._look. */
  function shortLook(condition, names) {
    const found = asfound.words.look(condition, names);
    const short = found.map((one) => one.startsWith(gettext("How to tell ")) ? one.slice(gettext("How to tell ").length) : one);
    return short.length === 1 && short[0] !== found[0] && ["vehicle", "equipped"].includes(condition.k) ? [short[0].slice(short[0].indexOf(": ") + 2)] : short;
  }

  function rightCar(plan, recipes, stock) {
    const ticks = [];
    const tick = (words, look) => ticks.push(h("li", {}, box(), sentence(words), (look || []).flatMap((one) => [" ", soft(sentence(one))])));
    if (plan.fits.residual) {
      const some = plan.fits.residual.k === "all" ? plan.fits.residual.of : [plan.fits.residual];
      for (const one of some) { tick(asfound.paper.ifWords(one, stock.names), shortLook(one, stock.names)); }
    }
    for (const recipe of recipes) {
      for (const clash of recipe.clashes || []) {
        if (!recipes.some((one) => one.id === clash.recipe) && recipe.paper.titles[clash.recipe]) {
          tick(gettext("Not done on this car: {title}.", { title: recipe.paper.titles[clash.recipe] }), [sentence(clash.because)]);
        }
      }
    }
    if (recipes.some((one) => one.alone)) { tick(gettext("Nothing else is changed in the same job.")); }
    if (!ticks.length) { tick(gettext("It is the car that was asked about.")); }
    return h("section", { class: "car", "data-step": "" }, h("h2", { text: gettext("Is it the right car? Tick before starting. One box left empty: STOP.") }), h("ul", { class: "ticks" }, ticks));
  }

  const SHORT = {
    "identify": () => [gettext("Identify the modules above.")],
    "note": () => [gettext("Read and note the records below.")],
    "read-faults": () => [gettext("Read the faults of all modules, note every code above."), stop(gettext("A fault in a module to be written: find its cause first."))],
    "measure-voltage": (o) => [gettext("Battery {volts} or more.", { volts: o.expect.match(/[\d.,]+ V/)[0] }), stop(gettext("If not, connect a supply or charge it first."))],
    "open": (o, at) => [gettext("Open {unit} for writing (extended session).", { unit: at.unit }), stop(PANEL())],
    "unlock": (o) => [o.text, stop(gettext("Never guess a code."))],
    "write": (o, at) => [b(gettext("Write {ref}", at)), ": " + gettext("row “to write”."), stop(PANEL())],
    "read-back": (o, at) => [b(gettext("Read {ref} back", at)), " " + gettext("into “as left”. Equal to “to write”?"), stop(gettext("If not: write “as found” back, read it back, STOP and ask."))],
    "read-again": (o, at) => [b(gettext("Read {ref} once more", at)), ". " + gettext("Still equal?"), stop(gettext("If not, as above."))],
    "restart": (o, at) => [gettext("Restart {unit}", at) + (o.minutes ? " (" + minutesWords(o.minutes) + ")" : "") + ": " + sentence(at.module.restart.how)],
    "close": (o, at) => [gettext("Leave {unit}.", at)],
    "load-file": (o) => [o.text, stop(PANEL())],
    "read-faults-last": (o) => [gettext("Read the faults of all modules once more, note every code:") + " ", h("i", { class: "line" }), " " + sentence(o.expect), stop(gettext("If not, ask before driving."))],
    "check": (o) => [sentence(plain(o.text)) + " ", b(gettext("Expect")), " " + sentence(o.expect)],
    "note-version": version, "read-version": version,
  };
  const PANEL = () => gettext("Refused, silent: see “If a module refuses”.");
  const stop = (words) => [" ", h("span", { class: "stop", text: words })];
  function version(o) { return [o.text + " ", h("i", { class: "line line--short" }), " ", b(gettext("Expect")), " " + sentence(o.expect), elseStop(o)]; }
  function elseStop(o) { return stop((o.else.startsWith("If ") || o.else.startsWith(gettext("If ")) ? "" : gettext("If not") + ": ") + sentence(o.else)); }

  function otherwise(o) {
    const out = [sentence(plain(o.text))];
    if (o.expect) { out.push(" ", b(gettext("Expect")), " " + sentence(o.expect)); }
    if (o.else) { out.push(elseStop(o)); }
    if (o.pictured) { out.push(" ", h("span", { class: "pictured", text: gettext("The picture is on the recipe's page.") })); }
    return out;
  }

  /** The operations in the parts of the sheet; keys go with what they are turned for. */
  function parts(operations) {
    const out = { ready: [], units: [], first: [], before: [], noted: [], work: [], last: [] };
    const read = new Set();
    let key = "";
    let at = "first";
    for (const one of operations) {
      if (one.do === "key") { key = one.text; continue; }
      if (one.do === "have-ready") { if (!out.ready.includes(one.text)) { out.ready.push(one.text); } continue; }
      if (["identify", "read-faults", "measure-voltage", "precheck"].includes(one.do)) {
        at = "before";
      } else if (["note", "note-version"].includes(one.do) || (at === "noted" && one.moment === "noted")) {
        at = "noted";
      } else if (["check", "read-faults-last"].includes(one.do) || one.moment === "end") {
        at = "last";
      } else if (["before", "noted"].includes(at) && one.moment !== "start") {
        at = one.moment === "noted" ? "noted" : "work";
      }
      if (one.do === "identify") {
        if (!out.units.includes(one.module)) { out.units.push(one.module); }
        if (!key) { continue; }
      }
      if (one.do === "note" && !key) { continue; }
      const again = one.do === "read-back" && read.has(one.record);
      if (one.do === "read-back") { read.add(one.record); }
      out[at].push({ one, key, kind: again ? "read-again" : one.do });
      key = "";
    }
    return out;
  }

  class Steps {
    constructor(refs, stock, numbers) { Object.assign(this, { refs, stock, numbers, at: 0 }); }

    list(steps) {
      return h("ol", { class: "steps" }, steps.map(({ one, key, kind }) => {
        this.at += 1;
        const module = one.module ? this.stock.modules[one.module.split("@")[0]] : null;
        const where = { module, unit: module ? unitName(one.module, this.stock.names) : "", ref: this.refs[one.record] || "" };
        const words = (SHORT[kind] || otherwise)(one, where);
        const of = this.numbers[one.of];
        return h("li", { value: String(this.at), class: "step step--" + kind, "data-ref": where.ref || null, "data-step": "" }, box(), h("b", { class: "number", text: String(this.at) }), " ",
          of ? h("b", { class: "of", text: of }) : "", of ? " " : "", key ? h("b", { class: "key", text: key }) : "", key ? " " : "", words.flat());
      }));
    }
  }

  function before(all, steps, voltage, plan, stock) {
    const cells = (...terms) => terms.map(([term, unit]) => [h("th", { text: term }), h("td", { class: unit ? "unit" : null, text: unit || "" })]);
    return h("section", { class: "before" },
      all.ready.length ? h("div", { class: "ready", "data-step": "" }, h("h2", { text: gettext("Have ready:") }), " ", h("ul", { class: "ticks ticks--row" }, all.ready.map((one) => h("li", {}, box(), sentence(plain(one)))))) : "",
      h("div", { "data-step": "" }, h("h2", {}, gettext("The car as it came") + " ", soft(gettext("about {lasts}, of which {key_on} with the key on", { lasts: minutesWords(plan.minutes), key_on: minutesWords(plan.keyOnMinutes) }) +
        (plan.charge ? " · " + gettext("takes {needed} Ah out of the battery, which can spare {spare} Ah", { needed: amount(plan.charge.needed), spare: amount(plan.charge.spare) }) : "") +
        (plan.supply.length ? " · " + gettext("connect a battery supply") : ""))),
      h("table", { class: "form form--car" }, h("tbody", {}, h("tr", {}, cells([gettext("Registration")], [gettext("Mileage")], [gettext("Battery"), "V"]).flat()),
        h("tr", {}, h("th", { text: gettext("Faults stored") }), h("td", { colspan: "5" })))),
      h("table", { class: "form form--units" }, h("tbody", {}, all.units.map((unit) => {
        const module = stock.modules[unit.split("@")[0]];
        return h("tr", {}, h("th", {}, unitName(unit, stock.names) + " ", soft(module.address || "")), cells([gettext("Part number")], [gettext("Software")]).flat());
      })))),
      voltage, steps.list(all.first.concat(all.before)));
  }

  const amount = (value) => asfound.speech.numberWords((Number(value.n) / Number(value.d)).toFixed(1));

  /**
   * The whole sheet. `given` is {plan, stock, papers, worksheet, club, car, fixed}: `papers` what is known of each recipe
   * for paper only, `worksheet` null where nothing was typed, `fixed` the parts of the page that every sheet has.
   */
  function draw({ plan, stock, papers, worksheet, club, car, fixed }) {
    const recipes = plan.jobs.map((job) => Object.assign({}, job.recipe, { paper: papers[job.recipe.id] }));
    const several = recipes.length > 1;
    const numbers = {};
    if (several) { recipes.forEach((one, at) => { numbers[one.id] = String(at + 1); }); }
    const order = [].concat(...plan.visits);
    const refs = {};
    order.forEach((path, at) => { refs[path] = "R" + (at + 1); });
    const rows = {};
    if (worksheet && worksheet.ready) { for (const row of worksheet.rows) { rows[row.path] = row; } }
    const hazards = asfound.sentences.jobHazards(recipes.map((one) => one.paper.hazards), plan.keyOnMinutes, stock.world.long_key_on);
    const safety = (...arises) => panels(hazards, arises, several);
    const all = parts(plan.operations);
    const steps = new Steps(refs, stock, numbers);
    const alternatives = [].concat(...recipes.map((one) => one.alternatives || []));
    const first = before(all, steps, safety("voltage"), plan, stock);
    const records = order.map((path) => {
      const planned = plan.records.find((one) => one.path === path);
      return asfound.paper.sections(planned, refs[path], placeName(path.split("/")[0], stock.names), stock, alternatives, rows[path]);
    });
    const reading = steps.list(all.noted.filter((one) => one.kind === "note"));
    const noted = all.noted.filter((one) => one.kind !== "note");
    const byHand = plan.records.some((one) => !one.record.names_only && !one.record.shown_as) && !Object.keys(rows).length;
    const refusals = refusalsOf(fixed.refusals, plan.operations, order.length > 1);
    const messages = [].concat(...recipes.map((one) => one.paper.messages));
    const back = recipes.some((one) => one.way_back !== "none");
    return h("main", { class: "sheet", "data-sheet": "" }, [
      ...head(recipes, club, car), rightCar(plan, recipes, stock), safety("start"), first,
      order.length ? h("section", { class: "records" }, h("h2", {}, gettext("Note every record before writing") + " ", soft(gettext("as found not allowed here, or a wrong checksum: STOP, write nothing at all, ask"))), reading.childNodes.length ? reading : "", records.flat(),
        byHand ? h("p", { class: "copy" }, box(), gettext("When all are noted, fill in “to write”: copy each digit from “as found”, but in thick boxes write what stands there or look it up.")) : "",
        noted.length ? steps.list(noted) : "")
        : noted.length ? h("section", { class: "records" }, h("h2", { text: gettext("Note before anything is loaded") }), steps.list(noted)) : "",
      all.work.length ? h("section", { class: "work" }, h("h2", { text: gettext("Do the work") }), safety("writing", "loading"), steps.list(all.work)) : "",
      refusals,
      h("section", { class: "last" }, h("h2", {}, gettext("Prove that it worked") + " ", soft(back ? gettext("a check that fails: go the way back and ask") : gettext("a check that fails: stop and ask; there is no way back"))),
        safety("checks"), steps.list(all.last),
        messages.length ? h("p", {}, b(gettext("Normal on the way:")), messages.map(([message, means]) => " “" + message + "”: " + means)) : ""),
      h("div", { class: "reverse" }, wayBack(recipes, numbers), fixed.end.cloneNode(true)),
    ].flat());
  }

  /** What to do if a module refuses, as far as it can come up in these operations. Counterpart: refusals.html. */
  function refusalsOf(all, operations, several) {
    const out = all.cloneNode(true);
    const kinds = new Set(operations.map((one) => one.do));
    const may = (one) => one.dataset.by.split(" ").some((kind) => kinds.has(kind));
    for (const one of out.querySelectorAll("[data-by]")) { if (!may(one)) { one.remove(); } }
    if (!several) { out.querySelector("[data-several]").remove(); }
    const [first] = out.querySelectorAll("li");
    if (!first.dataset.by) {  /* no numbers are left to which another one could be */
      first.querySelector("b").textContent = gettext("A number");
      out.querySelector("h2 .soft").textContent = gettext("do this and nothing else");
    }
    return out;
  }

  function wayBack(recipes, numbers) {
    const automatic = recipes.filter((one) => one.way_back === "automatic");
    const of = (list) => list.length && numbers[list[0].id] ? [h("b", { class: "of", text: list.map((one) => numbers[one.id]).join(", ") }), " "] : "";
    return h("section", { class: "back", "data-step": "" }, h("h2", { text: gettext("The way back") }),
      automatic.length ? h("p", {}, of(automatic), gettext("Each record written, the last one first: identify the module, its software must be as noted. Read the record."), " ", b(gettext("If all still stands as in “as left”:")), " ",
        gettext("write what “as found” says, read it back, restart, and do the checks the other way round."), " ", b(gettext("Anything else:")), " ",
        gettext("something has changed it since, or the layout is another one: STOP. Write no old bytes; the worksheet of the recipe's page works it out from your note, or ask.")) : "",
      recipes.filter((one) => one.way_back === "none").map((one) => h("p", {}, of([one]), gettext("There is none. Whatever this does stays done."))),
      recipes.filter((one) => Array.isArray(one.way_back)).map((one) => h("p", {}, of([one]), one.way_back.map((step) => [box(), sentence(step) + " "]).flat())));
  }

  asfound.paper = Object.assign(asfound.paper || {}, { draw, panels, signal });
}(window.asfound = window.asfound || {}));
