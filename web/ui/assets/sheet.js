// The bench sheet: what is typed goes to the outbox first, from there in order over the
// line, and what comes back is shown. What is spoken goes over the line at once, where nothing
// waits, and else the same way. A note goes over a connection of whoever said it.
// Start reading at say(); for spoken notes in talk.js.

import "./frame.js";
import { arrive, leave } from "./between.js";
import { Bursts } from "./burst.js";
import { aloud, byId, clock, count, make, pairs } from "./dom.js";
import { Decide, disposes } from "./decide.js";
import { Ears } from "./ears.js";
import { ask, send } from "./fetch.js";
import { keepFocus } from "./focus.js";
import { Gauge } from "./gauge.js";
import { heed } from "./heed.js";
import { Line } from "./line.js";
import { Notes } from "./notes.js";
import * as outbox from "./outbox.js";
import { Handover, handsTo, keepPerson, onPerson, person } from "./person.js";
import { isPhoto, Photos } from "./photos.js";
import { onPress } from "./press.js";
import { drawCallouts, drawNewer } from "./callouts.js";
import { drawStack } from "./stack.js";
import { answer as speak, caution, silence } from "./speak.js";
import { silent } from "./sound.js";
import { soundForm } from "./soundform.js";
import { load } from "./voices.js";
import { drawFigures, drawNext, drawSlab, Late } from "./slab.js";
import { Strip } from "./strip.js";
import { Talk } from "./talk.js";
import { isStop } from "./verdict.js";
import { above, ulid } from "./ulid.js";
import { Ways } from "./ways.js";

const longest = 2000; // characters of a note
const most = 60; // spoken notes that are kept at a time
const leaving = /^(back to|show|show me|go to) the (jobs|job list)[.!]?$/i; // typed; said, the server knows it
const keptWords = "Kept, not checked.";
const toJobs = "The jobs. Say a number, or open job.";
const pause = 1000; // ms until a state is asked for again that did not come
const job = decodeURIComponent(location.pathname.split("/")[2] ?? "");
if (!job) location.replace("/");

const field = byId("field");
const notes = new Notes(byId("notes"), { again, resend, drop, right, hearAgain, hearsAgain: () => ears.again, beingHeard: (n) => rehears.get(n.seq)?.asked, photos: {
  resend: (p) => photos.resend(p),
  drop: (p) => photos.drop(p),
  stray: (p) => !stands(p.of),
} });
const late = new Late(byId("late"), showLast);
const line = new Line(job, person(), () => notes.last, { up, down, message });

let waiting = []; // notes to be sent, in order
let untold = []; // answers to notes that waited, not spoken yet
let flying = null; // the id of the one that was sent and is not answered
let state = null;
let gone = false; // the server does not know the job
let spoke = false; // a note was typed on this page
let large = null; // the note whose verdict is shown large
let filled = false; // what other pages left in the outbox is in line here
let question = null; // what was asked about a spoken note: {note, text, late, why}; why: a disposition waits for its reason
let righting = 0; // the number of the note whose words are being put right, 0 for none
const rehears = new Map(); // by seq: {id, asked} of a remark that is heard again, until that is settled
let past = null; // how many entries the job had when this page first saw it: they are not spoken
const dropped = new Set(); // ids of refused notes that the technician let go

const gauge = new Gauge(say);
const ears = new Ears();
const strip = new Strip();
const talk = new Talk({ note: spokenNote, free, line, keep, keeps: true, words, refuse, settled: pump, shown: showTalk, heard: () => strip.meter(talk) });
const photos = new Photos({
  job, person, tell: askBack, note: lastNote, stands,
  up: () => line.up,
  waits: (id) => waiting.some((n) => n.id === id),
  shown(p) { notes.photo(p); drawSoon(); },
  gone(p) { notes.dropPhoto(p); drawSoon(); },
  left: () => field.focus(),
});
const handover = new Handover(job, over, () => {
  byId("slab").parentElement.scrollTop = 0; // the way to the form's button may have led down
  field.focus();
});
const ways = new Ways(talk, showTalk, () => field.focus(), { read: `/api/jobs/${encodeURIComponent(job)}/check`, free: () => free() && waiting.length === 0 });
const decide = new Decide(job, () => refresh(), () => field.focus());

