// Keeps the last seen copy of each page opened on this device, and shows it when the computer does not answer.
// The computer is always asked first; what is sent to it never passes here. Who may no longer come in keeps no copy.
"use strict";
const SEEN = "seen" + self.location.search; // of this version of the program; an older version's copies are dropped
const MOST = 200; // copies kept; the oldest go first
const PATIENCE_MS = 6000; // how long an answer is waited for where there is a copy
const WAYS_IN = /^\/(?:enter|join\/.*)$/; // whoever comes in anew begins without the copies of who was in before
const PAGES = /^\/(?:|book|rebuilds\/.*)$/, PARTS = /^\/static\//; // pictures are not kept: one removed for good would stay here
const KEPT_AT = "x-kept-at";

const forget = async () => { for (const name of await caches.keys()) if (name.startsWith("seen")) await caches.delete(name); };

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil((async () => {
  for (const name of await caches.keys()) if (name.startsWith("seen") && name !== SEEN) await caches.delete(name);
  await self.clients.claim();
  for (const each of await self.clients.matchAll({ type: "window" })) { // the page that brought this worker
    if (PAGES.test(new URL(each.url).pathname)) await ask(each.url.split("#")[0]).catch(() => {});
  }
})()));

self.addEventListener("fetch", (event) => {
  const { request } = event, url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== self.location.origin) return;
  if (WAYS_IN.test(url.pathname)) { event.waitUntil(forget()); return; }
  const opened = request.mode === "navigate" && PAGES.test(url.pathname);
  if (opened || PARTS.test(url.pathname)) event.respondWith(answer(event, opened));
});

async function answer(event, opened) {
  const asked = ask(event.request);
  event.waitUntil(asked.catch(() => {}));
  const kept = await caches.match(event.request, { cacheName: SEEN });
  try {
    if (!kept) return await asked;
    return await Promise.race([asked, new Promise((_, late) => setTimeout(late, PATIENCE_MS))]);
  } catch {
    if (kept) return opened ? away(kept) : kept;
    return opened ? unseen() : Response.error();
  }
}

async function ask(request) {
  const answer = await fetch(request);
  if (answer.status === 401 || answer.status === 403) await forget();
  const at = typeof request === "string" ? request : request.url;
  if (answer.status === 404) await (await caches.open(SEEN)).delete(at);
  if (answer.ok && !answer.redirected && !answer.headers.has("content-disposition")) await keep(at, answer.clone());
  return answer;
}

async function keep(at, answer) {
  const cache = await caches.open(SEEN), headers = new Headers(answer.headers);
  for (const name of ["content-length", "content-encoding"]) headers.delete(name);
  headers.set(KEPT_AT, new Date().toISOString());
  const body = await answer.blob();
  await cache.put(at, new Response(body, { headers }));
  if ((headers.get("content-type") || "").startsWith("text/html")) {
    const text = await body.text();
    for (const [, part] of text.matchAll(/(?:href|src)="(\/static\/[^"]+)"/g)) {
      if (!(await cache.match(part))) await ask(new URL(part, self.location).href);
    }
  }
  const all = await cache.keys();
  for (const old of all.slice(0, Math.max(0, all.length - MOST))) await cache.delete(old);
}

// A copy is shown with the time it was seen at. Its forms begin anew: each gets a key of its own, so that what is typed
// now is never taken for what was sent from the same page before.
async function away(kept) {
  const at = new Date(kept.headers.get(KEPT_AT)), sameDay = at.toDateString() === new Date().toDateString();
  const time = at.toTimeString().slice(0, 5), day = sameDay ? "" : ` on ${at.getDate()} ${at.toLocaleString("en", { month: "long" })}`;
  const said = `<p class="away" role="status"><b>The computer is away.</b> This is the page as of ${time}${day}. `
    + "What you type is kept on this device and sent later.</p>";
  const text = (await kept.text()).replace(/<body[^>]*>/, (body) => body + said).replaceAll(" data-working", "")
    .replace(/(name="key" value=")[0-9a-f]+"/g, (_, before) => before + newKey() + '"');
  return new Response(text, { headers: kept.headers });
}

const newKey = () => [...crypto.getRandomValues(new Uint8Array(12))].map((each) => each.toString(16).padStart(2, "0")).join("");

async function unseen() {
  const style = (await (await caches.open(SEEN)).keys()).map((each) => new URL(each.url)).find((each) => each.pathname === "/static/book.css");
  const text = `<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>The computer is away · Batchwright</title>${style ? `<link rel="stylesheet" href="${style.pathname}${style.search}">` : ""}</head>
<body><main><h1>The computer is away.</h1><p>This page was not opened on this device before, so there is no copy of it here. Pages you opened can still be read.</p>
<p class="row"><a class="button" href="">Try again</a> <a class="button" href="/">Back to the rebuilds</a></p></main></body></html>`;
  const policy = "default-src 'none'; style-src 'self'; frame-ancestors 'none'; base-uri 'none'";
  return new Response(text, { status: 503, headers: { "content-type": "text/html; charset=utf-8", "content-security-policy": policy } });
}
