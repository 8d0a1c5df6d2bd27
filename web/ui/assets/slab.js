// The last verdict, large; what came late and needs a look first; and what comes next.

import { byId, make, clock } from "./dom.js";
import { figuresOf } from "./figures.js";
import { said } from "./notes.js";
import { plate, sign, words } from "./signs.js";
import { ofFinding, wordOf, isStop } from "./verdict.js";

const long = 150; // characters of a sentence that is set smaller

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
  const text = sentence(note, word);
  slab.toggleAttribute("data-long", text.length > long);
  byId("slab-say").textContent = text;
}

// drawFigures writes the note's readings in figures, for the eye; the sentence below them
// is what the ear hears.
export function drawFigures(note, state) {
  const figures = figuresOf(note, state);
  const line = byId("slab-figures");
  line.hidden = figures.length === 0;
  line.replaceChildren(...figures.map((f) => make("span", {}, f.where, " ", make("strong", {}, f.shown), " ", f.limits && make("span", { class: "limits" }, f.limits))));
}

function heard(note) {
  const from = note.other ? "Another bench, " : note.late ? "While the line was down, " : "";
  if (note.asked) return `Heard, not recorded: “${note.text}”`;
  if (note.from === "gauge") return `${from}${note.at ? clock(note.at) + " " : ""}a gauge sent “${note.text}”`;
  return `${from}${note.at ? clock(note.at) + " " : ""}${note.guess ? "Guessed: " : ""}“${said(note)}”`;
}

function sentence(note, word) {
  if (note.refused) return `Refused: ${note.refused}`;
  if (note.waiting) return `Kept, not checked yet. It is checked ${note.late ? "when the line is back" : "in its turn"}.`;
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
    const others = this.#notes.slice(1); // the worst stands large above
    const done = make("button", { type: "button" }, "Seen");
    done.addEventListener("click", () => this.clear());
    this.panel.replaceChildren(...[
      make("h2", {}, others.length ? "Look at that first, then at" : "Look at that first"),
      others.length > 0 && make("ul", {}, ...others.map(item)),
      done,
    ].filter(Boolean));
  }
}

function item(note) {
  const word = wordOf(note);
  return make("li", { "data-word": word },
    make("span", { class: "mark" }, sign(word), make("b", {}, words[word].plate.toLowerCase())),
    make("span", {}, `${note.other ? "Another bench: " : ""}“${said(note)}” ${note.say ?? ""}`));
}

// drawNext shows what the work calls for next, with its caution; before it, the worst of
// what is still open, since that is to be mended first. With the line down it is what was
// known last.
export function drawNext({ next, findings = [] }, large, current, caution = byId("next-caution")) {
  byId("next").hidden = false;
  const open = bySeverity(findings).filter((f) => f.severity !== "note" || f.rule === "ask");
  byId("first").hidden = open.length === 0;
  byId("first").replaceChildren(...(open.length ? first(open[0], open.length - 1, large) : []));
  byId("next-tag").textContent = !current ? "Last known" : open.length ? "Then" : "Next";
  byId("next-where").textContent = next ? capital(next.where) : "Nothing is left to do";
  byId("next-limits").textContent = next?.limits ?? "";
  caution.hidden = !next?.caution;
  caution.textContent = next?.caution ?? "";
}

function first(finding, others, large) {
  const shown = large?.findings?.some((f) => f.text === finding.text); // it stands large above: say what closes it
  const word = ofFinding(finding);
  return [
    make("span", { class: "tag" }, "First"),
    make("span", { class: "mark", "data-word": word }, sign(word), make("b", {}, words[word].plate.toLowerCase())),
    make("strong", {}, ...(shown ? closes(finding.rule) : [finding.text])),
    others > 0 && make("span", { class: "limits" }, `and ${others} more under “Still open”`),
  ].filter(Boolean);
}

// closes says what closes a finding of a rule.
function closes(rule) {
  switch (rule) {
    case "ask": return ["Answer that, or say ", make("q", {}, "scratch that")];
    case "limit": case "derived": case "spread": return ["Mend it, then say the new reading"];
    case "stack_order": case "part_choice": return ["Fit the right part, then say so"];
    case "hold_point": return ["Go no further: do the open checks"];
    case "pass_order": return ["Do that round again, in order"];
    case "step_order": return ["Do what is missing, then this again"];
    case "void": return ["Take it again"];
    case "instrument": return ["Take it again with a fit instrument"];
  }
  return ["See to that"];
}

const severities = ["stop", "warn", "note"];

// bySeverity sorts findings, the worst first.
export const bySeverity = (findings) => [...findings].sort((a, b) => severities.indexOf(a.severity) - severities.indexOf(b.severity));

const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1);
