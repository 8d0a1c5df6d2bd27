// Playing the sound of a note. One plays at a time; it makes way for what the sheet says, and a
// microphone does not hear it: see the events in speak.js.

import { make } from "./dom.js";
import { sound } from "./sound.js";

let now = null; // what plays: {address, shows, end}; shows draw the buttons for it

const tell = (name, detail) => document.dispatchEvent(new CustomEvent(`readback:${name}`, { bubbles: true, detail }));

// player makes the button that plays a sound of a job; of says whose: "note 12".
export function player(job, hash, of) {
  const button = make("button", { type: "button", class: "play" });
  const fault = make("span", { class: "gone", role: "status" });
  const address = `/api/jobs/${encodeURIComponent(job)}/sounds/${hash}`;
  const playing = () => now?.address === address;
  const show = (plays, wrong = "") => {
    fault.textContent = wrong;
    button.replaceChildren(make("span", { class: "shape", "aria-hidden": "true" }, plays ? "■" : "▶"), plays ? "Stop" : "Play");
    button.setAttribute("aria-label", plays ? `Stop the sound of ${of}` : `Play the sound of ${of}`);
    button.dataset.plays = plays;
  };
  show(playing());
  if (playing()) now.shows.push(show); // its row was drawn anew
  button.addEventListener("click", () => {
    const mine = playing();
    now?.end();
    if (!mine) play(address, show);
  });
  return make("span", { class: "sound-of" }, button, fault);
}

function play(address, show) {
  const audio = new Audio(address);
  audio.volume = sound().volume || 1; // who presses wants to hear it
  const one = { address, shows: [show], end };
  const showAll = (plays, wrong) => one.shows.forEach((show) => show(plays, wrong));
  let over = false;
  function end(quietly = true) {
    if (over) return;
    over = true;
    audio.pause();
    audio.removeAttribute("src");
    showAll(false);
    if (now === one) now = null;
    if (quietly) tell("silent");
  }
  async function fail() {
    if (over) return; // it was stopped
    end();
    const words = await wrong(address);
    showAll(now?.address === address, words);
  }
  now = one;
  showAll(true);
  tell("speaking", { what: "played" });
  audio.addEventListener("ended", () => end());
  audio.addEventListener("pause", () => end()); // a key of the keyboard or the headset
  audio.addEventListener("error", fail);
  audio.play().catch(fail);
}

// wrong asks the server why a sound does not play.
async function wrong(address) {
  try {
    const reply = await fetch(address, { cache: "no-store", headers: { Range: "bytes=0-0" }, signal: AbortSignal.timeout(8000) });
    if (reply.ok) return "This browser cannot play it: it is FLAC.";
    const { error } = await reply.json();
    return `${error.charAt(0).toUpperCase()}${error.slice(1)}.`;
  } catch {
    return "The server cannot be reached. Play it when the line is back.";
  }
}

// What the sheet says comes first; a key that is pressed to talk ends it as well.
document.addEventListener("readback:speaking", ({ detail }) => detail?.what !== "played" && now?.end(false));
document.addEventListener("readback:hush", () => now?.end());
