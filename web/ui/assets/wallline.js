// The line of a wall: it only listens. The server sends what changes, and a sign of life every
// five seconds; where none comes, the line is taken for lost, said to be so, and made anew.

const first = 400; // ms to the second attempt
const longest = 8_000; // ms between attempts
const patience = 11_000; // ms without a sign of life

export class WallLine {
  #socket = null;
  #tries = 0;
  #again = 0;
  #watch = 0;

  // on has message(object) and down().
  constructor(on) {
    this.on = on;
    addEventListener("online", () => this.now());
    addEventListener("offline", () => this.#drop());
    document.addEventListener("visibilitychange", () => document.hidden || this.now());
  }

  // now connects at once, unless it is connected or just about to be.
  now() {
    if (this.#socket) return;
    clearTimeout(this.#again);
    const scheme = location.protocol === "https:" ? "wss:" : "ws:";
    const socket = new WebSocket(`${scheme}//${location.host}/ws/wall`, "readback.v1");
    this.#socket = socket;
    this.#expect(socket);
    socket.onmessage = (event) => {
      if (socket !== this.#socket) return;
      this.#expect(socket);
      this.#tries = 0;
      this.on.message(JSON.parse(event.data));
    };
    socket.onclose = () => this.#closed(socket);
  }

  #expect(socket) {
    clearTimeout(this.#watch);
    this.#watch = setTimeout(() => socket === this.#socket && this.#drop(), patience);
  }

  // #drop gives up a line that is dead, without waiting for the browser to notice.
  #drop() {
    const socket = this.#socket;
    if (!socket) return;
    socket.close();
    this.#closed(socket);
  }

  #closed(socket) {
    if (socket !== this.#socket) return;
    clearTimeout(this.#watch);
    this.#socket = null;
    const wait = Math.min(longest, first * 2 ** this.#tries++) * (0.75 + Math.random() / 2);
    this.#again = setTimeout(() => this.now(), wait);
    this.on.down();
  }
}
