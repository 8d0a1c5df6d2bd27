// The sheet itself: each callout in the order of the work, with its limits and what
// stands at each of its places.

import { clock, make, byId, count } from "./dom.js";
import { sign, words } from "./signs.js";
import { ofFinding } from "./verdict.js";
import { bySeverity } from "./slab.js";
import { keyOf as key } from "./figures.js";
import { actsOf, drawDecided } from "./decide.js";

let open = new Map(); // by place: the word of the worst finding that is open there

// worstByPlace gives for each place the word of the worst finding that is open there.
export function worstByPlace(findings) {
  const words = bySeverity(findings).reverse().map((f) => [key(f.callout, f.at), ofFinding(f)]);
  return new Map(words.filter(([, word]) => word !== "noted"));
}

// drawCallouts shows a job's state; heeds(stop) answers a stop.
export function drawCallouts(state, heeds) {
  const next = state.next ? key(state.next.callout, state.next.at) : "";
  const cautions = new Map((state.cautions ?? []).map((c) => [c.before, c.text]));
  open = worstByPlace(state.findings ?? []);
  const rows = state.callouts.filter(shows).map((c) => callout(c, next, cautions.get(c.id)));
  byId("callouts").replaceChildren(...rows);
  byId("callouts").dataset.entries = state.entries; // up to which entry this is the state
  byId("left").textContent = state.left ? `${state.left} left to do` : "nothing left to do";
  byId("invented").hidden = !state.invented;
  drawOpen(state, heeds);
  drawDecided(state);
  follow(next);
}

let followed = "";

// follow rolls the sheet on to the callout that comes next, once it has changed. On a phone
// the sheet is one with the page, and stays where it is.
function follow(next) {
  const roll = document.querySelector(".roll");
  const row = roll.querySelector("#callouts > .now");
  if (next === followed || !row || roll.scrollHeight <= roll.clientHeight) return;
  followed = next;
  const before = row.previousElementSibling;
  const fits = before && before.offsetHeight + row.offsetHeight <= roll.clientHeight;
  roll.scrollTop = (fits ? before : row).offsetTop - roll.offsetTop;
  const place = row.querySelector("li.now");
  if (row.offsetHeight > roll.clientHeight) roll.scrollTop = place.offsetTop - roll.offsetTop - roll.clientHeight / 2;
}

// shows leaves out what only may happen and has not.
const shows = (c) => c.owed || c.places.some((p) => p.reading || p.mark || p.void) || c.derived;

function drawOpen(state, heeds) {
  const sorted = bySeverity(state.findings ?? []);
  byId("open").hidden = sorted.length === 0;
  byId("open-title").textContent = `${count(sorted.length, "thing")} still open`;
  byId("open-list").replaceChildren(...sorted.map((f) => {
    const word = ofFinding(f);
    return make("li", { "data-word": word }, make("span", { class: "mark" }, sign(word), make("b", {}, words[word].plate.toLowerCase())), make("div", {}, f.text, ...answered(f, state.stops ?? [], heeds), actsOf(f, state)));
  }));
}

// answered says who sees to a stop, or lets whoever is at the bench say so.
function answered(f, stops, heeds) {
  const stop = f.severity === "stop" && stops.find((s) => s.rule === f.rule && key(s.callout, s.at) === key(f.callout, f.at) && s.text === f.text);
  if (!stop) return [];
  if (stop.heeded) return [make("b", { class: "heeded" }, ` ${stop.heeded.person} sees to it, since ${clock(stop.heeded.at)}.`)];
  const button = make("button", { type: "button", class: "heeds" }, "I see to it");
  button.addEventListener("click", () => heeds(stop));
  return [button];
}

function callout(c, next, caution) {
  const limits = common(c.places);
  const rows = inRows(c.places);
  const isNext = c.places.some((p) => key(c.id, p.at) === next);
  const single = c.places.length === 1 && Object.keys(c.places[0].at).length === 0;
  return make("li", { "data-callout": c.id, class: [isNext && "now", single && "single"].filter(Boolean).join(" ") || null },
    make("div", { class: "name" }, make("h3", {}, c.name), c.derived && make("span", { class: "how" }, "worked out"),
      limits && make("p", { class: "limits" }, limits)),
    make("div", { class: "places" }, ...rows.map((r) => row(c, r, limits ? "" : common(r), next))),
    caution && make("p", { class: "caution" }, caution));
}

