/* If the module refuses: the reader picks the answer and gets the one right thing to do. The table of answers is that
   of the page (ISO 14229-1 numbers), so that there is only one. */
(function (asfound) {
  "use strict";

  const { gettext } = asfound.speech;
  const { h, fill, field, pick } = asfound.dom;
  const { typed, words: { capital } } = asfound;
  // By the titles of the page's lists, and the marks of its table.
  const TITLES = {
    [gettext("If the module refuses with a number that is not in this list")]: "unknown",
    [gettext("If the module goes silent")]: "silent",
    [gettext("If one change of several is refused")]: "several",
  };
  const AFTER = ["try-again", "wait", "stop"];

  /** Builds the choice below the page's table; `sheet()` gives the worksheet of the job, or null. */
  function start(root, sheet) {
    const table = root.querySelector(".asf-refusals");
    if (!table) { return null; }
    const rows = Array.from(table.tBodies[0].rows).map((row) => ({
      name: row.cells[0].textContent.trim(), means: row.cells[1].textContent.trim(), after: row.querySelector(".asf-after"),
      what: Array.from(row.cells[2].childNodes).filter((one) => one.nodeType === 3).map((one) => one.textContent).join("").trim(),
    }));
    const lists = {};
    for (const heading of root.querySelectorAll("h3")) {
      const list = heading.nextElementSibling;
      const kind = TITLES[heading.textContent.trim()];
      if (kind && list && list.tagName === "OL") { lists[kind] = list; }
    }
    const out = h("div", { role: "status", class: "asf-mishap__do" });
    const options = [["", gettext("pick the answer")], ...rows.map((row, i) => [String(i), row.name]), ["silent", gettext("it goes silent")], ["unknown", gettext("another number")]];
    const what = pick(options, "", draw);
    const where = pick([["", gettext("not while writing a record")]], "", draw);
    const room = h("section", { class: "asf-mishap", "aria-label": gettext("What the module answered") },
      field(gettext("The module answered"), what), h("div", {}, field(gettext("While this was being written"), where)), out);

    function refresh() {
      const one = sheet();
      const writes = one && one.ready ? written(one) : [];
      const before = where.value;
      where.replaceChildren(h("option", { value: "", text: gettext("not while writing a record") }), ...writes.map((row) => h("option", { value: row.path, text: placed(row.record.name, one, row) })));
      where.value = writes.some((row) => row.path === before) ? before : "";
      where.closest("div").hidden = !writes.length;
      draw();
    }

    function draw() {
      if (!what.value) { fill(out); return; }
      const parts = [];
      let after = "stop";
      if (lists[what.value]) {
        parts.push(h("ol", {}, Array.from(lists[what.value].children).map((one) => h("li", { text: one.textContent }))));
        after = what.value === "silent" ? "try-again" : "stop";
      } else {
        const row = rows[Number(what.value)];
        after = AFTER.find((one) => row.after.classList.contains("asf-after--" + one)) || "stop";
        parts.push(h("p", { text: row.means }), h("p", {}, h("span", { class: "asf-after asf-after--" + after, text: capital(row.after.textContent.trim()) }), " ", h("strong", { text: row.what })));
      }
      const one = sheet();
      if (one && one.ready && where.value) { parts.push(...halfDone(one, where.value, after)); }
      fill(out, ...parts);
    }

    refresh();
    return { room, refresh };
  }

  /** The rows of a job in which something is to be written, in its order. */
  const written = (sheet) => sheet.sheet.rows.filter((row) => row.assessment.state !== "already done");

  /** What is of a row's record, with the place of its module where that is fitted more than once. */
  const placed = (said, sheet, row) => asfound.words.inPlace(said, row.path.split("/")[0], sheet.base.names);

  /** What to put back, last first, when one record of several is refused for good. */
  function halfDone(sheet, path, after) {
    const rows = written(sheet);
    const at = rows.findIndex((row) => row.path === path);
    const before = rows.slice(0, at).filter((row) => sheet.leftState(row));
    if (!before.length) {
      return [h("p", { text: gettext("No other record of this job was written before. Read this one back: if it is as found, nothing has changed in the car.") })];
    }
    const units = Array.from(new Set(before.map((row) => row.path.split("/")[0].split("@")[0])));
    const intro = after === "stop" ? gettext("Part of the job is done. Write nothing further, and put back what is written, the last one first:")
      : gettext("If it is refused again, write nothing further, and put back what is written, the last one first:");
    return [h("p", { text: intro }), h("ol", {}, before.slice().reverse().map((row) => h("li", {}, gettext("Write this back into {record}, and read it back:", { record: placed(asfound.sentences.recordName(row.record), sheet, row) }), " ",
      Array.isArray(row.found) ? h("code", { text: typed.showHeld(row.record, row.found) }) : Object.keys(row.found).map((id) => "“" + row.found[id] + "”").join(", ")))),
      h("p", { text: gettext("Then restart: {units}. Read the faults once more and compare them with the first reading.", { units: units.map((id) => sheet.base.modules[id].name + " (" + sheet.base.modules[id].restart.how + ")").join("; ") }) })];
  }

  asfound.mishaps = { start };
}(window.asfound = window.asfound || {}));
