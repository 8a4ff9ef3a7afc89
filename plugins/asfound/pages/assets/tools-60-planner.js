/* The planner: several recipes as one job, the car's log, later readings, handover. One page, since from a folder some
   browsers give every page a storage of its own. */
(function (asfound) {
  "use strict";

  const { gettext, ngettext, numberWords } = asfound.speech;
  const { h, fill, button, download, prose } = asfound.dom;
  const { store } = asfound;
  const { load, loadRecipes } = asfound.catalogue;
  const { sentence, minutesWords, unbroken } = asfound.words;

  function start(root, base, href) {
    const index = asfound.catalogue.recipes();
    const room = root.querySelector("[data-asf-planner]");
    const titles = {};
    const labels = {};
    for (const one of index.recipes) {
      titles[one.id] = one.title;
      if (one.kind !== "vetted") { labels[one.id] = [one.kind, one.label]; }
    }
    const byTitle = new Intl.Collator(document.documentElement.lang || "en");
    const recipes = index.recipes.filter((one) => one.kind !== "withdrawn").sort((one, other) => byTitle.compare(one.title, other.title));
    const asked = [];
    let turn = 0;
    let sheet = null;
    let stock = asfound.catalogue.stock();
    const filter = h("input", { type: "search", autocomplete: "off", spellcheck: "false", input: drawList });
    const list = h("ul", { class: "asf-list asf-pick" });
    const count = h("p", { role: "status", class: "asf-soft" });
    const job = h("div", {});
    const said = h("p", { role: "status" });
    const logRoom = h("div", {});
    const mishapRoom = h("div", {});
    room.replaceChildren(
      h("h2", { id: "pick", text: gettext("Pick recipes") }), asfound.dom.field(gettext("Filter"), filter), count, list,
      h("h2", { id: "plan", text: gettext("The job") }), said, job,
      h("h2", { id: "log", text: gettext("The car's log") }), logRoom);

    function drawList() {
      const query = asfound.search.words(filter.value);
      const known = store.known();
      const answerOf = Object.keys(known).length > 0 ? asfound.answers.answerer(index, stock, known) : () => null;
      const rows = recipes.filter((one) => asked.includes(one.id) || query.every((word) => asfound.search.inTitle(one.words, word)));
      count.textContent = rows.length > 40 ? gettext("The first 40 of {n}.", { n: rows.length }) : ngettext("{n} recipe", "{n} recipes", rows.length);
      const shown = rows.filter((one) => asked.includes(one.id)).concat(rows.filter((one) => !asked.includes(one.id)).slice(0, 40));
      list.replaceChildren(...shown.map(({ id, title }, i) => {
        const box = h("input", { type: "checkbox", id: "asf-pick-" + id, change: () => choose(id, box.checked) });
        box.checked = asked.includes(id);
        const answer = answerOf(shown[i]);
        return h("li", {}, h("p", {}, box, " ", h("label", { for: box.id, text: title }), " ", h("a", { href: href(id), class: "asf-soft", text: gettext("page") }), " ", stamp(id), " ", answer ? asfound.answers.badge(answer) : ""));
      }));
    }

    /** How far the club stands behind a recipe, where it is not vetted throughout. */
    function stamp(id) {
      const told = labels[id];
      return told ? h("span", { class: "asf-stamp asf-stamp--" + told[0], text: told[1] }) : "";
    }

    function choose(id, on) {
      if (on) { asked.push(id); } else { asked.splice(asked.indexOf(id), 1); }
      said.textContent = "";
      turn += 1;
      const mine = turn;
      loadRecipes(base, asked).then(() => {
        if (mine !== turn) { return; }  /* another choice came meanwhile, whose data may still be on their way */
        stock = asfound.catalogue.stock();
        drawJob();
      }, (error) => { if (mine === turn) { said.textContent = gettext("The data of {message} could not be loaded.", { message: error.message }); } });
    }

    function drawJob() {
      if (!asked.length) { sheet = null; job.replaceChildren(h("p", { text: gettext("Pick one recipe or more: they become one job, with one worksheet.") })); return; }
      const wanted = Array.from(new Set(asfound.plans.gather(asked, stock.recipes).recipes.map((one) => one.id)));
      const summary = h("div", {});
      const after = h("div", {});
      const operations = h("div", {});
      const warnings = h("div", {});
      const paper = root.dataset.asfSheet ? h("p", {}, asfound.toPaper.link(root.dataset.asfSheet, () => sheet, gettext("The sheet of this job, for paper"))) : "";
      let mishaps = null;
      const whole = h("div", {}, h("h3", { text: gettext("The whole job") }), operations);
      const later = h("div", {}, h("h3", { text: gettext("After the work") }), after);
      const changed = (one) => {
        drawSummary(summary, one);
        drawOperations(operations, one);
        warnings.replaceChildren(...drawHazards(one, wanted));
        unbroken(warnings);
        /* Where there is no job, why not stands first, and nothing is offered that only a job has. */
        for (const part of [warnings, paper, whole, later]) { if (part) { part.hidden = !one.plan.operations; } }
        if (mishaps) { mishaps.refresh(); }
      };
      sheet = new asfound.sheet.Sheet(asked.slice(), stock, changed);
      mishaps = asfound.mishaps.start(root, () => sheet);
      if (mishaps) { mishapRoom.replaceChildren(mishaps.room); root.querySelector("#refusals").after(mishapRoom); }
      after.append(asfound.after.start(sheet, wanted));
      job.replaceChildren(summary, warnings, paper, whole, h("h3", { id: "worksheet", text: gettext("Worksheet") }), sheet.room,
        wanted.filter((id) => stock.recipes[id].media).map((id) => asfound.media.start(stock.recipes[id].media)), later);
      changed(sheet);
    }

    function drawHazards(one, wanted) {
      if (!one.plan.operations) { return []; }
      const found = asfound.sentences.jobHazards(wanted.map((id) => asfound.data["sheets/" + id].hazards), one.plan.keyOnMinutes, stock.world.long_key_on);
      return asfound.toPaper.hazards(found.map(([hazard, of]) => [hazard, of.map((at) => titles[wanted[at]])]), wanted.length > 1);
    }

    function drawSummary(out, one) {
      const plan = one.plan;
      const parts = [];
      const jobs = plan.jobs.map((job) => job.recipe);
      parts.push(h("ul", {}, jobs.map((recipe) => h("li", {}, h("a", { href: href(recipe.id) + "#hazards", text: recipe.title }), " ", stamp(recipe.id), h("span", { class: "asf-soft", text: " " + gettext("Read its hazards first.") })))));
      const pulled = Object.keys(plan.neededBy);
      if (pulled.length) {
        parts.push(h("ul", {}, pulled.map((id) => h("li", { text: ngettext("“{recipe}” is in it too, because {others} needs it.", "“{recipe}” is in it too, because {others} need it.", plan.neededBy[id].length,
          { recipe: titles[id], others: asfound.words.joinWords(plan.neededBy[id].map((by) => "“" + titles[by] + "”"), "and") }) }))));
      }
      if (plan.operations) {
        const visits = plan.visits.length;
        const facts = [
          [gettext("Records"), gettext("{n}, each written once", { n: plan.records.length })],
          [gettext("Visits to modules"), !visits ? gettext("none") : visits === plan.atLeast ? gettext("{n}, and no order has fewer", { n: visits })
            : gettext("{n}; perhaps {fewer} would do", { n: visits, fewer: plan.atLeast })],
          [gettext("Time"), gettext("About {lasts}, {key_on} of them with the key on", { lasts: minutesWords(plan.minutes), key_on: minutesWords(plan.keyOnMinutes) })],
        ];
        if (plan.charge) {
          const amount = (value) => numberWords((Number(value.n) / Number(value.d)).toFixed(1)) + " Ah";
          facts.push([gettext("Battery"), gettext("{needed} by measured current; {spare} can be spared", { needed: amount(plan.charge.needed), spare: amount(plan.charge.spare) })]);
        }
        facts.push([gettext("Supply"), plan.supply.length ? gettext("Connect one. {supply}", { supply: plan.supply.join(" ") }) : gettext("Not needed by the club's figures")]);
        parts.push(h("dl", { class: "asf-facts" }, facts.map(([term, words]) => h("div", {}, h("dt", { text: term }), h("dd", { text: words })))));
        for (const [first, second] of plan.together) { parts.push(h("p", { text: gettext("“{first}” and “{second}” are written together.", { first: titles[first], second: titles[second] }) })); }
      }
      fill(out, ...parts);
      unbroken(out);
    }

    function drawOperations(out, one) {
      const some = one.plan.operations || [];
      const key = JSON.stringify(some.map((o) => o.text));
      if (out.dataset.key === key) { return; }
      out.dataset.key = key;
      out.replaceChildren(some.length ? h("details", { open: true }, h("summary", { text: ngettext("{n} step", "{n} steps", some.length) }), h("ol", { class: "asf-steps" }, some.map((o) => h("li", { class: "asf-step asf-step--" + o.do },
        h("div", { class: "asf-step__text" }, prose(sentence(o.do === "have-ready" ? gettext("Have at hand:") + " " + o.text : o.text)), " ", o.of && titles[o.of] && one.plan.jobs.length > 1 ? h("span", { class: "asf-tag", text: titles[o.of] }) : ""),
        o.expect ? h("p", { class: "asf-step__expect" }, h("b", { text: gettext("Expect") }), " ", prose(sentence(o.expect))) : "",
        o.else ? h("p", { class: "asf-step__stop" }, [gettext("If "), "If "].some((begins) => o.else.startsWith(begins)) ? "" : [h("b", { text: gettext("If not") }), " "], prose(sentence(o.else))) : "")))) : "");
      unbroken(out);
    }

    function drawLog() {
      const log = store.logFile();
      if (!log || !log.entries.length) {
        logRoom.replaceChildren(h("p", { text: gettext("Nothing is in the log of this car. The worksheet puts a finished job into it; a log from a file is taken in under “My car”, above.") }));
        return;
      }
      const modules = [].concat(...log.entries.map((entry) => {
        const one = entry.wrote || entry.put_back || entry.read;
        return one ? [one.record.split("/")[0].split("@")[0]] : [];
      })).filter((id) => asfound.data.world.modules.some((one) => one.id === id));
      load(base, modules.map((id) => "modules/" + id)).then(() => {
        stock = asfound.catalogue.stock();
        const driftRoom = h("div", {});
        const handRoom = h("div", { class: "asf-handover-page" });
        const backRoom = h("div", {});
        driftRoom.append(...asfound.back.drift(stock));
        handRoom.append(...asfound.back.handover(stock, titles));
        backRoom.append(...asfound.back.notes(null, stock, null).map((note) => asfound.back.wayBack(note, stock)));
        logRoom.replaceChildren(
          h("ol", { class: "asf-log" }, log.entries.map(entryWords)),
          h("p", { class: "asf-buttons" }, button(gettext("Export the log"), () => download("log.json", JSON.stringify(store.logFile(), null, 1) + "\n"), true)),
          h("h3", { id: "drift", text: gettext("Later: does it still stand?") }), h("p", { text: gettext("After a workshop's visit or an update, read the records again. What was lost is told, and how to put it back.") }), driftRoom,
          h("h3", { id: "back", text: gettext("Put it back") }), backRoom,
          h("h3", { id: "handover", text: gettext("Handover") }), h("p", { class: "asf-buttons" }, button(gettext("Print this page for the workshop or the next owner"), () => {
            document.body.classList.add("asf-print-handover");
            window.addEventListener("afterprint", () => document.body.classList.remove("asf-print-handover"), { once: true });
            window.print();
          }, true)), handRoom);
      }, () => logRoom.replaceChildren(h("p", { text: gettext("The data of a module could not be loaded.") })));
    }

    function entryWords(entry) {
      const one = entry.wrote || entry.put_back;
      if (entry.loaded) { return h("li", { text: gettext("{date}: loaded {file}, {before} to {after}", { date: entry.date, file: entry.loaded.name, before: entry.loaded.before, after: entry.loaded.after }) }); }
      if (!one) { return h("li", { text: gettext("{date}: read {record}", { date: entry.date, record: entry.read.record }) }); }
      const record = asfound.plans.recordOf(stock, one.record);
      const setting = (id) => record && record.settings.find((other) => other.id === id);
      const words = (change, key) => "“" + asfound.values.withUnit(setting(change.setting), change[key]) + "”";
      const said = [].concat(...one.recipes.map((did) => did.changes.map((change) => gettext("{setting}: {before} to {after}", { setting: (setting(change.setting) || { name: change.setting }).name, before: words(change, "from"), after: words(change, "to") }))));
      return h("li", { text: entry.date + ": " + (entry.put_back ? gettext("put back:") + " " : "") + said.join("; ") });
    }

    let known = JSON.stringify(store.known());
    let log = JSON.stringify(store.logFile());
    store.listen(() => {
      const before = [known, log];
      known = JSON.stringify(store.known());
      log = JSON.stringify(store.logFile());
      if (known !== before[0]) { drawList(); }
      if (known !== before[0] || sheet && sheet.stale()) { drawJob(); }
      if (log !== before[1]) { drawLog(); }
    });
    drawList();
    drawJob();
    drawLog();
  }

  asfound.planner = { start };
}(window.asfound = window.asfound || {}));
