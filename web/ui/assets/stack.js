// The unit as it is being built, drawn from the job's state: a plate for each level, the
// lowest at the bottom, with what was laid, confirmed and read there, and what closes it on
// top. Start reading at drawStack().

import { byId, draw } from "./dom.js";
import { sign, words } from "./signs.js";
import { worstOf } from "./verdict.js";
import { wordOf, worstByPlace } from "./callouts.js";
import { keyOf as key } from "./figures.js";

const roomy = matchMedia("(min-width: 900px) and (min-height: 560px)"); // as in sheet.css
const good = ["in", "close", "done", "noted"];
const fold = byId("stack");
const host = byId("stack-picture");

let levels = [];
let size = ""; // that it was drawn for
let entries = -1;
let family = "sans-serif";

// drawStack shows a job's state; a unit that is not built up level by level has no picture.
export function drawStack(state) {
  fold.hidden = !state.stack;
  if (!state.stack) return;
  levels = levelsOf(state);
  entries = state.entries;
  const own = levels.filter((l) => !l.cover);
  const stop = levels.find((l) => l.word === "stop");
  byId("stack-done").textContent = `${own.filter((l) => l.whole).length} of ${own.length} done`;
  byId("stack-stop").hidden = !stop;
  byId("stack-stop").replaceChildren(...(stop ? [sign("stop"), ` stop at ${stop.label || stop.said}`] : []));
  size = "";
  picture();
}

// levelsOf gives what the picture shows of each level, the lowest first, and the cover last.
function levelsOf({ stack, callouts, findings, next }) {
  const open = worstByPlace(findings ?? []);
  const coming = next ? key(next.callout, next.at) : "";
  const one = (c) => (p) => ({
    id: c.id, name: c.name, reading: c.kind === "reading", shown: p.reading?.shown ?? p.mark ?? "", wanted: p.limits ?? "",
    word: open.get(key(c.id, p.at)) ?? (p.mark === "undone" ? "todo" : wordOf(p)), todo: p.owed || p.mark === "undone", next: key(c.id, p.at) === coming,
  });
  const found = (ids) => ids.map((id) => callouts.find((c) => c.id === id)).filter(Boolean);
  const at = (c, value) => c.places.filter((p) => p.at[stack.axis] === value).map(one(c));
  const parts = found(stack.parts);
  const values = [...new Set(parts.flatMap((c) => c.places.map((p) => p.at[stack.axis])))];
  const out = values.map((value) => level(`${stack.axis} ${value}`, parts.flatMap((c) => at(c, value)), found(stack.other).map((c) => several(at(c, value))), stack.kinds));
  for (const c of found([stack.cover])) out.push({ ...level("", c.places.map(one(c)), [], []), cover: true });
  return out;
}

// several makes one of a callout's places at one level: "2 of 4", with the worst word.
function several(places) {
  if (places.length < 2) return places[0];
  const done = places.filter((p) => !p.todo).length;
  const word = worstOf(places.map((p) => p.word).filter((w) => w !== "todo" && !good.includes(w))) ?? (done < places.length ? "todo" : worstOf(places.map((p) => p.word)));
  return { ...places[0], name: `${places[0].name} ${done} of ${places.length}`, shown: "", word, todo: done < places.length, next: places.some((p) => p.next) };
}

function level(label, parts, others, kinds) {
  const all = [...parts, ...others].filter(Boolean);
  const laid = parts.every((p) => !p.todo);
  const kind = parts[0].shown && parts[0].shown !== "done" ? parts[0].shown : laid ? "" : parts[0].wanted;
  return {
    label, laid, others,
    said: [...new Set(parts.map((p) => (!kinds.length ? p.name : laid ? p.shown : p.wanted || p.name)))].join(", "),
    width: Math.max(0, kinds.indexOf(kind)), // 0 for the first kind, the full plate
    part: worstOf(parts.map((p) => p.word)) ?? "todo",
    word: worstOf(all.map((p) => p.word)) ?? "todo",
    next: all.some((p) => p.next),
    onPart: parts.some((p) => p.next),
    whole: all.every((p) => !p.todo && good.includes(p.word)),
  };
}

// words of one thing at a level, for those who do not see the picture.
const told = (c) => (c.word === "todo" ? `${c.name} ${c.next ? "comes next" : "to do"}` : `${c.name} ${c.reading ? c.shown + " " : ""}${words[c.word].plate.toLowerCase()}`);

