// When something was made: by the clock of this phone, with its zone, however much later it is sent.
export const CLOCK_SLACK_MS = 5 * 60_000; // as littoral.logbook.book.CLOCK_SLACK
const FRESH_MS = 2_000; // sent as it is made: the moment of arrival is the moment, by the better clock
const OF_ITS_DAY = ["planned", "done", "doubled", "missed"];

const two = (number) => String(number).padStart(2, "0");

export const phoneZone = () => Intl.DateTimeFormat().resolvedOptions().timeZone || "UTC";

export const localDate = (at) => `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())}`;

export const localClock = (at) => `${two(at.getHours())}:${two(at.getMinutes())}`;

// "2026-03-08 18:30:25+01:00": the offset tells the two hours of an autumn night apart.
export function stamp(at) {
  const ahead = -at.getTimezoneOffset();
  const size = Math.abs(ahead);
  const offset = `${ahead < 0 ? "-" : "+"}${two(Math.floor(size / 60))}:${two(size % 60)}`;
  return `${localDate(at)} ${localClock(at)}:${two(at.getSeconds())}${offset}`;
}

// How far this phone's clock is ahead of the computer's, in ms, as last seen; null before the first answer.
let ahead = null;
export const clockAhead = () => ahead;

export function noteClock(dateHeader, begun, ended) {
  const theirs = Date.parse(dateHeader ?? "");
  // The header counts whole seconds: half of one is the best guess of what it left out.
  if (Number.isFinite(theirs) && ended - begun < CLOCK_SLACK_MS / 4) ahead = (begun + ended) / 2 - (theirs + 500);
}

// The `when` that goes out with something made at `made`: what the person typed counts, read as of the day it was typed.
export function whenOf({ act, item, when = "" }, made, now = Date.now()) {
  const at = new Date(made);
  const typed = when.trim();
  if (typed) return dated(typed, at);
  if (OF_ITS_DAY.includes(act) && !item?.startsWith(localDate(at))) return ""; // of an earlier day: its planned time
  const late = now - made;
  const theirNow = now - (ahead ?? 0);
  const barelyAhead = made > theirNow && made - theirNow <= CLOCK_SLACK_MS;
  return (late >= 0 && late < FRESH_MS) || barelyAhead ? "" : stamp(at);
}

function dated(typed, at) {
  const [first, ...rest] = typed.split(/\s+/);
  const day = new Date(at);
  if (first.toLowerCase() === "yesterday") day.setDate(day.getDate() - 1);
  if (["today", "yesterday"].includes(first.toLowerCase())) {
    const clock = rest.join(" ") || (localDate(day) === localDate(at) ? stamp(at).slice(11) : "");
    return `${localDate(day)} ${clock}`.trim();
  }
  return /^\d{1,2}[:.]\d{2}/.test(typed) ? `${localDate(at)} ${typed}` : typed;
}
