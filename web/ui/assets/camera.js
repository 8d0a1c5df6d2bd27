// The camera: one picture, as a JPEG. What is wrong with it is said in words for the one at the bench.

const wish = { facingMode: "environment", width: { ideal: 1920 }, height: { ideal: 1080 } };
const quality = 0.88;
const longest = 2560; // pixels a side

// camera opens it and resolves to {stream, stop}, or rejects with an Error in words. lost(words) is
// called where it ends by itself.
export async function camera(lost) {
  if (!navigator.mediaDevices?.getUserMedia) {
    throw new Error("This browser gives a page at this address no camera. Open it over https or at localhost.");
  }
  const stream = await navigator.mediaDevices.getUserMedia({ video: wish }).catch((problem) => {
    throw new Error(inWords(problem));
  });
  let over = false;
  const stop = () => {
    over = true;
    for (const track of stream.getTracks()) track.stop();
  };
  stream.getVideoTracks()[0].addEventListener("ended", () => {
    if (over) return;
    stop();
    lost("The camera was unplugged or taken away. Plug it in and try again.");
  });
  return { stream, stop };
}

// picture takes what a video shows now. It resolves to the bytes of a JPEG.
export async function picture(video) {
  const { videoWidth: width, videoHeight: height } = video;
  if (!width || !height) throw new Error("The camera gives no picture. Is its shutter open?");
  const by = Math.min(1, longest / Math.max(width, height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.round(width * by);
  canvas.height = Math.round(height * by);
  canvas.getContext("2d").drawImage(video, 0, 0, canvas.width, canvas.height);
  const blob = await new Promise((done) => canvas.toBlob(done, "image/jpeg", quality));
  if (blob?.type !== "image/jpeg") throw new Error("This browser cannot write a JPEG. Use another one for photos.");
  return blob.arrayBuffer();
}

function inWords(problem) {
  switch (problem?.name) {
    case "NotAllowedError": case "SecurityError":
      return "The camera was refused. Allow it for this page in the browser, then try again.";
    case "NotFoundError": case "OverconstrainedError":
      return "There is no camera. Plug one in, then try again.";
    case "NotReadableError": case "AbortError":
      return "The camera cannot be read: another program may have it. Close that, then try again.";
  }
  return `The camera does not start (${problem?.message || problem}).`;
}
