// The wall: every bench that is at work, those in trouble first. The server pushes what
// changes. All times are told from its clock; while the line is down nothing is said of how
// long a bench has been silent, since nobody knows. Start reading at message().

import "./frame.js";
import { byId, clock, count, draw, make } from "./dom.js";
import { answerForm, answers, keyOf } from "./heed.js";
import { ring, secondsOf } from "./signals.js";
import { sign, words } from "./signs.js";
import { choose, onSound, open, sound, speaker, wake } from "./sound.js";
import { ofFinding, worstOf } from "./verdict.js";
import { WallLine } from "./wallline.js";

const calls = 8_000; // ms between two calls for the same stop
const shownFindings = 3; // of a bench
const soundKey = "readback.wall-sound";

// plates: the words for how a bench stands, where no finding gives one, and their signs.
const plates = {
  asked: ["asked", words.unclear.line, words.unclear.solid],
  working: ["working", "M8 50H84M56 22L84 50L56 78"],
  quiet: ["quiet", "M8 50H36M64 50H92"],
  finished: ["finished", words.done.line],
  fault: ["cannot be read", words.refused.line],
  unknown: ["not known", "M50 16V58M50 74V88"],
};

const rank = ["stop", "fault", "heeded", "wrong", "asked", "underway", "finished"];

let benches = new Map(); // by job
const tiles = new Map(); // by job: {bench, tile}
const heardOf = new Set(); // stops that were called out
let offset = 0; // what to add to performance.now() for the server's clock
let quietAfter = 600; // s
let rest = 0;
let up = false;
let lastSeen = null; // the server's time when it was heard of last
let called = 0; // when the last call sounded

// message takes what the server sent: all there is, what changed, or a sign of life.
function message(m) {
  if (m.type !== "wall") return;
  offset = Date.parse(m.now) - performance.now();
  lastSeen = m.now;
  up = true;
  quietAfter = m.quiet;
  rest = m.rest;
  if (m.whole) benches = new Map();
  for (const b of m.benches ?? []) benches.set(b.job, b);
  for (const job of m.gone ?? []) benches.delete(job);
  drawAll();
  cry();
}

function down() {
  up = false;
  drawAll();
}

const now = () => performance.now() + offset;
const silence = (b) => (now() - Date.parse(b.spoke)) / 1000;
const unanswered = (b) => b.findings.filter((f) => f.severity === "stop" && !f.heeded);

// standing is what sorts a bench.
const standing = (b) => (b.stands === "stop" && unanswered(b).length === 0 ? "heeded" : b.stands);

// wordOf gives the plate of a bench and the class that colours it.
function wordOf(b) {
  if (b.stands === "stop") return "stop";
  if (b.stands === "wrong") return worstOf(b.findings.filter((f) => f.severity === "warn").map(ofFinding)) ?? "order";
  if (b.stands !== "underway") return b.stands;
  return !up ? "unknown" : silence(b) >= quietAfter ? "quiet" : "working";
}

function signOf(word) {
  if (!plates[word]) return sign(word);
  const [, line, solid] = plates[word];
  return draw("svg", { class: "sign", viewBox: "0 0 100 100", "aria-hidden": "true", focusable: "false" },
    draw("path", { class: "stroke", d: line }), solid && draw("path", { class: "solid", d: solid }));
}

const plateOf = (word) => (plates[word] ? plates[word][0] : words[word].plate.toLowerCase());

function drawAll() {
  drawLine();
  const sorted = [...benches.values()].sort((a, b) => rank.indexOf(standing(a)) - rank.indexOf(standing(b)) || Date.parse(a.opened) - Date.parse(b.opened) || (a.job < b.job ? -1 : 1));
  for (const job of tiles.keys()) if (!benches.has(job)) tiles.delete(job);
  const list = byId("benches");
  const held = document.activeElement?.closest?.("#benches > li")?.dataset.job;

  const rows = sorted.map(tileOf);
  const same = rows.length === list.children.length && rows.every((r, i) => r === list.children[i]);
  if (!same) {
    list.replaceChildren(...rows);
    if (held && tiles.has(held)) refocus(tiles.get(held).tile);
  }
  byId("none").hidden = sorted.length > 0;
  byId("none").textContent = lastSeen ? "No bench is at work." : "Waiting for the benches.";
  byId("rest").hidden = rest === 0;
  byId("rest").replaceChildren(`${count(rest, "job")} more ${rest === 1 ? "stands" : "stand"} in the `, make("a", { href: "/" }, "list of jobs"), ": nothing was said on them for days, or they are finished.");
  const stops = sorted.filter((b) => unanswered(b).length > 0);
  document.title = stops.length ? `STOP ${stops.map((b) => b.job).join(", ")} · Wall` : "Wall · Readback";
  tick();
  fit();
}

