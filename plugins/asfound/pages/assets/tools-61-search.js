/* The search: a list under a box, in a dialog over any page of the site. Without this script the way to it is a link
   to the list of recipes. Combobox with a list, as in the ARIA Authoring Practices Guide. */
(function (asfound) {
  "use strict";

  const { h, newId } = asfound.dom;
  const { gettext, ngettext } = asfound.speech;
  const MOST = 20;

  function start() {
    const link = document.querySelector("a.asf-search");
    if (!link || link.dataset.asfReady) { return; }
    link.dataset.asfReady = "yes";
    const { asfRoot: root, asfRecipes: recipes } = link.dataset;
    const base = root + "assets/asfound/data/";
    let dialog = null;

    link.setAttribute("role", "button");
    link.setAttribute("aria-haspopup", "dialog");
    link.addEventListener("click", (event) => {
      if (event.ctrlKey || event.metaKey || event.shiftKey) { return; }
      event.preventDefault();
      dialog = dialog || build();
      dialog.room.showModal();
      dialog.box.select();
      dialog.draw();
    });
    link.addEventListener("keydown", (event) => {  /* a button is pressed with the space bar too */
      if (event.key === " ") { event.preventDefault(); link.click(); }
    });

    function build() {
      const list = h("div", { role: "listbox", id: newId(), "aria-label": gettext("Found"), class: "asf-search__list" });
      const said = h("p", { role: "status", class: "asf-search__said" });
      const box = h("input", {
        type: "text", id: newId(), role: "combobox", inputmode: "search", enterkeyhint: "go", autocomplete: "off", spellcheck: "false", autocapitalize: "off",
        "aria-autocomplete": "list", "aria-expanded": "false", "aria-controls": list.id, input: draw, keydown: key,
      });
      const room = h("dialog", { class: "asf asf-search__room", "aria-label": gettext("Search") },
        h("div", { class: "asf-search__top" }, h("label", { for: box.id, text: gettext("Search") }), box,
          h("button", { type: "button", class: "asf-press asf-press--quiet", text: gettext("Close"), click: () => room.close() })),
        said, list);
      let beside = false;  /* a click is told of the room too where words were marked in the box and the button let go beside it */
      room.addEventListener("pointerdown", (event) => { beside = event.target === room; });
      room.addEventListener("click", (event) => { if (beside && event.target === room) { room.close(); } });
      document.body.append(room);
      let turn = 0;
      let active = -1;

      function mark(number) {
        const options = list.children;
        if (options[active]) { options[active].setAttribute("aria-selected", "false"); }
        active = options.length ? (number + options.length) % options.length : -1;
        if (active < 0) { box.removeAttribute("aria-activedescendant"); return; }
        options[active].setAttribute("aria-selected", "true");
        options[active].scrollIntoView({ block: "nearest" });
        box.setAttribute("aria-activedescendant", options[active].id);
      }

      function key(event) {
        if (event.isComposing) { return; }
        if (event.key === "ArrowDown") { mark(active + 1); } else if (event.key === "ArrowUp") { mark(active < 0 ? -1 : active - 1); } else if (event.key === "Enter") {
          const chosen = list.children[Math.max(active, 0)];
          if (chosen) { chosen.click(); }
        } else { return; }
        event.preventDefault();
      }

      function show(rows, words) {
        active = -1;
        box.removeAttribute("aria-activedescendant");
        box.setAttribute("aria-expanded", String(rows.length > 0));
        list.replaceChildren(...rows);
        said.textContent = words;
      }

      function draw() {
        turn += 1;
        const mine = turn;
        const text = box.value.trim();
        if (!text) { show([], gettext("Recipes, modules, vehicle lines and guides, by any of their words.")); }
        asfound.catalogue.open(base).then((all) => text && mine === turn && all.ask(text, (answer, last) => {
          if (mine !== turn || !last && !answer.found.length) { return; }
          show(answer.found.slice(0, MOST).map((number) => option(all.entries[number])), summary(answer));
        })).catch(() => { if (mine === turn) { show([], gettext("The data of the search could not be loaded.")); } });
      }

      return { room, box, draw };
    }

    function option(one) {
      const index = asfound.catalogue.recipes();
      const about = one.id ? one.modules.map((id) => index.modules.get(id)).join(", ") : one.of ? gettext("{kind} “{title}”", { kind: gettext(one.kind), title: one.of }) : gettext(one.kind);
      return h("a", { role: "option", id: newId(), tabindex: "-1", "aria-selected": "false", href: one.id ? recipes.replace("*", one.id) : root + one.address },
        h("span", { class: "asf-search__title", text: one.title }), " ",
        one.id && one.kind !== "vetted" ? h("span", { class: "asf-stamp asf-stamp--" + one.kind, text: one.label }) : "", " ",
        h("span", { class: "asf-soft", text: about }));
    }

    function summary({ all, found }) {
      const count = found.length;
      if (!count) { return gettext("Nothing found."); }
      const many = count > MOST ? gettext("The first {most} of {n}; another word narrows it.", { most: MOST, n: count }) : ngettext("{n} found.", "{n} found.", count);
      return all ? many : gettext("Nothing has every word; this has some of them.") + " " + many;
    }
  }

  if (document.readyState === "loading") { document.addEventListener("DOMContentLoaded", start); } else { start(); }
}(window.asfound = window.asfound || {}));
