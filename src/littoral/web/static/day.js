// The one moment that twin view, strip and charts share: an index into the trial's moments, each with its day.
export class Shared extends EventTarget {
  constructor(moments, at) {
    super();
    this.moments = moments;
    this.last = moments.length - 1;
    this.at = at;
  }

  get day() {
    return this.moments[this.at].day;
  }

  go(at) {
    const next = Math.min(Math.max(Math.round(at), 0), this.last);
    if (next === this.at || !Number.isFinite(next)) return;
    this.at = next;
    this.dispatchEvent(new Event("change"));
  }

  // A day falls in the last moment that began by then.
  goToDay(day) {
    this.go(this.moments.findLastIndex((moment) => moment.day <= day));
  }

  onChange(act) {
    this.addEventListener("change", () => act(this.at));
    act(this.at);
  }
}
