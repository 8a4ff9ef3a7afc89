/* Every car that what is known leaves possible. Counterparts: asfound.car.world, asfound.car.completions.

   What is known of a car is plain data with the keys of a car file. A set of completions is a BigInt with a bit for
   each, so that conditions combine by its bit operations. */
(function (asfound) {
  "use strict";

  const { leaves } = asfound.conditions;
  const versions = asfound.versions;
  const LIMIT = 1 << 22;

  /** Conditions name more unknown facts at once than can be weighed exactly. */
  class TooManyFacts extends RangeError {}

  /** Months since year 0 of an ISO 8601 month. */
  function monthNumber(month) {
    const [year, number] = month.split("-").map(Number);
    return year * 12 + number;
  }

  function ends(built) {
    return (built || "../..").split("/").map((month) => month === ".." ? null : month);
  }

  /** The kinds of vehicle made, from vehicle lines as plain data: [{car, months}]. */
  function made(lines) {
    const out = [];
    for (const line of lines) {
      for (const model of line.models) {
        for (const phase of line.phases) {
          if (model.phases && !model.phases.includes(phase.id)) { continue; }
          for (const market of line.markets ? line.markets.map((one) => one.id) : [null]) {
            out.push({
              car: { line: line.id, model: model.id, phase: phase.id, market, month: 0 }, months: ends(phase.built),
            });
          }
        }
      }
    }
    return out.length ? out : [{ car: { line: "", model: "", phase: "", market: null, month: 0 }, months: [null, null] }];
  }

  /** A world: vehicle lines and what follows from them. */
  function world(lines) {
    const by = {};
    for (const line of lines) { by[line.id] = line; }
    return { lines, by, made: made(lines) };
  }

  /** Whether such a car has the item: always (true), never (false), or it depends (null). */
  function equipment(here, car, item) {
    const line = here.by[car.line];
    if (!line) { return null; }
    const found = (line.equipment || []).find((one) => one.id === item);
    if (!found) { return false; }
    const standard = (found.standard || []).some(([model, phase]) =>
      (model === null || model === car.model) && (phase === null || phase === car.phase));
    if (standard) { return true; }
    const offered = (!found.models || found.models.includes(car.model)) &&
      (!found.phases || found.phases.includes(car.phase));
    return offered ? null : false;
  }

  /** Whether each of line, models, phases, first month, last month and markets accepts the car. */
  function vehicleKeys(leaf, car) {
    return [
      leaf.line === car.line,
      !leaf.models.length || leaf.models.includes(car.model),
      !leaf.phases.length || leaf.phases.includes(car.phase),
      leaf.first === null || monthNumber(leaf.first) <= car.month,
      leaf.last === null || car.month <= monthNumber(leaf.last),
      !leaf.markets.length || leaf.markets.includes(car.market),
    ];
  }

  const SETS = [["lines", "line"], ["models", "model"], ["phases", "phase"], ["markets", "market"]];

  /** Kinds of vehicle made that `known` allows, one for each stretch of months the leaves tell apart. */
  function cars(vehicles, known, here) {
    const cuts = new Set();
    for (const leaf of vehicles) {
      if (leaf.first) { cuts.add(monthNumber(leaf.first)); }
      if (leaf.last) { cuts.add(monthNumber(leaf.last) + 1); }
    }
    const built = known.built ? monthNumber(known.built) : null;
    const before = Math.min(...cuts, built === null ? Infinity : built);
    const beforeAll = (before === Infinity ? 1 : before) - 1;
    const out = [];
    for (const { car, months } of here.made) {
      if (SETS.some(([set, key]) => known[set] && !known[set].includes(car[key]))) { continue; }
      if (Object.keys(known.equipment || {}).some((item) => equipment(here, car, item) === !known.equipment[item])) {
        continue;
      }
      const last = months[1] ? monthNumber(months[1]) : null;
      const first = months[0] ? monthNumber(months[0]) : last === null ? beforeAll : Math.min(beforeAll, last);
      let starts = [];
      if (built === null) {
        starts = [first, ...Array.from(cuts).filter((cut) => cut > first)].sort((a, b) => a - b);
      } else if (first <= built) {
        starts = [built];
      }
      for (const month of starts) {
        if (last === null || month <= last) { out.push(Object.assign({}, car, { month })); }
      }
    }
    return out;
  }

  /** Which fact a leaf is about. */
  function fact(leaf) {
    if (leaf.k === "vehicle") { return "vehicle"; }
    const about = { equipped: "item", software: "module", part: "module", setting: "path", holds: "record" }[leaf.k];
    return leaf.k + " " + leaf[about] + (leaf.k === "holds" ? " " + leaf.byte : "");
  }

  /** Whether a leaf that is not about the kind of vehicle is true when its fact has this value. */
  function accepts(leaf, value) {
    if (leaf.k === "equipped") { return value === true; }
    if (leaf.k === "software") {
      const range = versions.parseRange(leaf.range);
      return range !== null && versions.containsPoint(range, value);
    }
    if (leaf.k === "holds") { return value !== null && (value & leaf.mask) === leaf.value; }
    return leaf.is.includes(value);
  }

  function values(leaf, group, known) {
    if (leaf.k === "software") {
      const has = (known.modules || {})[leaf.module];
      if (has && has.software !== undefined) { return [versions.point(has.software)]; }
      const named = new Set();
      for (const one of group) {
        for (const version of versions.bounds(versions.parseRange(one.range) || [])) { named.add(version); }
      }
      return versions.points(Array.from(named));
    }
    if (leaf.k === "part" || leaf.k === "setting") {
      const has = leaf.k === "part" ? ((known.modules || {})[leaf.module] || {}).part : (known.settings || {})[leaf.path];
      if (has !== undefined) { return [has]; }
      return [...new Set([].concat(...group.map((one) => one.is))), null];
    }
    const held = (known.records || {})[leaf.record];
    if (held !== undefined) {
      const bytes = asfound.bits.fromHex(held);
      return [leaf.byte < bytes.length ? bytes[leaf.byte] : null];
    }
    const told = new Map();
    for (let value = 0; value < 256; value += 1) {
      const how = group.map((one) => accepts(one, value)).join();
      if (!told.has(how)) { told.set(how, value); }
    }
    return Array.from(told.values());
  }

  function repeat(block, length, size) {
    let out = block;
    let done = length;
    while (out && done < size) {
      const more = Math.min(done, size - done);
      out |= (out & (1n << BigInt(more)) - 1n) << BigInt(done);
      done += more;
    }
    return out;
  }

  /** All completions of what is known, over the facts that some conditions name. */
  class Space {
    constructor(conditions, known, here) {
      const groups = new Map();
      for (const condition of conditions) {
        for (const leaf of leaves(condition)) {
          const name = fact(leaf);
          if (!groups.has(name)) { groups.set(name, []); }
          groups.get(name).push(leaf);
        }
      }
      const vehicles = groups.get("vehicle") || [];
      groups.delete("vehicle");
      this.allCars = cars(vehicles, known, here);
      const items = Array.from(groups.values()).filter((group) => group[0].k === "equipped").map((group) => group[0].item);
      const distinct = new Map();
      for (const car of this.allCars) {
        const has = items.map((item) => equipment(here, car, item));
        const key = JSON.stringify([vehicles.map((leaf) => vehicleKeys(leaf, car)), has]);
        if (!distinct.has(key)) { distinct.set(key, { car, has }); }
      }
      const kinds = Array.from(distinct.values());
      this.cars = kinds.map((one) => one.car);
      this.values = new Map();
      this.stride = new Map();
      this.size = this.cars.length;
      for (const [name, group] of groups) {
        this.stride.set(name, this.size);
        let some;
        if (group[0].k === "equipped") {
          const column = kinds.map((one) => one.has[items.indexOf(group[0].item)]);
          const told = (known.equipment || {})[group[0].item];
          some = told !== undefined ? [told]
            : [true, false].filter((value) => column.includes(value) || column.includes(null));
        } else {
          some = values(group[0], group, known);
        }
        this.values.set(name, some);
        this.size *= some.length;
        if (this.size > LIMIT) { throw new TooManyFacts("too many unknown facts at once"); }
      }
      this.valid = (1n << BigInt(this.size)) - 1n;
      this.masks = new Map();
      items.forEach((item, position) => {
        const name = "equipped " + item;
        for (const value of this.values.get(name)) {
          const never = kinds.map((one, i) => one.has[position] === !value ? i : -1).filter((i) => i >= 0);
          if (never.length) {
            this.valid &= ~(this.carMask(never) & this.valueMask(name, (one) => one === value));
          }
        }
      });
    }

    /** The completions in which a condition is true. */
    where(condition) {
      if (condition.k === "all") { return condition.of.reduce((sum, part) => sum & this.where(part), this.valid); }
      if (condition.k === "any") { return condition.of.reduce((sum, part) => sum | this.where(part), 0n); }
      if (condition.k === "not") { return this.valid & ~this.where(condition.of); }
      if (!this.masks.has(condition.key)) { this.masks.set(condition.key, this.valid & this.leafMask(condition)); }
      return this.masks.get(condition.key);
    }

    leafMask(leaf) {
      if (leaf.k === "vehicle") {
        return this.carMask(this.cars.map((car, i) => vehicleKeys(leaf, car).every(Boolean) ? i : -1)
          .filter((i) => i >= 0));
      }
      return this.valueMask(fact(leaf), (value) => accepts(leaf, value));
    }

    carMask(indices) {
      return repeat(indices.reduce((sum, i) => sum | 1n << BigInt(i), 0n), this.cars.length, this.size);
    }

    valueMask(name, wanted) {
      const stride = this.stride.get(name);
      const some = this.values.get(name);
      const ones = (1n << BigInt(stride)) - 1n;
      let block = 0n;
      some.forEach((value, i) => { if (wanted(value)) { block |= ones << BigInt(stride * i); } });
      return repeat(block, stride * some.length, this.size);
    }
  }

  asfound.completions = { world, Space, TooManyFacts, fact, accepts, vehicleKeys, equipment, monthNumber, ends };
}(window.asfound = window.asfound || {}));
