// One way for every page to record something: kept on the phone first, sent at once where the computer answers.
import { sendNow } from "./deliver.js";
import { keptThings, thingOf } from "./kept.js";
import { phoneZone } from "./moments.js";

const PATIENCE_MS = 6_000; // then the page goes on, and the sending too, behind it
const PHOTO_PATIENCE_MS = 20_000;
export const QUEUED = 202;

// randomUUID is there in secure pages only; a phone at http://192.168… has none.
export function newId() {
  if (crypto.randomUUID) return crypto.randomUUID();
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}

// A form's id was made with its page. Where the page is a copy of before, shown again, what is recorded now is another
// thing than what was recorded from it then.
function renewIds() {
  for (const field of document.querySelectorAll("form[data-record] input[name=id]")) field.value = newId();
}
if (document.documentElement.dataset.seen) renewIds();
addEventListener("pageshow", ({ persisted }) => { if (persisted) renewIds(); });

// A copy of Today shows as due what waits already: pressed again, it is the same planned thing.
async function pressed(path, told) {
  const things = await keptThings().catch(() => []);
  return things.find((one) => one.state === "waiting" && one.path === path && JSON.stringify(one.body) === told);
}

// The same press twice is one thing; another thing under the id of one that still waits must not take its place.
async function thingFor({ token: _, id = "", ...fields }, path, more) {
  const anew = { path, body: fields, ...more, made: Date.now(), zone: phoneZone(), state: "waiting", said: "" };
  const told = JSON.stringify(fields);
  const there = (id && (await thingOf(id).catch(() => null))) || (fields.item && (await pressed(path, told)));
  if (!there) return { id: id || newId(), ...anew };
  const same = there.path === path && JSON.stringify(there.body) === told;
  return same ? { ...there, state: "waiting", problem: null, said: "" } : { id: newId(), ...anew };
}

// Resolves with {status, answer}; with status 202 and answer.queued where it is kept and not sent yet.
export async function post(path, body, { photo = null, words = "" } = {}) {
  const thing = await thingFor(body, path, { photo, words });
  const queued = { status: QUEUED, answer: { queued: true, id: thing.id, words: words ? [words] : [] } };
  let timer = null; // null again once it has run out: then the page has said "kept", and kept it must be
  const patience = new Promise((done) => {
    timer = setTimeout(() => { timer = null; done(null); }, photo ? PHOTO_PATIENCE_MS : PATIENCE_MS);
  });
  const claim = () => {
    if (timer === null) return false;
    clearTimeout(timer);
    return true;
  };
  const found = (await Promise.race([sendNow(thing, claim), patience])) ?? queued;
  if (found.status === QUEUED) sendWhenBack();
  return found;
}

async function sendWhenBack() {
  navigator.storage?.persist?.();
  const registration = await navigator.serviceWorker?.getRegistration?.();
  await registration?.sync?.register("littoral-send").catch(() => {});
}
