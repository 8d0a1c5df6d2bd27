// The desk of the jobs: a job is opened, or gone to, in words that are spoken or typed. What was
// understood is read back and shown; a yes opens the job, and the page goes to its sheet.
//
// Nothing is kept here: what is said while the line is down is lost, and told so.

import { arrive, leave } from "./between.js";
import { aloud, byId } from "./dom.js";
import { Ears } from "./ears.js";
import { Line } from "./line.js";
import { onPerson, person } from "./person.js";
import { onPress } from "./press.js";
import { silent } from "./sound.js";
import { soundForm } from "./soundform.js";
import { silence } from "./speak.js";
import { Strip } from "./strip.js";
import { Talk } from "./talk.js";
import { ulid } from "./ulid.js";
import { Ways } from "./ways.js";

const longest = 2000; // characters of a note
const lost = "Not connected: that was not heard, and is not kept. Say it again when the line is back.";
const busy = "That was not heard, and is not kept: what was said before it waits for a recogniser. Say it again when that is answered.";

// desk makes the strip and the field work; understood(opening) is called with how it stands.
export function desk(understood) {
  const field = byId("desk-field");
  const ears = new Ears();
  const strip = new Strip();
  const line = new Line(null, person(), () => 0, { up, down, message });
  const talk = new Talk({ note, free: () => line.up, line, keep: unkept, keeps: false, refuse: () => {}, settled: follow, shown: show, heard: () => strip.meter(talk) });
  const ways = new Ways(talk, show, () => byId("talk-press").focus(), { read: "/api/check", free: () => line.up });
  let resumes = true; // the open microphone of the page before, once
  let begun = false; // something was said of a job that is not open
  let broken = false; // the line is down, and told so

  function note() {
    return { id: ulid(), job: "", person: person(), at: new Date().toISOString() };
  }

  function unkept() {
    if (line.up) return hint(busy);
    tell(lost);
    aloud("Not connected. Say it again when the line is back.", "ask");
  }

  // follow makes the line that of whoever is at the bench now.
  function follow() {
    if (talk.yields()) line.become(person());
  }

  async function up() {
    broken = false;
    hint("");
    await ears.look();
    Object.assign(talk, { lead: ears.lead, by: ears.by });
    if (!ears.hear) talk.off();
    else if (resumes) talk.resume();
    resumes = false;
    show();
  }

  // down tells of a line that broke. An attempt that fails after it takes no hint away.
  function down() {
    talk.down();
    if (broken) return show();
    broken = true;
    hint(begun ? "Not connected. What was said of the new job is forgotten: say it again when the line is back." : "Not connected. It is tried again.");
    if (begun) aloud("The line broke. Say the job again.", "ask");
    begun = false;
    show();
  }

  function message(m) {
    if (m.type === "hearing") return talk.hearing(m);
    if (m.type === "checked") return ways.checked(m);
    if (m.type === "refused" && ways.refused(m)) return;
    if (m.type === "refused") {
      if (!talk.refused(m.id, m.reason)) hint(`The server refused that: ${m.reason}.`);
    } else {
      talk.settle(m.id);
      hint("");
      if (m.type === "opening") stands(m);
      else if (m.type === "heard") unsure(m);
    }
    follow();
  }

  // stands shows and says how far the opening is.
  function stands(m) {
    begun = !m.go && (m.job !== "" || m.spec !== "");
    if (m.go) return leave(`/jobs/${encodeURIComponent(m.go)}`, m.say);
    tell("");
    heard(m.text);
    byId("desk-say").textContent = m.say;
    byId("desk-say").dataset.ready = m.ready;
    understood(m);
    aloud(m.say, m.ready ? "in" : "ask");
  }

  // unsure shows what is asked of words that were half heard, or not.
  function unsure(m) {
    if (m.verdict === "silent") return show();
    if (m.verdict === "asked") heard(m.text);
    if (m.verdict === "asked") byId("desk-say").textContent = m.say;
    tell(m.say);
    aloud(m.say, m.verdict === "taken" ? "in" : "ask");
  }

  function heard(text) {
    byId("desk-heard").hidden = !text;
    byId("desk-heard").textContent = `Heard: ${text}`;
  }

  function hint(text) {
    byId("hint").hidden = !text;
    byId("hint").textContent = text;
  }

  function tell(text) {
    strip.tell(text);
    show();
  }

  function show() {
    strip.draw(talk, ways.key);
    ways.look();
  }

  byId("entry").addEventListener("submit", (event) => {
    event.preventDefault();
    const text = field.value.trim();
    if (!text) return;
    if ([...text].length > longest) return hint(`That has more than ${longest} characters. Make it shorter.`);
    if (/^stop[.!]?$/i.test(text) && !silent()) silence();
    else if (!line.send({ type: "note", id: ulid(), text, at: new Date().toISOString() })) return hint("Not connected. Enter it again when the line is back.");
    hint("");
    field.value = "";
  });
  document.addEventListener("visibilitychange", () => (document.hidden ? talk.hide() : ears.hear && talk.see()));
  onPress(talk, () => (ears.hear ? ways.key : null), field);
  onPerson(follow);
  soundForm(() => byId("sound-open").focus());
  show();
  arrive();
  line.now();
}
