/* What lists, tables and pages answer for the reader's car. */
(function (asfound) {
  "use strict";

  const { h } = asfound.dom;
  const store = asfound.store;

  /** {kind, words, look} of a condition for a car. */
  function verdict(condition, stock, known) {
    const found = asfound.fitting.answer(asfound.conditions.read(condition), known, stock.here);
    if (found.kind === "fits") { return { kind: "fits", words: "fits your car", look: [] }; }
    if (found.kind === "no") {
      return { kind: "no", words: "does not fit your car: " + asfound.words.whyNot(found.because, stock.names), look: [] };
    }
    return {
      kind: "if", words: "fits your car if " + asfound.words.state(found.residual, stock.names),
      look: asfound.words.look(found.residual, stock.names),
    };
  }

  function isKnown() { return Object.keys(store.known()).length > 0; }

  /** Marks every recipe named in lists and tables. */
  function lists(root, stock, index, recipeOf) {
    const answers = new Map();
    const rows = new Map(index.recipes.map((row) => [row[0], row]));
    const answer = (id, known) => {
      const row = rows.get(id);
      if (!row || row[2] === "withdrawn") { return null; }
      if (!answers.has(row[3])) { answers.set(row[3], verdict(index.conditions[row[3]], stock, known)); }
      return answers.get(row[3]);
    };
    const draw = () => {
      answers.clear();
      root.querySelectorAll(".asf-answer").forEach((one) => one.remove());
      if (!isKnown()) { return; }
      const known = store.known();
      const places = Array.from(root.querySelectorAll("[data-recipe]")).map((one) => [one.querySelector("p") || one, one.dataset.recipe]);
      for (const link of root.querySelectorAll(".asf-matrix tbody th a, .asf-table td a")) {
        const id = recipeOf(link);
        if (id) { places.push([link.parentNode, id, link]); }
      }
      for (const [place, id, link] of places) {
        const found = answer(id, known);
        if (found) {
          const mark = h("span", { class: "asf-answer asf-answer--" + found.kind, text: found.words });
          if (link) { link.after(" ", mark); } else { place.append(" ", mark); }
        }
      }
    };
    store.listen(draw);
    draw();
  }

  /** Says on a recipe's page whether it fits, below "Does it fit your car?". */
  function recipe(root, stock, data) {
    const heading = root.querySelector("#fit");
    if (!heading) { return; }
    const room = h("div", { class: "asf-verdict", role: "status", hidden: true });
    heading.after(room);
    const draw = () => {
      room.hidden = !isKnown();
      if (room.hidden) { room.replaceChildren(); return; }
      const found = verdict(data.fits, stock, store.known());
      room.className = "asf-verdict asf-verdict--" + found.kind;
      const words = found.words[0].toUpperCase() + found.words.slice(1) + ".";
      room.replaceChildren(h("p", {}, h("strong", { text: words })),
        found.look.length ? h("ul", {}, found.look.map((one) => h("li", { text: one }))) : "");
    };
    store.listen(draw);
    draw();
  }

  asfound.answers = { lists, recipe, verdict };
}(window.asfound = window.asfound || {}));
