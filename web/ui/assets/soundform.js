// The form that says how the sheet sounds, the button that leads to it, and the line that
// shows what is being said.

import { byId, make } from "./dom.js";
import { choose, onSound, open, silent, sound, speaker, wake } from "./sound.js";
import { browserVoices, idOf, known, onBrowserVoices, trouble } from "./voices.js";
import { example, onSpoken } from "./speak.js";

const sample = "Collar nut three, forty-eight newton metres. In.";

let ofServer = [];

// soundForm makes the form work; leave is called when it is closed.
export async function soundForm(leave) {
  const dialog = byId("sound");
  const button = byId("sound-open");
  button.addEventListener("click", () => {
    if (button.dataset.sound === "locked") return wake();
    fill();
    dialog.showModal();
    refresh();
  });
  dialog.addEventListener("close", leave);
  byId("sound-form").addEventListener("submit", (event) => {
    event.preventDefault();
    dialog.close();
  });
  for (const radio of modes()) radio.addEventListener("change", () => choose({ mode: radio.value }));
  byId("sound-voice").addEventListener("change", (event) => choose({ voice: event.target.value }));
  byId("sound-volume").addEventListener("input", (event) => choose({ volume: event.target.value / 100 }));
  byId("sound-speed").addEventListener("input", (event) => choose({ speed: event.target.value / 100 }));
  for (const signal of ["in", "out", "ask"]) byId(`sound-${signal}`).addEventListener("click", () => example(signal));
  byId("sound-try").addEventListener("click", () => example("in", sample));
  onSound(draw);
  onSpoken(show);
  onBrowserVoices(fill);
  fill();
  await refresh();
}

const modes = () => document.querySelectorAll("#sound input[name=mode]");

// refresh asks the server for its voices.
async function refresh() {
  ofServer = await known();
  fill();
}

// fill shows what was chosen.
function fill() {
  const { mode, voice, volume, speed } = sound();
  for (const radio of modes()) radio.checked = radio.value === mode;
  byId("sound-volume").value = Math.round(volume * 100);
  byId("sound-speed").value = Math.round(speed * 100);
  const own = browserVoices();
  const groups = [
    ofServer.length > 0 && make("optgroup", { label: "Of the server" }, ...ofServer.map((v) => make("option", { value: v.id }, v.name))),
    own.length > 0 && make("optgroup", { label: "Of this browser" }, ...own.map((v) => make("option", { value: idOf(v) }, v.name))),
  ].filter(Boolean);
  const select = byId("sound-voice");
  select.replaceChildren(...(groups.length ? groups : [make("option", { value: "" }, "None yet")]));
  select.disabled = groups.length === 0;
  const ids = [...select.options].map((o) => o.value);
  select.value = ids.includes(voice) ? voice : (ids[0] ?? "");
  draw();
}

// draw says how it stands, on the button and in the form.
function draw() {
  const { mode, volume, speed } = sound();
  const lost = mode === "voice" && trouble() !== "";
  const state = !speaker() ? "none" : silent() ? "off" : !open() ? "locked" : mode === "signals" || lost ? "signals" : "voice";
  const button = byId("sound-open");
  button.dataset.sound = state;
  button.textContent = { none: "No sound", off: "Sound off", locked: "Tap for sound", signals: "Signals only", voice: "Sound" }[state];
  byId("sound-volume-is").textContent = volume === 0 ? "silent" : `${Math.round(volume * 100)} %`;
  byId("sound-speed-is").textContent = `${Math.round(speed * 100)} %`;
  byId("sound-state").textContent = {
    none: "This browser cannot play sound.",
    off: "Nothing sounds. What is said stands on the sheet alone.",
    locked: "The browser is silent until you tap or press a key.",
    signals: lost ? trouble() : "Signals alone sound: one tone in, two low ones out or stop, three quick ones ask.",
    voice: "After each note its signal, then its sentence. Escape, or “stop” typed as a note, ends what is said.",
  }[state];
}

// show says what is being spoken; a stop of it is one key.
function show(part) {
  const line = byId("spoken");
  const spoken = part !== null && part.what !== "signal";
  line.hidden = !spoken;
  line.textContent = spoken ? `Speaking: ${part.text}` : "";
  draw();
}
