// The page of levels: charts with one shared day, a what-if drawn over them, and how far a second fit is.
import { drawCharts } from "./charts.js";
import { Shared } from "./day.js";
import { whatIf } from "./levers.js";

const now = document.querySelector("#now");
if (now) {
  const sent = await (await fetch(now.dataset.charts)).json();
  const shared = new Shared(sent.moments, Number(now.dataset.at));
  steps(shared);
  const drawer = document.querySelector("#what-if");
  const over = drawer ? whatIf(drawer) : { onViews() {} };
  await drawCharts(now.querySelector(".charts"), shared, over.onViews);
  near(drawer);
  now.dataset.ready = "true";
}
const priors = document.querySelector("[data-priors]");
if (priors) setTimeout(lookAgain, 700);

async function lookAgain() {
  const state = await (await fetch(priors.dataset.priors)).json();
  if (state.ready) location.reload();
  else setTimeout(lookAgain, 700);
}

// A what-if is about the days ahead, so they are given room when its drawer is opened for the first time.
function near(drawer) {
  const tick = now.querySelector("[data-near]");
  if (!tick) return;
  const charts = now.querySelector(".charts");
  const whole = charts.dataset.from;
  const draw = () => {
    charts.dataset.from = tick.checked ? `${whole}?near` : whole;
    charts.dispatchEvent(new Event("from"));
  };
  tick.addEventListener("change", draw);
  drawer?.querySelector("details").addEventListener("toggle", () => {
    if (tick.checked) return;
    tick.checked = true;
    draw();
  }, { once: true });
}

function steps(shared) {
  const link = now.querySelector("[data-twin-link]");
  let waiting = null;
  shared.onChange((at) => {
    const moment = shared.moments[at];
    now.querySelector("[data-show=label]").textContent = moment.label;
    now.querySelector("[data-show=words]").textContent = moment.words;
    link.href = `${now.dataset.twin}?day=${moment.day}#twin`;
    for (const step of now.querySelectorAll("[data-step][href]")) {
      step.href = `?day=${Math.min(Math.max(at + Number(step.dataset.step), 0), shared.last)}`;
    }
  });
  shared.addEventListener("change", () => {
    clearTimeout(waiting);
    waiting = setTimeout(() => {
      const address = new URL(location.href);
      address.searchParams.set("day", shared.day);
      history.replaceState(null, "", address);
    }, 300);
  });
  now.addEventListener("click", (event) => {
    const step = event.target.closest("a.step");
    if (!step || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    shared.go(shared.at + Number(step.dataset.step));
  });
  document.addEventListener("keydown", (event) => {
    const by = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
    if (!by || event.ctrlKey || event.metaKey || event.altKey || event.target !== document.body) return;
    event.preventDefault();
    shared.go(shared.at + by);
  });
}
