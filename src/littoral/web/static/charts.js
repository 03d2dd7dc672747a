// The published charts, drawn by Vega from their own specifications, each with the shared day as its cursor.
// Vega evaluates its expressions with its interpreter (ast), so no text is ever run as code.
const dark = matchMedia("(prefers-color-scheme: dark)");

// `drawn` is told the views anew, by the charts' keys, each time they are drawn. The event "from" says that
// `place.dataset.from` has changed.
export async function drawCharts(place, shared, drawn = () => {}) {
  if (!window.vegaEmbed) return;
  let sent = await (await fetch(place.dataset.from)).json();
  let views = [];
  const draw = async () => {
    const old = views;
    views = await Promise.all(sent.charts.map((chart) => drawChart(chart, sent.on_dark, shared)));
    old.forEach((result) => result.finalize());
    drawn(new Map(sent.charts.map(({ key }, at) => [key, views[at].view])));
  };
  await draw();
  dark.addEventListener("change", draw);
  place.addEventListener("from", async () => {
    sent = await (await fetch(place.dataset.from)).json();
    await draw();
  });
  let drawnFor = place.clientWidth;
  new ResizeObserver(() => {
    if (fitting(sent.charts[0]?.widths ?? {}, place.clientWidth) === fitting(sent.charts[0]?.widths ?? {}, drawnFor)) return;
    drawnFor = place.clientWidth;
    draw();
  }).observe(place);
  shared.onChange(() => {
    for (const { view } of views) setDay(view, shared.day);
  });
  place.dataset.drawn = "true";
}

// The widest drawing that fits, else the narrowest.
function fitting(widths, room) {
  const known = Object.keys(widths).map(Number);
  return Math.max(...known.filter((width) => width <= room), Math.min(...known));
}

async function drawChart({ key, widths }, onDark, shared) {
  const place = document.querySelector(`[data-chart="${CSS.escape(key)}"]`);
  const room = place.clientWidth || place.closest(".charts")?.clientWidth || 0; // folded away it has no width of its own
  const spec = inColours(widths[fitting(widths, room)], dark.matches ? onDark : {});
  delete spec.title; // the page says it above the drawing
  const result = await window.vegaEmbed(place.querySelector(".drawn"), spec, {
    actions: false,
    ast: true,
    defaultStyle: false,
    renderer: "canvas",
    tooltip: { disableDefaultStyle: true },
  });
  setDay(result.view, shared.day);
  result.view.addEventListener("click", (event) => {
    const at = dayUnder(result.view, event);
    if (at !== null) shared.goToDay(at);
  });
  return result;
}

// A specification is drawn with the colours of light paper; on dark paper each is swapped for its other.
function inColours(spec, swap) {
  const text = JSON.stringify(spec);
  return JSON.parse(text.replace(/"#[0-9a-f]{6}"/g, (quoted) => (quoted.slice(1, -1) in swap ? `"${swap[quoted.slice(1, -1)]}"` : quoted)));
}

function hasDay(view) {
  return "day" in view.getState({ signals: (name) => name === "day", data: () => false }).signals;
}

function setDay(view, day) {
  if (hasDay(view)) view.signal("day", day).runAsync();
}

// The day under a click, or null beside every panel: each panel is a group with its own x scale.
function dayUnder(view, event) {
  if (!hasDay(view)) return null;
  const [left, top] = view.origin();
  const box = event.target.getBoundingClientRect();
  const drawnAt = (parseFloat(event.target.style.width) || box.width) / box.width; // it shrinks on the narrowest phones
  const x = (event.clientX - box.left) * drawnAt - left;
  const y = (event.clientY - box.top) * drawnAt - top;
  for (const { name, group } of panels(view.scenegraph().root, "", 0, 0)) {
    const inside = x >= group.x && x <= group.x + group.width && y >= group.y && y <= group.y + group.height;
    if (inside) return view.scale(name).invert(x - group.x);
  }
  return null;
}

function* panels(mark, prefix, x, y) {
  for (const item of mark.items ?? []) {
    if (item.mark?.marktype !== "group") continue;
    const name = /^(.*?)_?group$/.exec(mark.name ?? "")?.[1];
    const at = { x: x + (item.x || 0), y: y + (item.y || 0), width: item.width, height: item.height };
    if (name !== undefined && item.width) yield { name: name ? `${name}_x` : "x", group: at };
    for (const inner of item.items ?? []) if (inner.marktype === "group") yield* panels(inner, name, at.x, at.y);
  }
}
