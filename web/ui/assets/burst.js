// What types by itself: a gauge or a scanner with a keyboard output sends its characters faster and more
// evenly than a hand, and Enter or Tab at the end. Told apart here, wherever the focus is: a burst never
// stays in a text that somebody is in the middle of. Where it is not sure, it asks.
//
// Start reading at Bursts.#key; what a run of keys is says kindOf.

const near = 60; // ms to the next key of a run
const sure = 40; // ms between keys that no hand keeps up
const many = 4; // such gaps, up to near, are none of a hand either
const wait = 400; // ms in which the Enter of a burst that is sure may still come
const rolled = 25; // ms between a single digit and its Enter: two fingers at once, or a gauge

const number = /^[+\-−]?(?:0{0,6}\d{1,6}(?:[.,]\d{0,6})?|[.,]\d{1,6})\s*(?:[^\d\s][^\d]{0,11})?$/;
const silentKeys = ["Shift", "AltGraph", "CapsLock", "NumLock"];

// kindOf tells what keys are, of which each came so many ms after the one before: "gauge" for a number of
// one, "unsure" for one that may be typed, "junk" for what no hand has typed and is no number, "" for what
// a hand has typed, and for whole words, that something types for somebody. before is the time from the
// last key to the Enter.
export function kindOf(text, gaps, before) {
  const all = [...gaps, before];
  const most = Math.max(0, ...gaps);
  const even = (gaps.length >= 2 && most <= sure) || (gaps.length >= many && most <= near);
  const fast = even || (all.length >= 2 && Math.max(...all) <= sure);
  if (!fast && Math.max(...all) > near) return "";
  if (number.test(text)) {
    if (fast) return "gauge";
    return all.length >= 2 || before <= rolled ? "unsure" : "";
  }
  return fast && text.length > 2 && /\d/.test(text) && !/\s/.test(text.trim()) ? "junk" : "";
}

// Bursts is given what becomes of one: gauge(text), unsure(text), junk(text) for what is no reading,
// lost(text, why) for a reading that cannot be taken: "open" while a form is open, "endless" where no Enter came.
export class Bursts {
  #run = null; // {keys: [{key, at}], in, value, from, to, focus}
  #late = 0;

  constructor(field, on) {
    Object.assign(this, { field, on });
    addEventListener("keydown", (event) => this.#key(event), true);
    addEventListener("pointerdown", () => this.#end(), true);
  }

  #key(event) {
    if (silentKeys.includes(event.key)) return;
    if (event.isComposing || event.repeat || event.ctrlKey || event.metaKey || (event.altKey && !event.getModifierState("AltGraph"))) return this.#end();
    if (event.key === "Enter" || event.key === "Tab") return this.#over(event);
    if ([...event.key].length !== 1) return this.#end();
    const at = event.timeStamp;
    if (this.#run && at - this.#last.at > near) this.#end();
    this.#run ??= this.#begin(event);
    this.#run.keys.push({ key: event.key, at });
    clearTimeout(this.#late);
    if (this.#run.keys.length > 2) this.#late = setTimeout(() => this.#endless(), wait + 100);
  }

  get #last() {
    return this.#run.keys.at(-1);
  }

  get #text() {
    return this.#run.keys.map((k) => k.key).join("");
  }

  // #begin notes what stood where the key goes, before it gets there.
  #begin({ target }) {
    const box = target.closest?.("input, textarea") ?? (document.querySelector("dialog[open]") ? null : this.field);
    const run = { keys: [], in: box, focus: document.activeElement };
    if (box) Object.assign(run, { value: box.value, from: box.selectionStart, to: box.selectionEnd });
    return run;
  }

  #end() {
    clearTimeout(this.#late);
    this.#run = null;
  }

  // #over takes the Enter or the Tab.
  #over(event) {
    const run = this.#run;
    if (!run) return;
    const before = event.timeStamp - this.#last.at;
    const kind = before <= wait ? kindOf(this.#text, gapsOf(run.keys), before) : "";
    const text = this.#text.trim();
    this.#end();
    if (!kind) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    restore(run, kind === "unsure" && run.in === this.field ? null : run.focus);
    if (document.querySelector("dialog[open]")) return this.on.lost(text, "open");
    this.on[kind](text);
  }

  // #endless is a burst without its Enter.
  #endless() {
    const run = this.#run;
    const text = this.#text.trim();
    this.#end();
    if (kindOf(text, gapsOf(run.keys), 0) !== "gauge" || gapsOf(run.keys).length < 2) return;
    restore(run, run.focus);
    this.on.lost(text, document.querySelector("dialog[open]") ? "open" : "endless");
  }
}

const gapsOf = (keys) => keys.slice(1).map((k, i) => k.at - keys[i].at);

// restore makes a field what it was before the burst, and gives the focus back.
function restore({ in: box, value, from, to }, focus) {
  if (box) {
    box.value = value;
    if (from !== null) box.setSelectionRange(from, to);
    if (box.type === "range" || box.type === "radio") box.dispatchEvent(new Event("input", { bubbles: true }));
  }
  if (focus && focus !== document.activeElement && focus !== document.body) focus.focus();
}
