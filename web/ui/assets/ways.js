// The form for how to talk: the way, the key, and the check of the microphone. The browser keeps
// the choice.

import { byId, make } from "./dom.js";
import { ask } from "./fetch.js";
import { Check } from "./levels.js";
import { has } from "./own.js";
import { keyOf, space } from "./press.js";
import { fill } from "./strip.js";
import { misheard, told as toldOf, Tryout } from "./tryout.js";

const kept = "readback.talk";

const told = {
  hold: "A note lasts as long as you hold the key, a pedal, or the button. The surest where it is loud or others talk.",
  tap: "One tap begins a note; silence ends it, or another tap. For when a hand is free for a moment.",
  open: "Each note begins and ends by itself, from one tap on. Only where nobody else talks: all that is said is listened to.",
  type: "The microphone stays off.",
};

// What is read, and not tried, where the server cannot be asked for what may be said here.
const usual = ["collar nut stage one, forty-eight newton metres", "build spacer sixty-four point two millimetres", "shaft runout two hundredths, seat is clean"];

const toRead = 150; // frames in which a sentence can be read

const briefly = 8000; // ms in which it has to answer
const unknown = "the server could not be asked what to read";

export class Ways {
  #dialog = byId("ways");
  #choosing = false;
  #run = null; // the check that goes on, from its start
  #check = null;
  #held = false; // the check waits until the page is silent
  #tryout;
  way = "hold";
  key = space;

  // talk is told of the way; changed() is called when the way or the key is another. read is the address of what to
  // read in the check, free() whether the line is free for it.
  constructor(talk, changed, leave, { read, free }) {
    Object.assign(this, { talk, changed, read });
    const { line, settled } = talk.bench;
    this.#tryout = talk.tryout = new Tryout({ line, settled, free: () => free() && talk.yields(), why: () => (talk.own.on ? "the browser itself listens" : "") });
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
    document.addEventListener("visibilitychange", () => document.hidden && this.#hide());
    for (const b of this.#dialog.querySelectorAll("[data-way]")) b.addEventListener("click", () => this.#take(b.dataset.way));
    byId("ways-key").addEventListener("click", () => this.#choose(!this.#choosing));
    this.#dialog.addEventListener("keydown", (event) => this.#choosing && this.#taken(event));
    this.#offer();
    byId("check-go").addEventListener("click", () => (this.#run ? this.#end() : this.#start()));
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
    this.#end();
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
    const run = (this.#run = {});
    if (this.talk.speaking) document.dispatchEvent(new CustomEvent("readback:hush")); // its own voice is no shop
    byId("check-go").textContent = "Stop the check";
    byId("check-found").replaceChildren();
    byId("check-say").textContent = "One moment.";
    byId("check-title").scrollIntoView({ block: "start" });
    const sentences = await this.#sentences();
    if (run !== this.#run) return;
    this.#check = new Check(sentences ?? usual);
    this.#held = false;
    this.#tryout.fresh(sentences ? "" : unknown);
    this.#ask();
    this.talk.fault = "";
    this.talk.check = (frame, deaf) => this.#frame(frame, deaf);
    await this.talk.open();
  }

  // #sentences are what may be said here, null where nobody tells.
  async #sentences() {
    if (!this.talk.bench.line.up) return null;
    try {
      return (await ask(this.read, { signal: AbortSignal.timeout(briefly) })).sentences;
    } catch {
      return null;
    }
  }

  #frame(frame, deaf) {
    fill(byId("check-level"), this.talk.level);
    const { waits, why } = this.#tryout;
    if (deaf && !waits) return this.#hold();
    if (this.#held) this.#ask();
    this.#tryout.take(frame);
    if (why !== this.#tryout.why) this.#draws();
    if (!waits && !this.#check.take(frame)) return;
    this.#tryout.end();
    if (!this.#tryout.busy) this.#next();
  }

  // #hold has the check wait while the page speaks, which is no noise of the shop. A sentence into which it
  // speaks is read again.
  #hold() {
    if (this.#held) return;
    this.#held = true;
    this.#check.again();
    this.#tryout.drop();
    byId("check-say").textContent = "One moment: the page speaks.";
  }

  // checked takes what was heard of a sentence.
  checked(m) {
    if (!this.#tryout.checked(m, this.#check?.left > toRead)) return;
    this.#draws();
    this.#next();
  }

  // refused takes a refusal; it returns whether it was one of a sentence.
  refused(m) {
    if (!this.#tryout.refused(m.id, m.reason)) return false;
    if (this.#check) this.#draws();
    return true;
  }

  // #draws shows what was heard so far, and why no more is tried.
  #draws() {
    byId("check-found").replaceChildren(...this.#heard());
  }

  #next() {
    this.#check.next();
    if (this.#check.step) return this.#ask();
    const found = this.#check.finding();
    const heard = this.#heard();
    const { said, why } = this.#tryout;
    this.#end();
    const share = Math.round(100 * found.mains);
    const wrong = found.wrong.length || why ? found.wrong : [misheard(said)].filter(Boolean);
    byId("check-say").textContent = wrong.length ? "This is to be mended:" : why ? "The levels are good." : "The microphone is good. Talk as you read.";
    byId("check-found").replaceChildren(
      ...wrong.map((text) => make("li", {}, make("strong", {}, text))),
      ...heard,
      make("li", {}, `Speech ${db(found.speech)}, the shop ${db(found.quiet)}, hum ${share} % of that.`));
    byId("check-title").scrollIntoView({ block: "start" });
  }

  #heard() {
    const { said, why } = this.#tryout;
    const untried = why ? [`The sentences were not ${said.length ? "all " : ""}tried: ${why}.`] : [];
    return [...said.map(toldOf), ...untried].map((text) => make("li", {}, text));
  }

  // look tells of a microphone that failed in the middle of the check.
  look() {
    if (!this.#check || !this.talk.fault) return;
    this.#end();
    byId("check-say").textContent = this.talk.fault;
  }

  #ask() {
    const { read, ...step } = this.#check.step;
    this.#held = false;
    byId("check-say").textContent = step.ask;
    byId("check-read").textContent = read ? `${read.charAt(0).toUpperCase()}${read.slice(1)}.` : "";
    if (!read) return;
    this.#tryout.begin(read);
    this.#draws();
  }

  // #hide ends the check: a page that is hidden is deaf.
  #hide() {
    if (!this.#run) return;
    this.#end();
    byId("check-say").textContent = "The check was ended, since the page was hidden. Start it again.";
  }

  #end() {
    if (!this.#run) return;
    this.#run = this.#check = null;
    this.talk.check = null;
    this.#tryout.drop();
    this.talk.off(); // nothing listens while the form is open
    fill(byId("check-level"), -100);
    byId("check-go").textContent = "Start the check";
    byId("check-say").textContent = "";
    byId("check-read").textContent = "";
  }
}

const db = (x) => (x <= -99 ? "no signal" : `${Math.round(x)} dB`.replace("-", "−"));
