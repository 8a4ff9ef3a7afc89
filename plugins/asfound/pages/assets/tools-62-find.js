/* The find page: the list filtered and sorted. What a page of the list does not hold is loaded at the first use, and
   built from the index; without this script the lists and their parts are complete. */
(function (asfound) {
  "use strict";

  const { h, button } = asfound.dom;
  const { tag, gettext, ngettext } = asfound.speech;
  const MORE = 100;

  function start(root, base, href, stock) {
    const form = root.querySelector("[data-asf-filter]");
    if (!form) { return; }
    const [box, acts, label, car, order] = form.querySelectorAll("input, select");
    const said = form.querySelector("[role=status]");
    const before = said.textContent;
    const room = root.querySelector("[data-asf-found]");
    const parts = root.querySelectorAll("[data-asf-unfiltered]");
    const listed = new Map(Array.from(root.querySelectorAll("[data-asf-items] > [data-recipe]"), (one) => [one.dataset.recipe, one]));
    let turn = 0;

    /* As the page lists it, if it does; else what the index knows. */
    function row(one, answerOf) {
      const index = asfound.catalogue.recipes();
      const there = listed.get(one.id);
      const answer = answerOf(one);
      const about = [asfound.sentences.listed(one.modules.map((id) => index.modules.get(id))), one.functions.map((id) => index.functions.get(id)).join("; ")].filter(Boolean).join(" · ");
      const out = there ? there.cloneNode(true) : h("li", {},
        h("p", {}, h("a", { class: "asf-list__title", href: href(one.id), text: one.title }), " ", h("span", { class: "asf-stamp asf-stamp--" + one.kind, text: one.label })),
        h("p", { class: "asf-soft", text: about }));
      out.querySelectorAll(".asf-answer").forEach((mark) => mark.remove());
      if (answer) { asfound.answers.place(out).append(" ", asfound.answers.badge(answer)); }
      return out;
    }

    function fits(answer) { return answer !== null && (answer.kind === "fits" || car.value === "may" && answer.kind === "if"); }

    function show(found, last) {
      const index = asfound.catalogue.recipes();
      const known = asfound.store.known();
      const here = Object.keys(known).length > 0;
      const answerOf = here ? asfound.answers.answerer(index, stock, known) : () => null;
      const some = found.filter((one) => (!acts.value || one.functions.includes(acts.value)) && (!label.value || one.kind === label.value)
        && (!here || !car.value || fits(answerOf(one))));
      if (order.value) {
        const { compare } = new Intl.Collator(tag);
        some.sort((a, b) => compare(a.title, b.title));
      }
      const list = h("ul", { class: "asf-list" });
      const below = h("p", { class: "asf-buttons" });
      const more = () => {
        const begun = list.childElementCount;
        list.append(...some.slice(begun, begun + MORE).map((one) => row(one, answerOf)));
        const rest = some.length - list.childElementCount;
        below.hidden = rest <= 0;
        const words = rest > MORE ? gettext("Show {n} more", { n: MORE }) : gettext("Show the other {n}", { n: rest });
        below.replaceChildren(button(words, () => list.children[more()].querySelector("a").focus(), true));
        return begun;
      };
      more();
      room.replaceChildren(list, below);
      said.textContent = car.value && !here ? gettext("Say under “My car”, above, what car you have.") : last ? ngettext("{some} of {n} recipe", "{some} of {n} recipes", index.recipes.length, { some: some.length }) : gettext("Looking …");
    }

    function apply() {
      turn += 1;
      const mine = turn;
      const text = box.value.trim();
      const idle = ![text, acts.value, label.value, car.value, order.value].some(Boolean);
      if (idle) {
        parts.forEach((one) => { one.hidden = false; });
        room.replaceChildren();
        said.textContent = before;
        return;
      }
      asfound.catalogue.open(base).then((all) => {
        if (mine !== turn) { return null; }
        parts.forEach((one) => { one.hidden = true; });
        const recipes = asfound.catalogue.recipes().recipes;
        if (!text) { show(recipes.slice(), true); return null; }
        return all.ask(text, (answer, last) => {
          if (mine === turn) { show(answer.all ? answer.found.filter((n) => n < recipes.length).map((n) => recipes[n]) : [], last); }
        });
      }).catch(() => { if (mine === turn) { said.textContent = gettext("The data of the list could not be loaded."); } });
    }

    form.addEventListener("input", apply);
    form.addEventListener("submit", (event) => event.preventDefault());
    box.addEventListener("keydown", (event) => {
      if (event.key === "Escape" && box.value) { box.value = ""; apply(); event.preventDefault(); }
    });
    asfound.store.listen(apply);
    form.hidden = false;
    apply();  /* a browser may have kept the words over a reload */
  }

  asfound.find = { start };
}(window.asfound = window.asfound || {}));
