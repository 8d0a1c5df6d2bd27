// Small helpers for making elements. Text is only ever set as text.

const svgNS = "http://www.w3.org/2000/svg";

export const byId = (id) => document.getElementById(id);

// aloud says a sentence behind a signal, or with none for earcon "": to whoever does not look. next says it
// before what waits, behind the stops.
export const aloud = (text, earcon = "ask", next = false) => document.dispatchEvent(new CustomEvent("readback:say", { detail: { text, urgent: false, earcon, ...(next && { next }) } }));

// make("li", {class: "x", id: "n1"}, "text", child) makes an element; null and false are left out.
export function make(name, attributes = {}, ...children) {
  return fill(document.createElement(name), attributes, children);
}

export function draw(name, attributes = {}, ...children) {
  return fill(document.createElementNS(svgNS, name), attributes, children);
}

function fill(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    element.setAttribute(name, value === true ? "" : value);
  }
  element.append(...children.filter((c) => c !== null && c !== undefined && c !== false && c !== ""));
  return element;
}

export const count = (n, one, many = one + "s") => `${n} ${n === 1 ? one : many}`;

// clock shows an instant as the workshop's clock does; another day's with its date, another year's with that alone.
export function clock(at) {
  const t = new Date(at);
  if (Number.isNaN(t.getTime())) return "";
  if (t.getFullYear() !== new Date().getFullYear()) return t.toLocaleDateString([], { day: "numeric", month: "short", year: "numeric" });
  const time = t.toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", hour12: false });
  return t.toDateString() === new Date().toDateString() ? time : `${t.toLocaleDateString([], { day: "numeric", month: "short" })} ${time}`;
}

// options writes {"base":"long","stages":"5"} as pairs for people.
export const pairs = (options) => Object.entries(options ?? {}).map(([name, value]) => [name.replaceAll("_", " "), String(value)]);
