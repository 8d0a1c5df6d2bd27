// How the sheet sounds: what was chosen, which this browser keeps, and the way to the
// loudspeaker, which a browser opens only after somebody has touched the page.

const key = "readback.sound";
const usual = { mode: "voice", voice: "", volume: 1, speed: 1 };
const modes = ["voice", "signals", "off"];

const changed = new Set();
let chosen = read();

function read() {
  let kept = {};
  try {
    kept = JSON.parse(localStorage.getItem(key)) ?? {};
  } catch {
    // this browser keeps nothing, or something else
  }
  return {
    mode: modes.includes(kept.mode) ? kept.mode : usual.mode,
    voice: typeof kept.voice === "string" ? kept.voice : usual.voice,
    volume: within(kept.volume, 0, 1, usual.volume),
    speed: within(kept.speed, 0.5, 2, usual.speed),
  };
}

function within(n, least, most, otherwise) {
  return typeof n === "number" && n >= least && n <= most ? n : otherwise;
}

// sound is what was chosen: mode (voice, signals, off), voice ("" none: the server's usual, its
// others by their id, those of the browser as idOf in voices.js names them), volume, speed.
export const sound = () => chosen;

// silent reports whether nothing may sound at all.
export const silent = () => chosen.mode === "off" || chosen.volume === 0;

export function choose(change) {
  chosen = { ...chosen, ...change };
  try {
    localStorage.setItem(key, JSON.stringify(chosen));
  } catch {
    // as above: it holds until the page is left
  }
  apply();
}

// onSound calls back when something was chosen, here or on another sheet of this browser,
// and when the loudspeaker opens or closes.
export const onSound = (f) => changed.add(f);

let context = null;
let gain = null;

// speaker is where sound goes, or null where this browser has none.
export function speaker() {
  if (context) return { context, out: gain };
  try {
    context = new AudioContext({ latencyHint: "interactive" });
    gain = context.createGain();
    gain.connect(context.destination);
    context.addEventListener("statechange", tell);
    apply();
  } catch {
    context = null;
    return null;
  }
  return { context, out: gain };
}

// open reports whether what is played now is heard.
export const open = () => speaker()?.context.state === "running";

// wake opens the loudspeaker; the browser allows it on a touch or a key.
export function wake() {
  if (!open()) speaker()?.context.resume().catch(() => {});
}

function apply() {
  if (gain) gain.gain.value = chosen.volume ** 2; // as the ear hears it
  tell();
}

function tell() {
  for (const f of changed) f();
}

for (const touch of ["pointerup", "touchend", "keydown"]) document.addEventListener(touch, wake, { capture: true, passive: true });
addEventListener("storage", (event) => {
  if (event.key !== key) return;
  chosen = read();
  apply();
});
