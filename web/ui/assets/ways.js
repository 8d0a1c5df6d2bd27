// The form for how to talk: the way, the key, and the check of the microphone. The browser keeps
// the choice.

import { byId, make } from "./dom.js";
import { Check } from "./levels.js";
import { has } from "./own.js";
import { keyOf, space } from "./press.js";
import { fill } from "./strip.js";

const kept = "readback.talk";

const told = {
  hold: "A note lasts as long as you hold the key, a pedal, or the button. The surest where it is loud or others talk.",
  tap: "One tap begins a note; silence ends it, or another tap. For when a hand is free for a moment.",
  open: "Each note begins and ends by itself, from one tap on. Only where nobody else talks: all that is said is listened to.",
  type: "The microphone stays off.",
};

export class Ways {
  #dialog = byId("ways");
  #choosing = false;
  #check = null;
  way = "hold";
  key = space;

  // talk is told of the way; changed() is called when the way or the key is another.
  constructor(talk, changed, leave) {
    Object.assign(this, { talk, changed });
    this.#recall();
    talk.way = this.way;
    byId("talk-ways").addEventListener("click", () => this.open());
    // The event of its end comes a moment after it: a tap in between is one already.
    const left = () => {
      if (!talk.paused || this.#dialog.open) return;
      this.#end();
      this.#choose(false);
      talk.pause(false);
      leave();
    };
    byId("ways-done").addEventListener("click", () => {
      this.#dialog.close();
      left();
    });
    this.#dialog.addEventListener("close", left);
    for (const b of this.#dialog.querySelectorAll("[data-way]")) b.addEventListener("click", () => this.#take(b.dataset.way));
    byId("ways-key").addEventListener("click", () => this.#choose(!this.#choosing));
    this.#dialog.addEventListener("keydown", (event) => this.#choosing && this.#taken(event));
    this.#offer();
    byId("check-go").addEventListener("click", () => (this.#check ? this.#end() : this.#start()));
  }

  open() {
    this.talk.pause(true);
    byId("check-found").replaceChildren();
    this.#draw();
    this.#dialog.showModal();
  }

  #take(way) {
    this.#end();
    this.way = way;
    this.talk.take(way);
    this.#keep();
  }

  // #offer has the browser's own recognition offered, on a page that takes its words.
  #offer() {
    if (!byId("own")) return;
    byId("own").hidden = !has();
    byId("own-on").addEventListener("click", () => this.#own());
    byId("own-accept").addEventListener("click", () => this.#hearBy(true));
    byId("own-leave").addEventListener("click", () => this.#hearBy(false));
  }

  // #own turns the browser's own recognition off, or shows the warning before it is turned on.
  #own() {
    if (this.talk.own.on) return this.#hearBy(false);
    byId("own-warning").hidden = false;
    byId("own-on").hidden = true;
    byId("own-leave").focus();
    byId("own-warning").scrollIntoView({ block: "nearest" });
  }

  #hearBy(own) {
    this.talk.hearBy(own);
    this.#draw();
    byId("own-on").focus();
  }

  #choose(choosing, wrong = "") {
    this.#choosing = choosing;
    this.#draw(wrong);
  }

  #taken(event) {
    event.preventDefault();
    if (event.repeat) return;
    if (event.key === "Escape") return this.#choose(false);
    const { key, wrong } = keyOf(event);
    if (wrong) return this.#choose(true, wrong);
    this.key = key;
    this.#choosing = false;
    this.#keep();
    addEventListener("keyup", (e) => e.preventDefault(), { once: true, capture: true }); // it presses no button
  }

  #draw(wrong = "") {
    for (const b of this.#dialog.querySelectorAll("[data-way]")) b.setAttribute("aria-pressed", String(b.dataset.way === this.way));
    if (byId("own")) this.#drawOwn();
    const { lead, by, own } = this.talk;
    byId("ways-what").textContent = this.way === "open" && lead ? `From one tap on each note begins with “${lead}”. Nothing else that is said is taken for a note.` : told[this.way];
    byId("ways-by").textContent = own.on ? "" : by;
    byId("ways-key").textContent = this.#choosing ? "Leave it" : "Change";
    byId("ways-key-now").textContent = wrong || (this.#choosing ? "Press the key or the pedal now." : `Key or pedal: ${this.key.name}`);
  }

  #drawOwn() {
    const own = this.talk.own.on;
    byId("own-warning").hidden = true;
    byId("own-on").hidden = false;
    byId("own-on").textContent = own ? "Let the server listen" : "Let the browser listen";
    byId("own-now").textContent = own ? "The browser listens itself. What it hears is asked about before it is kept." : "The server of the shop listens.";
  }

  #keep() {
    this.#draw();
    this.changed();
    try {
      localStorage.setItem(kept, JSON.stringify({ way: this.way, key: this.key }));
    } catch {
      // it holds until the page is left
    }
  }

  #recall() {
    try {
      const { way, key } = JSON.parse(localStorage.getItem(kept)) ?? {};
      if (way in told) this.way = way;
      if (key?.id && key.name) this.key = key;
    } catch {
      // nothing is kept, or it is not ours
    }
  }

  async #start() {
    this.#check = new Check();
    byId("check-go").textContent = "Stop the check";
    byId("check-found").replaceChildren();
    this.#ask();
    this.talk.fault = "";
    this.talk.check = (frame) => this.#frame(frame);
    await this.talk.open();
  }

  #frame(frame) {
    fill(byId("check-level"), this.talk.level);
    if (!this.#check.take(frame)) return;
    if (this.#check.step) return this.#ask();
    const found = this.#check.finding();
    this.#end();
    const share = Math.round(100 * found.mains);
    byId("check-say").textContent = found.wrong.length ? "This is to be mended:" : "The microphone is good. Talk as you read.";
    byId("check-found").replaceChildren(
      ...found.wrong.map((text) => make("li", {}, make("strong", {}, text))),
      make("li", {}, `Speech ${db(found.speech)}, the shop ${db(found.quiet)}, hum ${share} % of that.`));
  }

  // look tells of a microphone that failed in the middle of the check.
  look() {
    if (!this.#check || !this.talk.fault) return;
    this.#end();
    byId("check-say").textContent = this.talk.fault;
  }

  #ask() {
    byId("check-say").textContent = this.#check.step.ask;
    byId("check-read").textContent = this.#check.step.read ?? "";
  }

  #end() {
    if (!this.#check) return;
    this.#check = null;
    this.talk.check = null;
    this.talk.off(); // nothing listens while the form is open
    fill(byId("check-level"), -100);
    byId("check-go").textContent = "Start the check";
    byId("check-say").textContent = "";
    byId("check-read").textContent = "";
  }
}

const db = (x) => (x <= -99 ? "no signal" : `${Math.round(x)} dB`.replace("-", "−"));
