// Answers a stop: who sees to it says so with a name, which every wall and the bench's sheet
// then show.

import { byId, make } from "./dom.js";
import { ask, send } from "./fetch.js";
import { ulid } from "./ulid.js";

const key = "readback.heeds"; // who answered last in this browser

// heed tells the server. The same id is sent again until it is known what became of it.
export const heed = (id, job, { rule, callout, at, text, since }, person) =>
  send(`/api/jobs/${encodeURIComponent(job)}/heed`, { id, rule, callout, at, text, since, person });

// keyOf tells stops apart: one that was raised anew, or says something else, is another.
export const keyOf = (job, f) => [job, f.rule, f.callout, JSON.stringify(f.at), f.since, f.text].join(" ");

let open = null; // {id, job, finding} that the form is about

// answers opens the form for a stop of a job.
export async function answers(job, finding) {
  open = { id: ulid(), job, finding };
  const one = open;
  byId("answer-what").textContent = `${job}: ${finding.text}`;
  byId("answer-name").value = recalled();
  byId("answer-known").replaceChildren();
  wrong("");
  byId("answer").showModal();
  byId("answer-name").focus();
  byId("answer-name").select();
  const { people } = await ask(`/api/jobs/${encodeURIComponent(job)}/people`).catch(() => ({ people: [] }));
  if (one === open) byId("answer-known").replaceChildren(...people.slice(0, 6).map(({ name }) => known(name)));
}

function known(name) {
  const button = make("button", { type: "button" }, name);
  button.addEventListener("click", () => give(name));
  return button;
}

async function give(name) {
  const one = open;
  if (!name) return wrong("Give the name of who sees to it.");
  try {
    await heed(one.id, one.job, one.finding, name);
  } catch (problem) {
    return one === open && wrong(problem.message);
  }
  recall(name);
  if (one === open) byId("answer").close();
}

function wrong(text) {
  byId("answer-wrong").hidden = !text;
  byId("answer-wrong").textContent = text;
}

function recalled() {
  try {
    return localStorage.getItem(key) ?? "";
  } catch {
    return "";
  }
}

function recall(name) {
  try {
    localStorage.setItem(key, name);
  } catch {
    // a browser that keeps nothing asks anew
  }
}

// answerForm makes the form work. left is called when it is closed.
export function answerForm(left) {
  byId("answer-form").addEventListener("submit", (event) => {
    event.preventDefault();
    give(byId("answer-name").value.trim());
  });
  byId("answer-cancel").addEventListener("click", () => byId("answer").close());
  byId("answer").addEventListener("close", () => {
    open = null;
    left();
  });
}
