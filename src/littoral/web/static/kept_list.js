// The list of what is on this phone and not in the logbook: what waits, and what a person has to decide.
import { announce, sendNow, takeBack } from "./deliver.js";
import { keepThing, keptThings } from "./kept.js";
import { clockAhead, CLOCK_SLACK_MS, localClock, localDate, stamp } from "./moments.js";
import { newId } from "./post.js";

const FORMS = new Set(["dose", "change", "top-up", "trim", "reading", "score", "animals", "plants", "equipment", "note", "care"]);

function made(tag, words = "", more = {}) {
  const node = document.createElement(tag);
  node.textContent = words;
  for (const [name, value] of Object.entries(more)) node.setAttribute(name, value);
  return node;
}

// What was recorded, in a line: the words its page gave, else its fields.
function wordsOf({ body, words, photo }) {
  if (words) return body.amount && !words.includes(body.amount) ? `${words}: ${body.amount}` : words;
  if (photo) return `photo of ${body.view}`;
  const item = body.item?.match(/^(\S+?)\/(.+)\/([^/]+)$/);
  if (item) return [`${item[2]}: ${item[3]}`, body.amount, body.act === "planned" ? "as planned" : body.act].filter(Boolean).join(", ");
  const what = [body.act, body.what, body.amount].filter(Boolean).join(" ");
  return [body.tank, what || "a change of an entry"].filter(Boolean).join(": ") + (body.note ? ` (${body.note})` : "");
}

function clockOf({ made: at }) {
  const moment = new Date(at);
  return localDate(moment) === localDate(new Date()) ? localClock(moment) : `${localDate(moment)} ${localClock(moment)}`;
}

function button(words, press, sure = "") {
  const node = made("button", words, { type: "button" });
  let asked = false;
  node.addEventListener("click", async () => {
    if (sure && !asked) {
      asked = true;
      node.textContent = sure;
      return;
    }
    node.disabled = true;
    await press().finally(() => { node.disabled = false; });
  });
  return node;
}

const again = (thing, changed = {}) => async () => {
  const anew = { ...thing, ...changed, state: "waiting", problem: null, there: null, said: "" };
  await keepThing(anew);
  if (anew.id !== thing.id) await takeBack(thing.id); // the new one is safe
  await sendNow(anew, () => false); // refused again it stays here all the while, with what was said now
  announce({ kind: "changed" });
};

const drop = (thing, words = "Throw mine away") => button(words, () => takeBack(thing.id), `${words}: sure?`);

function formAddress({ body, made: at }) {
  const item = body.item?.match(/^(\S+?)\/(.+)\/(dose|water change|trim|test)(?: (.*))?$/);
  const kind = item ? { dose: "dose", "water change": "change", trim: "trim", test: "reading" }[item[3]] : body.act;
  if (!FORMS.has(kind)) return "";
  const fields = { trial: body.trial, tank: item?.[2] ?? body.tank, what: item?.[4] ?? body.what, amount: body.amount,
    when: body.when || stamp(new Date(at)), note: body.note };
  return `/entry/${kind}?${new URLSearchParams(Object.entries(fields).filter(([, value]) => value))}`;
}

function link(words, address) {
  return made("a", words, { href: address, class: "button" });
}

function version(label, words) {
  const row = made("p");
  row.append(made("strong", `${label}: `), words);
  return row;
}

// What the logbook holds instead, in words; an answer that refuses names it, without them.
async function theirs({ entry, ahead, there }) {
  const known = ahead ?? there ?? null;
  const id = entry ?? known?.id;
  if (!id) return null;
  const answer = await fetch(`/api/entries/${encodeURIComponent(id)}`, { headers: { accept: "application/json" } }).catch(() => null);
  return answer?.ok ? (await answer.json()).entry : known;
}