// say keeps a note and sends it as soon as it may go.
async function say(text, how) {
  const wrong = await enter(text, how);
  if (!wrong) return;
  if (!field.value) {
    field.value = text;
    rights(how?.of ?? 0);
  }
  hint(`${wrong} It was not sent; enter it again.`);
}

// enter keeps a note of whoever is at the bench. how may have from: what sent it, where no hand has typed it;
// and of: the note whose words it puts right. It resolves to what went wrong, or "".
async function enter(text, how = {}) {
  const note = { id: ulid(), job, person: person(), text, ...how, at: new Date().toISOString(), late: line.failed };
  try {
    await outbox.put(note);
  } catch (fault) {
    return `This browser could not keep the note (${fault?.message ?? "its storage failed"}).`;
  }
  spoke = true;
  question = null; // the server takes a typed note for another matter
  tell("");
  if (!ears.hear) ears.seen(); // a warning stands until its own button is pressed
  hint();
  queue(note);
  if (!line.up) large = notes.get(note.id);
  drawSoon();
  pump();
  line.now();
  return "";
}

// over gives the bench to another person: who leaves says so, who comes is told where the
// job stands. Both are notes, behind those that wait. taken is called in between.
async function over(name, taken) {
  const leaving = person();
  const wrong = leaving && (await enter(`handing over to ${name}`));
  if (wrong) return `${wrong} Nothing was handed over; try again.`;
  keepPerson(name);
  taken?.();
  if (leaving) await say("where are we");
  pump();
  drawSoon();
  return "";
}

// hand gives the bench to somebody who was named by voice, or is known here and was typed, and says so.
async function hand(name) {
  let text = "";
  const wrong = await handover.to(name, () => {
    text = [`${name} is at the bench.`, line.up || line.changing ? "" : heldUp()].filter(Boolean).join(" ");
    aloud(text, ""); // before what the next person is told
  });
  if (wrong) askBack(wrong);
  else tell(text);
}

// handTyped does what was typed: a name that nobody has had here is asked about.
async function handTyped(typed) {
  await handover.look();
  const name = handover.known(typed);
  if (name) hand(name);
  else handover.ask(typed);
}

// spokenNote is what a spoken note begins as.
function spokenNote() {
  return { id: ulid(), job, person: person(), at: new Date().toISOString(), late: line.failed };
}

// free reports whether a note can go over the line while it is spoken: nothing waits before it.
function free() {
  return line.up && filled && !gone && line.person === person() && waiting.every((n) => n.id === flying);
}

// keep puts a spoken note in line that could not go over it, or whose answer did not come.
async function keep(note) {
  if (waiting.filter((n) => n.sound).length >= most) {
    return tell(`${most} spoken notes are kept already. This one was not: type it, or say it when the line is back.`);
  }
  spoke = true;
  queue(note);
  large = notes.get(note.id);
  tell("Kept, not checked yet.");
  if (!talk.queued) aloud(keptWords, "ask"); // else it is shown that notes wait, and the microphone hears on
  drawSoon();
  await outbox.put(note).catch((fault) => tell(`Kept on this page alone (${fault?.message ?? "its storage failed"}): do not close it.`));
  pump();
  line.now();
}

// words puts what the browser has heard by itself in line: as text, of which the server asks.
async function words(note) {
  spoke = true;
  queue(note);
  if (!line.up) {
    large = notes.get(note.id);
    aloud(keptWords);
  }
  drawSoon();
  await outbox.put(note).catch((fault) => tell(`Kept on this page alone (${fault?.message ?? "its storage failed"}): do not close it.`));
  pump();
  line.now();
}

// refuse lists a spoken note of which the server took nothing, with its sound.
function refuse(note, reason) {
  outbox.put({ ...note, refused: reason }).catch(() => {});
  show(notes.add({ ...listed(note), refused: reason }), false);
}

// listed is a note without its sound, which is held in the outbox alone.
function listed({ sound, ...note }) {
  return { ...note, sounds: Boolean(sound) };
}

// resend puts a refused spoken note in line again.
async function resend({ id }) {
  const { refused, ...note } = (await outbox.list(job).catch(() => [])).find((n) => n.id === id) ?? {};
  if (!note.sound) return hint("The sound of that note is no longer here. Say it again.");
  notes.remove(id);
  await keep(note);
}

