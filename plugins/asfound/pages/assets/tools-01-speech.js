/* The language of the page: what the tools say, in the words of the catalogue that `asfound.language` holds; English
   where there is none. Counterpart: asfound.speech. The first argument is the English sentence in double quotes, in
   pieces joined by + at most, so that it is found for the catalogue. */
(function (asfound) {
  "use strict";

  const language = asfound.language || null;

  const fill = (text, parts) => text.replace(/\{(\w+)\}/g, (all, name) => name in parts ? String(parts[name]) : all);

  /** The sentence, with its {placeholders} filled from `parts`. */
  function gettext(text, parts) {
    const said = language && language.said[text] || text;
    return parts ? fill(said, parts) : said;
  }

  /** The sentence in the form that `n` of something asks for; {n} is the number. */
  function ngettext(one, many, n, parts) {
    const forms = language && language.counted[one];
    // The rules of all languages repeat from 100 to 199.
    const said = forms ? forms[language.forms[n < 200 ? n : 100 + n % 100]] : n === 1 ? one : many;
    return fill(said, Object.assign({ n }, parts));
  }

  /** A decimal number, written with a point, as people of the language write it. */
  function numberWords(decimal) {
    return language && language.point !== "." ? decimal.replace(".", language.point) : decimal;
  }

  asfound.speech = { tag: language ? language.tag : "en", gettext, ngettext, numberWords };
}(window.asfound = window.asfound || {}));
