// The part of the microphone that runs beside the page: it cuts the sound into frames of 20 ms
// and hands each over.

const size = 320; // samples of a frame, at 16 kHz

class Frames extends AudioWorkletProcessor {
  #frame = new Int16Array(size);
  #filled = 0;

  process([input]) {
    for (const x of input[0] ?? []) {
      this.#frame[this.#filled++] = Math.max(-32768, Math.min(32767, Math.round(x * 32768)));
      if (this.#filled === size) this.#hand();
    }
    return true;
  }

  #hand() {
    this.port.postMessage(this.#frame, [this.#frame.buffer]);
    this.#frame = new Int16Array(size);
    this.#filled = 0;
  }
}

registerProcessor("frames", Frames);
