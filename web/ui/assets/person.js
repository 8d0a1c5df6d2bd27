// Who is at this bench: a name that the browser keeps for all its sheets, and the form that
// takes the next one.

import { byId } from "./dom.js";

const key = "readback.person";
const longest = 100; // characters, as the server takes them

let memory = ""; // where the browser keeps nothing

// person is the name of who is at the bench, "" where nobody gave one.
export function person() {
  let name = memory;
  try {
    name = localStorage.getItem(key) ?? memory;
  } catch {
    // this browser keeps nothing: the name holds until the page is left
  }
  return wrongWith(name) ? "" : name;
}

export function keepPerson(name) {
  memory = name;
  try {
    localStorage.setItem(key, name);
  } catch {
    forgetKept(); // else the one before would come back
  }
}

function forgetKept() {
  try {
    localStorage.removeItem(key);
  } catch {
    // nothing is kept at all
  }
}

// onPerson calls back when another sheet of this browser was given a name.
export const onPerson = (changed) => addEventListener("storage", (event) => event.key === key && changed());

// wrongWith says why a text cannot be a name, or "".
function wrongWith(name) {
  const length = [...name].length;
  if (!name) return "Give the name of who is at the bench.";
  if (/\p{Cc}/u.test(name) || name.isWellFormed?.() === false) return "The name holds a character that nobody can see. Take it out, or type the name anew.";
  if (length > longest) return `The name has ${length} characters; it may have ${longest}. Give a shorter one.`;
  if (name.toLowerCase() === "not stated") return "“Not stated” stands in the record where nobody gave a name. Give another.";
  return "";
}

// Handover is the form. over(name) hands over; it resolves to what went wrong, or "".
export class Handover {
  #dialog = byId("handover");
  #name = byId("handover-name");
  #busy = false;

  constructor(over, leave) {
    this.over = over;
    byId("who-change").addEventListener("click", () => this.open());
    byId("handover-cancel").addEventListener("click", () => this.#dialog.close());
    this.#dialog.addEventListener("close", leave);
    this.#name.addEventListener("input", () => this.#wrong(""));
    byId("handover-form").addEventListener("submit", (event) => {
      event.preventDefault();
      this.#take();
    });
  }

  open() {
    const now = person();
    byId("handover-title").textContent = now ? "Hand over" : "Who is at the bench?";
    byId("handover-why").textContent = now
      ? `${now} leaves. Notes that wait here are sent under that name first. Whoever comes is told where the job stands, and starts anew: “same again” and “scratch that” mean nothing said before.`
      : "The name stands in the record beside each note from here on, until the bench is handed over.";
    byId("handover-label").textContent = now ? "Name of who takes over" : "Name";
    byId("handover-go").textContent = now ? "Hand over" : "Take the name";
    this.#name.value = "";
    this.#wrong("");
    this.#dialog.showModal();
    this.#name.focus();
  }

  async #take() {
    if (this.#busy) return;
    this.#busy = true;
    const name = this.#name.value.trim();
    const wrong = wrongWith(name) || (name === person() ? `${name} is at the bench already.` : "") || (await this.over(name));
    this.#busy = false;
    if (wrong) this.#wrong(wrong);
    else this.#dialog.close();
  }

  #wrong(text) {
    byId("handover-wrong").hidden = !text;
    byId("handover-wrong").textContent = text;
    this.#name.toggleAttribute("aria-invalid", text !== "");
    if (text) this.#name.focus();
  }
}
