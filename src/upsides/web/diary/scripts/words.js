// The page's words, which the server put into it, with their {places} filled in.

export const root = document.querySelector("[data-words]");

export const words = JSON.parse(root.dataset.words);
export const addresses = JSON.parse(root.dataset.addresses);

export const say = (text, values) => text.replace(/\{(\w+)\}/g, (_, name) => values[name]);

export function show(element, text) {
  element.textContent = text;
  element.hidden = !text;
}

const language = document.documentElement.lang;
const hour = new Intl.DateTimeFormat(language, { hour: "2-digit", minute: "2-digit", hourCycle: "h23" });
const day = new Intl.DateTimeFormat(language, { day: "numeric", month: "short" });

export function time(text) {
  const when = new Date(text);
  const today = day.format(when) === day.format(new Date());
  return today ? hour.format(when) : `${day.format(when)}, ${hour.format(when)}`;
}
