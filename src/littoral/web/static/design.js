// The page of a design: its one chart is of plans, not of days, so there is no day to share.
import { drawCharts } from "./charts.js";

const charts = document.querySelector(".charts");
if (charts) await drawCharts(charts, { day: 0, onChange() {}, goToDay() {} });
