// The form that says how the sheet sounds, the button that leads to it, and the line that
// shows what is being said.

import { byId, make } from "./dom.js";
import { choose, onSound, open, silent, sound, speaker, wake } from "./sound.js";
import { browserVoices, idOf, known, onBrowserVoices, sends, speaks } from "./voices.js";
import { example, onSpoken } from "./speak.js";

const sample = "Collar nut three, forty-eight newton metres. In.";

let ofServer = [];
let listed = ""; // the voices that the form has

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
  const { mode, volume, speed } = sound();
  for (const radio of modes()) radio.checked = radio.value === mode;
  byId("sound-volume").value = Math.round(volume * 100);
  byId("sound-speed").value = Math.round(speed * 100);
  draw();
}

// draw says how it stands, on the button and in the form.
function draw() {
  drawVoices();
  const { mode, volume, speed } = sound();
  const { voice, problem } = speaks();
  const state = !speaker() ? "none" : silent() ? "off" : !open() ? "locked" : mode === "signals" || !voice ? "signals" : "voice";
  const button = byId("sound-open");
  button.dataset.sound = state;
  button.textContent = { none: "No sound", off: "Sound off", locked: "Tap for sound", signals: "Signals only", voice: "Sound" }[state];
  byId("sound-volume-is").textContent = volume === 0 ? "silent" : `${Math.round(volume * 100)} %`;
  byId("sound-speed-is").textContent = `${Math.round(speed * 100)} %`;
  byId("sound-state").textContent = {
    none: "This browser cannot play sound.",
    off: "Nothing sounds. What is said stands on the sheet alone.",
    locked: "The browser is silent until you tap or press a key.",
    signals: mode === "voice" ? `${problem} ${instead(voice)}` : "Signals alone sound: one tone in, two low ones out or stop, three quick ones ask.",
    voice: problem ? `${problem} ${instead(voice)}` : "After each note its signal, then its sentence. Escape, or “stop” typed as a note, ends what is said.",
  }[state];
}

// instead says what sounds where the server does not speak.
function instead(voice) {
  if (!voice) return "Signals alone sound.";
  return voice === "server" ? "What was said before still sounds; else signals alone." : `${voice.name}, a voice of this device, speaks.`;
}

// drawVoices lists the voices, and shows which speaks. Those that send what is spoken away stand
// apart, and say so.
function drawVoices() {
  const own = browserVoices();
  const far = own.filter(sends);
  const groups = [
    ["Of the server", ofServer.map((v) => [v.id, v.name])],
    ["Of this device", own.filter((v) => !sends(v)).map((v) => [idOf(v), v.name])],
    ["Of somebody else’s service", far.map((v) => [idOf(v), `${v.name} (sends what is spoken away)`])],
  ].filter(([, voices]) => voices.length > 0);
  const select = byId("sound-voice");
  if (listed !== JSON.stringify(groups)) {
    listed = JSON.stringify(groups);
    select.replaceChildren(make("option", { value: "" }), ...groups.map(([label, voices]) => make("optgroup", { label }, ...voices.map(([value, name]) => make("option", { value }, name)))));
  }
  select.disabled = groups.length === 0;
  const { voice } = speaks();
  const wanted = sound().voice;
  const here = [...select.options].some((o) => o.value === wanted);
  write(select.options[0], !voice ? "None" : voice === "server" ? "The server’s usual voice" : `${here ? "None chosen" : "In its place"}: ${voice.name}`);
  select.value = here ? wanted : "";
  const failed = here && own.some((v) => idOf(v) === wanted && v !== voice);
  const note = byId("sound-voice-note");
  write(note, [
    !here && groups.length > 0 && "The voice that was chosen is not here now.",
    failed && "The voice that was chosen failed. It is tried again in a minute.",
    far.length > 0 && awayText(far, voice),
  ].filter(Boolean).join(" "));
  note.hidden = note.textContent === "";
}

// awayText says which voices send what is spoken off this device.
function awayText(far, voice) {
  if (far.includes(voice)) return `${voice.name} sends what is spoken to somebody else’s service, out of the shop.`;
  return `${far.length === 1 ? `${far[0].name} sends` : "Those of somebody else’s service send"} what is spoken out of the shop, and ${far.length === 1 ? "speaks" : "speak"} only if you choose it.`;
}

function write(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

// show says what is being spoken; a stop of it is one key.
function show(part) {
  const line = byId("spoken");
  const spoken = part !== null && part.what !== "signal";
  line.hidden = !spoken;
  line.textContent = spoken ? `Speaking: ${part.text}` : "";
  draw();
}
