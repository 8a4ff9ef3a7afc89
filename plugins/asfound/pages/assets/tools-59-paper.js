/* The way to paper: the address of a sheet with what was typed, and the hazards of a job. What is typed travels after the
   # of the address, which no server sees; the sheet works out again what to write. */
(function (asfound) {
  "use strict";

  const { h } = asfound.dom;
  const { gettext } = asfound.speech;
  const WORDS = ["DANGER", "WARNING", "CAUTION", "NOTICE"];
  const SAID = { DANGER: gettext("DANGER"), WARNING: gettext("WARNING"), CAUTION: gettext("CAUTION"), NOTICE: gettext("NOTICE") };
  const SVG = "http://www.w3.org/2000/svg";

  /** A signal word with its shape: the triangle only where people can be hurt (ANSI Z535.6). Counterpart: signal.html. */
  function signal(word) {
    const out = h("span", { class: "asf-signal asf-signal--" + word.toLowerCase() });
    if (word !== "NOTICE") {
      const mark = document.createElementNS(SVG, "svg");
      for (const [name, value] of Object.entries({ class: "asf-alert", viewBox: "0 0 24 22", width: "24", height: "22", "aria-hidden": "true", focusable: "false" })) { mark.setAttribute(name, value); }
      const path = document.createElementNS(SVG, "path");
      for (const [name, value] of Object.entries({ fill: "currentColor", "fill-rule": "evenodd", d: "M12 0 24 22H0ZM10.6 7.5 11.2 15h1.6l.6-7.5ZM12 16.4a1.5 1.5 0 1 0 0 3 1.5 1.5 0 0 0 0-3Z" })) { path.setAttribute(name, value); }
      mark.append(path);
      out.append(mark);
    }
    out.append(SAID[word]);
    return out;
  }

  /** The address of the sheet of a worksheet as it stands. */
  function address(page, sheet) {
    const chosen = {};
    for (const path of Object.keys(sheet.chosen)) { if (!sheet.invalid.includes(path)) { chosen[path] = sheet.chosen[path]; } }
    const said = { recipes: sheet.asked, known: asfound.store.known(), chosen, texts: sheet.filled(), picked: sheet.picked };
    return page + "#" + encodeURIComponent(JSON.stringify(said));
  }

  /** A link to it, made right at the moment it is followed. */
  function link(page, sheet, words) {
    const out = h("a", { class: "asf-to-paper", href: page, text: words });
    const renew = () => { out.href = address(page, sheet()); };
    for (const kind of ["pointerdown", "focus", "click", "keydown"]) { out.addEventListener(kind, renew); }
    return out;
  }

  /** The hazards of a job, the highest signal word first: `all` has [hazard, titles of recipes]. */
  function hazards(all, several) {
    return WORDS.filter((word) => all.some(([one]) => one.word === word)).map((word) => h("section", { class: "asf-banner asf-signal--" + word.toLowerCase() + "-frame", "aria-label": gettext("Safety message") + ": " + SAID[word] },
      signal(word),
      h("ul", { class: "asf-banner__list" }, all.filter(([one]) => one.word === word).map(([one, titles]) => h("li", {},
        h("strong", { text: one.hazard }), " " + one.consequence + " ", h("span", { class: "asf-avoid", text: one.avoid }),
        several && titles.length ? h("span", { class: "asf-soft", text: " " + titles.map((title) => "“" + title + "”").join(", ") }) : "")))));
  }

  asfound.toPaper = { address, link, hazards };
}(window.asfound = window.asfound || {}));
