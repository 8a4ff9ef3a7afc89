/* Files to load: size and SHA-256 checked in the page, nothing sent anywhere, and what the card can hold. FAT32 and
   exFAT limits: Microsoft's FAT specification (2000) and exFAT specification (2019), from memory. */
(function (asfound) {
  "use strict";

  const { gettext } = asfound.speech;
  const { h, fill, field } = asfound.dom;
  const CHUNK = 1 << 20;
  const FAT32_MOST = 4294967295;

  /** Why a card's file system cannot hold such a file, in whole sentences. */
  function cardFaults(name, size, system) {
    const out = [];
    if (system === "FAT32" && size > FAT32_MOST) { out.push(gettext("FAT32 holds files of at most 4,294,967,295 bytes; this one has more.")); }
    if (Array.from(name).length > 255) { out.push(gettext("The name is longer than 255 characters.")); }
    const odd = /["*/:<>?\\|\u0000-\u001f]/.exec(name);
    if (odd) { out.push(gettext("The card cannot hold a name with the character {stringify}.", { stringify: JSON.stringify(odd[0]) })); }
    if (/[. ]$/.test(name)) { out.push(gettext("The card drops dots and spaces at the end of a name.")); }
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
      put(file.name === media.name, file.name === media.name ? gettext("Its name is right.") : gettext("Its name is {file}; on the card it must be exactly {media}.", { file: file.name, media: media.name }));
      const size = BigInt(file.size) === BigInt(media.size);
      put(size, size ? gettext("Its size is right: {size} bytes.", { size: media.size }) : gettext("It has {size} bytes instead of {size2}: get it again from its origin.", { size: file.size, size2: media.size }));
      for (const one of cardFaults(media.name, file.size, media.file_system)) { put(false, one); }
      let sum = null;
      if (size) {
        const bar = h("progress", { max: "1", value: 0 });
        fill(out, h("p", {}, h("label", {}, gettext("Checking every byte, in this page … "), bar)));
        try {
          sum = await hash(file, (share) => { bar.value = share; }, () => mine !== turn);
        } catch (error) {
          put(false, gettext("The file cannot be read. Pick it again."));
        }
        if (mine !== turn) { return; }
        if (sum) { put(sum === media.sha256, sum === media.sha256 ? gettext("Its SHA-256 is right: it is the file the recipe means.") : gettext("Its SHA-256 is {sum}, not that of the recipe: do not load it.", { sum })); }
      }
      const good = found.every((one) => one.className === "asf-good");
      fill(out, h("ul", { class: "asf-plain" }, found), h("p", { class: good ? "asf-good" : "asf-stop", text: good ? gettext("Copy it to the card, formatted as {file_system}, and pick it once more from there: a card can fail too.", { file_system: media.file_system }) : gettext("Do not load this file.") }));
    } });
    return h("section", { class: "asf-sheet__record", "aria-label": gettext("The downloaded file") }, h("h3", { text: gettext("The downloaded file") }),
      field(gettext("Pick the file you downloaded"), input, gettext("It is read in this page and sent nowhere. {media}, {size} bytes.", { media: media.name, size: media.size })), out);
  }

  asfound.media = { start, cardFaults };
}(window.asfound = window.asfound || {}));
