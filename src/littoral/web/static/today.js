// Today's list with script: a press is recorded where one stands, kept on the phone where there is no network.
// Without script the same forms are sent as forms.
import { post, QUEUED } from "./post.js";

const said = document.querySelector("#said");
const zone = Intl.DateTimeFormat().resolvedOptions().timeZone;
const TAKES = ["trial", "tank", "item", "amount", "id"];
const WITHOUT_TANK = ["planned", "done", "doubled", "late", "missed"];

document.addEventListener("submit", (event) => {
  const form = event.target.closest("form[data-record]");
  if (!form) return;
  event.preventDefault();
  send(form, event.submitter);
});

async function send(form, button) {
  const sent = Object.fromEntries(new FormData(form, button));
  const task = form.closest(".task") ?? form.closest(".tank-today") ?? form.closest(".did");
  const buttons = form.querySelectorAll("button");
  buttons.forEach((one) => { one.disabled = true; });
  task?.setAttribute("aria-busy", "true");
  const words = task?.querySelector(".words")?.textContent.trim().replace(/\s+/g, " ") ?? "";
  try {
    const { status, answer } = await post(...asked(sent), { words: `${button?.textContent.trim() ?? "Done"}: ${words}` });
    if (status === QUEUED) return kept(task, form);
    if (status < 300) {
      tell(answer.words.length > 1 ? `${answer.words.length} let go.` : `${sent.act === "undo" ? "Changed" : "Recorded"}: ${answer.words[0] ?? "nothing was open"}`,
        answer.ids?.length === 1 ? answer.ids[0] : "", sent, answer.remarks);
      await refresh(sent.trial, sent.tank);
    } else {
      await refused(form, task, answer, sent);
    }
  } catch {
    tell("It could not be sent, and nothing was recorded. Press again when the computer answers.", "", sent);
  } finally {
    buttons.forEach((one) => { one.disabled = false; });
    task?.removeAttribute("aria-busy");
  }
}

function asked(sent) {
  if (sent.act === "undo") return [`/api/entries/${encodeURIComponent(sent.entry)}/undo`, {}];
  const names = TAKES.filter((name) => sent[name] && !(name === "tank" && WITHOUT_TANK.includes(sent.act)));
  return ["/api/entries", { act: sent.act, zone, ...Object.fromEntries(names.map((name) => [name, sent[name]])) }];
}

function kept(task, form) {
  task?.setAttribute("data-kept", "");
  form.insertAdjacentHTML("afterend", "<p class=\"quiet\">Kept on this phone; it is sent when the computer answers.</p>");
  form.hidden = true;
}

async function refused(form, task, answer, sent) {
  task?.querySelector(":scope > .notice")?.remove();
  const told = document.createElement("div");
  told.className = "notice";
  told.setAttribute("role", "alert");
  const lines = answer.faults ? answer.faults.map((one) => `This ${one.what} ${one.right}`) : [answer.detail ?? "It was refused."];
  if (answer.kind === "answered already" || answer.kind === "changed meanwhile") {
    await refresh(sent.trial, sent.tank);
    lines.splice(0, 1, "Somebody recorded this already, so nothing was written. The list shows what is there now.");
    tell(lines[0], "", sent);
    return;
  }
  lines.forEach((line) => { const p = document.createElement("p"); p.textContent = line; told.append(p); });
  (task ?? said).prepend(told);
}

function tell(words, id, sent, remarks = []) {
  document.querySelector(".did")?.remove();
  said.replaceChildren();
  const box = document.createElement("div");
  box.className = "notice done did";
  const p = document.createElement("p");
  p.textContent = words;
  box.append(p);
  if (id) box.append(undoing(id, sent));
  for (const remark of remarks) {
    const warned = document.createElement("p");
    Object.assign(warned, { className: "warned", textContent: remark });
    box.append(warned);
  }
  said.append(box);
}

