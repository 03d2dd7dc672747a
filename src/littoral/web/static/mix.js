// A sheet: what is typed goes to the server after a short rest, and only the parts that depend on it come back.
const REST_MS = 120;
const token = document.querySelector("meta[name=token]").content;
const LINES = ".line, .starts li, .levels tr";
const openWhys = new Set();
let rest = 0;
let asking = null;
let rooms = new WeakMap();

const sheet = () => document.querySelector("#sheet");

async function ask(extra = {}) {
  asking?.abort();
  asking = new AbortController();
  const body = new URLSearchParams(new FormData(sheet()));
  body.set("token", token);
  for (const [name, value] of Object.entries(extra)) body.set(name, value);
  const answer = await fetch(sheet().dataset.liveFrom, { method: "POST", body, signal: asking.signal });
  if (!answer.ok) throw new Error(await answer.text());
  return answer.json();
}

async function work(extra) {
  try {
    const answer = await ask(extra);
    if (answer.sheet) remake(answer);
    else show(answer);
  } catch (error) {
    if (error.name !== "AbortError") tell(`Not worked out: ${error.message}`, true);
  }
}

function tell(words, wrong) {
  document.querySelector("#told").textContent = words;
  document.querySelector("#tell").classList.toggle("wrong", wrong);
  sheet().toggleAttribute("data-behind", wrong);
}

function show({ parts, troubles, tidied, address, told, wrong }) {
  for (const [key, html] of Object.entries(parts ?? {})) renew(document.querySelector(`[data-live="${CSS.escape(key)}"]`), html);
  for (const field of document.querySelectorAll(".amount")) {
    const { field: name } = field.dataset;
    const input = field.querySelector("input, select");
    const trouble = troubles[name] ?? "";
    field.classList.toggle("wrong", Boolean(trouble));
    if (trouble) input.setAttribute("aria-invalid", "true");
    else input.removeAttribute("aria-invalid");
    const bubble = field.querySelector(".told");
    if (bubble.textContent !== trouble) bubble.textContent = trouble;
    // A number that was taken with a unit says so once the person has left its field.
    if (name in tidied && input !== document.activeElement) input.value = tidied[name];
  }
  keepRoom();
  tell(told, wrong);
  history.replaceState(null, "", address);
}

// What has not changed is left alone, so that nothing a person looks at flickers and no open "why?" closes.
function renew(part, html) {
  if (!part) return;
  const fresh = part.cloneNode(false);
  fresh.innerHTML = html;
  keepOpen(fresh);
  const now = part.cloneNode(true);
  for (const line of now.querySelectorAll("[style]")) line.removeAttribute("style");
  for (const old of now.querySelectorAll(".moved")) old.classList.remove("moved");
  if (now.isEqualNode(fresh)) return;
  // A field that came with a part (the reason of an override) keeps what is being written into it.
  if (part.contains(document.activeElement) && document.activeElement.matches("input") && fresh.querySelector("input")) return;
  const before = new Map([...part.querySelectorAll("[data-figure]")].map((one) => [one.dataset.figure, one.textContent]));
  for (const one of fresh.querySelectorAll("[data-figure]")) {
    if (before.has(one.dataset.figure) && before.get(one.dataset.figure) !== one.textContent) one.classList.add("moved");
  }
  const held = [...part.querySelectorAll(LINES)].map((line) => rooms.get(line) ?? 0);
  part.replaceChildren(...fresh.childNodes);
  // A line that is made anew takes over the room of the one in its place.
  [...part.querySelectorAll(LINES)].forEach((line, at) => held[at] && rooms.set(line, held[at]));
}

// A line that once needed more room keeps it, so that what lies below does not jump up and down with the digits.
function keepRoom() {
  for (const line of sheet().querySelectorAll(LINES)) {
    if (line.querySelector("details[open]")) continue;
    const height = line.getBoundingClientRect().height;
    if (height > (rooms.get(line) ?? 0)) rooms.set(line, height);
    line.style.minHeight = `${rooms.get(line)}px`;
  }
}

function loseRoom() {
  rooms = new WeakMap();
  for (const line of sheet().querySelectorAll(LINES)) line.style.minHeight = "";
  keepRoom();
}

function keepOpen(within) {
  for (const why of within.querySelectorAll("details[data-why]")) why.open = openWhys.has(why.dataset.why);
}

function remake({ sheet: html, address, focus, told, wrong }) {
  const made = document.createElement("template");
  made.innerHTML = html.trim();
  keepOpen(made.content);
  const top = scrollY;
  sheet().replaceWith(made.content);
  wake();
  scrollTo(0, top);
  document.getElementById(focus)?.focus();
  history.pushState(null, "", address);
  tell(told, wrong);
}

function wake() {
  loseRoom();
  sheet().dataset.awake = "true";
}

document.addEventListener("input", (event) => {
  if (!event.target.closest("#sheet") || event.target.matches("[data-remakes], [name=reason]")) return;
  clearTimeout(rest);
  rest = setTimeout(work, REST_MS);
});
document.addEventListener("change", (event) => {
  if (event.target.matches("#sheet [data-remakes]")) work({ more: "as it is" });
  else if (event.target.matches("#sheet input:not([name=reason])")) work();
});
document.addEventListener("submit", (event) => {
  const button = event.submitter;
  if (event.target !== sheet() || (button && "plain" in button.dataset)) return;
  event.preventDefault();
  clearTimeout(rest);
  work(button?.name ? { [button.name]: button.value } : {});
});
// What is told at a field opens towards the side that has room.
document.addEventListener("focusin", (event) => {
  const field = event.target.closest(".amount");
  field?.classList.toggle("far", field.getBoundingClientRect().left > innerWidth / 2);
});
document.addEventListener("toggle", (event) => {
  const why = event.target.dataset?.why;
  if (why) openWhys[event.target.open ? "add" : "delete"](why);
}, true);
let width = innerWidth;
addEventListener("resize", () => {
  if (innerWidth === width) return;
  width = innerWidth;
  loseRoom();
});
addEventListener("popstate", () => location.reload());
wake();
