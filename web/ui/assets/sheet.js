// The bench sheet: what is typed goes to the outbox first, from there in order over the
// line, and what comes back is shown. A note goes over a connection of whoever typed it.
// Start reading at say().

import "./frame.js";
import { byId, clock, count, make, pairs } from "./dom.js";
import { ask } from "./fetch.js";
import { keepFocus } from "./focus.js";
import { Line } from "./line.js";
import { Notes } from "./notes.js";
import * as outbox from "./outbox.js";
import { Handover, keepPerson, onPerson, person } from "./person.js";
import { drawCallouts, drawNewer } from "./callouts.js";
import { drawStack } from "./stack.js";
import { answer as speak, caution, silence } from "./speak.js";
import { silent } from "./sound.js";
import { soundForm } from "./soundform.js";
import { drawFigures, drawNext, drawSlab, Late } from "./slab.js";
import { isStop } from "./verdict.js";
import { above, ulid } from "./ulid.js";

const longest = 2000; // characters of a note
const job = decodeURIComponent(location.pathname.split("/")[2] ?? "");
if (!job) location.replace("/");

const field = byId("field");
const notes = new Notes(byId("notes"), { again, drop });
const late = new Late(byId("late"), showLast);
const line = new Line(job, person(), () => notes.last, { up, down, message });

let waiting = []; // notes to be sent, in order
let flying = null; // the id of the one that was sent and is not answered
let state = null;
let gone = false; // the server does not know the job
let spoke = false; // a note was typed on this page
let large = null; // the note whose verdict is shown large
let past = null; // how many entries the job had when this page first saw it: they are not spoken
const dropped = new Set(); // ids of refused notes that the technician let go

// say keeps a note and sends it as soon as it may go.
async function say(text) {
  const wrong = await enter(text);
  if (!wrong) return;
  if (!field.value) field.value = text;
  hint(`${wrong} It was not sent; enter it again.`);
}

// enter keeps a note of whoever is at the bench. It resolves to what went wrong, or "".
async function enter(text) {
  const note = { id: ulid(), job, person: person(), text, at: new Date().toISOString(), late: line.failed };
  try {
    await outbox.put(note);
  } catch (fault) {
    return `This browser could not keep the note (${fault?.message ?? "its storage failed"}).`;
  }
  spoke = true;
  hint();
  queue(note);
  if (!line.up) large = notes.get(note.id);
  drawSoon();
  pump();
  line.now();
  return "";
}

// over gives the bench to another person: who leaves says so, who comes is told where the
// job stands. Both are notes, behind those that wait.
async function over(name) {
  const leaving = person();
  const wrong = leaving && (await enter(`handing over to ${name}`));
  if (wrong) return `${wrong} Nothing was handed over; try again.`;
  keepPerson(name);
  if (leaving) await say("where are we");
  pump();
  drawSoon();
  return "";
}

// queue puts a kept note in line, once, whoever saw it first in the outbox: what was
// answered or refused while the outbox was read stays so.
function queue(note) {
  const known = notes.get(note.id);
  if (known?.seq || known?.refused || waiting.some((n) => n.id === note.id)) return;
  waiting.push(note);
  waiting.sort((a, b) => (a.id < b.id ? -1 : 1));
  notes.add({ ...note, waiting: true });
}

// pump sends one note at a time, so that the order holds whatever happens to the line. The
// line is that of the note's person; with no note waiting, of who is at the bench.
function pump() {
  if (flying || gone) return;
  line.become(waiting.length ? (waiting[0].person ?? "") : person());
  if (waiting.length === 0) return;
  const { id, text, at } = waiting[0];
  if (line.send({ type: "note", id, text, at })) flying = id;
}

async function up() {
  flying = null;
  await fillFromOutbox();
  drawSoon();
  refresh();
  pump();
}

function down() {
  flying = null;
  for (const note of waiting) note.late = true;
  drawSoon();
  if (state === null && !gone) refresh();
}

// fillFromOutbox takes up what other pages of this job, or this one before a reload, left.
async function fillFromOutbox() {
  for (const note of await outbox.list(job)) {
    above(note.id);
    if (dropped.has(note.id)) continue; // let go while the list was read
    if (note.refused) notes.add(note);
    else queue({ ...note, late: true });
  }
}

function message(m) {
  if (m.type === "answer") answered(m);
  else if (m.type === "entry") entered(m);
  else if (m.type === "refused") refused(m);
}

