// Keeps the page for use without a network. NAME and FILES are filled in by the build: NAME is a hash of all
// files' contents, so a new build is a new store and the old one goes.

const NAME = "{{NAME}}";
const FILES = ["{{FILES}}"];

addEventListener("install", (e) => e.waitUntil((async () => {
  const c = await caches.open(NAME);
  await c.addAll(FILES.map((f) => new Request(f, { cache: "reload" })));
  await self.skipWaiting();
})()));

addEventListener("activate", (e) => e.waitUntil((async () => {
  for (const k of await caches.keys()) if (k !== NAME && k.startsWith("craft-")) await caches.delete(k);
  await self.clients.claim();
})()));

addEventListener("fetch", (e) => {
  const url = new URL(e.request.url);
  if (e.request.method !== "GET" || url.origin !== location.origin) return;
  e.respondWith((async () => {
    const c = await caches.open(NAME);
    // The start is kept as "./"; it answers to its file's name too.
    const request = url.pathname.endsWith("/index.html") ? new Request(new URL("./", url)) : e.request;
    return (await c.match(request, { ignoreSearch: true })) ?? fetch(e.request);
  })());
});
