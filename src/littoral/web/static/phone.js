// On every page: keeps the app at hand for a tank without a connection, sends what waits, says what is not up to date.
import { announce, deliver, hear, renewToken } from "./deliver.js";
import { keptThings } from "./kept.js";
import { showKept } from "./kept_list.js";
import { CLOCK_SLACK_MS, clockAhead, localClock, localDate } from "./moments.js";

const AHEAD = "main a[href^='/entry/'], main a[href^='/camera'], main a[href^='/today']";
const main = document.querySelector("main");
const notice = document.createElement("div");
notice.className = "notices";
const list = document.createElement("section");
list.id = "kept";
list.hidden = true;
list.setAttribute("aria-labelledby", "kept-title");
main.prepend(notice, list);

const notices = new Map();
function say(key, words) {
  if (notices.get(key)?.textContent === words) return;
  notices.get(key)?.remove();
  notices.delete(key);
  if (!words) return;
  const line = document.createElement("p");
  line.id = key;
  line.setAttribute("role", "status");
  line.textContent = words;
  notices.set(key, line);
  notice.append(line);
}

function clockOn(at) {
  return localDate(at) === localDate(new Date()) ? localClock(at) : `${localDate(at)} ${localClock(at)}`;
}

let away = false;
function sayWhetherAway() {
  const seen = document.documentElement.dataset.seen;
  const as = seen ? `This page is as of ${clockOn(new Date(seen))}${away ? ", offline" : ""}.` : "";
  const others = "What others did since is not on it: ask before you give a dose twice.";
  const kept = "What you record is kept on this phone and sent later.";
  say("offline", seen && !away ? `${as} The computer answers again: reload to see what is new.`
    : seen ? `${as} ${others} ${kept}` : away ? `The computer does not answer. ${kept}` : "");
}

function sayClock() {
  const ahead = clockAhead() ?? 0;
  const minutes = Math.round(Math.abs(ahead) / 60_000);
  const size = minutes < 120 ? `${minutes} minutes` : minutes < 2880 ? `${Math.round(minutes / 60)} hours` : `${Math.round(minutes / 1440)} days`;
  say("clock", Math.abs(ahead) <= CLOCK_SLACK_MS ? ""
    : `This phone's clock is ${size} ${ahead > 0 ? "ahead of" : "behind"} the computer's. What is recorded offline carries the phone's time: set the wrong one right.`);
}

function sayInsecure() {
  say("insecure", isSecureContext || !list.childElementCount ? "" : "This address is not a secure one (https), so the browser keeps no pages for offline. Leave this page open until all is sent.");
}

let running = null;
const sync = () => { running ??= syncOnce().finally(() => { running = null; }); return running; };

async function syncOnce() {
  try {
    const answer = await renewToken();
    away = answer.status >= 500;
    if (answer.status === 401 || answer.type === "opaqueredirect") navigator.serviceWorker?.controller?.postMessage({ kind: "forget" });
  } catch {
    away = true;
  }
  sayWhetherAway();
  sayClock();
  if (!away && (await keptThings().catch(() => [])).some(({ state }) => state === "waiting")) await deliver();
}

async function refresh() {
  await showKept(list);
  sayInsecure();
}

hear(({ kind, id, answer }) => {
  refresh();
  window.dispatchEvent(new CustomEvent(`littoral:${kind === "sent" ? "sent" : "kept"}`, { detail: { id, answer } }));
});

async function keepForOffline() {
  if (!navigator.serviceWorker) return;
  await navigator.serviceWorker.register("/sw.js", { scope: "/", updateViaCache: "none" }).catch(() => {});
  if (location.pathname !== "/today" || document.documentElement.dataset.seen) return;
  const { active } = await navigator.serviceWorker.ready;
  const addresses = new Set(["/today", location.href, ...[...document.querySelectorAll(AHEAD)].map(({ href }) => href.split("#")[0])]);
  active.postMessage({ kind: "keep", addresses: [...addresses] });
}

window.addEventListener("online", sync);
window.addEventListener("offline", () => { away = true; sayWhetherAway(); });
document.addEventListener("visibilitychange", () => { if (document.visibilityState === "visible") sync(); });
setInterval(() => { if (document.visibilityState === "visible") sync(); }, 60_000);
list.addEventListener("littoral:again", () => sync().then(() => announce({ kind: "changed" })));

await refresh().catch(() => {});
if (document.documentElement.dataset.seen) { away = true; sayWhetherAway(); }
keepForOffline();
await sync();
document.documentElement.dataset.phone = "ready";
