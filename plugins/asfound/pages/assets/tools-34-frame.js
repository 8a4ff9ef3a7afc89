/* The frame of a merged job, put together from the compiled jobs of its recipes. Counterparts: asfound.work.frame,
   asfound.work.assembly. What no recipe's own job says alone comes from the sentences. */
(function (asfound) {
  "use strict";

  const { gettext } = asfound.speech;
  const say = asfound.sentences;
  const unitOf = (path) => path.split("/")[0];
  const moduleOf = (unit) => unit.split("@")[0];

  /** A way of the job being put together. */
  class Frame {
    /**
     * `jobs`: [{recipe, form}], the recipe as compiled, the form one of its forms with its job.
     * `records`: planned records by path: {path, record, layouts, edits, recipes}; `visits`: paths by visit.
     */
    constructor(jobs, records, visits, shop) {
      this.jobs = jobs;
      this.records = records;
      this.shop = shop;
      this.groups = [];
      for (const path of [].concat(...visits)) {
        const last = this.groups[this.groups.length - 1];
        if (last && unitOf(last[0]) === unitOf(path)) { last.push(path); } else { this.groups.push([path]); }
      }
      this.targets = [].concat(...this.groups);
      this.visited = Array.from(new Set(this.targets.map(unitOf)));
      this.media = jobs.filter((job) => job.recipe.media);
      this.loaded = Array.from(new Set(this.media.map((job) => job.recipe.media.module)));
      this.out = [];
      this.power = null;
    }

    operations() {
      this.prepare();
      this.look();
      this.note();
      for (const job of this.media) { this.load(job); }
      for (const group of this.groups) { this.visit(group); }
      this.prove();
      return this.out;
    }

    put(one) {
      if (one.power && one.power !== this.power) {
        const turn = this.shop.world.key.find(([before, after]) => before === this.power && after === one.power);
        this.power = one.power;
        this.add({ do: "key", text: turn[2], power: one.power, of: one.of, by: one.by });
      }
      this.add(one);
    }

    add(one) {
      const out = Object.assign({}, one);
      delete out.key_on;
      if (this.power === "key-on" && one.do !== "restart") { out.key_on = true; }
      this.out.push(out);
    }

    /** Operations of a recipe's own job. */
    own(job, test) { return job.form.job.filter(test).map((one) => Object.assign({}, one, { by: job.recipe.id })); }

    /** The first operation of some kind in any of the jobs. */
    first(test) {
      for (const job of this.jobs) {
        const found = this.own(job, test);
        if (found.length) { return found[0]; }
      }
      return null;
    }

    /** The authored steps of one moment, of one unit where it is a module's. */
    steps(moment, unit, jobs) {
      for (const job of jobs || this.jobs) {
        const mine = this.own(job, (one) => one.do === "step" && one.moment === moment);
        if (unit === undefined) {
          mine.forEach((one) => this.put(one));
        } else {
          const here = mine.filter((one) => moduleOf(one.module || "") === moduleOf(unit));
          for (const one of here.filter((other) => other.module === here[0].module)) {
            this.put(Object.assign(one, { module: unit }));
          }
        }
      }
    }

    prepare() {
      const seen = new Set();
      const put = (one) => {
        if (!seen.has(one.text)) {
          seen.add(one.text);
          this.put(one);
        }
      };
      const ready = (job) => this.own(job, (one) => one.do === "have-ready");
      const isAccess = (one) => this.visited.concat(...this.jobs.map((job) => job.form.records.map((r) => unitOf(r.record))))
        .some((unit) => one.text.startsWith(this.access(unit)));
      const isMedia = (job, one) => job.recipe.media && ready(job).slice(-3).some((other) => other.text === one.text);
      for (const job of this.jobs) { ready(job).filter((one) => !isAccess(one) && !isMedia(job, one)).forEach(put); }
      for (const path of this.targets) {
        const record = this.records[path];
        if (record.record.locked) {
          const prefix = this.access(unitOf(path));
          const job = this.jobs.find((one) => one.recipe.id === record.recipes[0]);
          ready(job).filter((one) => one.text.startsWith(prefix)).forEach(put);
        }
      }
      for (const job of this.media) { ready(job).slice(-3).forEach(put); }
      this.steps("start");
    }

    /** How the sentence about the access code of a unit begins, whatever the code. */
    access(unit) { return gettext("The access code of {unit}: {code}.", { unit: this.name(unit), code: "\n" }).split("\n")[0]; }

    name(unit) { return asfound.words.unitName(unit, this.shop.names); }

    look() {
      for (const unit of Array.from(new Set(this.loaded.concat(this.visited)))) {
        const one = this.first((other) => other.do === "identify" && other.module === unit);
        const mine = this.targets.filter((path) => unitOf(path) === unit).map((path) => this.records[path]);
        one.expect = say.identifyExpect(mine.map((record) => [record.record, record.layouts]));
        one.else = gettext("If it does not answer, check key and plug.") + (one.expect === gettext("The module answers.") ? ""
          : " " + gettext("If no layout is that of your car, write nothing: ask the club, never guess."));
        delete one.minutes;
        if (!this.visited.includes(unit)) { one.minutes = this.shop.world.times.module; }
        this.put(one);
      }
      this.put(this.first((one) => one.do === "read-faults"));
      this.put(this.first((one) => one.do === "measure-voltage"));
      const checks = (job) => this.own(job, (one) => one.do === "precheck");
      for (const job of this.jobs) {
        const mine = checks(job);
        (job.recipe.media ? mine.slice(0, -1) : mine).forEach((one) => this.put(one));
      }
      for (const job of this.media) { this.put(checks(job).pop()); }
    }

    /** Every field of all recipes for a record, before merging, and its settings by id. */
    fields(path) {
      const record = this.records[path];
      return [record.fields, asfound.edits.byId(record.record.settings)];
    }

    note() {
      for (const path of this.targets) {
        const { record, layouts } = this.records[path];
        const [fields, defined] = this.fields(path);
        const one = this.first((other) => other.do === "note" && other.record === path);
        const names = Array.from(new Set(fields.map((field) => defined[field.setting].name)));
        this.put(Object.assign(one, {
          text: say.note(record, layouts, names, this.name(unitOf(path))), expect: say.noteExpect(fields, defined),
        }));
      }
      for (const job of this.media) { this.own(job, (one) => one.do === "note-version").forEach((one) => this.put(one)); }
      this.steps("noted");
    }

    load(job) {
      const module = job.recipe.media.module;
      const own = !this.visited.some((unit) => moduleOf(unit) === module);
      if (own) { this.steps("opened", module); this.steps("unlocked", module); }
      this.own(job, (one) => one.do === "load-file" || one.do === "read-version").forEach((one) => this.put(one));
      if (own) { this.steps("written", module); this.steps("restarted", module); }
    }

    visit(group) {
      const unit = unitOf(group[0]);
      const here = (kind) => this.first((one) => one.do === kind && one.module === unit);
      const by = this.records[group[0]].recipes[0];
      this.put(Object.assign(here("open"), { by }));
      this.steps("opened", unit, this.whose("opened", group));
      const locked = group.find((path) => this.records[path].record.locked);
      let code = locked ? this.unlocking(locked, unit) : null;
      if (code) { this.put(code); }
      this.steps("unlocked", unit, this.whose("unlocked", group));
      for (const path of group) {
        const { record, layouts, recipes } = this.records[path];
        const other = record.locked ? this.unlocking(path, unit) : null;
        if (other && other.text !== code.text) {
          this.put(other);
          code = other;
        }
        const [fields, defined] = this.fields(path);
        const one = this.first((other) => other.do === "write" && other.record === path);
        one.text = say.write(record, layouts, fields, defined, this.name(unit));
        this.put(Object.assign(one, { by: recipes[0] }));
        this.readBack(path, 0);
      }
      const again = group.filter((path) => this.records[path].record.takes_effect === "after-restart");
      if (!again.length) { this.put({ do: "close", text: gettext("Leave {unit}.", { unit: this.name(unit) }), module: unit, by }); }
      this.steps("written", unit, this.whose("written", group));
      if (again.length) {
        this.put(here("restart"));
        this.power = null;
      }
      this.steps("restarted", unit, this.whose("restarted", group));
      for (const path of again) { this.readBack(path, 1); }
    }

    /** How the unit is unlocked for a record: as it stands before the writing in a recipe's own job. */
    unlocking(path, unit) {
      const by = this.records[path].recipes[0];
      const { job } = this.jobs.find((one) => one.recipe.id === by).form;
      const at = job.findIndex((one) => one.do === "write" && one.record === path);
      const found = job.slice(0, at).filter((one) => one.do === "unlock" && one.module === unit);
      return Object.assign({}, found[found.length - 1], { by });
    }

    readBack(path, nth) {
      const { record, recipes } = this.records[path];
      const [fields, defined] = this.fields(path);
      const job = this.jobs.find((one) => one.recipe.id === recipes[0]);
      const one = this.own(job, (other) => other.do === "read-back" && other.record === path)[nth];
      this.put(Object.assign(one, { expect: say.readBackExpect(record, fields, defined) }));
    }

    /** Whose steps of a moment belong to this visit, where a module is visited more than once. */
    whose(moment, group) {
      const groups = this.groups.filter((one) => unitOf(one[0]) === unitOf(group[0]));
      return this.jobs.filter((job) => {
        let own = groups.filter((one) => one.some((path) => this.records[path].recipes.includes(job.recipe.id)));
        if (!own.length) { own = groups.slice(-1); }
        return (moment === "opened" || moment === "unlocked" ? own[0] : own[own.length - 1]) === group;
      });
    }

    prove() {
      for (const job of this.jobs) { this.own(job, (one) => one.do === "check").forEach((one) => this.put(one)); }
      this.steps("end");
      const faults = [].concat(...this.jobs.map((job) => job.recipe.faults || []));
      this.put(Object.assign(this.first((one) => one.do === "read-faults-last"), { expect: say.faultsExpect(faults) }));
    }
  }

  /** All operations of a merged job. */
  function frame(jobs, records, visits, shop) { return new Frame(jobs, records, visits, shop).operations(); }

  /** [minutes, minutes with the key on and the engine at rest]. */
  function minutes(operations) {
    const sum = (some) => some.reduce((all, one) => all + (one.minutes || 0), 0);
    return [sum(operations), sum(operations.filter((one) => one.key_on))];
  }

  asfound.frame = { frame, minutes, unitOf, moduleOf };
}(window.asfound = window.asfound || {}));