function toldLevel(l) {
  const part = l.part === "todo" ? `${l.said} ${l.onPart ? "comes next" : "to do"}` : `${l.said} ${l.part === "done" ? "on" : words[l.part].plate.toLowerCase()}`;
  return [l.label, part, ...l.others.filter(Boolean).map(told)].filter(Boolean).join(", ");
}

const most = (n) => Math.max(0, ...n);
const pen = document.createElement("canvas").getContext("2d");

// long is how wide a text is in bold letters of that size.
function long(text, letter) {
  pen.font = `700 100px ${family}`;
  return (pen.measureText(text).width * letter) / 100;
}

// picture draws for the width that there is. Heights follow the screen, so that the roll
// below keeps its place; what is too long for its room is set narrower.
function picture() {
  const now = `${host.clientWidth} ${innerHeight} ${roomy.matches}`;
  if (size === now || levels.length === 0) return;
  size = now;
  const style = getComputedStyle(host);
  family = style.fontFamily;
  const u = parseFloat(style.fontSize) / 18; // larger on the wall
  const wide = Math.max(300, host.clientWidth || 400);
  const high = Math.min(34 * u, Math.max((roomy.matches ? 19 : 26) * u, (innerHeight * 0.4) / levels.length));
  const letter = Math.min(17 * u, high * 0.72, Math.max(13.5, wide / 25));
  const m = measures(wide, high, letter, u);
  const rows = [...levels].reverse().map((l, i) => row(l, m, 3 * u + i * high));
  const foot = 3 * u + levels.length * high;
  const mid = m.plate + m.plateWide / 2;
  const svg = draw("svg", { class: "built", viewBox: `0 0 ${wide} ${foot + 9 * u}`, width: wide, height: foot + 9 * u, role: "img", "aria-labelledby": "stack-name", "aria-describedby": "stack-told", "data-entries": entries },
    draw("title", { id: "stack-name" }, "The stack as it is built, the lowest level at the bottom"),
    draw("desc", { id: "stack-told" }, levels.map(toldLevel).join(". ") + "."),
    draw("path", { class: "centre", d: `M${mid} 0V${foot}` }),
    ...rows,
    draw("path", { class: "ground", d: `M${m.plate - 6 * u} ${foot}h${m.plateWide + 12 * u}` + ground(m, foot, u) }));
  svg.style.fontSize = `${letter}px`;
  host.replaceChildren(svg);
}

// measures share the width out: labels, plates, and a column for each further callout.
function measures(wide, high, letter, u) {
  const label = most(levels.map((l) => long(l.label, letter))) + high * 0.5 + 8 * u;
  const text = levels[0].others.map((_, i) => 8 * u + 1.5 * letter + most(levels.map((l) => (l.others[i] ? long(textOf(l.others[i]), letter) : 0))));
  const need = text.reduce((a, b) => a + b, 0);
  const rest = wide - label - 6 * u;
  const plateWide = Math.max(rest * 0.34, Math.min(rest * 0.5, rest - need - 10 * u));
  const plate = label + 6 * u;
  let x = plate + plateWide + 8 * u;
  const share = Math.min(1, (wide - x) / need);
  const columns = text.map((t) => {
    const column = { x, wide: t * share };
    x += t * share;
    return column;
  });
  return { u, high, letter, label, plate, plateWide, columns };
}

// textOf is short: a reading is its figures and its verdict, what is done or to do its name.
function textOf(c) {
  if (c.word === "todo" || (!c.reading && good.includes(c.word))) return c.name;
  return `${(c.reading && c.shown) || c.name} ${words[c.word].plate.toLowerCase()}`;
}

function row(l, m, y) {
  const middle = y + m.high / 2;
  const state = l.word === "stop" ? "stop" : l.whole ? "whole" : l.laid ? "laid" : "todo";
  return draw("g", { class: ["level", state, l.next && "now", l.cover && "cover"].filter(Boolean).join(" "), "data-level": l.label || "cover", "data-word": l.part },
    l.next && draw("path", { class: "flag", d: `M0 ${y + 1}H${m.label - m.high * 0.4}L${m.label} ${middle}L${m.label - m.high * 0.4} ${y + m.high - 1}H0Z` }),
    written(l.label || (l.next ? "next" : ""), 5 * m.u, middle, m.label - m.high * 0.4 - 6 * m.u, m, { class: "label" }),
    draw("path", { class: "plate-of", d: shape(l, m, y + 1.5, m.high - 3) }),
    onPlate(l, m, middle),
    ...l.others.map((c, i) => c && cell(c, m.columns[i], middle, m)));
}