function undoing(entry, sent) {
  const form = document.createElement("form");
  form.dataset.record = "undo";
  Object.entries({ act: "undo", entry, trial: sent.trial, tank: sent.tank ?? "" }).forEach(([name, value]) => {
    const field = document.createElement("input");
    Object.assign(field, { type: "hidden", name, value });
    form.append(field);
  });
  const button = document.createElement("button");
  button.className = "plain";
  button.textContent = sent.act === "undo" ? "Take that back" : "Undo";
  form.append(button);
  return form;
}

// Fetches one tank anew and puts it in place of the old one; what stands open stays open.
async function refresh(trial, tank) {
  const day = new URLSearchParams(location.search).get("day") ?? "";
  // What was recorded is recorded, also where the connection is gone before the list could be had again.
  const text = await fetch(`/today?${new URLSearchParams({ trial, tank: tank ?? "", day })}`).then((answer) => answer.text()).catch(() => "");
  const fresh = new DOMParser().parseFromString(text, "text/html");
  for (const section of fresh.querySelectorAll(".tank-today")) {
    const old = document.querySelector(`[data-trial="${CSS.escape(trial)}"] #${CSS.escape(section.id)}`);
    if (!old) continue;
    const open = [...old.querySelectorAll(":scope > details")].filter((one) => one.open).map((one) => one.className);
    old.replaceWith(document.adoptNode(section));
    section.querySelectorAll(":scope > details").forEach((one) => { one.open = open.includes(one.className); });
    clock(section);
  }
}

window.addEventListener("littoral:sent", () => {
  document.querySelectorAll("[data-kept]").forEach((one) => {
    refresh(one.closest("[data-trial]")?.dataset.trial, one.closest("[data-tank]")?.dataset.tank);
  });
});

// The clock: minutes of care from the press of a button to the next, kept through a reload.
function clock(section) {
  const button = section.querySelector("[data-timer]");
  if (!button) return; // a day to come
  const key = `littoral-clock ${section.closest("[data-trial]").dataset.trial} ${section.dataset.tank}`;
  const begun = () => Number(localStorage.getItem(key));
  const minutes = () => Math.max(1, Math.round((Date.now() - begun()) / 60_000));
  const show = () => { button.textContent = begun() ? `Stop and record ${minutes()} min` : "Start the clock"; };
  button.hidden = false;
  show();
  button.addEventListener("click", async () => {
    if (!begun()) {
      localStorage.setItem(key, String(Date.now()));
      return show();
    }
    const sent = { act: "care", trial: section.closest("[data-trial]").dataset.trial, tank: section.dataset.tank, amount: `${minutes()} min`, zone };
    button.disabled = true; // a second tap would count the same minutes twice
    try {
      const { status, answer } = await post("/api/entries", { ...sent, id: await fresh() }, { words: `${sent.amount} of care` });
      if (status === QUEUED || status < 300) {
        localStorage.removeItem(key);
        tell(status === QUEUED ? "Kept on this phone; it is sent when the computer answers." : `Recorded: ${answer.words[0]}`, answer.ids?.[0] ?? "", sent);
        if (status !== QUEUED) await refresh(sent.trial, sent.tank);
      } else {
        tell(answer.detail ?? "It was refused.", "", sent);
      }
    } catch {
      tell("It could not be sent, and nothing was recorded. Press again when the computer answers.", "", sent);
    } finally {
      button.disabled = false;
    }
    return show();
  });
  section.dataset.clock = "";
}

async function fresh() {
  return (await import("./post.js")).newId();
}

document.querySelectorAll(".tank-today").forEach(clock);
setInterval(() => document.querySelectorAll(".tank-today").forEach((section) => {
  const key = `littoral-clock ${section.closest("[data-trial]").dataset.trial} ${section.dataset.tank}`;
  const begun = Number(localStorage.getItem(key));
  const button = section.querySelector("[data-timer]");
  if (begun && button) button.textContent = `Stop and record ${Math.max(1, Math.round((Date.now() - begun) / 60_000))} min`;
}), 15_000);
document.documentElement.dataset.ready = "";
