// The jobs, newest work first, and the form that opens one with its options.

import "./frame.js";
import { desk } from "./opening.js";
import { byId, clock, make, pairs } from "./dom.js";
import { ask, send } from "./fetch.js";

const form = byId("open");
const few = 12; // jobs that are listed at first
let specs = [];
let every = false; // all jobs are listed

async function list() {
  const none = byId("list-none");
  try {
    const { jobs, total, seal } = await ask(every ? "/api/jobs" : `/api/jobs?limit=${few}`);
    tellSeal(seal);
    none.hidden = jobs.length > 0;
    byId("list-wide").hidden = jobs.length === 0;
    if (!jobs.length) none.textContent = "No job is open yet. Open the first one here.";
    const sorted = [...jobs].sort((a, b) => (a.last < b.last ? 1 : -1));
    const held = document.activeElement?.closest("#jobs a")?.href;
    byId("jobs").tBodies[0].replaceChildren(...sorted.map(row));
    if (held) [...document.querySelectorAll("#jobs a")].find((a) => a.href === held)?.focus();
    byId("older").hidden = jobs.length >= total;
    byId("older").textContent = `List all ${total} jobs`;
  } catch (problem) {
    none.hidden = false;
    none.textContent = problem.message;
  }
}

// tellSeal says what is wrong with the seal of the record; what is said already is not said again.
function tellSeal(said = []) {
  const there = byId("seal");
  if ([...there.children].map((p) => p.textContent).join("\n") === said.join("\n")) return;
  there.replaceChildren(...said.map((text) => make("p", { class: "wrong" }, text)));
}

function row(j) {
  const options = pairs(j.options).map(([name, value]) => `${name} ${value}`).join(", ");
  return make("tr", {},
    make("th", { scope: "row" }, make("a", { href: `/jobs/${encodeURIComponent(j.id)}` }, j.id), " ", make("a", { href: `/jobs/${encodeURIComponent(j.id)}/lead`, "aria-label": `${j.id} at a glance` }, "glance")),
    make("td", {}, j.title || j.spec, make("small", {}, `${j.spec}, rev. ${j.revision}${j.invented ? ", invented" : ""}`)),
    make("td", {}, options),
    cell(j.readings === 0 ? "none yet" : j.readings === 1 ? "reading" : "readings", j.readings),
    cell(j.open ? "still open" : "none open", j.open, j.open ? "open" : null),
    cell(j.left ? "left to do" : "nothing left", j.left),
    make("td", {}, clock(j.last)));
}

async function listAll() {
  const shown = byId("jobs").tBodies[0].rows.length;
  every = true;
  byId("older").textContent = "Looking.";
  await list();
  byId("jobs").tBodies[0].rows[shown]?.querySelector("a").focus();
}

const cell = (words, n, mark) => make("td", { class: "n", "data-mark": mark }, n > 0 && make("b", {}, String(n)), make("small", {}, words));

async function fillSpecs() {
  try {
    ({ specs } = await ask("/api/specs"));
    form.elements.spec.replaceChildren(...specs.map((s) => make("option", { value: s.name }, s.title ? `${s.name}: ${s.title}` : s.name)));
    showOptions();
  } catch (problem) {
    wrong(problem.message);
  }
}

// showOptions asks for what the chosen spec must know, defaults filled in.
function showOptions() {
  const spec = specs.find((s) => s.name === form.elements.spec.value);
  byId("spec-hint").textContent = spec ? `${spec.title ? `${spec.title}, r` : "R"}evision ${spec.revision}${spec.invented ? ", invented: build nothing by it" : ""}` : "";
  const options = spec?.options ?? [];
  byId("options").hidden = options.length === 0;
  byId("options").replaceChildren(make("legend", {}, "Options of this unit"), spoken(spec), ...options.map(option));
}

// spoken is a field for all options at once, in any order: what is understood is filled in
// below, and said back.
function spoken(spec) {
  const input = make("input", { id: "said", type: "text", autocomplete: "off", autocapitalize: "off", spellcheck: false, enterkeyhint: "done", "aria-describedby": "said-hint" });
  const hint = make("span", { class: "hint", id: "said-hint", role: "status" }, `All at once, in any order: ${example(spec)}`);
  input.addEventListener("keydown", (event) => {
    if (event.key !== "Enter") return;
    event.preventDefault();
    understand(spec, input.value, hint);
  });
  input.addEventListener("change", () => understand(spec, input.value, hint));
  return make("p", { class: "pair said" }, make("label", { for: "said" }, "Say or type them"), input, hint);
}

const example = (spec) => (spec?.options ?? []).slice(0, 2).map((o) => (o.values?.length ? `${o.values.at(-1)} ${o.say}` : `${o.to} ${o.say}`)).join(", ");

async function understand(spec, text, hint) {
  if (!spec || !text.trim()) return;
  try {
    const heard = await ask(`/api/specs/${encodeURIComponent(spec.name)}/options?say=${encodeURIComponent(text)}`);
    for (const [name, value] of Object.entries(heard.options)) byId(`option-${name}`).value = value;
    hint.textContent = heard.say;
  } catch (problem) {
    hint.textContent = problem.message;
  }
}

function option(o) {
  const id = `option-${o.name}`;
  const what = o.say || o.name.replaceAll("_", " ");
  const input = o.values?.length
    ? make("select", { id, name: o.name, required: true }, !o.default && make("option", { value: "" }, "choose"), ...o.values.map((v) => make("option", { value: v, selected: v === o.default }, v)))
    : make("input", { id, name: o.name, type: "number", inputmode: "numeric", required: true, min: o.from ?? 0, max: o.to, step: 1, value: o.default || null });
  const range = o.values?.length ? "" : `${o.from ?? 0} to ${o.to}`;
  return make("p", { class: "pair" }, make("label", { for: id }, what), input, range && make("span", { class: "hint" }, range));
}

function wrong(text) {
  byId("wrong").hidden = !text;
  byId("wrong").textContent = text;
  if (text) byId("wrong").scrollIntoView({ block: "center" });
}

async function open(event) {
  event.preventDefault();
  wrong("");
  const options = {};
  for (const e of byId("options").querySelectorAll("[name]")) options[e.name] = e.value;
  const person = form.elements.person.value.trim();
  try {
    const id = form.elements.id.value.trim();
    await send("/api/jobs", { id, spec: form.elements.spec.value, options, ...(person && { person }) });
    location.assign(`/jobs/${encodeURIComponent(id)}`);
  } catch (problem) {
    wrong(problem.message);
  }
}

// understood fills in what was said of a job so far.
function understood({ job, spec, options, usual }) {
  form.elements.id.value = job;
  if (!spec || !specs.some((s) => s.name === spec)) return;
  if (form.elements.spec.value !== spec) {
    form.elements.spec.value = spec;
    showOptions();
  }
  for (const [name, value] of Object.entries({ ...usual, ...options })) byId(`option-${name}`).value = value;
}

form.elements.spec.addEventListener("change", showOptions);
form.addEventListener("submit", open);
byId("older").addEventListener("click", listAll);
addEventListener("focus", list);
list();
fillSpecs();
desk(understood);
