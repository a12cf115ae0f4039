// One clocking: who is clocked over which marks, and every press. It is kept on this phone with each press, so that a page
// that is lost can go on. Presses are timed by the browser's steady clock, in seconds since the start; only over a loss
// of the page does the phone's own clock count.

const NAME = "upsides-clock";
const BOUNCE = 0.4; // seconds within which a second press of the same horse is the first one's bounce
const APART = 0.5; // seconds that the steady clock and the phone's own may come to differ
const TOO_OLD = 900000; // milliseconds after which nobody is still galloping

const place = (author) => `${NAME}-${author}`;

// Returns a new clocking. `setup` is `gallop`, `gallop_name`, `marks` (metres from where the clock begins) and `runners`
// (`number`, `name`, `rider`, `instruction`).
export function prepared(setup, author) {
  const runners = setup.runners.map((runner) => ({ ...runner, client_id: crypto.randomUUID() }));
  return { ...setup, runners, author, began: null, origin: null, log: [], ended: false, interrupted: false, doubt: 0 };
}

export function start(state, stamp) {
  state.origin = stamp;
  state.began = Date.now() - (performance.now() - stamp);
  keep(state);
}

export const elapsed = (state, stamp = performance.now()) => (stamp - state.origin) / 1000;

const of = (state, lane) => state.log.filter((one) => one.lane === lane);

// Returns the metres of the mark that a horse comes to next, undefined when it is through.
export const next = (state, lane) => state.marks[of(state, lane).length];

export const through = (state) => state.runners.every((_, lane) => next(state, lane) === undefined);

// Notes that a horse passes a mark; returns whether that counts.
export function press(state, lane, stamp) {
  const at = Math.round(elapsed(state, stamp) * 100) / 100;
  const last = of(state, lane).findLast((one) => one.at !== null)?.at ?? 0;
  if (state.origin === null || next(state, lane) === undefined || at - last < BOUNCE) return false;
  state.log.push({ lane, at });
  keep(state);
  return true;
}

export function miss(state, lane) {
  if (next(state, lane) === undefined) return false;
  state.log.push({ lane, at: null });
  keep(state);
  return true;
}

// Takes back what was pressed last: a mark, or the start itself.
export function undo(state) {
  state.ended = false;
  if (state.log.pop()) return keep(state);
  state.origin = state.began = null;
  forget(state.author);
}

export function end(state) {
  state.ended = true;
  keep(state);
}

// Returns [metres, seconds] of each mark at which a horse was clocked.
export const splits = (state, lane) => of(state, lane).map((one, at) => [state.marks[at], one.at]).filter(([, at]) => at !== null);

export function leaveOut(state, lane, metres) {
  const one = of(state, lane)[state.marks.indexOf(metres)];
  if (one) one.at = null;
  keep(state);
}

// Notes by how much the steady clock fell behind the phone's own since the start, where it did: a phone that sleeps may
// stop it. Returns whether there is doubt.
export function compare(state) {
  if (state.origin === null) return false;
  const apart = Math.abs((Date.now() - state.began) / 1000 - elapsed(state));
  if (apart > APART) state.doubt = Math.max(state.doubt, apart);
  return state.doubt > 0;
}

function keep(state) {
  try {
    localStorage.setItem(place(state.author), JSON.stringify(state));
  } catch {
    // what this page holds is enough as long as it is not lost
  }
}

export const forget = (author) => localStorage.removeItem(place(author));

// Returns what somebody was clocking when the page was lost, null for nothing. It goes on by the phone's own clock; what
// was begun too long ago has ended.
export function restored(author) {
  const state = JSON.parse(localStorage.getItem(place(author)) ?? "null");
  if (!state?.began) return null;
  const age = Date.now() - state.began;
  const old = age < 0 || age > TOO_OLD;
  if (old && !state.log.length) {
    forget(author);
    return null;
  }
  const goesOn = !state.ended && !old && !through(state);
  return { ...state, origin: performance.now() - age, ended: !goesOn, interrupted: state.interrupted || goesOn };
}
