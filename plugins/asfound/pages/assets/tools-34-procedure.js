/* The rules of a job as a state machine, for jobs merged in the page. Counterpart: asfound.work.procedure; each recipe's
   own job has passed it already, so only what merging can break is looked for here. */
(function (asfound) {
  "use strict";

  const { gettext } = asfound.speech;
  const POWER = { "key-off": gettext("the key off"), "key-on": gettext("the key on"), "engine-running": gettext("the engine running") };
  const MOMENT = gettext("Make these recipes jobs of their own.");

  /** [{message, repair, by}] for operations in order; [] when the job may be carried out. */
  function violations(operations) {
    const found = [];
    const wrong = (one, message) => {
      const by = one.by || one.of;
      if (!found.some((other) => other.by === by && other.message === message)) {
        found.push({ message, repair: MOMENT, by });
      }
    };
    const lastRestart = {};
    operations.forEach((one, at) => { if (one.do === "restart") { lastRestart[one.module] = at; } });
    let power = null;
    let open = null;
    let unlocked = false;
    let wrote = false;
    let cut = false;
    let begun = false;
    let loading = null;
    let unread = [];
    const written = new Set();
    const restarted = new Set();
    const busy = (at, unit) => {
      const later = operations.slice(at + 1).find((o) => o.module === unit && (o.do === "write" || o.do === "open"));
      return Boolean(later && later.do === "write") || unread.some((path) => path.startsWith(unit + "/"));
    };
    const proven = (one, at, what) => {
      if (operations.slice(at).some((o) => o.do === "write") || unread.length || open !== null) {
        wrong(one, what);
      }
    };
    operations.forEach((one, at) => {
      if (one.do !== "key" && one.power && one.power !== power) { wrong(one, gettext("This needs {power}.", { power: POWER[one.power] })); }
      switch (one.do) {
        case "key":
          if (loading !== null) { wrong(one, gettext("The key is turned before the loaded version was read.")); }
          if (open !== null && one.power !== "key-on") {
            if (busy(at, open)) {
              if (!cut) { wrong(one, gettext("This turns the key while {open} is open: the module would forget it.", { open })); }
              cut = true;
            } else {
              if (!(lastRestart[open] >= at)) { wrong(one, gettext("{open} is still open.", { open })); }
              open = null;
              unlocked = false;
            }
          }
          power = one.power;
          break;
        case "open":
          if (open !== null) { wrong(one, gettext("{open} is still open.", { open })); }
          if (loading !== null) { wrong(one, gettext("The loaded version has not been read yet.")); }
          open = one.module;
          unlocked = false;
          wrote = false;
          cut = false;
          break;
        case "unlock":
          if (open !== one.module) { wrong(one, gettext("{module} is unlocked although it is not open.", { module: one.module })); }
          unlocked = true;
          break;
        case "write":
          if (open !== one.module) { wrong(one, gettext("{module} is written although it is not open.", { module: one.module })); }
          else if (one.access && !unlocked) { wrong(one, gettext("{module} must be unlocked before this record is written.", { module: one.module })); }
          if (written.has(one.record)) { wrong(one, gettext("{record} is written twice.", { record: one.record })); }
          written.add(one.record);
          unread.push(one.record);
          restarted.delete(one.module);
          wrote = true;
          begun = true;
          break;
        case "read-back": unread = unread.filter((path) => path !== one.record); break;
        case "load-file": loading = one.module; begun = true; break;
        case "read-version": if (loading === one.module) { loading = null; } break;
        case "close":
          if (open !== one.module) { wrong(one, gettext("{module} is left although it is not open.", { module: one.module })); }
          open = null;
          unlocked = false;
          break;
        case "restart":
          if (open !== null && busy(at, open)) { wrong(one, gettext("A restart turns the key while {open} is open.", { open })); }
          if (loading !== null) { wrong(one, gettext("A restart turns the key before the loaded version was read.")); }
          restarted.add(one.module);
          open = null;
          unlocked = false;
          power = null;
          break;
        case "check": proven(one, at, gettext("A check comes too early.")); break;
        case "read-faults-last": proven(one, at, gettext("The faults are read for the last time too early.")); break;
        case "step":
          if (one.moment === "noted" && (begun || open !== null)) {
            wrong(one, gettext("This step belongs between the noting and the writing."));
          } else if (one.moment === "opened" && (open !== one.module || unlocked || wrote)) {
            wrong(one, gettext("This step belongs right after {module} is opened.", { module: one.module }));
          } else if (one.moment === "unlocked" && (open !== one.module || !unlocked || wrote)) {
            wrong(one, gettext("This step belongs right after {module} is unlocked.", { module: one.module }));
          } else if (one.moment === "written" && (busy(at, one.module) || restarted.has(one.module) || loading === one.module)) {
            wrong(one, gettext("This step belongs after {module} is written and read back.", { module: one.module }));
          } else if (one.moment === "restarted" && !restarted.has(one.module)) {
            wrong(one, gettext("This step belongs after {module} is restarted.", { module: one.module }));
          } else if (one.moment === "end") {
            proven(one, at, gettext("A step at the end comes too early."));
          }
          break;
        default:
      }
    });
    return found;
  }

  asfound.procedure = { violations };
}(window.asfound = window.asfound || {}));
