// Doubtful photos, as the logbook holds them: confirmed in groups where only their view was guessed, else one by one.
const TOGETHER = 500; // ids in one request
const STRIP = 60; // pictures shown of a group at once
let place = null;
const find = (part) => place.querySelector(`[data-part="${part}"]`);
const make = (tag, words = "", name = "") => {
  const one = document.createElement(tag);
  one.textContent = words;
  if (name) one.className = name;
  return one;
};
const list = () => `/api/trials/${encodeURIComponent(place.dataset.trial)}/photos`;
const picture = (photo) => {
  const image = make("img");
  image.loading = "lazy";
  image.alt = `${photo.view_name}, ${photo.local}`;
  image.src = `/trial/${encodeURIComponent(place.dataset.trial)}/photos/${photo.photo}/small.jpg`;
  return image;
};

async function decide(ids, decision, more = {}) {
  for (let first = 0; first < ids.length; first += TOGETHER) {
    const photos = ids.slice(first, first + TOGETHER).join(" ");
    const answer = await fetch("/api/photos/decisions", {
      method: "POST",
      headers: { "content-type": "application/json", "x-littoral-token": place.dataset.token },
      body: JSON.stringify({ photos, decision, ...more }),
    });
    if (!answer.ok) {
      const { faults = [], detail = "It was refused." } = await answer.json().catch(() => ({}));
      throw new Error(faults.map(({ what, right }) => `${what} ${right}`).join(" ") || detail);
    }
  }
}

function group(view, photos) {
  const box = make("section", "", "look-group");
  const strip = make("ul", "", "strip-of");
  const wrong = new Set();
  const keep = make("button");
  const name = photos[0].view_name;
  const told = make("span", "", "wrong");
  const count = () => {
    const right = photos.length - wrong.size;
    keep.textContent = right === photos.length ? (right === 1 ? "Confirm it" : `Confirm all ${right}`) : `Confirm ${right}, look at ${wrong.size} below`;
  };
  for (const photo of photos.slice(0, STRIP)) {
    const button = make("button");
    button.type = "button";
    button.setAttribute("aria-pressed", "false");
    button.append(picture(photo), photo.local);
    button.addEventListener("click", () => {
      const is = !wrong.has(photo.photo);
      if (is) wrong.add(photo.photo);
      else wrong.delete(photo.photo);
      button.setAttribute("aria-pressed", String(is));
      count();
    });
    const item = make("li");
    item.append(button);
    strip.append(item);
  }
  const more = photos.length > STRIP ? ` The first ${STRIP} are shown.` : "";
  box.append(
    make("h3", `${photos.length} ${photos.length === 1 ? "photo looks" : "photos look"} like ${name}`),
    make("p", `Press those that do not show ${name}, then confirm the rest.${more}`, "quiet"),
    strip, keep, " ", told,
  );
  count();
  keep.addEventListener("click", async () => {
    keep.disabled = true;
    try {
      await decide(photos.filter((one) => !wrong.has(one.photo)).map((one) => one.photo), "keep", { reason: "its view was confirmed" });
      for (const photo of photos.filter((one) => wrong.has(one.photo))) apart.add(photo.photo);
      await decisions.load();
    } catch (error) {
      told.textContent = error.message;
      keep.disabled = false;
    }
  });
  return box;
}
const apart = new Set(); // pressed as wrong in a group: shown one by one

function card(photo) {
  const box = make("li", "", "card");
  const told = make("p", "", "wrong");
  const act = async (decision, more) => {
    box.setAttribute("aria-busy", "true");
    try {
      await decide([photo.photo], decision, more);
      box.remove();
      count();
    } catch (error) {
      told.textContent = error.message;
    } finally {
      box.removeAttribute("aria-busy");
    }
  };
  const keep = make("button", "Keep it");
  keep.type = "button";
  keep.addEventListener("click", () => act("keep"));
  const out = make("button", "Set aside", "plain");
  out.type = "button";
  const reason = make("input");
  reason.placeholder = "Why? Such as: blurred";
  reason.maxLength = 200;
  reason.hidden = true;
  reason.setAttribute("aria-label", "Why it is set aside");
  out.addEventListener("click", () => {
    if (reason.hidden) {
      reason.hidden = false;
      reason.value = photo.doubts[0].split(":")[0];
      out.textContent = "Set aside, for this reason";
      return reason.focus();
    }
    return act("set aside", { reason: reason.value });
  });
  const buttons = make("div", "", "doing-what");
  buttons.append(keep, out);
  box.append(picture(photo), make("p", `${photo.view_name}, ${photo.local}`), make("p", photo.file, "quiet file-name"));
  for (const doubt of photo.doubts) box.append(make("p", doubt[0].toUpperCase() + doubt.slice(1), "doubt"));
  const views = find("views-template").content.querySelectorAll("option");
  if (views.length > 1) {
    const move = make("select");
    move.setAttribute("aria-label", "It shows another view");
    move.append(new Option("It shows another view…", ""), ...[...views].filter((view) => view.value !== photo.view).map((view) => view.cloneNode(true)));
    move.addEventListener("change", () => { if (move.value) act("other view", { view: move.value }); });
    box.append(move);
  }
  box.append(reason, buttons, told);
  return box;
}

function count() {
  find("decide").hidden = !find("cards").children.length && !find("by-look").children.length;
}

export const decisions = {
  async begin(column) {
    place = column;
    if (Number(find("decide").dataset.waiting)) await this.load();
  },
  async load() {
    const answer = await fetch(list(), { headers: { accept: "application/json" } }).catch(() => null);
    if (!answer?.ok) return;
    const { photos } = await answer.json();
    find("total").textContent = photos.length === 1 ? "1 photo" : `${photos.length} photos`;
    const waiting = photos.filter((photo) => photo.state === "to decide");
    const guessed = waiting.filter(({ doubts, photo }) => doubts.length === 1 && doubts[0] === place.dataset.byLook && !apart.has(photo));
    const views = [...new Set(guessed.map((photo) => photo.view))];
    find("by-look").replaceChildren(...views.map((view) => group(view, guessed.filter((photo) => photo.view === view))));
    find("cards").replaceChildren(...waiting.filter((photo) => !guessed.includes(photo)).map(card));
    count();
  },
};
