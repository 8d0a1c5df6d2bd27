// The sentences of the microphone check, tried: each goes over the line while it is read, and the server says
// what it has heard and what would have come of it. Nothing of it is kept, here or there. Time is counted in frames.

import { rate } from "./mic.js";
import { ulid } from "./ulid.js";

const patience = 250; // frames from the end of a sentence to the answer
const lead = 25; // frames before one that is begun again, which are taken into it

// Tryout is given how to try: line, free() whether a sentence may go over it now, settled() which is called when
// it is free again, and why(), words for why nothing is tried, "" for no reason.
export class Tryout {
  #id = ""; // of the sentence that is read, or waited for
  #gone = new Set(); // ids that were let go
  #waits = 0; // frames since the end was told; 0 while it is read
  #sentence = "";
  #last = []; // the last frames of it
  #queued = false; // it waits for a recogniser
  why = ""; // why no more is tried
  said = []; // of each sentence that was answered: {sentence, verdict, text, right}

  constructor(by) {
    this.by = by;
  }

  // fresh forgets the check before; why says why nothing is to be tried, "" for no reason.
  fresh(why) {
    this.drop();
    this.why = why;
    this.said = [];
  }

  // busy holds while a sentence is on the line: no note may take its place there.
  get busy() {
    return this.#id !== "";
  }

  // waits holds from the end of a sentence to its answer.
  get waits() {
    return this.busy && this.#waits > 0;
  }

  // begin leads a sentence over the line, behind the frames of it that there are.
  begin(sentence, frames = []) {
    this.why ||= this.by.why() || (this.by.line.up ? "" : lost) || (this.by.free() ? "" : "notes wait to be heard before them");
    if (this.why) return;
    const id = ulid();
    this.#waits = 0;
    this.#queued = false;
    this.#sentence = sentence;
    this.#last = frames;
    if (!this.by.line.send({ type: "sound", id, rate, encoding: "s16le", until: "silence", check: sentence })) this.why = lost;
    else this.#id = id;
    for (const f of frames) this.#send(f);
  }

  // #send gives the sentence up where the line breaks.
  #send(frame) {
    if (this.#id && !this.by.line.sound(frame)) this.#quit(lost);
  }

  // take is given each frame. It gives a sentence up whose answer does not come.
  take(frame) {
    if (!this.#id) return;
    if (!this.#waits) {
      this.#last = [...this.#last, frame].slice(-lead);
      return this.#send(frame);
    }
    if (!this.by.line.up) this.#quit(lost);
    else if (++this.#waits > patience) this.#quit(this.#queued ? "no recogniser is free" : "the server gives no answer");
  }

  // end says that the time of the sentence is over.
  end() {
    if (!this.#id || this.#waits) return;
    this.#waits = 1;
    if (!this.by.line.send({ type: "sound-end", id: this.#id })) this.#quit(lost);
  }

  // drop lets the sentence go that is on the line: the server gives its recogniser back with its end.
  drop() {
    if (!this.#id) return;
    this.#gone.add(this.#id);
    if (!this.#waits) this.by.line.send({ type: "sound-end", id: this.#id });
    this.#over();
  }

  #quit(why) {
    this.why = why;
    this.drop();
  }

  #over() {
    this.#id = "";
    this.by.settled();
  }

  // hearing takes what is told while a sentence is read, and returns whether it is of one.
  hearing({ id, state }) {
    if (id !== this.#id) return this.#gone.has(id);
    this.#queued = state === "queued";
    return true;
  }

  // checked takes an answer; it returns whether the sentence on the line was tried by it. again says that there is time to read
  // it yet: then a bang or a cough before it is nothing, and what was said while that was judged goes into the new one.
  checked({ id, verdict, text, right }, again) {
    this.#gone.delete(id);
    if (id !== this.#id) return false;
    if (again && !text && !this.waits) {
      this.#id = "";
      this.begin(this.#sentence, this.#last);
      return false;
    }
    this.said.push({ sentence: this.#sentence, verdict, text, right });
    this.#over();
    return true;
  }

  // refused takes a refusal; it returns whether it was one of a sentence.
  refused(id, reason) {
    if (id !== this.#id) return this.#gone.delete(id);
    this.why = reason.split("; ")[0]; // behind it stands what to do about a note
    this.#over();
    return true;
  }
}

const lost = "the line to the server is down";

// told says what was heard of a sentence, and what would have come of it.
export function told({ sentence, verdict, text, right }) {
  if (verdict === "silent") return `Nothing was heard of “${sentence}”.`;
  if (verdict === "refused") return `Not understood: “${sentence}”.`;
  const then = verdict === "asked" ? " It would be asked about." : " It would be taken.";
  return right ? `Heard: “${text}”.${then}` : `Heard something else for “${sentence}”: “${text}”.${then}`;
}

// misheard says in words what is wrong by what was heard, "" for nothing.
export function misheard(said) {
  const right = said.filter((s) => s.right);
  if (right.filter((s) => s.verdict === "taken").length >= enough) return "";
  if (right.length >= enough) return "Heard, but not surely: most of it would be asked about. Speak closer to the microphone, and where it is less loud.";
  return "Not understood. Read each sentence in one go, close to the microphone, and keep others from talking into it.";
}

const enough = 2; // sentences of three
