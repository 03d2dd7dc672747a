// The page of a trial: one shared moment, and everything that follows it.
import { drawCharts } from "./charts.js";
import { Shared } from "./day.js";
import { steer } from "./steer.js";
import { showTwin } from "./twin.js";

const section = document.querySelector("#twin");
const charts = document.querySelector(".charts");
const moments = await (await fetch(section.dataset.moments)).json();
const shared = new Shared(moments, Number(section.dataset.at));
if (section.querySelector("#day")) {
  showTwin(section, shared);
  steer(section, shared);
}
section.dataset.ready = "true";
if (charts) await drawCharts(charts, shared);
