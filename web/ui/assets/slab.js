// The last verdict, large; what came late and needs a look first; and what comes next.

import { byId, make, clock } from "./dom.js";
import { plate, sign, words } from "./signs.js";
import { wordOf, isStop } from "./verdict.js";

// drawSlab shows a note with its word, its sign and its sentence.
export function drawSlab(note) {
  const word = wordOf(note);
  const slab = byId("slab");
  slab.dataset.word = word;
  slab.dataset.id = note.id;
  byId("slab-heard").textContent = heard(note);
  const large = byId("slab-word");
  large.setAttribute("aria-label", words[word].text);
  large.replaceChildren(sign(word), plate(word));
  byId("slab-say").textContent = sentence(note, word);
}

function heard(note) {
  const from = note.other ? "Another bench, " : note.late ? "While the line was down, " : "";
  return `${from}${note.at ? clock(note.at) + " " : ""}“${note.text ?? ""}”`;
}

function sentence(note, word) {
  if (note.refused) return `Refused, nothing was kept: ${note.refused}`;
  if (note.waiting) return "Kept, not checked yet. It is checked when the line is back.";
  return note.say || words[word].text;
}

const rank = (note) => (isStop(note) ? 0 : wordOf(note) === "out" ? 1 : 2);
const minds = ["stop", "out", "unclear", "void", "order", "gauge"];

// Late collects answers that came after the work had gone on: stops come first.
export class Late {
  #notes = [];

  constructor(panel, seen) {
    this.panel = panel;
    this.seen = seen; // called when the technician has seen them
  }

  // add returns whether the note needs a look.
  add(note) {
    if (!minds.includes(wordOf(note))) return false;
    this.#notes = [...this.#notes.filter((n) => n.id !== note.id), note].sort((a, b) => rank(a) - rank(b) || (a.seq ?? 0) - (b.seq ?? 0));
    this.draw();
    return true;
  }

  // worst is the one to show large, until it was seen.
  get worst() {
    return this.#notes[0];
  }

  clear() {
    this.#notes = [];
    this.draw();
    this.seen();
  }

  draw() {
    this.panel.hidden = this.#notes.length === 0;
    if (this.panel.hidden) {
      this.panel.replaceChildren();
      return;
    }
    const done = make("button", { type: "button" }, "Seen");
    done.addEventListener("click", () => this.clear());
    this.panel.replaceChildren(
      make("h2", {}, "Look at these first"),
      make("ul", {}, ...this.#notes.map(item)),
      done);
  }
}

function item(note) {
  const word = wordOf(note);
  return make("li", { "data-word": word },
    make("span", { class: "mark" }, sign(word), make("b", {}, words[word].plate.toLowerCase())),
    make("span", {}, `${note.other ? "Another bench: " : ""}“${note.text}” ${note.say ?? ""}`));
}

// drawNext shows what the work calls for next, with its caution.
export function drawNext(next, caution = byId("next-caution")) {
  byId("next-where").textContent = next ? next.where.charAt(0).toUpperCase() + next.where.slice(1) : "Nothing is left to do";
  byId("next-limits").textContent = next?.limits ?? "";
  caution.hidden = !next?.caution;
  caution.textContent = next?.caution ?? "";
}