// queue puts a kept note in line, once, whoever saw it first in the outbox: what was
// answered or refused while the outbox was read stays so.
function queue(note) {
  const known = notes.get(note.id);
  if (known?.seq || known?.refused || waiting.some((n) => n.id === note.id)) return;
  waiting.push(note);
  waiting.sort((a, b) => (a.id < b.id ? -1 : 1));
  notes.add({ ...listed(note), waiting: true });
}

// pump sends one note at a time, so that the order holds whatever happens to the line. The
// line is that of the note's person; photos go behind their notes, over a way of their own. With no note waiting, of who is at the bench.
function pump() {
  photos.send();
  if (flying || gone) return;
  const [note] = waiting;
  const who = note ? (note.person ?? "") : person();
  if ((note?.sound || who !== line.person) && !talk.yields()) return; // one is on its way, and pumps when it is over
  line.become(who);
  if (!note) return;
  const { id, text, from, at, of, open, late: kept } = note;
  if (note.sound ? line.speak(note) : line.send({ type: "note", id, text, ...(from && { from }), at, ...(of && { of }), ...(from === "browser" && { ...(open && { open }), ...(kept && { late: true }) }) })) flying = id;
}

async function up() {
  flying = null;
  gauge.forget(); // the server tells where it is, if it is on something
  await fillFromOutbox().catch((fault) => hint(`The notes that this browser kept cannot be read (${fault?.message ?? "its storage failed"}). Any that wait there are not sent: load the page again.`));
  filled = true;
  hear();
  drawSoon();
  if (!current && !fetching) refresh(); // what came since it was asked for comes over the line
  pump();
}

function down() {
  flying = null;
  filled = current = false;
  talk.down();
  if (question?.why) undecided();
  else if (question && !question.late) keep({ ...question.note, late: true }); // the server has forgotten that it asked
  question = null;
  for (const note of waiting) note.late = true;
  drawSoon();
  if (state === null && !gone) refresh();
}

// undecided says that the line broke while a disposition wanted its reason. Whether one that was just said has come is not known.
function undecided() {
  if (large?.asked) showLast();
  askBack("The line broke before it was said that it is decided. Look on the sheet, when the line is back.");
}

// fillFromOutbox takes up what other pages of this job, or this one before a reload, left.
async function fillFromOutbox() {
  const all = await outbox.list(job);
  for (const note of all) {
    above(note.id);
    if (dropped.has(note.id)) continue; // let go while the list was read
    if (note.bytes) continue;
    if (note.refused) notes.add(listed(note));
    else queue({ ...note, late: true });
  }
  photos.take(all.filter((n) => n.bytes && !dropped.has(n.id)));
}

// lastNote is the note that a photo goes with: the last of this bench that was not refused.
function lastNote() {
  return notes.sorted().find((n) => n.entry !== "opened" && !n.other && !n.refused);
}

// stands reports whether a note is in the record.
function stands(id) {
  return Boolean(notes.get(id)?.seq);
}

function message(m) {
  if (m.type === "answer") answered(m);
  else if (m.type === "entry") entered(m);
  else if (m.type === "refused") ways.refused(m) || (talk.refused(m.id, m.reason) ? pump() : refused(m));
  else if (m.type === "checked") ways.checked(m);
  else if (m.type === "hearing") talk.hearing(m);
  else if (m.type === "heard") heard(m);
  else if (m.type === "gauge") gauge.take(m);
}

// answered takes a note out of the outbox: from here on the journal keeps it.
function answered(m) {
  const sent = settle(m.id) ?? talk.settle(m.id);
  const known = notes.get(m.id);
  if (!sent && known?.seq) return; // known already
  const { type, ...body } = m;
  const note = notes.add({ ...(sent && listed(sent)), text: sent?.text ?? known?.text, ...body, late: sent?.late ?? false, waiting: false, refused: "" });
  outbox.remove(m.id).catch(() => {}); // sent once more, it gets the same answer
  if (m.gauge) gauge.take(m.gauge);
  if (sent?.seconds || sent?.from === "browser") spokenAnswer(note);
  inTurn(note, sent?.late ?? false);
  show(note, sent?.late ?? false);
  pump();
}

