/* What lists, tables and pages answer for the reader's car. */
(function (asfound) {
  "use strict";

  const { gettext } = asfound.speech;
  const { h } = asfound.dom;
  const store = asfound.store;

  /** {kind, words, look} of a condition for a car. */
  function verdict(condition, stock, known) {
    const found = asfound.fitting.answer(asfound.conditions.read(condition), known, stock.here);
    if (found.kind === "fits") { return { kind: "fits", words: gettext("fits your car"), look: [] }; }
    if (found.kind === "no") {
      return { kind: "no", words: gettext("does not fit your car: {why}", { why: asfound.words.whyNot(found.because, stock.names) }), look: [] };
    }
    return {
      kind: "if", words: gettext("fits your car if {condition}", { condition: asfound.words.state(found.residual, stock.names) }),
      look: asfound.words.look(found.residual, stock.names),
    };
  }

  function isKnown() { return Object.keys(store.known()).length > 0; }

  /** A function that answers for recipes of the index, each condition worked out once: null for a withdrawn one. */
  function answerer(index, stock, known) {
    const answers = new Map();
    return (one) => {
      if (one.kind === "withdrawn") { return null; }
      if (!answers.has(one.condition)) { answers.set(one.condition, verdict(index.conditions[one.condition], stock, known)); }
      return answers.get(one.condition);
    };
  }

  function badge(found) { return h("span", { class: "asf-answer asf-answer--" + found.kind, text: found.words }); }

  /** Where in an item of a list the answer stands: behind the title. */
  function place(item) {
    const title = item.querySelector(".asf-list__title");
    return title ? title.parentNode : item;
  }

  /** Marks every recipe named in lists and tables. */
  function lists(root, stock, index, recipeOf) {
    const rows = new Map(index.recipes.map((one) => [one.id, one]));
    const draw = () => {
      root.querySelectorAll(".asf-answer").forEach((one) => one.remove());
      if (!isKnown()) { return; }
      const answer = answerer(index, stock, store.known());
      const places = Array.from(root.querySelectorAll("[data-recipe]")).map((one) => [place(one), one.dataset.recipe]);
      for (const link of root.querySelectorAll(".asf-matrix tbody th a, .asf-table td a")) {
        const id = recipeOf(link);
        if (id) { places.push([link.parentNode, id, link]); }
      }
      for (const [where, id, link] of places) {
        const found = rows.has(id) ? answer(rows.get(id)) : null;
        if (found) {
          const mark = badge(found);
          if (link) { link.after(" ", mark); } else { where.append(" ", mark); }
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
      room.replaceChildren(h("p", {}, h("strong", { text: asfound.words.sentence(found.words) })),
        found.look.length ? h("ul", {}, found.look.map((one) => h("li", { text: one }))) : "");
    };
    store.listen(draw);
    draw();
  }

  asfound.answers = { lists, recipe, verdict, answerer, badge, place };
}(window.asfound = window.asfound || {}));
