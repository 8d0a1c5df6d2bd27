// Speaking at the bench: when a note begins and ends, and where its sound goes. It goes over the
// line as it is spoken, if nothing waits there. It is kept here until its answer has come, and
// goes to the outbox if the line breaks.
//
// Start reading at Talk.press and Talk.#take.

import { awake } from "./awake.js";
import { listen, rate } from "./mic.js";
import { level, Voice } from "./levels.js";
import { Own } from "./own.js";
import { aloud } from "./dom.js";
import { keepOn, wasOn } from "./between.js";

const second = 50; // frames
const longest = 12 * second; // of a note, as the server takes it
const idle = 8 * second; // of an open note in which nobody spoke
const lead = 20; // frames before a note that are taken into it
const least = 10; // of a note that is worth keeping
const onset = 10; // frames in which the server knows a voice as one
const carried = lead + onset; // frames of a note in which nobody spoke that go into the next
const rests = 3 * second; // after a refusal, before an open microphone tries again
const tail = 150; // ms after a key is let go
const echo = 250; // ms in which a room still speaks

// Talk is given its bench: note() is a new note of whoever is there, free() whether it may go over
// the line now, line the line, keep(note) puts it into the outbox where keeps holds, refuse(note, reason) shows that
// it was refused, settled() says that the line is free, and shown() that this is to be drawn.
export class Talk {
  #source = null;
  #opening = null;
  #turn = 0; // counts closings: a microphone that opens for an older turn is stopped
  #spoken = null; // the note that is being spoken, see #note
  #talks = false; // by key or tap, and told so
  #sent = new Map(); // by id: notes that are over and not answered
  #gone = new Set(); // ids of notes that were let go while they went over the line
  #between = []; // frames since the last note of an open microphone
  #deaf = false; // the page speaks, or did just now
  #released = 0;
  #hearsAgain = 0;
  #rest = 0;
  #on = false;
  #waits = false; // the open microphone listens on once the page is seen
  way = "hold";
  fault = "";
  lead = ""; // what a note of an open microphone begins with
  by = ""; // what hears, in words
  level = -100;
  speaking = false;
  check = null; // takes the frames instead of notes, each with whether the page speaks into it
  tryout = null; // the sentences of the check, one of which may be on the line
  paused = false;

  constructor(bench) {
    this.bench = bench;
    this.own = new Own({
      words: (text, open) => bench.words({ ...bench.note(), text, from: "browser", ...(open && { open }) }),
      changed: () => {
        this.#tell();
        bench.shown();
      },
      failed: (words) => {
        Object.assign(this, { fault: words, on: false });
        aloud(words);
      },
      ended: () => this.#ownAgain(),
    });
    document.addEventListener("readback:speaking", () => this.#pageSpeaks());
    document.addEventListener("readback:silent", () => this.#pageIsSilent());
  }

  // on holds while an open microphone is; the screen stays on as long.
  get on() {
    return this.#on;
  }

  set on(on) {
    this.#on = on;
    this.#waits = false;
    awake(on);
  }

  get #note() {
    return this.#spoken;
  }

  set #note(note) {
    this.#spoken = note;
    this.#tell();
  }

