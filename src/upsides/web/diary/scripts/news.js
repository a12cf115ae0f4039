// Shows within two seconds what others have entered: asks the yard's computer every second and a half whether there is
// news, and when there is, loads its own page anew and puts the new pieces in place of the old ones.
//
// A page uses it so:
// - `{% load entries %}`, and in the block `head`: `<script type="module" src="{% diary_script 'news' %}"></script>`
//   (a page of the diary's own scripts has it already)
// - on any element: `data-news="{% url 'diary_news' %}" data-seen="{{ news }}"`, where `news` is
//   `upsides.books.queries.checks.news()`, asked before the page's other reads; leave both out of an earlier moment
// - on each piece that changes: an `id` and `data-fresh`. The piece is replaced whole, unless somebody is writing in it;
//   then it is replaced afterwards. With `data-fresh="rows"` only its children come and go and change places, by their
//   ids; what changes within a row is a piece of its own.
//
// `document` hears "fresh" after pieces were replaced, "fresh-lost" when nobody answered, and in the end "fresh-ended" when
// nobody is signed in any more, or "fresh-other" when somebody else is. Nothing is asked while the page is hidden, and
// less and less often without signal. None of it counts as use of a barn phone, whose session ends after a while as if
// the page had stood still.

const PACE = 1500;
const LONGEST = 30000;
const PATIENCE = 8000;
const BY_ITSELF = { "X-By-Itself": "1" };

const place = document.querySelector("[data-news]");
let known = place?.dataset.seen;
let half = halfDay();
let wait = PACE;
let left = []; // pieces that somebody was writing in
let timer;

// Loads the page anew and puts its pieces in place; `used` says that somebody did something on this phone just now.
export async function refresh(used = false) {
  const asked = { headers: used ? {} : BY_ITSELF, signal: AbortSignal.timeout(PATIENCE) };
  const answer = await fetch(location.href, asked).catch(() => null);
  if (answer?.redirected) return end();
  if (!answer?.ok) return false;
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
  if (reader(document) !== reader(fresh)) return end("fresh-other");
  left = [];
  for (const piece of document.querySelectorAll("[data-fresh=rows]")) arrange(piece, fresh.getElementById(piece.id));
  for (const piece of document.querySelectorAll("[data-fresh]:not([data-fresh=rows])")) {
    const other = fresh.getElementById(piece.id);
    if (!other || same(piece, other)) continue;
    if (busy(piece)) left.push(piece);
    else replace(piece, other);
  }
  document.dispatchEvent(new Event("fresh"));
  return true;
}

// Lets the rows be those of the new list, in its order; a row that stays is the same element.
function arrange(list, other) {
  if (!other) return;
  const ids = new Set([...other.children].map((row) => row.id));
  for (const row of [...list.children]) if (!ids.has(row.id) && !busy(row)) row.remove();
  let before = list.firstElementChild;
  for (const row of [...other.children]) {
    const own = document.getElementById(row.id);
    if (own && own === before) before = before.nextElementSibling;
    else list.insertBefore(own ?? document.adoptNode(row), before);
  }
}

const busy = (piece) => Boolean(piece.querySelector(".mend[open], form.panel"))
  || (piece.contains(document.activeElement) && document.activeElement.matches("input, textarea, select"));

function same(piece, other) {
  const [one, two] = [piece, other].map((some) => {
    const copy = some.cloneNode(true);
    for (const input of copy.querySelectorAll("input[type=hidden]")) input.remove(); // marks that every page has anew
    return copy;
  });
  return one.isEqualNode(two);
}

function replace(piece, other) {
  const held = piece.contains(document.activeElement) ? document.activeElement : null;
  for (const opened of piece.querySelectorAll("details[id][open]")) {
    const there = other.querySelector(`#${opened.id}`);
    if (there) there.open = true;
  }
  piece.replaceWith(document.adoptNode(other));
  if (!held) return;
  other.tabIndex = -1;
  other.focus({ preventScroll: true });
}

async function ask() {
  clearTimeout(timer);
  if (document.hidden) return;
  const asked = { headers: { ...BY_ITSELF, "If-None-Match": `"${known}"` }, cache: "no-store", signal: AbortSignal.timeout(PATIENCE) };
  const answer = await fetch(place.dataset.news, asked).catch(() => null);
  if (answer?.redirected || answer?.status === 403) return end();
  const there = answer?.ok || answer?.status === 304;
  wait = there ? PACE : Math.min(wait * 2, LONGEST);
  if (there && (answer.ok || half !== halfDay() || left.some((piece) => !busy(piece)))) {
    const now = halfDay();
    if (await refresh()) [known, half] = [answer.headers.get("ETag")?.replace(/^(W\/)?"|"$/g, "") ?? known, now];
  }
  if (!there) document.dispatchEvent(new Event("fresh-lost"));
  clearTimeout(timer);
  if (place.dataset.news) timer = setTimeout(ask, wait);
}

// Noon and midnight are news too.
function halfDay() {
  const now = new Date();
  return `${now.toDateString()} ${now.getHours() < 12}`;
}

const reader = (page) => JSON.parse(page.querySelector("[data-author]")?.dataset.author ?? "null")?.number;

function end(how = "fresh-ended") {
  clearTimeout(timer);
  place?.removeAttribute("data-news");
  document.dispatchEvent(new Event(how));
  return false;
}

function begin() {
  const now = () => { if (place.dataset.news) { wait = PACE; ask(); } };
  document.addEventListener("visibilitychange", now);
  window.addEventListener("online", now);
  timer = setTimeout(ask, PACE);
}

if (place) begin();
