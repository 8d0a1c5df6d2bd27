// ULIDs: 48 bits of milliseconds and 80 random bits in Crockford's base 32. Those of one
// page rise, so that sorting by id is sorting by when a note was made.

const digits = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";

let lastTime = 0;
let lastRandom = [];

// ulid returns the next id. A clock that stands or steps back still gives a higher one.
export function ulid(now = Date.now()) {
  if (now > lastTime) {
    lastTime = now;
    lastRandom = random();
  } else {
    step();
  }
  return time(lastTime) + lastRandom.map((d) => digits[d]).join("");
}

// above keeps ids above one that is still in the outbox, whatever the clock did since.
export function above(id) {
  const t = [...id.slice(0, 10)].reduce((sum, c) => sum * 32 + digits.indexOf(c), 0);
  const rest = [...id.slice(10)].map((c) => digits.indexOf(c));
  if (t > lastTime || (t === lastTime && id.slice(10) > lastRandom.map((d) => digits[d]).join(""))) {
    lastTime = t;
    lastRandom = rest;
  }
}

function random() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(bytes, (b) => b & 31);
}

function step() {
  for (let i = lastRandom.length - 1; i >= 0; i--) {
    if (++lastRandom[i] < 32) return;
    lastRandom[i] = 0;
  }
  lastTime++;
}

function time(t) {
  let out = "";
  for (let i = 0; i < 10; i++) {
    out = digits[t % 32] + out;
    t = Math.floor(t / 32);
  }
  return out;
}
