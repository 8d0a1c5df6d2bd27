// How loud sound is, and what is wrong with a microphone. Levels are dB below full scale. Nothing
// here knows a page or a line; time is counted in frames.

import { rate } from "./mic.js";

const silence = -100; // dB of no signal at all

export function level(frame) {
  let sum = 0;
  for (const x of frame) sum += x * x;
  return sum === 0 ? silence : 10 * Math.log10(sum / frame.length / 32768 ** 2);
}

// Voice tells speech from quiet by loudness alone: what counts while the line is down. The server
// hears better.
export class Voice {
  #floor = 0; // follows the quiet down at once, up slowly
  #loud = 0;
  #quiet = 0;
  spoke = false;

  // take looks at a frame's level.
  take(db) {
    this.#floor = Math.min(db, this.#floor + 0.05);
    const loud = db > Math.max(this.#floor + 12, -50);
    this.#loud = loud ? this.#loud + 1 : 0;
    if (this.#loud >= 3) this.spoke = true;
    this.#quiet = loud ? 0 : this.#quiet + 1;
  }

  // quiet is how many frames ago it was loud last, or began.
  get quiet() {
    return this.#quiet;
  }

  // over holds 800 ms after the last word.
  get over() {
    return this.spoke && this.#quiet >= 40;
  }
}

// share returns how much of the sound is one tone, 0 to 1 (Goertzel).
export function share(pcm, hertz) {
  const k = 2 * Math.cos((2 * Math.PI * hertz) / rate);
  let a = 0, b = 0, power = 0;
  for (const x of pcm) {
    [a, b] = [x + k * a - b, a];
    power += x * x;
  }
  return power === 0 ? 0 : Math.min(1, (2 * (a * a + b * b - k * a * b)) / (pcm.length * power));
}

// hum returns the larger share of the mains, of 50 or of 60 Hz with their next three tones.
export const hum = (pcm) => Math.max(...[50, 60].map((f) => [1, 2, 3, 4].reduce((sum, n) => sum + share(pcm, n * f), 0)));

const hush = { name: "quiet", frames: 250, ask: "Be quiet for five seconds, with the shop as it usually is." };

// The steps of the check, with the frames that they last at most.
const steps = (sentences) => [
  hush,
  ...sentences.map((read, i) => ({ name: "speech", frames: 400, ask: i ? "And this:" : "Read this aloud, as you would at the bench:", read })),
];

// Check takes frames, step by step, and says at the end what they show. It keeps no speech: of
// that it knows the levels alone.
export class Check {
  #steps;
  #step = 0;
  #taken = 0;
  #quiet = new Int16Array(hush.frames * 320);
  #quietLevels = [];
  #speech = [];
  #clipped = 0;
  #before = { speech: 0, clipped: 0 }; // the step that goes on

  constructor(sentences) {
    this.#steps = steps(sentences);
  }

  get step() {
    return this.#steps[this.#step];
  }

  // left is how many frames of the step are to come.
  get left() {
    return this.step.frames - this.#taken;
  }

  // take returns whether the time of the step is over.
  take(frame) {
    const step = this.step;
    if (!step) return true;
    const db = level(frame);
    if (step.name === "quiet") {
      this.#quiet.set(frame.subarray(0, 320), this.#taken * 320);
      this.#quietLevels.push(db);
    } else {
      this.#speech.push(db);
      if (clips(frame)) this.#clipped++;
    }
    return ++this.#taken >= step.frames;
  }

  // next goes on to the next step.
  next() {
    this.#step++;
    this.#taken = 0;
    this.#before = { speech: this.#speech.length, clipped: this.#clipped };
  }

  // again begins a sentence anew. What there is of the quiet stands.
  again() {
    if (this.step.name === "quiet") return;
    this.#taken = 0;
    this.#speech.length = this.#before.speech;
    this.#clipped = this.#before.clipped;
  }

  // finding says what was measured, and each thing that is wrong with what would help.
  finding() {
    const quiet = part(this.#quietLevels, 0.5), speech = part(this.#speech, 0.85); // a sentence fills a part of its time
    const mains = hum(this.#quiet);
    if (speech <= silence + 1 && quiet <= silence + 1) {
      return { quiet, speech, mains, wrong: ["No signal: the microphone gives nothing at all. Look at its plug and its switch, and that the system uses the right one."] };
    }
    const wrong = [];
    if (speech - quiet < 6) wrong.push("No speech was heard over the shop. Read the sentences aloud, close to the microphone.");
    else if (speech < -42) wrong.push("Too quiet. Bring the microphone closer to your mouth, or turn its gain up in the system.");
    if (this.#clipped >= 3) wrong.push("Too loud: it clips. Turn the gain down in the system, or hold the microphone further away.");
    if (mains > 0.3 && quiet > -70) wrong.push("It hums: much of the quiet is mains. Change the cable or the socket, and keep it away from drives and chargers.");
    if (speech - quiet >= 6 && speech - quiet < 15) wrong.push("Noisy: speech is hardly louder than the shop. Use a headset, speak close, and hold a key while you talk.");
    return { quiet, speech, mains, wrong };
  }
}

// clips finds samples at the end of the scale, some in a row: a peak alone is none.
function clips(frame) {
  let run = 0;
  for (const x of frame) {
    run = Math.abs(x) >= 32700 ? run + 1 : 0;
    if (run >= 3) return true;
  }
  return false;
}

function part(levels, p) {
  const sorted = [...levels].sort((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.floor(sorted.length * p))] ?? silence;
}
