// Keeps the page and what the floor read last, so that a reload without the network still shows it. Only where the page
// comes encrypted: browsers allow it nowhere else. Entries wait in the page's own queue, not here.
const NAME = "fettle-1";
const READ = /\/api\/(about|flat|floor|floor\/advice|plan|schema)$/;
self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (e) => e.waitUntil(self.clients.claim()));
const isPage = (url) => !url.pathname.startsWith("/api/");
const wanted = (url) => url.origin === location.origin && (isPage(url) || READ.test(url.pathname));
// what the page fetched before this stood beside it: it says so once
self.addEventListener("message", (e) => e.waitUntil((async () => {
  const kept = await caches.open(NAME);
  for (const text of e.data) {
    if (!wanted(new URL(text)) || await kept.match(text)) continue;
    const answer = await fetch(text).catch(() => null);
    if (answer?.ok) await kept.put(text, answer);
  }
})()));
self.addEventListener("fetch", (e) => {
  const url = new URL(e.request.url), page = isPage(url);
  if (e.request.method !== "GET" || !wanted(url)) return;
  e.respondWith((async () => {
    const kept = await caches.open(NAME);
    try {
      const answer = await fetch(e.request);
      if (answer.ok) await kept.put(e.request, answer.clone());
      return answer;
    } catch (gone) {
      const old = await kept.match(e.request, { ignoreVary: true }) ?? (e.request.mode === "navigate" ? await kept.match("./") : undefined);
      if (old && page) return old;
      // what is shown must say that it may be old
      if (old) return new Response(await old.blob(), { status: old.status, headers: { "content-type": old.headers.get("content-type") ?? "", "x-fettle-kept": "1" } });
      throw gone;
    }
  })());
});
