// Keeps the pages' own files, so that a reload with the line down still shows the sheet
// and the notes that wait. It never answers for the server: what was said and what came
// of it is never taken from here; so neither are /wall, /drift, /counts, /compare and the page of a lead, which are made of that.
const kept = "readback-{{hash}}";
const assets = [
  {{assets}},
];

self.addEventListener("install", (event) => {
  // Where the browser can, it takes the files from here without starting the worker.
  event.addRoutes?.({ condition: { urlPattern: { pathname: "/assets/*" } }, source: "cache" });
  event.waitUntil(keep().then(() => self.skipWaiting()));
});

async function keep() {
  const cache = await caches.open(kept);
  await cache.addAll(assets);
  await Promise.allSettled(["/", "/search", "/jobs/"].map((page) => cache.add(page)));
}

self.addEventListener("activate", (event) => {
  event.waitUntil(drop().then(() => self.clients.claim()));
});

async function drop() {
  const names = await caches.keys();
  await Promise.all(names.filter((n) => n.startsWith("readback-") && n !== kept).map((n) => caches.delete(n)));
}

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== location.origin) return;
  if (url.pathname.startsWith("/assets/")) event.respondWith(asset(event.request));
  else if (event.request.mode === "navigate" && !url.pathname.startsWith("/api/") && !/^\/(wall|drift|counts|compare|jobs\/[^/]+\/lead)$/.test(url.pathname)) event.respondWith(page(event.request, url));
});

async function asset(request) {
  return (await caches.match(request)) ?? fetch(request);
}

// Every job has the same sheet, which reads the job's number from the address.
async function page(request, url) {
  const name = /^\/jobs\/[^/]*$/.test(url.pathname) ? "/jobs/" : url.pathname;
  const cache = await caches.open(kept);
  try {
    const fresh = await fetch(request, { signal: AbortSignal.timeout(4000) });
    if (fresh.ok) await cache.put(name, fresh.clone());
    return fresh;
  } catch (fault) {
    const old = await cache.match(name);
    if (old) return old;
    throw fault;
  }
}
