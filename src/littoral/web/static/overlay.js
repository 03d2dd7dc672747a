// One photo: what was drawn and counted can be hidden; a row of the table shows its region, and the other way round.
for (const box of document.querySelectorAll("[data-shows]")) {
  const show = () => document.querySelector(`[data-part="${box.dataset.shows}"]`)?.toggleAttribute("hidden", !box.checked);
  box.addEventListener("change", show);
  show();
}
const of = (at) => document.querySelectorAll(`[data-at="${at}"]`);
for (const one of document.querySelectorAll("[data-at]")) {
  const set = (on) => of(one.dataset.at).forEach((other) => other.classList.toggle("here", on));
  for (const [start, end] of [["pointerenter", "pointerleave"], ["focus", "blur"]]) {
    one.addEventListener(start, () => set(true));
    one.addEventListener(end, () => set(false));
  }
}
addEventListener("keydown", (event) => {
  if (event.target.matches("input, textarea, select") || event.ctrlKey || event.altKey || event.metaKey) return;
  const way = { ArrowLeft: "prev", ArrowRight: "next" }[event.key];
  if (way) document.querySelector(`a[rel="${way}"]`)?.click();
});
document.documentElement.dataset.ready = "";
