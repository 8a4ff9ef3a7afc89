/* Conditions in words, and how to find out what they name. Counterpart: asfound.car.words.

   Names are {lines, models, phases, markets, equipment, modules, records, settings, looks}: maps by id, by "line id",
   or by path. What has no entry is called by its id. */
(function (asfound) {
  "use strict";

  const { TRUE, FALSE, same, isLeaf, leaves, conjunction, pushNegation } = asfound.conditions;
  const MONTHS = ["January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
    "November", "December"];
  const FLIPPED = { ">=": "<", "<": ">=", "<=": ">", ">": "<=", "=": "!=" };
  const RANGE = {
    ">=": "{} or later", "<=": "{} or earlier", ">": "later than {}", "<": "earlier than {}", "=": "{}",
    "!=": "other than {}",
  };
  const ORDINALS = ["first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth",
    "eleventh", "twelfth", "thirteenth", "fourteenth", "fifteenth", "sixteenth", "seventeenth", "eighteenth",
    "nineteenth", "twentieth"];

  /** The names in use, from the world's data and modules as far as given. */
  function namesOf(world, modules) {
    const names = {
      lines: {}, models: {}, phases: {}, markets: {}, equipment: {}, modules: {}, records: {}, settings: {}, looks: {},
      places: {},
    };
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
        for (const place of fitted.places || []) { names.places[fitted.module + "@" + place.id] = place.name; }
      }
    }
    for (const one of world.modules || []) { names.modules[one.id] = one.name; }
    for (const one of modules || []) {
      names.modules[one.id] = one.name;
      for (const record of one.records) {
        names.records[one.id + "/" + record.id] = record.name;
        for (const setting of record.settings) {
          names.settings[one.id + "/" + record.id + "/" + setting.id] = setting.name;
        }
      }
    }
    return names;
  }

  /** "fifth", "21st". */
  function ordinal(n) {
    if (n >= 1 && n <= ORDINALS.length) { return ORDINALS[n - 1]; }
    const teen = n % 100 >= 11 && n % 100 <= 13;
    return n + (teen ? "th" : { 1: "st", 2: "nd", 3: "rd" }[n % 10] || "th");
  }

  function monthWords(month) {
    const [year, number] = month.split("-");
    return MONTHS[Number(number) - 1] + " " + year;
  }

  /** "a, b and c"; a comma before the link where parts have commas or the link inside. */
  function joinWords(words, link) {
    if (words.length < 2) { return words.join(""); }
    const comma = words.some((word) => word.includes(",") || word.includes(" " + link + " ")) ? "," : "";
    return words.slice(0, -1).join(", ") + comma + " " + link + " " + words[words.length - 1];
  }

  function lowerFirst(text) {
    const word = text.split(/\s+/)[0] || "";
    return word.slice(1) === word.slice(1).toLowerCase() ? text.slice(0, 1).toLowerCase() + text.slice(1) : text;
  }

  function softwareWords(range, negate) {
    const said = range.split(",").map((part) => {
      const [, operator, version] = /^([<>=]*)(.*)$/.exec(part);
      return RANGE[negate ? FLIPPED[operator] : operator].replace("{}", version);
    });
    return said.join(negate ? ", or else " : " but ");
  }

  function builtWords(first, last) {
    if (!first && !last) { return ""; }
    if (!last) { return "built in " + monthWords(first) + " or later"; }
    if (!first) { return "built in " + monthWords(last) + " or earlier"; }
    if (first === last) { return "built in " + monthWords(first); }
    return "built from " + monthWords(first) + " to " + monthWords(last);
  }

  const the = (module, names) => "the " + lowerFirst(names.modules[module] || module);
  const recordName = (path, names) =>
    "the record “" + (names.records[path] || path) + "” of " + the(path.split("/")[0], names);
  const settingName = (path, names) =>
    "“" + (names.settings[path] || path) + "” in " + the(path.split("/")[0], names);

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
        return "either " + joinWords(condition.of.map((one) => this.alternative(one)), "or");
      }
      return this.kind(condition);
    }

    kind(condition) {
      const parts = condition.k === "all" ? condition.of : [condition];
      const heads = parts.filter((part) => part.k === "vehicle").slice(0, 1);
      const gear = parts.filter((part) => !heads.includes(part) && this.gear(part) !== null);
      const rest = parts.filter((part) => !heads.includes(part) && !gear.includes(part));
      const has = gear.filter((part) => part.k === "equipped").map((part) => this.item(part));
      const lacks = gear.filter((part) => part.k === "not").map((part) => this.item(part.of));
      const withs = [];
      if (has.length) { withs.push("with " + joinWords(has, "and")); }
      if (lacks.length) { withs.push("without " + joinWords(lacks, "or")); }
      withs.push(...gear.filter((part) => part.k === "any").map((part) => this.gear(part)));
      let said = heads.length ? this.vehicle(heads[0]) : "a car";
      if (rest.length === 1 && rest[0].k === "not" && rest[0].of.k === "vehicle" && !heads.length && !gear.length) {
        return "a car that " + this.statement(rest[0]).replace(/^it /, "");
      }
      if (withs.length) { said += (said.includes(",") ? "," : "") + " " + joinWords(withs, "and"); }
      return said + (rest.length ? ", where " + this.statements(rest) : "");
    }

    statement(condition) {
      if (condition.k === "all") { return this.statements(condition.of); }
      if (condition.k === "any") {
        return condition.of.length ? "either " + joinWords(condition.of.map((one) => this.nested(one)), "or")
          : "no car will do";
      }
      if (condition.k === "not") {
        return isLeaf(condition.of) ? this.leaf(condition.of, true) : this.statement(condition.of);
      }
      return this.leaf(condition, false);
    }

    statements(of) {
      const plain = of.filter((part) => part.k !== "any").map((part) => this.statement(part));
      const either = of.filter((part) => part.k === "any").map((part) => this.statement(part));
      return (plain.length ? [joinWords(plain, "and")] : []).concat(either).join(", and ");
    }

    alternative(condition) {
      const said = this.kind(condition);
      const below = isLeaf(condition) || condition.k === "not" ? [] : condition.of;
      return below.some((part) => part.k === "any") ? "(" + said + ")" : said;
    }

    nested(condition) {
      if (condition.k !== "all") { return this.statement(condition); }
      const simple = condition.of.length === 2 && !condition.of.some((part) => part.k === "any");
      return simple ? "both " + this.statement(condition) : "(" + this.statement(condition) + ")";
    }

    gear(condition) {
      if (condition.k === "equipped") { return "with " + this.item(condition); }
      if (condition.k === "not") { return condition.of.k === "equipped" ? "without " + this.item(condition.of) : null; }
      if (condition.k !== "any" || !condition.of.length) { return null; }
      if (condition.of.every((part) => part.k === "equipped")) {
        return "with either " + joinWords(condition.of.map((part) => this.item(part)), "or");
      }
      if (condition.of.every((part) => part.k !== "any" && this.gear(part))) {
        return "either " + joinWords(condition.of.map((part) => this.gear(part)), "or");
      }
      return null;
    }

    item(leaf) { return this.names.equipment[leaf.item] || leaf.item; }

    vehicle(leaf) {
      const called = (kind) => joinWords(leaf[kind].map((id) => this.names[kind][leaf.line + " " + id] || id), "or");
      const models = called("models");
      const phases = called("phases");
      const markets = called("markets");
      const said = [models, phases, markets && "for the market " + markets, builtWords(leaf.first, leaf.last)]
        .filter(Boolean).join(", ");
      if (leaf.line === this.understood && said) { return models || phases ? said : "a car " + said; }
      const line = this.names.lines[leaf.line] || leaf.line;
      return models || !phases ? (line + " " + said).trim() : line + ", " + said;
    }

    leaf(leaf, negate) {
      const names = this.names;
      switch (leaf.k) {
        case "vehicle": {
          const keys = [leaf.models.length, leaf.phases.length, leaf.markets.length, leaf.first || leaf.last]
            .filter(Boolean).length;
          return (!negate ? "it is" : keys < 2 ? "it is not" : "it is anything but") + " " + this.vehicle(leaf);
        }
        case "equipped": return "it " + (negate ? "does not have" : "has") + " " + this.item(leaf);
        case "software": return the(leaf.module, names) + " has software " + softwareWords(leaf.range, negate);
        case "part":
          return the(leaf.module, names) + (negate ? " does not bear" : " bears") + " part number " +
            joinWords(leaf.is, "or");
        case "holds": {
          const hex = (value) => value.toString(16).toUpperCase().padStart(2, "0");
          return "byte " + leaf.byte + " (the " + ordinal(leaf.byte + 1) + " pair) of " +
            recordName(leaf.record, names) + (leaf.mask === 255 ? "" : " under the mask " + hex(leaf.mask)) +
            (negate ? " is not " : " is ") + hex(leaf.value);
        }
        default:
          return settingName(leaf.path, names) + " is " + (negate ? "not " : "") + "set to " +
            joinWords(leaf.is.map((value) => "“" + value + "”"), "or");
      }
    }
  }

  /** The condition in words that go on after "if:". Counterpart: say. */
  function say(condition, names) {
    const regular = pushNegation(condition, false);
    if (same(regular, TRUE)) { return "any car"; }
    if (same(regular, FALSE)) { return "no car"; }
    return new Speech(names).whole(regular);
  }

  /** The condition as a statement about "it", the car: "it has an awning". */
  function state(condition, names) {
    const regular = pushNegation(condition, false);
    return same(regular, TRUE) ? "it is any car" : new Speech(names).statement(regular);
  }

  /** Why a car does not fit, from what it cannot satisfy. Counterpart: why_not. */
  function whyNot(because, names) {
    const reasons = conjunction(because.map((one) => pushNegation(one, true)));
    return same(reasons, TRUE) ? "no such car was made" : new Speech(names).statement(reasons);
  }

  /** How to find out each fact the condition names, one sentence each. Counterpart: look. */
  function look(condition, names) {
    const out = [];
    const tell = (name, how) => { if (how) { out.push("How to tell " + name + ": " + lowerFirst(how).replace(/\.$/, "") + "."); } };
    for (const leaf of leaves(condition)) {
      if (leaf.k === "vehicle") {
        for (const kind of ["models", "phases", "markets"]) {
          for (const id of leaf[kind]) {
            tell(names[kind][leaf.line + " " + id] || id, names.looks[kind + " " + leaf.line + " " + id]);
          }
        }
        if (leaf.first || leaf.last) { out.push("The month of building stands in the car's papers."); }
      } else if (leaf.k === "equipped") {
        tell(names.equipment[leaf.item] || leaf.item, names.looks["equipment " + leaf.item]);
      } else if (leaf.k === "software") {
        out.push("Read the software version of " + the(leaf.module, names) + ".");
      } else if (leaf.k === "part") {
        out.push("Read the part number of " + the(leaf.module, names) + ", or look at its label.");
      } else if (leaf.k === "holds") {
        out.push("Read " + recordName(leaf.record, names) + ".");
      } else {
        out.push("Read what " + settingName(leaf.path, names) + " is set to.");
      }
    }
    return Array.from(new Set(out));
  }

  asfound.words = { namesOf, say, state, whyNot, look, joinWords, lowerFirst, ordinal, monthWords, the };
}(window.asfound = window.asfound || {}));
