// What is drawn on a view: glass corners and regions of each tank, with undo. Plain data in, plain data out.
const CLOCKWISE = ["top left", "top right", "bottom right", "bottom left"];

export class Drawing {
  constructor(panes, frame) {
    this.frame = frame;
    this.panes = structuredClone(panes);
    this.before = [];
    this.after = [];
  }

  // All shapes in the order they are listed: {tank, at, kind, name, points}; `at` is -1 for the glass.
  shapes(kinds) {
    return Object.entries(this.panes).flatMap(([tank, pane]) => [
      ...(pane.corners ? [{ tank, at: -1, kind: "corners", name: "", points: pane.corners }] : []),
      ...(pane.regions ?? []).map((region, at) => {
        const kind = Object.keys(kinds).find((one) => one in region) ?? "stand";
        return { tank, at, kind, name: region[kind], points: region.polygon ?? [] };
      }),
    ]);
  }

  // Changes go through here: what was before can be had again.
  change(work) {
    const kept = structuredClone(this.panes);
    work(this.panes);
    if (JSON.stringify(kept) === JSON.stringify(this.panes)) return;
    this.before.push(kept);
    this.after = [];
  }

  undo() {
    if (!this.before.length) return;
    this.after.push(this.panes);
    this.panes = this.before.pop();
  }

  redo() {
    if (!this.after.length) return;
    this.before.push(this.panes);
    this.panes = this.after.pop();
  }

  points(panes, { tank, at }) {
    return at < 0 ? panes[tank].corners : panes[tank].regions[at].polygon;
  }

  inFrame([x, y]) {
    const [width, height] = this.frame;
    const tidy = (value, most) => Math.round(10 * Math.min(Math.max(value, 0), most)) / 10;
    return [tidy(x, width), tidy(y, height)];
  }

  move(shape, place, to) {
    this.change((panes) => { this.points(panes, shape)[place] = this.inFrame(to); });
  }

  // Moves a whole shape, no further than the frame goes.
  shift(shape, [dx, dy]) {
    this.change((panes) => {
      const points = this.points(panes, shape);
      const [width, height] = this.frame;
      const [xs, ys] = [points.map(([x]) => x), points.map(([, y]) => y)];
      const x = Math.min(Math.max(dx, -Math.min(...xs)), width - Math.max(...xs));
      const y = Math.min(Math.max(dy, -Math.min(...ys)), height - Math.max(...ys));
      points.forEach((point, place) => { points[place] = this.inFrame([point[0] + x, point[1] + y]); });
    });
  }

  insert(shape, after) {
    if (shape.at < 0) return false;
    this.change((panes) => {
      const points = this.points(panes, shape);
      const [a, b] = [points[after], points[(after + 1) % points.length]];
      points.splice(after + 1, 0, this.inFrame([(a[0] + b[0]) / 2, (a[1] + b[1]) / 2]));
    });
    return true;
  }

  // A shape keeps three corners, glass its four.
  remove(shape, place) {
    if (shape.at < 0 || shape.points.length <= 3) return false;
    this.change((panes) => { this.points(panes, shape).splice(place, 1); });
    return true;
  }

  drop({ tank, at }) {
    this.change((panes) => {
      if (at < 0) delete panes[tank].corners;
      else panes[tank].regions.splice(at, 1);
      if (!panes[tank].corners && !panes[tank].regions.length) delete panes[tank];
    });
  }

  width(tank, written) {
    this.change((panes) => {
      if (written) panes[tank].width = written;
      else delete panes[tank].width;
    });
  }

  // A new shape begins as a box in the middle of its tank; returns where it stands.
  add(tank, kind, name) {
    const [width, height] = this.frame;
    let box = [[0.08 * width, 0.12 * height], [0.92 * width, 0.88 * height]];
    const glass = this.panes[tank]?.corners;
    if (kind !== "corners") {
      const around = glass ?? [[0, 0], [width, height]];
      const [xs, ys] = [around.map(([x]) => x), around.map(([, y]) => y)];
      const share = (low, high, part) => low + part * (high - low);
      box = [
        [share(Math.min(...xs), Math.max(...xs), 0.4), share(Math.min(...ys), Math.max(...ys), 0.35)],
        [share(Math.min(...xs), Math.max(...xs), 0.6), share(Math.min(...ys), Math.max(...ys), 0.75)],
      ];
    }
    const [[left, top], [right, bottom]] = box;
    const points = [[left, top], [right, top], [right, bottom], [left, bottom]].map((point) => this.inFrame(point));
    this.change((panes) => {
      panes[tank] ??= { regions: [] };
      if (kind === "corners") panes[tank].corners = points;
      else panes[tank].regions.push({ [kind]: name, polygon: points });
    });
    return { tank, at: kind === "corners" ? -1 : this.panes[tank].regions.length - 1 };
  }

  corners(found) {
    this.change((panes) => {
      for (const [tank, points] of found) {
        panes[tank] ??= { regions: [] };
        panes[tank].corners = points.map((point) => this.inFrame(point));
      }
    });
  }
}

export function cornerName(shape, place) {
  return shape.at < 0 ? `${CLOCKWISE[place]} corner` : `corner ${place + 1} of ${shape.points.length}`;
}
