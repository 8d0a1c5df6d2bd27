// Searching all notes by their words. What is searched for is in the address, so that it
// can be kept and shared.

import "./frame.js";
import { byId, clock, count, make } from "./dom.js";
import { ask } from "./fetch.js";
import { player } from "./play.js";

const limit = 100;
const form = byId("find");
const field = form.elements.q;

async function find(words) {
  byId("hits").replaceChildren();
  if (!words) {
    byId("found").textContent = "";
    return;
  }
  byId("found").textContent = "Looking.";
  try {
    const { hits, total } = await ask(`/api/search?${new URLSearchParams({ q: words, limit })}`);
    byId("found").textContent = said(total, hits.length);
    byId("hits").replaceChildren(...hits.map(hit));
  } catch (problem) {
    byId("found").textContent = problem.message;
  }
}

function said(total, shown) {
  if (total === 0) return "No note has these words. Try fewer, or another word for the same thing.";
  return total > shown ? `${count(total, "note")}, the first ${shown} shown` : count(total, "note");
}

const hit = (h) => make("li", {},
  make("a", { href: `/jobs/${encodeURIComponent(h.job)}#n${h.seq}` }, make("b", {}, h.job), make("span", { class: "text" }, h.text), make("small", {}, [`note ${h.seq}`, h.at && clock(h.at)].filter(Boolean).join(" · "))),
  h.sound && player(h.job, h.sound, `note ${h.seq} of ${h.job}`));

form.addEventListener("submit", (event) => {
  event.preventDefault();
  const words = field.value.trim();
  history.replaceState(null, "", words ? `/search?${new URLSearchParams({ q: words })}` : "/search");
  find(words);
});

const asked = new URLSearchParams(location.search).get("q") ?? "";
field.value ||= asked; // somebody may be typing already
field.focus();
find(asked.trim());
