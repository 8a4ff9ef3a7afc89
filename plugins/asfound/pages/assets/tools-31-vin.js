/* VINs: structure, check digit, model years, and what a vehicle line says of them. Counterparts: asfound.car.vin,
   asfound.car.vin_reading. A warning, never a refusal. */
(function (asfound) {
  "use strict";

  const { gettext } = asfound.speech;
  const LETTERS = "0123456789ABCDEFGHJKLMNPRSTUVWXYZ";
  const WEIGHTS = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2];
  const STAND_FOR = { P: 7, R: 9 };  /* 49 CFR 565.15(c), Table III */
  "ABCDEFGH".split("").forEach((letter, i) => { STAND_FOR[letter] = i + 1; });
  "JKLMN".split("").forEach((letter, i) => { STAND_FOR[letter] = i + 1; });
  "STUVWXYZ".split("").forEach((letter, i) => { STAND_FOR[letter] = i + 2; });
  const YEARS = "ABCDEFGHJKLMNPRSTVWXY123456789";

  /** In capitals, without spaces and hyphens. */
  function normal(typed) {
    return typed.replace(/[ \-\t\r\n]/g, "").replace(/[a-z]/g, (one) => one.toUpperCase());
  }

  /** What is wrong with the structure (ISO 3779), in whole sentences. */
  function faults(vin) {
    const out = [];
    const signs = Array.from(vin);
    if (signs.length !== 17) { out.push(gettext("A VIN has 17 characters, this one has {n}.", { n: signs.length })); }
    for (const [letter, instead] of [["I", "1"], ["O", "0"], ["Q", "0 " + gettext("or") + " 9"]]) {
      if (vin.includes(letter)) { out.push(gettext("A VIN has no letter {letter}; perhaps it is {instead}.", { letter, instead })); }
    }
    if (signs.some((one) => !LETTERS.includes(one) && !"IOQ".includes(one))) {
      out.push(gettext("A VIN has digits and capitals only."));
    }
    if (signs.length === 17 && !/^[0-9]{4}$/.test(signs.slice(-4).join(""))) {
      out.push(gettext("The last four characters of a VIN are digits."));
    }
    return out;
  }

  /** What position 9 must be. */
  function checkDigit(vin) {
    const sum = WEIGHTS.reduce((all, weight, i) =>
      all + weight * (/[0-9]/.test(vin[i]) ? Number(vin[i]) : STAND_FOR[vin[i]]), 0);
    return "0123456789X"[sum % 11];
  }

  /** The years a model-year code can stand for. */
  function modelYears(code) {
    const at = code.length === 1 ? YEARS.indexOf(code) : -1;
    return at < 0 ? [] : [1980 + at, 2010 + at];
  }

  /** The model year by position 7 (49 CFR 565.15(d)); null for no such code. */
  function modelYear(vin) {
    const years = modelYears(vin[9]);
    return years.length ? years[/[0-9]/.test(vin[6]) ? 0 : 1] : null;
  }

  function yearMonths(year, starts) {
    const pad = (n) => String(n).padStart(2, "0");
    return starts === 1 ? [year + "-01", year + "-12"] : [year - 1 + "-" + pad(starts), year + "-" + pad(starts - 1)];
  }

  function meet(one, other) {
    return !(one[1] !== null && other[0] !== null && one[1] < other[0] ||
      other[1] !== null && one[0] !== null && other[1] < one[0]);
  }

  /** What a VIN says: {line, models, phases, markets, first, last, equipment, warnings}. Counterpart: read_vin. */
  function read(typed, here) {
    const vin = normal(typed);
    const warnings = faults(vin);
    let line = null;
    let longest = -1;
    for (const one of here.lines) {
      for (const begin of one.vin ? one.vin.begins : []) {
        if (vin.startsWith(begin) && begin.length > longest) { line = one; longest = begin.length; }
      }
    }
    if (!line) {
      return { warnings: warnings.concat(gettext("No vehicle line here says how VINs like this one are made.")) };
    }
    if (!warnings.length && line.vin.check_digit && vin[8] !== checkDigit(vin)) {
      warnings.push(gettext("The check digit in position 9 is {vin} but should be {checkDigit}: perhaps mistyped.", { vin: vin[8], checkDigit: checkDigit(vin) }));
    }
    const told = { line: line.id, first: null, last: null, equipment: {}, warnings };
    const months = ([first, last]) => {
      const begin = [told.first, first].filter(Boolean).sort().pop() || null;
      const end = [told.last, last].filter(Boolean).sort()[0] || null;
      if (begin && end && begin > end) {
        warnings.push(gettext("What the VIN says of the month contradicts itself."));
      } else {
        told.first = begin;
        told.last = end;
      }
    };
    const say = (says) => {
      for (const kind of ["models", "phases", "markets"]) {
        if (says[kind]) { told[kind] = told[kind] ? told[kind].filter((id) => says[kind].includes(id)) : says[kind].slice(); }
      }
      months(asfound.completions.ends(says.built));
      for (const item of says.equipment || []) { told.equipment[item] = true; }
      for (const item of says.without || []) { told.equipment[item] = false; }
    };
    for (const group of line.vin.positions || []) {
      const code = vin.slice(group.at[0] - 1, group.at[1]);
      const found = group.codes.find((one) => one.code === code);
      if (found) {
        say(found);
      } else if (code.length === group.at[1] - group.at[0] + 1) {
        warnings.push(gettext("{code} from position {at} on is no code known here.", { code, at: group.at[0] }));
      }
    }
    for (const serial of line.vin.serials || []) {
      const digits = vin.slice(serial.at[0] - 1, serial.at[1]);
      const fits = (serial.where || []).every((one) => vin[one.at - 1] === one.is);
      if (fits && digits.length === serial.from.length && /^[0-9]+$/.test(digits) && serial.from <= digits &&
        digits <= serial.to) {
        say(serial);
      }
    }
    readYear(vin, line, months, warnings);
    if (told.first !== null || told.last !== null) {
      const meeting = line.phases.filter((one) => meet([told.first, told.last], asfound.completions.ends(one.built)))
        .map((one) => one.id);
      if (meeting.length < line.phases.length) {
        told.phases = told.phases ? told.phases.filter((id) => meeting.includes(id)) : meeting;
      }
    }
    if (!asfound.fitting.possible(known(told), here)) {
      warnings.push(gettext("No such car was made: the VIN, or what is known here of VINs, is wrong."));
      return { line: line.id, first: null, last: null, equipment: {}, warnings };
    }
    return told;
  }

  function readYear(vin, line, months, warnings) {
    const rule = line.vin.model_year;
    const code = rule ? vin.slice(rule.at - 1, rule.at) : "";
    if (!code) { return; }
    const made = modelYears(code).map((year) => yearMonths(year, rule.starts))
      .filter((one) => line.phases.some((phase) => meet(one, asfound.completions.ends(phase.built))));
    if (made.length === 1) {
      months(made[0]);
    } else if (!made.length) {
      warnings.push(gettext("The model year {code} in position {at} is not one of this line.", { code, at: rule.at }));
    }
  }

  /** What is then known of the car, with the keys of a car file; its month only where just one is left. */
  function known(told) {
    const out = {};
    if (told.line) { out.lines = [told.line]; }
    for (const kind of ["models", "phases", "markets"]) { if (told[kind]) { out[kind] = told[kind]; } }
    if (told.first && told.first === told.last) { out.built = told.first; }
    if (Object.keys(told.equipment || {}).length) { out.equipment = told.equipment; }
    return out;
  }

  asfound.vin = { normal, faults, checkDigit, modelYears, modelYear, read, known };
}(window.asfound = window.asfound || {}));
