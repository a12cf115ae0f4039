// Distances and times of clocked work in words. `splits` are [metres, seconds] from where the clock began.

import { say, words } from "./words.js";

const FURLONG = 201.168;
const NEAR = 1; // metres within which a mark is said to stand at a whole furlong
const hundredth = (value) => Math.round(value * 100) / 100; // as the books keep them
const tenth = new Intl.NumberFormat(document.documentElement.lang, { minimumFractionDigits: 1, maximumFractionDigits: 1 });

export const seconds = (value) => tenth.format(hundredth(value));

export function mark(metres) {
  const furlongs = Math.round(metres / FURLONG);
  if (furlongs && Math.abs(metres - furlongs * FURLONG) <= NEAR) return say(words.furlongs, { furlongs });
  return say(words.metres, { metres: Math.round(metres) });
}

export const furlongs = (count) => Array.from({ length: count }, (_, place) => Math.round((place + 1) * FURLONG * 10) / 10);
export const inFurlongs = (metres) => metres / FURLONG;

// Returns metres and seconds from each mark to the next.
export const sections = (splits) => splits.map(([metres, time], place) => {
  const [before, then] = place ? splits[place - 1] : [0, 0];
  return [metres - before, time - then];
});

// Returns how far in which time, with the sections.
export function said(splits) {
  const [metres, time] = splits.at(-1);
  const steps = sections(splits);
  const lengths = steps.map(([length]) => length);
  const alike = Math.max(...lengths) - Math.min(...lengths) <= 2 * NEAR;
  const parts = steps.map(([length, took]) => (alike ? seconds(took) : say(words.part, { mark: mark(length), seconds: seconds(took) })));
  const values = { distance: mark(metres), seconds: seconds(time), sections: parts.join(", ") };
  return say(splits.length > 1 ? words.whole_sections : words.whole, values);
}

// Returns what no horse can have done, null where there is nothing: a press that slipped, or a mark that was passed over.
export function odd(splits) {
  const [slowest, fastest] = words.limits;
  const found = sections(splits).find(([metres, took]) => !(took > 0) || metres / took < slowest || metres / took > fastest);
  if (!found) return null;
  const [metres, took] = found;
  return { metres: Math.round(metres), seconds: seconds(took), speed: took > 0 ? seconds(metres / took) : "∞" };
}

// Returns splits as the books read them.
export const typed = (splits) => splits.map(([metres, time]) => `${metres.toFixed(1)}:${time.toFixed(2)}`).join(" ");
