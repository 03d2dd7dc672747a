// How a film or still will look with what is chosen, and how far what is being made is.
const QUIET_MS = 250;

for (const form of document.querySelectorAll("form[data-preview]")) {
  const picture = form.querySelector(".look-before img");
  const wrong = form.querySelector("[data-wrong]");
  let turn = 0;
  let timer = 0;

  const look = async () => {
    const mine = ++turn;
    const fields = new URLSearchParams();
    for (const [name, value] of new FormData(form)) if (name !== "token") fields.append(name, value);
    picture.dataset.coming = "";
    const answer = await fetch(`${form.dataset.preview}?${fields}`).catch(() => null);
    if (mine !== turn) return; // something else was chosen meanwhile
    delete picture.dataset.coming;
    if (answer?.ok) {
      const before = picture.src;
      picture.removeAttribute("width");
      picture.removeAttribute("height");
      picture.src = answer.url;
      if (before !== picture.src) wrong.hidden = true;
      return;
    }
    const said = answer ? await answer.json().catch(() => ({})) : {};
    wrong.textContent = said.error ?? "It cannot be shown just now.";
    wrong.hidden = false;
  };
  const soon = () => {
    clearTimeout(timer);
    timer = setTimeout(look, QUIET_MS);
  };
  form.addEventListener("change", soon);
  form.addEventListener("input", (event) => event.target.type === "range" && soon());
}

const made = document.querySelector("[data-jobs]");
const going = () => [...document.querySelectorAll(".job")].filter((one) => ["waiting", "working"].includes(one.dataset.state));

const follow = async () => {
  if (!going().length) return;
  const answer = await fetch(made.dataset.jobs).catch(() => null);
  if (answer?.ok) {
    const jobs = new Map((await answer.json()).map((job) => [job.name, job]));
    for (const item of going()) {
      const job = jobs.get(item.id);
      if (!job || !["waiting", "working"].includes(job.state)) return location.reload();
      if (job.state === "working") item.querySelector("[data-turn]")?.remove();
      const bar = item.querySelector("progress");
      bar.max = job.total || 1;
      bar.value = job.done;
      item.querySelector("[data-what]").textContent = job.total > 1 ? `${job.what}: ${job.done} of ${job.total}` : job.what;
    }
  }
  setTimeout(follow, 700);
};
setTimeout(follow, 700);
document.body.dataset.publish = "ready";
