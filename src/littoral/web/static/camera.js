// Takes the next photo of a view, with the last one of it as a translucent overlay, so that both are framed alike.
import { localDate, localClock } from "./moments.js";
import { post, QUEUED } from "./post.js";

const QUALITY = 0.95;
const TYPES = new Set(["image/jpeg", "image/png", "image/webp", "image/tiff", "image/heic", "image/heif"]);
const ENDINGS = { heic: "image/heic", heif: "image/heif", tif: "image/tiff", tiff: "image/tiff" }; // browsers give these no type
const place = document.querySelector("#camera");
const find = (part) => place.querySelector(`[data-part=${part}]`);
const { trial, view, maxBytes } = place.dataset;
const mayDecide = place.dataset.decides !== undefined;
const [video, overlay, shot, slider, told, pick] = ["video", "overlay", "shot", "slider", "told", "pick"].map(find);
const [shutter, keep, again, allTheSame, retaken] = ["shutter", "keep", "again", "all-the-same", "retaken"].map(find);
let stream = null;
let taken = null; // {photo: Blob, name}
let doubtful = null; // {id, doubts}: in the logbook, and used once it is kept

const tell = (words, wrong = false) => { told.textContent = words; told.classList.toggle("wrong", wrong); };
const show = (state) => { place.dataset.state = state; };

async function open() {
  if (!navigator.mediaDevices?.getUserMedia) return close("This address is not a secure one (https), so the live picture is not to be had here. Take the photo with the phone's own camera; the last one is shown beside it.");
  tell("");
  try {
    const shape = Number(place.dataset.width) / Number(place.dataset.height);
    stream = await navigator.mediaDevices.getUserMedia({
      audio: false,
      video: { facingMode: { ideal: "environment" }, width: { ideal: 4096 }, height: { ideal: Math.round(4096 / shape) }, aspectRatio: { ideal: shape } },
    });
  } catch (error) {
    return close(error.name === "NotAllowedError"
      ? "The camera was not allowed. Allow it in the browser's settings of this address, or take the photo with the phone's own camera."
      : "No camera opens here. Choose a photo, or take it with the phone's own camera.");
  }
  video.srcObject = stream;
  await video.play();
  find("stage").style.aspectRatio = `${video.videoWidth} / ${video.videoHeight}`;
  show("live");
}

function close(words) {
  tell(words);
  show("beside");
}

function stop() {
  for (const track of stream?.getTracks() ?? []) track.stop();
  stream = null;
}

async function shoot() {
  [shot.width, shot.height] = [video.videoWidth, video.videoHeight];
  shot.getContext("2d").drawImage(video, 0, 0);
  const photo = await new Promise((done) => { shot.toBlob(done, "image/jpeg", QUALITY); });
  const now = new Date();
  take(photo, `${localDate(now)}_${localClock(now).replace(":", "")}_${view}.jpg`);
}

function take(photo, name) {
  if (!photo || !TYPES.has(photo.type)) return tell("This is not a JPEG, HEIC, PNG, WebP or TIFF picture. Set the camera to JPEG.", true);
  if (photo.size > Number(maxBytes)) return tell(`This photo has ${(photo.size / 1e6).toFixed(0)} MB; at most ${Math.round(Number(maxBytes) / 1e6)} MB are taken. Set the camera to a smaller size.`, true);
  taken = { photo, name };
  tell("");
  show("taken");
}

async function picked() {
  const [chosen] = pick.files;
  if (!chosen) return;
  const type = chosen.type || ENDINGS[chosen.name.toLowerCase().split(".").pop()] || "";
  const file = chosen.type ? chosen : new Blob([chosen], { type });
  const picture = await createImageBitmap(file).catch(() => null);
  const unshown = TYPES.has(type) && !["image/jpeg", "image/png", "image/webp"].includes(type); // whole, but not for this browser
  if (!picture && !unshown) return tell("This picture cannot be opened: is it whole? Take it again, or choose another.", true);
  [shot.width, shot.height] = picture ? [picture.width, picture.height] : [4, 3];
  find("stage").style.aspectRatio = `${shot.width} / ${shot.height}`;
  if (picture) shot.getContext("2d").drawImage(picture, 0, 0);
  picture?.close();
  take(file, chosen.name);
  if (!picture && taken) {
    show("unshown");
    tell("This browser cannot show this kind of picture; it is taken in as it is.");
  }
}

async function send() {
  keep.disabled = true;
  tell("Keeping it…");
  try {
    const words = `photo of ${place.dataset.name}`;
    const { status, answer } = await post("/api/photos", { trial, view, when: "", name: taken.name }, { photo: taken.photo, words });
    if (status >= 400) {
      const faults = (answer.faults ?? []).map(({ what, right }) => `It ${what} ${right}`);
      return tell(faults.join(" ") || answer.detail || "It was refused.", true);
    }
    if (answer.doubts?.length) return look(answer);
    finish(status === QUEUED ? "Kept on this phone. It is sent, and looked at, when the computer answers." : ["The photo is in the logbook.", ...(answer.remarks ?? [])].join(" "));
  } catch (error) {
    tell(error.message, true);
  } finally {
    keep.disabled = false;
  }
}

function finish(words) {
  stop();
  show("done");
  tell(words);
}

// The photo is safe in the logbook, and something about it is odd: the person at the tank can still take another.
function look(answer) {
  doubtful = { id: answer.ids[0], doubts: answer.doubts };
  show("doubt");
  const list = answer.doubts.map((doubt) => `${doubt[0].toUpperCase()}${doubt.slice(1)}${/[.?!]$/.test(doubt) ? "" : "."}`);
  const then = mayDecide ? "and is used once you keep it." : "and waits for a keeper to decide. You can take another.";
  tell(`Look twice: ${list.join(" ")} It is in the logbook, ${then}`, true);
  allTheSame.hidden = !mayDecide;
}

async function decide(decision, reason) {
  for (const one of [allTheSame, retaken]) one.disabled = true;
  const headers = { accept: "application/json" };
  try {
    const { token } = await (await fetch("/api/session", { headers, cache: "no-store" })).json();
    const sent = await fetch("/api/photos/decisions", {
      method: "POST",
      headers: { ...headers, "content-type": "application/json", "x-littoral-token": token },
      body: JSON.stringify({ photos: doubtful.id, decision, reason }),
    });
    if (sent.ok) return true;
    const answer = await sent.json().catch(() => ({}));
    tell(answer.faults?.map(({ what, right }) => `It ${what} ${right}`).join(" ") || answer.detail || "It was refused.", true);
  } catch {
    tell("The computer does not answer. The photo is in the logbook and waits; decide now, or later at the trial's photos.", true);
  } finally {
    for (const one of [allTheSame, retaken]) one.disabled = false;
  }
  return false;
}

async function keepAllTheSame() {
  if (await decide("keep", "")) finish("The photo is kept, and is used.");
}

async function takeAnother() {
  if (mayDecide && !(await decide("set aside", `taken again: ${doubtful.doubts.join("; ")}`.slice(0, 200)))) return;
  doubtful = null;
  retake();
}

function retake() {
  taken = null;
  pick.value = "";
  if (stream) show("live");
  else open();
}

const fade = () => { if (overlay) overlay.style.opacity = slider.value / 100; };
slider?.addEventListener("input", fade);
shutter.addEventListener("click", shoot);
keep.addEventListener("click", send);
again.addEventListener("click", retake);
allTheSame.addEventListener("click", keepAllTheSame);
retaken.addEventListener("click", takeAnother);
pick.addEventListener("change", picked);
addEventListener("pagehide", stop);
fade();
await open();
place.dataset.ready = "true";
