/* The filter of the find page. Reads only what is on the page; without it the page is complete. Classic script,
   deferred: it must run from file:// too. */
(function (asfound) {
  "use strict";

  /* Lower case without accents, so that "é" is found by "e". */
  function plain(text) {
    return text.normalize("NFD").replace(/[\u0300-\u036f]/g, "").toLowerCase();
  }

  /* All words of the query must occur, in any order. */
  asfound.matches = function (text, query) {
    var whole = plain(text);
    return plain(query).split(/\s+/).every(function (word) { return whole.indexOf(word) >= 0; });
  };

  function start() {
    var form = document.querySelector("[data-asf-filter]");
    var list = document.querySelector("[data-asf-items]");
    if (!form || !list || form.dataset.asfReady) { return; }
    form.dataset.asfReady = "yes";
    var input = form.querySelector("input");
    var count = form.querySelector("[role=status]");
    var words = {};
    list.querySelectorAll("[data-recipe]").forEach(function (item) {
      words[item.dataset.recipe] = item.textContent;
    });
    var items = document.querySelectorAll(".asf [data-recipe]");
    var groups = document.querySelectorAll("[data-asf-group]");
    groups.forEach(function (group) {
      var heading = group.querySelector("h3").textContent;
      group.querySelectorAll("[data-recipe]").forEach(function (item) {
        words[item.dataset.recipe] += " " + heading;
      });
    });

    function apply() {
      var query = input.value.trim();
      var shown = {};
      var found = 0;
      Object.keys(words).forEach(function (id) {
        shown[id] = asfound.matches(words[id], query);
        if (shown[id]) { found += 1; }
      });
      items.forEach(function (item) { item.hidden = !shown[item.dataset.recipe]; });
      groups.forEach(function (group) {
        group.hidden = !group.querySelector("[data-recipe]:not([hidden])");
      });
      count.textContent = query ? found + " of " + Object.keys(words).length + " recipes" : "";
    }

    input.addEventListener("input", apply);
    form.addEventListener("submit", function (event) { event.preventDefault(); });
    input.addEventListener("keydown", function (event) {
      if (event.key === "Escape" && input.value) { input.value = ""; apply(); event.preventDefault(); }
    });
    form.hidden = false;
    apply();  /* a browser may have kept the words over a reload */
  }

  if (document.readyState === "loading") {
    document.addEventListener("DOMContentLoaded", start);
  } else {
    start();
  }
}(window.asfound = window.asfound || {}));
