// How one note of a job was read: which words became what, and what was kept of it.

import "./frame.js";
import { byId, make } from "./dom.js";
import { ask } from "./fetch.js";
import { player } from "./play.js";
import { purged, shots } from "./shots.js";

const [, , job, , seq] = location.pathname.split("/").map(decodeURIComponent);
const sheet = `/jobs/${encodeURIComponent(job)}`;

byId("which").textContent = `${job}, note ${seq}`;
byId("back").href = `${sheet}#n${seq}`;
document.title = `${job}, note ${seq}, how it was read`;

try {
  const read = await ask(`/api/jobs/${encodeURIComponent(job)}/notes/${encodeURIComponent(seq)}/words`);
  byId("text").textContent = read.text;
  byId("outcome").replaceChildren(...read.outcome.map((line) => make("li", {}, line)));
  byId("words").tBodies[0].replaceChildren(...read.words.map(row));
  showEvidence(read);
  byId("otherwise").hidden = !read.otherwise;
  for (const id of ["text", "came", "read"]) byId(id).hidden = false;
  byId("state").hidden = true;
} catch (problem) {
  byId("state").textContent = problem.message;
}

// showEvidence shows what there is to hear and see of the note.
function showEvidence({ sound, sound_gone, photos }) {
  const heard = sound_gone ? make("p", { class: "gone" }, `Sound ${purged(sound_gone)}`) : sound && player(job, sound, `note ${seq}`);
  const seen = shots(job, photos, `note ${seq}`);
  byId("evidence").replaceChildren(...[heard, seen].filter(Boolean));
  byId("evidence").hidden = !heard && !seen;
}

function row(w) {
  return make("tr", {}, make("th", { scope: "row" }, make("span", {}, w.words)), make("td", {}, w.is), make("td", {}, w.why ?? ""));
}
