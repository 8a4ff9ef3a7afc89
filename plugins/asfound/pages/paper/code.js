/* A sheet code, typed or brought by a QR symbol: shows what it stands for, and nothing else. What is said stands in the
   page; without this script every code is there to be looked up, with it they wait in a list that stands closed. */
(function (asfound) {
  "use strict";

  const form = document.querySelector("[data-code-form]");
  const rows = Array.from(document.querySelectorAll("[data-code]"));
  const every = document.querySelector("[data-code-every]");
  const none = document.querySelector("[data-code-none]");

  /** The page that has the codes which begin like this one; nothing where it is this page. */
  function elsewhere(code) {
    const { codeFolder, codeWidth, codeHere } = form.dataset;
    const letters = code.slice(0, Number(codeWidth));
    return letters === codeHere ? "" : `${codeFolder}${letters}.html#${code}`;
  }

  /** Shows the row of a code, or why there is none; for an empty one that there is a list of all. */
  function show(typed) {
    const code = asfound.codes.normalise(typed);
    if (asfound.codes.codeRight(code) && elsewhere(code)) {
      location.replace(elsewhere(code));
      return;
    }
    const found = rows.find((row) => row.id === code);
    for (const row of rows) { row.hidden = code !== "" && row !== found; }
    if (every) {
      every.open = code !== "";
      every.hidden = code !== "" && !found;
      every.querySelector("summary").hidden = code !== "";
    }
    for (const one of document.querySelectorAll(".letters")) { one.hidden = code !== ""; }
    none.hidden = code === "" || Boolean(found);
    const right = asfound.codes.codeRight(code);
    none.querySelector("[data-code-mistyped]").hidden = right;
    none.querySelector("[data-code-unknown]").hidden = !right;
  }

  function start() {
    const label = document.createElement("label");
    const input = document.createElement("input");
    label.append(form.dataset.codeForm + " ", input);
    Object.assign(input, { type: "text", autocomplete: "off", spellcheck: false, maxLength: 24 });
    input.setAttribute("autocapitalize", "characters");
    form.append(label);
    form.hidden = false;
    document.body.dataset.codeReady = "";
    form.setAttribute("role", "search");
    document.querySelector("main").setAttribute("aria-live", "polite");
    input.addEventListener("input", () => show(input.value));
    for (const link of document.querySelectorAll(".bar [hreflang]")) {
      link.addEventListener("click", () => { link.hash = input.value; });
    }
    const read = () => {
      let code = location.hash.slice(1);
      try { code = decodeURIComponent(code); } catch (error) { /* no address of ours: shown as it is */ }
      input.value = code;
      show(code);
    };
    window.addEventListener("hashchange", read);
    read();
  }

  start();
}(window.asfound = window.asfound || {}));
