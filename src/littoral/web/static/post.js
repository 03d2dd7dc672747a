// One way for every page to record something: kept on the phone first, sent at once where the computer answers.
import { sendNow } from "./deliver.js";
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

// Resolves with {status, answer}; with status 202 and answer.queued where it is kept and not sent yet.
export async function post(path, body, { photo = null, words = "" } = {}) {
  const { token: _, ...fields } = body;
  const thing = {
    id: fields.id || newId(), path, body: fields, words, photo,
    made: Date.now(), zone: phoneZone(), state: "waiting", said: "",
  };
  const queued = { status: QUEUED, answer: { queued: true, id: thing.id, words: words ? [words] : [] } };
  const patience = new Promise((done) => { setTimeout(done, photo ? PHOTO_PATIENCE_MS : PATIENCE_MS, null); });
  const found = (await Promise.race([sendNow(thing), patience])) ?? queued;
  if (found.status === QUEUED) sendWhenBack();
  return found;
}

async function sendWhenBack() {
  navigator.storage?.persist?.();
  const registration = await navigator.serviceWorker?.getRegistration?.();
  await registration?.sync?.register("littoral-send").catch(() => {});
}
