/* The fewest visits to control modules. Counterpart: asfound.work.order, whose docstring says how and why; the rules
   are the same, so both find the same order. Sets are BigInt with a bit for each member. */
(function (asfound) {
  "use strict";

  const LIMIT = 10000;
  const bit = (n) => 1n << BigInt(n);

  /** A circle among things, each before the next; [] when there is none. Counterpart: circle. */
  function circle(count, before) {
    const after = Array.from({ length: count }, () => []);
    for (const [first, second] of before) { after[first].push(second); }
    const state = new Array(count).fill(0);
    for (let start = 0; start < count; start += 1) {
      if (state[start]) { continue; }
      state[start] = 1;
      const way = [start];
      const next = [0];
      while (way.length) {
        const top = way[way.length - 1];
        const following = after[top][next[next.length - 1]];
        next[next.length - 1] += 1;
        if (following === undefined) {
          state[way.pop()] = 2;
          next.pop();
        } else if (state[following] === 1) {
          return way.slice(way.indexOf(following));
        } else if (state[following] === 0) {
          state[following] = 1;
          way.push(following);
          next.push(0);
        }
      }
    }
    return [];
  }

  /** The first member of each set taken away, until every circle is met. */
  function circles(towards, among) {
    let left = among;
    let count = 0;
    const inIt = (set, n) => (set >> BigInt(n) & 1n) === 1n;
    const members = towards.map((_, i) => i).filter((i) => inIt(left, i));
    for (const one of members) {
      for (const other of members) {
        if (one < other && inIt(left, one) && inIt(left, other) && inIt(towards[one], other) && inIt(towards[other], one)) {
          left &= ~(bit(one) | bit(other));
          count += 1;
        }
      }
    }
    const lowest = (set) => towards.findIndex((_, i) => inIt(set, i));
    for (;;) {
      for (;;) {
        const stay = towards.reduce((sum, to, i) => inIt(left, i) && to & left ? sum | bit(i) : sum, 0n);
        if (stay === left) { break; }
        left = stay;
      }
      if (!left) { return count; }
      count += 1;
      const way = [];
      let one = lowest(left);
      while (!way.includes(one)) {
        way.push(one);
        one = lowest(towards[one] & left);
      }
      for (const i of way.slice(way.indexOf(one))) { left &= ~bit(i); }
    }
  }

  class Search {
    constructor(classes, before) {
      this.classes = classes;
      this.all = bit(classes.length) - 1n;
      this.needs = classes.map(() => 0n);
      this.after = classes.map(() => []);
      const seen = new Set();
      for (const [first, second] of before) {
        if (seen.has(first + " " + second)) { continue; }
        seen.add(first + " " + second);
        this.needs[second] |= bit(first);
        this.after[first].push(second);
      }
      const inTurn = this.inTurn();
      const kinds = Math.max(-1, ...classes) + 1;
      this.things = Array.from({ length: kinds }, () => []);
      this.ofClass = new Array(kinds).fill(0n);
      for (const thing of inTurn) {
        this.things[classes[thing]].push(thing);
        this.ofClass[classes[thing]] |= bit(thing);
      }
      this.layers = this.makeLayers(inTurn);
      this.leadsTo = this.makeLeadsTo(inTurn);
      this.hopeless = new Map();
      this.lookedAt = 0;
    }

    inTurn() {
      const out = [];
      let done = 0n;
      while (done !== this.all) {
        this.needs.forEach((needs, thing) => {
          if (!(done & bit(thing)) && !(needs & ~done)) { out.push(thing); done |= bit(thing); }
        });
      }
      return out;
    }

    makeLayers(inTurn) {
      const runs = this.classes.map(() => new Map());
      const layers = this.things.map(() => []);
      for (const thing of inTurn.slice().reverse()) {
        const own = this.classes[thing];
        const most = runs[thing].set(own, 1);
        for (const other of this.after[thing]) {
          runs[other].forEach((count, kind) => {
            const more = count + (kind === own && own !== this.classes[other] ? 1 : 0);
            most.set(kind, Math.max(most.get(kind) || 0, more));
          });
        }
        for (let level = 0; level < most.get(own); level += 1) {
          layers[own][level] = (layers[own][level] || 0n) | bit(thing);
        }
      }
      return layers;
    }

    makeLeadsTo(inTurn) {
      const every = this.classes.map(() => 0n);
      for (const thing of inTurn.slice().reverse()) {
        for (const other of this.after[thing]) { every[thing] |= every[other] | bit(this.classes[other]); }
      }
      return every.map((of, thing) => of & ~bit(this.classes[thing]));
    }

    atLeast(done) {
      const left = this.all & ~done;
      let visits = 0;
      let single = 0n;
      this.layers.forEach((layers, kind) => {
        const count = layers.filter((layer) => layer & left).length;
        visits += count;
        if (count === 1) { single |= bit(kind); }
      });
      const towards = this.things.map(() => 0n);
      this.leadsTo.forEach((classes, thing) => {
        if (left & bit(thing)) { towards[this.classes[thing]] |= classes; }
      });
      return visits + circles(towards, single);
    }

    visit(done, kind) {
      let out = done;
      for (const thing of this.things[kind]) { if (!(this.needs[thing] & ~out)) { out |= bit(thing); } }
      return out;
    }

    moves(done) {
      const some = [];
      for (let kind = 0; kind < this.ofClass.length; kind += 1) {
        const of = this.ofClass[kind];
        if (of & ~done) {
          const then = this.visit(done, kind);
          if (!(of & ~then)) { return [[kind, then]]; }
          if (then !== done) { some.push([kind, then]); }
        }
      }
      return some;
    }

    route() {
      const bound = this.atLeast(0n);
      for (let allowed = bound; ; allowed += 1) {
        this.way = [];
        const found = this.within(0n, allowed);
        if (found === null) { return { visits: this.visits(this.greedy()), atLeast: allowed }; }
        if (found) { return { visits: this.visits(this.way), atLeast: allowed }; }
      }
    }

    within(done, visits) {
      if (done === this.all) { return true; }
      const hopeless = this.hopeless.get(done);
      if (hopeless !== undefined && hopeless >= visits || this.atLeast(done) > visits) { return false; }
      this.lookedAt += 1;
      if (this.lookedAt > LIMIT) { return null; }
      for (const [kind, then] of this.moves(done)) {
        this.way.push(kind);
        const found = this.within(then, visits - 1);
        if (found || found === null) { return found; }
        this.way.pop();
      }
      this.hopeless.set(done, visits);
      return false;
    }

    greedy() {
      let done = 0n;
      const way = [];
      while (done !== this.all) {
        const ranked = this.moves(done).map(([kind, then]) => [this.atLeast(then), kind, then]);
        ranked.sort((a, b) => a[0] - b[0] || a[1] - b[1]);
        way.push(ranked[0][1]);
        done = ranked[0][2];
      }
      return way;
    }

    visits(way) {
      let done = 0n;
      return way.map((kind) => {
        const things = [];
        const waiting = this.things[kind].slice().sort((a, b) => a - b);
        for (;;) {
          const ready = waiting.find((thing) => !(done & bit(thing)) && !(this.needs[thing] & ~done));
          if (ready === undefined) { return things; }
          things.push(ready);
          done |= bit(ready);
        }
      });
    }
  }

  /** {visits, atLeast} for things of classes and pairs of which the first comes first; or {circle}. */
  function fewestVisits(classes, before) {
    const round = circle(classes.length, before);
    return round.length ? { circle: round } : new Search(classes, before).route();
  }

  asfound.order = { fewestVisits, circle };
}(window.asfound = window.asfound || {}));
