// What a page leaves for the one that it leads to, in this tab: a sentence to be said there, and
// whether the open microphone is on.

import { aloud } from "./dom.js";

const sentence = "readback.arriving";
const listens = "readback.listens";

// leave goes to a page of this server, where the sentence is said.
export function leave(address, say) {
  set(sentence, say);
  location.assign(address);
}

// arrive says what was left to be said here.
export function arrive() {
  const text = get(sentence);
  set(sentence, "");
  if (text) aloud(text, "in");
}

export const keepOn = (on) => set(listens, on ? "yes" : "");
export const wasOn = () => get(listens) === "yes";

function get(name) {
  try {
    return sessionStorage.getItem(name) ?? "";
  } catch {
    return "";
  }
}

function set(name, value) {
  try {
    sessionStorage.setItem(name, value);
  } catch {
    // this browser keeps nothing: the next page begins anew
  }
}
