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

  /** One letter alone tells too little: it is looked for in titles only. */
  const tells = (word) => word.length > 1 || word > "\u02ff";

  /** Numbers of the shards that may hold words with such beginnings. */
  function shards(starts, asked) {
    return starts.map((_, i) => i).filter((i) => asked.filter(tells).some((word) =>
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

  /** Raises what pages are worth for a word by the words of a shard that begin with it. */
  function inShard(shard, word, worth) {
    for (const one of Object.keys(shard)) {
      if (!one.startsWith(word)) { continue; }
      const whole = one === word;
      shard[one].forEach((steps, place) => {
        const value = place ? (whole ? WORTH.names : WORTH.namesStart) : (whole ? WORTH.body : WORTH.bodyStart);
        let number = 0;
        for (const step of steps) {
          number += step;
          if (worth[number] < value) { worth[number] = value; }
        }
      });
    }
  }

  /**
   * Pages by what they are worth for a question: {all, found: [number, …]}, best first. `titles` are lists of words,
   * `loaded` the shards there are. `all` is false when no page has every word; then those with most of them are found.
   */
  function find(asked, titles, loaded) {
    const sums = new Uint16Array(titles.length);
    const hits = new Uint8Array(titles.length);
    const different = new Set(asked);
    for (const word of different) {
      const worth = new Uint8Array(titles.length);
      if (tells(word)) { loaded.forEach((shard) => inShard(shard, word, worth)); }
      titles.forEach((title, number) => {
        const value = Math.max(worth[number], inTitle(title, word));
        if (value) { sums[number] += value; hits[number] += 1; }
      });
    }
    const most = hits.reduce((a, b) => Math.max(a, b), 0);
    const found = [];
    hits.forEach((count, number) => { if (most && count === most) { found.push(number); } });
    found.sort((a, b) => sums[b] - sums[a] || titles[a].length - titles[b].length || a - b);
    return { all: most === different.size, found };
  }

  asfound.search = { plain, words, read, shards, inTitle, find };
}(window.asfound = window.asfound || {}));
