// The voices: those of the server, which sends a sentence as sound, and those that this
// browser has itself.

import { ask } from "./fetch.js";
import { sound, speaker } from "./sound.js";

const ofBrowser = "browser:";
const longest = 900; // characters in one piece; the server takes 1,000
const patience = 8_000; // ms in which the server must have spoken
const anew = 60_000; // ms until a server that had no voice is asked again

let ofServer = null; // its voices, once they are known
let problem = ""; // why the server does not speak
let problemAt = 0;

// trouble says why no voice is heard, or "".
export const trouble = () => (browserVoice() ? "" : problem);

// known resolves to the server's voices.
export async function known() {
  try {
    ofServer = (await ask("/api/say/voices")).voices;
    fault(ofServer.length ? "" : "This server has no voice; signals alone sound. To mend it, install Debian’s package flite on the server and start it again.");
  } catch {
    // the line is down: it is asked again when the form is opened
  }
  return ofServer ?? [];
}

function fault(text) {
  problem = text;
  problemAt = Date.now();
}

const synthesis = globalThis.speechSynthesis;

// browserVoices lists the browser's own voices for English; they may come late.
export const browserVoices = () => (synthesis?.getVoices() ?? []).filter((v) => /^en\b/i.test(v.lang));

export const idOf = (voice) => ofBrowser + voice.name;

// onBrowserVoices calls back when the browser's voices have come.
export const onBrowserVoices = (f) => synthesis?.addEventListener?.("voiceschanged", f);

const browserVoice = () => browserVoices().find((v) => idOf(v) === sound().voice);

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

// load resolves to a clip {seconds, play()}, or to null where nothing speaks. play returns
// {ended, stop()}; ended resolves when it is over, however.
export async function load(text) {
  const voice = browserVoice();
  if (voice) return loadOfBrowser(text, voice);
  if (problem && Date.now() - problemAt < anew) return null;
  const to = speaker();
  if (!to) return null;
  const { voice: id, speed } = sound();
  const query = new URLSearchParams({ text, speed: String(speed), ...(id && !id.startsWith(ofBrowser) && { voice: id }) });
  try {
    return clipOf(await to.context.decodeAudioData(await fetched(query)), to);
  } catch (wrong) {
    if (wrong.status === 503) fault(`${wrong.message} Signals alone sound.`);
    return null;
  }
}

// fetched asks for a sentence; one of a voice that the server has no longer, in its usual one.
async function fetched(query) {
  // A sentence that was heard once sounds again when the line is down.
  const answer = await fetch(`/api/say?${query}`, { cache: "force-cache", signal: AbortSignal.timeout(patience) });
  if (answer.ok) return answer.arrayBuffer();
  if (answer.status === 400 && query.has("voice")) {
    query.delete("voice");
    return fetched(query);
  }
  const said = await answer.json().catch(() => ({}));
  throw Object.assign(new Error(`${said.error ?? "The server does not speak"}; ${said.do ?? "ask whoever runs it"}.`), { status: answer.status });
}

function clipOf(buffer, { context, out }) {
  return {
    seconds: buffer.duration,
    play() {
      const source = new AudioBufferSourceNode(context, { buffer });
      source.connect(out);
      const ended = new Promise((done) => source.addEventListener("ended", done));
      source.start();
      return { ended, stop: () => source.stop() };
    },
  };
}

// loadOfBrowser has the server put the text into words first: a browser's voice stumbles
// over units.
async function loadOfBrowser(text, voice) {
  const said = await ask(`/api/say/words?${new URLSearchParams({ text })}`).catch(() => ({}));
  const { speed, volume } = sound();
  const words = said.words || text;
  const utterance = Object.assign(new SpeechSynthesisUtterance(words), { voice, lang: voice.lang, rate: speed, volume });
  return {
    seconds: words.split(/\s+/).length / (2.7 * speed), // a guess: the browser does not say
    play() {
      const ended = new Promise((done) => (utterance.onend = utterance.onerror = done));
      synthesis.speak(utterance);
      return { ended, stop: () => synthesis.cancel() };
    },
  };
}