// common gives the limits that all places share, or "".
const common = (places) => (places.every((p) => p.limits === places[0].limits) ? places[0].limits ?? "" : "");

// inRows puts places with two axes into a row for each index of the last one.
function inRows(places) {
  const rows = new Map();
  for (const p of places) {
    const axes = Object.entries(p.at);
    const name = axes.length > 1 ? axes.at(-1).join(" ") : "";
    if (!rows.has(name)) rows.set(name, []);
    rows.get(name).push(p);
  }
  return [...rows.values()];
}

function row(c, places, limits, next) {
  const axes = Object.entries(places[0].at);
  const title = axes.length > 1 ? axes.at(-1).join(" ") : "";
  return make("div", { class: "rowof" },
    title && make("p", { class: "round" }, title, limits && make("span", { class: "limits" }, limits)),
    make("ul", {}, ...places.map((p) => place(c, p, axes.length > 1, title || limits, next))));
}

function place(c, p, inRound, covered, next) {
  const axes = Object.entries(p.at);
  const label = (inRound ? axes.slice(0, -1) : axes).map((x) => x.join(" ")).join(", ");
  const word = open.get(key(c.id, p.at)) ?? wordOf(p);
  const isNext = key(c.id, p.at) === next;
  const value = p.reading?.shown ?? (p.mark && p.mark !== "done" ? p.mark : "");
  const own = p.limits && p.limits !== value && !covered && c.places.length > 1 && common(c.places) === "" ? p.limits : "";
  return make("li", { "data-word": word, class: isNext ? "now" : null, title: p.where },
    label && make("span", { class: "at" }, label),
    make("span", { class: p.reading ? "value" : "value told" }, ...(p.reading ? written(p.reading.also ? value + "," : value) : [value])),
    likely(p.reading) && make("span", { class: "also" }, likely(p.reading)),
    p.reading?.also && make("span", { class: "also" }, p.reading.also),
    own && make("span", { class: "limits" }, own),
    p.disposition && make("span", { class: "also" }, p.disposition === "use as is" ? "used as is" : p.disposition),
    make("span", { class: "mark" }, word === "todo" ? null : sign(word), make("b", {}, isNext && word === "todo" ? "next" : text(word, c, p))));
}

// drawNewer says what a newer revision of the spec calls for otherwise; the job goes by the
// one that it was opened with.
export function drawNewer({ newer, revision }) {
  byId("newer").hidden = !newer;
  if (!newer) return;
  byId("newer-title").textContent = `Revision ${newer.revision} of the build spec is out`;
  byId("newer-kept").textContent = newer.changes.length
    ? `This job stays with revision ${revision}. Ask the lead about what ${newer.revision} calls for otherwise:`
    : `This job stays with revision ${revision}. For this unit nothing differs.`;
  byId("newer-list").replaceChildren(...newer.changes.map((change) => make("li", {}, change)));
}

// likely says how likely a reading near or past a limit is inside, where the instrument tells.
function likely(reading) {
  if (!reading?.conformity || reading.verdict === "in") return "";
  const percent = Math.min(Math.max(Math.round(reading.conformity * 100), 1), 99);
  return `${percent} % likely inside`;
}

// written sets the unit smaller than its number.
function written(value) {
  const gap = value.indexOf(" ");
  return gap < 0 ? [value] : [value.slice(0, gap), " ", make("small", {}, value.slice(gap + 1))];
}

// wordOf gives the word for what stands at a place.
export function wordOf(p) {
  if (p.reading) return p.reading.verdict;
  if (p.void) return "void";
  return p.mark ? (p.mark === "undone" ? "noted" : "done") : "todo";
}

function text(word, c, p) {
  if (word !== "todo") return words[word].plate.toLowerCase();
  if (p.owed) return "to do";
  return c.derived ? "not yet" : "not said";
}
