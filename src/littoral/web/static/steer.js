// Every way to change the moment: slider, keys, drag on the pictures, steps, play, and links to a day.
const LEAP = 7; // a week, where a step is a day
const DRAG_PX = 6; // a shorter movement is not a drag
const calm = matchMedia("(prefers-reduced-motion: reduce)");

export function steer(section, shared) {
  const slider = section.querySelector("#day");
  const now = section.querySelector("[data-now]");
  shared.onChange((at) => {
    slider.value = at;
    slider.setAttribute("aria-valuetext", `${shared.moments[at].label}, ${shared.moments[at].words}`);
    now.setAttribute("x", `${(100 * at) / Math.max(shared.last, 1)}%`);
    for (const step of section.querySelectorAll("[data-step]")) {
      const next = Math.min(Math.max(at + Number(step.dataset.step), 0), shared.last);
      step.href = `?day=${shared.moments[next].day}#twin`;
    }
  });
  slider.addEventListener("input", () => shared.go(slider.valueAsNumber));
  drag(section.querySelector("[data-scrub]"), shared);
  const play = player(section.querySelector("[data-play]"), shared);

  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[data-day], a[data-step]");
    if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    play.stop();
    if (link.dataset.step) shared.go(shared.at + Number(link.dataset.step));
    else {
      shared.goToDay(Number(link.dataset.day));
      section.scrollIntoView();
      slider.focus({ preventScroll: true });
    }
  });
  slider.addEventListener("pointerdown", play.stop);
  keys(section, slider, shared, play);
  section.querySelector("[data-scrub]").addEventListener("pointerdown", play.stop);
  remember(shared);
}

// The slider takes all its keys; elsewhere only the arrows to the sides step, for the others move the page.
function keys(section, slider, shared, play) {
  const moves = {
    ArrowLeft: () => shared.at - 1,
    ArrowDown: () => shared.at - 1,
    ArrowRight: () => shared.at + 1,
    ArrowUp: () => shared.at + 1,
    PageDown: () => shared.at - LEAP,
    PageUp: () => shared.at + LEAP,
    Home: () => 0,
    End: () => shared.last,
  };
  document.addEventListener("keydown", (event) => {
    const move = moves[event.key];
    if (!move || event.ctrlKey || event.metaKey || event.altKey || event.defaultPrevented) return;
    if (event.target !== slider && !(sideways(event.key) && steps(event.target, section))) return;
    event.preventDefault();
    play.stop();
    shared.go(move());
  });
}

const sideways = (key) => key === "ArrowLeft" || key === "ArrowRight";

// Nothing has the focus, or something in the twin view that is no field to write in.
function steps(target, section) {
  if (target === document.body) return true;
  return section.contains(target) && !target.closest("input, textarea, select, [contenteditable]");
}

function drag(surface, shared) {
  let from = null;
  surface.addEventListener("pointerdown", (event) => {
    if (event.button === 0) from = { x: event.clientX, at: shared.at, moving: false };
  });
  surface.addEventListener("pointermove", (event) => {
    if (!from) return;
    const moved = event.clientX - from.x;
    if (!from.moving && Math.abs(moved) < DRAG_PX) return;
    if (!from.moving) surface.setPointerCapture(event.pointerId);
    from.moving = true;
    // The whole trial is one stroke across the pictures, but never finer than a step in 4 px.
    const each = Math.max(surface.clientWidth / (shared.last + 1), 4);
    shared.go(from.at + moved / each);
  });
  for (const end of ["pointerup", "pointercancel", "lostpointercapture"]) {
    surface.addEventListener(end, () => {
      from = null;
    });
  }
}

function player(button, shared) {
  let timer = null;
  const stop = () => {
    clearInterval(timer);
    timer = null;
    button.setAttribute("aria-pressed", "false");
    button.textContent = "Play";
  };
  button.addEventListener("click", () => {
    if (timer) return stop();
    if (shared.at === shared.last) shared.go(0);
    button.setAttribute("aria-pressed", "true");
    button.textContent = "Pause";
    timer = setInterval(() => (shared.at === shared.last ? stop() : shared.go(shared.at + 1)), calm.matches ? 700 : 180);
  });
  return { stop };
}

// The address always leads back to the day that is shown.
function remember(shared) {
  let waiting = null;
  shared.addEventListener("change", () => {
    clearTimeout(waiting);
    waiting = setTimeout(() => {
      const address = new URL(location.href);
      address.searchParams.set("day", shared.day);
      history.replaceState(null, "", address);
    }, 300);
  });
}
