/* Conditions as nodes, and their rewriting. Counterparts: asfound.car.conditions, asfound.car.rewrite.

   A node is {k, …, key}: k is all, any, not, or the kind of a leaf; equal nodes have equal keys. */
(function (asfound) {
  "use strict";

  function node(fields) {
    const key = JSON.stringify(fields, (name, value) => value && value.key !== undefined ? value.key : value);
    return Object.assign(fields, { key });
  }

  const all = (of) => node({ k: "all", of });
  const any = (of) => node({ k: "any", of });
  const not = (of) => node({ k: "not", of });
  const vehicle = (v) => node({
    k: "vehicle", line: v.line, models: v.models || [], phases: v.phases || [], first: v.first || null,
    last: v.last || null, markets: v.markets || [],
  });
  const TRUE = all([]);
  const FALSE = any([]);

  /** A condition as written in files. Counterpart: compiled.condition, backwards. */
  function read(data) {
    if (!data) { return TRUE; }
    if (data.all) { return all(data.all.map(read)); }
    if (data.any) { return any(data.any.map(read)); }
    if (data.not) { return not(read(data.not)); }
    if (data.line !== undefined) {
      const ends = (data.built || "../..").split("/").map((month) => month === ".." ? null : month);
      return vehicle(Object.assign({}, data, { first: ends[0], last: ends[1] }));
    }
    if (data.equipped !== undefined) { return node({ k: "equipped", item: data.equipped }); }
    if (data.software !== undefined) { return node({ k: "software", module: data.software, range: data.range }); }
    if (data.part !== undefined) { return node({ k: "part", module: data.part, is: data.is }); }
    if (data.setting !== undefined) { return node({ k: "setting", path: data.setting, is: data.is }); }
    const held = data.holds;
    return node({
      k: "holds", record: held.record, byte: held.byte, value: parseInt(held.is, 16),
      mask: held.mask === undefined ? 255 : parseInt(held.mask, 16),
    });
  }

  const same = (one, other) => one.key === other.key;
  const isLeaf = (one) => one.k !== "all" && one.k !== "any" && one.k !== "not";

  /** Every leaf, in order of writing. */
  function leaves(one) {
    if (one.k === "not") { return leaves(one.of); }
    return isLeaf(one) ? [one] : [].concat(...one.of.map(leaves));
  }

  function once(nodes) {
    const seen = new Set();
    return nodes.filter((one) => !seen.has(one.key) && seen.add(one.key));
  }

  function join(parts, kind, make, absorbing) {
    const out = [];
    for (const part of parts) {
      if (same(part, absorbing)) { return absorbing; }
      if (part.k === kind) { out.push(...part.of); } else { out.push(part); }
    }
    const unique = once(out);
    return unique.length === 1 ? unique[0] : make(unique);
  }

  /** All of the parts, without nesting, repetition or constants. */
  function conjunction(parts) { return join(parts, "all", all, FALSE); }

  /** Any of the parts, likewise. */
  function disjunction(parts) { return join(parts, "any", any, TRUE); }

  /** Not the part, without double negation or constants. */
  function negation(part) {
    if (same(part, TRUE)) { return FALSE; }
    if (same(part, FALSE)) { return TRUE; }
    return part.k === "not" ? part.of : not(part);
  }

  /** The condition with every leaf changed, simplified. */
  function mapLeaves(one, change) {
    if (one.k === "all") { return conjunction(one.of.map((part) => mapLeaves(part, change))); }
    if (one.k === "any") { return disjunction(one.of.map((part) => mapLeaves(part, change))); }
    if (one.k === "not") { return negation(mapLeaves(one.of, change)); }
    return change(one);
  }

  /** The condition (or its negation) with negation only on leaves. */
  function pushNegation(one, negate) {
    if (one.k === "not") { return pushNegation(one.of, !negate); }
    if (isLeaf(one)) { return negate ? not(one) : one; }
    const parts = one.of.map((part) => pushNegation(part, negate));
    return (one.k === "all") === Boolean(negate) ? disjunction(parts) : conjunction(parts);
  }

  asfound.conditions = {
    read, all, any, not, node, vehicle, TRUE, FALSE, same, isLeaf, leaves, once, conjunction, disjunction, negation,
    mapLeaves, pushNegation,
  };
}(window.asfound = window.asfound || {}));
