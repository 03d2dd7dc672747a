// Takes many photos in: one request a file, a few at a time, so that each has its end and any can be stopped or sent
// again. What the logbook acknowledged is safe; a folder chosen again goes on where it ended.
import { decisions } from "./photos_decide.js";

const AT_ONCE = 2;
const KINDS = new Set(["image/jpeg", "image/png", "image/tiff", "image/webp", "image/heic", "image/heif"]);
const place = document.querySelector("#add");
const find = (part) => place.querySelector(`[data-part="${part}"]`);
const { trial, token } = place.dataset;
const maxBytes = Number(place.dataset.maxBytes);
const address = `/api/trials/${encodeURIComponent(trial)}/photos`;
const queue = []; // {file, name, more, row}
const running = new Set();
let total = 0;
let done = 0;
let began = 0;
let stopped = false;
const counts = { added: 0, "to decide": 0, duplicate: 0, asked: 0, refused: 0 };

const make = (tag, words = "", name = "") => {
  const one = document.createElement(tag);
  one.textContent = words;
  if (name) one.className = name;
  return one;
};
const tell = (words) => { find("told").textContent = words; };

// Choosing

const named = (file) => file.webkitRelativePath || file.name;
const shown = (name) => !name.split("/").some((part) => part.startsWith("."));

async function dropped(items) {
  const found = [];
  const walk = async (entry, folder) => {
    if (entry.isFile) {
      const file = await new Promise((ok, no) => { entry.file(ok, no); }).catch(() => null);
      if (file) found.push([file, folder + file.name]);
      return;
    }
    const reader = entry.createReader();
    for (;;) { // a reader gives at most a hundred at a time
      const some = await new Promise((ok, no) => { reader.readEntries(ok, no); }).catch(() => []);
      if (!some.length) return;
      for (const one of some) await walk(one, `${folder}${entry.name}/`);
    }
  };
  for (const entry of [...items].map((item) => item.webkitGetAsEntry?.()).filter(Boolean)) await walk(entry, "");
  return found;
}

function add(files) {
  const fresh = files.filter(([, name]) => shown(name)).sort(([, one], [, two]) => (one < two ? -1 : 1));
  if (!fresh.length) return;
  for (const [file, name] of fresh) {
    const row = make("li");
    row.append(make("span", name), " ", make("span", "waiting", "end"));
    find("rows").append(row);
    queue.push({ file, name, more: {}, row });
  }
  total += fresh.length;
  begin();
}

function begin() {
  stopped = false;
  began ||= performance.now();
  place.dataset.state = "sending";
  find("doing").hidden = find("every").hidden = false;
  find("pause").hidden = false;
  find("pause").textContent = "Stop";
  tell("");
  step();
}

// Sending

