/* Conditions in words, and how to find out what they name. Counterpart: asfound.car.words.

   Names are {lines, models, phases, markets, equipment, modules, records, settings, looks}: maps by id, by "line id",
   or by path. What has no entry is called by its id. */
(function (asfound) {
  "use strict";

  const { gettext } = asfound.speech;
  const { TRUE, FALSE, same, isLeaf, leaves, conjunction, pushNegation } = asfound.conditions;
  const MONTHS = [gettext("January"), gettext("February"), gettext("March"), gettext("April"), gettext("May"), gettext("June"), gettext("July"), gettext("August"), gettext("September"), gettext("October"),
    gettext("November"), gettext("December")];
  const LINKS = { and: gettext("and"), or: gettext("or") };
  const FLIPPED = { ">=": "<", "<": ">=", "<=": ">", ">": "<=", "=": "!=" };
  const RANGE = {
    ">=": gettext("{version} or later"), "<=": gettext("{version} or earlier"), ">": gettext("later than {version}"),
    "<": gettext("earlier than {version}"), "=": "{version}",
    "!=": gettext("other than {version}"),
  };
  const ORDINALS = [gettext("first"), gettext("second"), gettext("third"), gettext("fourth"), gettext("fifth"), gettext("sixth"), gettext("seventh"), gettext("eighth"), gettext("ninth"), gettext("tenth"),
    gettext("eleventh"), gettext("twelfth"), gettext("thirteenth"), gettext("fourteenth"), gettext("fifteenth"), gettext("sixteenth"), gettext("seventeenth"), gettext("eighteenth"),
    gettext("nineteenth"), gettext("twentieth")];

  /** The names in use, from the world's data and modules as far as given. */
  function namesOf(world, modules) {
    const names = {
      lines: {}, models: {}, phases: {}, markets: {}, equipment: {}, modules: {}, records: {}, settings: {}, looks: {},
      places: {}, values: {},
    };
    const placed = {};
    for (const line of world.lines) {
      names.lines[line.id] = line.name;
      for (const kind of ["models", "phases", "markets"]) {
        for (const one of line[kind] || []) {
          names[kind][line.id + " " + one.id] = one.name;
          names.looks[kind + " " + line.id + " " + one.id] = one.look;
        }
      }
      for (const one of line.equipment || []) {
        if (names.equipment[one.id] === undefined) {
          names.equipment[one.id] = one.name;
          names.looks["equipment " + one.id] = one.look;
        }
      }
      for (const fitted of line.fitted || []) {
        for (const place of fitted.places || []) {
          const at = fitted.module + "@" + place.id;
          (placed[at] = placed[at] || new Set()).add(place.name);
        }
      }
    }
    for (const at of Object.keys(placed)) { names.places[at] = joinWords(Array.from(placed[at]), "or"); }
    for (const one of world.modules || []) { names.modules[one.id] = one.name; }
    for (const one of modules || []) {
      names.modules[one.id] = one.name;
      for (const record of one.records) {
        names.records[one.id + "/" + record.id] = record.name;
        for (const setting of record.settings) {
          const path = one.id + "/" + record.id + "/" + setting.id;
          names.settings[path] = setting.name;
          for (const [, means, shown] of setting.choices || []) { if (shown) { names.values[path + " " + means] = shown; } }
        }
      }
    }
    return names;
  }

  /** "fifth", "21st". */
  function ordinal(n) {
    if (n >= 1 && n <= ORDINALS.length) { return ORDINALS[n - 1]; }
    if (asfound.speech.tag !== "en") { return gettext("{n}th", { n }); }
    const teen = n % 100 >= 11 && n % 100 <= 13;
    return n + (teen ? "th" : { 1: "st", 2: "nd", 3: "rd" }[n % 10] || "th");
  }

  /** "25 min", "1 h 5 min". Counterpart: asfound.car.phrases.minutes_words. */
  function minutesWords(all) {
    const hours = Math.floor(all / 60);
    const minutes = all % 60;
    if (!hours) { return gettext("{minutes} min", { minutes }); }
    return minutes ? gettext("{hours} h {minutes} min", { hours, minutes }) : gettext("{hours} h", { hours });
  }

  function monthWords(month) {
    const [year, number] = month.split("-");
    return gettext("{month} {year}", { month: MONTHS[Number(number) - 1], year });
  }

  /** "a, b and c"; a comma before the link where parts have commas or the link inside. */
  function joinWords(words, link) {
    const said = " " + LINKS[link] + " ";
    return listWords(words, link, words.some((word) => word.includes(",") || word.includes(said)) ? "," : "");
  }

  /** "a, b and c"; `comma` stands before the link. */
  function listWords(words, link, comma) {
    if (words.length < 2) { return words.join(""); }
    return words.slice(0, -1).join(", ") + comma + " " + LINKS[link] + " " + words[words.length - 1];
  }

  /* Whether the words themselves are a list, so that one around them needs more than a comma. */
  function listed(words) {
    return words.includes(",") || Object.keys(LINKS).some((link) => words.includes(" " + LINKS[link] + " "));
  }

  /* What an alternative's mark adds to that which it is part of: letters and numbers in turn. */
  function markOf(number, inside) {
    if (/[a-z]$/.test(inside)) { return String(number + 1); }
    const letter = String.fromCharCode(97 + number % 26);
    return number < 26 ? letter : markOf(Math.floor(number / 26) - 1, inside) + letter;
  }

  function lowerFirst(text) {
    const word = text.split(/\s+/)[0] || "";
    return word.slice(1) === word.slice(1).toLowerCase() ? text.slice(0, 1).toLowerCase() + text.slice(1) : text;
  }

  /** With a capital at its beginning. Counterpart: pages.words.capital. */
  function capital(text) { return text.slice(0, 1).toUpperCase() + text.slice(1); }

  /** With a capital at its beginning and a full stop at its end, unless a quotation has one. Counterpart: pages.words.sentence. */
  function sentence(text) {
    const said = text.trim();
    return capital(!said || /[.!?…]["”]*$/.test(said) ? said : said + ".");
  }

  const UNITS = ["V", "mV", "A", "mA", "Ah", "W", "kW", "Ω", "kΩ", "Hz", "kHz", "°C", "K", "%",
    "s", "ms", "min", "h", "u", "d", "m", "mm", "cm", "km", "km/h", "m/s", "1/min", "bar", "kPa", "Pa", "N", "Nm", "g", "kg", "L", "l", "B", "kB", "MB", "GB"];
  const TORN = new RegExp("(\\d) (?=(?:" + UNITS.join("|") + ")(?![\\p{L}\\d_/]))", "gu");

  /** Below this element no number is parted from its unit at the end of a line. Counterpart: pages.words.unbroken. */
  function unbroken(room) {
    const walk = document.createTreeWalker(room, NodeFilter.SHOW_TEXT);
    while (walk.nextNode()) {
      const { data } = walk.currentNode;
      const whole = data.replace(TORN, "$1\u00a0");
      if (whole !== data) { walk.currentNode.data = whole; }
    }
    return room;
  }

  function softwareWords(range, negate) {
    const said = range.split(",").map((part) => {
      const [, operator, version] = /^([<>=]*)(.*)$/.exec(part);
      return RANGE[negate ? FLIPPED[operator] : operator].replace("{version}", version);
    });
    return said.join(negate ? gettext(", or else ") : gettext(" but "));
  }

  function builtWords(first, last) {
    if (!first && !last) { return ""; }
    if (!last) { return gettext("built in {month} or later", { month: monthWords(first) }); }
    if (!first) { return gettext("built in {month} or earlier", { month: monthWords(last) }); }
    if (first === last) { return gettext("built in {month}", { month: monthWords(first) }); }
    return gettext("built from {first} to {last}", { first: monthWords(first), last: monthWords(last) });
  }

  const the = (module, names) => gettext("the {module}", { module: lowerFirst(names.modules[module] || module) });
  /** Where a module fitted more than once is: "left step"; empty for a unit that is no such place. */
  function placeName(unit, names) {
    const place = unit.split("@")[1];
    return place ? names.places[unit] || place : "";
  }

  /** What is of a unit, with the unit's place where it has one: "Wait time (left step)". */
  function inPlace(said, unit, names) {
    const place = placeName(unit, names);
    return place ? said + " (" + place + ")" : said;
  }

  /** A module with its place, where it has one: "Step controller (left step)". Counterparts: in_place, Book.unit. */
  function unitName(unit, names) {
    const module = unit.split("@")[0];
    return inPlace(names.modules[module] || module, unit, names);
  }

  const recordName = (path, names) =>
    gettext("the record “{record}” of {module}", { record: names.records[path] || path, module: the(path.split("/")[0], names) });
  const settingName = (path, names) =>
    gettext("“{setting}” in {module}", { setting: names.settings[path] || path, module: the(path.split("/")[0], names) });

  class Speech {
    constructor(names, understood) {
      this.names = names;
      const lines = Object.keys(names.lines);
      this.understood = understood || (lines.length === 1 ? lines[0] : null);
    }

    whole(condition) {
      if (!leaves(condition).some((leaf) => leaf.k === "vehicle" || leaf.k === "equipped")) {
        return this.statement(condition);
      }
      if (condition.k === "any" && this.gear(condition) === null) {
        return this.either(condition.of, (one, mark) => this.kind(one, mark), "");
      }
      return this.kind(condition);
    }

    kind(condition, mark = "") {
      const parts = condition.k === "all" ? condition.of : [condition];
      const heads = parts.filter((part) => part.k === "vehicle").slice(0, 1);
      const gear = parts.filter((part) => !heads.includes(part) && this.gear(part) !== null);
      const rest = parts.filter((part) => !heads.includes(part) && !gear.includes(part));
      const has = gear.filter((part) => part.k === "equipped").map((part) => this.item(part));
      const lacks = gear.filter((part) => part.k === "not").map((part) => this.item(part.of));
      const withs = [];
      if (has.length) { withs.push(gettext("with {items}", { items: joinWords(has, "and") })); }
      if (lacks.length) { withs.push(gettext("without {items}", { items: joinWords(lacks, "or") })); }
      withs.push(...gear.filter((part) => part.k === "any").map((part) => this.gear(part)));
      let said = heads.length ? this.vehicle(heads[0]) : gettext("a car");
      if (rest.length === 1 && rest[0].k === "not" && rest[0].of.k === "vehicle" && !heads.length && !gear.length) {
        const other = rest[0].of;
        const car = this.vehicle(other);
        return this.keys(other) < 2 ? gettext("a car that is not {car}", { car })
          : gettext("a car that is anything but {car}", { car });
      }
      if (withs.length) { said += (said.includes(",") ? "," : "") + " " + joinWords(withs, "and"); }
      return rest.length ? gettext("{car}, where {statements}", { car: said, statements: this.statements(rest, mark) }) : said;
    }

    statement(condition, mark = "") {
      if (condition.k === "all") { return this.statements(condition.of, mark); }
      if (condition.k === "any") {
        return condition.of.length ? this.either(condition.of, (one, own) => this.statement(one, own), mark)
          : gettext("no car will do");
      }
      if (condition.k === "not") {
        return isLeaf(condition.of) ? this.leaf(condition.of, true) : this.statement(condition.of, mark);
      }
      return this.leaf(condition, false);
    }

    statements(of, mark) {
      const plain = of.filter((part) => part.k !== "any").map((part) => this.statement(part, mark));
      const either = of.filter((part) => part.k === "any").map((part) => this.statement(part, mark));
      return (plain.length ? [joinWords(plain, "and")] : []).concat(either).join(gettext(", and "));
    }

    /* Alternatives; inside an alternative always marked, else where one of them has a list of its own. */
    either(of, sayOne, mark) {
      const marks = of.map((_, n) => mark + markOf(n, mark));
      const said = of.map((one, n) => sayOne(one, marks[n]));
      if (!mark && !said.some(listed)) { return gettext("either {options}", { options: listWords(said, "or", "") }); }
      return gettext("either {options}", { options: listWords(said.map((words, n) => "(" + marks[n] + ") " + words), "or", ",") });
    }

    gear(condition) {
      if (condition.k === "equipped") { return gettext("with {items}", { items: this.item(condition) }); }
      if (condition.k === "not") { return condition.of.k === "equipped" ? gettext("without {items}", { items: this.item(condition.of) }) : null; }
      if (condition.k !== "any" || !condition.of.length) { return null; }
      if (condition.of.every((part) => part.k === "equipped")) {
        return gettext("with either {options}", { options: joinWords(condition.of.map((part) => this.item(part)), "or") });
      }
      if (condition.of.every((part) => part.k !== "any" && this.gear(part))) {
        return gettext("either {options}", { options: joinWords(condition.of.map((part) => this.gear(part)), "or") });
      }
      return null;
    }

    item(leaf) { return this.names.equipment[leaf.item] || leaf.item; }

    vehicle(leaf) {
      const called = (kind) => joinWords(leaf[kind].map((id) => this.names[kind][leaf.line + " " + id] || id), "or");
      const models = called("models");
      const phases = called("phases");
      const markets = called("markets");
      const said = [models, phases, markets && gettext("for the market {markets}", { markets }), builtWords(leaf.first, leaf.last)]
        .filter(Boolean).join(", ");
      if (leaf.line === this.understood && said) { return models || phases ? said : gettext("a car {said}", { said }); }
      const line = this.names.lines[leaf.line] || leaf.line;
      return models || !phases ? (line + " " + said).trim() : line + ", " + said;
    }

    leaf(leaf, negate) {
      const names = this.names;
      switch (leaf.k) {
        case "vehicle": {
          const car = this.vehicle(leaf);
          if (!negate) { return gettext("it is {car}", { car }); }
          return this.keys(leaf) < 2 ? gettext("it is not {car}", { car }) : gettext("it is anything but {car}", { car });
        }
        case "equipped": {
          const item = this.item(leaf);
          return negate ? gettext("it does not have {item}", { item }) : gettext("it has {item}", { item });
        }
        case "software":
          return gettext("{module} has software {versions}",
            { module: the(leaf.module, names), versions: softwareWords(leaf.range, negate) });
        case "part": {
          const said = { module: the(leaf.module, names), numbers: joinWords(leaf.is, "or") };
          return negate ? gettext("{module} does not bear part number {numbers}", said)
            : gettext("{module} bears part number {numbers}", said);
        }
        case "holds": {
          const hex = (value) => value.toString(16).toUpperCase().padStart(2, "0");
          const byte = gettext("byte {byte} (the {ordinal} pair)", { byte: leaf.byte, ordinal: ordinal(leaf.byte + 1) });
          let where = gettext("{byte} of {record}", { byte, record: recordName(leaf.record, names) });
          if (leaf.mask !== 255) { where = gettext("{where} under the mask {mask}", { where, mask: hex(leaf.mask) }); }
          return negate ? gettext("{where} is not {value}", { where, value: hex(leaf.value) })
            : gettext("{where} is {value}", { where, value: hex(leaf.value) });
        }
        default: {
          const values = joinWords(leaf.is.map((value) => "“" + (names.values && names.values[leaf.path + " " + value] || value) + "”"), "or");
          const said = { setting: settingName(leaf.path, names), values };
          return negate ? gettext("{setting} is not set to {values}", said) : gettext("{setting} is set to {values}", said);
        }
      }
    }

    keys(leaf) {
      return [leaf.models.length, leaf.phases.length, leaf.markets.length, leaf.first || leaf.last].filter(Boolean).length;
    }
  }

  /** The condition in words that go on after "if:". Counterpart: say. */
  function say(condition, names) {
    const regular = pushNegation(condition, false);
    if (same(regular, TRUE)) { return gettext("any car"); }
    if (same(regular, FALSE)) { return gettext("no car"); }
    return new Speech(names).whole(regular);
  }

  /** The condition as a statement about "it", the car: "it has an awning". */
  function state(condition, names) {
    const regular = pushNegation(condition, false);
    return same(regular, TRUE) ? gettext("it is any car") : new Speech(names).statement(regular);
  }

  /** Why a car does not fit, from what it cannot satisfy. Counterpart: why_not. */
  function whyNot(because, names) {
    const reasons = conjunction(because.map((one) => pushNegation(one, true)));
    return same(reasons, TRUE) ? gettext("no such car was made") : new Speech(names).statement(reasons);
  }

  /** How to find out each fact the condition names, one sentence each. Counterpart: look. */
  function look(condition, names) {
    const out = [];
    const tell = (name, how) => { if (how) { out.push(gettext("How to tell {name}: {how}.", { name, how: lowerFirst(how).replace(/\.+$/, "") })); } };
    for (const leaf of leaves(condition)) {
      if (leaf.k === "vehicle") {
        for (const kind of ["models", "phases", "markets"]) {
          for (const id of leaf[kind]) {
            tell(names[kind][leaf.line + " " + id] || id, names.looks[kind + " " + leaf.line + " " + id]);
          }
        }
        if (leaf.first || leaf.last) { out.push(gettext("The month of building stands in the car's papers.")); }
      } else if (leaf.k === "equipped") {
        tell(names.equipment[leaf.item] || leaf.item, names.looks["equipment " + leaf.item]);
      } else if (leaf.k === "software") {
        out.push(gettext("Read the software version of {module}.", { module: the(leaf.module, names) }));
      } else if (leaf.k === "part") {
        out.push(gettext("Read the part number of {module}, or look at its label.", { module: the(leaf.module, names) }));
      } else if (leaf.k === "holds") {
        out.push(gettext("Read {record}.", { record: recordName(leaf.record, names) }));
      } else {
        out.push(gettext("Read what {setting} is set to.", { setting: settingName(leaf.path, names) }));
      }
    }
    return Array.from(new Set(out));
  }

  asfound.words = { namesOf, say, state, whyNot, look, joinWords, lowerFirst, capital, sentence, UNITS, unbroken, ordinal, minutesWords, monthWords, the, placeName, inPlace, unitName };
}(window.asfound = window.asfound || {}));
