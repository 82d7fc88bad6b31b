// The service worker: the page itself from the device when the network is gone.
// Answers of the API are never kept here; what a walk needs is kept by the page.
const worker = globalThis as unknown as ServiceWorkerGlobalScope;

const files = "__FILES__" as unknown as string[];
const version = "__VERSION__" as string;
const cacheName = `page-${version}`;
/** What ground.ts keeps; named twice, as a worker of this kind imports nothing. */
const groundCache = "ground";

worker.addEventListener("install", (e) => {
  e.waitUntil(
    caches
      .open(cacheName)
      .then((c) => c.addAll(["./", ...files.map((f) => `./${f}`)]))
      .then(() => worker.skipWaiting()),
  );
});

worker.addEventListener("activate", (e) => {
  e.waitUntil(
    caches
      .keys()
      .then((names) =>
        Promise.all(names.filter((n) => n !== cacheName && n !== groundCache).map((n) => caches.delete(n))),
      )
      .then(() => worker.clients.claim()),
  );
});

worker.addEventListener("fetch", (e) => {
  const url = new URL(e.request.url);
  if (e.request.method !== "GET" || url.origin !== worker.location.origin) return;
  if (e.request.mode === "navigate" && url.pathname === new URL("./", worker.location.href).pathname) {
    e.respondWith(fetch(e.request).catch(async () => (await caches.match("./")) ?? Response.error()));
    return;
  }
  if (url.pathname.startsWith(new URL("./tiles/", worker.location.href).pathname)) {
    const kept = async () => (await caches.match(e.request, { cacheName: groundCache })) ?? Response.error();
    e.respondWith(fetch(e.request).catch(kept));
    return;
  }
  if (!url.pathname.includes("/assets/") && !/\/(icon[^/]*|app\.webmanifest)$/.test(url.pathname)) return;
  e.respondWith(caches.match(e.request).then((hit) => hit ?? fetch(e.request)));
});
