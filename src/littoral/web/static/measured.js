// Charts of what photos say; where the page compares the arms on a day, a click into a chart goes to that day.
import { drawCharts } from "./charts.js";
import { Shared } from "./day.js";

const place = document.querySelector(".charts");
const compare = document.querySelector("#compare");
const days = Number(compare?.dataset.days ?? 0);
const shared = new Shared(
  days ? Array.from({ length: days }, (_, day) => ({ day })) : [{ day: null }],
  Number(compare?.dataset.day ?? 0),
);
if (compare) {
  let waiting = null;
  shared.addEventListener("change", () => {
    clearTimeout(waiting);
    waiting = setTimeout(show, 150);
  });
  compare.addEventListener("click", (event) => {
    const step = event.target.closest("a.step[href]");
    if (!step || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    shared.go(shared.at + Number(step.dataset.step));
  });
}
if (place) await drawCharts(place, shared);
document.documentElement.dataset.ready = "true";

// The part of the same page that another day would show, drawn where this one's is.
async function show() {
  const address = new URL(location.href);
  address.searchParams.set("day", shared.day);
  const sent = await fetch(address, { headers: { accept: "text/html" } });
  if (!sent.ok || sent.status === 202) return location.assign(address);
  const other = new DOMParser().parseFromString(await sent.text(), "text/html").querySelector("#compare");
  if (Number(other.dataset.day) !== shared.day) return;
  const was = compare.contains(document.activeElement) ? document.activeElement.dataset.step : undefined;
  compare.replaceChildren(...other.childNodes);
  compare.dataset.day = other.dataset.day;
  if (was) compare.querySelector(`[data-step="${was}"]`)?.focus();
  history.replaceState(null, "", address);
}
