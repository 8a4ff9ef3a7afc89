/* What is kept in this browser and nowhere else: cars, their logs, notes of jobs under way. One entry of the browser's
   storage for each club, so that one button forgets all. */
(function (asfound) {
  "use strict";

  const { gettext } = asfound.speech;
  const EMPTY = () => ({ version: 1, cars: [], chosen: null, notes: {} });
  const listeners = [];
  let name = null;
  let kept = EMPTY();
  let writable = true;

  /** What the browser keeps for the club at this moment; throws where it keeps nothing for this page. */
  function stored() {
    const text = localStorage.getItem(name);
    const found = text ? JSON.parse(text) : null;
    return found && found.version === 1 && Array.isArray(found.cars) ? Object.assign(EMPTY(), found) : EMPTY();
  }

  /** Opens the storage for a club. */
  function open(club) {
    name = "asfound/" + club;
    try { kept = stored(); } catch (error) { writable = false; }
    window.addEventListener("storage", (event) => { if (event.key === name || event.key === null) { reread(); } });
    window.addEventListener("pageshow", (event) => { if (event.persisted) { reread(); } });
  }

  /** Takes over what other pages have kept, beside this one or while it lay in the browser's history: or it would write
      its own older state over theirs. What could not be kept stays as it is here. */
  function reread() {
    if (!writable) { return; }
    try {
      const found = stored();
      if (JSON.stringify(found) === JSON.stringify(kept)) { return; }
      kept = found;
    } catch (error) { return; }
    tell();
  }

  function save() {
    try {
      if (kept.cars.length || Object.keys(kept.notes).length) {
        localStorage.setItem(name, JSON.stringify(kept));
      } else {
        localStorage.removeItem(name);
      }
      writable = true;
    } catch (error) {
      writable = false;
    }
  }

  function tell() { for (const one of listeners) { one(); } }

  function changed() {
    save();
    tell();
  }

  /** The chosen car {id, car, log, notes}, or null. */
  function chosen() { return kept.cars.find((one) => one.id === kept.chosen) || null; }

  /** What is known of the chosen car, with the keys of a car file; {} without one. */
  function known() {
    const one = chosen();
    if (!one) { return {}; }
    const out = Object.assign({}, one.car);
    for (const key of ["asfound", "version", "name"]) { delete out[key]; }
    return out;
  }

  /** Adds a car and chooses it. */
  function add(car, log) {
    const id = String(1 + Math.max(0, ...kept.cars.map((one) => Number(one.id))));
    kept.cars.push({ id, car: Object.assign({ asfound: "car", version: 1 }, car), log: log || null, notes: kept.cars.length ? {} : kept.notes });
    kept.notes = {};
    kept.chosen = id;
    changed();
    return chosen();
  }

  function choose(id) { kept.chosen = id; changed(); }

  function remove(id) {
    kept.cars = kept.cars.filter((one) => one.id !== id);
    if (kept.chosen === id) { kept.chosen = kept.cars.length ? kept.cars[0].id : null; }
    changed();
  }

  /** Puts entries into the chosen car's log, none that is its last word already; a car is made when there is none. */
  function log(entries) {
    const one = chosen() || add({ name: gettext("My car") });
    if (!one.log) { one.log = { asfound: "log", version: 1, entries: [] }; }
    one.log.entries.push(...asfound.logs.fresh(one.log, entries));
    changed();
  }

  /** The chosen car's log as a file holds it. */
  function logFile() {
    const one = chosen();
    if (!one || !one.log) { return null; }
    return { asfound: "log", version: 1, car: one.car, entries: one.log.entries };
  }

  /** Notes of a job under way, by the recipes in it; they belong to the chosen car. */
  function notes(job, value) {
    const one = chosen();
    const all = one ? one.notes || (one.notes = {}) : kept.notes;
    if (value === undefined) { return all[job] || null; }
    if (value === null) { delete all[job]; } else { all[job] = value; }
    save();
    return value;
  }

  function forget() {
    kept = EMPTY();
    try { localStorage.removeItem(name); } catch (error) { writable = false; }
    tell();
  }

  /** Every entry of this browser's storage that this site can see, in words. */
  function listed() {
    const out = [];
    try {
      for (let i = 0; i < localStorage.length; i += 1) {
        const key = localStorage.key(i);
        const size = (localStorage.getItem(key) || "").length;
        out.push([key, size, key === name ? gettext("Your cars, their logs and the notes of jobs under way.") : gettext("Kept by the theme of this site, such as light or dark.")]);
      }
    } catch (error) {
      writable = false;
    }
    return out;
  }

  asfound.store = {
    open, save, changed, chosen, known, add, choose, remove, log, logFile, notes, forget, listed,
    cars: () => kept.cars, works: () => writable, listen: (work) => listeners.push(work), name: () => name,
  };
}(window.asfound = window.asfound || {}));