// shape is the plate's outline: the first kind takes the full width, each further one less,
// with its corners off. What closes the stack reaches over it.
function shape(l, m, y, h) {
  const over = l.cover ? 6 * m.u : 0;
  const wide = m.plateWide * Math.max(0.46, 1 - 0.27 * l.width) + 2 * over;
  const x = m.plate + (m.plateWide - wide) / 2;
  const c = l.width > 0 ? h * 0.36 : 0;
  if (l.cover) return `M${x} ${y + h}V${y + h * 0.5}L${x + h * 0.5} ${y}H${x + wide - h * 0.5}L${x + wide} ${y + h * 0.5}V${y + h}Z`;
  return `M${x + c} ${y}H${x + wide - c}L${x + wide} ${y + c}V${y + h - c}L${x + wide - c} ${y + h}H${x + c}L${x} ${y + h - c}V${y + c}Z`;
}

// onPlate writes what is in a level, with the word of what is wrong with it.
function onPlate(l, m, y) {
  const wrong = l.part !== "todo" && !good.includes(l.part) && words[l.part].plate.toLowerCase();
  const room = m.plateWide * Math.max(0.46, 1 - 0.27 * l.width) - 10 * m.u;
  const lead = wrong || (l.laid && l.cover) ? m.letter * 1.15 : 0;
  const both = `${wrong}: ${l.said}`;
  const text = !wrong ? l.said : long(both, m.letter) + lead > room * 1.25 ? wrong : both;
  const taken = Math.min(room, long(text, m.letter) + lead);
  const x = m.plate + (m.plateWide - taken) / 2;
  return draw("g", { class: "on", "data-word": l.part },
    lead > 0 && placed(sign(wrong ? l.part : "done"), x, y, m),
    lead ? written(text, x + lead, y, taken - lead, m, {}) : written(text, m.plate + m.plateWide / 2, y, room, m, { class: "mid" }));
}

// cell writes a confirmation or a reading with the sign and the word of its verdict; what is
// to do has an empty box, and what comes next an arrow.
function cell(c, column, y, m) {
  const s = m.letter * 0.84;
  const box = `M${column.x + 1} ${y - s / 2}h${s}v${s}h${-s}Z`;
  const arrow = `M${column.x + 1} ${y - s / 2}h${s * 0.5}l${s * 0.5} ${s / 2}l${-s * 0.5} ${s / 2}h${-s * 0.5}Z`;
  return draw("g", { class: c.next ? "cell now" : "cell", "data-word": c.word, "data-callout": c.id },
    c.word === "todo" ? draw("path", { class: "box", d: c.next ? arrow : box }) : placed(sign(c.word), column.x, y, m),
    written(textOf(c), column.x + m.letter * 1.2, y, column.wide - m.letter * 1.2 - 4 * m.u, m, {}));
}

// placed puts a sign into the picture, as high as the letters.
function placed(svg, x, y, m) {
  return draw("g", { class: "mark-of", transform: `translate(${x} ${y - m.letter / 2}) scale(${m.letter / 100})` }, ...svg.children);
}

// written writes a text that is never wider than its room.
function written(text, x, y, room, m, attributes) {
  const tight = long(text, m.letter) > room;
  return text && draw("text", { x, y: y + m.letter * 0.35, ...attributes, ...(tight && { textLength: Math.max(room, 1), lengthAdjust: "spacingAndGlyphs" }) }, text);
}

// ground strokes what the lowest level stands on.
function ground(m, y, u) {
  let d = "";
  for (let x = m.plate; x < m.plate + m.plateWide + 6 * u; x += 12 * u) d += `M${x} ${y}l${-6 * u} ${7 * u}`;
  return d;
}

// settle puts the picture where it does not push the field or the verdict away: at the head
// of the right column, or behind a fold where all is one column.
function settle() {
  if (roomy.matches) document.querySelector(".called").insertBefore(fold, document.querySelector(".roll"));
  else document.querySelector(".work").insertBefore(fold, document.querySelector(".notes"));
  fold.open = (chosen() ?? String(roomy.matches)) === "true";
}

const keeps = () => (roomy.matches ? "readback-stack" : "readback-stack-small");

function chosen() {
  try {
    return localStorage.getItem(keeps());
  } catch {
    return null;
  }
}

fold.querySelector("summary").addEventListener("click", () => {
  try {
    localStorage.setItem(keeps(), String(!fold.open));
  } catch {
    // a browser that keeps nothing still folds this page
  }
});

settle();
roomy.addEventListener("change", settle);
new ResizeObserver(picture).observe(host);
addEventListener("resize", picture);

// On paper nothing is folded, and all is ink.
addEventListener("beforeprint", () => (fold.open = true));
addEventListener("afterprint", settle);
