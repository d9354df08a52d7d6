// The page without network: its assets, the note that can be taken at any time, and what stood open when it was last seen.
"use strict";
const assets = [/* assets */];
const name = "leadsman " + assets.join(" ");
const kept = ["/", "/note"];

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(name).then((cache) => cache.addAll([...assets, ...kept])).then(() => self.skipWaiting()));
});
self.addEventListener("activate", (event) => {
  const others = (all) => Promise.all(all.filter((one) => one !== name).map((one) => caches.delete(one)));
  event.waitUntil(caches.keys().then(others).then(() => self.clients.claim()));
});

const screen = async (request) => {
  const cache = await caches.open(name);
  const path = new URL(request.url).pathname;
  try {
    const answer = await fetch(request);
    if (answer.ok && !answer.redirected && kept.includes(path)) await cache.put(path, answer.clone());
    return answer;
  } catch (away) {
    const seen = await cache.match(kept.includes(path) ? path : "/note");
    if (seen) return seen;
    throw away;
  }
};

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== location.origin) return;
  if (assets.includes(url.pathname)) {
    event.respondWith(caches.match(request).then((found) => found || fetch(request)));
  } else if (request.mode === "navigate") {
    event.respondWith(screen(request));
  }
});
