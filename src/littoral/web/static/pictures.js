// Pictures decoded ahead of the moment that is shown, so that scrubbing never waits for one.
const NEAR = 10; // moments either way that are fetched first
const AT_ONCE = 4;

export class Pictures {
  #ready = new Map(); // address -> promise of a decoded image, held so that the browser keeps it
  #queue = [];
  #running = 0;

  constructor(moments) {
    this.moments = moments;
  }

  // Resolves when the picture can be shown without a pause; true where it can be shown at all.
  ready(address) {
    if (!this.#ready.has(address)) {
      const image = new Image();
      image.src = address;
      this.#ready.set(address, image.decode().then(() => true, () => false));
    }
    return this.#ready.get(address);
  }

  // Put the moments around `now` at the head of the queue, and all others behind them.
  around(now, look) {
    const order = this.moments.map((_, at) => at).sort((a, b) => Math.abs(a - now) - Math.abs(b - now));
    const near = order.slice(0, 2 * NEAR + 1);
    const wanted = look === "even" ? order : near;
    this.#queue = wanted
      .flatMap((at) => Object.values(this.moments[at].tanks).map((tank) => tank[look]))
      .filter((address) => address && !this.#ready.has(address));
    this.#next();
  }

  #next() {
    while (this.#running < AT_ONCE && this.#queue.length) {
      this.#running += 1;
      this.ready(this.#queue.shift()).finally(() => {
        this.#running -= 1;
        this.#next();
      });
    }
  }
}