function ways(thing, there) {
  const { problem = {}, body } = thing;
  const form = formAddress(thing);
  switch (problem.kind) {
    case "answered already":
      return [
        drop(thing, "Keep the one that is there"),
        ...(form ? [link("Record mine beside it", form)] : []),
      ];
    case "changed meanwhile":
      return [
        drop(thing, "Keep theirs"),
        ...(there ? [button("Put mine in its place", again(thing, {
          id: newId(), path: thing.path.replace(/^\/api\/entries\/[^/]+/, `/api/entries/${encodeURIComponent(there.id)}`),
        }))] : []),
      ];
    case "id taken":
      return [button("Record mine too", again(thing, { id: newId() })), drop(thing)];
    default: {
      const ahead = clockAhead() ?? 0;
      const early = problem.faults?.some(({ where }) => where === "when") && Math.abs(ahead) > CLOCK_SLACK_MS && !body.when;
      const minutes = Math.round(Math.abs(ahead) / 60_000);
      return [
        ...(early ? [button(`Set its time right by ${minutes} min and send it`, again(thing, { made: thing.made - ahead }))] : []),
        ...(form && problem.kind === "faults" ? [link("Mend it in the form", form)] : []),
        ...(problem.kind === "outdated" ? [] : [button("Send it again", again(thing))]),
        drop(thing, "Throw it away"),
      ];
    }
  }
}

async function thumb(photo) {
  const canvas = made("canvas", "", { class: "thumb", role: "img", "aria-label": "the photo" });
  try {
    const picture = await createImageBitmap(photo, { resizeWidth: 160 });
    [canvas.width, canvas.height] = [picture.width, picture.height];
    canvas.getContext("2d").drawImage(picture, 0, 0);
    picture.close();
  } catch {
    return null;
  }
  return canvas;
}

async function row(thing) {
  const item = made("li", "", { "data-id": thing.id, class: thing.state });
  const picture = thing.photo && (await thumb(thing.photo));
  if (picture) item.append(picture);
  const said = made("div", "", { class: "said" });
  const line = made("p");
  line.append(made("span", clockOf(thing), { class: "clock" }), " ", thing.state === "decide" ? "" : wordsOf(thing));
  item.append(said);
  said.append(line);
  const acts = made("p", "", { class: "acts" });
  if (thing.state === "decide") {
    line.append(made("strong", "Not recorded. Please decide."));
    const there = thing.there ?? (await theirs(thing.problem ?? {}));
    if (there?.words && !thing.there) await keepThing({ ...thing, there }); // to be read without a connection, too
    said.append(version("Yours", wordsOf(thing)));
    if (there) {
      const when = new Date(there.at);
      said.append(version("In the logbook", `${there.words || there.note}${there.who ? `, by ${there.who}` : ""}, ${localDate(when)} ${localClock(when)}`));
    } else if (thing.said) {
      said.append(made("p", thing.said, { class: "wrong" }));
    }
    for (const { where, what, right } of thing.problem?.faults ?? []) said.append(made("p", `${where} ${what} ${right}`, { class: "wrong" }));
    acts.append(...ways(thing, there));
  } else {
    if (thing.said) said.append(made("p", thing.said, { class: "quiet" }));
    acts.append(button("Undo", () => takeBack(thing.id)));
  }
  said.append(acts);
  return item;
}

let turn = 0;

export async function showKept(list) {
  const mine = ++turn;
  const things = await keptThings();
  const rows = await Promise.all(things.sort((one, two) => one.made - two.made).map(row));
  if (mine !== turn) return; // a later look has come first
  const persisted = things.length ? await navigator.storage?.persisted?.().catch(() => true) : true;
  list.hidden = !rows.length;
  list.replaceChildren();
  if (!rows.length) return;
  const deciding = things.filter(({ state }) => state === "decide").length;
  const waiting = things.length - deciding;
  const heads = [waiting ? `${waiting} waiting to be sent` : "", deciding ? `${deciding} to decide` : ""].filter(Boolean);
  const title = made("h2", `On this phone: ${heads.join(", ")}`, { id: "kept-title" });
  const rowsList = made("ul");
  rowsList.append(...rows);
  list.append(title, rowsList);
  if (waiting) {
    const now = button("Send now", async () => { list.dispatchEvent(new CustomEvent("littoral:again")); });
    list.append(now);
  }
  if (persisted === false) list.append(made("p", "The browser may clear this if the phone runs out of room. Install Littoral on the home screen, and it stays.", { class: "quiet" }));
}
