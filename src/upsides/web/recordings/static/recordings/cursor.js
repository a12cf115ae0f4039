// One cursor through all curves of a recording: moved by pointing, by a finger, or by the slider with the keyboard. The
// moment is read out in words, and a dot stands at the place on the map.

const part = document.querySelector(".cursored");
const figure = part?.querySelector("figure.chart");
const slider = part?.querySelector("input[type=range]");
const output = part?.querySelector("output");
const ground = document.getElementById("ground");
const maps = [...(ground?.querySelectorAll(":scope > div") ?? [])].map((div) => ({
  dot: div.querySelector(".here"),
  places: JSON.parse(ground.dataset[div.className] ?? "[]"),
}));

// Returns the place of the row that lies nearest to x; rows rise by x.
function nearest(xs, x) {
  let low = 0;
  let high = xs.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (xs[middle] <= x) low = middle;
    else high = middle;
  }
  return x - xs[low] <= xs[high] - x ? low : high;
}

function onTheMap(x) {
  for (const { dot, places } of maps) {
    if (!dot || !places.length) continue;
    const [at, across, down] = places[nearest(places.map((place) => place[0]), x)];
    const near = Math.abs(at - x) <= (places.at(-1)[0] - places[0][0]) / 100;
    dot.setAttribute("visibility", near ? "visible" : "hidden");
    dot.setAttribute("cx", across);
    dot.setAttribute("cy", down);
  }
}

function follow(view, { datasets: { rows }, usermeta: { labels } }) {
  const side = labels - 4;
  const xs = rows.map((row) => row.x);
  const show = (place) => {
    const row = rows[place];
    slider.value = place;
    slider.setAttribute("aria-valuetext", row.said);
    output.textContent = row.said;
    onTheMap(row.x);
    view.signal("here", row.x).runAsync();
  };
  const pointed = (event) => {
    const box = figure.querySelector(".moving svg").getBoundingClientRect();
    const [first, last] = [view.signal("first"), view.signal("last")];
    const share = (event.clientX - box.left - side) / (box.width - labels);
    if (share >= -0.02 && share <= 1.02) show(nearest(xs, first + share * (last - first)));
  };
  const moving = figure.querySelector(".moving");
  moving.addEventListener("pointermove", pointed);
  moving.addEventListener("pointerdown", pointed);
  slider.max = rows.length - 1;
  slider.addEventListener("input", () => show(Number(slider.value)));
  slider.closest(".reading").hidden = false;
  output.textContent = part.dataset.words;
}

figure?.addEventListener("drawn", ({ detail }) => follow(detail.view, detail.spec));
