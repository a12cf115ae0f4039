// Draws a page's charts anew when they come near the screen, so that they answer to pointing. What the server drew
// keeps its place until then, is what is printed, and stays where anything goes wrong.

const OPTIONS = {
  mode: "vega-lite",
  ast: true,
  renderer: "svg",
  actions: false,
  defaultStyle: false,
  tooltip: { disableDefaultStyle: true },
  config: { autosize: { type: "fit", contains: "padding" } },
};

const address = document.querySelector("script[data-vega]").dataset.vega;
let loading;

function engine() {
  loading ??= import(address).then(() => window.vegaEmbed);
  return loading;
}

// The specification comes in the light colours of the theme; here each gives way to the page's own name for it, so
// that the chart follows light and dark as the page does.
async function specification(url) {
  const answer = await fetch(url, { headers: { Accept: "application/json" } });
  if (!answer.ok) throw new Error(`${url}: ${answer.status}`);
  let text = await answer.text();
  const colours = JSON.parse(text).usermeta?.colours ?? {};
  for (const [colour, name] of Object.entries(colours)) text = text.replaceAll(`"${colour}"`, `"var(${name})"`);
  return JSON.parse(text);
}

function shown(plot) {
  const drawn = [...plot.querySelectorAll(".still svg")];
  return drawn.find((svg) => svg.getClientRects().length) ?? drawn[0];
}

function words(plot) {
  const said = [...(shown(plot)?.children ?? [])].filter((part) => ["title", "desc"].includes(part.localName));
  return said.map((part) => part.textContent.trim()).join(". ");
}

// Panels one above the other have heights of their own, and one width, which leaves room for the numbers beside them.
const across = (spec, width) => Math.max(40, width - spec.usermeta.labels);

function sized(spec, width, height) {
  if (!spec.vconcat) return { ...spec, width, height };
  return { ...spec, vconcat: spec.vconcat.map((panel) => ({ ...panel, width: across(spec, width) })) };
}

// What stands between the panels keeps its height; the panels share the rest as they do in what the server drew.
function resized(view, spec, { width, height }, still) {
  if (!spec.vconcat) return view.width(width).height(height);
  const whole = spec.vconcat.reduce((sum, panel) => sum + panel.height, 0);
  const share = Math.max(0.3, (height - (still.viewBox.baseVal.height - whole)) / whole);
  const name = (place) => (spec.vconcat.length > 1 ? `concat_${place}_height` : "childHeight");
  spec.vconcat.forEach((panel, place) => view.signal(name(place), Math.round(panel.height * share)));
  return view.width(across(spec, width)).resize();
}

function optionsOf(spec) {
  return spec.vconcat ? { ...OPTIONS, config: {} } : OPTIONS;
}

async function draw(figure) {
  const plot = figure.querySelector(".plot");
  const moving = document.createElement("div");
  moving.className = "moving";
  moving.setAttribute("role", "img");
  moving.setAttribute("aria-label", words(plot));
  const drawing = moving.appendChild(document.createElement("div"));
  drawing.setAttribute("aria-hidden", "true");
  plot.append(moving);
  try {
    const [embed, spec] = await Promise.all([engine(), specification(figure.dataset.spec)]);
    const { width, height } = plot.getBoundingClientRect();
    const { view } = await embed(drawing, sized(spec, width, height), optionsOf(spec));
    figure.classList.add("drawn");
    figure.dispatchEvent(new CustomEvent("drawn", { detail: { view, spec } }));
    new ResizeObserver(([{ contentRect }]) => resized(view, spec, contentRect, shown(plot)).runAsync()).observe(plot);
  } catch (error) {
    moving.remove();
    console.warn(error);
  }
}

const watcher = new IntersectionObserver((seen) => {
  for (const { isIntersecting, target } of seen) {
    if (!isIntersecting) continue;
    watcher.unobserve(target);
    draw(target);
  }
}, { rootMargin: "50% 0%" });

for (const figure of document.querySelectorAll("figure.chart[data-spec]")) watcher.observe(figure);
