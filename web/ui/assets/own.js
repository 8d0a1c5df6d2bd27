// The browser's own recognition, as a third ear. It is off until somebody has read that it may send the
// sound elsewhere and has turned it on, each time anew: nothing remembers it. What it hears goes to the
// server as words, which are asked about before anything is kept.

const Recognition = globalThis.SpeechRecognition ?? globalThis.webkitSpeechRecognition;

const patience = 8000; // ms from the end of a note to its words

// has reports whether this browser has any.
export const has = () => Boolean(Recognition);

// Own is given what to do with what it hears: words(text, open), changed(), and failed(words) for what is wrong.
export class Own {
  #recognition = null;
  #text = "";
  #ending = false;
  #open = false; // the note is of an open microphone
  on = false;
  spoke = false;
  words = ""; // that are heard now; they still change

  constructor(hears) {
    this.hears = hears;
  }

  get listens() {
    return this.#recognition !== null && !this.#ending;
  }

  // busy holds until the browser has given the last words of a note.
  get busy() {
    return this.#recognition !== null;
  }

  // begin listens to one note: until end(), or where alone is set until a silence.
  begin(alone, open = false) {
    if (this.#recognition) return;
    const r = new Recognition();
    Object.assign(r, { lang: "en-GB", interimResults: true, continuous: !alone, maxAlternatives: 1 });
    this.#recognition = r;
    this.#open = open;
    this.#text = this.words = "";
    this.spoke = this.#ending = false;
    r.onspeechstart = () => this.#heard(r, "");
    r.onresult = (event) => r === this.#recognition && this.#result(r, event);
    r.onerror = (event) => r === this.#recognition && this.#failed(event.error);
    r.onend = () => r === this.#recognition && this.#over();
    try {
      r.start();
    } catch (problem) {
      this.#recognition = null;
      this.hears.failed(`The browser does not listen: ${problem.message}`);
    }
    this.hears.changed();
  }

  #result(r, { results }) {
    const all = [...results];
    const said = (list) => list.map((x) => x[0].transcript.trim()).join(" ").trim();
    this.#text = said(all.filter((x) => x.isFinal));
    this.#heard(r, said(all));
  }

  #heard(r, words) {
    if (r !== this.#recognition) return;
    this.spoke = true;
    this.words = words || this.words;
    this.hears.changed();
  }

  #over() {
    const text = this.#text;
    this.#recognition = null;
    this.words = "";
    if (text) this.hears.words(text, this.#open);
    this.hears.ended();
    this.hears.changed();
  }

  // end ends the note; its last words still come.
  end() {
    if (!this.#recognition || this.#ending) return;
    this.#ending = true;
    const r = this.#recognition;
    setTimeout(() => r === this.#recognition && this.#given(), patience);
    r.stop();
    this.hears.changed();
  }

  // #given is a note whose end does not come.
  #given() {
    this.drop();
    this.hears.failed("The browser’s own recognition gives no words back. Say it again, let the server listen, or type.");
    this.hears.changed();
  }

  // drop lets a note go, with its words.
  drop() {
    const r = this.#recognition;
    this.#recognition = null;
    this.words = "";
    r?.abort();
    if (r) this.hears.changed();
  }

  #failed(error) {
    if (error === "no-speech" || error === "aborted") return; // its end comes next
    this.#text = "";
    this.hears.failed(inWords(error));
  }
}

function inWords(error) {
  switch (error) {
    case "not-allowed": case "service-not-allowed":
      return "The browser’s own recognition was refused. Allow the microphone for this page, let the server listen, or type.";
    case "network":
      return "The browser’s own recognition cannot reach whoever hears for it. Let the server listen, or type.";
    case "audio-capture":
      return "The browser finds no microphone. Plug one in and talk again, or type.";
    case "language-not-supported":
      return "The browser’s own recognition does not know English. Let the server listen, or type.";
  }
  return `The browser’s own recognition has failed (${error}). Let the server listen, or type.`;
}
