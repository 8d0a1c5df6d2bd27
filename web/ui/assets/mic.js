// The microphone: frames of 20 ms, mono, 16 bit, 16 kHz. What is wrong with it is said in words
// for the one at the bench, who can always type.

export const rate = 16_000;

const cleanly = { channelCount: 1, echoCancellation: false, noiseSuppression: false, autoGainControl: false };

// A source calls take(Int16Array) for each frame, and fault(words) once when it gives no more. It
// resolves to {stop()}, or rejects with an Error in words.
let source = microphone;

// Another module may bring sound of its own; one that was there before is told that it can.
document.addEventListener("readback:source", (event) => (source = event.detail));
document.dispatchEvent(new CustomEvent("readback:microphone"));

export const listen = (take, fault) => source(take, fault);

async function microphone(take, fault) {
  if (!navigator.mediaDevices?.getUserMedia || !globalThis.AudioWorkletNode) {
    throw new Error("This browser gives a page at this address no microphone. Open it over https or at localhost, or type.");
  }
  const stream = await navigator.mediaDevices.getUserMedia({ audio: cleanly }).catch((problem) => {
    throw new Error(inWords(problem));
  });
  const all = new AbortController(); // ends what listens to the devices
  let context;
  const stop = () => {
    all.abort();
    for (const track of stream.getTracks()) track.stop();
    context?.close().catch(() => {});
  };
  const end = (words) => {
    if (all.signal.aborted) return;
    stop();
    fault(words);
  };
  try {
    context = await start(stream, take);
  } catch (problem) {
    stop();
    throw problem;
  }
  watch(stream.getAudioTracks()[0], context, end, all.signal);
  return { stop };
}

// start leads the stream through the worklet. A browser may ignore the rate that was asked for,
// refuse to bring the microphone to it, or wait for a touch.
async function start(stream, take) {
  let context, from;
  try {
    context = new AudioContext({ sampleRate: rate });
    from = context.createMediaStreamSource(stream);
  } catch {
    await context?.close();
    throw new Error(`This browser cannot bring the microphone to ${rate} samples a second. Set it to that in the system, use another browser, or type.`);
  }
  try {
    if (context.sampleRate !== rate) {
      throw new Error(`This browser gives ${context.sampleRate} samples a second and not ${rate}. Use another browser, or type.`);
    }
    await context.audioWorklet.addModule(new URL("./worklet.js", import.meta.url));
    const node = new AudioWorkletNode(context, "frames", { numberOfOutputs: 0, channelCount: 1, channelCountMode: "explicit" });
    node.port.onmessage = (event) => take(event.data);
    from.connect(node);
    await running(context);
  } catch (problem) {
    await context.close();
    throw problem;
  }
  return context;
}

// running waits a moment for the context, which a browser starts at a touch alone.
async function running(context) {
  const late = new Promise((done) => setTimeout(done, 3000));
  await Promise.race([context.resume(), late]);
  if (context.state !== "running") throw new Error("The browser starts the microphone at a touch alone: touch the large button once.");
}

// watch tells of a microphone that was pulled out, muted, or taken away by the system.
function watch(track, context, end, signal) {
  const out = () => end("The microphone was unplugged or taken away. Plug it in and talk again, or type.");
  track.addEventListener("ended", out, { signal });
  track.addEventListener("mute", () => end("The microphone is muted. Turn it on and talk again, or type."), { signal });
  context.addEventListener("statechange", () => context.state !== "running" && end("The system has stopped the microphone. Talk again, or type."), { signal });
  navigator.mediaDevices.addEventListener("devicechange", () => track.readyState === "ended" && out(), { signal });
}

function inWords(problem) {
  switch (problem?.name) {
    case "NotAllowedError": case "SecurityError":
      return "The microphone was refused. Allow it for this page in the browser and talk again, or type.";
    case "NotFoundError": case "OverconstrainedError":
      return "There is no microphone. Plug one in and talk again, or type.";
    case "NotReadableError": case "AbortError":
      return "The microphone cannot be read: another program may have it. Close that and talk again, or type.";
  }
  return `The microphone does not start (${problem?.message || problem}). Type meanwhile.`;
}
