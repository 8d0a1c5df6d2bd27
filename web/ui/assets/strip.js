// The strip above the field: whether it is listened, in a word, and what is heard. Words that are
// heard change while they are spoken and are no note.

import { byId } from "./dom.js";
import { inTurn } from "./talk.js";

const states = { off: "Off", listening: "Listening", hearing: "Hearing", thinking: "Thinking", speaking: "Speaking" };

const buttons = {
  hold: ["Hold to talk", "Let go to end"],
  tap: ["Tap to talk", "Tap to end"],
  open: ["Turn on", "Turn off"],
};

export class Strip {
  #told = "";
  #level = 0;
  #box = byId("talk");

  // tell shows a sentence until the next note begins.
  tell(text) {
    this.#told = text;
  }

  draw(talk, key) {
    const state = talk.state;
    if (!talk.listens) fill(byId("talk-level"), -100);
    const talking = talk.way === "open" ? talk.on : talk.listens;
    if (state === "hearing" || (talk.listens && !talk.on)) this.#told = "";
    this.#box.dataset.talk = state;
    this.#box.dataset.way = talk.way;
    this.#box.dataset.live = talk.live;
    const by = talk.standby && talk.way !== "type";
    const off = talk.way === "open" && state === "off";
    this.#box.toggleAttribute("data-standby", by && !off);
    write("talk-word", talk.way === "type" ? "Typing only" : by && !off && state !== "speaking" ? "Standing by" : states[state]);
    this.#box.toggleAttribute("data-own", talk.own.on);
    const whose = talk.own.on && talk.way !== "type" ? "By the browser: sound may leave the shop. " : "";
    const { lead } = talk;
    write("talk-how", whose + (state === "off" ? how(talk.way, key, lead) : state === "listening" && talk.on && lead && !by ? `Begin with “${lead}”.` : ""));
    const live = state === "hearing" && talk.words ? `${talk.words} …` : "";
    const ends = by ? `Say “${talk.way === "open" && lead ? `${lead} ` : ""}resume” to go on.` : "";
    const turn = talk.queued ? inTurn : "";
    byId("talk-words").setAttribute("aria-live", turn && !talk.fault ? "polite" : "off"); // what is heard would never end, and the rest is spoken
    write("talk-words", talk.fault || turn || live || this.#told || ends);
    byId("talk-words").dataset.of = talk.fault ? "fault" : turn || !live ? "told" : "live";
    const press = byId("talk-press");
    press.hidden = talk.way === "type";
    if (!press.hidden) write("talk-press", buttons[talk.way][talking ? 1 : 0]);
    press.setAttribute("aria-pressed", String(talking));
  }

  // meter draws the level of what is listened to, ten times a second at most.
  meter(talk) {
    const now = performance.now();
    if (now - this.#level < 100) return;
    this.#level = now;
    fill(byId("talk-level"), talk.listens ? talk.level : -100);
  }
}

// fill draws a level between 60 dB below full scale and full scale.
export function fill(bar, db) {
  const part = Math.max(0, Math.min(1, (db + 60) / 60));
  bar.style.setProperty("--part", part.toFixed(2));
  bar.dataset.loud = part > 0.95 ? "clips" : part > 0 ? "some" : "none";
}

const how = (way, key, lead) => ({
  hold: `Hold ${key.name} or the button, and speak.`,
  tap: `Press ${key.name} or the button, and speak. Silence ends the note.`,
  open: `Press ${key.name} or the button once. Each note then begins ${lead ? `with “${lead}”` : "by itself"}.`,
  type: "",
})[way];

function write(id, text) {
  const e = byId(id);
  if (e.textContent !== text) e.textContent = text;
}
