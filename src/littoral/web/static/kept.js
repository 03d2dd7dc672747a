// What was made on this phone and is not in the logbook yet: it outlives the page, the browser and the battery.
// One database, one store. Each thing: {id, made (ms), zone, path, body, photo?, state: "waiting" | "decide", problem?, said?}.
const NAME = "littoral";
const STORE = "made";

let opened = null;

function database() {
  opened ??= new Promise((done, failed) => {
    const asked = indexedDB.open(NAME, 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore(STORE, { keyPath: "id" });
    asked.onerror = () => { opened = null; failed(asked.error); };
    asked.onsuccess = () => {
      asked.result.onversionchange = () => { asked.result.close(); opened = null; };
      asked.result.onclose = () => { opened = null; };
      done(asked.result);
    };
  });
  return opened;
}

async function within(mode, work) {
  const db = await database();
  return new Promise((done, failed) => {
    // "strict" waits until the disk has it, as far as the phone tells.
    const transaction = db.transaction(STORE, mode, { durability: "strict" });
    const asked = work(transaction.objectStore(STORE));
    transaction.oncomplete = () => done(asked.result);
    transaction.onabort = () => failed(transaction.error ?? asked.error);
  });
}

export const keepThing = (thing) => within("readwrite", (store) => store.put(thing));
export const dropThing = (id) => within("readwrite", (store) => store.delete(id));
export const thingOf = (id) => within("readonly", (store) => store.get(id));

// Entries before photos, so that a large photo on a slow line holds up nothing; else in the order they were made.
export async function keptThings() {
  const things = await within("readonly", (store) => store.getAll());
  return things.sort((one, two) => Boolean(one.photo) - Boolean(two.photo) || one.made - two.made);
}
