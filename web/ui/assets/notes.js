// The record of this job as the page knows it, and the list that shows it newest first.

import { make, clock } from "./dom.js";
import { player } from "./play.js";
import { purged, shots } from "./shots.js";
import { sign, words } from "./signs.js";
import { wordOf, ofFinding } from "./verdict.js";

const shownAtFirst = 150;

export class Notes {
  #byId = new Map();
  #shown = shownAtFirst;
  #rows = new WeakMap(); // by note: a changed note is another object
  #others = {}; // rows of no note, by name: {shown, row}
  #strays = new Map(); // by id: photos whose note is not known here
  last = 0; // the highest seq that was seen

  constructor(list, act) {
    this.list = list;
    this.act = act; // again(note), resend(note) and drop(note), for a refused one; right(note), hearAgain(note), hearsAgain() and beingHeard(note), for guessed words; photos: as shots.js has it
  }

  // add takes an answer, an entry or a note that waits; what was known of it stays.
  add(note) {
    const whole = { ...this.#byId.get(note.id), ...note };
    this.#byId.set(note.id, whole);
    this.seen(note.seq);
    for (const p of this.#strays.values()) if (p.of === whole.id || p.of === whole.seq) this.photo(p);
    if (whole.seq && (whole.of || whole.guess)) this.#match(whole);
    return this.#byId.get(note.id);
  }

  // seen takes the seq of an entry that came.
  seen(seq) {
    if (seq > this.last) this.last = seq;
  }

  // photo takes a photo, of the note with an id or a seq; what was known of it goes.
  photo(p) {
    this.seen(p.seq);
    this.dropPhoto(p);
    const note = this.#byId.get(p.of) ?? this.#bySeq(p.of);
    if (!note) this.#strays.set(p.id, p);
    else this.#byId.set(note.id, { ...note, photos: [...(note.photos ?? []), p].sort((a, b) => (a.id < b.id ? -1 : 1)) });
  }

  dropPhoto({ id }) {
    this.#strays.delete(id);
    for (const note of this.#byId.values()) {
      if (note.photos?.some((p) => p.id === id)) this.#byId.set(note.id, { ...note, photos: note.photos.filter((p) => p.id !== id) });
    }
  }

  #bySeq(seq) {
    return [...this.#byId.values()].find((n) => n.seq && n.seq === seq);
  }

  // purge marks what an entry says is purged.
  purge({ seq, at, purge: { rule, items } }) {
    this.seen(seq);
    const gone = { at, rule };
    for (const it of items) {
      for (const note of this.#byId.values()) {
        if (note.seq === it.seq && note.sound) this.#byId.set(note.id, { ...note, soundGone: gone });
        else if (note.photos?.some((p) => p.seq === it.seq)) {
          this.#byId.set(note.id, { ...note, photos: note.photos.map((p) => (p.seq === it.seq ? { ...p, gone } : p)) });
        }
      }
    }
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
    for (const p of this.#byId.get(id)?.photos ?? []) if (p.bytes) this.#strays.set(p.id, p);
    this.#byId.delete(id);
  }

  // forget drops what the server said, and keeps what still waits here.
  forget() {
    for (const [id, note] of this.#byId) if (note.seq) this.#byId.delete(id);
    for (const p of this.#strays.values()) if (!p.bytes) this.#strays.delete(p.id);
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
    const more = all.length - rows.length;
    if (more) rows.push(this.#other("more", [more], () => this.#more(more)));
    const strays = [...this.#strays.values()];
    if (strays.length) rows.unshift(this.#other("strays", strays, () => make("li", { class: "none" }, "Photos whose note is not in the record", shots(jobHere(), strays, "no note", this.act.photos))));
    if (rows.length === 0) rows.push(this.#other("none", [], () => make("li", { class: "none" }, "Nothing was said on this job yet.")));
    const same = rows.length === this.list.children.length && rows.every((r, i) => r === this.list.children[i]);
    if (!same) this.list.replaceChildren(...rows); // a row that is put back loses the focus
  }

  // #other gives a row of no note, drawn anew if other things are shown in it.
  #other(name, shown, draw) {
    const old = this.#others[name];
    if (old?.shown.length !== shown.length || shown.some((s, i) => s !== old.shown[i])) this.#others[name] = { shown, row: draw() };
    return this.#others[name].row;
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
      make("div", {}, make("p", { class: n.text || !n.seconds ? "text" : "text spoken" }, said(n)), ...answer(n, word), heardAndSeen(n, this.act.photos)),
      make("span", { class: "when" }, n.seq && read(n), n.at && clock(n.at), from(n)),
      n.refused && this.#refused(n), n.guess && n.seq && this.#guess(n));
  }

  #guess(n) {
    const button = make("button", { type: "button" }, "Put right");
    button.addEventListener("click", () => this.act.right(n.right ? { ...n, text: n.right } : n));
    const how = n.still ? "Heard again, still a guess, in" : "Put right in";
    const words = n.right ? `${how} note ${n.rightIn}: “${n.right}”` : "Words guessed from its sound";
    const being = this.act.beingHeard(n);
    const again = this.act.hearsAgain() && n.sound && !n.soundGone && !n.of && (!n.right || n.still) ? make("button", { type: "button", disabled: being }, being ? "Being heard again" : "Hear it again") : null;
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

const jobHere = () => decodeURIComponent(location.pathname.split("/")[2] ?? "");

// heardAndSeen is what there is to play and to see of a note.
function heardAndSeen(n, act) {
  const of = n.seq ? `note ${n.seq}` : "the note that waits";
  const heard = n.soundGone ? make("p", { class: "gone" }, `Sound ${purged(n.soundGone)}`) : n.sound && player(jobHere(), n.sound, of);
  const seen = shots(jobHere(), n.photos, of, act);
  return heard || seen ? make("div", { class: "evidence" }, heard, seen) : null;
}

// read links a note's number to how it was read.
function read(n) {
  const [, , job] = location.pathname.split("/");
  return make("a", { href: `/jobs/${job}/notes/${n.seq}`, "aria-label": `Note ${n.seq}: how it was read` }, `${n.seq}`);
}

// sources names what has typed or heard a note, where that was no hand and not the server.
const sources = { gauge: "from a gauge", browser: "heard by the browser" };

function from(n) {
  const who = n.person && n.person !== "not stated" ? n.person : "";
  const text = [who, sources[n.from], n.other ? "another bench" : ""].filter(Boolean).join(", ");
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
