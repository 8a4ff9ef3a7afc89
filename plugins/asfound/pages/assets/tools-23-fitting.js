/* Whether a car satisfies a condition: yes, no, or what it hangs on. Counterparts: asfound.car.fitting,
   asfound.car.residual. */
(function (asfound) {
  "use strict";

  const c = asfound.conditions;
  const { Space, fact, accepts, vehicleKeys } = asfound.completions;
  const { TRUE, FALSE, same, isLeaf, leaves } = c;

  /** Kleene's value of the condition, leaf by leaf; null: unknown. */
  function truth(condition, known, here) {
    if (condition.k === "not") {
      const value = truth(condition.of, known, here);
      return value === null ? null : !value;
    }
    if (isLeaf(condition)) {
      const space = new Space([condition], known, here);
      const where = space.where(condition);
      return !where ? false : where === space.valid ? true : null;
    }
    const decides = condition.k === "any";
    const values = condition.of.map((part) => truth(part, known, here));
    if (values.includes(decides)) { return decides; }
    return values.includes(null) ? null : !decides;
  }

  /** {kind: "fits" | "no" | "if", because, residual}, exactly. Counterpart: answer. */
  function answer(condition, known, here) {
    const space = new Space([condition], known, here);
    const where = space.where(condition);
    if (!where) {
      const because = space.valid ? whyFalse(condition, space) : [];
      return { kind: "no", because: space.valid && !because.length ? [condition] : because };
    }
    if (where === space.valid) { return { kind: "fits", because: [] }; }
    return { kind: "if", because: [], residual: residual(condition, space) };
  }

  /** Whether any car of which this is known was made. */
  function possible(known, here) { return new Space([], known, here).valid !== 0n; }

  /** Whether a car of which this is known can satisfy the condition. */
  function satisfiable(condition, known, here) {
    return new Space([condition], known, here).where(condition) !== 0n;
  }

  /** A small condition true in the same completions, naming only facts that can change it. */
  function residual(condition, space) {
    const wanted = space.where(condition);
    let best = c.mapLeaves(condition, (leaf) => tidy(leaf, space));
    for (;;) {
      let next = null;
      for (const one of smaller(best, space)) {
        if (!same(one, best) && space.where(one) === wanted) { next = one; break; }
      }
      if (!next) { return best; }
      best = next;
    }
  }

  function shortest(lists) {
    return lists.reduce((best, one) => one.length < best.length ? one : best);
  }

  /** For a condition true in no completion: a few parts of it, each never true, that explain it. */
  function whyFalse(condition, space) {
    if (condition.k === "all") {
      const culprits = condition.of.filter((part) => !space.where(part)).map((part) => whyFalse(part, space));
      return culprits.length ? shortest(culprits) : [c.all(fewest(condition.of, space, c.all, 0n))];
    }
    if (condition.k === "any") { return c.once([].concat(...condition.of.map((part) => whyFalse(part, space)))); }
    if (condition.k === "not") { return whyTrue(condition.of, space); }
    return [weakest(condition, space)];
  }

  function whyTrue(condition, space) {
    if (condition.k === "all") { return c.once([].concat(...condition.of.map((part) => whyTrue(part, space)))); }
    if (condition.k === "any") {
      const culprits = condition.of.filter((part) => space.where(part) === space.valid)
        .map((part) => whyTrue(part, space));
      return culprits.length ? shortest(culprits) : [c.not(c.any(fewest(condition.of, space, c.any, space.valid)))];
    }
    if (condition.k === "not") { return whyFalse(condition.of, space); }
    return [c.not(condition)];
  }

  function fewest(of, space, join, wanted) {
    for (const part of of) {
      const rest = of.filter((other) => other !== part);
      if (space.where(join(rest)) === wanted) { return fewest(rest, space, join, wanted); }
    }
    return of;
  }

  function weakest(leaf, space) {
    for (const weaker of weakerThan(leaf)) {
      if (!space.where(weaker)) { return weakest(weaker, space); }
    }
    return leaf;
  }

  function tidy(leaf, space) {
    const where = space.where(leaf);
    if (!where) { return FALSE; }
    if (where === space.valid) { return TRUE; }
    if (leaf.k !== "vehicle") { return leaf; }
    const made = space.allCars.filter((car) => car.line === leaf.line);
    const kept = (names, key) => names.filter((name) => made.some((car) => car[key] === name));
    return c.vehicle(Object.assign({}, leaf, {
      models: kept(leaf.models, "model"), phases: kept(leaf.phases, "phase"), markets: kept(leaf.markets, "market"),
    }));
  }

  function* smaller(condition, space) {
    yield* oneChanged(condition, (part) => same(part, TRUE) || same(part, FALSE) ? [] : [TRUE, FALSE]);
    yield* oneFactGiven(condition, space);
    yield* oneChanged(condition, (part) => isLeaf(part) ? weakerThan(part) : []);
  }

  function* oneChanged(condition, change) {
    yield* change(condition);
    if (condition.k === "not") {
      for (const one of oneChanged(condition.of, change)) { yield c.negation(one); }
    } else if (!isLeaf(condition)) {
      const join = condition.k === "all" ? c.conjunction : c.disjunction;
      for (let i = 0; i < condition.of.length; i += 1) {
        for (const one of oneChanged(condition.of[i], change)) {
          yield join([...condition.of.slice(0, i), one, ...condition.of.slice(i + 1)]);
        }
      }
    }
  }

  /** The leaf with one key or comparison fewer; what is easiest to find out stays longest. */
  function weakerThan(leaf) {
    if (leaf.k === "vehicle") {
      return [["first", null], ["last", null], ["markets", []], ["models", []], ["phases", []]]
        .filter(([key]) => leaf[key] && leaf[key].length)
        .map(([key, value]) => c.vehicle(Object.assign({}, leaf, { [key]: value })));
    }
    const parts = leaf.k === "software" ? leaf.range.split(",") : [];
    return parts.length < 2 ? [] : parts.map((part, i) => c.node({
      k: "software", module: leaf.module, range: parts.filter((other, at) => at !== i).join(","),
    }));
  }

  function* oneFactGiven(condition, space) {
    const named = leaves(condition);
    const counts = new Map();
    for (const leaf of named) { counts.set(fact(leaf), (counts.get(fact(leaf)) || 0) + 1); }
    for (const [name, count] of counts) {
      if (count > 1 && space.values.has(name)) {
        for (const value of space.values.get(name)) {
          yield c.mapLeaves(condition, (leaf) => fact(leaf) !== name ? leaf : accepts(leaf, value) ? TRUE : FALSE);
        }
      }
    }
    if ((counts.get("vehicle") || 0) > 1) {
      for (let key = 0; key < 6; key += 1) {
        for (const car of space.cars) { yield c.mapLeaves(condition, (leaf) => keyGiven(leaf, key, car)); }
      }
    }
  }

  const DROPPED = [null, ["models", []], ["phases", []], ["first", null], ["last", null], ["markets", []]];

  function keyGiven(leaf, key, car) {
    if (leaf.k !== "vehicle" || key > 0 && leaf.line !== car.line) { return leaf; }
    if (!vehicleKeys(leaf, car)[key]) { return FALSE; }
    return key ? c.vehicle(Object.assign({}, leaf, { [DROPPED[key][0]]: DROPPED[key][1] })) : leaf;
  }

  asfound.fitting = { truth, answer, possible, satisfiable };
}(window.asfound = window.asfound || {}));