// refocus gives the focus back to a tile that was drawn anew or moved.
function refocus(tile) {
  (tile.querySelector("button") ?? tile.querySelector("a"))?.focus({ preventScroll: true });
}

function tileOf(b) {
  const old = tiles.get(b.job);
  if (old?.bench === b) return old.tile;
  const tile = make("li", { class: "bench", "data-job": b.job },
    make("div", { class: "head" },
      make("h2", {}, make("a", { href: `/jobs/${encodeURIComponent(b.job)}` }, b.job)),
      make("p", { class: "word" })),
    make("p", { class: "who" }, [b.title || b.spec, named(b.person), b.bench].filter(Boolean).join(", ")),
    ...findings(b),
    make("p", { class: "step" }, ...step(b)),
    make("p", { class: "read" }, ...reading(b)),
    make("p", { class: "silence" }));
  tiles.set(b.job, { bench: b, tile });
  return tile;
}

const named = (person) => (person && person !== "not stated" ? person : "");

function step(b) {
  if (b.stands === "fault") return ["The server’s log says why."];
  if (b.handed_over) return [`Handed over ${clock(b.handed_over.at)}`, named(b.handed_over.person) && ` by ${b.handed_over.person}`].filter(Boolean);
  return b.next ? [make("span", { class: "tag" }, "Next"), b.next.where] : ["Nothing is left"];
}

function reading(b) {
  if (!b.last) return ["No reading yet"];
  const v = b.last.verdict;
  return [make("span", { class: "tag" }, b.last.where), make("b", {}, b.last.shown), " ", make("span", { class: "verdict", "data-word": v }, sign(v), plateOf(v))];
}

// findings lists what is open, the worst first; each unanswered stop has a button.
function findings(b) {
  if (b.findings.length === 0) return [];
  const more = b.findings.length - shownFindings;
  return [make("ul", { class: "found", "aria-label": `${b.job}: ${count(b.findings.length, "finding")} open` },
    ...b.findings.slice(0, shownFindings).map((f) => finding(b, f)),
    more > 0 && make("li", { class: "more" }, `and ${more} more open`))];
}

function finding(b, f) {
  const word = ofFinding(f);
  return make("li", { "data-word": word, class: f.severity === "stop" ? "atop" : null }, sign(word), make("span", {}, f.text), f.severity === "stop" && heeded(b, f));
}

function heeded(b, f) {
  if (f.heeded) return make("p", { class: "heeded" }, `${f.heeded.person} sees to it, since ${clock(f.heeded.at)}`);
  const button = make("button", { type: "button", "aria-label": `${b.job}: I see to it` }, "I see to it");
  button.addEventListener("click", () => answers(b.job, f));
  return button;
}

// tick writes what changes with time alone.
function tick() {
  for (const { bench, tile } of tiles.values()) {
    const word = wordOf(bench);
    tile.toggleAttribute("data-open", unanswered(bench).length > 0);
    tile.toggleAttribute("data-stale", !up);
    if (tile.dataset.word !== word) {
      tile.dataset.word = word;
      tile.querySelector(".word").replaceChildren(signOf(word), make("b", {}, plateOf(word)));
    }
    write(tile.querySelector(".silence"), up ? since(silence(bench)) : "Silence not known: the line is down");
  }
}

const large = matchMedia("(min-width: 1500px) and (min-height: 800px)"); // as in wall.css

const sizes = ["few", "some", "many", "most", "all"]; // of the letters, the largest first

