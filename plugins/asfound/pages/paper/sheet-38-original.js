/* Texts of the book that nobody has translated, marked as what they are in a sheet drawn by the page (WCAG 2.2, 3.1.2).
   Python marks them as it writes a sheet; which they are comes with the recipe's data for paper. */
(function (asfound) {
  "use strict";

  const { h } = asfound.dom;
  const LONG = 12; // letters; a shorter text may be part of a word, and is marked where it stands alone

  const bare = (text) => text.replace(/^[\s“”":;,.→·]+|[\s“”":;,.→·]+$/g, "");

  /** Where the first of the texts stands in a string: [text, place], or null. */
  function first(string, texts) {
    let found = null;
    for (const text of texts) {
      const at = text.length >= LONG || bare(string) === bare(text) ? string.indexOf(text) : -1;
      if (at >= 0 && (!found || at < found[1] || at === found[1] && text.length > found[0].length)) { found = [text, at]; }
    }
    return found;
  }

  /** Marks the texts of that language below an element; `texts` as they are shown. */
  function mark(room, lang, texts) {
    const walk = document.createTreeWalker(room, NodeFilter.SHOW_TEXT);
    const nodes = [];
    while (walk.nextNode()) { nodes.push(walk.currentNode); }
    for (const node of nodes) {
      const parts = [];
      let rest = node.data;
      for (let found = first(rest, texts); found; found = first(rest, texts)) {
        parts.push(rest.slice(0, found[1]), h("span", { lang, text: found[0] }));
        rest = rest.slice(found[1] + found[0].length);
      }
      if (parts.length) { node.replaceWith(...parts.filter(Boolean), rest); }
    }
  }

  asfound.paper = Object.assign(asfound.paper || {}, { mark });
}(window.asfound = window.asfound || {}));
