/* The search: words of a question, which shards of the words it needs, and the pages it finds, best first.
   Counterpart: pages/search.py. */
(function (asfound) {
  "use strict";

  const LETTERS = { "ß": "ss", "æ": "ae", "œ": "oe", "ø": "o", "đ": "d", "ð": "d", "þ": "th", "ł": "l", "ı": "i" };
  /* What a place is worth: all of a question in titles before one word elsewhere, and what a page says of itself
     before the names of what it touches. */
  const WORTH = { title: 64, titleStart: 48, titleInside: 24, body: 8, bodyStart: 6, names: 3, namesStart: 2 };

  /** Small letters without accents. */
  function plain(text) {
    return text.toLowerCase().normalize("NFD").replace(/[\u0300-\u036f]/g, "").replace(/[ßæœøđðþłı]/g, (one) => LETTERS[one]);
  }

  /** Its words, plain: letters and digits. */
  function words(text) { return plain(text).match(/[\p{L}\p{N}]+/gu) || []; }

  /** The index as objects: {conditions, modules, functions, recipes: [{id, title, kind, label, condition, modules, functions}]}. */
  function read(index) {
    return {
      conditions: index.conditions, modules: new Map(index.modules), functions: new Map(index.functions),
      recipes: index.recipes.map(([id, title, label, condition, modules, functions]) => ({
        id, title, kind: index.labels[label][0], label: index.labels[label][1], condition,
        modules: modules.map((one) => index.modules[one][0]), functions: functions.map((one) => index.functions[one][0]),
      })),
    };
  }

  /** Numbers of the shards that may hold words with such beginnings. One letter alone asks for none: it tells too little. */
  function shards(starts, asked) {
    const long = asked.filter((one) => one.length > 1 || one > "\u02ff");
    return starts.map((_, i) => i).filter((i) => long.some((word) =>
      starts[i] < word + "\uffff" && (i + 1 === starts.length || starts[i + 1] > word)));
  }

  /** What each title is worth for a word: 0 if it does not have it. */
  function inTitle(title, word) {
    let best = 0;
    for (const one of title) {
      if (one === word) { return WORTH.title; }
      if (one.startsWith(word)) { best = WORTH.titleStart; } else if (!best && word.length > 2 && one.includes(word)) { best = WORTH.titleInside; }
    }
    return best;
  }

  /** Worth by page number, and whether the word is so common that every page has it. */
  function inShard(shard, word, worth) {
    let everywhere = false;
    for (const one of Object.keys(shard)) {
      if (!one.startsWith(word)) { continue; }
      if (shard[one] === 0) { everywhere = true; continue; }
      shard[one].forEach((steps, place) => {
        const whole = one === word;
        const value = place ? (whole ? WORTH.names : WORTH.namesStart) : (whole ? WORTH.body : WORTH.bodyStart);
        let number = 0;
        for (const step of steps) {
          number += step;
          if ((worth.get(number) || 0) < value) { worth.set(number, value); }
        }
      });
    }
    return everywhere;
  }

  /**
   * Pages by what they are worth for a question: {all, found: [number, …]}, best first. `titles` are lists of words,
   * `loaded` the shards there are. `all` is false when no page has every word; then those with most of them are found.
   */
  function find(asked, titles, loaded) {
    const sums = new Map();
    let common = 0;
    for (const word of new Set(asked)) {
      const worth = new Map();
      const everywhere = loaded.map((shard) => inShard(shard, word, worth)).some(Boolean);
      titles.forEach((title, number) => {
        const value = inTitle(title, word);
        if (value) { worth.set(number, value); }
      });
      if (everywhere) {
        common += 1;
        for (const [number, value] of worth) { add(sums, number, value, 0); }
      } else {
        for (const [number, value] of worth) { add(sums, number, value, 1); }
      }
    }
    const telling = new Set(asked).size - common;
    const most = Math.max(0, ...Array.from(sums.values(), (one) => one.words));
    const least = telling ? most : 0;
    const found = Array.from(sums.keys()).filter((number) => sums.get(number).words >= least);
    found.sort((a, b) => sums.get(b).worth - sums.get(a).worth || titles[a].length - titles[b].length || a - b);
    return { all: most === telling, found };
  }

  function add(sums, number, value, count) {
    const one = sums.get(number) || { worth: 0, words: 0 };
    one.worth += value;
    one.words += count;
    sums.set(number, one);
  }

  asfound.search = { plain, words, read, shards, inTitle, find };
}(window.asfound = window.asfound || {}));