// answered takes a note out of the outbox: from here on the journal keeps it.
function answered(m) {
  const sent = settle(m.id);
  const known = notes.get(m.id);
  if (!sent && known?.seq) return; // known already
  const { type, ...body } = m;
  const note = notes.add({ text: sent?.text ?? known?.text, ...body, late: sent?.late ?? false, waiting: false, refused: "" });
  outbox.remove(m.id).catch(() => {}); // sent once more, it gets the same answer
  speak(note);
  show(note, sent?.late ?? false);
  pump();
}

// entered takes what another bench said, and what was said before. Of that a stop alone is
// spoken, and nothing of the past.
function entered(m) {
  const mine = waiting.find((n) => n.id === m.id);
  if (mine) return answered(m);
  const known = notes.get(m.id);
  const { type, ...body } = m;
  const note = notes.add({ ...body, other: spoke && !known, waiting: false });
  if (m.entry === "opened" || known?.seq) return drawSoon();
  if (past !== null && note.seq > past && isStop(note)) speak({ ...note, other: true });
  show(note, false);
}

function refused(m) {
  const id = m.id ?? flying;
  const sent = settle(id);
  const reason = m.reason || "the server did not say why";
  if (!sent) return hint(`The server refused a message: ${reason}`);
  const note = notes.add({ ...sent, waiting: false, refused: reason });
  outbox.put({ ...sent, refused: reason }).catch(() => {}); // it is sent and refused again
  speak(note);
  show(note, false);
  pump();
}

// settle takes a note out of the queue.
function settle(id) {
  if (flying === id) flying = null;
  const sent = waiting.find((n) => n.id === id);
  waiting = waiting.filter((n) => n.id !== id);
  return sent;
}

// show decides what stands large: one's own last note, but a late stop before all. On a
// page where nobody types, say on the wall, any bench's.
function show(note, wasLate) {
  if ((wasLate || (note.other && isStop(note))) && late.add(note)) large = late.worst;
  else if (!note.other && !(wasLate && late.worst)) large = note;
  drawSoon();
  if (!(note.seq <= state?.entries)) refresh(); // the past is in the state already
}

function showLast() {
  large = notes.sorted().find((n) => n.entry !== "opened" && !n.other) ?? large;
  drawSoon();
  field.focus();
}

async function again(note) {
  field.value = note.text;
  await drop(note);
}

async function drop(note) {
  dropped.add(note.id);
  notes.remove(note.id);
  await outbox.remove(note.id).catch(() => {});
  showLast();
}

let fetching = false;
let stale = false;

// refresh fetches the job's state; while one is on its way, further wishes become one.
async function refresh() {
  if (fetching) {
    stale = true;
    return;
  }
  fetching = true;
  try {
    take(await ask(`/api/jobs/${encodeURIComponent(job)}`));
  } catch (problem) {
    if (problem.status === 404) lost();
  }
  fetching = false;
  if (stale) {
    stale = false;
    refresh();
  }
}

// take shows a state. One of another opening means that the server was given another
// journal: then what was remembered is not this job's.
function take(fresh) {
  const other = state !== null && state.opened?.at !== fresh.opened?.at;
  state = fresh;
  gone = false;
  if (other || past === null) begin(fresh);
  if (other) {
    notes.forget();
    line.drop();
    line.now();
  }
  drawSoon();
  pump();
}

// begin marks what is past. On a job of which nothing was said yet, its opening caution is
// spoken, once on each device.
function begin({ entries, opened, next }) {
  past = entries;
  if (entries > 1 || !next?.caution) return;
  const key = `readback.cautioned.${job}`;
  const at = String(opened?.at);
  try {
    if (localStorage.getItem(key) === at) return;
  } catch {
    // this browser keeps nothing: it is spoken after a reload too
  }
  caution(next.caution, () => {
    try {
      localStorage.setItem(key, at);
    } catch {
      // as above
    }
  });
}

function lost() {
  gone = true;
  byId("slab-heard").textContent = "";
  byId("slab-say").replaceChildren(`There is no job ${job} on this server. `, make("a", { href: "/" }, "Open it first"), ".");
  showLine();
}

let drawing = false;

// drawSoon draws once for all that happens before the next frame.
function drawSoon() {
  if (drawing) return;
  drawing = true;
  setTimeout(() => {
    drawing = false;
    draw();
  }, 16);
}

let drawn = null; // what stands large now

function draw() {
  notes.draw();
  showLine();
  showPerson();
  if (large && large !== drawn) drawSlab((drawn = large));
  drawFigures(large, state);
  if (!state) return;
  drawHead();
  drawOver();
  drawStack(state);
  drawCallouts(state);
  drawNewer(state);
  drawNext(state, large, line.up);
  remember();
}

let saving = false;
let unsaved = false;

