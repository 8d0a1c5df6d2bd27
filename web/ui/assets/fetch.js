// Asks the server and turns what is wrong into words: {error, do} as it sent them, or
// that it cannot be reached.

export class Problem extends Error {
  constructor(status, wrong, mend) {
    super(mend ? `${wrong}. ${mend}.` : `${wrong}.`);
    this.status = status; // 0 where the server could not be reached
  }
}

export async function ask(path, init = {}) {
  let reply, body;
  try {
    reply = await fetch(path, { cache: "no-store", signal: AbortSignal.timeout(15_000), ...init });
    body = reply.ok ? await reply.json() : await reply.json().catch(() => ({})); // a good one may be cut short
  } catch {
    throw new Problem(0, "The server cannot be reached", "It is tried again when you do this again");
  }
  if (!reply.ok) throw new Problem(reply.status, capital(body.error ?? `The server answered ${reply.status}`), capital(body.do ?? ""));
  return body;
}

export const send = (path, value) =>
  ask(path, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(value) });

const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1);
