// Sends what waits on this phone, one after the other, in whichever page or worker comes first. The id was made with the
// thing itself, so that sending it twice records it once.
import { dropThing, keepThing, keptThings, thingOf } from "./kept.js";
import { clockAhead, localDate, noteClock, whenOf } from "./moments.js";

const ENTRY_PATIENCE_MS = 20_000;
const PHOTO_PATIENCE_MS = 180_000;
const LATER = new Set([401, 403, 408, 429]); // and all from 500 on: nothing is wrong with the thing itself
const channel = new BroadcastChannel("littoral");

let token = globalThis.document?.querySelector("meta[name=littoral-token]")?.content ?? "";

export function announce(news) {
  channel.postMessage(news);
  channel.onmessage?.({ data: news }); // a channel does not speak to itself
}
export const hear = (listener) => { channel.onmessage = ({ data }) => listener(data); };

// Only one page or worker sends at a time. Where the browser knows no locks, the ids alone keep things single.
export const alone = (work) => (navigator.locks ? navigator.locks.request("littoral-send", work) : work());

async function ask(address, options, patience) {
  const begun = Date.now();
  const answer = await fetch(address, { redirect: "manual", cache: "no-store", ...options, signal: AbortSignal.timeout(patience) });
  noteClock(answer.headers.get("date"), begun, Date.now());
  return answer;
}

export async function renewToken() {
  const answer = await ask("/api/session", { headers: { accept: "application/json" } }, ENTRY_PATIENCE_MS);
  if (answer.ok) token = (await answer.json()).token;
  return answer;
}

const isUndo = ({ path }) => path.endsWith("/undo");

// An undo has no id of its own: that the entry is undone already is what was meant, and no conflict.
const isUndoneAlready = (thing, { status, answer }) =>
  isUndo(thing) && status === 409 && answer.kind === "changed meanwhile" && answer.ahead?.kind === "withdrawn";

function request(thing) {
  const when = thing.path === "/api/entries" || thing.photo ? whenOf(thing.body, thing.made) : thing.body.when;
  const body = { ...thing.body, ...(isUndo(thing) ? {} : { id: thing.id }) };
  if (when) body.when = when;
  else delete body.when;
  if (thing.path === "/api/entries" || thing.photo) body.zone ||= thing.zone;
  const headers = { accept: "application/json", "x-littoral-token": token };
  if (!thing.photo) {
    return [thing.path, { method: "POST", headers: { ...headers, "content-type": "application/json" }, body: JSON.stringify(body) }];
  }
  const address = `${thing.path}?${new URLSearchParams(Object.entries(body).filter(([, value]) => value))}`;
  return [address, { method: "POST", headers: { ...headers, "content-type": thing.photo.type }, body: thing.photo }];
}

// Sends one thing and returns {status, answer}; throws where there is no network.
async function send(thing) {
  const patience = thing.photo ? PHOTO_PATIENCE_MS : ENTRY_PATIENCE_MS;
  let answer = await ask(...request(thing), patience);
  if (answer.status === 403) { // the computer started anew: the token of before is void
    await renewToken();
    answer = await ask(...request(thing), patience);
  }
  if (answer.type === "opaqueredirect") return { status: 401, answer: {} }; // led away to be paired
  const text = await answer.text();
  try {
    return { status: answer.status, answer: JSON.parse(text) };
  } catch {
    return { status: answer.status, answer: { kind: "refused", detail: text.trim() } };
  }
}

const told = ({ title, detail }) => detail || title || "";

async function settle(thing, { status, answer }) {
  if ((status >= 200 && status < 300) || isUndoneAlready(thing, { status, answer })) {
    await dropThing(thing.id);
    announce({ kind: "sent", id: thing.id, answer });
    return true;
  }
  if ((LATER.has(status) && answer.kind !== "not allowed") || status >= 500) { // a role is no matter of waiting
    const said = status === 401 ? "This phone is not paired with the computer any more. Pair it again, and this is sent." : told(answer);
    await keepThing({ ...thing, said });
    return false;
  }
  await keepThing({ ...thing, state: "decide", status, problem: answer, said: told(answer) });
  return true;
}

// "Let all that was open go" means what was open when it was pressed; on another day it would let go of more.
const outdated = (thing) => thing.body.act === "skip" && localDate(new Date(thing.made)) !== localDate(new Date());

// Sends all that waits. Returns whether nothing is left to be sent later. Where the computer fails at one thing itself
// (500), the others behind it are sent all the same.
export const deliver = () => alone(async () => {
  let all = true;
  if (clockAhead() === null && !(await renewToken().catch(() => null))) return false;
  for (const { id, state } of await keptThings()) {
    if (state !== "waiting") continue;
    const thing = await thingOf(id);
    if (thing?.state !== "waiting") continue; // taken back, or sent, meanwhile
    if (outdated(thing)) {
      const said = "This was pressed on an earlier day. Look at what is open now, and press it again if that is meant.";
      await keepThing({ ...thing, state: "decide", status: 0, problem: { kind: "outdated" }, said });
      continue;
    }
    try {
      const found = await send(thing);
      if (!(await settle(thing, found))) {
        if (found.status !== 500) return false;
        all = false;
      }
    } catch (error) {
      if (noNetwork(error)) return false;
      throw error;
    } finally {
      announce({ kind: "changed" });
    }
  }
  return all;
});

const noNetwork = (error) => error instanceof TypeError || ["TimeoutError", "AbortError"].includes(error.name);

// Keeps a thing first and sends it then. A plain refusal comes back to the page that made it, where it can be mended, and
// only where that page still waits for it (`claim`): one that was told "kept" finds it among what is to be decided.
// null means that it is kept and will be sent later.
export async function sendNow(thing, claim = () => true) {
  let unkept = null;
  await keepThing(thing).catch((error) => { unkept = error; });
  if (unkept) return sendUnkept(thing, unkept);
  announce({ kind: "changed" });
  if (navigator.onLine === false) return null;
  return alone(async () => {
    if ((await thingOf(thing.id))?.state !== "waiting") return null;
    try {
      const found = await send(thing);
      const plain = found.status >= 400 && found.status < 500 && (!LATER.has(found.status) || found.status === 403);
      const comesBack = plain && claim();
      if (comesBack) await dropThing(thing.id);
      else await settle(thing, found);
      announce({ kind: "changed" });
      return comesBack || found.status < 300 ? found : null;
    } catch (error) {
      if (noNetwork(error)) return null;
      throw error;
    }
  });
}

// A full phone, or a private window without a store: what cannot be kept can still be sent at once.
async function sendUnkept(thing, why) {
  try {
    return await send(thing);
  } catch (error) {
    if (!noNetwork(error)) throw error;
    throw new Error(`Not recorded: there is no connection, and this phone cannot keep it (${why?.message || "no room"}). Write it down.`);
  }
}

export const takeBack = (id) => alone(async () => {
  const there = await thingOf(id);
  if (there) await dropThing(id);
  announce({ kind: "changed" });
  return Boolean(there);
});
