// The service worker: pages at the tank without a connection, and the sending of what waits when it is back.
// The server writes SHELL (what the pages need) and VERSION (which changes with any of it) above.
const SHELL_CACHE = `littoral-shell-${VERSION}`;
const PAGES = "littoral-pages";
const PATIENCE_MS = 4_000;
const MOST_PAGES = 160;
const KEPT = /^\/(today|entry|camera)(\/|$)/;
const GATEWAY = new Set([502, 504]); // a proxy is there, the computer behind it is not

self.addEventListener("install", (event) => event.waitUntil((async () => {
  const cache = await caches.open(SHELL_CACHE);
  await cache.addAll(SHELL.map((address) => new Request(address, { cache: "reload" })));
  await self.skipWaiting();
})()));

self.addEventListener("activate", (event) => event.waitUntil((async () => {
  for (const name of await caches.keys()) if (name.startsWith("littoral-shell-") && name !== SHELL_CACHE) await caches.delete(name);
  await self.clients.claim();
})()));

self.addEventListener("fetch", (event) => {
  const { request: asked } = event;
  const address = new URL(asked.url);
  if (asked.method !== "GET" || address.origin !== self.location.origin) return;
  if (KEPT.test(address.pathname)) event.respondWith(freshOrKept(event));
  else if (asked.mode === "navigate") event.respondWith(fetch(asked).catch(() => nothingKept()));
  else if (SHELL.includes(address.pathname)) event.respondWith(freshOrShell(asked));
});

self.addEventListener("message", (event) => {
  if (event.data?.kind === "keep") event.waitUntil(keepPages(event.data.addresses));
  if (event.data?.kind === "forget") event.waitUntil(caches.delete(PAGES));
});

self.addEventListener("sync", (event) => {
  if (event.tag !== "littoral-send") return;
  event.waitUntil(deliver().then((done) => { if (!done) throw new Error("not all is sent yet"); }));
});

// The computer's answer where it comes in good time, else the copy of before, marked with its time.
async function freshOrKept(event) {
  const kept = await keptCopy(event.request);
  const fresh = fetch(event.request).then(async (answer) => {
    if (GATEWAY.has(answer.status)) throw new TypeError("the computer behind the proxy is away");
    await remember(event.request.url, answer.clone());
    return answer;
  });
  event.waitUntil(fresh.catch(() => {}));
  if (!kept) return fresh.catch(() => (event.request.mode === "navigate" ? nothingKept() : Response.error()));
  const patience = new Promise((done) => { setTimeout(done, PATIENCE_MS, kept); });
  return Promise.race([fresh.catch(() => kept), patience]);
}

async function freshOrShell(asked) {
  try {
    return await fetch(asked);
  } catch (error) {
    const kept = await (await caches.open(SHELL_CACHE)).match(asked, { ignoreSearch: true });
    if (kept) return kept;
    throw error;
  }
}

// Only the very address: a form of another tank must never stand in for the one that was asked for. Today alone may.
async function keptCopy(asked) {
  const cache = await caches.open(PAGES);
  const exact = await cache.match(asked.url);
  return exact ?? (new URL(asked.url).pathname === "/today" ? cache.match("/today") : undefined);
}

const nothingKept = async () => (await (await caches.open(SHELL_CACHE)).match("/offline")) ?? Response.error();

async function remember(address, answer) {
  const cache = await caches.open(PAGES);
  if (answer.type === "opaqueredirect" || answer.redirected || answer.status === 401) {
    await caches.delete(PAGES); // this phone is not let in any more: what it saw is not for it
    return;
  }
  if (answer.status !== 200) return;
  const headers = new Headers(answer.headers);
  let body = await answer.blob();
  if (headers.get("content-type")?.startsWith("text/html")) {
    const seen = new Date().toISOString();
    body = (await body.text()).replace(/<html\b/, `<html data-seen="${seen}"`);
  }
  headers.delete("content-encoding");
  headers.delete("content-length");
  const { pathname, href } = new URL(address);
  await cache.put(href, new Response(body, { headers }));
  if (pathname.startsWith("/camera/before/")) await dropOlder(cache, href);
  const keys = await cache.keys();
  for (const key of keys.slice(0, Math.max(0, keys.length - MOST_PAGES))) if (new URL(key.url).pathname !== "/today") await cache.delete(key);
}

// Of each view only the last photo.
async function dropOlder(cache, href) {
  const { pathname } = new URL(href);
  for (const key of await cache.keys()) if (new URL(key.url).pathname === pathname && key.url !== href) await cache.delete(key);
}

async function keepPages(addresses) {
  for (const address of addresses) {
    const { href, origin, pathname } = new URL(address, self.location.href);
    if (origin !== self.location.origin || !KEPT.test(pathname)) continue;
    try {
      const answer = await fetch(href, { redirect: "manual", headers: { accept: "text/html,image/*" } });
      const picture = answer.ok && pathname === "/camera" && (await answer.clone().text()).match(/data-before="([^"]+)"/)?.[1];
      await remember(href, answer);
      if (picture) await keepPages([picture.replaceAll("&amp;", "&")]);
    } catch {
      return; // no connection: the copies of before stay
    }
  }
}
