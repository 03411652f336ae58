// Keeps the sewing pages with their pictures, so that they open without the network: asked first,
// kept on the way, given from what was kept when nobody answers. Everything else passes by.
"use strict";

const NAME = "sewing";
const ours = (address) => {
  const { origin, pathname } = new URL(address);
  return origin === location.origin && (pathname === "/quilt/sew" || pathname.startsWith("/static/") || pathname.startsWith("/picture/"));
};

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(clients.claim()));

self.addEventListener("message", (event) => {
  const wanted = [...new Set(event.data.filter(ours))];
  event.waitUntil((async () => {
    const kept = await caches.open(NAME);
    await Promise.all(wanted.map((one) => kept.add(one)));
    event.ports[0].postMessage("kept");
  })());
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  if (request.method !== "GET" || !ours(request.url)) return;
  event.respondWith((async () => {
    const kept = await caches.open(NAME);
    try {
      const answer = await fetch(request);
      if (answer.ok) event.waitUntil(kept.put(request, answer.clone()));
      return answer;
    } catch (failed) {
      const known = await kept.match(request, { ignoreVary: true });
      if (known) return known;
      throw failed;
    }
  })());
});
