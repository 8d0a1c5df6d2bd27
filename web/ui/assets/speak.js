// What the sheet says aloud: after each answer its signal, then its sentence, then the
// caution that goes with it. A stop comes before all that waits, and breaks into what is
// being said, which is said again after it; nothing else breaks in. While somebody talks by
// key or tap all but a stop waits.
//
// For a microphone that must not hear the sheet, the document has these events:
//   readback:speaking  a signal or a sentence begins; detail {what, text, seconds}, what
//                      is "signal" (text: in, out, ask), "say" or "caution"; or "played", of a
//                      note's own sound (play.js)
//   readback:silent    nothing sounds and nothing waits
// From the first of the one until the other isSpeaking() is true, in the pauses too. It listens to:
//   readback:talking   somebody talks by key or tap; detail whether, or no longer

import { onSound, open, silent, sound, speaker, wake } from "./sound.js";
import { ring, secondsOf, signalOf } from "./signals.js";
import { load, pieces, standIn } from "./voices.js";
import { words } from "./signs.js";
import { isStop, wordOf } from "./verdict.js";

const pause = 160; // ms between two sentences
const grace = 2_500; // ms after which a sound that does not say that it ended has

let queue = []; // turns: {stop, parts: [{what, text, clip}]}; unsaid where a voice has not said a part
let turn = null; // that is being said
let cut = null; // ends what sounds now
let silenced = false; // what is being said is not to be taken up again
let held = false; // somebody talks by key or tap
let shown = () => {};

// onSpoken calls back with the part that is being said, and with null.
export const onSpoken = (f) => (shown = f);

export const isSpeaking = () => turn !== null;

// answer speaks what came of a note.
export function answer(note) {
  const word = wordOf(note);
  const say = note.refused ? `Refused: ${note.refused}` : note.say || words[word].text;
  add({
    stop: isStop(note),
    parts: [{ what: "signal", text: signalOf(word) }, ...spoken("say", note.other ? `Another bench: ${say}` : say), ...warning(note.caution)],
  });
}

// caution speaks a caution that goes with no answer; heard is called when all of it was said: not where a voice had to
// be cut, or none spoke.
export function caution(text, heard = () => {}) {
  add({ stop: false, kept: true, parts: warning(text), heard });
}

// example lets somebody hear how the sheet sounds, at once.
export function example(signal, text = "") {
  silence();
  add({ stop: false, parts: [{ what: "signal", text: signal }, ...spoken("say", text)] });
}

const spoken = (what, text) => pieces(text).map((piece) => ({ what, text: piece }));
// A caution is one piece, which the server has beforehand.
const warning = (text) => (text ? [{ what: "caution", text: "Caution." }, ...(text.length > 900 ? spoken("caution", text) : [{ what: "caution", text }])] : []);

// silence ends what is said, and drops what waits.
export function silence() {
  queue = [];
  silenced = true;
  cut?.();
}

// say speaks a sentence of another module behind a signal, "" for none: {text, urgent, earcon, next}. What is next
// is said before what waits, behind the stops.
document.addEventListener("readback:say", ({ detail }) =>
  add({ stop: Boolean(detail.urgent), next: Boolean(detail.next), parts: [...(detail.earcon === "" ? [] : [{ what: "signal", text: detail.earcon ?? "ask" }]), ...spoken("say", detail.text)] }));
document.addEventListener("readback:hush", () => silence());
document.addEventListener("readback:talking", ({ detail }) => {
  held = detail;
  if (!held) queueMicrotask(run); // once the note is over in full
  else if (!turn?.stop) cut?.(); // it has not sounded yet: what sounds was hushed
});

function add(one) {
  if (silent() || !speaker()) return;
  if (sound().mode === "voice") for (const part of one.parts) if (part.what !== "signal") part.clip = load(part.text);
  if (!open()) queue = queue.filter((t) => t.stop || t.kept); // old verdicts are not for whoever comes later
  if (!one.stop && !one.next) queue.push(one);
  else queue.splice(stops(), 0, one);
  if (one.stop && turn && !turn.stop) cut?.();
  run();
}

// stops counts the stops that wait; they stand first.
const stops = () => queue.filter((t) => t.stop).length;

// may reports whether the next turn may begin.
const may = () => queue.length > 0 && (!held || queue[0].stop) && open() && !silent();

async function run() {
  if (turn || !may()) return;
  let wasHeard = false;
  while (may()) {
    turn = queue.shift();
    silenced = false;
    const whole = await sayTurn();
    wasHeard ||= turn.sounded;
    if (whole && turn.sounded && !turn.unsaid) turn.heard?.();
    else if (!whole && !silenced) queue.splice(stops(), 0, turn);
  }
  if (silent()) queue = [];
  turn = null;
  shown(null);
  if (wasHeard) tell("silent");
}

// sayTurn reports whether all of a turn was said.
async function sayTurn() {
  while (turn.parts.length > 0) {
    if (!(await sayPart(turn.parts[0]))) return false;
    turn.parts.shift();
  }
  return true;
}

// sayPart reports whether the part was said, or cannot be.
async function sayPart(part) {
  let off = false;
  let now = () => {};
  const ended = new Promise((done) => {
    cut = () => {
      off = true;
      now();
      done();
    };
  });
  const waits = (ms) => Promise.race([ended, new Promise((done) => setTimeout(done, ms))]);
  if (part.what === "signal") {
    begin(part, secondsOf(part.text));
    now = ring(part.text, speaker());
    await waits(secondsOf(part.text) * 1000);
  } else {
    let clip = sound().mode === "voice" ? await Promise.race([clipOf(part), ended]) : null;
    let end = "unsaid";
    while (clip && !off) {
      begin(part, clip.seconds);
      const playing = clip.play();
      now = playing.stop;
      end = await Promise.race([playing.ended, waits(mostOf(clip)).then(() => "late")]);
      if (end === "late" && !off) now(); // else the microphone would hear it
      clip = end === "failed" && !off ? await Promise.race([load(part.text), ended]) : null; // it failed: another voice says it
      if (!clip && !off) await waits(pause);
    }
    if (!off && end !== "said") turn.unsaid = true;
  }
  cut = null;
  return !off;
}

// clipOf is what was loaded; where nothing spoke then, a voice of this device may have come since.
const clipOf = async ({ clip, text }) => (clip ? (await clip) ?? standIn(text) : load(text));

// mostOf is how long a clip may sound, in ms.
const mostOf = ({ seconds, guessed }) => seconds * 1000 * (guessed ? 2 : 1) + grace;

function begin(part, seconds) {
  turn.sounded = true;
  shown(part);
  tell("speaking", { what: part.what, text: part.text, seconds });
}

const tell = (name, detail) => document.dispatchEvent(new CustomEvent(`readback:${name}`, { bubbles: true, detail }));

// A loudspeaker that opens says what waited; one that is turned off is silent at once.
onSound(() => (silent() ? silence() : run()));
document.addEventListener("keydown", (event) => event.key === "Escape" && silence());
wake();
