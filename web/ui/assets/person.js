// Who is at this bench: a name that the browser keeps for all its sheets, and the form that
// takes the next one.

import { byId, make } from "./dom.js";
import { ask } from "./fetch.js";

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

const command = /^[ .,;:!?]*hand +the +bench +to +([^ .,;:!?].*?)[ .,;:!?]*$/i; // as in parse/handbench.go

// handsTo is the name in a note that hands the bench to somebody, "" in any other.
export const handsTo = (text) => command.exec(text.trim().replace(/\s+/g, " "))?.[1] ?? "";

// Handover is the form. over(name) hands over; it resolves to what went wrong, or "". Whom the shop knows by
// notes can be picked, or said.
export class Handover {
  #dialog = byId("handover");
  #name = byId("handover-name");
  #pick = byId("handover-pick");
  #busy = false;
  #people = []; // {name, unsaid} as the server knows them

  constructor(job, over, leave) {
    Object.assign(this, { job, over });
    byId("who-change").addEventListener("click", () => this.open());
    byId("handover-cancel").addEventListener("click", () => this.#dialog.close());
    this.#dialog.addEventListener("close", leave);
    this.#name.addEventListener("input", () => this.#wrong(""));
    this.#pick.addEventListener("change", () => {
      this.#name.value = this.#pick.value;
      this.#wrong("");
      if (this.#pick.value) byId("handover-go").focus();
    });
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
    this.#show("");
  }

  // ask opens the form with a name that was typed and that nobody has had here.
  ask(name) {
    byId("handover-title").textContent = "Hand the bench over?";
    byId("handover-why").textContent = `Nobody of the name ${name} has said a note in this shop. If it is right, hand over.`;
    this.#show(name);
  }

  #show(name) {
    const now = person();
    byId("handover-label").textContent = now ? "Name of who takes over" : "Name";
    byId("handover-go").textContent = now ? "Hand over" : "Take the name";
    this.#name.value = name;
    this.#wrong("");
    this.#list();
    this.#dialog.showModal();
    this.#name.focus();
    this.look();
  }

  // known is how the shop writes a name, undefined where nobody has it.
  known(name) {
    return this.#people.find((p) => p.name.toLowerCase() === name.toLowerCase())?.name;
  }

  // look asks whom the shop knows. Where the server cannot be reached, it is as it was.
  async look() {
    const before = JSON.stringify(this.#people);
    try {
      this.#people = (await ask(`/api/jobs/${encodeURIComponent(this.job)}/people`)).people;
    } catch {
      // any name can be typed
    }
    if (JSON.stringify(this.#people) !== before) this.#list();
  }

  // #list offers whom the shop knows, and says who can be named aloud.
  #list() {
    const others = this.#people.filter((p) => p.name !== person());
    const said = others.filter((p) => !p.unsaid).map((p) => p.name);
    const unsaid = others.filter((p) => p.unsaid).map((p) => `${p.name} (${p.unsaid})`);
    byId("handover-known").hidden = others.length === 0;
    this.#pick.replaceChildren(make("option", { value: "" }, "Pick a name"), ...others.map((p) => make("option", { value: p.name }, p.name)));
    byId("handover-said").textContent = said.length ? `By voice: “hand the bench to ${said[0]}”${said.length > 1 ? `, or to ${said.slice(1).join(", ")}` : ""}. It is asked first.` : "";
    byId("handover-unsaid").textContent = unsaid.length ? `Not by voice, pick or type: ${unsaid.join("; ")}.` : "";
  }

  // to hands the bench over as the form does, whether it is open or not. taken is called once it is.
  async to(name, taken) {
    const wrong = await this.#over(name, taken);
    if (!wrong && this.#dialog.open) this.#dialog.close();
    return wrong;
  }

  async #over(name, taken) {
    return wrongWith(name) || (name === person() ? `${name} is at the bench already.` : "") || (await this.over(name, taken));
  }

  async #take() {
    if (this.#busy) return;
    this.#busy = true;
    const wrong = await this.#over(this.#name.value.trim());
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
