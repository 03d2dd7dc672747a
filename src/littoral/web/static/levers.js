// What if: bars that are dragged, typed or stepped; the server answers with bands, drawn dashed over the charts.
const token = document.querySelector("meta[name=token]").content;
const BAR_PX = 96;
const REST_MS = 150;
const roomy = matchMedia("(min-width: 70.01rem)");
const NOTHING = [{ day: 0, value: 0, low: 0, high: 0 }]; // a line through one point draws nothing

export function whatIf(form) {
  const boards = [...form.querySelectorAll(".levers")];
  if (!boards.length) return { onViews() {} };
  const follows = form.querySelector("[data-follows]");
  const asPlanned = follows.innerHTML;
  const reset = form.querySelector("[data-reset]");
  const levers = boards.map((board) => [...board.querySelectorAll(".lever")].map((element) => lever(element, changed)));
  let views = new Map();
  let tops = new Map();
  let shown = null;
  let alarms = [];
  let rest = 0;
  let busy = false;
  let behind = false;

  const chosen = () => form.elements.tank.value;
  const board = () => boards.findIndex((one) => one.dataset.tank === chosen());
  const asIs = () => levers[board()].every((one) => one.value === one.planned);

  function changed() {
    clearTimeout(rest);
    form.removeAttribute("data-limits");
    reset.disabled = asIs();
    if (asIs()) {
      behind = false;
      return show(null);
    }
    if (busy) behind = true;
    else ask(false);
  }

  // One question at a time; what moved meanwhile is asked when the answer is there. Bands come at once, published limits
  // when the bar rests.
  async function ask(limits) {
    const since = performance.now();
    busy = true;
    behind = false;
    const body = new URLSearchParams({ token, tank: chosen(), limits: limits ? "yes" : "no" });
    for (const one of levers[board()]) body.set(one.name, one.value);
    try {
      const answer = await fetch(form.dataset.from, { method: "POST", body });
      const found = await answer.json();
      if (!answer.ok) tell(found.error);
      else if (!asIs() && found.tank === chosen()) show(found);
      form.dataset.took = Math.round(performance.now() - since);
    } catch {
      tell("Not worked out: littoral does not answer. Is it still running?");
    }
    busy = false;
    if (behind) changed();
    else if (!limits && shown) rest = setTimeout(() => !busy && !asIs() && ask(true), REST_MS);
  }

  function tell(words) {
    const line = document.createElement("p");
    line.className = "wrong";
    line.textContent = words;
    follows.replaceChildren(line);
  }

  function show(found) {
    shown = found && !found.same ? found : null;
    if (!shown) alarms = [];
    else if (shown.alarms) alarms = shown.alarms;
    form.toggleAttribute("data-limits", Boolean(shown?.alarms));
    form.toggleAttribute("data-instead", Boolean(shown));
    if (shown) follows.replaceChildren(...words(shown, alarms));
    else follows.innerHTML = asPlanned;
    overlay();
  }

  function overlay() {
    for (const [key, view] of views) {
      const nutrient = key.replace(/^bands-/, "");
      for (const { dataset } of boards) {
        const rows = shown?.tank === dataset.tank ? (shown.bands[nutrient] ?? NOTHING) : NOTHING;
        view.data(`instead-${dataset.tank}`, rows);
      }
      view.signal("top", Math.max(tops.get(key), shown?.top[nutrient] ?? 0)).runAsync();
    }
    form.dataset.shown = shown ? JSON.stringify(shown.words.map((one) => one.words)) : "";
  }

  form.addEventListener("change", (event) => {
    if (event.target.name !== "tank") return;
    for (const one of boards) one.hidden = one.dataset.tank !== chosen();
    show(null);
    changed();
  });
  form.addEventListener("submit", (event) => event.preventDefault());
  reset.addEventListener("click", () => {
    for (const one of levers[board()]) one.set(one.planned, true);
    changed();
    levers[board()][0].focus();
  });
  return {
    onViews(fresh) {
      views = fresh;
      tops = new Map([...fresh].map(([key, view]) => [key, view.signal("top")]));
      if (shown) overlay();
    },
  };
}

