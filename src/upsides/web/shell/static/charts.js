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

function words(still) {
  const shown = [...still.querySelectorAll("svg")].find((svg) => svg.checkVisibility()) ?? still.querySelector("svg");
  const said = [...(shown?.children ?? [])].filter((part) => ["title", "desc"].includes(part.localName));
  return said.map((part) => part.textContent.trim()).join(". ");
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
    const { view } = await embed(drawing, { ...spec, width, height }, OPTIONS);
    figure.classList.add("drawn");
    new ResizeObserver(([{ contentRect }]) => view.width(contentRect.width).height(contentRect.height).runAsync())
      .observe(plot);
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
