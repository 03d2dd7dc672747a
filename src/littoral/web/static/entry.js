// An entry form with script: recorded without leaving it while something is wrong, kept on the phone without network.
// Parts of a field are joined here by the very attributes that the server joins them by (web/care/entry_kinds.py).
import { post, QUEUED } from "./post.js";

const form = document.querySelector("form.entry");
const BARE = /^[0-9]+(?:[.,][0-9]+)?$/;
const TOLD = ["trial", "tank", "when", "zone", "who", "note", "id"];

form.elements.zone.value ||= Intl.DateTimeFormat().resolvedOptions().timeZone;

export function record(of = form) {
  const parts = {};
  for (const field of of.querySelectorAll("[data-of]")) {
    if (field.type === "radio" && !field.checked) continue;
    let text = field.tagName === "TEXTAREA" ? field.value : field.value.trim().replace(/\s+/g, " ");
    if (!text) continue;
    if (field.dataset.unit && BARE.test(text)) text = `${text} ${field.dataset.unit}`;
    (parts[field.dataset.of] ??= []).push((field.dataset.prefix ?? "") + text);
  }
  const joined = Object.fromEntries(Object.entries(parts).map(([name, texts]) => [name, texts.join(name === "amount" ? of.dataset.join : " ")]));
  const sent = new FormData(of);
  const told = Object.fromEntries(TOLD.filter((name) => sent.get(name)).map((name) => [name, sent.get(name)]));
  return { act: of.dataset.act, ...told, ...joined };
}

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  const button = form.querySelector(".send button");
  button.disabled = true;
  const sent = record();
  try {
    const { status, answer } = await post("/api/entries", sent, { words: [sent.act, sent.what, sent.amount ?? sent.note].filter(Boolean).join(" ") });
    const back = `/today?${new URLSearchParams({ trial: sent.trial, ...(answer.ids ? { did: answer.ids[0] } : {}) })}#tank-${encodeURIComponent(sent.tank ?? "")}`;
    if (status === QUEUED) return done("Kept on this phone; it is sent when the computer answers.");
    if (status < 300) return location.assign(back);
    form.submit(); // the server shows the form again with each mistake beside its field; the id is the same, so nothing doubles
  } catch {
    done("It could not be sent, and nothing was recorded. Try again when the computer answers.");
  } finally {
    button.disabled = false;
  }
  return undefined;
});

function done(words) {
  form.querySelector(".send .quiet")?.remove();
  const p = document.createElement("p");
  p.className = "quiet";
  p.setAttribute("role", "status");
  p.textContent = words;
  form.querySelector(".send").append(p);
}

for (const picks of form.querySelectorAll(".picks")) {
  picks.hidden = false;
  picks.addEventListener("click", (event) => {
    const pick = event.target.closest(".pick");
    if (pick) form.elements[pick.dataset.fills].value = pick.textContent;
  });
}
// Another tank or bottle has other planned amounts and stands: the address is followed, with what was typed.
for (const name of ["tank", "what"]) {
  for (const field of form.querySelectorAll(`[name="${name}"]`)) {
    if (field.type === "text") continue;
    field.addEventListener("change", () => {
      if (!form.dataset.act.match(/dose|change|trim|score|reading/)) return;
      const typed = [...new FormData(form)].filter(([key, value]) => key !== "token" && value && !(key === "amount" && form.dataset.act === "dose"));
      location.replace(`${location.pathname}?${new URLSearchParams(typed)}`);
    });
  }
}
document.documentElement.dataset.ready = "";