  // #tell says whether somebody talks by key or tap: the page does not begin to speak into that.
  #tell() {
    const talks = this.way !== "open" && Boolean(this.#note || this.own.listens);
    if (talks === this.#talks) return;
    this.#talks = talks;
    document.dispatchEvent(new CustomEvent("readback:talking", { detail: talks }));
  }

  // state is off, listening, hearing, thinking or speaking.
  get state() {
    if (this.#deaf) return "speaking";
    if (this.own.on) return this.#ownState;
    if (this.#note) return this.#note.spoke ? "hearing" : "listening";
    if (this.#sent.size) return "thinking";
    return this.on ? "listening" : "off";
  }

  // listens holds while what is said goes into a note.
  get listens() {
    return this.state === "listening" || this.state === "hearing";
  }

  // live holds while what is said goes over the line, and not into a note that is kept here.
  get live() {
    return Boolean(this.#note?.live);
  }

  // standby holds while nothing is heard but "resume".
  get standby() {
    return this.bench.line.standby;
  }

  get words() {
    return this.own.on ? this.own.words : (this.#note?.words ?? "");
  }

  // queued holds while no recogniser is free and a note waits for one.
  get queued() {
    return Boolean(this.#note?.queued) || this.#sentWaits;
  }

  get #sentWaits() {
    return [...this.#sent.values()].some((note) => note.queued);
  }

  get #ownState() {
    if (this.own.listens) return this.own.spoke ? "hearing" : "listening";
    if (this.own.busy) return "thinking";
    return this.on ? "listening" : "off";
  }

  // hearBy has the browser listen itself, or the server.
  hearBy(own) {
    keepOn(false); // the next page begins with the server's hearing, and off
    this.off();
    this.own.on = own;
    this.fault = "";
    this.bench.shown();
  }

  #pressOwn(interrupts) {
    this.fault = "";
    if (this.way === "hold") this.own.begin(false);
    else if (this.way === "tap") this.own.listens ? this.own.end() : this.own.begin(true);
    else if (!interrupts) this.on ? this.off() : this.#ownOn();
  }

  #ownOn() {
    this.on = true;
    this.own.begin(true, true);
  }

  // #ownAgain goes on listening where the microphone is open, a moment after the last note.
  #ownAgain() {
    setTimeout(() => this.own.on && this.on && !this.#deaf && !this.paused && this.own.begin(true, true), echo);
  }

  // take sets the way to talk.
  take(way) {
    keepOn(false);
    this.off();
    this.way = way;
    this.bench.shown();
  }

  // press is a key or the button that goes down, or is tapped.
  press() {
    if (this.paused || this.way === "type") return;
    const interrupts = this.speaking;
    if (interrupts) document.dispatchEvent(new CustomEvent("readback:hush"));
    clearTimeout(this.#released);
    if (this.own.on) this.#pressOwn(interrupts);
    else if (this.way === "hold") this.#begin("");
    else if (this.way === "tap") this.#note ? this.end() : this.#begin("silence");
    else if (!interrupts) this.on ? this.#turnOff() : this.#turnOn();
  }

  // resume listens on where the page before did.
  resume() {
    if (this.way !== "open" || this.on || !wasOn()) return;
    if (document.hidden) this.#waits = true;
    else this.#turnOn();
  }

  // hide turns the microphone off while the page is not seen: another may be listened to there.
  hide() {
    const waits = this.#waits || (this.on && !this.own.on); // the browser's own is begun by hand alone
    this.off();
    this.#waits = waits;
  }

  // see listens on where hide turned an open microphone off, and says so; while nobody may talk, at the end of that.
  async see() {
    if (!this.#waits || this.paused || document.hidden) return;
    await this.#turnOn();
    if (this.on && !this.paused) aloud("Listening again.", "");
  }

  #turnOff() {
    keepOn(false);
    this.off();
  }

  // release is the key that is let go, or was cut: it is held, and tells no more.
  release(cut = false) {
    if (this.way !== "hold" || !(this.#note || this.own.listens)) return;
    clearTimeout(this.#released);
    this.#released = setTimeout(() => this.end(cut), tail);
  }

  async #turnOn() {
    this.on = true;
    this.fault = "";
    this.bench.shown();
    if (await this.open()) keepOn(true);
    this.bench.shown();
  }

  // off turns the microphone off: a note that somebody is in the middle of is cut.
  off() {
    this.on = false;
    this.own.spoke ? this.own.end() : this.own.drop();
    this.#between = [];
    if (this.#note?.spoke) this.end(true);
    else this.#drop();
    if (!this.check) this.#close();
    this.bench.shown();
  }

  // pause lets nobody talk meanwhile.
  pause(paused) {
    this.paused = paused;
    this.#between = [];
    if (!paused) {
      this.#ownAgain();
      return this.see();
    }
    this.own.drop();
    if (this.#note?.spoke) this.end(true);
    else this.#drop();
    this.bench.shown();
  }

  #close() {
    this.#source?.stop();
    this.#closed();
  }

  #closed() {
    this.#turn++;
    this.#source = this.#opening = null;
    this.level = -100;
  }

  // open opens the microphone, which then stays so; it resolves to whether it is, and was not closed
  // meanwhile.
  async open() {
    if (this.#source) return true;
    const turn = this.#turn;
    this.#opening ??= listen((frame) => turn === this.#turn && this.#take(frame), (words) => turn === this.#turn && this.#lost(words));
    try {
      const source = await this.#opening;
      if (turn === this.#turn) this.#source = source;
      else source.stop();
    } catch (problem) {
      if (turn === this.#turn) this.#lost(problem.message);
    }
    if (turn !== this.#turn) return false;
    this.#opening = null;
    return true;
  }

  // #lost cuts the note.
  #lost(words) {
    this.#closed();
    this.on = false;
    keepOn(false);
    this.fault = words;
    aloud(words);
    this.end(true);
    this.bench.shown();
  }

  async #begin(until) {
    if (this.#note) return;
    this.fault = "";
    this.#note = { ...this.bench.note(), until, open: this.way === "open", frames: [], voice: new Voice(), samples: 0, spoke: false, live: false, refused: "", words: "" };
    this.bench.shown();
    await this.open();
  }

  // #take is given each frame of the microphone, as long as it is open.
  #take(frame) {
    this.level = level(frame);
    this.bench.heard();
    if (this.check) return this.check(frame, this.#deaf);
    if (this.#deaf || this.paused) return;
    if (this.#rest > 0) this.#rest--;
    if (this.#note) return this.#add(frame);
    if (!this.on) return;
    this.#between = [...this.#between, frame].slice(-second);
    if (this.#rest || (this.#sent.size && !(this.#sentWaits && this.bench.keeps))) return;
    const frames = this.#between;
    this.#between = [];
    this.#begin("silence");
    for (const f of frames) if (this.#note) this.#add(f);
  }

  #add(frame) {
    const note = this.#note;
    this.#goLive(note);
    note.frames.push(frame);
    note.voice.take(level(frame));
    if (note.live) note.live = this.bench.line.sound(frame);
    const unheard = !note.live || note.queued; // by the server: its end is told by loudness
    if (unheard && note.voice.spoke && !note.spoke) {
      note.spoke = true;
      this.bench.shown();
    }
    if (note.frames.length >= longest) this.#full(note);
    else if (unheard && note.until && note.voice.over) this.end();
    else if (this.on && note.frames.length >= idle && nobody(note)) this.#anew(note);
  }

  // #full cuts a note that is as long as one may be.
  #full(note) {
    if (worth(note)) {
      this.fault = "A note has twelve seconds at most, and was ended.";
      aloud(this.fault);
    }
    this.end(true);
  }

  // #goLive leads a note over the line, if all of it can go there.
  #goLive(note) {
    if (note.live || note.refused || this.#sentWaits || !this.bench.free()) return; // another note would take the place of one that waits
    if (note.frames.length && (!note.until || note.spoke)) return; // its beginning is here alone: it goes as a whole
    const { id, until, open, at } = note;
    note.live = this.bench.line.send({ type: "sound", id, rate, encoding: "s16le", ...(until && { until }), ...(open && { open }), at });
    if (!note.live) return;
    note.frames = note.frames.slice(-lead);
    for (const f of note.frames) this.bench.line.sound(f);
    this.bench.shown();
  }

  // #anew begins an open note again in which nobody has spoken yet, so that it does not end in
  // the middle of a word. The new one takes its place at the server; where it cannot, since something waits for
  // the line, the ear is given back.
  #anew(note) {
    const frames = note.frames.slice(-carried);
    note.live && !this.bench.free() ? this.#drop() : this.#letGo();
    this.bench.settled();
    this.#begin("silence");
    for (const f of frames) this.#add(f);
  }

  // end ends the note that is being spoken. One that is cut may lack the end of a number: the server takes none
  // of it unasked.
  end(cut = false) {
    const note = this.#note;
    clearTimeout(this.#released);
    this.own.end();
    if (!note) return;
    this.#note = null;
    note.cut = cut;
    if (note.live && this.bench.line.send({ type: "sound-end", id: note.id, ...(cut && { cut }) })) this.#sent.set(note.id, note);
    else if (worth(note)) note.refused ? this.bench.refuse(whole(note), note.refused) : this.bench.keep(whole(note));
    this.bench.shown();
    this.bench.settled();
  }

  // #drop lets a note go of which nothing is to be judged. The server holds an ear for it: a note of one silent
  // frame takes its place there, and ends.
  #drop() {
    if (!this.#letGo()?.live) return;
    const { id, at } = this.bench.note();
    this.#gone.add(id);
    const { line } = this.bench;
    line.send({ type: "sound", id, rate, encoding: "s16le", open: true, at });
    line.sound(new Int16Array(rate / second));
    line.send({ type: "sound-end", id });
  }

  // #letGo forgets the note that is being spoken, and that it may yet be refused.
  #letGo() {
    const note = this.#note;
    this.#note = null;
    if (note?.live) this.#gone.add(note.id);
    return note;
  }

  // yields reports whether the line is free of spoken notes; one in which nobody has spoken yet
  // gives way.
  yields() {
    const note = this.#note;
    if (note?.live && note.until && (!worth(note) || nobody(note))) this.#drop();
    return !this.#note?.live && this.#sent.size === 0 && !this.tryout?.busy;
  }

  // hearing shows what the server hears of the note.
  hearing(m) {
    if (this.tryout?.hearing(m)) return;
    const note = this.#note?.id === m.id ? this.#note : this.#sent.get(m.id);
    if (!note) return;
    note.queued = m.state === "queued";
    note.samples = m.samples ?? 0;
    if (note !== this.#note) return this.bench.shown();
    if (m.state === "ended" && note.until) this.#over(note);
    else if (m.state === "speaking") note.spoke = true;
    if (m.words.length) note.words = m.words.join(" ");
    this.bench.shown();
  }

  // #over is the end of a note that the server has ended.
  #over(note) {
    this.#note = null;
    clearTimeout(this.#released);
    this.#sent.set(note.id, note);
  }

  // settle gives back a note that was answered, or undefined.
  settle(id) {
    if (this.#note?.id === id) this.#over(this.#note);
    const note = this.#sent.get(id);
    this.#sent.delete(id);
    this.#gone.delete(id);
    if (note) this.bench.shown();
    return note && whole(note);
  }

  // refused takes a refusal of a note that went over the line; it returns whether it was one. One
  // that is still spoken is kept to its end.
  refused(id, reason) {
    const note = this.#note?.id === id ? this.#note : this.#sent.get(id);
    if (!note) return this.#gone.delete(id);
    Object.assign(note, { live: false, queued: false, refused: reason });
    this.fault = reason.charAt(0).toUpperCase() + reason.slice(1) + ".";
    this.#sent.delete(id);
    if (worth(note)) aloud(this.fault);
    this.#rest = rests;
    if (note !== this.#note) worth(note) && this.bench.refuse(whole(note), reason);
    else if (note.until && !note.spoke && !note.voice.spoke) this.#note = null;
    this.bench.shown();
    return true;
  }

  // down is the end of the line: what went over it and was not answered is kept.
  down() {
    if (this.#note) Object.assign(this.#note, { live: false, queued: false, late: true });
    const sent = [...this.#sent.values()].filter(worth);
    this.#sent.clear();
    this.#gone.clear();
    for (const note of sent) this.bench.keep({ ...whole(note), late: true });
    this.bench.shown();
  }

  // #pageSpeaks lets the note go that is being spoken: the page must not hear itself, and a note without its
  // middle must not be judged. If somebody spoke in it that is said, behind the stop that broke in.
  #pageSpeaks() {
    clearTimeout(this.#hearsAgain);
    this.#deaf = this.speaking = true;
    this.#between = [];
    const note = this.#note;
    const unheard = note ? note.spoke || (!note.open && note.voice.spoke) : this.own.listens && this.own.spoke;
    this.#drop();
    if (this.on || this.own.listens) this.own.drop();
    if (unheard) {
      this.fault = "What you said just now was not heard. Say it again.";
      aloud(this.fault, "ask", true);
    }
    this.bench.shown();
  }

  #pageIsSilent() {
    this.speaking = false;
    clearTimeout(this.#hearsAgain);
    this.#hearsAgain = setTimeout(() => {
      this.#deaf = false;
      this.#ownAgain();
      this.bench.shown();
    }, echo);
  }
}

// inTurn is shown of notes that wait for a recogniser. It is not spoken: a microphone that is open would have to be
// deaf to it.
export const inTurn = "No recogniser is free. Your note is kept, and heard in its turn.";

// nobody reports whether nobody has spoken in a note. Where it was loud and is quiet again the server says so, which tells
// a dropped tool from a voice: once it has heard all but what goes into the next note.
const nobody = ({ voice, spoke, frames, samples }) =>
  !spoke && (!voice.spoke || (voice.quiet >= carried && samples * (second / rate) >= frames.length - lead));

// worth tells a note from a key that was touched, and from a room in which nobody spoke.
const worth = (note) => note.frames.length >= least && (!note.until || note.spoke || note.voice.spoke);

// whole is a note as the outbox keeps it, with its sound in one piece.
function whole({ id, job, person, at, late, open, cut, frames }) {
  const sound = new Int16Array(frames.reduce((sum, f) => sum + f.length, 0));
  let n = 0;
  for (const f of frames) {
    sound.set(f, n);
    n += f.length;
  }
  return { id, job, person, at, late, open, cut, text: "", sound, seconds: sound.length / rate };
}
