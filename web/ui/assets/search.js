// Searching all notes by what they mean. What is searched for is in the address, so that it can be
// kept and shared. Nothing from a note is ever markup: it is set as text, piece by piece.

import "./frame.js";
import { byId, clock, count, make, pairs } from "./dom.js";
import { ask } from "./fetch.js";
import { player } from "./play.js";
import { shelf } from "./searches.js";

const limit = 100;
const fields = ["job", "spec", "callout", "person", "verdict", "option", "condition", "from", "to", "value"];
const names = { condition: "What was wrong", callout: "About", verdict: "Verdict", person: "Said by", spec: "Spec" };
const form = byId("find");
const field = form.elements.q;

let asked = new URLSearchParams(location.search);
let turn = 0;
let fresh = 0; // of the notes, newest first: these are new since somebody looked

// go searches for what the address says from now on.
function go(change) {
  fresh = 0;
  const next = new URLSearchParams([...asked].filter(([, value]) => value));
  change(next);
  if (!next.get("q")) next.delete("q");
  asked = next;
  history.replaceState(null, "", next.size ? `/search?${next}` : "/search");
  find();
}

const some = () => asked.get("q")?.trim() || asked.get("like") || fields.some((f) => asked.get(f));

async function find() {
  const mine = ++turn;
  const query = new URLSearchParams(asked);
  if (!query.get("order")) query.set("order", "best");
  query.set("limit", limit);
  showOrder(query.get("order"));
  byId("keep").hidden = !some() || Boolean(asked.get("like"));
  if (!some()) return clear("");
  byId("found").textContent = "Looking.";
  try {
    const found = await ask(`/api/search?${query}`);
    if (mine !== turn) return;
    byId("found").textContent = said(found);
    showChips(found.filters ?? []);
    found.hits.slice(0, fresh).forEach((h) => { h.fresh = true; });
    byId("hits").replaceChildren(...found.jobs.map((j) => job(j, found.hits.filter((h) => h.job === j.id))));
    await counts(query, mine, found.total);
  } catch (problem) {
    if (mine === turn) clear(problem.message);
  }
}

function clear(words) {
  byId("found").textContent = words;
  byId("hits").replaceChildren();
  byId("narrow").hidden = true;
  const set = fields.flatMap((f) => asked.getAll(f).map((value) => ({ field: f, value, shown: `${f} ${value}` })));
  showChips(set);
}

function said({ total, hits, jobs, wide, told }) {
  const words = [];
  if (hits.length === 0) words.push("No note has these words. Try fewer, or another word for the same thing.");
  else {
    words.push(`${count(total, "note")}${total > hits.length ? `, the first ${hits.length} shown` : ""}, ${count(jobs.length, "job")}.`);
    if (wide) words.push("Few notes hold every word: jobs that hold them in several notes are among these.");
  }
  for (const line of told ?? []) words.push(line[0].toUpperCase() + line.slice(1) + ".");
  return words.join(" ");
}

function showOrder(order) {
  const group = document.querySelector(".order");
  group.hidden = !some();
  for (const b of group.children) b.setAttribute("aria-pressed", String(b.dataset.order === order));
}

function showChips(filters) {
  const like = asked.get("like");
  const all = like ? [{ field: "like", shown: `jobs like ${like}` }, ...filters] : filters;
  byId("chips").replaceChildren(...all.map((f) => {
    const button = make("button", { type: "button", "aria-label": `Take out: ${f.shown}` }, make("bdi", {}, f.shown), make("span", { class: "cross", "aria-hidden": "true" }, "✕"));
    button.addEventListener("click", () => {
      if (f.typed) field.value = f.text ?? "";
      go((next) => (f.typed ? next.set("q", f.text ?? "") : next.delete(f.field, f.value)));
      field.focus();
    });
    return make("li", {}, button);
  }));
}

async function counts(query, mine, total) {
  byId("narrow").hidden = true;
  if (query.get("like") || total < 2) return;
  const { facets } = await ask(`/api/search/facets?${query}`);
  if (mine !== turn || facets.length === 0) return;
  byId("facets").replaceChildren(...facets.map((f) => make("section", {}, make("h2", {}, names[f.field] ?? f.field), make("ul", {}, ...f.values.map((v) => {
    const button = make("button", { type: "button" }, make("bdi", {}, v.shown), ` (${v.notes})`);
    button.addEventListener("click", () => go((next) => next.set(f.field, v.value)));
    return make("li", {}, button);
  })))));
  byId("narrow").hidden = false;
}

// lit returns the text of a note with what was looked for marked.
function lit({ text, lit: spans = [] }) {
  const parts = [];
  let at = 0;
  for (const { from, to } of spans) {
    parts.push(text.slice(at, from), make("mark", {}, text.slice(from, to)));
    at = to;
  }
  return make("bdi", {}, ...[...parts, text.slice(at)].filter((p) => p !== ""));
}

// came is what came of a note: readings with their verdicts, and findings.
function came({ answer }) {
  const readings = (answer?.readings ?? []).map((r) => make("span", r.verdict === "out" ? { class: "bad" } : {}, `${r.value}${r.unit === "1" ? "" : ` ${r.unit}`}: ${r.verdict}`));
  const findings = (answer?.findings ?? []).map((f) => make("span", f.severity === "note" ? {} : { class: "bad" }, make("bdi", {}, `${f.severity}: ${f.text}`)));
  return readings.length + findings.length > 0 && make("span", { class: "came" }, ...readings, ...findings);
}

const at = (h) => `/jobs/${encodeURIComponent(h.job)}#n${h.seq}`;

const note = (h) => make("li", {},
  make("a", { href: at(h) },
    make("span", { class: "text" }, lit(h)),
    make("small", {}, [h.fresh && "new", `note ${h.seq}`, h.person, h.at && clock(h.at)].filter(Boolean).join(" · ")),
    came(h)),
  h.sound && player(h.job, h.sound, `note ${h.seq} of ${h.job}`));

function job(j, notes) {
  const like = make("button", { type: "button" }, "Jobs like this one");
  like.setAttribute("aria-label", `Jobs like ${j.id}`);
  like.addEventListener("click", () => {
    field.value = "";
    go((next) => { for (const key of [...next.keys()]) next.delete(key); next.set("like", j.id); });
    scrollTo(0, 0);
  });
  const built = [j.spec, ...pairs(j.options).map(([name, value]) => `${name} ${value}`)].filter(Boolean).join(" · ");
  const ended = (j.ended ?? []).map((h) => make("li", {}, make("a", { href: at(h) }, make("bdi", {}, h.text))));
  return make("li", {},
    make("div", { class: "head" }, make("h2", {}, make("a", { href: `/jobs/${encodeURIComponent(j.id)}` }, j.id), make("small", {}, built)), like),
    make("ol", { class: "notes" }, ...notes.map(note)),
    ended.length > 0 && make("div", { class: "ended" }, make("b", {}, "In the end"), make("ul", {}, ...ended)));
}

form.addEventListener("submit", (event) => {
  event.preventDefault();
  go((next) => { next.delete("like"); next.set("q", field.value.trim()); });
});
for (const b of document.querySelectorAll(".order button")) b.addEventListener("click", () => go((next) => next.set("order", b.dataset.order)));

shelf((query, n) => {
  asked = new URLSearchParams(query);
  asked.set("order", "newest");
  field.value = asked.get("q") ?? "";
  history.replaceState(null, "", `/search?${asked}`);
  fresh = n;
  find();
}, () => asked.toString());

field.value ||= asked.get("q") ?? ""; // somebody may be typing already
field.focus();
find();
