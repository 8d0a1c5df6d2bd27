// The voices: those of the server, which sends a sentence as sound, and those that this
// browser has itself. Where the server does not speak, a voice of this device does. A voice of
// the browser that is not on the device sends the words to somebody else’s service: it speaks
// only if it was chosen.

import { ask } from "./fetch.js";
import { sound, speaker } from "./sound.js";

const longest = 900; // characters in one piece; the server takes 1,000
const patience = 8_000; // ms in which the server must have spoken
const short = 3_000; // ms, where a voice of this device can speak instead
const quick = 1_500; // ms in which it must have put a text into words
const anew = 60_000; // ms until a voice that failed is tried again

let ofServer = null; // its voices, once they are known
let problem = ""; // why the server does not speak
let unreached = false; // it could not be reached, or took too long: what is kept of it sounds still
let problemAt = 0;
const broken = new Map(); // when a voice of the browser failed, by its id

// known resolves to the server's voices.
export async function known() {
  try {
    ofServer = (await ask("/api/say/voices")).voices;
    fault(ofServer.length ? "" : "This server has no voice. Install Debian’s package flite on it, and start it again.");
  } catch (wrong) {
    if (wrong.status === 0 && !problem) away(); // it is asked again when the form is opened
  }
  return ofServer ?? [];
}

function fault(text) {
  problem = text;
  unreached = false;
  problemAt = Date.now();
}

function away(text = "The server cannot be reached.") {
  fault(text);
  unreached = true;
}

const synthesis = globalThis.speechSynthesis;

// browserVoices lists the browser's own voices for English; they may come late.
export const browserVoices = () => (synthesis?.getVoices() ?? []).filter((v) => /^en\b/i.test(v.lang));

// sends reports whether a voice of the browser sends what is spoken off this device.
export const sends = (voice) => voice.localService !== true;

export const idOf = (voice) => (sends(voice) ? "service:" : "browser:") + voice.name;
const isBrowsers = (id) => /^(service|browser):/.test(id);

// onBrowserVoices calls back when the browser's voices have come.
export const onBrowserVoices = (f) => synthesis?.addEventListener?.("voiceschanged", f);

const works = (voice) => !(Date.now() - broken.get(idOf(voice)) < anew);
const chosen = () => browserVoices().find((v) => idOf(v) === sound().voice && works(v));

// onDevice is the voice that speaks where the server does not.
function onDevice() {
  const voices = browserVoices().filter((v) => !sends(v) && works(v));
  return voices.find((v) => v.default) ?? voices[0];
}

// speaks tells what speaks now: {voice, problem}. voice is one of the browser, "server", or
// null; problem says why the server does not speak, "" where it does or is not asked.
export function speaks() {
  const voice = chosen();
  if (voice) return { voice, problem: "" };
  return { voice: problem ? onDevice() ?? (unreached ? "server" : null) : "server", problem };
}

// pieces cuts a text into what is spoken in one go: sentences, so that the first is heard
// while the next is rendered and short ones that come often are kept; none too long.
export function pieces(text) {
  const sentences = text.replace(/([.?!]) +(?=[A-Z0-9“])/g, "$1\n").split("\n");
  return sentences.flatMap(cut).filter((s) => /[\p{L}\p{N}]/u.test(s));
}

function cut(text) {
  const out = [];
  for (text = text.trim(); text.length > longest; ) {
    const at = Math.max(text.lastIndexOf(", ", longest), text.lastIndexOf("; ", longest));
    const end = at > 0 ? at + 1 : longest;
    out.push(text.slice(0, end));
    text = text.slice(end).trim();
  }
  return [...out, text];
}

// load resolves to a clip {seconds, guessed, play()}, or to null where nothing speaks. seconds
// is how long it sounds; guessed holds where that is a guess. play returns {ended, stop()};
// ended resolves when it is over: to "said", to "failed" where another voice may say it, or to "unsaid" where
// the browser lets none.
export async function load(text) {
  const voice = chosen();
  return voice ? loadOfBrowser(text, voice) : (await loadOfServer(text)) ?? standIn(text);
}

// standIn is load by a voice of this device.
export async function standIn(text) {
  const voice = onDevice();
  return voice ? loadOfBrowser(text, voice) : null;
}

async function loadOfServer(text) {
  const to = speaker();
  if (!to) return null;
  // One that failed is left alone for a while: what is kept of it sounds, and no more is asked.
  const faulty = problem !== "";
  const rests = faulty && Date.now() - problemAt < anew && (!unreached || onDevice());
  const { voice: id, speed } = sound();
  const query = new URLSearchParams({ text, speed: String(speed), ...(id && !isBrowsers(id) && { voice: id }) });
  try {
    const kept = faulty ? await fetched(query, "only-if-cached").catch(() => null) : null; // which tells nothing of the server
    const data = kept ?? (rests ? null : await fetched(query, "force-cache"));
    if (!data) return null;
    if (faulty && !kept) fault("");
    const buffer = await to.context.decodeAudioData(data).catch(() => null);
    return buffer && clipOf(buffer, to);
  } catch (wrong) {
    if (wrong.name === "TimeoutError") away("The server takes too long to speak.");
    else if (wrong.status === 503) fault(wrong.message);
    else if (wrong.status === undefined) away();
    return null;
  }
}

// fetched asks for a sentence; one of a voice that the server has no longer, in its usual one.
async function fetched(query, cache) {
  // A sentence that was heard once sounds again when the line is down.
  const answer = await fetch(`/api/say?${query}`, { cache, mode: "same-origin", signal: AbortSignal.timeout(onDevice() ? short : patience) });
  if (answer.ok) return answer.arrayBuffer();
  if (answer.status === 400 && query.has("voice")) {
    query.delete("voice");
    return fetched(query, cache);
  }
  const { error = "the server does not speak", do: mend = "ask whoever runs it" } = await answer.json().catch(() => ({}));
  throw Object.assign(new Error(`${error.charAt(0).toUpperCase()}${error.slice(1)}; ${mend}.`), { status: answer.status });
}

function clipOf(buffer, { context, out }) {
  return {
    seconds: buffer.duration,
    play() {
      const source = new AudioBufferSourceNode(context, { buffer });
      source.connect(out);
      const ended = new Promise((done) => source.addEventListener("ended", () => done("said")));
      source.start();
      return { ended, stop: () => source.stop() };
    },
  };
}

// loadOfBrowser has the server put the text into words first: a browser's voice stumbles
// over units. Where that takes too long it speaks the text as it is.
async function loadOfBrowser(text, voice) {
  const said = await ask(`/api/say/words?${new URLSearchParams({ text })}`, { signal: AbortSignal.timeout(quick) }).catch(() => ({}));
  const { speed, volume } = sound();
  const words = said.words || text;
  const utterance = Object.assign(new SpeechSynthesisUtterance(words), { voice, lang: voice.lang, rate: speed, volume });
  return {
    seconds: words.split(/\s+/).length / (2.7 * speed),
    guessed: true, // the browser does not say
    play() {
      const ended = new Promise((done) => {
        utterance.onend = () => done("said");
        utterance.onerror = ({ error }) => {
          const end = { interrupted: "said", canceled: "said", "not-allowed": "unsaid" }[error] ?? "failed"; // by us, or before a touch
          if (end === "failed") broken.set(idOf(voice), Date.now());
          done(end);
        };
      });
      synthesis.speak(utterance);
      return { ended, stop: () => synthesis.cancel() };
    },
  };
}
