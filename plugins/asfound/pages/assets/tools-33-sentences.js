/* The sentences of a merged job that depend on what was merged. Counterpart: asfound.work.wording. */
(function (asfound) {
  "use strict";

  const listed = (words, last) =>
    [words.slice(0, -1).join(", "), words.slice(-1)[0]].filter(Boolean).join(" " + (last || "and") + " ");

  function recordName(record) {
    if (record.identifier === undefined) { return record.name; }
    return record.name + " (" + (typeof record.identifier === "number" ? "number" : "identifier") + " " + record.identifier + ")";
  }

  function howMany(layouts) {
    const lengths = Array.from(new Set(layouts.map((one) => one.length))).sort((a, b) => a - b);
    if (lengths.length === 1) { return lengths[0] > 1 ? "all " + lengths[0] + " bytes" : "its one byte"; }
    return lengths.length ? "all its bytes (" + listed(lengths.map(String), "or") + ", by layout)" : "all its bytes";
  }

  /** What identifying a module must tell; `records` are [record, layouts]. */
  function identifyExpect(records) {
    const told = records.filter(([, layouts]) => layouts.length > 1 || layouts.some((one) => one.for)).map(([one]) => one.name);
    return told.length ? "The module answers, and you know which layout of " + listed(told) + " your car has."
      : "The module answers.";
  }

  function note(record, layouts, names, unit) {
    const what = "Read record " + recordName(record) + " of " + unit + " and note ";
    if (record.names_only) { return what + "what it shows for " + listed(names) + ", word for word."; }
    if (record.shown_as) { return what + "the number it shows, digit by digit."; }
    return what + howMany(layouts) + ".";
  }

  function noteExpect(fields, defined) {
    const held = fields.map((field) => defined[field.setting].name + ": " +
      (field.before_words === undefined ? "any value with a known meaning" : field.before_words));
    return held.length ? Array.from(new Set(held)).join("; ") + "." : "";
  }

  function checksum(sum) {
    if (!sum) { return ""; }
    const size = asfound.bits.checksumSize(sum);
    const where = size === 1 ? "byte " + sum.at
      : "bytes " + sum.at + (size === 2 ? " and " : " to ") + (sum.at + size - 1);
    return sum.by === "tool" ? "The tool puts the checksum in " + where + " right by itself."
      : "The checksum in " + where + " is part of it: enter it as worked out.";
  }

  function write(record, layouts, fields, defined, unit) {
    if (record.names_only) {
      const sets = Array.from(new Set(fields.map((one) => defined[one.setting].name + " to “" + one.to_words + "”")));
      return "In record " + record.name + " of " + unit + ", set " + listed(sets) + ".";
    }
    const entered = record.shown_as ? "the number of the line “to write”" : howMany(layouts) + " of the line “to write”";
    const sums = layouts.map((one) => [one.id, checksum(one.checksum)]);
    const alike = new Set(sums.map((one) => one[1])).size === 1;
    const after = alike ? sums[0][1] : sums.filter((one) => one[1])
      .map(([id, words]) => "In layout " + id + ", " + words[0].toLowerCase() + words.slice(1)).join(" ");
    return ("Write record " + recordName(record) + " of " + unit + ": enter " + entered + ". " + after).trim();
  }

  function readBackExpect(record, fields, defined) {
    if (record.names_only) {
      return Array.from(new Set(fields.map((one) => defined[one.setting].name + ": " + one.to_words))).join("; ") + ".";
    }
    return (record.shown_as ? "The number is" : "Every byte is") + " that of the line “to write”.";
  }

  function faultsExpect(faults) {
    if (!faults.length) { return "No fault that was not there before."; }
    const trim = (text) => text.replace(/\.+$/, "");
    const known = new Set(faults.map((one) => one.code + " (" + trim(one.when) + "): " + trim(one.do)));
    return "No fault that was not there before, except perhaps " + Array.from(known).join("; ") + ".";
  }

  asfound.sentences = {
    listed, recordName, howMany, identifyExpect, note, noteExpect, write, readBackExpect, faultsExpect,
  };
}(window.asfound = window.asfound || {}));
