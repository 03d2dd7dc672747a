// The twin view: shows one day of every tank, in one of two looks.
import { Pictures } from "./pictures.js";

export function showTwin(section, shared) {
  const pictures = new Pictures(shared.moments);
  let look = section.dataset.look;

  const figures = [...section.querySelectorAll(".twin")].map((figure) => ({
    tank: figure.dataset.tank,
    figure,
    image: figure.querySelector("img"),
    gap: figure.querySelector(".gap"),
    caption: figure.dataset.caption,
  }));

  function show(at) {
    const shown = shared.moments[at];
    for (const name of ["label", "words", "phase"]) {
      section.querySelector(`[data-show="${name}"]`).textContent = shown[name];
    }
    for (const { tank, figure, image, gap, caption } of figures) {
      const state = shown.tanks[tank];
      const address = state[look];
      figure.classList.toggle("held", state.held || !address);
      gap.textContent = state.note;
      gap.hidden = !state.note;
      image.hidden = !address;
      if (!address) continue;
      image.alt = `${caption}, ${state.from}`;
      // The picture before stays until this one is decoded; a day passed meanwhile is never shown late.
      pictures.ready(address).then(() => {
        if (shared.moments[shared.at].tanks[tank][look] === address && image.getAttribute("src") !== address) image.src = address;
      });
    }
    for (const place of places) tell(place, shown.tanks[place.dataset.events]);
    pictures.around(at, look);
  }

  const places = [...section.querySelectorAll("[data-events]")];
  const keepRoom = () => reserve(places, shared.moments);
  keepRoom();
  addEventListener("resize", keepRoom);
  shared.onChange(show);

  for (const link of section.querySelectorAll("a[data-look]")) {
    link.addEventListener("click", (event) => {
      event.preventDefault();
      look = link.dataset.look;
      section.dataset.look = look;
      for (const other of section.querySelectorAll("a[data-look]")) other.removeAttribute("aria-current");
      link.setAttribute("aria-current", "true");
      show(shared.at);
    });
  }
}

// Give the events the room of the fullest day, so that nothing below them moves while scrubbing.
function reserve(places, moments) {
  for (const place of places) {
    const trial = place.cloneNode(true);
    trial.classList.add("measuring");
    trial.style.width = `${place.clientWidth + 4}px`;
    place.parentNode.append(trial);
    let most = 0;
    for (const moment of moments) {
      tell(trial, moment.tanks[place.dataset.events]);
      most = Math.max(most, trial.offsetHeight);
    }
    trial.remove();
    place.style.minHeight = `${most}px`;
  }
}

function tell(place, state) {
  const items = state.events.map((event) => {
    const clock = document.createElement("span");
    clock.className = "clock";
    clock.textContent = event.clock;
    const item = document.createElement("li");
    item.className = event.kind.replaceAll(" ", "-");
    item.append(clock, ` ${event.text}`);
    return item;
  });
  if (!items.length) {
    const none = document.createElement("li");
    none.className = "none";
    none.textContent = "nothing noted this day";
    items.push(none);
  }
  place.querySelector("ul").replaceChildren(...items);
  const flags = place.querySelector(".flags");
  flags.textContent = state.flags.join("; ");
  flags.hidden = !state.flags.length;
}
