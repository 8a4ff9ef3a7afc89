/* Small helpers for building the page. Text goes in as text, never as HTML. */
(function (asfound) {
  "use strict";

  const { gettext } = asfound.speech;

  let numbers = 0;

  /** A new id, for labels. */
  function newId() {
    numbers += 1;
    return "asf-t" + numbers;
  }

  /** An element. Props that are functions are listeners, `text` is its text, others attributes; null children go. */
  function h(tag, props, ...children) {
    const out = document.createElement(tag);
    for (const key of Object.keys(props || {})) {
      const value = props[key];
      if (typeof value === "function") {
        out.addEventListener(key, value);
      } else if (key === "text") {
        out.textContent = value;
      } else if (key === "value") {
        out.value = value;
      } else if (value === true) {
        out.setAttribute(key, "");
      } else if (value !== false && value !== null && value !== undefined) {
        out.setAttribute(key, value);
      }
    }
    for (const child of [].concat(...children)) {
      if (child !== null && child !== undefined && child !== "") { out.append(child); }
    }
    return out;
  }

  /** Replaces what an element holds, but leaves it alone if it says the same: so that nothing is read out twice. */
  function fill(room, ...children) {
    const fresh = Array.from(h("div", {}, ...children).childNodes);
    const live = (one) => one.nodeType === 1 && (one.matches("button, input, select") || one.querySelector("button, input, select"));
    const same = room.childNodes.length === fresh.length && fresh.every((one, i) => !live(one) && one.isEqualNode(room.childNodes[i]));
    if (!same) { room.replaceChildren(...fresh); }
  }

  /** A labelled field: {box, input}. `hint` is said with it. */
  function field(label, input, hint) {
    if (!input.id) { input.id = newId(); }
    const note = hint ? h("span", { class: "asf-soft", id: input.id + "-h", text: hint }) : null;
    if (note) { input.setAttribute("aria-describedby", note.id); }
    return h("div", { class: "asf-field" }, h("label", { for: input.id, text: label }), input, note);
  }

  /** A choice among [value, words], as a list of words to choose from. */
  function pick(choices, value, change) {
    const out = h("select", { change }, choices.map(([one, words]) => h("option", { value: one, text: words })));
    out.value = value;
    return out;
  }

  function button(words, click, quiet) {
    return h("button", { type: "button", class: quiet ? "asf-press asf-press--quiet" : "asf-press", text: words, click });
  }

  /** Gives the reader a file to keep. */
  function download(name, text, kind) {
    const url = URL.createObjectURL(new Blob([text], { type: kind || "application/json" }));
    const link = h("a", { href: url, download: name });
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(() => URL.revokeObjectURL(url), 10000);
  }

  /** Copies text; on a page opened from a file the clipboard may be closed, then the text is selected. */
  function copier(text, room) {
    const said = h("span", { role: "status", class: "asf-soft" });
    const done = () => { said.textContent = gettext("Copied."); };
    const select = () => {
      const range = document.createRange();
      range.selectNodeContents(room);
      getSelection().removeAllRanges();
      getSelection().addRange(range);
      said.textContent = document.execCommand("copy") ? gettext("Copied.") : gettext("Selected: copy it with the keyboard.");
    };
    const copy = () => {
      if (navigator.clipboard && window.isSecureContext) { navigator.clipboard.writeText(text).then(done, select); } else { select(); }
    };
    return h("span", { class: "asf-copy" }, button(gettext("Copy"), copy, true), " ", said);
  }

  const MARKS = /\*\*([^*]+)\*\*|\*([^*]+)\*|`([^`]+)`|\[([^\]]+)\]\([^)]*\)/g;

  /** Prose as nodes: strong, emphasis and code; of links the words, since their targets belong to the page. */
  function prose(text) {
    const out = [];
    let at = 0;
    for (let found = MARKS.exec(text); found; found = MARKS.exec(text)) {
      out.push(text.slice(at, found.index));
      const tag = found[1] !== undefined ? "strong" : found[2] !== undefined ? "em" : found[3] !== undefined ? "code" : "span";
      out.push(h(tag, { text: found[1] || found[2] || found[3] || found[4] }));
      at = found.index + found[0].length;
    }
    return out.concat(text.slice(at));
  }

  /** Today as an ISO 8601 date, by the reader's own clock. */
  function today() {
    const now = new Date();
    const pad = (n) => String(n).padStart(2, "0");
    return now.getFullYear() + "-" + pad(now.getMonth() + 1) + "-" + pad(now.getDate());
  }

  asfound.dom = { h, fill, field, pick, button, download, copier, today, newId, prose };
}(window.asfound = window.asfound || {}));
