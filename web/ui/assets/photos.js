// Photos at the bench: "photo" opens the camera, counts down, and takes a picture of what the note
// before it was about. The picture is kept in the outbox at once, and sent when its note is answered.
//
// Start reading at Photos.open and Photos.send.

import { aloud, byId } from "./dom.js";
import { camera, picture } from "./camera.js";
import { ask } from "./fetch.js";
import * as outbox from "./outbox.js";
import { ulid } from "./ulid.js";

const seconds = 3; // to hold the part before the camera
const most = 40; // photos that are kept here at a time
const again = 15_000; // ms until one is sent again that the server could not keep
const slow = 60_000; // ms in which a photo must have gone over the line

const commands = ["photo", "take a photo", "picture", "take a picture"];

// isPhoto reports whether a text is the command, whatever its capitals and stops.
export const isPhoto = (text) => commands.includes(text.toLowerCase().replace(/[^\p{L}\p{N}]+/gu, " ").trim());

// Photos is given its bench: job, person(), note() the note before it, up() whether the line is, waits(id)
// whether a note is still to be answered, stands(id) whether it is in the record, shown(photo) and gone(photo) for the list, tell(words)
// shows and says what is wrong, and left() where the form is closed.
export class Photos {
  #dialog = byId("camera");
  #video = byId("camera-view");
  #source = null;
  #note = null;
  #turn = 0; // counts openings: what an older one still does is void
  #timer = 0;
  #kept = new Map(); // by id: photos that are not sent
  #sending = false;
  #later = 0;

  constructor(bench) {
    this.bench = bench;
    byId("photo-open").addEventListener("click", () => this.open());
    byId("camera-now").addEventListener("click", () => this.#take(this.#turn));
    byId("camera-cancel").addEventListener("click", () => this.#dialog.close());
    this.#dialog.addEventListener("close", () => {
      this.#stop();
      bench.left();
    });
    document.addEventListener("visibilitychange", () => document.hidden && this.#dialog.open && this.#dialog.close());
  }

  // open takes a picture into the note before it.
  open() {
    if (document.querySelector("dialog[open]")) return this.bench.tell("Close the form first.");
    this.#note = this.bench.note();
    if (!this.#note) return this.bench.tell("Say a note first: a photo goes with the note before it.");
    if (this.#kept.size >= most) return this.bench.tell(`${most} photos wait here already. Take more when they are sent.`);
    byId("camera-of").textContent = this.#note.text || "the note that was just spoken";
    this.#dialog.showModal();
    this.#start();
  }

  async #start() {
    this.#stop();
    const turn = ++this.#turn;
    this.#say("The camera opens.");
    this.#ready(false);
    try {
      const source = await camera((words) => turn === this.#turn && this.#fault(words));
      if (turn !== this.#turn) return source.stop();
      this.#source = source;
      this.#video.srcObject = source.stream;
      await this.#video.play();
      if (turn !== this.#turn) return;
      this.#ready(true);
      this.#count(turn, seconds);
    } catch (problem) {
      if (turn === this.#turn) this.#fault(problem.message);
    }
  }

  #count(turn, left) {
    if (turn !== this.#turn) return;
    if (left === 0) return this.#take(turn);
    this.#say(`Hold still: ${left}`);
    this.#timer = setTimeout(() => this.#count(turn, left - 1), 1000);
  }

  async #take(turn) {
    if (turn !== this.#turn || !this.#source) return;
    clearTimeout(this.#timer);
    const mine = ++this.#turn; // nothing else takes it
    const note = this.#note;
    const bytes = await picture(this.#video).catch((problem) => mine === this.#turn && this.#fault(problem.message));
    if (!bytes || mine !== this.#turn) return;
    this.#dialog.close();
    this.#keep(bytes, note);
  }

  async #keep(bytes, note) {
    const p = { id: ulid(), job: this.bench.job, person: this.bench.person(), of: note.id, at: new Date().toISOString(), bytes };
    await outbox.put(p).catch((fault) => this.bench.tell(`The photo is kept on this page alone (${fault?.message ?? "the browser’s storage failed"}): do not close it.`));
    this.#hold(p);
    aloud("Photo taken.", "");
    this.send();
  }

  #hold(p) {
    this.#kept.set(p.id, p);
    this.bench.shown(p);
  }

  // take takes up what this page before a reload, or another page of the job, left in the outbox.
  take(photos) {
    for (const p of photos) if (!this.#kept.has(p.id)) this.#hold(p);
    this.send();
  }

  // send sends what is kept, one at a time, each behind its note.
  async send() {
    if (this.#sending) return;
    this.#sending = true;
    clearTimeout(this.#later);
    for (const p of [...this.#kept.values()].sort((a, b) => (a.id < b.id ? -1 : 1))) {
      if (!this.bench.up()) break;
      if (p.refused || this.bench.waits(p.of) || !this.#kept.has(p.id)) continue;
      if (!(await this.#post(p))) break;
    }
    this.#sending = false;
    if ([...this.#kept.values()].some((p) => !p.refused && !this.bench.waits(p.of))) {
      this.#later = setTimeout(() => this.send(), again);
    }
  }

  // #post reports whether the server can be reached for the next.
  async #post(p) {
    const query = new URLSearchParams({ id: p.id, of: p.of, at: p.at, ...(p.person && { person: p.person }) });
    try {
      const { seq, photo, at } = await ask(`/api/jobs/${encodeURIComponent(p.job)}/photos?${query}`, {
        method: "POST", headers: { "Content-Type": "image/jpeg" }, body: p.bytes, signal: AbortSignal.timeout(slow),
      });
      this.settle(p.id);
      this.bench.shown({ id: p.id, of: p.of, seq, photo, at });
    } catch (problem) {
      if (problem.status === 0) return false;
      if (problem.status >= 500) {
        if (p.delay !== problem.message) this.#hold({ ...p, delay: problem.message });
        return true; // it is sent again later
      }
      const refused = { ...p, refused: problem.message };
      await outbox.put(refused).catch(() => {});
      this.#hold(refused);
    }
    return true;
  }

  // settle lets go of a photo that the server keeps.
  settle(id) {
    if (!this.#kept.delete(id)) return;
    outbox.remove(id).catch(() => {}); // sent once more, it gets the same entry
  }

  // show shows anew what is kept here.
  show() {
    for (const p of this.#kept.values()) this.bench.shown(p);
  }

  // resend sends a refused photo once more, with the last note if its own was never kept.
  async resend({ id }) {
    const p = this.#kept.get(id);
    if (!p) return;
    const { refused, ...rest } = p;
    if (!this.bench.stands(p.of)) {
      const last = this.bench.note();
      if (!last) return this.bench.tell("Say a note first: a photo goes with a note.");
      this.bench.gone(p);
      rest.of = last.id;
    }
    await outbox.put(rest).catch(() => {});
    this.#hold(rest);
    this.send();
  }

  drop(p) {
    this.settle(p.id);
    this.bench.gone(p);
  }

  #ready(ready) {
    byId("camera-now").hidden = !ready;
    this.#video.hidden = !ready;
    byId(ready ? "camera-now" : "camera-cancel").focus();
  }

  // #fault closes the form, which would keep the key to talk from working, and says why.
  #fault(words) {
    this.#dialog.close();
    this.bench.tell(words);
  }

  #say(words) {
    byId("camera-say").textContent = words;
  }

  #stop() {
    this.#turn++;
    clearTimeout(this.#timer);
    this.#source?.stop();
    this.#source = null;
    this.#video.srcObject = null;
  }
}
