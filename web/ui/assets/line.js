// The line to the server: a websocket that comes back by itself, longer apart each time,
// and goes on after the last entry that was seen.

const first = 400; // ms to the second attempt
const longest = 12_000; // ms between attempts
const patience = 8_000; // ms in which the server must show that it is there
const pulse = 12_000; // ms between looks whether it still is
const piece = 3200; // samples of a kept note that are sent together

// Line calls on.up(), on.down(nextTryAt) and on.message(object); job and after() say what
// to ask for, null for a line to where jobs are opened. Each connection is of one person. The server tells
// with all that it hears whether the bench stands by, and is told when the line comes back.
export class Line {
  #socket = null;
  #tries = 0;
  #again = 0;
  #watch = 0;
  up = false;
  failed = false; // since it was last up
  standby = false; // nothing that is said is heard but "resume"
  changing = false; // it is being closed, to come back as another person's

  constructor(job, person, after, on) {
    Object.assign(this, { job, person, after, on });
    addEventListener("online", () => this.now());
    addEventListener("offline", () => this.drop());
    document.addEventListener("visibilitychange", () => document.hidden || this.now());
    setInterval(() => this.look(), pulse);
  }

  // now connects at once, unless it is connected or just about to be.
  now() {
    if (this.#socket) return;
    clearTimeout(this.#again);
    const scheme = location.protocol === "https:" ? "wss:" : "ws:";
    const query = new URLSearchParams({ ...(this.job !== null && { job: this.job, after: this.after() }), ...(this.person && { person: this.person }), ...(this.standby && { standby: "yes" }) });
    const socket = new WebSocket(`${scheme}//${location.host}/ws${this.job === null ? "/open" : ""}?${query}`, "readback.v1");
    this.#socket = socket;
    this.#expect(socket);
    const person = this.person;
    socket.onopen = () => (person === this.person ? this.#opened(socket) : this.#change());
    socket.onmessage = (event) => this.#heard(socket, event);
    socket.onclose = () => this.#closed(socket);
  }

  // become makes the connection another person's: what is sent from now on is said by them.
  become(person) {
    if (person === this.person) return;
    this.person = person;
    if (this.up) this.#change();
  }

  // #change waits for the end of the old connection, so that the server has one bench and
  // not two.
  #change() {
    this.up = false;
    this.changing = true;
    this.#socket.close();
    this.#expect(this.#socket);
  }

  // send returns false if the line is down. An answer is awaited: if nothing comes, the
  // line is given up.
  send(message) {
    if (!this.up || this.#socket?.readyState !== WebSocket.OPEN) return false;
    this.#socket.send(JSON.stringify(message));
    this.#expect(this.#socket);
    return true;
  }

  // sound sends a frame of a spoken note. What is heard of it comes when it comes.
  sound(frame) {
    if (!this.up || this.#socket?.readyState !== WebSocket.OPEN) return false;
    this.#socket.send(frame);
    return true;
  }

  // speak sends a spoken note that was kept, as a whole.
  speak({ id, sound, open, cut, late, at }) {
    if (!this.send({ type: "sound", id, rate: 16_000, encoding: "s16le", ...(open && { open }), ...(late && { late }), at })) return false;
    for (let i = 0; i < sound.length; i += piece) this.sound(sound.subarray(i, i + piece));
    return this.send({ type: "sound-end", id, ...(cut && { cut }) });
  }

  // drop gives up a line that is dead, without waiting for the browser to notice.
  drop() {
    const socket = this.#socket;
    if (!socket) return;
    socket.close();
    this.#closed(socket);
  }

  // look asks the server for a sign of life, since a dead radio link says nothing.
  async look() {
    if (!this.up || document.hidden) return;
    const socket = this.#socket;
    try {
      await fetch("/healthz", { cache: "no-store", signal: AbortSignal.timeout(patience) });
    } catch {
      if (socket === this.#socket) this.drop();
    }
  }

  #expect(socket) {
    clearTimeout(this.#watch);
    this.#watch = setTimeout(() => socket === this.#socket && this.drop(), patience);
  }

  #opened(socket) {
    if (socket !== this.#socket) return;
    clearTimeout(this.#watch);
    this.#tries = 0;
    this.up = true;
    this.failed = false;
    this.on.up();
  }

  #heard(socket, event) {
    if (socket !== this.#socket || typeof event.data !== "string") return;
    clearTimeout(this.#watch);
    const m = JSON.parse(event.data);
    if (m.type === "heard") this.standby = Boolean(m.standby);
    this.on.message(m);
  }

  #closed(socket) {
    if (socket !== this.#socket) return;
    clearTimeout(this.#watch);
    this.#socket = null;
    this.up = false;
    if (this.changing) {
      this.changing = false;
      return this.now();
    }
    this.failed = true;
    const wait = Math.min(longest, first * 2 ** this.#tries++) * (0.75 + Math.random() / 2);
    this.#again = setTimeout(() => this.now(), wait);
    this.on.down(Date.now() + wait);
  }
}
