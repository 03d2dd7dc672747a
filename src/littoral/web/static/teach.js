// Teaching a stand's look: strokes on the photo by mouse, finger and keyboard, until they are kept or taken back.
const SVG = "http://www.w3.org/2000/svg";
const STEP = 1.5; // least distance of two points of a stroke, in pixels of the screen
const MOST_POINTS = 400;
const place = document.querySelector("[data-part=teach]");
const svg = document.querySelector("figure.over svg");
if (place && svg) start();

function start() {
  const told = JSON.parse(place.dataset.teach);
  const form = place.querySelector("form");
  const [wide, tall] = told.frame;
  const one = (name) => form.querySelector(`[data-do=${name}]`);
  const said = form.querySelector("[data-part=said]");
  const stand = form.elements.stand;
  let strokes = told.sent.filter((stroke) => Array.isArray(stroke.path));
  let after = [];
  let drawn = null; // the stroke that is being drawn
  let pointer = null;
  let cross = null; // where the keyboard is
  const layer = make("g", { class: "strokes" }, svg);

  function make(kind, attributes, parent) {
    const made = document.createElementNS(SVG, kind);
    Object.entries(attributes).forEach(([key, value]) => made.setAttribute(key, value));
    parent.append(made);
    return made;
  }
  const side = () => form.elements.side.value;
  const width = () => Math.round(10 * wide * (form.querySelector("[data-part=wide]").checked ? 0.012 : 0.004)) / 10;
  const round = (value, most) => Math.round(10 * Math.min(Math.max(value, 0), most)) / 10;
  const pixel = () => wide / svg.getBoundingClientRect().width;

  function line(stroke, kept) {
    const [first] = stroke.path;
    const points = (stroke.path.length > 1 ? stroke.path : [first, [first[0] + 0.1, first[1]]]).map((at) => at.join(",")).join(" ");
    const shown = Math.max(stroke.width ?? wide / 250, 2 * pixel());
    make("polyline", { points, class: "under", "stroke-width": shown + 3 * pixel() }, layer);
    make("polyline", { points, class: `stroke ${stroke.side}${kept ? " kept" : ""}`, "stroke-width": shown }, layer);
  }

  function draw() {
    layer.replaceChildren();
    if (!place.open) return;
    const mine = told.stands.find((some) => some.key === stand.value);
    if (mine) make("polygon", { points: mine.polygon.map((at) => at.join(",")).join(" "), class: "ring" }, layer);
    for (const kept of told.kept) if (kept.key === stand.value) kept.strokes.forEach((stroke) => line(stroke, true));
    for (const stroke of strokes) line(stroke, false);
    if (drawn) line(drawn, false);
    if (cross) {
      const reach = 11 * pixel();
      for (const name of ["under", "cross"]) {
        make("path", { d: `M${cross[0] - reach} ${cross[1]}h${2 * reach}M${cross[0]} ${cross[1] - reach}v${2 * reach}`, class: name, "stroke-width": (name === "under" ? 5 : 2) * pixel() }, layer);
      }
    }
    form.elements.strokes.value = JSON.stringify(strokes);
    one("undo").disabled = one("clear").disabled = one("keep").disabled = !strokes.length;
    one("redo").disabled = !after.length;
  }

  function tell(words = "") {
    const on = strokes.filter((stroke) => stroke.side === "stand").length;
    const count = strokes.length ? `${on} on the stand, ${strokes.length - on} beside it` : "No stroke yet";
    said.textContent = words ? `${words} ${count}.` : `${count}.`;
  }
  const change = (next, words) => { strokes = next; draw(); tell(words); };
  function begin(at) { drawn = { side: side(), width: width(), path: [at] }; draw(); }
  function extend(at) {
    const last = drawn.path.at(-1);
    if (Math.hypot(at[0] - last[0], at[1] - last[1]) < STEP * pixel() || drawn.path.length >= MOST_POINTS) return;
    drawn.path.push(at);
    draw();
  }
  function end() {
    const done = drawn;
    drawn = null;
    after = [];
    change([...strokes, done], "");
  }
  function leave() { drawn = null; pointer = null; draw(); }
  const where = (event) => {
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    return [round(at.x, wide), round(at.y, tall)];
  };

  svg.addEventListener("pointerdown", (event) => {
    if (!place.open || pointer !== null || event.button !== 0) return;
    event.preventDefault();
    pointer = event.pointerId;
    svg.setPointerCapture(pointer);
    cross = null;
    begin(where(event));
  });
  svg.addEventListener("pointermove", (event) => {
    if (event.pointerId !== pointer) return;
    for (const each of event.getCoalescedEvents?.() ?? [event]) extend(where(each));
  });
  svg.addEventListener("pointerup", (event) => {
    if (event.pointerId !== pointer) return;
    pointer = null;
    end();
  });
  svg.addEventListener("pointercancel", leave);

  svg.addEventListener("keydown", (event) => {
    if (!place.open) return;
    const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    const used = way || [" ", "Enter", "Escape"].includes(event.key);
    if (!used || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    event.stopPropagation(); // the arrow keys otherwise go to the photo before or after
    cross ??= middle();
    if (way) {
      const step = (event.shiftKey ? 24 : 6) * pixel();
      cross = [round(cross[0] + way[0] * step, wide), round(cross[1] + way[1] * step, tall)];
      if (drawn) extend(cross); else draw();
    } else if (event.key === "Escape") {
      leave();
      tell("Left.");
    } else if (drawn) {
      end();
    } else {
      begin([...cross]);
      tell("Stroke begun.");
    }
    draw();
  });
  svg.addEventListener("focus", () => { if (place.open) { cross ??= middle(); draw(); } });
  svg.addEventListener("blur", () => { cross = null; if (drawn && pointer === null) leave(); draw(); });
  function middle() {
    const mine = told.stands.find((some) => some.key === stand.value)?.polygon ?? [[wide / 2, tall / 2]];
    return [0, 1].map((axis) => round(mine.reduce((sum, at) => sum + at[axis], 0) / mine.length, axis ? tall : wide));
  }

  one("undo").addEventListener("click", () => { after.push(strokes.at(-1)); change(strokes.slice(0, -1), "Undone."); });
  one("redo").addEventListener("click", () => { const back = after.pop(); change([...strokes, back], "Back again."); });
  one("clear").addEventListener("click", () => { after = []; change([], ""); });
  stand.addEventListener("change", () => { after = []; change([], strokes.length ? "Another stand: begun anew." : ""); });
  addEventListener("keydown", (event) => {
    if (!place.open || !(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z") return;
    const which = one(event.shiftKey ? "redo" : "undo");
    if (which.disabled || event.target.matches("input[type=text], textarea")) return;
    event.preventDefault();
    which.click();
  });
  addEventListener("resize", draw);

  function opened() {
    svg.classList.toggle("teaching", place.open);
    if (place.open) svg.setAttribute("tabindex", "0"); else svg.removeAttribute("tabindex");
    const named = place.open ? "The photo to draw on: arrow keys move the cross, Space begins and ends a stroke" : "The photo with the regions that were measured";
    svg.setAttribute("aria-label", named);
    svg.setAttribute("role", place.open ? "application" : "img");
    draw();
  }
  place.addEventListener("toggle", opened);
  if (location.hash === "#teach") place.open = true;
  opened();
  tell();
  place.dataset.ready = "";
}
