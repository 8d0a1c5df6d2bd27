// Whether the server hears spoken notes. Where it does not, the sheet says so once, and is one for
// typing.

import { byId } from "./dom.js";
import { ask } from "./fetch.js";

const heardBefore = "readback.hears";
const toldBefore = "readback.deaf";

export class Ears {
  hear = get(heardBefore) === "yes"; // as it was when it could be asked last
  #why = "";

  constructor() {
    byId("deaf-seen").addEventListener("click", () => this.seen());
    this.#draw();
  }

  // look asks the server; where that cannot be reached, all stays as it was.
  async look() {
    try {
      const { engine, why } = await ask("/api/hearing");
      this.hear = engine !== "none";
      this.#why = this.hear ? "" : why;
      set(heardBefore, this.hear ? "yes" : "no");
    } catch {
      // it is asked again when the line is back
    }
    this.#draw();
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
    byId("deaf-why").textContent = `Nobody is heard here: ${this.#why}. Type your notes.`;
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
