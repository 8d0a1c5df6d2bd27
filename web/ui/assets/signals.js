// Short signals that are told apart without a word, in a loud shop too: by how many
// tones they have, how high they are and how they sound. One that rises: it is in, or
// taken. Two low ones: out, or stop. Three quick ones in the middle, the last higher: you
// are asked. Four high ones that fall, two and two: the wall calls somebody to a bench.

const tones = {
  in: [{ at: 0, long: 0.2, from: 660, to: 1040, wave: "sine", loud: 0.5 }],
  out: [
    { at: 0, long: 0.2, from: 196, to: 185, wave: "square", loud: 0.28 },
    { at: 0.28, long: 0.3, from: 165, to: 147, wave: "square", loud: 0.28 },
  ],
  ask: [
    { at: 0, long: 0.07, from: 520, to: 520, wave: "triangle", loud: 0.6 },
    { at: 0.13, long: 0.07, from: 520, to: 520, wave: "triangle", loud: 0.6 },
    { at: 0.26, long: 0.14, from: 700, to: 780, wave: "triangle", loud: 0.6 },
  ],
  call: [0, 0.3, 0.9, 1.2].map((at) => ({ at, long: 0.26, from: 1180, to: 740, wave: "square", loud: 0.35 })),
};

const asks = ["unclear", "refused"];
const takes = ["in", "close", "done", "noted"];

// signalOf gives the signal of a verdict's word.
export const signalOf = (word) => (asks.includes(word) ? "ask" : takes.includes(word) ? "in" : "out");

// secondsOf gives how long a signal sounds.
export const secondsOf = (name) => Math.max(...tones[name].map((t) => t.at + t.long)) + 0.06;

// ring plays a signal. It returns what stops it.
export function ring(name, { context, out }) {
  const playing = tones[name].map((tone) => play(tone, context, out));
  return () => playing.forEach((p) => p.stop());
}

function play(tone, context, out) {
  const start = context.currentTime + 0.01 + tone.at;
  const end = start + tone.long;
  const source = context.createOscillator();
  const swell = context.createGain();
  source.type = tone.wave;
  source.frequency.setValueAtTime(tone.from, start);
  source.frequency.exponentialRampToValueAtTime(tone.to, end);
  swell.gain.setValueAtTime(0, start);
  swell.gain.linearRampToValueAtTime(tone.loud, start + 0.012);
  swell.gain.setValueAtTime(tone.loud, end - 0.03);
  swell.gain.linearRampToValueAtTime(0, end);
  source.connect(swell).connect(out);
  source.start(start);
  source.stop(end + 0.02);
  return source;
}