// remember keeps the sheet as it is, for a reload with the line down; while one is being
// written, further changes become one.
async function remember() {
  if (saving) {
    unsaved = true;
    return;
  }
  saving = true;
  do {
    unsaved = false;
    await outbox.remember(job, { state, notes: notes.sorted().filter((n) => n.seq).slice(0, 60) }).catch(() => {});
  } while (unsaved);
  saving = false;
}

// drawOver says who handed the job over and how it stood then.
function drawOver() {
  const over = state.handed_over;
  byId("over").hidden = !over;
  if (!over) return;
  const who = over.person === "not stated" ? "nobody’s name stands with it" : `by ${over.person}`;
  const left = over.left ? `${over.left} left to do` : "nothing left to do";
  const open = over.findings.length ? `${count(over.findings.length, "finding")} open` : "no finding open";
  byId("over").replaceChildren(make("b", {}, "Handed over"), ` ${clock(over.at)}, ${who}: ${left}, ${open}.`);
}

function drawHead() {
  byId("unit").textContent = state.title || state.spec;
  const all = [["build spec", `${state.spec}, rev. ${state.revision}`], ...pairs(state.options)];
  byId("options").replaceChildren(...all.map(([name, value]) => make("div", {}, make("dt", {}, name), make("dd", {}, value))));
}

// showLine says whether the line is up and how many notes wait, in words and by shape.
function showLine() {
  const box = byId("line");
  box.dataset.line = line.up ? "up" : line.changing ? "wait" : "down";
  box.dataset.waiting = waiting.length;
  byId("line-word").textContent = gone ? "No such job" : line.up ? "Connected" : line.changing ? "Handing over" : "Not connected";
  byId("line-wait").textContent = waiting.length ? `${count(waiting.length, "note")} kept, not checked yet` : gone ? "open it before you say a note" : line.up ? "no note waits" : "type on, notes are kept here";
}

// showPerson says who is at the bench, and whose notes go first.
function showPerson() {
  const now = person();
  byId("who-name").textContent = now || "not stated";
  byId("who-change").textContent = now ? "Hand over" : "Give a name";
  byId("field-label").textContent = now ? `Note of ${now}` : "Your note";
  field.placeholder = now ? `Note of ${now}` : "";
  const others = waiting.filter((n) => (n.person ?? "") !== now);
  const names = [...new Set(others.map((n) => n.person || "nobody named"))].join(", ");
  const wait = byId("who-wait");
  const text = others.length ? `${count(others.length, "note")} of ${names} still to be sent, under that name. Then the bench is handed over${line.up || line.changing ? "" : ", when the line is back"}.` : "";
  wait.hidden = !text;
  if (wait.textContent !== text) wait.textContent = text;
}

function hint(text = "") {
  const p = byId("hint");
  p.classList.toggle("wrong", text !== "");
  if (text) p.textContent = text;
  else p.replaceChildren("Read it wrong? ", make("q", {}, "correction"), " and the right value, or ", make("q", {}, "scratch that"), ".");
}

byId("entry").addEventListener("submit", (event) => {
  event.preventDefault();
  const text = field.value.trim();
  const length = [...text].length;
  if (!text) return;
  if (length > longest) return hint(`The note has ${length} characters; a note may have ${longest}. Make it several.`);
  field.value = "";
  if (/^stop[.!]?$/i.test(text) && !silent()) silence(); // it is meant for the voice, and is no note
  else say(text);
});

// takeEarly takes up a note that was entered before this script was there: the browser
// then put it into the address.
function takeEarly() {
  const text = new URLSearchParams(location.search).get("note")?.trim();
  if (!text) return;
  history.replaceState(null, "", location.pathname + location.hash);
  field.value ||= text;
}

async function start() {
  byId("job").textContent = job;
  document.title = `${job} job sheet`;
  byId("print").href = `/api/jobs/${encodeURIComponent(job)}/export?as=html`;
  keepFocus(field);
  takeEarly();
  new Handover(over, () => {
    byId("slab").parentElement.scrollTop = 0; // the way to the form's button may have led down
    field.focus();
  });
  soundForm(() => field.focus());
  onPerson(() => {
    pump();
    drawSoon();
  });
  line.now();
  refresh();
  const old = await outbox.recall(job).catch(() => undefined);
  await fillFromOutbox().catch(() => {});
  if (old && !line.up && !state) {
    state = old.state;
    for (const note of old.notes) notes.add(note);
    notes.last = 0; // ask for all of it, once the line is there
    showLast();
  }
  if (!(await outbox.keeps())) hint("This browser keeps nothing across a reload: do not close the page while notes wait.");
  drawSoon();
}

start();