async function hashed(file) {
  if (!crypto.subtle) return ""; // in secure pages only
  const sum = await crypto.subtle.digest("SHA-256", await file.arrayBuffer());
  return [...new Uint8Array(sum)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

function send(one, told) {
  return new Promise((ok, no) => {
    const request = new XMLHttpRequest();
    one.request = request;
    request.open("POST", `${address}?${new URLSearchParams(told)}`);
    request.setRequestHeader("x-littoral-token", token);
    request.setRequestHeader("content-type", KINDS.has(one.file.type) ? one.file.type : "application/octet-stream");
    request.upload.onprogress = ({ loaded, total: all }) => mark(one, `${Math.round((100 * loaded) / Math.max(1, all))} %`);
    request.onload = () => ok(request);
    request.onerror = () => no(new Error("offline"));
    request.onabort = () => no(new Error("stopped"));
    request.send(one.file);
  });
}

async function work(one) {
  if (one.file.size > maxBytes) {
    const most = Math.round(maxBytes / 1048576);
    return { state: "refused", said: `It has ${(one.file.size / 1e6).toFixed(0)} MB; the page takes ${most} MB. Use: littoral photos add` };
  }
  const sum = await hashed(one.file).catch(() => null);
  if (sum === null) return { state: "refused", said: "It cannot be read any more. Was it moved?" };
  if (sum) {
    const known = await fetch(`${address}/${sum}`, { headers: { accept: "application/json" } }).catch(() => { throw new Error("offline"); });
    if (known.status === 200) return known.json();
  }
  const told = { name: one.name, ...one.more };
  if (!told.view && find("view").value) told.view = find("view").value;
  if (find("clock").value.trim()) told.clock = find("clock").value.trim();
  const request = await send(one, told);
  const answer = JSON.parse(request.responseText || "{}");
  if (request.status < 300) return answer;
  if (request.status === 503) throw new Error("busy");
  const faults = (answer.faults ?? []).map(({ where, what, right }) => `${where} ${what} ${right}`).join(" ");
  return { state: "refused", said: faults || answer.detail || answer.error || "It was refused." };
}

async function step() {
  while (!stopped && running.size < AT_ONCE && queue.length) {
    const one = queue.shift();
    running.add(one);
    go(one);
  }
  draw();
  if (!running.size && !queue.length && total) finish();
}

async function go(one) {
  mark(one, "being read");
  try {
    end(one, await work(one));
  } catch (error) {
    queue.unshift(one); // nothing was acknowledged: it is sent again when one goes on
    mark(one, "waiting");
    if (!stopped) halt(error.message === "busy" ? "The logbook is busy." : "The computer does not answer.");
  } finally {
    running.delete(one);
    step();
  }
}

function halt(why) {
  stopped = true;
  place.dataset.state = "stopped";
  for (const one of running) one.request?.abort();
  find("pause").textContent = "Go on";
  tell(`${why} What is in the logbook is safe; ${queue.length + running.size} files wait. If you leave, choose the same folder again.`);
}

function finish() {
  place.dataset.state = "done";
  find("pause").hidden = true;
  const open = counts.asked ? ` ${counts.asked} wait for a word from you below.` : "";
  tell(`All files are through.${open}`);
  decisions.load();
}

// Showing

const ENDS = { added: "added", "to decide": "to decide", duplicate: "there already", asked: "asked about", refused: "refused" };

function mark(one, words) { one.row.querySelector(".end").textContent = words; }

function end(one, row) {
  done += 1;
  counts[row.state] += 1;
  mark(one, [ENDS[row.state], row.said, ...(row.remarks ?? [])].filter(Boolean).join(" · "));
  if (row.state === "asked") ask(one, row);
  if (row.state === "refused") {
    const item = make("li");
    item.append(make("span", one.name, "file-name"), " ", row.said);
    find("refused-list").append(item);
    find("refused").hidden = false;
  }
  if (row.state === "to decide" && done % 10 === 0) decisions.load();
}

// Drawn on a canvas: the page's policy shows no picture from elsewhere, an object's address included.
function preview(file) {
  const canvas = make("canvas");
  [canvas.width, canvas.height] = [272, 204];
  createImageBitmap(file, { resizeWidth: 272 }).then((image) => {
    canvas.height = Math.round((272 * image.height) / image.width);
    canvas.getContext("2d").drawImage(image, 0, 0);
    image.close();
  }).catch(() => canvas.classList.add("unshown")); // a format that this browser does not draw
  return canvas;
}

function ask(one, row) {
  const item = make("li");
  const picture = preview(one.file);
  const side = make("div");
  const form = make("form");
  const told = row.asks === "date" ? make("input") : make("select");
  if (row.asks === "date") {
    told.value = row.propose_when;
    told.placeholder = "2026-03-08 18:30";
    told.required = true;
  } else {
    const options = [...find("views-template").content.querySelectorAll("option")].map((option) => option.cloneNode(true));
    options.sort((a, b) => row.choices.indexOf(a.value) - row.choices.indexOf(b.value));
    told.append(new Option("Choose the view", ""), ...options); // nothing is chosen for the person
    told.required = true;
  }
  told.setAttribute("aria-label", row.asks === "date" ? `When was ${one.name} taken?` : `Which view does ${one.name} show?`);
  form.append(told, make("button", "Add it"));
  if (row.asks === "view") {
    const all = make("button", "Add it, and try the others again", "plain");
    all.type = "submit";
    all.value = "all";
    form.append(all);
  }
  side.append(make("p", one.name, "file-name"), make("p", row.said), form);
  item.append(picture, side);
  find("asked-list").append(item);
  find("asked").hidden = false;
  const again = (more) => {
    item.remove();
    asked.delete(again);
    find("asked").hidden = !find("asked-list").children.length;
    counts.asked -= 1;
    done -= 1;
    one.more = { ...one.more, ...more };
    queue.push(one);
  };
  asked.add(again);
  again.asks = row.asks;
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    again(row.asks === "date" ? { when: told.value } : { view: told.value });
    if (event.submitter?.value === "all") for (const other of [...asked]) if (other.asks === "view") other({});
    begin();
  });
}
const asked = new Set();

function draw() {
  find("at").textContent = done;
  find("of").textContent = total;
  find("bar").max = Math.max(1, total);
  find("bar").value = done;
  const minutes = (performance.now() - began) / 60000;
  find("speed").textContent = done > 5 && !stopped && done < total ? `about ${Math.max(1, Math.ceil(((total - done) * minutes) / done))} min left` : "";
  for (const item of find("ends").children) {
    const count = counts[item.dataset.end];
    item.firstChild.textContent = count;
    item.classList.toggle("some", count > 0);
  }
}

// Wiring

const drop = find("drop");
if (drop) {
  const choose = ({ target }) => { add([...target.files].map((file) => [file, named(file)])); target.value = ""; };
  find("files").addEventListener("change", choose);
  find("folder").addEventListener("change", choose);
  find("pause").addEventListener("click", () => (stopped ? begin() : halt("Stopped.")));
  for (const kind of ["dragenter", "dragover"]) drop.addEventListener(kind, (event) => { event.preventDefault(); drop.classList.add("over"); });
  for (const kind of ["dragleave", "drop"]) drop.addEventListener(kind, () => drop.classList.remove("over"));
  drop.addEventListener("drop", async (event) => { event.preventDefault(); add(await dropped(event.dataTransfer.items)); });
  addEventListener("beforeunload", (event) => { if (running.size) event.preventDefault(); });
  await decisions.begin(place);
}
place.dataset.ready = "true";
