/* Software versions in natural order, and ranges of them. Counterpart: asfound.car.versions.

   A point is {parts, version, above}: a version (above 0), or any version just above it and below the next named. */
(function (asfound) {
  "use strict";

  const BELOW_ALL = { parts: [], version: "", above: 1 };
  const COMPARISON = /^(>=|<=|=|<|>)([0-9A-Za-z.]{1,24})$/;

  /** The point of a version itself. */
  function point(version) {
    const parts = version.split(/([0-9]+)/).map((part, i) => i % 2 ? BigInt(part) : part);
    return { parts, version, above: 0 };
  }

  function order(a, b) { return a < b ? -1 : a > b ? 1 : 0; }

  /** Below 0, 0 or above 0, as for sort. */
  function compare(a, b) {
    for (let i = 0; i < Math.min(a.parts.length, b.parts.length); i += 1) {
      const found = order(a.parts[i], b.parts[i]);
      if (found) { return found; }
    }
    return order(a.parts.length, b.parts.length) || order(a.version, b.version) || order(a.above, b.above);
  }

  const HOLDS = {
    ">=": (n) => n >= 0, "<=": (n) => n <= 0, "=": (n) => n === 0, "<": (n) => n < 0, ">": (n) => n > 0,
  };

  /** [[operator, version], ...] of a range such as ">=0210,<0405"; null when it cannot be read or is empty. */
  function parseRange(text) {
    const found = text.split(",").map((part) => COMPARISON.exec(part));
    if (found.includes(null)) { return null; }
    const range = found.map((one) => [one[1], one[2]]);
    return points(bounds(range)).some((one) => containsPoint(range, one)) ? range : null;
  }

  /** Whether a point satisfies every comparison. */
  function containsPoint(range, one) {
    return range.every(([operator, version]) => HOLDS[operator](compare(one, point(version))));
  }

  /** Every version a range names, in order, once. */
  function bounds(range) { return sorted(Array.from(new Set(range.map((one) => one[1])))); }

  /** Versions in natural order. */
  function sorted(versions) { return versions.slice().sort((a, b) => compare(point(a), point(b))); }

  /** One point for every class of versions that ranges with these bounds can tell apart, lowest first. */
  function points(versions) {
    const out = [BELOW_ALL];
    for (const version of sorted(versions)) {
      out.push(point(version), Object.assign(point(version), { above: 1 }));
    }
    return out;
  }

  asfound.versions = { point, compare, parseRange, containsPoint, bounds, sorted, points };
}(window.asfound = window.asfound || {}));
