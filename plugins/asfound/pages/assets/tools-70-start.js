/* Puts the tools into the page it stands in, by what the page is. Without this script every page is complete as it is. */
(function (asfound) {
  "use strict";

  const { gettext } = asfound.speech;
  const { h } = asfound.dom;

  /** Sections of a recipe's page. */
  function recipePage(root, stock, data) {
    const store = asfound.store;
    asfound.answers.recipe(root, stock, data);
    const before = root.querySelector("#refusals");
    if (data.broken || data.status === "withdrawn" || !before) { return; }
    const room = h("section", { class: "asf-worksheet", "aria-labelledby": "worksheet" });
    const backRoom = h("div", { class: "asf-back" });
    const mishapRoom = h("div", {});
    before.before(room);
    before.after(mishapRoom);
    const back = root.querySelector("#way-back");
    if (back) {
      let last = back;
      while (last.nextElementSibling && last.nextElementSibling.tagName !== "H2") { last = last.nextElementSibling; }
      last.after(backRoom);
    }
    const writes = (data.forms || []).some((form) => form.records.length);

    let sheet = null;

    function build() {
      let mishaps = null;
      const paper = root.dataset.asfSheet && writes ? asfound.toPaper.link(root.dataset.asfSheet, () => sheet, "") : null;
      const namePaper = (one) => {
        if (paper) { paper.textContent = one.ready ? gettext("The sheet for paper, with these values") : gettext("The sheet for paper, to be filled in by hand"); }
      };
      sheet = new asfound.sheet.Sheet([data.id], stock, (one) => {
        if (mishaps) { mishaps.refresh(); }
        namePaper(one);
        drawBack(one);
      });
      namePaper(sheet);
      const heading = h("h2", { id: "worksheet", tabindex: "-1", text: gettext("Worksheet") });
      const parts = [
        heading,
        h("p", { class: "asf-soft", text: gettext("Type what you read from your own car. It is worked out here, in this page, and sent nowhere.") }),
        (data.needs || []).length ? h("p", { class: "asf-ask", text: gettext("This recipe needs another one first. The planner makes one job of both.") }) : null,
        sheet.room,
        data.media ? asfound.media.start(data.media) : null,
        paper ? h("p", {}, paper) : null,
        h("p", { class: "asf-buttons" }, writes ? asfound.dom.button(gettext("Empty this worksheet"), () => { sheet.clear(); build().focus(); }, true) : "", " ",
          root.dataset.asfPlanner ? h("a", { href: root.dataset.asfPlanner, text: gettext("Several recipes in one job: the planner") }) : ""),
        h("h3", { text: gettext("After the work") }), asfound.after.start(sheet, [data.id]),
      ];
      room.replaceChildren(...parts.filter(Boolean));
      mishaps = asfound.mishaps.start(root, () => sheet);
      if (mishaps) { mishapRoom.replaceChildren(mishaps.room); }
      drawBack(sheet);
      return heading;
    }

    function drawBack(sheet) {
      const notes = asfound.back.notes(sheet, stock, [data.id]);
      const key = JSON.stringify(notes.map((one) => [one.path, one.noted, one.wishes]));
      if (backRoom.dataset.key === key) { return; }
      backRoom.dataset.key = key;
      backRoom.replaceChildren(...(notes.length ? [h("h3", { text: gettext("Back from the note") }), ...notes.map((one) => asfound.back.wayBack(one, stock))] : []));
    }

    build();
    let car = JSON.stringify(store.known());
    store.listen(() => {
      const now = JSON.stringify(store.known());
      if (now === car && !sheet.stale()) { drawBack(sheet); return; }
      car = now;
      build();
    });
  }

  /** Lists answer once there is a car to answer for: until then nobody loads what they need for it. */
  function answerLists(root, stock, base, href) {
    let asked = false;
    const draw = () => {
      if (asked || !Object.keys(asfound.store.known()).length) { return; }
      asked = true;
      asfound.catalogue.load(base, ["index"]).then(() => {
        const index = asfound.catalogue.recipes();
        const ids = new Map(index.recipes.map((one) => [href(one.id), one.id]));
        asfound.answers.lists(root, stock, index, (link) => ids.get(link.getAttribute("href")) || null);
      }, () => { asked = false; });
    };
    asfound.store.listen(draw);
    draw();
  }

  function start() {
    const root = document.querySelector(".asf[data-asf-data]");
    const data = asfound.data || {};
    if (!root || !data.world || root.dataset.asfReady) { return; }
    root.dataset.asfReady = "yes";
    const { asfData: base, asfPage: page } = root.dataset;
    asfound.store.open(data.world.club);
    const stock = asfound.catalogue.stock();
    const bar = asfound.car.start(stock);
    (root.querySelector("[data-asf-room]") || root).prepend(bar);
    const href = (id) => (root.dataset.asfRecipes || "").replace("*", id);
    if (page.startsWith("recipes/") && data[page]) { recipePage(root, stock, data[page]); }
    if (root.querySelector("#worksheet")) { bar.append(h("p", { class: "asf-car__jump" }, h("a", { href: "#worksheet", text: gettext("To the worksheet") }))); }
    if (!page.startsWith("recipes/")) { answerLists(root, stock, base, href); }
    asfound.find.start(root, base, href, stock);
    if (root.querySelector("[data-asf-planner]")) { asfound.planner.start(root, base, href); }
  }

  /* Deferred scripts run before this event, those with data perhaps after this one. */
  if (document.readyState === "complete") { start(); } else { document.addEventListener("DOMContentLoaded", start); }
}(window.asfound = window.asfound || {}));
