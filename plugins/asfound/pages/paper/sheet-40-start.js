/* What a sheet does on a screen: choose the paper, print, go step by step; and the sheet of a plan is drawn from what
   the address says after its #, which no server sees. What to write is worked out here again, from what was found. */
(function (asfound) {
  "use strict";

  const { h, button } = asfound.dom;
  const { gettext } = asfound.speech;
  const bar = document.querySelector("[data-sheet-bar]");

  /** Paper: A4 is what the style says; Letter and the head of every side come on top. */
  const letter = new CSSStyleSheet();
  const margins = new CSSStyleSheet();
  document.adoptedStyleSheets = [letter, margins];

  function paperButton() {
    let us = false;
    const out = button(gettext("Paper: A4"), () => {
      us = !us;
      letter.replaceSync(us ? "@page { size: letter; }" : "");
      out.textContent = us ? gettext("Paper: Letter") : gettext("Paper: A4");
    });
    return out;
  }

  /** A string of CSS. Counterpart: css_text. */
  function cssText(text) {
    return '"' + Array.from(text, (c) => /[A-Za-z0-9]/.test(c) ? c : "\\" + c.codePointAt(0).toString(16) + " ").join("") + '"';
  }

  /** Counterpart: margin_boxes. */
  function headSides(recipes, papers, club) {
    const title = recipes.length > 1 ? document.querySelector(".sheet h1").textContent : recipes[0].title;
    const cut = title.length <= 76 ? title : title.slice(0, 75).trim() + "…";
    const labels = Array.from(new Set(recipes.map((one) => papers[one.id].status).filter((one) => one.kind !== "vetted").map((one) => one.label)));
    const right = labels.concat(gettext("sheet {codes}", { codes: recipes.map((one) => one.code).join(" ") })).join(" · ");
    const [before, between, after] = gettext("page {n} of {m}").split(/\{[nm]\}/).map(cssText);
    margins.replaceSync("@page { @bottom-right { content: " + before + " counter(page) " + between + " counter(pages) " + after + "; } @top-left { content: " + cssText(cut) + "; } @top-right { content: " + cssText(right) + "; } @bottom-left { content: " + cssText(club) + "; } }");
    document.title = cut + " - " + recipes.map((one) => one.code).join(" ");
  }

  /** What the address asks for, each part of its kind; null for nothing that can be drawn. */
  function asked(index) {
    let said;
    try { said = JSON.parse(decodeURIComponent(location.hash.slice(1))); } catch (error) { return null; }
    const plainObject = (one) => one && typeof one === "object" && !Array.isArray(one) ? one : {};
    const text = (one) => typeof one === "string" && one.length <= 2000;
    const kept = (one, good) => Object.fromEntries(Object.entries(plainObject(one)).filter(([key, value]) => text(key) && good(value)));
    const words = (one) => text(one) || Object.values(plainObject(one)).length > 0 && Object.values(plainObject(one)).every(text);
    const ids = said && Array.isArray(said.recipes) ? said.recipes.filter((id) => index.includes(id)) : [];
    if (!ids.length) { return null; }
    return { recipes: ids, known: plainObject(said.known), chosen: kept(said.chosen, text), texts: kept(said.texts, words), picked: kept(said.picked, Number.isInteger) };
  }

  async function drawPlan(root) {
    const index = asfound.data.index.recipes.map((row) => row[0]);
    const want = asked(index);
    if (!want) { return; }
    await asfound.catalogue.loadRecipes(root.dataset.asfData, want.recipes);
    const base = asfound.catalogue.stock();
    const stock = asfound.sheet.offering(base, want.chosen);
    const plan = asfound.plans.plan(want.recipes, stock, want.known, want.chosen);
    const main = document.querySelector("[data-sheet]");
    if (plan.troubles.length || plan.questions.length) {
      main.prepend(h("p", { class: "status" }, h("b", { text: gettext("No sheet") }), " ", plan.troubles.map((one) => one.reason + " " + one.repair).join(" ") ||
        gettext("More must be known of the car first: the planner says what.")));
      return;
    }
    const worksheet = Object.keys(want.texts).length ? asfound.worksheets.worksheet(plan, want.texts, stock, want.known, want.picked) : null;
    const papers = {};
    for (const job of plan.jobs) { papers[job.recipe.id] = asfound.data["sheets/" + job.recipe.id]; }
    const fixed = document.querySelector("[data-fixed]");
    const drawn = asfound.paper.draw({
      plan, stock, papers, worksheet, club: root.dataset.asfClub, car: carWords(want.known, stock),
      fixed: { refusals: fixed.querySelector(".refusals"), end: fixed.querySelector(".end") },
    });
    for (const { original } of Object.values(papers)) {
      if (original) { asfound.paper.mark(drawn, original.lang, original.texts); }
    }
    main.replaceWith(asfound.words.unbroken(drawn));
    headSides(plan.jobs.map((job) => job.recipe), papers, root.dataset.asfClub);
    root.dataset.asfDrawn = "yes";
  }

  function carWords(known, { names }) {
    const line = (known.lines || [])[0];
    const one = (kind) => (known[kind] || []).length === 1 ? names[kind][line + " " + known[kind][0]] || known[kind][0] : "";
    return [line ? names.lines[line] || line : "", one("models"), one("phases")].filter(Boolean).join(", ");
  }

  async function start() {
    const root = document.body;
    for (const link of document.querySelectorAll(".bar [hreflang]")) {
      link.addEventListener("click", () => { link.hash = location.hash; });
    }
    if (root.dataset.asfData) {
      try { await drawPlan(root); } catch (error) { document.querySelector("[data-sheet]").prepend(h("p", { class: "status", text: gettext("The sheet could not be drawn: {why}.", { why: error.message }) })); }
      window.addEventListener("hashchange", () => location.reload());
      if (!root.dataset.asfDrawn) { return; }
    }
    bar.append(button(gettext("Print"), () => window.print()), " ", paperButton(), " ");
    if (asfound.stepper) { bar.append(asfound.stepper.start(document.querySelector("[data-sheet]"))); }
  }

  start();
}(window.asfound = window.asfound || {}));