// inTurn speaks an answer. Of notes that waited the stops are spoken first, the others once none
// waits.
function inTurn(note, wasLate) {
  if (wasLate && !isStop(note)) untold.push(note);
  else speak(note);
  if (waiting.length) return;
  for (const n of untold) speak(n);
  untold = [];
}

// spokenAnswer ends a question: the note was the yes to it, or was said instead.
function spokenAnswer(note) {
  if (ears.stale) hear();
  spoke = true;
  if (question?.late && question.text === note.text) drop(question.note);
  question = null;
  tell("");
}

// heard says what came of a spoken note that was not kept.
function heard(m) {
  if (m.then) return then(m);
  const queued = settle(m.id);
  const note = queued ?? talk.settle(m.id);
  if (!note) return;
  const waited = Boolean(queued) && !(note.from === "browser" && !note.late); // the browser's words go through the queue too
  if (m.leave && !waited) return outbox.remove(m.id).catch(() => {}).finally(() => leave("/", [m.say, toJobs].filter(Boolean).join(" ")));
  if (ears.stale) hear();
  notes.remove(m.id);
  if (m.do) {
    outbox.remove(m.id).catch(() => {});
    spokenAnswer(m);
    if (large?.id === m.id || large?.asked) showLast();
    if (waited) tell(`“${m.text}” was said a while ago, and was not done. Say it again.`);
    else if (m.do === "photo") photos.open();
    else if (m.do === "hand") hand(m.person);
  } else if (m.verdict === "silent") {
    outbox.remove(m.id).catch(() => {});
    if (large?.id === m.id) showLast();
    if (waited) tell("Nothing was said in a note that was kept.");
  } else {
    unsure(m, note, waited);
  }
  drawSoon();
  pump();
}

// then says what more came of a note: what it was the reason of is decided, or is not, which then stands large.
function then(m) {
  if (m.verdict === "taken") {
    tell(m.say);
    return aloud(m.say, ""); // no signal of a reading
  }
  if (!late.worst && !isStop(large ?? {})) asked(m.id, "", m.say, m.say);
  tell(m.say);
  aloud(m.say, "ask");
  drawSoon();
}

// asked has what is asked, or is to be said again, stand large.
function asked(id, text, say, finding) {
  large = { id, text, asked: true, say, findings: [{ rule: "ask", severity: "note", text: finding }] };
}

// unsure shows what is asked, or said, of a note that was not recorded. One that had waited is
// listed too: who spoke it may be at other work by now.
function unsure(m, note, waited) {
  question = m.verdict === "asked" || m.why ? { note, text: m.text, late: waited, why: m.why } : null;
  if (m.verdict === "taken") {
    outbox.remove(m.id).catch(() => {});
    if (large?.id === m.id || large?.asked) showLast();
  } else if (waited) {
    const { sound, ...rest } = note;
    const item = { ...rest, text: m.text, refused: `it was not sure what was said, and nothing was recorded. ${m.text ? "Enter it by hand if it is right" : "Say it again"}.` };
    outbox.put(item).catch(() => {});
    notes.add({ ...item, waiting: false });
  } else {
    outbox.remove(m.id).catch(() => {});
  }
  const above = m.verdict !== "taken" && !late.worst; // else a stop stands large, and stays
  tell(above && m.verdict === "asked" ? "Answer that: say it." : m.say);
  if (above) {
    asked(m.id, m.text, m.verdict === "asked" ? m.say : `${m.say} Nothing was recorded.`, m.say);
  }
  if (m.say && waiting.length === 0) {
    aloud(m.say, "ask");
  }
}

