/* Several recipes merged into one job. Counterparts: asfound.work.gather, asfound.work.plan.

   A shop is {world, modules, recipes, names, here}: plain data of asfound.pages.compiled by id, and the world of the
   vehicle lines. Nothing is asked of the network: what a plan is made from must be there. */
(function (asfound) {
  "use strict";

  const { gettext } = asfound.speech;
  const c = asfound.conditions;
  const { answer, satisfiable } = asfound.fitting;
  const values = asfound.values;
  const { frame, minutes, unitOf, moduleOf } = asfound.frame;
  const { bare, compose, choose, EditProblem } = asfound.edits;
  const NO_FIT = gettext("Leave it out, or correct what is said of the car.");

  /** A shop from the documents of a page. */
  function shop(data) {
    const byId = (list) => {
      const out = Object.create(null);
      for (const one of list) { out[one.id] = one; }
      return out;
    };
    return {
      world: data.world, modules: byId(data.modules), recipes: byId(data.recipes),
      names: asfound.words.namesOf(data.world, data.modules), here: asfound.completions.world(data.world.lines),
    };
  }

  /** The recipes asked for and all they need: {recipes, neededBy, troubles}. Counterpart: gather. */
  function gather(asked, recipes) {
    const wanted = Array.from(new Set(asked));
    const troubles = [];
    const found = [];
    const pull = (one, waiting) => {
      if (found.includes(one) || waiting.includes(one)) { return; }
      waiting.push(one);
      for (const name of one.needs || []) { if (recipes[name]) { pull(recipes[name], waiting); } }
      found.push(one);
    };
    for (const name of wanted) {
      if (recipes[name]) {
        pull(recipes[name], []);
      } else {
        troubles.push({ kind: "unknown", recipes: [name], reason: gettext("There is no recipe “{name}”.", { name }), repair: gettext("Leave it out.") });
      }
    }
    const neededBy = {};
    for (const one of found) {
      if (!wanted.includes(one.id)) {
        neededBy[one.id] = found.filter((other) => (other.needs || []).includes(one.id)).map((other) => other.id);
      }
    }
    const titles = (list) => asfound.sentences.listed(list.map((one) => "“" + one.title + "”"));
    const pairs = [];
    found.forEach((one, i) => (one.needs || []).forEach((name) => {
      const at = found.findIndex((other) => other.id === name);
      if (at >= 0) { pairs.push([at, i]); }
    }));
    const round = asfound.order.circle(found.length, pairs).map((i) => found[i]);
    if (round.length) {
      troubles.push({
        kind: "circle", recipes: round.map((one) => one.id), reason: gettext("{round} need each other in a circle.", { round: titles(round) }),
        repair: gettext("Ask the club to put it right."),
      });
    }
    for (const one of found.filter((other) => other.status === "withdrawn")) {
      troubles.push({ kind: "withdrawn", recipes: [one.id], reason: gettext("{one} is withdrawn.", { one: titles([one]) }), repair: gettext("Leave it out.") });
    }
    const said = new Set();
    for (const one of found) {
      if (one.alone && found.length > 1) {
        troubles.push({
          kind: "alone", recipes: [one.id], reason: gettext("{one} must be done alone.", { one: titles([one]) }), repair: gettext("Make it a job of its own."),
        });
      }
      for (const old of one.replaces || []) {
        const other = found.find((two) => two.id === old);
        if (other) {
          troubles.push({
            kind: "replaced", recipes: [one.id, old], reason: gettext("{one} takes the place of {other}.", { one: titles([one]), other: titles([other]) }),
            repair: gettext("Leave the latter out."),
          });
        }
      }
      for (const clash of one.clashes || []) {
        const other = found.find((two) => two.id === clash.recipe);
        const pair = [one.id, clash.recipe].sort().join();
        if (other && !said.has(pair)) {
          said.add(pair);
          troubles.push({
            kind: "stated", recipes: [one.id, other.id], reason: gettext("{one} must not be combined: {because}", { one: titles([one, other]), because: clash.because }),
            repair: gettext("Leave one of the two out."),
          });
        }
      }
    }
    return { recipes: found, neededBy, troubles };
  }

  /** The recipes as one job on a car of which this is known; `chosen` is words by setting path. Counterpart: plan. */
  function plan(asked, stock, known, chosen) {
    const gathered = gather(asked, stock.recipes);
    const { recipes, neededBy, troubles } = gathered;
    try { return merged(gathered, stock, known, chosen); } catch (error) {
      if (!(error instanceof asfound.completions.TooManyFacts)) { throw error; }
      troubles.push({
        kind: "facts", recipes: recipes.map((one) => one.id), reason: gettext("Together these recipes ask more about the car than can be weighed at once."),
        repair: gettext("Say more of the car, or make several jobs of them."),
      });
      return { neededBy, troubles, questions: [], jobs: [], fits: { kind: "if", because: [] } };
    }
  }

  function merged({ recipes, neededBy, troubles }, stock, known, chosen) {
    const out = { neededBy, troubles, questions: [], jobs: [] };
    out.fits = fits(recipes, stock, known, troubles);
    for (const recipe of recipes) {
      const job = jobOf(recipe, stock, known, out);
      if (job) { out.jobs.push(job); }
    }
    if (troubles.length || out.questions.length || !out.jobs.length) { return out; }
    const records = recordsOf(out.jobs, stock, chosen || {}, troubles);
    if (troubles.length) { return out; }
    const route = routeOf(out.jobs, records, troubles);
    if (!route) { return out; }
    const paths = records.map((one) => one.path);
    const visits = route.visits.map((visit) => visit.map((i) => paths[i]));
    const byPath = {};
    for (const one of records) { byPath[one.path] = one; }
    const operations = frame(out.jobs, byPath, visits, stock);
    for (const wrong of asfound.procedure.violations(operations)) {
      troubles.push({ kind: "procedure", recipes: wrong.by ? [wrong.by] : [], reason: wrong.message, repair: wrong.repair });
    }
    if (troubles.length) { return out; }
    const [total, keyOn] = minutes(operations);
    const charge = chargeOf(out.jobs, keyOn, stock, known);
    return Object.assign(out, {
      records, visits, atLeast: route.atLeast, together: route.together, operations, minutes: total, keyOnMinutes: keyOn,
      charge, supply: supply(out.jobs, keyOn, charge, stock),
    });
  }

  function fits(recipes, stock, known, troubles) {
    let one = false;
    const tests = recipes.map((recipe) => c.read(recipe.fits));
    recipes.forEach((recipe, i) => {
      const own = answer(tests[i], known, stock.here);
      if (own.kind === "no") {
        one = true;
        troubles.push({
          kind: "fit", recipes: [recipe.id], repair: NO_FIT, because: own.because,
          reason: gettext("“{recipe}” does not fit the car: {whyNot}.", { recipe: recipe.title, whyNot: asfound.words.whyNot(own.because, stock.names) }),
        });
      }
    });
    const every = answer(c.conjunction(tests), known, stock.here);
    if (every.kind === "no" && !one) {
      troubles.push({ kind: "fit", recipes: recipes.map((r) => r.id), reason: gettext("No one car fits all of these recipes."), repair: gettext("Make a job of each, or correct what is said of the car.") });
    }
    return every;
  }

  function jobOf(recipe, stock, known, out) {
    const forms = (recipe.forms || []).map((form) => ({ form, test: c.read(form.for) }))
      .filter((one) => satisfiable(one.test, known, stock.here));
    const sure = forms.filter((one) => answer(one.test, known, stock.here).kind === "fits");
    const some = sure.length ? sure.slice(0, 1) : forms;
    if (some.length === 1) { return { recipe, form: narrowed(recipe, some[0], stock, known, out.troubles) }; }
    if (!some.length && !out.troubles.some((one) => one.recipes.includes(recipe.id))) {
      out.troubles.push({
        kind: "fit", recipes: [recipe.id], reason: gettext("“{recipe}” does nothing on this car.", { recipe: recipe.title }), repair: NO_FIT,
      });
    }
    for (const one of some.slice(0, -1)) {
      const decides = answer(one.test, known, stock.here).residual;
      if (decides) { out.questions.push({ recipe: recipe.id, decides }); }
    }
    return null;
  }

  /** A record's description, by its path. */
  function recordOf(stock, path) {
    const module = stock.modules[moduleOf(unitOf(path))];
    return module && module.records.find((one) => one.id === path.split("/")[1]);
  }

  function narrowed(recipe, { form, test }, stock, known, troubles) {
    const records = form.records.map((one) => {
      const record = recordOf(stock, one.record);
      const layouts = (one.layouts || []).filter((id) => {
        const layout = record.layouts.find((other) => other.id === id);
        return satisfiable(c.all([test, c.read(layout.for)]), known, stock.here);
      });
      if (!layouts.length && !record.names_only) {
        troubles.push({
          kind: "layout", recipes: [recipe.id],
          reason: gettext("No layout of “{record}” is known for this car, so “{recipe}” cannot be done.", { record: record.name, recipe: recipe.title }),
          repair: gettext("Ask the club; never guess a layout."),
        });
      }
      return Object.assign({}, one, { layouts });
    });
    return Object.assign({}, form, { records });
  }

  function recordsOf(jobs, stock, chosen, troubles) {
    const byPath = new Map();
    for (const job of jobs) {
      for (const one of job.form.records) {
        if (!byPath.has(one.record)) { byPath.set(one.record, []); }
        byPath.get(one.record).push([job, one]);
      }
    }
    const out = [];
    byPath.forEach((parts, path) => {
      const record = recordOf(stock, path);
      const names = parts.map(([job]) => job.recipe.id);
      const ids = parts[0][1].layouts.filter((id) => parts.every(([, one]) => one.layouts.includes(id)));
      const layouts = ids.map((id) => record.layouts.find((one) => one.id === id));
      const words = {};
      for (const setting of record.settings) {
        const told = chosen[bare(path) + "/" + setting.id];
        if (told !== undefined) { words[setting.id] = told; }
      }
      try {
        const all = (record.names_only ? [undefined] : ids).map((layout) =>
          parts.map(([job, one]) => choose(editOf(job.recipe, path, layout, one.changes), record.settings, words)));
        const edits = all.map((some) => Object.assign(compose(some), { record: path }));
        if (edits.length) {
          const fields = [].concat(...all[0].map((one) => one.fields));
          out.push({ path, record, layouts, edits, recipes: names, fields });
          return;
        }
        troubles.push({
          kind: "layout", recipes: names, reason: gettext("No car has a layout of “{record}” that suits all of these recipes.", { record: record.name }),
          repair: gettext("Make them jobs of their own."),
        });
      } catch (error) {
        if (!(error instanceof EditProblem)) { throw error; }
        troubles.push({ kind: "clash", recipes: names, reason: error.reason, repair: error.repair });
      }
    });
    return out;
  }

  /** The compiled edit of a recipe for a record, a layout and a set of changes. */
  function editOf(recipe, path, layout, changes) {
    const found = recipe.edits.find((one) => one.record === bare(path) && one.layout === layout &&
      String(one.changes) === String(changes));
    const out = Object.assign({}, found);
    delete out.changes;
    return out;
  }

  function routeOf(jobs, records, troubles) {
    const paths = records.map((one) => one.path);
    const units = Array.from(new Set(paths.map(unitOf)));
    const classes = paths.map((path) => units.indexOf(unitOf(path)));
    const own = new Map();
    const ends = {};
    for (const job of jobs) {
      const row = job.form.records.map((one) => paths.indexOf(one.record));
      for (let i = 1; i < row.length; i += 1) { own.set(row[i - 1] + " " + row[i], job.recipe.title); }
      if (row.length) { ends[job.recipe.id] = [row[0], row[row.length - 1]]; }
    }
    let needs = [];
    for (const job of jobs) {
      for (const name of job.recipe.needs || []) {
        const from = ends[name];
        const to = ends[job.recipe.id];
        if (from && to && from[1] !== to[0]) { needs.push({ pair: [name, job.recipe.id], step: [from[1], to[0]] }); }
      }
      const late = job.recipe.media ? (job.recipe.needs || []).filter((name) => ends[name]) : [];
      if (late.length) {
        troubles.push({
          kind: "order", recipes: [job.recipe.id, ...late], repair: gettext("Do that first, as a job of its own."),
          reason: gettext("“{recipe}” loads a file, which comes before the writing that it needs.", { recipe: job.recipe.title }),
        });
      }
    }
    const together = [];
    const ownSteps = Array.from(own.keys(), (key) => key.split(" ").map(Number));
    while (!troubles.length) {
      const route = asfound.order.fewestVisits(classes, ownSteps.concat(needs.map((one) => one.step)));
      if (!route.circle) { return { visits: route.visits, atLeast: route.atLeast, together }; }
      const steps = new Set(route.circle.map((one, i) => one + " " + route.circle[(i + 1) % route.circle.length]));
      const dropped = needs.filter((one) => steps.has(one.step.join(" ")) && !own.has(one.step.join(" ")));
      needs = needs.filter((one) => !dropped.includes(one));
      together.push(...dropped.map((one) => one.pair));
      if (!dropped.length) {
        const who = jobs.filter((job) => Array.from(steps).some((step) => own.get(step) === job.recipe.title));
        troubles.push({
          kind: "order", recipes: orderNames(steps, own, paths, jobs), repair: gettext("Make them jobs of their own, one after the other."),
          reason: gettext("{who} write the same records in opposite orders.", { who: asfound.sentences.listed(who.map((job) => "“" + job.recipe.title + "”")) }),
        });
      }
    }
    return null;
  }

  function orderNames(steps, own, paths, jobs) {
    const named = Array.from(steps).map((step) => {
      const [a, b] = step.split(" ").map(Number);
      return [paths[a], paths[b], jobs.find((job) => job.recipe.title === own.get(step)).recipe.id];
    });
    named.sort((a, b) => a < b ? -1 : 1);
    return Array.from(new Set(named.map((one) => one[2])));
  }

  /** {needed, spare} in ampere-hours; null where one line was not measured. */
  function chargeOf(jobs, keyOn, stock, known) {
    const tests = jobs.map((job) => c.read(job.form.for));
    const lines = stock.world.lines.filter((line) =>
      satisfiable(c.all([c.vehicle({ line: line.id }), ...tests]), known, stock.here));
    if (!lines.length || lines.some((line) => !line.power)) { return null; }
    let worst = null;
    for (const { power } of lines) {
      const needed = values.over(values.times(values.parse(power.key_on_amps), values.whole(keyOn)), values.whole(60));
      const spare = values.parse(power.spare_amp_hours);
      const lacks = values.add(needed, { n: -spare.n, d: spare.d });
      if (!worst || values.compare(lacks, worst.lacks) > 0) { worst = { needed, spare, lacks }; }
    }
    return { needed: worst.needed, spare: worst.spare, enough: values.compare(worst.needed, worst.spare) <= 0 };
  }

  function supply(jobs, keyOn, charge, stock) {
    const out = [];
    if (jobs.some((job) => job.recipe.media)) { out.push(gettext("A file is loaded, which must not be interrupted.")); }
    if (charge && !charge.enough) { out.push(gettext("The job takes more out of the battery than it can spare.")); }
    if (keyOn >= stock.world.long_key_on) { out.push(gettext("The key is on for {long_key_on} minutes or longer.", { long_key_on: stock.world.long_key_on })); }
    return out;
  }

  asfound.plans = { shop, gather, plan, recordOf, editOf, jobOf };
}(window.asfound = window.asfound || {}));
