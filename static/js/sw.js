// Without Wi-Fi the pages of the bench open as they were last seen, to the person who saw them and nobody else.
// Nothing that is sent passes through here, and nothing that was sent is kept.
"use strict";
const PIECES = "pieces", AWAY = "/away/", WAITING = "/waiting/", SLOW = 8000;
const pagesOf = (who) => "pages-" + who;

self.addEventListener("install", (event) => {
  self.skipWaiting();
  event.waitUntil(keepAway().catch(() => {}));
});
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

self.addEventListener("fetch", (event) => {
  const request = event.request, url = new URL(request.url);
  if (url.origin !== self.location.origin) return;
  if (request.method !== "GET") {
    if (url.pathname === "/sign-out/") event.waitUntil(forgetAllBut(""));
  } else if (request.mode === "navigate") {
    event.respondWith(page(event));
  } else if (url.pathname.startsWith("/static/") || url.pathname === "/manifest.webmanifest") {
    event.respondWith(piece(event));
  }
});

// What is shown in place of a page that was never seen here: asked for as a stranger, so that it holds nobody's name.
async function keepAway() {
  const response = await fetch(new Request(AWAY, { credentials: "omit", cache: "reload" }));
  if (response.ok && !response.redirected) await (await caches.open(PIECES)).put(AWAY, response);
}

// The pages of everybody but `who` are forgotten: at a change of person, and when nobody is signed in.
async function forgetAllBut(who) {
  for (const name of await caches.keys()) {
    if (name.startsWith("pages-") && name !== pagesOf(who)) await caches.delete(name);
  }
}

async function page(event) {
  const fresh = fetch(event.request).then((response) => { event.waitUntil(keep(event.request, response.clone())); return response; });
  fresh.catch(() => {});
  const slow = new Promise((_, no) => setTimeout(no, SLOW));
  try {
    return await Promise.race([fresh, slow]);
  } catch {
    return (await seen(event.request)) || fresh.catch(async () => (await caches.match(AWAY)) || Response.error());
  }
}

async function keep(request, response) {
  const who = response.headers.get("X-Kept-For");
  if (!who || response.type === "opaqueredirect") return;
  await forgetAllBut(who);
  if (response.ok && response.headers.get("X-As-Of")) {
    const cache = await caches.open(pagesOf(who));
    await cache.put(request.url, response);
    if (who !== "nobody") await keepWaiting(cache, who);
  }
}

// What waits on the tablet is shown without Wi-Fi, to whoever never opened its page too.
async function keepWaiting(cache, who) {
  if (await cache.match(WAITING)) return;
  const response = await fetch(WAITING, { headers: { "X-Quiet": "1" }, redirect: "manual" });
  if (response.ok && response.headers.get("X-Kept-For") === who) await cache.put(WAITING, response);
}

// The one person's pages that are there; with the words that say how old the page is.
async function seen(request) {
  const names = (await caches.keys()).filter((name) => name.startsWith("pages-"));
  if (names.length !== 1) return undefined;
  const kept = await (await caches.open(names[0])).match(request.url);
  if (!kept) return undefined;
  const asOf = kept.headers.get("X-As-Of");
  const words = `<p class="as-of" role="status"><strong>No Wi-Fi.</strong> This page is as of ${asOf}.</p>`;
  const text = (await kept.text()).replace(/<body /, `<body data-as-of="${asOf}" `).replace(/(<main [^>]*>)/, `$1${words}`);
  return new Response(text, { status: 200, headers: kept.headers });
}

// Styles and scripts carry their contents' hash in their names: the browser's own cache answers first.
async function piece(event) {
  const cache = await caches.open(PIECES);
  try {
    const response = await fetch(event.request);
    if (response.ok) event.waitUntil(cache.put(event.request, response.clone()).catch(() => {}));
    return response;
  } catch {
    return (await cache.match(event.request)) || Response.error();
  }
}
