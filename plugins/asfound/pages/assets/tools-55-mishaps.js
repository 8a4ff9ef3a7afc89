/* If the module refuses: the reader picks the answer and gets the one right thing to do. The table of answers is that
   of the page (ISO 14229-1 numbers), so that there is only one. */
(function (asfound) {
  "use strict";

  const { h, fill, field, pick } = asfound.dom;
  const { typed } = asfound;

  /** Builds the choice below the page's table; `sheet()` gives the worksheet of the job, or null. */
  function start(root, sheet) {
    const table = root.querySelector(".asf-refusals");
    if (!table) { return null; }
    const rows = Array.from(table.tBodies[0].rows).map((row) => ({
      name: row.cells[0].textContent.trim(), means: row.cells[1].textContent.trim(), after: row.querySelector(".asf-after").textContent.trim(),
      what: Array.from(row.cells[2].childNodes).filter((one) => one.nodeType === 3).map((one) => one.textContent).join("").trim(),
    }));
    const lists = {};
    for (const heading of root.querySelectorAll("h3")) {
      const list = heading.nextElementSibling;
      if (/^If (the module|one change)/.test(heading.textContent) && list && list.tagName === "OL") {
        lists[heading.textContent.includes("silent") ? "silent" : heading.textContent.includes("one change") ? "several" : "unknown"] = list;
      }
    }
    const out = h("div", { role: "status", class: "asf-mishap__do" });
    const options = [["", "pick the answer"], ...rows.map((row, i) => [String(i), row.name]), ["silent", "it goes silent"], ["unknown", "another number"]];
    const what = pick(options, "", draw);
    const where = pick([["", "not while writing a record"]], "", draw);
    const room = h("section", { class: "asf-mishap", "aria-label": "What the module answered" },
      field("The module answered", what), h("div", {}, field("While this was being written", where)), out);

    function refresh() {
      const one = sheet();
      const writes = one && one.ready ? one.sheet.rows.filter((row) => row.write !== undefined) : [];
      const before = where.value;
      where.replaceChildren(h("option", { value: "", text: "not while writing a record" }), ...writes.map((row) => h("option", { value: row.path, text: row.record.name + placeWords(one, row) })));
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
        after = what.value === "silent" ? "try again" : "stop";
      } else {
        const row = rows[Number(what.value)];
        after = row.after;
        parts.push(h("p", { text: row.means }), h("p", {}, h("span", { class: "asf-after asf-after--" + after.replace(" ", "-"), text: after[0].toUpperCase() + after.slice(1) }), " ", h("strong", { text: row.what })));
      }
      const one = sheet();
      if (one && one.ready && where.value) { parts.push(...halfDone(one, where.value, after)); }
      fill(out, ...parts);
    }

    refresh();
    return { room, refresh };
  }

  function placeWords(sheet, row) {
    const unit = row.path.split("/")[0];
    return unit.includes("@") ? " (" + (sheet.base.names.places[unit] || unit) + ")" : "";
  }

  /** What to put back, last first, when one record of several is refused for good. */
  function halfDone(sheet, path, after) {
    const rows = sheet.sheet.rows.filter((row) => row.assessment.state !== "already done");
    const at = rows.findIndex((row) => row.path === path);
    const before = rows.slice(0, at).filter((row) => sheet.leftState(row) === "equal" || sheet.left[row.path]);
    if (!before.length) {
      return [h("p", { text: "No other record of this job was written before. Read this one back: if it is as found, nothing has changed in the car." })];
    }
    const units = Array.from(new Set(before.map((row) => row.path.split("/")[0].split("@")[0])));
    const intro = after === "stop" ? "Part of the job is done. Write nothing further, and put back what is written, the last one first:"
      : "If it is refused again, write nothing further, and put back what is written, the last one first:";
    return [h("p", { text: intro }), h("ol", {}, before.slice().reverse().map((row) => h("li", {}, asfound.sentences.recordName(row.record) + placeWords(sheet, row) + ": write back ",
      Array.isArray(row.found) ? h("code", { text: typed.showHeld(row.record, row.found) }) : Object.keys(row.found).map((id) => "“" + row.found[id] + "”").join(", "),
      ", and read it back."))),
      h("p", { text: "Then restart: " + units.map((id) => sheet.base.modules[id].name + " (" + sheet.base.modules[id].restart.how + ")").join("; ") + ". Read the faults once more and compare them with the first reading." })];
  }

  asfound.mishaps = { start };
}(window.asfound = window.asfound || {}));
