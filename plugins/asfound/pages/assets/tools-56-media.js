/* Files to load: size and SHA-256 checked in the page, nothing sent anywhere, and what the card can hold. FAT32 and
   exFAT limits: Microsoft's FAT specification (2000) and exFAT specification (2019), from memory. */
(function (asfound) {
  "use strict";

  const { h, fill, field } = asfound.dom;
  const CHUNK = 1 << 20;
  const FAT32_MOST = 4294967295;

  /** Why a card's file system cannot hold such a file, in whole sentences. */
  function cardFaults(name, size, system) {
    const out = [];
    if (system === "FAT32" && size > FAT32_MOST) { out.push("FAT32 holds files of at most 4,294,967,295 bytes; this one has more."); }
    if (Array.from(name).length > 255) { out.push("The name is longer than 255 characters."); }
    const odd = /["*/:<>?\\|\u0000-\u001f]/.exec(name);
    if (odd) { out.push("The card cannot hold a name with the character " + JSON.stringify(odd[0]) + "."); }
    if (/[. ]$/.test(name)) { out.push("The card drops dots and spaces at the end of a name."); }
    return out;
  }

  /** SHA-256 of a file, piece by piece; `tell(share)` hears how far it is. Null when `stop()` says so. */
  async function hash(file, tell, stop) {
    const sum = new asfound.codes.Sha256();
    for (let at = 0; at < file.size; at += CHUNK) {
      sum.update(new Uint8Array(await file.slice(at, at + CHUNK).arrayBuffer()));
      tell(Math.min(1, (at + CHUNK) / file.size));
      if (stop()) { return null; }
    }
    return sum.hex();
  }

  /** A place to pick the downloaded file of a recipe. */
  function start(media) {
    const out = h("div", { role: "status" });
    let turn = 0;
    const input = h("input", { type: "file", change: async () => {
      const file = input.files[0];
      turn += 1;
      const mine = turn;
      if (!file) { fill(out); return; }
      const found = [];
      const put = (right, words) => found.push(h("li", { class: right ? "asf-good" : "asf-stop", text: words }));
      put(file.name === media.name, file.name === media.name ? "Its name is right." : "Its name is " + file.name + "; on the card it must be exactly " + media.name + ".");
      const size = BigInt(file.size) === BigInt(media.size);
      put(size, size ? "Its size is right: " + media.size + " bytes." : "It has " + file.size + " bytes instead of " + media.size + ": get it again from its origin.");
      for (const one of cardFaults(media.name, file.size, media.file_system)) { put(false, one); }
      let sum = null;
      if (size) {
        const bar = h("progress", { max: "1", value: 0 });
        fill(out, h("p", {}, "Checking every byte, in this page … ", bar));
        try {
          sum = await hash(file, (share) => { bar.value = share; }, () => mine !== turn);
        } catch (error) {
          put(false, "The file cannot be read. Pick it again.");
        }
        if (mine !== turn) { return; }
        if (sum) { put(sum === media.sha256, sum === media.sha256 ? "Its SHA-256 is right: it is the file the recipe means." : "Its SHA-256 is " + sum + ", not that of the recipe: do not load it."); }
      }
      const good = found.every((one) => one.className === "asf-good");
      fill(out, h("ul", { class: "asf-plain" }, found), h("p", { class: good ? "asf-good" : "asf-stop", text: good ? "Copy it to the card, formatted as " + media.file_system + ", and pick it once more from there: a card can fail too." : "Do not load this file." }));
    } });
    return h("section", { class: "asf-sheet__record", "aria-label": "The downloaded file" }, h("h3", { text: "The downloaded file" }),
      field("Pick the file you downloaded", input, "It is read in this page and sent nowhere. " + media.name + ", " + media.size + " bytes."), out);
  }

  asfound.media = { start, cardFaults };
}(window.asfound = window.asfound || {}));