// entered takes what another bench said, and what was said before. Of that a stop alone is
// spoken, and nothing of the past.
function entered(m) {
  if (m.entry === "photo") {
    photos.settle(m.id);
    notes.photo({ id: m.id, of: m.of, seq: m.seq, photo: m.photo, at: m.at });
    return drawSoon();
  }
  if (m.entry === "purged") {
    notes.purge(m);
    return drawSoon();
  }
  if (m.entry === "heeded") {
    notes.seen(m.seq);
    return refresh(); // who sees to it stands with the stop
  }
  if (m.entry === "clock") {
    notes.seen(m.seq);
    if (past !== null && m.seq > past) hint(m.say);
    return;
  }
  if (m.entry === "disposition") {
    notes.seen(m.seq);
    if (!(m.seq <= state?.entries)) refresh();
    return;
  }
  if (rehears.get(m.of)?.id === m.id) rehears.delete(m.of);
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
  const note = notes.add({ ...listed(sent), waiting: false, refused: reason });
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
  const who = note.person ?? "";
  if (who !== person()) return hint(`That note is ${who || "of nobody named"}. It is entered again under that name alone.`);
  if (field.value.trim()) return hint("Enter or clear what stands in the field first.");
  field.value = note.text;
  await drop(note);
}

// right puts the guessed words of a remark into the field, to be put right.
function right({ seq, text }) {
  if (field.value.trim() && !righting) return hint("Enter or clear what stands in the field first.");
  field.value = text;
  rights(seq);
}

// hearAgain has the sound of a remark heard once more; what comes of it comes over the line. As long as
// it is not known whether it was, it is asked for by the same id.
async function hearAgain({ id, seq }) {
  const one = rehears.get(seq) ?? { id: ulid() };
  rehears.set(seq, one);
  one.asked = true;
  hint();
  drawAnew(id);
  try {
    await send(`/api/jobs/${encodeURIComponent(job)}/notes/${seq}/hear`, { id: one.id, person: person() });
    if (!rehears.delete(seq)) return; // its words are here already
  } catch (problem) {
    one.asked = false;
    if (problem.status >= 400 && problem.status < 500) rehears.delete(seq);
    hint(problem.message);
  }
  drawAnew(id);
}

function drawAnew(id) {
  if (notes.get(id)) notes.add({ id });
  drawSoon();
}

// rights says whose words are being put right.
function rights(seq) {
  if (righting === seq) return;
  righting = seq;
  showLabel();
  document.querySelector("#entry [type=submit]").textContent = seq ? "Put right" : "Enter";
  hint();
  if (!seq) return;
  byId("hint").textContent = "It stands beside the guess and is no reading. Clear the field to leave it.";
  field.focus();
}

// tell shows a sentence in the strip, until the next note begins.
function tell(text) {
  strip.tell(text);
  showTalk();
}

// showTalk draws the strip.
function showTalk() {
  strip.draw(talk, ways.key);
  ways.look();
}

// hear asks whether the server hears. Where it does not, the microphone is off.
async function hear() {
  const before = ears.again;
  await ears.look();
  if (ears.hear) load(keptWords); // the browser has it then when the line is down
  if (ears.again !== before) notes.renew();
  Object.assign(talk, { lead: ears.lead, by: ears.by });
  if (!ears.hear) talk.off();
  showTalk();
}

async function drop(note) {
  dropped.add(note.id);
  notes.remove(note.id);
  await outbox.remove(note.id).catch(() => {});
  showLast();
}

let fetching = false;
let stale = false;
let current = false; // the state was fetched since the line was last down

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
    else if (line.up) setTimeout(() => current || refresh(), pause);
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
  current = true;
  gone = false;
  if (other || past === null) begin(fresh);
  if (other) {
    notes.forget();
    photos.show();
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
  drawCallouts(state, heeds);
  drawNewer(state);
  drawNext(state, large, line.up);
  remember();
}

// heeds says that who is at the bench sees to a stop.
async function heeds(stop) {
  if (!person()) return hint("Give a name first: who sees to a stop says so by name.");
  try {
    await heed(ulid(), job, stop, person());
    hint();
  } catch (problem) {
    hint(problem.message);
  }
  refresh();
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
    await outbox.remember(job, { state, notes: notes.sorted().filter((n) => n.seq).slice(0, 60).map(light) }).catch(() => {});
  } while (unsaved);
  saving = false;
}

// light is a note without the photos that the outbox holds.
const light = (n) => (n.photos ? { ...n, photos: n.photos.filter((p) => !p.bytes) } : n);

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
  gauge.draw(line.up && waiting.length === 0);
  byId("line-word").textContent = gone ? "No such job" : line.up ? "Connected" : line.changing ? "Handing over" : "Not connected";
  byId("line-wait").textContent = waiting.length ? `${count(waiting.length, "note")} kept, not checked yet` : gone ? "open it before you say a note" : line.up ? "no note waits" : "type on, notes are kept here";
}

