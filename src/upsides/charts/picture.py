"""From a chart to a picture: SVG made offline, with words for those who cannot see it."""

import json
from functools import lru_cache
from typing import Any
from xml.etree import ElementTree as ET

import vl_convert

from upsides.charts.theme import themed

_NS = "{http://www.w3.org/2000/svg}"
_ARIA = ("role", "aria-roledescription", "aria-hidden", "aria-label")


def picture(spec: dict[str, Any], size: tuple[int, int], title: str, description: str, name: str) -> str:
    """Draw a Vega-Lite specification as SVG that follows the page's theme and needs no style attribute.

    Args:
        spec: the specification, in the theme's light colours.
        size: width and height of the plot, px.
        title: short name of the picture.
        description: what it shows, as a sentence.
        name: unique within the page; ids start with it.

    Returns:
        One `svg` element: scalable, one image to assistive technology, points carrying their words as titles.
    """
    sized = spec | {"width": size[0], "height": size[1]}
    root = ET.fromstring(vl_convert.vega_to_svg(vega_of(sized)))  # noqa: S314 (our own drawing, not outside input)
    for element in root.iter():
        _explain(element)
        for attribute in _ARIA:
            element.attrib.pop(attribute, None)
    _describe(root, title, description, name)
    ET.register_namespace("", _NS[1:-1])
    return themed(ET.tostring(root, encoding="unicode"))


def vega_of(spec: dict[str, Any]) -> dict[str, Any]:
    """Return a Vega-Lite specification as Vega; what is the same whatever its datasets and numbers is made once."""
    if "datasets" not in spec:
        return dict(vl_convert.vegalite_to_vega(spec))
    datasets, given = spec["datasets"], spec.get("params", [])
    params = {one["name"]: one["value"] for one in given if isinstance(one.get("value"), int | float)}
    bare = [one | {"value": 0} if one["name"] in params else one for one in given]
    plain = spec | {"datasets": dict.fromkeys(datasets, ()), "params": bare}
    made: dict[str, Any] = json.loads(_compiled(json.dumps(plain, sort_keys=True)))
    for one in made["data"]:
        if one["name"] in datasets:
            one["values"] = datasets[one["name"]]
    for signal in made.get("signals", ()):
        if signal["name"] in params:
            signal["value"] = params[signal["name"]]
    return made


@lru_cache(maxsize=32)
def _compiled(spec: str) -> str:
    return json.dumps(vl_convert.vegalite_to_vega(json.loads(spec)))


def warm_up() -> None:
    """Start the drawing engine and what builds charts, which takes about a second once in a process."""
    from upsides.charts.level_layers import template

    template()
    vl_convert.vegalite_to_svg({"data": {"values": []}, "mark": "point"})


def _explain(element: ET.Element) -> None:
    words = element.get("aria-label")
    if words and element.tag == f"{_NS}path" and element.get("aria-roledescription") == "point":
        ET.SubElement(element, f"{_NS}title").text = words


def _describe(root: ET.Element, title: str, description: str, name: str) -> None:
    for place, (tag, text) in enumerate((("title", title), ("desc", description))):
        element = ET.Element(f"{_NS}{tag}", id=f"{name}-{tag}")
        element.text = text
        root.insert(place, element)
    root.attrib.pop("version", None)
    root.set("role", "img")
    root.set("class", "picture")
    root.set("aria-labelledby", f"{name}-title")
    root.set("aria-describedby", f"{name}-desc")
