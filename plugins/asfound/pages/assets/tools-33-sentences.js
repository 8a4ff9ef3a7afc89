/* The sentences of a merged job that depend on what was merged. Counterpart: asfound.work.wording. */
(function (asfound) {
  "use strict";

  const { gettext } = asfound.speech;
  const listed = (words, last) =>
    [words.slice(0, -1).join(", "), words.slice(-1)[0]].filter(Boolean).join(" " + (last === "or" ? gettext("or") : gettext("and")) + " ");

  function recordName(record) {
    if (record.identifier === undefined) { return record.name; }
    return record.name + " (" + (typeof record.identifier === "number" ? gettext("number") : gettext("identifier")) + " " + record.identifier + ")";
  }

  function howMany(layouts) {
    const lengths = Array.from(new Set(layouts.map((one) => one.length))).sort((a, b) => a - b);
    if (lengths.length === 1) { return lengths[0] > 1 ? gettext("all {n} bytes", { n: lengths[0] }) : gettext("its one byte"); }
    return lengths.length ? gettext("all its bytes ({lengths}, by layout)", { lengths: listed(lengths.map(String), "or") }) : gettext("all its bytes");
  }

  /** What identifying a module must tell; `records` are [record, layouts]. */
  function identifyExpect(records) {
    const told = records.filter(([, layouts]) => layouts.length > 1 || layouts.some((one) => one.for)).map(([one]) => one.name);
    return told.length ? gettext("The module answers, and you know which layout of {told} your car has.", { told: listed(told) })
      : gettext("The module answers.");
  }

  function note(record, layouts, names, unit) {
    const what = record.names_only ? gettext("what it shows for {settings}, word for word", { settings: listed(names) })
      : record.shown_as ? gettext("the number it shows, digit by digit") : howMany(layouts);
    return gettext("Read record {record} of {unit} and note {what}.", { record: recordName(record), unit, what });
  }

  function noteExpect(fields, defined) {
    const held = fields.map((field) => defined[field.setting].name + ": " +
      (field.before_words === undefined ? gettext("any value with a known meaning")
        : asfound.values.withUnit(defined[field.setting], field.before_words)));
    return held.length ? Array.from(new Set(held)).join("; ") + "." : "";
  }

  function checksum(sum) {
    if (!sum) { return ""; }
    const size = asfound.bits.checksumSize(sum);
    const where = size === 1 ? gettext("byte {first}", { first: sum.at })
      : size === 2 ? gettext("bytes {first} and {last}", { first: sum.at, last: sum.at + 1 })
        : gettext("bytes {first} to {last}", { first: sum.at, last: sum.at + size - 1 });
    return sum.by === "tool" ? gettext("The tool puts the checksum in {where} right by itself.", { where })
      : gettext("The checksum in {where} is part of it: enter it as worked out.", { where });
  }

  function write(record, layouts, fields, defined, unit) {
    if (record.names_only) {
      const sets = Array.from(new Set(fields.map((one) => gettext("{setting} to “{to}”", { setting: defined[one.setting].name, to: asfound.values.withUnit(defined[one.setting], one.to_words) }))));
      return gettext("In record {record} of {unit}, set {sets}.", { record: record.name, unit, sets: listed(sets) });
    }
    const entered = record.shown_as ? gettext("the number of the line “to write”") : gettext("{what} of the line “to write”", { what: howMany(layouts) });
    const sums = layouts.map((one) => [one.id, checksum(one.checksum)]);
    const alike = new Set(sums.map((one) => one[1])).size === 1;
    const after = alike ? sums[0][1] : sums.filter((one) => one[1])
      .map(([id, words]) => gettext("In layout {id}, {words}", { id, words: words[0].toLowerCase() + words.slice(1) })).join(" ");
    return gettext("Write record {record} of {unit}: enter {what}. {after}", { record: recordName(record), unit, what: entered, after }).trim();
  }

  function readBackExpect(record, fields, defined) {
    if (record.names_only) {
      return Array.from(new Set(fields.map((one) => defined[one.setting].name + ": " + asfound.values.withUnit(defined[one.setting], one.to_words)))).join("; ") + ".";
    }
    return record.shown_as ? gettext("The number is that of the line “to write”.") : gettext("Every byte is that of the line “to write”.");
  }

  function faultsExpect(faults) {
    if (!faults.length) { return gettext("No fault that was not there before."); }
    const trim = (text) => text.replace(/\.+$/, "");
    const known = new Set(faults.map((one) => one.code + " (" + asfound.words.lowerFirst(trim(one.when)) + "): " + trim(one.do)));
    return gettext("No fault that was not there before, except perhaps {known}.", { known: Array.from(known).join("; ") });
  }

  /** The hazard of a job in which the key is on for so long, as hazards of recipes are told. Counterpart: trust.standing.key_on. */
  function keyOn(minutes) {
    return {
      word: "NOTICE", arises: "voltage",
      hazard: gettext("The key is on for about {time}, and the battery runs down meanwhile.", { time: asfound.words.minutesWords(minutes) }),
      consequence: gettext("If the voltage drops while a record is written, the module may keep a damaged record."),
      avoid: gettext("Connect a battery supply before you begin, switch off what is not needed, watch the voltage."),
    };
  }

  /**
   * The hazards of a job: [hazard, the indexes of those that bring it], each once. `of` has the hazards of each recipe;
   * the time with the key on is the job's own. Counterpart: Book.job_hazards.
   */
  function jobHazards(of, keyOnMinutes, longKeyOn) {
    const found = new Map();
    of.forEach((list, at) => list.filter((one) => one.arises !== "voltage").forEach((hazard) => {
      const key = JSON.stringify(hazard);
      if (!found.has(key)) { found.set(key, [hazard, []]); }
      found.get(key)[1].push(at);
    }));
    return Array.from(found.values()).concat(keyOnMinutes >= longKeyOn ? [[keyOn(keyOnMinutes), []]] : []);
  }

  asfound.sentences = {
    listed, recordName, howMany, identifyExpect, note, noteExpect, write, readBackExpect, faultsExpect, jobHazards,
  };
}(window.asfound = window.asfound || {}));