function words({ words: said, watch }, alarms) {
  const lines = said.map(({ words: text }) => element("p", "", text));
  if (!lines.length) lines.push(element("p", "quiet", "That would change next to nothing."));
  const passed = alarms.filter((alarm) => alarm.new);
  const list = passed.length ? passed : alarms;
  if (!list.length) return lines;
  const box = element("details", passed.length ? "stop" : "also", "");
  box.open = roomy.matches;
  const first = `${list[0].sentence}${list.length > 1 ? ` And ${list.length - 1} more.` : ""}`;
  box.append(element("summary", "", `${passed.length ? "This may pass a published limit" : "A published limit may be passed, as with the plan"}. ${first}`));
  for (const alarm of list) {
    const line = element("p", "", `${alarm.what}: ${alarm === list[0] ? "" : alarm.sentence} ${alarm.tail} Not an aquarium limit. `);
    line.append(element("cite", "", alarm.source));
    box.append(line);
  }
  box.append(element("p", "quiet", watch));
  // What warns is said first; what was so anyway, last.
  return passed.length ? [box, ...lines] : [...lines, box];
}

function element(name, look, text) {
  const made = document.createElement(name);
  if (look) made.className = look;
  made.textContent = text;
  return made;
}

function lever(element, changed) {
  const bar = element.querySelector(".bar");
  const field = element.querySelector("input");
  const [fill, planned, grip] = [".fill", ".planned", ".grip"].map((one) => bar.querySelector(one));
  const adds = JSON.parse(element.dataset.adds);
  const most = Number(element.dataset.most);
  const step = Number(element.dataset.step);
  let top = Number(element.dataset.top);
  const self = { name: element.dataset.name, planned: Number(element.dataset.planned), value: Number(element.dataset.planned) };

  self.focus = () => bar.focus();
  self.set = (value, alsoField) => {
    self.value = Number(Math.min(Math.max(value, 0), most).toPrecision(6));
    top = Math.max(Number(element.dataset.top), self.value);
    const y = (amount) => BAR_PX * (1 - Math.min(amount / top, 1));
    fill.setAttribute("y", y(self.value));
    fill.setAttribute("height", BAR_PX - y(self.value));
    grip.setAttribute("y", y(self.value) - 3);
    for (const end of ["y1", "y2"]) planned.setAttribute(end, y(self.planned));
    bar.setAttribute("aria-valuenow", self.value);
    bar.setAttribute("aria-valuetext", `${self.value} ${element.dataset.unit}`);
    element.toggleAttribute("data-moved", self.value !== self.planned);
    if (alsoField) {
      field.value = String(self.value);
      field.removeAttribute("aria-invalid");
    }
    if (adds.length) element.querySelector(".adds").textContent = `${adds.map(([name, per]) => `+${short(per * self.value)} ${name}`).join(", ")} mg/L each`;
  };
  const move = (value) => {
    const before = self.value;
    self.set(value, true);
    if (self.value !== before) changed();
  };
  const toStep = (value) => Math.round(value / step) * step;

  bar.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    event.preventDefault();
    bar.focus({ preventScroll: true });
    bar.setPointerCapture(event.pointerId);
    move(toStep(under(event)));
  });
  bar.addEventListener("pointermove", (event) => {
    if (bar.hasPointerCapture(event.pointerId)) move(toStep(under(event)));
  });
  // The bar's own scale stays while it is dragged: its upper end is the most a drag can give.
  const under = (event) => {
    const box = bar.getBoundingClientRect();
    const y = ((event.clientY - box.top) / box.height) * 104 - 4;
    return top * Math.min(Math.max(1 - y / BAR_PX, 0), 1);
  };
  bar.addEventListener("keydown", (event) => {
    const to = {
      ArrowUp: () => self.value + step,
      ArrowRight: () => self.value + step,
      ArrowDown: () => self.value - step,
      ArrowLeft: () => self.value - step,
      PageUp: () => self.value + 5 * step,
      PageDown: () => self.value - 5 * step,
      Home: () => 0,
      End: () => Number(element.dataset.top),
    }[event.key];
    if (!to || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    move(to());
  });
  field.addEventListener("input", () => {
    const typed = Number(field.value.trim().replace(",", "."));
    const fits = field.value.trim() !== "" && Number.isFinite(typed) && typed >= 0 && typed <= most;
    if (fits) field.removeAttribute("aria-invalid");
    else field.setAttribute("aria-invalid", "true");
    if (!fits) return;
    self.set(typed, false);
    changed();
  });
  field.addEventListener("change", () => self.set(self.value, true));
  return self;
}

function short(number) {
  return number >= 10 ? number.toFixed(0) : String(Number(number.toPrecision(2)));
}