// showPerson says who is at the bench, and whose notes go first.
function showPerson() {
  const now = person();
  byId("who-name").textContent = now || "not stated";
  byId("who-change").textContent = now ? "Hand over" : "Give a name";
  showLabel();
  field.placeholder = now ? `Note of ${now}` : "";
  const wait = byId("who-wait");
  const text = heldUp();
  wait.hidden = !text;
  if (wait.textContent !== text) wait.textContent = text;
}

// showLabel says what the field is for: whose words are being put right, or whose notes it takes.
function showLabel() {
  const now = person();
  byId("field-label").textContent = righting ? `Note ${righting}, put right` : now ? `Note of ${now}` : "Your note";
}

// heldUp says whose notes hold up the hand-over, "" where none do.
function heldUp() {
  const others = waiting.filter((n) => (n.person ?? "") !== person());
  const names = [...new Set(others.map((n) => n.person || "nobody named"))].join(", ");
  return others.length ? `${count(others.length, "note")} of ${names} still to be sent, under that name. Then the bench is handed over${line.up || line.changing ? "" : ", when the line is back"}.` : "";
}

function hint(text = "") {
  const p = byId("hint");
  p.classList.toggle("wrong", text !== "");
  if (text) p.textContent = text;
  else p.replaceChildren("Read it wrong? ", make("q", {}, "correction"), " and the right value, or ", make("q", {}, "scratch that"), ".");
}

let held = ""; // what stands in the field until it is known whether a gauge sent it

// bursts is what becomes of what types by itself.
const bursts = {
  async gauge(text) {
    if (field.value === held) field.value = "";
    held = "";
    const wrong = gone ? "There is no such job." : await enter(text, { from: "gauge" });
    if (wrong) askBack(`${text} came from a gauge and was not kept. ${wrong}`);
  },
  unsure(text) {
    if (field.value.trim() && field.value !== held) return askBack(`${text} came faster than most type and slower than a gauge, and was not taken. Measure again, or type it again.`);
    field.value = held = text;
    field.focus();
    askBack(`Did a gauge send ${text}? Then measure again. If you typed it, press Enter.`);
  },
  junk: (text) => askBack(`“${text}” was typed by no hand, and is no reading of a gauge. It was not taken.`),
  lost: (text, why) => askBack(`${text} came from a gauge ${why === "open" ? "while a form was open" : "without an Enter behind it; set the gauge to send one"}. It was not taken. Measure again.`),
};

// askBack shows and says what was not taken.
function askBack(text) {
  hint(text);
  aloud(text, "ask");
}

field.addEventListener("input", () => field.value.trim() || rights(0));

byId("entry").addEventListener("submit", (event) => {
  event.preventDefault();
  const text = field.value.trim();
  const length = [...text].length;
  if (!text) return;
  if (length > longest) return hint(`The note has ${length} characters; a note may have ${longest}. Make it several.`);
  field.value = "";
  const of = righting;
  rights(0);
  if (of) return say(text, { of });
  if (leaving.test(text)) return leave("/", toJobs);
  if (/^stop[.!]?$/i.test(text) && !silent()) silence(); // it is meant for the voice, and is no note
  else if (isPhoto(text)) photos.open();
  else if (handsTo(text)) handTyped(handsTo(text));
  else if (disposes(text)) decide.typed(disposes(text), state) || askBack(state ? "Nothing is out that takes that." : "What is out is not known here yet. Enter it again.");
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
  for (const [id, form] of [["print", "html"], ["pdf", "pdf"]]) byId(id).href = `/api/jobs/${encodeURIComponent(job)}/export?as=${form}`;
  keepFocus(field);
  new Bursts(field, bursts);
  document.addEventListener("visibilitychange", () => (document.hidden ? talk.hide() : ears.hear && talk.see())); // another sheet may be listened to meanwhile
  onPress(talk, () => (ears.hear ? ways.key : null), field);
  takeEarly();
  showTalk();
  arrive();
  if (ears.hear) talk.resume();
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