// fit takes the largest letters with which all benches are on the screen, and says how many are
// not where even the smallest are too large.
function fit() {
  const list = byId("benches");
  for (const size of large.matches ? sizes : ["few"]) {
    list.dataset.size = size;
    pack();
    if (document.documentElement.scrollHeight <= innerHeight) break;
  }
  below();
}

// pack lets each tile of a wall-sized screen take as many rows of a fine grid as it is high, so
// that a short one leaves no hole; those in trouble still come first.
function pack() {
  for (const { tile } of tiles.values()) {
    const rows = large.matches ? `span ${Math.ceil(tile.offsetHeight + innerHeight / 100)}` : "";
    if (tile.style.gridRowEnd !== rows) tile.style.gridRowEnd = rows;
  }
}

// below counts the benches that start below the screen.
function below() {
  const n = large.matches ? [...tiles.values()].filter(({ tile }) => tile.getBoundingClientRect().top > innerHeight - 40).length : 0;
  byId("below").hidden = n === 0;
  write(byId("below"), n ? `${count(n, "bench", "benches")} more below` : "");
}

large.addEventListener("change", fit);
addEventListener("resize", fit);
addEventListener("scroll", below, { passive: true });

// since says how long a bench has been silent.
function since(s) {
  if (s < 60) return "Spoke just now";
  const min = Math.floor(s / 60);
  if (min < 60) return `Silent ${min} min`;
  const hours = Math.floor(min / 60);
  return hours < 48 ? `Silent ${hours} h ${min % 60} min` : `Silent ${count(Math.floor(hours / 24), "day")}`;
}

function write(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

function drawLine() {
  byId("line").dataset.line = up ? "up" : lastSeen ? "down" : "wait";
  write(byId("line-word"), up ? "Connected" : lastSeen ? "Line lost" : "Not connected yet");
  write(byId("line-more"), up ? "all as it is now" : lastSeen ? `What stands here is as it was at ${clock(lastSeen)}. The wall tries again by itself.` : "The wall tries by itself.");
}

// cry says stops aloud that nobody has answered: each at once when it comes, and all again
// after a while.
function cry() {
  const all = [...benches.values()].flatMap((b) => unanswered(b).map((f) => ({ key: keyOf(b.job, f), text: `${b.job}: ${f.text}` })));
  const fresh = all.filter((s) => !heardOf.has(s.key));
  for (const s of fresh) heardOf.add(s.key);
  if (fresh.length) byId("alarm").textContent = `Stop. ${fresh.map((s) => s.text).join(" ")}`;
  if (all.length === 0) byId("alarm").textContent = "";
  if (all.length && (fresh.length || performance.now() - called > calls)) call();
}

function call() {
  if (!sounds || !open()) return;
  called = performance.now();
  document.dispatchEvent(new CustomEvent("readback:speaking", { detail: { what: "signal", text: "call", seconds: secondsOf("call") } }));
  ring("call", speaker());
}

let sounds = false; // somebody wants to be called by sound

function turnSound(on) {
  sounds = on;
  try {
    localStorage.setItem(soundKey, on ? "on" : "off");
  } catch {
    // it holds until the page is left
  }
  if (on) wake();
  drawSound();
}

// drawSound says how it stands: a browser plays nothing until somebody has touched the page.
function drawSound() {
  const button = byId("call");
  const locked = sounds && !open();
  button.setAttribute("aria-pressed", String(sounds && !locked));
  write(button, locked ? "Tap for sound" : "Sound for a stop");
  byId("call-form").hidden = !sounds;
  byId("call-volume").value = Math.round(sound().volume * 100);
}

byId("call").addEventListener("click", () => (sounds && !open() ? wake() : turnSound(!sounds)));
byId("call-volume").addEventListener("input", (event) => choose({ volume: event.target.value / 100 }));
byId("call-try").addEventListener("click", () => {
  wake();
  setTimeout(call, 60);
});
onSound(drawSound);
try {
  sounds = localStorage.getItem(soundKey) === "on";
} catch {
  // it is off
}
drawSound();
answerForm(() => {});
setInterval(() => {
  tick();
  cry();
}, 1000);
new WallLine({ message, down }).now();
drawAll();
