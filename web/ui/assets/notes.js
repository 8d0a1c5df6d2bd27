// The record of this job as the page knows it, and the list that shows it newest first.

import { make, clock } from "./dom.js";
import { sign, words } from "./signs.js";
import { wordOf, ofFinding } from "./verdict.js";

const shownAtFirst = 150;

export class Notes {
  #byId = new Map();
  #shown = shownAtFirst;
  #rows = new WeakMap(); // by note: a changed note is another object
  last = 0; // the highest seq that was seen

  constructor(list, act) {
    this.list = list;
    this.act = act; // act.again(note), act.resend(note) and act.drop(note), for a refused one; act.right(note) and act.hearAgain(note) for guessed words
  }

  // add takes an answer, an entry or a note that waits; what was known of it stays.
  add(note) {
    const whole = { ...this.#byId.get(note.id), ...note };
    this.#byId.set(note.id, whole);
    if (whole.seq && (whole.of || whole.guess)) this.#match(whole);
    if (note.seq > this.last) this.last = note.seq;
    return whole;
  }

  // #match tells a guess of what its words were put right to last.
  #match({ seq, of }) {
    const all = [...this.#byId.values()];
    const guess = all.find((n) => n.guess && n.seq === (of || seq));
    const right = all.filter((n) => n.of && n.seq && n.of === guess?.seq).sort((a, b) => b.seq - a.seq)[0];
    if (right && guess.rightIn !== right.seq) this.#byId.set(guess.id, { ...guess, right: right.text, rightIn: right.seq, still: right.guess });
  }

  get(id) {
    return this.#byId.get(id);
  }

  remove(id) {
    this.#byId.delete(id);
  }

  // forget drops what the server said, and keeps what still waits here.
  forget() {
    for (const [id, note] of this.#byId) if (note.seq) this.#byId.delete(id);
    this.last = 0;
  }

  // newest first: what waits or was refused here, then the job's entries.
  sorted() {
    const all = [...this.#byId.values()];
    const here = all.filter((n) => !n.seq).sort((a, b) => (a.id < b.id ? 1 : -1));
    return [...here, ...all.filter((n) => n.seq).sort((a, b) => b.seq - a.seq)];
  }

  draw() {
    const all = this.sorted();
    const rows = all.slice(0, this.#shown).map((n) => this.#rowOf(n));
    if (all.length > rows.length) rows.push(this.#more(all.length - rows.length));
    if (rows.length === 0) rows.push(make("li", { class: "none" }, "Nothing was said on this job yet."));
    const same = rows.length === this.list.children.length && rows.every((r, i) => r === this.list.children[i]);
    if (!same) this.list.replaceChildren(...rows); // a row that is put back loses the focus
  }

  // renew draws every row anew.
  renew() {
    this.#rows = new WeakMap();
    this.draw();
  }

  #more(n) {
    const button = make("button", { type: "button" }, `Show ${n} earlier`);
    button.addEventListener("click", () => {
      this.#shown = Infinity;
      this.draw();
    });
    return make("li", { class: "none" }, button);
  }

  #rowOf(n) {
    if (!this.#rows.has(n)) this.#rows.set(n, this.#row(n));
    return this.#rows.get(n);
  }

  #row(n) {
    if (n.entry === "opened") return opened(n);
    const word = wordOf(n);
    return make("li", { "data-word": word, id: n.seq ? `n${n.seq}` : null, "data-id": n.id },
      make("span", { class: "mark" }, sign(word), make("b", {}, words[word].plate.toLowerCase())),
      make("div", {}, make("p", { class: n.text || !n.seconds ? "text" : "text spoken" }, said(n)), ...answer(n, word)),
      make("span", { class: "when" }, n.seq && read(n), n.at && clock(n.at), from(n)),
      n.refused && this.#refused(n), n.guess && n.seq && this.#guess(n));
  }

  #guess(n) {
    const button = make("button", { type: "button" }, "Put right");
    button.addEventListener("click", () => this.act.right(n.right ? { ...n, text: n.right } : n));
    const how = n.still ? "Heard again, still a guess, in" : "Put right in";
    const words = n.right ? `${how} note ${n.rightIn}: “${n.right}”` : "Words guessed from its sound";
    const again = this.act.hearsAgain() && !n.of && (!n.right || n.still) ? make("button", { type: "button" }, "Hear it again") : null;
    again?.addEventListener("click", () => this.act.hearAgain(n));
    return make("div", { class: "acts guess" }, make("span", {}, words), button, again);
  }

  #refused(n) {
    const again = n.text || n.sounds ? make("button", { type: "button" }, n.text ? "Back to the field" : "Send it again") : null;
    const drop = make("button", { type: "button" }, "Drop it");
    again?.addEventListener("click", () => (n.text ? this.act.again(n) : this.act.resend(n)));
    drop.addEventListener("click", () => this.act.drop(n));
    return make("div", { class: "acts" }, again, drop);
  }
}

// said gives the words of a note, or that it was spoken and how long.
export const said = (n) => n.text || (n.seconds ? `spoken, ${n.seconds.toFixed(1)} s` : "");

function opened(n) {
  const who = n.person && n.person !== "not stated" ? ` by ${n.person}` : "";
  return make("li", { class: "none", id: `n${n.seq}` }, `Job opened ${clock(n.at)}${who}`);
}

// read links a note's number to how it was read.
function read(n) {
  const [, , job] = location.pathname.split("/");
  return make("a", { href: `/jobs/${job}/notes/${n.seq}`, "aria-label": `Note ${n.seq}: how it was read` }, `${n.seq}`);
}

function from(n) {
  const who = n.person && n.person !== "not stated" ? n.person : "";
  const text = [who, n.other ? "another bench" : ""].filter(Boolean).join(", ");
  return text && make("i", {}, text);
}

// answer shows what came of a note: the sentence, and each finding that it does not hold.
function answer(n, word) {
  if (n.refused) return [make("p", { class: "say" }, `Refused: ${n.refused}`)];
  if (n.waiting) return [make("p", { class: "say" }, "Kept, not checked yet")];
  const say = n.say ?? words[word].text;
  const more = (n.findings ?? []).filter((f) => f.severity !== "note" && !plain(say).includes(plain(f.text)));
  return [
    make("p", { class: "say" }, say),
    ...more.map((f) => make("p", { class: "finding", "data-word": ofFinding(f) }, sign(ofFinding(f)), f.text)),
  ];
}

const plain = (text) => text.toLowerCase().replace(/[^a-z0-9]+/g, " ").trim();
