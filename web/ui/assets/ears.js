// Whether the server hears spoken notes, and by what. Where it does not, the sheet says so once, and
// is one for typing; it is said as well where sound goes to another net, or a service failed.

import { byId } from "./dom.js";
import { ask } from "./fetch.js";

const heardBefore = "readback.hears";
const toldBefore = "readback.deaf";
const patience = 15_000; // ms

export class Ears {
  hear = get(heardBefore) === "yes"; // as it was when it could be asked last
  lead = ""; // what a note of an open microphone begins with
  by = ""; // what hears, in words
  again = false; // a remark can be heard once more by another engine
  #why = ""; // what there is to say, as a sentence
  #looked = 0;

  constructor() {
    byId("deaf-seen").addEventListener("click", () => this.seen());
    this.#draw();
  }

  // look asks the server; where that cannot be reached, all stays as it was.
  async look() {
    try {
      const { engine, why, warning, again, lead_in: lead } = await ask("/api/hearing");
      this.hear = engine !== "none";
      this.lead = lead ?? "";
      this.again = again ?? false;
      this.by = [`Heard by: ${engine}.`, warning].filter(Boolean).join(" ");
      this.#why = this.hear ? warning || (why && `${why.charAt(0).toUpperCase()}${why.slice(1)}.`) : `Nobody is heard here: ${why}. Type your notes.`;
      this.#looked = Date.now();
      set(heardBefore, this.hear ? "yes" : "no");
    } catch {
      // it is asked again when the line is back
    }
    this.#draw();
  }

  // stale holds where it was asked some time ago: a service may have gone meanwhile, or come back.
  get stale() {
    return Date.now() - this.#looked > patience;
  }

  // seen takes the word away that nobody is heard.
  seen() {
    if (byId("deaf").hidden) return;
    set(toldBefore, this.#why);
    this.#why = "";
    this.#draw();
  }

  #draw() {
    byId("talk").hidden = !this.hear;
    byId("deaf").hidden = !this.#why || get(toldBefore) === this.#why;
    byId("deaf-why").textContent = this.#why;
  }
}

function get(name) {
  try {
    return localStorage.getItem(name);
  } catch {
    return null;
  }
}

function set(name, value) {
  try {
    localStorage.setItem(name, value);
  } catch {
    // it holds until the page is left
  }
}
