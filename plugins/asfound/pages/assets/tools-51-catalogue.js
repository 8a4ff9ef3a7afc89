/* What the site has, loaded when somebody asks: scripts that assign, since from a folder a page loads nothing else. */
(function (asfound) {
  "use strict";

  const under = new Map();

  /** Loads data by script; resolves when they are there, rejects with the name of one that is not. */
  function load(base, names) {
    const missing = Array.from(new Set(names)).filter((name) => !(asfound.data || {})[name]);
    return Promise.all(missing.map((name) => {
      if (!under.has(name)) {
        under.set(name, new Promise((done, failed) => {
          const script = document.createElement("script");
          script.src = base + name + ".js";
          script.onload = done;
          script.onerror = () => { under.delete(name); failed(new Error(name)); };
          document.head.append(script);
        }));
      }
      return under.get(name);
    }));
  }

  let index = null;
  let all = null;

  /** The recipes of the index, which must be loaded; see search.read. Each also has the words of its title. */
  function recipes() {
    if (!index) {
      index = asfound.search.read(asfound.data.index);
      for (const one of index.recipes) { one.words = asfound.search.words(one.title); }
    }
    return index;
  }

  /** Loads recipes, what they need, the modules of all of them, and what their sheets say. */
  async function loadRecipes(base, ids) {
    const there = new Set(asfound.data.index.recipes.map(([id]) => id));
    const of = (id) => asfound.data["recipes/" + id];
    const seen = new Set();
    let wanted = ids.slice();
    while (wanted.length) {
      await load(base, wanted.flatMap((id) => ["recipes/" + id, "sheets/" + id]));
      wanted.forEach((id) => seen.add(id));
      wanted = wanted.flatMap((id) => of(id).needs || []).filter((id) => there.has(id) && !seen.has(id));
    }
    await load(base, Array.from(seen).flatMap((id) => of(id).modules.map((one) => "modules/" + one)));
  }

  /** A shop of all data loaded so far; see plans.shop. */
  function stock() {
    const of = (prefix) => Object.keys(asfound.data).filter((key) => key.startsWith(prefix)).map((key) => asfound.data[key]);
    return asfound.plans.shop({ world: asfound.data.world, modules: of("modules/"), recipes: of("recipes/") });
  }

  /** Everything that can be found: {entries, ask}. */
  async function open(base) {
    await load(base, ["index", "search"]);
    if (!all) {
      const { pages, kinds, starts } = asfound.data.search;
      const others = pages.map(([address, title, kind, of]) => ({ address, title, kind: kinds[kind], of, words: asfound.search.words(title) }));
      const entries = recipes().recipes.concat(others);
      const titles = entries.map((one) => one.words);
      all = { entries, ask: (text, tell) => ask(base, starts, titles, text, tell) };
    }
    return all;
  }

  /** Finds twice: at once by titles, then, when the words of pages are there, by these too. `tell({all, found}, last)`. */
  async function ask(base, starts, titles, text, tell) {
    const asked = asfound.search.words(text);
    const names = asfound.search.shards(starts, asked).map((number) => "words/" + number);
    const there = () => names.map((name) => asfound.data[name]).filter(Boolean);
    const last = there().length === names.length;
    tell(asfound.search.find(asked, titles, there()), last);
    if (last) { return; }
    await load(base, names);
    tell(asfound.search.find(asked, titles, there()), true);
  }

  asfound.catalogue = { load, loadRecipes, stock, recipes, open };
}(window.asfound = window.asfound || {}));
