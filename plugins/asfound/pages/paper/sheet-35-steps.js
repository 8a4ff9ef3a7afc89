/* One step at a time, for a phone on the dashboard: large type, the screen kept awake where the browser allows. Nothing
   is loaded for it, so it works without any network. Ticks are kept until the page is left. */
(function (asfound) {
  "use strict";

  const { h, button } = asfound.dom;
  const { gettext } = asfound.speech;

  /** Keeps the screen awake while it may; browsers give the lock back whenever the page is hidden. */
  class Awake {
    constructor() { this.wanted = false; document.addEventListener("visibilitychange", () => this.hold()); }

    async hold() {
      if (!this.wanted || document.visibilityState !== "visible" || !("wakeLock" in navigator)) { return; }
      try { this.lock = await navigator.wakeLock.request("screen"); } catch (error) { /* low battery, or not allowed */ }
      if (!this.wanted) { this.free(); }  /* it was granted too late */
    }

    free() {
      if (this.lock) { this.lock.release(); this.lock = null; }
    }

    set(on) {
      this.wanted = on;
      if (on) { this.hold(); } else { this.free(); }
    }
  }

  /** The button that begins; `sheet` is the whole sheet, whose parts marked as steps are shown one by one. */
  function start(sheet) {
    const steps = Array.from(sheet.querySelectorAll("[data-step]")).filter((one) => !one.parentElement.closest("[data-step]"));
    const awake = new Awake();
    const count = h("p", { class: "stepper__count", role: "status" });
    const back = button(gettext("Back"), () => go(at - 1));
    const next = button(gettext("Done, next"), () => go(at + 1));
    const refusals = steps.findIndex((one) => one.classList.contains("refusals"));
    let from = null;
    const help = button(gettext("It refuses or is silent"), () => {
      const to = from === null ? refusals : from;
      from = from === null ? at : null;
      go(to);
    });
    help.hidden = refusals < 0;
    const frame = h("div", { class: "stepper", hidden: true }, count, h("div", { class: "stepper__do" }, back, next),
      h("div", { class: "stepper__more" }, help, button(gettext("The whole sheet"), () => leave())));
    let at = 0;

    /** What the step belongs to: the heading of its section, which is outside of it. */
    const heading = (one) => {
      const section = one.closest("section:not([data-step])");
      const found = section && section.querySelector(":scope > h2");
      return found ? found.firstChild.textContent.trim() : "";
    };

    /** The records that a step reads or writes. */
    const recordsOf = (one) => one.dataset.ref ? sheet.querySelectorAll('.record[data-ref="' + one.dataset.ref + '"]') : [];

    function go(to) {
      at = Math.max(0, Math.min(steps.length - 1, to));
      if (at !== refusals) { from = null; }
      help.textContent = from === null ? gettext("It refuses or is silent") : gettext("Back to the step");
      for (const one of sheet.querySelectorAll(".holds, .now")) { one.classList.remove("holds", "now"); }
      for (const shown of [steps[at], ...recordsOf(steps[at])]) {
        shown.classList.add("now");
        for (let one = shown.parentElement; one && one !== sheet.parentElement; one = one.parentElement) { one.classList.add("holds"); }
      }
      count.textContent = gettext("{n} of {m}", { n: at + 1, m: steps.length }) + (heading(steps[at]) ? " · " + heading(steps[at]) : "");
      const pressed = document.activeElement;
      back.disabled = at === 0;
      next.disabled = at === steps.length - 1;
      if (pressed.disabled) { (pressed === next ? back : next).focus(); }
      window.scrollTo(0, 0);
    }

    function enter() {
      document.body.classList.add("stepping");
      frame.hidden = false;
      awake.set(true);
      go(at);
      next.focus();
    }

    function leave() {
      document.body.classList.remove("stepping");
      frame.hidden = true;
      awake.set(false);
      steps[at].scrollIntoView();
      opener.focus({ preventScroll: true });
    }

    for (const box of sheet.querySelectorAll(".box")) {
      box.setAttribute("role", "checkbox");
      box.setAttribute("tabindex", "0");
      box.setAttribute("aria-checked", "false");
      box.setAttribute("aria-label", gettext("done"));
      const turn = () => box.setAttribute("aria-checked", String(box.getAttribute("aria-checked") !== "true"));
      box.addEventListener("click", turn);
      box.addEventListener("keydown", (event) => { if (event.key === " " || event.key === "Enter") { event.preventDefault(); turn(); } });
    }
    document.addEventListener("keydown", (event) => {
      if (frame.hidden || event.altKey || event.ctrlKey || event.metaKey || event.target.getAttribute("role") === "checkbox") { return; }
      if (event.key === "ArrowRight") { go(at + 1); } else if (event.key === "ArrowLeft") { go(at - 1); } else if (event.key === "Escape") { leave(); }
    });
    sheet.before(frame);
    const opener = button(gettext("One step at a time"), enter);
    return opener;
  }

  asfound.stepper = { start };
}(window.asfound = window.asfound || {}));
