// What becomes of a finding that is out: what was decided stands by it, and a form takes what is.
// The server says which findings take a disposition, and what has been decided of them.

import { byId, clock, make } from "./dom.js";
import { Problem, send } from "./fetch.js";
import { person } from "./person.js";
import { sign } from "./signs.js";
import { bySeverity } from "./slab.js";
import { ulid } from "./ulid.js";

// ways says what each disposition does. Those that are sure want a second press.
const ways = {
  rework: { name: "Rework", does: "It is put right and taken again. Open until it is in.", sure: "" },
  "use as is": { name: "Use as is", does: "It is accepted as it was read. The reading stays out, and is shown so.", sure: "The job may then be handed over with it as it is." },
  scrap: { name: "Scrap", does: "The part is replaced. Open until the new one is marked or measured.", sure: "The part must not go on." },
};

// said is how a note gives each, as in parse/dispose.go.
const said = [["rework", /^rework the part$/], ["use as is", /^use (it|the part) as is$/], ["scrap", /^scrap the part$/]];

// disposes is the disposition that a note gives, "" in any other.
export function disposes(text) {
  const words = text.toLowerCase().split(/[\s.,;:!?]+/).filter(Boolean).join(" ");
  return said.find(([, form]) => form.test(words))?.[0] ?? "";
}

const becameOf = { done: "done", lapsed: "no longer stands" };
const same = (d, f) => d.rule === f.rule && d.callout === f.callout && d.text === f.text && JSON.stringify(d.at) === JSON.stringify(f.at);

let form = null; // the Decide of this page

// actsOf gives what stands by an open finding: what was decided and is still to be done, and the way to
// decide.
export function actsOf(finding, state) {
  const d = state.decidable?.find((one) => same(one, finding));
  if (!d || !form) return null;
  const given = state.dispositions.find((one) => one.seq === d.decided);
  return make("div", { class: "decided" },
    given ? make("p", {}, make("b", {}, `${ways[given.is].name}: `), `${d.due}. ${given.person}: `, make("q", {}, given.reason)) : d.holds && make("p", {}, "No disposition yet. The job is not handed over with it."),
    act(given ? "Change" : "Decide", d));
}

function act(name, d) {
  const button = make("button", { type: "button", "data-decide": `${d.rule} ${d.callout}`, "aria-haspopup": "dialog", "aria-label": `${name}: ${d.text}` }, name);
  button.addEventListener("click", () => form.open(d));
  return button;
}

// drawDecided lists every disposition that was given, the newest first.
export function drawDecided(state) {
  const all = [...(state.dispositions ?? [])].reverse();
  byId("given").hidden = all.length === 0;
  byId("given-list").replaceChildren(...all.map((one) => {
    const d = state.decidable.find((x) => x.decided === one.seq);
    const word = one.state === "done" || (one.state === "stands" && one.is === "use as is") ? "done" : one.state === "stands" ? "left" : "void";
    return make("li", { "data-state": one.state },
      make("span", { class: "mark" }, sign(word), make("b", {}, one.is)),
      make("div", {}, make("p", {}, one.finding), make("p", {}, `${one.person}, ${clock(one.time)}: `, make("q", {}, one.reason)),
        make("p", { class: "became" }, became(one)), d && one.is === "use as is" && act("Change", d)));
  }));
}

function became(one) {
  if (one.state === "replaced") return `Replaced by number ${one.by}.`;
  if (one.state === "stands") return one.is === "use as is" ? "Accepted." : "Still to be done.";
  return `${capital(becameOf[one.state] ?? one.state)}.`;
}

// Decide is the form. kept is called once a disposition is in the record, leave when the form is closed.
export class Decide {
  #dialog = byId("decide");
  #of = null;
  #id = "";
  #sure = false;
  #busy = false;

  constructor(job, kept, leave) {
    Object.assign(this, { job, kept });
    form = this;
    byId("decide-cancel").addEventListener("click", () => (this.#sure ? this.#unsure() : this.#dialog.close()));
    this.#dialog.addEventListener("close", leave);
    byId("decide-form").addEventListener("input", () => this.#unsure());
    byId("decide-form").addEventListener("submit", (event) => {
      event.preventDefault();
      this.#take();
    });
  }

  // typed asks about the worst that is out and takes a disposition, one of which nothing was decided before others. It is
  // false where there is none.
  typed(is, state) {
    const all = bySeverity((state?.decidable ?? []).filter((d) => d.holds && d.takes.includes(is)));
    const d = all.find((one) => !one.decided) ?? all[0];
    if (d) this.open(d, is);
    return Boolean(d);
  }

  // open asks what becomes of a finding, as the state has it; is is chosen beforehand.
  open(d, is = "") {
    this.#of = d;
    byId("decide-finding").textContent = d.text;
    byId("decide-ways").replaceChildren(...d.takes.map((way) => make("label", {},
      make("input", { type: "radio", name: "is", value: way, checked: way === is }), make("span", {}, make("b", {}, ways[way].name), make("span", { class: "does" }, ways[way].does)))));
    byId("decide-person").value = person();
    byId("decide-reason").value = "";
    byId("decide-said").hidden = byId("talk").hidden;
    this.#unsure();
    this.#dialog.showModal();
    (this.#is ? byId("decide-reason") : document.querySelector("#decide-ways input")).focus();
  }

  get #is() {
    return document.querySelector("#decide-ways input:checked")?.value;
  }

  // #unsure makes the form ask anew: what was changed is another disposition.
  #unsure() {
    this.#sure = false;
    this.#id = "";
    this.#show("decide-sure", "");
    this.#show("decide-wrong", "");
    byId("decide-go").textContent = "Decide";
    byId("decide-cancel").textContent = "Cancel";
  }

  async #take() {
    if (this.#busy) return;
    const [is, reason, name] = [this.#is, byId("decide-reason").value.trim(), byId("decide-person").value.trim()];
    if (!is) return this.#wrong("Choose what becomes of it.", "#decide-ways input");
    if (!reason) return this.#wrong("Give the reason: it stands in the record.", "#decide-reason");
    if (!name || name.toLowerCase() === "not stated") return this.#wrong("Give the name of who decides.", "#decide-person");
    if (ways[is].sure && !this.#sure) {
      this.#sure = true;
      this.#show("decide-wrong", "");
      this.#show("decide-sure", `${ways[is].name}: ${this.#of.text}. ${ways[is].sure} Is that so?`);
      byId("decide-go").textContent = `Yes, ${is}`;
      byId("decide-cancel").textContent = "No";
      byId("decide-cancel").focus(); // a key that bounces says no; and it is in sight
      return;
    }
    this.#busy = true;
    this.#id ||= ulid(); // sent again after a broken line, it is the same one
    try {
      const { rule, callout, at, text } = this.#of;
      await send(`/api/jobs/${encodeURIComponent(this.job)}/dispositions`, {
        id: this.#id, finding: { rule, callout, at, text }, reading: this.#of.reading, is, reason, person: name, at: new Date().toISOString().replace(/\.\d+/, ""),
      });
      this.#dialog.close();
      this.kept();
    } catch (problem) {
      if (!(problem instanceof Problem)) throw problem;
      this.#wrong(problem.status ? problem.message : `${problem.message} It is not known whether it was kept.`, "#decide-go");
      if (problem.status === 409) this.kept();
    } finally {
      this.#busy = false;
    }
  }

  #wrong(text, at) {
    this.#show("decide-wrong", text);
    document.querySelector(at).focus();
  }

  #show(id, text) {
    byId(id).hidden = !text;
    byId(id).textContent = text;
  }
}

const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1);
