// What the gauge that types is on: where its next number lands. It is set by saying so, and the server keeps
// it; the buttons say the same.

import { byId } from "./dom.js";

export class Gauge {
  #at = null; // {next, where}

  // say enters a note.
  constructor(say) {
    byId("gauge-skip").addEventListener("click", () => say("gauge next"));
    byId("gauge-off").addEventListener("click", () => say("gauge off"));
  }

  // take is told where the next number lands; next is null for nowhere.
  take(at) {
    this.#at = at.next ? at : null;
  }

  // forget is for a line that comes anew: the server then tells what its bench has chosen.
  forget() {
    this.#at = null;
  }

  // draw shows it; what was known last is marked as that.
  draw(current) {
    byId("gauge").hidden = !this.#at;
    if (!this.#at) return;
    byId("gauge-tag").textContent = current ? "Gauge on" : "Gauge was on";
    const where = this.#at.where;
    byId("gauge-where").textContent = where.charAt(0).toUpperCase() + where.slice(1);
  }
}
