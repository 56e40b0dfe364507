"""What a drawing becomes before it is sent: as wide as its reader, told to those who hear it, and in colours
for light and for dark surroundings.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from xml.etree import ElementTree as ET

SVG = "http://www.w3.org/2000/svg"
XLINK = "http://www.w3.org/1999/xlink"
FONT = "system-ui, 'Segoe UI', Roboto, 'DejaVu Sans', sans-serif"

# The blue of Okabe & Ito (2008), "Color Universal Design", a tint of it, and greys: told apart by how light
# they are, with every colour vision.
LIGHT = {"paper": "#ffffff", "ink": "#1a1a1a", "quiet": "#595959", "grid": "#dadada", "likely": "#0072b2",
         "spread": "#a9d4ee", "count": "#8a8a8a"}  # fmt: skip
DARK = {"paper": "#16181c", "ink": "#f2f2f2", "quiet": "#b8bcc2", "grid": "#3a3f47", "likely": "#6cc3f2",
        "spread": "#23506d", "count": "#80868f"}  # fmt: skip
_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_FAMILY = re.compile(r"(font: [^;]*?px |font-family: )[^;]*")
_USED = re.compile(r"url\(#([^)]+)\)")


def finished(drawing: bytes, title: str, description: str) -> bytes:
    """The drawing without what only its maker needs, with a name and a description."""
    ET.register_namespace("", SVG)
    ET.register_namespace("xlink", XLINK)
    root = ET.fromstring(drawing)  # noqa: S314 - what we have just drawn ourselves
    for name in ("width", "height", "version"):
        root.attrib.pop(name, None)
    for child in root.findall(f"{{{SVG}}}metadata"):
        root.remove(child)
    used = set(_used(root))
    for element in root.iter():
        if element.attrib.get("id") not in used:
            element.attrib.pop("id", None)  # several charts can stand in one page
        if "style" in element.attrib:
            element.set("style", _FAMILY.sub(rf"\g<1>{FONT}", element.attrib["style"]))
    for place, (name, text) in enumerate((("title", title), ("desc", description), ("style", _dark()))):
        element = ET.Element(f"{{{SVG}}}{name}")
        element.text = clean(text)
        root.insert(place, element)
    root.set("class", "gradewright-chart")
    root.set("role", "img")
    root.set("lang", "en")
    found: bytes = ET.tostring(root, encoding="utf-8", xml_declaration=True)
    return found + b"\n"


def clean(text: str) -> str:
    """The text without what XML 1.0 cannot say."""
    return _NOT_XML.sub("\ufffd", text)


def _used(root: ET.Element) -> Iterator[str]:
    """The names that other parts of the drawing refer to."""
    for element in root.iter():
        for value in element.attrib.values():
            if value.startswith("#"):
                yield value[1:]
            yield from _USED.findall(value)


def _dark() -> str:
    """Other colours where the reader's surroundings are dark; who does not know of them has white paper."""
    rules = (
        f".gradewright-chart [style*='{what}: {LIGHT[role]}'] {{{what}: {colour} !important}}"
        for role, colour in DARK.items()
        for what in ("fill", "stroke")
    )
    return "@media (prefers-color-scheme: dark) {\n" + "\n".join(rules) + "\n}"
