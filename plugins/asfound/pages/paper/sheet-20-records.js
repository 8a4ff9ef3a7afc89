/* Records on paper, drawn in the page: boxes and the work by hand. Counterparts: pages.views.sheet_records and the
   templates boxes, by-hand, number and names below sheet/. */
(function (asfound) {
  "use strict";

  const { h } = asfound.dom;
  const { bits, edits, values, words: { capital } } = asfound;
  const { gettext, ngettext } = asfound.speech;
  const MOST_BOXES = 16;
  const DIGITS = "0123456789ABCDEF";

  const byteWords = (byte) => gettext("byte {byte}, the {ordinal} pair", { byte, ordinal: asfound.words.ordinal(byte + 1) });
  function bytesWords(first, last) {
    if (first === last) { return byteWords(first); }
    const said = { first, last, ordinal: asfound.words.ordinal(first + 1), ordinal2: asfound.words.ordinal(last + 1) };
    return last === first + 1 ? gettext("bytes {first} and {last}, the {ordinal} and {ordinal2} pairs", said)
      : gettext("bytes {first} to {last}, the {ordinal} to {ordinal2} pair", said);
  }
  const cellWords = ([byte, half]) => byteWords(byte) + ", " + (half ? gettext("second digit") : gettext("first digit"));
  const orWords = (list) => asfound.sentences.listed(list, "or");

  /** Runs of numbers as words: "0 to 4, 8 or C". */
  function runWords(runs, spell) {
    return orWords(runs.map(([a, b]) => a === b ? spell(a) : spell(a) + " " + (b - a === (typeof a === "bigint" ? 1n : 1) ? gettext("or") : gettext("to")) + " " + spell(b)));
  }

  function digitWords(set) {
    if (set === null) { return gettext("any"); }
    const runs = [];
    for (const one of set) {
      const last = runs[runs.length - 1];
      if (last && one === last[1] + 1) { last[1] = one; } else { runs.push([one, one]); }
    }
    return runWords(runs, (digit) => DIGITS[digit]);
  }

  function cellsWords(cells) {
    const out = [];
    cells.forEach((cell, at) => {
      const before = cells[at - 1];
      if (cell[1] === 1 && before && before[0] === cell[0] && before[1] === 0) {
        out[out.length - 1] = byteWords(cell[0]) + ", " + gettext("both digits");
      } else {
        out.push(cellWords(cell));
      }
    });
    return out.join("; " + gettext("then") + " ");
  }

  const p = (...children) => h("p", { class: "hand" }, ...children);
  const b = (text) => h("b", { text });

  function lookup(one) {
    const stops = one.write.includes(null);
    return h("table", { class: "lookup" }, h("caption", { text: capital(cellWords(one.cell)) + (stops ? " (■: " + gettext("STOP") + ")" : "") }),
      h("tbody", {}, h("tr", {}, h("th", { text: gettext("found") }), Array.from(DIGITS, (digit) => h("td", { text: digit }))),
        h("tr", {}, h("th", { text: gettext("write") }), one.write.map((to, digit) => h("td", { class: to === digit ? null : "moves", text: to === null ? "■" : DIGITS[to] })))));
  }

  /** Fixed digits in runs of whole bytes: [where, what]. */
  function fixedWords(fixed) {
    const by = new Map(fixed.map((one) => [one.cell.join(), DIGITS[one.digit]]));
    const whole = Array.from(new Set(fixed.map((one) => one.cell[0]))).filter((byte) => by.has(byte + ",0") && by.has(byte + ",1"));
    const rows = [];
    for (const byte of whole) {
      const last = rows[rows.length - 1];
      const pair = by.get(byte + ",0") + by.get(byte + ",1");
      if (last && last.last === byte - 1) { last.last = byte; last.what += " " + pair; } else { rows.push({ first: byte, last: byte, half: 0, what: pair }); }
    }
    const single = fixed.filter((one) => !whole.includes(one.cell[0])).map((one) => ({ first: one.cell[0], half: one.cell[1], cell: one.cell, what: DIGITS[one.digit] }));
    return rows.concat(single).sort((x, y) => x.first - y.first || x.half - y.half)
      .map((one) => [capital(one.cell ? cellWords(one.cell) : bytesWords(one.first, one.last)), one.what]);
  }

  const STOP = () => b(gettext("STOP"));
  const sumWhere = (sum) => bytesWords(sum.at, sum.at + bits.checksumSize(sum) - 1);
  const byTool = (sum) => sum && sum.by === "tool" ? p(gettext("The tool puts the checksum in {where} right by itself.", { where: sumWhere(sum) })) : null;
  const already = () => p(b(gettext("Already as wanted: write nothing into this record.")));
  const notByHand = (sum) => p(b(gettext("Not by hand.")), " ",
    sum && sum.by === "reader" ? gettext("{where}, is a checksum that nobody works out on paper.", { where: capital(sumWhere(sum)) }) : gettext("Its digits hang together."), " ",
    gettext("Type as found into the worksheet of the recipe's page, and copy what it shows to write."), " ", b(gettext("Without that, write nothing.")));

  function pairsByHand(edit, work, row) {
    const sum = edit.checksum;
    if (row && row.write !== undefined) {
      return [row.assessment.state === "already done" ? already() : p(h("i", { class: "box" }), gettext("As found was typed beforehand: read the record again."), " ", b(gettext("Any box not the same: STOP."))), byTool(sum)];
    }
    if (!work) { return [notByHand(sum)]; }
    return [
      ...fixedWords(work.fixed).map(([where, what]) => p(where + ": ", b(gettext("write {what}", { what })), ", " + gettext("whatever was found") + ".")),
      ...work.lookups.map(lookup),
      ...work.allowed.map((one) => p(STOP(), " " + gettext("unless the digits found for “{name}” ({where}) are: {may}.", {
        name: one.name, where: cellsWords(one.cells), may: one.patterns.map((some) => some.map(digitWords).join(" " + gettext("then") + " ")).join("; " + gettext("or") + " "),
      }))),
      ...work.texts.map((one) => p(STOP(), " " + gettext("unless “{name}” as found is a text: in {where}, every pair begins with a digit from 2 to 7 and none is 7F", { name: one.name, where: bytesWords(one.first, one.last) }) +
        (one.pad === "zero" ? "; " + gettext("from some pair on all may be 00") : "") + ".")),
      byTool(sum),
    ];
  }

  function boxes(edit, work, row) {
    const fixed = new Map((work ? work.fixed : []).map((one) => [one.cell.join(), DIGITS[one.digit]]));
    const sum = edit.checksum;
    const inSum = (byte) => sum && byte >= sum.at && byte < sum.at + bits.checksumSize(sum);
    let mask = new Array(edit.length).fill(0);
    for (const one of edit.fields) { mask = bits.scatter(one.place, mask, (1n << BigInt(bits.width(one.place))) - 1n); }
    const pair = (held, byte, half) => Array.isArray(held) ? DIGITS[held[byte] >> (half ? 0 : 4) & 15] : "";
    const text = (kind, byte, half) => kind === "found" ? pair(row && row.found, byte, half)
      : kind === "write" ? pair(row && row.write, byte, half) || fixed.get(byte + "," + half) || "" : "";
    const lines = Math.ceil(edit.length / MOST_BOXES);
    const each = Math.ceil(edit.length / lines);
    const out = [];
    for (let at = 0; at < edit.length; at += each) {
      const here = Array.from({ length: Math.min(each, edit.length - at) }, (_, i) => at + i);
      out.push(h("table", { class: "boxes" }, h("tbody", {},
        h("tr", { class: "boxes__head" }, h("th", {}, gettext("pair"), h("br"), gettext("byte")), here.map((byte) => h("td", {}, String(byte + 1), h("br"), h("span", { text: String(byte) })))),
        [["found", gettext("as found")], ["write", gettext("to write")], ["left", gettext("as left")]].map(([kind, label]) => h("tr", { class: "boxes__" + kind }, h("th", { text: label }),
          here.map((byte) => h("td", { class: sum && sum.by === "tool" && inSum(byte) ? "sum" : null }, [0, 1].map((half) => h("span", { class: "digit" + (mask[byte] >> (half ? 0 : 4) & 15 ? " digit--change" : ""), text: text(kind, byte, half) })))))))));
    }
    return h("div", { class: "pairs", tabindex: "0", role: "group", "aria-label": gettext("as found, to write, as left") }, h("div", { class: "grids" }, out), h("div", { class: "byhand" }, pairsByHand(edit, work, row).filter(Boolean)));
  }

  function numberBoxes(record, edit, work, row) {
    const shown = (held) => Array.isArray(held) ? asfound.typed.showHeld(record, held) : "";
    const write = shown(row && row.write) || (work && work.whole !== null ? String(work.whole) : "");
    const out = [h("table", { class: "boxes boxes--number" }, h("tbody", {}, h("tr", {}, h("th", { text: gettext("as found") }), h("td", { text: shown(row && row.found) }),
      h("th", { text: gettext("to write") }), h("td", { class: "thick", text: write }), h("th", { text: gettext("as left") }), h("td"))))];
    const spans = (list) => runWords(list, String);
    if (row && row.write !== undefined) {
      out.push(row.assessment.state === "already done" ? already() : p(h("i", { class: "box" }), gettext("As found was typed beforehand: read the record again."), " ", b(gettext("Not the same number: STOP."))));
    } else if (!work) {
      out.push(notByHand(edit.checksum));
    } else if (work.whole !== null) {
      out.push(p(b(gettext("Write {what}", { what: String(work.whole) })), ", " + gettext("whatever was found") + ". ", STOP(), " " + gettext("unless the number found is {may}.", { may: spans(work.allowed) })));
    } else {
      if (work.shares.length > 1) { out.push(p(gettext("Do each line with the number found; what to write is that number with all that the lines add and take away."))); }
      out.push(...work.shares.map((one) => shareWords(one, spans)), byTool(edit.checksum));
    }
    return h("div", {}, out.filter(Boolean));
  }

  function shareWords(one, spans) {
    const does = (held) => {
      if (!one.allowed.some(([a, z]) => a <= held && held <= z)) { return gettext("STOP"); }
      const by = (one.to - held) * one.divide;
      return by === 0n ? gettext("already as wanted, add nothing") : by > 0n ? gettext("add {n}", { n: by }) : gettext("subtract {n}", { n: -by });
    };
    const start = gettext("Number found ÷ {divide}, drop the remainder.", { divide: one.divide }) + " ";
    if (one.modulo === 2n) { return p(start + gettext("Odd: {odd}. Even: {even}.", { odd: does(1n), even: does(0n) })); }
    const keep = one.modulo ? gettext("÷ {modulo}, keep only the remainder.", { modulo: one.modulo }) + " " : "";
    if (one.modulo && one.modulo <= 4n) {
      return p(start + keep + Array.from({ length: Number(one.modulo) }, (_, held) => held + ": " + does(BigInt(held)) + ".").join(" "));
    }
    return p(start + keep, STOP(), " " + gettext("unless it is {may}. From the number found take away {divide} times it, and add {add}.", { may: spans(one.allowed), divide: one.divide, add: one.to * one.divide }));
  }

  function names(record, edit, alternatives, row) {
    const defined = edits.byId(record.settings);
    const may = (one) => {
      const choices = (defined[one.setting].choices || []).map((other) => other[1]);
      const offered = alternatives.filter((other) => other.setting === edits.bare(edit.record) + "/" + one.setting).map((other) => other.to);
      const list = one.before_words !== undefined && !one.asked ? [one.before_words, one.to_words, ...offered] : choices;
      return orWords(Array.from(new Set(list.map((words) => "“" + values.withUnit(defined[one.setting], words) + "”"))));
    };
    return h("div", {}, h("table", { class: "form form--names" }, h("tbody", {},
      h("tr", {}, [gettext("Setting"), gettext("As found"), gettext("To write"), gettext("As left")].map((text) => h("th", { text }))),
      edit.fields.map((one) => h("tr", {}, h("th", { text: defined[one.setting].name }), h("td", { text: row && row.found ? row.found[one.setting] || "" : "" }), h("td", { class: "thick" }, b(values.withUnit(defined[one.setting], one.to_words))), h("td"))))),
    row && row.write !== undefined && row.assessment.state === "already done" ? already() : "",
    edit.fields.filter(may).map((one) => p("“" + defined[one.setting].name + "”: ", STOP(), " " + gettext("unless it shows {may}.", { may: may(one) }))));
  }

  function changes(record, edit) {
    const defined = edits.byId(record.settings);
    return edit.fields.map((one) => h("p", { class: "change" }, b(defined[one.setting].name),
      one.before_words === undefined ? "" : ": “" + values.withUnit(defined[one.setting], one.before_words) + "”", " → ", b("“" + values.withUnit(defined[one.setting], one.to_words) + "”"),
      one.asked ? " " + gettext("(agree on it first; another value is another sheet)") : ""));
  }

  /** What a byte must hold, digit by digit. Counterpart: holds_words. */
  function holdsWords(byte, mask, value) {
    return [0, 1].filter((half) => mask >> (half ? 0 : 4) & 15).map((half) => {
      const shift = half ? 0 : 4;
      const may = Array.from(DIGITS, (_, digit) => digit).filter((digit) => (digit & mask >> shift & 15) === (value >> shift & 15));
      return cellWords([byte, half]) + ": " + digitWords(may);
    }).join(" " + gettext("and") + " ");
  }

  /** A condition after "if". Counterpart: pages.speech.if_words. */
  function ifWords(condition, names) {
    const kind = asfound.conditions.leaves(condition).some((one) => one.k === "vehicle" || one.k === "equipped");
    const said = asfound.words.say(condition, names);
    return kind ? gettext("it is {car}", { car: said }) : said;
  }

  /** How to know a layout, in words; "" when every car has it. */
  function layoutWords(layout, stock) {
    if (!layout.for) { return ""; }
    const holds = layout.for.holds;
    if (holds) { return holdsWords(holds.byte, holds.mask === undefined ? 255 : parseInt(holds.mask, 16), parseInt(holds.is, 16)); }
    return ifWords(asfound.conditions.read(layout.for), stock.names);
  }

  /** All of one record: a section for each layout it can have. `row` is that of the worksheet, if there is one. */
  function sections(planned, ref, place, stock, alternatives, row) {
    const { record } = planned;
    const module = stock.modules[planned.path.split("/")[0].split("@")[0]];
    const list = planned.edits.filter((edit) => !row || row.layout === undefined || edit.layout === row.layout);
    const head = () => h("h3", {}, h("b", { class: "ref", text: ref }), " " + module.name + (place ? " (" + place + ")" : "") + ": " + record.name + " ",
      h("span", { class: "soft", text: record.identifier === undefined ? "" : String(record.identifier) }));
    return list.map((edit, at) => {
      const layout = (record.layouts || []).find((one) => one.id === edit.layout);
      const when = layout && record.layouts.length > 1 ? layoutWords(layout, stock) : "";
      const work = edit.layout === undefined ? null : asfound.byhand.work(edit, record, alternatives);
      return h("section", { class: "record", "data-ref": ref, "data-step": "" }, at ? "" : head(),
        when ? h("p", { class: "when" }, h("i", { class: "box" }), h("b", { class: "ref", text: ref }), " " + gettext("only if {when}", { when }) + " ", h("span", { class: "soft", text: ngettext("({size} byte)", "({size} bytes)", edit.length, { size: edit.length }) })) : "",
        changes(record, edit),
        edit.layout === undefined ? names(record, edit, alternatives, row) : record.shown_as ? numberBoxes(record, edit, work, row) : boxes(edit, work, row));
    });
  }

  asfound.paper = Object.assign(asfound.paper || {}, { sections, ifWords });
}(window.asfound = window.asfound || {}));
