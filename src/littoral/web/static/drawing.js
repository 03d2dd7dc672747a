// The page on which a view is drawn: by mouse, finger and keyboard. What is drawn is kept in shapes.js.
import { cornerName, Drawing } from "./shapes.js";

const SVG = "http://www.w3.org/2000/svg";
const CLOSEST = 6;
const form = document.querySelector("form.draw");
if (form) start();

function start() {
  const told = JSON.parse(form.dataset.drawing);
  const photos = JSON.parse(form.dataset.photos);
  const part = (name) => form.querySelector(`[data-part="${name}"]`);
  const svg = form.querySelector("svg");
  const paper = form.querySelector(".paper");
  const layer = part("shapes");
  const drawing = new Drawing(told.panes, told.frame);
  const hidden = form.elements.panes;
  let chosen = null; // {tank, at}
  let near = 1;
  let held = null; // what a pointer holds

  const nameOf = ({ kind, name, tank }) => {
    if (kind === "corners") return `glass of ${told.tanks[tank] ?? tank}`;
    return kind === "stand" ? told.stands[name] ?? name : name;
  };
  const same = (one, other) => one && other && one.tank === other.tank && one.at === other.at;
  const say = (words) => { part("said").textContent = words; };
  const make = (kind, attributes, parent = layer) => {
    const one = document.createElementNS(SVG, kind);
    Object.entries(attributes).forEach(([key, value]) => one.setAttribute(key, value));
    parent.append(one);
    return one;
  };
  const pixel = () => told.frame[0] / svg.getBoundingClientRect().width; // frame pixels to one on the screen

  function draw(focus = null) {
    layer.replaceChildren();
    const one = pixel();
    const shapes = drawing.shapes(told.kinds);
    if (chosen && !shapes.some((shape) => same(shape, chosen))) chosen = null;
    for (const shape of shapes) {
      const mine = same(shape, chosen);
      const text = shape.points.map((point) => point.join(",")).join(" ");
      const area = make("polygon", { points: text, class: `shape ${shape.kind}${mine ? " chosen" : ""}`, "stroke-width": (mine ? 2.5 : 1.6) * one });
      area.shape = shape;
      const [xs, ys] = [shape.points.map(([across]) => across), shape.points.map(([, down]) => down)];
      const [x, y] = [Math.min(...xs), Math.min(...ys)];
      const room = (Math.max(...xs) - x) / one; // a name that has no room stands in the list only
      if (mine || 6.6 * nameOf(shape).length < 1.25 * room) make("text", { x: x + 4 * one, y: y + 15 * one, "font-size": 13 * one, "stroke-width": 3 * one, class: "name" }).textContent = nameOf(shape);
    }
    const mine = shapes.find((shape) => same(shape, chosen));
    if (mine) {
      if (mine.at >= 0) mine.points.forEach((point, place) => {
        const next = mine.points[(place + 1) % mine.points.length];
        const dot = make("circle", { cx: (point[0] + next[0]) / 2, cy: (point[1] + next[1]) / 2, r: 4.5 * one, class: "between" });
        dot.between = place;
        dot.shape = mine;
      });
      mine.points.forEach((point, place) => {
        const corner = make("g", { class: "corner", tabindex: 0, role: "button", "aria-label": `${cornerName(mine, place)}, ${nameOf(mine)}, at ${Math.round(point[0])}, ${Math.round(point[1])}` });
        make("circle", { cx: point[0], cy: point[1], r: 17 * one, class: "reach" }, corner);
        make("circle", { cx: point[0], cy: point[1], r: 7 * one, class: "dot", "stroke-width": 2 * one }, corner);
        Object.assign(corner, { place, shape: mine });
        corner.dataset.place = place;
      });
    }
    hidden.value = JSON.stringify(drawing.panes);
    form.querySelector("[data-do=undo]").disabled = !drawing.before.length;
    form.querySelector("[data-do=redo]").disabled = !drawing.after.length;
    if (focus !== null) layer.querySelector(`.corner[data-place="${focus}"]`)?.focus();
  }

  function list() {
    const place = part("list");
    const open = document.activeElement?.closest?.("[data-part=list] [data-key]")?.dataset.key;
    place.replaceChildren();
    for (const tank of Object.keys(drawing.panes)) {
      const box = document.createElement("section");
      const head = document.createElement("h2");
      head.textContent = told.tanks[tank] ?? tank;
      box.append(head);
      const ul = document.createElement("ul");
      ul.className = "shapes";
      for (const shape of drawing.shapes(told.kinds).filter((one) => one.tank === tank)) {
        const item = document.createElement("li");
        const choose = document.createElement("button");
        choose.type = "button";
        choose.dataset.key = `${tank}/${shape.at}`;
        choose.className = `choose ${shape.kind}`;
        choose.setAttribute("aria-pressed", String(Boolean(same(shape, chosen))));
        const kind = shape.kind === "corners" ? "where the glass ends" : told.kinds[shape.kind];
        choose.innerHTML = "<span></span> <small></small>";
        choose.firstChild.textContent = nameOf(shape);
        choose.lastChild.textContent = kind;
        choose.addEventListener("click", () => { chosen = { tank, at: shape.at }; draw(0); list(); });
        const drop = document.createElement("button");
        drop.type = "button";
        drop.className = "plain";
        drop.textContent = "Remove";
        drop.setAttribute("aria-label", `Remove ${nameOf(shape)}`);
        drop.addEventListener("click", () => { drawing.drop(shape); draw(); list(); say(`${nameOf(shape)} is removed. Undo brings it back.`); });
        item.append(choose, drop);
        ul.append(item);
      }
      box.append(ul);
      const label = document.createElement("label");
      label.className = "wide";
      label.innerHTML = "<span>Width between the glass corners</span><input type=\"text\" inputmode=\"decimal\" placeholder=\"60 cm\">";
      const input = label.querySelector("input");
      input.value = drawing.panes[tank].width ?? "";
      input.addEventListener("change", () => {
        const text = input.value.trim();
        drawing.width(tank, /^[0-9.,]+$/.test(text) ? `${text} cm` : text);
        draw();
        list();
      });
      box.append(label);
      place.append(box);
    }
    if (!place.children.length) place.innerHTML = "<p class=\"quiet\">Nothing is drawn yet. Add the glass of a tank first, or have its corners proposed.</p>";
    if (open) place.querySelector(`[data-key="${CSS.escape(open)}"]`)?.focus();
  }

  // Adding: which tank, what, and its name.
  const [tankField, kindField, standField, nameField] = ["add-tank", "add-kind", "add-stand", "add-name"].map(part);
  const option = (field, value, words) => field.add(new Option(words, value));
  Object.entries(told.tanks).forEach(([key, words]) => option(tankField, key, words));
  option(kindField, "corners", "the glass (its corners)");
  Object.entries(told.kinds).forEach(([key, words]) => option(kindField, key, words));
  function which() {
    const kind = kindField.value;
    standField.replaceChildren();
    (told.standsOf[tankField.value] ?? []).forEach((key) => option(standField, key, told.stands[key]));
    standField.hidden = kind !== "stand";
    nameField.hidden = kind === "stand";
    part("which").hidden = kind === "corners";
  }
  [tankField, kindField].forEach((field) => field.addEventListener("change", which));

  function add() {
    const [tank, kind] = [tankField.value, kindField.value];
    const name = kind === "stand" ? standField.value : nameField.value.trim();
    const there = drawing.shapes(told.kinds).find((shape) => shape.tank === tank && (kind === "corners" ? shape.kind === kind : shape.name === name));
    if (kind !== "corners" && !name) return say("Give it a short name, such as front glass.");
    if (there) {
      chosen = { tank, at: there.at };
      say(`${nameOf(there)} is drawn already; it is chosen now.`);
    } else {
      chosen = drawing.add(tank, kind, name);
      say("Added as a box: drag its corners to where they belong.");
    }
    draw(0);
    list();
  }

  async function propose() {
    const tanks = Object.keys(drawing.panes).length ? Object.keys(drawing.panes) : [tankField.value];
    say("Looking for straight edges of glass…");
    const entry = photos[part("on").value][0];
    try {
      const answer = await fetch(`${form.dataset.base}/corners.json?${new URLSearchParams({ photo: entry, tanks: tanks.length })}`);
      const { corners } = await answer.json();
      if (!corners?.length) return say("No clear outline was found in this photo. Set the corners by hand, or try another day.");
      drawing.corners(corners.map((points, place) => [tanks[place], points]));
      chosen = { tank: tanks[0], at: -1 };
      draw();
      list();
      say(`Corners are proposed for ${corners.length === 1 ? "one tank" : `${corners.length} tanks`}: look closely, and move what is off.`);
    } catch {
      say("The computer does not answer. Nothing is lost; try again.");
    }
  }

  function zoom(to) {
    const [wide, high] = [paper.scrollLeft + paper.clientWidth / 2, paper.scrollTop + paper.clientHeight / 2];
    const grown = Math.min(Math.max(to, 1), CLOSEST) / near;
    near *= grown;
    svg.style.width = `${100 * near}%`;
    paper.scrollTo(wide * grown - paper.clientWidth / 2, high * grown - paper.clientHeight / 2);
    draw();
  }

  const acts = {
    undo: () => { drawing.undo(); draw(); list(); },
    redo: () => { drawing.redo(); draw(); list(); },
    closer: () => zoom(near * 1.5),
    farther: () => zoom(near / 1.5),
    whole: () => zoom(1),
    add,
    corners: propose,
  };
  form.addEventListener("click", (event) => acts[event.target.closest("[data-do]")?.dataset.do]?.());

  // Pointers: a corner, a dot between two, or a whole shape.
  const at = (event) => {
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    return [point.x, point.y];
  };
  svg.addEventListener("pointerdown", (event) => {
    if (held) return; // a second finger moves nothing
    const corner = event.target.closest(".corner");
    const where = at(event);
    if (corner) {
      held = { shape: corner.shape, place: corner.place, from: where, start: corner.shape.points[corner.place] };
    } else if (event.target.between !== undefined) {
      const { shape, between } = event.target;
      const first = drawing.before.length;
      drawing.insert(shape, between);
      const made = drawing.shapes(told.kinds).find((one) => same(one, shape));
      held = { shape: made, place: between + 1, from: where, start: made.points[between + 1], first };
    } else if (event.target.shape) {
      const { shape } = event.target;
      held = { shape, from: where, whole: true, fresh: !same(shape, chosen) };
      chosen = { tank: shape.tank, at: shape.at };
      list();
    } else {
      return;
    }
    event.preventDefault();
    svg.setPointerCapture(event.pointerId);
    held.pointer = event.pointerId;
    held.steps = drawing.before.length;
    // Not at once: a touched element that is gone is told nothing of its touch any more.
    requestAnimationFrame(() => { if (held) draw(held.place ?? null); });
  });
  // Browsers do not heed `touch-action` within a drawing. What a finger holds goes with it; all else scrolls the page.
  svg.addEventListener("touchstart", (event) => { if (held && !held.fresh) event.preventDefault(); }, { passive: false });
  svg.addEventListener("pointermove", (event) => {
    if (held?.pointer !== event.pointerId) return;
    const [x, y] = at(event);
    const by = [x - held.from[0], y - held.from[1]];
    if (Math.hypot(...by) < 2 * pixel() && !held.dragged) return;
    held.dragged = true;
    while (drawing.before.length > held.steps) drawing.undo(); // one drag is one step to undo
    if (held.whole) drawing.shift(held.shape, by);
    else drawing.move(held.shape, held.place, [held.start[0] + by[0], held.start[1] + by[1]]);
    draw(held.place ?? null);
  });
  for (const end of ["pointerup", "pointercancel"]) svg.addEventListener(end, (event) => {
    if (held?.pointer !== event.pointerId) return;
    if (end === "pointercancel" && drawing.before.length > held.steps) { // the page was moved, not the shape
      while (drawing.before.length > held.steps) drawing.undo();
      drawing.after.length = 0;
    }
    if (held.first !== undefined) drawing.before.length = held.first + 1; // made and moved in one go: one step
    held = null;
    draw();
  });

  // Keys on a corner.
  const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  svg.addEventListener("keydown", (event) => {
    const corner = event.target.closest(".corner");
    if (!corner || event.ctrlKey || event.metaKey) return;
    const { shape, place } = corner;
    if (event.key in ways) {
      const [dx, dy] = ways[event.key].map((way) => way * (event.shiftKey ? 10 : 1));
      drawing.move(shape, place, [shape.points[place][0] + dx, shape.points[place][1] + dy]);
      draw(place);
    } else if (event.key === "Delete" || event.key === "Backspace") {
      if (drawing.remove(shape, place)) draw(Math.max(place - 1, 0));
      else say(shape.at < 0 ? "Glass keeps its four corners." : "A region keeps three corners; Remove takes the whole of it away.");
    } else if (event.key === "Insert" || event.key === "+") {
      if (drawing.insert(shape, place)) draw(place + 1);
    } else return;
    event.preventDefault();
  });
  addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey) || !["z", "y"].includes(event.key.toLowerCase()) || event.target.matches("input[type=text], textarea")) return;
    event.preventDefault();
    acts[event.key.toLowerCase() === "y" || event.shiftKey ? "redo" : "undo"]();
  });

  part("on").addEventListener("input", () => {
    const [entry, day] = photos[part("on").value];
    part("day").textContent = `day ${Math.floor(day)}`;
    svg.querySelector("image").setAttribute("href", `${form.dataset.base}/photo/${encodeURIComponent(entry)}.jpg`);
  });
  form.elements.from_day.addEventListener("input", () => { form.querySelector("[name=since][value=day]").checked = true; });
  form.addEventListener("submit", () => { removeEventListener("beforeunload", stay); });
  const stay = (event) => { if (drawing.before.length) event.preventDefault(); };
  addEventListener("beforeunload", stay);
  new ResizeObserver(() => draw()).observe(paper);
  which();
  list();
  draw();
  document.documentElement.dataset.ready = "";
}
