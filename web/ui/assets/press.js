// What is pressed to talk: a key, a pedal that sends one, or the large button.

import { byId } from "./dom.js";

const typing = "input, select, textarea";
const own = "a, button, summary, input, select, textarea"; // what a space works by itself
const never = ["Tab", "Enter", "Escape", "Shift", "Control", "Alt", "AltGraph", "Meta", "Backspace", "Dead", "Process", "Unidentified"];

export const space = { id: "Space", name: "Space" };

// keyOf names the key of an event, or says why it cannot be the one to talk by.
export function keyOf(event) {
  if (never.includes(event.key) || event.ctrlKey || event.altKey || event.metaKey) {
    return { wrong: `${event.key} is needed for other things. Press another key.` };
  }
  const name = event.key === " " ? "Space" : event.key.length === 1 ? event.key.toUpperCase() : event.key;
  return { key: { id: event.code || event.key, name } };
}

// onPress calls talk.press and talk.release, with true where it may still be held; key() is the key to talk by, or null.
export function onPress(talk, key, field) {
  let down = false;
  let pressed = "";
  document.addEventListener("keydown", (event) => {
    if (!meant(event, key(), field)) return;
    event.preventDefault();
    if (event.repeat || down) return;
    down = true;
    pressed = event.code || event.key;
    talk.press();
  }, true);
  document.addEventListener("keyup", (event) => {
    if (!down || (event.code || event.key) !== pressed) return;
    event.preventDefault();
    down = false;
    talk.release();
  }, true);
  addEventListener("blur", () => {
    down = false;
    talk.release(true); // whatever held it
  });
  onButton(talk);
}

// meant tells the key to talk by from one that types or works something: a key that writes does so
// in a field that holds text.
function meant(event, key, field) {
  if (!key || (event.code || event.key) !== key.id || event.ctrlKey || event.altKey || event.metaKey || event.isComposing) return false;
  if (document.querySelector("dialog[open]")) return false;
  const at = event.target;
  if (at.id === "talk-press") return true;
  if (event.key.length > 1) return true;
  if (at === field) return field.value.trim() === "";
  return !at.closest(event.key === " " ? own : typing);
}

// onButton works the large button by finger and mouse; a click without either is that of a reader
// of the screen, and works as a tap.
function onButton(talk) {
  const button = byId("talk-press");
  let held = false, clicked = false;
  button.addEventListener("pointerdown", (event) => {
    if (event.button !== 0 || talk.way !== "hold") return;
    held = true;
    button.setPointerCapture(event.pointerId);
    talk.press();
  });
  for (const end of ["pointerup", "pointercancel", "lostpointercapture"]) {
    button.addEventListener(end, () => {
      if (!held) return;
      held = false;
      talk.release(end !== "pointerup");
    });
  }
  button.addEventListener("click", (event) => {
    if (talk.way !== "hold") return talk.press();
    if (event.detail !== 0) return; // the pointer has done it
    clicked = !clicked && !talk.listens;
    clicked ? talk.press() : talk.release();
  });
  button.addEventListener("contextmenu", (event) => event.preventDefault());
}
